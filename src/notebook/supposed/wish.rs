//! `NAME=VALUE`: what somebody wants to be otherwise, as they write it.
//!
//! Names are those of formulas: `R1`, `cell_charger.R1`, `U1.quiescent`, a given
//! figure, `trail_module.supply`, `outdoors.ambient`; beside them the id of a
//! stocked part for every place that carries it, `policy.spread`, and
//! `cell_charger.revision`.

use super::super::Notebook;
use super::super::resolve::{is_designator, listed};
use super::Override;
use crate::finding::Located;
use crate::nearest::nearest;
use crate::quantity::{Dimension, Given};
use crate::record::{Board, CoverageInterval, FigureBody, Policy, SpreadPolicy};

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
    fn of(name: String, now: impl Into<String>, would_be: impl Into<String>) -> Wish {
        Wish {
            name,
            now: now.into(),
            would_be: would_be.into(),
            overrides: Vec::new(),
            swept: None,
            stocked: None,
        }
    }

    fn by(self, one: Override) -> Wish {
        Wish {
            overrides: vec![one],
            ..self
        }
    }
}

/// A quantity that may be otherwise.
struct Known<'n> {
    name: String,
    given: &'n Given,
    make: Box<dyn Fn(Given) -> Override + 'n>,
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
        if let Some(board) = boards.iter().position(|board| board.id.value == first) {
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

    fn fitted(
        &self,
        board: usize,
        designator: &str,
        property: &str,
        value: &str,
    ) -> Result<Wish, String> {
        let record = &self.records.boards[board];
        let full = match property {
            "" => format!("{}.{designator}", record.id.value),
            property => format!("{}.{designator}.{property}", record.id.value),
        };
        let lines = record.fitted.iter();
        let Some(fitted) = lines
            .clone()
            .position(|line| line.designator.value == designator)
        else {
            let known = lines.map(|line| line.designator.value.as_str());
            let near = nearest(designator, known)
                .map_or(String::new(), |near| format!("; perhaps `{near}`"));
            return Err(format!(
                "no `{designator}` is fitted on `{}`{near}",
                record.id.value
            ));
        };
        let line = &record.fitted[fitted];
        let carried = match line.fit {
            true => line.part.value.clone(),
            false => format!("empty, meant for {}", line.part.value),
        };
        if property.is_empty() {
            match value {
                "empty" | "fitted" => {
                    let fit = value == "fitted";
                    return Ok(Wish::of(full, carried, value).by(Override::Fit {
                        board,
                        fitted,
                        fit,
                    }));
                }
                _ => {}
            }
            let parts = &self.records.parts;
            if let Some(part) = parts.iter().position(|part| part.id.value == value) {
                let now = self.records.part(&line.part.value);
                if let Some(now) = now.filter(|now| !std::ptr::eq(now.kind, parts[part].kind)) {
                    return Err(format!(
                        "`{value}` is a {}, and `{full}` carries a {}",
                        parts[part].kind.name, now.kind.name
                    ));
                }
                let exchange = Override::Part {
                    board,
                    fitted,
                    part,
                };
                let fill = Override::Fit {
                    board,
                    fitted,
                    fit: true,
                };
                let mut wish = Wish::of(full, self.with_value(&carried), self.with_value(value));
                wish.overrides = if line.fit {
                    vec![exchange]
                } else {
                    vec![exchange, fill]
                };
                return Ok(wish);
            }
        }
        if !line.fit {
            return Err(format!(
                "`{full}` is not fitted: name a stocked part for its place, or `fitted`"
            ));
        }
        let wanted = if property.is_empty() {
            "value"
        } else {
            property
        };
        let part = self.records.part(&line.part.value);
        let Some(part) = part else {
            return Err(format!("there is no part `{}`", line.part.value));
        };
        let Some(stated) = part.property(wanted) else {
            let known: Vec<&str> = part
                .properties
                .iter()
                .map(|at| at.name.value.as_str())
                .collect();
            return Err(match property {
                "" => format!(
                    "`{value}` is no stocked part, and `{full}` has no value: the part `{}` has {}",
                    part.id.value,
                    listed(&known)
                ),
                _ => format!(
                    "the part `{}` has no `{property}`; it has {}",
                    part.id.value,
                    listed(&known)
                ),
            });
        };
        let name = wanted.to_owned();
        let known = Known {
            name: full,
            given: &stated.given.value,
            make: Box::new(move |given| Override::Property {
                board,
                fitted,
                property: name.clone(),
                given,
            }),
        };
        let mut wish = quantity(known, value).map_err(|why| match property {
            "" if value.starts_with(|c: char| c.is_ascii_lowercase()) => {
                let parts = self
                    .records
                    .parts
                    .iter()
                    .filter(|at| std::ptr::eq(at.kind, part.kind));
                let ids: Vec<&str> = parts.map(|part| part.id.value.as_str()).collect();
                let near = nearest(value, ids.iter().copied());
                let hint = near.map_or_else(
                    || format!("there are {}", listed(&ids)),
                    |near| format!("perhaps `{near}`"),
                );
                format!("there is no part `{value}`; {hint}")
            }
            _ => why,
        })?;
        if let (None, [Override::Property { given, .. }], "") =
            (&wish.swept, wish.overrides.as_slice(), property)
        {
            let same = |other: &&crate::record::Part| {
                let stated = other.property("value").map(|at| at.given.value.nominal());
                let near = |stated: f64| (stated / given.nominal() - 1.0).abs() < 1e-9;
                std::ptr::eq(other.kind, part.kind)
                    && other.id.value != part.id.value
                    && stated.is_some_and(near)
            };
            wish.stocked = self
                .records
                .parts
                .iter()
                .find(same)
                .map(|part| part.id.value.clone());
        }
        Ok(wish)
    }

    /// A part's id with its value, where it has one.
    fn with_value(&self, id: &str) -> String {
        let value = self
            .records
            .part(id)
            .and_then(|part| part.property("value"));
        value.map_or_else(
            || id.to_owned(),
            |value| format!("{id}, {}", value.given.value.text()),
        )
    }

    /// A stocked part exchanged in every place that carries it.
    fn everywhere(&self, id: &str, value: &str) -> Result<Wish, String> {
        let parts = &self.records.parts;
        let of = self.records.part(id).map(|part| part.kind);
        let Some(part) = parts.iter().position(|part| part.id.value == value) else {
            let alike = parts
                .iter()
                .filter(|part| of.is_some_and(|of| std::ptr::eq(of, part.kind)));
            let ids: Vec<&str> = alike
                .map(|part| part.id.value.as_str())
                .filter(|at| *at != id)
                .collect();
            let near = nearest(value, ids.iter().copied());
            let hint = near.map_or_else(
                || format!("it could be {}", listed(&ids)),
                |near| format!("perhaps `{near}`"),
            );
            return Err(format!(
                "`{id}` is a part, and there is no part `{value}` to put in its place; {hint}"
            ));
        };
        if of.is_some_and(|of| !std::ptr::eq(of, parts[part].kind)) {
            return Err(format!(
                "`{value}` is a {}, and `{id}` is none",
                parts[part].kind.name
            ));
        }
        let mut overrides = Vec::new();
        let mut places = Vec::new();
        for (board, record) in self.records.boards.iter().enumerate() {
            for (fitted, line) in record.fitted.iter().enumerate() {
                if line.part.value == id && line.fit {
                    overrides.push(Override::Part {
                        board,
                        fitted,
                        part,
                    });
                    places.push(format!("{}.{}", record.id.value, line.designator.value));
                }
            }
        }
        if overrides.is_empty() {
            return Err(format!("`{id}` is fitted nowhere"));
        }
        let mut wish = Wish::of(
            places.join(", "),
            self.with_value(id),
            self.with_value(value),
        );
        wish.overrides = overrides;
        Ok(wish)
    }

    fn policy(&self, board: Option<usize>, key: &str, value: &str) -> Result<Wish, String> {
        let own = board.map_or(&self.records.notebook.policy, |at| {
            &self.records.boards[at].policy
        });
        let above = &self.records.notebook.policy;
        let mut policy = Policy::default();
        let word = |known: Vec<&str>| {
            let near = nearest(value, known.iter().copied())
                .map_or(String::new(), |near| format!("; perhaps `{near}`"));
            format!(
                "`policy.{key}` cannot be `{value}`: it is one of {}{near}",
                listed(&known)
            )
        };
        let now = match key {
            "spread" => {
                let other = SpreadPolicy::by_word(value);
                let known = SpreadPolicy::ALL.iter().map(|at| at.word());
                policy.spread = Some(other.ok_or_else(|| word(known.collect()))?);
                own.spread
                    .or(above.spread)
                    .unwrap_or_default()
                    .word()
                    .to_owned()
            }
            "interval" => {
                let other = CoverageInterval::by_word(value);
                let known = CoverageInterval::ALL.iter().map(|at| at.word());
                policy.interval = Some(other.ok_or_else(|| word(known.collect()))?);
                own.interval
                    .or(above.interval)
                    .unwrap_or_default()
                    .word()
                    .to_owned()
            }
            "coverage" => {
                let given = Given::parse(value, Some(Dimension::ONE))
                    .map_err(|fault| format!("`{value}`: {fault}"))?;
                if !(given.nominal() > 0.0 && given.nominal() < 1.0) {
                    return Err(format!(
                        "a coverage of `{value}` is no share: write one between 0 % and 100 %"
                    ));
                }
                let now = own.coverage.as_ref().or(above.coverage.as_ref());
                let place = self.records.notebook.place.clone();
                let Some(place) = place else {
                    return Err("there is no `notebook.toml`".to_owned());
                };
                policy.coverage = Some(Located::new(given, place));
                now.map_or_else(|| "95 %".to_owned(), |now| now.value.text().to_owned())
            }
            "seed" => {
                let seed: u64 = value
                    .parse()
                    .map_err(|_| format!("a seed is a whole number, and `{value}` is none"))?;
                policy.seed = Some(seed);
                own.seed.or(above.seed).unwrap_or(1).to_string()
            }
            _ => {
                let known = ["spread", "coverage", "interval", "seed"];
                return Err(format!(
                    "a policy has no `{key}`; it has {}",
                    listed(&known)
                ));
            }
        };
        let scope = board.map_or(String::new(), |at| {
            format!("{}.", self.records.boards[at].id.value)
        });
        Ok(Wish::of(format!("{scope}policy.{key}"), now, value)
            .by(Override::Policy { board, policy }))
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

/// A quantity in the place of a known one: a value, a value with its tolerance,
/// a tolerance alone, or both ends of a sweep.
fn quantity(known: Known<'_>, value: &str) -> Result<Wish, String> {
    let Known {
        name,
        given: now,
        make,
    } = known;
    let wanted = Some(now.dimension());
    let read = |text: &str| {
        Given::parse(text.trim(), wanted)
            .map_err(|fault| format!("`{}` for `{name}`: {fault}", text.trim()))
    };
    if let Some((from, up_to)) = value.split_once("..") {
        if from.trim().is_empty() || up_to.trim().is_empty() {
            return Err(format!(
                "the sweep `{value}` of `{name}` lacks an end: write both, as in `4k7..6k2`"
            ));
        }
        let (from, up_to) = (read(from)?, read(up_to)?);
        if from.low() != from.high() || up_to.low() != up_to.high() {
            return Err(format!(
                "the ends of the sweep `{value}` of `{name}` are values without a tolerance"
            ));
        }
        let (from, up_to) = (from.nominal(), up_to.nominal());
        if from >= up_to {
            return Err(format!(
                "the sweep `{value}` of `{name}` goes nowhere: write the lower end first"
            ));
        }
        let mut wish = Wish::of(name.clone(), now.text(), value).by(make(now.around(from)));
        wish.swept = Some((from, up_to, now.clone()));
        return Ok(wish);
    }
    let given = if value.starts_with(['±', '+']) {
        let tolerance = now.tolerance_text().map_or(0, str::len);
        let bare = now.text()[..now.text().len() - tolerance].trim();
        if bare.contains(" to ") {
            return Err(format!(
                "`{name}` is a range, {}: write both ends",
                now.text()
            ));
        }
        read(&format!("{bare} {value}"))?
    } else {
        let given = read(value)?;
        let takes_over =
            given.low() == given.high() && now.low() != now.high() && !now.text().contains(" to ");
        match takes_over {
            true => now.around(given.nominal()),
            false => given,
        }
    };
    if given.dimension().scale() != now.dimension().scale() {
        return Err(format!(
            "`{value}` for `{name}`: a difference is no point on the scale"
        ));
    }
    Ok(Wish::of(name, now.text(), given.text()).by(make(given)))
}
