//! Cases as they are written down, and how an answer is held against one.
//!
//! A case states its own tolerance: relative, absolute (either is enough where
//! both are given), or half a unit of the last digit that its source prints.
//! A case of another type is compared as text, every character counting.

use std::collections::{BTreeMap, BTreeSet};

use ohmbook::quantity::{Decimal, Unit};
use serde::Deserialize;

/// A file of cases.
#[derive(Deserialize)]
pub struct Topic {
    #[serde(rename = "formula")]
    formulas: Vec<Formula>,
    #[serde(rename = "case")]
    pub cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Formula {
    id: String,
}

/// A text or a list of texts.
#[derive(Deserialize)]
#[serde(untagged)]
enum Input {
    One(String),
    Many(Vec<String>),
}

/// One published or independently computed value.
#[derive(Deserialize)]
pub struct Case {
    pub id: String,
    pub formula: String,
    /// What sort of answer is wanted; absent for one number with its unit.
    #[serde(rename = "type")]
    kind: Option<Kind>,
    inputs: BTreeMap<String, Input>,
    /// Which result is meant where a formula has several.
    #[serde(rename = "quantity", default)]
    pub result: String,
    expected: String,
    rel_tol: Option<f64>,
    abs_tol: Option<String>,
    /// Significant digits that the source prints.
    pub digits: Option<u32>,
    source: String,
}

#[derive(Deserialize, PartialEq, Debug)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Text,
    Rule,
    List,
    Interval,
}

/// What was computed for a case.
#[derive(PartialEq, Debug)]
pub enum Answer {
    /// A value in coherent SI units, and a unit of its dimension.
    Value(f64, Unit),
    /// An uncertainty in coherent SI units, and a unit of its dimension. In °C
    /// it is a difference.
    Difference(f64, Unit),
    /// Two ends in coherent SI units, and a unit of their dimension.
    Interval(f64, f64, Unit),
    /// A word, a label, a numeral with its zeros, a list.
    Text(String),
}

/// A case that is wrong in our judgement. It stays in, and has to differ.
pub struct Disputed {
    pub id: &'static str,
    /// Why, and by which second route that was found.
    #[allow(dead_code)] // For the reader.
    pub reason: &'static str,
}

impl Case {
    /// An input that this formula always has.
    pub fn input(&self, name: &str) -> &str {
        self.optional(name)
            .unwrap_or_else(|| panic!("{} has no input `{name}`", self.id))
    }

    /// An input that this formula may have.
    pub fn optional(&self, name: &str) -> Option<&str> {
        match self.inputs.get(name)? {
            Input::One(text) => Some(text),
            Input::Many(_) => panic!("{}: `{name}` is a list", self.id),
        }
    }

    /// An input that is a list of numbers with their units, in coherent SI
    /// units.
    pub fn values(&self, name: &str) -> Vec<f64> {
        let Some(Input::Many(texts)) = self.inputs.get(name) else {
            panic!("{} has no list `{name}`", self.id);
        };
        let value = |text: &String| {
            let (decimal, unit) = quantity(text);
            unit.value_of(&decimal)
        };
        texts.iter().map(value).collect()
    }

    /// An input that is a number with its unit.
    pub fn quantity(&self, name: &str) -> (Decimal, Unit) {
        quantity(self.input(name))
    }

    /// An input in coherent SI units.
    pub fn value(&self, name: &str) -> f64 {
        let (decimal, unit) = self.quantity(name);
        unit.value_of(&decimal)
    }

    /// The unit in which the expected value is printed.
    pub fn expected_unit(&self) -> Unit {
        self.expected_numbers().1
    }

    /// The expected value, or both ends of the expected interval.
    fn expected_numbers(&self) -> (Vec<Decimal>, Unit) {
        if self.kind != Some(Kind::Interval) {
            let (decimal, unit) = quantity(&self.expected);
            return (vec![decimal], unit);
        }
        let text = self.expected.strip_prefix('[');
        let (ends, unit) = text.and_then(|text| text.split_once(']')).unwrap();
        let ends = ends.split(',').map(|end| quantity(end.trim()).0);
        (ends.collect(), Unit::parse(unit).unwrap())
    }

