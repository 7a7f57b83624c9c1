//! The record of a circuit from what was read of it.

use super::fields::{Fields, Named, Value};
use super::model::{CircuitRecord, Drive, ResponseRecord};
use crate::finding::Located;

/// `[circuit.<id>]`; `None` without what it cannot do without.
pub(crate) fn circuit(id: Located<String>, mut fields: Fields) -> Option<CircuitRecord> {
    let means = fields.text("means");
    let ground = fields.text("ground");
    let between = fields.named("between").unwrap_or_default();
    let drives = tables(fields.named("drive"), drive);
    let responses = tables(fields.named("response"), response);
    let closed = fields.texts("closed").unwrap_or_default();
    fields.finish();
    // A network that lacks a part that could not be read is another network.
    let whole = between.refused.is_empty();
    let nodes = |(name, value)| match value {
        Value::Texts(nodes) => Some((name, nodes)),
        _ => None,
    };
    Some(CircuitRecord {
        id,
        means,
        ground: ground.filter(|_| whole)?,
        between: between.entries.into_iter().filter_map(nodes).collect(),
        drives: drives?,
        closed,
        responses: responses?,
    })
}

/// All records under names; `None` where one of them could not be read.
fn tables<T>(
    named: Option<Named>,
    make: fn(Located<String>, Fields) -> Option<T>,
) -> Option<Vec<T>> {
    let named = named.unwrap_or_default();
    if !named.refused.is_empty() {
        return None;
    }
    let table = |(name, value)| match value {
        Value::Table(fields) => make(name, fields),
        _ => None,
    };
    named.entries.into_iter().map(table).collect()
}

fn drive(name: Located<String>, mut fields: Fields) -> Option<Drive> {
    let (voltage, current) = (fields.text("voltage"), fields.text("current"));
    let (into, from) = (fields.text("into"), fields.text("from"));
    let amplitude = fields.text("amplitude");
    fields.finish();
    let is_current = current.is_some();
    Some(Drive {
        name,
        steady: current.or(voltage)?,
        is_current,
        into: into?,
        from,
        amplitude,
    })
}

fn response(name: Located<String>, mut fields: Fields) -> Option<ResponseRecord> {
    let (from, to, at) = (
        fields.text("from"),
        fields.text("to"),
        fields.quantity("at"),
    );
    fields.finish();
    Some(ResponseRecord {
        name,
        from: from?,
        to: to?,
        at: at?,
    })
}
