//! A speaker as a record gives it, and what it makes of each frequency: by a
//! stated corner and order, by Thiele-Small data and a box, or as measured.

use std::f64::consts::{SQRT_2, TAU};
use std::sync::Arc;

use super::kind::{Bound, Input, Inputs, Refusal, Takes, may_take, optional};
use super::loudspeaker_box::{Driver, Enclosure, Loudspeaker, Motion, fallen, peak};
use super::plan::Unworkable;
use crate::quantity::Dimension;

/// Density of air in kg/m³ and speed of sound in m/s at 20 °C (common practice).
pub(super) const AIR: (f64, f64) = (1.2, 343.0);
/// Reference of sound pressure level, in Pa (IEC 60027-3).
const REFERENCE: f64 = 20e-6;
/// Half of the power, in dB.
pub(super) const HALF_POWER: f64 = 3.010_299_956_639_812;

const fn above_zero(name: &'static str, means: &'static str, dimension: Dimension) -> Input {
    Input {
        bound: Bound::AboveZero,
        ..optional(name, means, dimension)
    }
}

/// What a record gives of a speaker.
pub(super) const INPUTS: &[Input] = &[
    above_zero("corner", "Stated corner, 3 dB down", Dimension::FREQUENCY),
    may_take(
        "order",
        "Order of the roll-off below a stated corner",
        Takes::Whole(1..=8),
    ),
    above_zero("resonance", "Resonance in free air", Dimension::FREQUENCY),
    above_zero(
        "mechanical_q",
        "Quality factor of the suspension alone, Qms",
        Dimension::ONE,
    ),
    above_zero(
        "electrical_q",
        "Quality factor of the motor alone, Qes",
        Dimension::ONE,
    ),
    above_zero("total_q", "Total quality factor, Qts", Dimension::ONE),
    above_zero(
        "equivalent_volume",
        "Volume of air as compliant as the suspension, Vas",
        Dimension::VOLUME,
    ),
    may_take(
        "box",
        "What the speaker is built into",
        Takes::Word(&["baffle", "closed", "vented", "passive-radiator"]),
    ),
    may_take(
        "alignment",
        "Response that a box is to be sized for",
        Takes::Word(super::box_choice::WANTED),
    ),
    above_zero("volume", "Volume of air in the box", Dimension::VOLUME),
    above_zero(
        "tuning",
        "Resonance of the port with the box",
        Dimension::FREQUENCY,
    ),
    above_zero(
        "leakage_q",
        "Quality factor of the leaks of the box, QL",
        Dimension::ONE,
    ),
    above_zero(
        "port_diameter",
        "Inner diameter of the port",
        Dimension::LENGTH,
    ),
    above_zero(
        "longest_port",
        "Longest port that the box has room for",
        Dimension::LENGTH,
    ),
    above_zero(
        "radiator_resonance",
        "Resonance of the passive radiator on its own suspension",
        Dimension::FREQUENCY,
    ),
    above_zero(
        "radiator_volume",
        "Volume of air as compliant as the radiator's suspension",
        Dimension::VOLUME,
    ),
    above_zero(
        "radiator_q",
        "Quality factor of the passive radiator",
        Dimension::ONE,
    ),
    above_zero(
        "radiator_area",
        "Effective area of the radiator",
        Dimension::AREA,
    ),
    may_take("measured", "Measured response", Takes::Response),
    above_zero("cone_area", "Effective area of the cone", Dimension::AREA),
    above_zero(
        "excursion",
        "How far the cone moves linearly to one side",
        Dimension::LENGTH,
    ),
];

/// Inputs of the box that each sort of box needs, and those that it may have.
const BOXES: &[(&str, &[&str], &[&str])] = &[
    ("baffle", &[], &[]),
    ("closed", &["equivalent_volume", "volume"], &[]),
    (
        "vented",
        &["equivalent_volume", "volume", "tuning"],
        &["leakage_q", "port_diameter", "longest_port"],
    ),
    (
        "passive-radiator",
        &[
            "equivalent_volume",
            "volume",
            "radiator_resonance",
            "radiator_volume",
        ],
        &["radiator_q", "radiator_area"],
    ),
];

/// A speaker of a record: what of its inputs a response is made from, and how.
#[derive(Clone, Debug)]
pub(super) struct Speaker {
    /// Its name in the record.
    pub name: String,
    /// Names of the inputs that its response hangs on, behind the group's name.
    pub operands: Vec<&'static str>,
    sort: Sort,
}

#[derive(Clone, Debug)]
enum Sort {
    Corner {
        order: u64,
    },
    Box {
        q: Quality,
        enclosure: &'static str,
        loss: bool,
    },
    Measured {
        points: Arc<[(f64, f64)]>,
    },
}

/// How the total quality factor is given.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Quality {
    Total,
    Both,
}