    /// The least difference that is allowed at any end, in coherent SI units.
    pub fn tolerance(&self) -> f64 {
        let (expected, unit) = self.expected_numbers();
        let allowed = expected.iter().map(|expected| {
            let allowed = self.allowed(expected).into_iter();
            allowed.fold(0.0, f64::max)
        });
        allowed.fold(f64::INFINITY, f64::min) * unit.step()
    }

    /// Whether an answer agrees; what differs where it does not.
    fn compare(&self, answer: &Answer) -> Result<(), String> {
        match (answer, &self.kind) {
            (Answer::Text(text), Some(_)) if *text == self.expected => Ok(()),
            (Answer::Text(text), Some(_)) => Err(format!("computed `{text}`")),
            (Answer::Value(value, unit), None) => self.compare_values(&[*value], unit, |unit| unit),
            (Answer::Difference(value, unit), None) => {
                self.compare_values(&[*value], unit, |unit| unit.for_difference())
            }
            (Answer::Interval(low, high, unit), Some(Kind::Interval)) => {
                self.compare_values(&[*low, *high], unit, |unit| unit)
            }
            (answer, kind) => Err(format!("{answer:?} is no answer of type {kind:?}")),
        }
    }

    fn compare_values(
        &self,
        values: &[f64],
        unit: &Unit,
        meant: fn(Unit) -> Unit,
    ) -> Result<(), String> {
        let (expected, wanted) = self.expected_numbers();
        let wanted = meant(wanted);
        if !unit.dimension().comparable(wanted.dimension()) {
            let found = unit.dimension();
            return Err(format!("computed {found}, not {}", wanted.dimension()));
        }
        if values.len() != expected.len() {
            return Err(format!("computed {} numbers", values.len()));
        }
        let pairs = values.iter().zip(&expected);
        pairs
            .into_iter()
            .try_for_each(|(value, expected)| self.compare_one(*value, expected, &wanted))
    }

    fn compare_one(&self, value: f64, expected: &Decimal, wanted: &Unit) -> Result<(), String> {
        // Compared in the printed unit: a share of 100 °C is no share of 373 K.
        let computed = wanted.count_of(value);
        let difference = (computed - expected.to_f64()).abs();
        let allowed = self.allowed(expected);
        if allowed.is_empty() {
            return Err("the case states no tolerance".to_owned());
        }
        if allowed.iter().any(|allowed| difference <= *allowed) {
            return Ok(());
        }
        let unit = wanted.symbol();
        Err(format!(
            "computed {computed:e} {unit}, off by {difference:e}, allowed {allowed:?}"
        ))
    }

    /// The differences that are allowed, in the printed unit; any one is enough.
    fn allowed(&self, expected: &Decimal) -> Vec<f64> {
        let relative = self.rel_tol.map(|ratio| ratio * expected.to_f64().abs());
        let absolute = self.abs_tol.as_deref().map(|text| {
            // A tolerance in °C is a difference.
            let (decimal, unit) = quantity(text);
            decimal.to_f64() * unit.step() / self.expected_unit().step()
        });
        let stated: Vec<f64> = [relative, absolute].into_iter().flatten().collect();
        if !stated.is_empty() {
            return stated;
        }
        let half_of_the_last_digit = |digits: u32| {
            let place = expected.leading_place() - digits as i32 + 1;
            0.5 * 10f64.powi(place)
        };
        self.digits
            .map(half_of_the_last_digit)
            .into_iter()
            .collect()
    }
}

