//! Set resistors for wanted charge currents: every set of candidates, searched
//! whole.
//!
//! What a pole that counts adds to the current (or, in a series string, to the
//! set resistance) it adds whatever the others do. A set is built resistor by
//! resistor, and given up as soon as a position that it already settles is
//! further off than the worst of the choices that would be shown: that gives up
//! nothing that could be among them.

use std::collections::BTreeSet;

use super::charge_current::ChargeCurrent;
use super::choose::{Answer, Candidate, Choice, Chooses, Question, Target};
use super::plan::Unworkable;
use super::positions::Wiring;
use crate::quantity::Outcome;

/// Sets that are looked at before the search is given up as too wide.
const MOST_LOOKS: u64 = 2_000_000_000;

impl Chooses for ChargeCurrent {
    fn chooses(&self) -> &'static str {
        "set resistors"
    }

    fn choose(&self, question: &Question<'_>) -> Result<Answer, Unworkable> {
        let mut search = Search::new(question)?;
        search.run()?;
        let sets = (question.candidates.len() as f64).powi(1 + search.poles as i32);
        let choices = search.choices();
        let law = match choices.iter().any(|choice| choice.meets) {
            true => Vec::new(),
            false => search.law(),
        };
        Ok(Answer {
            choices,
            sets,
            law,
            own: Vec::new(),
        })
    }
}

/// A target with the position that it is about.
struct Wanted<'a> {
    /// Poles whose resistors count, by their bits.
    counting: usize,
    target: &'a Target,
}

/// A set found: its worst error, new parts, and positions of its candidates.
type Found = (f64, usize, Vec<usize>);

struct Search<'a> {
    question: &'a Question<'a>,
    constant: Outcome,
    wiring: Wiring,
    poles: usize,
    wanted: Vec<Wanted<'a>>,
    /// What each candidate adds: its conductance, or its resistance.
    adds: Vec<f64>,
    best: Vec<Found>,
    looks: u64,
}

