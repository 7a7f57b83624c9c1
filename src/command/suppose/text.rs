//! A supposition on the terminal.

use std::fmt::Write;

use ohmbook::finding::{Finding, Slug};
use ohmbook::notebook::{Margin, NodeId, Notebook, Origin, Run, Supposed, Sweep, Wish};
use ohmbook::quantity::{Unit, fitted_unit, shown_digits};

use super::Answer;

/// Digits of the ends of a stretch.
const DIGITS: i32 = 5;

pub fn write(answer: &Answer<'_>) -> String {
    let mut out = String::new();
    // Writing to a string does not fail.
    let _ = written(answer, &mut out);
    out
}

fn written(answer: &Answer<'_>, out: &mut String) -> std::fmt::Result {
    for wish in &answer.wishes {
        writeln!(out, "{}: {} → {}", wish.name, wish.now, wish.would_be)?;
        if let Some(part) = &wish.stocked {
            writeln!(
                out,
                "  `{part}` of that value is in stock; the other figures are those of the part that is fitted now"
            )?;
        }
    }
    if let Some(supposed) = &answer.supposed {
        changes(answer, supposed, out)?;
        breaks(answer, supposed, out)?;
        margins(answer, supposed, out)?;
    }
    if let Some((wish, sweep)) = &answer.swept {
        swept(answer, &answer.wishes[*wish], sweep, out)?;
    }
    Ok(())
}

fn place(notebook: &Notebook, finding: &Finding) -> String {
    let Some(place) = finding.place() else {
        return String::new();
    };
    let file = notebook.sources.file(place.file);
    let (line, column) = file.line_column(place.start);
    format!("{}:{line}:{column}", file.path)
}

/// Whether a value is one that people state, and not one on the way to it.
fn is_figure(notebook: &Notebook, node: NodeId) -> bool {
    match notebook.graph.node(node).origin {
        Origin::Figure { .. } => true,
        // Of results and limits those that somebody states or requires.
        _ => notebook.says(node).is_some() || notebook.requirement(node).is_some(),
    }
}

fn width<'a>(texts: impl Iterator<Item = &'a String>) -> usize {
    texts.map(|text| text.chars().count()).max().unwrap_or(0)
}

fn changes(answer: &Answer<'_>, supposed: &Supposed, out: &mut String) -> std::fmt::Result {
    if supposed.moved.is_empty() {
        return writeln!(out, "\nNothing hangs on it: no figure changes");
    }
    let shown = |&(was, now): &(NodeId, NodeId)| {
        let name = answer.was.graph.node(was).full_name();
        let (was, now) = (answer.was.value(was), supposed.notebook.value(now));
        let text = |value: Option<&ohmbook::notebook::Value>| {
            value.map_or_else(|| "no value".to_owned(), |value| value.shown().to_string())
        };
        let change = was.zip(now).and_then(|(was, now)| {
            let share = now.outcome.nominal / was.outcome.nominal - 1.0;
            let is_plain = !was.unit.has_offset() && was.dimension.as_level().is_none();
            (is_plain && share.is_finite()).then(|| percent(share))
        });
        [name, text(was), text(now), change.unwrap_or_default()]
    };
    let wanted = |(was, _): &&(NodeId, NodeId)| answer.all || is_figure(answer.was, *was);
    let rows: Vec<[String; 4]> = supposed.moved.iter().filter(wanted).map(shown).collect();
    let hidden = supposed.moved.len() - rows.len();
    writeln!(out, "\nWhat changes")?;
    let [names, before, after] = [0, 1, 2].map(|at| width(rows.iter().map(|row| &row[at])));
    for [name, was, now, change] in &rows {
        let line = format!("  {name:<names$}  {was:>before$} → {now:<after$}  {change:>8}");
        writeln!(out, "{}", line.trim_end())?;
    }
    match hidden {
        0 => Ok(()),
        hidden => writeln!(out, "  and {hidden} values on the way, which `--all` shows"),
    }
}

/// A share in percent with its sign, to two digits.
fn percent(share: f64) -> String {
    if share == 0.0 {
        return "spread".to_owned();
    }
    let digits = shown_digits(share.abs() * 100.0, 2, &Unit::one());
    format!(
        "{} {} %",
        if share < 0.0 { '−' } else { '+' },
        digits.numeral
    )
}

fn breaks(answer: &Answer<'_>, supposed: &Supposed, out: &mut String) -> std::fmt::Result {
    let (texts, others): (Vec<&Finding>, Vec<&Finding>) =
        (supposed.broken.iter()).partition(|finding| finding.slug == Slug::FigureDisagrees);
    told("What breaks", supposed, &others, out)?;
    if others.is_empty() {
        writeln!(out, "\nNothing that is required breaks")?;
    }
    if !texts.is_empty() {
        writeln!(out, "\nTexts that would have to follow")?;
        let sources = &supposed.notebook.sources;
        let rows: Vec<(String, String, String)> = texts
            .iter()
            .filter_map(|finding| {
                let mend = finding.mend.as_ref()?;
                let text = sources.text_at(&mend.place).to_owned();
                Some((text, mend.text.clone(), place(&supposed.notebook, finding)))
            })
            .collect();
        let was = width(rows.iter().map(|(text, ..)| text));
        let now = width(rows.iter().map(|(_, text, _)| text));
        for (text, other, place) in &rows {
            writeln!(out, "  {text:<was$} → {other:<now$}  {place}")?;
        }
    }
    let mended: Vec<&Finding> = supposed.mended.iter().collect();
    told("What comes right", supposed, &mended, out)?;
    let still: Vec<&Finding> = supposed.still.iter().collect();
    told("What holds neither way", supposed, &still, out)?;
    let files = supposed.stale_files(answer.was);
    if !files.is_empty() {
        writeln!(out, "\nFiles for firmware that would differ")?;
    }
    for file in files {
        writeln!(out, "  {file}")?;
    }
    Ok(())
}

