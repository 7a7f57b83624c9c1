//! Where speakers roll off: candidates beside each other, by a stated corner, by
//! Thiele-Small data and a box, or as measured.

use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes, optional, takes};
use super::notes_taken::{NOTE, NOTES, Note, WITHIN, notes, spoken};
use super::plan::{
    Axis, Cell, Curves, Holding, Judge, Line, Mark, Plan, Planned, Plot, Procedure, Table,
    Unworkable,
};
use super::speaker_response::{self, HALF_POWER, Response, Speaker};
use super::{Chooses, box_choice};
use crate::quantity::{Dimension, Level, Outcome};

pub(super) static KIND: SpeakerRolloff = SpeakerRolloff;

/// The kind `speaker-rolloff`.
#[derive(Debug)]
pub(super) struct SpeakerRolloff;

const CLOSED: &str =
    "R. H. Small, Closed-Box Loudspeaker Systems, J. Audio Eng. Soc. 20 (1972) 798-808";
const VENTED: &str =
    "R. H. Small, Vented-Box Loudspeaker Systems, J. Audio Eng. Soc. 21 (1973) 363-372";
const RADIATOR: &str =
    "R. H. Small, Passive-Radiator Loudspeaker Systems, J. Audio Eng. Soc. 22 (1974) 592-601";
const DIRECT: &str = "R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20 (1972) 383-395";
const BUTTERWORTH: &str = "textbook: Butterworth high-pass";
const MEASURED: &str = "measured; pass band after the effective frequency range of IEC 60268-5";
const PORT: &str = "Helmholtz resonator; end correction 1.46 radii for one flanged and one free end, \
                    343 m/s (common practice)";