impl<'a> Search<'a> {
    fn new(question: &'a Question<'a>) -> Result<Search<'a>, Unworkable> {
        let poles = question.given.listed("poles").len();
        let wiring = match question.given.word("wiring") {
            Some("series") => Wiring::Series,
            _ => Wiring::Parallel,
        };
        let Some(&constant) = question.values.get("constant") else {
            return Err(Unworkable::new(
                "has no programming constant",
                "mend what `prove` says of the working's `constant`",
            ));
        };
        let mut wanted = Vec::new();
        for target in question.targets {
            let Some(counting) = counting(&target.key, poles, wiring) else {
                continue;
            };
            if target.value <= 0.0 {
                return Err(Unworkable::new(
                    format!("cannot reach a current of nothing at `{}`", target.key),
                    "ask for a current above zero",
                ));
            }
            wanted.push(Wanted { counting, target });
        }
        let is_open = |pole: usize| wanted.iter().all(|wanted| wanted.counting >> pole & 1 == 0);
        if wanted.is_empty() || (0..poles).any(is_open) {
            return Err(Unworkable::new(
                "has too few targets to settle every resistor",
                "state a current for each position in `says` or `must`, or with `--target`",
            ));
        }
        if question
            .candidates
            .iter()
            .all(|candidate| candidate.value <= 0.0)
        {
            return Err(Unworkable::new(
                "has no candidates",
                "widen `--from` and `--up-to`, name a series, or stock some resistors",
            ));
        }
        let adds = question
            .candidates
            .iter()
            .map(|candidate| match wiring {
                Wiring::Parallel => 1.0 / candidate.value,
                Wiring::Series => candidate.value,
            })
            .collect();
        Ok(Search {
            question,
            constant,
            wiring,
            poles,
            wanted,
            adds,
            best: Vec::new(),
            looks: 0,
        })
    }

    fn run(&mut self) -> Result<(), Unworkable> {
        let candidates: Vec<usize> = (0..self.adds.len())
            .filter(|&at| self.question.candidates[at].value > 0.0)
            .collect();
        self.extend(&candidates, &mut Vec::new(), &[0.0], 0.0)
    }

    /// Chooses one more resistor, best first, and goes on. `sums` is what the
    /// chosen ones add up to for every set of counting poles so far.
    fn extend(
        &mut self,
        candidates: &[usize],
        chosen: &mut Vec<usize>,
        sums: &[f64],
        worst: f64,
    ) -> Result<(), Unworkable> {
        if chosen.len() > self.poles {
            self.keep(worst, chosen.clone());
            return Ok(());
        }
        // The base resistor counts in all positions, a pole in half of them.
        let is_base = chosen.is_empty();
        let pole = chosen.len().wrapping_sub(1);
        let settled: Vec<(usize, f64)> = self
            .wanted
            .iter()
            .filter(|wanted| match is_base {
                true => wanted.counting == 0,
                false => wanted.counting >> pole == 1,
            })
            .map(|wanted| (wanted.counting, wanted.target.value))
            .collect();
        let mut next: Vec<(f64, usize)> = candidates
            .iter()
            .map(|&at| {
                let error = |&(counting, target): &(usize, f64)| {
                    let below = counting & !(if is_base { 0 } else { 1 << pole });
                    let sum = sums[below] + self.adds[at];
                    (self.current(sum) / target - 1.0).abs()
                };
                (settled.iter().map(error).fold(worst, f64::max), at)
            })
            .collect();
        self.looks += next.len() as u64;
        if self.looks > MOST_LOOKS {
            return Err(Unworkable::new(
                "has more sets of values than can be searched whole",
                "narrow `--from` and `--up-to`, or take a coarser series",
            ));
        }
        let limit = self.limit();
        next.retain(|&(worst, _)| worst <= limit);
        next.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (worst, at) in next {
            if worst > self.limit() {
                break;
            }
            let mut sums = sums.to_vec();
            if is_base {
                sums[0] = self.adds[at];
            } else {
                let with: Vec<f64> = sums.iter().map(|sum| sum + self.adds[at]).collect();
                sums.extend(with);
            }
            chosen.push(at);
            self.extend(candidates, chosen, &sums, worst)?;
            chosen.pop();
        }
        Ok(())
    }

    fn current(&self, sum: f64) -> f64 {
        match self.wiring {
            Wiring::Parallel => self.constant.nominal * sum,
            Wiring::Series => self.constant.nominal / sum,
        }
    }

    /// The error beyond which a set would not be shown.
    fn limit(&self) -> f64 {
        match self.best.last() {
            Some((worst, ..)) if self.best.len() >= self.question.show => *worst,
            _ => f64::INFINITY,
        }
    }

    fn keep(&mut self, worst: f64, chosen: Vec<usize>) {
        let new: BTreeSet<&str> = chosen
            .iter()
            .map(|&at| &self.question.candidates[at])
            .filter(|candidate| !candidate.stocked)
            .map(|candidate| candidate.name.as_str())
            .collect();
        let found = (worst, new.len(), chosen);
        let order = |a: &Found, b: &Found| {
            let by_error = a.0.total_cmp(&b.0);
            by_error.then(a.1.cmp(&b.1)).then_with(|| a.2.cmp(&b.2))
        };
        let at = self
            .best
            .partition_point(|best| order(best, &found).is_lt());
        self.best.insert(at, found);
        self.best.truncate(self.question.show.max(1));
    }

    fn choices(&self) -> Vec<Choice> {
        let choice = |(worst, new, chosen): &Found| {
            let results: Vec<Outcome> = self
                .wanted
                .iter()
                .map(|wanted| self.outcome(chosen, wanted.counting))
                .collect();
            let mut held = self.wanted.iter().zip(&results);
            Choice {
                parts: chosen
                    .iter()
                    .enumerate()
                    .map(|(place, &at)| match place {
                        0 => ("always".to_owned(), at),
                        pole => (format!("poles {pole}"), at),
                    })
                    .collect(),
                worst: *worst,
                new: *new,
                meets: held
                    .all(|(wanted, result)| wanted.target.statement.misses(*result).is_empty()),
                results,
                remark: None,
            }
        };
        self.best.iter().map(choice).collect()
    }

    /// The current of a position, with the tolerances of constant and parts.
    fn outcome(&self, chosen: &[usize], counting: usize) -> Outcome {
        let counts = |place: usize| place == 0 || counting >> (place - 1) & 1 == 1;
        let sum = |turn: f64| -> f64 {
            let parts = chosen
                .iter()
                .enumerate()
                .filter(|(place, _)| counts(*place));
            let values = parts.map(|(_, &at)| {
                let Candidate {
                    value, tolerance, ..
                } = self.question.candidates[at];
                value * (1.0 + turn * tolerance)
            });
            match self.wiring {
                Wiring::Parallel => values.map(|value| 1.0 / value).sum(),
                Wiring::Series => 1.0 / values.sum::<f64>(),
            }
        };
        Outcome {
            nominal: self.constant.nominal * sum(0.0),
            low: self.constant.low * sum(1.0),
            high: self.constant.high * sum(-1.0),
        }
    }

    /// What no values at all can get round: sums of what the positions add.
    fn law(&self) -> Vec<String> {
        let target = |counting: usize| {
            let mut wanted = self.wanted.iter();
            let found = wanted.find(|wanted| wanted.counting == counting)?;
            Some(match self.wiring {
                Wiring::Parallel => found.target.value,
                Wiring::Series => self.constant.nominal / found.target.value,
            })
        };
        let mut forced = (0.0, None);
        for counting in 1_usize..1 << self.poles {
            let singles = (0..self.poles).map(|pole| 1 << pole);
            let singles: Vec<usize> = singles.filter(|single| counting & single != 0).collect();
            if singles.len() < 2 {
                continue;
            }
            let sides = (|| {
                let base = target(0)? * (singles.len() - 1) as f64;
                let one = target(counting)? + base;
                let other: Option<f64> = singles.iter().map(|&single| target(single)).sum();
                Some((one, other?))
            })();
            if let Some((one, other)) = sides {
                let miss = (one - other).abs() / (one + other);
                if miss > forced.0 {
                    forced = (miss, Some((one, other)));
                }
            }
        }
        let (miss, Some((one, other))) = forced else {
            return Vec::new();
        };
        let (what, unit) = match self.wiring {
            Wiring::Parallel => ("currents", "A"),
            Wiring::Series => ("set resistances", "Ω"),
        };
        let shown = |value: f64| format!("{value:.4} {unit}");
        let mut law = vec![format!(
            "whatever the values, what a pole adds it adds whatever the others do: the {what} of no pole and of both always sum to those of either alone; the targets ask for {} to equal {}, so at least one of them is missed by {:.1} % or more",
            shown(one),
            shown(other),
            100.0 * miss
        )];
        if let (2, Wiring::Parallel) = (self.poles, self.wiring) {
            let turn = if one > other { -miss } else { miss };
            let legal = |counting: usize| {
                let side = if counting == 0 || counting == 3 {
                    turn
                } else {
                    -turn
                };
                target(counting).map(|value| format!("{:.1} mA", 1e3 * value * (1.0 + side)))
            };
            let legal: Option<Vec<String>> = (0..4).map(legal).collect();
            if let Some(legal) = legal {
                law.push(format!(
                    "the nearest currents that two poles can give are {}",
                    legal.join(", ")
                ));
            }
        }
        law
    }
}

