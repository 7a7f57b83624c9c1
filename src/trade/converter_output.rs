//! What comes out of a converter, or of a pulse-width modulated pin, behind its
//! filter: steps, images of the tones, the carrier, and what the highest note
//! loses.

use super::kind::{Input, Inputs, Kind, Refusal, Takes, input, optional, takes};
use super::output_filter::{Work, level};
use super::plan::{Cell, Plan, Planned, Table};
use super::reconstruction::Filter;
use super::verdict::{fitted, judged};
use crate::quantity::Dimension;

pub(super) static KIND: ConverterOutput = ConverterOutput;

/// The kind `converter-output`.
#[derive(Debug)]
pub(super) struct ConverterOutput;

const STEP: &str = "textbook (IEEE Std 1241 terminology)";
const BENNETT: &str =
    "W. R. Bennett, Spectra of Quantized Signals, Bell System Technical Journal 27 (1948), 446";
const COUNTER: &str = "textbook: a counter that runs up and starts again";

/// Bits that carriers are listed for.
const LISTED: std::ops::RangeInclusive<u32> = 6..=16;

const INPUTS: &[Input] = &[
    takes(
        "output",
        "What puts the samples out",
        Takes::Word(&["converter", "pwm"]),
    ),
    input("full_scale", "Voltage of full scale", Dimension::VOLTAGE).above_zero(),
    takes("bits", "Bits of a sample", Takes::Whole(1..=24)),
    input("rate", "Sample rate", Dimension::FREQUENCY).above_zero(),
    input(
        "highest_note",
        "Frequency of the highest note",
        Dimension::FREQUENCY,
    )
    .above_zero(),
    optional(
        "timer_clock",
        "Clock of the modulator's counter",
        Dimension::FREQUENCY,
    )
    .above_zero(),
    takes(
        "resistors",
        "Series resistors of the filter, from the pin on",
        Takes::Quantities(Dimension::RESISTANCE, 1..=4),
    )
    .above_zero(),
    takes(
        "capacitors",
        "Capacitors to ground, one behind each resistor",
        Takes::Quantities(Dimension::CAPACITANCE, 1..=4),
    )
    .above_zero(),
    optional(
        "source_resistance",
        "Resistance of the pin",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    optional(
        "load",
        "Resistance behind the filter",
        Dimension::RESISTANCE,
    )
    .above_zero(),
];

impl Kind for ConverterOutput {
    fn name(&self) -> &'static str {
        "converter-output"
    }

    fn title(&self) -> &'static str {
        "Output of a converter"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let modulated = given.word("output") == Some("pwm");
        let (resistors, capacitors) = (given.listed("resistors"), given.listed("capacitors"));
        let mut wrong = Vec::new();
        if resistors.len() != capacitors.len() {
            wrong.push(Refusal::new(
                "capacitors",
                format!(
                    "{} resistors have {} capacitors behind them",
                    resistors.len(),
                    capacitors.len()
                ),
                "give each resistor a capacitor to ground",
            ));
        }
        if modulated && !given.has("timer_clock") {
            wrong.push(Refusal::new(
                "output",
                "a pulse-width modulator needs the clock of its counter",
                "add `timer_clock = \"…\"`, a frequency",
            ));
        }
        if !modulated && given.has("timer_clock") {
            wrong.push(Refusal::new(
                "timer_clock",
                "a converter has no carrier that its clock would make",
                "take out `timer_clock`, or write `output = \"pwm\"`",
            ));
        }
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let bits = given.whole("bits").unwrap_or(1) as u32;
        let filter = Filter {
            sections: resistors.len(),
            pin: given.has("source_resistance"),
            load: given.has("load"),
        };
        let mut parts: Vec<String> = Vec::new();
        parts.extend(filter.pin.then(|| "source_resistance".to_owned()));
        parts.extend(resistors.into_iter().chain(capacitors));
        parts.extend(filter.load.then(|| "load".to_owned()));
        let work = Work { filter, parts };
        let mut plan = Plan::default();
        samples(&mut plan, bits, modulated);
        work.response(&mut plan, given);
        if modulated {
            work.carrier(&mut plan, bits);
        }
        plan.tables.push(values(&plan));
        if modulated {
            plan.tables.push(carriers());
        }
        Ok(plan)
    }
}

