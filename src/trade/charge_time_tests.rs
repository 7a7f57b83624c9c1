//! Charge time against closed forms and against a solver of differential
//! equations.

#![allow(
    clippy::unwrap_used,
    reason = "a test that panics is a test that fails"
)]

use super::charge_time::KIND;
use super::check::{Given, near};
use super::{How, Kind};

/// 1.2 Ah, 3 V to 4.2 V in one straight line, 0.2 Ω, 0.5 A to 4.2 V, ends at
/// 50 mA.
const LINEAR: [(&str, f64); 5] = [
    ("capacity", 4320.0),
    ("resistance", 0.2),
    ("charge_current", 0.5),
    ("charge_voltage", 4.2),
    ("termination_current", 0.05),
];

fn linear(more: &[(&str, f64)]) -> Given {
    let quantities: Vec<(&str, f64)> = [&LINEAR[..], more].concat();
    Given::quantities(&quantities).list("open_circuit_voltage", &[3.0, 4.2])
}

/// Truth: closed form for a linear open-circuit voltage U = 3 V + 1.2 V s.
/// Constant current ends where U + 0.1 V is 4.2 V, s = 11/12; then the current
/// decays with τ = R C / 1.2 V = 720 s, until a tenth is left.
#[test]
fn a_linear_cell_in_closed_form() {
    let found = linear(&[("supply", 5.0)]).work(&KIND);
    let current = 4320.0 * (11.0 / 12.0) / 0.5;
    let voltage = 720.0 * 10f64.ln();
    near(found["constant_current_time"], current, 1e-14);
    near(found["constant_voltage_time"], voltage, 1e-14);
    near(found["time"], current + voltage, 1e-14);
    near(found["time_to_target"], 0.8 * 4320.0 / 0.5, 1e-14);
    near(found["turning_point"], 11.0 / 12.0, 1e-14);
    // 4.2 V less 10 mV across the resistance.
    near(found["final_charge"], 1.19 / 1.2, 1e-14);
    // I² R t, and R times the integral of I² over the decay, I² τ / 2 at its
    // ends.
    let heat = 0.2 * (0.25 * current + 720.0 * (0.25 - 0.0025) / 2.0);
    near(found["cell_heat"], heat, 1e-13);
    // Charge times the mean voltage of a straight line.
    let (end, charge) = (1.19 / 1.2, 4320.0 * 1.19 / 1.2);
    near(found["stored_energy"], charge * (3.0 + 0.6 * end), 1e-14);
    near(found["energy"], found["stored_energy"] + heat, 1e-14);
    near(found["supply_energy"], 5.0 * charge, 1e-14);
    near(found["charger_heat"], 5.0 * charge - found["energy"], 1e-13);
    // At the start, 5 V less 3 V and 0.1 V, at 0.5 A.
    near(found["charger_power"], 1.9 * 0.5, 1e-14);
}

/// Truth: 07-cv-1 of topic 7, computed: 500 mA to 50 mA with τ = 20 min takes
/// 46.05170186 min; 07-cc-3: 200 mAh at 100 mA take 120 min, arithmetic.
#[test]
fn the_phases_of_topic_7() {
    let cell = |capacity: f64, current: f64, termination: f64, resistance: f64| {
        Given::quantities(&[
            ("capacity", capacity),
            ("resistance", resistance),
            ("charge_current", current),
            ("charge_voltage", 4.2),
            ("termination_current", termination),
        ])
        .list("open_circuit_voltage", &[3.2, 4.2])
    };
    // R C / 1 V is 20 min with 0.25 Ω and 4800 A s.
    let time = cell(4800.0, 0.5, 0.05, 0.25).result(&KIND, "constant_voltage_time");
    near(time, 46.051_701_86 * 60.0, 1e-9);
    // As good as no resistance: all of the charge at constant current.
    let time = cell(720.0, 0.1, 0.05, 1e-9).result(&KIND, "constant_current_time");
    near(time, 120.0 * 60.0, 1e-9);
}

