//! Records of pins, connectors and stacks, and what is read of them.
//!
//! A board says in the contacts of its connector what it uses; a module says
//! once which of its pins lies behind each contact. So a board is never
//! described for one module alone, and no file is written for a pair of them.

use super::fields::{Fields, Named, Value};
use super::model::LeftOut;
use super::stock::{records, text_or};
use super::word::{BusMode, Mount, PinUse};
use crate::finding::{Located, Place};
use crate::quantity::Given;

/// `[connector.<id>]`: contacts that modules and boards have in common.
#[derive(Clone, Debug)]
pub struct Connector {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// Name for people.
    pub title: Located<String>,
    /// Names of the contacts, from contact 1 on.
    pub contacts: Vec<Located<String>>,
    /// Rows that the contacts lie in, one after another.
    pub rows: u64,
    /// Contacts that carry ground.
    pub ground: Vec<Located<String>>,
    /// Contacts that carry a supply.
    pub supply: Vec<Located<String>>,
    /// Room between two boards that are stacked on it.
    pub clearance: Option<Located<Given>>,
}

/// `[module.<id>.pin.<name>]`.
#[derive(Clone, Debug)]
pub struct ModulePin {
    /// Its name.
    pub name: Located<String>,
    /// What it is, in words.
    pub means: Option<Located<String>>,
    /// What it can do, still text.
    pub can: Vec<Located<String>>,
    /// Slice of the timer behind it.
    pub slice: Option<Located<String>>,
    /// Which output of that slice it is.
    pub output: Option<Located<String>>,
    /// Channel of the converter behind it.
    pub channel: Option<Located<String>>,
    /// Whether it is ground.
    pub ground: bool,
    /// Voltage that the module gives here.
    pub gives: Option<Located<Given>>,
    /// Current that boards together may draw here.
    pub limit: Option<Located<Given>>,
    /// Whether a diode or a switch keeps current from flowing back into the module.
    pub blocks: bool,
    /// Voltages that the module takes here.
    pub takes: Option<Located<Given>>,
    /// Current that the module draws here.
    pub draw: Option<Located<Given>>,
}

/// `[module.<id>.bus.<id>]`: a two-wire bus of a module.
#[derive(Clone, Debug)]
pub struct ModuleBus {
    /// Its name.
    pub id: Located<String>,
    /// Pin of the clock.
    pub clock: Located<String>,
    /// Pin of the data.
    pub data: Located<String>,
    /// Mode that it runs in.
    pub mode: BusMode,
    /// Voltage that pull-ups lead to.
    pub supply: Located<Given>,
    /// Pull-up of each line on the module.
    pub pull_up: Option<Located<Given>>,
    /// Capacitance of each line on the module.
    pub capacitance: Option<Located<Given>>,
}

/// A connector of a module: the pin behind each contact.
#[derive(Clone, Debug)]
pub struct Mapping {
    /// Id of the connector.
    pub connector: Located<String>,
    /// Contact and pin.
    pub pins: Vec<(Located<String>, Located<String>)>,
}

/// `[pins]`: what a board uses of its module.
#[derive(Clone, Debug)]
pub struct Pins {
    /// The header.
    pub place: Place,
    /// Connector in whose contacts it speaks; else in the pins of its module.
    pub connector: Option<Located<String>>,
    /// How it lies in a stack.
    pub mount: Mount,
    /// Formula of the height of its tallest part above the board.
    pub height: Option<Located<String>>,
    /// Contacts that it uses.
    pub claims: Vec<Claim>,
    /// Two-wire buses that it is on.
    pub buses: Vec<BoardBus>,
    /// Devices on those buses.
    pub devices: Vec<Device>,
    /// Supplies that it draws from or gives.
    pub supplies: Vec<BoardSupply>,
    /// Straps: solder bridges, jumpers, address pins.
    pub straps: Vec<Strap>,
    /// Contacts that it could use and leaves to other boards.
    pub leaves: Vec<Located<String>>,
}

/// Something that a strap may settle.
#[derive(Clone, Debug)]
pub enum Choice {
    /// It is always this.
    Fixed(Located<String>),
    /// One for each position of a strap.
    ByStrap {
        /// Designator of the strap.
        strap: Located<String>,
        /// Position, and what it settles.
        settles: Vec<(Located<String>, Located<String>)>,
    },
}

/// `[pins.claim.<id>]`: a contact that a board uses.
#[derive(Clone, Debug)]
pub struct Claim {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// What it is used for, in words.
    pub means: Located<String>,
    /// How it is used.
    pub as_what: PinUse,
    /// Which contact.
    pub contact: Choice,
    /// Formula of the frequency of its pulses.
    pub frequency: Option<Located<String>>,
    /// Whether its data output lets go of the line while it is not selected.
    pub releases: bool,
    /// Working of the board that the contact is wired after.
    pub working: Option<Located<String>>,
}

