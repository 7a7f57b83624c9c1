//! Topic 3: statistics of measured data, against the certified values of NIST,
//! printed worked examples and independent computations.

use ohmbook::quantity::Unit;
use ohmbook::spread::Interval;
use ohmbook::spread::statistics::{
    Anova, Capability, GaugeReport, GaugeStudy, Reading, Summary, c4, control_limits, d2,
};

use crate::case::{Answer, Case, run};

#[test]
fn every_case_of_statistics_agrees() {
    let file = include_str!("03_statistics.toml");
    assert_eq!(file.matches("\n[[case]]\n").count(), 92);
    run(file, &[], judge);
}

fn judge(case: &Case) -> Option<Answer> {
    let formula = case.formula.as_str();
    Some(match formula {
        "stat.mean" => number(summary(case).mean),
        "stat.sd" => number(summary(case).deviation),
        "stat.r1" => number(summary(case).lag_one),
        "cap.cp" => number(capability(case).cp().unwrap()),
        "cap.cpk" => number(capability(case).cpk()),
        "cap.cpu" => number(capability(case).cpu().unwrap()),
        "cap.cpl" => number(capability(case).cpl().unwrap()),
        "cap.cpm" => {
            assert_eq!(case.result, "Cpm, target = centre");
            number(capability(case).cpm(None).unwrap())
        }
        "cap.ppm" => {
            assert_eq!(case.result, "rejects in 1e-6");
            number(1e6 * capability(case).share_outside())
        }
        "cap.cpci" => {
            // Only Cp and n are given: any process of this Cp will do.
            let half = 3.0 * case.value("Cp");
            let process = Capability::new(0.0, 1.0, Some(-half), Some(half)).unwrap();
            let limits = process.cp_interval(count(case), case.value("confidence"));
            interval(limits.unwrap())
        }
        "spc.c4" => number(c4(count(case))),
        "spc.d2" => number(d2(count(case))),
        "spc.xbar" => {
            let limits = control_limits(count(case), case.value("mean"), case.value("Rbar"));
            interval(limits.unwrap().mean)
        }
        "ci.mean" => {
            let summary = Summary::of(&case.values("x")).unwrap();
            interval(summary.mean_interval(case.value("confidence")).unwrap())
        }
        "grr.anova" => anova(case)?,
        "grr.range" => range_method(case)?,
        _ => return None,
    })
}

fn number(value: f64) -> Answer {
    Answer::Value(value, Unit::one())
}

fn percent(ratio: f64) -> Answer {
    Answer::Value(ratio, Unit::parse("%").unwrap())
}

fn interval(interval: Interval) -> Answer {
    Answer::Interval(interval.low(), interval.high(), Unit::one())
}

fn count(case: &Case) -> usize {
    case.input("n").parse().unwrap()
}

/// The data rows of a case's file: neither comments nor the header line.
fn rows(case: &Case) -> Vec<String> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/published/");
    let text = std::fs::read_to_string(format!("{folder}{}", case.input("data"))).unwrap();
    let rows = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    rows.map(str::to_owned).collect()
}

fn summary(case: &Case) -> Summary {
    let values: Vec<f64> = rows(case).iter().map(|row| row.parse().unwrap()).collect();
    Summary::of(&values).unwrap()
}

fn capability(case: &Case) -> Capability {
    let limit = |name| Some(case.value(name));
    let (mean, deviation) = (case.value("mean"), case.value("s"));
    Capability::new(mean, deviation, limit("LSL"), limit("USL")).unwrap()
}

fn study(case: &Case) -> GaugeStudy {
    let rows = rows(case);
    let readings: Vec<Reading> = rows
        .iter()
        .map(|row| {
            let columns: Vec<&str> = row.split(',').collect();
            let [part, operator, _trial, value] = columns[..] else {
                panic!("{row} has no four columns");
            };
            Reading {
                part,
                operator,
                value: value.parse().unwrap(),
            }
        })
        .collect();
    GaugeStudy::new(&readings).unwrap()
}

/// The level at which the source keeps the interaction in the model.
const SIGNIFICANCE: f64 = 0.05;

fn anova(case: &Case) -> Option<Answer> {
    let anova: Anova = study(case).anova();
    let report = anova.report(SIGNIFICANCE);
    let [_, operator_square, interaction_square, error_square] = anova.mean_squares();
    let [parts, operators, ..] = anova.variances();
    let [pooled_parts, .., pooled_error] = anova.pooled_variances();
    Some(number(match case.result.as_str() {
        "SS interaction" => anova.interaction_squares,
        "SS equipment" => anova.error_squares,
        "F interaction" => anova.interaction_test().0,
        "MS operator" => operator_square,
        "MS interaction" => interaction_square,
        "MS error" => error_square,
        "sigma_p^2 (with interaction)" => parts,
        "sigma_o^2 (with interaction)" => operators,
        "sigma_e^2 (reduced model)" => pooled_error,
        "sigma_p^2 (reduced model)" => pooled_parts,
        "% contribution AV" => {
            return Some(percent(report.share_of_variance(report.reproducibility)));
        }
        "% contribution GRR" => return Some(percent(report.share_of_variance(report.gauge()))),
        "% study variation GRR" => {
            return Some(percent(report.share_of_deviation(report.gauge())));
        }
        other => return of_report(&report, other),
    }))
}

fn range_method(case: &Case) -> Option<Answer> {
    let method = study(case).range_method();
    let report = method.report;
    Some(number(match case.result.as_str() {
        "Rbar" => method.average_range,
        "Xdiff" => method.operator_difference,
        "Rp" => method.part_range,
        "% EV" => return Some(percent(report.share_of_deviation(report.repeatability))),
        "% AV" => return Some(percent(report.share_of_deviation(report.reproducibility))),
        other => return of_report(&report, other),
    }))
}

fn of_report(report: &GaugeReport, result: &str) -> Option<Answer> {
    Some(number(match result {
        "EV" => report.repeatability,
        "AV" => report.reproducibility,
        "GRR" => report.gauge(),
        "PV" => report.parts,
        "TV" => report.total(),
        "ndc" => report.distinct_categories(),
        _ => return None,
    }))
}

#[test]
fn the_probability_of_the_interaction_is_the_printed_one() {
    // AIAG Measurement Systems Analysis prints p = 0.9741 beside F = 0.434
    // (note of case 03-aiag-anova-F-interaction).
    let file = include_str!("data/gauge_aiag_msa4.csv");
    let mut readings = Vec::new();
    for row in file.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let columns: Vec<&str> = row.split(',').collect();
        readings.push(Reading {
            part: columns[0],
            operator: columns[1],
            value: columns[3].parse().unwrap(),
        });
    }
    let study = GaugeStudy::new(&readings).unwrap();
    let (_, probability) = study.anova().interaction_test();
    assert!((probability - 0.9741).abs() < 0.00005, "{probability}");
}
