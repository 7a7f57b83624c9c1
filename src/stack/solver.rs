//! Whether boards work together, and with which settings.

use std::cell::Cell;

use super::{Line, clash};

/// A line with its clashes looked up.
#[derive(Debug)]
pub struct Solver<'l> {
    pub(super) line: &'l Line,
    /// Settings of each board that work alone on the module, as bits.
    pub(super) alive: Vec<u64>,
    /// Of board `i` at setting `a`, the settings of board `j` that it does not
    /// clash with, as bits: `fits[i][a][j]`.
    fits: Vec<Vec<Vec<u64>>>,
    /// Pairs of boards that clash at all of their settings.
    apart: Vec<Vec<bool>>,
    /// Work that was done, counted in boards that were looked at.
    work: Cell<u64>,
    /// Work after which nothing more is found.
    work_limit: Cell<u64>,
}

impl<'l> Solver<'l> {
    /// Looks up what clashes.
    pub fn of(line: &'l Line) -> Solver<'l> {
        let boards = &line.boards;
        let alive: Vec<u64> = boards
            .iter()
            .map(|board| {
                let settings = board.settings.iter().enumerate();
                let works = settings.filter(|(_, setting)| {
                    let uses = &setting.uses;
                    let inner = uses.iter().enumerate().any(|(at, a)| {
                        let others = uses[..at].iter().chain(&line.module);
                        others.into_iter().any(|b| clash(a, b).is_some())
                    });
                    setting.unfit.is_empty() && !inner
                });
                works.fold(0, |bits, (at, _)| bits | 1 << at)
            })
            .collect();
        let fits = (0..boards.len())
            .map(|i| {
                let of_setting = |a: usize| {
                    let against = |j: usize| {
                        let settings = boards[j].settings.iter().enumerate();
                        let free = settings.filter(|&(b, other)| {
                            alive[j] >> b & 1 == 1
                                && !boards[i].settings[a]
                                    .uses
                                    .iter()
                                    .any(|x| other.uses.iter().any(|y| clash(x, y).is_some()))
                        });
                        free.fold(0, |bits, (b, _)| bits | 1 << b)
                    };
                    (0..boards.len()).map(against).collect()
                };
                (0..boards[i].settings.len()).map(of_setting).collect()
            })
            .collect();
        let mut solver = Solver {
            line,
            alive,
            fits,
            apart: Vec::new(),
            work: Cell::new(0),
            work_limit: Cell::new(u64::MAX),
        };
        let never = |a: usize, b: usize| bits(solver.alive[a]).all(|at| solver.fits(a, at, b) == 0);
        let of = |a: usize| (0..boards.len()).map(|b| never(a, b)).collect();
        solver.apart = (0..boards.len()).map(of).collect();
        solver
    }

    /// Lets the search go on for so much work and no more; what it does not find
    /// by then it does not find.
    pub(super) fn work_on(&self, budget: Option<u64>) {
        let limit = budget.map_or(u64::MAX, |budget| self.work.get().saturating_add(budget));
        self.work_limit.set(limit);
    }

    /// Counts work; whether there may be more of it.
    pub(super) fn works(&self, boards: usize) -> bool {
        self.work.set(self.work.get().saturating_add(boards as u64));
        self.work.get() <= self.work_limit.get()
    }

    /// Settings of another board that one at a setting does not clash with.
    pub(super) fn fits(&self, board: usize, setting: usize, other: usize) -> u64 {
        self.fits[board][setting][other]
    }

    /// Whether two boards clash at any of their settings.
    pub(super) fn may_clash(&self, a: usize, b: usize) -> bool {
        bits(self.alive[a]).any(|setting| self.fits(a, setting, b) != self.alive[b])
    }

    /// Whether boards keep to every limit.
    pub(super) fn within_limits(&self, boards: &[usize]) -> bool {
        self.line.limits.iter().all(|limit| limit.holds(boards))
    }

    /// A setting for each of the boards, with which they work together; `None`
    /// where there is none.
    pub fn settings(&self, boards: &[usize]) -> Option<Vec<usize>> {
        if !self.within_limits(boards) {
            return None;
        }
        let open: Vec<u64> = boards.iter().map(|&board| self.alive[board]).collect();
        let mut found = vec![0; boards.len()];
        self.assign(boards, &open, &mut found).then_some(found)
    }

    /// The same with little effort: there may be settings where none are found.
    pub(super) fn settings_soon(&self, boards: &[usize]) -> Option<Vec<usize>> {
        const EFFORT: u64 = 8_000;
        let mut pairs = boards.iter().enumerate();
        let apart = |(at, &a): (usize, &usize)| boards[..at].iter().any(|&b| self.apart[a][b]);
        if pairs.any(apart) {
            return None;
        }
        let limit = self.work_limit.get();
        let soon = self.work.get().saturating_add(EFFORT);
        self.work_limit.set(limit.min(soon));
        let found = self.settings(boards);
        self.work_limit.set(limit);
        found
    }

    /// The same, where some boards are held to some of their settings.
    pub fn settings_among(&self, boards: &[usize], allowed: &[u64]) -> Option<Vec<usize>> {
        if !self.within_limits(boards) {
            return None;
        }
        let open = boards.iter().zip(allowed);
        let open: Vec<u64> = open
            .map(|(&board, bits)| self.alive[board] & bits)
            .collect();
        let mut found = vec![0; boards.len()];
        self.assign(boards, &open, &mut found).then_some(found)
    }

    /// Chooses settings, the board with the fewest left first; each choice takes
    /// from the others what clashes with it.
    fn assign(&self, boards: &[usize], open: &[u64], found: &mut [usize]) -> bool {
        const DONE: u64 = 0;
        if open.contains(&DONE) {
            return false;
        }
        self.assign_rest(boards, open.to_vec(), vec![false; boards.len()], found)
    }

    fn assign_rest(
        &self,
        boards: &[usize],
        open: Vec<u64>,
        mut done: Vec<bool>,
        found: &mut [usize],
    ) -> bool {
        let left = (0..boards.len()).filter(|&at| !done[at]);
        let Some(at) = left.min_by_key(|&at| open[at].count_ones()) else {
            return true;
        };
        if !self.works(4 * boards.len()) {
            return false;
        }
        done[at] = true;
        for setting in bits(open[at]) {
            let mut narrowed = open.clone();
            let mut dead = false;
            for other in (0..boards.len()).filter(|&other| !done[other]) {
                narrowed[other] &= self.fits(boards[at], setting, boards[other]);
                dead |= narrowed[other] == 0;
            }
            if dead {
                continue;
            }
            found[at] = setting;
            if self.assign_rest(boards, narrowed, done.clone(), found) {
                return true;
            }
        }
        false
    }

    /// Settings for boards that work and one more, where there are any; those
    /// that the others have are kept if they can be.
    pub(super) fn extended(
        &self,
        boards: &[usize],
        settings: &[usize],
        more: usize,
    ) -> Option<Vec<usize>> {
        let is_apart = boards.iter().any(|&board| self.apart[board][more]);
        if !self.works(boards.len() + 1) || is_apart {
            return None;
        }
        let mut all = boards.to_vec();
        all.push(more);
        if !self.within_limits(&all) {
            return None;
        }
        let mut open = self.alive[more];
        for (&board, &setting) in boards.iter().zip(settings) {
            open &= self.fits(board, setting, more);
        }
        if open != 0 {
            let mut extended = settings.to_vec();
            extended.push(open.trailing_zeros() as usize);
            return Some(extended);
        }
        self.settings(&all)
    }
}

/// The numbers of the bits that are set, the lowest first.
pub(super) fn bits(mut bits: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let lowest = bits.trailing_zeros();
        (bits != 0).then(|| {
            bits &= bits - 1;
            lowest as usize
        })
    })
}
