//! What a test accepts and rejects wrongly, when its measurement is uncertain.
//!
//! True values are spread normally around the middle of what is specified, and
//! measured values normally around the true one. A unit is accepted whose
//! measured value lies within a limit (JCGM 106:2012, 9.5: global consumer's
//! and producer's risk).

use super::nodes;
use super::probability::{normal_above, normal_below, normal_density};

/// Shares of all units that are tested.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Acceptance {
    /// Units that meet the specification.
    pub conforming: f64,
    /// Units that the test accepts.
    pub accepted: f64,
    /// Units that it accepts although they miss the specification.
    pub false_accept: f64,
    /// Units that it rejects although they meet the specification.
    pub false_reject: f64,
}

/// Beyond so many standard deviations a normal distribution holds nothing that
/// a float could show.
const FAR: f64 = 40.0;
/// Pieces that are integrated over, each by a rule of [`NODES`] nodes.
const PIECES: usize = 64;
const NODES: usize = 10;

impl Acceptance {
    /// What comes of testing units whose true values have the standard deviation
    /// `product` and are to lie within `tolerance` of the middle, with a
    /// standard uncertainty `measurement`, where measured values within `limit`
    /// of the middle are accepted; all in one unit, and above zero. A limit of
    /// zero or less accepts nothing.
    pub fn of(product: f64, tolerance: f64, measurement: f64, limit: f64) -> Acceptance {
        let limit = limit.max(0.0);
        let within = |z: f64| normal_below(z) - normal_below(-z);
        let conforming = within(tolerance / product);
        let accepted = within(limit / product.hypot(measurement));
        // Values above the tolerance; those below miss it alike.
        let end = (limit + FAR * measurement).min(FAR * product);
        let width = (end - tolerance) / PIECES as f64;
        let mut above = 0.0;
        if width > 0.0 {
            let rule = nodes::uniform(NODES);
            for piece in 0..PIECES {
                let middle = tolerance + width * (piece as f64 + 0.5);
                for (place, weight) in &rule {
                    let x = middle + 0.5 * width * place;
                    // By upper tails, which keep their digits out here.
                    let accepts = normal_above((x - limit) / measurement)
                        - normal_above((x + limit) / measurement);
                    above += weight * width * normal_density(x / product) / product * accepts;
                }
            }
        }
        let false_accept = 2.0 * above;
        Acceptance {
            conforming,
            accepted,
            false_accept,
            false_reject: conforming - (accepted - false_accept),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64, relative: f64) {
        assert!(
            (found / expected - 1.0).abs() < relative,
            "{found}, not {expected}"
        );
    }

    /// Truth: scipy's quadrature, with its script:
    /// tests/published/scripts/acceptance.py. 95 % of the units are within the
    /// tolerance; ratio of that to the expanded uncertainty, guard band in
    /// expanded uncertainties, then shares wrongly accepted and rejected.
    #[test]
    fn risks_with_and_without_a_guard_band() {
        let product = 1.0 / 1.959_963_984_540_054;
        let known = [
            (10.0, 0.0, 0.004060169, 0.005162455),
            (4.0, 0.0, 0.008582665, 0.01553651),
            (4.0, 1.0, 0.0002077027, 0.1035719),
            (1.0, 0.0, 0.01801156, 0.1295716),
        ];
        for (ratio, guard, accepts, rejects) in known {
            let found = Acceptance::of(product, 1.0, 0.5 / ratio, 1.0 - guard / ratio);
            near(found.conforming, 0.95, 1e-12);
            near(found.false_accept, accepts, 1e-6);
            near(found.false_reject, rejects, 1e-6);
        }
    }

    #[test]
    fn a_limit_of_nothing_accepts_nothing() {
        for limit in [0.0, -1.0] {
            let found = Acceptance::of(0.5, 1.0, 0.1, limit);
            assert_eq!((found.accepted, found.false_accept), (0.0, 0.0));
            assert_eq!(found.false_reject, found.conforming);
        }
    }
}
