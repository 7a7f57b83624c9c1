//! `ohmbook stacks`: which boards go together on a module, and why others do not.

use std::fmt::Write;

use camino::Utf8Path;
use ohmbook::notebook::{Notebook, StackLine, StackSums};
use ohmbook::quantity::{Dimension, Unit, fitted_unit, shown_digits};
use ohmbook::stack::Solver;

use super::{Done, Outcome, counted, load, say, tell};

/// What the command line asks for.
pub struct Asked {
    /// Id of the module; all of them where there is none.
    pub on: Option<String>,
    /// Boards of which it is asked whether they go together.
    pub boards: Vec<String>,
    /// How many stacks to show.
    pub show: usize,
}

/// Finds the stacks and prints them.
pub fn run(dir: &Utf8Path, asked: &Asked) -> Done {
    let notebook = load(dir);
    let modules = modules(&notebook, asked)?;
    let mut text = String::new();
    let mut works = true;
    for module in modules {
        let boards = notebook.boards_for(module);
        let id = &notebook.records.modules[module].id.value;
        if boards.is_empty() {
            let _ = writeln!(text, "{id}: no board says what it uses of this module\n");
            continue;
        }
        if asked.boards.is_empty() {
            let line = notebook.stack_line(module, &boards);
            stacks(&notebook, &line, asked.show, &mut text);
        } else {
            let named = named(&notebook, module, &boards, &asked.boards)?;
            let line = notebook.stack_line(module, &named);
            works &= together(&notebook, &line, &mut text);
        }
        text.push('\n');
    }
    say(&text)?;
    if works {
        Ok(Outcome::Holds)
    } else {
        tell("`ohmbook stacks` without boards shows which do go together")?;
        Ok(Outcome::Disagrees)
    }
}

fn modules(notebook: &Notebook, asked: &Asked) -> Result<Vec<usize>, String> {
    let modules = &notebook.records.modules;
    if modules.is_empty() {
        return Err(
            "there is no module in this notebook; a `[module.<id>]` in `modules/` is one".into(),
        );
    }
    let Some(id) = &asked.on else {
        return Ok((0..modules.len()).collect());
    };
    let found = modules.iter().position(|module| module.id.value == *id);
    let known: Vec<&str> = modules
        .iter()
        .map(|module| module.id.value.as_str())
        .collect();
    found
        .map(|module| vec![module])
        .ok_or_else(|| format!("there is no module `{id}`; there are {}", known.join(", ")))
}

/// Boards by their ids; one that is named twice is there twice.
fn named(
    notebook: &Notebook,
    module: usize,
    boards: &[usize],
    ids: &[String],
) -> Result<Vec<usize>, String> {
    let records = &notebook.records;
    let find = |id: &String| {
        let found = boards
            .iter()
            .find(|&&board| records.boards[board].id.value == *id);
        found.copied().ok_or_else(|| {
            let on = &records.modules[module].id.value;
            match records.board(id) {
                Some(_) => format!("`{id}` does not say what it uses of `{on}`: its `board.toml` has no `[pins]` for it"),
                None => format!("there is no board `{id}`"),
            }
        })
    };
    ids.iter().map(find).collect()
}

/// Every largest stack, then every pair that does not go together.
fn stacks(notebook: &Notebook, line: &StackLine, show: usize, out: &mut String) {
    let solver = Solver::of(&line.line);
    let found = solver.largest();
    let module = &notebook.records.modules[line.module].id.value;
    let count = found.stacks.len();
    let all = if found.complete { "" } else { " or more" };
    // Writing to a string does not fail.
    let _ = writeln!(
        out,
        "{module}: {} and {count}{all} {} that no board can be added to",
        counted(line.boards.len(), "board"),
        if count == 1 { "stack" } else { "stacks" }
    );
    if !found.complete {
        let _ = writeln!(
            out,
            "the search was cut short; no stack has more than {}",
            counted(found.at_most, "board")
        );
    }
    for (number, stack) in found.stacks.iter().take(show).enumerate() {
        let ids: Vec<&str> = stack
            .boards
            .iter()
            .map(|&board| id(notebook, line, board))
            .collect();
        let _ = writeln!(out, "\n{:>3}  {}", number + 1, ids.join(", "));
        set(line, notebook, &stack.boards, &stack.settings, out);
        sums(notebook, line, &stack.boards, out);
    }
    if count > show {
        let _ = writeln!(
            out,
            "\n     {} more; `--show {count}` shows them",
            count - show
        );
    }
    let mut told = false;
    for second in 0..line.boards.len() {
        if let Some(reason) = solver.reason(&[second]) {
            heading(&mut told, out);
            let _ = writeln!(out, "  {} alone", id(notebook, line, second));
            because(notebook, line, &reason, out);
            continue;
        }
        for first in (0..second).filter(|&first| solver.settings(&[first]).is_some()) {
            if let Some(reason) = solver.reason(&[first, second]) {
                heading(&mut told, out);
                let (a, b) = (id(notebook, line, first), id(notebook, line, second));
                let _ = writeln!(out, "  {a} and {b}");
                because(notebook, line, &reason, out);
            }
        }
    }
}

