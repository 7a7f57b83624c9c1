//! Alignments of boxes with a port or a passive radiator: what to build for a
//! driver's total quality factor.
//!
//! Both have four poles. With G(s) = s⁴ / (s⁴ + a₁ s³ + a₂ s² + a₃ s + 1) a QB3
//! response has a₁² = 2 a₂ and a₂² + 2 = 2 a₁ a₃, a C4 response the poles of a
//! Chebyshev one with parameter k, and B4 lies where they meet (A. N. Thiele,
//! Loudspeakers in Vented Boxes, Proc. IRE Australia 22 (1961) 487-508).

/// A box without losses: what to build for a driver's total quality factor.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Alignment {
    /// What the response is called: QB3, B4 or C4.
    pub name: &'static str,
    /// Tuning of the box against the driver's resonance.
    pub h: f64,
    /// Compliance of the suspension against that of the box.
    pub alpha: f64,
}

/// Total quality factors that boxes are worth building for.
const WORTH: std::ops::RangeInclusive<f64> = 0.1..=0.65;
/// a₁ and a₃ of the maximally flat response, B4: √(4 + 2√2).
const FLAT: f64 = 2.613_125_929_752_753;
/// Where along the responses no more is worth building: k = 0.2 of C4, and five
/// times a₁ of B4.
const ENDS: (f64, f64) = (-0.8, 4.0);
/// What is called B4 on either side of it.
const NEARLY_FLAT: f64 = 3e-3;

/// The coefficients a₁, a₂ and a₃ along the responses: C4 with k = 1 + place
/// below zero, B4 at zero, QB3 with a₁ greater by that share above.
fn coefficients(place: f64) -> [f64; 3] {
    if place >= 0.0 {
        let a1 = FLAT * (1.0 + place);
        let a2 = a1 * a1 / 2.0;
        return [a1, a2, (a2 * a2 + 2.0) / (2.0 * a1)];
    }
    let square = (1.0 + place).powi(2);
    let d = (square * square + 6.0 * square + 1.0) / 8.0;
    let root2 = std::f64::consts::SQRT_2;
    let a3 = (1.0 + place) * FLAT / d.powf(0.25);
    let a2 = (1.0 + square * (1.0 + root2)) / d.sqrt();
    let a1 = a3 / d.sqrt() * (1.0 - (1.0 - square) / (2.0 * root2));
    [a1, a2, a3]
}

/// The alignment of a vented box without losses for a total quality factor;
/// `None` where there is none worth building.
///
/// a₁ = 1/(√h Q), a₃ = √h / Q and a₂ = (α + 1 + h²)/h (Thiele, 1961).
pub(super) fn vented_alignment(q: f64) -> Option<Alignment> {
    aligned(q, f64::INFINITY)
}

/// The alignment of a box with a passive radiator without losses: its four poles
/// are those of a vented box's response. The notch at the radiator's own
/// resonance, which a port does not have, stays as it is, below the pass band.
/// `compliance` is that of the radiator's suspension against the driver's,
/// Vap / Vas; the more compliant it is, the more the radiator is like a port.
///
/// With δ = Vap / Vb and ω the unit of frequency in which the last coefficient is
/// 1: ω⁴ = h² (1 + α/(1 + δ)), a₁ = 1/(ω Q), a₂ = (α + 1 + h²)/ω² and
/// a₃ = h²/(ω³ Q). Derived from the circuit of R. H. Small, Passive-Radiator
/// Loudspeaker Systems, J. Audio Eng. Soc. 22 (1974) 592-601.
pub(super) fn radiator_alignment(q: f64, compliance: f64) -> Option<Alignment> {
    Some(compliance)
        .filter(|compliance| *compliance > 0.0)
        .and_then(|compliance| aligned(q, compliance))
}

fn aligned(q: f64, compliance: f64) -> Option<Alignment> {
    if !WORTH.contains(&q) {
        return None;
    }
    let at = |place: f64| {
        let [a1, a2, a3] = coefficients(place);
        let omega = 1.0 / (q * a1);
        let h = omega * (a3 / a1).sqrt();
        let alpha = a2 * omega * omega - 1.0 - h * h;
        // What the suspension of the radiator adds to the last coefficient.
        let added = match compliance.is_finite() {
            true => alpha / (1.0 + compliance * alpha),
            false => 0.0,
        };
        let left = 1.0 / (q * q * a1 * a3) - 1.0 - added;
        (left, h, alpha)
    };
    // What is left falls as the response goes from more ripple to none.
    let (mut low, mut high) = ENDS;
    if at(low).0 < 0.0 || at(high).0 > 0.0 {
        return None;
    }
    for _ in 0..64 {
        let middle = f64::midpoint(low, high);
        match at(middle).0 > 0.0 {
            true => low = middle,
            false => high = middle,
        }
    }
    let (left, h, alpha) = at(low);
    let name = match low {
        place if place.abs() <= NEARLY_FLAT => "B4",
        place if place > 0.0 => "QB3",
        _ => "C4",
    };
    (left.abs() < 1e-9 && alpha > 0.0).then_some(Alignment { name, h, alpha })
}

