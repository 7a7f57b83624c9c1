//! Inputs of a working's record, read against its kind.

use super::build::Builder;
use super::graph::NodeId;
use super::resolve::listed;
use super::working::Reading;
use crate::finding::{Finding, Located, Place, Slug};
use crate::nearest::nearest;
use crate::record::{Board, WorkingInput, WorkingRecord};
use crate::trade::{self, Entry, Input, Inputs, Other, OtherResult, Takes};

/// What a measured response looks like in a record.
const RESPONSE: &str = "write `{ file = \"speaker.csv\", frequency = \"frequency (Hz)\", level = \"level (dB)\" }`: a file of the folder `readings`, and the heads of two of its columns";

impl Reading<'_> {
    /// Reads the inputs of a working, or of a group of them whose names begin
    /// with `before`.
    pub(super) fn group(
        &mut self,
        builder: &mut Builder<'_>,
        inputs: &'static [Input],
        written: &[(Located<String>, WorkingInput)],
        before: &str,
        place: &Place,
    ) -> Inputs {
        let mut given = Inputs::default();
        for (key, _) in written
            .iter()
            .filter(|(key, _)| inputs.iter().all(|input| input.name != key.value))
        {
            self.unknown(builder, inputs, key);
        }
        for input in inputs {
            match written.iter().find(|(key, _)| key.value == input.name) {
                Some((key, value)) => {
                    if let Some(entry) = self.input(builder, input, key, value, before) {
                        given.put(input.name, entry);
                    }
                }
                None if input.optional => {}
                None if self.record.left_out.iter().any(|name| name == input.name) => {}
                None => builder.findings.push(
                    Finding::new(
                        Slug::MissingKey,
                        format!(
                            "the working `{}` lacks `{before}{}`",
                            self.record.id.value, input.name
                        ),
                    )
                    .at(place.clone(), format!("{} is wanted", input.means))
                    .help(format!("add {}", shape(input))),
                ),
            }
        }
        given
    }

    fn unknown(&self, builder: &mut Builder<'_>, inputs: &'static [Input], key: &Located<String>) {
        let names: Vec<&str> = inputs.iter().map(|input| input.name).collect();
        let help = match nearest(&key.value, names.iter().copied()) {
            Some(near) => format!("perhaps `{near}`"),
            None => format!("it takes {}", listed(&names)),
        };
        let message = format!("a working of kind `{}` takes no `{}`", self.kind, key.value);
        builder.findings.push(
            Finding::new(Slug::UnknownKey, message)
                .at(key.place.clone(), "unknown input")
                .help(help),
        );
    }

    /// Reads one input; tells what is wrong with it.
    fn input(
        &mut self,
        builder: &mut Builder<'_>,
        input: &'static Input,
        key: &Located<String>,
        written: &WorkingInput,
        before: &str,
    ) -> Option<Entry> {
        let name = format!("{before}{}", input.name);
        match (&input.takes, written) {
            (Takes::Quantity(dimension), WorkingInput::Text(text)) => {
                let id = self.node(builder, &name, input.means, None, &key.place);
                self.bounds.push((id, input.bound));
                builder.computed(id, self.board, text, None, Some(*dimension));
                Some(Entry::Quantity)
            }
            (Takes::Quantities(dimension, count), WorkingInput::Texts(texts)) => {
                if !count.contains(&texts.len()) {
                    let message = format!("`{name}` has {} values", texts.len());
                    let (least, most) = (count.start(), count.end());
                    builder.findings.push(
                        Finding::new(Slug::BadValue, message)
                            .at(key.place.clone(), "this list")
                            .help(format!("give {least} to {most} of them")),
                    );
                    return None;
                }
                for (at, text) in texts.iter().enumerate() {
                    let means = format!("{}, {}", input.means, at + 1);
                    let name = format!("{name}_{}", at + 1);
                    let id = self.node(builder, &name, &means, None, &text.place);
                    self.bounds.push((id, input.bound));
                    builder.computed(id, self.board, text, None, Some(*dimension));
                }
                Some(Entry::Quantities(texts.len()))
            }
            (Takes::ByName(dimension), WorkingInput::Named(named)) => {
                let mut names = Vec::new();
                for (theirs, value) in named {
                    let WorkingInput::Text(text) = value else {
                        self.wrong(builder, input, theirs);
                        continue;
                    };
                    let means = format!("{}, {}", input.means, theirs.value.replace('_', " "));
                    let name = format!("{name}.{}", theirs.value);
                    let id = self.node(builder, &name, &means, None, &theirs.place);
                    self.bounds.push((id, input.bound));
                    builder.computed(id, self.board, text, None, Some(*dimension));
                    names.push(theirs.value.clone());
                }
                Some(Entry::ByName(names))
            }
            (Takes::Groups(inputs), WorkingInput::Named(named)) => {
                let mut groups = Vec::new();
                for (theirs, value) in named {
                    let WorkingInput::Named(inner) = value else {
                        self.wrong(builder, input, theirs);
                        continue;
                    };
                    let before = format!("{name}.{}.", theirs.value);
                    let group = self.group(builder, inputs, inner, &before, &theirs.place);
                    groups.push((theirs.value.clone(), group));
                }
                Some(Entry::Groups(groups))
            }
            (Takes::Word(known), WorkingInput::Text(text)) => {
                if known.contains(&text.value.as_str()) {
                    return Some(Entry::Word(text.value.clone()));
                }
                let help = match nearest(&text.value, known.iter().copied()) {
                    Some(near) => format!("perhaps `{near}`"),
                    None => format!("one of {}", listed(known)),
                };
                let message = format!("`{name}` cannot be `{}`", text.value);
                builder.findings.push(
                    Finding::new(Slug::BadValue, message)
                        .at(text.place.clone(), "not known here")
                        .help(help),
                );
                None
            }
            (Takes::Words, WorkingInput::Texts(texts)) => Some(Entry::Words(
                texts.iter().map(|text| text.value.clone()).collect(),
            )),
            (Takes::Whole(range), WorkingInput::Whole(number)) => {
                if range.contains(number) {
                    return Some(Entry::Whole(*number));
                }
                let message = format!("`{name}` cannot be {number}");
                builder.findings.push(
                    Finding::new(Slug::BadValue, message)
                        .at(key.place.clone(), "this number")
                        .help(format!("{} to {}", range.start(), range.end())),
                );
                None
            }
            (Takes::Working(kinds), WorkingInput::Text(text)) => {
                self.other(builder, &name, kinds, text).map(Entry::Working)
            }
            (Takes::Response, WorkingInput::Named(named)) => {
                self.response(builder, named, key).map(Entry::Response)
            }
            _ => {
                self.wrong(builder, input, key);
                None
            }
        }
    }

    /// Takes in another working of the board: its inputs and results become
    /// known here under the name of the input.
    fn other(
        &mut self,
        builder: &mut Builder<'_>,
        name: &str,
        kinds: &[&str],
        text: &Located<String>,
    ) -> Option<Other> {
        let board = &builder.records.boards[self.board];
        let mut others = board.workings.iter();
        let Some(at) = others.position(|other| other.id.value == text.value) else {
            let mut unread = board.left_out.iter();
            match unread.any(|record| record.kind == "working" && record.name == text.value) {
                true => self.told = true,
                false => builder.findings.push(no_working(board, kinds, text)),
            }
            return None;
        };
        let record = &board.workings[at];
        let kind = trade::kind(&record.kind.value);
        let (Some(kind), Some(worked)) = (kind, builder.graph.working(self.board, at)) else {
            // It cannot be worked out itself, and has a finding that says why,
            // unless it is not one that would do here anyway.
            match kind.is_none_or(|kind| kinds.contains(&kind.name())) {
                true => self.told = true,
                false => builder.findings.push(misfit(board, kinds, text, record)),
            }
            return None;
        };
        if !kinds.contains(&kind.name()) {
            builder.findings.push(misfit(board, kinds, text, record));
            return None;
        }
        let results = worked.plan.results.iter();
        let other = Other {
            id: text.value.clone(),
            kind: kind.name(),
            inputs: worked.given.clone(),
            results: results
                .map(|planned| OtherResult {
                    name: planned.name.clone(),
                    label: planned.label.clone(),
                    means: planned.means.clone(),
                })
                .collect(),
        };
        let theirs: Vec<(String, NodeId)> = worked
            .nodes
            .iter()
            .filter(|(_, id)| builder.graph.is_of_working(**id, self.board, at))
            .map(|(theirs, id)| (format!("{name}.{theirs}"), *id))
            .collect();
        for (ours, id) in theirs {
            let full = format!("{}.{ours}", self.record.id.value);
            builder.graph.also_named(&self.scope, full, id);
            self.nodes.insert(ours, id);
        }
        Some(other)
    }

    /// Reads a measured response: which file, and which of its columns.
    fn response(
        &mut self,
        builder: &mut Builder<'_>,
        named: &[(Located<String>, WorkingInput)],
        key: &Located<String>,
    ) -> Option<Vec<(f64, f64)>> {
        const KEYS: [&str; 3] = ["file", "frequency", "level"];
        let before = builder.findings.len();
        for (theirs, _) in named
            .iter()
            .filter(|(theirs, _)| !KEYS.contains(&theirs.value.as_str()))
        {
            let help = match nearest(&theirs.value, KEYS) {
                Some(near) => format!("perhaps `{near}`"),
                None => format!("it takes {}", listed(&KEYS)),
            };
            let message = format!("a measured response takes no `{}`", theirs.value);
            builder.findings.push(
                Finding::new(Slug::UnknownKey, message)
                    .at(theirs.place.clone(), "unknown key")
                    .help(help),
            );
        }
        let mut text = |wanted: &str| match named.iter().find(|(theirs, _)| theirs.value == wanted)
        {
            Some((_, WorkingInput::Text(text))) => Some(text),
            Some((theirs, _)) => {
                builder.findings.push(
                    Finding::new(Slug::WrongType, format!("`{wanted}` is not what it takes"))
                        .at(theirs.place.clone(), "a name is wanted")
                        .help(RESPONSE),
                );
                None
            }
            None => {
                let message = format!("the measured response `{}` lacks `{wanted}`", key.value);
                builder.findings.push(
                    Finding::new(Slug::MissingKey, message)
                        .at(key.place.clone(), "this response")
                        .help(RESPONSE),
                );
                None
            }
        };
        let (file, frequency, level) = (text("file"), text("frequency"), text("level"));
        let (file, frequency, level) = (file?, frequency?, level?);
        if builder.findings.len() > before {
            return None;
        }
        let points = builder.response(self.board, file, frequency, level);
        points.map_err(|found| builder.findings.extend(found)).ok()
    }

    /// Tells that what is written is of another sort than the input takes.
    fn wrong(&self, builder: &mut Builder<'_>, input: &Input, key: &Located<String>) {
        let message = format!("`{}` is not what this input takes", key.value);
        builder.findings.push(
            Finding::new(Slug::WrongType, message)
                .at(key.place.clone(), input.means)
                .help(format!("write {}", shape(input))),
        );
    }
}

