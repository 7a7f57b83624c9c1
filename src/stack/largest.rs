//! Stacks to which no further board can be added.
//!
//! The search goes through sets of boards as Bron and Kerbosch went through
//! cliques (Communications of the ACM 16(9), 1973), with the pivot of Tomita and
//! others (Theoretical Computer Science 363(1), 2006). Boards with straps need
//! one thing more: a board may be kept out by another that it never meets, since
//! that one forces the straps of a third. So what can keep the pivot out is
//! sought along such chains.

use super::solver::Solver;

/// A stack that works, and with which settings.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Found {
    /// Its boards, in ascending order.
    pub boards: Vec<usize>,
    /// The setting of each.
    pub settings: Vec<usize>,
}

/// What a search for stacks found.
#[derive(Clone, Debug)]
pub struct Largest {
    /// Stacks to which no board can be added, those with most boards first.
    pub stacks: Vec<Found>,
    /// Whether these are all of them.
    pub complete: bool,
    /// No stack has more boards than this.
    pub at_most: usize,
}

/// Work after which a search gives up, counted in boards that were looked at:
/// a small part of a second, whatever the line.
const BUDGET: u64 = 12_000_000;
/// Stacks after which a search gives up: nobody reads more.
const MOST_STACKS: usize = 2_000;

struct Search<'s, 'l> {
    solver: &'s Solver<'l>,
    /// Boards that a board may keep out, or be kept out by.
    near: Vec<Vec<bool>>,
    complete: bool,
    stacks: Vec<Found>,
}

impl Solver<'_> {
    /// All stacks to which no further board can be added, or as many as can be
    /// found with an effort that is bounded.
    pub fn largest(&self) -> Largest {
        let count = self.line.boards.len();
        let usable: Vec<usize> = (0..count)
            .filter(|&board| self.settings(&[board]).is_some())
            .collect();
        let mut search = Search {
            solver: self,
            near: self.near(),
            complete: true,
            stacks: Vec::new(),
        };
        self.work_on(Some(BUDGET));
        if !usable.is_empty() {
            search.go(&[], &[], usable.clone(), Vec::new());
        }
        let mut stacks = search.stacks;
        let complete = search.complete;
        let mut largest = stacks
            .iter()
            .max_by_key(|found| found.boards.len())
            .cloned();
        let mut at_most = largest.as_ref().map_or(0, |found| found.boards.len());
        if !complete {
            self.work_on(None);
            let mut most = Most {
                solver: self,
                apart: self.apart(),
                best: largest.clone(),
            };
            self.work_on(Some(BUDGET));
            at_most = most.bound(&usable);
            if most.go(&[], &[], usable) {
                at_most = most.best.as_ref().map_or(0, |found| found.boards.len());
            }
            self.work_on(Some(BUDGET));
            if most.best != largest {
                largest = most.best;
                // Where the search was cut short, one that could be added to would
                // be worse than none: it is larger than all that were found.
                stacks.extend(largest.map(|found| self.filled(found)));
            }
        }
        for found in &mut stacks {
            found.sort();
        }
        stacks.sort_by(|a, b| {
            let size = |found: &Found| found.boards.len();
            size(b).cmp(&size(a)).then(a.boards.cmp(&b.boards))
        });
        stacks.dedup_by(|a, b| a.boards == b.boards);
        // A setting that keeps straps as they come is found more easily for the
        // whole than board by board.
        self.work_on(Some(BUDGET));
        for found in &mut stacks {
            if let Some(settings) = self.settings(&found.boards) {
                found.settings = settings;
            }
        }
        self.work_on(None);
        Largest {
            stacks,
            complete,
            at_most,
        }
    }

    /// Adds boards until none can be added.
    fn filled(&self, mut found: Found) -> Found {
        for board in 0..self.line.boards.len() {
            if found.boards.contains(&board) {
                continue;
            }
            if let Some(settings) = self.extended(&found.boards, &found.settings, board) {
                found.boards.push(board);
                found.settings = settings;
            }
        }
        found
    }

    /// For each pair of boards whether one may keep the other out.
    #[expect(clippy::needless_range_loop, reason = "both halves are written")]
    fn near(&self) -> Vec<Vec<bool>> {
        let count = self.line.boards.len();
        let all: Vec<usize> = (0..count).collect();
        let mut near = vec![vec![false; count]; count];
        for a in 0..count {
            for b in 0..a {
                let meet = self.may_clash(a, b);
                (near[a][b], near[b][a]) = (meet, meet);
            }
        }
        for limit in &self.line.limits {
            if limit.holds(&all) {
                continue;
            }
            let concerned =
                |board: usize| limit.adds[board] > 0.0 || limit.brought_by == Some(board);
            for a in all.iter().copied().filter(|&board| concerned(board)) {
                for b in (0..a).filter(|&board| concerned(board)) {
                    (near[a][b], near[b][a]) = (true, true);
                }
            }
        }
        near
    }

    /// Pairs of boards that never go together, as bits.
    #[expect(clippy::needless_range_loop, reason = "both halves are written")]
    fn apart(&self) -> Vec<Vec<bool>> {
        let count = self.line.boards.len();
        let mut apart = vec![vec![false; count]; count];
        for a in 0..count {
            for b in 0..a {
                let never = self.settings(&[a, b]).is_none();
                (apart[a][b], apart[b][a]) = (never, never);
            }
        }
        apart
    }
}

