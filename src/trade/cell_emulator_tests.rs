//! Cell emulators by hand and by common practice.

#![allow(
    clippy::unwrap_used,
    reason = "a test that panics is a test that fails"
)]

use super::How;
use super::cell_emulator::{KIND, region};
use super::check::{Given, near};
use crate::formula::Smooth;
use crate::quantity::Outcome;

const USUAL: [(&str, f64); 6] = [
    ("zener_voltage", 3.6),
    ("test_current", 5e-3),
    ("dynamic_resistance", 2.0),
    ("shunt", 5.0),
    ("charge_voltage", 4.2),
    ("precharge_threshold", 3.0),
];

fn emulator(more: &[(&str, f64)], settings: &[(&str, f64)]) -> Given {
    let mut quantities = USUAL.to_vec();
    quantities.retain(|(name, _)| more.iter().all(|(other, _)| other != name));
    quantities.extend(more);
    Given::quantities(&quantities).by_name("setting", settings)
}

/// Truth: common practice, no source: 3.6 V zener, 50 mA through 5 Ω: 0.25 V,
/// some 310 counts of a 12-bit converter on 3.3 V. The voltages by hand, from
/// the straight line of the zener: 3.6 V + 45 mA × 2 Ω + 0.25 V.
#[test]
fn fifty_milliampere_through_five_ohm() {
    let converter = [("resolution", 12.0), ("reference", 3.3)];
    let given = emulator(&converter, &[("slow", 50e-3)]);
    let found = given.work(&KIND);
    near(found["setting.slow.sense"], 0.25, 1e-9);
    assert_eq!(found["setting.slow.counts"].round(), 310.0);
    near(found["setting.slow.cell_voltage"], 3.94, 1e-9);
    near(found["setting.slow.end_margin"], 0.26, 1e-9);
    near(found["setting.slow.precharge_margin"], 0.94, 1e-9);
    near(found["setting.slow.shunt_power"], 12.5e-3, 1e-9);
    near(found["setting.slow.zener_power"], 3.69 * 50e-3, 1e-9);
    near(found["current_step"], 3.3 / 4096.0 / 5.0, 1e-12);
    given.hangs_together(&KIND);
}

/// Truth: 0.5 A at 3.7 V is 1.85 W, and 0.1 Ω at 0.5 A is 50 mV, 62 counts
/// of 0.806 mV (arithmetic): an ideal zener of 3.65 V over 0.1 Ω.
#[test]
fn half_an_ampere_through_a_tenth_of_an_ohm() {
    let parts = [
        ("zener_voltage", 3.65),
        ("test_current", 0.0),
        ("dynamic_resistance", 1e-6),
        ("shunt", 0.1),
        ("resolution", 12.0),
        ("reference", 3.3),
        ("zener_rating", 5.0),
        ("shunt_rating", 0.25),
        ("duty", 0.5),
    ];
    let given = emulator(&parts, &[("slow", 0.1), ("fast", 0.5)]);
    let found = given.work(&KIND);
    let together = found["setting.fast.zener_power"] + found["setting.fast.shunt_power"];
    near(together, 1.85, 1e-6);
    assert_eq!(found["setting.fast.counts"].round(), 62.0);
    near(found["zener_load"], 0.5 * 3.65 * 0.5 / 5.0, 1e-6);
    near(found["shunt_load"], 0.5 * 0.025 / 0.25, 1e-9);
    near(found["shunt_power"], 0.025, 1e-9);
    given.hangs_together(&KIND);
}

/// Truth: by hand. At 0.2 A the emulator wants 3.6 V + 195 mA × 2 Ω + 1 V =
/// 4.99 V; the charger holds 4.2 V, so (4.2 V - 3.59 V) / 7 Ω flow.
#[test]
fn a_charger_that_holds_its_voltage() {
    let found = emulator(&[], &[("fast", 0.2)]).work(&KIND);
    near(found["setting.fast.set_voltage"], 4.99, 1e-9);
    near(found["setting.fast.end_margin"], -0.79, 1e-9);
    near(found["setting.fast.cell_voltage"], 4.2, 1e-12);
    near(found["setting.fast.current"], 0.61 / 7.0, 1e-9);
}

