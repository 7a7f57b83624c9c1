//! The sounds of a wave table: every key, the keys in turn, and chords.

use super::instrument::{Instrument, RollOff};
use super::kind::Inputs;
use super::plan::{Plan, Planned, Procedure, Unworkable};
use super::sound::{Rendering, Samples, Sound};
use super::wave_shape::Shape;
use super::wave_table::ARITHMETIC;
use crate::quantity::Dimension;

const DECAY: &str = "textbook: exponential decay in steps";

/// Most samples of all sounds of one working: eight megabytes.
const MOST_SAMPLES: f64 = 4e6;
/// Longest of one key's sound, in s.
const LONGEST: f64 = 5.0;
/// Sample rates that a browser plays, in Hz: what the common ones are known to
/// take, from memory.
const RATES: [f64; 2] = [3_000.0, 384_000.0];

/// What is heard.
pub(super) fn sounds(plan: &mut Plan, shape: &Shape, given: &Inputs) {
    let mut operands: Vec<String> = [shape.rate.as_str(), "duration", "used_shift"]
        .map(str::to_owned)
        .to_vec();
    if given.has("decay") {
        let procedure = Procedure::new(|of| Ok(Instrument::decay_step(of[0], of[1])));
        plan.results.push(Planned::procedure(
            "decay_step",
            "Samples between two steps of the decay, each of which takes a 256th",
            Dimension::ONE,
            vec!["decay".to_owned(), shape.rate.clone()],
            procedure,
            DECAY,
        ));
        operands.push("decay_step".to_owned());
    }
    let corner = given.has("speaker_corner");
    if corner {
        operands.push("speaker_corner".to_owned());
    }
    operands.extend(shape.keys.iter().map(|key| key.increment.clone()));
    operands.extend(shape.harmonics.iter().cloned());
    let score = Score {
        shape: shape.clone(),
        decays: given.has("decay"),
        rolls_off: corner,
        order: given.whole("speaker_order").unwrap_or(2) as u32,
    };
    let keys = shape.keys.len();
    let parts = 2 * keys + shape.chords.iter().len();
    let copies = if corner { 2 } else { 1 };
    let of = score.clone();
    plan.results.push(Planned::procedure(
        "sound_samples",
        "Samples of one key's sound",
        Dimension::ONE,
        operands.clone(),
        Procedure::new(move |operands| {
            let (instrument, ..) = of.read(operands)?;
            let all = (parts * copies * instrument.length) as f64;
            if all > MOST_SAMPLES {
                return Err(Unworkable::new(
                    format!("is too large: all sounds together come to {all:.0} samples"),
                    format!("shorten `duration` until they are {MOST_SAMPLES} at most"),
                ));
            }
            Ok(instrument.length as f64)
        }),
        ARITHMETIC,
    ));
    let mut parts: Vec<(String, String, Part)> = Vec::new();
    if keys > 1 {
        let title = "All keys in turn".to_owned();
        parts.push(("in_turn".to_owned(), title, Part::InTurn));
    }
    for (at, key) in shape.keys.iter().enumerate() {
        parts.push((key.id.clone(), key.title.clone(), Part::Together(vec![at])));
    }
    for keys in &shape.chords {
        let titles: Vec<&str> = keys
            .iter()
            .map(|&key| shape.keys[key].title.as_str())
            .collect();
        let names: Vec<&str> = keys
            .iter()
            .map(|&key| shape.keys[key].id.as_str())
            .collect();
        parts.push((
            names.join("_"),
            titles.join(" "),
            Part::Together(keys.clone()),
        ));
    }
    // A key may be called what a chord is; each file needs a name of its own.
    for at in 1..parts.len() {
        while parts[..at].iter().any(|(name, ..)| *name == parts[at].0) {
            parts[at].0 += "_";
        }
    }
    for through_speaker in [false, true] {
        if through_speaker && !corner {
            continue;
        }
        for (name, title, part) in &parts {
            let (score, part) = (score.clone(), part.clone());
            let (name, title) = if through_speaker {
                (
                    format!("{name}-speaker"),
                    format!("{title}, through the speaker"),
                )
            } else {
                (name.clone(), title.clone())
            };
            plan.sounds.push(Sound {
                name,
                title,
                operands: operands.clone(),
                rendering: Rendering::new(move |operands| {
                    score.render(&part, through_speaker, operands)
                }),
            });
        }
    }
    plan.notes.push(
        "Sounds are rendered by the whole numbers of the firmware and fade out over the last hundredth of a second; what is heard is also up to what plays them here."
            .to_owned(),
    );
}