/// `[pins.bus.<id>]`: a two-wire bus that a board is on.
#[derive(Clone, Debug)]
pub struct BoardBus {
    /// Its name on the board.
    pub id: Located<String>,
    /// Contact of the clock.
    pub clock: Located<String>,
    /// Contact of the data.
    pub data: Located<String>,
    /// Formula of the pull-up of each line.
    pub pull_up: Option<Located<String>>,
    /// Formula of the capacitance of each line on the board.
    pub capacitance: Option<Located<String>>,
}

/// `[pins.device.<id>]`: a device on a two-wire bus.
#[derive(Clone, Debug)]
pub struct Device {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// What it is, in words.
    pub means: Located<String>,
    /// Name of the bus on the board.
    pub bus: Located<String>,
    /// Its address, still text.
    pub address: Choice,
}

/// `[pins.supply.<contact>]`.
#[derive(Clone, Debug)]
pub struct BoardSupply {
    /// Contact, where the record's header names it.
    pub contact: Located<String>,
    /// Formula of the voltage that the board gives.
    pub gives: Option<Located<String>>,
    /// Formula of the current that may be drawn from it.
    pub limit: Option<Located<String>>,
    /// Whether a diode or a switch keeps current from flowing back into the board.
    pub blocks: bool,
    /// Formula of the current that the board draws.
    pub draw: Option<Located<String>>,
    /// Voltages that the board takes.
    pub takes: Option<Located<Given>>,
}

/// `[pins.strap.<designator>]`: a solder bridge, a jumper, address pins.
#[derive(Clone, Debug)]
pub struct Strap {
    /// Designator, where the record's header names it.
    pub designator: Located<String>,
    /// What it settles, in words.
    pub means: Located<String>,
    /// Its positions, as printed on the board.
    pub positions: Vec<Located<String>>,
    /// The position that it leaves the works in.
    pub factory: Option<Located<String>>,
}

impl Strap {
    /// The position that it leaves the works in; the first if nothing is said.
    pub fn factory_position(&self) -> &str {
        let first = self.positions.first();
        let factory = self.factory.as_ref().or(first);
        factory.map_or("", |position| position.value.as_str())
    }
}

/// `[stack.<id>]`: boards on a module that are promised to go together.
#[derive(Clone, Debug)]
pub struct Stack {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// Name for people.
    pub title: Located<String>,
    /// What it is for, in words.
    pub means: Option<Located<String>>,
    /// The module.
    pub module: Located<String>,
    /// The boards.
    pub boards: Vec<Located<String>>,
    /// Settings that are promised with it: board, strap, position.
    pub straps: Vec<(Located<String>, Located<String>, Located<String>)>,
}

/// `[connector.<id>]`.
pub(crate) fn connector(id: Located<String>, mut fields: Fields) -> Option<Connector> {
    let title = text_or(fields.text("title"), &id.value, &fields.place);
    let contacts = fields.texts("contacts");
    let rows = fields.whole("rows").unwrap_or(1);
    let ground = fields.texts("ground").unwrap_or_default();
    let supply = fields.texts("supply").unwrap_or_default();
    let clearance = fields.quantity("clearance");
    fields.finish();
    Some(Connector {
        id,
        title,
        contacts: contacts?,
        rows,
        ground,
        supply,
        clearance,
    })
}

/// Records under names, those left out that lack what they cannot do without.
fn each<T>(
    key: &str,
    fields: &mut Fields,
    make: impl Fn(Located<String>, Fields) -> Option<T>,
) -> Vec<T> {
    let entries = fields.named(key).unwrap_or_default().entries;
    let made = entries.into_iter().filter_map(|(name, value)| match value {
        Value::Table(fields) => make(name, fields),
        _ => None,
    });
    made.collect()
}

fn texts(named: Option<Named>) -> Vec<(Located<String>, Located<String>)> {
    let entries = named.unwrap_or_default().entries;
    let text = |(name, value)| match value {
        Value::Text(text) => Some((name, text)),
        _ => None,
    };
    entries.into_iter().filter_map(text).collect()
}

/// The pins of a module.
pub(crate) fn module_pins(fields: &mut Fields) -> Vec<ModulePin> {
    each("pin", fields, |name, mut fields| {
        let pin = ModulePin {
            name,
            means: fields.text("means"),
            can: fields.texts("can").unwrap_or_default(),
            slice: fields.text("slice"),
            output: fields.text("output"),
            channel: fields.text("channel"),
            ground: fields.flag("ground").unwrap_or(false),
            gives: fields.quantity("gives"),
            limit: fields.quantity("limit"),
            blocks: fields.flag("blocks").unwrap_or(false),
            takes: fields.quantity("takes"),
            draw: fields.quantity("draw"),
        };
        fields.finish();
        Some(pin)
    })
}

/// The two-wire buses of a module.
pub(crate) fn module_buses(fields: &mut Fields) -> Vec<ModuleBus> {
    each("bus", fields, |id, mut fields| {
        let (clock, data) = (fields.text("clock"), fields.text("data"));
        let mode = fields.word("mode").and_then(BusMode::by_word);
        let supply = fields.quantity("supply");
        let (pull_up, capacitance) = (fields.quantity("pull_up"), fields.quantity("capacitance"));
        fields.finish();
        Some(ModuleBus {
            id,
            clock: clock?,
            data: data?,
            mode: mode.unwrap_or_default(),
            supply: supply?,
            pull_up,
            capacitance,
        })
    })
}

