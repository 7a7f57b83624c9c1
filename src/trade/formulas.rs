//! Kinds of working that are nothing but formulas.

use super::kind::{Hazard, Input, Inputs, Kind, Refusal};
use super::plan::{Plan, Planned};
use crate::formula::Formula;

/// A kind whose results are formulas over its inputs.
#[derive(Debug)]
pub(super) struct Formulas {
    /// Name in records.
    pub name: &'static str,
    /// Name for people.
    pub title: &'static str,
    /// Its inputs, formulas all.
    pub inputs: &'static [Input],
    /// What comes out, in the order it is worked.
    pub results: &'static [Result],
    /// How it can hurt.
    pub hazards: &'static [Hazard],
    /// What a reader has to know beside the numbers.
    pub notes: &'static [&'static str],
}

/// A result of such a kind.
#[derive(Debug)]
pub(super) struct Result {
    /// Name behind the working's id.
    pub name: &'static str,
    /// What it is.
    pub means: &'static str,
    /// Formula over names of inputs and of results before it. A result whose
    /// formula names an input that is not given does not come out.
    pub from: &'static str,
    /// Where the formula is from.
    pub source: &'static str,
}

pub(super) const fn result(
    name: &'static str,
    means: &'static str,
    from: &'static str,
    source: &'static str,
) -> Result {
    Result {
        name,
        means,
        from,
        source,
    }
}

impl Kind for Formulas {
    fn name(&self) -> &'static str {
        self.name
    }

    fn title(&self) -> &'static str {
        self.title
    }

    fn inputs(&self) -> &'static [Input] {
        self.inputs
    }

    fn hazards(&self) -> &'static [Hazard] {
        self.hazards
    }

    fn plan(&self, given: &Inputs) -> std::result::Result<Plan, Vec<Refusal>> {
        let mut results: Vec<Planned> = Vec::new();
        for result in self.results {
            // A test reads every formula of every kind.
            let Ok(formula) = Formula::parse(result.from) else {
                continue;
            };
            let known =
                |name: &str| given.has(name) || results.iter().any(|result| result.name == name);
            if formula.names().iter().all(|used| known(&used.name)) {
                let planned =
                    Planned::formula(result.name, result.means, result.from, result.source);
                results.push(planned);
            }
        }
        Ok(Plan {
            results,
            notes: self.notes.iter().map(|&note| note.to_owned()).collect(),
            ..Plan::default()
        })
    }
}
