//! Which notes a speaker keeps: the level of each note's fundamental and
//! harmonics at the listener.

use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes, may_take, optional, takes};
use super::notes_taken::{NOTE, NOTES, Note, WITHIN, notes, spoken};
use super::plan::{Cell, Judge, Plan, Planned, Procedure, Table, Unworkable};
use super::speaker::Speaker;
use super::speaker_rolloff::{operands, speakers};
use crate::quantity::{Dimension, Level, Outcome};

pub(super) static KIND: AudibleNotes = AudibleNotes;

/// The kind `audible-notes`.
#[derive(Debug)]
pub(super) struct AudibleNotes;

const DROP: &str = "response of the speaker at the note";
const KEPT: &str = "10 dB as in IEC 60268-5, effective frequency range, where nothing else is said";
/// More levels than these make no table that anybody reads.
const MOST_LEVELS: usize = 2000;

const INPUTS: &[Input] = &[
    takes(
        "speakers",
        "Speakers that play",
        Takes::Working(&["speaker-rolloff"]),
    ),
    NOTES,
    NOTE,
    WITHIN,
    optional(
        "level",
        "Level in the pass band at the listener",
        Dimension::level(Level::SoundPressure),
    ),
    may_take(
        "overtones",
        "Level of the second, third and further harmonic of the tone against its fundamental",
        Takes::Quantities(Dimension::DECIBEL, 1..=15),
    ),
];

impl Kind for AudibleNotes {
    fn name(&self) -> &'static str {
        "audible-notes"
    }

    fn title(&self) -> &'static str {
        "Notes that a speaker keeps"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn hazards(&self) -> &'static [Hazard] {
        &[Hazard::LoudSound]
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let notes = notes(given)?;
        let mut refusals = Vec::new();
        let other = given.working("speakers");
        let speakers = other.map_or_else(Vec::new, |other| {
            speakers("speakers", &other.inputs, &mut refusals)
        });
        let overtones = given.listed("overtones");
        let levels = notes.len() * speakers.len() * (1 + overtones.len());
        if notes.is_empty() {
            refusals.push(Refusal::new(
                "speakers",
                "there are no notes to be heard",
                "give `notes`, the id of a note table, or `note`, frequencies by name",
            ));
        } else if levels > MOST_LEVELS {
            refusals.push(Refusal::new(
                "speakers",
                format!("{levels} levels are more than a table can show"),
                format!("give fewer notes, speakers or overtones: {MOST_LEVELS} levels at most"),
            ));
        }
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let mut plan = Plan::default();
        plan.results.push(Planned::formula(
            "kept_within",
            "How far a note may fall and still count as kept",
            if given.has("within") {
                "within"
            } else {
                "10 dB"
            },
            KEPT,
        ));
        for speaker in &speakers {
            for note in &notes {
                levels_of(
                    speaker,
                    note,
                    &overtones,
                    given.has("level"),
                    &mut plan.results,
                );
            }
            kept(speaker, &notes, &mut plan.results);
        }
        plan.tables.push(fundamentals(
            &speakers,
            &notes,
            given.has("level"),
            !overtones.is_empty(),
        ));
        if !overtones.is_empty() {
            plan.tables
                .push(harmonics(&speakers, &notes, overtones.len()));
        } else {
            plan.notes
                .push("The tone is taken as a sine: no harmonic helps a note that is lost.".into());
        }
        plan.notes.push(
            "A note whose fundamental is lost may still be heard by its harmonics, at another \
             colour (from memory)."
                .into(),
        );
        if given.has("level") {
            plan.notes.push(super::amplifier_power::GUIDANCE.into());
        }
        Ok(plan)
    }
}

