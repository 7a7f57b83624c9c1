//! Boxes for a speaker: sized for a wanted response.

use super::box_alignment::{radiator_alignment, vented_alignment};
use super::choose::{Answer, Candidate, Choice, Chooses, Question, Target};
use super::kind::Inputs;
use super::loudspeaker_box::{Driver, Enclosure, Loudspeaker, fallen};
use super::notes_taken::spoken;
use super::plan::Unworkable;
use super::speaker_response::{AIR, HALF_POWER, Response};
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
    "passive-radiator",
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
            let speaker = Wanted {
                name,
                driver,
                alignment: given.word("alignment"),
                question,
            };
            speaker.boxes(&mut found);
            law.extend(speaker.lowest_corner());
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
                    "name one of them: `<speaker>.corner`, `<speaker>.ten_down`, `<speaker>.peak`, or `<speaker>.q` of a closed box",
                ));
            };
            // A box with a port has no quality factor of its own, to take one.
            if results.iter().any(|result| result.nominal.is_nan()) {
                continue;
            }
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

/// What is wanted of a speaker.
struct Wanted<'q> {
    name: &'q str,
    driver: Driver,
    /// The response that is wanted, where one is.
    alignment: Option<&'q str>,
    question: &'q Question<'q>,
}

/// Highest quality factor of a closed box that is still called one.
const MOST_Q: f64 = 10.0;

