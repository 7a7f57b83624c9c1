//! `NAME=VALUE`: what somebody wants to be otherwise, as they write it.
//!
//! Names are those of formulas: `R1`, `cell_charger.R1`, `U1.quiescent`, a given
//! figure, `trail_module.supply`, `outdoors.ambient`; beside them the id of a
//! stocked part for every place that carries it, `policy.spread`, and
//! `cell_charger.revision`.

use super::super::Notebook;
use super::super::resolve::{is_designator, listed};
use super::Override;
use super::wish_value::{Known, quantity};
use crate::nearest::nearest;
use crate::quantity::Given;
use crate::record::{Board, FigureBody};

/// What one `NAME=VALUE` asks for.
#[derive(Clone, Debug)]
pub struct Wish {
    /// The name in full: `cell_charger.R1`.
    pub name: String,
    /// What stands there now.
    pub now: String,
    /// What would stand there.
    pub would_be: String,
    /// The overrides that it comes to, at one end of a sweep.
    pub overrides: Vec<Override>,
    /// Both ends of a sweep, in coherent SI units; the quantity as it is.
    pub swept: Option<(f64, f64, Given)>,
    /// A stocked part that has this very value, beside the part that is fitted.
    pub stocked: Option<String>,
}

impl Wish {
    pub(super) fn of(name: String, now: impl Into<String>, would_be: impl Into<String>) -> Wish {
        Wish {
            name,
            now: now.into(),
            would_be: would_be.into(),
            overrides: Vec::new(),
            swept: None,
            stocked: None,
        }
    }

    pub(super) fn by(self, one: Override) -> Wish {
        Wish {
            overrides: vec![one],
            ..self
        }
    }
}

impl Notebook {
    /// Reads `NAME=VALUE`; the value may be a sweep, `4k7..6k2`.
    ///
    /// # Errors
    /// A sentence on what is wrong with the name or the value.
    pub fn wish(&self, text: &str) -> Result<Wish, String> {
        let Some((name, value)) = text.split_once('=') else {
            return Err(format!(
                "`{text}` supposes nothing: write `NAME=VALUE`, as in `R1=4k7`"
            ));
        };
        let (name, value) = (name.trim(), value.trim());
        if name.is_empty() || value.is_empty() {
            return Err(format!(
                "`{text}` lacks a name or a value: write `NAME=VALUE`, as in `R1=4k7`"
            ));
        }
        if let Some(key) = name.strip_prefix("policy.") {
            return self.policy(None, key, value);
        }
        if let Some(part) = self.records.part(name) {
            return self.everywhere(&part.id.value, value);
        }
        let (first, rest) = name.split_once('.').unwrap_or((name, ""));
        if let Some(module) = self
            .records
            .modules
            .iter()
            .position(|at| at.id.value == first)
        {
            let record = &self.records.modules[module];
            let at = record
                .properties
                .iter()
                .position(|at| at.name.value == rest);
            let Some(property) = at else {
                let known: Vec<&str> = record
                    .properties
                    .iter()
                    .map(|at| at.name.value.as_str())
                    .collect();
                return Err(format!(
                    "the module `{first}` has no `{rest}`; it has {}",
                    listed(&known)
                ));
            };
            let known = Known {
                name: name.to_owned(),
                given: &record.properties[property].given.value,
                make: Box::new(move |given| Override::Module {
                    module,
                    property,
                    given,
                }),
            };
            return quantity(known, value);
        }
        let boards = &self.records.boards;
        if let Some(board) = self.records.board_at(first) {
            if rest.is_empty() {
                return Err(format!(
                    "`{name}` is a board: name what is on it, as in `{name}.R1`"
                ));
            }
            return self.on_board(board, rest, value);
        }
        let having: Vec<usize> = (0..boards.len())
            .filter(|&at| has(&boards[at], name))
            .collect();
        match having.as_slice() {
            [board] => self.on_board(*board, name, value),
            [] => Err(self.unknown(name)),
            several => {
                let names: Vec<String> = several
                    .iter()
                    .map(|&at| format!("{}.{name}", boards[at].id.value))
                    .collect();
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                Err(format!(
                    "several boards have a `{name}`: {}",
                    listed(&names)
                ))
            }
        }
    }

