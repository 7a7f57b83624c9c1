//! `ohmbook why`: where a figure comes from, what makes its spread, and what
//! depends on it.

use std::fmt::Write;

use camino::Utf8Path;
use ohmbook::notebook::{Body, Calculation, NodeId, Notebook, Origin, Value, Yield};
use ohmbook::quantity::shown_digits;
use ohmbook::record::SpreadPolicy;
use ohmbook::spread::{End, Extreme};

use super::{Done, Outcome, load, say};

/// Prints the derivation of a figure.
pub fn run(dir: &Utf8Path, name: &str) -> Done {
    let notebook = load(dir);
    let node = notebook.named(name)?;
    say(&text(&notebook, node))?;
    Ok(if notebook.figure_holds(node) {
        Outcome::Holds
    } else {
        Outcome::Disagrees
    })
}

fn text(notebook: &Notebook, id: NodeId) -> String {
    let mut out = String::new();
    // Writing to a string does not fail.
    let _ = derivation(notebook, id, &mut out);
    let _ = hangs_on(notebook, id, &mut out);
    let _ = depends(notebook, id, &mut out);
    let _ = stated_in(notebook, id, &mut out);
    out
}

fn place(notebook: &Notebook, place: &ohmbook::finding::Place) -> String {
    let file = notebook.sources.file(place.file);
    let (line, column) = file.line_column(place.start);
    format!("{}:{line}:{column}", file.path)
}

fn shown(notebook: &Notebook, id: NodeId) -> String {
    notebook
        .value(id)
        .map_or_else(|| "no value".to_owned(), |value| value.shown().to_string())
}

fn derivation(notebook: &Notebook, id: NodeId, out: &mut String) -> std::fmt::Result {
    let node = notebook.graph.node(id);
    writeln!(out, "{}: {}", node.full_name(), shown(notebook, id))?;
    writeln!(out, "  {}", node.means)?;
    writeln!(out, "  {}", place(notebook, &node.place))?;
    writeln!(out)?;
    match &node.body {
        Body::Computed(calculation) => {
            let mut calculation = calculation;
            let text = |calculation: &Calculation| {
                calculation.formula.text()[calculation.formula.span()].to_owned()
            };
            writeln!(out, "  = {}", text(calculation))?;
            // A name alone says nothing yet: go on to what it stands for.
            while calculation.formula.as_single_name().is_some()
                && let Body::Computed(behind) = &notebook.graph.node(calculation.operands[0]).body
            {
                calculation = behind;
                writeln!(out, "  = {}", text(calculation))?;
            }
            let numbers = calculation
                .formula
                .substituted(|at| shown(notebook, calculation.operands[at]));
            writeln!(out, "  = {numbers}")?;
            writeln!(out, "  = {}", shown(notebook, id))?;
        }
        Body::Given(given) => writeln!(out, "  given as {}", given.text())?,
        Body::Solved(_) => writeln!(out, "  solved for in a circuit: {}", shown(notebook, id))?,
        Body::Stepped(_) => writeln!(out, "  worked out step by step: {}", shown(notebook, id))?,
        Body::Limit(_) => writeln!(
            out,
            "  the end of what good boards measure, less the guard band: {}",
            shown(notebook, id)
        )?,
        Body::Broken => writeln!(out, "  cannot be computed; `ohmbook prove` says why")?,
    }
    if let Origin::Figure { board, figure } = node.origin {
        let record = &notebook.records.boards[board].figures[figure];
        let rows = [
            (
                "source",
                record.source.as_ref().map(|text| text.value.as_str()),
            ),
            ("at", record.at.as_ref().map(|text| text.value.as_str())),
            (
                "says",
                record.says.as_ref().map(|stated| stated.value.text()),
            ),
            (
                "must",
                record.must.as_ref().map(|stated| stated.value.text()),
            ),
        ];
        for (word, text) in rows
            .into_iter()
            .filter_map(|(word, text)| Some((word, text?)))
        {
            writeln!(out, "  {word:<6} {text}")?;
        }
    }
    let given = matches!(node.body, Body::Given(_));
    if let Some(value) = notebook.value(id).filter(|value| value.varies() && !given) {
        spread(notebook, id, value, out)?;
    }
    Ok(())
}

fn spread(notebook: &Notebook, id: NodeId, value: &Value, out: &mut String) -> std::fmt::Result {
    if value.policy.spread != SpreadPolicy::WorstCase {
        let (low, high) = (value.outcome.low, value.outcome.high);
        let (low, high) = (value.shown_as(low), value.shown_as(high));
        write!(
            out,
            "\nSpread ({}): {low} to {high}",
            value.policy.spread.word()
        )?;
        if let Some(chance) = value.sampled {
            let coverage = percent(value.policy.coverage);
            write!(out, ", {coverage} of {} draws", chance.trials)?;
            if !chance.settled {
                write!(out, ", not settled to the digits that are stated")?;
            }
        }
        writeln!(out)?;
    }
    worst_case(notebook, id, value, out)?;
    match notebook.expected_yield(id) {
        Some(Yield::Certain) => writeln!(out, "  every board meets what it must"),
        Some(Yield::Drawn(drawn)) => {
            let (share, error) = (drawn.share(), drawn.standard_error());
            writeln!(
                out,
                "  {} of boards meet what it must (standard error {})",
                percent(share),
                percent(error)
            )
        }
        None => Ok(()),
    }
}