impl Speaker {
    /// Reads a speaker; `input` is the name of the groups of speakers.
    ///
    /// # Errors
    /// What is missing, or does not go together.
    pub fn read(input: &str, name: &str, given: &Inputs) -> Result<Speaker, Vec<Refusal>> {
        let refuse = |message: String, help: &str| Err(vec![Refusal::new(input, message, help)]);
        let ways: Vec<&str> = ["corner", "resonance", "measured"]
            .into_iter()
            .filter(|way| given.has(way))
            .collect();
        let &[way] = ways.as_slice() else {
            let message = match ways.as_slice() {
                [] => format!("`{name}` says nothing of how the speaker rolls off"),
                ways => format!(
                    "`{name}` is given in more than one way: {}",
                    ways.join(", ")
                ),
            };
            return refuse(
                message,
                "give `corner` and `order`, or `resonance` with its quality factor, or `measured`",
            );
        };
        let name = name.to_owned();
        match way {
            "corner" => match given.whole("order") {
                Some(order) => Ok(Speaker {
                    name,
                    operands: vec!["corner"],
                    sort: Sort::Corner { order },
                }),
                None => refuse(
                    format!("`{name}` has a corner and no order"),
                    "add `order`: 2 for a closed box, 4 for a vented one",
                ),
            },
            "measured" => Ok(Speaker {
                name,
                operands: Vec::new(),
                sort: Sort::Measured {
                    points: given.response("measured").into(),
                },
            }),
            _ => Speaker::by_data(input, name, given),
        }
    }

    fn by_data(input: &str, name: String, given: &Inputs) -> Result<Speaker, Vec<Refusal>> {
        let mut refusals = Vec::new();
        let both = given.has("mechanical_q") && given.has("electrical_q");
        let one = given.has("mechanical_q") || given.has("electrical_q");
        if given.has("total_q") == one || one != both {
            refusals.push(Refusal::new(
                input,
                format!("`{name}` does not say its quality factor in one way"),
                "give `total_q`, or both `mechanical_q` and `electrical_q`",
            ));
        }
        let word = given.word("box").unwrap_or("baffle");
        let sort = BOXES.iter().find(|(sort, ..)| *sort == word);
        let (enclosure, needs, may) = *sort.unwrap_or(&BOXES[0]);
        for need in needs.iter().filter(|need| !given.has(need)) {
            refusals.push(Refusal::new(
                input,
                format!("`{name}` is in a {word} box and lacks `{need}`"),
                format!("add `{need}`, or write another `box`"),
            ));
        }
        let others = BOXES
            .iter()
            .flat_map(|(_, needs, may)| needs.iter().chain(*may));
        for other in others.filter(|other| {
            !needs.contains(other) && !may.contains(other) && **other != "equivalent_volume"
        }) {
            let told = |refusal: &Refusal| refusal.message.contains(&format!("`{other}`"));
            if given.has(other) && !refusals.iter().any(told) {
                refusals.push(Refusal::new(
                    input,
                    format!("`{name}` gives `{other}`, which a box `{word}` has no use for"),
                    "say which `box` it is, or leave the input out",
                ));
            }
        }
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let mut operands = vec!["resonance"];
        let q = match both {
            true => Quality::Both,
            false => Quality::Total,
        };
        operands.extend(match q {
            Quality::Both => &["mechanical_q", "electrical_q"][..],
            Quality::Total => &["total_q"],
        });
        operands.extend(needs);
        let loss = match enclosure {
            "vented" => Some("leakage_q"),
            "passive-radiator" => Some("radiator_q"),
            _ => None,
        };
        let loss = loss.filter(|loss| given.has(loss));
        operands.extend(loss);
        Ok(Speaker {
            name,
            operands,
            sort: Sort::Box {
                q,
                enclosure,
                loss: loss.is_some(),
            },
        })
    }

    /// Its response for values of its operands.
    ///
    /// # Errors
    /// Values that no speaker has.
    pub fn response(&self, of: &[f64]) -> Result<Response, Unworkable> {
        if let Some(at) = of
            .iter()
            .position(|value| !(value.is_finite() && *value > 0.0))
        {
            return Err(Unworkable::new(
                format!(
                    "has no value: `{}` of `{}` is not above zero",
                    self.operands[at], self.name
                ),
                "a speaker has a resonance, a quality factor and a volume above zero: see to its value",
            ));
        }
        Ok(match &self.sort {
            Sort::Corner { order } => Response::Corner {
                corner: of[0],
                order: *order as f64,
            },
            Sort::Measured { points } => Response::Measured {
                points: points.clone(),
                pass_band: pass_band(points),
            },
            Sort::Box { q, enclosure, loss } => {
                let (q, rest) = match q {
                    Quality::Total => (of[1], &of[2..]),
                    Quality::Both => (of[1] * of[2] / (of[1] + of[2]), &of[3..]),
                };
                let part = |at: usize| rest.get(at).copied().unwrap_or(1.0);
                let lossy = |at: usize| if *loss { part(at) } else { f64::INFINITY };
                let enclosure = match *enclosure {
                    "closed" => Enclosure::Closed { volume: part(1) },
                    "vented" => Enclosure::Vented {
                        volume: part(1),
                        tuning: part(2),
                        leakage_q: lossy(3),
                    },
                    "passive-radiator" => Enclosure::Radiator {
                        volume: part(1),
                        resonance: part(2),
                        compliance: part(3),
                        q: lossy(4),
                    },
                    _ => Enclosure::Baffle,
                };
                let driver = Driver {
                    resonance: of[0],
                    q,
                    compliance: part(0),
                };
                Response::Box(Loudspeaker { driver, enclosure })
            }
        })
    }

