//! Tunings: names of notes, and how far each lies from the reference pitch.
//!
//! A note is counted in semitones from the A above middle C, which ISO 16 puts
//! at 440 Hz. What a semitone comes to is up to the tuning: the same step each
//! time, or one of twelve ratios over a tonic.

/// A note of the twelve-tone scale.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Note {
    /// As it is written: `C#5`.
    pub written: String,
    /// As names of results have it: `cs5`.
    pub id: String,
    /// Number of the note, middle C being 60 (MIDI 1.0 Detailed Specification).
    pub number: i32,
}

/// Number of the A above middle C.
pub(super) const REFERENCE: i32 = 69;

/// Names of the twelve notes of an octave, as a tonic can be called.
pub(super) const TONICS: &[&str] = &[
    "C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B", "Db", "Eb", "Gb", "Ab", "Bb",
];

/// Steps from the first note of a scale, in semitones (textbook).
const SCALES: &[(&str, &[i32])] = &[
    ("chromatic", &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]),
    ("major", &[0, 2, 4, 5, 7, 9, 11]),
    ("natural-minor", &[0, 2, 3, 5, 7, 8, 10]),
    ("harmonic-minor", &[0, 2, 3, 5, 7, 8, 11]),
    ("major-pentatonic", &[0, 2, 4, 7, 9]),
    ("minor-pentatonic", &[0, 3, 5, 7, 10]),
    ("whole-tone", &[0, 2, 4, 6, 8, 10]),
];

/// Names of the scales that are known.
pub(super) const SCALE_NAMES: &[&str] = &[
    "chromatic",
    "major",
    "natural-minor",
    "harmonic-minor",
    "major-pentatonic",
    "minor-pentatonic",
    "whole-tone",
];

impl Note {
    /// Reads a note: a letter, at most two sharps or flats, and the octave that
    /// begins with the C at or below it; middle C is C4.
    ///
    /// # Errors
    /// What is wrong with the text, as the end of a sentence that begins with it.
    pub fn parse(written: &str) -> Result<Note, &'static str> {
        let mut rest = written.chars();
        let letter = rest.next().map(|letter| letter.to_ascii_uppercase());
        let of_letter = |letter| "C.D.EF.G.A.B".find(letter).filter(|_| letter != '.');
        let Some(step) = letter.and_then(of_letter) else {
            return Err("does not begin with a letter from A to G");
        };
        let mut rest = rest.as_str();
        let mut id = letter.unwrap_or_default().to_ascii_lowercase().to_string();
        let mut shift: i32 = 0;
        while let Some(sign) = rest.chars().next() {
            match sign {
                '#' | '♯' => (shift, id) = (shift + 1, id + "s"),
                'b' | '♭' => (shift, id) = (shift - 1, id + "b"),
                _ => break,
            }
            rest = &rest[sign.len_utf8()..];
        }
        if shift.abs() > 2 || id.len() > 3 {
            return Err("has more than two sharps or flats");
        }
        let Ok(octave) = rest.parse::<i32>() else {
            return Err("does not end with the number of its octave");
        };
        // The position of a letter in a string of twelve.
        let number = 12 * octave.clamp(-9, 99) + 12 + step as i32 + shift;
        if !(0..=127).contains(&number) {
            return Err("is not one of the 128 notes from C-1 to G9");
        }
        Ok(Note {
            written: written.to_owned(),
            id: id + &octave.to_string().replace('-', "m"),
            number,
        })
    }

    /// The note of a number, with a sharp where it needs one.
    pub fn of_number(number: i32) -> Note {
        let name = TONICS[number.rem_euclid(12) as usize];
        let octave = number.div_euclid(12) - 1;
        Note {
            written: format!("{name}{octave}"),
            id: format!("{}{octave}", name.replace('#', "s").to_lowercase()).replace('-', "m"),
            number,
        }
    }

    /// So many notes of a scale that begins with this one, as far up as there
    /// are notes.
    pub fn climb(&self, scale: &str, count: usize) -> Vec<Note> {
        let steps = SCALES.iter().find(|(name, _)| *name == scale);
        let steps = steps.map_or(&[][..], |(_, steps)| steps);
        let octaves = (0..).step_by(12);
        let climb = octaves.flat_map(|octave| steps.iter().map(move |step| octave + step));
        let rest = climb.skip(1).map(|step| self.number + step);
        let rest = rest
            .take_while(|number| *number <= 127)
            .map(Note::of_number);
        let mut notes = vec![self.clone()];
        if steps.len() > 1 {
            notes.extend(rest.take(count.saturating_sub(1)));
        }
        notes
    }
}

