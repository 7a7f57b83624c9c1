//! The records of the whole notebook, of parts and of modules, from what was
//! read of them.

use std::collections::BTreeMap;

use super::emit::emits;
use super::fields::{Fields, Named, Value};
use super::kind::PartKind;
use super::model::{
    LeftOut, Module, NotebookRecord, Part, Policy, Property, ScatterRecord, Waiver,
};
use super::purchase::{PriceBreak, costs, purchase};
use super::word::{Audience, CoverageInterval, LifeCycle, Placing, Scatter, SpreadPolicy};
use crate::finding::{Finding, Located, Place, Slug};

/// Kind of a part whose kind could not be read.
const NO_KIND: &str = "other";

/// Text, or what stands for it where it could not be read: a finding says so,
/// and nothing is bound while it stands.
pub(crate) fn text_or(
    text: Option<Located<String>>,
    other: &str,
    place: &Place,
) -> Located<String> {
    text.unwrap_or_else(|| Located::new(other.to_owned(), place.clone()))
}

/// Adds the names that could not be read.
pub(crate) fn leave_out(kind: &'static str, refused: Vec<String>, left_out: &mut Vec<LeftOut>) {
    left_out.extend(refused.into_iter().map(|name| LeftOut { kind, name }));
}

/// The records under ids; the ids of those that could not be read go to
/// `left_out`.
pub(crate) fn records(
    kind: &'static str,
    named: Option<Named>,
    left_out: &mut Vec<LeftOut>,
) -> Vec<(Located<String>, Fields)> {
    let named = named.unwrap_or_default();
    leave_out(kind, named.refused, left_out);
    let fields = |(id, value)| match value {
        Value::Table(fields) => Some((id, fields)),
        _ => None,
    };
    named.entries.into_iter().filter_map(fields).collect()
}

impl Default for NotebookRecord {
    /// What holds where there is no `notebook.toml`, or nothing in it.
    fn default() -> NotebookRecord {
        NotebookRecord {
            title: "Untitled notebook".into(),
            owner: String::new(),
            licence: None,
            software_licence: None,
            source: None,
            language: "en".into(),
            made_by: None,
            checked_by: None,
            address: None,
            notice: None,
            theme: None,
            currency: None,
            costs: None,
            policy: Policy::default(),
            waivers: Vec::new(),
            emits: Vec::new(),
            place: None,
        }
    }
}

/// `notebook.toml`.
pub(crate) fn notebook(mut file: Fields) -> NotebookRecord {
    let mut notebook = NotebookRecord::default();
    if let Some(mut fields) = file.table("notebook") {
        let mut text_of = |key, other: String| fields.text(key).map_or(other, |text| text.value);
        notebook.title = text_of("title", notebook.title);
        notebook.owner = text_of("owner", notebook.owner);
        notebook.language = text_of("language", notebook.language);
        notebook.licence = fields.text("licence");
        notebook.software_licence = fields.text("software_licence");
        notebook.source = fields.text("source");
        notebook.made_by = fields.text("made_by");
        notebook.checked_by = fields.text("checked_by");
        notebook.notice = fields.text("notice");
        notebook.address = fields.text("address");
        notebook.theme = fields.text("theme");
        // One that could not be read has been told, and is not missing.
        let refused = fields.refused().iter().any(|key| key == "currency");
        let unread = Located::new(String::new(), fields.place.clone());
        let currency = fields.text("currency");
        notebook.currency = currency.or(refused.then_some(unread));
        notebook.place = Some(fields.place.clone());
        fields.finish();
    }
    notebook.costs = file.table("cost").map(costs);
    notebook.policy = policy(&mut file);
    notebook.waivers = waivers(&mut file);
    notebook.emits = emits(&mut file);
    file.finish();
    notebook
}

/// The policy of a file, which may say nothing.
pub(crate) fn policy(file: &mut Fields) -> Policy {
    let Some(mut fields) = file.table("policy") else {
        return Policy::default();
    };
    let policy = Policy {
        spread: fields.word("spread").and_then(SpreadPolicy::by_word),
        coverage: fields.quantity("coverage"),
        interval: fields.word("interval").and_then(CoverageInterval::by_word),
        seed: fields.whole("seed"),
    };
    fields.finish();
    policy
}

/// How values lie within their tolerance.
pub(crate) fn scatter(fields: &mut Fields) -> ScatterRecord {
    let scatter = fields.word("scatter").and_then(Scatter::by_word);
    ScatterRecord {
        scatter: scatter.unwrap_or_default(),
        coverage_factor: fields.quantity("coverage_factor").map(Box::new),
        reel_share: fields.quantity("reel_share").map(Box::new),
    }
}

