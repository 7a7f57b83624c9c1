//! Whether a fixture's divider sees that a resistor is not what it should be.
//!
//! The fixture feeds the resistor under test through one of its own and reads
//! the voltage between the two against the voltage that feeds them. What a
//! reading can be is a window of whole counts; a fault is caught for sure where
//! its window and the limits have no count in common.

use crate::quantity::{Outcome, Series};

/// Whole counts from the least to the greatest.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Window {
    pub low: f64,
    pub high: f64,
}

impl Window {
    /// All whole counts that readings round to, up or down, with a guard band.
    pub fn of(low: f64, high: f64, guard: f64) -> Window {
        Window {
            low: (low - guard).floor(),
            high: (high + guard).ceil(),
        }
    }

    /// The window of a computed reading.
    pub fn around(outcome: &Outcome, guard: f64) -> Window {
        Window::of(outcome.low, outcome.high, guard)
    }

    /// Counts from one window to the other; below one where they share some.
    pub fn gap(&self, other: &Window) -> f64 {
        (other.low - self.high).max(self.low - other.high)
    }
}

/// What limits make of a fault.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Seen {
    /// Every reading of the fault lies within the limits.
    Never,
    /// Some do.
    Sometimes,
    /// None does.
    Always,
}

/// What limits make of a fault with this window.
pub(super) fn seen(limits: &Window, fault: &Window) -> Seen {
    if limits.gap(fault) >= 1.0 {
        Seen::Always
    } else if fault.low >= limits.low && fault.high <= limits.high {
        Seen::Never
    } else {
        Seen::Sometimes
    }
}

/// How far above a member the search for the next one begins: more than the
/// noise of floats, far less than the step between neighbours of E192.
const BEYOND: f64 = 1e-6;

/// A resistance that is off its value as the given one is, but whose value is
/// the next in the series. `None` where there is none.
pub(crate) fn neighbour(resistance: f64, series: Series, above: bool) -> Option<f64> {
    let own = series.nearest(resistance)?;
    let next = if above {
        series.at_or_above(own * (1.0 + BEYOND))?
    } else {
        series.at_or_below(own * (1.0 - BEYOND))?
    };
    Some(next * (resistance / own))
}

/// A resistor under test.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tested {
    /// Its value, in ohms.
    pub value: f64,
    /// Its tolerance, as a share.
    pub tolerance: f64,
    /// What lies in parallel on the board, in ohms.
    pub parallel: Option<f64>,
}

/// How a fixture reads.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Reader {
    /// Steps of full scale: 2^N.
    pub steps: f64,
    /// Total error of the reading, in counts to either side.
    pub error: f64,
    /// Guard band on each side of the limits, in counts.
    pub guard: f64,
    /// Tolerance of the fixture's resistor, as a share.
    pub tolerance: f64,
    /// Series that wrong values are taken from.
    pub series: Series,
}

/// A resistor that a fixture might have, and what it makes of the faults.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Ranked {
    /// The fixture's resistor, in ohms.
    pub resistor: f64,
    /// Faults that are always caught.
    pub caught: usize,
    /// All faults.
    pub faults: usize,
    /// Counts between the limits and the nearest fault, before any rounding;
    /// below zero where they overlap.
    pub gap: f64,
}

impl Reader {
    /// The least and the greatest reading of a resistor: of an open one where
    /// there is no resistance, of a short at 0 Ω.
    fn range(&self, resistor: f64, tested: &Tested, value: Option<f64>) -> (f64, f64) {
        let reading = |element: Option<f64>, fixture: f64| match element {
            Some(element) => self.steps * element / (element + fixture),
            None => self.steps,
        };
        let element = |factor: f64| match (value, tested.parallel) {
            (Some(value), Some(path)) => {
                let value = value * factor;
                Some(value * path / (value + path))
            }
            (Some(value), None) => Some(value * factor),
            (None, path) => path,
        };
        // The reading rises with the resistor under test and falls with the
        // fixture's.
        let (less, more) = (1.0 - tested.tolerance, 1.0 + tested.tolerance);
        let low = reading(element(less), resistor * (1.0 + self.tolerance));
        let high = reading(element(more), resistor * (1.0 - self.tolerance));
        let clamped = |counts: f64| counts.clamp(0.0, (self.steps - 1.0).max(0.0));
        (clamped(low - self.error), clamped(high + self.error))
    }

