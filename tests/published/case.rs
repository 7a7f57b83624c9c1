//! Cases as they are written down, and how an answer is held against one.
//!
//! A case states its own tolerance: relative, absolute (either is enough where
//! both are given), or half a unit of the last digit that its source prints.
//! A case of another type is compared as text, every character counting; a
//! whole number has to be met exactly.

use std::collections::{BTreeMap, BTreeSet};

use ohmbook::quantity::{Decimal, Unit};
use serde::{Deserialize, Deserializer};

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

/// One published or independently computed value.
#[derive(Deserialize)]
pub struct Case {
    pub id: String,
    pub formula: String,
    /// Which result is meant where a formula has several.
    pub quantity: Option<String>,
    /// What sort of answer is wanted; absent for one number with its unit.
    #[serde(rename = "type")]
    pub kind: Option<Kind>,
    /// A list `I` stands as `I.1`, `I.2` and so on.
    #[serde(deserialize_with = "inputs")]
    pub inputs: BTreeMap<String, String>,
    pub expected: String,
    pub rel_tol: Option<f64>,
    pub abs_tol: Option<String>,
    /// The printed value at full precision, computed independently.
    pub recomputed: Option<String>,
    /// Significant digits that the source prints.
    pub digits: Option<u32>,
    pub source: String,
}

#[derive(Deserialize, PartialEq, Debug)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A plain number that has to be met exactly.
    Integer,
    Text,
    Rule,
    List,
}

fn inputs<'de, D: Deserializer<'de>>(from: D) -> Result<BTreeMap<String, String>, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged)]
    enum Input {
        One(String),
        List(Vec<String>),
    }
    let mut flat = BTreeMap::new();
    for (name, input) in BTreeMap::<String, Input>::deserialize(from)? {
        match input {
            Input::One(text) => {
                flat.insert(name, text);
            }
            Input::List(texts) => flat.extend(
                texts
                    .into_iter()
                    .enumerate()
                    .map(|(at, text)| (format!("{name}.{}", at + 1), text)),
            ),
        }
    }
    Ok(flat)
}

/// What was computed for a case.
#[derive(PartialEq, Debug)]
pub enum Answer {
    /// A value in coherent SI units, and a unit of its dimension.
    Value(f64, Unit),
    /// A word, a label, a numeral with its zeros, a list.
    Text(String),
}

/// What became of a case.
pub enum Judged {
    Answered(Answer),
    /// It is no matter for this test, and a list beside the cases says why.
    LeftOut,
    /// It cannot be answered, and should be.
    Stuck(String),
}

/// A case that is wrong in our judgement. It stays in, and has to differ.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Disputed {
    pub id: String,
    /// Why, and by which second route that was found.
    #[allow(dead_code)] // For the reader.
    pub reason: String,
}

/// How many cases were answered, and how many were left out.
#[derive(PartialEq, Debug)]
pub struct Counts {
    pub run: usize,
    pub left_out: usize,
}

impl Case {
    /// An input that this formula always has.
    pub fn input(&self, name: &str) -> &str {
        self.inputs
            .get(name)
            .unwrap_or_else(|| panic!("{} has no input `{name}`", self.id))
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
        quantity(&self.expected).1
    }

    /// Whether an answer agrees; what differs where it does not.
    fn compare(&self, answer: &Answer) -> Result<(), String> {
        match (answer, &self.kind) {
            (Answer::Text(text), Some(_)) if *text == self.expected => Ok(()),
            (Answer::Text(text), Some(_)) => Err(format!("computed `{text}`")),
            (Answer::Value(value, unit), None) => self.compare_value(*value, unit),
            (Answer::Value(value, unit), Some(Kind::Integer)) => {
                let (expected, plain) = quantity(&self.expected);
                let is_plain = unit.dimension().is_one() && plain == Unit::one();
                if is_plain && *value == expected.to_f64() {
                    return Ok(());
                }
                Err(format!("computed {value} {}", unit.symbol()))
            }
            (answer, kind) => Err(format!("{answer:?} is no answer of type {kind:?}")),
        }
    }