/// A tuning of the twelve-tone scale.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Tuning {
    /// Twelve equal steps in an octave.
    Equal,
    /// Ratios of small whole numbers over the tonic.
    Just,
    /// A chain of pure fifths.
    Pythagorean,
    /// A chain of fifths that are narrow by a quarter of a comma, so that
    /// thirds are pure.
    Meantone,
}

/// Names of the tunings.
pub(super) const TUNING_NAMES: &[&str] =
    &["equal", "just", "pythagorean", "quarter-comma-meantone"];

/// Ratios of the twelve degrees over the tonic in five-limit just intonation
/// (textbook; there are other choices for the second, the tritone and the
/// minor seventh).
const JUST: [&str; 12] = [
    "1", "16/15", "9/8", "6/5", "5/4", "4/3", "45/32", "3/2", "8/5", "5/3", "9/5", "15/8",
];

/// Ratios of a chain of pure fifths, five down and six up from the tonic
/// (textbook).
const PYTHAGOREAN: [&str; 12] = [
    "1", "256/243", "9/8", "32/27", "81/64", "4/3", "729/512", "3/2", "128/81", "27/16", "16/9",
    "243/128",
];

/// Ratios of a chain of fifths of 5^(1/4), three down and eight up from the
/// tonic (textbook: quarter-comma meantone, E flat to G sharp over C).
const MEANTONE: [&str; 12] = [
    "1",
    "5^(7/4)/16",
    "5^(1/2)/2",
    "4/5^(3/4)",
    "5/4",
    "2/5^(1/4)",
    "5^(3/2)/8",
    "5^(1/4)",
    "25/16",
    "5^(3/4)/2",
    "4/5^(1/2)",
    "5^(5/4)/4",
];

impl Tuning {
    /// The tuning of a name; equal temperament where it is none of the others.
    pub fn of_name(name: &str) -> Tuning {
        match name {
            "just" => Tuning::Just,
            "pythagorean" => Tuning::Pythagorean,
            "quarter-comma-meantone" => Tuning::Meantone,
            _ => Tuning::Equal,
        }
    }

