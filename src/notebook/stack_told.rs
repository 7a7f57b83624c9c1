//! Why boards do not go together, in words; and findings of stacks that are
//! promised and do not work.

use std::collections::BTreeSet;

use super::Notebook;
use super::pin_nodes::Valued;
use super::stack_line::{LimitOf, StackLine, Thing, boards_for};
use super::stack_sums::StackSums;
use crate::finding::{Finding, Place, Slug};
use crate::quantity::{Dimension, Unit, fitted_unit, shown_digits};
use crate::record::{Records, Stack};
use crate::stack::{Clash, Conflict, Reason, Solver};

/// A number in words: three digits, with the prefix that suits it.
pub(super) fn amount(value: f64, dimension: Dimension) -> String {
    let unit = fitted_unit(value, &Unit::coherent(dimension));
    shown_digits(value, 3, &unit).to_string()
}

impl Notebook {
    /// Why boards of a line do not go together: a sentence for each conflict.
    pub fn stack_reason(&self, line: &StackLine, reason: &Reason) -> Vec<String> {
        let told = reason.conflicts.iter();
        let told = told.map(|conflict| line.sentence(&self.records, &reason.boards, conflict));
        told.collect()
    }

    /// Settings with which a stack that is promised works; the line is of its
    /// boards.
    pub fn promised_settings(&self, line: &StackLine, stack: &Stack) -> Option<Vec<usize>> {
        let all: Vec<usize> = (0..line.boards.len()).collect();
        let allowed: Vec<u64> = all.iter().map(|&at| allowed(stack, line, at)).collect();
        Solver::of(&line.line).settings_among(&all, &allowed)
    }

    /// What a stack lacks, a phrase each.
    pub fn stack_lacks(&self, line: &StackLine, sums: &StackSums) -> Vec<String> {
        lacks(&self.records, line, sums)
            .into_iter()
            .map(|(_, words)| words)
            .collect()
    }
}

