//! Gauge studies: how much of what is measured is the measuring.
//!
//! Several operators measure several parts several times. Both methods follow
//! AIAG, Measurement Systems Analysis, 4th edition 2010, chapter III and
//! appendix A; factors of the range method are computed, not tabulated.

use std::collections::BTreeMap;

use super::{StatisticsFault, d2, d2_of_groups};
use crate::spread::probability::f_above;

/// One measurement of a study.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Reading<'a> {
    /// Which part.
    pub part: &'a str,
    /// Who measured it, or in which seat.
    pub operator: &'a str,
    /// What was read.
    pub value: f64,
}

/// A study in which every operator measured every part equally often.
#[derive(Clone, PartialEq, Debug)]
pub struct GaugeStudy {
    parts: usize,
    operators: usize,
    trials: usize,
    /// Readings of each part by each operator; operators vary fastest.
    cells: Vec<Vec<f64>>,
}

/// Two-way analysis of variance of a study.
#[derive(Clone, PartialEq, Debug)]
pub struct Anova {
    parts: f64,
    operators: f64,
    trials: f64,
    /// Sums of squares: between parts.
    pub part_squares: f64,
    /// Between operators.
    pub operator_squares: f64,
    /// Interaction of parts and operators.
    pub interaction_squares: f64,
    /// Within a part and an operator: equipment.
    pub error_squares: f64,
    /// Degrees of freedom in the same order.
    pub degrees_of_freedom: [f64; 4],
}

/// The range method with the average ranges that it goes by.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RangeMethod {
    /// Average range of the readings of one part by one operator.
    pub average_range: f64,
    /// Difference of the greatest and the least operator's average.
    pub operator_difference: f64,
    /// Range of the averages of the parts.
    pub part_range: f64,
    /// What follows.
    pub report: GaugeReport,
}

/// Standard deviations of what makes up a reading.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct GaugeReport {
    /// EV, repeatability: the equipment.
    pub repeatability: f64,
    /// AV, reproducibility: operators and their interaction with parts.
    pub reproducibility: f64,
    /// PV, the parts themselves.
    pub parts: f64,
}

impl GaugeReport {
    /// GRR, repeatability and reproducibility together.
    pub fn gauge(&self) -> f64 {
        self.repeatability.hypot(self.reproducibility)
    }

    /// TV, everything together.
    pub fn total(&self) -> f64 {
        self.gauge().hypot(self.parts)
    }

    /// How many groups of parts the gauge can tell apart, 1.41 PV/GRR; not yet
    /// cut to a whole number.
    pub fn distinct_categories(&self) -> f64 {
        1.41 * self.parts / self.gauge()
    }

    /// A deviation as a share of the total deviation ("of study variation").
    pub fn share_of_deviation(&self, deviation: f64) -> f64 {
        deviation / self.total()
    }

    /// A deviation's share of the total variance ("contribution"). Shares of
    /// this kind add up to one.
    pub fn share_of_variance(&self, deviation: f64) -> f64 {
        self.share_of_deviation(deviation).powi(2)
    }
}

impl GaugeStudy {
    /// Sorts readings by part and operator; their order does not matter.
    ///
    /// # Errors
    /// Fewer than two parts, operators or trials, a value that is not finite,
    /// or a part that an operator measured more or less often than others.
    pub fn new(readings: &[Reading]) -> Result<GaugeStudy, StatisticsFault> {
        if let Some(at) = readings.iter().position(|r| !r.value.is_finite()) {
            return Err(StatisticsFault::NotFinite(at));
        }
        let mut table: BTreeMap<&str, BTreeMap<&str, Vec<f64>>> = BTreeMap::new();
        for reading in readings {
            let row = table.entry(reading.part).or_default();
            row.entry(reading.operator).or_default().push(reading.value);
        }
        let mut names: Vec<&str> = readings.iter().map(|reading| reading.operator).collect();
        names.sort_unstable();
        names.dedup();
        let first = table.values().next().and_then(|row| row.values().next());
        let trials = first.map_or(0, Vec::len);
        for found in [table.len(), names.len(), trials] {
            if found < 2 {
                return Err(StatisticsFault::TooFew { found, needed: 2 });
            }
        }
        let mut cells = Vec::with_capacity(table.len() * names.len());
        for (part, row) in &table {
            for operator in &names {
                let cell = row.get(operator).cloned().unwrap_or_default();
                if cell.len() != trials {
                    return Err(StatisticsFault::Unbalanced {
                        part: (*part).to_owned(),
                        operator: (*operator).to_owned(),
                        found: cell.len(),
                        needed: trials,
                    });
                }
                cells.push(cell);
            }
        }
        Ok(GaugeStudy {
            parts: table.len(),
            operators: names.len(),
            trials,
            cells,
        })
    }

