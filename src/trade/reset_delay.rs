//! Delay of a reset by a resistor and a capacitor.
//!
//! The capacitor charges through the resistor from a supply that rises in a
//! straight line, or at once; the reset ends when it reaches a threshold.

use super::kind::{Input, Inputs, Kind, Refusal, input, optional};
use super::plan::{Holding, Plan, Planned, Procedure, Unworkable};
use super::verdict::{Verdict, answer, time};
use crate::quantity::{Dimension, Outcome};

/// The kind.
#[derive(Debug)]
pub(super) struct ResetDelay;

pub(super) static KIND: ResetDelay = ResetDelay;

const INPUTS: &[Input] = &[
    input("supply", "Supply at its end", Dimension::VOLTAGE).above_zero(),
    input("resistor", "Resistor to the supply", Dimension::RESISTANCE).above_zero(),
    input("capacitance", "Capacitor to ground", Dimension::CAPACITANCE).above_zero(),
    input(
        "threshold",
        "Voltage at which the reset ends",
        Dimension::VOLTAGE,
    )
    .above_zero(),
    optional(
        "rise_time",
        "Time in which the supply rises, from zero to its end",
        Dimension::TIME,
    )
    .above_zero(),
    optional(
        "needed",
        "Time that the reset has to last after the supply is up",
        Dimension::TIME,
    )
    .not_negative(),
    optional(
        "leakage",
        "Current that the reset input takes from the capacitor",
        Dimension::CURRENT,
    ),
    optional(
        "empty",
        "Voltage of the capacitor below which the next reset works",
        Dimension::VOLTAGE,
    )
    .above_zero(),
];

const VERDICTS: &[Verdict] = &[Verdict {
    asks: "Does the reset last as long as it has to?",
    of: &["after_supply", "needed"],
    answer: lasts,
}];

impl Kind for ResetDelay {
    fn name(&self) -> &'static str {
        "reset-delay"
    }

    fn title(&self) -> &'static str {
        "Reset delay"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let end = if given.has("leakage") {
            "supply - leakage * resistor"
        } else {
            "supply"
        };
        let mut results = vec![
            Planned::formula(
                "time_constant",
                "Time constant",
                "resistor * capacitance",
                "textbook",
            ),
            Planned::formula(
                "end_voltage",
                "Voltage that the capacitor ends at",
                end,
                "textbook: Kirchhoff's voltage law",
            ),
        ];
        let names = |names: &[&str]| names.iter().map(|&name| name.to_owned()).collect();
        if given.has("rise_time") {
            results.push(Planned::procedure(
                "delay",
                "Time from the supply's first rising to the end of the reset",
                Dimension::TIME,
                names(&["end_voltage", "threshold", "time_constant", "rise_time"]),
                Procedure::new(|of| match *of {
                    [end, threshold, constant, rise] => ramped(end, threshold, constant, rise),
                    _ => Err(never()),
                }),
                "textbook: the response of a first-order low-pass to a ramp",
            ));
            results.push(Planned::formula(
                "after_supply",
                "Time from the supply's being up to the end of the reset",
                "delay - rise_time",
                "arithmetic",
            ));
        } else {
            results.push(Planned::procedure(
                "delay",
                "Time from the supply's rising, at once, to the end of the reset",
                Dimension::TIME,
                names(&["end_voltage", "threshold", "time_constant"]),
                Procedure::new(|of| match *of {
                    [end, threshold, constant] => stepped(end, threshold, constant),
                    _ => Err(never()),
                }),
                "textbook: the capacitor charges as 1 - exp(-t/τ)",
            ));
            results.push(Planned::formula(
                "after_supply",
                "Time from the supply's being up to the end of the reset",
                "delay",
                "arithmetic",
            ));
        }
        if given.has("empty") {
            results.push(Planned::formula(
                "off_time",
                "Time off that empties the capacitor, through the resistor alone",
                "time_constant * ln(supply / empty)",
                "textbook: the capacitor discharges as exp(-t/τ)",
            ));
        }
        let holds = given.has("needed").then(|| {
            Holding::new(
                "after_supply >= needed",
                "The reset lasts as long as it has to after the supply is up",
            )
        });
        let mut plan = Plan {
            results,
            holds: holds.into_iter().collect(),
            notes: vec![
                "A supply that rises more slowly than stated, or dips for less than the time off, \
                 gives a shorter reset or none: a supervisor circuit does not have this fault."
                    .to_owned(),
            ],
            ..Plan::default()
        };
        answer(&mut plan, INPUTS, given, VERDICTS);
        Ok(plan)
    }
}

fn never() -> Unworkable {
    Unworkable::new(
        "is endless: the capacitor does not reach the threshold",
        "lower the threshold, the resistor or the leakage",
    )
}

/// Time to the threshold when the supply is there at once.
fn stepped(end: f64, threshold: f64, constant: f64) -> Result<f64, Unworkable> {
    if end > threshold {
        Ok(constant * (end / (end - threshold)).ln())
    } else {
        Err(never())
    }
}