const INPUTS: &[Input] = &[
    takes(
        "speaker",
        "Candidate speakers",
        Takes::Groups(speaker_response::INPUTS),
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

fn group<'g>(given: &'g Inputs, name: &str) -> &'g Inputs {
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

fn not_reached(speaker: &str, what: &str) -> Unworkable {
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

/// What there is to know of the box itself.
fn box_results(speaker: &Speaker, given: &Inputs, plan: &mut Plan) {
    let (name, spoken) = (&speaker.name, spoken(&speaker.name));
    let of = |key: &str| format!("speaker.{name}.{key}");
    let mut add = |key: &str, means: &str, formula: String, source| {
        plan.results.push(Planned::formula(
            format!("{name}.{key}"),
            format!("{spoken}: {means}"),
            formula,
            source,
        ));
    };
    let total = match given.has("total_q") {
        true => of("total_q"),
        false => format!("{name}.total_q"),
    };
    if given.has("mechanical_q") {
        let (m, e) = (of("mechanical_q"), of("electrical_q"));
        let formula = format!("{m} * {e} / ({m} + {e})");
        add("total_q", "total quality factor, Qts", formula, DIRECT);
    }
    let rise = format!("sqrt(1 + {} / {})", of("equivalent_volume"), of("volume"));
    match given.word("box") {
        Some("closed") => {
            let formula = format!("{} * {rise}", of("resonance"));
            add("resonance", "resonance in the box", formula, CLOSED);
            add(
                "q",
                "quality factor in the box",
                format!("{total} * {rise}"),
                CLOSED,
            );
        }
        Some("vented") if given.has("port_diameter") => {
            let (diameter, tuning) = (of("port_diameter"), of("tuning"));
            let formula = format!(
                "(343 (m/s))^2 * pi * {diameter}^2 / 4 / ((2 * pi * {tuning})^2 * {}) - 1.46 * {diameter} / 2",
                of("volume")
            );
            add("port_length", "length of the port", formula, PORT);
            if given.has("longest_port") {
                let sides = format!("{name}.port_length <= {}", of("longest_port"));
                let means = format!("The port of {spoken} fits its box");
                plan.holds.push(Holding::new(sides, means));
            } else {
                plan.results.push(Planned::procedure(
                    format!("{name}.box_edge"),
                    format!("{spoken}: edge of a cube of the box's volume"),
                    Dimension::LENGTH,
                    vec![of("volume")],
                    Procedure::new(|of| Ok(of[0].cbrt())),
                    "geometry",
                ));
            }
            let sides = format!("{name}.port_length >= 0 m");
            let means = format!("The port of {spoken} has a length: a thinner one would be longer");
            plan.holds.push(Holding::new(sides, means));
        }
        Some("passive-radiator") => {
            let (own, own_volume) = (of("radiator_resonance"), of("radiator_volume"));
            let formula = format!("{own} * sqrt(1 + {own_volume} / {})", of("volume"));
            add("tuning", "tuning of the box", formula, RADIATOR);
            if given.has("radiator_area") {
                let formula = format!(
                    "({} * 343 (m/s))^2 * 1.2 (kg/m^3) * (1 / {} + 1 / {own_volume}) / (2 * pi * {name}.tuning)^2",
                    of("radiator_area"),
                    of("volume")
                );
                add(
                    "radiator_mass",
                    "mass of the radiator with its load of air",
                    formula,
                    RADIATOR,
                );
            }
        }
        _ => {}
    }
}

/// How far the cone moves, and how loud it can get before its limit.
fn cone(
    speaker: &Speaker,
    given: &Inputs,
    group: &Inputs,
    lowest: Option<&str>,
    plan: &mut Plan,
) -> Result<(), Vec<Refusal>> {
    let (name, spoken) = (&speaker.name, spoken(&speaker.name));
    let moved = group.has("cone_area") && given.has("level");
    if !group.has("excursion") && !moved {
        return Ok(());
    }
    if !group.has("cone_area") {
        return Err(vec![Refusal::new(
            "speaker",
            format!("`{name}` has an excursion and no `cone_area`"),
            "add `cone_area`, or leave `excursion` out",
        )]);
    }
    let Some(lowest) = lowest else {
        return Err(vec![Refusal::new(
            "speaker",
            format!("how far the cone of `{name}` moves depends on what is played"),
            "add `lowest`, the lowest frequency that is played, or notes",
        )]);
    };
    let of = |key: &str| format!("speaker.{name}.{key}");
    let mut base = operands("", speaker);
    let count = base.len();
    base.extend([lowest.to_owned(), of("cone_area")]);
    let with = |last: &str| base.iter().cloned().chain([last.to_owned()]).collect();
    let above_zero = |of: &[f64]| match of.iter().all(|value| *value > 0.0) {
        true => Ok(()),
        false => Err(Unworkable::new(
            "has no value: a frequency, an area or an excursion is not above zero",
            "see to the values that it is worked out from",
        )),
    };
    if group.has("excursion") {
        let owned = speaker.clone();
        plan.results.push(Planned::procedure(
            format!("{name}.highest_level"),
            format!("{spoken}: highest level in the pass band, 1 m away, before the cone's limit"),
            Dimension::level(Level::SoundPressure),
            with(&of("excursion")),
            Procedure::new(move |of| {
                above_zero(&of[count..])?;
                let response = owned.response(&of[..count])?;
                let found = response.highest_level(of[count], of[count + 1], of[count + 2]);
                found.ok_or_else(|| not_reached(&owned.name, "down to the lowest frequency"))
            }),
            DIRECT,
        ));
    }
    if given.has("level") {
        let owned = speaker.clone();
        plan.results.push(Planned::procedure(
            format!("{name}.displacement"),
            format!("{spoken}: displacement of the cone to one side at that level"),
            Dimension::LENGTH,
            with("level"),
            Procedure::new(move |of| {
                above_zero(&of[count..count + 2])?;
                let response = owned.response(&of[..count])?;
                let found = response.displacement(of[count], of[count + 1], of[count + 2]);
                found.ok_or_else(|| not_reached(&owned.name, "down to the lowest frequency"))
            }),
            DIRECT,
        ));
    }
    Ok(())
}

/// A row for each quantity, a column for each speaker.
fn tables(given: &Inputs, speakers: &[Speaker], results: &[Planned]) -> Vec<Table> {
    const ROWS: &[(&str, &str)] = &[
        ("corner", "3 dB down at"),
        ("ten_down", "10 dB down at"),
        ("peak", "Rise above the pass band"),
        ("total_q", "Total quality factor"),
        ("resonance", "Resonance in the box"),
        ("q", "Quality factor in the box"),
        ("tuning", "Tuning of the box"),
        ("radiator_mass", "Mass of the radiator"),
        ("port_length", "Length of the port"),
        ("displacement", "Displacement of the cone"),
        (
            "highest_level",
            "Highest level at 1 m before the cone's limit",
        ),
    ];
    let has = |name: &str| results.iter().any(|planned| planned.name == name);
    let mut rows = vec![
        [Cell::Text("Known by".into())]
            .into_iter()
            .chain(
                speakers
                    .iter()
                    .map(|speaker| Cell::Text(speaker.how().into())),
            )
            .collect::<Vec<Cell>>(),
    ];
    for (key, head) in ROWS {
        let names = speakers
            .iter()
            .map(|speaker| format!("{}.{key}", speaker.name));
        let names: Vec<String> = names.collect();
        if !names.iter().any(|name| has(name)) {
            continue;
        }
        let cells = names.into_iter().map(|name| match has(&name) {
            true => Cell::Value(name),
            false => Cell::Text("–".into()),
        });
        rows.push(
            [Cell::Text((*head).into())]
                .into_iter()
                .chain(cells)
                .collect(),
        );
    }
    if results
        .iter()
        .any(|planned| planned.name.ends_with(".port_length"))
    {
        let cells = speakers
            .iter()
            .map(|speaker| port_fits(given, speaker, &has));
        rows.push(
            [Cell::Text("Does the port fit?".into())]
                .into_iter()
                .chain(cells)
                .collect(),
        );
    }
    let heads = speakers.iter().map(|speaker| spoken(&speaker.name));
    vec![Table {
        caption: String::new(),
        columns: ["What it is".to_owned()].into_iter().chain(heads).collect(),
        rows,
    }]
}

fn port_fits(given: &Inputs, speaker: &Speaker, has: &dyn Fn(&str) -> bool) -> Cell {
    let length = format!("{}.port_length", speaker.name);
    if !has(&length) {
        return Cell::Text("–".into());
    }
    let room = match group(given, &speaker.name).has("longest_port") {
        true => format!("speaker.{}.longest_port", speaker.name),
        false => format!("{}.box_edge", speaker.name),
    };
    Cell::Judged {
        of: vec![length, room],
        judge: Judge::new(|of: &[Outcome]| match (of.first(), of.get(1)) {
            (Some(length), Some(_)) if length.low < 0.0 => {
                "no: this port is too thin to be tuned so high".into()
            }
            (Some(length), Some(room)) if length.high > room.low => format!(
                "no: {:.0} mm of port, {:.0} mm of room; a passive radiator takes its place",
                1e3 * length.high,
                1e3 * room.low
            ),
            _ => "yes".into(),
        }),
    }
}

/// Points of a curve.
const POINTS: i32 = 96;
/// What has fallen further is not drawn, in dB.
const DEEPEST: f64 = -42.0;

fn plot(speakers: &[Speaker], notes: &[Note]) -> Plot {
    let mut names: Vec<String> = speakers
        .iter()
        .flat_map(|speaker| operands("", speaker))
        .collect();
    names.extend(notes.iter().map(|note| note.operand.clone()));
    let owned = speakers.to_vec();
    let curves = Curves::new(move |of| {
        let mut rest = of;
        let mut responses: Vec<(String, Response)> = Vec::new();
        for speaker in &owned {
            let (own, others) = rest.split_at(speaker.operands.len());
            rest = others;
            responses.push((spoken(&speaker.name), speaker.response(own)?));
        }
        let about = responses.iter().map(|(_, response)| response.about());
        let all = about.chain(rest.iter().copied().filter(|hertz| *hertz > 0.0));
        let (least, most) = all.fold((f64::INFINITY, 0.0), |(least, most): (f64, f64), hertz| {
            (least.min(hertz), most.max(hertz))
        });
        let (from, to) = ((least / 4.0).max(1.0), (most * 8.0).min(1e5));
        let step = (to / from).powf(1.0 / f64::from(POINTS));
        let at = |number: i32| from * step.powi(number);
        let curve = |response: &Response| {
            (0..=POINTS)
                .map(|number| {
                    let level = response
                        .decibels(at(number))
                        .filter(|level| *level >= DEEPEST);
                    (at(number), level.unwrap_or(f64::NAN))
                })
                .collect()
        };
        Ok(responses
            .iter()
            .map(|(name, response)| (name.clone(), curve(response)))
            .collect())
    });
    Plot {
        name: "rolloff",
        title: "Level against the pass band".into(),
        x: Axis::logarithmic("Frequency", "Hz"),
        y: Axis::even("Level", "dB"),
        operands: names,
        curves,
        marks: notes
            .iter()
            .map(|note| Mark {
                label: note.label.clone(),
                at: note.operand.clone(),
            })
            .collect(),
        lines: vec![Line {
            label: "notes are kept above".into(),
            level: "floor".into(),
        }],
    }
}
