//! Names in records of pins: whether each of them means something.

use std::collections::BTreeSet;

use super::pin_free;
use crate::finding::{Finding, Located, Place, Slug};
use crate::nearest::nearest;
use crate::record::{Choice, Connector, Module, PinUse, Pins, Records, Stack};
use crate::stack::MOST_SETTINGS;
use crate::trade::Address;

/// Checks the names of modules, of boards and of stacks.
pub(super) fn check(records: &Records, findings: &mut Vec<Finding>) {
    let mut names = Names { records, findings };
    for connector in &records.connectors {
        names.connector(connector);
    }
    for module in &records.modules {
        names.module(module);
    }
    for at in 0..records.boards.len() {
        names.board(at);
    }
    for stack in &records.stacks {
        names.stack(stack);
    }
}

struct Names<'a> {
    records: &'a Records,
    findings: &'a mut Vec<Finding>,
}

/// The finding of a name that is none of those that are known.
pub(super) fn unknown<'k>(
    name: &Located<String>,
    message: String,
    label: &str,
    known: impl Iterator<Item = &'k str>,
) -> Finding {
    let known: Vec<&str> = known.collect();
    let finding = Finding::new(Slug::UnknownName, message).at(name.place.clone(), label);
    match nearest(&name.value, known.iter().copied()) {
        Some(near) => finding
            .help(format!("perhaps `{near}`"))
            .mend(name.place.clone(), near),
        None if known.is_empty() => finding.help("none is there"),
        None => finding.help(format!("there are {}", known.join(", "))),
    }
}

pub(super) fn bad(place: &Place, message: String, label: &str, help: impl Into<String>) -> Finding {
    Finding::new(Slug::BadValue, message)
        .at(place.clone(), label)
        .help(help)
}

fn texts(names: &[Located<String>]) -> impl Iterator<Item = &str> {
    names.iter().map(|name| name.value.as_str())
}