/// Time to the threshold when the supply rises in a straight line.
fn ramped(end: f64, threshold: f64, constant: f64, rise: f64) -> Result<f64, Unworkable> {
    if !(end > threshold && constant > 0.0 && rise > 0.0) {
        return Err(never());
    }
    // While the supply rises: v(t) = end / rise × (t - τ (1 - exp(-t/τ))).
    let at = |t: f64| end / rise * (t + constant * (-t / constant).exp_m1());
    let at_top = at(rise);
    if at_top < threshold {
        // From there on it is the usual charging.
        let rest = constant * ((end - at_top) / (end - threshold)).ln();
        return Ok(rise + rest);
    }
    // The voltage only rises, so halving finds the time; a float has no more
    // than 64 bits to find.
    let (mut low, mut high) = (0.0, rise);
    for _ in 0..64 {
        let middle = f64::midpoint(low, high);
        if at(middle) < threshold {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

fn lasts(of: &[Outcome]) -> String {
    let [found, needed] = of else {
        return String::new();
    };
    let (least, wanted) = (time(found.low), time(needed.high));
    if found.low <= 0.0 && found.low < needed.high {
        format!(
            "no: it may end before the supply is up, by {}",
            time(-found.low)
        )
    } else if found.low >= needed.high {
        format!("yes: at least {least}, and {wanted} are needed")
    } else {
        format!("not always: {least} may be all, and {wanted} are needed")
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    const BASE: [(&str, f64); 4] = [
        ("supply", 3.3),
        ("resistor", 10e3),
        ("capacitance", 100e-9),
        ("threshold", 2.31),
    ];

    fn with(more: &[(&str, f64)]) -> Given {
        Given::quantities(&[&BASE, more].concat())
    }

    /// Truth: charging of a capacitor (textbook), computed with a
    /// general-purpose library: 10 kΩ and 100 nF take 1.203972804 ms from 0 V
    /// to 2.31 V of 3.3 V; 100 kΩ and 1 µF take 69.31471806 ms to half the
    /// supply.
    #[test]
    fn a_supply_that_is_there_at_once() {
        near(with(&[]).result(&KIND, "delay"), 1.203_972_804e-3, 1e-9);
        let inputs = [
            ("supply", 5.0),
            ("resistor", 100e3),
            ("capacitance", 1e-6),
            ("threshold", 2.5),
        ];
        let found = Given::quantities(&inputs).result(&KIND, "delay");
        near(found, 69.314_718_06e-3, 1e-9);
    }

    /// Truth: the differential equation integrated by a general-purpose solver,
    /// with its script: tests/published/scripts/reset_delay.py.
    #[test]
    fn a_supply_that_rises() {
        // Threshold reached after the supply is up, and while it rises.
        near(
            with(&[("rise_time", 1e-3)]).result(&KIND, "delay"),
            1.745_297_659e-3,
            1e-8,
        );
        near(
            with(&[("rise_time", 10e-3)]).result(&KIND, "delay"),
            7.999_664_425e-3,
            1e-8,
        );
    }

    /// Truth: a slow ramp is followed at a distance of one time constant, so the
    /// threshold is reached at threshold / slope + τ (textbook).
    #[test]
    fn a_slow_supply_is_followed_at_one_time_constant() {
        let found = with(&[("rise_time", 1.0)]).work(&KIND);
        near(found["delay"], 0.7 + 1e-3, 1e-9);
        assert!(found["after_supply"] < 0.0);
    }

    /// Truth: leakage through the resistor lowers the end voltage by Ohm's law:
    /// 10 µA in 10 kΩ is 0.1 V; τ ln(3.2 / 0.89).
    #[test]
    fn leakage_delays() {
        let found = with(&[("leakage", 10e-6)]).result(&KIND, "delay");
        near(found, 1e-3 * (3.2f64 / 0.89).ln(), 1e-12);
    }

    #[test]
    fn what_never_reaches_its_threshold_says_so() {
        assert!(stepped(3.3, 3.3, 1e-3).is_err());
        assert!(ramped(2.0, 2.31, 1e-3, 1e-3).is_err());
        assert!(ramped(3.3, 2.31, 1e-3, f64::NAN).is_err());
    }

    #[test]
    fn a_reset_that_ends_before_the_supply_is_told() {
        let outcome = |nominal, low, high| Outcome { nominal, low, high };
        let needed = Outcome::exact(1e-3);
        assert!(lasts(&[outcome(0.0, -2e-3, 2e-3), needed]).starts_with("no: it may end before"));
        assert!(lasts(&[outcome(2e-3, 0.9e-3, 3e-3), needed]).starts_with("not always: 900"));
        assert!(lasts(&[outcome(2e-3, 1.5e-3, 3e-3), needed]).starts_with("yes"));
    }

    #[test]
    fn formulas_hang_together() {
        with(&[]).hangs_together(&KIND);
        let all = [
            ("rise_time", 1e-3),
            ("needed", 1e-3),
            ("leakage", 1e-6),
            ("empty", 0.2),
        ];
        with(&all).hangs_together(&KIND);
    }
}
