//! The keys of an instrument: which notes they play, and at what frequency.

use super::kind::{Inputs, Refusal};
use super::tuning::{Note, Tuning};

/// Most keys of one table: a grand piano has 88.
pub(super) const MOST: usize = 128;

/// A key: the name of its results, what it is called, and its frequency.
pub(super) struct Key {
    pub id: String,
    pub written: String,
    pub frequency: String,
    pub source: &'static str,
    /// What equal temperament would give, where the tuning is another.
    pub equal: Option<String>,
}

/// The keys with their frequencies.
pub(super) fn keys(given: &Inputs) -> Result<Vec<Key>, Vec<Refusal>> {
    let written = given.words("notes");
    if written.is_empty() || written.len() > MOST {
        return Err(vec![Refusal::new(
            "notes",
            format!("`notes` names {} notes", written.len()),
            format!("name 1 to {MOST} of them, as in `notes = [\"C5\", \"D5\"]`"),
        )]);
    }
    let keys = if given.has("ratios") {
        by_ratios(given, written)
    } else {
        by_tuning(given, written)
    }?;
    for (at, key) in keys.iter().enumerate() {
        if keys[..at].iter().any(|other| other.id == key.id) {
            return Err(vec![Refusal::new(
                "notes",
                format!("the note `{}` stands twice", key.written),
                "name each note once: keys that play the same note share its row",
            )]);
        }
    }
    Ok(keys)
}

/// Keys whose notes have names of their own, each with its ratio.
fn by_ratios(given: &Inputs, written: &[String]) -> Result<Vec<Key>, Vec<Refusal>> {
    let ratios = given.listed("ratios");
    let mut wrong = Vec::new();
    if ratios.len() != written.len() {
        wrong.push(Refusal::new(
            "ratios",
            format!("{} notes have {} ratios", written.len(), ratios.len()),
            "give each note its ratio to the base frequency",
        ));
    }
    if !given.has("base") {
        wrong.push(Refusal::new(
            "ratios",
            "ratios need a frequency that they are ratios to",
            "add `base = \"…\"`, a frequency",
        ));
    }
    for input in ["tuning", "tonic", "scale", "count", "reference"] {
        if given.has(input) {
            wrong.push(Refusal::new(
                input,
                format!("`ratios` leave nothing for `{input}` to say"),
                format!("take out `{input}`, or `ratios`"),
            ));
        }
    }
    let mut keys = Vec::new();
    for (name, ratio) in written.iter().zip(&ratios) {
        let id = id_of(name);
        if !id.starts_with(|c: char| c.is_ascii_lowercase()) {
            wrong.push(Refusal::new(
                "notes",
                format!("`{name}` cannot name a note"),
                "begin its name with a letter from a to z",
            ));
        }
        keys.push(Key {
            id,
            written: name.clone(),
            frequency: format!("base * {}", stretched(given, ratio)),
            source: "as given",
            equal: None,
        });
    }
    if wrong.is_empty() {
        Ok(keys)
    } else {
        Err(wrong)
    }
}

/// A name as names of results have it: `first_stone`.
fn id_of(name: &str) -> String {
    let fit = |c: char| match c.to_ascii_lowercase() {
        c if c.is_ascii_alphanumeric() => c,
        _ => '_',
    };
    name.chars().map(fit).collect()
}

/// Keys that play notes of the twelve-tone scale.
fn by_tuning(given: &Inputs, written: &[String]) -> Result<Vec<Key>, Vec<Refusal>> {
    let mut wrong = Vec::new();
    if given.has("base") {
        wrong.push(Refusal::new(
            "base",
            "`base` says nothing without `ratios`",
            "take it out, or give `reference`, the pitch of the A above middle C",
        ));
    }
    let mut notes = Vec::new();
    for name in written {
        match Note::parse(name) {
            Ok(note) => notes.push(note),
            Err(why) => wrong.push(Refusal::new(
                "notes",
                format!("`{name}` is no note: it {why}"),
                "write notes as `C4` (middle C), `F#5` or `Bb3`; for names of your own give `ratios` and `base`",
            )),
        }
    }
    match (given.word("scale"), notes.first()) {
        (Some(scale), Some(first)) if wrong.is_empty() => {
            if notes.len() > 1 {
                wrong.push(Refusal::new(
                    "notes",
                    "with `scale`, the notes but the first come by themselves",
                    format!("write `notes = [\"{}\"]`", first.written),
                ));
            }
            let count = given.whole("count").map_or(8, |count| count as usize);
            let climbed = first.climb(scale, count);
            if climbed.len() < count {
                wrong.push(Refusal::new(
                    "count",
                    format!(
                        "from {} the scale has {} notes",
                        first.written,
                        climbed.len()
                    ),
                    "begin lower, or ask for fewer",
                ));
            }
            notes = climbed;
        }
        (None, _) if given.has("count") => wrong.push(Refusal::new(
            "count",
            "`count` says nothing without `scale`",
            "name a scale, or take it out",
        )),
        _ => {}
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let tuning = Tuning::of_name(given.word("tuning").unwrap_or("equal"));
    let tonic = given.word("tonic").unwrap_or("C");
    let reference = if given.has("reference") {
        "reference"
    } else {
        "440 Hz"
    };
    let of = |tuning: Tuning, note: &Note| {
        let interval = tuning.interval(note.number, tonic);
        format!("{reference} * {}", stretched(given, &interval))
    };
    let keys = notes.into_iter().map(|note| Key {
        frequency: of(tuning, &note),
        equal: (tuning != Tuning::Equal).then(|| of(Tuning::Equal, &note)),
        source: tuning.source(),
        id: note.id,
        written: note.written,
    });
    Ok(keys.collect())
}

/// An interval, wider by the stretch of each octave.
fn stretched(given: &Inputs, interval: &str) -> String {
    if given.has("stretch") {
        format!("({interval})^(1 + stretch / (1200 cent))")
    } else {
        interval.to_owned()
    }
}