    fn cell_means(&self) -> Vec<f64> {
        self.cells.iter().map(|cell| mean(cell)).collect()
    }

    fn part_means(&self, cell_means: &[f64]) -> Vec<f64> {
        cell_means.chunks(self.operators).map(mean).collect()
    }

    fn operator_means(&self, cell_means: &[f64]) -> Vec<f64> {
        let of = |operator: usize| -> Vec<f64> {
            cell_means
                .iter()
                .skip(operator)
                .step_by(self.operators)
                .copied()
                .collect()
        };
        (0..self.operators)
            .map(|operator| mean(&of(operator)))
            .collect()
    }

    /// Analysis of variance, both factors random.
    pub fn anova(&self) -> Anova {
        let (p, o, r) = (self.parts as f64, self.operators as f64, self.trials as f64);
        let cell_means = self.cell_means();
        let part_means = self.part_means(&cell_means);
        let operator_means = self.operator_means(&cell_means);
        let grand = mean(&cell_means);
        let squares = |values: &[f64]| -> f64 { values.iter().map(|m| (m - grand).powi(2)).sum() };
        // What part and operator alone do not explain, cell by cell: no sum of
        // squares is found as a difference of large ones.
        let interaction: f64 = cell_means
            .iter()
            .enumerate()
            .map(|(at, cell)| {
                let additive =
                    part_means[at / self.operators] + operator_means[at % self.operators] - grand;
                (cell - additive).powi(2)
            })
            .sum();
        let error: f64 = self
            .cells
            .iter()
            .zip(&cell_means)
            .flat_map(|(cell, mean)| cell.iter().map(move |value| (value - mean).powi(2)))
            .sum();
        Anova {
            parts: p,
            operators: o,
            trials: r,
            part_squares: o * r * squares(&part_means),
            operator_squares: p * r * squares(&operator_means),
            interaction_squares: r * interaction,
            error_squares: error,
            degrees_of_freedom: [p - 1.0, o - 1.0, (p - 1.0) * (o - 1.0), p * o * (r - 1.0)],
        }
    }

    /// The method of averages and ranges, with factors 1/d2*. For more than 15
    /// ranges the source takes d2 itself.
    pub fn range_method(&self) -> RangeMethod {
        let (p, o, r) = (self.parts, self.operators, self.trials);
        let ranges: Vec<f64> = self.cells.iter().map(|cell| range(cell)).collect();
        let cell_means = self.cell_means();
        let average_range = mean(&ranges);
        let operator_difference = range(&self.operator_means(&cell_means));
        let part_range = range(&self.part_means(&cell_means));
        let of_trials = if p * o > 15 {
            d2(r)
        } else {
            d2_of_groups(r, p * o)
        };
        let repeatability = average_range / of_trials;
        let between = operator_difference / d2_of_groups(o, 1);
        let within = repeatability.powi(2) / (p * r) as f64;
        RangeMethod {
            average_range,
            operator_difference,
            part_range,
            report: GaugeReport {
                repeatability,
                reproducibility: (between.powi(2) - within).max(0.0).sqrt(),
                parts: part_range / d2_of_groups(p, 1),
            },
        }
    }
}

impl Anova {
    /// Mean squares of part, operator, interaction and error.
    pub fn mean_squares(&self) -> [f64; 4] {
        let [part, operator, interaction, error] = self.degrees_of_freedom;
        [
            self.part_squares / part,
            self.operator_squares / operator,
            self.interaction_squares / interaction,
            self.error_squares / error,
        ]
    }

    /// F of the interaction against the error, and the probability of one at
    /// least as great where there is none.
    pub fn interaction_test(&self) -> (f64, f64) {
        let [.., interaction, error] = self.mean_squares();
        let [.., m, n] = self.degrees_of_freedom;
        let f = interaction / error;
        (f, f_above(f, m, n))
    }

