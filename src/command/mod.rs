//! What each command does. The only place that talks to the terminal.
#![allow(clippy::print_stdout, clippy::print_stderr)]

pub mod bind;
pub mod choose;
pub mod emit;
pub mod progress;
pub mod prove;
pub mod restate;
pub mod since;
pub mod stacks;
pub mod start;
pub mod suppose;
pub mod thin;
pub mod watch;
pub mod why;

use std::io::{ErrorKind, IsTerminal, Write};
use std::mem::ManuallyDrop;
use std::process::ExitCode;

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::Date;
use ohmbook::finding::TerminalStyle;
use ohmbook::notebook::Notebook;

/// How a command ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// All holds.
    Holds,
    /// There is an error-level finding.
    Disagrees,
    /// Nothing could be read.
    Unreadable,
}

/// A command's outcome, or a sentence on why it could not be done.
pub type Done = Result<Outcome, String>;

/// The process's exit code; the sentence of a failure is printed.
pub fn exit(done: Done) -> ExitCode {
    match done {
        Ok(Outcome::Holds) => ExitCode::SUCCESS,
        Ok(Outcome::Disagrees) => ExitCode::from(1),
        Ok(Outcome::Unreadable) => ExitCode::from(2),
        Err(why) => {
            // Where even this cannot be printed, the exit code still says it.
            let _ = tell(&format!("error: {why}"));
            ExitCode::from(2)
        }
    }
}

/// Prints to standard output. A reader that has gone away is no failure; a
/// disk that is full is one.
pub fn say(text: &str) -> Result<(), String> {
    printed(&mut anstream::stdout(), "standard output", text)
}

/// Prints to standard error, as [`say`] does to standard output.
pub fn tell(text: &str) -> Result<(), String> {
    printed(&mut anstream::stderr(), "standard error", text)
}

/// A count with its word: `1 board`, `3 boards`.
fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        _ => format!("{count} {what}s"),
    }
}

fn printed(out: &mut impl Write, name: &str, text: &str) -> Result<(), String> {
    let written = writeln!(out, "{}", text.trim_end()).and_then(|()| out.flush());
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(format!("{name} cannot be written: {error}"))
        }
        _ => Ok(()),
    }
}

/// Whether a folder holds a notebook.
pub fn is_notebook(dir: &Utf8Path) -> bool {
    dir.join("notebook.toml").is_file()
}

/// The notebook's folder: the one that was named, or this one, or `content`.
pub fn notebook_folder(named: Option<Utf8PathBuf>) -> Result<Utf8PathBuf, String> {
    match named {
        Some(dir) if dir.is_dir() => Ok(dir),
        Some(dir) if dir.exists() => Err(format!("`{dir}` is no folder; name the notebook's folder")),
        Some(dir) => Err(format!("there is no folder `{dir}`")),
        None => [".", "content"]
            .map(Utf8PathBuf::from)
            .into_iter()
            .find(|dir| is_notebook(dir))
            .ok_or_else(|| "there is no `notebook.toml` here or in `content`; name the notebook's folder, or make one with `ohmbook start DIR`".into()),
    }
}

/// Reads and proves, with a sign of life where it takes long. The process ends with
/// the command, and then the system takes its memory back in one piece: to free a
/// large notebook bit by bit before would only take time.
pub fn load(dir: &Utf8Path) -> ManuallyDrop<Notebook> {
    ManuallyDrop::new(progress::while_working("proving", || {
        Notebook::load(dir, today())
    }))
}

/// Today's date in UTC, so that a notebook is judged alike everywhere.
fn today() -> Date {
    jiff::tz::Offset::UTC
        .to_datetime(jiff::Timestamp::now())
        .date()
}

/// How findings are drawn on this terminal.
pub fn style(notebook: &Notebook, notes: bool) -> TerminalStyle {
    let terminal = std::io::stderr().is_terminal();
    let wanted = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
    // Said here too: where `CI` is set, the stream takes a dumb terminal for
    // one that shows colour.
    let able = std::env::var_os("TERM").is_none_or(|term| term != "dumb");
    let width = std::env::var("COLUMNS")
        .ok()
        .and_then(|columns| columns.parse().ok());
    let width =
        width.or_else(|| terminal_size::terminal_size().map(|(width, _)| usize::from(width.0)));
    TerminalStyle {
        colour: terminal && wanted && able,
        width: width.unwrap_or(100),
        unicode: terminal,
        notes,
        folder: notebook
            .root
            .strip_prefix(".")
            .unwrap_or(&notebook.root)
            .to_owned(),
    }
}

/// Prints the JSON Schema of every record.
pub fn schema() -> Done {
    let schema = serde_json::to_string_pretty(&ohmbook::record::schema());
    say(&schema.map_err(|error| error.to_string())?)?;
    Ok(Outcome::Holds)
}

/// Prints the manual page.
pub fn manual(command: &clap::Command) -> Done {
    let mut page = Vec::new();
    clap_mangen::Man::new(command.clone())
        .render(&mut page)
        .map_err(|error| error.to_string())?;
    say(&String::from_utf8_lossy(&page))?;
    Ok(Outcome::Holds)
}
