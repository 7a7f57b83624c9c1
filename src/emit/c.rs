//! A C header, for C99 and later and for C++.
//!
//! Constants are macros, so that the preprocessor can compare them and they
//! take no memory; columns are arrays.

use super::number::{constant, float, whole};
use super::words::{about, about_column, about_limit, literal, on_a_line};
use super::{Cells, Emitted, Table};

/// The header.
pub(super) fn text(emitted: &Emitted) -> String {
    let mut lines: Vec<String> = emitted.head().iter().map(|line| comment(line)).collect();
    let guard = emitted.guard();
    lines.extend([
        format!("#ifndef {guard}"),
        format!("#define {guard}"),
        String::new(),
        comment("State of the notebook, for the log"),
        define(&emitted.state_name(), &quoted(&emitted.state())),
    ]);
    for it in &emitted.constants {
        let number = bracketed(constant(it.value, it.is_whole));
        lines.extend([
            String::new(),
            comment(&about(it)),
            define(&it.name, &number),
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
            define(&name, &bracketed(number))
        }));
    }
    lines.extend([String::new(), format!("#endif /* {guard} */")]);
    lines.join("\n") + "\n"
}

fn define(name: &str, value: &str) -> String {
    format!("#define {name} {value}")
}

/// A negative number in brackets, so that what stands before it binds no part
/// of it.
fn bracketed(number: String) -> String {
    match number.starts_with('-') {
        true => format!("({number})"),
        false => number,
    }
}

fn table(table: &Table) -> Vec<String> {
    let rows = format!("{}_ROWS", table.name);
    let mut lines = vec![
        comment(&table.means),
        define(&rows, &table.rows().to_string()),
    ];
    for (column, name) in table.columns.iter().zip(table.column_names()) {
        let (of, cells): (&str, Vec<String>) = match &column.cells {
            Cells::Numbers(numbers) => (
                "double",
                numbers.iter().map(|number| float(*number)).collect(),
            ),
            Cells::Whole(numbers) => {
                let (of, suffix) = integer(numbers);
                let cells = numbers.iter().map(|number| whole(*number) + suffix);
                (of, cells.collect())
            }
            Cells::Words(words) => (
                "char *const",
                words.iter().map(|word| quoted(word)).collect(),
            ),
        };
        lines.push(comment(&about_column(&column.head, &column.unit)));
        lines.push(format!("static const {of} {name}[{rows}] = {{"));
        lines.extend(cells.iter().map(|cell| format!("    {cell},")));
        lines.push("};".into());
    }
    lines
}

/// A type that holds whole numbers, with what their literals end in: a `long`
/// has 32 bits at least (C99, 5.2.4.2.1).
fn integer(numbers: &[f64]) -> (&'static str, &'static str) {
    let within = |least: f64, most: f64| numbers.iter().all(|it| (least..=most).contains(it));
    if within(-f64::from(i32::MAX), f64::from(i32::MAX)) {
        ("long", "")
    } else if within(0.0, u64::MAX as f64) {
        ("unsigned long long", "ULL")
    } else {
        ("long long", "LL")
    }
}

/// A comment on a line of its own. What would end it, or begin another, is
/// taken apart.
fn comment(words: &str) -> String {
    let words = on_a_line(words).replace("*/", "* /").replace("/*", "/ *");
    format!("/* {words} */")
}

/// A string literal. A question mark is escaped since two of them begin a
/// trigraph; an octal escape has three digits and ends by itself.
fn quoted(text: &str) -> String {
    literal(text, &['?'], |c| {
        let mut bytes = [0; 4];
        let bytes = c.encode_utf8(&mut bytes).bytes();
        bytes.map(|byte| format!("\\{byte:03o}")).collect()
    })
}
