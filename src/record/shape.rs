//! How a record is described: its keys, what each takes, and what each means.
//!
//! The descriptions themselves are in `shapes`. The reader checks records
//! against them and the schema is written from them, so that what is read and
//! what is promised cannot drift apart.

use super::word::Word;
use crate::quantity::Dimension;

/// Description of a record, or of a file with records in it.
#[derive(Debug)]
pub(crate) struct Shape {
    /// Name of one in the schema: `figure`.
    pub name: &'static str,
    /// What messages call one: `a figure`; a file goes by its name.
    pub one: &'static str,
    /// How it is written in a file, `[figure.<id>]`; empty for a file.
    pub header: &'static str,
    /// What it is, in a sentence.
    pub means: &'static str,
    /// The keys it may have, in the order that people write them in.
    pub keys: &'static [Key],
    /// What other keys it may have.
    pub rest: Rest,
    /// Groups of keys of which exactly one is there: the first key of a group
    /// stands for it, and brings the need for the others.
    pub one_of: &'static [&'static [&'static str]],
}

impl Shape {
    /// The key of this name.
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// Whether it describes a file.
    pub fn is_file(&self) -> bool {
        self.header.is_empty()
    }
}

/// Description of a key.
#[derive(Debug)]
pub(crate) struct Key {
    /// As records write it.
    pub name: &'static str,
    /// What its value is.
    pub takes: Takes,
    /// Whether the record cannot do without it.
    pub required: bool,
    /// What it means, in a phrase.
    pub means: &'static str,
}

/// Which keys a record may have beside those that are listed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Rest {
    /// None.
    Nothing,
    /// The properties of the kind of part that its key `kind` names.
    Properties,
    /// Any, each with an input of a working as its value.
    Inputs,
}