impl StackLine {
    fn id<'r>(&self, records: &'r Records, board: usize) -> &'r str {
        &records.boards[self.boards[board]].id.value
    }

    fn thing(&self, records: &Records, thing: usize) -> String {
        let module = &records.modules[self.module];
        let pin = |pin: usize| &module.pins[pin].name.value;
        match &self.things[thing] {
            Thing::Pin(at) => format!("the pin `{}`", pin(*at)),
            Thing::Channel(name) => format!("the converter channel `{name}`"),
            Thing::Slice(name) => format!("the timer slice `{name}`"),
            Thing::Supply(at) => format!("the supply at `{}`", pin(*at)),
            Thing::Address(bus, address) => {
                format!("the address {address} on `{}`", module.buses[*bus].id.value)
            }
            Thing::Bottom => "the lowest place of the stack".into(),
            Thing::Top => "the highest place of the stack".into(),
        }
    }

    /// The kind of finding that a conflict is.
    fn slug(&self, conflict: &Conflict) -> Slug {
        match conflict {
            Conflict::Unfit(..) => Slug::PinUnfit,
            Conflict::Limit(at) => match self.limits[*at] {
                LimitOf::Supply { .. } => Slug::SupplyExceeded,
                LimitOf::Sink(_) | LimitOf::Capacitance(_) => Slug::PullUpLimits,
            },
            Conflict::Clash { sort, thing, .. } => match (sort, &self.things[*thing]) {
                (Clash::BackFeed, _) => Slug::BackFeed,
                (Clash::Voltage, _) => Slug::SupplyExceeded,
                (Clash::Timer, _) => Slug::TimerShared,
                (Clash::Taken, Thing::Address(..)) => Slug::AddressTaken,
                (Clash::Taken, Thing::Bottom | Thing::Top) => Slug::Height,
                (Clash::Taken, _) => Slug::PinTaken,
            },
        }
    }

    /// A conflict in a sentence without a full stop.
    fn sentence(&self, records: &Records, boards: &[usize], conflict: &Conflict) -> String {
        match *conflict {
            Conflict::Unfit(board, claim) => format!(
                "`{}` has no pin for what `{}` asks: {}",
                records.modules[self.module].id.value,
                self.id(records, board),
                self.claims[claim].words
            ),
            Conflict::Limit(at) => self.limit(records, boards, at),
            Conflict::Clash {
                sort,
                thing,
                by: (board, _),
                with: (other, claim),
            } => {
                let one = format!("`{}`", self.id(records, board));
                let other = match other {
                    Some(same) if self.boards[same] == self.boards[board] && same == board => {
                        return format!("{one} uses {} twice", self.thing(records, thing));
                    }
                    Some(other) => format!("`{}`", self.id(records, other)),
                    None => format!("`{}`", records.modules[self.module].id.value),
                };
                let what = self.thing(records, thing);
                match (sort, &self.things[thing]) {
                    (Clash::Taken, Thing::Address(..)) => {
                        format!("{other} and {one} have {what}")
                    }
                    (Clash::Taken, Thing::Bottom) => {
                        format!("{other} and {one} must both lie at the bottom")
                    }
                    (Clash::Taken, Thing::Top) => {
                        format!(
                            "{other} and {one} must both lie on top: {}",
                            self.claims[claim].words
                        )
                    }
                    (Clash::Taken, _) => format!("{other} and {one} both use {what}"),
                    (Clash::BackFeed, _) => format!(
                        "{other} and {one} both feed {what}, and one of them does not block current from the other"
                    ),
                    (Clash::Voltage, _) => {
                        format!("{other} and {one} differ in the voltage of {what}")
                    }
                    (Clash::Timer, _) => format!(
                        "{other} and {one} both make pulses with {what}, and cannot be set apart"
                    ),
                }
            }
        }
    }

    fn limit(&self, records: &Records, boards: &[usize], at: usize) -> String {
        let limit = &self.line.limits[at];
        let sum = limit.sum(boards).unwrap_or(0.0);
        let module = &records.modules[self.module];
        match self.limits[at] {
            LimitOf::Supply { pin, by } => {
                let giver = by.map_or(&module.id.value, |by| {
                    &records.boards[self.boards[by]].id.value
                });
                format!(
                    "up to {} are drawn at `{}`, and `{giver}` gives {}",
                    amount(sum, Dimension::CURRENT),
                    module.pins[pin].name.value,
                    amount(limit.most, Dimension::CURRENT)
                )
            }
            LimitOf::Sink(bus) => format!(
                "the pull-ups of `{}` come to {}, and outputs of a {} bus need at least {}",
                module.buses[bus].id.value,
                amount(1.0 / sum, Dimension::RESISTANCE),
                module.buses[bus].mode.word(),
                amount(1.0 / limit.most, Dimension::RESISTANCE)
            ),
            LimitOf::Capacitance(bus) => format!(
                "the lines of `{}` come to {}, and {} are allowed",
                module.buses[bus].id.value,
                amount(sum, Dimension::CAPACITANCE),
                amount(limit.most, Dimension::CAPACITANCE)
            ),
        }
    }

    /// Places that a conflict is about, each with what stands there.
    fn places(
        &self,
        records: &Records,
        boards: &[usize],
        conflict: &Conflict,
    ) -> Vec<(Place, String)> {
        let claim = |at: usize| (self.claims[at].place.clone(), self.claims[at].words.clone());
        match *conflict {
            Conflict::Unfit(_, at) => vec![claim(at)],
            Conflict::Clash { by, with, .. } => vec![claim(with.1), claim(by.1)],
            Conflict::Limit(at) => {
                let limit = &self.line.limits[at];
                let adding = boards.iter().filter(|&&board| limit.adds[board] > 0.0);
                let mut places: Vec<(Place, String)> = adding
                    .filter_map(|&board| {
                        let record = &records.boards[self.boards[board]];
                        let pins = record.pins.as_ref()?;
                        let (place, dimension) = self.adds_at(records, pins, self.limits[at])?;
                        let adds = match self.limits[at] {
                            LimitOf::Sink(_) => 1.0 / limit.adds[board],
                            _ => limit.adds[board],
                        };
                        let adds = amount(adds, dimension);
                        Some((place, format!("`{}` brings {adds}", record.id.value)))
                    })
                    .collect();
                if let Some(by) = limit.brought_by {
                    let record = &records.boards[self.boards[by]];
                    let supplies = record.pins.iter().flat_map(|pins| &pins.supplies);
                    let limits = supplies.filter_map(|supply| supply.limit.as_ref());
                    places
                        .extend(limits.map(|limit| (limit.place.clone(), "the limit".to_owned())));
                }
                places
            }
        }
    }

    /// Where a board says what it adds to a limit.
    fn adds_at(
        &self,
        records: &Records,
        pins: &crate::record::Pins,
        of: LimitOf,
    ) -> Option<(Place, Dimension)> {
        let module = &records.modules[self.module];
        match of {
            LimitOf::Supply { pin, .. } => {
                let mut supplies = pins.supplies.iter();
                let supply = supplies.find(|supply| {
                    let behind = super::stack_line::pin_behind(module, pins, &supply.contact.value);
                    supply.draw.is_some() && behind == Some(pin)
                })?;
                Some((supply.draw.as_ref()?.place.clone(), Dimension::CURRENT))
            }
            LimitOf::Sink(_) => {
                let pull_up = pins.buses.iter().find_map(|bus| bus.pull_up.as_ref())?;
                Some((pull_up.place.clone(), Dimension::RESISTANCE))
            }
            LimitOf::Capacitance(_) => {
                let found = pins.buses.iter().find_map(|bus| bus.capacitance.as_ref())?;
                Some((found.place.clone(), Dimension::CAPACITANCE))
            }
        }
    }
}

