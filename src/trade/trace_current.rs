//! Current that a copper trace carries at a temperature rise.
//!
//! The relation is a fit to the conductor sizing charts of IPC-2221:
//! I = k ΔT^0.44 A^0.725, with I in A, ΔT in K and the cross-section A in
//! square mils; k = 0.048 on an outer layer, 0.024 on an inner one.

use super::Takes;
use super::kind::{Input, Inputs, Kind, Refusal, input, optional, takes};
use super::plan::{Holding, Plan, Planned};
use super::verdict::{Verdict, answer, percent};
use crate::quantity::{Dimension, Outcome};

/// The kind.
#[derive(Debug)]
pub(super) struct TraceCurrent;

pub(super) static KIND: TraceCurrent = TraceCurrent;

const IPC: &str = "IPC-2221A:2003 / IPC-2221B:2012, 6.2 (section number from memory; fit to the \
                   conductor sizing charts)";
const COPPER: &str = "IEC 60028:1925, annealed copper: 1.7241e-8 Ω m at 20 °C, 0.00393 per kelvin";

const INPUTS: &[Input] = &[
    input("current", "Current in the trace", Dimension::CURRENT).above_zero(),
    input(
        "rise",
        "Allowed rise of the trace above its surroundings",
        Dimension::TEMPERATURE_DIFFERENCE,
    )
    .above_zero(),
    input("thickness", "Thickness of the copper", Dimension::LENGTH).above_zero(),
    takes(
        "layer",
        "Where the trace lies",
        Takes::Word(&["outer", "inner"]),
    ),
    optional("width", "Width of the trace", Dimension::LENGTH).above_zero(),
    optional("length", "Length of the trace", Dimension::LENGTH).above_zero(),
    optional(
        "temperature",
        "Temperature of the copper in use",
        Dimension::TEMPERATURE,
    ),
];

const VERDICTS: &[Verdict] = &[Verdict {
    asks: "Is the trace wide enough?",
    of: &["allowed_current", "current"],
    answer: wide_enough,
}];

impl Kind for TraceCurrent {
    fn name(&self) -> &'static str {
        "trace-current"
    }

    fn title(&self) -> &'static str {
        "Current of a trace"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let factor = match given.word("layer") {
            Some("inner") => "0.024 A",
            _ => "0.048 A",
        };
        let mut results = vec![
            Planned::formula(
                "needed_area",
                "Cross-section that carries the current at the allowed rise",
                format!("(current / ({factor} * (rise / 1 K)^0.44))^(1 / 0.725) * 1 (mil^2)"),
                IPC,
            ),
            Planned::formula(
                "needed_width",
                "Width that carries the current at the allowed rise",
                "needed_area / thickness",
                IPC,
            ),
        ];
        if given.has("width") {
            results.push(Planned::formula(
                "allowed_current",
                "Current that the trace carries at the allowed rise",
                format!("{factor} * (rise / 1 K)^0.44 * (width * thickness / 1 (mil^2))^0.725"),
                IPC,
            ));
            results.push(Planned::formula(
                "reached_rise",
                "Rise of the trace with the current",
                format!(
                    "(current / ({factor} * (width * thickness / 1 (mil^2))^0.725))^(1 / 0.44) * 1 K"
                ),
                IPC,
            ));
        }
        let lacks = ["width", "temperature"]
            .into_iter()
            .find(|name| given.has("length") && !given.has(name));
        if let Some(lacks) = lacks {
            return Err(vec![Refusal::new(
                "length",
                format!("the resistance of a length of trace cannot be had without `{lacks}`"),
                format!("give `{lacks}` as well, or leave `length` out"),
            )]);
        }
        if given.has("length") {
            results.push(Planned::formula(
                "resistance",
                "Resistance of the trace",
                "1.7241e-8 (Ω m) * length / (width * thickness) * (1 + 0.00393 (1/K) * \
                 (temperature - 20 °C))",
                COPPER,
            ));
            results.push(Planned::formula(
                "drop",
                "Voltage along the trace",
                "current * resistance",
                "textbook: Ohm's law",
            ));
            results.push(Planned::formula(
                "heat",
                "Power in the trace",
                "current * drop",
                "textbook",
            ));
        }
        let holds = given.has("width").then(|| {
            Holding::new(
                "current <= allowed_current",
                "The trace carries its current at the allowed rise",
            )
        });
        let mut plan = Plan {
            results,
            holds: holds.into_iter().collect(),
            notes: vec![
                "The charts behind the fit reach to 35 A, 10 mm of width and 100 K of rise, for a \
                 single trace on a board without a copper plane below it (limits from memory); \
                 planes make traces cooler, neighbours and thin boards make them hotter."
                    .to_owned(),
            ],
            ..Plan::default()
        };
        answer(&mut plan, INPUTS, given, VERDICTS);
        Ok(plan)
    }
}

