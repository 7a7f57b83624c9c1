//! Current of a junction by its voltage, with every derivative that Newton's
//! method and the sensitivities ask for.

use std::f64::consts::SQRT_2;

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
    /// Values: saturation current, n V_T, series resistance.
    Shockley,
    /// Values: knee, dynamic resistance, saturation current, n V_T.
    Zener,
}

/// A characteristic replaced by a straight line, `i = rest + slope v`, where v
/// is the voltage of the part, its series resistance included.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Line {
    /// In S.
    pub(super) slope: f64,
    /// In A.
    pub(super) rest: f64,
}

/// A point of a part's characteristic. Voltage and current count from anode to
/// cathode; the voltage is that of the part, its series resistance included.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Point {
    /// Current, in A.
    pub(super) current: f64,
    /// Derivative of the current by the voltage, in S.
    pub(super) slope: f64,
    /// Derivative of the slope by the voltage.
    pub(super) bend: f64,
    /// Derivatives of the current by the values, the voltage kept.
    pub(super) current_by: [f64; 4],
    /// Derivatives of the slope by the values, the voltage kept.
    pub(super) slope_by: [f64; 4],
}

impl Curve {
    /// Number of values.
    pub(super) fn values(self) -> usize {
        match self {
            Curve::Shockley => 3,
            Curve::Zener => 4,
        }
    }

    /// Place of the n V_T of the forward junction, which comes after its
    /// saturation current.
    fn scale_place(self) -> usize {
        match self {
            Curve::Shockley => 1,
            Curve::Zener => 3,
        }
    }

    /// The n V_T of the forward junction, in V.
    #[inline]
    pub(super) fn scale(self, values: &[f64]) -> f64 {
        values[self.scale_place()]
    }

    /// The resistance in series with the junction, in Ω.
    #[inline]
    pub(super) fn series(self, values: &[f64]) -> f64 {
        match self {
            Curve::Shockley => values[2],
            Curve::Zener => 0.0,
        }
    }

    /// Current and slope of the junction itself at its own voltage.
    #[inline]
    pub(super) fn at(self, v: f64, values: &[f64]) -> (f64, f64) {
        let leak = LEAKAGE * v;
        if self == Curve::Zener && v < 0.0 {
            let [knee, resistance] = [values[0], values[1]];
            return if -v >= knee {
                ((v + knee) / resistance + leak, 1.0 / resistance + LEAKAGE)
            } else {
                (leak, LEAKAGE)
            };
        }
        let scale_place = self.scale_place();
        let [saturation, scale] = [values[scale_place - 1], values[scale_place]];
        let current = saturation * (v / scale).min(MOST).exp_m1();
        let slope = (current + saturation) / scale;
        (current + leak, slope + LEAKAGE)
    }

    /// The tangent at a voltage of the junction itself. With `i = i₀ + g (v_j -
    /// v₀)` and `v_j = v - R i`, `i = (i₀ - g v₀ + g v) / (1 + g R)`.
    #[inline]
    pub(super) fn line(self, v: f64, values: &[f64]) -> Line {
        let (current, slope) = self.at(v, values);
        let part = 1.0 + slope * self.series(values);
        Line {
            slope: slope / part,
            rest: (current - slope * v) / part,
        }
    }

    /// The point at a voltage of the junction itself, with all derivatives. At
    /// the corners of a zener they are those of the conducting side.
    pub(super) fn point(self, v: f64, values: &[f64]) -> Point {
        let (current, slope) = self.at(v, values);
        let mut inner = Point {
            current,
            slope,
            ..Point::default()
        };
        if self == Curve::Zener && v < 0.0 {
            let [knee, resistance] = [values[0], values[1]];
            if -v >= knee {
                let conductance = 1.0 / resistance;
                let square = conductance * conductance;
                inner.current_by = [conductance, -(v + knee) * square, 0.0, 0.0];
                inner.slope_by = [0.0, -square, 0.0, 0.0];
            }
        } else {
            let place = self.scale_place();
            let [saturation, scale] = [values[place - 1], values[place]];
            let x = (v / scale).min(MOST);
            let e = x.exp();
            inner.bend = saturation * e / (scale * scale);
            inner.current_by[place - 1] = x.exp_m1();
            inner.current_by[place] = -saturation * e * x / scale;
            inner.slope_by[place - 1] = e / scale;
            inner.slope_by[place] = -saturation * e * (1.0 + x) / (scale * scale);
        }
        match self {
            Curve::Shockley => inner.in_series(values[2]),
            Curve::Zener => inner,
        }
    }