/// Truth: scipy 1.17.1, `solve_ivp` with DOP853 at rtol 1e-12; script
/// `tests/published/scripts/charge_time.py`, "small cell".
#[test]
fn a_small_cell_with_precharge_by_a_solver() {
    let given = Given::quantities(&[
        ("capacity", 720.0),
        ("resistance", 0.25),
        ("charge_current", 0.1),
        ("charge_voltage", 4.2),
        ("termination_current", 0.01),
        ("precharge_current", 0.01),
        ("precharge_threshold", 3.1),
        ("supply", 5.0),
    ]);
    let table = [3.0, 3.45, 3.58, 3.65, 3.7, 3.75, 3.82, 3.92, 4.02, 4.1, 4.2];
    let found = given.list("open_circuit_voltage", &table).work(&KIND);
    near(found["precharge_time"], 1560.0, 1e-9);
    near(found["constant_current_time"], 6864.0, 1e-9);
    near(found["constant_voltage_time"], 414.465_316_7, 1e-9);
    near(found["time"], 8_838.465_317, 1e-9);
    near(found["time_to_target"], 7164.0, 1e-9);
    near(found["final_charge"], 0.9975, 1e-9);
    near(found["stored_energy"], 2_698.922_25, 1e-9);
    near(found["cell_heat"], 17.421_75, 1e-9);
    near(found["supply_energy"], 3591.0, 1e-9);
}

/// Truth: as above, "larger cell": it starts at 10 %, its table is uneven, and
/// it is charged a little beyond its end.
#[test]
fn a_larger_cell_by_a_solver() {
    let given = Given::quantities(&[
        ("capacity", 4320.0),
        ("resistance", 0.18),
        ("charge_current", 0.5),
        ("charge_voltage", 4.22),
        ("termination_current", 0.05),
        ("start", 0.1),
        ("supply", 6.0),
    ]);
    let states = [0.0, 0.05, 0.2, 0.5, 0.8, 0.95, 1.0];
    let given = given.list("state_of_charge", &states);
    let table = [3.0, 3.4, 3.6, 3.75, 4.0, 4.12, 4.2];
    let found = given.list("open_circuit_voltage", &table).work(&KIND);
    near(found["constant_current_time"], 7398.0, 1e-9);
    near(found["constant_voltage_time"], 1_119.056_355, 1e-9);
    near(found["time_to_target"], 6048.0, 1e-9);
    near(found["final_charge"], 1.006_875, 1e-9);
    near(found["stored_energy"], 14_965.543_35, 1e-9);
    near(found["cell_heat"], 343.735_65, 1e-9);
    near(found["supply_energy"], 23_506.2, 1e-9);
}

/// Truth: as above, "a flat table": the voltage of the cell stands still over
/// four fifths of its charge, and the held voltage is met before.
#[test]
fn a_flat_table_by_a_solver() {
    let given = Given::quantities(&[
        ("capacity", 2160.0),
        ("resistance", 0.5),
        ("charge_current", 0.7),
        ("charge_voltage", 3.6),
        ("termination_current", 0.03),
    ]);
    let given = given.list("state_of_charge", &[0.0, 0.1, 0.9, 1.0]);
    let table = [2.8, 3.3, 3.3, 3.6];
    let found = given.list("open_circuit_voltage", &table).work(&KIND);
    near(found["constant_current_time"], 277.714_285_7, 1e-9);
    near(found["constant_voltage_time"], 3_991.760_165, 1e-9);
    near(found["time_to_target"], 2_831.010_833, 1e-9);
    near(found["stored_energy"], 7067.601, 1e-9);
    near(found["cell_heat"], 625.779, 1e-9);
}

#[test]
fn the_plots_end_where_the_numbers_do() {
    let given = linear(&[]);
    let plan = given.plan(&KIND);
    let operands = [4320.0, 0.2, 0.5, 4.2, 0.05, 3.0, 4.2];
    let ends: Vec<(f64, f64)> = plan
        .plots
        .iter()
        .map(|plot| {
            let curves = plot.curves.trace(&operands).unwrap();
            let rising = curves[0].1.windows(2).all(|pair| pair[0].0 <= pair[1].0);
            assert!(rising, "{} goes back in time", plot.name);
            *curves[0].1.last().unwrap()
        })
        .collect();
    let hours = given.result(&KIND, "time") / 3600.0;
    for ((x, y), expected) in ends.into_iter().zip([0.05, 4.2, 100.0 * 1.19 / 1.2]) {
        near(x, hours, 1e-12);
        near(y, expected, 1e-12);
    }
}

