//! Corner frequency of a resistor and a capacitor.

use super::formulas::{Formulas, result};
use super::kind::{input, optional};
use crate::quantity::Dimension;

pub(super) static KIND: Formulas = Formulas {
    name: "corner-frequency",
    title: "Corner frequency",
    inputs: &[
        input(
            "resistance",
            "Resistance that the capacitor sees",
            Dimension::RESISTANCE,
        )
        .above_zero(),
        input("capacitance", "Capacitance", Dimension::CAPACITANCE).above_zero(),
        optional(
            "at",
            "Frequency at which the response is asked for",
            Dimension::FREQUENCY,
        )
        .above_zero(),
    ],
    results: &[
        result(
            "time_constant",
            "Time constant",
            "resistance * capacitance",
            "textbook",
        ),
        result(
            "frequency",
            "Frequency at which the response is 3 dB down",
            "1 / (2 * pi * time_constant)",
            "textbook",
        ),
        result(
            "rise_time",
            "Rise time from 10 % to 90 %",
            "time_constant * ln(9)",
            "textbook: the response to a step is 1 - exp(-t/τ)",
        ),
        result(
            "low_pass",
            "Response there, taken across the capacitor",
            "1 / sqrt(1 + (at / frequency)^2)",
            "textbook",
        ),
        result(
            "high_pass",
            "Response there, taken across the resistor",
            "1 / sqrt(1 + (frequency / at)^2)",
            "textbook",
        ),
    ],
    hazards: &[],
    notes: &[],
};

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    /// Truth: textbook relations, worked out to ten digits independently of
    /// this crate: resistance, capacitance, frequency and rise time.
    #[test]
    fn corners_and_rise_times() {
        let known = [
            (10e3, 100e-9, 159.154_943_1, 2.197_224_577e-3),
            (4.7e3, 1e-6, 33.862_753_85, 10.326_955_51e-3),
            (22e3, 0.47e-9, 15_392.160_84, 0.022_719_302_13e-3),
        ];
        for (resistance, capacitance, frequency, rise_time) in known {
            let inputs = [("resistance", resistance), ("capacitance", capacitance)];
            let found = Given::quantities(&inputs).work(&KIND);
            near(found["frequency"], frequency, 1e-9);
            near(found["rise_time"], rise_time, 1e-9);
        }
        let inputs = [("resistance", 330e3), ("capacitance", 22e-9)];
        near(
            Given::quantities(&inputs).result(&KIND, "time_constant"),
            7.26e-3,
            1e-12,
        );
    }

    /// Truth: at its corner a first-order response is down by 3.0103 dB, a
    /// tenth of it away in the passed direction by 0.0432 dB (textbook).
    #[test]
    fn the_response_around_the_corner() {
        let corner = 1.0 / (2.0 * std::f64::consts::PI * 1e3 * 1e-6);
        let level = |at: f64, name| {
            let inputs = [("resistance", 1e3), ("capacitance", 1e-6), ("at", at)];
            20.0 * Given::quantities(&inputs).result(&KIND, name).log10()
        };
        near(level(corner, "low_pass"), -3.0103, 1e-5);
        near(level(corner, "high_pass"), -3.0103, 1e-5);
        near(level(corner / 10.0, "low_pass"), -0.0432, 1e-3);
        near(level(corner * 10.0, "high_pass"), -0.0432, 1e-3);
    }

    #[test]
    fn formulas_hang_together() {
        Given::quantities(&[("resistance", 1.0), ("capacitance", 1.0), ("at", 1.0)])
            .hangs_together(&KIND);
    }
}
