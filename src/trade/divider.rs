//! A voltage divider, loaded or not.

use super::formulas::{Formulas, result};
use super::kind::{input, optional};
use crate::quantity::Dimension;

pub(super) static KIND: Formulas = Formulas {
    name: "divider",
    title: "Voltage divider",
    inputs: &[
        input("supply", "Voltage across the divider", Dimension::VOLTAGE),
        input("upper", "Resistor at the supply", Dimension::RESISTANCE),
        input("lower", "Resistor at ground", Dimension::RESISTANCE),
        optional(
            "load",
            "Resistance from the tap to ground",
            Dimension::RESISTANCE,
        ),
    ],
    results: &[
        result(
            "ratio",
            "Tap voltage by supply, unloaded",
            "lower / (upper + lower)",
            "textbook",
        ),
        result(
            "output",
            "Tap voltage, unloaded",
            "supply * ratio",
            "textbook",
        ),
        result(
            "source_resistance",
            "Resistance that the tap shows to what reads it",
            "parallel(upper, lower)",
            "textbook: Thévenin's theorem",
        ),
        result(
            "current",
            "Current through the divider, unloaded",
            "supply / (upper + lower)",
            "textbook",
        ),
        result(
            "loaded_output",
            "Tap voltage with the load",
            "output * load / (load + source_resistance)",
            "textbook: Thévenin's theorem",
        ),
    ],
    hazards: &[],
    notes: &[],
};

#[cfg(test)]
mod tests {
    use super::super::check::Given;
    use super::*;

    /// Truth: a loaded divider of 12 V, 10 kΩ over 4.7 kΩ with 22 kΩ across
    /// the lower one, by exact fractions (Gauss): 1551/463 V.
    #[test]
    fn a_loaded_divider_by_exact_fractions() {
        let inputs = [
            ("supply", 12.0),
            ("upper", 10e3),
            ("lower", 4.7e3),
            ("load", 22e3),
        ];
        let output = Given::quantities(&inputs).result(&KIND, "loaded_output");
        assert!((output - 1551.0 / 463.0).abs() < 1e-12, "{output}");
    }

    /// Truth: 100 kΩ over 100 kΩ across 4 V draws 20 µA (arithmetic).
    #[test]
    fn a_divider_draws_its_current() {
        let inputs = [("supply", 4.0), ("upper", 100e3), ("lower", 100e3)];
        assert!((Given::quantities(&inputs).result(&KIND, "current") - 20e-6).abs() < 1e-18);
        assert!(
            (Given::quantities(&inputs).result(&KIND, "source_resistance") - 50e3).abs() < 1e-9
        );
    }

    #[test]
    fn formulas_hang_together() {
        Given::quantities(&[
            ("supply", 1.0),
            ("upper", 1.0),
            ("lower", 1.0),
            ("load", 1.0),
        ])
        .hangs_together(&KIND);
    }
}
