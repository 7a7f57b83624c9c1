//! A resistor and a capacitor that outlast the bounce of a contact.
//!
//! The contact pulls its node to ground. A resistor pulls that node up, and
//! where there is a second resistor it stands between the node and the
//! capacitor at the logic input.

use super::kind::{Input, Inputs, Kind, Refusal, input, optional};
use super::plan::{Holding, Plan, Planned};
use super::verdict::{Verdict, answer, time};
use crate::quantity::{Dimension, Outcome};

/// The kind.
#[derive(Debug)]
pub(super) struct Debounce;

pub(super) static KIND: Debounce = Debounce;

const INPUTS: &[Input] = &[
    input("supply", "Voltage of the pull-up", Dimension::VOLTAGE).above_zero(),
    input("pull_up", "Pull-up resistor", Dimension::RESISTANCE).above_zero(),
    optional(
        "series",
        "Resistor between the contact and the capacitor",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    input(
        "capacitance",
        "Capacitor at the input",
        Dimension::CAPACITANCE,
    )
    .above_zero(),
    input(
        "rising_threshold",
        "Voltage at which the input turns high",
        Dimension::VOLTAGE,
    )
    .above_zero(),
    optional(
        "falling_threshold",
        "Voltage at which the input turns low",
        Dimension::VOLTAGE,
    )
    .above_zero(),
    input(
        "bounce",
        "Longest time that the contact bounces",
        Dimension::TIME,
    )
    .above_zero(),
];

const VERDICTS: &[Verdict] = &[
    Verdict {
        asks: "Does it outlast the bounce after opening?",
        of: &["release_time", "bounce"],
        answer: outlasts,
    },
    Verdict {
        asks: "Does it stay low through the bounce after closing?",
        of: &["recharge_time", "bounce"],
        answer: outlasts,
    },
];

impl Kind for Debounce {
    fn name(&self) -> &'static str {
        "debounce"
    }

    fn title(&self) -> &'static str {
        "Debouncing of a contact"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let has_series = given.has("series");
        if !has_series && given.has("falling_threshold") {
            return Err(vec![Refusal::new(
                "falling_threshold",
                "without a series resistor the contact empties the capacitor at once, so nothing \
                 falls slowly",
                "give `series`, or leave `falling_threshold` out",
            )]);
        }
        let charging = if has_series {
            "(pull_up + series)"
        } else {
            "pull_up"
        };
        let mut results = vec![
            Planned::formula(
                "time_constant",
                "Time constant after opening",
                format!("{charging} * capacitance"),
                "textbook",
            ),
            Planned::formula(
                "release_time",
                "Time from the contact's opening to the input's turning high",
                "time_constant * ln(supply / (supply - rising_threshold))",
                "textbook: the capacitor charges as 1 - exp(-t/τ)",
            ),
            Planned::formula(
                "resistance_for_bounce",
                "Resistance with which the input just outlasts the bounce after opening",
                "bounce / (capacitance * ln(supply / (supply - rising_threshold)))",
                "derived from the charging of a capacitor",
            ),
            Planned::formula(
                "closed_current",
                "Current while the contact stays closed",
                "supply / pull_up",
                "textbook: Ohm's law",
            ),
        ];
        let mut notes = vec![
            "How long a contact bounces is in its data sheet, or has to be measured; it grows with \
             wear."
                .to_owned(),
            "The capacitor makes slow edges, so the input needs hysteresis.".to_owned(),
        ];
        if has_series {
            results.push(Planned::formula(
                "contact_current",
                "Greatest current through the contact, when it closes on the full capacitor",
                "supply / pull_up + supply / series",
                "textbook: Ohm's law",
            ));
        } else {
            notes.push(
                "Nothing but the contact's own resistance limits the current with which it empties \
                 the capacitor."
                    .to_owned(),
            );
        }
        if given.has("falling_threshold") {
            results.push(Planned::formula(
                "press_time",
                "Time from the contact's closing to the input's turning low",
                "series * capacitance * ln(supply / falling_threshold)",
                "textbook: the capacitor discharges as exp(-t/τ)",
            ));
            results.push(Planned::formula(
                "recharge_time",
                "Time in which an opening by bounce, just after the input has turned low, would \
                 turn it high again",
                "time_constant * ln((supply - falling_threshold) / (supply - rising_threshold))",
                "textbook: the capacitor charges as 1 - exp(-t/τ)",
            ));
        }
        let mut plan = Plan {
            results,
            holds: vec![Holding::new(
                "release_time >= bounce",
                "The input turns high when the contact has come to rest",
            )],
            notes,
            ..Plan::default()
        };
        answer(&mut plan, INPUTS, given, VERDICTS);
        Ok(plan)
    }
}

