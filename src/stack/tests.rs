//! The search against going through every stack and every setting, on small
//! lines that are made by chance from a seed.

#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;

use super::*;

/// A small generator of our own: the numbers shall not change with a library
/// (SplitMix64; Steele, Lea and Flood, OOPSLA 2014).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, most: usize) -> usize {
        (self.next() % most as u64) as usize
    }
}

/// A use of one of few things, in any manner.
fn made_use(dice: &mut Dice, things: usize, claim: usize) -> Use {
    let thing = dice.below(things);
    let manner = match thing % 4 {
        0 => Manner::Alone,
        1 => Manner::Shared(dice.below(2) as u32),
        2 => Manner::Pulses {
            output: dice.below(2),
            frequency: [None, Some(1000.0), Some(50.0)][dice.below(3)],
        },
        _ if dice.below(3) == 0 => Manner::Gives {
            low: 3.2,
            high: 3.4,
            blocks: dice.below(2) == 0,
        },
        _ => Manner::Takes {
            low: [2.0, 3.3][dice.below(2)],
            high: 3.6,
        },
    };
    Use {
        thing,
        manner,
        claim,
    }
}

fn made_line(dice: &mut Dice, boards: usize) -> Line {
    let things = 6 + dice.below(10);
    let board = |dice: &mut Dice| {
        let settings = 1 + dice.below(3);
        let setting = |dice: &mut Dice| {
            let uses = 1 + dice.below(2);
            Setting {
                uses: (0..uses)
                    .map(|claim| made_use(dice, things, claim))
                    .collect(),
                unfit: if dice.below(12) == 0 { vec![0] } else { vec![] },
            }
        };
        Candidate {
            settings: (0..settings).map(|_| setting(dice)).collect(),
        }
    };
    let candidates: Vec<Candidate> = (0..boards).map(|_| board(dice)).collect();
    let limit = |dice: &mut Dice| Limit {
        adds: (0..boards).map(|_| dice.below(4) as f64).collect(),
        module_adds: dice.below(3) as f64,
        most: 3.0 + dice.below(8) as f64,
        brought_by: [None, Some(dice.below(boards))][dice.below(2)],
    };
    Line {
        module: (0..dice.below(2))
            .map(|at| made_use(dice, things, at))
            .collect(),
        limits: (0..dice.below(3)).map(|_| limit(dice)).collect(),
        boards: candidates,
    }
}

/// Whether one choice of settings works, said plainly.
fn works(line: &Line, boards: &[usize], choice: &[usize]) -> bool {
    let mut uses: Vec<Use> = line.module.clone();
    for (&board, &setting) in boards.iter().zip(choice) {
        let setting = &line.boards[board].settings[setting];
        if !setting.unfit.is_empty() {
            return false;
        }
        uses.extend(&setting.uses);
    }
    let module = line.module.len();
    for (at, a) in uses.iter().enumerate() {
        // The module is as it is: its own uses are not held against each other.
        for (before, b) in uses[..at].iter().enumerate() {
            if (at >= module || before >= module) && clash(a, b).is_some() {
                return false;
            }
        }
    }
    line.limits.iter().all(|limit| {
        let there = limit.brought_by.is_none_or(|by| boards.contains(&by));
        let sum: f64 = boards.iter().map(|&board| limit.adds[board]).sum();
        !there || sum + limit.module_adds <= limit.most
    })
}

/// Whether any choice of settings works, by going through all of them.
fn goes(line: &Line, boards: &[usize]) -> bool {
    let counts: Vec<usize> = boards
        .iter()
        .map(|&board| line.boards[board].settings.len())
        .collect();
    let all: usize = counts.iter().product();
    (0..all).any(|mut number| {
        let choice: Vec<usize> = counts
            .iter()
            .map(|count| {
                let digit = number % count;
                number /= count;
                digit
            })
            .collect();
        works(line, boards, &choice)
    })
}

#[test]
fn the_search_finds_what_going_through_everything_finds() {
    let (mut working, mut failing, mut joint) = (0, 0, 0);
    for seed in 0..400 {
        let mut dice = Dice(seed);
        let boards = 1 + dice.below(6);
        let line = made_line(&mut dice, boards);
        let solver = Solver::of(&line);
        let sets: Vec<Vec<usize>> = (0..1usize << boards)
            .map(|bits| (0..boards).filter(|at| bits >> at & 1 == 1).collect())
            .collect();
        let good: Vec<&Vec<usize>> = sets.iter().filter(|set| goes(&line, set)).collect();
        for set in &sets {
            let expected = good.contains(&set);
            match solver.settings(set) {
                Some(choice) => {
                    assert!(
                        works(&line, set, &choice),
                        "seed {seed}: {set:?} {choice:?}"
                    );
                    working += 1;
                }
                None => {
                    assert!(!expected, "seed {seed}: {set:?}");
                    failing += 1;
                    let reason = solver.reason(set).unwrap();
                    assert!(!goes(&line, &reason.boards), "seed {seed}");
                    for at in 0..reason.boards.len() {
                        let mut fewer = reason.boards.clone();
                        fewer.remove(at);
                        assert!(goes(&line, &fewer), "seed {seed}: {reason:?}");
                    }
                    assert!(!reason.conflicts.is_empty(), "seed {seed}: {reason:?}");
                    joint += usize::from(reason.boards.len() > 2);
                }
            }
        }
        let maximal: BTreeSet<Vec<usize>> = good
            .iter()
            .filter(|set| !set.is_empty())
            .filter(|set| {
                let inside = |other: &&&Vec<usize>| {
                    other.len() > set.len() && set.iter().all(|board| other.contains(board))
                };
                !good.iter().any(|other| inside(&other))
            })
            .map(|set| (*set).clone())
            .collect();
        let largest = solver.largest();
        assert!(largest.complete);
        let found: BTreeSet<Vec<usize>> = largest
            .stacks
            .iter()
            .map(|found| found.boards.clone())
            .collect();
        assert_eq!(found, maximal, "seed {seed}");
        assert_eq!(
            found.len(),
            largest.stacks.len(),
            "seed {seed}: one is there twice"
        );
        for found in &largest.stacks {
            assert!(works(&line, &found.boards, &found.settings), "seed {seed}");
        }
        let most = maximal.iter().map(Vec::len).max().unwrap_or(0);
        assert_eq!(largest.at_most, most, "seed {seed}");
    }
    // The lines are neither all of one kind.
    assert!(
        working > 1000 && failing > 1000 && joint > 50,
        "{working} {failing} {joint}"
    );
}

#[test]
fn a_board_is_kept_out_by_one_that_it_never_meets() {
    // The second has two addresses; the first takes one of them, the third the other.
    let alone = |thing| Setting {
        uses: vec![Use {
            thing,
            manner: Manner::Alone,
            claim: 0,
        }],
        unfit: Vec::new(),
    };
    let board = |things: &[usize]| Candidate {
        settings: things.iter().map(|&thing| alone(thing)).collect(),
    };
    let line = Line {
        boards: vec![board(&[0]), board(&[0, 1]), board(&[1])],
        ..Line::default()
    };
    let solver = Solver::of(&line);
    let found = solver.largest();
    let boards: Vec<&[usize]> = found.stacks.iter().map(|found| &found.boards[..]).collect();
    assert_eq!(boards, [&[0, 1][..], &[0, 2], &[1, 2]]);
    let reason = solver.reason(&[0, 1, 2]).unwrap();
    assert_eq!((reason.boards.len(), reason.conflicts.len()), (3, 2));
}