fn told(
    title: &str,
    supposed: &Supposed,
    findings: &[&Finding],
    out: &mut String,
) -> std::fmt::Result {
    if findings.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n{title}")?;
    for finding in findings {
        writeln!(out, "  {}", finding.message)?;
        let place = place(&supposed.notebook, finding);
        if !place.is_empty() {
            writeln!(out, "    {place}")?;
        }
    }
    Ok(())
}

fn margins(answer: &Answer<'_>, supposed: &Supposed, out: &mut String) -> std::fmt::Result {
    let margins = supposed.margins(answer.was);
    if margins.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nRoom left, before and after")?;
    let text = |margin: &Margin, room: Option<f64>| {
        room.map_or_else(|| "none".to_owned(), |room| margin.shown(room).to_string())
    };
    let rows: Vec<[String; 4]> = margins
        .iter()
        .map(|margin| {
            let name = margin.name.clone();
            [
                name,
                text(margin, margin.now),
                text(margin, margin.would_be),
                margin.asked.clone(),
            ]
        })
        .collect();
    let [names, before, after] = [0, 1, 2].map(|at| width(rows.iter().map(|row| &row[at])));
    for [name, now, would_be, asked] in rows {
        writeln!(
            out,
            "  {name:<names$}  {now:>before$} → {would_be:<after$}  {asked}"
        )?;
    }
    Ok(())
}

fn swept(answer: &Answer<'_>, wish: &Wish, sweep: &Sweep, out: &mut String) -> std::fmt::Result {
    let notebook = answer.was;
    writeln!(
        out,
        "\n{} in {} points, {} with its tolerance in proportion",
        wish.name,
        sweep.points.len(),
        sweep.now.text()
    )?;
    let rows: Vec<(String, usize, String)> = sweep
        .points
        .iter()
        .map(|point| {
            let texts = point
                .broken
                .iter()
                .filter(|finding| finding.slug == Slug::FigureDisagrees);
            let texts = texts.count();
            let mut required = point
                .broken
                .iter()
                .filter(|finding| finding.slug != Slug::FigureDisagrees);
            let count = point.broken.len() - texts;
            let first = required.next().map(|finding| match count {
                1 => finding.message.clone(),
                count => format!("{} (and {} more)", finding.message, count - 1),
            });
            let value = value(point.given.nominal(), sweep);
            let what = first.unwrap_or_else(|| match texts {
                0 => "everything holds".to_owned(),
                1 => "holds; 1 text would have to follow".to_owned(),
                texts => format!("holds; {texts} texts would have to follow"),
            });
            (value, count, what)
        })
        .collect();
    let values = width(rows.iter().map(|(value, ..)| value));
    for (value, count, what) in &rows {
        let mark = if *count == 0 { ' ' } else { '✗' };
        writeln!(out, "  {value:>values$} {mark} {what}")?;
    }
    stretches(
        notebook,
        "Every requirement holds",
        &sweep.required,
        sweep,
        out,
    )?;
    stretches(
        notebook,
        "Every stated number holds as well",
        &sweep.stated,
        sweep,
        out,
    )
}

fn value(value: f64, sweep: &Sweep) -> String {
    shown_digits(value, DIGITS as u32, &unit(value, sweep)).to_string()
}

fn unit(value: f64, sweep: &Sweep) -> Unit {
    match sweep.now.unit().has_offset() {
        true => sweep.now.unit().clone(),
        false => fitted_unit(value, &Unit::coherent(sweep.now.dimension())),
    }
}

/// An end of a stretch, rounded into it.
fn end(at: f64, up: bool, sweep: &Sweep) -> String {
    let unit = unit(at, sweep);
    let count = unit.count_of(at);
    let lead = count.abs().max(f64::MIN_POSITIVE).log10().floor() as i32;
    let scale = 10f64.powi(DIGITS - 1 - lead);
    // An end that is written exactly stays as it is.
    let scaled = count * scale;
    let near = scaled.round();
    let rounded = match (scaled - near).abs() < 1e-6 {
        true => near,
        false if up => scaled.ceil(),
        false => scaled.floor(),
    };
    let value = at + (rounded / scale - count) * unit.step();
    shown_digits(value, DIGITS as u32, &unit).to_string()
}

fn stretches(
    notebook: &Notebook,
    what: &str,
    runs: &[Run],
    sweep: &Sweep,
    out: &mut String,
) -> std::fmt::Result {
    if runs.is_empty() {
        return writeln!(out, "\n{what} at none of these points");
    }
    for run in runs {
        let (low, high) = (end(run.low, true, sweep), end(run.high, false, sweep));
        writeln!(out, "\n{what} from {low} to {high}")?;
        let ends = [
            ("below", &run.below, "the sweep begins there"),
            ("above", &run.above, "the sweep ends there"),
        ];
        for (side, finding, open) in ends {
            match finding {
                Some(finding) => writeln!(
                    out,
                    "  {side}: {}  {}",
                    finding.message,
                    place(notebook, finding)
                )?,
                None => writeln!(out, "  {side}: {open}")?,
            }
        }
    }
    Ok(())
}
