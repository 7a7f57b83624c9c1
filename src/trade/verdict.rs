//! Kinds of working that are formulas, and questions about what comes of them.

use super::formulas::Formulas;
use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes};
use super::plan::{Cell, Judge, Plan, Table};
use crate::quantity::{Dimension, Outcome, Unit, fitted_unit, shown_digits};

/// A kind whose results are formulas, with questions that their values answer.
#[derive(Debug)]
pub(super) struct WithVerdicts {
    /// Inputs and results.
    pub formulas: Formulas,
    /// The questions, in the order they are asked.
    pub verdicts: &'static [Verdict],
}

/// A question that a reader has, and how it is answered.
#[derive(Debug)]
pub(super) struct Verdict {
    /// The question.
    pub asks: &'static str,
    /// Inputs and results that answer it; it is not asked where one is missing.
    pub of: &'static [&'static str],
    /// The answer for their values with their spreads, in coherent SI units.
    pub answer: fn(&[Outcome]) -> String,
}

impl Kind for WithVerdicts {
    fn name(&self) -> &'static str {
        self.formulas.name
    }

    fn title(&self) -> &'static str {
        self.formulas.title
    }

    fn inputs(&self) -> &'static [Input] {
        self.formulas.inputs
    }

    fn hazards(&self) -> &'static [Hazard] {
        self.formulas.hazards
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let mut plan = self.formulas.plan(given)?;
        answer(&mut plan, self.inputs(), given, self.verdicts);
        Ok(plan)
    }
}

/// Sets out a plan's inputs and results in a table, and below it the questions
/// that can be asked of them.
pub(super) fn answer(
    plan: &mut Plan,
    inputs: &'static [Input],
    given: &Inputs,
    verdicts: &'static [Verdict],
) {
    let is_known =
        |name: &str| given.has(name) || plan.results.iter().any(|result| result.name == name);
    let asked: Vec<Vec<Cell>> = verdicts
        .iter()
        .filter(|verdict| verdict.of.iter().all(|name| is_known(name)))
        .map(|verdict| {
            let answer = verdict.answer;
            vec![
                Cell::Text(verdict.asks.to_owned()),
                judged(verdict.of, answer),
            ]
        })
        .collect();
    plan.tables.push(values(plan, inputs, given));
    if !asked.is_empty() {
        plan.tables.push(Table {
            caption: "What that means".to_owned(),
            columns: vec!["Question".to_owned(), "Answer".to_owned()],
            rows: asked,
        });
    }
}

/// All inputs that are single formulas, and all results, with their spreads.
fn values(plan: &Plan, inputs: &'static [Input], given: &Inputs) -> Table {
    let row = |means: &str, name: &str| {
        vec![
            Cell::Text(means.to_owned()),
            Cell::Value(name.to_owned()),
            Cell::Range(name.to_owned()),
        ]
    };
    let is_given =
        |input: &&Input| matches!(input.takes, Takes::Quantity(_)) && given.has(input.name);
    let inputs = inputs.iter().filter(is_given);
    let results = plan.results.iter();
    Table {
        caption: String::new(),
        columns: ["What it is", "Value", "Spread"].map(str::to_owned).into(),
        rows: inputs
            .map(|input| row(input.means, input.name))
            .chain(results.map(|result| row(&result.means, &result.name)))
            .collect(),
    }
}

/// A cell with words about values.
pub(super) fn judged(
    of: &[impl AsRef<str>],
    judge: impl Fn(&[Outcome]) -> String + Send + Sync + 'static,
) -> Cell {
    Cell::Judged {
        of: of.iter().map(|name| name.as_ref().to_owned()).collect(),
        judge: Judge::new(judge),
    }
}

/// A whole number as it stands in print: `1 638`.
pub(super) fn whole(number: f64) -> String {
    // Converters have 32 bits at most, so ten digits hold all of their counts.
    shown_digits(number.round(), 12, &Unit::one()).to_string()
}

/// All digits of a whole number, in threes: it is copied into firmware.
pub(crate) fn exact(number: f64) -> String {
    let digits = format!("{:.0}", number.abs());
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        // A narrow space that does not break, as thousands are set.
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push('\u{202f}');
        }
        text.push(digit);
    }
    text
}

/// Three digits of a share in percent.
pub(super) fn percent(share: f64) -> String {
    format!("{} %", shown_digits(share * 100.0, 3, &Unit::one()))
}

/// Three digits of a time, with the unit that suits it.
pub(super) fn time(seconds: f64) -> String {
    fitted(seconds, Dimension::TIME)
}

/// Three digits of a quantity, with the unit that suits it.
pub(super) fn fitted(value: f64, dimension: Dimension) -> String {
    let unit = fitted_unit(value, &Unit::coherent(dimension));
    shown_digits(value, 3, &unit).to_string()
}
