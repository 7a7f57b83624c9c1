//! Choosing values for a working: what is asked, and what is answered.

use std::collections::HashMap;

use super::kind::Inputs;
use super::plan::Unworkable;
use crate::quantity::{Outcome, Statement};

/// A kind of working that can find values for some of its inputs.
pub trait Chooses {
    /// What is chosen, in words: `set resistors`.
    fn chooses(&self) -> &'static str;

    /// The best choices.
    ///
    /// # Errors
    /// Where the question cannot be answered: too few targets, no candidates,
    /// more sets than can be searched whole.
    fn choose(&self, question: &Question<'_>) -> Result<Answer, Unworkable>;
}

/// What is asked of a working.
#[derive(Debug)]
pub struct Question<'a> {
    /// What its record gives.
    pub given: &'a Inputs,
    /// Values of its inputs, in coherent SI units.
    pub values: &'a HashMap<String, Outcome>,
    /// What its results should be.
    pub targets: &'a [Target],
    /// Parts or values that may be chosen.
    pub candidates: &'a [Candidate],
    /// How many choices are wanted.
    pub show: usize,
}

/// What a result should be.
#[derive(Clone, Debug)]
pub struct Target {
    /// What the record calls the result.
    pub key: String,
    /// The value to come close to, in coherent SI units.
    pub value: f64,
    /// The statement that has to hold.
    pub statement: Statement,
}

impl Target {
    /// The target that a statement sets; `None` for a bound on one side, which
    /// names no value to come close to.
    pub fn of(key: &str, statement: &Statement) -> Option<Target> {
        let (low, high) = statement.limits();
        let middle = low.midpoint(high);
        let is_range = statement.numerals().len() == 2
            && statement.numerals()[0].value() == low
            && statement.numerals()[1].value() == high;
        let value = match is_range {
            true => middle,
            false => statement.main().value(),
        };
        let target = Target {
            key: key.to_owned(),
            value,
            statement: statement.clone(),
        };
        middle.is_finite().then_some(target)
    }
}

/// A part or value that may be chosen.
#[derive(Clone, PartialEq, Debug)]
pub struct Candidate {
    /// What it is called: the id of a stocked part, or the value as text.
    pub name: String,
    /// Its value in coherent SI units.
    pub value: f64,
    /// Its tolerance, relative, on either side.
    pub tolerance: f64,
    /// Whether it is in stock.
    pub stocked: bool,
}

/// What was found.
#[derive(Clone, PartialEq, Debug)]
pub struct Answer {
    /// The best choices, best first.
    pub choices: Vec<Choice>,
    /// How many sets of values there are.
    pub sets: f64,
    /// Why the targets cannot all be met, and what could be: sentences.
    pub law: Vec<String>,
    /// Values that were worked out for the choices, in the place of parts or
    /// values to choose among; empty where they are among those.
    pub own: Vec<Candidate>,
}

/// A set of values.
#[derive(Clone, PartialEq, Debug)]
pub struct Choice {
    /// Input and position in the list of candidates, or among the answer's own.
    pub parts: Vec<(String, usize)>,
    /// What each target comes to with it, in the order of the targets.
    pub results: Vec<Outcome>,
    /// Largest relative distance of a nominal result from its target.
    pub worst: f64,
    /// Values of it that are not in stock, each counted once.
    pub new: usize,
    /// Whether every target's statement holds with it.
    pub meets: bool,
    /// What there is to say of it in the place of errors and targets.
    pub remark: Option<String>,
}
