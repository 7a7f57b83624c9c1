//! Responses of loudspeakers at low frequencies: in a baffle, and in closed,
//! vented and passive-radiator boxes.
//!
//! The driver and its box are solved as the analogous circuit of R. H. Small
//! (Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20 (1972)
//! 383-395; Closed-Box, 798-808; Vented-Box, 21 (1973) 363-372;
//! Passive-Radiator, 22 (1974) 592-601), with compliances written as volumes,
//! so that the density of air and the speed of sound drop out.
//!
//! Not here: the rise of a voice coil's impedance, breakup, diffraction: all
//! that a response has above the pass band.

use std::f64::consts::TAU;

use num_complex::Complex64;

/// A driver by its Thiele-Small parameters.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Driver {
    /// Resonance in free air, in Hz.
    pub resonance: f64,
    /// Total quality factor there.
    pub q: f64,
    /// Volume of air as compliant as the suspension, in m³; any in a baffle.
    pub compliance: f64,
}

/// What a driver is built into.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Enclosure {
    /// A baffle that keeps front and back apart, without any box.
    Baffle,
    /// A closed box.
    Closed {
        /// Volume in m³.
        volume: f64,
    },
    /// A box with a port.
    Vented {
        /// Volume in m³.
        volume: f64,
        /// Resonance of port and box, in Hz.
        tuning: f64,
        /// Quality factor of the leaks at the tuning; infinite without leaks.
        leakage_q: f64,
    },
    /// A box with a passive radiator.
    Radiator {
        /// Volume in m³.
        volume: f64,
        /// Resonance of the radiator on its own suspension, in Hz.
        resonance: f64,
        /// Volume of air as compliant as its suspension, in m³.
        compliance: f64,
        /// Its quality factor; infinite without losses.
        q: f64,
    },
}

/// A driver in its enclosure.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Loudspeaker {
    /// The driver.
    pub driver: Driver,
    /// The enclosure.
    pub enclosure: Enclosure,
}

/// What a loudspeaker does at one frequency.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Motion {
    /// Sound pressure against that in the pass band.
    pub gain: f64,
    /// Sound pressure that the cone alone would make, against that in the pass
    /// band: displacement of the cone goes with it over the square of frequency.
    pub cone: f64,
}

impl Loudspeaker {
    /// What it does at a frequency in Hz.
    pub fn motion(&self, hertz: f64) -> Motion {
        let s = Complex64::new(0.0, TAU * hertz);
        let Driver {
            resonance,
            q,
            compliance,
        } = self.driver;
        let omega = TAU * resonance;
        // Acoustic mass, resistance and compliance of the driver.
        let mass = 1.0 / (omega * omega * compliance);
        let driver = s * mass + 1.0 / (omega * compliance * q) + (s * compliance).inv();
        let one = Complex64::new(1.0, 0.0);
        // Impedance of port or radiator, and admittance of air and leaks beside it.
        let (branch, air, beside) = match self.enclosure {
            Enclosure::Baffle => {
                let gain = (s * mass / driver).norm();
                return Motion { gain, cone: gain };
            }
            Enclosure::Closed { volume } => {
                let gain = (s * mass / (driver + (s * volume).inv())).norm();
                return Motion { gain, cone: gain };
            }
            Enclosure::Vented {
                volume,
                tuning,
                leakage_q,
            } => {
                let omega = TAU * tuning;
                let air = s * volume;
                let port = s / (omega * omega * volume);
                (port, air, air + omega * volume / leakage_q)
            }
            Enclosure::Radiator {
                volume,
                resonance,
                compliance,
                q,
            } => {
                let omega = TAU * resonance;
                let moving = s / (omega * omega * compliance) + 1.0 / (omega * compliance * q);
                let air = s * volume;
                (moving + (s * compliance).inv(), air, air)
            }
        };
        // Written without the quotients that have no value at a resonance.
        let divided = one + branch * beside;
        let whole = driver * divided + branch;
        Motion {
            gain: (s * mass * air * branch / whole).norm(),
            cone: (s * mass * divided / whole).norm(),
        }
    }

