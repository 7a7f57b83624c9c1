//! Files whose cases hold a table of named results, `expect`, in place of one.
//!
//! Each result becomes a case of its own, `case/result`.

use std::collections::BTreeMap;

use ohmbook::quantity::Unit;
use serde::Deserialize;

use crate::case::{Case, quantity};

#[derive(Deserialize)]
struct Topic {
    case: Vec<Several>,
}

#[derive(Deserialize)]
struct Several {
    id: String,
    formula: String,
    inputs: BTreeMap<String, String>,
    expect: BTreeMap<String, String>,
    rel_tol: Option<f64>,
    /// In the coherent SI unit of the result.
    abs_tol: Option<f64>,
    source: String,
}

/// The results of a file, each as a case.
pub fn cases(file: &str) -> Vec<Case> {
    let topic: Topic = toml::from_str(file).unwrap_or_else(|error| panic!("{error}"));
    let headers = file.lines().filter(|line| *line == "[[case]]").count();
    assert_eq!(topic.case.len(), headers, "every case of the file is read");
    let results = topic.case.into_iter().flat_map(Several::results);
    results.collect()
}

impl Several {
    fn results(self) -> Vec<Case> {
        assert!(!self.expect.is_empty(), "{} has results", self.id);
        let one = |(name, expected): (&String, &String)| {
            let (_, unit) = quantity(expected);
            // The tolerance is coherent, so it would need a unit beside one.
            assert_eq!(unit, Unit::one(), "{}: {name} is a plain number", self.id);
            Case {
                id: format!("{}/{name}", self.id),
                formula: self.formula.clone(),
                quantity: Some(name.clone()),
                kind: None,
                inputs: self.inputs.clone(),
                expected: expected.clone(),
                rel_tol: self.rel_tol,
                abs_tol: self.abs_tol.map(|tolerance| tolerance.to_string()),
                recomputed: None,
                digits: None,
                source: self.source.clone(),
            }
        };
        self.expect.iter().map(one).collect()
    }
}