    /// What a fixture with this resistor makes of the faults.
    pub(super) fn judge(&self, resistor: f64, tested: &[Tested]) -> Ranked {
        let mut ranked = Ranked {
            resistor,
            caught: 0,
            faults: 0,
            gap: f64::INFINITY,
        };
        for (at, one) in tested.iter().enumerate() {
            let good = self.range(resistor, one, Some(one.value));
            let limits = Window::of(good.0, good.1, self.guard);
            let mut hold = |value: Option<f64>| {
                let (low, high) = self.range(resistor, one, value);
                let is_caught = limits.gap(&Window::of(low, high, 0.0)) >= 1.0;
                ranked.faults += 1;
                ranked.caught += usize::from(is_caught);
                // Not in whole counts, of which many resistors have the same.
                let gap = (low - good.1).max(good.0 - high) - self.guard;
                ranked.gap = ranked.gap.min(gap);
            };
            hold(None);
            hold(Some(0.0));
            let wrong = [
                neighbour(one.value, self.series, true),
                neighbour(one.value, self.series, false),
                Some(one.value * 10.0),
                Some(one.value / 10.0),
            ];
            for value in wrong.into_iter().flatten() {
                hold(Some(value));
            }
            // A resistor swapped for one of equal value is no fault.
            let before = at.checked_sub(1).and_then(|before| tested.get(before));
            let beside = [before, tested.get(at + 1)];
            for other in beside.into_iter().flatten() {
                if other.value != one.value {
                    hold(Some(other.value));
                }
            }
        }
        ranked
    }
}

/// All resistors of a series from the least to the greatest that is allowed,
/// those first that catch most faults, then those that keep faults farthest
/// from the limits, then the smaller ones. None is left out.
///
/// Faults are: open, short, the next values up and down, ten times and a tenth
/// of the value, and the value of the resistor before and after it.
pub fn fixture_resistors(
    tested: &[Tested],
    reader: &Reader,
    from: Series,
    least: f64,
    greatest: f64,
) -> Vec<Ranked> {
    let mut ranked: Vec<Ranked> = from
        .between(least, greatest)
        .map(|resistor| reader.judge(resistor, tested))
        .collect();
    ranked.sort_by(better);
    ranked
}

/// Orders what catches more first, then what keeps faults farther from the
/// limits, then the smaller resistor.
pub(super) fn better(a: &Ranked, b: &Ranked) -> std::cmp::Ordering {
    b.caught
        .cmp(&a.caught)
        .then(b.gap.total_cmp(&a.gap))
        .then(a.resistor.total_cmp(&b.resistor))
}

#[cfg(test)]
mod tests {
    use super::*;

    const READER: Reader = Reader {
        steps: 4096.0,
        error: 4.0,
        guard: 0.0,
        tolerance: 0.001,
        series: Series::E24,
    };

    fn tested(value: f64) -> Tested {
        Tested {
            value,
            tolerance: 0.01,
            parallel: None,
        }
    }

    fn first(values: &[f64], reader: &Reader) -> Ranked {
        let tested: Vec<Tested> = values.iter().copied().map(tested).collect();
        fixture_resistors(&tested, reader, Series::E24, 100.0, 1e6)[0]
    }

    /// Truth: R1/(R1 + F) - R2/(R2 + F) is greatest where F² = R1 R2 (calculus).
    /// The value next to 10 kΩ that is hardest to tell from it is 9.1 kΩ, so F is
    /// 9.539 kΩ, of which 9.53 kΩ is the nearest in E96; and 1 kΩ and 100 kΩ lie
    /// alike to both sides of 10 kΩ.
    #[test]
    fn the_best_resistor_is_a_geometric_mean() {
        let fine = fixture_resistors(&[tested(10e3)], &READER, Series::E96, 100.0, 1e6);
        assert_eq!(fine[0].resistor, 9.53e3);
        assert_eq!(first(&[1e3, 100e3], &READER).resistor, 10e3);
    }