    /// Resonance and total quality factor as a high-pass of second order, where
    /// it is one: fc = fs √(1 + α), Qtc = Qts √(1 + α), α = Vas / Vb.
    pub fn second_order(&self) -> Option<(f64, f64)> {
        let rise = match self.enclosure {
            Enclosure::Baffle => 1.0,
            Enclosure::Closed { volume } => (1.0 + self.driver.compliance / volume).sqrt(),
            Enclosure::Vented { .. } | Enclosure::Radiator { .. } => return None,
        };
        Some((self.driver.resonance * rise, self.driver.q * rise))
    }

    /// A frequency that it does not reach far below of, in Hz.
    pub fn about(&self) -> f64 {
        let resonance = self.driver.resonance;
        match self.enclosure {
            Enclosure::Baffle => resonance,
            Enclosure::Closed { volume } => {
                resonance * (1.0 + self.driver.compliance / volume).sqrt()
            }
            Enclosure::Vented { volume, tuning, .. } => {
                let closed = resonance * (1.0 + self.driver.compliance / volume).sqrt();
                closed.max(tuning)
            }
            Enclosure::Radiator {
                volume,
                resonance: own,
                compliance,
                ..
            } => {
                let closed = resonance * (1.0 + self.driver.compliance / volume).sqrt();
                closed.max(own * (1.0 + compliance / volume).sqrt())
            }
        }
    }
}

/// Where a high-pass of second order has fallen so many decibels, against its
/// resonance: x⁴ (1/g - 1) = A x² + 1 solved for x, with A = 1/Q² - 2 and g the
/// ratio of powers (R. H. Small, Closed-Box Loudspeaker Systems, 1972).
pub(super) fn fallen(q: f64, decibels: f64) -> f64 {
    let a = 1.0 / (q * q) - 2.0;
    let power = 10f64.powf(decibels / 10.0);
    (2.0 / ((a * a + 4.0 * (power - 1.0)).sqrt() - a)).sqrt()
}