    fn compare_value(&self, value: f64, unit: &Unit) -> Result<(), String> {
        let (expected, wanted) = quantity(&self.expected);
        if !unit.dimension().comparable(wanted.dimension()) {
            let found = unit.dimension();
            return Err(format!("computed {found}, not {}", wanted.dimension()));
        }
        // Compared in the printed unit: a share of 100 °C is no share of 373 K.
        let computed = wanted.count_of(value);
        let difference = (computed - expected.to_f64()).abs();
        let allowed = self.allowed(&expected);
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

    /// Whether a value agrees with the recomputed one to the last digit of that,
    /// where there is one; it stands in the printed unit if it has none.
    pub fn compare_recomputed(&self, value: f64) -> Result<(), String> {
        let Some(text) = &self.recomputed else {
            return Ok(());
        };
        let (recomputed, unit) = quantity(text);
        let unit = if unit == Unit::one() {
            self.expected_unit()
        } else {
            unit
        };
        let computed = unit.count_of(value);
        let difference = (computed - recomputed.to_f64()).abs();
        if difference <= 0.5 * 10f64.powi(recomputed.place()) {
            return Ok(());
        }
        Err(format!("computed {computed}, recomputed `{text}`"))
    }

    /// The differences that are allowed, in the printed unit; any one is enough.
    fn allowed(&self, expected: &Decimal) -> Vec<f64> {
        let relative = self.rel_tol.map(|ratio| ratio * expected.to_f64().abs());
        let absolute = self.abs_tol.as_deref().map(|text| {
            let (decimal, unit) = quantity(text);
            if unit == Unit::one() {
                // Without a unit of its own it is in the printed one.
                return decimal.to_f64();
            }
            // A tolerance in °C is a difference.
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
    // Wire tables print per 1000 ft, which as a unit is the kilofoot.
    let unit = text[used..].replace(" per 1000 ft", "/kft");
    let unit = Unit::parse(&unit).unwrap_or_else(|fault| panic!("{text}: {fault}"));
    (decimal, unit)
}

/// Judges every case of a topic and reports all that differ, with their
/// sources. `judge` gives `None` for a formula that it does not know.
pub fn run(file: &str, disputed: &[Disputed], judge: fn(&Case) -> Option<Answer>) {
    let cases = cases(file);
    let counts = judge_all(&cases, disputed, |case| match judge(case) {
        Some(answer) => Judged::Answered(answer),
        None => Judged::Stuck(format!("formula `{}` is not judged", case.formula)),
    });
    assert_eq!(counts.run, cases.len(), "no case is skipped");
}

/// The cases of a file, every one of them.
pub fn cases(file: &str) -> Vec<Case> {
    let topic: Topic = toml::from_str(file).unwrap_or_else(|error| panic!("{error}"));
    check_form(file, &topic);
    topic.cases
}

/// Judges cases and reports all that fail together, with their sources.
pub fn judge_all(cases: &[Case], disputed: &[Disputed], judge: impl Fn(&Case) -> Judged) -> Counts {
    let mut counts = Counts {
        run: 0,
        left_out: 0,
    };
    let mut failures = Vec::new();
    for case in cases {
        let answer = match judge(case) {
            Judged::Answered(answer) => answer,
            Judged::LeftOut => {
                counts.left_out += 1;
                continue;
            }
            Judged::Stuck(what) => {
                failures.push(format!("{}: {what}; source: {}", case.id, case.source));
                continue;
            }
        };
        counts.run += 1;
        let is_disputed = disputed.iter().any(|dispute| dispute.id == case.id);
        match (case.compare(&answer), is_disputed) {
            (Ok(()), false) | (Err(_), true) => {}
            (Err(what), false) => failures.push(format!(
                "{} ({}): expected `{}`, {what}; source: {}",
                case.id, case.formula, case.expected, case.source
            )),
            (Ok(()), true) => failures.push(format!("{} is disputed and yet agrees", case.id)),
        }
    }
    for dispute in disputed {
        if !cases.iter().any(|case| case.id == dispute.id) {
            failures.push(format!("{} is disputed and is no case", dispute.id));
        }
    }
    assert!(
        failures.is_empty(),
        "{} of {} cases fail:\n{}",
        failures.len(),
        cases.len(),
        failures.join("\n")
    );
    assert_eq!(
        counts.run + counts.left_out,
        cases.len(),
        "no case is skipped"
    );
    counts
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

#[cfg(test)]
fn example(expected: &str) -> Case {
    Case {
        id: "example".to_owned(),
        formula: "example".to_owned(),
        quantity: None,
        kind: None,
        inputs: BTreeMap::new(),
        expected: expected.to_owned(),
        rel_tol: None,
        abs_tol: None,
        recomputed: None,
        digits: None,
        source: "invented".to_owned(),
    }
}

#[test]
fn a_wrong_answer_is_found_and_the_tolerance_is_that_of_the_case() {
    let ohms = |value| Answer::Value(value, Unit::parse("ohm").unwrap());
    let printed = Case {
        digits: Some(2),
        ..example("4.7 kohm")
    };
    assert!(printed.compare(&ohms(4749.0)).is_ok());
    assert!(printed.compare(&ohms(4751.0)).is_err());
    let exact = Case {
        rel_tol: Some(1e-9),
        ..printed
    };
    assert!(
        exact.compare(&ohms(4700.0001)).is_err(),
        "digits do not widen"
    );
    let volts = Answer::Value(4700.0, Unit::parse("V").unwrap());
    assert!(exact.compare(&volts).is_err());
    assert!(example("4.7 kohm").compare(&ohms(4700.0)).is_err());
    assert!(exact.compare(&Answer::Text("4.7 kohm".into())).is_err());
}

#[test]
fn a_tolerance_without_a_unit_is_in_the_printed_one() {
    let case = Case {
        abs_tol: Some("0.03".to_owned()),
        ..example("10.15 ohm per 1000 ft")
    };
    let per_metre = Unit::parse("ohm/m").unwrap();
    let answer = |per_kilofoot: f64| Answer::Value(per_kilofoot / 304.8, per_metre.clone());
    assert!(case.compare(&answer(10.17)).is_ok());
    assert!(case.compare(&answer(10.19)).is_err());
}

#[test]
fn a_whole_number_is_met_exactly() {
    let case = Case {
        kind: Some(Kind::Integer),
        ..example("653")
    };
    assert!(case.compare(&Answer::Value(653.0, Unit::one())).is_ok());
    assert!(case.compare(&Answer::Value(653.001, Unit::one())).is_err());
    let hertz = Answer::Value(653.0, Unit::parse("Hz").unwrap());
    assert!(case.compare(&hertz).is_err());
}
