//! `ohmbook choose`: values that meet a working's targets.

use std::collections::{BTreeSet, HashMap};
use std::fmt::Write;

use camino::Utf8Path;
use ohmbook::notebook::Notebook;
use ohmbook::quantity::{
    Dimension, Given, Outcome as Spread, Series, Statement, Unit, fitted_unit, shown, shown_digits,
};
use ohmbook::record::WorkingRecord;
use ohmbook::trade::{Answer, Candidate, Question, Target};

use super::{Done, Outcome, load, say, tell};

/// What the command line asks for.
pub struct Asked {
    /// The working, with its board where several have one.
    pub working: String,
    /// Series of preferred values; the stock where there is none.
    pub series: Option<String>,
    /// Lowest value of the series.
    pub from: String,
    /// Highest value of the series.
    pub up_to: String,
    /// Tolerance of values from the series, with its unit.
    pub tolerance: Option<String>,
    /// `position=statement`, in the place of what the record states.
    pub targets: Vec<String>,
    /// How many choices to show.
    pub show: usize,
}

/// Chooses and prints the choices.
pub fn run(dir: &Utf8Path, asked: &Asked) -> Done {
    let notebook = load(dir);
    let (board, working) = find(&notebook, &asked.working)?;
    let record = &notebook.records.boards[board].workings[working];
    let kind = ohmbook::trade::kind(&record.kind.value);
    let chooser = kind.and_then(|kind| kind.chooser());
    let Some(chooser) = chooser else {
        return Err(format!(
            "nothing can be chosen for a working of kind `{}`",
            record.kind.value
        ));
    };
    let Some(worked) = notebook.graph.working(board, working) else {
        tell("`ohmbook prove` says what is wrong with the working")?;
        return Ok(Outcome::Disagrees);
    };
    let values: HashMap<String, Spread> = worked
        .nodes
        .iter()
        .filter_map(|(name, node)| Some((name.clone(), notebook.value(*node)?.outcome)))
        .collect();
    let targets = targets(record, &asked.targets)?;
    let candidates = candidates(&notebook, asked)?;
    let question = Question {
        given: &worked.given,
        values: &values,
        targets: &targets,
        candidates: &candidates,
        show: asked.show,
    };
    let answer = chooser
        .choose(&question)
        .map_err(|fault| format!("`{}` {}: {}", asked.working, fault.message, fault.help))?;
    say(&written(
        chooser.chooses(),
        &answer,
        &targets,
        &candidates,
        asked,
    ))?;
    let meets = answer.choices.iter().any(|choice| choice.meets);
    Ok(if meets {
        Outcome::Holds
    } else {
        Outcome::Disagrees
    })
}

/// The working of a name: `charging`, or `cell_charger.charging`.
fn find(notebook: &Notebook, name: &str) -> Result<(usize, usize), String> {
    let boards = notebook.records.boards.iter().enumerate();
    let all: Vec<(String, (usize, usize))> = boards
        .flat_map(|(board, record)| {
            let workings = record.workings.iter().enumerate();
            workings.map(move |(at, working)| {
                (
                    format!("{}.{}", record.id.value, working.id.value),
                    (board, at),
                )
            })
        })
        .collect();
    let named: Vec<&(String, (usize, usize))> = all
        .iter()
        .filter(|(full, _)| full == name || full.split_once('.').is_some_and(|(_, id)| id == name))
        .collect();
    match named.as_slice() {
        [(_, found)] => Ok(*found),
        [] => {
            let names: Vec<&str> = all.iter().map(|(full, _)| full.as_str()).collect();
            Err(match names.as_slice() {
                [] => format!("there is no working `{name}`, and none at all"),
                names => format!(
                    "there is no working `{name}`; there are {}",
                    names.join(", ")
                ),
            })
        }
        several => {
            let names: Vec<&str> = several.iter().map(|(full, _)| full.as_str()).collect();
            Err(format!("several boards have one: {}", names.join(", ")))
        }
    }
}

/// Targets of the command line; else what the record requires, else what it says.
fn targets(record: &WorkingRecord, asked: &[String]) -> Result<Vec<Target>, String> {
    if !asked.is_empty() {
        return asked.iter().map(|text| target(text)).collect();
    }
    let mut seen = BTreeSet::new();
    let stated = record.must.iter().chain(&record.says);
    let targets = stated.filter(|(key, _)| seen.insert(key.value.clone()));
    Ok(targets
        .filter_map(|(key, statement)| Target::of(&key.value, &statement.value))
        .collect())
}

