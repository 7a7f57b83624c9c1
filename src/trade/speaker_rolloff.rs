//! Where speakers roll off: candidates beside each other, by a stated corner, by
//! Thiele-Small data and a box, or as measured.

use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes, optional, takes};
use super::notes_taken::{NOTE, NOTES, Note, WITHIN, notes, spoken};
use super::plan::{Plan, Planned, Procedure, Unworkable};
use super::speaker::{self, Speaker};
use super::speaker_box::{box_results, cone};
use super::speaker_response::HALF_POWER;
use super::speaker_view::{plot, tables};
use super::{Chooses, box_choice};
use crate::quantity::{Dimension, Level};

pub(super) static KIND: SpeakerRolloff = SpeakerRolloff;

/// The kind `speaker-rolloff`.
#[derive(Debug)]
pub(super) struct SpeakerRolloff;

pub(super) const CLOSED: &str =
    "R. H. Small, Closed-Box Loudspeaker Systems, J. Audio Eng. Soc. 20 (1972) 798-808";
pub(super) const VENTED: &str =
    "R. H. Small, Vented-Box Loudspeaker Systems, J. Audio Eng. Soc. 21 (1973) 363-372";
pub(super) const RADIATOR: &str =
    "R. H. Small, Passive-Radiator Loudspeaker Systems, J. Audio Eng. Soc. 22 (1974) 592-601";
const BUTTERWORTH: &str = "textbook: Butterworth high-pass";
const MEASURED: &str = "measured; pass band after the effective frequency range of IEC 60268-5";

const INPUTS: &[Input] = &[
    takes(
        "speaker",
        "Candidate speakers",
        Takes::Groups(speaker::INPUTS),
    ),
    NOTES,
    NOTE,
    WITHIN,
    optional(
        "lowest",
        "Lowest frequency that is played loud",
        Dimension::FREQUENCY,
    )
    .above_zero(),
    optional(
        "level",
        "Level in the pass band, 1 m away",
        Dimension::level(Level::SoundPressure),
    ),
];

impl Kind for SpeakerRolloff {
    fn name(&self) -> &'static str {
        "speaker-rolloff"
    }

    fn title(&self) -> &'static str {
        "Where speakers roll off"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn hazards(&self) -> &'static [Hazard] {
        &[Hazard::LoudSound]
    }

    fn chooser(&self) -> Option<&dyn Chooses> {
        Some(&box_choice::BoxChoice)
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let (speakers, notes) = read(given)?;
        let mut plan = Plan::default();
        let floor = match given.has("within") {
            true => "-within",
            false => "-10 dB",
        };
        plan.results.push(Planned::formula(
            "floor",
            "Level against the pass band above which a note counts as kept",
            floor,
            "10 dB as in IEC 60268-5, effective frequency range",
        ));
        let lowest = lowest(given, &notes, &mut plan.results);
        for speaker in &speakers {
            let group = group(given, &speaker.name);
            corners(speaker, group, &mut plan);
            box_results(speaker, group, &mut plan);
            cone(speaker, given, group, lowest, &mut plan)?;
        }
        plan.tables = tables(given, &speakers, &plan.results);
        plan.plots.push(plot(&speakers, &notes));
        plan.notes.push(
            "A speaker that fits a hand rolls off near 1 kHz, a small woofer with a passive \
             radiator near 200 Hz (common practice, no source)."
                .into(),
        );
        Ok(plan)
    }
}

/// The speakers and the notes of a record.
fn read(given: &Inputs) -> Result<(Vec<Speaker>, Vec<Note>), Vec<Refusal>> {
    let mut refusals = Vec::new();
    let speakers = speakers("speaker", given, &mut refusals);
    let notes = notes(given).unwrap_or_else(|found| {
        refusals.extend(found);
        Vec::new()
    });
    if speakers.is_empty() && refusals.is_empty() {
        refusals.push(Refusal::new(
            "speaker",
            "there is no speaker to be compared",
            "add one: `speaker.small = { corner = \"400 Hz\", order = 2 }`",
        ));
    }
    if refusals.is_empty() {
        Ok((speakers, notes))
    } else {
        Err(refusals)
    }
}

