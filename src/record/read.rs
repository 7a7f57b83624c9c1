//! Reads tables against their shapes.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::document::{Document, Entry, entries};
use super::fields::{Fields, Named, Value};
use super::id::NameFault;
use super::kind::PartKind;
use super::kinds::KINDS;
use super::shape::{Key, Names, Rest, Shape, Takes};
use crate::finding::{Finding, Located, Place, Slug, Sources, nearest, quoted};

/// Reads one file and gathers what is wrong in it.
pub(crate) struct Reader<'r, 's> {
    pub sources: &'s Sources,
    pub document: &'r Document<'s>,
    pub findings: &'r mut Vec<Finding>,
}

/// What an entry of a table is, by the shape of the table.
enum Known {
    Key(&'static Key),
    Property(&'static str, Takes),
    Input,
    Unknown,
}

impl Reader<'_, '_> {
    /// Reads the file against the shape of one.
    pub fn file(&mut self, shape: &'static Shape) -> Fields {
        let document = self.document;
        let place = document.place(0..0);
        let mut fields = self.entries(&document.root, shape, place);
        if document.is_whole() {
            self.missing(&mut fields, shape, shape.one);
        }
        fields
    }

    /// Reads a record. `called` is what messages call it: figure `charge_slow`.
    pub fn table(
        &mut self,
        table: &DeTable<'_>,
        shape: &'static Shape,
        span: Range<usize>,
        called: &str,
    ) -> Fields {
        let place = self.document.place(span.clone());
        let mut fields = self.entries(table, shape, place);
        if !self.document.is_damaged(span.start) {
            self.missing(&mut fields, shape, called);
        }
        fields
    }

    fn entries(&mut self, table: &DeTable<'_>, shape: &'static Shape, place: Place) -> Fields {
        let mut fields = Fields::new(place);
        let kind = table.get("kind").and_then(|kind| kind.get_ref().as_str());
        let kind = kind.and_then(PartKind::by_name);
        for entry in entries(table) {
            let key = self.key(entry.key);
            let (takes, means) = match known(shape, kind, &key.value) {
                Known::Key(known) => {
                    let value = self.value(&key, &known.takes, &entry);
                    (value, known.means)
                }
                Known::Property(means, takes) => (self.value(&key, &takes, &entry), means),
                Known::Input => (self.value(&key, &Takes::Input, &entry), ""),
                Known::Unknown => {
                    // Whoever misspells a key has not left it out.
                    if let Some(meant) = self.unknown(&key, shape, kind) {
                        fields.refuse(meant);
                    }
                    continue;
                }
            };
            match takes {
                Some(value) => fields.put(key, means, value),
                None => fields.refuse(&key.value),
            }
        }
        fields.settle();
        fields
    }

    fn key(&self, key: &Spanned<std::borrow::Cow<'_, str>>) -> Located<String> {
        self.document.located(key.get_ref(), key.span())
    }

    /// Reads a value as what its key takes; tells what is wrong with it.
    pub fn value(
        &mut self,
        key: &Located<String>,
        takes: &Takes,
        entry: &Entry<'_, '_>,
    ) -> Option<Value> {
        let span = entry.value.span();
        match (takes, entry.value.get_ref()) {
            (Takes::Table(shape), DeValue::Table(table)) => {
                Some(Value::Table(self.table(table, shape, span, shape.one)))
            }
            (Takes::Short(_, shape), DeValue::Table(table)) => {
                let called = format!("{} `{}`", shape.one, quoted(&key.value));
                Some(Value::Table(self.table(table, shape, span, &called)))
            }
            (Takes::Named(names, inner), DeValue::Table(table)) => {
                Some(Value::Named(self.named(key, *names, inner, table)))
            }
            (Takes::Input, DeValue::Table(table)) => Some(Value::Named(self.named(
                key,
                Names::Id,
                &Takes::Input,
                table,
            ))),
            (Takes::List(shape), DeValue::Array(list)) => {
                let mut records = Vec::new();
                for item in list.iter() {
                    match item.get_ref() {
                        DeValue::Table(table) => {
                            records.push(self.table(table, shape, item.span(), shape.one));
                        }
                        _ => self.wrong_type(key, takes, item),
                    }
                }
                Some(Value::List(records))
            }
            // One bracket is missing on each side; what is in it is still read.
            (Takes::List(shape), DeValue::Table(table)) => {
                self.wrong_type(key, takes, entry.value);
                let record = self.table(table, shape, span, shape.one);
                Some(Value::List(vec![record]))
            }
            // What could not be read has been told already.
            _ if self.document.is_spoiled(&span) => None,
            (Takes::Input, DeValue::String(text)) => {
                Some(Value::Text(self.document.located(text, span)))
            }
            (takes, DeValue::String(text)) if takes.is_text() => {
                let text = self.document.located(text, span);
                self.text(key, takes, text)
            }
            (Takes::Flag, DeValue::Boolean(flag)) => Some(Value::Flag(*flag)),
            (Takes::Whole | Takes::Input, DeValue::Integer(number)) => {
                let number = whole(number);
                if number.is_none() {
                    self.wrong_type(key, takes, entry.value);
                }
                number.map(Value::Whole)
            }
            (Takes::Wholes, DeValue::Array(list)) => {
                let mut numbers = Vec::new();
                for item in list.iter() {
                    match item.get_ref() {
                        DeValue::Integer(number) => match whole(number) {
                            Some(number) => numbers.push(number),
                            None => self.wrong_type(key, &Takes::Whole, item),
                        },
                        _ => self.wrong_type(key, &Takes::Whole, item),
                    }
                }
                Some(Value::Wholes(numbers))
            }
            (Takes::Date, DeValue::Datetime(date)) => self.date(key, date, span),
            (Takes::Texts | Takes::Input, DeValue::Array(list)) => {
                let mut texts = Vec::new();
                for item in list.iter() {
                    match item.get_ref() {
                        DeValue::String(text) => {
                            texts.push(self.document.located(text, item.span()));
                        }
                        _ => self.wrong_type(key, &Takes::Text, item),
                    }
                }
                Some(Value::Texts(texts))
            }
            _ => {
                self.wrong_type(key, takes, entry.value);
                None
            }
        }
    }

    fn named(
        &mut self,
        key: &Located<String>,
        names: Names,
        takes: &'static Takes,
        table: &DeTable<'_>,
    ) -> Named {
        let mut named = Named::default();
        let mut stray: Vec<Place> = Vec::new();
        for entry in entries(table) {
            let name = self.key(entry.key);
            let value = match (takes, entry.value.get_ref()) {
                (Takes::Table(shape), DeValue::Table(inner)) => {
                    let called = format!("{} `{}`", shape.name, quoted(&name.value));
                    let fields = self.table(inner, shape, entry.value.span(), &called);
                    Some(Value::Table(fields))
                }
                // `[figure]` where `[figure.<id>]` was meant.
                (Takes::Table(shape), _) if shape.key(&name.value).is_some() => {
                    stray.push(name.place);
                    continue;
                }
                _ => self.value(&name, takes, &entry),
            };
            let is_usable = match self.name(names, &name) {
                Ok(()) => true,
                Err(fault) => fault.is_usable(),
            };
            match value {
                Some(value) if is_usable => named.entries.push((name, value)),
                _ => named.refused.push(name.value),
            }
        }
        if let (false, Takes::Table(shape)) = (stray.is_empty(), takes) {
            self.without_id(key, shape, stray);
        }
        named
    }

    fn without_id(&mut self, key: &Located<String>, shape: &Shape, stray: Vec<Place>) {
        let message = format!("{} has no id", shape.one);
        let mut finding = Finding::new(Slug::BadId, message)
            .at(key.place.clone(), "no id behind this")
            .help(format!("write the header as `{}`", shape.header));
        for place in stray {
            finding = finding.at(place, "of no record");
        }
        self.findings.push(finding);
    }

    fn name(&mut self, names: Names, name: &Located<String>) -> Result<(), NameFault> {
        let Err(fault) = names.check(&name.value) else {
            return Ok(());
        };
        let shown = quoted(&name.value);
        let (message, help) = match fault {
            NameFault::Form => (
                format!("`{shown}` is not {}", names.one()),
                names.rule().to_owned(),
            ),
            NameFault::TooLong => (
                format!("`{shown}` is longer than a name may be"),
                "64 characters are enough for a name".to_owned(),
            ),
            NameFault::Unit => (
                format!("the id `{shown}` reads as a unit"),
                "behind a number it could not be told from the unit: choose a longer id".to_owned(),
            ),
            NameFault::Formula => (
                format!("the id `{shown}` has a meaning in formulas"),
                "choose an id that is no function and no constant".to_owned(),
            ),
        };
        let mut finding = Finding::new(Slug::BadId, message)
            .at(name.place.clone(), "this name")
            .help(help);
        if let Some(mended) = names.mended(&name.value) {
            finding = finding.mend(name.place.clone(), mended);
        }
        self.findings.push(finding);
        Err(fault)
    }

    fn missing(&mut self, fields: &mut Fields, shape: &Shape, called: &str) {
        let mut needed: Vec<&str> = shape
            .keys
            .iter()
            .filter(|key| key.required)
            .map(|key| key.name)
            .collect();
        let there: Vec<&&[&str]> = shape
            .one_of
            .iter()
            .filter(|group| fields.has(group[0]))
            .collect();
        match there.as_slice() {
            [] if shape.one_of.is_empty() => {}
            [] => {
                let leads: Vec<_> = shape.one_of.iter().map(|group| group[0]).collect();
                let finding = Finding::new(
                    Slug::MissingKey,
                    format!("{called} lacks `{}`", leads.join("` or `")),
                )
                .at(fields.place.clone(), "exactly one of them is needed");
                self.findings.push(finding);
            }
            [one] => needed.extend(one[1..].iter()),
            [first, second, ..] => {
                let message = format!("{called} has both `{}` and `{}`", first[0], second[0]);
                let mut finding = Finding::new(Slug::BadValue, message)
                    .help("keep the one that its value really comes from");
                for group in [second, first] {
                    if let Some(place) = fields.key_place(group[0]) {
                        finding = finding.at(place.clone(), "one of the two is too many");
                    }
                }
                self.findings.push(finding);
            }
        }
        for name in needed {
            if !fields.has(name) {
                self.lacks(fields, shape, called, name);
            }
        }
    }

    fn lacks(&mut self, fields: &Fields, shape: &Shape, called: &str, name: &str) {
        let means = shape.key(name).map_or("", |key| key.means);
        let shown = if shape.is_file() {
            format!("[{name}]")
        } else {
            name.to_owned()
        };
        let finding = Finding::new(Slug::MissingKey, format!("{called} lacks `{shown}`"))
            .at(fields.place.clone(), format!("`{shown}` is missing"))
            .help(format!("`{shown}`: {means}"));
        self.findings.push(finding);
    }

    /// Tells of an unknown key; returns the known one that was likely meant.
    fn unknown(
        &mut self,
        key: &Located<String>,
        shape: &Shape,
        kind: Option<&'static PartKind>,
    ) -> Option<&'static str> {
        if self.document.is_aftermath(&key.place.span()) {
            return None;
        }
        let mut meant = None;
        let written = quoted(&key.value);
        let what = if shape.is_file() { "table" } else { "key" };
        let message = format!("{} has no {what} `{written}`", shape.one);
        let mut finding =
            Finding::new(Slug::UnknownKey, message).at(key.place.clone(), "not known here");
        let mut names: Vec<&'static str> = shape.keys.iter().map(|key| key.name).collect();
        if shape.rest == Rest::Properties {
            let kinds = kind.map_or(KINDS, std::slice::from_ref);
            let properties = kinds.iter().flat_map(PartKind::all_properties);
            names.extend(properties.map(|property| property.name));
        }
        let others: Vec<_> = PartKind::with_property(&key.value)
            .map(|kind| kind.name)
            .collect();
        let is_property = shape.rest == Rest::Properties && !others.is_empty();
        if let (true, Some(kind)) = (is_property, kind) {
            finding = finding
                .note(format!("a part of kind {} has it", others.join(", ")))
                .help(format!(
                    "a {} may have it as a property of its own: property = {{ {written} = \"…\" }}",
                    kind.name
                ));
        } else if let Some(near) = nearest(&key.value, names.iter().copied()) {
            meant = Some(near);
            finding = finding
                .help(format!("perhaps `{near}`"))
                .mend(key.place.clone(), near);
        } else {
            finding = finding.help(format!("known here: {}", names.join(", ")));
        }
        self.findings.push(finding);
        meant
    }
}

/// A whole number, zero or above, that fits.
fn whole(number: &toml::de::DeInteger<'_>) -> Option<u64> {
    let digits = number.as_str().replace('_', "");
    u64::from_str_radix(&digits, number.radix()).ok()
}

/// What a key of a table is, by the table's shape.
fn known(shape: &'static Shape, kind: Option<&'static PartKind>, key: &str) -> Known {
    if let Some(known) = shape.key(key) {
        return Known::Key(known);
    }
    match (shape.rest, kind) {
        (Rest::Nothing, _) => Known::Unknown,
        (Rest::Inputs, _) => Known::Input,
        (Rest::Properties, Some(kind)) => match kind.property(key) {
            Some(known) => Known::Property(known.means, Takes::Quantity(Some(known.dimension))),
            None => Known::Unknown,
        },
        // The kind is missing or misspelt, and that has been told: a property
        // that any kind has is read, so that figures keep their inputs.
        (Rest::Properties, None) => {
            let mut found = KINDS.iter().filter_map(|kind| kind.property(key));
            let Some(first) = found.next() else {
                return Known::Unknown;
            };
            let one = found.all(|other| other.dimension == first.dimension);
            let dimension = one.then_some(first.dimension);
            Known::Property(first.means, Takes::Quantity(dimension))
        }
    }
}
