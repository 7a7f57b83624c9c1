//! A wave in a table, read out by phase accumulators: how clean it is, how loud
//! its voices may be together, and how it sounds.

use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes, may_take, optional, takes};
use super::plan::{Axis, Cell, Curves, Plan, Planned, Plot, Procedure, Table, Unworkable};
use super::purity::purity;
use super::score::sounds;
use super::sums::{Together, together};
use super::voices::Sum;
use super::wave_shape::Shape;
use crate::quantity::Dimension;

pub(super) static KIND: WaveTable = WaveTable;

/// The kind `wave-table`.
#[derive(Debug)]
pub(super) struct WaveTable;

pub(super) const ARITHMETIC: &str = "arithmetic";
const SUMS: &str = "textbook: the distribution of a sum of independent draws";

/// Longest period that is drawn.
const DRAWN: u64 = 1024;

const INPUTS: &[Input] = &[
    takes(
        "length",
        "Entries of the table, a power of two",
        Takes::Whole(2..=65_536),
    ),
    takes("bits", "Bits of an entry", Takes::Whole(2..=24)),
    may_take(
        "format",
        "Whether entries have a sign; they do if nothing is said",
        Takes::Word(&["signed", "unsigned"]),
    ),
    may_take(
        "harmonics",
        "Amplitudes of the harmonics, the fundamental first; a sine if nothing is said",
        Takes::Quantities(Dimension::ONE, 1..=32),
    ),
    may_take(
        "interpolation",
        "What happens between two entries; nothing if nothing is said",
        Takes::Word(&["none", "linear"]),
    ),
    may_take(
        "notes",
        "Notes that the keys play, with accumulator and sample rate",
        Takes::Working(&["note-table"]),
    ),
    may_take(
        "accumulator",
        "Width of the phase accumulator in bits, in place of a note table's",
        Takes::Whole(1..=64),
    ),
    optional(
        "rate",
        "Sample rate, in place of a note table's",
        Dimension::FREQUENCY,
    )
    .above_zero(),
    may_take(
        "increments",
        "Increment of each key, in place of a note table's",
        Takes::ByName(Dimension::ONE),
    )
    .above_zero(),
    may_take(
        "voices",
        "Voices that can sound at once; one if nothing is said",
        Takes::Whole(1..=32),
    ),
    may_take(
        "output_bits",
        "Bits that the output takes; as many as an entry has if nothing is said",
        Takes::Whole(2..=24),
    ),
    may_take(
        "shift",
        "By how many bits the sum is shifted down; as many as never clip if nothing is said",
        Takes::Whole(0..=31),
    ),
    optional(
        "clipping",
        "Share of samples that may clip when all voices are at their loudest",
        Dimension::ONE,
    )
    .above_zero(),
    may_take(
        "chords",
        "Keys that are heard together, each chord a text such as `c5 g5`",
        Takes::Words,
    ),
    optional("duration", "How long each key is heard", Dimension::TIME).above_zero(),
    optional(
        "decay",
        "Time in which a voice falls to 1/e; it lasts if nothing is said",
        Dimension::TIME,
    )
    .above_zero(),
    optional(
        "speaker_corner",
        "Frequency below which the speaker rolls off, at half its power",
        Dimension::FREQUENCY,
    )
    .above_zero(),
    may_take(
        "speaker_order",
        "Order of the roll-off; two (a sealed box) if nothing is said",
        Takes::Whole(1..=4),
    ),
];

impl Kind for WaveTable {
    fn name(&self) -> &'static str {
        "wave-table"
    }

    fn title(&self) -> &'static str {
        "Wave in a table"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn hazards(&self) -> &'static [Hazard] {
        &[Hazard::LoudSound]
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let shape = Shape::of(given)?;
        let mut plan = Plan::default();
        let signed = given.word("format") != Some("unsigned");
        table(&mut plan, &shape, signed);
        purity(&mut plan, &shape);
        sums(&mut plan, &shape, given);
        if given.has("duration") {
            sounds(&mut plan, &shape, given);
        }
        Ok(plan)
    }
}

/// The table itself.
fn table(plan: &mut Plan, shape: &Shape, signed: bool) {
    // A controller holds whole bytes, and three of them as four.
    let bytes = shape.bits.div_ceil(8).next_power_of_two();
    plan.results.push(Planned::formula(
        "memory",
        "Memory of the table",
        format!("{} * {bytes} byte", shape.length),
        "arithmetic: an entry takes one, two or four bytes",
    ));
    let increments: Vec<String> = shape.keys.iter().map(|key| key.increment.clone()).collect();
    together(
        &mut plan.results,
        Together::Greatest,
        ("highest_increment", "Increment of the highest note"),
        &increments,
        "comparison",
    );
    plan.results.push(Planned::formula(
        "highest_note",
        "Frequency of the highest note",
        format!(
            "highest_increment * {} / 2^{}",
            shape.rate, shape.accumulator
        ),
        "textbook: tuning equation of direct digital synthesis",
    ));
    if shape.length <= DRAWN {
        let of = shape.clone();
        plan.plots.push(Plot {
            name: "wave",
            marks: Vec::new(),
            lines: Vec::new(),
            title: "One period of the wave, as the firmware holds it".to_owned(),
            x: Axis::even("Address", ""),
            y: Axis::even("Entry", ""),
            operands: shape.harmonics.clone(),
            curves: Curves::new(move |harmonics| {
                let wave = of.wave(harmonics)?;
                let entries = wave.entries(signed).enumerate();
                let points = entries.map(|(at, entry)| (at as f64, f64::from(entry)));
                Ok(vec![("entry".to_owned(), points.collect())])
            }),
        });
    }
}

