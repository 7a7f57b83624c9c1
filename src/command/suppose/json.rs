//! A supposition for programs.
//!
//! The form is `ohmbook-supposition`, version 1. Members may be added to a
//! version; whatever else changes makes a new one. Numbers are in coherent SI
//! units; findings are those of `ohmbook-findings`.
//!
//! ```json
//! {
//!   "form": "ohmbook-supposition",
//!   "version": 1,
//!   "supposed": [{ "name": "cell_charger.R1", "now": "5k1 ±1 %", "would_be": "4.7 kΩ ±1 %" }],
//!   "moved": [{ "name": "cell_charger.charge_slow",
//!               "now": { "nominal": 0.196, "low": 0.184, "high": 0.208, "text": "196 mA" },
//!               "would_be": { "nominal": 0.213, "low": 0.2, "high": 0.226, "text": "213 mA" } }],
//!   "margins": [{ "name": "cell_charger.charge_slow", "asked": "must be 180 mA to 212 mA",
//!                 "now": 0.0037, "would_be": -0.0137 }],
//!   "broken": [], "mended": [], "still": [], "stale_files": ["firmware/charger.h"],
//!   "sweep": null
//! }
//! ```
//!
//! A sweep has `name`, `points` (`value`, `breaks_requirements`,
//! `breaks_statements`), `required` and `stated`: stretches with `low`, `high`,
//! and what breaks `below` and `above`, `null` where the sweep ends.

use ohmbook::finding::{Finding, Slug, Sources, Summary, json};
use ohmbook::notebook::{Run, Value as Computed};
use serde_json::{Value, json};

use super::Answer;

pub fn write(answer: &Answer<'_>) -> Result<String, String> {
    let sources = &answer.was.sources;
    let supposed: Vec<Value> = answer
        .wishes
        .iter()
        .map(|wish| json!({ "name": wish.name, "now": wish.now, "would_be": wish.would_be }))
        .collect();
    let mut moved = Vec::new();
    let mut margins = Vec::new();
    let mut told = [Value::Null, Value::Null, Value::Null];
    let mut files = Vec::new();
    if let Some(of) = &answer.supposed {
        for &(was, now) in &of.moved {
            moved.push(json!({
                "name": answer.was.graph.node(was).full_name(),
                "now": answer.was.value(was).map(computed),
                "would_be": of.notebook.value(now).map(computed),
            }));
        }
        for margin in of.margins(answer.was) {
            margins.push(json!({
                "name": margin.name,
                "asked": margin.asked,
                "now": margin.now,
                "would_be": margin.would_be,
            }));
        }
        let sources = &of.notebook.sources;
        told = [
            findings(&of.broken, sources)?,
            findings(&of.mended, sources)?,
            findings(&of.still, sources)?,
        ];
        files = of.stale_files(answer.was);
    }
    let [broken, mended, still] = told;
    let sweep = match &answer.swept {
        None => Value::Null,
        Some((wish, sweep)) => {
            let points: Vec<Value> = sweep
                .points
                .iter()
                .map(|point| {
                    let texts = point.broken.iter();
                    let texts = texts
                        .filter(|finding| finding.slug == Slug::FigureDisagrees)
                        .count();
                    json!({
                        "value": point.given.nominal(),
                        "breaks_requirements": point.broken.len() - texts,
                        "breaks_statements": texts,
                    })
                })
                .collect();
            json!({
                "name": answer.wishes[*wish].name,
                "points": points,
                "required": runs(&sweep.required, sources)?,
                "stated": runs(&sweep.stated, sources)?,
            })
        }
    };
    let all = json!({
        "form": "ohmbook-supposition",
        "version": 1,
        "supposed": supposed,
        "moved": moved,
        "margins": margins,
        "broken": broken,
        "mended": mended,
        "still": still,
        "stale_files": files,
        "sweep": sweep,
    });
    serde_json::to_string_pretty(&all).map_err(|error| error.to_string())
}

fn computed(value: &Computed) -> Value {
    let outcome = value.outcome;
    json!({
        "nominal": outcome.nominal,
        "low": outcome.low,
        "high": outcome.high,
        "text": value.shown().to_string().replace('\u{a0}', " "),
    })
}

/// Findings as `ohmbook-findings` has them.
fn findings(findings: &[Finding], sources: &Sources) -> Result<Value, String> {
    let report = json::write(findings, sources, &Summary::of(findings, None));
    let mut report: Value = serde_json::from_str(&report).map_err(|error| error.to_string())?;
    Ok(report["findings"].take())
}

fn runs(runs: &[Run], sources: &Sources) -> Result<Vec<Value>, String> {
    let one = |finding: &Option<Finding>| match finding {
        None => Ok(Value::Null),
        Some(finding) => {
            let mut one = findings(std::slice::from_ref(finding), sources)?;
            Ok::<Value, String>(one[0].take())
        }
    };
    let run = |run: &Run| {
        Ok(json!({
            "low": run.low,
            "high": run.high,
            "below": one(&run.below)?,
            "above": one(&run.above)?,
        }))
    };
    runs.iter().map(run).collect()
}