/// The connectors of a module.
pub(crate) fn mappings(fields: &mut Fields) -> Vec<Mapping> {
    let entries = fields.named("connector").unwrap_or_default().entries;
    let mapping = |(connector, value)| match value {
        Value::Named(named) => Some(Mapping {
            connector,
            pins: texts(Some(named)),
        }),
        _ => None,
    };
    entries.into_iter().filter_map(mapping).collect()
}

/// `[pins]` of a board.
pub(crate) fn pins(mut fields: Fields) -> Pins {
    let pins = Pins {
        place: fields.place.clone(),
        connector: fields.text("connector"),
        mount: fields
            .word("mount")
            .and_then(Mount::by_word)
            .unwrap_or_default(),
        height: fields.text("height"),
        claims: each("claim", &mut fields, claim),
        buses: each("bus", &mut fields, board_bus),
        devices: each("device", &mut fields, device),
        supplies: each("supply", &mut fields, |contact, fields| {
            Some(board_supply(contact, fields))
        }),
        straps: each("strap", &mut fields, strap),
        leaves: fields.texts("leaves").unwrap_or_default(),
    };
    fields.finish();
    pins
}

/// What is always one, or one for each position of a strap.
fn choice(fields: &mut Fields, one: &str, many: &str) -> Option<Choice> {
    let (fixed, named) = (fields.text(one), fields.named(many));
    let strap = fields.text("strap");
    match (fixed, strap) {
        (Some(fixed), _) => Some(Choice::Fixed(fixed)),
        (None, Some(strap)) => Some(Choice::ByStrap {
            strap,
            settles: texts(named),
        }),
        (None, None) => None,
    }
}

fn claim(id: Located<String>, mut fields: Fields) -> Option<Claim> {
    let means = text_or(fields.text("means"), &id.value, &fields.place);
    let as_what = fields.word("use").and_then(PinUse::by_word);
    let contact = choice(&mut fields, "contact", "contacts");
    let frequency = fields.text("frequency");
    let releases = fields.flag("releases").unwrap_or(false);
    let working = fields.text("working");
    fields.finish();
    Some(Claim {
        id,
        means,
        as_what: as_what?,
        contact: contact?,
        frequency,
        releases,
        working,
    })
}

fn board_bus(id: Located<String>, mut fields: Fields) -> Option<BoardBus> {
    let (clock, data) = (fields.text("clock"), fields.text("data"));
    let (pull_up, capacitance) = (fields.text("pull_up"), fields.text("capacitance"));
    fields.finish();
    Some(BoardBus {
        id,
        clock: clock?,
        data: data?,
        pull_up,
        capacitance,
    })
}

fn device(id: Located<String>, mut fields: Fields) -> Option<Device> {
    let means = text_or(fields.text("means"), &id.value, &fields.place);
    let bus = fields.text("bus");
    let address = choice(&mut fields, "address", "addresses");
    fields.finish();
    Some(Device {
        id,
        means,
        bus: bus?,
        address: address?,
    })
}

fn board_supply(contact: Located<String>, mut fields: Fields) -> BoardSupply {
    let supply = BoardSupply {
        contact,
        gives: fields.text("gives"),
        limit: fields.text("limit"),
        blocks: fields.flag("blocks").unwrap_or(false),
        draw: fields.text("draw"),
        takes: fields.quantity("takes"),
    };
    fields.finish();
    supply
}

fn strap(designator: Located<String>, mut fields: Fields) -> Option<Strap> {
    let means = text_or(fields.text("means"), &designator.value, &fields.place);
    let positions = fields.texts("positions");
    let factory = fields.text("factory");
    fields.finish();
    Some(Strap {
        designator,
        means,
        positions: positions?,
        factory,
    })
}

/// The stacks of `stacks.toml`.
pub(crate) fn stacks(mut fields: Fields, left_out: &mut Vec<LeftOut>) -> Vec<Stack> {
    let named = fields.named("stack");
    let mut made = Vec::new();
    for (id, fields) in records("stack", named, left_out) {
        let name = id.value.clone();
        match stack(id, fields) {
            Some(stack) => made.push(stack),
            None => left_out.push(LeftOut {
                kind: "stack",
                name,
            }),
        }
    }
    fields.finish();
    made
}

fn stack(id: Located<String>, mut fields: Fields) -> Option<Stack> {
    let title = text_or(fields.text("title"), &id.value, &fields.place);
    let means = fields.text("means");
    let (module, boards) = (fields.text("module"), fields.texts("boards"));
    let mut straps = Vec::new();
    for (board, value) in fields.named("straps").unwrap_or_default().entries {
        if let Value::Named(named) = value {
            let settings = texts(Some(named)).into_iter();
            straps.extend(settings.map(|(strap, position)| (board.clone(), strap, position)));
        }
    }
    fields.finish();
    Some(Stack {
        id,
        title,
        means,
        module: module?,
        boards: boards?,
        straps,
    })
}