/// Reads `4.7 kohm`, `25`, `-10 dBV`.
pub fn quantity(text: &str) -> (Decimal, Unit) {
    let (decimal, used) = Decimal::scan(text).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
    // A coefficient per degree is one per kelvin.
    let unit = text[used..].replace("1/degC", "1/K");
    let unit = Unit::parse(&unit).unwrap_or_else(|fault| panic!("{text}: {fault}"));
    (decimal, unit)
}

/// Judges every case of a topic and reports all that differ, with their
/// sources. `judge` gives `None` for a formula that it does not know.
pub fn run(file: &str, disputed: &[Disputed], judge: fn(&Case) -> Option<Answer>) {
    let topic: Topic = toml::from_str(file).unwrap_or_else(|error| panic!("{error}"));
    check_form(file, &topic);
    let mut judged = 0;
    let mut failures = Vec::new();
    for case in &topic.cases {
        let Some(answer) = judge(case) else {
            failures.push(format!(
                "{}: formula `{}` is not judged",
                case.id, case.formula
            ));
            continue;
        };
        judged += 1;
        let dispute = disputed.iter().find(|dispute| dispute.id == case.id);
        match (case.compare(&answer), dispute) {
            (Ok(()), None) | (Err(_), Some(_)) => {}
            (Err(what), None) => failures.push(format!(
                "{} ({}): expected `{}`, {what}; source: {}",
                case.id, case.formula, case.expected, case.source
            )),
            (Ok(()), Some(_)) => {
                failures.push(format!("{} is disputed and yet agrees", case.id));
            }
        }
    }
    for dispute in disputed {
        if !topic.cases.iter().any(|case| case.id == dispute.id) {
            failures.push(format!("{} is disputed and is no case", dispute.id));
        }
    }
    assert!(
        failures.is_empty(),
        "{} of {} cases fail:\n{}",
        failures.len(),
        topic.cases.len(),
        failures.join("\n")
    );
    assert_eq!(judged, topic.cases.len(), "no case is skipped");
}

/// Nothing of the file was lost on the way in, and nothing in it is there twice.
fn check_form(file: &str, topic: &Topic) {
    let headers = file
        .lines()
        .filter(|line| line.trim() == "[[case]]")
        .count();
    assert!(headers > 0, "the file has cases");
    assert_eq!(topic.cases.len(), headers, "every case of the file is read");
    let ids: BTreeSet<&str> = topic.cases.iter().map(|case| case.id.as_str()).collect();
    assert_eq!(ids.len(), headers, "every case has an id of its own");
    for case in &topic.cases {
        let known = topic
            .formulas
            .iter()
            .any(|formula| formula.id == case.formula);
        assert!(known, "{}: no formula `{}`", case.id, case.formula);
        assert!(!case.source.is_empty(), "{} has a source", case.id);
    }
}

#[test]
fn a_wrong_answer_is_found_and_the_tolerance_is_that_of_the_case() {
    let case = |expected: &str, rel_tol, digits| Case {
        id: "example".to_owned(),
        formula: "example".to_owned(),
        kind: None,
        inputs: BTreeMap::new(),
        result: String::new(),
        expected: expected.to_owned(),
        rel_tol,
        abs_tol: None,
        digits,
        source: "invented".to_owned(),
    };
    let ohms = |value| Answer::Value(value, Unit::parse("ohm").unwrap());
    let printed = case("4.7 kohm", None, Some(2));
    assert!(printed.compare(&ohms(4749.0)).is_ok());
    assert!(printed.compare(&ohms(4751.0)).is_err());
    let exact = case("4.7 kohm", Some(1e-9), Some(2));
    assert!(
        exact.compare(&ohms(4700.0001)).is_err(),
        "digits do not widen"
    );
    let volts = Answer::Value(4700.0, Unit::parse("V").unwrap());
    assert!(exact.compare(&volts).is_err());
    assert!(case("4.7 kohm", None, None).compare(&ohms(4700.0)).is_err());
    assert!(exact.compare(&Answer::Text("4.7 kohm".into())).is_err());
}