fn outlasts(of: &[Outcome]) -> String {
    let [lasts, bounce] = of else {
        return String::new();
    };
    let (least, bounces) = (time(lasts.low), time(bounce.high));
    if lasts.low > bounce.high {
        format!("yes: at least {least}, and the contact bounces for {bounces} at most")
    } else {
        format!("not always: {least} may be all, and the contact may bounce for {bounces}")
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    fn given(supply: f64, resistor: f64, capacitance: f64, threshold: f64, bounce: f64) -> Given {
        Given::quantities(&[
            ("supply", supply),
            ("pull_up", resistor),
            ("capacitance", capacitance),
            ("rising_threshold", threshold),
            ("bounce", bounce),
        ])
    }

    /// Truth: R = t / (C ln(Vdd / (Vdd - Vth))), derived and computed with a
    /// general-purpose library: 116.1017732 kΩ and 28.85390082 kΩ.
    #[test]
    fn the_resistance_that_just_outlasts_the_bounce() {
        let found = given(5.0, 1e3, 47e-9, 3.0, 5e-3).result(&KIND, "resistance_for_bounce");
        near(found, 116.101_773_2e3, 1e-9);
        let found = given(3.3, 1e3, 1e-6, 1.65, 20e-3).result(&KIND, "resistance_for_bounce");
        near(found, 28.853_900_82e3, 1e-9);
    }

    /// Truth: charging of a capacitor (textbook), computed: 10 kΩ and 100 nF
    /// take 1.203972804 ms from 0 V to 2.31 V of 3.3 V; 22 kΩ and 10 nF take
    /// 0.264874017 ms from 5 V to 1.5 V.
    #[test]
    fn charging_and_discharging_take_their_times() {
        let found = given(3.3, 10e3, 100e-9, 2.31, 1e-3).result(&KIND, "release_time");
        near(found, 1.203_972_804e-3, 1e-9);
        let both = Given::quantities(&[
            ("supply", 5.0),
            ("pull_up", 78e3),
            ("series", 22e3),
            ("capacitance", 10e-9),
            ("rising_threshold", 2.5),
            ("falling_threshold", 1.5),
            ("bounce", 1e-3),
        ]);
        near(both.result(&KIND, "press_time"), 0.264_874_017e-3, 1e-9);
        // ln 2 of 100 kΩ × 10 nF.
        near(both.result(&KIND, "release_time"), 0.693_147_180_6e-3, 1e-9);
        near(
            both.result(&KIND, "recharge_time"),
            1e-3 * 1.4f64.ln(),
            1e-12,
        );
        both.hangs_together(&KIND);
    }

    #[test]
    fn a_threshold_at_the_supply_is_never_reached() {
        let found = given(3.3, 10e3, 1e-6, 3.3, 1e-3).work(&KIND);
        assert!(!found.contains_key("resistance_for_bounce"));
    }

    #[test]
    fn a_falling_threshold_needs_a_series_resistor() {
        let refused = Given::quantities(&[("supply", 5.0), ("falling_threshold", 1.0)]);
        assert_eq!(refused.refusals(&KIND)[0].input, "falling_threshold");
    }

    #[test]
    fn what_may_be_too_short_is_not_called_safe() {
        let outcome = |nominal, low, high| Outcome { nominal, low, high };
        let bounce = outcome(5e-3, 5e-3, 5e-3);
        assert!(outlasts(&[outcome(6e-3, 4.9e-3, 7e-3), bounce]).starts_with("not always: 4.9"));
        assert!(outlasts(&[outcome(6e-3, 5.1e-3, 7e-3), bounce]).starts_with("yes: at least 5.1"));
    }
}
