//! Pins that a module has free for a board, on the graph of figures.

use super::build::Builder;
use super::graph::{Body, Node, Origin};
use super::pin_names::{bad, unknown};
use crate::finding::{Finding, Located};
use crate::quantity::{Dimension, Given};
use crate::record::{Board, Choice, Claim, Module, PinUse, Pins, Records};

/// Contacts that a board uses, with the claim where it is one. What a strap
/// settles is used in every position, for a customer may set it so.
pub(super) fn uses(pins: &Pins) -> impl Iterator<Item = (&Located<String>, Option<&Claim>)> {
    let claims = pins.claims.iter().flat_map(|claim| {
        let contacts: Vec<&Located<String>> = match &claim.contact {
            Choice::Fixed(contact) => vec![contact],
            Choice::ByStrap { settles, .. } => settles.iter().map(|(_, it)| it).collect(),
        };
        contacts
            .into_iter()
            .map(move |contact| (contact, Some(claim)))
    });
    let buses = pins.buses.iter().flat_map(|bus| [&bus.clock, &bus.data]);
    let supplies = pins.supplies.iter().map(|supply| &supply.contact);
    claims.chain(buses.chain(supplies).map(|contact| (contact, None)))
}

/// A contact, with the pin of the module behind it.
struct Behind<'r> {
    contact: &'r str,
    can: Vec<PinUse>,
}

/// Every contact that a board speaks in; `None` where a name on the way means
/// nothing, which has a finding of its own.
fn behind<'r>(records: &'r Records, pins: &Pins, module: &'r Module) -> Option<Vec<Behind<'r>>> {
    let can = |pin: &str| {
        let pin = module.pins.iter().find(|known| known.name.value == pin)?;
        let words = pin.can.iter().map(|word| PinUse::by_word(&word.value));
        words.collect::<Option<Vec<PinUse>>>()
    };
    let Some(connector) = &pins.connector else {
        let names = module.pins.iter().map(|pin| &pin.name.value);
        let all = names.map(|name| {
            Some(Behind {
                contact: name,
                can: can(name)?,
            })
        });
        return all.collect();
    };
    records.connector(&connector.value)?;
    let mut mappings = module.connectors.iter();
    let mapping = mappings.find(|mapping| mapping.connector.value == connector.value)?;
    let all = mapping.pins.iter().map(|(contact, pin)| {
        Some(Behind {
            contact: &contact.value,
            can: can(&pin.value)?,
        })
    });
    all.collect()
}

/// Checks that contacts which are left to others are not used, and that the
/// workings which contacts are wired after are there.
pub(super) fn check(board: &Board, pins: &Pins, findings: &mut Vec<Finding>) {
    for left in &pins.leaves {
        let used = uses(pins).find(|(contact, _)| contact.value == left.value);
        if let Some((contact, _)) = used {
            let message = format!("`{}` is left to other boards, and used", left.value);
            findings.push(
                bad(&left.place, message, "left here", "do one or the other")
                    .at(contact.place.clone(), "used here"),
            );
        }
    }
    let workings = board.workings.iter();
    let known: Vec<&str> = workings.map(|working| working.id.value.as_str()).collect();
    let named = pins
        .claims
        .iter()
        .filter_map(|claim| claim.working.as_ref());
    for working in named.filter(|working| !known.contains(&working.value.as_str())) {
        let mut unread = board.left_out.iter();
        if unread.any(|record| record.kind == "working" && record.name == working.value) {
            continue;
        }
        let message = format!(
            "the board `{}` has no working `{}`",
            board.id.value, working.value
        );
        let label = "not a working of this board";
        findings.push(unknown(working, message, label, known.iter().copied()));
    }
}

impl Builder<'_> {
    /// Puts on the graph how many pins of its module a board has free, by what
    /// they can do: all but those that it uses for something else than a working
    /// that it wires after them, and those that it leaves to other boards.
    pub(super) fn free_pins(&mut self, at: usize, pins: &Pins) {
        let records = self.records;
        let board = &records.boards[at];
        let module = board.module.as_ref();
        let module = module.and_then(|module| records.module(&module.value));
        let Some(all) = module.and_then(|module| behind(records, pins, module)) else {
            return;
        };
        let taken = |name: &str| {
            let for_good =
                |claim: Option<&Claim>| claim.is_none_or(|claim| claim.working.is_none());
            pins.leaves.iter().any(|left| left.value == name)
                || uses(pins).any(|(contact, claim)| contact.value == name && for_good(claim))
        };
        let free: Vec<Behind<'_>> = all.into_iter().filter(|it| !taken(it.contact)).collect();
        let reads = |it: &&Behind<'_>| it.can.contains(&PinUse::Input);
        let drives = |it: &&Behind<'_>| it.can.contains(&PinUse::Output);
        let names = |fit: &dyn Fn(&&Behind<'_>) -> bool| {
            let fit = free.iter().filter(fit);
            fit.map(|it| it.contact).collect::<Vec<&str>>()
        };
        let left: Vec<&str> = pins.leaves.iter().map(|left| left.value.as_str()).collect();
        let left = match left.as_slice() {
            [] => String::new(),
            left => format!("; left to others: {}", left.join(", ")),
        };
        for (name, what, free) in [
            ("free_inputs", "can be read", names(&reads)),
            ("free_outputs", "can be driven", names(&drives)),
            (
                "free_both",
                "can be read and driven",
                names(&|it: &&Behind<'_>| reads(it) && drives(it)),
            ),
        ] {
            // A whole number with its unit is always text of a quantity.
            let Ok(count) = Given::parse(&format!("{} count", free.len()), Some(Dimension::COUNTS))
            else {
                continue;
            };
            let listed = match free.as_slice() {
                [] => "none".to_owned(),
                free => free.join(", "),
            };
            self.graph.add(Node {
                scope: board.id.value.clone(),
                name: format!("pins.{name}"),
                means: format!("Free contacts that {what}: {listed}{left}"),
                origin: Origin::Pins { board: at },
                place: pins.place.clone(),
                body: Body::Given(count),
                unit: None,
            });
        }
    }
}
