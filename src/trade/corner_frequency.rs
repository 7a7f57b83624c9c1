//! Corner frequency of a resistor and a capacitor.

use super::{Kind, input, result};
use crate::quantity::Dimension;

pub(super) static KIND: Kind = Kind {
    name: "corner-frequency",
    title: "Corner frequency",
    inputs: &[
        input(
            "resistance",
            "Resistance that the capacitor sees",
            Dimension::RESISTANCE,
        ),
        input("capacitance", "Capacitance", Dimension::CAPACITANCE),
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
    ],
};

#[cfg(test)]
mod tests {
    use super::super::worked;
    use super::*;

    /// Truth: textbook relations, worked out to ten digits independently of
    /// this crate (10 kΩ with 100 nF).
    #[test]
    fn ten_kilohm_and_a_hundred_nanofarad() {
        let inputs = [("resistance", 10e3), ("capacitance", 100e-9)];
        let near = |name, expected: f64| {
            let value = worked(&KIND, &inputs, name);
            assert!((value / expected - 1.0).abs() < 1e-9, "{name}: {value}");
        };
        near("time_constant", 1e-3);
        near("frequency", 159.1549431);
        near("rise_time", 2.197224577e-3);
    }
}