/// The waivers of a file; one that lacks anything does not waive.
pub(crate) fn waivers(file: &mut Fields) -> Vec<Waiver> {
    let fields = file.list("waiver").unwrap_or_default();
    fields.into_iter().filter_map(waiver).collect()
}

fn waiver(mut fields: Fields) -> Option<Waiver> {
    let (finding, at) = (fields.text("finding"), fields.text("place"));
    let (reason, until) = (fields.text("reason"), fields.date("until"));
    let place = fields.place.clone();
    fields.finish();
    Some(Waiver {
        finding: finding?,
        at: at?,
        reason: reason?,
        until: until?,
        place,
    })
}

/// `[part.<id>]`.
pub(crate) fn part(id: Located<String>, mut fields: Fields, findings: &mut Vec<Finding>) -> Part {
    let kind = fields.word("kind").and_then(PartKind::by_name);
    let own = fields.named("property");
    let mut left_out = fields.refused().to_vec();
    let (purchase, price) = purchase(&mut fields, findings);
    let mut part = Part {
        id,
        // The part still has its properties, and figures may hang on them.
        kind: kind.or_else(|| PartKind::by_name(NO_KIND)).unwrap_or(&BARE),
        title: fields.text("title"),
        package: fields.text("package"),
        dielectric: fields.text("dielectric"),
        placed: fields.word("placed").and_then(Placing::by_word),
        life: fields
            .word("life")
            .and_then(LifeCycle::by_word)
            .unwrap_or_default(),
        purchase,
        second_sources: fields.texts("second_sources").unwrap_or_default(),
        source: fields.text("source"),
        note: fields.text("note"),
        audience: audience(&mut fields),
        scatter: scatter(&mut fields),
        properties: properties(
            &mut fields,
            own,
            |name| kind.is_some_and(|kind| kind.property(name).is_some()),
            &mut left_out,
            findings,
        ),
        left_out,
    };
    match part.property(super::purchase::PRICE) {
        None => part.properties.extend(price),
        Some(alone) if part.purchase.prices.is_empty() => {
            let price = alone.given.clone();
            part.purchase.prices.push(PriceBreak { from: 1, price });
        }
        Some(_) => {}
    }
    fields.finish();
    part
}

/// A kind without properties.
static BARE: PartKind = PartKind {
    name: NO_KIND,
    title: "Other part",
    properties: &[],
};

pub(crate) fn audience(fields: &mut Fields) -> Audience {
    let audience = fields.word("audience").and_then(Audience::by_word);
    audience.unwrap_or_default()
}

/// `[module.<id>]`.
pub(crate) fn module(
    id: Located<String>,
    mut fields: Fields,
    findings: &mut Vec<Finding>,
) -> Module {
    let own = fields.named("property");
    let mut left_out = fields.refused().to_vec();
    let is_known = |name: &str| {
        let key = super::shapes::MODULE.key(name);
        key.is_some_and(|key| matches!(key.takes, super::shape::Takes::Quantity(_)))
    };
    let module = Module {
        title: text_or(fields.text("title"), &id.value, &fields.place),
        id,
        summary: fields.text("summary"),
        source: fields.text("source"),
        pins: super::pins::module_pins(&mut fields),
        buses: super::pins::module_buses(&mut fields),
        connectors: super::pins::mappings(&mut fields),
        properties: properties(&mut fields, own, is_known, &mut left_out, findings),
        left_out,
    };
    fields.finish();
    module
}

/// The properties that records of the kind have, then the team's own. An own
/// property may not hide one that is known.
fn properties(
    fields: &mut Fields,
    own: Option<Named>,
    is_known: impl Fn(&str) -> bool,
    left_out: &mut Vec<String>,
    findings: &mut Vec<Finding>,
) -> Vec<Property> {
    let mut properties = fields.properties();
    // TOML sees to it that the team's own ones differ among themselves.
    let known: BTreeMap<String, Place> = properties
        .iter()
        .map(|property| (property.name.value.clone(), property.name.place.clone()))
        .collect();
    let own = own.unwrap_or_default();
    left_out.extend(own.refused);
    for (name, value) in own.entries {
        let Value::Quantity(given) = value else {
            continue;
        };
        if let Some(first) = known.get(&name.value) {
            let message = format!("the property `{}` is there twice", name.value);
            findings.push(
                Finding::new(Slug::DuplicateId, message)
                    .at(name.place, "again here")
                    .at(first.clone(), "first here"),
            );
            continue;
        }
        if is_known(&name.value) {
            let message = format!("`{}` is no property of your own", name.value);
            findings.push(
                Finding::new(Slug::BadValue, message)
                    .at(name.place.clone(), "every record of this kind may have it")
                    .help(format!("write `{}` as a key of the record", name.value)),
            );
        }
        properties.push(Property {
            name,
            means: "",
            given,
        });
    }
    properties
}
