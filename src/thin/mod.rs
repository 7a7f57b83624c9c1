//! Which parts can be dropped from the line.
//!
//! Every part that is fitted is tried in the places of every other one of its kind
//! and package, board by board. Whether it may stand there is first judged by its
//! role ([`Verdict`]); then the whole notebook is recomputed with it. A stated text
//! may change, and is told; a requirement, a relation, a rating, a limit of a
//! formula or of a stack that would no longer hold speaks against it. Of the swaps
//! that are left the largest set is taken that holds together: a set that breaks
//! something is cut down to what breaks it, that much is ruled out, and the search
//! goes on until a set holds.
//!
//! No larger set of swaps holds in all its parts, so that it could be carried out
//! one swap at a time; where the search had to be cut short, the bound says how
//! many parts could go at most.

mod choose;
mod role;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use rayon::prelude::*;

use self::choose::{Choice, Swap};
use self::role::Roles;
pub use self::role::Verdict;
use crate::finding::{FileId, Finding, Level, Place, Slug, edited, unified};
use crate::notebook::{LineTotals, Notebook, Override};
use crate::record::{Records, Status};

/// Rounds of ruling out what breaks; each costs one look at the whole notebook.
const ROUNDS: usize = 200;

/// What can be dropped, and what that changes.
#[derive(Debug)]
pub struct Thinning {
    /// Parts that go, by their position, in rising order.
    pub drops: Vec<Dropped>,
    /// No set drops more parts than these.
    pub at_most: usize,
    /// Stated texts that change when all swaps are made.
    pub texts: Vec<Restated>,
    /// The line as it is.
    pub before: LineTotals,
    /// The line with all swaps made.
    pub after: LineTotals,
    /// Swaps that only somebody who knows the boards can judge.
    pub asks: Vec<Ask>,
    /// Swaps that the notebook was recomputed for.
    pub tried: usize,
    /// Those of them that broke something, with the first thing that broke.
    pub broke: Vec<(Move, String)>,
}

/// A part that goes.
#[derive(Clone, PartialEq, Debug)]
pub struct Dropped {
    /// The part.
    pub part: usize,
    /// What takes its places, board by board.
    pub moves: Vec<Move>,
}

/// All the places that a part has on a board, given to another part.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Move {
    /// The board.
    pub board: usize,
    /// Lines of its `[fitted]`.
    pub places: Vec<usize>,
    /// The part that goes.
    pub from: usize,
    /// The part that comes.
    pub to: usize,
}

/// A swap that somebody has to be asked about.
#[derive(Clone, PartialEq, Debug)]
pub struct Ask {
    /// The swap.
    pub swap: Move,
    /// Why, as phrases.
    pub reasons: Vec<String>,
}

/// A stated text that changes.
#[derive(Clone, PartialEq, Debug)]
pub struct Restated {
    /// Where it stands.
    pub place: Place,
    /// The text that would hold.
    pub text: String,
}

impl Thinning {
    /// Looks for what can be dropped. With `granted`, swaps that somebody has to be
    /// asked about count as answered with yes.
    pub fn of(notebook: &Notebook, granted: bool) -> Thinning {
        let line = Line::of(notebook);
        let roles = Roles::of(notebook);
        let mut asks = Vec::new();
        let mut likely = Vec::new();
        for (from, boards) in &line.places {
            let mut by_board = Vec::new();
            for (&board, places) in boards {
                let mut moves = Vec::new();
                for to in line.alike(notebook, *from) {
                    let parts = &notebook.records.parts;
                    let swap = Move {
                        board,
                        places: places.clone(),
                        from: *from,
                        to,
                    };
                    match roles.verdict(board, places, &parts[*from], &parts[to]) {
                        Verdict::Yes => moves.push(swap),
                        Verdict::Ask(reasons) => {
                            moves.extend(granted.then(|| swap.clone()));
                            asks.push(Ask { swap, reasons });
                        }
                        Verdict::No(_) => {}
                    }
                }
                by_board.push(moves);
            }
            // What cannot go from one of its boards goes from none, and trying it on
            // the others would be for nothing.
            if by_board.iter().all(|moves| !moves.is_empty()) {
                likely.push(by_board);
            }
        }
        let tries: Vec<Try> = likely
            .into_par_iter()
            .map(|by_board| Try::of(notebook, by_board))
            .collect();
        let mut whole = Try::default();
        for one in tries {
            whole.hold.extend(one.hold);
            whole.broke.extend(one.broke);
            whole.count += one.count;
        }
        let (made, at_most) = together(notebook, &line, &whole.hold);
        Thinning::told(notebook, &line, (made, at_most), asks, whole)
    }