fn target(text: &str) -> Result<Target, String> {
    let form =
        || format!("`{text}` is no target: write `position=value`, as in `off on=250 mA ± 5 %`");
    let (key, statement) = text.split_once('=').ok_or_else(form)?;
    let statement = Statement::parse(statement.trim(), None)
        .map_err(|fault| format!("`{}`: {fault}", statement.trim()))?;
    Target::of(key.trim(), &statement).ok_or_else(form)
}

/// Values of the series within its bounds, or resistors in stock.
fn candidates(notebook: &Notebook, asked: &Asked) -> Result<Vec<Candidate>, String> {
    let parts = notebook.records.parts.iter();
    let stock: Vec<Candidate> = parts
        .filter(|part| part.kind.name == "resistor")
        .filter_map(|part| {
            let given = &part.property("value")?.given.value;
            let nominal = given.nominal();
            let reach = (nominal - given.low()).max(given.high() - nominal);
            Some(Candidate {
                name: part.id.value.clone(),
                value: nominal,
                tolerance: reach / nominal,
                stocked: true,
            })
        })
        .collect();
    let Some(series) = &asked.series else {
        return Ok(stock);
    };
    let series = Series::parse(series).map_err(|fault| fault.to_string())?;
    let bound = |text: &str| {
        Given::parse(text, Some(Dimension::RESISTANCE))
            .map(|given| given.nominal())
            .map_err(|fault| format!("`{text}`: {fault}"))
    };
    let (from, up_to) = (bound(&asked.from)?, bound(&asked.up_to)?);
    let tolerance = match &asked.tolerance {
        None => series.usual_tolerance(),
        Some(text) => Given::parse(text, Some(Dimension::ONE))
            .map(|given| given.nominal())
            .map_err(|fault| format!("`{text}`: {fault}"))?,
    };
    if from <= 0.0 || up_to < from {
        return Err("`--from` must be above zero, and `--up-to` not below it".into());
    }
    let ohm = Unit::coherent(Dimension::RESISTANCE);
    let decades = series.between(from, up_to);
    Ok(decades
        .map(|value| Candidate {
            name: shown_digits(value, 4, &fitted_unit(value, &ohm)).to_string(),
            value,
            tolerance,
            stocked: stock
                .iter()
                .any(|part| (part.value / value - 1.0).abs() < 1e-9),
        })
        .collect())
}

fn written(
    what: &str,
    answer: &Answer,
    targets: &[Target],
    candidates: &[Candidate],
    asked: &Asked,
) -> String {
    let mut out = String::new();
    let worked_out = !answer.own.is_empty();
    let candidates = if worked_out { &answer.own } else { candidates };
    let from = match &asked.series {
        _ if worked_out => "what is known of them".to_owned(),
        None => "the stock".to_owned(),
        Some(series) => format!("{series}, {} to {}", asked.from, asked.up_to),
    };
    // Writing to a string does not fail.
    let _ = writeln!(
        out,
        "{}: the best of {:.0} sets of {what} from {from}",
        asked.working, answer.sets
    );
    for (number, choice) in answer.choices.iter().enumerate() {
        let parts: Vec<String> = choice
            .parts
            .iter()
            .map(|(input, at)| format!("{input} {}", candidates[*at].name))
            .collect();
        let _ = writeln!(out, "\n{:>2}  {}", number + 1, parts.join(", "));
        if targets.is_empty() && choice.remark.is_none() {
            continue;
        }
        let new = match choice.new {
            _ if worked_out => "made to measure".to_owned(),
            0 => "all values are in stock".to_owned(),
            1 => "1 value is new".to_owned(),
            new => format!("{new} values are new"),
        };
        let meets = if choice.meets {
            "meets every target"
        } else {
            "misses a target"
        };
        let _ = match &choice.remark {
            Some(remark) => writeln!(out, "    {remark}; {new}"),
            None => writeln!(
                out,
                "    worst error {:.2} %; {new}; {meets}",
                100.0 * choice.worst
            ),
        };
        for (target, result) in targets.iter().zip(&choice.results) {
            let unit = &target.statement.main().unit;
            let half = (result.high - result.low) / 2.0;
            let value = shown(result.nominal, half, unit);
            let (low, high) = (
                shown(result.low, half / 10.0, unit),
                shown(result.high, half / 10.0, unit),
            );
            let _ = writeln!(
                out,
                "    {:<10} {value} ({low} to {high}), wanted {}",
                target.key,
                target.statement.text()
            );
        }
    }
    for (number, sentence) in answer.law.iter().enumerate() {
        let lead = if number == 0 {
            "\nno set meets the targets: "
        } else {
            "  "
        };
        let _ = writeln!(out, "{lead}{sentence}");
    }
    out
}
