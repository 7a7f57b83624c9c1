//! What a name in a formula, a link or a record means.

use super::graph::{Graph, NodeId, Worked};
use super::resolve_property::{fitted_property, module_property, stock_property};
use crate::finding::{Finding, Place, Slug};
use crate::nearest::nearest;
use crate::record::{Board, LeftOut, Records};

/// Why a name means nothing.
#[derive(Clone, Debug)]
pub(super) struct Unresolved {
    /// What is wrong, as the end of a sentence that starts with the name.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
    /// Another place that says why.
    pub because: Option<(Place, String)>,
    /// Whether another finding has said it already.
    pub silent: bool,
}

impl Unresolved {
    pub fn new(message: impl Into<String>) -> Unresolved {
        Unresolved {
            message: message.into(),
            help: None,
            because: None,
            silent: false,
        }
    }

    /// Another finding has said it already.
    pub fn told() -> Unresolved {
        Unresolved {
            silent: true,
            ..Unresolved::new("")
        }
    }

    pub fn help(self, help: Option<String>) -> Unresolved {
        Unresolved { help, ..self }
    }

    /// The finding of this name at this place; `None` where it was told before.
    pub fn finding(self, place: Place) -> Option<Finding> {
        if self.silent {
            return None;
        }
        let mut finding =
            Finding::new(Slug::UnknownName, &*self.message).at(place, "not known here");
        if let Some((place, text)) = self.because {
            finding = finding.at(place, text);
        }
        if let Some(help) = self.help {
            finding = finding.help(help);
        }
        Some(finding)
    }
}

/// Whether a record of one of these kinds is there under a name and could not
/// be read, which has a finding of its own.
pub(super) fn left_out(left_out: &[LeftOut], kinds: &[&str], name: &str) -> bool {
    left_out
        .iter()
        .any(|record| record.name == name && kinds.contains(&record.kind))
}

/// Whether a name has the form of a reference designator (IEEE 315).
pub(super) fn is_designator(name: &str) -> bool {
    let digits = name.trim_start_matches(|c: char| c.is_ascii_uppercase());
    digits.len() < name.len() && !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit())
}

/// The node of a name as a board writes it. Properties of parts and modules
/// become nodes when they are named first.
pub(super) fn resolve(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    name: &str,
) -> Result<NodeId, Unresolved> {
    // What a file that is no TOML lacks may only be hidden in it.
    let first = name.split('.').next().unwrap_or(name);
    let scope = records.board(first).unwrap_or(&records.boards[board]);
    let hidden = records.damaged.contains(&scope.file);
    look_up(graph, records, board, name).map_err(|unresolved| Unresolved {
        silent: unresolved.silent || hidden,
        ..unresolved
    })
}

fn look_up(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    name: &str,
) -> Result<NodeId, Unresolved> {
    if let Some(found) = local(graph, records, board, name)? {
        return Ok(found);
    }
    let (first, rest) = name.split_once('.').unwrap_or((name, ""));
    if left_out(&records.left_out, &["board", "module"], first) {
        return Err(Unresolved::told());
    }
    if let Some(other) = records.board_at(first) {
        if rest.is_empty() {
            return Err(
                Unresolved::new(format!("`{name}` is a board, and a board has no value"))
                    .help(Some(format!("name one of its figures: `{name}.…`"))),
            );
        }
        let found = local(graph, records, other, rest)?;
        return found.ok_or_else(|| unknown(graph, records, other, rest, name));
    }
    if let Some(at) = records.module_at(first) {
        return module_property(graph, records, at, rest);
    }
    if let Some(part) = records.part_at(first) {
        return stock_property(graph, records, part, rest);
    }
    Err(unknown(graph, records, board, name, name))
}