    /// How it is known, in words.
    pub fn how(&self) -> &'static str {
        match &self.sort {
            Sort::Corner { .. } => "stated corner and order",
            Sort::Measured { .. } => "measured",
            Sort::Box { enclosure, .. } => match *enclosure {
                "closed" => "closed box",
                "vented" => "vented box",
                "passive-radiator" => "passive radiator",
                _ => "baffle",
            },
        }
    }
}

/// What a speaker makes of each frequency.
#[derive(Clone, Debug)]
pub(super) enum Response {
    /// A Butterworth high-pass.
    Corner {
        /// Where it has fallen to half of the power, in Hz.
        corner: f64,
        /// Its order.
        order: f64,
    },
    /// A driver in a box.
    Box(Loudspeaker),
    /// As measured.
    Measured {
        /// Hz and dB, rising.
        points: Arc<[(f64, f64)]>,
        /// Level of the pass band, in dB.
        pass_band: f64,
    },
}

impl Response {
    /// Level against the pass band at a frequency, in dB; `None` where a
    /// measurement does not reach.
    pub fn decibels(&self, hertz: f64) -> Option<f64> {
        match self {
            // |H|² = 1 / (1 + (fc/f)^(2n)).
            Response::Corner { corner, order } => {
                Some(-10.0 * (corner / hertz).powf(2.0 * order).ln_1p() / std::f64::consts::LN_10)
            }
            Response::Box(speaker) => Some(20.0 * speaker.motion(hertz).gain.log10()),
            Response::Measured { points, pass_band } => Some(between(points, hertz)? - pass_band),
        }
    }

    /// What the cone does; where nothing is known of a box, as in a closed one.
    fn motion(&self, hertz: f64) -> Option<Motion> {
        match self {
            Response::Box(speaker) => Some(speaker.motion(hertz)),
            other => {
                let gain = 10f64.powf(other.decibels(hertz)? / 20.0);
                Some(Motion { gain, cone: gain })
            }
        }
    }

    /// Displacement of a cone of some area, at its peaks and in m, where sound
    /// pressure in the pass band is 1 Pa at 1 m: p = ρ ω² S x / (2 π √2 r) on a
    /// baffle (half space; R. H. Small, Direct-Radiator Loudspeaker System
    /// Analysis, 1972).
    fn displacement_per_pascal(&self, hertz: f64, area: f64) -> Option<f64> {
        let omega = TAU * hertz;
        Some(self.motion(hertz)?.cone * SQRT_2 * TAU / (AIR.0 * omega * omega * area))
    }

    /// The most that the cone is displaced, at its peaks and in m, by sines from
    /// a frequency upwards at a level in dB in the pass band, 1 m away.
    pub fn displacement(&self, from: f64, area: f64, decibels: f64) -> Option<f64> {
        let pressure = REFERENCE * 10f64.powf(decibels / 20.0);
        Some(pressure * self.worst_displacement(from, area)?)
    }

    /// The highest level in dB in the pass band, 1 m away, at which the cone
    /// stays within its excursion from a frequency upwards.
    pub fn highest_level(&self, from: f64, area: f64, excursion: f64) -> Option<f64> {
        let pressure = excursion / self.worst_displacement(from, area)?;
        Some(20.0 * (pressure / REFERENCE).log10())
    }

    fn worst_displacement(&self, from: f64, area: f64) -> Option<f64> {
        // Displacement falls with the square of frequency above the resonances.
        let last = from.max(4.0 * self.about());
        let steps = 24.0 * (last / from).log2().clamp(0.0, 40.0);
        let all = (0..=steps as i32).map(|step| from * 2f64.powf(f64::from(step) / 24.0));
        let values = all.filter_map(|hertz| self.displacement_per_pascal(hertz, area));
        values.fold(None, |most: Option<f64>, value| {
            Some(most.map_or(value, |most| most.max(value)))
        })
    }

