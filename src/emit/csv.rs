//! CSV (RFC 4180): one row a number or a word, so that every row has the same
//! fields.
//!
//! | field | holds |
//! | --- | --- |
//! | `group` | `notebook`, `constant`, `table` or `limit` |
//! | `name` | name of the constant, table or limit; of a row of `notebook`, what its value is |
//! | `column` | head of the column, of a table |
//! | `row` | number of the row, from one, of a table |
//! | `value` | the number or the words |
//! | `unit` | symbol of the unit |
//! | `low`, `high` | the spread of a constant; the values that pass, of a limit |
//! | `low_counts`, `high_counts` | the readings that pass, of a limit |
//! | `means` | what it is, in words |

use super::number::{constant, float, whole};
use super::{Cells, Emitted, MARK};

const FIELDS: [&str; 11] = [
    "group",
    "name",
    "column",
    "row",
    "value",
    "unit",
    "low",
    "high",
    "low_counts",
    "high_counts",
    "means",
];

/// One row, by the fields that it has.
type Row<'t> = Vec<(&'static str, &'t str)>;

/// The file.
pub(super) fn text(emitted: &Emitted) -> String {
    let mut text = line(&FIELDS.map(str::to_owned));
    let mut put = |row: Row<'_>| {
        let field = |name: &&str| {
            let found = row.iter().find(|(of, _)| of == name);
            found.map_or_else(String::new, |(_, value)| (*value).to_owned())
        };
        let fields: Vec<String> = FIELDS.iter().map(field).collect();
        text += &line(&fields);
    };
    let state = emitted.state();
    let boards = emitted.boards.iter();
    let boards: Vec<String> = boards
        .map(|(id, revision)| format!("{id} revision {revision}"))
        .collect();
    let notebook = |name, value| vec![("group", "notebook"), ("name", name), ("value", value)];
    put(notebook("notice", MARK));
    put(notebook("title", &emitted.notebook));
    for board in &boards {
        put(notebook("board", board));
    }
    put(notebook("state", &state));
    if let Some(means) = &emitted.means {
        put(notebook("means", means));
    }
    for it in &emitted.constants {
        put(vec![
            ("group", "constant"),
            ("name", &it.name),
            ("value", &constant(it.value, it.is_whole)),
            ("unit", &it.unit),
            ("low", &finite(it.low)),
            ("high", &finite(it.high)),
            ("means", &it.means),
        ]);
    }
    for table in &emitted.tables {
        for column in &table.columns {
            let cells: Vec<String> = match &column.cells {
                Cells::Numbers(numbers) => numbers.iter().map(|number| float(*number)).collect(),
                Cells::Whole(numbers) => numbers.iter().map(|number| whole(*number)).collect(),
                Cells::Words(words) => words.clone(),
            };
            for (at, cell) in cells.iter().enumerate() {
                put(vec![
                    ("group", "table"),
                    ("name", &table.name),
                    ("column", &column.head),
                    ("row", &(at + 1).to_string()),
                    ("value", cell),
                    ("unit", &column.unit),
                    ("means", &table.means),
                ]);
            }
        }
    }
    for limit in &emitted.limits {
        let (low, high) = match limit.counts {
            Some((low, high)) => (whole(low), whole(high)),
            None => (String::new(), String::new()),
        };
        put(vec![
            ("group", "limit"),
            ("name", &limit.name),
            ("unit", &limit.unit),
            ("low", &float(limit.low)),
            ("high", &float(limit.high)),
            ("low_counts", &low),
            ("high_counts", &high),
            ("means", &limit.means),
        ]);
    }
    text
}

/// A number; nothing for an end that is not there.
fn finite(value: f64) -> String {
    match value.is_finite() {
        true => float(value),
        false => String::new(),
    }
}

/// A row (RFC 4180): fields in quotation marks where they need them (rules 6 and
/// 7), commas between them and the line's end (rules 1 and 4).
pub(crate) fn line(fields: &[String]) -> String {
    let quoted = |field: &String| match field.contains(['"', ',', '\r', '\n']) {
        true => format!("\"{}\"", field.replace('"', "\"\"")),
        false => field.clone(),
    };
    fields.iter().map(quoted).collect::<Vec<_>>().join(",") + "\r\n"
}