    /// Truth: IEC 60063 E24 and worst-case arithmetic by hand for 10 kΩ ±1 %
    /// through 10 kΩ ±0.1 % with ±4 counts: 9.9/(9.9 + 10.01) × 4096 - 4 =
    /// 2032.69 and 10.1/(10.1 + 9.99) × 4096 + 4 = 2063.21.
    #[test]
    fn a_window_by_hand() {
        let one = tested(10e3);
        let (low, high) = READER.range(10e3, &one, Some(one.value));
        let window = Window::of(low, high, 0.0);
        assert_eq!(
            window,
            Window {
                low: 2032.0,
                high: 2064.0
            }
        );
    }

    /// Truth: design arithmetic: with 1 % parts and 0.78 % of uncertainty two
    /// values are told apart from a step of 3.6 % at the middle, 6.3 % at a
    /// tenth, so E24 (6.67 % and up) holds from a tenth to nine tenths, and E96
    /// (2.4 %) nowhere.
    #[test]
    fn e24_can_be_told_apart_and_e96_cannot() {
        let reader = Reader {
            error: 8.0,
            tolerance: 0.0,
            ..READER
        };
        for value in Series::E24.between(10e3, 91e3) {
            let best = fixture_resistors(&[tested(value)], &reader, Series::E24, 1e3, 1e6)[0];
            assert_eq!(best.caught, best.faults, "{value}");
        }
        let fine = Reader {
            series: Series::E96,
            ..reader
        };
        for value in Series::E96.between(10e3, 97.6e3) {
            let best = fixture_resistors(&[tested(value)], &fine, Series::E96, 1e3, 1e6)[0];
            assert_eq!(best.caught, best.faults - 2, "{value}");
        }
    }

    /// Truth: exhaustive: no other resistor of the range does better.
    #[test]
    fn nothing_in_the_range_is_better_than_the_first() {
        let all = [tested(3.3e3), tested(10e3), tested(47e3)];
        let ranked = fixture_resistors(&all, &READER, Series::E96, 100.0, 1e6);
        assert_eq!(ranked.len(), 4 * 96 + 1);
        for resistor in Series::E96.between(100.0, 1e6) {
            let other = READER.judge(resistor, &all);
            let best = (ranked[0].caught, ranked[0].gap);
            assert!((other.caught, other.gap) <= best, "{resistor}");
        }
    }

    /// Truth: arithmetic: 47 kΩ beside 10 kΩ is 8.246 kΩ, and 10 kΩ without it,
    /// 21 % more; 470 kΩ beside 10 kΩ is 2.1 % less, which 2 % limits hide.
    #[test]
    fn parallel_paths_mask_what_is_missing() {
        let missing = |value: f64, tolerance: f64| {
            let one = Tested {
                value,
                tolerance,
                parallel: Some(10e3),
            };
            let reader = Reader {
                guard: 12.0,
                ..READER
            };
            let (low, high) = reader.range(10e3, &one, Some(value));
            let limits = Window::of(low, high, reader.guard);
            let (low, high) = reader.range(10e3, &one, None);
            seen(&limits, &Window::of(low, high, 0.0))
        };
        assert_eq!(missing(47e3, 0.01), Seen::Always);
        assert_ne!(missing(470e3, 0.01), Seen::Always);
        assert_eq!(missing(4.7e6, 0.01), Seen::Never);
    }

    #[test]
    fn neighbours_keep_the_tolerance_of_the_part() {
        let near = |found: Option<f64>, expected: f64| {
            assert!(found.is_some_and(|found| (found / expected - 1.0).abs() < 1e-12));
        };
        near(neighbour(10e3, Series::E24, true), 11e3);
        near(neighbour(10e3, Series::E24, false), 9.1e3);
        near(neighbour(10.1e3, Series::E24, true), 11.11e3);
        near(neighbour(9.1, Series::E24, true), 10.0);
        assert_eq!(neighbour(0.0, Series::E24, true), None);
        assert_eq!(neighbour(f64::NAN, Series::E24, true), None);
        assert_eq!(neighbour(-5.0, Series::E24, false), None);
    }

    #[test]
    fn odd_bounds_and_values_do_no_harm() {
        assert!(fixture_resistors(&[], &READER, Series::E24, 1e3, 1e2).is_empty());
        assert!(fixture_resistors(&[tested(1e3)], &READER, Series::E24, 0.0, 1e2).is_empty());
        let odd = [tested(f64::NAN), tested(0.0), tested(-1.0)];
        let ranked = fixture_resistors(&odd, &READER, Series::E3, 1e3, 1e4);
        assert_eq!(ranked.len(), 4);
    }
}