/// What one sound consists of.
#[derive(Clone, Debug)]
enum Part {
    InTurn,
    Together(Vec<usize>),
}

/// What all sounds of a working share.
#[derive(Clone, Debug)]
struct Score {
    shape: Shape,
    decays: bool,
    rolls_off: bool,
    order: u32,
}

impl Score {
    /// The instrument, the speaker and the increments of the keys.
    fn read(&self, operands: &[f64]) -> Result<(Instrument, RollOff, Vec<u64>), Unworkable> {
        let mut rest = operands.iter().copied();
        let mut next = |there: bool| {
            if there {
                rest.next().unwrap_or(f64::NAN)
            } else {
                f64::NAN
            }
        };
        let (rate, duration, shift) = (next(true), next(true), next(true));
        let decay = next(self.decays);
        let corner = next(self.rolls_off);
        let increments: Vec<f64> = self.shape.keys.iter().map(|_| next(true)).collect();
        let harmonics: Vec<f64> = rest.collect();
        if !(RATES[0]..=RATES[1]).contains(&rate) {
            return Err(Unworkable::new(
                format!("has no value: no browser plays {rate} samples a second"),
                format!(
                    "keep `rate` between {} Hz and {} Hz, or leave out `duration`",
                    RATES[0], RATES[1]
                ),
            ));
        }
        if !(duration > 0.0 && duration <= LONGEST) {
            return Err(Unworkable::new(
                format!("has no value: a key would be heard for {duration} s"),
                format!("keep `duration` above zero, and at {LONGEST} s at most"),
            ));
        }
        if self.rolls_off && !(corner > 0.0 && 2.0 * corner < rate) {
            return Err(Unworkable::new(
                format!(
                    "has no value: {rate} samples a second cannot hold a roll-off at {corner} Hz"
                ),
                "keep `speaker_corner` below half the sample rate",
            ));
        }
        let most = 2f64.powi(self.shape.accumulator as i32 - 1);
        if let Some(wrong) = increments
            .iter()
            .find(|&&value| !(value >= 1.0 && value < most))
        {
            return Err(Unworkable::new(
                format!("has no value: an increment of {wrong} plays no note"),
                "keep increments from 1 to half the range of the accumulator",
            ));
        }
        let instrument = Instrument {
            wave: self.shape.wave(&harmonics)?,
            bits: self.shape.accumulator,
            rate,
            shift: shift as u32,
            output_bits: self.shape.output_bits,
            decay_step: self.decays.then_some(decay as usize),
            length: (duration * rate).round() as usize,
        };
        let speaker = RollOff {
            corner,
            order: self.order,
        };
        let increments = increments
            .iter()
            .map(|value| value.round() as u64)
            .collect();
        Ok((instrument, speaker, increments))
    }

    fn render(
        &self,
        part: &Part,
        through_speaker: bool,
        operands: &[f64],
    ) -> Result<Samples, Unworkable> {
        let (instrument, speaker, increments) = self.read(operands)?;
        let samples = match part {
            Part::InTurn => instrument.in_turn(&increments),
            Part::Together(keys) => {
                let chosen: Vec<u64> = keys.iter().map(|&key| increments[key]).collect();
                instrument.together(&chosen)
            }
        };
        instrument.heard(&samples, through_speaker.then_some(speaker))
    }
}
