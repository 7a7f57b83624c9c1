//! Values that somebody wants to be otherwise: quantities, tolerances, sweeps, and
//! policies.

use super::super::Notebook;
use super::super::resolve::listed;
use super::Override;
use super::wish::Wish;
use crate::finding::Located;
use crate::nearest::nearest;
use crate::quantity::{Dimension, Given};
use crate::record::{CoverageInterval, Policy, SpreadPolicy};

/// A quantity that may be otherwise.
pub(super) struct Known<'n> {
    pub name: String,
    pub given: &'n Given,
    pub make: Box<dyn Fn(Given) -> Override + 'n>,
}

impl Notebook {
    pub(super) fn policy(
        &self,
        board: Option<usize>,
        key: &str,
        value: &str,
    ) -> Result<Wish, String> {
        let own = board.map_or(&self.records.notebook.policy, |at| {
            &self.records.boards[at].policy
        });
        let above = &self.records.notebook.policy;
        let mut policy = Policy::default();
        let word = |known: Vec<&str>| {
            let near = nearest(value, known.iter().copied())
                .map_or(String::new(), |near| format!("; perhaps `{near}`"));
            format!(
                "`policy.{key}` cannot be `{value}`: it is one of {}{near}",
                listed(&known)
            )
        };
        let now = match key {
            "spread" => {
                let other = SpreadPolicy::by_word(value);
                let known = SpreadPolicy::ALL.iter().map(|at| at.word());
                policy.spread = Some(other.ok_or_else(|| word(known.collect()))?);
                own.spread
                    .or(above.spread)
                    .unwrap_or_default()
                    .word()
                    .to_owned()
            }
            "interval" => {
                let other = CoverageInterval::by_word(value);
                let known = CoverageInterval::ALL.iter().map(|at| at.word());
                policy.interval = Some(other.ok_or_else(|| word(known.collect()))?);
                own.interval
                    .or(above.interval)
                    .unwrap_or_default()
                    .word()
                    .to_owned()
            }
            "coverage" => {
                let given = Given::parse(value, Some(Dimension::ONE))
                    .map_err(|fault| format!("`{value}`: {fault}"))?;
                if !(given.nominal() > 0.0 && given.nominal() < 1.0) {
                    return Err(format!(
                        "a coverage of `{value}` is no share: write one between 0 % and 100 %"
                    ));
                }
                let now = own.coverage.as_ref().or(above.coverage.as_ref());
                let place = self.records.notebook.place.clone();
                let Some(place) = place else {
                    return Err("there is no `notebook.toml`".to_owned());
                };
                policy.coverage = Some(Located::new(given, place));
                now.map_or_else(|| "95 %".to_owned(), |now| now.value.text().to_owned())
            }
            "seed" => {
                let seed: u64 = value
                    .parse()
                    .map_err(|_| format!("a seed is a whole number, and `{value}` is none"))?;
                policy.seed = Some(seed);
                own.seed.or(above.seed).unwrap_or(1).to_string()
            }
            _ => {
                let known = ["spread", "coverage", "interval", "seed"];
                return Err(format!(
                    "a policy has no `{key}`; it has {}",
                    listed(&known)
                ));
            }
        };
        let scope = board.map_or(String::new(), |at| {
            format!("{}.", self.records.boards[at].id.value)
        });
        Ok(Wish::of(format!("{scope}policy.{key}"), now, value)
            .by(Override::Policy { board, policy }))
    }
}

/// A quantity in the place of a known one: a value, a value with its tolerance,
/// a tolerance alone, or both ends of a sweep.
pub(super) fn quantity(known: Known<'_>, value: &str) -> Result<Wish, String> {
    let Known {
        name,
        given: now,
        make,
    } = known;
    let wanted = Some(now.dimension());
    let read = |text: &str| {
        let text = text.trim();
        Given::parse(text, wanted).map_err(|fault| match fault.mend() {
            Some(mend) => format!("`{text}` for `{name}`: {fault}; {mend}"),
            None => format!("`{text}` for `{name}`: {fault}"),
        })
    };
    if let Some((from, up_to)) = value.split_once("..") {
        if from.trim().is_empty() || up_to.trim().is_empty() {
            return Err(format!(
                "the sweep `{value}` of `{name}` lacks an end: write both, as in `4k7..6k2`"
            ));
        }
        let (from, up_to) = (read(from)?, read(up_to)?);
        if from.low() != from.high() || up_to.low() != up_to.high() {
            return Err(format!(
                "the ends of the sweep `{value}` of `{name}` are values without a tolerance"
            ));
        }
        let (from, up_to) = (from.nominal(), up_to.nominal());
        if from >= up_to {
            return Err(format!(
                "the sweep `{value}` of `{name}` goes nowhere: write the lower end first"
            ));
        }
        let mut wish = Wish::of(name.clone(), now.text(), value).by(make(now.around(from)));
        wish.swept = Some((from, up_to, now.clone()));
        return Ok(wish);
    }
    let given = if value.starts_with(['±', '+']) {
        let tolerance = now.tolerance_text().map_or(0, str::len);
        let bare = now.text()[..now.text().len() - tolerance].trim();
        if bare.contains(" to ") {
            return Err(format!(
                "`{name}` is a range, {}: write both ends",
                now.text()
            ));
        }
        read(&format!("{bare} {value}"))?
    } else {
        let given = read(value)?;
        let takes_over =
            given.low() == given.high() && now.low() != now.high() && !now.text().contains(" to ");
        match takes_over {
            true => now.around(given.nominal()),
            false => given,
        }
    };
    if given.dimension().scale() != now.dimension().scale() {
        return Err(format!(
            "`{value}` for `{name}`: a difference is no point on the scale"
        ));
    }
    Ok(Wish::of(name, now.text(), given.text()).by(make(given)))
}
