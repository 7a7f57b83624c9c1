//! A wave in a table, read out by phase accumulators: how clean it is, how loud
//! its voices may be together, and how it sounds.

use super::accumulator::{Oscillator, Wave};
use super::kind::{Hazard, Input, Inputs, Kind, Other, Refusal, Takes, may_take, optional, takes};
use super::plan::{Axis, Cell, Curves, Plan, Planned, Plot, Procedure, Table, Unworkable};
use super::purity::purity;
use super::score::sounds;
use super::spectrum::{Measured, measure};
use super::sums::{Together, together};
use super::voices::Sum;
use crate::quantity::Dimension;

pub(super) static KIND: WaveTable = WaveTable;

/// The kind `wave-table`.
#[derive(Debug)]
pub(super) struct WaveTable;

pub(super) const ARITHMETIC: &str = "arithmetic";
const SUMS: &str = "textbook: the distribution of a sum of independent draws";

/// Longest period that is drawn.
const DRAWN: u64 = 1024;

/// Longest run that is measured whole, in bits of its count: a spectrum of
/// 65 536 samples takes about a millisecond.
const LONGEST_RUN_BITS: u32 = 16;

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

/// What a record fixes of the wave, beside the amplitudes of its harmonics.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    pub length: u64,
    pub bits: u32,
    pub interpolated: bool,
    pub accumulator: u32,
    pub voices: u64,
    pub output_bits: u32,
    pub harmonics: Vec<String>,
    /// What each key is called.
    pub keys: Vec<Key>,
    /// Name that formulas know the sample rate by.
    pub rate: String,
    /// Places of the keys of each chord.
    pub chords: Vec<Vec<usize>>,
}

/// A key that plays a note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Key {
    /// Its name in those of results and files: `cs5`.
    pub id: String,
    /// What it is called: `C#5`.
    pub title: String,
    /// Name that formulas know its increment by.
    pub increment: String,
}

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

impl Shape {
    fn of(given: &Inputs) -> Result<Shape, Vec<Refusal>> {
        let mut wrong = Vec::new();
        let whole = |name: &str, otherwise: u64| given.whole(name).unwrap_or(otherwise);
        let length = whole("length", 2);
        if !length.is_power_of_two() {
            let above = length.next_power_of_two();
            wrong.push(Refusal::new(
                "length",
                format!(
                    "a table of {length} entries cannot be addressed by the top bits of a phase"
                ),
                format!("make it {} or {above} entries", above / 2),
            ));
        }
        let harmonics = given.listed("harmonics");
        if harmonics.len() as u64 * 2 >= length && !harmonics.is_empty() {
            wrong.push(Refusal::new(
                "harmonics",
                format!("{length} entries cannot hold {} harmonics", harmonics.len()),
                "give the table more than two entries for each harmonic",
            ));
        }
        let (keys, rate, accumulator) = match given.working("notes") {
            Some(table) => of_table(table, given, &mut wrong),
            None => of_record(given, &mut wrong),
        };
        let bits = whole("bits", 2) as u32;
        let voices = whole("voices", 1);
        let mut chords = Vec::new();
        for chord in given.words("chords") {
            match self::chord(chord, &keys, voices) {
                Ok(keys) => chords.push(keys),
                Err(refusal) => wrong.push(refusal),
            }
        }
        if chords.len() > 64 {
            wrong.push(Refusal::new(
                "chords",
                "there are more than 64 chords",
                "take some out",
            ));
        }
        for name in ["chords", "decay", "speaker_corner"] {
            if given.has(name) && !given.has("duration") {
                wrong.push(Refusal::new(
                    name,
                    format!("`{name}` says nothing without `duration`"),
                    "give `duration`, how long each key is heard",
                ));
            }
        }
        if given.has("speaker_order") && !given.has("speaker_corner") {
            wrong.push(Refusal::new(
                "speaker_order",
                "`speaker_order` says nothing without `speaker_corner`",
                "give the corner too, or take it out",
            ));
        }
        if !wrong.is_empty() {
            return Err(wrong);
        }
        Ok(Shape {
            length,
            bits,
            interpolated: given.word("interpolation") == Some("linear"),
            accumulator: accumulator as u32,
            rate,
            voices,
            output_bits: whole("output_bits", u64::from(bits)) as u32,
            harmonics,
            keys,
            chords,
        })
    }

