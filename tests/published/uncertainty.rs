//! Topic 2: propagation of uncertainty, against the GUM (JCGM 100:2008), its
//! first supplement (JCGM 101:2008) and independent computations.

use ohmbook::formula::Formula;
use ohmbook::quantity::Unit;
use ohmbook::spread::statistics::{Summary, correlation};
use ohmbook::spread::{
    Combined, Correlations, Distribution, Interval, Uncertain, combine, combine_second_order,
    concise,
};

use crate::case::{Answer, Case, run};
use crate::{supplement, tolerances};

#[test]
fn every_case_of_uncertainty_agrees() {
    let file = include_str!("02_uncertainty.toml");
    assert_eq!(file.matches("\n[[case]]\n").count(), 140);
    run(file, &[], judge);
}

fn judge(case: &Case) -> Option<Answer> {
    match (case.formula.as_str(), case.result.as_str()) {
        ("gum.typeA", "mean" | "u(mean)") => Some(type_a(case)),
        ("gum.typeB", _) => Some(type_b(case)),
        ("gum.report", _) => Some(report(case)),
        ("gum.combine" | "gum.welch" | "gum.expanded" | "gum.secondorder", _) => gauge_block(case),
        ("gum.typeA", _) => impedance_by_sets(case),
        ("gum.combine.corr", _) => impedance(case),
        (formula, _) if formula.starts_with("s1.") => supplement::judge(case),
        _ => tolerances::judge(case),
    }
}

pub fn formula(text: &str) -> Formula {
    Formula::parse(text).unwrap_or_else(|fault| panic!("{text}: {fault:?}"))
}

pub fn plain(value: f64) -> Option<Answer> {
    Some(Answer::Value(value, Unit::one()))
}

/// A value in coherent SI units, of the dimension that the case expects.
pub fn of_case(case: &Case, value: f64) -> Option<Answer> {
    Some(Answer::Value(value, case.expected_unit()))
}

/// An interval in coherent SI units, of the dimension that the case expects.
pub fn interval_of_case(case: &Case, interval: Interval) -> Option<Answer> {
    let (low, high) = (interval.low(), interval.high());
    Some(Answer::Interval(low, high, case.expected_unit()))
}

/// An input that is a difference even where its unit has an offset.
fn difference(case: &Case, name: &str) -> f64 {
    let (decimal, unit) = case.quantity(name);
    decimal.to_f64() * unit.step()
}

fn type_a(case: &Case) -> Answer {
    let summary = Summary::of(&case.values("t")).unwrap();
    if case.result == "mean" {
        Answer::Value(summary.mean, case.expected_unit())
    } else {
        Answer::Difference(summary.uncertainty_of_mean(), case.expected_unit())
    }
}

fn type_b(case: &Case) -> Answer {
    let half = || difference(case, "half_width");
    let distribution = match case.input("distribution") {
        "rectangular" => Distribution::rectangular(-half(), half()),
        "triangular" => Distribution::triangular(-half(), half()),
        "arcsine" => Distribution::arc_sine(-half(), half()),
        "normal" => Distribution::normal_expanded(0.0, case.value("U"), case.value("k")),
        other => panic!("{}: distribution `{other}`", case.id),
    };
    let uncertainty = distribution.unwrap().standard_uncertainty();
    Answer::Difference(uncertainty, case.expected_unit())
}

fn report(case: &Case) -> Answer {
    let ((value, unit), (uncertainty, other_unit)) = (case.quantity("value"), case.quantity("u"));
    assert_eq!(unit, other_unit);
    let digits = case.input("digits_of_u").parse().unwrap();
    let written = concise(value.to_f64(), uncertainty.to_f64(), digits).unwrap();
    Answer::Text(format!("{written} {}", unit.symbol().replace('Ω', "ohm")))
}

fn with_freedom(uncertain: Uncertain, degrees_of_freedom: f64) -> Uncertain {
    Uncertain {
        degrees_of_freedom,
        ..uncertain
    }
}

