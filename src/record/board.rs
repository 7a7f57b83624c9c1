//! The record of a board from what was read of it.

use super::fields::{Fields, Named, Value};
use super::model::{
    Board, Caution, Condition, Erratum, FigureBody, FigureRecord, Fitted, LeftOut, Measured,
    Readings, Relation, Revision, ValidRange, WorkingInput, WorkingRecord,
};
use super::stock::{audience, leave_out, policy, records, scatter, text_or, waivers};
use super::word::{Audience, Hazard, Signal, SpreadPolicy, Status};
use crate::finding::{FileId, Located};
use crate::quantity::Statement;

/// `boards/<id>/board.toml`; `id` is the folder's name. With it the id that the
/// record itself states, if it does.
pub(crate) fn board(
    id: &str,
    file: FileId,
    mut fields: Fields,
) -> (Board, Option<Located<String>>) {
    let mut left_out = Vec::new();
    let mut record = fields
        .table("board")
        .unwrap_or_else(|| Fields::new(fields.place.clone()));
    let place = record.place.clone();
    let stated = record.text("id");
    let status = record.word("status").and_then(Status::by_word);
    let audience = record.word("audience").and_then(Audience::by_word);
    // What is only thought of is nobody's business yet.
    let by_status = match status {
        Some(Status::Concept) => Audience::Team,
        _ => Audience::Customers,
    };
    let board = Board {
        title: text_or(record.text("title"), id, &place),
        revision: text_or(record.text("revision"), "", &place),
        status: status.unwrap_or(Status::Concept),
        audience: audience.unwrap_or(by_status),
        summary: text_or(record.text("summary"), "", &place),
        date: record.date("date"),
        licence: record.text("licence"),
        software_licence: record.text("software_licence"),
        document_licence: record.text("document_licence"),
        function: record.text("function"),
        issue: record.text("issue"),
        complete: super::complete::complete(fields.table("complete")),
        module: record.text("module"),
        policy: policy(&mut fields),
        fitted: fitted(fields.named("fitted"), &mut left_out),
        figures: each("figure", &mut fields, &mut left_out, figure),
        relations: each("relation", &mut fields, &mut left_out, relation),
        cautions: each("caution", &mut fields, &mut left_out, caution),
        tell: record.text("tell"),
        revisions: each("revision", &mut fields, &mut left_out, revision),
        errata: fields
            .list("erratum")
            .into_iter()
            .flatten()
            .filter_map(erratum)
            .collect(),
        workings: each("working", &mut fields, &mut left_out, working),
        conditions: each("condition", &mut fields, &mut left_out, condition),
        circuits: each(
            "circuit",
            &mut fields,
            &mut left_out,
            super::network::circuit,
        ),
        fixtures: each(
            "fixture",
            &mut fields,
            &mut left_out,
            super::fixture::fixture,
        ),
        pins: fields.table("pins").map(super::pins::pins),
        bom: fields.table("bom").map(super::bom::bom),
        waivers: waivers(&mut fields),
        id: Located::new(id.to_owned(), place),
        file,
        left_out,
    };
    record.finish();
    fields.finish();
    (board, stated)
}

/// Makes the records of one kind; those that lack what they cannot do without
/// are left out.
fn each<T>(
    kind: &'static str,
    fields: &mut Fields,
    left_out: &mut Vec<LeftOut>,
    make: fn(Located<String>, Fields) -> Option<T>,
) -> Vec<T> {
    let named = records(kind, fields.named(kind), left_out);
    let mut made = Vec::with_capacity(named.len());
    for (id, fields) in named {
        let name = id.value.clone();
        match make(id, fields) {
            Some(record) => made.push(record),
            None => left_out.push(LeftOut { kind, name }),
        }
    }
    made
}

fn fitted(named: Option<Named>, left_out: &mut Vec<LeftOut>) -> Vec<Fitted> {
    let named = named.unwrap_or_default();
    leave_out("fitted", named.refused, left_out);
    let mut fitted = Vec::new();
    for (designator, value) in named.entries {
        let (part, fit) = match value {
            Value::Text(part) => (Some(part), true),
            Value::Table(mut fields) => {
                let place = (fields.text("part"), fields.flag("fit").unwrap_or(true));
                fields.finish();
                place
            }
            _ => (None, true),
        };
        match part {
            Some(part) => fitted.push(Fitted {
                designator,
                part,
                fit,
            }),
            None => left_out.push(LeftOut {
                kind: "fitted",
                name: designator.value,
            }),
        }
    }
    fitted
}

fn figure(id: Located<String>, mut fields: Fields) -> Option<FigureRecord> {
    let place = fields.place.clone();
    let (from, given) = (fields.text("from"), fields.quantity("given"));
    // Where both are there a finding has said so; the formula says more.
    let measured = fields.table("measured").and_then(measured);
    let body = from
        .map(FigureBody::From)
        .or(given.map(FigureBody::Given))
        .or(measured.map(FigureBody::Measured));
    let means = text_or(fields.text("means"), &id.value, &place);
    let (source, note, at) = (
        fields.text("source"),
        fields.text("note"),
        fields.text("at"),
    );
    let readings = fields.table("readings").and_then(readings);
    let (says, must) = (fields.statement("says"), fields.statement("must"));
    let scatter = scatter(&mut fields);
    let spread = fields.word("spread").and_then(SpreadPolicy::by_word);
    let (unit, symbol) = (fields.unit("unit"), fields.text("symbol"));
    let headline = fields.flag("headline").unwrap_or(false);
    let holds_for = ranges(fields.named("holds_for"));
    let audience = audience(&mut fields);
    fields.finish();
    Some(FigureRecord {
        id,
        means,
        body: body?,
        source,
        readings: readings.map(Box::new),
        says,
        must,
        scatter,
        spread,
        unit,
        symbol,
        holds_for,
        at,
        audience,
        note,
        headline,
    })
}

