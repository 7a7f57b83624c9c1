//! Topic 2, tolerances: dividers, sums and products of toleranced parts.

use ohmbook::quantity::Unit;
use ohmbook::spread::{
    Correlations, CoverageRule, Distribution, Input, Interval, TwoInputs, Uncertain, Variable,
    combine, shares, worst_case,
};

use crate::case::{Answer, Case};
use crate::uncertainty::{formula, interval_of_case, of_case, plain};

pub fn judge(case: &Case) -> Option<Answer> {
    match case.formula.as_str() {
        "interval.naive" => naive(case),
        "tol.supply" => supply(case),
        "tol.sum" => sum_of_parts(case),
        "tol.product" => product(case),
        _ => divider(case),
    }
}

/// The lower resistor stands twice, and first.
const DIVIDER: &str = "R2 / (R1 + R2)";

fn toleranced(nominal: f64, tolerance: f64) -> Input {
    Input {
        nominal,
        low: nominal * (1.0 - tolerance),
        high: nominal * (1.0 + tolerance),
    }
}

fn resistors(case: &Case) -> [Input; 2] {
    [("R2", "t2"), ("R1", "t1")]
        .map(|(part, tolerance)| toleranced(case.value(part), case.value(tolerance)))
}

pub fn rectangular_resistors(case: &Case) -> [Variable; 2] {
    let mut key = 0;
    resistors(case).map(|input| {
        key += 1;
        Variable::new(
            key,
            Distribution::rectangular(input.low, input.high).unwrap(),
        )
    })
}

fn percent(ratio: f64) -> Option<Answer> {
    Some(Answer::Value(ratio, Unit::parse("%").unwrap()))
}

fn divider(case: &Case) -> Option<Answer> {
    let model = formula(DIVIDER);
    let inputs = resistors(case);
    let nominal: f64 = model.evaluate(&inputs.map(|input| input.nominal)).unwrap();
    let none = Correlations::none();
    match case.formula.as_str() {
        "div.nominal" => plain(nominal),
        "div.worst" => {
            let worst = worst_case(&model, &inputs).unwrap();
            match case.result.as_str() {
                "k_max" => plain(worst.high.value),
                "k_min" => plain(worst.low.value),
                "(k_max-k)/k" => percent((worst.high.value - nominal) / nominal),
                "(k_min-k)/k" => percent((worst.low.value - nominal) / nominal),
                _ => None,
            }
        }
        "div.worst.linear" => {
            let reaches = shares(&model, &inputs).unwrap();
            percent(reaches.iter().map(|share| share.reach).sum::<f64>() / nominal)
        }
        "div.rss" => {
            let tolerances = inputs.map(|input| Uncertain::of_limits(&input, 1.0));
            percent(combine(&model, &tolerances, &none).unwrap().uncertainty / nominal)
        }
        "div.stdunc" => {
            let variables = rectangular_resistors(case);
            let inputs = variables.map(|part| Uncertain::of_distribution(&part.distribution));
            plain(combine(&model, &inputs, &none).unwrap().uncertainty)
        }
        "div.mc95" => {
            let variables = rectangular_resistors(case);
            let exact = TwoInputs::new(&model, &variables).unwrap();
            interval_of_case(case, exact.interval(0.95, CoverageRule::Symmetric))
        }
        _ => None,
    }
}

/// What the intervals of both resistors alone say, each as often as it stands.
fn naive(case: &Case) -> Option<Answer> {
    let limits = resistors(case).map(|input| Interval::new(input.low, input.high));
    interval_of_case(case, formula(DIVIDER).evaluate(&limits).unwrap())
}

fn supply(case: &Case) -> Option<Answer> {
    let inputs = [("Vin", "tVin"), ("R2", "tR"), ("R1", "tR")]
        .map(|(part, tolerance)| toleranced(case.value(part), case.value(tolerance)));
    let worst = worst_case(&formula("supply * R2 / (R1 + R2)"), &inputs).unwrap();
    match case.result.as_str() {
        "V_max" => of_case(case, worst.high.value),
        "V_min" => of_case(case, worst.low.value),
        _ => None,
    }
}

fn sum_of_parts(case: &Case) -> Option<Answer> {
    let (parts, tolerances) = (case.values("R"), case.values("t"));
    let pairs = parts.iter().zip(&tolerances);
    let inputs: Vec<Input> = pairs.map(|(part, t)| toleranced(*part, *t)).collect();
    let names: Vec<String> = (1..=parts.len())
        .map(|number| format!("R{number}"))
        .collect();
    let model = formula(&names.join(" + "));
    match case.result.as_str() {
        "worst-case half-width" => {
            let worst = worst_case(&model, &inputs).unwrap();
            of_case(case, 0.5 * (worst.high.value - worst.low.value))
        }
        "RSS half-width" => {
            let tolerances: Vec<Uncertain> = inputs
                .iter()
                .map(|input| Uncertain::of_limits(input, 1.0))
                .collect();
            let combined = combine(&model, &tolerances, &Correlations::none()).unwrap();
            of_case(case, combined.uncertainty)
        }
        _ => None,
    }
}

fn product(case: &Case) -> Option<Answer> {
    let model = match case.input("expression") {
        "power V^2/R" => "x^2 / y",
        "LC frequency (L C)^-0.5" => "(x * y)^-0.5",
        other => panic!("{}: expression `{other}`", case.id),
    };
    let inputs = [("x", "ux"), ("y", "uy")].map(|(value, relative)| {
        let value = case.value(value);
        Uncertain::new(value, value * case.value(relative))
    });
    let combined = combine(&formula(model), &inputs, &Correlations::none()).unwrap();
    percent(combined.uncertainty / combined.estimate)
}
