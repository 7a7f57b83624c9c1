//! Every stated number of a notebook, with its place.

use std::ops::Range;

use camino::Utf8PathBuf;
use ohmbook::finding::Place;
use ohmbook::notebook::{NodeId, Notebook, Target};
use ohmbook::quantity::{Claim, Decimal, Margin, Outcome, Statement, Written};

/// A statement about a figure, in a record or in a sentence.
#[derive(Clone, Debug)]
pub struct Stated {
    /// The file.
    pub path: Utf8PathBuf,
    /// Byte of the file at which the statement starts.
    pub start: usize,
    /// Line and column of that byte.
    pub line_column: (usize, usize),
    /// The figure.
    pub node: NodeId,
    /// The statement.
    pub statement: Statement,
    /// What the figure comes to.
    pub outcome: Outcome,
}

/// Every statement in `says` of a figure or a working, and in the text of a link
/// to a figure.
pub fn all(notebook: &Notebook) -> Vec<Stated> {
    let mut all = Vec::new();
    for board in &notebook.records.boards {
        for figure in &board.figures {
            let node = notebook.graph.find(&board.id.value, &figure.id.value);
            let says = figure.says.as_ref();
            if let (Some(node), Some(says)) = (node, says) {
                all.extend(stated(notebook, node, says.value.clone(), &says.place));
            }
        }
    }
    for (number, board) in notebook.records.boards.iter().enumerate() {
        for (at, working) in board.workings.iter().enumerate() {
            for (key, says) in &working.says {
                let node = result(notebook, number, at, &key.value);
                all.extend(stated(notebook, node, says.value.clone(), &says.place));
            }
        }
    }
    for (number, board) in notebook.records.boards.iter().enumerate() {
        for (at, fixture) in board.fixtures.iter().enumerate() {
            for (step, record) in fixture.steps.iter().enumerate() {
                for (key, says) in &record.says {
                    let node = notebook.of_step(number, at, step, &key.value);
                    // With some other part fitted a step has no limits.
                    let Some(node) = node else { continue };
                    all.extend(stated(notebook, node, says.value.clone(), &says.place));
                }
            }
        }
    }
    for sheet in &notebook.sheets {
        for (link, target) in sheet.document.links.iter().zip(&sheet.targets) {
            if let Target::Revised {
                node,
                board,
                revision,
            } = target
            {
                let then = notebook.revision(*board, *revision);
                let then = then.expect("the demo speaks of revisions that there were");
                let twin = then.twin(notebook, *node).expect("it had the figure");
                let value = then.notebook.value(twin).expect("it had a value");
                let statement = Statement::parse(&link.text, None);
                let statement = statement.expect("the demo states numbers of revisions");
                let now = stated(notebook, *node, statement, &link.text_place);
                all.extend(now.map(|now| Stated {
                    outcome: value.outcome,
                    ..now
                }));
                continue;
            }
            let Target::Figure(node) = target else {
                continue;
            };
            // Words without a number only point at the figure.
            if link.text.contains(|c: char| c.is_ascii_digit()) {
                let statement = Statement::parse(&link.text, None);
                let statement = statement.unwrap_or_else(|fault| {
                    panic!("`{}` in {} states nothing: {fault}", link.text, sheet.path)
                });
                all.extend(stated(notebook, *node, statement, &link.text_place));
            }
        }
    }
    all
}

/// The node of a working's result that a record calls by this key.
pub fn result(notebook: &Notebook, board: usize, working: usize, key: &str) -> NodeId {
    let worked = notebook.graph.working(board, working);
    let worked = worked.expect("the demo's workings can be laid out");
    let mut results = worked.plan.results.iter();
    let result = results.find(|result| result.is_called(key));
    worked.nodes[&result.expect("the demo states what there is").name]
}

fn stated(
    notebook: &Notebook,
    node: NodeId,
    statement: Statement,
    place: &Place,
) -> Option<Stated> {
    let file = notebook.sources.file(place.file);
    let written = notebook.sources.text_at(place);
    // With an escape amid the text, its bytes would not be those of the file.
    assert_eq!(
        written,
        statement.text(),
        "a statement in {} is written with escapes, and this test cannot change it",
        file.path
    );
    Some(Stated {
        path: file.path.clone(),
        start: place.start,
        line_column: file.line_column(place.start),
        node,
        statement,
        outcome: notebook.value(node)?.outcome,
    })
}