/// What a stack lacks, and which kind of finding that is.
fn lacks(records: &Records, line: &StackLine, sums: &StackSums) -> Vec<(Slug, String)> {
    let module = &records.modules[line.module];
    let mut lacks = Vec::new();
    for supply in sums.supplies.iter().filter(|supply| !supply.given) {
        let pin = &module.pins[supply.pin].name.value;
        lacks.push((
            Slug::SupplyExceeded,
            format!("nobody gives the supply at `{pin}`"),
        ));
    }
    for bus in sums.buses.iter().filter(|bus| !bus.rises()) {
        let name = &module.buses[bus.bus].id.value;
        let words = match bus.rise {
            None => format!("the bus `{name}` has no pull-ups"),
            Some(rise) => format!(
                "the bus `{name}` may take {} to rise, and {} are allowed",
                amount(rise, Dimension::TIME),
                amount(bus.rise_limit, Dimension::TIME)
            ),
        };
        lacks.push((Slug::PullUpLimits, words));
    }
    lacks
}

/// Findings of boards that do not work on their own module, and of stacks that
/// are promised and do not work.
pub(super) fn findings(valued: &Valued<'_>, findings: &mut Vec<Finding>) {
    alone(valued, findings);
    for stack in &valued.records.stacks {
        promised(valued, stack, findings);
    }
}

/// Each board on the module that it is made for.
fn alone(valued: &Valued<'_>, findings: &mut Vec<Finding>) {
    let records = valued.records;
    for module in 0..records.modules.len() {
        let id = &records.modules[module].id.value;
        for board in boards_for(records, module) {
            let record = &records.boards[board];
            if record.module.as_ref().is_none_or(|of| of.value != *id) {
                continue;
            }
            let line = StackLine::of(valued, module, &[board]);
            if let Some(reason) = Solver::of(&line.line).reason(&[0]) {
                let what = format!("`{}` does not work on `{id}`", record.id.value);
                findings.extend(told(records, &line, &reason, &what, None));
            }
        }
    }
}