/// The node of a name within one board; `None` where it has no such name.
fn local(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    name: &str,
) -> Result<Option<NodeId>, Unresolved> {
    let record = &records.boards[board];
    if let Some(found) = graph.find(&record.id.value, name) {
        return Ok(Some(found));
    }
    let (first, rest) = name.split_once('.').unwrap_or((name, ""));
    if left_out(
        &record.left_out,
        &["figure", "working", "condition", "circuit"],
        first,
    ) {
        return Err(Unresolved::told());
    }
    if is_designator(first) {
        return fitted_property(graph, records, board, first, rest).map(Some);
    }
    let mut workings = record.workings.iter();
    if let Some(at) = workings.position(|working| working.id.value == first) {
        let worked = graph.working(board, at);
        let known: Vec<&str> = results_of(worked);
        let help = match nearest(rest, known.iter().copied()) {
            Some(near) => format!("perhaps `{first}.{near}`"),
            None => format!("its results are {}", listed(&known)),
        };
        return Err(Unresolved {
            silent: worked.is_none(),
            ..Unresolved::new(format!("the working `{first}` has no result `{rest}`"))
                .help(Some(help))
        });
    }
    if let Some(condition) = record
        .conditions
        .iter()
        .find(|condition| condition.id.value == first)
    {
        if rest != "ambient" {
            return Err(
                Unresolved::new(format!("the condition `{first}` has no `{rest}`"))
                    .help(Some(format!("write `{first}.ambient`"))),
            );
        }
        let ambient = condition.ambient.value.clone();
        let place = condition.ambient.place.clone();
        return Ok(Some(super::temperature::ambient(
            graph, records, board, name, ambient, place,
        )));
    }
    if let Some(circuit) = record
        .circuits
        .iter()
        .position(|circuit| circuit.id.value == first)
    {
        return super::network::result(graph, records, board, circuit, rest).map(Some);
    }
    Ok(None)
}

/// The message for a name that nothing has, with the nearest names that exist.
fn unknown(
    graph: &Graph,
    records: &Records,
    board: usize,
    name: &str,
    written: &str,
) -> Unresolved {
    let record = &records.boards[board];
    let prefix = if name.len() == written.len() {
        ""
    } else {
        &written[..written.len() - name.len()]
    };
    let help = nearest(
        name,
        names_of(graph, record, board).iter().map(String::as_str),
    )
    .map(|near| format!("perhaps `{prefix}{near}`"))
    .or_else(|| {
        let first = name.split('.').next().unwrap_or(name);
        let scopes = records.boards.iter().map(|board| board.id.value.as_str());
        let modules = records
            .modules
            .iter()
            .map(|module| module.id.value.as_str());
        let near = nearest(first, scopes.chain(modules))?;
        Some(format!("perhaps `{near}{}`", &name[first.len()..]))
    })
    .or_else(|| {
        let elsewhere = records.boards.iter().find(|other| {
            graph.find(&other.id.value, name).is_some() && other.id.value != record.id.value
        })?;
        Some(format!(
            "the board `{0}` has one: `{0}.{name}`",
            elsewhere.id.value
        ))
    });
    let message = if prefix.is_empty() {
        format!("`{written}` means nothing on `{}`", record.id.value)
    } else {
        format!("the board `{}` has no `{name}`", record.id.value)
    };
    Unresolved::new(message).help(help)
}

/// Names that a formula of the board may write without a dot before them.
fn names_of(graph: &Graph, board: &Board, number: usize) -> Vec<String> {
    let figures = board.figures.iter().map(|figure| figure.id.value.clone());
    let designators = board
        .fitted
        .iter()
        .map(|line| line.designator.value.clone());
    let results = board.workings.iter().enumerate().flat_map(|(at, working)| {
        let results = results_of(graph.working(number, at)).into_iter();
        results.map(|result| format!("{}.{result}", working.id.value))
    });
    figures.chain(designators).chain(results).collect()
}

fn results_of(worked: Option<&Worked>) -> Vec<&str> {
    let results = worked.into_iter().flat_map(|worked| &worked.plan.results);
    results.map(|result| result.name.as_str()).collect()
}

/// `a`, `b` and `c`, at most eight of them.
pub(super) fn listed(names: &[&str]) -> String {
    let quoted: Vec<String> = names
        .iter()
        .take(8)
        .map(|name| format!("`{name}`"))
        .collect();
    match quoted.as_slice() {
        [] => "none".to_owned(),
        [only] => only.clone(),
        [first @ .., _] if names.len() > quoted.len() => format!("{}, …", first.join(", ")),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