    /// Where Newton's method starts: where the slope is so steep that the
    /// curve bends most within the currents of a board, some 18 mA; no voltage
    /// for a zener.
    pub(super) fn start(self, values: &[f64]) -> f64 {
        match self {
            Curve::Shockley => self.bend_voltage(values),
            Curve::Zener => 0.0,
        }
    }

    fn bend_voltage(self, values: &[f64]) -> f64 {
        let place = self.scale_place();
        let [saturation, scale] = [values[place - 1], values[place]];
        (scale * (scale / (SQRT_2 * saturation)).ln()).max(0.0)
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
        if self == Curve::Zener && new <= -values[0] {
            return if old > -values[0] { -values[0] } else { new };
        }
        let (bend, scale) = (self.bend_voltage(values), self.scale(values));
        if new <= bend || new <= old + scale {
            return new;
        }
        let from = old.max(bend);
        if new <= from {
            return from;
        }
        from + scale * ((new - from) / scale).ln_1p()
    }
}

impl Point {
    /// The point of the junction and a resistance in series with it, R, whose
    /// derivatives take the third place. With d = 1 + g R, the slope is g / d,
    /// and the junction's voltage moves by 1 / d of the part's.
    fn in_series(self, resistance: f64) -> Point {
        let part = 1.0 + self.slope * resistance;
        let slope = self.slope / part;
        let mut current_by = self.current_by.map(|by| by / part);
        current_by[2] = -slope * self.current;
        let mut slope_by = [0.0; 4];
        for at in 0..2 {
            let moved = -resistance * current_by[at];
            slope_by[at] = (self.slope_by[at] + self.bend * moved) / (part * part);
        }
        slope_by[2] = -self.bend * self.current / part.powi(3) - slope * slope;
        Point {
            current: self.current,
            slope,
            bend: self.bend / part.powi(3),
            current_by,
            slope_by,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DIODE: [f64; 3] = [1e-9, 0.045, 0.0];
    const RESISTIVE: [f64; 3] = [1e-9, 0.045, 3.0];
    const ZENER: [f64; 4] = [5.0, 7.0, 1e-14, 0.026];

    /// The voltage of the junction when that of the part is given.
    fn inner(curve: Curve, v: f64, values: &[f64]) -> f64 {
        let mut junction = curve.start(values).min(v);
        for _ in 0..200 {
            let line = curve.line(junction, values);
            let new = v - curve.series(values) * (line.rest + line.slope * v);
            junction = curve.limited(new, junction, values);
        }
        junction
    }

    #[test]
    fn derivatives_are_those_of_the_curve() {
        let cases: [(Curve, &[f64], f64); 8] = [
            (Curve::Shockley, &DIODE, 0.6),
            (Curve::Shockley, &DIODE, -0.02),
            (Curve::Shockley, &RESISTIVE, 0.7),
            (Curve::Shockley, &RESISTIVE, 1.1),
            (Curve::Zener, &ZENER, -5.5),
            (Curve::Zener, &ZENER, -2.0),
            (Curve::Zener, &ZENER, 0.7),
            (Curve::Zener, &ZENER, 0.01),
        ];
        let close = |a: f64, b: f64, what: &str| {
            let allowed = 1e-6 * a.abs().max(b.abs()) + 1e-20;
            assert!((a - b).abs() <= allowed, "{what}: {a} {b}");
        };
        for (curve, values, v) in cases {
            let point = |v: f64, values: &[f64]| curve.point(inner(curve, v, values), values);
            let here = point(v, values);
            let step = 1e-6;
            let (up, down) = (point(v + step, values), point(v - step, values));
            close(
                here.slope,
                (up.current - down.current) / (2.0 * step),
                "slope",
            );
            close(here.bend, (up.slope - down.slope) / (2.0 * step), "bend");
            for at in 0..curve.values() {
                let step = 1e-6 * values[at];
                if step == 0.0 {
                    continue;
                }
                let moved = |by: f64| {
                    let mut values = values.to_vec();
                    values[at] += by;
                    point(v, &values)
                };
                let (up, down) = (moved(step), moved(-step));
                let by_current = (up.current - down.current) / (2.0 * step);
                close(here.current_by[at], by_current, "current by");
                let by_slope = (up.slope - down.slope) / (2.0 * step);
                close(here.slope_by[at], by_slope, "slope by");
            }
        }
    }

    #[test]
    fn a_zener_is_continuous_at_its_corners() {
        for corner in [0.0, -5.0] {
            let at = |v| Curve::Zener.at(v, &ZENER).0;
            let apart = at(corner - 1e-12) - at(corner + 1e-12);
            assert!(apart.abs() < 1e-12, "{apart}");
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