fn measured(mut fields: Fields) -> Option<Measured> {
    let (file, column) = (fields.text("file"), fields.text("column"));
    fields.finish();
    Some(Measured {
        file: file?,
        column: column?,
    })
}

fn readings(mut fields: Fields) -> Option<Readings> {
    let (file, column) = (fields.text("file"), fields.text("column"));
    let (error, date) = (fields.quantity("error"), fields.date("date"));
    fields.finish();
    let of = Measured {
        file: file?,
        column: column?,
    };
    Some(Readings { of, error, date })
}

fn ranges(named: Option<Named>) -> Vec<ValidRange> {
    let entries = named.unwrap_or_default().entries;
    let range = |(name, value)| match value {
        Value::Statement(range) => Some(ValidRange { name, range }),
        _ => None,
    };
    entries.into_iter().filter_map(range).collect()
}

fn relation(id: Located<String>, mut fields: Fields) -> Option<Relation> {
    let means = text_or(fields.text("means"), &id.value, &fields.place);
    let holds = fields.text("holds");
    fields.finish();
    Some(Relation {
        id,
        means,
        holds: holds?,
    })
}

/// A caution is kept wherever its cause is known: what it says may be wanting,
/// and that the board has one for its hazard still counts.
fn caution(id: Located<String>, mut fields: Fields) -> Option<Caution> {
    let place = fields.place.clone();
    let signal = fields.word("signal").and_then(Signal::by_word);
    let about = fields.word("about").and_then(Hazard::by_word);
    let hazard = text_or(fields.text("hazard"), &id.value, &place);
    let avoid = text_or(fields.text("avoid"), "", &place);
    let (consequence, because) = (fields.text("consequence"), fields.text("because"));
    fields.finish();
    Some(Caution {
        id,
        signal: signal.unwrap_or(Signal::Danger),
        hazard,
        consequence,
        avoid,
        because: because?,
        about: about.unwrap_or(Hazard::General),
    })
}

fn revision(id: Located<String>, mut fields: Fields) -> Option<Revision> {
    let date = fields.date("date");
    let changes = fields.texts("changes").unwrap_or_default();
    let tell = fields.text("tell");
    let fitted = fitted(fields.named("fitted"), &mut Vec::new());
    fields.finish();
    Some(Revision {
        id,
        date: date?,
        changes,
        tell,
        fitted,
    })
}

fn erratum(mut fields: Fields) -> Option<Erratum> {
    let place = fields.place.clone();
    let (means, affects) = (fields.text("means"), fields.texts("affects"));
    let (seen, workaround) = (fields.text("seen"), fields.text("workaround"));
    let (fixed_in, date) = (fields.text("fixed_in"), fields.date("date"));
    fields.finish();
    Some(Erratum {
        means: means?,
        affects: affects?,
        seen,
        workaround,
        fixed_in,
        date,
        place,
    })
}

fn condition(id: Located<String>, mut fields: Fields) -> Option<Condition> {
    let means = text_or(fields.text("means"), &id.value, &fields.place);
    let ambient = fields.quantity("ambient");
    fields.finish();
    Some(Condition {
        id,
        means,
        ambient: ambient?,
    })
}

fn working(id: Located<String>, mut fields: Fields) -> Option<WorkingRecord> {
    let (kind, means) = (fields.text("kind"), fields.text("means"));
    let (says, must) = (
        statements(&mut fields, "says"),
        statements(&mut fields, "must"),
    );
    let audience = audience(&mut fields);
    let inputs = fields.rest().into_iter().filter_map(input).collect();
    let left_out = fields.refused().to_vec();
    fields.finish();
    Some(WorkingRecord {
        id,
        kind: kind?,
        means,
        says,
        must,
        audience,
        inputs,
        left_out,
    })
}

pub(super) fn statements(
    fields: &mut Fields,
    key: &str,
) -> Vec<(Located<String>, Located<Statement>)> {
    let named = fields.named(key).unwrap_or_default();
    let entries = named.entries.into_iter();
    let statement = |(name, value)| match value {
        Value::Statement(statement) => Some((name, statement)),
        _ => None,
    };
    entries.filter_map(statement).collect()
}

/// An input of a working; there is no other sort of value that the reader makes
/// of one.
fn input((key, value): (Located<String>, Value)) -> Option<(Located<String>, WorkingInput)> {
    let input = match value {
        Value::Text(text) => WorkingInput::Text(text),
        Value::Texts(texts) => WorkingInput::Texts(texts),
        Value::Whole(number) => WorkingInput::Whole(number),
        Value::Named(named) => {
            WorkingInput::Named(named.entries.into_iter().filter_map(input).collect())
        }
        _ => return None,
    };
    Some((key, input))
}
