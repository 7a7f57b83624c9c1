//! The largest set of parts that can be dropped together.
//!
//! Parts are numbered; each that might go says, for each board that carries it,
//! which other parts may take its places there. A part that goes needs one that
//! stays for each of its boards, and no combination that was found to break
//! something may be taken whole. The most parts that can go is sought by branch
//! and bound, group by group: parts of different groups have nothing to do with
//! each other.

use std::collections::BTreeMap;

/// A part, by its number.
pub(crate) type PartNumber = usize;

/// One board's places of one part, given to another part.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Swap {
    /// The part that goes.
    pub from: PartNumber,
    /// Board that the places are on.
    pub board: usize,
    /// The part that comes.
    pub to: PartNumber,
    /// What it saves on its own; only for choosing among sets of one size.
    pub saves: f64,
}

/// What there is to choose from.
#[derive(Debug, Default)]
pub(crate) struct Choice {
    /// Every swap that holds on its own.
    pub swaps: Vec<Swap>,
    /// Swaps, by position, that break something when all of them are made.
    pub clashes: Vec<Vec<usize>>,
}

/// The best set that was found.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Best {
    /// Swaps that are made, by position, in rising order.
    pub swaps: Vec<usize>,
    /// How many parts go.
    pub dropped: usize,
    /// No set drops more than these.
    pub at_most: usize,
}

/// Steps that the search of one group may take: some tenths of a second.
const STEPS: usize = 400_000;

impl Choice {
    /// The set that drops most parts, and among those the one that saves most.
    pub fn best(&self) -> Best {
        let mut best = Best {
            swaps: Vec::new(),
            dropped: 0,
            at_most: 0,
        };
        for group in self.groups() {
            let found = Search::of(self, &group).run();
            best.swaps.extend(found.swaps);
            best.dropped += found.dropped;
            best.at_most += found.at_most;
        }
        best.swaps.sort_unstable();
        best
    }

    /// Swaps, by position, in groups that share neither a part nor a clash.
    fn groups(&self) -> Vec<Vec<usize>> {
        let mut leader: Vec<usize> = (0..self.swaps.len()).collect();
        fn lead(leader: &mut [usize], of: usize) -> usize {
            let mut at = of;
            while leader[at] != at {
                leader[at] = leader[leader[at]];
                at = leader[at];
            }
            at
        }
        let mut join = |a: usize, b: usize| {
            let (a, b) = (lead(&mut leader, a), lead(&mut leader, b));
            leader[a.max(b)] = a.min(b);
        };
        let mut first: BTreeMap<PartNumber, usize> = BTreeMap::new();
        for (at, swap) in self.swaps.iter().enumerate() {
            for part in [swap.from, swap.to] {
                join(at, *first.entry(part).or_insert(at));
            }
        }
        for clash in &self.clashes {
            for pair in clash.windows(2) {
                join(pair[0], pair[1]);
            }
        }
        let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for at in 0..self.swaps.len() {
            let leader = lead(&mut leader, at);
            groups.entry(leader).or_default().push(at);
        }
        groups.into_values().collect()
    }
}

/// What is settled of a part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Fate {
    Open,
    Stays,
    Goes,
}

/// The search within one group.
struct Search<'c> {
    choice: &'c Choice,
    /// Parts that might go, each with its swaps by board, the best first.
    parts: Vec<(PartNumber, Vec<Vec<usize>>)>,
    /// Most that the parts from each on can save together.
    could_save: Vec<f64>,
    clashes: Vec<&'c Vec<usize>>,
    fate: BTreeMap<PartNumber, Fate>,
    made: Vec<usize>,
    saved: f64,
    dropped: usize,
    best: (usize, f64, Vec<usize>),
    steps: usize,
}