/// Calibration of an end gauge (JCGM 100:2008, H.1).
fn gauge_block(case: &Case) -> Option<Answer> {
    let freedom = |name: &str| case.value(&format!("nu({name})"));
    let part = |name: &str| {
        let uncertain = Uncertain::new(0.0, case.value(&format!("u({name})")));
        with_freedom(uncertain, freedom(name))
    };
    let none = Correlations::none();
    let parts = ["d_mean", "d_random", "d_systematic"].map(part);
    let comparison = combine(&formula("mean + random + systematic"), &parts, &none).unwrap();
    let rectangular = |estimate: f64, half: f64| {
        let distribution = Distribution::rectangular(-half, half).unwrap();
        Uncertain::new(estimate, distribution.standard_uncertainty())
    };
    let cyclic = difference(case, "a(theta_cyclic)");
    let cyclic = Distribution::arc_sine(-cyclic, cyclic).unwrap();
    let theta = difference(case, "u(theta_mean)").hypot(cyclic.standard_uncertainty());
    // l = l_s + d - l_s (δα θ + α_s δθ), with inputs in the order of first use.
    let model = formula("l_s + distance - l_s * (dalpha * theta + alpha_s * dtheta)");
    let (d_alpha, d_theta) = (case.value("a(d_alpha)"), difference(case, "a(d_theta)"));
    let inputs = [
        Uncertain {
            estimate: case.value("l_s"),
            ..part("l_s")
        },
        with_freedom(
            Uncertain::new(case.value("d"), comparison.uncertainty),
            comparison.degrees_of_freedom.unwrap(),
        ),
        with_freedom(rectangular(0.0, d_alpha), freedom("d_alpha")),
        Uncertain::new(difference(case, "theta_mean"), theta),
        rectangular(case.value("alpha_s"), case.value("a(alpha_s)")),
        with_freedom(rectangular(0.0, d_theta), freedom("d_theta")),
    ];
    let result = combine(&model, &inputs, &none).unwrap();
    let contribution = |at: usize| result.contributions[at].uncertainty.abs();
    match case.result.as_str() {
        "l" => of_case(case, result.estimate),
        "u_c(l)" => of_case(case, result.uncertainty),
        "contribution of d_alpha" => of_case(case, contribution(2)),
        "contribution of d_theta" => of_case(case, contribution(5)),
        "nu_eff(d)" => plain(comparison.degrees_of_freedom.unwrap()),
        "nu_eff(l)" => plain(result.degrees_of_freedom.unwrap()),
        "t_99" => plain(result.coverage_factor(0.99)),
        "U_99" => of_case(case, result.expanded(0.99)),
        "second-order term from alpha_s d_theta" => {
            let bent = combine_second_order(&model, &inputs).unwrap();
            let pair = bent.second_order.iter().find(|pair| pair.inputs == (4, 5));
            of_case(case, pair.unwrap().variance.sqrt())
        }
        _ => None,
    }
}

/// Names the three observed quantities in their order before a model uses them
/// in its own.
fn model_of_three(model: &str) -> Formula {
    formula(&format!("0 * (voltage + current + phase) + {model}"))
}

fn resistance_reactance_impedance() -> [Formula; 3] {
    [
        "voltage * cos(phase) / current",
        "voltage * sin(phase) / current",
        "voltage / current",
    ]
    .map(model_of_three)
}

/// Resistance, reactance and impedance, from the means of what was observed
/// and their correlations (JCGM 100:2008, H.2).
fn impedance(case: &Case) -> Option<Answer> {
    let observed = ["V", "I", "phi"].map(|name| case.values(name));
    let inputs = observed
        .each_ref()
        .map(|values| Uncertain::of_observations(&Summary::of(values).unwrap()));
    let pair = |i: usize, j: usize| correlation(&observed[i], &observed[j]).unwrap();
    let mut correlations = Correlations::none();
    match case.optional("correlations") {
        Some(text) => assert_eq!(text, "set to zero (wrongly)"),
        None => {
            for (i, j) in [(0, 1), (0, 2), (1, 2)] {
                correlations.set(i, j, pair(i, j)).unwrap();
            }
        }
    }
    let combined = |model: &Formula| combine(model, &inputs, &correlations).unwrap();
    let results: [Combined; 3] = resistance_reactance_impedance().each_ref().map(combined);
    let between = |i: usize, j: usize| plain(results[i].correlation(&results[j], &correlations));
    match case.result.as_str() {
        "r(V,I)" => plain(pair(0, 1)),
        "r(I,phi)" => plain(pair(1, 2)),
        "R" => of_case(case, results[0].estimate),
        "X" => of_case(case, results[1].estimate),
        "Z" => of_case(case, results[2].estimate),
        "u(R)" => of_case(case, results[0].uncertainty),
        "u(X)" => of_case(case, results[1].uncertainty),
        "u(Z)" => of_case(case, results[2].uncertainty),
        "r(R,X)" => between(0, 1),
        "r(R,Z)" => between(0, 2),
        "r(X,Z)" => between(1, 2),
        _ => None,
    }
}

/// The same computed for each set of observations; and what was observed.
fn impedance_by_sets(case: &Case) -> Option<Answer> {
    let observed = ["V", "I", "phi"].map(|name| case.values(name));
    let of = |values: &[f64]| Summary::of(values).unwrap();
    let by_sets = |model: usize| {
        let model = &resistance_reactance_impedance()[model];
        let set = |k: usize| observed.each_ref().map(|values| values[k]);
        let values: Vec<f64> = (0..5).map(|k| model.evaluate(&set(k)).unwrap()).collect();
        of(&values)
    };
    match case.result.as_str() {
        "u(V)" => of_case(case, of(&observed[0]).uncertainty_of_mean()),
        "u(I)" => of_case(case, of(&observed[1]).uncertainty_of_mean()),
        "R" => of_case(case, by_sets(0).mean),
        "X" => of_case(case, by_sets(1).mean),
        "Z" => of_case(case, by_sets(2).mean),
        "u(R)" => of_case(case, by_sets(0).uncertainty_of_mean()),
        _ => None,
    }
}