#[cfg(test)]
#[allow(clippy::panic, reason = "a check gives what is fit")]
mod tests {
    use super::super::check::near;
    use super::super::loudspeaker_box::{Driver, Enclosure, Loudspeaker};
    use super::*;
    use num_complex::Complex64;

    /// Truth: the table of alignments of Thiele (1961), as a public page reprints
    /// it: three digits, so its last digit is the tolerance.
    #[test]
    fn alignments_are_those_of_the_published_table() {
        for (q, name, h, alpha) in [
            (0.180, "QB3", 2.000, 10.48),
            (0.259, "QB3", 1.420, 4.46),
            (0.383, "B4", 1.000, 1.414),
            (0.415, "C4", 0.927, 1.055),
            (0.466, "C4", 0.829, 0.729),
            (0.557, "C4", 0.716, 0.485),
        ] {
            let Some(found) = vented_alignment(q) else {
                panic!("{q} has an alignment");
            };
            assert_eq!(found.name, name);
            near(found.h, h, 0.006);
            near(found.alpha, alpha, 0.009);
        }
        assert_eq!(vented_alignment(0.0), None);
        assert_eq!(vented_alignment(f64::NAN), None);
        assert_eq!(vented_alignment(1.0), None);
        assert_eq!(radiator_alignment(0.3, 0.0), None);
        assert_eq!(radiator_alignment(0.3, f64::NAN), None);
    }

    /// Truth: a radiator whose suspension is very compliant is a port (Small, 1974).
    #[test]
    fn a_very_compliant_radiator_is_a_port() {
        for q in [0.2, 0.3, 0.382_683_432_365, 0.45, 0.55] {
            let (Some(port), Some(radiator)) = (vented_alignment(q), radiator_alignment(q, 1e9))
            else {
                panic!("{q} has both");
            };
            near(radiator.h, port.h, 1e-6);
            near(radiator.alpha, port.alpha, 1e-6);
        }
    }

    /// Truth: the response of the analogous circuit of Small (1974), which other
    /// tests hold against numpy, is that of the four poles of B4, multiplied by
    /// the notch: |s² (s² + ωp²)| / |s⁴ + a₁ s³ + a₂ s² + a₃ s + 1|, with the
    /// Butterworth polynomial's 2.6131 and 3.4142 (textbook).
    #[test]
    fn the_poles_are_those_of_the_response_and_the_notch_remains() {
        // By hand, for a radiator as compliant as the driver: with x = h² the last
        // coefficient asks for (x - 1) (1 + √2) x = (1 + √2) x - 1.
        let x = 1.0 + (2.0 - std::f64::consts::SQRT_2).sqrt();
        let q = 1.0 / (2.613_125_929_752_753 * x.sqrt());
        let Some(found) = radiator_alignment(q, 1.0) else {
            panic!("{q} has an alignment");
        };
        assert_eq!(found.name, "B4");
        near(found.h, x.sqrt(), 1e-6);
        near(
            found.alpha,
            (1.0 + std::f64::consts::SQRT_2) * x - 1.0,
            1e-6,
        );
        let (resonance, compliance) = (50.0, 0.01);
        let volume = compliance / found.alpha;
        let tuning = found.h * resonance;
        let own = tuning / (1.0 + compliance / volume).sqrt();
        let speaker = Loudspeaker {
            driver: Driver {
                resonance,
                q,
                compliance,
            },
            enclosure: Enclosure::Radiator {
                volume,
                resonance: own,
                compliance,
                q: f64::INFINITY,
            },
        };
        let unit = resonance / (q * 2.613_125_929_752_753);
        for hertz in [20.0, 35.0, 50.0, 70.0, 120.0, 400.0] {
            let s = Complex64::new(0.0, hertz / unit);
            let notch = (own / unit).powi(2);
            let (a1, a2) = (2.613_125_929_752_753, 3.414_213_562_373_095);
            let poles = s.powi(4) + a1 * s.powi(3) + a2 * s.powi(2) + a1 * s + 1.0;
            let expected = (s * s * (s * s + notch) / poles).norm();
            near(speaker.motion(hertz).gain, expected, 1e-6);
        }
    }
}