/// What a value is.
#[derive(Debug)]
pub(crate) enum Takes {
    /// Words for people.
    Text,
    /// A path from the notebook's folder.
    Folder,
    /// An SPDX licence expression.
    Licence,
    /// A language tag (BCP 47).
    Language,
    /// An absolute address of the web, as text.
    WebAddress,
    /// The code of a currency (ISO 4217).
    Currency,
    /// The letter or number of a revision.
    Mark,
    /// The id of a record of the kind named.
    Id(&'static str),
    /// One of the words.
    Word(&'static [Word]),
    /// The name of a kind of part.
    PartKind,
    /// The name of a kind of finding.
    FindingName,
    /// True or false.
    Flag,
    /// A whole number, zero or above.
    Whole,
    /// A list of whole numbers.
    Wholes,
    /// A date.
    Date,
    /// A quantity with its tolerance; of one dimension, or of any.
    Quantity(Option<Dimension>),
    /// A statement about a figure.
    Statement,
    /// A unit.
    Unit,
    /// A formula.
    Formula,
    /// A comparison of two formulas.
    Comparison,
    /// An input of a working: a formula or a word, a list of them, a whole number,
    /// or inputs by name.
    Input,
    /// A list of texts.
    Texts,
    /// One record.
    Table(&'static Shape),
    /// Any number of records without names of their own.
    List(&'static Shape),
    /// Any number of values, each under a name.
    Named(Names, &'static Takes),
    /// A record, or the one text that says enough: the value of the key named.
    Short(&'static str, &'static Shape),
}

/// What names are made of.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Names {
    /// `[a-z][a-z0-9_]*`, neither a unit nor a name that formulas know.
    Id,
    /// Reference designator: class letters and a number.
    Designator,
    /// Letter or number of a revision.
    Mark,
    /// Any name that a formula may use.
    Reference,
    /// What tables of a working call one of its results.
    Label,
    /// Identifier in the languages of firmware.
    Constant,
    /// The name of a pin or of a contact, as printed beside it.
    Pin,
    /// How many are bought at once: a whole number from one.
    Count,
}

impl Names {
    /// What one is called in messages, with its article.
    pub fn one(self) -> &'static str {
        match self {
            Names::Id => "an id",
            Names::Designator => "a reference designator",
            Names::Mark => "a revision",
            Names::Reference => "a name",
            Names::Label => "the name of a result",
            Names::Constant => "an identifier",
            Names::Pin => "the name of a pin",
            Names::Count => "a number of pieces",
        }
    }

    /// Pattern of its form, for the schema (ECMA-262).
    pub fn pattern(self) -> &'static str {
        match self {
            Names::Id => "^[a-z][a-z0-9_]*$",
            Names::Designator => "^[A-Z]{1,3}[1-9][0-9]*$",
            Names::Mark => "^[A-Za-z0-9][A-Za-z0-9._-]*$",
            Names::Reference => "^[A-Za-z][A-Za-z0-9_.]*$",
            Names::Constant => "^[A-Za-z][A-Za-z0-9_]*$",
            Names::Pin => "^[A-Za-z0-9+~/_.-]+$",
            Names::Count => "^[1-9][0-9]{0,8}$",
            Names::Label => "^[^\\s\\p{Cc}]([^\\p{Cc}]*[^\\s\\p{Cc}])?$",
        }
    }
}

impl Takes {
    /// What the value is, in words that follow "takes".
    pub fn words(&self) -> String {
        match self {
            Takes::Text => "text".into(),
            Takes::Folder => "the path of a folder, as text".into(),
            Takes::Licence => "an SPDX licence expression, as text".into(),
            Takes::Language => "a language tag, as text".into(),
            Takes::WebAddress => "an address of the web, as text".into(),
            Takes::Currency => "the code of a currency, as text".into(),
            Takes::Mark => "the letter or number of a revision, as text".into(),
            Takes::Id(kind) => format!("the id of a {kind}, as text"),
            Takes::Word(words) => {
                let words: Vec<_> = words.iter().map(|word| word.word).collect();
                match words.as_slice() {
                    [word] => format!("the word {word}, as text"),
                    words => format!("one of the words {}, as text", words.join(", ")),
                }
            }
            Takes::PartKind => "the name of a kind of part, as text".into(),
            Takes::FindingName => "the name of a kind of finding, as text".into(),
            Takes::Flag => "true or false".into(),
            Takes::Whole => "a whole number".into(),
            Takes::Wholes => "a list of whole numbers".into(),
            Takes::Date => "a date".into(),
            Takes::Quantity(Some(dimension)) => format!("{dimension}, as text"),
            Takes::Quantity(None) => "a quantity, as text".into(),
            Takes::Statement => "a statement, as text".into(),
            Takes::Unit => "a unit, as text".into(),
            Takes::Formula => "a formula, as text".into(),
            Takes::Comparison => "a comparison, as text".into(),
            Takes::Input => "an input of the working".into(),
            Takes::Texts => "a list of texts".into(),
            Takes::Table(shape) => format!("a table, {}", shape.header),
            Takes::List(shape) => format!("tables, each {}", shape.header),
            Takes::Named(_, Takes::Table(shape)) => format!("tables, each {}", shape.header),
            Takes::Named(names, _) => format!("a table with a value for {}", names.one()),
            Takes::Short(key, shape) => format!("the {key}, as text, or {}", shape.one),
        }
    }

    /// Whether its value is a TOML string.
    pub fn is_text(&self) -> bool {
        !matches!(
            self,
            Takes::Flag
                | Takes::Whole
                | Takes::Wholes
                | Takes::Date
                | Takes::Texts
                | Takes::Table(_)
                | Takes::List(_)
                | Takes::Named(..)
                | Takes::Input
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_name_what_a_key_takes_as_an_engineer_would() {
        let volts = Takes::Quantity(Some(Dimension::VOLTAGE));
        assert_eq!(volts.words(), "a voltage (V), as text");
        assert_eq!(Takes::Flag.words(), "true or false");
        assert_eq!(Takes::Id("part").words(), "the id of a part, as text");
    }
}