/// The samples themselves.
fn samples(plan: &mut Plan, bits: u32, modulated: bool) {
    let mut add = |name, means: &str, formula: String, source| {
        plan.results
            .push(Planned::formula(name, means, formula, source));
    };
    let step = format!("full_scale / 2^{bits}");
    add("step", "Voltage of one step", step, STEP);
    let snr = format!("field_level(2^{bits} * sqrt(3 / 2))");
    let means = "Signal to noise of samples of so many bits, for a full-scale sine";
    add("signal_to_noise", means, snr, BENNETT);
    let image = "rate - highest_note".to_owned();
    let means = "Frequency of the first image of the highest note";
    add(
        "image_frequency",
        means,
        image,
        "textbook: the sampling theorem",
    );
    if modulated {
        let means = "Frequency of the carrier";
        add("carrier", means, format!("timer_clock / 2^{bits}"), COUNTER);
        let means = "Bits that a carrier at the sample rate would leave";
        let left = "log2(timer_clock / rate) * 1 bit".to_owned();
        add("bits_at_rate", means, left, COUNTER);
        let means = "Carrier periods for each sample";
        add(
            "carriers_a_sample",
            means,
            "carrier / rate".to_owned(),
            COUNTER,
        );
    }
}

/// All results with their spreads.
fn values(plan: &Plan) -> Table {
    let row = |result: &Planned| {
        vec![
            Cell::Text(result.means.clone()),
            Cell::Value(result.name.clone()),
            Cell::Range(result.name.clone()),
        ]
    };
    Table {
        caption: String::new(),
        columns: ["What it is", "Value", "Spread"].map(str::to_owned).into(),
        rows: plan.results.iter().map(row).collect(),
    }
}