    pub fn address_bits(&self) -> u32 {
        self.length.trailing_zeros()
    }

    /// The wave for values of its harmonics.
    pub fn wave(&self, harmonics: &[f64]) -> Result<Wave, Unworkable> {
        let sine = [1.0];
        let harmonics = if harmonics.is_empty() {
            &sine
        } else {
            harmonics
        };
        let wave = Wave::new(self.address_bits(), self.bits, harmonics, self.interpolated);
        wave.ok_or_else(|| {
            Unworkable::new(
                "has no value, for the wave is silent",
                "give a harmonic an amplitude, and the table enough entries for it",
            )
        })
    }

    /// Operands that begin with these and end with the amplitudes.
    pub fn operands(&self, first: &[&str]) -> Vec<String> {
        let first = first.iter().map(|&name| name.to_owned());
        first.chain(self.harmonics.iter().cloned()).collect()
    }

    /// A run of whole periods at an increment, and how many it holds: the very
    /// samples of the firmware where they come round soon enough, and else those
    /// of an increment close by.
    pub fn run(&self, increment: f64, harmonics: &[f64]) -> Result<(Vec<i32>, usize), Unworkable> {
        let wave = self.wave(harmonics)?;
        let (bits, periods) = match self.comes_round(increment) {
            Some(run) => run,
            None => self.close_by(increment)?,
        };
        let mut samples = vec![0; 1 << bits];
        wave.fill(&mut Oscillator::new(bits, periods), &mut samples);
        Ok((samples, periods as usize))
    }

    /// Bits and periods of the run after which an accumulator is where it began.
    /// What an increment and the accumulator's range share makes it shorter, and
    /// the samples cleaner: fewer phases are met, and all of them again and again.
    fn comes_round(&self, increment: f64) -> Option<(u32, u64)> {
        let range = 2f64.powi(self.accumulator as i32);
        let is_played = increment >= 1.0 && 2.0 * increment < range && increment.fract() == 0.0;
        if !is_played {
            return None;
        }
        // Below half the range of 64 bits at most.
        let increment = increment as u64;
        let shared = increment.trailing_zeros();
        let bits = self.accumulator - shared;
        (bits <= LONGEST_RUN_BITS).then_some((bits, increment >> shared))
    }

    /// Bits and periods of a run that is as good as that of an increment which
    /// does not come round soon.
    fn close_by(&self, increment: f64) -> Result<(u32, u64), Unworkable> {
        // Sixteen samples of each entry's width show what its truncation does.
        let count = (16 * self.length).clamp(4096, 1 << 18);
        let bits = count.trailing_zeros().min(self.accumulator);
        let count = 1u64 << bits;
        let wanted = increment * 2f64.powi(bits as i32 - self.accumulator as i32);
        let below_half = increment > 0.0 && 2.0 * wanted < count as f64;
        if !below_half || count < 8 {
            return Err(Unworkable::new(
                format!(
                    "has no value at an increment of {increment} in {} bit",
                    self.accumulator
                ),
                "keep notes below half the sample rate, and the accumulator above two bits",
            ));
        }
        // An odd number of periods shares no factor with a power of two.
        let periods = (2 * (wanted / 2.0).floor() as u64 + 1).min(count / 2 - 1);
        Ok((bits, periods))
    }

