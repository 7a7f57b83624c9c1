//! Mean, deviation and extremes of many values, gathered block by block.

/// Number, mean and sum of squares about the mean.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Moments {
    count: f64,
    mean: f64,
    squares: f64,
}

/// The sum of a term of every value. Four sums run side by side, so that the
/// processor need not wait for one; their number never changes the result.
fn sum(values: &[f64], term: impl Fn(f64) -> f64) -> f64 {
    let (mut a, mut b, mut c, mut d) = (0.0, 0.0, 0.0, 0.0);
    let (groups, rest) = values.as_chunks::<4>();
    for group in groups {
        a += term(group[0]);
        b += term(group[1]);
        c += term(group[2]);
        d += term(group[3]);
    }
    let rest: f64 = rest.iter().map(|&value| term(value)).sum();
    ((a + b) + (c + d)) + rest
}

/// Least and greatest of values, four at a time as well.
pub(super) fn extremes(values: &[f64]) -> (f64, f64) {
    let lesser = |a: f64, b: f64| if b < a { b } else { a };
    let greater = |a: f64, b: f64| if b > a { b } else { a };
    let (mut least, mut greatest) = ([f64::INFINITY; 4], [f64::NEG_INFINITY; 4]);
    let (groups, rest) = values.as_chunks::<4>();
    for group in groups {
        for ((least, greatest), &value) in least.iter_mut().zip(&mut greatest).zip(group) {
            *least = lesser(*least, value);
            *greatest = greater(*greatest, value);
        }
    }
    let least = least.into_iter().chain(rest.iter().copied());
    let greatest = greatest.into_iter().chain(rest.iter().copied());
    (
        least.fold(f64::INFINITY, lesser),
        greatest.fold(f64::NEG_INFINITY, greater),
    )
}

impl Moments {
    /// Of a block of values.
    pub fn of(values: &[f64]) -> Moments {
        if values.is_empty() {
            return Moments::default();
        }
        let count = values.len() as f64;
        let mean = sum(values, |value| value) / count;
        let squares = sum(values, |value| (value - mean) * (value - mean));
        Moments {
            count,
            mean,
            squares,
        }
    }

    /// Adds other values (T. Chan, G. Golub and R. LeVeque, The American
    /// Statistician 37, 1983).
    pub fn merge(&mut self, other: &Moments) {
        let count = self.count + other.count;
        if count == 0.0 {
            return;
        }
        let distance = other.mean - self.mean;
        self.mean += distance * (other.count / count);
        self.squares += other.squares + distance * distance * (self.count / count * other.count);
        self.count = count;
    }

    /// Number of values.
    pub fn count(&self) -> f64 {
        self.count
    }

    /// The mean (JCGM 101:2008, 7.6).
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// The standard deviation, with n - 1 (JCGM 101:2008, 7.6); zero for a
    /// single value.
    pub fn deviation(&self) -> f64 {
        (self.squares / (self.count - 1.0).max(1.0)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_give_what_all_values_give() {
        let values: Vec<f64> = (0..5000).map(|i| 1e6 + f64::from(i * 37 % 101)).collect();
        let whole = Moments::of(&values);
        let mut gathered = Moments::default();
        for block in values.chunks(777) {
            gathered.merge(&Moments::of(block));
        }
        gathered.merge(&Moments::default());
        assert_eq!(gathered.count(), 5000.0);
        assert!((gathered.mean() - whole.mean()).abs() < 1e-9);
        assert!((gathered.deviation() / whole.deviation() - 1.0).abs() < 1e-12);
        assert_eq!(Moments::of(&[3.0]).deviation(), 0.0);
    }
}
