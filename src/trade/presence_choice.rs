//! The resistor of a fixture that tells faults apart best, among all candidates.

use super::choose::{Answer, Choice, Chooses, Question};
use super::plan::Unworkable;
use super::presence::{Ranked, Reader, Tested, better};
use super::presence_check::{PresenceCheck, series};

impl Chooses for PresenceCheck {
    fn chooses(&self) -> &'static str {
        "fixture resistors"
    }

    fn choose(&self, question: &Question<'_>) -> Result<Answer, Unworkable> {
        let tested = tested(question);
        if tested.is_empty() {
            return Err(Unworkable::new(
                "has no resistors that could be told apart",
                "mend what `prove` says of the working's `resistors`",
            ));
        }
        let candidates = question.candidates.iter().enumerate();
        let mut ranked: Vec<(usize, Ranked)> = candidates
            .filter(|(_, candidate)| candidate.value > 0.0)
            .map(|(at, candidate)| {
                let reader = reader(question, candidate.tolerance);
                (at, reader.judge(candidate.value, &tested))
            })
            .collect();
        if ranked.is_empty() {
            return Err(Unworkable::new(
                "has no candidates",
                "widen `--from` and `--up-to`, name a series, or stock some resistors",
            ));
        }
        ranked.sort_by(|(_, a), (_, b)| better(a, b));
        let choices: Vec<Choice> = ranked
            .iter()
            .take(question.show)
            .map(|(at, ranked)| choice(question, *at, ranked))
            .collect();
        let law = match choices.first() {
            Some(best) if !best.meets => vec![
                "no single fixture resistor catches every fault of these resistors with this error".to_owned(),
                "Switch between two fixture resistors, read with less error, or test the nearest values by a current.".to_owned(),
            ],
            _ => Vec::new(),
        };
        Ok(Answer {
            choices,
            sets: ranked.len() as f64,
            law,
            own: Vec::new(),
        })
    }
}

fn choice(question: &Question<'_>, at: usize, ranked: &Ranked) -> Choice {
    let caught = format!("catches {} of {} faults", ranked.caught, ranked.faults);
    let apart = match ranked.gap {
        gap if gap >= 1.0 => format!("the nearest lies {gap:.0} counts from the limits"),
        _ => "the nearest reaches into the limits".to_owned(),
    };
    Choice {
        parts: vec![("fixture_resistor".to_owned(), at)],
        results: Vec::new(),
        worst: 0.0,
        new: usize::from(!question.candidates[at].stocked),
        meets: ranked.caught == ranked.faults,
        remark: Some(format!("{caught}; {apart}")),
    }
}

/// The resistors under test, in the order of the record.
fn tested(question: &Question<'_>) -> Vec<Tested> {
    let names = question.given.names("resistors").into_iter();
    let tested = names.filter_map(|name| {
        let own = question.values.get(&format!("resistors.{name}"))?;
        let path = question.values.get(&format!("parallel.{name}"));
        let reach = (own.high - own.nominal).max(own.nominal - own.low);
        Some(Tested {
            value: own.nominal,
            tolerance: reach / own.nominal,
            parallel: path.map(|path| path.nominal),
        })
    });
    tested.filter(|one| one.value > 0.0).collect()
}

/// How the fixture reads with a resistor of this tolerance.
fn reader(question: &Question<'_>, tolerance: f64) -> Reader {
    let value = |name: &str| question.values.get(name).map(|value| value.high);
    Reader {
        steps: value("resolution").unwrap_or(0.0).exp2(),
        error: value("error").unwrap_or(0.0),
        guard: value("guard").unwrap_or(0.0),
        tolerance,
        series: series(question.given),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::collections::HashMap;

    use super::*;
    use crate::quantity::{Outcome, Series};
    use crate::trade::Candidate;
    use crate::trade::kind::Entry;

    /// Truth: the fixture resistor that tells 10 kΩ from 9.1 kΩ best is their
    /// geometric mean, 9.54 kΩ (calculus), of which 9.53 kΩ is the nearest in E96;
    /// exhaustive, for every candidate is judged.
    #[test]
    fn the_best_of_all_candidates_comes_first() {
        let mut given = crate::trade::Inputs::default();
        given.put("resistors", Entry::ByName(vec!["set".to_owned()]));
        given.put("series", Entry::Word("E24".to_owned()));
        let outcome = |nominal: f64, share: f64| Outcome {
            nominal,
            low: nominal * (1.0 - share),
            high: nominal * (1.0 + share),
        };
        let values: HashMap<String, Outcome> = [
            ("resistors.set", outcome(10e3, 0.01)),
            ("resolution", outcome(12.0, 0.0)),
            ("error", outcome(4.0, 0.0)),
        ]
        .map(|(name, value)| (name.to_owned(), value))
        .into();
        let candidates: Vec<Candidate> = Series::E96
            .between(1e3, 1e5)
            .map(|value| Candidate {
                name: value.to_string(),
                value,
                tolerance: 0.001,
                stocked: false,
            })
            .collect();
        let question = Question {
            given: &given,
            values: &values,
            targets: &[],
            candidates: &candidates,
            show: 3,
        };
        let answer = PresenceCheck.choose(&question).unwrap();
        let best = &answer.choices[0];
        assert_eq!(candidates[best.parts[0].1].value, 9.53e3);
        assert!(best.meets, "{best:?}");
        assert_eq!(answer.sets, candidates.len() as f64);
        let none = Question {
            candidates: &[],
            ..question
        };
        assert!(PresenceCheck.choose(&none).is_err());
    }
}