impl Found {
    fn sort(&mut self) {
        let mut both: Vec<(usize, usize)> = self
            .boards
            .iter()
            .copied()
            .zip(self.settings.iter().copied())
            .collect();
        both.sort_unstable();
        (self.boards, self.settings) = both.into_iter().unzip();
    }
}

impl Search<'_, '_> {
    /// Finds what contains `chosen`, takes the rest from `open`, and cannot be
    /// extended by any of `shut`. Every board of both works with those chosen.
    fn go(
        &mut self,
        chosen: &[usize],
        settings: &[usize],
        mut open: Vec<usize>,
        mut shut: Vec<usize>,
    ) {
        // What was not found for want of work may be there.
        self.complete &= self.solver.works(1);
        if !self.complete {
            return;
        }
        // Where all that is open goes together there is nothing to branch on; and
        // where a shut one goes with all of it, whatever is found can be added to.
        let mut all = chosen.to_vec();
        all.extend(&open);
        let can_be_added = |&other: &usize| {
            let mut more = all.clone();
            more.push(other);
            self.solver.settings_soon(&more).is_some()
        };
        if shut.iter().any(can_be_added) {
            return;
        }
        if let Some(settings) = self.solver.settings_soon(&all) {
            self.complete &= self.solver.works(1) && self.stacks.len() < MOST_STACKS;
            self.stacks.push(Found {
                boards: all,
                settings,
            });
            return;
        }
        // Whatever does not hold the pivot holds something that keeps it out.
        let mut branches: Option<Vec<usize>> = None;
        for &pivot in shut.iter().chain(&open) {
            let mut against = self.against(pivot, chosen, &open);
            if open.contains(&pivot) {
                against.insert(0, pivot);
            }
            if branches
                .as_ref()
                .is_none_or(|best| against.len() < best.len())
            {
                branches = Some(against);
            }
        }
        for board in branches.unwrap_or_default() {
            if !self.complete {
                return;
            }
            let Some(with) = self.solver.extended(chosen, settings, board) else {
                self.complete &= self.solver.works(1);
                continue;
            };
            let mut now = chosen.to_vec();
            now.push(board);
            let still =
                |board_there: &usize| self.solver.extended(&now, &with, *board_there).is_some();
            open.retain(|&other| other != board);
            let open_there: Vec<usize> = open.iter().copied().filter(|b| still(b)).collect();
            let shut_there: Vec<usize> = shut.iter().copied().filter(|b| still(b)).collect();
            self.go(&now, &with, open_there, shut_there);
            shut.push(board);
        }
    }

    /// Boards of `open` that may keep one out: those that it may clash with, and
    /// those that may force the straps of chosen ones that it may clash with.
    fn against(&mut self, board: usize, chosen: &[usize], open: &[usize]) -> Vec<usize> {
        let mut reached = vec![board];
        let mut left: Vec<usize> = chosen
            .iter()
            .copied()
            .filter(|&other| self.solver.alive[other].count_ones() > 1)
            .collect();
        let mut at = 0;
        while at < reached.len() {
            let near = &self.near[reached[at]];
            let (joined, rest) = left.into_iter().partition(|&other| near[other]);
            reached.extend::<Vec<usize>>(joined);
            left = rest;
            at += 1;
        }
        self.solver.works(reached.len() * open.len());
        open.iter()
            .copied()
            .filter(|&other| other != board && reached.iter().any(|&by| self.near[by][other]))
            .collect()
    }
}

/// The search for a stack with most boards.
struct Most<'s, 'l> {
    solver: &'s Solver<'l>,
    apart: Vec<Vec<bool>>,
    best: Option<Found>,
}

impl Most<'_, '_> {
    /// No more of these boards go together: they are dealt into groups of which
    /// no two do.
    fn bound(&mut self, boards: &[usize]) -> usize {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for &board in boards {
            let alone =
                |group: &&mut Vec<usize>| group.iter().all(|&other| self.apart[board][other]);
            match groups.iter_mut().find(alone) {
                Some(group) => group.push(board),
                None => groups.push(vec![board]),
            }
        }
        self.solver.works(boards.len() * groups.len());
        groups.len()
    }

    /// Whether all was searched before the budget ran out.
    fn go(&mut self, chosen: &[usize], settings: &[usize], mut open: Vec<usize>) -> bool {
        let best = self.best.as_ref().map_or(0, |found| found.boards.len());
        if chosen.len() > best {
            self.best = Some(Found {
                boards: chosen.to_vec(),
                settings: settings.to_vec(),
            });
        }
        while !open.is_empty() {
            let best = self.best.as_ref().map_or(0, |found| found.boards.len());
            let bound = self.bound(&open);
            if !self.solver.works(1) {
                return false;
            }
            if chosen.len() + bound <= best {
                return true;
            }
            let board = open.remove(0);
            let Some(with) = self.solver.extended(chosen, settings, board) else {
                continue;
            };
            let mut now = chosen.to_vec();
            now.push(board);
            let still = |other: &usize| self.solver.extended(&now, &with, *other).is_some();
            let there: Vec<usize> = open.iter().copied().filter(still).collect();
            if !self.go(&now, &with, there) {
                return false;
            }
        }
        self.solver.works(1)
    }
}
