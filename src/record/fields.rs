//! A record as it was read against its shape, before it becomes its type.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::model::Property;
use crate::finding::{Located, Place};
use crate::quantity::{Given, Statement, Unit};

/// A value that was read as what its key takes.
#[derive(Debug)]
pub(crate) enum Value {
    /// Text of any sort: words for people, a formula, an id.
    Text(Located<String>),
    /// One of the words that the key takes, or the name of a kind.
    Word(&'static str),
    Flag(bool),
    Whole(u64),
    Wholes(Vec<u64>),
    Date(Located<Date>),
    Quantity(Located<Given>),
    Statement(Located<Statement>),
    Unit(Located<Unit>),
    Texts(Vec<Located<String>>),
    Table(Fields),
    List(Vec<Fields>),
    Named(Named),
}

/// Values under names.
#[derive(Debug, Default)]
pub(crate) struct Named {
    /// Name and value, in the order written.
    pub entries: Vec<(Located<String>, Value)>,
    /// Names whose values could not be read.
    pub refused: Vec<String>,
}

#[derive(Debug)]
struct Field {
    key: Located<String>,
    means: &'static str,
    value: Value,
}

/// What was read of a record.
#[derive(Debug)]
pub(crate) struct Fields {
    /// The record's header, or the braces that it stands in.
    pub place: Place,
    fields: Vec<Field>,
    refused: Vec<String>,
}

/// Makes the doors to values of one type: one for each type of value.
macro_rules! doors {
    ($($door:ident $variant:ident $type:ty, $means:literal;)*) => {
        $(#[doc = $means]
        pub fn $door(&mut self, key: &str) -> Option<$type> {
            match self.take(key)? {
                Value::$variant(value) => Some(value),
                _ => None,
            }
        })*
    };
}

impl Fields {
    /// A record of which nothing was read yet.
    pub fn new(place: Place) -> Fields {
        Fields {
            place,
            fields: Vec::new(),
            refused: Vec::new(),
        }
    }

    /// Takes in what was read under a key.
    pub fn put(&mut self, key: Located<String>, means: &'static str, value: Value) {
        self.fields.push(Field { key, means, value });
    }

    /// Notes a key that is there with a value that could not be read.
    pub fn refuse(&mut self, key: &str) {
        self.refused.push(key.to_owned());
    }

    /// Ends the list of refused keys: one that was meant by a misspelt key may
    /// have been read as well.
    pub fn settle(&mut self) {
        let read: BTreeSet<&str> = self.fields.iter().map(|field| &*field.key.value).collect();
        self.refused.retain(|name| !read.contains(name.as_str()));
    }

    /// The place of a key that was read and not taken yet.
    pub fn key_place(&self, key: &str) -> Option<&Place> {
        let field = self.fields.iter().find(|field| field.key.value == key)?;
        Some(&field.key.place)
    }

    /// Whether the record has a key, read or refused.
    pub fn has(&self, key: &str) -> bool {
        self.key_place(key).is_some() || self.refused.iter().any(|refused| refused == key)
    }

    /// Keys whose values could not be read.
    pub fn refused(&self) -> &[String] {
        &self.refused
    }

    fn take(&mut self, key: &str) -> Option<Value> {
        let at = self
            .fields
            .iter()
            .position(|field| field.key.value == key)?;
        Some(self.fields.remove(at).value)
    }

    doors! {
        text Text Located<String>, "The text under a key.";
        word Word &'static str, "The word under a key.";
        flag Flag bool, "Whether a key says true.";
        whole Whole u64, "The whole number under a key.";
        wholes Wholes Vec<u64>, "The whole numbers under a key.";
        date Date Located<Date>, "The date under a key.";
        quantity Quantity Located<Given>, "The quantity under a key.";
        statement Statement Located<Statement>, "The statement under a key.";
        unit Unit Located<Unit>, "The unit under a key.";
        texts Texts Vec<Located<String>>, "The texts under a key.";
        table Table Fields, "The record under a key.";
        list List Vec<Fields>, "The records under a key.";
        named Named Named, "The named values under a key.";
    }

    /// All quantities that are left, each under its key, in the order written.
    pub fn properties(&mut self) -> Vec<Property> {
        let fields = std::mem::take(&mut self.fields);
        let mut properties = Vec::new();
        for field in fields {
            match field.value {
                Value::Quantity(given) => properties.push(Property {
                    name: field.key,
                    means: field.means,
                    given,
                }),
                _ => self.fields.push(field),
            }
        }
        properties
    }

    /// Everything that is left, each with its key, in the order written.
    pub fn rest(&mut self) -> Vec<(Located<String>, Value)> {
        let fields = std::mem::take(&mut self.fields);
        fields
            .into_iter()
            .map(|field| (field.key, field.value))
            .collect()
    }

    /// Ends the reading of a record. A shape promises what a record may hold;
    /// a key of it that no type takes up would be read and then lost.
    pub fn finish(self) {
        debug_assert!(
            self.fields.is_empty(),
            "nobody took {:?}",
            self.fields
                .iter()
                .map(|field| &field.key.value)
                .collect::<Vec<_>>()
        );
    }
}
