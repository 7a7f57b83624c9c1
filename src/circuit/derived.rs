//! From the parameters that an engineer states to the values that the
//! equations hold, and sensitivities the other way.

use super::junction::LEAKAGE;
use super::kind::{Amplifier, Kind};

/// Boltzmann constant over elementary charge, in V/K; both are exact by
/// definition (SI Brochure, 9th edition, 2.2).
pub(super) const VOLT_PER_KELVIN: f64 = 1.380_649e-23 / 1.602_176_634e-19;

/// How the values of an element's equations follow from its parameters.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Rule {
    /// No parameters; so many values, all zero.
    Zero(usize),
    /// The values are the parameters, so many of them.
    Same(usize),
    /// Conductance, of a resistance.
    Reciprocal,
    /// Saturation current, n V_T, series resistance, slope. A slope is found
    /// with the operating point; here it only has its place.
    Shockley { series: bool },
    /// Knee, dynamic resistance, saturation current, n V_T, slope.
    Zener,
    /// Saturation current and n V_T, fitted through a test point; no series
    /// resistance; slope.
    Fitted,
    /// Reciprocal gain, reciprocal gain-bandwidth, output resistance, and the
    /// product of first and third. What depends on the product is counted to
    /// those two.
    SinglePole { resistance: bool },
    /// Conductance R_E, L_E, conductance R_ES, L_CES, C_MES.
    Loudspeaker,
}

impl Rule {
    /// Most parameters that an element has.
    pub(super) const MOST_PARAMETERS: usize = 6;
    /// Most values that follow from them.
    pub(super) const MOST_VALUES: usize = 5;

    pub(super) fn of(kind: &Kind) -> Rule {
        match kind {
            Kind::Resistor { .. } => Rule::Reciprocal,
            Kind::Capacitor { .. } | Kind::Inductor { .. } => Rule::Same(1),
            Kind::VoltageSource(_) | Kind::CurrentSource(_) => Rule::Same(3),
            Kind::Switch { .. } => Rule::Zero(0),
            Kind::Diode(diode) => Rule::Shockley {
                series: diode.series_resistance.is_some(),
            },
            Kind::Zener(_) => Rule::Zener,
            Kind::Led(_) => Rule::Fitted,
            Kind::Amplifier(Amplifier::Ideal) => Rule::Zero(4),
            Kind::Amplifier(Amplifier::SinglePole {
                output_resistance, ..
            }) => Rule::SinglePole {
                resistance: output_resistance.is_some(),
            },
            Kind::Loudspeaker(_) => Rule::Loudspeaker,
        }
    }

    /// Number of values.
    pub(super) fn values(self) -> usize {
        match self {
            Rule::Zero(count) | Rule::Same(count) => count,
            Rule::Reciprocal => 1,
            Rule::Zener => 5,
            Rule::Shockley { .. } | Rule::Fitted | Rule::SinglePole { .. } => 4,
            Rule::Loudspeaker => 5,
        }
    }

    /// Writes the values, given parameters that keep their limits.
    ///
    /// Returns whether there are such values: a zener may have no knee above
    /// zero, a junction no saturation current that can be held.
    #[inline]
    pub(super) fn derive(self, p: &[f64], values: &mut [f64]) -> bool {
        match self {
            Rule::Zero(_) => values.fill(0.0),
            Rule::Same(_) => values.copy_from_slice(p),
            Rule::Reciprocal => values[0] = 1.0 / p[0],
            Rule::Shockley { series } => {
                values[0] = p[0];
                values[1] = p[1] * p[2] * VOLT_PER_KELVIN;
                values[2] = if series { p[3] } else { 0.0 };
            }
            Rule::Zener => {
                values[0] = p[0] - p[1] * p[2];
                values[1] = p[2];
                values[2] = p[3];
                values[3] = p[4] * p[5] * VOLT_PER_KELVIN;
                return values[0] > 0.0;
            }
            Rule::Fitted => {
                let scale = p[2] * p[3] * VOLT_PER_KELVIN;
                // What leaks beside the junction flows at the test point too.
                values[0] = (p[1] - LEAKAGE * p[0]) / (p[0] / scale).exp_m1();
                values[1] = scale;
                values[2] = 0.0;
                return values[0] >= f64::MIN_POSITIVE;
            }
            Rule::SinglePole { resistance } => {
                values[0] = 1.0 / p[0];
                values[1] = 1.0 / p[1];
                values[2] = if resistance { p[2] } else { 0.0 };
                values[3] = values[0] * values[2];
            }
            Rule::Loudspeaker => {
                let [re, le, fs, qms, qes] = [p[0], p[1], p[2], p[3], p[4]];
                let omega = std::f64::consts::TAU * fs;
                values[0] = 1.0 / re;
                values[1] = le;
                values[2] = qes / (re * qms);
                values[3] = re / (omega * qes);
                values[4] = qes / (omega * re);
            }
        }
        true
    }