    /// Where its intervals are from.
    pub fn source(self) -> &'static str {
        match self {
            Tuning::Equal => "equal temperament on the reference pitch (ISO 16)",
            Tuning::Just => "textbook: five-limit just intonation",
            Tuning::Pythagorean => "textbook: a chain of pure fifths",
            Tuning::Meantone => "textbook: quarter-comma meantone",
        }
    }

    /// The interval from the A above middle C to a note, as a formula. The A
    /// keeps its pitch whatever the tonic.
    pub fn interval(self, number: i32, tonic: &str) -> String {
        let ratios = match self {
            Tuning::Equal => return format!("2^({} / 12)", number - REFERENCE),
            Tuning::Just => JUST,
            Tuning::Pythagorean => PYTHAGOREAN,
            Tuning::Meantone => MEANTONE,
        };
        let tonic = Note::parse(&format!("{tonic}0")).map_or(12, |note| note.number);
        let degree = |number: i32| ratios[(number - tonic).rem_euclid(12) as usize];
        let octave = |number: i32| (number - tonic).div_euclid(12);
        let mut text = format!("({})", degree(number));
        if degree(REFERENCE) != "1" {
            text += &format!(" / ({})", degree(REFERENCE));
        }
        match octave(number) - octave(REFERENCE) {
            0 => text,
            octaves => format!("{text} * 2^({octaves})"),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::check::near;
    use super::*;
    use crate::formula::Formula;

    fn cents(tuning: Tuning, from: &str, to: &str) -> f64 {
        let pitch = |note: &str| -> f64 {
            let text = tuning.interval(Note::parse(note).unwrap().number, "C");
            Formula::parse(&text).unwrap().evaluate(&[]).unwrap()
        };
        1200.0 * (pitch(to) / pitch(from)).log2()
    }

    /// Truth: numbers of notes by music21 10.5.1 and librosa 0.11.0
    /// (cases 04-midi and 04-enh of the published checks).
    #[test]
    fn notes_have_their_numbers() {
        let known = [
            ("C#2", 37),
            ("C4", 60),
            ("A4", 69),
            ("F#6", 90),
            ("Db4", 61),
            ("Eb3", 51),
            ("Gb5", 78),
            ("Ab2", 44),
            ("Cb5", 71),
            ("B#3", 60),
        ];
        for (name, number) in known {
            assert_eq!(Note::parse(name).unwrap().number, number, "{name}");
        }
        assert_eq!(Note::parse("C-1").unwrap().id, "cm1");
        assert_eq!(Note::parse("b♭3").unwrap().id, "bb3");
    }

    #[test]
    fn what_is_no_note_says_why() {
        for text in [
            "",
            "H4",
            "C",
            "4",
            "Cx4",
            "C###4",
            "C12",
            "C4 ",
            "A99999999999",
            "G#9",
            "♯",
        ] {
            assert!(Note::parse(text).is_err(), "{text}");
        }
    }

    /// Truth: sizes of just intervals by mpmath (cases 04-just of the published
    /// checks), of the syntonic and the Pythagorean comma (04-comma).
    #[test]
    fn intervals_have_their_sizes() {
        near(cents(Tuning::Just, "C4", "D4"), 203.910_002, 1e-8);
        near(cents(Tuning::Just, "C4", "A#4"), 1_017.596_29, 1e-8);
        near(cents(Tuning::Just, "C4", "C5"), 1200.0, 1e-12);
        near(cents(Tuning::Equal, "C4", "G4"), 700.0, 1e-12);
        let comma = cents(Tuning::Pythagorean, "C4", "E4") - cents(Tuning::Just, "C4", "E4");
        near(comma, 21.506_289_6, 1e-8);
        near(cents(Tuning::Meantone, "C4", "E4"), 386.313_713_9, 1e-9);
        near(cents(Tuning::Meantone, "G4", "D5"), 696.578_428_5, 1e-9);
    }

    /// Truth: a chain of twelve fifths closes but for the wolf (textbook): in
    /// quarter-comma meantone G sharp to E flat is 737.637 cents.
    #[test]
    fn every_fifth_but_the_wolf_is_the_same() {
        for (tuning, fifth, wolf) in [
            (Tuning::Pythagorean, 701.955, ("F#4", "C#5", 678.495)),
            (Tuning::Meantone, 696.578, ("G#4", "D#5", 737.637)),
        ] {
            for number in 60..72 {
                let (low, high) = (Note::of_number(number), Note::of_number(number + 7));
                let size = cents(tuning, &low.written, &high.written);
                let is_wolf = low.written == wolf.0;
                let expected = if is_wolf { wolf.2 } else { fifth };
                assert!((size - expected).abs() < 1e-3, "{low:?} {size}");
            }
        }
    }

    #[test]
    fn scales_climb_and_stop_at_the_top() {
        let names = |first: &str, scale: &str, count| -> Vec<String> {
            let notes = Note::parse(first).unwrap().climb(scale, count);
            notes.into_iter().map(|note| note.written).collect()
        };
        let wanted = ["C5", "D5", "E5", "G5", "A5", "C6"];
        assert_eq!(names("C5", "major-pentatonic", 6), wanted);
        assert_eq!(names("G9", "chromatic", 500), ["G9"]);
        for scale in SCALE_NAMES {
            assert_eq!(names("C2", scale, 9).len(), 9, "{scale}");
        }
    }

    #[test]
    fn the_a_keeps_its_pitch_whatever_the_tonic() {
        for tuning in [Tuning::Just, Tuning::Pythagorean, Tuning::Meantone] {
            for tonic in TONICS {
                let text = tuning.interval(REFERENCE, tonic);
                let pitch: f64 = Formula::parse(&text).unwrap().evaluate(&[]).unwrap();
                near(pitch, 1.0, 1e-15);
            }
        }
    }
}