fn heading(told: &mut bool, out: &mut String) {
    if !*told {
        out.push_str("\nWhat does not go together\n");
    }
    *told = true;
}

fn because(
    notebook: &Notebook,
    line: &StackLine,
    reason: &ohmbook::stack::Reason,
    out: &mut String,
) {
    for (at, sentence) in notebook.stack_reason(line, reason).iter().enumerate() {
        let word = if at == 0 { "" } else { "or else " };
        let _ = writeln!(out, "    {word}{sentence}");
    }
}

/// Whether the boards that were named go together.
fn together(notebook: &Notebook, line: &StackLine, out: &mut String) -> bool {
    let solver = Solver::of(&line.line);
    let all: Vec<usize> = (0..line.boards.len()).collect();
    let ids: Vec<&str> = all.iter().map(|&board| id(notebook, line, board)).collect();
    let module = &notebook.records.modules[line.module].id.value;
    let Some(settings) = solver.settings(&all) else {
        let _ = writeln!(out, "{module}: {} do not go together", ids.join(", "));
        if let Some(reason) = solver.reason(&all) {
            because(notebook, line, &reason, out);
        }
        return false;
    };
    let _ = writeln!(out, "{module}: {} go together", ids.join(", "));
    set(line, notebook, &all, &settings, out);
    sums(notebook, line, &all, out)
}

fn id<'n>(notebook: &'n Notebook, line: &StackLine, board: usize) -> &'n str {
    &notebook.records.boards[line.boards[board]].id.value
}

/// How the straps have to stand.
fn set(
    line: &StackLine,
    notebook: &Notebook,
    boards: &[usize],
    settings: &[usize],
    out: &mut String,
) {
    for (&board, &setting) in boards.iter().zip(settings) {
        for strap in &line.straps[board][setting] {
            let factory = if strap.factory { ", as it comes" } else { "" };
            let _ = writeln!(
                out,
                "     set {}.{} to {}{factory}",
                id(notebook, line, board),
                strap.strap,
                strap.position
            );
        }
    }
}

fn amount(value: f64, dimension: Dimension) -> String {
    let unit = fitted_unit(value, &Unit::coherent(dimension));
    shown_digits(value, 3, &unit).to_string()
}

/// What a stack comes to; whether it lacks nothing.
fn sums(notebook: &Notebook, line: &StackLine, boards: &[usize], out: &mut String) -> bool {
    let sums: StackSums = notebook.stack_sums(line, boards);
    let module = &notebook.records.modules[line.module];
    for supply in &sums.supplies {
        let current = |value| amount(value, Dimension::CURRENT);
        let limit = supply
            .limit
            .map_or_else(String::new, |limit| format!(", of {}", current(limit)));
        let _ = writeln!(
            out,
            "     {}: {} drawn, at most {}{limit}",
            module.pins[supply.pin].name.value,
            current(supply.draw),
            current(supply.draw_most)
        );
    }
    for bus in &sums.buses {
        let Some(((least, greatest), rise)) = bus.pull_up.zip(bus.rise) else {
            continue;
        };
        let ohms = |value| amount(value, Dimension::RESISTANCE);
        let seconds = |value| amount(value, Dimension::TIME);
        let amperes = |value| amount(value, Dimension::CURRENT);
        let _ = writeln!(
            out,
            "     {}: pull-ups {} to {}, {} to sink of {}, {} to rise of {}",
            module.buses[bus.bus].id.value,
            ohms(least),
            ohms(greatest),
            amperes(bus.sunk),
            amperes(bus.sink_limit),
            seconds(rise),
            seconds(bus.rise_limit)
        );
    }
    let lacks = notebook.stack_lacks(line, &sums);
    for lack in &lacks {
        let _ = writeln!(out, "     lacks: {lack}");
    }
    lacks.is_empty()
}
