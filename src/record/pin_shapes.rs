//! Records of pins, connectors and stacks: their keys, what they take, and what
//! they mean.
//!
//! A row is a key, so the layout of this file is its own.

use super::shape::{Key, Names, Shape, Takes};
use super::shapes::{CURRENT, VOLTAGE, may, must, record};
use super::word::{BusMode, Mount, PinUse};
use crate::quantity::Dimension;

const RESISTANCE: Takes = Takes::Quantity(Some(Dimension::RESISTANCE));
const CAPACITANCE: Takes = Takes::Quantity(Some(Dimension::CAPACITANCE));
const LENGTH: Takes = Takes::Quantity(Some(Dimension::LENGTH));
const BLOCKS: Key = may(
    "blocks",
    Takes::Flag,
    "whether a diode or a switch keeps current from flowing back; false if nothing is said",
);
const STRAP_OF: Key = may("strap", Takes::Text, "designator of the strap that settles it");

pub(crate) static MODULE_PIN: Shape = record(
    "module_pin",
    "a pin of a module",
    "[module.<id>.pin.<name>]",
    "A pin of a module: what it can do, what lies behind it, what it gives or takes.",
    &[
        may("means", Takes::Text, "what it is, in words"),
        may("can", Takes::Texts, "what it can do, in the words that claims of boards use"),
        may("slice", Takes::Text, "slice of the timer behind it; all outputs of one slice have one frequency"),
        may("output", Takes::Text, "which output of that slice it is; pins on one output have one duty"),
        may("channel", Takes::Text, "channel of the converter behind it"),
        may("ground", Takes::Flag, "whether it is ground; false if nothing is said"),
        may("gives", VOLTAGE, "supply voltage that the module gives here"),
        may("limit", CURRENT, "greatest current that boards together may draw here"),
        BLOCKS,
        may("takes", VOLTAGE, "supply voltages that the module takes here"),
        may("draw", CURRENT, "current that the module draws here"),
    ],
);

pub(crate) static MODULE_BUS: Shape = record(
    "module_bus",
    "a bus of a module",
    "[module.<id>.bus.<id>]",
    "A two-wire bus of a module.",
    &[
        must("clock", Takes::Text, "pin of the clock"),
        must("data", Takes::Text, "pin of the data"),
        may("mode", Takes::Word(BusMode::WORDS), "mode that it runs in; standard if nothing is said"),
        must("supply", VOLTAGE, "voltage that its pull-ups lead to"),
        may("pull_up", RESISTANCE, "pull-up of each line on the module"),
        may("capacitance", CAPACITANCE, "capacitance of each line on the module"),
    ],
);

pub(crate) static CONNECTOR: Shape = record(
    "connector",
    "a connector",
    "[connector.<id>]",
    "Contacts that modules and boards have in common.",
    &[
        must("title", Takes::Text, "name for people"),
        must("contacts", Takes::Texts, "names of the contacts, from contact 1 on"),
        may("rows", Takes::Whole, "rows that they lie in, one after another; 1 if nothing is said"),
        may("ground", Takes::Texts, "contacts that carry ground"),
        may("supply", Takes::Texts, "contacts that carry a supply"),
        may("clearance", LENGTH, "room between two boards that are stacked on it"),
    ],
);

pub(crate) static PINS: Shape = record(
    "pins",
    "the pins",
    "[pins]",
    "What a board uses of the module that it is stacked on.",
    &[
        may("connector", Takes::Id("connector"), "connector in whose contacts it is said; the pins of the board's module if nothing is said"),
        may("mount", Takes::Word(Mount::WORDS), "how the board lies in a stack; through if nothing is said"),
        may("height", Takes::Formula, "height of the tallest part above the board"),
        may("claim", Takes::Named(Names::Id, &Takes::Table(&CLAIM)), "contacts that it uses, by what for"),
        may("bus", Takes::Named(Names::Id, &Takes::Table(&BOARD_BUS)), "two-wire buses that it is on, by name"),
        may("device", Takes::Named(Names::Id, &Takes::Table(&DEVICE)), "devices on its buses, by name"),
        may("supply", Takes::Named(Names::Pin, &Takes::Table(&BOARD_SUPPLY)), "supplies that it draws from or gives, by contact"),
        may("strap", Takes::Named(Names::Designator, &Takes::Table(&STRAP)), "solder bridges, jumpers and address pins by designator"),
        may("leaves", Takes::Texts, "contacts that it could use and leaves to other boards; they count as not free"),
    ],
);

