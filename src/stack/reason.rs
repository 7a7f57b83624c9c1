//! Why boards do not go together, as shortly as it can be said.

use std::collections::BTreeSet;

use super::solver::Solver;
use super::{Clash, clash};

/// Why boards do not go together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Reason {
    /// The boards, of which none can be left out.
    pub boards: Vec<usize>,
    /// Conflicts of which every choice of settings has one.
    pub conflicts: Vec<Conflict>,
}

/// One conflict. Boards are numbers in the line; `None` is the module.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Conflict {
    /// A sum passes a limit.
    Limit(usize),
    /// A claim of a board is one that the module cannot meet.
    Unfit(usize, usize),
    /// Two uses of one thing clash: which thing, who, with which claim.
    Clash {
        /// How.
        sort: Clash,
        /// Number of the thing.
        thing: usize,
        /// One of the two, the later in the line.
        by: (usize, usize),
        /// The other.
        with: (Option<usize>, usize),
    },
}

/// Most choices of settings that are gone through one by one.
const MOST_CHOICES: usize = 20_000;

impl Solver<'_> {
    /// Why boards do not work together; `None` where they do.
    pub fn reason(&self, boards: &[usize]) -> Option<Reason> {
        if self.settings(boards).is_some() {
            return None;
        }
        let all: Vec<u64> = vec![u64::MAX; boards.len()];
        Some(self.reason_among(boards, &all))
    }

    /// Why boards do not work together that are held to some of their settings.
    /// They are known not to.
    pub fn reason_among(&self, boards: &[usize], allowed: &[u64]) -> Reason {
        let fails = |some: &[usize]| {
            let (boards, allowed) = part(boards, allowed, some);
            self.settings_among(&boards, &allowed).is_none()
        };
        let mut kept = smallest(boards.len(), &fails);
        kept.sort_unstable();
        let (boards, allowed) = part(boards, allowed, &kept);
        let conflicts = self.conflicts(&boards, &allowed);
        Reason { boards, conflicts }
    }

    fn conflicts(&self, boards: &[usize], allowed: &[u64]) -> Vec<Conflict> {
        let limits = self.line.limits.iter().enumerate();
        let mut passed = limits.filter(|(_, limit)| !limit.holds(boards));
        if let Some((at, _)) = passed.next() {
            return vec![Conflict::Limit(at)];
        }
        let choices = self.choices(boards, allowed);
        let sets: Vec<BTreeSet<Conflict>> = choices
            .iter()
            .map(|choice| self.conflicts_of(boards, choice))
            .collect();
        struck(&sets)
    }

    /// Every choice of settings, also of those that do not work alone.
    fn choices(&self, boards: &[usize], allowed: &[u64]) -> Vec<Vec<usize>> {
        let mut choices: Vec<Vec<usize>> = vec![Vec::new()];
        for (&board, &allowed) in boards.iter().zip(allowed) {
            let settings = 0..self.line.boards[board].settings.len();
            let settings: Vec<usize> = settings.filter(|&at| allowed >> at & 1 == 1).collect();
            choices = choices
                .iter()
                .flat_map(|choice| {
                    settings.iter().map(move |&setting| {
                        let mut longer = choice.clone();
                        longer.push(setting);
                        longer
                    })
                })
                .take(MOST_CHOICES)
                .collect();
        }
        choices
    }

    /// What conflicts in one choice of settings.
    fn conflicts_of(&self, boards: &[usize], choice: &[usize]) -> BTreeSet<Conflict> {
        let mut found = BTreeSet::new();
        let setting = |at: usize| &self.line.boards[boards[at]].settings[choice[at]];
        for at in 0..boards.len() {
            let own = setting(at);
            found.extend(
                own.unfit
                    .iter()
                    .map(|&claim| Conflict::Unfit(boards[at], claim)),
            );
            for (number, a) in own.uses.iter().enumerate() {
                let mut against = |b: &super::Use, with: Option<usize>| {
                    if let Some(sort) = clash(a, b) {
                        found.insert(Conflict::Clash {
                            sort,
                            thing: a.thing,
                            by: (boards[at], a.claim),
                            with: (with, b.claim),
                        });
                    }
                };
                self.line.module.iter().for_each(|b| against(b, None));
                own.uses[..number]
                    .iter()
                    .for_each(|b| against(b, Some(boards[at])));
                for (before, board) in boards[..at].iter().enumerate() {
                    let uses = &setting(before).uses;
                    uses.iter().for_each(|b| against(b, Some(*board)));
                }
            }
        }
        found
    }
}

fn part(boards: &[usize], allowed: &[u64], some: &[usize]) -> (Vec<usize>, Vec<u64>) {
    some.iter().map(|&at| (boards[at], allowed[at])).unzip()
}

/// The fewest of `count` that fail, given that all together do: one or two where
/// so few do, else a set of which none can be left out.
fn smallest(count: usize, fails: &dyn Fn(&[usize]) -> bool) -> Vec<usize> {
    if let Some(one) = (0..count).find(|&one| fails(&[one])) {
        return vec![one];
    }
    for second in 0..count {
        if let Some(first) = (0..second).find(|&first| fails(&[first, second])) {
            return vec![first, second];
        }
    }
    let mut kept: Vec<usize> = (0..count).collect();
    for one in (0..count).rev() {
        let without: Vec<usize> = kept.iter().copied().filter(|&other| other != one).collect();
        if fails(&without) {
            kept = without;
        }
    }
    kept
}

/// Conflicts of which every set has one: a single one where there is one, two
/// where two do, else such as strike the most sets first.
fn struck(sets: &[BTreeSet<Conflict>]) -> Vec<Conflict> {
    let all: BTreeSet<Conflict> = sets.iter().flatten().copied().collect();
    let strikes = |some: &[Conflict]| {
        sets.iter()
            .all(|set| some.iter().any(|conflict| set.contains(conflict)))
    };
    let all: Vec<Conflict> = all.into_iter().collect();
    if let Some(one) = all.iter().find(|&&one| strikes(&[one])) {
        return vec![*one];
    }
    for (at, &first) in all.iter().enumerate() {
        if let Some(&second) = all[at + 1..]
            .iter()
            .find(|&&second| strikes(&[first, second]))
        {
            return vec![first, second];
        }
    }
    let mut left: Vec<&BTreeSet<Conflict>> = sets.iter().collect();
    let mut chosen = Vec::new();
    while !left.is_empty() {
        let count = |conflict: &Conflict| left.iter().filter(|set| set.contains(conflict)).count();
        let Some(&most) = all.iter().max_by_key(|conflict| count(conflict)) else {
            break;
        };
        if count(&most) == 0 {
            break;
        }
        chosen.push(most);
        left.retain(|set| !set.contains(&most));
    }
    chosen
}
