//! Published relations in Ohmbook's own language of formulas.
//!
//! A sheet stands beside the cases of a topic and says for each relation which
//! formula a notebook would hold in its place. A case is answered as a figure
//! of a notebook is: its inputs are read as given quantities, the formula is
//! read, its dimension found without the values, and its value computed.
//!
//! A relation that no formula answers is left out by name and with a reason.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use ohmbook::formula::Formula;
use ohmbook::quantity::{Dimension, Given, Series, Unit};
use ohmbook::spread::{Input, worst_case};
use serde::Deserialize;

use crate::case::{Answer, Case, Counts, Disputed, Judged, judge_all};

/// How the cases of a topic are answered.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    #[serde(default, rename = "formula")]
    relations: Vec<Relation>,
    #[serde(default)]
    left_out: Vec<LeftOut>,
    /// Cases that are wrong in our judgement; they stay in.
    #[serde(default)]
    disputed: Vec<Disputed>,
}

/// A published relation as formulas of a notebook.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Relation {
    /// Id of the published formula.
    id: String,
    /// Inputs that are words, where the formula holds only for one of them.
    #[serde(default)]
    only: BTreeMap<String, String>,
    /// Name in the formulas to name in the case, where that is a unit (`C`,
    /// `fs`) or no name at all (`f/f3`).
    #[serde(default)]
    names: BTreeMap<String, String>,
    /// Figures that the text is built on, `name = formula`, in their order.
    #[serde(default)]
    figures: Vec<String>,
    text: Text,
    /// Name in the formulas to the case's input that holds its tolerance.
    #[serde(default)]
    tolerance: BTreeMap<String, String>,
    /// Quantities that are an extreme at worst case.
    #[serde(default)]
    extreme: BTreeMap<String, Which>,
    /// Quantities that are the next value of a preferred series, not below.
    #[serde(default)]
    not_below: BTreeMap<String, String>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Text {
    /// The formula of all cases of the relation.
    One(String),
    /// Quantity to formula; the empty name is that of cases that name none.
    Several(BTreeMap<String, String>),
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "lowercase")]
enum Which {
    Low,
    High,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LeftOut {
    id: String,
    /// Only these quantities, where others of the same relation are answered.
    #[serde(default)]
    quantities: Vec<String>,
    reason: String,
}

type Values = BTreeMap<String, (f64, Dimension)>;

/// Answers all cases of a topic with its sheet, and prints how many.
#[allow(clippy::print_stdout)] // Seen with `--nocapture` and after a failure.
pub fn run(topic: &str, cases: &[Case], sheet: &str) -> Counts {
    let sheet: Sheet = toml::from_str(sheet).unwrap_or_else(|error| panic!("{topic}: {error}"));
    let faults: Vec<String> = sheet.relations.iter().flat_map(Relation::faults).collect();
    assert!(faults.is_empty(), "{topic}:\n{}", faults.join("\n"));
    let used = RefCell::new(BTreeSet::new());
    let skipped = RefCell::new(vec![0usize; sheet.left_out.len()]);
    let counts = judge_all(cases, &sheet.disputed, |case| {
        let relations = sheet.relations.iter().enumerate();
        let mut fitting: Vec<_> = relations
            .filter(|(_, relation)| relation.fits(case))
            .collect();
        // An entry for some words goes before the one for all the others.
        let most = fitting.iter().map(|(_, one)| one.only.len()).max();
        fitting.retain(|(_, one)| Some(one.only.len()) == most);
        match fitting[..] {
            [(at, relation)] => {
                used.borrow_mut().insert(at);
                match relation.answer(case) {
                    Ok(answer) => Judged::Answered(answer),
                    Err(what) => Judged::Stuck(what),
                }
            }
            [] => match sheet.left_out.iter().position(|left| left.is_of(case)) {
                Some(at) => {
                    skipped.borrow_mut()[at] += 1;
                    Judged::LeftOut
                }
                None => Judged::Stuck(format!(
                    "`{}` has no formula that fits, and is not left out",
                    case.formula
                )),
            },
            _ => Judged::Stuck(format!("`{}` has several formulas", case.formula)),
        }
    });
    println!(
        "{topic}: {} cases, {} run, {} left out",
        cases.len(),
        counts.run,
        counts.left_out
    );
    for (left, count) in sheet.left_out.iter().zip(skipped.into_inner()) {
        println!("  {count} of {}: {}", left.id, left.reason);
        assert!(
            count > 0,
            "{topic}: `{}` is left out and has no case",
            left.id
        );
        assert!(
            !left.reason.is_empty(),
            "{topic}: `{}` has a reason",
            left.id
        );
    }
    for (at, relation) in sheet.relations.iter().enumerate() {
        let is_used = used.borrow().contains(&at);
        assert!(
            is_used,
            "{topic}: entry {at}, `{}`, has no case",
            relation.id
        );
    }
    counts
}

impl LeftOut {
    fn is_of(&self, case: &Case) -> bool {
        let quantity = case.quantity.as_deref().unwrap_or("");
        self.id == case.formula
            && (self.quantities.is_empty() || self.quantities.iter().any(|one| one == quantity))
    }
}

impl Relation {
    /// What cannot be read of its formulas.
    fn faults(&self) -> Vec<String> {
        let texts: Vec<&str> = match &self.text {
            Text::One(text) => vec![text],
            Text::Several(texts) => texts.values().map(String::as_str).collect(),
        };
        let figures = self.figures.iter().map(|figure| split(figure).1);
        let unread = figures.chain(texts).filter_map(|text| read(text).err());
        unread.map(|what| format!("{}: {what}", self.id)).collect()
    }

