//! JSON (RFC 8259), in a form of its own with a version.

use serde::Serialize;
use serde_json::{Number, Value, json};

use super::number::{whole, written};
use super::{Cells, Emitted, MARK};

/// The document. Fields stand in the order in which people ask for them.
#[derive(Serialize)]
struct Document<'e> {
    form: &'static str,
    version: u32,
    notice: &'static str,
    notebook: &'e str,
    boards: Vec<Value>,
    state: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    means: Option<&'e str>,
    constants: Vec<Constant<'e>>,
    tables: Vec<Table<'e>>,
    limits: Vec<Limit<'e>>,
}

#[derive(Serialize)]
struct Constant<'e> {
    name: &'e str,
    value: Value,
    unit: &'e str,
    low: Value,
    high: Value,
    means: &'e str,
}

#[derive(Serialize)]
struct Table<'e> {
    name: &'e str,
    means: &'e str,
    columns: Vec<Column<'e>>,
}

#[derive(Serialize)]
struct Column<'e> {
    head: &'e str,
    unit: &'e str,
    cells: Vec<Value>,
}

#[derive(Serialize)]
struct Limit<'e> {
    name: &'e str,
    unit: &'e str,
    low: Value,
    high: Value,
    #[serde(skip_serializing_if = "Option::is_none")]
    low_counts: Option<Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    high_counts: Option<Value>,
    means: &'e str,
}

/// The document's text.
pub(super) fn text(emitted: &Emitted) -> String {
    let boards = emitted.boards.iter();
    let boards = boards.map(|(id, revision)| json!({ "id": id, "revision": revision }));
    let constants = emitted.constants.iter().map(|it| Constant {
        name: &it.name,
        value: if it.is_whole {
            integer(it.value)
        } else {
            float(it.value)
        },
        unit: &it.unit,
        low: float(it.low),
        high: float(it.high),
        means: &it.means,
    });
    let tables = emitted.tables.iter().map(|table| Table {
        name: &table.name,
        means: &table.means,
        columns: table
            .columns
            .iter()
            .map(|column| Column {
                head: &column.head,
                unit: &column.unit,
                cells: match &column.cells {
                    Cells::Numbers(numbers) => numbers.iter().map(|it| float(*it)).collect(),
                    Cells::Whole(numbers) => numbers.iter().map(|it| integer(*it)).collect(),
                    Cells::Words(words) => words.iter().map(|word| json!(word)).collect(),
                },
            })
            .collect(),
    });
    let limits = emitted.limits.iter().map(|limit| Limit {
        name: &limit.name,
        unit: &limit.unit,
        low: float(limit.low),
        high: float(limit.high),
        low_counts: limit.counts.map(|(low, _)| integer(low)),
        high_counts: limit.counts.map(|(_, high)| integer(high)),
        means: &limit.means,
    });
    let document = Document {
        form: "ohmbook-emitted",
        version: 1,
        notice: MARK,
        notebook: &emitted.notebook,
        boards: boards.collect(),
        state: emitted.state(),
        means: emitted.means.as_deref(),
        constants: constants.collect(),
        tables: tables.collect(),
        limits: limits.collect(),
    };
    // Texts and numbers under fixed names cannot fail to be JSON; an empty file
    // would lack the mark and never be taken for one of ours.
    let text = serde_json::to_string_pretty(&document).unwrap_or_default();
    text + "\n"
}

/// A number to the digits that are written; JSON has none that is not finite.
fn float(value: f64) -> Value {
    Number::from_f64(written(value)).map_or(Value::Null, Value::Number)
}

fn integer(value: f64) -> Value {
    let text = whole(value);
    let signed = text.parse::<i64>().map(|number| json!(number));
    let number = signed.or_else(|_| text.parse::<u64>().map(|number| json!(number)));
    number.unwrap_or_else(|_| float(value))
}
