//! Current of a junction by its voltage, with every derivative that Newton's
//! method and the sensitivities ask for.

/// Conductance beside every junction, in S, far below what any junction leaks.
///
/// It is part of the model: it makes what lies between two blocking junctions
/// take its share of the voltage rather than none in particular, and it never
/// carries a current that can be measured.
pub(super) const LEAKAGE: f64 = 1e-18;

/// Largest exponent that is evaluated; Newton's method never settles there.
const MOST: f64 = 600.0;

/// The shape of a junction's characteristic.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Curve {
    /// Values: saturation current, n V_T.
    Shockley,
    /// Values: knee, dynamic resistance, saturation current, n V_T.
    Zener,
}

/// A point of a characteristic. Voltage and current count from anode to
/// cathode.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Point {
    /// Current, in A.
    pub(super) current: f64,
    /// Derivative of the current by the voltage, in S.
    pub(super) slope: f64,
    /// Derivative of the slope by the voltage.
    pub(super) bend: f64,
    /// Derivatives of the current by the values.
    pub(super) current_by: [f64; 4],
    /// Derivatives of the slope by the values.
    pub(super) slope_by: [f64; 4],
}

impl Curve {
    /// Number of values.
    pub(super) fn values(self) -> usize {
        match self {
            Curve::Shockley => 2,
            Curve::Zener => 4,
        }
    }

    /// Current and slope at a voltage.
    #[inline]
    pub(super) fn at(self, v: f64, values: &[f64]) -> (f64, f64) {
        let leak = LEAKAGE * v;
        match (self, values) {
            (Curve::Shockley, &[saturation, scale, ..]) => {
                let x = (v / scale).min(MOST);
                let current = saturation * x.exp_m1();
                let slope = (current + saturation) / scale;
                (current + leak, slope + LEAKAGE)
            }
            (Curve::Zener, &[knee, resistance, ..]) if v < 0.0 => {
                if -v >= knee {
                    ((v + knee) / resistance + leak, 1.0 / resistance + LEAKAGE)
                } else {
                    (leak, LEAKAGE)
                }
            }
            (Curve::Zener, values) => Curve::Shockley.at(v, values.get(2..).unwrap_or_default()),
            _ => (leak, LEAKAGE),
        }
    }

    /// The point at a voltage, with all derivatives. At the corners of a zener
    /// they are those of the conducting side.
    pub(super) fn point(self, v: f64, values: &[f64]) -> Point {
        let (current, slope) = self.at(v, values);
        let mut point = Point {
            current,
            slope,
            ..Point::default()
        };
        match (self, values) {
            (Curve::Shockley, &[saturation, scale, ..]) => {
                let x = (v / scale).min(MOST);
                let e = x.exp();
                point.bend = saturation * e / (scale * scale);
                point.current_by = [x.exp_m1(), -saturation * e * x / scale, 0.0, 0.0];
                let by_scale = -saturation * e * (1.0 + x) / (scale * scale);
                point.slope_by = [e / scale, by_scale, 0.0, 0.0];
            }
            (Curve::Zener, &[knee, resistance, ..]) if v < 0.0 && -v >= knee => {
                let conductance = 1.0 / resistance;
                let square = conductance * conductance;
                point.current_by = [conductance, -(v + knee) * square, 0.0, 0.0];
                point.slope_by = [0.0, -square, 0.0, 0.0];
            }
            // Between zero and the knee it does not conduct.
            (Curve::Zener, _) if v < 0.0 => {}
            (Curve::Zener, values) => {
                let inner = Curve::Shockley.point(v, values.get(2..).unwrap_or_default());
                let moved = |by: [f64; 4]| [0.0, 0.0, by[0], by[1]];
                point.bend = inner.bend;
                point.current_by = moved(inner.current_by);
                point.slope_by = moved(inner.slope_by);
            }
            _ => {}
        }
        point
    }

    /// Where Newton's method starts: where the slope is so steep that the
    /// curve bends most within the currents of a board, some 18 mA; no voltage
    /// for a zener.
    pub(super) fn start(self, values: &[f64]) -> f64 {
        match (self, values) {
            (Curve::Shockley, &[saturation, scale, ..]) => {
                (scale * (scale / (std::f64::consts::SQRT_2 * saturation)).ln()).max(0.0)
            }
            _ => 0.0,
        }
    }

