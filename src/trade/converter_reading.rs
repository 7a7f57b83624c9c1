//! What a converter reads, and whether it tells apart what it has to.

use super::Takes;
use super::kind::{Input, Inputs, Kind, Refusal, input, optional, takes};
use super::plan::{Cell, Holding, Plan, Planned, Table};
use super::verdict::{Verdict, answer, fitted, judged, whole};
use crate::quantity::{Dimension, Outcome};

/// The kind.
#[derive(Debug)]
pub(super) struct ConverterReading;

pub(super) static KIND: ConverterReading = ConverterReading;

const CONVENTION: &str = "common converter convention: full scale is 2^N steps";

const INPUTS: &[Input] = &[
    input(
        "reference",
        "Reference of the converter",
        Dimension::VOLTAGE,
    )
    .above_zero(),
    input("resolution", "Bits of the converter", Dimension::BITS).above_zero(),
    takes(
        "levels",
        "Voltage that the converter has to tell from the others",
        Takes::ByName(Dimension::VOLTAGE),
    ),
    optional(
        "source_resistance",
        "Resistance that the converter sees",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    optional(
        "input_resistance",
        "Resistance of the converter's input to ground",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    optional(
        "leakage",
        "Current that flows out of the converter's input",
        Dimension::CURRENT,
    ),
    optional(
        "sampling_capacitance",
        "Capacitor that the converter charges to take a sample",
        Dimension::CAPACITANCE,
    )
    .above_zero(),
    optional(
        "sampling_time",
        "Time in which it is charged",
        Dimension::TIME,
    )
    .above_zero(),
    optional(
        "switch_resistance",
        "Resistance of the converter's own switch",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    optional("offset_error", "Offset error", Dimension::COUNTS),
    optional("gain_error", "Gain error, as a share", Dimension::ONE),
    optional("nonlinearity", "Integral nonlinearity", Dimension::COUNTS),
    optional(
        "divider_ratio",
        "Voltage at the pin by measured voltage",
        Dimension::ONE,
    )
    .above_zero(),
    optional(
        "shunt",
        "Resistor whose current is measured",
        Dimension::RESISTANCE,
    )
    .above_zero(),
];

const VERDICTS: &[Verdict] = &[Verdict {
    asks: "Does the sampled voltage settle to half a step?",
    of: &["source_resistance", "greatest_source"],
    answer: settles,
}];

impl Kind for ConverterReading {
    fn name(&self) -> &'static str {
        "converter-reading"
    }

    fn title(&self) -> &'static str {
        "Reading of a converter"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let refusals = lacks(given);
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let levels = given.names("levels");
        let mut plan = Plan {
            results: common(given),
            holds: settling(given),
            notes: vec![
                "A reference that is the supply strays with it; what hangs on the same supply \
                 strays alike, and then drops out of the reading."
                    .to_owned(),
            ],
            ..Plan::default()
        };
        for level in &levels {
            plan.results.extend(reading(given, level));
        }
        plan.tables.push(told_apart(&levels));
        answer(&mut plan, INPUTS, given, VERDICTS);
        Ok(plan)
    }
}

fn lacks(given: &Inputs) -> Vec<Refusal> {
    let needs = [
        ("input_resistance", "source_resistance"),
        ("leakage", "source_resistance"),
        ("sampling_time", "sampling_capacitance"),
        ("sampling_capacitance", "sampling_time"),
        ("switch_resistance", "sampling_time"),
    ];
    let mut refusals: Vec<Refusal> = needs
        .into_iter()
        .filter(|(has, lacks)| given.has(has) && !given.has(lacks))
        .map(|(has, lacks)| {
            Refusal::new(
                has,
                format!("`{has}` does nothing without `{lacks}`"),
                format!("give `{lacks}` as well, or leave `{has}` out"),
            )
        })
        .collect();
    if !(1..=MOST_LEVELS).contains(&given.names("levels").len()) {
        refusals.push(Refusal::new(
            "levels",
            format!("there are {} levels", given.names("levels").len()),
            format!("give 1 to {MOST_LEVELS} of them"),
        ));
    }
    refusals
}

/// More would be no table that anybody reads.
const MOST_LEVELS: usize = 64;

/// What must hold for a sample to be true.
fn settling(given: &Inputs) -> Vec<Holding> {
    let is_asked = given.has("sampling_time") && given.has("source_resistance");
    let holding = is_asked.then(|| {
        Holding::new(
            "source_resistance <= greatest_source",
            "A sample settles to half a step",
        )
    });
    holding.into_iter().collect()
}

fn common(given: &Inputs) -> Vec<Planned> {
    let mut results = vec![
        Planned::formula(
            "full_scale",
            "Greatest reading",
            "2^resolution - 1 count",
            CONVENTION,
        ),
        Planned::formula(
            "step",
            "Voltage of one step at the pin",
            "reference / 2^resolution * 1 count",
            CONVENTION,
        ),
    ];
    let mut put = |name, means, formula: &str, source| {
        results.push(Planned::formula(name, means, formula, source));
    };
    if given.has("divider_ratio") {
        put(
            "voltage_step",
            "One step in the measured voltage",
            "step / divider_ratio",
            "arithmetic",
        );
    }
    if given.has("shunt") {
        put(
            "current_step",
            "One step in the measured current",
            "step / shunt",
            "textbook: Ohm's law",
        );
    }
    if given.has("input_resistance") {
        put(
            "loading",
            "Share of the voltage that the converter's input leaves",
            "input_resistance / (input_resistance + source_resistance)",
            "textbook: voltage divider",
        );
    }
    if given.has("leakage") {
        put(
            "leakage_error",
            "What the leakage adds at the pin",
            "leakage * source_resistance",
            "textbook: Ohm's law",
        );
    }
    if given.has("sampling_time") {
        let switch = if given.has("switch_resistance") {
            " - switch_resistance"
        } else {
            ""
        };
        put(
            "greatest_source",
            "Source resistance at which a sample just settles to half a step",
            &format!(
                "sampling_time / (sampling_capacitance * ln(2 * 2^(resolution / 1 bit))){switch}"
            ),
            "derived: exponential charging from empty to within 1 / 2^(N+1)",
        );
    }
    results
}

/// The voltage at the pin and the reading of one level.
fn reading(given: &Inputs, level: &str) -> [Planned; 2] {
    let called = level.replace('_', " ");
    let mut pin = format!("levels.{level}");
    if given.has("input_resistance") {
        pin += " * loading";
    }
    if given.has("leakage") {
        pin += " + leakage_error";
    }
    let mut counts = format!("pin.{level} / reference * 2^resolution");
    if given.has("gain_error") {
        counts += " * (1 + gain_error)";
    }
    for error in ["offset_error", "nonlinearity"] {
        if given.has(error) {
            counts = format!("{counts} + {error}");
        }
    }
    [
        Planned::formula(
            format!("pin.{level}"),
            format!("Voltage at the pin, {called}"),
            pin,
            "textbook",
        ),
        Planned::formula(
            format!("reading.{level}"),
            format!("Reading, {called}"),
            format!("max(0 count, min(full_scale, {counts}))"),
            CONVENTION,
        ),
    ]
}

/// Levels with their readings, and which other reading is nearest.
fn told_apart(levels: &[&str]) -> Table {
    let row = |(at, level): (usize, &&str)| {
        let reading = format!("reading.{level}");
        let mut of = vec!["full_scale".to_owned()];
        of.extend(levels.iter().map(|level| format!("reading.{level}")));
        let names: Vec<String> = levels.iter().map(|level| level.replace('_', " ")).collect();
        vec![
            Cell::Text(names[at].clone()),
            Cell::Value(format!("levels.{level}")),
            Cell::Value(reading.clone()),
            judged(&[reading], |of| of.first().map_or_else(String::new, counts)),
            judged(&of, move |of| nearest(of, at, &names)),
        ]
    };
    let columns = [
        "Level",
        "Voltage",
        "Reading",
        "Counts",
        "Told from the others",
    ];
    Table {
        caption: "Levels".to_owned(),
        columns: columns.map(str::to_owned).into(),
        rows: levels.iter().enumerate().map(row).collect(),
    }
}

/// The whole counts that a reading can be. Rounding or cutting off gives one of
/// the two whole numbers beside a value, so both belong to it.
fn counts(of: &Outcome) -> String {
    format!("{} to {}", whole(of.low.floor()), whole(of.high.ceil()))
}

/// How far the reading at a position is from the nearest other one.
fn nearest(of: &[Outcome], at: usize, names: &[String]) -> String {
    let Some((full_scale, readings)) = of.split_first() else {
        return String::new();
    };
    let Some(own) = readings.get(at) else {
        return String::new();
    };
    if own.high >= full_scale.high {
        return "no: it may reach full scale, where all higher voltages read alike".to_owned();
    }
    let gap = |other: &Outcome| {
        let above = other.low.floor() - own.high.ceil();
        let below = own.low.floor() - other.high.ceil();
        above.max(below)
    };
    let others = readings.iter().zip(names).enumerate();
    let nearest = others
        .filter(|(position, _)| *position != at)
        .map(|(_, (other, name))| (gap(other), name))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match nearest {
        None => "there is no other".to_owned(),
        Some((gap, name)) if gap > 0.0 => {
            format!("yes: {} counts at least from {name}", whole(gap))
        }
        Some((gap, name)) => format!("no: it shares {} counts with {name}", whole(1.0 - gap)),
    }
}

fn settles(of: &[Outcome]) -> String {
    let [source, greatest] = of else {
        return String::new();
    };
    let show = |value| fitted(value, Dimension::RESISTANCE);
    let (has, may) = (show(source.high), show(greatest.low));
    if source.high <= greatest.low {
        format!("yes: the source has {has} at most, and may have {may}")
    } else {
        format!("no: the source may have {has}, and no more than {may} settle")
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    fn given(reference: f64, bits: f64, levels: &[(&str, f64)], more: &[(&str, f64)]) -> Given {
        let inputs = [("reference", reference), ("resolution", bits)];
        Given::quantities(&[&inputs, more].concat()).by_name("levels", levels)
    }

    /// Truth: FSR / 2^N, computed: 5 V and 10 bit: 4.8828125 mV; 2.048 V and 16
    /// bit: 31.25 µV; 1.1 V and 10 bit: 1.07421875 mV.
    #[test]
    fn steps_of_converters() {
        let known = [
            (5.0, 10.0, 4.882_812_5e-3),
            (2.048, 16.0, 31.25e-6),
            (1.1, 10.0, 1.074_218_75e-3),
        ];
        for (reference, bits, step) in known {
            let found = given(reference, bits, &[("a", 0.0)], &[]).result(&KIND, "step");
            near(found, step, 1e-12);
        }
    }

    /// Truth: codes of ideal converters, computed: 1.2345 V of 3.3 V at 12 bit
    /// rounds to 1532; 2.5 V of 5 V at 10 bit is 512; 3.3 V of 3.3 V stays at
    /// 4095 and a negative voltage at 0; 0.7 V of 1.1 V at 10 bit rounds to 652.
    #[test]
    fn codes_of_ideal_converters() {
        let known = [
            (1.2345, 3.3, 12.0, 1532.0),
            (2.5, 5.0, 10.0, 512.0),
            (3.3, 3.3, 12.0, 4095.0),
            (-0.05, 3.3, 12.0, 0.0),
            (0.7, 1.1, 10.0, 652.0),
        ];
        for (voltage, reference, bits, code) in known {
            let found = given(reference, bits, &[("a", voltage)], &[]).result(&KIND, "reading.a");
            assert_eq!(found.round(), code, "{voltage} V of {reference} V");
        }
    }

    /// Truth: common practice, no source: 50 mA through 5 Ω are 0.25 V, some 310
    /// counts of a 12-bit converter on 3.3 V; and own arithmetic: 0.1 Ω at
    /// 0.5 A are 62 counts of 0.806 mV, a step of 8.06 mA.
    #[test]
    fn currents_through_a_shunt() {
        let found = given(3.3, 12.0, &[("a", 0.25)], &[]).result(&KIND, "reading.a");
        near(found, 310.0, 2e-3);
        let found = given(3.3, 12.0, &[("a", 0.05)], &[("shunt", 0.1)]).work(&KIND);
        near(found["reading.a"], 62.06, 1e-4);
        near(found["step"], 0.806e-3, 1e-3);
        near(found["current_step"], 8.06e-3, 1e-3);
    }

    /// Truth: settling to half a step takes R C ln(2^(N+1)) (derived), computed
    /// for 10 kΩ, 100 nF and 8 bit: 6.238324625 ms, so that time allows 10 kΩ.
    #[test]
    fn a_source_that_just_settles() {
        let more = [
            ("sampling_capacitance", 100e-9),
            ("sampling_time", 6.238_324_625e-3),
        ];
        let found = given(3.3, 8.0, &[("a", 1.0)], &more).result(&KIND, "greatest_source");
        near(found, 10e3, 1e-9);
    }

    /// Truth: superposition and arithmetic: 1 V behind 100 kΩ with 300 kΩ at
    /// the pin and 1 µA out of it is 0.85 V; 1 % more and 2 counts on top.
    #[test]
    fn errors_of_source_and_converter_add_up() {
        let more = [
            ("source_resistance", 100e3),
            ("input_resistance", 300e3),
            ("leakage", 1e-6),
            ("offset_error", 2.0),
            ("gain_error", 0.01),
            ("nonlinearity", 0.5),
            ("sampling_capacitance", 1e-12),
            ("sampling_time", 1e-6),
            ("switch_resistance", 1e3),
            ("divider_ratio", 0.2),
            ("shunt", 1.0),
        ];
        let given = given(4.096, 12.0, &[("a", 1.0)], &more);
        near(given.result(&KIND, "reading.a"), 850.0 * 1.01 + 2.5, 1e-12);
        near(given.result(&KIND, "voltage_step"), 5e-3, 1e-12);
        given.hangs_together(&KIND);
    }

    #[test]
    fn readings_that_meet_are_told() {
        let names = ["a".to_owned(), "b".to_owned()];
        let outcome = |low, high| Outcome {
            nominal: low,
            low,
            high,
        };
        let full = Outcome::exact(4095.0);
        let apart = nearest(
            &[full, outcome(100.0, 110.0), outcome(120.5, 130.0)],
            0,
            &names,
        );
        assert_eq!(apart, "yes: 10 counts at least from b");
        let meeting = nearest(
            &[full, outcome(100.0, 110.0), outcome(109.5, 130.0)],
            1,
            &names,
        );
        assert_eq!(meeting, "no: it shares 2 counts with a");
        let over = nearest(
            &[full, outcome(100.0, 110.0), outcome(4000.0, 4095.0)],
            1,
            &names,
        );
        assert!(over.starts_with("no: it may reach full scale"));
    }

    #[test]
    fn what_does_nothing_alone_is_refused() {
        let refused = given(3.3, 12.0, &[("a", 1.0)], &[("leakage", 1e-6)]).refusals(&KIND);
        assert_eq!(refused[0].input, "leakage");
        assert_eq!(
            given(3.3, 12.0, &[], &[]).refusals(&KIND)[0].input,
            "levels"
        );
    }
}
