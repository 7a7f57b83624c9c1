//! What a speaker makes of each frequency, and how far its cone has to move.

use std::f64::consts::{SQRT_2, TAU};
use std::sync::Arc;

use super::loudspeaker_box::{Loudspeaker, Motion, fallen, peak};
use super::measured_response::{between, measured_fallen, pass_band};

/// Density of air in kg/m³ and speed of sound in m/s at 20 °C (common practice).
pub(super) const AIR: (f64, f64) = (1.2, 343.0);
/// Reference of sound pressure level, in Pa (IEC 60027-3).
const REFERENCE: f64 = 20e-6;
/// Half of the power, in dB.
pub(super) const HALF_POWER: f64 = 3.010_299_956_639_812;

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
