//! A wave as a record fixes it: its table, the accumulator that reads it, the keys
//! that play it, and the runs of samples that are measured.

use super::accumulator::{Oscillator, Wave};
use super::kind::{Inputs, Other, Refusal};
use super::plan::Unworkable;
use super::spectrum::{Measured, measure};

/// Longest run that is measured whole, in bits of its count: a spectrum of
/// 65 536 samples takes about a millisecond.
const LONGEST_RUN_BITS: u32 = 16;

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

impl Shape {
    /// Reads what a record gives.
    ///
    /// # Errors
    /// What does not go together.
    pub fn of(given: &Inputs) -> Result<Shape, Vec<Refusal>> {
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