impl Names<'_> {
    fn connector(&mut self, connector: &Connector) {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        for contact in &connector.contacts {
            if !seen.insert(&contact.value) {
                let message = format!("two contacts are called `{}`", contact.value);
                self.findings.push(
                    Finding::new(Slug::DuplicateId, message)
                        .at(contact.place.clone(), "again here")
                        .help("number them, as in `gnd_1` and `gnd_2`"),
                );
            }
        }
        for named in connector.ground.iter().chain(&connector.supply) {
            if !seen.contains(named.value.as_str()) {
                let message = format!("there is no contact `{}`", named.value);
                self.findings.push(unknown(
                    named,
                    message,
                    "no contact of this connector",
                    texts(&connector.contacts),
                ));
            }
        }
    }

    fn module(&mut self, module: &Module) {
        let pins = || module.pins.iter().map(|pin| pin.name.value.as_str());
        let known_pin = |name: &str| module.pins.iter().any(|pin| pin.name.value == name);
        for word in module.pins.iter().flat_map(|pin| &pin.can) {
            if PinUse::by_word(&word.value).is_none() {
                let words = PinUse::ALL.iter().map(|known| known.word());
                let message = format!("no pin can `{}`", word.value);
                let mut finding = unknown(word, message, "not a use of a pin", words);
                finding.slug = Slug::BadValue;
                self.findings.push(finding);
            }
        }
        let mut named: Vec<&Located<String>> = Vec::new();
        named.extend(module.buses.iter().flat_map(|bus| [&bus.clock, &bus.data]));
        for mapping in &module.connectors {
            named.extend(mapping.pins.iter().map(|(_, pin)| pin));
            let id = &mapping.connector;
            let Some(connector) = self.records.connector(&id.value) else {
                let known = self.records.connectors.iter();
                let known = known.map(|connector| connector.id.value.as_str());
                let message = format!("there is no connector `{}`", id.value);
                self.findings.push(unknown(id, message, "not known", known));
                continue;
            };
            for (contact, _) in &mapping.pins {
                if !texts(&connector.contacts).any(|known| known == contact.value) {
                    let message = format!("`{}` has no contact `{}`", id.value, contact.value);
                    self.findings.push(unknown(
                        contact,
                        message,
                        "no contact of this connector",
                        texts(&connector.contacts),
                    ));
                }
            }
        }
        for pin in named {
            if !known_pin(&pin.value) {
                let message = format!("`{}` has no pin `{}`", module.id.value, pin.value);
                self.findings
                    .push(unknown(pin, message, "no pin of this module", pins()));
            }
        }
    }

    fn board(&mut self, at: usize) {
        let board = &self.records.boards[at];
        let Some(pins) = &board.pins else {
            return;
        };
        let module = board.module.as_ref();
        let module = module.and_then(|module| self.records.module(&module.value));
        if let Some(id) = &pins.connector {
            if self.records.connector(&id.value).is_none() {
                let known = self.records.connectors.iter();
                let known = known.map(|connector| connector.id.value.as_str());
                let message = format!("there is no connector `{}`", id.value);
                self.findings.push(unknown(id, message, "not known", known));
                return;
            }
            if let Some(module) = module {
                let connectors = || {
                    module
                        .connectors
                        .iter()
                        .map(|it| it.connector.value.as_str())
                };
                if !connectors().any(|known| known == id.value) {
                    let message = format!("`{}` has no `{}`", module.id.value, id.value);
                    let label = "not on the module that the board is made for";
                    self.findings
                        .push(unknown(id, message, label, connectors()));
                }
            }
        } else if module.is_none() {
            // A module that does not exist has been told already.
            if board.module.is_none() {
                self.findings.push(bad(
                    &pins.place,
                    format!("`{}` uses pins of no module", board.id.value),
                    "whose pins are these?",
                    "name a `connector` here, or a `module` under `[board]`",
                ));
            }
            return;
        }
        self.contacts(pins, module);
        pin_free::check(board, pins, self.findings);
        self.straps(pins);
        self.devices(pins);
    }

    /// Names of contacts: of the connector, or else of the module's pins.
    fn contacts(&mut self, pins: &Pins, module: Option<&Module>) {
        let connector = pins.connector.as_ref();
        let connector = connector.and_then(|id| self.records.connector(&id.value));
        let (known, what): (Vec<&str>, &str) = match (connector, module) {
            (Some(connector), _) => (texts(&connector.contacts).collect(), "contact"),
            (None, Some(module)) => (
                module
                    .pins
                    .iter()
                    .map(|pin| pin.name.value.as_str())
                    .collect(),
                "pin",
            ),
            (None, None) => return,
        };
        let mut named: Vec<&Located<String>> = Vec::new();
        for claim in &pins.claims {
            match &claim.contact {
                Choice::Fixed(contact) => named.push(contact),
                Choice::ByStrap { settles, .. } => named.extend(settles.iter().map(|(_, it)| it)),
            }
        }
        named.extend(pins.buses.iter().flat_map(|bus| [&bus.clock, &bus.data]));
        named.extend(pins.supplies.iter().map(|supply| &supply.contact));
        named.extend(&pins.leaves);
        for contact in named {
            if !known.contains(&contact.value.as_str()) {
                let message = format!("there is no {what} `{}`", contact.value);
                let label = format!("no such {what}");
                self.findings
                    .push(unknown(contact, message, &label, known.iter().copied()));
            }
        }
    }

    fn straps(&mut self, pins: &Pins) {
        let mut settings = 1usize;
        for strap in &pins.straps {
            let name = &strap.designator.value;
            settings = settings.saturating_mul(strap.positions.len().max(1));
            let mut seen: BTreeSet<&str> = BTreeSet::new();
            for position in &strap.positions {
                if !seen.insert(&position.value) {
                    let message = format!("`{name}` has the position `{}` twice", position.value);
                    self.findings.push(
                        Finding::new(Slug::DuplicateId, message)
                            .at(position.place.clone(), "again here"),
                    );
                }
            }
            if seen.len() < 2 {
                self.findings.push(bad(
                    &strap.designator.place,
                    format!("the strap `{name}` has nothing to choose"),
                    "fewer than two positions",
                    "name its positions as they are printed on the board",
                ));
            }
            if let Some(factory) = &strap.factory
                && !seen.contains(factory.value.as_str())
            {
                let message = format!("`{name}` has no position `{}`", factory.value);
                let known = texts(&strap.positions);
                self.findings
                    .push(unknown(factory, message, "no such position", known));
            }
            let settles = |choice: &Choice| matches!(choice, Choice::ByStrap { strap, .. } if strap.value == *name);
            let used = pins.claims.iter().any(|claim| settles(&claim.contact))
                || pins.devices.iter().any(|device| settles(&device.address));
            if !used {
                self.findings.push(bad(
                    &strap.designator.place,
                    format!("the strap `{name}` names no address and no contact"),
                    "it settles nothing",
                    format!("give a device its `addresses`, or a claim its `contacts`, with `strap = \"{name}\"`"),
                ));
            }
        }
        if settings > MOST_SETTINGS {
            self.findings.push(bad(
                &pins.place,
                format!("the straps of this board can stand in {settings} ways"),
                "too many to go through",
                format!("straps that are set together can be one record; {MOST_SETTINGS} ways are gone through"),
            ));
        }
        for claim in &pins.claims {
            self.choice(pins, &claim.contact, &claim.id, "contact");
        }
        for device in &pins.devices {
            self.choice(pins, &device.address, &device.id, "address");
        }
    }

    /// Whether a strap is there, and settles something in each position.
    fn choice(&mut self, pins: &Pins, choice: &Choice, of: &Located<String>, what: &str) {
        let Choice::ByStrap { strap, settles } = choice else {
            return;
        };
        let found = pins
            .straps
            .iter()
            .find(|known| known.designator.value == strap.value);
        let Some(found) = found else {
            let known = pins
                .straps
                .iter()
                .map(|strap| strap.designator.value.as_str());
            let message = format!("there is no strap `{}`", strap.value);
            self.findings
                .push(unknown(strap, message, "not among `pins.strap`", known));
            return;
        };
        for (position, _) in settles {
            if !texts(&found.positions).any(|known| known == position.value) {
                let message = format!("`{}` has no position `{}`", strap.value, position.value);
                let known = texts(&found.positions);
                self.findings
                    .push(unknown(position, message, "no such position", known));
            }
        }
        for position in &found.positions {
            if !settles
                .iter()
                .any(|(known, _)| known.value == position.value)
            {
                let message = format!(
                    "the strap `{}` names no {what} of `{}` at `{}`",
                    strap.value, of.value, position.value
                );
                self.findings.push(
                    bad(
                        &strap.place,
                        message,
                        "settles it in other positions",
                        format!("say which {what} it is at `{}`", position.value),
                    )
                    .at(position.place.clone(), "this position"),
                );
            }
        }
    }

    fn devices(&mut self, pins: &Pins) {
        for device in &pins.devices {
            let buses = || pins.buses.iter().map(|bus| bus.id.value.as_str());
            if !buses().any(|known| known == device.bus.value) {
                let message = format!("there is no bus `{}` on this board", device.bus.value);
                let label = "not among `pins.bus`";
                self.findings
                    .push(unknown(&device.bus, message, label, buses()));
            }
            let addresses: Vec<&Located<String>> = match &device.address {
                Choice::Fixed(address) => vec![address],
                Choice::ByStrap { settles, .. } => settles.iter().map(|(_, it)| it).collect(),
            };
            for address in addresses {
                if let Err(fault) = Address::parse(&address.value) {
                    let message = format!(
                        "`{}` is no address of a two-wire bus: {fault}",
                        address.value
                    );
                    self.findings.push(bad(
                        &address.place,
                        message,
                        "this address",
                        "write seven bits without the direction bit, as 0x48; 0x08 to 0x77 are free (NXP UM10204, 3.1.12)",
                    ));
                }
            }
        }
    }

    fn stack(&mut self, stack: &Stack) {
        let records = self.records;
        if records.module(&stack.module.value).is_none() {
            let message = format!("there is no module `{}`", stack.module.value);
            let known = records
                .modules
                .iter()
                .map(|module| module.id.value.as_str());
            self.findings
                .push(unknown(&stack.module, message, "not known", known));
        }
        for id in &stack.boards {
            match records.board(&id.value) {
                None => {
                    let message = format!("there is no board `{}`", id.value);
                    let known = records.boards.iter().map(|board| board.id.value.as_str());
                    self.findings
                        .push(unknown(id, message, "in this stack", known));
                }
                Some(board) if board.pins.is_none() => self.findings.push(
                    bad(
                        &id.place,
                        format!("`{}` does not say what it uses of a module", id.value),
                        "nothing can be promised of it",
                        format!("write `[pins]` into `boards/{}/board.toml`", id.value),
                    )
                    .at(board.id.place.clone(), "this board"),
                ),
                Some(_) => {}
            }
        }
        for (id, strap, position) in &stack.straps {
            if !stack.boards.iter().any(|board| board.value == id.value) {
                let message = format!("`{}` is not in this stack", id.value);
                let known = texts(&stack.boards);
                self.findings.push(unknown(id, message, "set here", known));
                continue;
            }
            let Some(pins) = records
                .board(&id.value)
                .and_then(|board| board.pins.as_ref())
            else {
                continue;
            };
            let found = pins
                .straps
                .iter()
                .find(|known| known.designator.value == strap.value);
            let Some(found) = found else {
                let message = format!("`{}` has no strap `{}`", id.value, strap.value);
                let known = pins
                    .straps
                    .iter()
                    .map(|strap| strap.designator.value.as_str());
                self.findings
                    .push(unknown(strap, message, "set here", known));
                continue;
            };
            if !texts(&found.positions).any(|known| known == position.value) {
                let message = format!("`{}` has no position `{}`", strap.value, position.value);
                let known = texts(&found.positions);
                self.findings
                    .push(unknown(position, message, "no such position", known));
            }
        }
    }
}
