//! A Python module that small interpreters read too: assignments of numbers,
//! strings and tuples, and nothing else.

use super::number::{constant, float, whole};
use super::words::{about, about_column, about_limit, literal, on_a_line};
use super::{Cells, Emitted, Table};

/// The module.
pub(super) fn text(emitted: &Emitted) -> String {
    let mut lines: Vec<String> = emitted.head().iter().map(|line| comment(line)).collect();
    lines.extend([
        String::new(),
        comment("State of the notebook, for the log"),
        format!("{} = {}", emitted.state_name(), quoted(&emitted.state())),
    ]);
    for it in &emitted.constants {
        let number = constant(it.value, it.is_whole);
        lines.extend([
            String::new(),
            comment(&about(it)),
            format!("{} = {number}", it.name),
        ]);
    }
    for table in &emitted.tables {
        lines.push(String::new());
        lines.extend(self::table(table));
    }
    for limit in &emitted.limits {
        lines.extend([String::new(), comment(&about_limit(limit))]);
        lines.extend(limit.parts().map(|(name, number, is_count)| {
            let number = if is_count {
                whole(number)
            } else {
                float(number)
            };
            format!("{name} = {number}")
        }));
    }
    lines.join("\n") + "\n"
}

fn comment(words: &str) -> String {
    format!("# {}", on_a_line(words))
}

fn table(table: &Table) -> Vec<String> {
    let mut lines = vec![
        comment(&table.means),
        format!("{}_ROWS = {}", table.name, table.rows()),
    ];
    for (column, name) in table.columns.iter().zip(table.column_names()) {
        let cells: Vec<String> = match &column.cells {
            Cells::Numbers(numbers) => numbers.iter().map(|number| float(*number)).collect(),
            Cells::Whole(numbers) => numbers.iter().map(|number| whole(*number)).collect(),
            Cells::Words(words) => words.iter().map(|word| quoted(word)).collect(),
        };
        lines.push(comment(&about_column(&column.head, &column.unit)));
        lines.push(format!("{name} = ("));
        // A comma behind the only cell is what makes it a tuple.
        lines.extend(cells.iter().map(|cell| format!("    {cell},")));
        lines.push(")".into());
    }
    lines
}

/// A string literal.
fn quoted(text: &str) -> String {
    literal(text, &[], |c| format!("\\u{:04x}", u32::from(c)))
}
