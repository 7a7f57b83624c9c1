//! `ohmbook thin`: parts that could be dropped from the line.

use std::fmt::Write;

use camino::Utf8Path;
use ohmbook::notebook::Notebook;
use ohmbook::thin::{Move, Thinning};

use super::{Done, Outcome, counted, load, say, tell};

/// What the command line asks for.
pub struct Asked {
    /// Whether only the patch is printed.
    pub patch: bool,
    /// The part whose patch is printed; that of all parts where none is named.
    pub part: Option<String>,
    /// Whether questions count as answered with yes.
    pub granted: bool,
    /// How many questions and failures to show.
    pub show: usize,
}

/// Looks for parts that could go, and prints them.
pub fn run(dir: &Utf8Path, asked: &Asked) -> Done {
    let notebook = load(dir);
    if !notebook.holds() {
        tell(
            "the notebook does not hold as it is; what disagrees already is held against no swap",
        )?;
    }
    let thinning = Thinning::of(&notebook, asked.granted);
    if asked.patch {
        let patch = match &asked.part {
            None => thinning.patch(&notebook),
            Some(part) => {
                let mut drops = thinning.drops.iter();
                let drop = drops.find(|drop| id(&notebook, drop.part) == part);
                let known = || {
                    let drops = thinning.drops.iter();
                    let known: Vec<&str> = drops.map(|drop| id(&notebook, drop.part)).collect();
                    match known.is_empty() {
                        true => format!("`{part}` could not go, and no other part could"),
                        false => format!("`{part}` could not go; there are {}", known.join(", ")),
                    }
                };
                drop.ok_or_else(known)?.patch(&notebook)
            }
        };
        match patch.is_empty() {
            true => tell("no part could go, so there is nothing to change")?,
            false => say(&patch)?,
        }
        return Ok(Outcome::Holds);
    }
    say(&written(&notebook, &thinning, asked))?;
    Ok(Outcome::Holds)
}

fn written(notebook: &Notebook, thinning: &Thinning, asked: &Asked) -> String {
    let mut out = String::new();
    let parts = thinning.before.uses.len();
    let boards = thinning.before.boards.len();
    let count = thinning.drops.len();
    let proven = match (thinning.is_largest(), count) {
        (true, 0) => "none could go".to_owned(),
        (true, count) => format!("{count} could go, and no more"),
        (false, count) => format!(
            "{count} could go; the search was cut short, and no more than {} could",
            thinning.at_most
        ),
    };
    // Writing to a string does not fail.
    let _ = writeln!(
        out,
        "{} on {}: {proven} ({} recomputed)",
        counted(parts, "part"),
        counted(boards, "board"),
        counted(thinning.tried, "swap")
    );
    for drop in &thinning.drops {
        let _ = writeln!(out, "\n{}", id(notebook, drop.part));
        for swap in &drop.moves {
            let _ = writeln!(
                out,
                "  {} {}: {} instead",
                notebook.records.boards[swap.board].id.value,
                places(notebook, swap),
                id(notebook, swap.to)
            );
        }
    }
    if count > 0 {
        texts(notebook, thinning, &mut out);
        saved(notebook, thinning, &mut out);
        out.push_str("\n`ohmbook thin --patch` prints the change as a patch\n");
    }
    asks(notebook, thinning, asked, &mut out);
    broke(notebook, thinning, asked, &mut out);
    out
}

fn texts(notebook: &Notebook, thinning: &Thinning, out: &mut String) {
    if thinning.texts.is_empty() {
        out.push_str("\nNo stated text changes.\n");
        return;
    }
    out.push_str("\nStated texts that change\n");
    for text in &thinning.texts {
        let file = notebook.sources.file(text.place.file);
        let (line, column) = file.line_column(text.place.start);
        let _ = writeln!(
            out,
            "  {}:{line}:{column}  {} becomes {}",
            file.path,
            notebook.sources.text_at(&text.place),
            text.text
        );
    }
}

fn saved(notebook: &Notebook, thinning: &Thinning, out: &mut String) {
    let (before, after) = (&thinning.before, &thinning.after);
    out.push_str("\nWhat it saves\n");
    let _ = writeln!(
        out,
        "  parts on the line    {} -> {}",
        before.uses.len(),
        after.uses.len()
    );
    let _ = writeln!(
        out,
        "  lines of all lists   {} -> {}",
        before.lines(),
        after.lines()
    );
    let _ = writeln!(
        out,
        "  feeders              {} -> {}",
        before.feeders.len(),
        after.feeders.len()
    );
    let once = (before.used_once().len(), after.used_once().len());
    let _ = writeln!(out, "  used by one board    {} -> {}", once.0, once.1);
    let currency = notebook.records.notebook.currency.as_ref();
    let currency = currency.map_or(String::new(), |code| format!(" {}", code.value));
    for (was, is) in before.costs.iter().zip(&after.costs) {
        let _ = writeln!(
            out,
            "  one of each board, {} at once: {:.2} -> {:.2}{currency}",
            was.volume, was.each, is.each
        );
    }
    if let Some(cost) = after.costs.first().filter(|cost| cost.unpriced > 0) {
        let _ = writeln!(
            out,
            "  ({} without a price {} left out)",
            counted(cost.unpriced, "part"),
            if cost.unpriced == 1 { "is" } else { "are" }
        );
    }
}

fn asks(notebook: &Notebook, thinning: &Thinning, asked: &Asked, out: &mut String) {
    if thinning.asks.is_empty() || asked.granted {
        return;
    }
    let mut asks: Vec<_> = thinning.asks.iter().collect();
    asks.sort_by_key(|ask| (ask.reasons.len(), ask.swap.clone()));
    out.push_str("\nWhat somebody has to be asked\n");
    for ask in asks.iter().take(asked.show) {
        let _ = writeln!(out, "  {}", swap(notebook, &ask.swap));
        for reason in &ask.reasons {
            let _ = writeln!(out, "    {reason}");
        }
    }
    more(asks.len(), asked.show, out);
}

fn broke(notebook: &Notebook, thinning: &Thinning, asked: &Asked, out: &mut String) {
    if thinning.broke.is_empty() {
        return;
    }
    out.push_str("\nWhat was tried, and broke something\n");
    for (tried, why) in thinning.broke.iter().take(asked.show) {
        let _ = writeln!(out, "  {}\n    {why}", swap(notebook, tried));
    }
    more(thinning.broke.len(), asked.show, out);
}

fn more(count: usize, show: usize, out: &mut String) {
    if count > show {
        let _ = writeln!(out, "  {} more; `--show {count}` shows them", count - show);
    }
}

/// `carrier R4 to R7: res_1k instead of res_330`.
fn swap(notebook: &Notebook, swap: &Move) -> String {
    format!(
        "{} {}: {} instead of {}",
        notebook.records.boards[swap.board].id.value,
        places(notebook, swap),
        id(notebook, swap.to),
        id(notebook, swap.from)
    )
}

fn places(notebook: &Notebook, swap: &Move) -> String {
    let fitted = &notebook.records.boards[swap.board].fitted;
    let names = swap
        .places
        .iter()
        .map(|at| fitted[*at].designator.value.as_str());
    names.collect::<Vec<_>>().join(", ")
}

fn id(notebook: &Notebook, part: usize) -> &str {
    &notebook.records.parts[part].id.value
}