    fn told(
        notebook: &Notebook,
        line: &Line,
        (made, at_most): (Vec<Move>, usize),
        asks: Vec<Ask>,
        tries: Try,
    ) -> Thinning {
        let texts = restated(notebook, &made);
        let mut drops: BTreeMap<usize, Vec<Move>> = BTreeMap::new();
        for swap in &made {
            drops.entry(swap.from).or_default().push(swap.clone());
        }
        Thinning {
            drops: drops
                .into_iter()
                .map(|(part, moves)| Dropped { part, moves })
                .collect(),
            at_most,
            texts,
            before: line.totals(&notebook.records, &[]),
            after: line.totals(&notebook.records, &made),
            asks,
            tried: tries.count,
            broke: tries.broke,
        }
    }

    /// Whether it is proven that no more parts can go.
    pub fn is_largest(&self) -> bool {
        self.at_most == self.drops.len()
    }

    /// All swaps that are made.
    pub fn moves(&self) -> impl Iterator<Item = &Move> {
        self.drops.iter().flat_map(|drop| &drop.moves)
    }

    /// All swaps, with the texts that change, as a unified diff of the notebook's
    /// files, each by its path from the notebook's folder.
    pub fn patch(&self, notebook: &Notebook) -> String {
        let moves: Vec<&Move> = self.moves().collect();
        diff(notebook, &moves, &self.texts)
    }
}

impl Dropped {
    /// The swaps of this part alone, with the texts that change by them, as
    /// [`Thinning::patch`] gives those of all parts.
    pub fn patch(&self, notebook: &Notebook) -> String {
        let moves: Vec<&Move> = self.moves.iter().collect();
        diff(notebook, &moves, &restated(notebook, &self.moves))
    }
}

/// Stated texts that change with swaps, by their place.
fn restated(notebook: &Notebook, made: &[Move]) -> Vec<Restated> {
    let supposed = notebook.under(&overrides(made));
    let texts = supposed.broken.iter().filter_map(|finding| {
        let mend = finding.mend.as_ref()?;
        (finding.slug == Slug::FigureDisagrees).then(|| Restated {
            place: mend.place.clone(),
            text: mend.text.clone(),
        })
    });
    let mut texts: Vec<Restated> = texts.collect();
    texts.sort_by(|a, b| a.place.cmp(&b.place));
    texts.dedup();
    texts
}

/// Swaps and texts as a unified diff.
fn diff(notebook: &Notebook, moves: &[&Move], texts: &[Restated]) -> String {
    let mut by_file: BTreeMap<FileId, Vec<(Range<usize>, String)>> = BTreeMap::new();
    let mut edit = |place: &Place, text: &str| {
        let edits = by_file.entry(place.file).or_default();
        edits.push((place.span(), text.to_owned()));
    };
    for swap in moves {
        let records = &notebook.records;
        let to = &records.parts[swap.to].id.value;
        for place in &swap.places {
            let line = &records.boards[swap.board].fitted[*place];
            edit(&line.part.place, to);
        }
    }
    for text in texts {
        edit(&text.place, &text.text);
    }
    let files = by_file.into_iter();
    let mut files: Vec<_> = files
        .map(|(file, edits)| (notebook.sources.file(file), edits))
        .collect();
    files.sort_by(|(a, _), (b, _)| a.path.cmp(&b.path));
    let changes = files.into_iter().map(|(file, edits)| {
        let names = ["a", "b"].map(|side| format!("{side}/{}", file.path));
        let after = edited(&file.text, edits);
        unified([&names[0], &names[1]], &file.text, &after)
    });
    changes.collect()
}

/// What came of trying the swaps of one part.
#[derive(Default)]
struct Try {
    hold: Vec<Move>,
    broke: Vec<(Move, String)>,
    count: usize,
}

impl Try {
    /// Recomputes the notebook for each swap of a part, board by board, until one
    /// board cannot spare it.
    fn of(notebook: &Notebook, by_board: Vec<Vec<Move>>) -> Try {
        let mut tries = Try::default();
        for moves in by_board {
            let mut is_spared = false;
            for swap in moves {
                tries.count += 1;
                match broken(notebook, std::slice::from_ref(&swap)) {
                    Some(finding) => tries.broke.push((swap, finding.message)),
                    None => {
                        is_spared = true;
                        tries.hold.push(swap);
                    }
                }
            }
            if !is_spared {
                tries.hold.clear();
                break;
            }
        }
        tries
    }
}

/// What is fitted on the boards of the line.
struct Line {
    /// Places of each part by board, as lines of `[fitted]`.
    places: BTreeMap<usize, BTreeMap<usize, Vec<usize>>>,
    /// The part in each place.
    part_at: BTreeMap<(usize, usize), usize>,
}

impl Line {
    fn of(notebook: &Notebook) -> Line {
        let records = &notebook.records;
        let mut line = Line {
            places: BTreeMap::new(),
            part_at: BTreeMap::new(),
        };
        for (board, record) in records.boards.iter().enumerate() {
            if record.status == Status::Withdrawn {
                continue;
            }
            for (at, place) in record
                .fitted
                .iter()
                .enumerate()
                .filter(|(_, line)| line.fit)
            {
                let id = &place.part.value;
                let part = records.parts.binary_search_by(|part| part.id.value.cmp(id));
                let Ok(part) = part else { continue };
                line.part_at.insert((board, at), part);
                let boards = line.places.entry(part).or_default();
                boards.entry(board).or_default().push(at);
            }
        }
        line
    }

