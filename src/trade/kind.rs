//! What a kind of working is: its inputs, and how it is laid out.

use std::fmt::Debug;
use std::ops::RangeInclusive;

use super::choose::Chooses;
use super::plan::Plan;
use crate::quantity::Dimension;

/// A kind of working.
pub trait Kind: Debug + Send + Sync {
    /// Name in records: `corner-frequency`.
    fn name(&self) -> &'static str;

    /// Name for people.
    fn title(&self) -> &'static str;

    /// What has to be given, and what may be.
    fn inputs(&self) -> &'static [Input];

    /// How whoever builds or uses what is worked out here can be hurt. A board
    /// with such a working has to carry a caution about each.
    fn hazards(&self) -> &'static [Hazard] {
        &[]
    }

    /// How values for its inputs are found, where it can find any.
    fn chooser(&self) -> Option<&dyn Chooses> {
        None
    }

    /// Lays the working out for what a record gives: which results there are,
    /// how each is computed, and how they are shown.
    ///
    /// # Errors
    /// What the record gives that cannot be worked with.
    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>>;
}

/// How somebody can be hurt by what a working is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Hazard {
    /// Fire of a lithium cell.
    LithiumCell,
    /// Burns.
    Heat,
    /// Electric shock from a mains adapter.
    MainsAdapter,
    /// Damage to hearing.
    LoudSound,
}

/// An input of a working.
#[derive(Debug)]
pub struct Input {
    /// Key in the record, and name in formulas.
    pub name: &'static str,
    /// What it is.
    pub means: &'static str,
    /// What is written there.
    pub takes: Takes,
    /// Whether the working can do without it.
    pub optional: bool,
    /// What its values have to keep to.
    pub bound: Bound,
}

/// What the values of an input have to keep to, with all of their spread.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Bound {
    /// Nothing.
    Any,
    /// A resistor of 0 Ω or less is none.
    AboveZero,
    /// A leakage may be zero.
    NotNegative,
}

impl Bound {
    /// What is wrong with a value, as the end of a sentence that begins with the
    /// value; `None` where nothing is.
    pub fn broken_by(self, low: f64) -> Option<&'static str> {
        match self {
            Bound::AboveZero if low <= 0.0 => Some("has to be above zero"),
            Bound::NotNegative if low < 0.0 => Some("must not be below zero"),
            _ => None,
        }
    }
}

impl Input {
    /// The same input, whose values have to be above zero.
    pub(super) const fn above_zero(self) -> Input {
        Input {
            bound: Bound::AboveZero,
            ..self
        }
    }

    /// The same input, whose values must not be below zero.
    pub(super) const fn not_negative(self) -> Input {
        Input {
            bound: Bound::NotNegative,
            ..self
        }
    }
}

/// What is written at an input.
#[derive(Debug)]
pub enum Takes {
    /// A formula of this dimension, under the input's name.
    Quantity(Dimension),
    /// A list of formulas of this dimension, under `name_1`, `name_2` and so on.
    Quantities(Dimension, RangeInclusive<usize>),
    /// Formulas of this dimension under names of the record's own choice:
    /// `name.theirs`.
    ByName(Dimension),
    /// Groups of inputs under names of the record's own choice:
    /// `name.theirs.input`.
    Groups(&'static [Input]),
    /// One of these words.
    Word(&'static [&'static str]),
    /// Words of the record's own choice.
    Words,
    /// A whole number.
    Whole(RangeInclusive<u64>),
    /// Another working of the same board, of one of these kinds: its inputs and
    /// results are known as `name.theirs`.
    Working(&'static [&'static str]),
    /// A measured response: two columns of a file of the board's readings.
    Response,
}

/// An input that has to be given, a formula.
pub(super) const fn input(name: &'static str, means: &'static str, dimension: Dimension) -> Input {
    takes(name, means, Takes::Quantity(dimension))
}

/// An input that may be left out, a formula.
pub(super) const fn optional(
    name: &'static str,
    means: &'static str,
    dimension: Dimension,
) -> Input {
    may_take(name, means, Takes::Quantity(dimension))
}

/// An input that has to be given.
pub(super) const fn takes(name: &'static str, means: &'static str, takes: Takes) -> Input {
    Input {
        name,
        means,
        takes,
        optional: false,
        bound: Bound::Any,
    }
}

/// An input that may be left out.
pub(super) const fn may_take(name: &'static str, means: &'static str, takes: Takes) -> Input {
    Input {
        name,
        means,
        takes,
        optional: true,
        bound: Bound::Any,
    }
}

