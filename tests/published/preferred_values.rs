//! Topic 1: preferred values of IEC 60063, value and colour codes of IEC 60062.

use ohmbook::quantity::{
    CodeTolerance, ColourCode, ColourEdition, Decimal, Dimension, RkmCode, Series, Unit, rkm_code,
};

use crate::case::{Answer, Case, run};

#[test]
fn every_case_of_preferred_values_agrees() {
    run(include_str!("01_preferred_values.toml"), &[], judge);
}

fn judge(case: &Case) -> Option<Answer> {
    let formula = case.formula.as_str();
    match formula {
        "rkm.decode" => return Some(decode(case)),
        "rkm.encode" => return Some(encode(case)),
        "rkm.tolerance" => {
            let letter = case.input("letter").chars().next().unwrap();
            let tolerance = CodeTolerance::relative_by_letter(letter).unwrap();
            return Some(percent(both_sides(tolerance)));
        }
        "rkm.valid" => {
            let is_code = RkmCode::parse(case.input("code")).is_ok();
            let word = if is_code { "valid" } else { "invalid" };
            return Some(Answer::Text(word.to_owned()));
        }
        "colour.decode" => return Some(decode_colours(case)),
        _ => {}
    }
    let series = Series::parse(case.input("series")).unwrap();
    let index = || -> usize { case.input("index").parse().unwrap() };
    Some(match formula {
        "eseries.list" => list(case, series),
        "eseries.value" => plain(&series.values().nth(index()).unwrap()),
        "eseries.computed" => plain(&series.by_rule(index()).unwrap()),
        "eseries.member" => {
            let word = if series.member(case.value("value")) {
                "yes"
            } else {
                "no"
            };
            Answer::Text(word.to_owned())
        }
        "eseries.nearest" => of_the_same_unit(case, series.nearest(case.value("value"))),
        "eseries.next" => {
            let value = case.value("value");
            of_the_same_unit(
                case,
                match case.input("direction") {
                    "up" => series.at_or_above(value),
                    "down" => series.at_or_below(value),
                    other => panic!("{}: direction `{other}`", case.id),
                },
            )
        }
        "eseries.count" => {
            let members = series.between(case.value("from"), case.value("to"));
            Answer::Value(members.count() as f64, Unit::one())
        }
        "eseries.tolerance" => percent(series.usual_tolerance()),
        _ => return None,
    })
}

fn plain(decimal: &Decimal) -> Answer {
    Answer::Value(decimal.to_f64(), Unit::one())
}

fn percent(ratio: f64) -> Answer {
    Answer::Value(ratio, Unit::parse("%").unwrap())
}

fn of_the_same_unit(case: &Case, value: Option<f64>) -> Answer {
    let (_, unit) = case.quantity("value");
    Answer::Value(value.unwrap(), unit)
}

fn list(case: &Case, series: Series) -> Answer {
    let irregular_only = match case.optional("only") {
        None => false,
        Some(only) => {
            let rule = format!("values that differ from round(10^(i/{}), 1)", series.size());
            assert_eq!(only, rule, "{}: the only selection known", case.id);
            true
        }
    };
    let values = series.values().enumerate();
    let listed: Vec<String> = values
        .filter(|(index, value)| !irregular_only || series.by_rule(*index).as_ref() != Some(value))
        .map(|(_, value)| value.to_string())
        .collect();
    Answer::Text(listed.join(" "))
}

fn both_sides(tolerance: CodeTolerance) -> f64 {
    match tolerance {
        CodeTolerance::Relative { minus, plus } if minus == plus => minus,
        other => panic!("{other:?} is not the same ratio to both sides"),
    }
}

/// `4.7 kohm +/- 5 %`, in the digits of the code or as the case prints them.
fn with_tolerance(decimal: &Decimal, unit: &str, ratio: f64) -> Answer {
    let percent = Decimal::from_f64(ratio * 100.0).unwrap().to_significant(6);
    let percent = percent.to_f64();
    let value = decimal.to_f64();
    Answer::Text(format!("{value} {unit} +/- {percent} %"))
}

fn decode(case: &Case) -> Answer {
    let code = RkmCode::parse(case.input("code")).unwrap();
    match code.tolerance {
        None => Answer::Value(code.value(), code.unit),
        Some(tolerance) => {
            let unit = code.unit.symbol().replace('Ω', "ohm").replace('µ', "u");
            with_tolerance(&code.decimal, &unit, both_sides(tolerance))
        }
    }
}

fn encode(case: &Case) -> Answer {
    let (_, unit) = case.quantity("value");
    let dimension = unit.dimension();
    assert!([Dimension::RESISTANCE, Dimension::CAPACITANCE].contains(&dimension));
    let code = rkm_code(case.value("value"), dimension).unwrap();
    // Cases are written in ASCII.
    Answer::Text(code.replace('µ', "u"))
}

fn decode_colours(case: &Case) -> Answer {
    let code = ColourCode::parse(case.input("bands"), ColourEdition::From2016).unwrap();
    let ohms = code.value();
    let unit = ohmbook::quantity::fitted_unit(ohms, &code.unit());
    let count = Decimal::from_f64(unit.count_of(ohms)).unwrap();
    let symbol = unit.symbol().replace('Ω', "ohm");
    with_tolerance(&count, &symbol, code.tolerance)
}