/// Voices summed.
fn sums(plan: &mut Plan, shape: &Shape, given: &Inputs) {
    let (voices, bits, output) = (shape.voices, shape.bits, shape.output_bits);
    let sum = format!("{voices} * (2^{} - 1)", bits - 1);
    let mut formula = |name, means: &str, formula: String, source| {
        plan.results
            .push(Planned::formula(name, means, formula, source));
    };
    formula(
        "sum_bits",
        "Bits that the sum of all voices needs",
        format!("(1 + ceil(log2({sum} + 1))) * 1 bit"),
        ARITHMETIC,
    );
    formula(
        "safe_shift",
        "Least shift of the sum that never clips",
        format!("max(0, ceil(log2(({sum} + 1) / 2^{})))", output - 1),
        ARITHMETIC,
    );
    let used = given
        .whole("shift")
        .map_or_else(|| "safe_shift".to_owned(), |shift| shift.to_string());
    formula(
        "used_shift",
        "Shift of the sum that is used",
        used,
        "as given",
    );
    formula(
        "headroom",
        "Full scale against all voices at their peaks together",
        format!("field_level(2^({} + used_shift) / ({sum}))", output - 1),
        ARITHMETIC,
    );
    let of = shape.clone();
    let chance = Procedure::new(move |operands| {
        let [shift, harmonics @ ..] = operands else {
            return Ok(0.0);
        };
        let sum = Sum::of(&of.wave(harmonics)?, of.voices as usize);
        // What is shifted down to the greatest output still fits.
        let limit = 2f64.powf(f64::from(of.output_bits) - 1.0 + shift) - 1.0;
        Ok(sum.chance_beyond(limit))
    });
    plan.results.push(Planned::procedure(
        "clipping_chance",
        "Share of samples that clip when all voices are at their loudest",
        Dimension::ONE,
        shape.operands(&["used_shift"]),
        chance,
        SUMS,
    ));
    let mut rows = vec![
        ("Bits of the sum", "sum_bits"),
        ("Shift that never clips", "safe_shift"),
        ("Shift that is used", "used_shift"),
        ("Headroom at that shift", "headroom"),
        (
            "Samples that clip there, all voices at their loudest",
            "clipping_chance",
        ),
    ];
    if given.has("clipping") {
        let of = shape.clone();
        let won = Procedure::new(move |operands| {
            let [share, harmonics @ ..] = operands else {
                return Ok(0.0);
            };
            let sum = Sum::of(&of.wave(harmonics)?, of.voices as usize);
            let kept = sum.kept_by_all_but(*share);
            if kept <= 0.0 {
                return Err(Unworkable::new(
                    "has no value: all samples may clip",
                    "let less than all of them clip, `0.1 %` for instance",
                ));
            }
            Ok(20.0 * (sum.peak() / kept).log10())
        });
        plan.results.push(Planned::procedure(
            "gain_won",
            "Gain over the scaling that never clips, with the stated share of samples clipped",
            Dimension::DECIBEL,
            shape.operands(&["clipping"]),
            won,
            SUMS,
        ));
        rows.push(("Gain won if the stated share may clip", "gain_won"));
    }
    let row = |&(what, name): &(&str, &str)| {
        vec![Cell::Text(what.to_owned()), Cell::Value(name.to_owned())]
    };
    plan.tables.push(Table {
        caption: format!("Sum of {voices} voices in {output} bit"),
        columns: ["What it is", "Value"].map(str::to_owned).into(),
        rows: rows.iter().map(row).collect(),
    });
    plan.tables.push(Table {
        caption: "Table".to_owned(),
        columns: ["What it is", "Value"].map(str::to_owned).into(),
        rows: vec![
            vec![
                Cell::Text("Entries".to_owned()),
                Cell::Text(format!(
                    "{} of {bits} bit{}",
                    shape.length,
                    if shape.interpolated {
                        ", straight lines between them"
                    } else {
                        ""
                    }
                )),
            ],
            vec![
                Cell::Text("Memory".to_owned()),
                Cell::Value("memory".to_owned()),
            ],
        ],
    });
}
