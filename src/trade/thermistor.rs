//! A thermistor of negative temperature coefficient, by its B value.

use super::kind::{Input, Inputs, Kind, Refusal, input, optional};
use super::plan::{Axis, Curves, Plan, Planned, Plot};
use super::verdict::answer;
use crate::quantity::Dimension;

/// The kind.
#[derive(Debug)]
pub(super) struct Thermistor;

pub(super) static KIND: Thermistor = Thermistor;

const IEC: &str = "IEC 60539-1, definition of the B value";
/// Watts that heat the part by one kelvin.
const DISSIPATION: Dimension = Dimension::of([2, 1, -3, 0, -1, 0, 0], [0; 3]);
/// 25 °C in kelvin.
const ROOM: f64 = 298.15;

const INPUTS: &[Input] = &[
    input(
        "resistance_25",
        "Resistance at 25 °C",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    input("b_value", "B value", Dimension::TEMPERATURE_DIFFERENCE).above_zero(),
    input("temperature", "Temperature", Dimension::TEMPERATURE).above_zero(),
    optional(
        "measured",
        "Resistance that was measured",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    optional(
        "supply",
        "Voltage across thermistor and resistor",
        Dimension::VOLTAGE,
    )
    .above_zero(),
    optional(
        "resistor",
        "Resistor between supply and thermistor",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    optional(
        "dissipation",
        "Power that warms the thermistor by one kelvin",
        DISSIPATION,
    )
    .above_zero(),
];

impl Kind for Thermistor {
    fn name(&self) -> &'static str {
        "thermistor"
    }

    fn title(&self) -> &'static str {
        "Thermistor"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let pair = ["supply", "resistor"];
        let lacks = pair.iter().find(|name| !given.has(name));
        let has = pair.iter().find(|name| given.has(name));
        if let (Some(has), Some(lacks)) = (has, lacks) {
            return Err(vec![Refusal::new(
                *has,
                format!("`{has}` alone makes no divider"),
                format!("give `{lacks}` as well, or leave `{has}` out"),
            )]);
        }
        if let (true, Some(lacks)) = (given.has("dissipation"), lacks) {
            return Err(vec![Refusal::new(
                "dissipation",
                "self-heating cannot be had without the circuit around the thermistor",
                format!("give `{lacks}` as well, or leave `dissipation` out"),
            )]);
        }
        let mut plan = Plan {
            results: results(given),
            plots: vec![plot()],
            notes: vec![
                "One B value fits within a kelvin or so between the two temperatures that it was \
                 taken from, and strays outside of them (common practice, no source)."
                    .to_owned(),
            ],
            ..Plan::default()
        };
        answer(&mut plan, INPUTS, given, &[]);
        Ok(plan)
    }
}

fn results(given: &Inputs) -> Vec<Planned> {
    let mut results = vec![
        Planned::formula(
            "resistance",
            "Resistance at the temperature",
            "resistance_25 * exp(b_value * (1 / temperature - 1 / 25 °C))",
            IEC,
        ),
        Planned::formula(
            "coefficient",
            "Change of the resistance by one kelvin, as a share of it",
            "-b_value / temperature^2",
            IEC,
        ),
    ];
    if given.has("measured") {
        results.push(Planned::formula(
            "measured_temperature",
            "Temperature of the measured resistance",
            "1 / (1 / 25 °C + ln(measured / resistance_25) / b_value)",
            IEC,
        ));
    }
    if given.has("resistor") {
        results.push(Planned::formula(
            "output",
            "Voltage across the thermistor",
            "supply / (1 + resistor / resistance)",
            "textbook",
        ));
        results.push(Planned::formula(
            "slope",
            "Change of that voltage by one kelvin",
            "output * coefficient / (1 + resistance / resistor)",
            "derivative of the relations above",
        ));
        results.push(Planned::formula(
            "heat",
            "Power in the thermistor",
            "output^2 / resistance",
            "textbook",
        ));
    }
    if given.has("dissipation") {
        results.push(Planned::formula(
            "self_heating",
            "Rise of the thermistor above its surroundings by its own heat",
            "heat / dissipation",
            "IEC 60539-1, definition of the dissipation factor (from memory)",
        ));
    }
    results
}

fn plot() -> Plot {
    Plot {
        name: "resistance",
        title: "Resistance over temperature".to_owned(),
        x: Axis::even("Temperature", "°C"),
        y: Axis::logarithmic("Resistance", "kΩ"),
        operands: vec!["resistance_25".to_owned(), "b_value".to_owned()],
        curves: Curves::new(|of| {
            let &[room, b] = of else {
                return Ok(Vec::new());
            };
            let point = |celsius: i32| {
                let kelvin = f64::from(celsius) + 273.15;
                let resistance = room * (b * (1.0 / kelvin - 1.0 / ROOM)).exp();
                (f64::from(celsius), resistance / 1e3)
            };
            let points = (-20..=85).step_by(5).map(point);
            Ok(vec![("Resistance".to_owned(), points.collect())])
        }),
        marks: Vec::new(),
        lines: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    fn given(room: f64, b: f64, celsius: f64, more: &[(&str, f64)]) -> Given {
        let inputs = [
            ("resistance_25", room),
            ("b_value", b),
            ("temperature", celsius + 273.15),
        ];
        Given::quantities(&[&inputs, more].concat())
    }

    /// Truth: IEC 60539-1, computed with a general-purpose library: 10 kΩ and
    /// 3950 K have 33.62060372 kΩ and -5.29413103 %/K at 0 °C; 10 kΩ and 3435 K
    /// have 77.52254979 kΩ at -20 °C and 4.846867427 kΩ at 45 °C.
    #[test]
    fn resistances_by_the_b_value() {
        let cold = given(10e3, 3950.0, 0.0, &[]);
        near(cold.result(&KIND, "resistance"), 33.620_603_72e3, 1e-8);
        near(cold.result(&KIND, "coefficient"), -5.294_131_03e-2, 1e-8);
        let found = given(10e3, 3435.0, -20.0, &[]).result(&KIND, "resistance");
        near(found, 77.522_549_79e3, 1e-8);
        let found = given(10e3, 3435.0, 45.0, &[]).result(&KIND, "resistance");
        near(found, 4.846_867_427e3, 1e-8);
    }

    /// Truth: as above, the other way round: 100 kΩ and 4250 K read 50 kΩ at
    /// 40.2389493 °C.
    #[test]
    fn a_temperature_by_its_resistance() {
        let given = given(100e3, 4250.0, 25.0, &[("measured", 50e3)]);
        near(
            given.result(&KIND, "measured_temperature"),
            40.238_949_3 + 273.15,
            1e-9,
        );
    }

    /// Truth: calculus: the slope is what the output differs by over a small
    /// step of temperature; at equal resistors the power is U²/4R.
    #[test]
    fn a_divider_with_a_thermistor() {
        let more = [("supply", 3.3), ("resistor", 10e3), ("dissipation", 2e-3)];
        let output = |celsius| given(10e3, 3950.0, celsius, &more).result(&KIND, "output");
        let found = given(10e3, 3950.0, 25.0, &more).work(&KIND);
        near(found["slope"], (output(25.01) - output(24.99)) / 0.02, 1e-5);
        near(found["heat"], 3.3 * 3.3 / 40e3, 1e-12);
        near(found["self_heating"], 3.3 * 3.3 / 40e3 / 2e-3, 1e-12);
        given(10e3, 3950.0, 25.0, &more).hangs_together(&KIND);
    }

    #[test]
    fn half_a_divider_is_refused() {
        let half = given(10e3, 3950.0, 25.0, &[("supply", 3.3)]);
        assert_eq!(half.refusals(&KIND)[0].input, "supply");
        let heated = given(10e3, 3950.0, 25.0, &[("dissipation", 2e-3)]);
        assert_eq!(heated.refusals(&KIND)[0].input, "dissipation");
    }

    #[test]
    fn the_curve_passes_through_25_degrees() {
        let curves = plot().curves.trace(&[10e3, 3950.0]).unwrap_or_default();
        let at_room = curves[0].1.iter().find(|point| point.0 == 25.0);
        near(at_room.map_or(0.0, |point| point.1), 10.0, 1e-12);
    }
}