/// How far a high-pass of second order rises above its pass band, in dB:
/// 20 lg(Q² / √(Q² - 1/4)) above Q = 1/√2 (R. H. Small, Closed-Box Loudspeaker
/// Systems, 1972).
pub(super) fn peak(q: f64) -> f64 {
    let square = q * q;
    match square > 0.5 {
        true => 20.0 * (square / (square - 0.25).sqrt()).log10(),
        false => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::super::check::near;
    use super::*;

    const LITRE: f64 = 1e-3;

    fn decibels(driver: (f64, f64, f64), enclosure: Enclosure, hertz: f64) -> f64 {
        let (resonance, q, compliance) = driver;
        let driver = Driver {
            resonance,
            q,
            compliance,
        };
        let speaker = Loudspeaker { driver, enclosure };
        20.0 * speaker.motion(hertz).gain.log10()
    }

    /// Truth: `scipy.signal.freqs` on the transfer functions of Small (1972).
    #[test]
    fn closed_boxes_respond_as_a_signal_library_says() {
        let first = (40.0, 3.5 * 0.45 / 3.95, 50.0 * LITRE);
        let closed = |volume| Enclosure::Closed { volume };
        for (hertz, level) in [
            (32.659_863, -12.656_341),
            (65.319_726, -3.726_643_4),
            (130.639_45, -0.615_141_67),
        ] {
            near(decibels(first, closed(30.0 * LITRE), hertz), level, 2e-6);
        }
        let second = (115.0, 5.0 * 0.7 / 5.7, 1.8 * LITRE);
        for (hertz, level) in [
            (99.592_921, -10.981_703),
            (199.185_84, 0.535_076_32),
            (398.371_69, 1.059_496_9),
        ] {
            near(decibels(second, closed(0.9 * LITRE), hertz), level, 2e-6);
        }
    }

    /// Truth: `scipy.signal.freqs` on the lossless vented box of Small (1973).
    #[test]
    fn vented_boxes_respond_as_a_signal_library_says() {
        let cases = [
            (60.0, 0.45, 1.2, 0.9, 30.0, -20.119_909),
            (60.0, 0.45, 1.2, 0.9, 60.0, -2.090_514_1),
            (60.0, 0.45, 1.2, 0.9, 120.0, 0.584_530_81),
            (38.0, 0.303, 2.95, 1.23, 19.0, -30.504_068),
            (38.0, 0.303, 2.95, 1.23, 38.0, -10.632_533),
            (38.0, 0.303, 2.95, 1.23, 76.0, -0.516_436_07),
        ];
        for (resonance, q, alpha, h, hertz, level) in cases {
            let enclosure = Enclosure::Vented {
                volume: 1e-2 / alpha,
                tuning: h * resonance,
                leakage_q: f64::INFINITY,
            };
            near(
                decibels((resonance, q, 1e-2), enclosure, hertz),
                level,
                1e-6,
            );
        }
    }

    /// Truth: alignments with leaks that scipy finds on the polynomial of Small
    /// (1973, Part I): a maximally flat response has its -3.01 dB at fs, and its
    /// -10 dB at 0.759835686 fs. A public alignment page prints Q = 0.4048 and
    /// α = 1.0613 for QL = 7.
    #[test]
    fn leaks_are_those_of_the_published_alignments() {
        for (leakage_q, q, alpha) in [
            (7.0, 0.404_814_247, 1.061_318_02),
            (15.0, 0.392_702_139, 1.244_449_61),
            (5.0, 0.414_400_255, 0.931_588_376),
        ] {
            let enclosure = Enclosure::Vented {
                volume: 1e-2 / alpha,
                tuning: 50.0,
                leakage_q,
            };
            let driver = (50.0, q, 1e-2);
            near(decibels(driver, enclosure, 50.0), -3.010_299_957, 1e-6);
            near(
                decibels(driver, enclosure, 50.0 * 0.759_835_686),
                -10.0,
                1e-6,
            );
        }
    }

    /// Truth: numpy, nodal solution of the analogous circuit of Small (1974).
    #[test]
    fn passive_radiators_respond_as_their_circuit_does() {
        let cases = [
            (50.0, 0.35, 2.0, 2.0, 28.867_513_459, 25.0, -35.877_015),
            (50.0, 0.35, 2.0, 2.0, 28.867_513_459, 40.0, -13.738_669),
            (50.0, 0.35, 2.0, 2.0, 28.867_513_459, 75.0, -2.601_734_9),
            (70.0, 0.4, 1.5, 3.0, 30.0, 35.0, -32.010_155),
            (70.0, 0.4, 1.5, 3.0, 30.0, 105.0, -1.934_147_3),
            (70.0, 0.4, 1.5, 3.0, 30.0, 280.0, -0.093_430_603),
        ];
        for (resonance, q, alpha, delta, own, hertz, level) in cases {
            let volume = 1e-2 / alpha;
            let enclosure = Enclosure::Radiator {
                volume,
                resonance: own,
                compliance: delta * volume,
                q: f64::INFINITY,
            };
            near(
                decibels((resonance, q, 1e-2), enclosure, hertz),
                level,
                5e-6,
            );
        }
        let enclosure = Enclosure::Radiator {
            volume: 1e-3,
            resonance: 30.0,
            compliance: 1e-3,
            q: f64::INFINITY,
        };
        assert!(
            decibels((50.0, 0.4, 1e-3), enclosure, 30.0) < -200.0,
            "a notch"
        );
    }

    /// Truth: scipy root finding on the magnitude response; Small (1972) prints
    /// 0.786 and 1.25 dB for Q = 1 (from memory).
    #[test]
    fn corners_and_peaks_of_closed_boxes_are_those_of_the_paper() {
        let half = 10.0 * 2f64.log10();
        for (q, three, ten, rise) in [
            (0.5f64.sqrt(), 1.0, 0.577_350_269_2, 0.0),
            (0.8, 0.897_160_080_3, 0.556_698_071_7, 0.212_953_41),
            (1.0, 0.786_151_377_8, 0.531_390_342_5, 1.249_387_4),
            (0.63, 1.137_079_989, 0.602_862_460_3, 0.0),
        ] {
            near(fallen(q, half), three, 1e-8);
            near(fallen(q, 10.0), ten, 1e-8);
            assert!((peak(q) - rise).abs() < 1e-7, "{q}");
        }
    }
}