impl<'c> Search<'c> {
    fn of(choice: &'c Choice, group: &[usize]) -> Search<'c> {
        let mut by_part: BTreeMap<PartNumber, BTreeMap<usize, Vec<usize>>> = BTreeMap::new();
        let mut fate = BTreeMap::new();
        for &at in group {
            let swap = &choice.swaps[at];
            let boards = by_part.entry(swap.from).or_default();
            boards.entry(swap.board).or_default().push(at);
            fate.insert(swap.from, Fate::Open);
            fate.insert(swap.to, Fate::Open);
        }
        let saves = |at: &usize| choice.swaps[*at].saves;
        let mut parts: Vec<(PartNumber, Vec<Vec<usize>>)> = by_part
            .into_iter()
            .map(|(part, boards)| {
                let mut boards: Vec<Vec<usize>> = boards.into_values().collect();
                for swaps in &mut boards {
                    swaps.sort_by(|a, b| saves(b).total_cmp(&saves(a)).then(a.cmp(b)));
                }
                (part, boards)
            })
            .collect();
        // What few parts can stand in for settles most: it is looked at first.
        parts.sort_by_key(|(part, boards)| {
            let options = boards.iter().map(Vec::len).min().unwrap_or(0);
            (options, *part)
        });
        let mut could_save = vec![0.0; parts.len() + 1];
        for (at, (_, boards)) in parts.iter().enumerate().rev() {
            let most = |swaps: &Vec<usize>| swaps.first().map_or(0.0, saves);
            let own: f64 = boards.iter().map(most).sum();
            could_save[at] = could_save[at + 1] + own.max(0.0);
        }
        let in_group = |clash: &&Vec<usize>| clash.iter().all(|at| group.contains(at));
        Search {
            choice,
            parts,
            could_save,
            clashes: choice.clashes.iter().filter(in_group).collect(),
            fate,
            made: Vec::new(),
            saved: 0.0,
            dropped: 0,
            best: (0, 0.0, Vec::new()),
            steps: 0,
        }
    }

    fn run(mut self) -> Best {
        let at_most = self.parts.len().min(self.fate.len() - self.must_stay());
        self.decide(0, at_most);
        let (dropped, _, swaps) = self.best;
        Best {
            swaps,
            dropped,
            at_most: if self.steps < STEPS { dropped } else { at_most },
        }
    }

    /// Fewest parts that must stay: of a part and all that may take its places on
    /// one board at least one stays. Such sets that share no part are counted, the
    /// small ones first.
    fn must_stay(&self) -> usize {
        let mut sets: Vec<Vec<PartNumber>> = self
            .parts
            .iter()
            .filter_map(|(part, boards)| {
                let fewest = boards.iter().min_by_key(|swaps| swaps.len())?;
                let mut set: Vec<PartNumber> =
                    fewest.iter().map(|at| self.choice.swaps[*at].to).collect();
                set.push(*part);
                Some(set)
            })
            .collect();
        // A part that only takes places, and never goes, stays in any case.
        let goes = |part: &PartNumber| self.parts.iter().any(|(from, _)| from == part);
        sets.extend(
            self.fate
                .keys()
                .filter(|part| !goes(part))
                .map(|part| vec![*part]),
        );
        sets.sort_by_key(Vec::len);
        let mut taken: Vec<PartNumber> = Vec::new();
        let mut count = 0;
        for set in sets {
            if set.iter().all(|part| !taken.contains(part)) {
                count += 1;
                taken.extend(set);
            }
        }
        count
    }

    fn fate_of(&self, part: PartNumber) -> Fate {
        self.fate.get(&part).copied().unwrap_or(Fate::Stays)
    }

    /// Settles the part at a position and those behind it.
    fn decide(&mut self, at: usize, at_most: usize) {
        self.steps += 1;
        if self.steps >= STEPS {
            return;
        }
        if self.dropped > self.best.0 || (self.dropped == self.best.0 && self.saved > self.best.1) {
            self.best = (self.dropped, self.saved, self.made.clone());
        }
        if at == self.parts.len() {
            return;
        }
        let open = self.parts[at..].iter();
        let open = open.filter(|(part, _)| self.fate_of(*part) == Fate::Open);
        let most = (self.dropped + open.count()).min(at_most);
        let could = self.saved + self.could_save[at];
        if most < self.best.0 || (most == self.best.0 && could <= self.best.1) {
            return;
        }
        let part = self.parts[at].0;
        if self.fate_of(part) != Fate::Open {
            self.decide(at + 1, at_most);
            return;
        }
        self.fate.insert(part, Fate::Goes);
        self.dropped += 1;
        self.give(at, 0, at_most);
        self.dropped -= 1;
        self.fate.insert(part, Fate::Stays);
        self.decide(at + 1, at_most);
        self.fate.insert(part, Fate::Open);
    }

    /// Gives the places of the part at a position away, board by board.
    fn give(&mut self, at: usize, board: usize, at_most: usize) {
        let Some(swaps) = self.parts[at].1.get(board) else {
            self.decide(at + 1, at_most);
            return;
        };
        for swap in swaps.clone() {
            let to = self.choice.swaps[swap].to;
            let was = self.fate_of(to);
            if was == Fate::Goes {
                continue;
            }
            self.made.push(swap);
            if self.is_free_of_clashes() {
                let saves = self.choice.swaps[swap].saves;
                self.fate.insert(to, Fate::Stays);
                self.saved += saves;
                self.give(at, board + 1, at_most);
                self.saved -= saves;
                self.fate.insert(to, was);
            }
            self.made.pop();
            if self.steps >= STEPS {
                return;
            }
        }
    }

    /// Whether the swap that was made last completes no clash.
    fn is_free_of_clashes(&self) -> bool {
        let last = self.made.last();
        let has = |at: &usize| self.made.contains(at);
        !self
            .clashes
            .iter()
            .any(|clash| last.is_some_and(|last| clash.contains(last)) && clash.iter().all(has))
    }
}

#[cfg(test)]
#[path = "choose_tests.rs"]
mod tests;