fn wide_enough(of: &[Outcome]) -> String {
    let [allowed, current] = of else {
        return String::new();
    };
    let share = percent(current.high / allowed.low);
    if current.high <= allowed.low {
        format!("yes: the current is at most {share} of what it carries")
    } else {
        format!("no: the current may be {share} of what it carries")
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    const MIL: f64 = 25.4e-6;

    fn given(layer: &str, quantities: &[(&str, f64)]) -> Given {
        Given::quantities(quantities).word("layer", layer)
    }

    /// Truth: the fit of IPC-2221, computed with a general-purpose library:
    /// 10 mil × 1.378 mil at 10 K carry 0.8855170347 A outside, half of that
    /// inside; 20 mil at 20 K carry 1.985623322 A.
    #[test]
    fn currents_of_traces() {
        let known = [
            ("outer", 10.0, 10.0, 0.885_517_034_7),
            ("inner", 10.0, 10.0, 0.442_758_517_3),
            ("outer", 20.0, 20.0, 1.985_623_322),
        ];
        for (layer, width, rise, current) in known {
            let given = given(
                layer,
                &[
                    ("current", current),
                    ("rise", rise),
                    ("thickness", 1.378 * MIL),
                    ("width", width * MIL),
                ],
            );
            near(given.result(&KIND, "allowed_current"), current, 1e-8);
            // The other way round.
            near(given.result(&KIND, "reached_rise"), rise, 1e-8);
            near(given.result(&KIND, "needed_width"), width * MIL, 1e-8);
        }
    }

    /// Truth: as above, the inverse form: 3 A at 20 K want 48.69510066 mil² and
    /// 0.897572973 mm of 1.378 mil; 2 A at 15 K inside want 86.22623993 mil².
    #[test]
    fn areas_for_currents() {
        let outer = given(
            "outer",
            &[("current", 3.0), ("rise", 20.0), ("thickness", 1.378 * MIL)],
        );
        near(
            outer.result(&KIND, "needed_area"),
            48.695_100_66 * MIL * MIL,
            1e-8,
        );
        near(outer.result(&KIND, "needed_width"), 0.897_572_973e-3, 1e-8);
        let inner = given(
            "inner",
            &[("current", 2.0), ("rise", 15.0), ("thickness", 35e-6)],
        );
        near(
            inner.result(&KIND, "needed_area"),
            86.226_239_93 * MIL * MIL,
            1e-8,
        );
    }

    /// Truth: IEC 60028, computed: 100 mm of 1 mm × 35 µm have 57.003672 mΩ at
    /// 60 °C; 50 mm of 0.25 mm have 98.52 mΩ at 20 °C.
    #[test]
    fn resistances_of_traces() {
        let known = [
            (0.1, 1e-3, 333.15, 57.003_672e-3),
            (0.05, 0.25e-3, 293.15, 98.52e-3),
        ];
        for (length, width, temperature, resistance) in known {
            let given = given(
                "outer",
                &[
                    ("current", 2.0),
                    ("rise", 10.0),
                    ("thickness", 35e-6),
                    ("width", width),
                    ("length", length),
                    ("temperature", temperature),
                ],
            );
            near(given.result(&KIND, "resistance"), resistance, 1e-8);
            near(given.result(&KIND, "heat"), 4.0 * resistance, 1e-8);
            given.hangs_together(&KIND);
        }
    }

    #[test]
    fn a_length_needs_a_width() {
        let given = given(
            "inner",
            &[
                ("current", 1.0),
                ("rise", 10.0),
                ("thickness", 35e-6),
                ("length", 0.1),
            ],
        );
        assert_eq!(given.refusals(&KIND)[0].input, "length");
    }

    #[test]
    fn a_trace_that_may_be_too_narrow_is_not_called_wide_enough() {
        let outcome = |nominal, low, high| Outcome { nominal, low, high };
        let current = Outcome::exact(0.9);
        assert!(wide_enough(&[outcome(1.0, 0.8, 1.2), current]).starts_with("no:"));
        assert!(wide_enough(&[outcome(1.0, 0.95, 1.2), current]).starts_with("yes:"));
    }
}