/// The ids of a board's workings of these kinds.
fn fitting<'b>(board: &'b Board, kinds: &[&str]) -> Vec<&'b str> {
    let fit = board
        .workings
        .iter()
        .filter(|working| kinds.contains(&working.kind.value.as_str()));
    fit.map(|working| working.id.value.as_str()).collect()
}

/// A working is named that the board does not have.
fn no_working(board: &Board, kinds: &[&str], text: &Located<String>) -> Finding {
    let fit = fitting(board, kinds);
    let help = match (nearest(&text.value, fit.iter().copied()), fit.as_slice()) {
        (Some(near), _) => format!("perhaps `{near}`"),
        (None, []) => format!("add a `[working.<id>]` of kind {}", listed(kinds)),
        (None, fit) => format!("it could be {}", listed(fit)),
    };
    let message = format!(
        "the board `{}` has no working `{}`",
        board.id.value, text.value
    );
    Finding::new(Slug::UnknownName, message)
        .at(text.place.clone(), "not a working of this board")
        .help(help)
}

/// A working is named that is of another kind than is wanted.
fn misfit(board: &Board, kinds: &[&str], text: &Located<String>, other: &WorkingRecord) -> Finding {
    let fit = fitting(board, kinds);
    let help = match fit.as_slice() {
        [] => format!("add a `[working.<id>]` of kind {}", listed(kinds)),
        fit => format!("it could be {}", listed(fit)),
    };
    let message = format!(
        "`{}` is a working of kind `{}`, which does not do here",
        text.value, other.kind.value
    );
    Finding::new(Slug::BadValue, message)
        .at(
            text.place.clone(),
            format!("one of kind {} is wanted", listed(kinds)),
        )
        .at(other.kind.place.clone(), "its kind")
        .help(help)
}