/// What a record gives a working, as far as its layout depends on it: formulas
/// are only counted, words and whole numbers are known.
#[derive(Clone, Debug, Default)]
pub struct Inputs {
    entries: Vec<(String, Entry)>,
}

/// What is given under one name.
#[derive(Clone, Debug)]
pub enum Entry {
    /// One formula.
    Quantity,
    /// So many formulas.
    Quantities(usize),
    /// Formulas by name, in the order written.
    ByName(Vec<String>),
    /// Groups by name, in the order written.
    Groups(Vec<(String, Inputs)>),
    /// A word.
    Word(String),
    /// Words.
    Words(Vec<String>),
    /// A whole number.
    Whole(u64),
    /// Another working of the board.
    Working(Other),
    /// A measured response: frequencies in hertz, rising, with levels in decibels.
    Response(Vec<(f64, f64)>),
}

/// Another working of the board, as far as a layout depends on it.
#[derive(Clone, Debug)]
pub struct Other {
    /// Its id in the record.
    pub id: String,
    /// Name of its kind.
    pub kind: &'static str,
    /// What its record gives.
    pub inputs: Inputs,
    /// Its results, each after those it is computed from.
    pub results: Vec<OtherResult>,
}

/// A result of another working.
#[derive(Clone, Debug)]
pub struct OtherResult {
    /// Its name there: `a4.frequency`.
    pub name: String,
    /// What its record may call it beside its name.
    pub label: Option<String>,
    /// What it is.
    pub means: String,
}

impl Inputs {
    /// Takes in what is given under a name.
    pub fn put(&mut self, name: &str, entry: Entry) {
        self.entries.push((name.to_owned(), entry));
    }

    /// Takes in what is given under a name in the place of what was.
    #[cfg(test)]
    pub(super) fn replace(&mut self, name: &str, entry: Entry) {
        self.entries.retain(|(key, _)| key != name);
        self.put(name, entry);
    }

    fn entry(&self, name: &str) -> Option<&Entry> {
        let found = self.entries.iter().find(|(key, _)| key == name);
        found.map(|(_, entry)| entry)
    }

    /// Whether something is given under a name.
    pub fn has(&self, name: &str) -> bool {
        self.entry(name).is_some()
    }

    /// Names of the formulas that are listed under a name: `poles_1`, `poles_2`.
    pub fn listed(&self, name: &str) -> Vec<String> {
        match self.entry(name) {
            Some(Entry::Quantities(count)) => {
                (1..=*count).map(|at| format!("{name}_{at}")).collect()
            }
            _ => Vec::new(),
        }
    }

    /// Names that the record has chosen for the formulas or groups under a name.
    pub fn names(&self, name: &str) -> Vec<&str> {
        match self.entry(name) {
            Some(Entry::ByName(names)) => names.iter().map(String::as_str).collect(),
            Some(Entry::Groups(groups)) => groups.iter().map(|(group, _)| group.as_str()).collect(),
            _ => Vec::new(),
        }
    }

    /// Groups under a name.
    pub fn groups(&self, name: &str) -> &[(String, Inputs)] {
        match self.entry(name) {
            Some(Entry::Groups(groups)) => groups,
            _ => &[],
        }
    }

    /// The word under a name.
    pub fn word(&self, name: &str) -> Option<&str> {
        match self.entry(name) {
            Some(Entry::Word(word)) => Some(word),
            _ => None,
        }
    }

    /// The words under a name.
    pub fn words(&self, name: &str) -> &[String] {
        match self.entry(name) {
            Some(Entry::Words(words)) => words,
            _ => &[],
        }
    }

    /// The other working under a name.
    pub fn working(&self, name: &str) -> Option<&Other> {
        match self.entry(name) {
            Some(Entry::Working(other)) => Some(other),
            _ => None,
        }
    }

    /// The measured response under a name: frequencies in hertz, rising, with
    /// levels in decibels; empty where there is none.
    pub fn response(&self, name: &str) -> &[(f64, f64)] {
        match self.entry(name) {
            Some(Entry::Response(points)) => points,
            _ => &[],
        }
    }

    /// The whole number under a name.
    pub fn whole(&self, name: &str) -> Option<u64> {
        match self.entry(name) {
            Some(Entry::Whole(number)) => Some(*number),
            _ => None,
        }
    }
}

/// Something that a record gives and that cannot be worked with.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Refusal {
    /// The input it is about.
    pub input: String,
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub help: String,
}

impl Refusal {
    /// A refusal of an input.
    pub fn new(
        input: impl Into<String>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Refusal {
        Refusal {
            input: input.into(),
            message: message.into(),
            help: help.into(),
        }
    }
}