/// The speakers of the groups under a name.
pub(super) fn speakers(input: &str, given: &Inputs, refusals: &mut Vec<Refusal>) -> Vec<Speaker> {
    let mut speakers = Vec::new();
    for (name, group) in given.groups("speaker") {
        match Speaker::read(input, name, group) {
            Ok(speaker) => speakers.push(speaker),
            Err(found) => refusals.extend(found),
        }
    }
    speakers
}

pub(super) fn group<'g>(given: &'g Inputs, name: &str) -> &'g Inputs {
    let groups = given.groups("speaker");
    // A speaker has been read from the group of its name.
    groups
        .iter()
        .find(|(own, _)| own == name)
        .map_or(given, |(_, group)| group)
}

/// Names of the inputs that a speaker's response hangs on.
pub(super) fn operands(before: &str, speaker: &Speaker) -> Vec<String> {
    let own = speaker.operands.iter();
    own.map(|operand| format!("{before}speaker.{}.{operand}", speaker.name))
        .collect()
}

/// Under which name the lowest frequency that is played is known, if it is.
fn lowest(given: &Inputs, notes: &[Note], results: &mut Vec<Planned>) -> Option<&'static str> {
    if given.has("lowest") {
        return Some("lowest");
    }
    if notes.is_empty() {
        return None;
    }
    results.push(Planned::procedure(
        "lowest_note",
        "Frequency of the lowest note",
        Dimension::FREQUENCY,
        notes.iter().map(|note| note.operand.clone()).collect(),
        Procedure::new(|of| Ok(of.iter().copied().fold(f64::INFINITY, f64::min))),
        "by comparing the notes",
    ));
    Some("lowest_note")
}

pub(super) fn not_reached(speaker: &str, what: &str) -> Unworkable {
    Unworkable::new(
        format!("is not known: the measurement of `{speaker}` does not reach {what}"),
        "measure further, or leave out what goes beyond the measurement",
    )
}

/// Where a speaker is 3 dB and 10 dB down, and how far it rises above its pass band.
fn corners(speaker: &Speaker, given: &Inputs, plan: &mut Plan) {
    let (name, spoken) = (&speaker.name, spoken(&speaker.name));
    let means = [
        (
            "corner",
            format!("{spoken}: 3 dB down at"),
            Dimension::FREQUENCY,
        ),
        (
            "ten_down",
            format!("{spoken}: 10 dB down at"),
            Dimension::FREQUENCY,
        ),
        (
            "peak",
            format!("{spoken}: rise above the pass band"),
            Dimension::DECIBEL,
        ),
    ];
    let source = match speaker.how() {
        "stated corner and order" => BUTTERWORTH,
        "measured" => MEASURED,
        "vented box" => VENTED,
        "passive radiator" => RADIATOR,
        _ => CLOSED,
    };
    let owned = speaker.clone();
    let procedures: [Procedure; 3] = Procedure::several(move || {
        let speaker = owned.clone();
        Box::new(move |of, readings| {
            let response = speaker.response(of)?;
            readings[2] = response.peak();
            for (at, decibels) in [(0, HALF_POWER), (1, 10.0)] {
                readings[at] = response
                    .fallen(decibels)
                    .ok_or_else(|| not_reached(&speaker.name, &format!("{decibels:.0} dB down")))?;
            }
            Ok(())
        })
    });
    // What a measurement reaches is known beforehand.
    let measured = given
        .has("measured")
        .then(|| speaker.response(&[]).ok())
        .flatten();
    for ((key, means, dimension), procedure) in means.into_iter().zip(procedures) {
        let down = match key {
            "corner" => HALF_POWER,
            "ten_down" => 10.0,
            _ => 0.0,
        };
        let reaches = measured
            .as_ref()
            .is_none_or(|response| key == "peak" || response.fallen(down).is_some());
        if !reaches {
            plan.notes.push(format!(
                "The measurement of {spoken} does not reach down to where it has fallen {down:.0} dB."
            ));
            continue;
        }
        plan.results.push(Planned::procedure(
            format!("{name}.{key}"),
            means,
            dimension,
            operands("", speaker),
            procedure,
            source,
        ));
    }
}
