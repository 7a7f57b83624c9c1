//! A speaker as a record gives it: by a stated corner and order, by Thiele-Small
//! data and a box, or as measured.

use std::sync::Arc;

use super::kind::{Bound, Input, Inputs, Refusal, Takes, may_take, optional};
use super::loudspeaker_box::{Driver, Enclosure, Loudspeaker};
use super::measured_response::pass_band;
use super::plan::Unworkable;
use super::speaker_response::Response;
use crate::quantity::Dimension;

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