    pub fn measured(&self, of: &[f64]) -> Result<Measured, Unworkable> {
        let [increment, harmonics @ ..] = of else {
            return Err(Unworkable::new("lacks its increment", "give one"));
        };
        let (samples, periods) = self.run(*increment, harmonics)?;
        let wanted = |harmonic: usize| match harmonics {
            [] => harmonic == 1,
            listed => listed
                .get(harmonic - 1)
                .is_some_and(|amplitude| *amplitude != 0.0),
        };
        Ok(measure(&samples, periods, harmonics.len().max(1), wanted))
    }
}

/// Keys, name of the sample rate and width of the accumulator from a note table.
fn of_table(table: &Other, given: &Inputs, wrong: &mut Vec<Refusal>) -> (Vec<Key>, String, u64) {
    for name in ["increments", "rate", "accumulator"] {
        if given.has(name) {
            wrong.push(Refusal::new(
                name,
                format!(
                    "the note table `{}` leaves nothing for `{name}` to say",
                    table.id
                ),
                format!("take out `{name}`, or `notes`"),
            ));
        }
    }
    let Some(accumulator) = table.inputs.whole("accumulator") else {
        wrong.push(Refusal::new(
            "notes",
            format!("the note table `{}` has no phase accumulator", table.id),
            "give it `accumulator` and `rate`",
        ));
        return (Vec::new(), String::new(), 1);
    };
    let keys = table.results.iter().filter_map(|result| {
        let id = result.name.strip_suffix(".increment")?;
        let label = result.label.as_deref().unwrap_or(id);
        Some(Key {
            id: id.to_owned(),
            title: label.trim_end_matches(" increment").to_owned(),
            increment: format!("notes.{}", result.name),
        })
    });
    (keys.collect(), "notes.rate".to_owned(), accumulator)
}

/// The same from what the record itself gives.
fn of_record(given: &Inputs, wrong: &mut Vec<Refusal>) -> (Vec<Key>, String, u64) {
    for name in ["increments", "rate", "accumulator"] {
        if !given.has(name) {
            wrong.push(Refusal::new(
                "length",
                format!("without a note table, `{name}` is wanted"),
                format!(
                    "add `notes = \"…\"`, the id of a working of kind `note-table`, or `{name}`"
                ),
            ));
        }
    }
    let names = given.names("increments");
    if names.len() > 128 || given.has("increments") && names.is_empty() {
        wrong.push(Refusal::new(
            "increments",
            format!("there are increments for {} keys", names.len()),
            "give 1 to 128 of them, as in `increments = { a4 = \"3604\" }`",
        ));
    }
    let key = |id: &&str| Key {
        id: (*id).to_owned(),
        title: id.to_uppercase(),
        increment: format!("increments.{id}"),
    };
    let accumulator = given.whole("accumulator").unwrap_or(1);
    (
        names.iter().map(key).collect(),
        "rate".to_owned(),
        accumulator,
    )
}

/// The keys of a chord by their places.
fn chord(text: &str, keys: &[Key], voices: u64) -> Result<Vec<usize>, Refusal> {
    let mut chord = Vec::new();
    for word in text.split_whitespace() {
        let id = word
            .to_lowercase()
            .replace(['#', '♯'], "s")
            .replace('♭', "b");
        let Some(at) = keys.iter().position(|key| key.id == id) else {
            let ids: Vec<&str> = keys.iter().map(|key| key.id.as_str()).collect();
            return Err(Refusal::new(
                "chords",
                format!("the chord `{text}` has no key `{word}`"),
                format!("keys are {}", ids.join(", ")),
            ));
        };
        if chord.contains(&at) {
            return Err(Refusal::new(
                "chords",
                format!("the chord `{text}` has `{word}` twice"),
                "name each key once",
            ));
        }
        chord.push(at);
    }
    if chord.len() < 2 || chord.len() as u64 > voices {
        return Err(Refusal::new(
            "chords",
            format!(
                "the chord `{text}` has {} voices, and there are {voices}",
                chord.len()
            ),
            "name at least two keys, and give `voices` as many as sound at once",
        ));
    }
    Ok(chord)
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
