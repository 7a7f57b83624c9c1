//! `ohmbook suppose`: what would change and what would break.

mod json;
mod text;

use camino::Utf8Path;
use ohmbook::notebook::{Notebook, Override, Supposed, Sweep, Wish};
use ohmbook::quantity::Series;

use super::{Done, Outcome, load, say};

/// What the command line asks for.
pub struct Asked {
    /// `NAME=VALUE`, any number of them.
    pub wishes: Vec<String>,
    /// Series of preferred values that a sweep goes through.
    pub series: Option<String>,
    /// Points of a sweep in equal steps.
    pub points: usize,
    /// Whether values on the way are shown too.
    pub all: bool,
    /// Whether the answer is for programs.
    pub json: bool,
}

/// What was found.
struct Answer<'n> {
    was: &'n Notebook,
    wishes: Vec<Wish>,
    /// `None` where only a sweep was asked for.
    supposed: Option<Supposed>,
    /// The swept wish by its position, and the sweep.
    swept: Option<(usize, Sweep)>,
    all: bool,
}

/// Supposes and prints what comes of it. Nothing is written.
pub fn run(dir: &Utf8Path, asked: &Asked) -> Done {
    let series = asked.series.as_deref().map(Series::parse).transpose();
    let series = series.map_err(|unknown| unknown.to_string())?;
    let notebook = load(dir);
    let wishes: Result<Vec<Wish>, String> = asked
        .wishes
        .iter()
        .map(|text| notebook.wish(text))
        .collect();
    let wishes = wishes?;
    let sweeping: Vec<usize> = (0..wishes.len())
        .filter(|&at| wishes[at].swept.is_some())
        .collect();
    let others: Vec<Override> = wishes
        .iter()
        .filter(|wish| wish.swept.is_none())
        .flat_map(|wish| wish.overrides.clone())
        .collect();
    let swept = match sweeping.as_slice() {
        [] if asked.series.is_some() => {
            return Err("`--series` goes with a sweep, as in `R1=4k7..6k2`".to_owned());
        }
        [] => None,
        [one] => Some((
            *one,
            notebook.sweep(&wishes[*one], &others, series, asked.points)?,
        )),
        [first, second, ..] => {
            return Err(format!(
                "one quantity is swept at a time, and both `{}` and `{}` are",
                wishes[*first].name, wishes[*second].name
            ));
        }
    };
    let supposed = (!others.is_empty()).then(|| notebook.under(&others));
    let answer = Answer {
        was: &notebook,
        wishes,
        supposed,
        swept,
        all: asked.all,
    };
    say(&if asked.json {
        json::write(&answer)?
    } else {
        text::write(&answer)
    })?;
    let breaks = answer
        .supposed
        .as_ref()
        .is_some_and(|supposed| !supposed.breaks_nothing());
    let holds_nowhere = answer
        .swept
        .as_ref()
        .is_some_and(|(_, sweep)| sweep.required.is_empty());
    Ok(if breaks || holds_nowhere {
        Outcome::Disagrees
    } else {
        Outcome::Holds
    })
}