impl Wanted<'_> {
    fn fits(&self, response: &str) -> bool {
        self.alignment.is_none_or(|wanted| wanted == response)
    }

    /// Every box for the driver with the wanted response, or with any.
    fn boxes(&self, found: &mut Vec<Found>) {
        for (response, q) in CLOSED.iter().filter(|(response, _)| self.fits(response)) {
            self.closed(*q, response, found);
        }
        if self.alignment.is_none() {
            for (what, q) in self.targeted() {
                self.closed(q, what, found);
            }
        }
        self.vented(found);
        self.radiator(found);
    }

    /// What a target of this speaker asks for.
    fn target(&self, key: &str) -> Option<f64> {
        let named = |target: &&Target| target.key.split_once('.') == Some((self.name, key));
        let target = self.question.targets.iter().find(named)?;
        Some(target.value).filter(|value| value.is_finite() && *value > 0.0)
    }

    /// Quality factors of closed boxes that meet a target: the quality factor that
    /// is asked for, and those with the corner that is asked for. A corner lies
    /// lowest at Q = 1/√2, so that one above it belongs to two boxes.
    fn targeted(&self) -> Vec<(&'static str, f64)> {
        let mut found = Vec::new();
        found.extend(self.target("q").map(|q| ("as asked", q)));
        let Some(corner) = self.target("corner") else {
            return found;
        };
        let flat = std::f64::consts::FRAC_1_SQRT_2;
        for (from, to) in [(self.driver.q, flat), (self.driver.q.max(flat), MOST_Q)] {
            let off = |q: f64| self.corner(q) - corner;
            if from >= to || off(from) * off(to) > 0.0 {
                continue;
            }
            let (mut low, mut high) = (from, to);
            for _ in 0..60 {
                let middle = f64::midpoint(low, high);
                match off(middle) * off(low) > 0.0 {
                    true => low = middle,
                    false => high = middle,
                }
            }
            found.push(("with the corner asked for", low));
        }
        found
    }

    /// Corner of the driver in the closed box that raises its quality factor to
    /// this one: fc = fs Qtc / Qts (R. H. Small, Closed-Box Loudspeaker Systems,
    /// 1972).
    fn corner(&self, q: f64) -> f64 {
        self.driver.resonance * q / self.driver.q * fallen(q, HALF_POWER)
    }

    /// Says that no closed box reaches down to the corner that is asked for.
    fn lowest_corner(&self) -> Option<String> {
        let corner = self.target("corner")?;
        let lowest = self.corner(self.driver.q.max(std::f64::consts::FRAC_1_SQRT_2));
        (corner < lowest).then(|| {
            format!(
                "{} has its corner at {lowest:.0} Hz in the best closed box, and no closed box takes it lower.",
                spoken(self.name)
            )
        })
    }

    fn closed(&self, q: f64, response: &str, found: &mut Vec<Found>) {
        let driver = self.driver;
        let rise = (q / driver.q).powi(2);
        if rise <= 1.0 {
            return;
        }
        // Vb = Vas / ((Qtc/Qts)² - 1) (R. H. Small, Closed-Box Loudspeaker Systems, 1972).
        let volume = driver.compliance / (rise - 1.0);
        let words = format!("closed, {response}, Q {q:.2}");
        self.found(
            vec![("volume", candidate(volume, Dimension::VOLUME, &words))],
            Enclosure::Closed { volume },
            found,
        );
    }

    fn vented(&self, found: &mut Vec<Found>) {
        let driver = self.driver;
        let Some(alignment) = vented_alignment(driver.q).filter(|_| self.fits("vented")) else {
            return;
        };
        let volume = driver.compliance / alignment.alpha;
        let tuning = alignment.h * driver.resonance;
        let words = format!("vented, {}, without losses", alignment.name);
        self.found(
            vec![
                ("volume", candidate(volume, Dimension::VOLUME, &words)),
                ("tuning", candidate(tuning, Dimension::FREQUENCY, "")),
            ],
            Enclosure::Vented {
                volume,
                tuning,
                leakage_q: f64::INFINITY,
            },
            found,
        );
    }

    /// A box for the passive radiator that the record gives: its volume, and what
    /// the radiator has to be loaded to.
    fn radiator(&self, found: &mut Vec<Found>) {
        let driver = self.driver;
        let value = |key: &str| {
            let value = self
                .question
                .values
                .get(&format!("speaker.{}.{key}", self.name))?;
            Some(value.nominal).filter(|value| value.is_finite() && *value > 0.0)
        };
        let Some(compliance) = value("radiator_volume").filter(|_| self.fits("passive-radiator"))
        else {
            return;
        };
        let Some(alignment) = radiator_alignment(driver.q, compliance / driver.compliance) else {
            return;
        };
        let volume = driver.compliance / alignment.alpha;
        let tuning = alignment.h * driver.resonance;
        // fb = fp √(1 + Vap/Vb) (Small, 1974).
        let own = tuning / (1.0 + compliance / volume).sqrt();
        let words = format!("passive radiator, {}, without losses", alignment.name);
        let mass = value("radiator_area").map(|area| {
            let (density, speed) = AIR;
            let stiffness = (area * speed).powi(2) * density * (1.0 / volume + 1.0 / compliance);
            let mass = stiffness / (std::f64::consts::TAU * tuning).powi(2);
            format!("radiator of {:.1} g", 1e3 * mass)
        });
        self.found(
            vec![
                ("volume", candidate(volume, Dimension::VOLUME, &words)),
                (
                    "radiator_resonance",
                    candidate(own, Dimension::FREQUENCY, mass.as_deref().unwrap_or("")),
                ),
            ],
            Enclosure::Radiator {
                volume,
                resonance: own,
                compliance,
                q: f64::INFINITY,
            },
            found,
        );
    }

    fn found(
        &self,
        values: Vec<(&'static str, Candidate)>,
        enclosure: Enclosure,
        found: &mut Vec<Found>,
    ) {
        let driver = self.driver;
        found.push(Found {
            speaker: self.name.to_owned(),
            values,
            response: Response::Box(Loudspeaker { driver, enclosure }),
        });
    }
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
        "q" | "resonance" => {
            let Response::Box(speaker) = &found.response else {
                return None;
            };
            // A box with a port or a radiator has no single one.
            let (resonance, q) = speaker.second_order().unwrap_or((f64::NAN, f64::NAN));
            if key == "q" { q } else { resonance }
        }
        _ => return question.values.get(&target.key).copied(),
    };
    Some(Outcome::exact(value))
}