    /// Parts of the line that are of the same kind as one.
    fn alike<'l>(&'l self, notebook: &'l Notebook, part: usize) -> impl Iterator<Item = usize> {
        let parts = &notebook.records.parts;
        let others = self.places.keys().copied();
        others.filter(move |other| {
            *other != part && std::ptr::eq(parts[*other].kind, parts[part].kind)
        })
    }

    /// What the line comes to with swaps made.
    fn totals(&self, records: &Records, made: &[Move]) -> LineTotals {
        let mut part_at = self.part_at.clone();
        for swap in made {
            for place in &swap.places {
                part_at.insert((swap.board, *place), swap.to);
            }
        }
        LineTotals::with(records, &|board, fitted| {
            part_at.get(&(board, fitted)).copied()
        })
    }

    /// Cost of the line at the largest volume; zero where no costs are stated.
    fn cost(&self, records: &Records, made: &[Move]) -> f64 {
        let totals = self.totals(records, made);
        totals.costs.last().map_or(0.0, |cost| cost.each)
    }
}

fn overrides(swaps: &[Move]) -> Vec<Override> {
    let mut overrides = Vec::new();
    for swap in swaps {
        overrides.extend(swap.places.iter().map(|&fitted| Override::Part {
            board: swap.board,
            fitted,
            part: swap.to,
        }));
    }
    overrides
}

/// The first thing that swaps would break; a text that can be stated anew, a file
/// that is written anew and a list that is exported anew are none.
fn broken(notebook: &Notebook, swaps: &[Move]) -> Option<Finding> {
    let supposed = notebook.under(&overrides(swaps));
    supposed.broken.into_iter().find(|finding| {
        let is_written_anew = match finding.slug {
            Slug::FigureDisagrees => finding.mend.is_some(),
            Slug::EmittedFileDiffers | Slug::BomDiffers => true,
            _ => false,
        };
        finding.level == Level::Error && !is_written_anew
    })
}

/// The largest set of swaps that holds together, and how many parts could go at
/// most.
fn together(notebook: &Notebook, line: &Line, moves: &[Move]) -> (Vec<Move>, usize) {
    let cost = line.cost(&notebook.records, &[]);
    let saves = |swap: &Move| cost - line.cost(&notebook.records, std::slice::from_ref(swap));
    let mut choice = Choice {
        swaps: moves
            .iter()
            .map(|swap| Swap {
                from: swap.from,
                board: swap.board,
                to: swap.to,
                saves: saves(swap),
            })
            .collect(),
        clashes: Vec::new(),
    };
    let swaps = |set: &[usize]| -> Vec<Move> { set.iter().map(|at| moves[*at].clone()).collect() };
    let mut best = choice.best();
    for _ in 0..ROUNDS {
        if broken(notebook, &swaps(&best.swaps)).is_none() {
            return (swaps(&best.swaps), best.at_most);
        }
        choice.clashes.push(smallest(&best.swaps, |set| {
            broken(notebook, &swaps(set)).is_some()
        }));
        best = choice.best();
    }
    // Not settled in so many rounds: what holds of the last set, part by part.
    let mut kept: Vec<usize> = Vec::new();
    let parts: BTreeSet<usize> = best.swaps.iter().map(|at| moves[*at].from).collect();
    for part in parts {
        let own = best.swaps.iter().filter(|at| moves[**at].from == part);
        let with: Vec<usize> = kept.iter().chain(own).copied().collect();
        if broken(notebook, &swaps(&with)).is_none() {
            kept = with;
        }
    }
    kept.sort_unstable();
    (swaps(&kept), best.at_most)
}

/// A smallest part of a set that still breaks something: none of it can be left
/// out. Halves are tried first, so that a few looks are enough for a large set.
fn smallest(set: &[usize], breaks: impl Fn(&[usize]) -> bool) -> Vec<usize> {
    let mut set = set.to_vec();
    let mut piece = set.len().div_ceil(2);
    while piece > 0 {
        let mut at = 0;
        while at < set.len() && set.len() > 1 {
            let end = (at + piece).min(set.len());
            let without: Vec<usize> = set[..at].iter().chain(&set[end..]).copied().collect();
            match !without.is_empty() && breaks(&without) {
                true => set = without,
                false => at = end,
            }
        }
        piece = match piece {
            1 => 0,
            piece => piece.div_ceil(2),
        };
    }
    set
}

#[cfg(test)]
mod tests {
    use super::smallest;

    #[test]
    fn what_breaks_is_cut_down_to_what_is_needed_for_it() {
        let set: Vec<usize> = (0..40).collect();
        let both = |set: &[usize]| set.contains(&7) && set.contains(&31);
        assert_eq!(smallest(&set, both), [7, 31]);
        assert_eq!(smallest(&[4], |_| true), [4]);
        assert_eq!(smallest(&[1, 2, 3], |set| set.contains(&2)), [2]);
    }
}