    fn unknown(&self, name: &str) -> String {
        let known = self.graph.iter().filter(|(_, node)| node.is_named());
        let known: Vec<String> = known
            .flat_map(|(_, node)| [node.name.clone(), node.full_name()])
            .collect();
        let parts = self.records.parts.iter().map(|part| part.id.value.as_str());
        let known = known.iter().map(String::as_str).chain(parts);
        match nearest(name, known) {
            Some(near) => format!("nothing is called `{name}`; perhaps `{near}`"),
            None => format!("nothing is called `{name}`"),
        }
    }

    fn on_board(&self, board: usize, rest: &str, value: &str) -> Result<Wish, String> {
        let record: &Board = &self.records.boards[board];
        let full = format!("{}.{rest}", record.id.value);
        if let Some(key) = rest.strip_prefix("policy.") {
            return self.policy(Some(board), key, value);
        }
        if rest == "revision" {
            return revision(board, record, value);
        }
        let (first, property) = rest.split_once('.').unwrap_or((rest, ""));
        if is_designator(first) {
            return self.fitted(board, first, property, value);
        }
        let conditions = record.conditions.iter();
        if let Some(condition) = conditions.clone().position(|at| at.id.value == first) {
            if property != "ambient" {
                return Err(format!(
                    "the condition `{first}` has no `{property}`; name `{first}.ambient`"
                ));
            }
            let known = Known {
                name: full,
                given: &record.conditions[condition].ambient.value,
                make: Box::new(move |given| Override::Ambient {
                    board,
                    condition,
                    given,
                }),
            };
            return quantity(known, value);
        }
        let Some(figure) = record.figures.iter().position(|at| at.id.value == rest) else {
            return Err(
                match record.workings.iter().any(|at| at.id.value == first) {
                    true => format!(
                        "`{full}` is worked out: suppose what it hangs on; `ohmbook why {full}` shows it"
                    ),
                    false => self.unknown(&full),
                },
            );
        };
        match &record.figures[figure].body {
            FigureBody::Given(given) => {
                let known = Known {
                    name: full,
                    given: &given.value,
                    make: Box::new(move |given| Override::Given {
                        board,
                        figure,
                        given,
                    }),
                };
                quantity(known, value)
            }
            FigureBody::From(formula) => Err(format!(
                "`{full}` is computed, `{}`: suppose what it hangs on",
                formula.value
            )),
            FigureBody::Measured(_) => Err(format!(
                "`{full}` is measured, and readings are what they are"
            )),
        }
    }
}

/// Whether a board has something of this name that may be supposed.
fn has(board: &Board, name: &str) -> bool {
    let first = name.split('.').next().unwrap_or(name);
    board
        .fitted
        .iter()
        .any(|line| line.designator.value == first)
        || board.figures.iter().any(|figure| figure.id.value == name)
        || board
            .workings
            .iter()
            .any(|working| working.id.value == first)
        || board
            .conditions
            .iter()
            .any(|condition| condition.id.value == first)
}

fn revision(board: usize, record: &Board, value: &str) -> Result<Wish, String> {
    let revisions = record.revisions.iter();
    let Some(revision) = revisions.clone().position(|at| at.id.value == value) else {
        let known: Vec<&str> = revisions.map(|at| at.id.value.as_str()).collect();
        let known = if known.is_empty() {
            "it has no earlier ones".to_owned()
        } else {
            format!("there are {}", listed(&known))
        };
        return Err(format!(
            "`{}` had no revision `{value}`; {known}",
            record.id.value
        ));
    };
    let name = format!("{}.revision", record.id.value);
    Ok(Wish::of(name, &record.revision.value, value).by(Override::Revision { board, revision }))
}
