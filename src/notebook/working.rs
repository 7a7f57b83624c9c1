//! Workings on the graph: their inputs and results as figures.

use super::build::{Builder, Pending};
use super::graph::{Body, Node, Origin};
use super::resolve::listed;
use crate::finding::{Finding, Place, Slug};
use crate::formula::Formula;
use crate::nearest::nearest;
use crate::record::WorkingRecord;
use crate::trade;

impl Builder<'_> {
    pub(super) fn workings(&mut self, at: usize) {
        let board = &self.records.boards[at];
        for (working, record) in board.workings.iter().enumerate() {
            let Some(kind) = trade::kind(&record.kind.value) else {
                let known: Vec<&str> = trade::KINDS.iter().map(|kind| kind.name).collect();
                let help = match nearest(&record.kind.value, known.iter().copied()) {
                    Some(near) => format!("perhaps `{near}`"),
                    None => format!("known kinds are {}", listed(&known)),
                };
                self.findings.push(
                    Finding::new(
                        Slug::BadValue,
                        format!("there is no kind of working `{}`", record.kind.value),
                    )
                    .at(record.kind.place.clone(), "not a kind of working")
                    .help(help),
                );
                continue;
            };
            self.working(at, working, record, kind);
        }
    }

    fn working(
        &mut self,
        at: usize,
        working: usize,
        record: &WorkingRecord,
        kind: &'static trade::Kind,
    ) {
        let scope = self.records.boards[at].id.value.clone();
        let known = || kind.inputs.iter().map(|input| input.name);
        for (key, _) in record
            .inputs
            .iter()
            .filter(|(key, _)| !known().any(|name| name == key.value))
        {
            let names: Vec<&str> = known().collect();
            let help = match nearest(&key.value, known()) {
                Some(near) => format!("perhaps `{near}`"),
                None => format!("it takes {}", listed(&names)),
            };
            self.findings.push(
                Finding::new(
                    Slug::UnknownKey,
                    format!("a working of kind `{}` takes no `{}`", kind.name, key.value),
                )
                .at(key.place.clone(), "unknown input")
                .help(help),
            );
        }
        let add =
            |builder: &mut Self, name: &str, means: &str, result: Option<usize>, place: &Place| {
                builder.graph.add(Node {
                    scope: scope.clone(),
                    name: format!("{}.{name}", record.id.value),
                    means: means.to_owned(),
                    origin: Origin::Working {
                        board: at,
                        working,
                        result,
                    },
                    place: place.clone(),
                    body: Body::Broken,
                    unit: None,
                })
            };
        let mut there: Vec<&str> = Vec::new();
        for input in kind.inputs {
            match record
                .inputs
                .iter()
                .find(|(key, _)| key.value == input.name)
            {
                Some((key, text)) => {
                    let id = add(self, input.name, input.means, None, &key.place);
                    self.computed(id, at, text, None, Some(input.dimension));
                    there.push(input.name);
                }
                None if input.optional => {}
                None => self.findings.push(
                    Finding::new(
                        Slug::MissingKey,
                        format!("the working `{}` lacks `{}`", record.id.value, input.name),
                    )
                    .at(
                        record.id.place.clone(),
                        format!("{} is wanted", input.means),
                    )
                    .help(format!("add `{} = \"…\"`, {}", input.name, input.dimension)),
                ),
            }
        }
        for (result, worked) in kind.results.iter().enumerate() {
            // A test of `trade` reads every formula of every kind.
            let Ok(formula) = Formula::parse(worked.from) else {
                continue;
            };
            if formula
                .names()
                .iter()
                .all(|used| there.contains(&used.name.as_str()))
            {
                let id = add(
                    self,
                    worked.name,
                    worked.means,
                    Some(result),
                    &record.id.place,
                );
                let place = record.kind.place.clone();
                let own = Some(record.id.value.clone());
                self.pending.push(Pending {
                    node: id,
                    board: at,
                    formula,
                    place,
                    own,
                    wanted: None,
                });
                there.push(worked.name);
            }
        }
    }
}