/// Levels of a note's fundamental and harmonics on a speaker.
fn levels_of(
    speaker: &Speaker,
    note: &Note,
    overtones: &[String],
    loud: bool,
    results: &mut Vec<Planned>,
) {
    let (at, of) = (&speaker.name, &note.id);
    let on = format!("{} on {}", note.label, spoken(at));
    let mut names = operands("speakers.", speaker);
    names.push(note.operand.clone());
    results.push(Planned::procedure(
        format!("{at}.{of}.drop"),
        format!("{on}: how far the fundamental falls"),
        Dimension::DECIBEL,
        names.clone(),
        Procedure::new(heard(speaker, 1.0, -1.0)),
        DROP,
    ));
    if loud {
        results.push(Planned::formula(
            format!("{at}.{of}.level"),
            format!("{on}: fundamental at the listener"),
            format!("level - {at}.{of}.drop"),
            DROP,
        ));
    }
    for (overtone, number) in overtones.iter().zip(2..) {
        let response = format!("{at}.{of}.response_{number}");
        results.push(Planned::procedure(
            response.clone(),
            format!("{on}: response at harmonic {number}"),
            Dimension::DECIBEL,
            names.clone(),
            Procedure::new(heard(speaker, f64::from(number), 1.0)),
            DROP,
        ));
        let level = if loud { "level + " } else { "" };
        results.push(Planned::formula(
            format!("{at}.{of}.harmonic_{number}"),
            format!("{on}: harmonic {number}"),
            format!("{level}{overtone} + {response}"),
            DROP,
        ));
    }
}

/// The response at a harmonic of a note, in dB, with a sign.
fn heard(
    speaker: &Speaker,
    harmonic: f64,
    sign: f64,
) -> impl Fn(&[f64]) -> Result<f64, Unworkable> + Send + Sync + 'static {
    let speaker = speaker.clone();
    move |of| {
        let (own, note) = of.split_at(speaker.operands.len());
        let hertz = harmonic * note[0];
        if hertz.is_nan() || hertz <= 0.0 {
            return Err(Unworkable::new(
                "has no value: the frequency of the note is not above zero",
                "see to the frequency of the note",
            ));
        }
        let level = speaker.response(own)?.decibels(hertz);
        level.map(|level| sign * level).ok_or_else(|| {
            Unworkable::new(
                format!(
                    "is not known: the measurement of `{}` does not reach {hertz:.0} Hz",
                    speaker.name
                ),
                "measure further, or give fewer notes or overtones",
            )
        })
    }
}

/// How many notes a speaker keeps, and down to which.
fn kept(speaker: &Speaker, notes: &[Note], results: &mut Vec<Planned>) {
    let (at, name) = (&speaker.name, spoken(&speaker.name));
    let drops = notes.iter().map(|note| format!("{at}.{}.drop", note.id));
    let within = ["kept_within".to_owned()];
    let operands: Vec<String> = within.into_iter().chain(drops).collect();
    results.push(Planned::procedure(
        format!("{at}.kept"),
        format!("{name}: notes that it keeps"),
        Dimension::COUNTS,
        operands.clone(),
        Procedure::new(|of| Ok(of[1..].iter().filter(|drop| **drop <= of[0]).count() as f64)),
        KEPT,
    ));
    let frequencies = notes.iter().map(|note| note.operand.clone());
    let count = notes.len();
    let speaker = at.clone();
    results.push(Planned::procedure(
        format!("{at}.lowest_kept"),
        format!("{name}: lowest note from which on it keeps all"),
        Dimension::FREQUENCY,
        operands.into_iter().chain(frequencies).collect(),
        Procedure::new(move |of| {
            let (drops, frequencies) = of[1..].split_at(count);
            lowest_kept(of[0], drops, frequencies)
                .ok_or_else(|| loses_all(&speaker, of[0], drops, frequencies))
        }),
        KEPT,
    ));
}

