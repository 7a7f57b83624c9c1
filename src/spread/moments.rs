//! Mean, deviation and extremes of many values, gathered block by block.

/// Number, mean and sum of squares about the mean.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Moments {
    count: f64,
    mean: f64,
    squares: f64,
}

/// What is gathered of values in one pass.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Gathered {
    pub moments: Moments,
    pub least: f64,
    pub greatest: f64,
}

impl Moments {
    /// Of a block of values.
    pub fn of(values: &[f64]) -> Moments {
        // About the first value, then about the mean, which is near enough.
        let near = values.first().copied().unwrap_or(0.0);
        let mean = Gathered::about(near, values).moments.mean;
        Gathered::about(mean, values).moments
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

impl Gathered {
    /// Of a block of values that lie about a centre: what is far from it in
    /// comparison with how they differ costs digits of the deviation.
    ///
    /// Four sums run side by side, so that the processor need not wait for one;
    /// their number never changes the result.
    pub fn about(centre: f64, values: &[f64]) -> Gathered {
        let (mut sums, mut squares) = ([0.0; 4], [0.0; 4]);
        let (mut least, mut greatest) = ([f64::INFINITY; 4], [f64::NEG_INFINITY; 4]);
        let mut add = |at: usize, value: f64| {
            let distance = value - centre;
            sums[at] += distance;
            squares[at] += distance * distance;
            least[at] = if value < least[at] { value } else { least[at] };
            greatest[at] = if value > greatest[at] {
                value
            } else {
                greatest[at]
            };
        };
        let (fours, rest) = values.as_chunks::<4>();
        for four in fours {
            add(0, four[0]);
            add(1, four[1]);
            add(2, four[2]);
            add(3, four[3]);
        }
        for &value in rest {
            add(0, value);
        }
        let total = |[a, b, c, d]: [f64; 4]| (a + b) + (c + d);
        let count = values.len() as f64;
        let sum = total(sums);
        let moments = match values {
            [] => Moments::default(),
            _ => Moments {
                count,
                mean: centre + sum / count,
                squares: (total(squares) - sum * (sum / count)).max(0.0),
            },
        };
        Gathered {
            moments,
            least: least.into_iter().fold(f64::INFINITY, f64::min),
            greatest: greatest.into_iter().fold(f64::NEG_INFINITY, f64::max),
        }
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