fn worst_case(
    notebook: &Notebook,
    id: NodeId,
    value: &Value,
    out: &mut String,
) -> std::fmt::Result {
    let (low, high) = (
        value.shown_as(value.worst.low),
        value.shown_as(value.worst.high),
    );
    writeln!(out, "\nWorst case: {low} to {high}")?;
    if let Some(extremes) = &value.extremes {
        writeln!(
            out,
            "  least with    {}",
            ends(notebook, id, value, &extremes.low)
        )?;
        writeln!(
            out,
            "  greatest with {}",
            ends(notebook, id, value, &extremes.high)
        )?;
    }
    Ok(())
}

fn ends(notebook: &Notebook, id: NodeId, value: &Value, extreme: &Extreme) -> String {
    let scope = &notebook.graph.node(id).scope;
    let ends: Vec<String> = value
        .inputs
        .iter()
        .zip(&extreme.ends)
        .filter_map(|(&input, end)| {
            let name = notebook.graph.node(input).name_from(scope);
            match end {
                End::Low => Some(format!("{name} low")),
                End::High => Some(format!("{name} high")),
                End::Between(_) => Some(format!("{name} between its ends")),
                End::Any => None,
            }
        })
        .collect();
    ends.join(", ")
}

fn hangs_on(notebook: &Notebook, id: NodeId, out: &mut String) -> std::fmt::Result {
    let shares = notebook.shares(id);
    if shares.is_empty() || matches!(notebook.graph.node(id).body, Body::Given(_)) {
        return Ok(());
    }
    writeln!(out, "\nShare of the spread")?;
    let scope = &notebook.graph.node(id).scope;
    let rows: Vec<(String, String, String)> = shares
        .iter()
        .map(|(input, share)| {
            let node = notebook.graph.node(*input);
            let given = match &node.body {
                Body::Given(given) => given.text().to_owned(),
                Body::Computed(_)
                | Body::Solved(_)
                | Body::Stepped(_)
                | Body::Limit(_)
                | Body::Broken => String::new(),
            };
            let at = place(notebook, &node.place);
            (
                node.name_from(scope),
                format!("{given:<20} {at}"),
                percent(share.share),
            )
        })
        .collect();
    let width = rows
        .iter()
        .map(|(name, ..)| name.chars().count())
        .max()
        .unwrap_or(0);
    for (name, given, share) in rows {
        writeln!(out, "  {share:>6}  {name:<width$}  {given}")?;
    }
    let value = notebook.value(id);
    let sums = value.is_some_and(|value| value.policy.spread == SpreadPolicy::WorstCase);
    if let Some((first, share)) = shares.first() {
        let name = notebook.graph.node(*first).name_from(scope);
        let advice = match left_of_tolerance(share.share, sums) {
            Some(left) => format!("tighten {name} to {} of its tolerance", percent(left)),
            None => format!("tighten {name} and others: it alone does not do"),
        };
        writeln!(out, "  to halve the spread, {advice}")?;
    }
    Ok(())
}

/// What must be left of the tolerance of an input with this share, so that the
/// whole spread is halved. `None` where that input alone cannot do it.
fn left_of_tolerance(share: f64, sums: bool) -> Option<f64> {
    // Half of a sum has to go, or three quarters of a sum of squares.
    let gone = if sums { 0.5 } else { 0.75 };
    let left = (share - gone) / share;
    let left = if sums { left } else { left.max(0.0).sqrt() };
    (share >= gone).then_some(left)
}

/// A share in percent, to two digits.
fn percent(share: f64) -> String {
    let digits = shown_digits(share * 100.0, 2, &ohmbook::quantity::Unit::one());
    format!("{} %", digits.numeral)
}

fn depends(notebook: &Notebook, id: NodeId, out: &mut String) -> std::fmt::Result {
    let dependents = notebook.dependents();
    let mut seen = vec![id];
    let mut next = 0;
    while let Some(&at) = seen.get(next) {
        for &dependent in &dependents[at.index()] {
            if !seen.contains(&dependent) {
                seen.push(dependent);
            }
        }
        next += 1;
    }
    seen.retain(|&other| other != id && notebook.graph.node(other).origin != Origin::Side);
    if seen.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nWhat depends on it")?;
    let scope = &notebook.graph.node(id).scope;
    let names: Vec<String> = seen
        .iter()
        .map(|&other| notebook.graph.node(other).name_from(scope))
        .collect();
    let width = names
        .iter()
        .map(|name| name.chars().count())
        .max()
        .unwrap_or(0);
    for (name, &other) in names.iter().zip(&seen) {
        writeln!(out, "  {name:<width$}  {}", shown(notebook, other))?;
    }
    Ok(())
}

fn stated_in(notebook: &Notebook, id: NodeId, out: &mut String) -> std::fmt::Result {
    let Some(uses) = notebook.stated().remove(&id) else {
        return Ok(());
    };
    writeln!(out, "\nWhere it stands")?;
    for (sheet, link) in uses {
        let link = &notebook.sheets[sheet].document.links[link];
        let text = if link.text.is_empty() {
            "(written by Ohmbook)"
        } else {
            &link.text
        };
        writeln!(out, "  {:<28} {}", text, place(notebook, &link.text_place))?;
    }
    Ok(())
}