    /// The voltage to take instead of the one that a linear step proposes.
    ///
    /// A tangent of an exponential says far too much voltage for a current. So
    /// where the step goes up, it is the current that is believed, and the
    /// voltage follows from it: `v = v_old + n V_T ln(1 + Δv / (n V_T))`; see
    /// W. J. McCalla, Fundamentals of Computer-Aided Circuit Simulation, 1988
    /// (from memory). A zener that starts to break down is taken to its knee,
    /// from where its line is exact.
    pub(super) fn limited(self, new: f64, old: f64, values: &[f64]) -> f64 {
        match (self, values) {
            (Curve::Shockley, &[_, scale, ..]) => {
                let bend = self.start(values);
                if new <= bend || new <= old + scale {
                    return new;
                }
                let from = old.max(bend.min(new));
                if new <= from {
                    return from;
                }
                from + scale * ((new - from) / scale).ln_1p()
            }
            (Curve::Zener, &[knee, ..]) if new <= -knee => {
                if old > -knee {
                    -knee
                } else {
                    new
                }
            }
            (Curve::Zener, values) => {
                Curve::Shockley.limited(new, old, values.get(2..).unwrap_or_default())
            }
            _ => new,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DIODE: [f64; 2] = [1e-9, 0.045];
    const ZENER: [f64; 4] = [5.0, 7.0, 1e-14, 0.026];

    #[test]
    fn derivatives_are_those_of_the_curve() {
        let cases: [(Curve, &[f64], f64); 6] = [
            (Curve::Shockley, &DIODE, 0.6),
            (Curve::Shockley, &DIODE, -0.02),
            (Curve::Zener, &ZENER, -5.5),
            (Curve::Zener, &ZENER, -2.0),
            (Curve::Zener, &ZENER, 0.7),
            (Curve::Zener, &ZENER, 0.01),
        ];
        let close = |a: f64, b: f64, what: &str| {
            assert!(
                (a - b).abs() <= 1e-6 * a.abs().max(b.abs()) + 1e-20,
                "{what}: {a} {b}"
            );
        };
        for (curve, values, v) in cases {
            let point = curve.point(v, values);
            let step = 1e-6;
            let slope =
                (curve.at(v + step, values).0 - curve.at(v - step, values).0) / (2.0 * step);
            let bend = (curve.at(v + step, values).1 - curve.at(v - step, values).1) / (2.0 * step);
            close(point.slope, slope, "slope");
            close(point.bend, bend, "bend");
            for at in 0..curve.values() {
                let step = 1e-6 * values[at];
                let moved = |by: f64| {
                    let mut values = values.to_vec();
                    values[at] += by;
                    curve.at(v, &values)
                };
                let (up, down) = (moved(step), moved(-step));
                close(
                    point.current_by[at],
                    (up.0 - down.0) / (2.0 * step),
                    "current by",
                );
                close(
                    point.slope_by[at],
                    (up.1 - down.1) / (2.0 * step),
                    "slope by",
                );
            }
        }
    }

    #[test]
    fn a_zener_is_continuous_at_its_corners() {
        for corner in [0.0, -5.0] {
            let (below, above) = (
                Curve::Zener.at(corner - 1e-12, &ZENER).0,
                Curve::Zener.at(corner + 1e-12, &ZENER).0,
            );
            assert!((below - above).abs() < 1e-12, "{below} {above}");
        }
    }

    #[test]
    fn a_step_up_is_shortened_and_a_step_down_is_not() {
        let start = Curve::Shockley.start(&DIODE);
        let limited = Curve::Shockley.limited(1000.0, start, &DIODE);
        assert!(limited < start + 12.0 * DIODE[1], "{limited}");
        assert_eq!(Curve::Shockley.limited(-3.0, start, &DIODE), -3.0);
        assert_eq!(Curve::Zener.limited(-9.0, -1.0, &ZENER), -5.0);
    }
}
