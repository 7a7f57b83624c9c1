//! Differences on the terminal, and for programs.
//!
//! The form for programs is `ohmbook-since`, version 1: `of`, and lists
//! `figures`, `limits` (`name`, `was`, `now`: `nominal`, `low`, `high`, `text`, or
//! `null`; `must_was`, `must_now`, `null` where it is the same), `parts`, `pins`
//! (`name`, `was`, `now`), `texts` (`figure`, `text`, `instead_of`, `path`, `line`,
//! `column`, `holds`). Members may be added to a version.

use std::fmt::Write;

use ohmbook::notebook::{Difference, Differences, FigureDifference, Notebook, Value as Computed};
use ohmbook::quantity::{Unit, shown_digits};
use serde_json::{Value, json};

pub fn write(notebook: &Notebook, since: &Differences) -> String {
    let mut out = String::new();
    // Writing to a string does not fail.
    let _ = written(notebook, since, &mut out);
    out
}

fn written(notebook: &Notebook, since: &Differences, out: &mut String) -> std::fmt::Result {
    if since.is_empty() {
        return writeln!(out, "Nothing differs from {}", since.of);
    }
    writeln!(out, "Since {}", since.of)?;
    let figures: Vec<[String; 4]> = since.figures.iter().map(figure).collect();
    rows("Figures", &figures, out)?;
    let limits: Vec<[String; 4]> = since.limits.iter().map(figure).collect();
    rows("Limits of fixtures", &limits, out)?;
    let parts: Vec<[String; 4]> = since.parts.iter().map(plain).collect();
    rows("Parts", &parts, out)?;
    let pins: Vec<[String; 4]> = since.pins.iter().map(plain).collect();
    rows("Pins", &pins, out)?;
    if since.texts.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nStated texts that follow")?;
    for text in &since.texts {
        let file = notebook.sources.file(text.place.file);
        let (line, column) = file.line_column(text.place.start);
        let was = match text.instead_of.as_slice() {
            [] => String::new(),
            texts => format!(", instead of {}", texts.join("; ")),
        };
        let holds = if text.holds {
            ""
        } else {
            ", which does not hold"
        };
        writeln!(out, "  {}: {}{was}{holds}", text.figure, text.text)?;
        writeln!(out, "    {}:{line}:{column}", file.path)?;
    }
    Ok(())
}

fn rows(title: &str, rows: &[[String; 4]], out: &mut String) -> std::fmt::Result {
    if rows.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n{title}")?;
    let width = |at: usize| {
        rows.iter()
            .map(|row| row[at].chars().count())
            .max()
            .unwrap_or(0)
    };
    let (names, before, after) = (width(0), width(1), width(2));
    for [name, was, now, change] in rows {
        let line = format!("  {name:<names$}  {was:>before$} → {now:<after$}  {change}");
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

fn figure(one: &FigureDifference) -> [String; 4] {
    let value = |value: &Option<Computed>| {
        value
            .as_ref()
            .map_or_else(|| "not there".to_owned(), |value| value.shown().to_string())
    };
    let mut change = Vec::new();
    if let Some(share) = one.share() {
        let digits = shown_digits(share.abs() * 100.0, 2, &Unit::one()).numeral;
        change.push(match share {
            0.0 => "spread".to_owned(),
            share if share < 0.0 => format!("− {digits} %"),
            _ => format!("+ {digits} %"),
        });
    }
    match (&one.must_was, &one.must_now) {
        (None, None) => {}
        (was, now) => {
            let text = |must: &Option<String>| must.clone().unwrap_or_else(|| "nothing".to_owned());
            change.push(format!("must be {}, was {}", text(now), text(was)));
        }
    }
    [
        one.name.clone(),
        value(&one.was),
        value(&one.now),
        change.join("; "),
    ]
}

fn plain(one: &Difference) -> [String; 4] {
    let text = |text: &Option<String>| text.clone().unwrap_or_else(|| "not there".to_owned());
    [
        one.name.clone(),
        text(&one.was),
        text(&one.now),
        String::new(),
    ]
}

pub fn json(notebook: &Notebook, since: &Differences) -> Result<String, String> {
    let computed = |value: &Option<Computed>| match value {
        None => Value::Null,
        Some(value) => json!({
            "nominal": value.outcome.nominal,
            "low": value.outcome.low,
            "high": value.outcome.high,
            "text": value.shown().to_string().replace('\u{a0}', " "),
        }),
    };
    let figures = |figures: &[FigureDifference]| -> Vec<Value> {
        let one = |one: &FigureDifference| {
            json!({
                "name": one.name,
                "was": computed(&one.was),
                "now": computed(&one.now),
                "must_was": one.must_was,
                "must_now": one.must_now,
            })
        };
        figures.iter().map(one).collect()
    };
    let words = |words: &[Difference]| -> Vec<Value> {
        let one = |one: &Difference| json!({ "name": one.name, "was": one.was, "now": one.now });
        words.iter().map(one).collect()
    };
    let texts: Vec<Value> = since
        .texts
        .iter()
        .map(|text| {
            let file = notebook.sources.file(text.place.file);
            let (line, column) = file.line_column(text.place.start);
            json!({
                "figure": text.figure,
                "text": text.text,
                "instead_of": text.instead_of,
                "path": file.path,
                "line": line,
                "column": column,
                "holds": text.holds,
            })
        })
        .collect();
    let all = json!({
        "form": "ohmbook-since",
        "version": 1,
        "of": since.of,
        "figures": figures(&since.figures),
        "limits": figures(&since.limits),
        "parts": words(&since.parts),
        "pins": words(&since.pins),
        "texts": texts,
    });
    serde_json::to_string_pretty(&all).map_err(|error| error.to_string())
}
