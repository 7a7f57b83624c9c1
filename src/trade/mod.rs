//! Workings of the trade: worked calculations of a known kind.
//!
//! A kind of working is one file here and one line in [`KINDS`]. It names its
//! inputs and gives each result as a formula over them; the notebook puts both
//! on the graph of figures, so a working has spread, derivation and where-used
//! like any figure.

mod corner_frequency;
mod divider;
mod led_resistor;

use crate::quantity::Dimension;

/// A kind of working.
#[derive(Debug)]
pub struct Kind {
    /// Name in records: `corner-frequency`.
    pub name: &'static str,
    /// Name for people.
    pub title: &'static str,
    /// What has to be given, and what may be.
    pub inputs: &'static [Input],
    /// What comes out, in the order it is worked.
    pub results: &'static [Result],
}

/// An input of a working.
#[derive(Debug)]
pub struct Input {
    /// Key in the record, and name in the results' formulas.
    pub name: &'static str,
    /// What it is.
    pub means: &'static str,
    /// Dimension that it has to have.
    pub dimension: Dimension,
    /// Whether the working can do without it.
    pub optional: bool,
}

/// A result of a working.
#[derive(Debug)]
pub struct Result {
    /// Name behind the working's id: `charging.fastest`.
    pub name: &'static str,
    /// What it is.
    pub means: &'static str,
    /// Formula over names of inputs and of results before it. A result whose
    /// formula names an input that is not given does not come out.
    pub from: &'static str,
    /// Where the formula is from.
    pub source: &'static str,
}

const fn input(name: &'static str, means: &'static str, dimension: Dimension) -> Input {
    Input {
        name,
        means,
        dimension,
        optional: false,
    }
}

const fn optional(name: &'static str, means: &'static str, dimension: Dimension) -> Input {
    Input {
        name,
        means,
        dimension,
        optional: true,
    }
}

const fn result(
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

/// Every kind there is. A new kind is a new file and a line here.
pub static KINDS: &[&Kind] = &[&corner_frequency::KIND, &divider::KIND, &led_resistor::KIND];

/// The kind of a name.
pub fn kind(name: &str) -> Option<&'static Kind> {
    KINDS.iter().copied().find(|kind| kind.name == name)
}

/// Evaluates one result of a kind for given inputs in coherent SI units, as
/// the notebook does. For the published checks of each kind.
#[cfg(test)]
pub(crate) fn worked(kind: &Kind, inputs: &[(&str, f64)], wanted: &str) -> f64 {
    let mut known: Vec<(&str, f64)> = inputs.to_vec();
    for result in kind.results {
        let formula =
            crate::formula::Formula::parse(result.from).expect("read in a test of this module");
        let values: Option<Vec<f64>> = formula
            .names()
            .iter()
            .map(|used| {
                known
                    .iter()
                    .find(|(name, _)| *name == used.name)
                    .map(|(_, value)| *value)
            })
            .collect();
        if let Some(values) = values {
            known.push((
                result.name,
                formula
                    .evaluate(&values)
                    .expect("inputs of a check are sound"),
            ));
        }
    }
    known
        .iter()
        .find(|(name, _)| *name == wanted)
        .expect("a check asks for a result")
        .1
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::formula::Formula;

    /// Every formula of every kind can be read, has a dimension with the
    /// dimensions of its inputs, and names nothing that comes after it.
    #[test]
    fn every_kind_hangs_together() {
        for kind in KINDS {
            let mut known: Vec<(&str, Dimension)> = kind
                .inputs
                .iter()
                .map(|input| (input.name, input.dimension))
                .collect();
            for result in kind.results {
                let formula = Formula::parse(result.from).unwrap();
                let names: Vec<Dimension> = formula
                    .names()
                    .iter()
                    .map(|used| known.iter().find(|(name, _)| *name == used.name).unwrap().1)
                    .collect();
                let dimension = formula.dimension(&names).unwrap();
                known.push((result.name, dimension));
            }
        }
    }
}
