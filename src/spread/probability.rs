//! The probability distributions of statistics: normal, Student t, chi-square,
//! F and beta; distribution functions and quantiles.
//!
//! The error function is that of the `libm` crate. Quantiles are refined until
//! the last float, by Newton's method on the logarithm of the smaller tail,
//! between bounds; the normal quantile is a rational function. Outside of its
//! domain a function is NaN, never a panic.

use super::incomplete::{beta_tails, beta_weight, gamma_tails, gamma_weight};
use std::f64::consts::{FRAC_1_SQRT_2, TAU};

/// The density of the standard normal distribution.
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / TAU.sqrt()
}

/// The share of a standard normal distribution below `z`.
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// The share of a standard normal distribution above `z`.
pub fn normal_above(z: f64) -> f64 {
    normal_below(-z)
}

/// The value below which a share `p` of a standard normal distribution lies
/// (M. Wichura, Applied Statistics 37, 1988, algorithm AS 241, PPND16: about
/// one part in 10^16).
pub fn normal_quantile(p: f64) -> f64 {
    let polynomial = |coefficients: &[f64; 8], x: f64| {
        coefficients
            .iter()
            .rev()
            .fold(0.0, |sum, coefficient| sum * x + coefficient)
    };
    let centre = p - 0.5;
    if centre.abs() <= 0.425 {
        let r = 0.180625 - centre * centre;
        return centre * polynomial(&CENTRE.0, r) / polynomial(&CENTRE.1, r);
    }
    let tail = if centre < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 || p.is_nan() {
        let end = f64::INFINITY.copysign(centre);
        return if tail == 0.0 { end } else { f64::NAN };
    }
    let r = (-tail.ln()).sqrt();
    let z = if r <= 5.0 {
        polynomial(&MIDDLE.0, r - 1.6) / polynomial(&MIDDLE.1, r - 1.6)
    } else {
        polynomial(&FAR.0, r - 5.0) / polynomial(&FAR.1, r - 5.0)
    };
    z.copysign(centre)
}

/// The share of Student's t distribution below `t`, with `nu` degrees of
/// freedom; infinitely many make it normal (DLMF 8.17 with Abramowitz and
/// Stegun 26.7.1).
pub fn student_t_below(t: f64, nu: f64) -> f64 {
    let tail = student_t_tail(t.abs(), nu);
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// The value below which a share `p` of Student's t distribution lies.
pub fn student_t_quantile(p: f64, nu: f64) -> f64 {
    let tail = p.min(1.0 - p);
    if nu.is_nan() || nu <= 0.0 || tail < 0.0 || tail.is_nan() {
        return f64::NAN;
    }
    let sign = if p < 0.5 { -1.0 } else { 1.0 };
    if nu.is_infinite() {
        return normal_quantile(p);
    }
    if tail == 0.5 {
        return 0.0;
    }
    // Stays near the normal one for many degrees of freedom; the search finds
    // the rest.
    let start = -normal_quantile(tail);
    let density = |t: f64| {
        let square = t * t;
        let whole = nu + square;
        // d/dt of ½ I_x(ν/2, ½) with x = ν/(ν + t²).
        beta_weight(0.5 * nu, 0.5, nu / whole, square / whole) / t
    };
    sign * search(1.0 - tail, tail, start, f64::INFINITY, |t| {
        let above = student_t_tail(t, nu);
        (1.0 - above, above, density(t))
    })
}

/// The share above a `t` that is not negative.
fn student_t_tail(t: f64, nu: f64) -> f64 {
    if nu.is_nan() || nu <= 0.0 {
        return f64::NAN;
    }
    if nu.is_infinite() {
        return normal_above(t);
    }
    let (square, whole) = (t * t, nu + t * t);
    if whole.is_infinite() {
        return if t.is_infinite() { 0.0 } else { f64::NAN };
    }
    0.5 * beta_tails(0.5 * nu, 0.5, nu / whole, square / whole).0
}

/// The share of the chi-square distribution below `x`, with `k` degrees of
/// freedom (Abramowitz and Stegun 26.4.1 and 26.4.19).
pub fn chi_square_below(x: f64, k: f64) -> f64 {
    if k > 0.0 {
        gamma_tails(0.5 * k, 0.5 * x).0
    } else {
        f64::NAN
    }
}

/// The share of the chi-square distribution above `x`.
pub fn chi_square_above(x: f64, k: f64) -> f64 {
    if k > 0.0 {
        gamma_tails(0.5 * k, 0.5 * x).1
    } else {
        f64::NAN
    }
}

/// The value below which a share `p` of the chi-square distribution lies.
pub fn chi_square_quantile(p: f64, k: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) || k.is_nan() || k <= 0.0 {
        return f64::NAN;
    }
    let a = 0.5 * k;
    // Wilson and Hilferty, Abramowitz and Stegun 26.4.17.
    let ninth = 2.0 / (9.0 * k);
    let start = k * (1.0 - ninth + normal_quantile(p) * ninth.sqrt()).powi(3);
    search(p, 1.0 - p, start, f64::INFINITY, |x| {
        let (below, above) = gamma_tails(a, 0.5 * x);
        (below, above, gamma_weight(a, 0.5 * x) / x)
    })
}