fn promised(valued: &Valued<'_>, stack: &Stack, findings: &mut Vec<Finding>) {
    let records = valued.records;
    let module = |id: &str| records.module_at(id);
    let board = |id: &str| {
        let found = records.board_at(id)?;
        records.boards[found].pins.as_ref().map(|_| found)
    };
    let boards: Option<Vec<usize>> = stack.boards.iter().map(|id| board(&id.value)).collect();
    // What does not exist has been told.
    let Some((module, boards)) = module(&stack.module.value).zip(boards) else {
        return;
    };
    let what = format!("the stack `{}` does not work", stack.id.value);
    let fitting: BTreeSet<usize> = boards_for(records, module).into_iter().collect();
    for (id, board) in stack.boards.iter().zip(&boards) {
        if !fitting.contains(board) {
            let pins = records.boards[*board].pins.as_ref();
            let connector = pins.and_then(|pins| pins.connector.as_ref());
            let mut finding = Finding::new(
                Slug::PinUnfit,
                format!(
                    "{what}: `{}` has no place for `{}`",
                    stack.module.value, id.value
                ),
            )
            .at(id.place.clone(), "in this stack")
            .help("describe both in the contacts of one connector");
            if let Some(connector) = connector {
                let label = format!("made for `{}`", connector.value);
                finding = finding.at(connector.place.clone(), label);
            }
            findings.push(finding);
            return;
        }
    }
    let line = StackLine::of(valued, module, &boards);
    let solver = Solver::of(&line.line);
    let all: Vec<usize> = (0..boards.len()).collect();
    let allowed: Vec<u64> = all.iter().map(|&at| allowed(stack, &line, at)).collect();
    if solver.settings_among(&all, &allowed).is_none() {
        let reason = solver.reason_among(&all, &allowed);
        findings.extend(told(records, &line, &reason, &what, Some(stack)));
        return;
    }
    let sums = line.sums(records, &all);
    for (slug, words) in lacks(records, &line, &sums) {
        findings.push(
            Finding::new(slug, format!("{what}: {words}"))
                .at(stack.id.place.clone(), "promised here")
                .help("add a board that brings it, or say so of one that does"),
        );
    }
}

/// Settings of a board that are promised with a stack, as bits.
fn allowed(stack: &Stack, line: &StackLine, at: usize) -> u64 {
    let id = &stack.boards[at].value;
    let settings = line.straps[at].iter().enumerate();
    let fitting = settings.filter(|(_, straps)| {
        let mut promised = stack
            .straps
            .iter()
            .filter(|(board, _, _)| board.value == *id);
        promised.all(|(_, strap, position)| {
            let mut straps = straps.iter();
            // A strap that is not there has been told.
            let standing = straps.find(|standing| standing.strap == strap.value);
            standing.is_none_or(|standing| standing.position == position.value)
        })
    });
    let bits = fitting.fold(0, |bits, (setting, _)| bits | 1 << setting);
    // A position that is not there has been told as well.
    if bits == 0 { u64::MAX } else { bits }
}

/// The finding of a reason, with all its places.
fn told(
    records: &Records,
    line: &StackLine,
    reason: &Reason,
    what: &str,
    stack: Option<&Stack>,
) -> Option<Finding> {
    let first = reason.conflicts.first()?;
    let sentence = |conflict| line.sentence(records, &reason.boards, conflict);
    let mut finding = Finding::new(line.slug(first), format!("{what}: {}", sentence(first)));
    if let Some(stack) = stack {
        finding = finding.at(stack.id.place.clone(), "promised here");
        for (board, strap, position) in &stack.straps {
            let boards = reason.boards.iter();
            if boards
                .clone()
                .any(|&at| line.id(records, at) == board.value)
            {
                let label = format!("`{}` promised at `{}`", strap.value, position.value);
                finding = finding.at(position.place.clone(), label);
            }
        }
    }
    let mut seen = BTreeSet::new();
    for conflict in &reason.conflicts {
        for (place, label) in line.places(records, &reason.boards, conflict) {
            if seen.insert(place.clone()) {
                finding = finding.at(place, label);
            }
        }
    }
    for conflict in &reason.conflicts[1..] {
        finding = finding.note(format!("with other settings {}", sentence(conflict)));
    }
    if reason.boards.iter().any(|&at| line.straps[at].len() > 1) {
        finding = finding.note("every setting of the straps was tried");
    }
    Some(finding.help(match (line.slug(first), first) {
        (Slug::PullUpLimits, _) => "leave the pull-ups off one of the boards, or take one out",
        (Slug::SupplyExceeded, Conflict::Limit(_)) => {
            "take one of the boards out, or bring a stronger supply"
        }
        (Slug::SupplyExceeded, _) => "take one of the boards out, or bring another supply",
        (Slug::BackFeed, _) => {
            "put a diode or a switch behind each source and say `blocks = true`, or take one out"
        }
        (Slug::Height, _) => "stack one of them elsewhere, or use lower parts or longer headers",
        (Slug::TimerShared, _) => {
            "state the same `frequency` for both, or move one of them to another slice"
        }
        (Slug::PinUnfit, _) => "claim a pin that can do it; the module's `can` says which",
        (Slug::AddressTaken, _) => "give one of the devices another address, or a strap for one",
        _ => "move one of them to another pin, give it a strap, or take it out",
    }))
}
