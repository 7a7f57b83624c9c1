//! Incomplete gamma and beta functions, regularised.
//!
//! Both start from a density that is written with Stirling's error and with
//! the deviance, so that no large logarithms cancel: large degrees of freedom
//! keep their digits. The idea is C. Loader's, "Fast and Accurate Computation
//! of Binomial Probabilities" (2000). What is left is a power series or a
//! continued fraction, evaluated by Lentz's method as W. Thompson and A.
//! Barnett changed it (Journal of Computational Physics 64, 1986).

/// Half the logarithm of 2π.
const HALF_LN_TAU: f64 = 0.918_938_533_204_672_8;
/// Keeps a continued fraction away from a division by zero.
const TINY: f64 = 1e-300;
/// More terms than a million degrees of freedom need.
const MOST_TERMS: usize = 200_000;

/// What Stirling's formula leaves out of ln Γ(z):
/// ln Γ(z) - ((z - ½) ln z - z + ½ ln 2π), for z > 0 (DLMF 5.11.1).
fn stirling_error(z: f64) -> f64 {
    if z < 10.0 {
        return libm::lgamma(z) - ((z - 0.5) * z.ln() - z + HALF_LN_TAU);
    }
    let square = 1.0 / (z * z);
    let terms = [
        1.0 / 12.0,
        -1.0 / 360.0,
        1.0 / 1260.0,
        -1.0 / 1680.0,
        1.0 / 1188.0,
        -691.0 / 360_360.0,
    ];
    let sum = terms
        .iter()
        .rev()
        .fold(0.0, |sum, term| sum * square + term);
    sum / z
}

/// The deviance x ln(x/m) + m - x, without cancellation where x is close to m.
fn deviance(x: f64, m: f64) -> f64 {
    if (x - m).abs() >= 0.1 * (x + m) {
        return x * (x / m).ln() + m - x;
    }
    let ratio = (x - m) / (x + m);
    let mut sum = (x - m) * ratio;
    let mut term = 2.0 * x * ratio;
    for odd in (3..).step_by(2) {
        term *= ratio * ratio;
        let next = sum + term / f64::from(odd);
        if next == sum {
            break;
        }
        sum = next;
    }
    sum
}

/// x^a e^-x / Γ(a), for a > 0 and x > 0.
pub(super) fn gamma_weight(a: f64, x: f64) -> f64 {
    (a / std::f64::consts::TAU).sqrt() * (-deviance(a, x) - stirling_error(a)).exp()
}

/// Lower and upper regularised incomplete gamma function, P(a, x) and Q(a, x)
/// (DLMF 8.2.4; series 8.11.4, continued fraction 8.9.2).
pub(super) fn gamma_tails(a: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x == f64::INFINITY {
        return (1.0, 0.0);
    }
    let weight = gamma_weight(a, x);
    if x < a + 1.0 {
        let mut term = 1.0 / a;
        let mut sum = term;
        for n in 1..MOST_TERMS {
            term *= x / (a + n as f64);
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        let lower = (weight * sum).min(1.0);
        return (lower, 1.0 - lower);
    }
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / b;
    let mut fraction = d;
    for n in 1..MOST_TERMS {
        let n = n as f64;
        let numerator = -n * (n - a);
        b += 2.0;
        d = 1.0 / away_from_zero(numerator * d + b);
        c = away_from_zero(b + numerator / c);
        let factor = c * d;
        fraction *= factor;
        if (factor - 1.0).abs() < 1e-16 {
            break;
        }
    }
    let upper = (weight * fraction).min(1.0);
    (1.0 - upper, upper)
}

/// x^a y^b / B(a, b) where y = 1 - x, for a, b > 0.
pub(super) fn beta_weight(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let n = a + b;
    let errors = stirling_error(n) - stirling_error(a) - stirling_error(b);
    let deviances = deviance(a, n * x) + deviance(b, n * y);
    (a / n * b / std::f64::consts::TAU).sqrt() * (errors - deviances).exp()
}

/// The regularised incomplete beta function I_x(a, b) and its complement;
/// `y` is 1 - x, given apart because it may be small (DLMF 8.17.2; continued
/// fraction of A. Didonato and A. Morris, ACM Transactions on Mathematical
/// Software 18, 1992, equation 9).
pub(super) fn beta_tails(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if y <= 0.0 {
        return (1.0, 0.0);
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        let (lower, upper) = beta_tails(b, a, y, x);
        return (upper, lower);
    }
    // a - (a + b) x, but without cancellation where a is large and y small.
    let lead = a * y - b * x;
    let mut fraction = away_from_zero(a * (lead + 1.0) / (a + 1.0));
    let mut c = fraction;
    let mut d = 0.0;
    for m in 1..MOST_TERMS {
        let m = m as f64;
        let odd = a + 2.0 * m - 1.0;
        let rest = m * (b - m) * x / odd;
        let numerator = (a + m - 1.0) * (a + b + m - 1.0) * x / odd * rest;
        let denominator = m + rest + (a + m) * (lead + 1.0 + m * (1.0 + y)) / (odd + 2.0);
        d = 1.0 / away_from_zero(denominator + numerator * d);
        c = away_from_zero(denominator + numerator / c);
        fraction *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
    }
    let lower = (beta_weight(a, b, x, y) / fraction).min(1.0);
    (lower, 1.0 - lower)
}

fn away_from_zero(value: f64) -> f64 {
    if value.abs() < TINY { TINY } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against forms that are finite sums (DLMF 8.4.10 and 8.17.5): a whole
    /// `a` makes Q a Poisson sum and I a binomial one.
    #[test]
    fn whole_parameters_give_sums() {
        for (a, x) in [(1u32, 0.3_f64), (3, 2.5), (7, 20.0), (12, 5.0)] {
            let mut term = (-x).exp();
            let mut sum = 0.0;
            for k in 0..a {
                sum += term;
                term *= x / f64::from(k + 1);
            }
            let (lower, upper) = gamma_tails(f64::from(a), x);
            assert!((upper / sum - 1.0).abs() < 1e-14, "Q({a}, {x})");
            assert!((lower + upper - 1.0).abs() < 1e-15);
        }
        for (k, n, x) in [(1i32, 4, 0.2_f64), (5, 9, 0.4), (9, 9, 0.9)] {
            let mut sum = 0.0;
            for j in k..=n {
                let ways = (0..j).fold(1.0, |ways, i| ways * f64::from(n - i) / f64::from(i + 1));
                sum += ways * x.powi(j) * (1.0 - x).powi(n - j);
            }
            let (lower, _) = beta_tails(f64::from(k), f64::from(n - k + 1), x, 1.0 - x);
            assert!((lower / sum - 1.0).abs() < 1e-14, "I_{x} of {k} in {n}");
        }
    }

    #[test]
    fn the_two_tails_change_places() {
        let (lower, upper) = beta_tails(2.5, 7.0, 0.3, 0.7);
        let (other_lower, other_upper) = beta_tails(7.0, 2.5, 0.7, 0.3);
        assert!((lower - other_upper).abs() < 1e-15 && (upper - other_lower).abs() < 1e-15);
    }
}
