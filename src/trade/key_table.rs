//! What a page shows of ways of wiring keys: a table of them beside each other,
//! and how to read it.

use super::key_choice::{Choice, SORTED};
use super::key_wiring::Wiring;
use super::kind::Inputs;
use super::plan::{Cell, Table};

/// Most rows of the table.
const MOST_ROWS: usize = 16;

/// A row for each wiring, with the verdict on it.
pub(super) fn table(given: &Inputs, all: &[Wiring], choice: &Choice) -> Table {
    let optional = [
        ("cost", "Cost", choice.is_costed()),
        ("scan_time", "Scan", given.has("settle")),
        ("latency", "Sure after", given.has("bounce")),
    ];
    let mut columns: Vec<String> = [
        "Wiring",
        "Pins",
        "Diodes",
        "Parts",
        "Held together",
        "Sets told apart",
    ]
    .map(String::from)
    .into();
    let shown_too = || optional.iter().filter(|column| column.2);
    columns.extend(shown_too().map(|column| column.1.to_owned()));
    columns.push("Verdict".into());
    let row = |(at, wiring): (usize, &Wiring)| {
        let of = |key: &str| Cell::Value(format!("{}.{key}", wiring.id()));
        let mut row = vec![
            Cell::Text(wiring.title()),
            of("pins"),
            of("diodes"),
            of("parts"),
            of("together"),
            Cell::Text(wiring.sets.clone()),
        ];
        row.extend(shown_too().map(|column| of(column.0)));
        row.push(Cell::Judged {
            of: choice.operands(),
            judge: choice.verdict(at),
        });
        row
    };
    Table {
        caption: String::new(),
        columns,
        rows: shown(all).map(row).collect(),
    }
}

/// The wirings that the table shows: all, but for matrices far from square where
/// there are many.
fn shown(all: &[Wiring]) -> impl Iterator<Item = (usize, &Wiring)> {
    let beyond = all.len().saturating_sub(MOST_ROWS).div_ceil(2);
    let mut left_out = [beyond, beyond];
    all.iter().enumerate().filter(move |(_, wiring)| {
        let sort = match wiring.word() {
            "matrix" => 0,
            "matrix-with-diodes" => 1,
            _ => return true,
        };
        let skip = left_out[sort] > 0;
        left_out[sort] = left_out[sort].saturating_sub(1);
        !skip
    })
}

/// What a reader has to know beside the table.
pub(super) fn notes(
    given: &Inputs,
    keys: u64,
    together: u64,
    all: &[Wiring],
    choice: &Choice,
) -> Vec<String> {
    let mut notes = Vec::new();
    let by = if choice.is_costed() {
        "cost"
    } else {
        "parts beside the keys"
    };
    let pins = match choice.knows_pins() {
        true => " and finds its pins among the free ones",
        false => "",
    };
    let held = match together == keys {
        true => "every set of held keys".to_owned(),
        false => format!("any {together} keys held together"),
    };
    notes.push(format!(
        "Recommended is the wiring of the least {by}, and then of the fewest pins, that tells \
         apart {held}{pins}."
    ));
    if SORTED.iter().any(|sort| given.has(sort)) {
        notes.push(
            "Rows of a matrix are driven and columns read. Charlieplexed pins do both; registers \
             take two that are driven, clock and latch, and one that is read."
                .into(),
        );
    }
    notes.push(
        "A set of keys is told apart where no other set reads like it: current was followed \
         through every closed contact. Diodes are taken as ideal, and pins as having pull-ups of \
         their own."
            .into(),
    );
    if all.len() > MOST_ROWS {
        notes.push("Matrices far from square are left out of the table.".into());
    }
    notes
}