/// What is written at an input, as an example in its record.
fn shape(input: &Input) -> String {
    let name = input.name;
    match &input.takes {
        Takes::Quantity(dimension) => format!("`{name} = \"…\"`, {dimension}"),
        Takes::Quantities(dimension, _) => {
            format!("`{name} = [\"…\", \"…\"]`, each {dimension}")
        }
        Takes::ByName(dimension) => format!("`{name} = {{ a_name = \"…\" }}`, each {dimension}"),
        Takes::Groups(inputs) => {
            let needed = inputs.iter().filter(|input| !input.optional);
            let keys: Vec<String> = needed
                .map(|input| format!("{} = \"…\"", input.name))
                .collect();
            format!("`{name} = {{ a_name = {{ {} }} }}`", keys.join(", "))
        }
        Takes::Word(words) => format!("`{name} = \"{}\"`", words.join("\"` or `\"")),
        Takes::Words => format!("`{name} = [\"…\", \"…\"]`"),
        Takes::Whole(range) => format!("`{name} = {}`", range.start()),
        Takes::Working(kinds) => {
            format!(
                "`{name} = \"…\"`, the id of a working of kind {}",
                listed(kinds)
            )
        }
        Takes::Response => {
            format!("`{name} = {{ file = \"….csv\", frequency = \"… (Hz)\", level = \"… (dB)\" }}`")
        }
    }
}
