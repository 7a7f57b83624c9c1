//! Topic 12: writing rules of the SI, rounding, constants, conversions, levels.

use ohmbook::quantity::writing::{DecimalSign, Rule, breaches_with};
use ohmbook::quantity::{Constant, Dimension, Level, Ties, Unit, prefix_power_by_name};

use crate::case::{Answer, Case, quantity, run};

#[test]
fn every_case_of_si_units_agrees() {
    run(include_str!("12_si_units.toml"), &[], judge);
}

fn judge(case: &Case) -> Option<Answer> {
    Some(match case.formula.as_str() {
        "si.prefixvalue" => {
            let power = prefix_power_by_name(case.input("prefix")).unwrap();
            Answer::Value(10f64.powi(power), Unit::one())
        }
        "si.dimension" => {
            let dimension = |name| Unit::parse(case.input(name)).unwrap().dimension();
            yes_or_no(dimension("a") == dimension("b"))
        }
        "const" => constant(case),
        "unit.convert" => {
            // The answer is counted in the printed unit, which is the wanted one.
            let (_, from) = case.quantity("value");
            assert_eq!(Unit::parse(case.input("to")), Ok(case.expected_unit()));
            Answer::Value(case.value("value"), from)
        }
        "unit.db" => level(case),
        "round.sig" => {
            let (value, _) = case.quantity("value");
            let digits = case.input("digits").parse().unwrap();
            Answer::Text(value.to_significant(digits).to_string())
        }
        "round.range" | "round.once" => to_multiple(case),
        "round.converted" => {
            let (written, _) = case.quantity("value");
            let to = Unit::parse(case.input("to")).unwrap();
            let reported = written.as_converted(to.count_of(case.value("value")));
            Answer::Text(format!("{} {}", reported.unwrap(), to.symbol()))
        }
        other => writing_rule(case, other.strip_prefix("si.")?)?,
    })
}

fn yes_or_no(holds: bool) -> Answer {
    Answer::Text(if holds { "yes" } else { "no" }.to_owned())
}

/// A text is bad where the rule under test is broken. A text that is good under
/// that rule has to be free of breaches of all the others too.
fn writing_rule(case: &Case, name: &str) -> Option<Answer> {
    let rule = Rule::ALL.into_iter().find(|rule| rule.name() == name)?;
    let sign = match case.optional("decimal_sign_of_document") {
        None => DecimalSign::Point,
        Some("point") => DecimalSign::Point,
        Some("comma") => DecimalSign::Comma,
        Some(sign) => panic!("{}: decimal sign `{sign}`", case.id),
    };
    let broken: Vec<Rule> = breaches_with(case.input("text"), sign)
        .into_iter()
        .map(|breach| breach.rule)
        .collect();
    Some(Answer::Text(if broken.is_empty() {
        "ok".to_owned()
    } else if broken.contains(&rule) {
        "bad".to_owned()
    } else {
        format!("breaks other rules: {broken:?}")
    }))
}

fn constant(case: &Case) -> Answer {
    let constant = Constant::by_name(case.input("name")).unwrap();
    assert_eq!(constant.symbol, case.input("symbol"), "{}", case.id);
    Answer::Value(constant.value, constant.coherent_unit())
}

fn to_multiple(case: &Case) -> Answer {
    let (value, _) = case.quantity("value");
    let (range, _) = case.quantity("range");
    // Where no rule is named, no tie is to be broken.
    let ties = match case.optional("rule").and_then(|rule| rule.chars().next()) {
        Some('A') | None => Ties::Even,
        Some('B') => Ties::Up,
        Some(other) => panic!("{}: rule {other}", case.id),
    };
    Answer::Text(value.to_multiple(&range, ties).unwrap().to_string())
}

/// A level from a value or a ratio, or the other way about.
fn level(case: &Case) -> Answer {
    let (given, wanted) = (case.input("value"), case.input("to"));
    let ratio_kind = |text: &str| match text {
        "power ratio" => Some(Level::Power),
        "voltage ratio" | "current ratio" => Some(Level::Field),
        _ => None,
    };
    if let Some(level) = ratio_kind(wanted) {
        let (decibels, _) = quantity(given);
        let ratio = level.value_at(decibels.to_f64()).unwrap();
        return Answer::Value(ratio, Unit::one());
    }
    let wanted = Unit::parse(wanted).unwrap();
    let ratio = ["power ratio", "voltage ratio", "current ratio"]
        .into_iter()
        .find_map(|kind| Some((ratio_kind(kind)?, given.strip_prefix(kind)?)));
    if let Some((level, ratio)) = ratio {
        let (ratio, _) = quantity(ratio.trim_start());
        let decibels = level.decibels_of(ratio.to_f64()).unwrap();
        return Answer::Value(decibels, wanted);
    }
    let (decimal, unit) = quantity(given);
    let value = match unit.dimension().as_level() {
        Some(level) => {
            let (_, dimension) = level.reference().unwrap();
            (level.value_at(decimal.to_f64()).unwrap(), dimension)
        }
        None => (unit.value_of(&decimal), unit.dimension()),
    };
    let (value, dimension): (f64, Dimension) = value;
    match wanted.dimension().as_level() {
        Some(level) => {
            let (_, of) = level.reference().unwrap();
            assert_eq!(of, dimension, "{}: a level of what was given", case.id);
            Answer::Value(level.decibels_of(value).unwrap(), wanted)
        }
        None => Answer::Value(value, Unit::coherent(dimension)),
    }
}