/// Truth: by hand. A tenth of 50 mA is the test current: 3.6 V and 25 mV;
/// a converter of 5 Ω halves the shunt.
#[test]
fn precharge_current_and_converter_resistance() {
    let more = [("precharge_ratio", 0.1), ("converter_resistance", 5.0)];
    let given = emulator(&more, &[("slow", 50e-3)]);
    let found = given.work(&KIND);
    near(found["setting.slow.precharge_voltage"], 3.6 + 0.0125, 1e-9);
    near(found["setting.slow.sense"], 0.125, 1e-9);
    given.hangs_together(&KIND);
}

#[test]
fn an_emulator_that_never_conducts_is_told() {
    let given = emulator(&[("zener_voltage", 5.1)], &[("slow", 50e-3)]);
    let plan = given.plan(&KIND);
    let known = given.work(&KIND);
    let How::Procedure {
        operands,
        procedure,
        ..
    } = &plan.results[1].how
    else {
        panic!("the voltage is read off a network");
    };
    let fault = procedure
        .run(&operands.iter().map(|name| known[name]).collect::<Vec<_>>())
        .unwrap_err();
    assert!(fault.message.contains("never conducts"), "{fault:?}");
}

#[test]
fn values_that_no_part_has_come_to_nothing() {
    for (name, value) in [
        ("shunt", 0.0),
        ("shunt", -5.0),
        ("dynamic_resistance", 0.0),
        ("zener_voltage", -3.6),
        ("test_current", f64::NAN),
        ("charge_voltage", f64::NAN),
    ] {
        let found = emulator(&[(name, value)], &[("slow", 50e-3)]).work(&KIND);
        assert!(!found.contains_key("setting.slow.sense"), "{name} {value}");
    }
    let none = emulator(&[], &[("slow", 0.0)]).work(&KIND);
    assert!(!none.contains_key("setting.slow.sense"));
    assert_eq!(emulator(&[], &[]).refusals(&KIND)[0].input, "setting");
}

#[test]
fn words_for_the_region() {
    let outcome = |low, high| Outcome {
        nominal: 0.5 * (low + high),
        low,
        high,
    };
    let sure = outcome(0.1, 0.2);
    let unsure = outcome(-0.1, 0.2);
    let never = outcome(-0.2, -0.1);
    assert_eq!(region(&[sure, sure]), "constant current");
    assert!(region(&[unsure, sure]).contains("may stay in precharge"));
    assert!(region(&[never, sure]).contains("stays in precharge"));
    assert!(region(&[sure, unsure]).contains("may hold"));
    assert!(region(&[sure, never]).contains("holds its voltage"));
}

#[test]
#[ignore = "a measurement"]
#[allow(clippy::print_stdout, reason = "it is what is measured")]
fn time_of_one_evaluation() {
    let given = emulator(&[], &[("slow", 50e-3)]);
    let known = given.work(&KIND);
    for result in &given.plan(&KIND).results {
        if let How::Procedure {
            operands,
            procedure,
            ..
        } = &result.how
        {
            let values: Vec<f64> = operands.iter().map(|name| known[name]).collect();
            let start = std::time::Instant::now();
            for _ in 0..10_000 {
                std::hint::black_box(procedure.run(std::hint::black_box(&values)).unwrap());
            }
            println!("{}: {:?} for one", result.name, start.elapsed() / 10_000);
        }
    }
}

/// Room that is used again remembers nothing: whatever was asked before, also
/// what has no value, an answer is that of a procedure started anew.
#[test]
fn an_emulator_used_again_answers_as_a_new_one() {
    let plan = emulator(&[], &[("slow", 50e-3)]).plan(&KIND);
    let How::Procedure { procedure, .. } = &plan.results[1].how else {
        panic!("the voltage is read off a network");
    };
    let mut ask = procedure.asker();
    // Current, the voltage held, then the parts.
    let asked = [
        [0.05, 4.2, 3.6, 0.005, 1.0, 5.0],
        [0.5, 4.2, 3.6, 0.005, 10.0, 5.0],
        [0.05, 4.2, 3.6, 0.005, 0.0, 5.0],
        [0.05, 4.2, 3.6, 0.005, 1.0, 5.0],
        [0.5, 4.2, 5.1, 0.005, 10.0, 5.0],
        [0.1, 4.2, 3.5, 0.005, 8.0, 4.9],
    ];
    let answers: Vec<Option<f64>> = asked.iter().map(|of| ask(of)).collect();
    for (of, answer) in asked.iter().zip(&answers) {
        assert_eq!(*answer, procedure.run(of).ok(), "{of:?}");
    }
    assert_eq!(answers[0], answers[3]);
    assert!(answers[2].is_none() && answers[4].is_none() && answers[5].is_some());
}