    /// A frequency near which it begins to roll off, in Hz.
    pub fn about(&self) -> f64 {
        match self {
            Response::Corner { corner, .. } => *corner,
            Response::Box(speaker) => speaker.about(),
            Response::Measured { points, .. } => {
                let louder = points
                    .iter()
                    .find(|(_, level)| *level >= pass_band(points) - 3.0);
                louder.or(points.first()).map_or(1.0, |point| point.0)
            }
        }
    }

    /// Where it has fallen so many decibels below the pass band, coming from
    /// above, in Hz; `None` where a measurement does not reach there.
    pub fn fallen(&self, decibels: f64) -> Option<f64> {
        match self {
            Response::Corner { corner, order } => {
                let power = 10f64.powf(decibels / 10.0) - 1.0;
                return Some(corner * power.powf(-0.5 / order));
            }
            Response::Box(speaker) => {
                if let Some((resonance, q)) = speaker.second_order() {
                    return Some(resonance * fallen(q, decibels));
                }
            }
            Response::Measured { points, pass_band } => {
                return measured_fallen(points, pass_band - decibels);
            }
        }
        let level = |hertz: f64| {
            self.decibels(hertz)
                .map_or(f64::NAN, |level| level + decibels)
        };
        let top = 8.0 * self.about();
        let at = |step: i32| top * 2f64.powf(-f64::from(step) / 12.0);
        let below = (1..=200).find(|step| level(at(*step)) < 0.0)?;
        let (mut low, mut high) = (at(below), at(below - 1));
        for _ in 0..48 {
            let middle = (low * high).sqrt();
            match level(middle) < 0.0 {
                true => low = middle,
                false => high = middle,
            }
        }
        Some((low * high).sqrt())
    }

    /// How far it rises above the pass band, in dB.
    pub fn peak(&self) -> f64 {
        match self {
            Response::Corner { .. } => 0.0,
            Response::Measured { points, pass_band } => {
                let levels = points.iter().map(|point| point.1 - pass_band);
                levels.fold(0.0, f64::max)
            }
            Response::Box(speaker) => {
                if let Some((_, q)) = speaker.second_order() {
                    return peak(q);
                }
                let level = |hertz: f64| 20.0 * speaker.motion(hertz).gain.log10();
                let top = 8.0 * self.about();
                let at = |step: f64| top * 2f64.powf(-step / 12.0);
                let best = (0..=96).map(f64::from).fold(0.0, |best: f64, step| {
                    if level(at(step)) > level(at(best)) {
                        step
                    } else {
                        best
                    }
                });
                // The top of a smooth curve between its neighbours.
                let (mut low, mut high) = (best - 1.0, best + 1.0);
                for _ in 0..40 {
                    let third = (high - low) / 3.0;
                    match level(at(low + third)) < level(at(high - third)) {
                        true => low += third,
                        false => high -= third,
                    }
                }
                level(at(f64::midpoint(low, high))).max(0.0)
            }
        }
    }
}

/// Level at a frequency on straight lines over its logarithm.
fn between(points: &[(f64, f64)], hertz: f64) -> Option<f64> {
    let after = points.partition_point(|point| point.0 < hertz);
    let upper = points.get(after)?;
    if upper.0 <= hertz {
        return Some(upper.1);
    }
    let lower = points.get(after.checked_sub(1)?)?;
    let part = (hertz / lower.0).ln() / (upper.0 / lower.0).ln();
    Some(lower.1 + part * (upper.1 - lower.1))
}

/// Where a measurement last falls below a level on the way down from where it
/// is greatest.
fn measured_fallen(points: &[(f64, f64)], level: f64) -> Option<f64> {
    let top = points
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.1.total_cmp(&b.1.1))?
        .0;
    let pair = points[..=top]
        .windows(2)
        .rev()
        .find(|pair| pair[0].1 < level)?;
    let part = (level - pair[0].1) / (pair[1].1 - pair[0].1);
    Some(pair[0].0 * (pair[1].0 / pair[0].0).powf(part))
}

/// Level of the pass band: the mean over the octave in which a measurement is
/// greatest (after the effective frequency range of IEC 60268-5); the greatest
/// level where it spans no octave.
fn pass_band(points: &[(f64, f64)]) -> f64 {
    const STEPS: i32 = 12;
    let mean = |from: f64| {
        let levels: Option<Vec<f64>> = (0..=STEPS)
            .map(|step| between(points, from * 2f64.powf(f64::from(step) / f64::from(STEPS))))
            .collect();
        levels.map(|levels| levels.iter().sum::<f64>() / levels.len() as f64)
    };
    let octaves = points.iter().filter_map(|point| mean(point.0));
    let greatest = octaves.fold(f64::NEG_INFINITY, f64::max);
    if greatest.is_finite() {
        return greatest;
    }
    points
        .iter()
        .map(|point| point.1)
        .fold(f64::NEG_INFINITY, f64::max)
}