/// The share of the F distribution above `x`, with `m` degrees of freedom in
/// the numerator and `n` in the denominator (Abramowitz and Stegun 26.6.2).
pub fn f_above(x: f64, m: f64, n: f64) -> f64 {
    f_tails(x, m, n).1
}

/// The share of the F distribution below `x`.
pub fn f_below(x: f64, m: f64, n: f64) -> f64 {
    f_tails(x, m, n).0
}

/// The value below which a share `p` of the F distribution lies.
pub fn f_quantile(p: f64, m: f64, n: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    search(p, 1.0 - p, 1.0, f64::INFINITY, |x| {
        let (below, above) = f_tails(x, m, n);
        let whole = n + m * x;
        let weight = beta_weight(0.5 * m, 0.5 * n, m * x / whole, n / whole);
        (below, above, weight / x)
    })
}

fn f_tails(x: f64, m: f64, n: f64) -> (f64, f64) {
    if m > 0.0 && n > 0.0 && x >= 0.0 {
        let whole = n + m * x;
        beta_tails(0.5 * m, 0.5 * n, m * x / whole, n / whole)
    } else {
        (f64::NAN, f64::NAN)
    }
}

/// The value below which a share `p` of the beta distribution lies.
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    if !((0.0..=1.0).contains(&p) && a > 0.0 && b > 0.0) {
        return f64::NAN;
    }
    search(p, 1.0 - p, a / (a + b), 1.0, |x| {
        let (below, above) = beta_tails(a, b, x, 1.0 - x);
        (
            below,
            above,
            beta_weight(a, b, x, 1.0 - x) / (x * (1.0 - x)),
        )
    })
}

/// Finds the x between 0 and `most` with a share `below` under it, where `at`
/// gives the shares below and above an x and the density there.
fn search(
    below: f64,
    above: f64,
    start: f64,
    most: f64,
    at: impl Fn(f64) -> (f64, f64, f64),
) -> f64 {
    if below <= 0.0 {
        return 0.0;
    }
    if above <= 0.0 {
        return most;
    }
    let (mut low, mut high) = (0.0, most);
    let mut x = start;
    // Each step narrows the bounds, by Newton or by halving.
    for _ in 0..400 {
        if !(low < x && x < high) {
            x = between(low, high);
        }
        let (under, over, density) = at(x);
        if under.is_nan() {
            return f64::NAN;
        }
        // How far the logarithm of the smaller tail is off; rises with x.
        let (off, slope) = if below < above {
            ((under / below).ln(), density / under)
        } else {
            ((above / over).ln(), density / over)
        };
        if off == 0.0 {
            return x;
        }
        if off > 0.0 {
            high = x;
        } else {
            low = x;
        }
        let step = off / slope;
        let next = x - step;
        if step.abs() <= 1e-16 * x || (low.next_up() >= high) {
            return x;
        }
        x = if next.is_finite() {
            next
        } else {
            between(low, high)
        };
    }
    x
}

/// Somewhere between two bounds that are not negative, in the middle of their
/// logarithms where they are far apart.
fn between(low: f64, high: f64) -> f64 {
    if high.is_infinite() {
        return (2.0 * low).max(1.0);
    }
    if low == 0.0 {
        return 1e-3 * high;
    }
    if high > 4.0 * low {
        (low * high).sqrt()
    } else {
        0.5 * (low + high)
    }
}

type Rational = ([f64; 8], [f64; 8]);

#[rustfmt::skip]
const CENTRE: Rational = (
    [3.387_132_872_796_366_5, 133.141_667_891_784_38, 1_971.590_950_306_551_3, 13_731.693_765_509_46,
     45_921.953_931_549_87, 67_265.770_927_008_7, 33_430.575_583_588_13, 2_509.080_928_730_122_7],
    [1.0, 42.313_330_701_600_91, 687.187_007_492_057_9, 5_394.196_021_424_751,
     21_213.794_301_586_597, 39_307.895_800_092_71, 28_729.085_735_721_943, 5_226.495_278_852_854],
);
#[rustfmt::skip]
const MIDDLE: Rational = (
    [1.423_437_110_749_683_5, 4.630_337_846_156_546, 5.769_497_221_460_691, 3.647_848_324_763_204_5,
     1.270_458_252_452_368_4, 0.241_780_725_177_450_6, 0.022_723_844_989_269_184, 7.745_450_142_783_414e-4],
    [1.0, 2.053_191_626_637_759, 1.676_384_830_183_803_8, 0.689_767_334_985_1,
     0.148_103_976_427_480_08, 0.015_198_666_563_616_457, 5.475_938_084_995_345e-4, 1.050_750_071_644_416_9e-9],
);
#[rustfmt::skip]
const FAR: Rational = (
    [6.657_904_643_501_103, 5.463_784_911_164_114, 1.784_826_539_917_291_3, 0.296_560_571_828_504_87,
     0.026_532_189_526_576_124, 1.242_660_947_388_078_4e-3, 2.711_555_568_743_487_6e-5, 2.010_334_399_292_288_1e-7],
    [1.0, 0.599_832_206_555_887_9, 0.136_929_880_922_735_8, 0.014_875_361_290_850_615,
     7.868_691_311_456_133e-4, 1.846_318_317_510_054_8e-5, 1.421_511_758_316_446e-7, 2.044_263_103_389_939_8e-15],
);