/// The poles that count in a position, by its label; `None` for another result.
fn counting(key: &str, poles: usize, wiring: Wiring) -> Option<usize> {
    if poles == 0 {
        return matches!(key, "set" | "fastest" | "slowest").then_some(0);
    }
    let words: Vec<&str> = key.split([' ', '_']).collect();
    if words.len() != poles || words.iter().any(|word| !matches!(*word, "on" | "off")) {
        return None;
    }
    let counts = |word: &str| (word == "on") == (wiring == Wiring::Parallel);
    let bits = words.iter().enumerate();
    Some(
        bits.filter(|(_, word)| counts(word))
            .map(|(pole, _)| 1 << pole)
            .sum(),
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::collections::HashMap;

    use super::super::kind::{Entry, Inputs};
    use super::*;
    use crate::quantity::{Series, Statement};

    fn inputs(poles: usize) -> Inputs {
        let mut inputs = Inputs::default();
        inputs.put("poles", Entry::Quantities(poles));
        inputs
    }

    fn series(series: Series, low: f64, high: f64, tolerance: f64) -> Vec<Candidate> {
        series
            .between(low, high)
            .map(|value| Candidate {
                name: format!("{value}"),
                value,
                tolerance,
                stocked: false,
            })
            .collect()
    }

    fn answer(given: &Inputs, targets: &[(&str, &str)], candidates: &[Candidate]) -> Answer {
        let values = HashMap::from([("constant".to_owned(), Outcome::exact(1000.0))]);
        let targets: Vec<Target> = targets
            .iter()
            .map(|(key, text)| Target::of(key, &Statement::parse(text, None).unwrap()).unwrap())
            .collect();
        let question = Question {
            given,
            values: &values,
            targets: &targets,
            candidates,
            show: 5,
        };
        ChargeCurrent.choose(&question).unwrap()
    }

    fn values(answer: &Answer, candidates: &[Candidate]) -> Vec<f64> {
        let parts = answer.choices[0].parts.iter();
        parts.map(|(_, at)| candidates[*at].value).collect()
    }

    /// Truth: design notes on two-pole switches: 50, 100, 250 and 500 mA cannot
    /// be had, the law alone forces a miss of at least 22.2 %, and the best of
    /// E24 misses by 24.2 %.
    #[test]
    fn targets_against_the_law_are_told_so() {
        let targets = [
            ("off off", "50 mA"),
            ("on off", "100 mA"),
            ("off on", "250 mA"),
            ("on on", "500 mA"),
        ];
        let candidates = series(Series::E24, 1e3, 100e3, 0.01);
        let answer = answer(&inputs(2), &targets, &candidates);
        assert!(answer.law[0].contains("22.2 %"), "{:?}", answer.law);
        assert!(
            (answer.choices[0].worst - 0.242).abs() < 0.0005,
            "{:?}",
            answer.choices[0]
        );
        assert!(!answer.choices[0].meets);
    }

    /// Truth: the same notes: 100, 200, 400 and 500 mA can be had with 10 kΩ,
    /// 10 kΩ and 3.3 kΩ, two stock values, within 0.8 % (400 mA becomes 403).
    #[test]
    fn lawful_targets_are_met_from_two_values() {
        let targets = [
            ("off off", "100 mA"),
            ("on off", "200 mA"),
            ("off on", "400 mA"),
            ("on on", "500 mA"),
        ];
        let candidates = series(Series::E24, 1e3, 100e3, 0.01);
        let answer = answer(&inputs(2), &targets, &candidates);
        assert_eq!(values(&answer, &candidates), [10e3, 10e3, 3.3e3]);
        assert!((answer.choices[0].worst - (100.0 + 1e6 / 3.3e3 - 400.0) / 400.0).abs() < 1e-9);
        assert_eq!(answer.choices[0].new, 2);
    }

    /// Truth: every set tried in turn. The search gives up sets early, and must
    /// come to the same optimum.
    #[test]
    fn the_optimum_is_that_of_trying_every_set() {
        let targets = [
            ("off off", "73 mA"),
            ("on off", "181 mA"),
            ("off on", "298 mA"),
            ("on on", "415 mA"),
        ];
        let wanted = [0.073, 0.181, 0.298, 0.415];
        let candidates = series(Series::E96, 1e3, 1e6, 0.01);
        assert_eq!(candidates.len(), 289);
        let answer = answer(&inputs(2), &targets, &candidates);
        let mut best = f64::INFINITY;
        for a in &candidates {
            for b in &candidates {
                for c in &candidates {
                    let (a, b, c) = (1e3 / a.value, 1e3 / b.value, 1e3 / c.value);
                    let worst = [a, a + b, a + c, a + b + c]
                        .iter()
                        .zip(wanted)
                        .map(|(current, wanted)| (current / wanted - 1.0_f64).abs())
                        .fold(0.0, f64::max);
                    best = best.min(worst);
                }
            }
        }
        assert!((answer.choices[0].worst - best).abs() < 1e-12);
    }

    /// Truth: 2 kΩ with 3 kΩ and 5 kΩ in a string (arithmetic): 500 mA with both
    /// shorted, 200 mA and 1000/7 mA with one, 100 mA with none.
    #[test]
    fn a_series_string_is_found_again() {
        let mut given = inputs(2);
        given.put("wiring", Entry::Word("series".into()));
        let targets = [
            ("on on", "500 mA"),
            ("off on", "200 mA"),
            ("on off", "142.857 mA"),
            ("off off", "100 mA"),
        ];
        let candidates: Vec<Candidate> = [1e3, 2e3, 3e3, 4e3, 5e3, 6e3]
            .iter()
            .map(|&value| Candidate {
                name: format!("{value}"),
                value,
                tolerance: 0.0,
                stocked: true,
            })
            .collect();
        let answer = answer(&given, &targets, &candidates);
        assert_eq!(values(&answer, &candidates), [2e3, 3e3, 5e3]);
        assert_eq!(answer.choices[0].new, 0);
    }

    #[test]
    fn a_current_that_no_value_reaches_is_the_nearest_there_is() {
        let mut given = Inputs::default();
        given.put("always", Entry::Quantity);
        let candidates = series(Series::E24, 2e3, 50e3, 0.01);
        let answer = answer(&given, &[("fastest", "3 A ± 5 %")], &candidates);
        assert_eq!(values(&answer, &candidates), [2e3]);
        assert!(!answer.choices[0].meets);
    }
}
