//! The order in which a board's workings are laid out: each after those that it
//! takes as inputs.

use crate::finding::{Finding, Located, Slug};
use crate::record::{Board, WorkingInput, WorkingRecord};
use crate::trade::{self, Input, Takes};

/// Positions of workings in the order of laying out, and circles.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Order {
    /// Every working that is on no circle and hangs on none.
    pub sorted: Vec<usize>,
    /// Each circle once, in the order in which one working names the next.
    pub circles: Vec<Vec<usize>>,
}

/// Orders a board's workings.
pub(super) fn order(board: &Board) -> Order {
    let position = |id: &str| {
        let mut workings = board.workings.iter();
        workings.position(|working| working.id.value == id)
    };
    let needs: Vec<Vec<usize>> = board
        .workings
        .iter()
        .map(|record| {
            named(record)
                .filter_map(|text| position(&text.value))
                .collect()
        })
        .collect();
    sort(&needs)
}

/// What a working's record writes at inputs that take another working.
fn named(record: &WorkingRecord) -> impl Iterator<Item = &Located<String>> {
    let kind = trade::kind(&record.kind.value);
    let mut found = Vec::new();
    if let Some(kind) = kind {
        gather(kind.inputs(), &record.inputs, &mut found);
    }
    found.into_iter()
}

fn gather<'r>(
    inputs: &'static [Input],
    written: &'r [(Located<String>, WorkingInput)],
    found: &mut Vec<&'r Located<String>>,
) {
    for input in inputs {
        let value = written.iter().find(|(key, _)| key.value == input.name);
        match (&input.takes, value) {
            (Takes::Working(_), Some((_, WorkingInput::Text(text)))) => found.push(text),
            (Takes::Groups(inner), Some((_, WorkingInput::Named(groups)))) => {
                for (_, group) in groups {
                    if let WorkingInput::Named(group) = group {
                        gather(inner, group, found);
                    }
                }
            }
            _ => {}
        }
    }
}

/// Sorts what needs others after what it needs, otherwise as written.
fn sort(needs: &[Vec<usize>]) -> Order {
    let mut sorted: Vec<usize> = Vec::with_capacity(needs.len());
    let mut done = vec![false; needs.len()];
    loop {
        let before = sorted.len();
        for (at, needs) in needs.iter().enumerate() {
            if !done[at] && needs.iter().all(|&need| done[need]) {
                done[at] = true;
                sorted.push(at);
            }
        }
        if sorted.len() == before {
            break;
        }
    }
    Order {
        sorted,
        circles: circles(needs, &done),
    }
}

/// Follows the first need that is stuck from each stuck working until one comes
/// up again: what lies between is a circle.
fn circles(needs: &[Vec<usize>], done: &[bool]) -> Vec<Vec<usize>> {
    let mut seen = vec![false; needs.len()];
    let mut circles = Vec::new();
    for start in 0..needs.len() {
        let mut path: Vec<usize> = Vec::new();
        let mut next = Some(start).filter(|&start| !done[start]);
        while let Some(at) = next {
            if let Some(from) = path.iter().position(|&other| other == at) {
                circles.push(path.split_off(from));
                break;
            }
            if seen[at] {
                break;
            }
            seen[at] = true;
            path.push(at);
            next = needs[at].iter().copied().find(|&need| !done[need]);
        }
    }
    circles
}

/// Workings that take each other as inputs in a circle.
pub(super) fn circular(board: &Board, circle: &[usize]) -> Finding {
    let record = |at: usize| &board.workings[at];
    let names: Vec<String> = circle
        .iter()
        .chain(circle.first())
        .map(|&at| format!("`{}`", record(at).id.value))
        .collect();
    let message = format!(
        "workings take each other in a circle: {}",
        names.join(" → ")
    );
    let mut finding = Finding::new(Slug::CircularFigures, message)
        .help("let one of them take a working that hangs on none of these");
    for (at, &working) in circle.iter().enumerate() {
        let next = &record(circle[(at + 1) % circle.len()]).id.value;
        let mut texts = named(record(working));
        if let Some(text) = texts.find(|text| text.value == *next) {
            let label = format!("`{}` takes `{next}`", record(working).id.value);
            finding = finding.at(text.place.clone(), label);
        }
    }
    finding
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_taken_comes_first_and_the_rest_stays_as_written() {
        let order = sort(&[vec![2], vec![], vec![3], vec![]]);
        assert_eq!(order.sorted, [1, 3, 2, 0]);
        assert!(order.circles.is_empty());
    }

    #[test]
    fn circles_are_told_once_and_what_hangs_on_them_waits() {
        let order = sort(&[vec![1], vec![2], vec![1], vec![], vec![4]]);
        assert_eq!(order.sorted, [3]);
        assert_eq!(order.circles, [vec![1, 2], vec![4]]);
    }
}
