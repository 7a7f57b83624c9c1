//! A Rust module that needs no crate, not even the standard library.
//!
//! Whole numbers are `i32`, or `i64` where they do not fit; all others are
//! `f64`, which `as f32` makes shorter at compile time.

use super::number::{constant, float, whole};
use super::words::{about, about_column, about_limit, literal, on_a_line};
use super::{Cells, Emitted, Table};

/// The module.
pub(super) fn text(emitted: &Emitted) -> String {
    let head = emitted.head();
    let mut lines: Vec<String> = head
        .iter()
        .map(|line| format!("// {}", on_a_line(line)))
        .collect();
    lines.extend([
        "#![allow(dead_code, non_upper_case_globals)]".into(),
        String::new(),
        doc("State of the notebook, for the log"),
        format!(
            "pub const {}: &str = {};",
            emitted.state_name(),
            quoted(&emitted.state())
        ),
    ]);
    for it in &emitted.constants {
        let number = constant(it.value, it.is_whole);
        let of = if it.is_whole {
            integer(it.value)
        } else {
            "f64"
        };
        lines.extend([
            String::new(),
            doc(&about(it)),
            format!("pub const {}: {of} = {number};", it.name),
        ]);
    }
    for table in &emitted.tables {
        lines.push(String::new());
        lines.extend(self::table(table));
    }
    for limit in &emitted.limits {
        lines.push(String::new());
        for (name, number, is_count) in limit.parts() {
            let (of, number) = match is_count {
                true => (integer(number), whole(number)),
                false => ("f64", float(number)),
            };
            let about = match is_count {
                true => format!("{}, in counts", limit.means),
                false => about_limit(limit),
            };
            lines.extend([doc(&about), format!("pub const {name}: {of} = {number};")]);
        }
    }
    lines.join("\n") + "\n"
}

/// The type of a whole number.
fn integer(value: f64) -> &'static str {
    let fits = (f64::from(i32::MIN)..=f64::from(i32::MAX)).contains(&value);
    if fits { "i32" } else { "i64" }
}

/// The type of whole numbers that stand beside each other.
fn of_all(numbers: &[f64]) -> &'static str {
    if numbers.iter().all(|number| integer(*number) == "i32") {
        "i32"
    } else if numbers.iter().all(|number| *number >= 0.0) {
        "u64"
    } else {
        "i64"
    }
}

fn doc(words: &str) -> String {
    format!("/// {}", on_a_line(words))
}

fn table(table: &Table) -> Vec<String> {
    let rows = table.rows();
    let mut lines = vec![
        doc(&table.means),
        format!("pub const {}_ROWS: usize = {rows};", table.name),
    ];
    for (column, name) in table.columns.iter().zip(table.column_names()) {
        let (of, cells): (&str, Vec<String>) = match &column.cells {
            Cells::Numbers(numbers) => {
                ("f64", numbers.iter().map(|number| float(*number)).collect())
            }
            Cells::Whole(numbers) => (
                of_all(numbers),
                numbers.iter().map(|number| whole(*number)).collect(),
            ),
            Cells::Words(words) => ("&str", words.iter().map(|word| quoted(word)).collect()),
        };
        lines.push(doc(&about_column(&column.head, &column.unit)));
        lines.push(format!("pub const {name}: [{of}; {rows}] = ["));
        lines.extend(cells.iter().map(|cell| format!("    {cell},")));
        lines.push("];".into());
    }
    lines
}

/// A string literal.
fn quoted(text: &str) -> String {
    literal(text, &[], |c| format!("\\u{{{:x}}}", u32::from(c)))
}