/// What a numeral is within its statement, and so which way of changing it
/// claims more.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Part {
    /// A value: another one is another claim, whichever way.
    Value,
    /// A limit below which the spread must not reach: a higher one claims more.
    Floor,
    /// A limit that the spread must not exceed, or the width of a band around
    /// the value: a lower one claims more.
    Ceiling,
}

/// One numeral of a statement.
pub struct Numeral<'a> {
    pub written: &'a Written,
    pub part: Part,
    /// Whether trailing zeros do not count.
    pub rough: bool,
}

/// The numerals of a statement, each with what it is there.
pub fn numerals(statement: &Statement) -> Vec<Numeral<'_>> {
    let parts: &[Part] = match statement.claim() {
        Claim::Value { .. } => &[Part::Value],
        Claim::Band { .. } => &[Part::Value, Part::Ceiling, Part::Ceiling],
        Claim::Range { .. } => &[Part::Floor, Part::Ceiling],
        Claim::AtLeast(_) => &[Part::Floor],
        Claim::AtMost(_) => &[Part::Ceiling],
    };
    let rough = matches!(
        statement.claim(),
        Claim::Value { rough: true, .. } | Claim::Band { rough: true, .. }
    );
    let numerals = statement.numerals();
    let with_part = numerals.into_iter().zip(parts);
    with_part
        .map(|(written, &part)| Numeral {
            written,
            part,
            rough: rough && part == Part::Value,
        })
        .collect()
}

/// The text of a statement with one numeral changed by one unit of its last
/// digit; where trailing zeros do not count, of the last digit that does.
pub fn stepped(statement: &Statement, numeral: &Numeral<'_>, up: bool) -> String {
    let Written {
        decimal,
        digits,
        unit,
        code,
        ..
    } = numeral.written;
    let decimal = match numeral.rough {
        true => without_trailing_zeros(decimal).stepped(up),
        false => decimal.stepped(up),
    };
    let number = match code {
        true => format!("{decimal} {}", unit.symbol()),
        false => decimal.to_string(),
    };
    let mut text = statement.text().to_owned();
    let Range { start, end } = *digits;
    text.replace_range(start..end, &number);
    text
}

fn without_trailing_zeros(decimal: &Decimal) -> Decimal {
    let place = decimal.place_without_trailing_zeros();
    let mantissa = decimal
        .mantissa()
        .expect("a stated number is not that long");
    let zeros = u32::try_from(place - decimal.place()).expect("zeros are at the end");
    Decimal::new(mantissa / 10i128.pow(zeros), place)
}

/// Whether a statement holds for what a figure comes to: the table of what
/// statements claim once more, written down apart from the program's own.
///
/// | written | holds when |
/// | --- | --- |
/// | a value | the nominal value lies within half a unit of the last digit (of the last one that counts) |
/// | a value and a band | the same for the centre, and the spread lies inside the band |
/// | a range, a bound | the spread lies inside |
pub fn holds(statement: &Statement, outcome: Outcome) -> bool {
    let Outcome { nominal, low, high } = outcome;
    let inside = |from: f64, to: f64, digit: f64| {
        // What floats leave over, a millionth of the last digit, is no miss.
        low >= from - 1e-6 * digit && high <= to + 1e-6 * digit
    };
    match statement.claim() {
        Claim::Value { value, rough } => rounds_to(nominal, value, *rough),
        Claim::Band {
            centre,
            minus,
            plus,
            rough,
            ..
        } => {
            let width = |margin: &Margin| margin.size(centre);
            let (from, to) = (centre.value() - width(minus), centre.value() + width(plus));
            rounds_to(nominal, centre, *rough) && inside(from, to, digit(centre, false))
        }
        Claim::Range { low, high } => inside(low.value(), high.value(), digit(low, false)),
        Claim::AtLeast(bound) => inside(bound.value(), f64::INFINITY, digit(bound, false)),
        Claim::AtMost(bound) => inside(f64::NEG_INFINITY, bound.value(), digit(bound, false)),
    }
}

fn rounds_to(nominal: f64, written: &Written, rough: bool) -> bool {
    let half = 0.5 * digit(written, rough);
    (nominal - written.value()).abs() <= half * (1.0 + 1e-6)
}

/// One unit of the last digit that counts, in coherent SI units.
fn digit(written: &Written, rough: bool) -> f64 {
    let decimal = &written.decimal;
    let place = match rough {
        true => decimal.place_without_trailing_zeros(),
        false => decimal.place(),
    };
    10f64.powi(place) * written.unit.step()
}
