//! Boxes for a speaker: sized for a wanted response.

use super::choose::{Answer, Candidate, Choice, Chooses, Question, Target};
use super::kind::Inputs;
use super::loudspeaker_box::{Driver, Enclosure, Loudspeaker, vented_alignment};
use super::notes_taken::spoken;
use super::plan::Unworkable;
use super::speaker_response::{HALF_POWER, Response};
use crate::quantity::{Dimension, Outcome, Unit, fitted_unit, shown_digits};

/// Sizes boxes.
#[derive(Debug)]
pub(super) struct BoxChoice;

/// Responses of closed boxes by their quality factor (R. H. Small, Closed-Box
/// Loudspeaker Systems, 1972; names are common practice).
const CLOSED: &[(&str, f64)] = &[
    ("critically-damped", 0.5),
    ("bessel", 0.577_350_269_189_625_8),
    ("butterworth", std::f64::consts::FRAC_1_SQRT_2),
    ("chebyshev", 1.0),
];

/// Responses that a record can ask for.
pub(super) const WANTED: &[&str] = &[
    "critically-damped",
    "bessel",
    "butterworth",
    "chebyshev",
    "vented",
];

/// A box for a speaker.
struct Found {
    speaker: String,
    values: Vec<(&'static str, Candidate)>,
    response: Response,
}

impl Chooses for BoxChoice {
    fn chooses(&self) -> &'static str {
        "boxes"
    }

    fn choose(&self, question: &Question<'_>) -> Result<Answer, Unworkable> {
        let mut found = Vec::new();
        let mut drivers = 0;
        let mut law = Vec::new();
        for (name, given) in question.given.groups("speaker") {
            let Some(driver) = driver(question, name, given) else {
                continue;
            };
            drivers += 1;
            let before = found.len();
            boxes(name, driver, given.word("alignment"), &mut found);
            if found.len() == before {
                law.push(format!(
                    "{} has a total quality factor of {:.2}: a box only raises that, and no wanted response has more.",
                    spoken(name),
                    driver.q
                ));
            }
        }
        if drivers == 0 {
            return Err(Unworkable::new(
                "has no speaker that a box can be sized for",
                "give one its `resonance`, quality factor and `equivalent_volume`, and state them above zero",
            ));
        }
        let mut own = Vec::new();
        let mut choices = Vec::new();
        let sets = found.len() as f64;
        for found in &found {
            let results: Option<Vec<Outcome>> = question
                .targets
                .iter()
                .map(|target| result(question, found, target))
                .collect();
            let Some(results) = results else {
                return Err(Unworkable::new(
                    "has a target that no box decides",
                    "name one of them: `<speaker>.corner`, `<speaker>.ten_down` or `<speaker>.peak`",
                ));
            };
            let pairs = || question.targets.iter().zip(&results);
            let error = |(target, result): (&Target, &Outcome)| {
                (result.nominal - target.value).abs() / target.value.abs().max(1e-9)
            };
            choices.push(Choice {
                parts: found
                    .values
                    .iter()
                    .map(|(input, candidate)| {
                        own.push(candidate.clone());
                        (format!("{}.{input}", found.speaker), own.len() - 1)
                    })
                    .collect(),
                worst: pairs().map(error).fold(0.0, f64::max),
                new: 0,
                meets: pairs().all(|(target, result)| target.statement.misses(*result).is_empty()),
                results,
                remark: None,
            });
        }
        // The sort keeps the order of those that are equally near.
        choices.sort_by(|a, b| a.worst.total_cmp(&b.worst));
        choices.truncate(question.show.max(1));
        Ok(Answer {
            choices,
            sets,
            law,
            own,
        })
    }
}

/// The driver of a speaker that is given by its data.
fn driver(question: &Question<'_>, name: &str, given: &Inputs) -> Option<Driver> {
    let value = |key: &str| {
        let value = question
            .values
            .get(&format!("speaker.{name}.{key}"))?
            .nominal;
        Some(value).filter(|value| value.is_finite() && *value > 0.0)
    };
    let q = match given.has("total_q") {
        true => value("total_q")?,
        false => {
            let (m, e) = (value("mechanical_q")?, value("electrical_q")?);
            m * e / (m + e)
        }
    };
    Some(Driver {
        resonance: value("resonance")?,
        q,
        compliance: value("equivalent_volume")?,
    })
}

/// Every box for a driver with a wanted response, or with any.
fn boxes(name: &str, driver: Driver, wanted: Option<&str>, found: &mut Vec<Found>) {
    let fits = |response: &str| wanted.is_none_or(|wanted| wanted == response);
    for (response, q) in CLOSED.iter().filter(|(response, _)| fits(response)) {
        let rise = (q / driver.q).powi(2);
        if rise <= 1.0 {
            continue;
        }
        // Vb = Vas / ((Qtc/Qts)² - 1) (R. H. Small, Closed-Box Loudspeaker Systems, 1972).
        let volume = driver.compliance / (rise - 1.0);
        let enclosure = Enclosure::Closed { volume };
        let words = format!("closed, {response}, Q {q:.2}");
        found.push(Found {
            speaker: name.to_owned(),
            values: vec![("volume", candidate(volume, Dimension::VOLUME, &words))],
            response: Response::Box(Loudspeaker { driver, enclosure }),
        });
    }
    let Some(alignment) = vented_alignment(driver.q).filter(|_| fits("vented")) else {
        return;
    };
    let volume = driver.compliance / alignment.alpha;
    let tuning = alignment.h * driver.resonance;
    let enclosure = Enclosure::Vented {
        volume,
        tuning,
        leakage_q: f64::INFINITY,
    };
    let words = format!("vented, {}, without losses", alignment.name);
    found.push(Found {
        speaker: name.to_owned(),
        values: vec![
            ("volume", candidate(volume, Dimension::VOLUME, &words)),
            ("tuning", candidate(tuning, Dimension::FREQUENCY, "")),
        ],
        response: Response::Box(Loudspeaker { driver, enclosure }),
    });
}

fn candidate(value: f64, dimension: Dimension, words: &str) -> Candidate {
    // Litres are what boxes are measured in.
    let unit = match dimension == Dimension::VOLUME {
        true => Unit::from_symbol("L").unwrap_or_else(|_| Unit::coherent(dimension)),
        false => Unit::coherent(dimension),
    };
    let shown = shown_digits(value, 3, &fitted_unit(value, &unit));
    Candidate {
        name: match words {
            "" => shown.to_string(),
            words => format!("{shown} ({words})"),
        },
        value,
        tolerance: 0.0,
        stocked: false,
    }
}

/// What a target comes to with a box; with the record's values where it is about
/// another speaker.
fn result(question: &Question<'_>, found: &Found, target: &Target) -> Option<Outcome> {
    let (speaker, key) = target.key.split_once('.')?;
    if speaker != found.speaker {
        return question.values.get(&target.key).copied();
    }
    let value = match key {
        "corner" => found.response.fallen(HALF_POWER)?,
        "ten_down" => found.response.fallen(10.0)?,
        "peak" => found.response.peak(),
        _ => return question.values.get(&target.key).copied(),
    };
    Some(Outcome::exact(value))
}
