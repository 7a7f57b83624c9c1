//! Works a kind out for the published checks in its file, as the notebook would.

#![allow(
    dead_code,
    clippy::expect_used,
    clippy::panic,
    reason = "whatever is wrong here is wrong with a check, and doors may wait for their first user"
)]

use std::collections::HashMap;

use super::{Entry, How, Inputs, Kind, Other, OtherResult, Plan, Takes};
use crate::formula::Formula;
use crate::quantity::Dimension;

/// What a check gives a working: quantities in coherent SI units by the name
/// that formulas know them by (`poles_1`, `state.sleep.current`), and words and
/// whole numbers.
#[derive(Default)]
pub(crate) struct Given {
    inputs: Inputs,
    values: HashMap<String, f64>,
    /// Dimensions of what is taken from other workings.
    taken: HashMap<String, Dimension>,
}

impl Given {
    /// Quantities, each under its own name.
    pub fn quantities(quantities: &[(&str, f64)]) -> Given {
        let mut given = Given::default();
        for (name, value) in quantities {
            given.inputs.put(name, Entry::Quantity);
            given.values.insert((*name).to_owned(), *value);
        }
        given
    }

    /// One more quantity.
    pub fn also(mut self, name: &str, value: f64) -> Given {
        self.inputs.put(name, Entry::Quantity);
        self.values.insert(name.to_owned(), value);
        self
    }

    /// A list of quantities.
    pub fn list(mut self, name: &str, values: &[f64]) -> Given {
        self.inputs.put(name, Entry::Quantities(values.len()));
        for (at, value) in values.iter().enumerate() {
            self.values.insert(format!("{name}_{}", at + 1), *value);
        }
        self
    }

    /// Quantities by name.
    pub fn by_name(mut self, name: &str, values: &[(&str, f64)]) -> Given {
        let names = values.iter().map(|(key, _)| (*key).to_owned()).collect();
        self.inputs.put(name, Entry::ByName(names));
        for (key, value) in values {
            self.values.insert(format!("{name}.{key}"), *value);
        }
        self
    }

    /// Groups of quantities by name.
    pub fn groups(mut self, name: &str, groups: &[(&str, &[(&str, f64)])]) -> Given {
        let mut entries = Vec::new();
        for (group, quantities) in groups {
            let mut inputs = Inputs::default();
            for (key, value) in *quantities {
                inputs.put(key, Entry::Quantity);
                self.values.insert(format!("{name}.{group}.{key}"), *value);
            }
            entries.push(((*group).to_owned(), inputs));
        }
        self.inputs.put(name, Entry::Groups(entries));
        self
    }

    /// A word.
    pub fn word(mut self, name: &str, word: &str) -> Given {
        self.inputs.put(name, Entry::Word(word.to_owned()));
        self
    }

    /// Words.
    pub fn words(mut self, name: &str, words: &[&str]) -> Given {
        let words = words.iter().map(|&word| word.to_owned()).collect();
        self.inputs.put(name, Entry::Words(words));
        self
    }

    /// A whole number.
    pub fn whole(mut self, name: &str, number: u64) -> Given {
        self.inputs.put(name, Entry::Whole(number));
        self
    }

    /// What its record gives, as a kind sees it.
    pub fn inputs(&self) -> &Inputs {
        &self.inputs
    }

    /// A word in a group.
    pub fn word_in(self, name: &str, group: &str, key: &str, word: &str) -> Given {
        self.put_in(name, group, key, Entry::Word(word.to_owned()))
    }

    /// A whole number in a group.
    pub fn whole_in(self, name: &str, group: &str, key: &str, number: u64) -> Given {
        self.put_in(name, group, key, Entry::Whole(number))
    }

    /// A measured response in a group.
    pub fn response_in(self, name: &str, group: &str, key: &str, points: &[(f64, f64)]) -> Given {
        self.put_in(name, group, key, Entry::Response(points.to_vec()))
    }

    fn put_in(mut self, name: &str, group: &str, key: &str, entry: Entry) -> Given {
        let mut groups = self.inputs.groups(name).to_vec();
        for (_, inputs) in groups.iter_mut().filter(|(own, _)| own == group) {
            inputs.put(key, entry.clone());
        }
        self.inputs.replace(name, Entry::Groups(groups));
        self
    }

    /// A measured response.
    pub fn response(mut self, name: &str, points: &[(f64, f64)]) -> Given {
        self.inputs.put(name, Entry::Response(points.to_vec()));
        self
    }

    /// Another working, worked out for what it is given.
    pub fn working(mut self, name: &str, kind: &'static dyn Kind, theirs: &Given) -> Given {
        let results = theirs.plan(kind).results;
        let results = results.into_iter().map(|planned| OtherResult {
            name: planned.name,
            label: planned.label,
            means: planned.means,
        });
        let other = Other {
            id: name.to_owned(),
            kind: kind.name(),
            inputs: theirs.inputs.clone(),
            results: results.collect(),
        };
        self.inputs.put(name, Entry::Working(other));
        for (key, value) in theirs.work(kind) {
            self.values.insert(format!("{name}.{key}"), value);
        }
        for (key, dimension) in theirs.dimensions(kind) {
            self.taken.insert(format!("{name}.{key}"), dimension);
        }
        self
    }

    /// The layout of a kind for what is given.
    pub fn plan(&self, kind: &dyn Kind) -> Plan {
        kind.plan(&self.inputs).expect("a check gives what is fit")
    }