/// What the first result that has no value says.
fn told(given: &Given) -> String {
    let plan = given.plan(&KIND);
    let results = plan.results.iter().filter_map(|result| match &result.how {
        How::Procedure {
            operands,
            procedure,
            ..
        } => {
            let values = given.values_of(operands);
            procedure.run(&values).err().map(|fault| fault.message)
        }
        How::Formula(_) => None,
    });
    results.into_iter().next().unwrap_or_default()
}

#[test]
fn what_cannot_be_charged_is_told() {
    let with = |name: &str, value: f64| {
        let mut quantities = LINEAR.to_vec();
        quantities.retain(|(known, _)| *known != name);
        quantities.push((name, value));
        told(&Given::quantities(&quantities).list("open_circuit_voltage", &[3.0, 4.2]))
    };
    for name in ["capacity", "resistance", "charge_current", "charge_voltage"] {
        for value in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let said = with(name, value);
            assert!(
                said.contains(&format!("needs `{name}` above zero")),
                "{said}"
            );
        }
    }
    assert!(with("termination_current", 0.0).contains("above zero"));
    assert!(with("termination_current", 0.5).contains("ends before it begins"));
    assert!(with("charge_voltage", 2.9).contains("nothing to charge"));
    assert!(with("start", 1.2).contains("the table goes from 0 to 1"));
    assert!(with("start", -0.1).contains("the table goes from 0 to 1"));
    assert!(with("start", 0.9999).contains("already below termination"));
    assert!(with("target", 0.999).contains("never reached"));
    let list =
        |table: &[f64]| told(&Given::quantities(&LINEAR).list("open_circuit_voltage", table));
    assert!(list(&[3.0, 3.0, 3.0]).contains("never ends"));
    assert!(list(&[3.0, 4.1, 4.1]).contains("never ends"));
    assert!(list(&[4.0, 3.0]).contains("never falls"));
    assert!(list(&[f64::INFINITY; 3]).contains("never falls"));
    assert!(list(&[f64::NAN; 3]).contains("never falls"));
}

#[test]
fn halves_of_pairs_are_refused() {
    let refused = linear(&[("precharge_current", 0.05)])
        .list("state_of_charge", &[0.0, 0.5, 1.0])
        .refusals(&KIND);
    let inputs: Vec<&str> = refused
        .iter()
        .map(|refusal| refusal.input.as_str())
        .collect();
    assert_eq!(inputs, ["state_of_charge", "precharge_current"]);
}

#[test]
fn results_hang_together() {
    let given = linear(&[
        ("precharge_current", 0.05),
        ("precharge_threshold", 2.9),
        ("start", 0.1),
        ("target", 0.8),
        ("supply", 5.0),
        ("safety_timer", 6.0 * 3600.0),
    ]);
    given
        .list("state_of_charge", &[0.0, 1.0])
        .hangs_together(&KIND);
    linear(&[]).hangs_together(&KIND);
    assert_eq!(KIND.name(), "charge-time");
}

/// A worst case asks thousands of times: 11 points take a few µs at most, and
/// some ten times that in a test build.
#[test]
#[ignore = "a measurement"]
#[allow(clippy::print_stdout, reason = "it is what is measured")]
fn time_of_one_evaluation() {
    let given = linear(&[]);
    let table: Vec<f64> = (0..=10).map(|at| 3.0 + 0.12 * f64::from(at)).collect();
    let given = given.list("open_circuit_voltage", &table);
    let plan = given.plan(&KIND);
    for result in &plan.results {
        if let How::Procedure {
            operands,
            procedure,
            ..
        } = &result.how
        {
            let values = given.values_of(operands);
            let start = std::time::Instant::now();
            for _ in 0..10_000 {
                std::hint::black_box(procedure.run(std::hint::black_box(&values)).unwrap());
            }
            println!("{}: {:?} for one", result.name, start.elapsed() / 10_000);
        }
    }
}