    /// Whether this is the relation of the case, over inputs that it has. An
    /// element of a list counts only where the formulas take all of them, so
    /// that a sum over three states is not answered by one over two.
    fn fits(&self, case: &Case) -> bool {
        let holds = |(name, word): (&String, &String)| case.inputs.get(name) == Some(word);
        if self.id != case.formula || !self.only.iter().all(holds) {
            return false;
        }
        let Some(text) = self.text(case) else {
            return false;
        };
        let mut figures = BTreeSet::new();
        let mut inputs = BTreeSet::new();
        let steps = self.figures.iter().map(|figure| split(figure));
        for (figure, text) in steps.chain([("", text)]) {
            let Ok(formula) = read(text) else {
                return false; // Found by `faults` before.
            };
            for used in formula.names() {
                if !figures.contains(used.name.as_str()) {
                    inputs.insert(self.input_name(&used.name).to_owned());
                }
            }
            figures.insert(figure);
        }
        let is_list_whole = |name: &String| {
            let Some((list, _)) = name.split_once('.') else {
                return true;
            };
            let of_the_list = |other: &&String| other.split_once('.').is_some_and(|l| l.0 == list);
            let mut elements = case.inputs.keys().filter(of_the_list);
            elements.all(|element| inputs.contains(element))
        };
        // A figure that the case gives is not to be computed once more.
        let is_given = |figure: &&str| case.inputs.contains_key(*figure);
        inputs.iter().all(|name| case.inputs.contains_key(name))
            && inputs.iter().all(is_list_whole)
            && !figures.iter().any(is_given)
    }

    /// The formula of the quantity that the case asks for.
    fn text(&self, case: &Case) -> Option<&str> {
        match &self.text {
            Text::One(text) => Some(text),
            Text::Several(texts) => {
                let quantity = case.quantity.as_deref().unwrap_or("");
                texts.get(quantity).map(String::as_str)
            }
        }
    }

    fn input_name<'a>(&'a self, name: &'a str) -> &'a str {
        self.names.get(name).map_or(name, String::as_str)
    }

    fn answer(&self, case: &Case) -> Result<Answer, String> {
        let text = self.text(case).ok_or("no formula for this quantity")?;
        let quantity = case.quantity.as_deref().unwrap_or("");
        if let Some(which) = self.extreme.get(quantity) {
            return self.worst(case, text, *which);
        }
        let mut figures = Values::new();
        for figure in &self.figures {
            let (name, text) = split(figure);
            let value = self.evaluate(case, text, &figures)?;
            figures.insert(name.to_owned(), value);
        }
        let (mut value, dimension) = self.evaluate(case, text, &figures)?;
        if let Some(series) = self.not_below.get(quantity) {
            let series = Series::parse(series).map_err(|_| format!("no series {series}"))?;
            let next = series.at_or_above(value);
            value = next.ok_or("no value of the series is near")?;
        }
        case.compare_recomputed(value)?;
        Ok(Answer::Value(value, Unit::coherent(dimension)))
    }

    fn evaluate(
        &self,
        case: &Case,
        text: &str,
        figures: &Values,
    ) -> Result<(f64, Dimension), String> {
        let formula = read(text)?;
        let (mut values, mut dimensions) = (Vec::new(), Vec::new());
        for used in formula.names() {
            let (value, dimension) = match figures.get(&used.name) {
                Some(figure) => *figure,
                None => given(case.input(self.input_name(&used.name)))?,
            };
            values.push(value);
            dimensions.push(dimension);
        }
        let dimension = formula
            .dimension(&dimensions)
            .map_err(|fault| format!("`{text}`: {}", fault.message))?;
        let value = formula
            .evaluate::<f64>(&values)
            .map_err(|fault| format!("`{text}` {fault}"))?;
        Ok((value, dimension))
    }