    /// What a kind refuses of what is given.
    pub fn refusals(&self, kind: &dyn Kind) -> Vec<super::Refusal> {
        kind.plan(&self.inputs).err().unwrap_or_default()
    }

    /// All results by name, but for those without a value and what hangs on them.
    pub fn work(&self, kind: &dyn Kind) -> HashMap<String, f64> {
        let mut known = self.values.clone();
        let mut without: Vec<String> = Vec::new();
        for result in self.plan(kind).results {
            if result.how.names().iter().any(|name| without.contains(name)) {
                without.push(result.name);
                continue;
            }
            let value = match &result.how {
                How::Formula(text) => {
                    let formula = Formula::parse(text).expect("a kind writes sound formulas");
                    let values: Vec<f64> = formula
                        .names()
                        .iter()
                        .map(|used| self.known(&known, &used.name))
                        .collect();
                    formula.evaluate(&values).ok()
                }
                How::Procedure {
                    operands,
                    procedure,
                    ..
                } => {
                    let values: Vec<f64> = operands
                        .iter()
                        .map(|name| self.known(&known, name))
                        .collect();
                    procedure.run(&values).ok()
                }
            };
            match value {
                Some(value) => drop(known.insert(result.name, value)),
                None => without.push(result.name),
            }
        }
        known
    }

    fn known(&self, known: &HashMap<String, f64>, name: &str) -> f64 {
        *known
            .get(name)
            .unwrap_or_else(|| panic!("`{name}` is named before it is known"))
    }

    /// The values of inputs.
    pub fn values_of(&self, names: &[String]) -> Vec<f64> {
        let names = names.iter();
        names.map(|name| self.known(&self.values, name)).collect()
    }

    /// The value of one result.
    pub fn result(&self, kind: &dyn Kind, name: &str) -> f64 {
        self.known(&self.work(kind), name)
    }

    /// Asserts that every formula has a dimension with the dimensions of the
    /// inputs, and names nothing that comes after it.
    pub fn hangs_together(&self, kind: &dyn Kind) {
        self.dimensions(kind);
    }

    /// The dimension of every input and result.
    fn dimensions(&self, kind: &dyn Kind) -> HashMap<String, Dimension> {
        let mut known = self.taken.clone();
        for input in kind.inputs() {
            dimensions(&self.inputs, "", input, &mut known);
        }
        for result in self.plan(kind).results {
            let of = |name: &str| {
                *known
                    .get(name)
                    .unwrap_or_else(|| panic!("{}: `{name}` is not known yet", result.name))
            };
            let dimension = match &result.how {
                How::Formula(text) => {
                    let formula = Formula::parse(text).expect("a kind writes sound formulas");
                    let names: Vec<Dimension> =
                        formula.names().iter().map(|used| of(&used.name)).collect();
                    let found = formula.dimension(&names);
                    found.unwrap_or_else(|fault| panic!("{}: {fault:?}", result.name))
                }
                How::Procedure {
                    operands,
                    dimension,
                    ..
                } => {
                    for operand in operands {
                        of(operand);
                    }
                    *dimension
                }
            };
            assert!(
                known.insert(result.name.clone(), dimension).is_none(),
                "{} stands twice",
                result.name
            );
        }
        known
    }
}

fn dimensions(
    given: &Inputs,
    before: &str,
    input: &super::Input,
    known: &mut HashMap<String, Dimension>,
) {
    if !given.has(input.name) {
        assert!(input.optional, "the check lacks `{}`", input.name);
        return;
    }
    match &input.takes {
        Takes::Quantity(dimension) => {
            known.insert(format!("{before}{}", input.name), *dimension);
        }
        Takes::Quantities(dimension, _) => {
            for name in given.listed(input.name) {
                known.insert(format!("{before}{name}"), *dimension);
            }
        }
        Takes::ByName(dimension) => {
            for name in given.names(input.name) {
                known.insert(format!("{before}{}.{name}", input.name), *dimension);
            }
        }
        Takes::Groups(inputs) => {
            for (group, given) in given.groups(input.name) {
                for inner in *inputs {
                    dimensions(
                        given,
                        &format!("{before}{}.{group}.", input.name),
                        inner,
                        known,
                    );
                }
            }
        }
        // What is taken from other workings is known beforehand.
        Takes::Working(_) => {}
        Takes::Word(_) | Takes::Words | Takes::Whole(_) | Takes::Response => {}
    }
}

impl How {
    /// Names of inputs and earlier results that it takes.
    fn names(&self) -> Vec<String> {
        match self {
            How::Formula(text) => {
                let formula = Formula::parse(text).expect("a kind writes sound formulas");
                formula
                    .names()
                    .iter()
                    .map(|used| used.name.clone())
                    .collect()
            }
            How::Procedure { operands, .. } => operands.clone(),
        }
    }
}

/// Asserts that two values agree within a relative distance.
pub(crate) fn near(found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "{found} is not {expected}"
    );
}

#[test]
fn names_of_kinds_and_inputs_are_fit_for_records() {
    for kind in super::KINDS {
        let name = kind.name();
        let fit = |c: char| c.is_ascii_lowercase() || c == '-';
        assert!(!name.is_empty() && name.chars().all(fit), "{name}");
        assert!(!kind.title().is_empty());
        for input in kind.inputs() {
            let taken = ["kind", "means", "says", "must", "audience"];
            assert!(!taken.contains(&input.name), "{name}: {}", input.name);
            assert!(!input.means.is_empty() && !input.means.ends_with('.'));
        }
    }
}