pub(crate) static CLAIM: Shape = Shape {
    one_of: &[&["contact"], &["contacts", "strap"]],
    ..record(
        "claim",
        "a claim",
        "[pins.claim.<id>]",
        "A contact that a board uses.",
        &[
            must("means", Takes::Text, "what it is used for, in words"),
            must("use", Takes::Word(PinUse::WORDS), "how it is used"),
            may("contact", Takes::Text, "the contact"),
            may("contacts", Takes::Named(Names::Label, &Takes::Text), "the contact for each position of a strap"),
            STRAP_OF,
            may("frequency", Takes::Formula, "frequency of the pulses; without one the slice of the timer is its own"),
            may("releases", Takes::Flag, "whether its data output lets go of the line while it is not selected; false if nothing is said"),
            may("working", Takes::Text, "working of the board that the contact is wired after, as keys are; until that is settled the contact counts as free"),
        ],
    )
};

pub(crate) static BOARD_BUS: Shape = record(
    "board_bus",
    "a bus of a board",
    "[pins.bus.<id>]",
    "A two-wire bus that a board is on.",
    &[
        must("clock", Takes::Text, "contact of the clock"),
        must("data", Takes::Text, "contact of the data"),
        may("pull_up", Takes::Formula, "pull-up of each line on the board"),
        may("capacitance", Takes::Formula, "capacitance of each line on the board"),
    ],
);

pub(crate) static DEVICE: Shape = Shape {
    one_of: &[&["address"], &["addresses", "strap"]],
    ..record(
        "device",
        "a device",
        "[pins.device.<id>]",
        "A device on a two-wire bus.",
        &[
            must("means", Takes::Text, "what it is, in words"),
            must("bus", Takes::Text, "bus of the board that it is on"),
            may("address", Takes::Text, "its address of seven bits, as 0x48"),
            may("addresses", Takes::Named(Names::Label, &Takes::Text), "its address for each position of a strap"),
            STRAP_OF,
        ],
    )
};

pub(crate) static BOARD_SUPPLY: Shape = Shape {
    one_of: &[&["draw"], &["gives", "limit"]],
    ..record(
        "board_supply",
        "a supply of a board",
        "[pins.supply.<contact>]",
        "A supply that a board draws from or gives.",
        &[
            may("draw", Takes::Formula, "current that the board draws"),
            may("takes", VOLTAGE, "voltages that the board takes"),
            may("gives", Takes::Formula, "voltage that the board gives"),
            may("limit", Takes::Formula, "greatest current that may be drawn from it"),
            BLOCKS,
        ],
    )
};

pub(crate) static STRAP: Shape = record(
    "strap",
    "a strap",
    "[pins.strap.<designator>]",
    "A solder bridge, a jumper or address pins.",
    &[
        must("means", Takes::Text, "what it settles, in words"),
        must("positions", Takes::Texts, "its positions, as printed on the board"),
        may("factory", Takes::Text, "the position that it leaves the works in; the first if nothing is said"),
    ],
);

pub(crate) static STACK: Shape = record(
    "stack",
    "a stack",
    "[stack.<id>]",
    "Boards on a module that are promised to go together.",
    &[
        must("title", Takes::Text, "name for people"),
        may("means", Takes::Text, "what it is for, in words"),
        must("module", Takes::Id("module"), "module that they are stacked on"),
        must("boards", Takes::Texts, "ids of the boards; one that is there twice is there twice"),
        may(
            "straps",
            Takes::Named(Names::Id, &Takes::Named(Names::Designator, &Takes::Text)),
            "settings that are promised with it, by board and strap; all others are chosen so that it works",
        ),
    ],
);

/// All of them.
#[cfg(test)]
pub(crate) static ALL: [&Shape; 10] = [
    &MODULE_PIN, &MODULE_BUS, &CONNECTOR, &PINS, &CLAIM, &BOARD_BUS, &DEVICE, &BOARD_SUPPLY, &STRAP, &STACK,
];
