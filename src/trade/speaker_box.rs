//! What there is to know of a speaker's box itself: its resonance, its port, its
//! passive radiator, and how far the cone moves in it.

use super::kind::{Inputs, Refusal};
use super::notes_taken::spoken;
use super::plan::{Holding, Plan, Planned, Procedure, Unworkable};
use super::speaker::Speaker;
use super::speaker_rolloff::{CLOSED, RADIATOR, not_reached, operands};
use crate::quantity::{Dimension, Level};

const DIRECT: &str = "R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20 (1972) 383-395";
const PORT: &str = "Helmholtz resonator; end correction 1.46 radii for one flanged and one free end, \
                    343 m/s (common practice)";

/// What there is to know of the box itself.
pub(super) fn box_results(speaker: &Speaker, given: &Inputs, plan: &mut Plan) {
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
pub(super) fn cone(
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
