//! What a page shows of speakers that are compared: a table of them beside each
//! other, and a plot of their responses.

use super::kind::Inputs;
use super::notes_taken::{Note, spoken};
use super::plan::{Axis, Cell, Curves, Judge, Line, Mark, Planned, Plot, Table};
use super::speaker::Speaker;
use super::speaker_response::Response;
use super::speaker_rolloff::{group, operands};
use crate::quantity::Outcome;

/// A row for each quantity, a column for each speaker.
pub(super) fn tables(given: &Inputs, speakers: &[Speaker], results: &[Planned]) -> Vec<Table> {
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

/// Responses over frequency, with the notes marked.
pub(super) fn plot(speakers: &[Speaker], notes: &[Note]) -> Plot {
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
