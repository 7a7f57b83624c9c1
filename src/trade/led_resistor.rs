//! Series resistor of a light-emitting diode.

use super::kind::{Input, Inputs, Kind, Refusal, input, optional};
use super::plan::{Plan, Planned, Procedure, Unworkable};
use crate::quantity::Dimension;

/// The kind.
#[derive(Debug)]
pub(super) struct LedResistor;

pub(super) static KIND: LedResistor = LedResistor;

impl Kind for LedResistor {
    fn name(&self) -> &'static str {
        "led-resistor"
    }

    fn title(&self) -> &'static str {
        "Series resistor of an LED"
    }

    fn inputs(&self) -> &'static [Input] {
        const INPUTS: &[Input] = &[
            input(
                "supply",
                "Voltage that feeds resistor and LED",
                Dimension::VOLTAGE,
            ),
            input(
                "forward_voltage",
                "Forward voltage of the LED",
                Dimension::VOLTAGE,
            )
            .above_zero(),
            input("resistor", "Series resistor", Dimension::RESISTANCE).above_zero(),
            optional(
                "wanted",
                "Current that the LED is to have",
                Dimension::CURRENT,
            )
            .above_zero(),
        ];
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let mut results = vec![
            Planned::procedure(
                "headroom",
                "Voltage that is left for the resistor",
                Dimension::VOLTAGE,
                vec!["supply".to_owned(), "forward_voltage".to_owned()],
                Procedure::new(headroom),
                "textbook: Kirchhoff's voltage law",
            ),
            Planned::formula(
                "current",
                "Current through the LED",
                "headroom / resistor",
                "textbook: Ohm's law",
            ),
            Planned::formula(
                "heat",
                "Power in the resistor",
                "current * headroom",
                "textbook",
            ),
            Planned::formula(
                "led_heat",
                "Power in the LED",
                "current * forward_voltage",
                "textbook",
            ),
        ];
        if given.has("wanted") {
            results.push(Planned::formula(
                "wanted_resistor",
                "Resistor for the wanted current",
                "headroom / wanted",
                "textbook: Ohm's law",
            ));
        }
        Ok(Plan {
            results,
            ..Plan::default()
        })
    }
}

fn headroom(of: &[f64]) -> Result<f64, Unworkable> {
    match of {
        [supply, forward] if supply > forward => Ok(supply - forward),
        _ => Err(Unworkable::new(
            "leaves nothing: the supply is not above the forward voltage, so the LED stays dark",
            "feed it from a higher voltage, or choose an LED of a lower forward voltage",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    /// Truth: common practice, no source: 3.3 V, 2 V across the LED and 325 Ω
    /// give 4 mA.
    #[test]
    fn four_milliampere() {
        let inputs = [
            ("supply", 3.3),
            ("forward_voltage", 2.0),
            ("resistor", 325.0),
        ];
        assert!((Given::quantities(&inputs).result(&KIND, "current") - 4e-3).abs() < 1e-15);
        assert!((Given::quantities(&inputs).result(&KIND, "heat") - 5.2e-3).abs() < 1e-15);
    }

    /// Truth: R = (Vdd - Vf) / I, computed: 5 V, 3.1 V and 12 mA want
    /// 158.3333333 Ω (textbook, common practice).
    #[test]
    fn the_resistor_of_a_wanted_current() {
        let inputs = [
            ("supply", 5.0),
            ("forward_voltage", 3.1),
            ("resistor", 150.0),
            ("wanted", 12e-3),
        ];
        let found = Given::quantities(&inputs).result(&KIND, "wanted_resistor");
        near(found, 158.333_333_3, 1e-9);
    }

    /// Truth: conservation of energy: what the supply gives is what resistor and
    /// LED take.
    #[test]
    fn no_energy_is_lost() {
        let inputs = [
            ("supply", 12.0),
            ("forward_voltage", 2.1),
            ("resistor", 680.0),
        ];
        let found = Given::quantities(&inputs).work(&KIND);
        near(
            found["heat"] + found["led_heat"],
            12.0 * found["current"],
            1e-12,
        );
    }

    #[test]
    fn a_supply_below_the_forward_voltage_is_refused() {
        assert!(headroom(&[1.8, 2.0]).is_err());
        assert!(headroom(&[2.0, 2.0]).is_err());
        assert!(headroom(&[f64::NAN, 2.0]).is_err());
    }

    #[test]
    fn formulas_hang_together() {
        Given::quantities(&[
            ("supply", 1.0),
            ("forward_voltage", 1.0),
            ("resistor", 1.0),
            ("wanted", 1.0),
        ])
        .hangs_together(&KIND);
    }
}