    /// Adds to the derivatives by the parameters what follows from those by
    /// the values (the chain rule).
    pub(super) fn pull_back(self, p: &[f64], values: &[f64], by_value: &[f64], out: &mut [f64]) {
        match self {
            Rule::Zero(_) => {}
            Rule::Same(_) => {
                for (out, by_value) in out.iter_mut().zip(by_value) {
                    *out += by_value;
                }
            }
            Rule::Reciprocal => out[0] -= by_value[0] * values[0] * values[0],
            Rule::Shockley { series } => {
                out[0] += by_value[0];
                out[1] += by_value[1] * values[1] / p[1];
                out[2] += by_value[1] * values[1] / p[2];
                if series {
                    out[3] += by_value[2];
                }
            }
            Rule::Zener => {
                out[0] += by_value[0];
                out[1] -= by_value[0] * p[2];
                out[2] += by_value[1] - by_value[0] * p[1];
                out[3] += by_value[2];
                out[4] += by_value[3] * values[3] / p[4];
                out[5] += by_value[3] * values[3] / p[5];
            }
            Rule::Fitted => {
                let [saturation, scale] = [values[0], values[1]];
                let over = p[0] / scale;
                // -d(ln I_S)/d(V_F/(n V_T)): e^x / (e^x - 1), without overflow.
                let steep = 1.0 / -(-over).exp_m1();
                let by_scale = by_value[1] + by_value[0] * saturation * steep * over / scale;
                let reach = over.exp_m1();
                out[0] -= by_value[0] * (saturation * steep / scale + LEAKAGE / reach);
                out[1] += by_value[0] / reach;
                out[2] += by_scale * scale / p[2];
                out[3] += by_scale * scale / p[3];
            }
            Rule::SinglePole { resistance } => {
                out[0] -= by_value[0] * values[0] * values[0];
                out[1] -= by_value[1] * values[1] * values[1];
                if resistance {
                    out[2] += by_value[2];
                }
            }
            Rule::Loudspeaker => {
                // Each value is a product of powers, so that its derivative by
                // a parameter is itself times the exponent over the parameter.
                let weighted = |at: usize| by_value[at] * values[at];
                let [ge, ges, lces, cmes] = [weighted(0), weighted(2), weighted(3), weighted(4)];
                out[0] += (lces - ge - ges - cmes) / p[0];
                out[1] += by_value[1];
                out[2] -= (lces + cmes) / p[2];
                out[3] -= ges / p[3];
                out[4] += (ges + cmes - lces) / p[4];
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Constant;

    #[test]
    fn the_volt_per_kelvin_is_that_of_the_table_of_constants() {
        let value = |name| Constant::by_name(name).map_or(f64::NAN, |c| c.value);
        let ratio = value("Boltzmann constant") / value("elementary charge");
        assert_eq!(VOLT_PER_KELVIN, ratio);
    }

    #[test]
    fn every_rule_pulls_back_what_central_differences_give() {
        let cases: [(Rule, &[f64]); 9] = [
            (Rule::Same(3), &[1.0, 2.0, 0.3]),
            (Rule::Reciprocal, &[470.0]),
            (Rule::Shockley { series: false }, &[1e-9, 1.7, 310.0]),
            (Rule::Shockley { series: true }, &[1e-9, 1.7, 310.0, 0.6]),
            (Rule::Zener, &[5.1, 5e-3, 17.0, 1e-14, 1.1, 300.0]),
            (Rule::Fitted, &[1.9, 0.01, 2.2, 305.0]),
            (Rule::SinglePole { resistance: false }, &[1e5, 1e6]),
            (Rule::SinglePole { resistance: true }, &[1e5, 1e6, 75.0]),
            (Rule::Loudspeaker, &[5.6, 4.5e-4, 57.0, 4.1, 0.72]),
        ];
        for (rule, parameters) in cases {
            let count = rule.values();
            let values = |p: &[f64]| {
                let mut values = vec![0.0; count];
                assert!(rule.derive(p, &mut values));
                values
            };
            // The product that an amplifier keeps is counted to its factors.
            let single_pole = matches!(rule, Rule::SinglePole { .. });
            for value in 0..if single_pole { 3 } else { count } {
                let mut unit = vec![0.0; count];
                unit[value] = 1.0;
                let mut found = vec![0.0; parameters.len()];
                rule.pull_back(parameters, &values(parameters), &unit, &mut found);
                for (at, &found) in found.iter().enumerate() {
                    let step = 2e-6 * parameters[at];
                    let moved = |by: f64| {
                        let mut p = parameters.to_vec();
                        p[at] += by;
                        values(&p)[value]
                    };
                    let expected = (moved(step) - moved(-step)) / (2.0 * step);
                    // The error of a central difference: its step squared,
                    // times the steepness, here up to 40 per parameter.
                    let allowed = 1e-6 * expected.abs().max(found.abs()) + 1e-30;
                    assert!(
                        (found - expected).abs() <= allowed,
                        "{rule:?} value {value} by {at}: {found} and {expected}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_zener_without_a_knee_has_no_values() {
        let mut values = [0.0; 5];
        assert!(!Rule::Zener.derive(&[5.1, 0.1, 60.0, 1e-14, 1.0, 300.0], &mut values));
        let mut values = [0.0; 4];
        assert!(!Rule::Fitted.derive(&[100.0, 0.01, 1.0, 298.15], &mut values));
    }
}