    /// An extreme over the tolerances of the inputs, all independent.
    fn worst(&self, case: &Case, text: &str, which: Which) -> Result<Answer, String> {
        assert!(self.figures.is_empty(), "{}: one formula only", self.id);
        let formula = read(text)?;
        let (mut inputs, mut dimensions) = (Vec::new(), Vec::new());
        for used in formula.names() {
            let centre = case.input(self.input_name(&used.name));
            let text = match self.tolerance.get(&used.name) {
                Some(tolerance) => format!("{centre} ± {}", case.input(tolerance)),
                None => centre.to_owned(),
            };
            let given = Given::parse(&text, None).map_err(|fault| format!("{text}: {fault}"))?;
            dimensions.push(given.dimension());
            inputs.push(Input {
                nominal: given.nominal(),
                low: given.low(),
                high: given.high(),
            });
        }
        let dimension = formula
            .dimension(&dimensions)
            .map_err(|fault| format!("`{text}`: {}", fault.message))?;
        let extremes = worst_case(&formula, &inputs).ok_or("no extreme")?;
        let value = match which {
            Which::Low => extremes.low.value,
            Which::High => extremes.high.value,
        };
        Ok(Answer::Value(value, Unit::coherent(dimension)))
    }
}

fn read(text: &str) -> Result<Formula, String> {
    Formula::parse(text).map_err(|fault| format!("`{text}`: {}", fault.message))
}

/// `name = formula`.
fn split(figure: &str) -> (&str, &str) {
    figure
        .split_once(" = ")
        .unwrap_or_else(|| panic!("`{figure}` is no figure"))
}

/// An input: a quantity, or a ratio such as 9/8 that is itself a formula.
fn given(text: &str) -> Result<(f64, Dimension), String> {
    let fault = match Given::parse(text, None) {
        Ok(given) => return Ok((given.nominal(), given.dimension())),
        Err(fault) => fault,
    };
    let ratio = Formula::parse(text).ok().and_then(|formula| {
        let value = formula.evaluate::<f64>(&[]).ok()?;
        Some((value, formula.dimension(&[]).ok()?))
    });
    ratio.ok_or_else(|| format!("{text}: {fault}"))
}

/// Two states of a load, and three.
#[cfg(test)]
fn invented() -> Vec<Case> {
    let head = "[[formula]]\nid = 'mean'\n";
    let case = |id: &str, states: &str, expected: &str| {
        format!(
            "[[case]]\nid = '{id}'\nformula = 'mean'\nrel_tol = 1e-9\nsource = 'invented'\n\
             inputs = {{ I = {states} }}\nexpected = '{expected}'\n"
        )
    };
    let two = case("two", "['2 mA', '4 mA']", "3 mA");
    let three = case("three", "['1 mA', '3 mA', '8 mA']", "4 mA");
    crate::case::cases(&format!("{head}{two}{three}"))
}

#[cfg(test)]
const MEAN_OF_TWO: &str = "[[formula]]\nid = 'mean'\ntext = '(I.1 + I.2) / 2'\n";
#[cfg(test)]
const MEAN_OF_THREE: &str = "[[formula]]\nid = 'mean'\ntext = '(I.1 + I.2 + I.3) / 3'\n";

#[test]
fn a_list_is_answered_by_the_formula_over_all_of_it() {
    let counts = run(
        "invented",
        &invented(),
        &[MEAN_OF_TWO, MEAN_OF_THREE].concat(),
    );
    assert_eq!(counts.run, 2);
}

#[test]
#[should_panic(expected = "three: `mean` has no formula that fits, and is not left out")]
fn a_case_without_a_formula_is_found() {
    run("invented", &invented(), MEAN_OF_TWO);
}

#[test]
#[should_panic(expected = "two (mean): expected `3 mA`, computed 6e0 mA")]
fn a_wrong_formula_is_found() {
    let wrong = MEAN_OF_TWO.replace(" / 2", "");
    run("invented", &invented(), &[&wrong, MEAN_OF_THREE].concat());
}

#[test]
#[should_panic(expected = "adds a current (A) and a voltage (V)")]
fn a_formula_of_mixed_dimensions_is_found() {
    let wrong = MEAN_OF_TWO.replace("I.2", "I.2 * 1 Ω");
    run("invented", &invented(), &[&wrong, MEAN_OF_THREE].concat());
}

#[test]
#[should_panic(expected = "`mean` is left out and has no case")]
fn what_is_left_out_for_nothing_is_found() {
    let left_out = "[[left_out]]\nid = 'mean'\nreason = 'none'\n";
    run(
        "invented",
        &invented(),
        &[MEAN_OF_TWO, MEAN_OF_THREE, left_out].concat(),
    );
}