    /// Mean square that the interaction and the error have together, for the
    /// model without interaction.
    pub fn pooled_error(&self) -> f64 {
        let [.., m, n] = self.degrees_of_freedom;
        (self.interaction_squares + self.error_squares) / (m + n)
    }

    /// Variances of parts, operators, interaction and error with the
    /// interaction in the model. A negative estimate counts as zero.
    pub fn variances(&self) -> [f64; 4] {
        let [part, operator, interaction, error] = self.mean_squares();
        self.components(part, operator, interaction, error)
    }

    /// The same without interaction, which is pooled with the error.
    pub fn pooled_variances(&self) -> [f64; 4] {
        let [part, operator, ..] = self.mean_squares();
        let error = self.pooled_error();
        self.components(part, operator, error, error)
    }

    fn components(&self, part: f64, operator: f64, interaction: f64, error: f64) -> [f64; 4] {
        [
            ((part - interaction) / (self.operators * self.trials)).max(0.0),
            ((operator - interaction) / (self.parts * self.trials)).max(0.0),
            ((interaction - error) / self.trials).max(0.0),
            error,
        ]
    }

    /// The report of the model that the data call for: without the interaction
    /// unless its probability is below `significance`, commonly 0.05.
    pub fn report(&self, significance: f64) -> GaugeReport {
        let (_, probability) = self.interaction_test();
        let [part, operator, interaction, error] = if probability < significance {
            self.variances()
        } else {
            self.pooled_variances()
        };
        GaugeReport {
            repeatability: error.sqrt(),
            reproducibility: (operator + interaction).sqrt(),
            parts: part.sqrt(),
        }
    }
}

fn mean(values: &[f64]) -> f64 {
    // Means of a few readings: the plain sum is as good as its digits.
    values.iter().sum::<f64>() / values.len() as f64
}

fn range(values: &[f64]) -> f64 {
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most - least
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn readings(value: impl Fn(usize, usize, usize) -> f64) -> GaugeStudy {
        let names = ["a", "b", "c"];
        let mut all = Vec::new();
        for trial in 0..2 {
            for part in 0..3 {
                for operator in 0..3 {
                    all.push(Reading {
                        part: names[part],
                        operator: names[operator],
                        value: value(part, operator, trial),
                    });
                }
            }
        }
        GaugeStudy::new(&all).unwrap()
    }

    #[test]
    fn sums_of_squares_add_up_to_the_total() {
        let value = |p: usize, o: usize, t: usize| ((p * 7 + o * 5 + t * 3) % 11) as f64;
        let anova = readings(value).anova();
        let all: Vec<f64> = (0..18).map(|i| value(i % 3, i / 3 % 3, i / 9)).collect();
        let grand = mean(&all);
        let total: f64 = all.iter().map(|x| (x - grand).powi(2)).sum();
        let sum = anova.part_squares
            + anova.operator_squares
            + anova.interaction_squares
            + anova.error_squares;
        assert!((sum - total).abs() < 1e-10);
        assert_eq!(anova.degrees_of_freedom.iter().sum::<f64>(), 17.0);
    }

    #[test]
    fn a_perfect_gauge_has_only_parts() {
        let study = readings(|part, _, _| part as f64);
        let report = study.anova().report(0.05);
        assert_eq!((report.gauge(), report.parts), (0.0, 1.0));
        assert_eq!(study.range_method().report.repeatability, 0.0);
    }

    #[test]
    fn a_missing_reading_is_named() {
        let reading = |part, operator| Reading {
            part,
            operator,
            value: 1.0,
        };
        let mut all = vec![
            reading("1", "a"),
            reading("1", "a"),
            reading("1", "b"),
            reading("1", "b"),
            reading("2", "a"),
            reading("2", "a"),
            reading("2", "b"),
        ];
        let fault = GaugeStudy::new(&all).unwrap_err();
        assert!(
            fault
                .to_string()
                .starts_with("part 2 was measured 1 times by b"),
            "{fault}"
        );
        all.truncate(2);
        assert!(matches!(
            GaugeStudy::new(&all),
            Err(StatisticsFault::TooFew { .. })
        ));
        assert!(GaugeStudy::new(&[]).is_err());
    }
}