/// Says what becomes of the highest note, which is the last to be lost.
fn loses_all(speaker: &str, within: f64, drops: &[f64], frequencies: &[f64]) -> Unworkable {
    let notes = frequencies.iter().zip(drops);
    let (hertz, drop) = notes
        .max_by(|a, b| a.0.total_cmp(b.0))
        .map_or((0.0, 0.0), |(hertz, drop)| (*hertz, *drop));
    let of = match frequencies.len() {
        1 => "its note".to_owned(),
        count => format!("the highest of its {count} notes"),
    };
    Unworkable::new(
        format!(
            "has no value: `{speaker}` loses {of}, {hertz:.0} Hz, by {drop:.1} dB, and {within:.0} dB count as kept"
        ),
        "play higher notes, fit a speaker that reaches lower, or allow more in `within`",
    )
}

/// The lowest note that is kept with all notes above it.
fn lowest_kept(within: f64, drops: &[f64], frequencies: &[f64]) -> Option<f64> {
    let mut notes: Vec<(f64, f64)> = frequencies
        .iter()
        .copied()
        .zip(drops.iter().copied())
        .collect();
    notes.sort_by(|a, b| b.0.total_cmp(&a.0));
    let kept = notes.into_iter().take_while(|(_, drop)| *drop <= within);
    kept.last().map(|(hertz, _)| hertz)
}

/// A row for each note: what becomes of its fundamental on each speaker.
fn fundamentals(speakers: &[Speaker], notes: &[Note], loud: bool, overtones: bool) -> Table {
    let mut columns = vec!["Note".to_owned(), "Frequency".to_owned()];
    for speaker in speakers {
        let name = spoken(&speaker.name);
        columns.push(format!(
            "{name}: {}",
            if loud { "at the listener" } else { "falls by" }
        ));
        columns.push(format!("{name}: verdict"));
    }
    let key = if loud { "level" } else { "drop" };
    let row = |note: &Note| {
        let mut row = vec![
            Cell::Text(note.label.clone()),
            Cell::Value(note.operand.clone()),
        ];
        for speaker in speakers {
            let of = |key: &str| format!("{}.{}.{key}", speaker.name, note.id);
            row.push(Cell::Value(of(key)));
            row.push(Cell::Judged {
                of: vec![of("drop"), "kept_within".into()],
                judge: Judge::new(move |of| verdict(of, overtones)),
            });
        }
        row
    };
    let mut rows: Vec<Vec<Cell>> = notes.iter().map(row).collect();
    let mut last = vec![
        Cell::Text("Kept".into()),
        Cell::Text(format!("of {}", notes.len())),
    ];
    for speaker in speakers {
        last.push(Cell::Value(format!("{}.kept", speaker.name)));
        last.push(Cell::Text(String::new()));
    }
    rows.push(last);
    Table {
        caption: "fundamentals".into(),
        columns,
        rows,
    }
}

fn verdict(of: &[Outcome], overtones: bool) -> String {
    let (Some(drop), Some(within)) = (of.first(), of.get(1)) else {
        return "–".into();
    };
    let text = if drop.high <= within.nominal {
        "kept"
    } else if drop.nominal <= within.nominal {
        "kept, but not by every specimen"
    } else if overtones {
        "loses its fundamental"
    } else {
        "lost"
    };
    text.into()
}

/// A row for each note and speaker: levels of the harmonics.
fn harmonics(speakers: &[Speaker], notes: &[Note], overtones: usize) -> Table {
    let heads = (2..2 + overtones).map(|number| format!("Harmonic {number}"));
    let rows = notes.iter().flat_map(|note| {
        speakers.iter().map(move |speaker| {
            let name = Cell::Text(format!("{} on {}", note.label, spoken(&speaker.name)));
            let levels = (2..2 + overtones).map(|number| {
                Cell::Value(format!("{}.{}.harmonic_{number}", speaker.name, note.id))
            });
            [name].into_iter().chain(levels).collect()
        })
    });
    Table {
        caption: "Harmonics, against the fundamental in the pass band or at the listener".into(),
        columns: ["Note".to_owned()].into_iter().chain(heads).collect(),
        rows: rows.collect(),
    }
}
