//! A voltage divider, loaded or not.

use super::formulas::{Formulas, result};
use super::kind::{input, optional};
use super::verdict::{Verdict, WithVerdicts, percent};
use crate::quantity::{Dimension, Outcome};

pub(super) static KIND: WithVerdicts = WithVerdicts {
    formulas: Formulas {
        name: "divider",
        title: "Voltage divider",
        inputs: &[
            input("supply", "Voltage across the divider", Dimension::VOLTAGE),
            input("upper", "Resistor at the supply", Dimension::RESISTANCE).above_zero(),
            input("lower", "Resistor at ground", Dimension::RESISTANCE).above_zero(),
            optional(
                "load",
                "Resistance from the tap to ground",
                Dimension::RESISTANCE,
            )
            .above_zero(),
            optional(
                "leakage",
                "Current that flows into the tap from what reads it",
                Dimension::CURRENT,
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
                "scale",
                "Supply by tap voltage, unloaded",
                "1 + upper / lower",
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
                "upper_heat",
                "Power in the upper resistor, unloaded",
                "current^2 * upper",
                "textbook",
            ),
            result(
                "lower_heat",
                "Power in the lower resistor, unloaded",
                "current^2 * lower",
                "textbook",
            ),
            result(
                "loaded_output",
                "Tap voltage with the load",
                "output * load / (load + source_resistance)",
                "textbook: Thévenin's theorem",
            ),
            result(
                "loading_error",
                "What the load changes of the tap voltage, as a share of it",
                "-source_resistance / (load + source_resistance)",
                "textbook: Thévenin's theorem",
            ),
            result(
                "leakage_error",
                "What the leakage adds to the tap voltage",
                "leakage * source_resistance",
                "textbook: superposition",
            ),
        ],
        hazards: &[],
        notes: &[],
    },
    verdicts: &[Verdict {
        asks: "Does the load change the ratio by more than its resistors may be off?",
        of: &["loading_error", "ratio"],
        answer: against_tolerance,
    }],
};

fn against_tolerance(of: &[Outcome]) -> String {
    let [loading, ratio] = of else {
        return String::new();
    };
    let reach = (ratio.high - ratio.nominal).max(ratio.nominal - ratio.low) / ratio.nominal;
    let change = loading.low.abs();
    let (change_text, reach_text) = (percent(change), percent(reach));
    if change > reach {
        format!("yes: by up to {change_text}, while the resistors account for {reach_text}")
    } else {
        format!("no: by up to {change_text}, while the resistors account for {reach_text}")
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
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

    /// Truth: arithmetic: 390 kΩ over 100 kΩ divides by 4.90, not by 4.95 as
    /// the firmware of a public project had it; and 600 kΩ across 3.7 V draw
    /// 6.17 µA.
    #[test]
    fn a_battery_divider_has_the_scale_of_its_resistors() {
        let inputs = [("supply", 4.2), ("upper", 390e3), ("lower", 100e3)];
        near(
            Given::quantities(&inputs).result(&KIND, "scale"),
            4.9,
            1e-12,
        );
        let inputs = [("supply", 3.7), ("upper", 400e3), ("lower", 200e3)];
        near(
            Given::quantities(&inputs).result(&KIND, "current"),
            6.1667e-6,
            1e-4,
        );
    }

    /// Truth: energy: what the supply gives is what both resistors turn to heat
    /// (conservation), and a load that equals the source resistance halves the
    /// tap voltage (textbook: matching).
    #[test]
    fn heat_and_loading_keep_to_their_laws() {
        let inputs = [
            ("supply", 9.0),
            ("upper", 2e3),
            ("lower", 1e3),
            ("load", 2e3 / 3.0),
            ("leakage", 1e-6),
        ];
        let found = Given::quantities(&inputs).work(&KIND);
        near(found["upper_heat"] + found["lower_heat"], 9.0 * 3e-3, 1e-12);
        near(found["loaded_output"], 1.5, 1e-12);
        near(found["loading_error"], -0.5, 1e-12);
        near(found["leakage_error"], 2e-3 / 3.0, 1e-12);
    }

    #[test]
    fn formulas_hang_together() {
        Given::quantities(&[
            ("supply", 1.0),
            ("upper", 1.0),
            ("lower", 1.0),
            ("load", 1.0),
            ("leakage", 1.0),
        ])
        .hangs_together(&KIND);
    }

    #[test]
    fn the_load_is_held_against_the_tolerance() {
        let outcome = |nominal, low, high| Outcome { nominal, low, high };
        let ratio = outcome(0.5, 0.495, 0.505);
        let strong = against_tolerance(&[outcome(-0.02, -0.021, -0.019), ratio]);
        assert!(strong.starts_with("yes: by up to 2.1 %"), "{strong}");
        let weak = against_tolerance(&[Outcome::exact(-0.001), ratio]);
        assert!(weak.starts_with("no:"), "{weak}");
    }
}