/// Bits of the duty against the carrier that they leave.
fn carriers() -> Table {
    let row = |bits: u32| {
        let carrier = judged(&["timer_clock"], move |of| {
            fitted(of[0].nominal / 2f64.powi(bits as i32), Dimension::FREQUENCY)
        });
        let fits = judged(&["timer_clock", "rate"], move |of| {
            let carrier = of[0].nominal / 2f64.powi(bits as i32);
            let word = if carrier >= of[1].nominal {
                "yes"
            } else {
                "no"
            };
            word.to_owned()
        });
        let noise = level(2f64.powi(bits as i32) * 1.5f64.sqrt());
        vec![
            Cell::Text(format!("{bits} bit")),
            carrier,
            fits,
            Cell::Text(format!("{noise:.1} dB")),
        ]
    };
    Table {
        caption: "Bits against carrier".to_owned(),
        columns: [
            "Bits",
            "Carrier",
            "A carrier period for each sample",
            "Signal to noise",
        ]
        .map(str::to_owned)
        .into(),
        rows: LISTED.map(row).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    fn modulator(full_scale: f64, carrier: f64, r: &[f64], c: &[f64]) -> Given {
        Given::quantities(&[
            ("full_scale", full_scale),
            ("rate", carrier),
            ("highest_note", carrier / 100.0),
            ("timer_clock", 256.0 * carrier),
        ])
        .word("output", "pwm")
        .whole("bits", 8)
        .list("resistors", r)
        .list("capacitors", c)
    }

    fn converter(full_scale: f64, bits: u64) -> Given {
        Given::quantities(&[
            ("full_scale", full_scale),
            ("rate", 8e3),
            ("highest_note", 1e3),
        ])
        .word("output", "converter")
        .whole("bits", bits)
        .list("resistors", &[1e3])
        .list("capacitors", &[1e-8])
    }

    /// Truth: mpmath (cases 05-lsb and 05-snr-exact of the published checks).
    #[test]
    fn steps_and_noise_are_those_of_the_bits() {
        for (full_scale, bits, step) in [(5.0, 10, 4.882_812_5e-3), (2.048, 16, 31.25e-6)] {
            near(
                converter(full_scale, bits).result(&KIND, "step"),
                step,
                1e-12,
            );
        }
        for (bits, decibels) in [(8, 49.925_711_9), (12, 74.008_111_55), (24, 146.255_310_5)] {
            let given = converter(1.0, bits);
            near(given.result(&KIND, "signal_to_noise"), decibels, 1e-9);
        }
    }

    /// Truth: exact ripple of one section in periodic steady state,
    /// V tanh(T / (4 R C)), by mpmath (cases 05-ripple).
    #[test]
    fn one_section_leaves_its_exact_ripple() {
        for (carrier, r, c, ripple) in [
            (15_625.0, 4.7e3, 47e-9, 238.605_067_7e-3),
            (250e3, 2.2e3, 22e-9, 68.172_117_94e-3),
        ] {
            let found = modulator(3.3, carrier, &[r], &[c]).result(&KIND, "ripple");
            near(found, ripple, 2e-4);
        }
    }

    /// Truth: 16 MHz over 2^8 is 62.5 kHz, 48 MHz leave 9.966 bit at 48 kHz, and
    /// 20 MHz over 2^9 are 39.0625 kHz (cases 05-pwmf and 05-pwmbits).
    #[test]
    fn carriers_are_those_of_the_counter() {
        let with = |clock, rate, bits| {
            Given::quantities(&[
                ("full_scale", 3.3),
                ("rate", rate),
                ("highest_note", 1e3),
                ("timer_clock", clock),
            ])
            .word("output", "pwm")
            .whole("bits", bits)
            .list("resistors", &[1e3])
            .list("capacitors", &[1e-8])
        };
        near(with(16e6, 8e3, 8).result(&KIND, "carrier"), 62_500.0, 1e-12);
        near(with(20e6, 8e3, 9).result(&KIND, "carrier"), 39_062.5, 1e-12);
        near(
            with(48e6, 48e3, 8).result(&KIND, "bits_at_rate"),
            9.965_784_285,
            1e-9,
        );
    }

    /// Truth: responses of resistor-capacitor ladders by their chain matrices,
    /// numpy 2.4.6 (tests/published/scripts/ladder.py); a single section is 3.01
    /// dB down at 1/(2 π R C), and at a quarter of the rate a held sample is
    /// 0.912 dB down (sin(x)/x).
    #[test]
    fn filters_take_what_their_chain_matrices_say() {
        let single = modulator(3.3, 62_500.0, &[1e4], &[1e-7]);
        near(single.result(&KIND, "corner"), 159.154_943_1, 1e-6);
        let given = Given::quantities(&[
            ("full_scale", 3.3),
            ("rate", 16e3),
            ("highest_note", 4e3),
            ("source_resistance", 100.0),
            ("load", 10e3),
        ])
        .word("output", "converter")
        .whole("bits", 8)
        .list("resistors", &[1e3, 2.2e3])
        .list("capacitors", &[10e-9, 4.7e-9]);
        let found = given.work(&KIND);
        near(found["hold_droop"], -0.912_1, 1e-3);
        near(found["gain"], -2.477_032_819, 1e-6);
        near(found["filter_droop"], -0.769_115_941, 1e-6);
        near(found["image"], -13.477_120_62, 1e-6);
        near(found["corner"], 8_833.290_134, 1e-6);
        near(found["droop"], found["hold_droop"] + -0.769_115_941, 1e-6);
    }

    /// Truth: tests/published/scripts/ladder.py, which solves the ladder of two
    /// sections step by step in time: what is left of a square wave after
    /// hundreds of periods.
    #[test]
    fn two_sections_leave_the_ripple_of_a_simulation() {
        let found = modulator(3.3, 31_250.0, &[1e3, 2.2e3], &[10e-9, 4.7e-9]);
        near(found.result(&KIND, "ripple"), 0.766_109_056, 1e-3);
    }

    #[test]
    fn what_does_not_hang_together_is_refused() {
        let given = modulator(3.3, 31_250.0, &[1e3], &[10e-9]);
        given.hangs_together(&KIND);
        let refusals = modulator(3.3, 31_250.0, &[1e3, 1e3], &[10e-9]).refusals(&KIND);
        assert_eq!(refusals[0].input, "capacitors");
        let no_clock =
            Given::quantities(&[("full_scale", 1.0), ("rate", 8e3), ("highest_note", 1e3)])
                .word("output", "pwm")
                .whole("bits", 8)
                .list("resistors", &[1e3])
                .list("capacitors", &[1e-8]);
        assert_eq!(no_clock.refusals(&KIND)[0].input, "output");
    }

    #[test]
    fn a_note_above_half_the_rate_has_no_droop() {
        let given = Given::quantities(&[("full_scale", 1.0), ("rate", 8e3), ("highest_note", 5e3)])
            .word("output", "converter")
            .whole("bits", 8)
            .list("resistors", &[1e3])
            .list("capacitors", &[1e-8]);
        assert!(!given.work(&KIND).contains_key("hold_droop"));
    }
}
