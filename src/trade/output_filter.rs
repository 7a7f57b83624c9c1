//! What the filter behind a converter or a modulated pin leaves: of the notes, of
//! their images, of the carrier.

use std::f64::consts::PI;

use super::kind::Inputs;
use super::plan::{Axis, Curves, Plan, Planned, Plot, Procedure, Unworkable};
use super::reconstruction::{Filter, Room, STILL};
use crate::quantity::Dimension;

const HOLD: &str = "textbook: spectrum of a sample that is held, sin(x)/x";
const FILTER: &str = "response of the network of pin, resistors, capacitors and load";
const CARRIER: &str = "textbook: Fourier series of a square wave, through the filter";

/// The filter and the names of its values.
pub(super) struct Work {
    pub filter: Filter,
    pub parts: Vec<String>,
}

impl Work {
    /// Operands that begin with these and end with the parts.
    fn operands(&self, first: &[&str]) -> Vec<String> {
        let first = first.iter().map(|&name| name.to_owned());
        first.chain(self.parts.iter().cloned()).collect()
    }

    /// Readings of one run over the first operands and the filter with its parts.
    fn readings<const COUNT: usize>(
        &self,
        first: &[&str],
        find: impl Fn(&[f64], &mut Room) -> Result<[f64; COUNT], Unworkable>
        + Copy
        + Send
        + Sync
        + 'static,
    ) -> [Procedure; COUNT] {
        let (filter, first) = (self.filter, first.len());
        Procedure::several(move || {
            let mut room = filter.room();
            Box::new(move |of, readings| {
                let room = room.as_mut().map_err(|fault| fault.clone())?;
                let (own, parts) = of.split_at(first.min(of.len()));
                room.put(parts);
                readings.copy_from_slice(&find(own, room)?);
                Ok(())
            })
        })
    }

    fn add(
        &self,
        plan: &mut Plan,
        (name, means): (&str, &str),
        dimension: Dimension,
        first: &[&str],
        (procedure, source): (Procedure, &'static str),
    ) {
        let operands = self.operands(first);
        plan.results.push(Planned::procedure(
            name, means, dimension, operands, procedure, source,
        ));
    }

    /// What filter and hold leave of the highest note and of its first image.
    pub fn response(&self, plan: &mut Plan, given: &Inputs) {
        let first = &["highest_note", "rate"];
        let [corner, lost, image, passes] = self.readings(first, |of, room| {
            let (note, rate) = (of[0], of[1]);
            let (still, kept) = (room.gain(STILL)?, room.gain(note)?);
            // Held samples have note and image weighed as the inverse of their
            // frequencies, since the sines of both are the same. Where there is
            // no image the hold has said so.
            let beyond = (rate - note).abs().max(STILL);
            Ok([
                room.corner()?,
                level(kept / still),
                level(note / beyond * room.gain(beyond)? / kept),
                level(still),
            ])
        });
        let means = "Frequency at which the filter leaves half the power";
        let named = ("corner", means);
        self.add(plan, named, Dimension::FREQUENCY, first, (corner, FILTER));
        let named = (
            "filter_droop",
            "What the filter takes from the highest note",
        );
        self.add(plan, named, Dimension::DECIBEL, first, (lost, FILTER));
        let held = Procedure::new(|of| {
            let part = of[0] / of[1];
            if !(part > 0.0 && part < 0.5) {
                return Err(Unworkable::new(
                    format!(
                        "has no value: {} Hz is not below half of {} Hz",
                        of[0], of[1]
                    ),
                    "keep the highest note below half the sample rate",
                ));
            }
            Ok(level((PI * part).sin() / (PI * part)))
        });
        plan.results.push(Planned::procedure(
            "hold_droop",
            "What holding each sample takes from the highest note",
            Dimension::DECIBEL,
            first.map(str::to_owned).to_vec(),
            held,
            HOLD,
        ));
        plan.results.push(Planned::formula(
            "droop",
            "What the highest note loses in all",
            "hold_droop + filter_droop",
            "levels add",
        ));
        let named = ("image", "First image of the highest note against the note");
        self.add(plan, named, Dimension::DECIBEL, first, (image, HOLD));
        if given.has("load") || given.has("source_resistance") {
            let named = ("gain", "What pin and load leave of slow signals");
            self.add(plan, named, Dimension::DECIBEL, first, (passes, FILTER));
        }
        self.plot(plan);
    }

    /// The response up to the sample rate.
    fn plot(&self, plan: &mut Plan) {
        let filter = self.filter;
        plan.plots.push(Plot {
            name: "filter",
            marks: Vec::new(),
            lines: Vec::new(),
            title: "What holding and filter leave of each frequency".to_owned(),
            x: Axis::logarithmic("Frequency", "Hz"),
            y: Axis::even("Level", "dB"),
            operands: self.operands(&["rate"]),
            curves: Curves::new(move |of| {
                let (own, parts) = of.split_at(1);
                let rate = own[0];
                let mut room = filter.room()?;
                room.put(parts);
                let mut points = Vec::new();
                for at in 0..=120 {
                    // From a thousandth of the rate to just below the rate, where
                    // a held sample has its first zero.
                    let part = 10f64.powf(-3.0 + 2.99 * f64::from(at) / 120.0);
                    let held = (PI * part).sin() / (PI * part);
                    points.push((part * rate, level(held * room.gain(part * rate)?)));
                }
                Ok(vec![("output".to_owned(), points)])
            }),
        });
    }

    /// What is left of the carrier of a modulator.
    pub fn carrier(&self, plan: &mut Plan, bits: u32) {
        let first = &["full_scale", "carrier", "highest_note"];
        let [left, ripple, rest] = self.readings(first, |of, room| {
            let (full_scale, carrier, note) = (of[0], of[1], of[2]);
            // The first line of a square wave that goes from zero to full scale.
            let left = 2.0 / PI * full_scale * room.gain(carrier)?;
            let tone = 0.5 * full_scale * room.gain(note)?;
            let ripple = room.ripple(full_scale, carrier)?;
            Ok([left, ripple, level(left / tone)])
        });
        let means = "Amplitude that is left of the carrier, at half duty";
        let named = ("carrier_amplitude", means);
        self.add(plan, named, Dimension::VOLTAGE, first, (left, CARRIER));
        let named = ("ripple", "Ripple from peak to peak, at half duty");
        self.add(plan, named, Dimension::VOLTAGE, first, (ripple, CARRIER));
        let means = "Carrier that is left against the highest note at full scale";
        let named = ("carrier_level", means);
        self.add(plan, named, Dimension::DECIBEL, first, (rest, CARRIER));
        plan.notes.push(format!(
            "The carrier is greatest at half duty, which is silence: it is heard by no one and may still heat a speaker. With {bits} bit of duty there are {} widths.",
            2f64.powi(bits as i32)
        ));
    }
}

/// 20 times the logarithm to base 10.
pub(super) fn level(ratio: f64) -> f64 {
    20.0 * ratio.log10()
}