#[cfg(test)]
#[allow(clippy::excessive_precision)] // References have more digits than a float.
mod tests {
    use super::*;

    /// Every reference value was computed from the defining integrals with 50
    /// digits (mpmath 1.3).
    fn check(name: &str, found: f64, exact: f64, tolerance: f64) {
        let off = (found / exact - 1.0).abs();
        assert!(off <= tolerance, "{name}: {found:e}, exact {exact:e}");
    }

    #[test]
    fn the_normal_distribution_keeps_its_digits() {
        for (z, exact) in [
            (-37.0, 5.7255712225245768e-300),
            (-8.0, 6.2209605742717841e-16),
            (-4.0, 3.1671241833119921e-5),
            (-1.96, 0.024997895148220436),
            (0.7, 0.75803634777692697),
            (3.2, 0.99931286206208415),
        ] {
            // A float's error of z itself moves the tail by z² times as much.
            check("below", normal_below(z), exact, 4e-16 * (1.0 + z * z));
        }
        for (p, exact) in [
            (1e-300, -37.047096299361199),
            (1e-12, -7.0344838253011319),
            (0.025, -1.9599639845400542),
            (0.3, -0.52440051270804082),
            (0.975, 1.9599639845400539),
            (0.9999, 3.7190164854557084),
        ] {
            check("quantile", normal_quantile(p), exact, 5e-16);
        }
        assert_eq!(normal_quantile(0.0), f64::NEG_INFINITY);
        assert!(normal_quantile(1.5).is_nan());
    }

    #[test]
    fn student_t_is_exact_for_few_and_many_degrees_of_freedom() {
        for (p, nu, exact) in [
            (0.975, 1.0, 12.706204736174693),
            (0.995, 16.0, 2.9207816224250996),
            (0.95, 3.0, 2.3533634348018229),
            (0.9995, 5.0, 6.8688266258812751),
            (0.6, 100.0, 0.25402218245822776),
            (0.975, 1e6, 1.9599663568141067),
            (0.995, 2.5, 7.1637281389487829),
        ] {
            check("t", student_t_quantile(p, nu), exact, 1e-13);
            check("t", student_t_quantile(1.0 - p, nu), -exact, 1e-13);
        }
        for (t, nu, exact) in [
            (2.5, 4.0, 0.033383272405994073),
            (30.0, 10.0, 1.9808961710156621e-11),
            (2.5, 1e6, 0.0062097447510816231),
        ] {
            check("tail", student_t_below(-t, nu), exact, 1e-13);
        }
        assert_eq!(student_t_quantile(0.5, 3.0), 0.0);
        assert_eq!(student_t_quantile(0.9, f64::INFINITY), normal_quantile(0.9));
        assert!(student_t_quantile(0.9, 0.0).is_nan());
    }

    #[test]
    fn chi_square_f_and_beta_are_exact() {
        for (p, k, exact) in [
            (0.001, 1.0, 1.5707971492624899e-6),
            (0.025, 49.0, 31.554916462667128),
            (0.975, 49.0, 70.222413566434527),
            (0.95, 2.0, 5.9914645471079802),
            (0.999, 1000.0, 1143.9170926196792),
            (0.975, 29.0, 45.722285804174539),
            (0.5, 1e6, 999999.33333341235),
        ] {
            check("chi-square", chi_square_quantile(p, k), exact, 1e-13);
            check("its share", chi_square_below(exact, k), p, 1e-12);
        }
        for (x, m, n, exact) in [
            (0.4337210301, 18.0, 60.0, 0.97410640433980532),
            (4.0, 2.0, 38.0, 0.02651487193024938),
            (34.0, 2.0, 4.0, 0.0030864197530864198),
        ] {
            check("F above", f_above(x, m, n), exact, 1e-13);
        }
        for (p, m, n, exact) in [
            (0.95, 18.0, 60.0, 1.7784460853277358),
            (0.05, 2.0, 38.0, 0.051362593630714589),
            (0.99, 1.0, 1.0, 4052.1806954768219),
        ] {
            check("F", f_quantile(p, m, n), exact, 1e-13);
            check("its share", f_below(exact, m, n), p, 1e-13);
        }
        for (p, a, b, exact) in [
            (0.025, 1.0, 10.0, 0.0025285785444617846),
            (0.975, 98.0, 3.0, 0.9937700284616936),
            (0.025, 0.5, 0.5, 0.0015413331334360121),
        ] {
            check("beta", beta_quantile(p, a, b), exact, 1e-13);
        }
        assert!(chi_square_quantile(0.5, -1.0).is_nan());
    }
}
