//! Boards on a module, as the search for stacks takes them.
//!
//! Everything that boards may clash in gets a number here: pins, what lies
//! behind them, addresses, supplies, places in the stack.

use std::collections::{BTreeMap, HashMap};

use super::pin_nodes::Valued;
use crate::finding::{Located, Place};
use crate::quantity::{Dimension, Given};
use crate::record::{Choice, Claim, Module, Mount, PinUse, Pins, Records};
use crate::stack::{Candidate, Limit, Line, MOST_SETTINGS, Manner, Setting, Use};
use crate::trade::{Address, BusLimits};

/// Something that boards may clash in.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Thing {
    /// A pin of the module.
    Pin(usize),
    /// A channel of its converter.
    Channel(String),
    /// A slice of its timer.
    Slice(String),
    /// The supply at a pin.
    Supply(usize),
    /// An address, on a bus of the module.
    Address(usize, String),
    /// The lowest place of the stack.
    Bottom,
    /// The highest place of the stack.
    Top,
}

/// What a limit is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum LimitOf {
    /// Current drawn at a pin of the module, and the board that gives it.
    Supply { pin: usize, by: Option<usize> },
    /// Conductance of the pull-ups of a bus of the module.
    Sink(usize),
    /// Capacitance of a bus of the module.
    Capacitance(usize),
}

/// A strap and the position that it stands in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Strapped {
    /// Designator.
    pub strap: String,
    /// Position.
    pub position: String,
    /// Whether that is how it leaves the works.
    pub factory: bool,
}

/// Where a claim stands, and what it is in words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Claimed {
    pub place: Place,
    pub words: String,
}

/// What a board puts on a bus of the module, at worst case.
#[derive(Clone, Copy, Default, Debug)]
pub(super) struct OnBus {
    /// Pull-up, least and greatest.
    pub pull_up: Option<(f64, f64)>,
    pub capacitance: f64,
}

/// Boards on a module, with all that they may clash in.
#[derive(Debug)]
pub struct StackLine {
    /// Position of the module in the records.
    pub module: usize,
    /// Position of each board in the records.
    pub boards: Vec<usize>,
    /// The same for the search.
    pub line: Line,
    /// What the numbers of things stand for.
    pub things: Vec<Thing>,
    /// Of each board and setting, how its straps stand.
    pub straps: Vec<Vec<Vec<Strapped>>>,
    pub(super) limits: Vec<LimitOf>,
    pub(super) claims: Vec<Claimed>,
    /// Of each board, what it puts on which bus.
    pub(super) on_bus: Vec<BTreeMap<usize, OnBus>>,
    /// Of each board, what it draws and gives at which pin: nominal and most.
    pub(super) draws: Vec<BTreeMap<usize, (f64, f64)>>,
    pub(super) gives: Vec<BTreeMap<usize, f64>>,
}

/// Boards that say what they use of a module, in words that this one knows.
pub(super) fn boards_for(records: &Records, module: usize) -> Vec<usize> {
    let module = &records.modules[module];
    let fits = |pins: &Pins, of: Option<&Located<String>>| match &pins.connector {
        Some(id) => {
            let mut connectors = module.connectors.iter();
            connectors.any(|mapping| mapping.connector.value == id.value)
        }
        None => of.is_some_and(|of| of.value == module.id.value),
    };
    let boards = records.boards.iter().enumerate();
    let fitting = boards.filter(|(_, board)| {
        let pins = board.pins.as_ref();
        pins.is_some_and(|pins| fits(pins, board.module.as_ref()))
    });
    fitting.map(|(at, _)| at).collect()
}

/// Pin of a module behind a contact of a board; for a board that speaks of pins,
/// that pin.
pub(super) fn pin_behind(module: &Module, pins: &Pins, contact: &str) -> Option<usize> {
    let name = match &pins.connector {
        None => contact,
        Some(id) => {
            let mut connectors = module.connectors.iter();
            let mapping = connectors.find(|mapping| mapping.connector.value == id.value)?;
            let mut mapped = mapping.pins.iter();
            let (_, pin) = mapped.find(|(known, _)| known.value == contact)?;
            pin.value.as_str()
        }
    };
    module.pins.iter().position(|pin| pin.name.value == name)
}

/// All ways in which the straps of a board can stand, as positions; those with
/// the fewest changes to how they leave the works come first.
fn ways(pins: &Pins) -> Vec<Vec<usize>> {
    let mut ways: Vec<Vec<usize>> = vec![Vec::new()];
    for strap in &pins.straps {
        let longer = ways.iter().flat_map(|way| {
            (0..strap.positions.len()).map(move |position| {
                let mut way = way.clone();
                way.push(position);
                way
            })
        });
        ways = longer.take(4 * MOST_SETTINGS).collect();
    }
    let changed = |way: &Vec<usize>| {
        let both = pins.straps.iter().zip(way);
        let moved = both.filter(|(strap, position)| {
            strap.positions[**position].value != strap.factory_position()
        });
        moved.count()
    };
    ways.sort_by_key(changed);
    ways.truncate(MOST_SETTINGS);
    ways
}

/// What a choice comes to, given how the straps stand.
fn settled<'c>(choice: &'c Choice, straps: &[Strapped]) -> Option<&'c Located<String>> {
    match choice {
        Choice::Fixed(fixed) => Some(fixed),
        Choice::ByStrap { strap, settles } => {
            let mut standing = straps.iter();
            let standing = standing.find(|known| known.strap == strap.value)?;
            let mut settles = settles.iter();
            let (_, settled) = settles.find(|(position, _)| position.value == standing.position)?;
            Some(settled)
        }
    }
}

fn standing(pins: &Pins, way: &[usize]) -> Vec<Strapped> {
    let both = pins.straps.iter().zip(way);
    let strapped = both.map(|(strap, &position)| {
        let position = strap.positions[position].value.clone();
        Strapped {
            strap: strap.designator.value.clone(),
            factory: position == strap.factory_position(),
            position,
        }
    });
    strapped.collect()
}

struct Making<'a> {
    valued: &'a Valued<'a>,
    module: &'a Module,
    made: StackLine,
    numbers: HashMap<Thing, usize>,
    outputs: HashMap<String, usize>,
    known: HashMap<(Place, String), usize>,
}

impl std::hash::Hash for Thing {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        std::mem::discriminant(self).hash(state);
        match self {
            Thing::Pin(pin) | Thing::Supply(pin) => pin.hash(state),
            Thing::Channel(name) | Thing::Slice(name) => name.hash(state),
            Thing::Address(bus, address) => (bus, address).hash(state),
            Thing::Bottom | Thing::Top => {}
        }
    }
}

impl StackLine {
    /// Boards on a module, both as positions in the records.
    pub(super) fn of(valued: &Valued<'_>, module: usize, boards: &[usize]) -> StackLine {
        let mut making = Making {
            valued,
            module: &valued.records.modules[module],
            made: StackLine {
                module,
                boards: boards.to_vec(),
                line: Line::default(),
                things: Vec::new(),
                straps: Vec::new(),
                limits: Vec::new(),
                claims: Vec::new(),
                on_bus: vec![BTreeMap::new(); boards.len()],
                draws: vec![BTreeMap::new(); boards.len()],
                gives: vec![BTreeMap::new(); boards.len()],
            },
            numbers: HashMap::new(),
            outputs: HashMap::new(),
            known: HashMap::new(),
        };
        making.module_uses();
        for (at, &board) in boards.iter().enumerate() {
            making.board(at, board);
        }
        making.supply_limits();
        making.bus_limits();
        making.made
    }
}

impl Making<'_> {
    fn thing(&mut self, thing: Thing) -> usize {
        let things = &mut self.made.things;
        *self.numbers.entry(thing.clone()).or_insert_with(|| {
            things.push(thing);
            things.len() - 1
        })
    }

    /// The number of a claim; one that several settings have is one.
    fn claim(&mut self, place: &Place, words: String) -> usize {
        let claims = &mut self.made.claims;
        let key = (place.clone(), words.clone());
        *self.known.entry(key).or_insert_with(|| {
            let place = place.clone();
            claims.push(Claimed { place, words });
            claims.len() - 1
        })
    }

    fn uses(&mut self, thing: Thing, manner: Manner, claim: usize) -> Use {
        Use {
            thing: self.thing(thing),
            manner,
            claim,
        }
    }

    fn module_uses(&mut self) {
        let module = self.module;
        for (at, pin) in module.pins.iter().enumerate() {
            let name = &pin.name.value;
            if let Some(gives) = &pin.gives {
                let words = format!(
                    "`{}` gives {} at `{name}`",
                    module.id.value,
                    gives.value.text()
                );
                let claim = self.claim(&gives.place, words);
                let manner = Manner::Gives {
                    low: gives.value.low(),
                    high: gives.value.high(),
                    blocks: pin.blocks,
                };
                let gives = self.uses(Thing::Supply(at), manner, claim);
                self.made.line.module.push(gives);
            }
            if let Some(takes) = &pin.takes {
                let words = format!(
                    "`{}` takes {} at `{name}`",
                    module.id.value,
                    takes.value.text()
                );
                let claim = self.claim(&takes.place, words);
                let manner = range(&takes.value);
                let takes = self.uses(Thing::Supply(at), manner, claim);
                self.made.line.module.push(takes);
            }
        }
    }

    fn board(&mut self, at: usize, board: usize) {
        let record = &self.valued.records.boards[board];
        let mut candidate = Candidate::default();
        let mut straps = Vec::new();
        if let Some(pins) = &record.pins {
            let id = &record.id.value;
            let fixed = self.fixed(at, board, pins, id);
            for way in ways(pins) {
                let standing = standing(pins, &way);
                let mut setting = fixed.clone();
                self.strapped(pins, board, id, &standing, &mut setting);
                candidate.settings.push(setting);
                straps.push(standing);
            }
        } else {
            candidate.settings.push(Setting::default());
            straps.push(Vec::new());
        }
        self.made.line.boards.push(candidate);
        self.made.straps.push(straps);
    }

    /// What a board uses however its straps stand.
    fn fixed(&mut self, at: usize, board: usize, pins: &Pins, id: &str) -> Setting {
        let mut setting = Setting::default();
        let module = self.module;
        let nodes = &self.valued.nodes[board];
        for (number, supply) in pins.supplies.iter().enumerate() {
            let contact = &supply.contact;
            let [gives, limit, draw] = nodes.supplies.get(number).copied().unwrap_or_default();
            let Some(pin) = pin_behind(module, pins, &contact.value) else {
                let words = format!("`{id}` uses the supply at `{}`", contact.value);
                setting.unfit.push(self.claim(&contact.place, words));
                continue;
            };
            if let Some(draw) = self.valued.worst(draw) {
                let drawn = self.made.draws[at].entry(pin).or_default();
                *drawn = (drawn.0 + draw.nominal, drawn.1 + draw.high);
            }
            if let Some(takes) = &supply.takes {
                let words = format!("`{id}` takes {} at `{}`", takes.value.text(), contact.value);
                let claim = self.claim(&takes.place, words);
                setting
                    .uses
                    .push(self.uses(Thing::Supply(pin), range(&takes.value), claim));
            }
            if let (Some(gives), Some(written)) = (self.valued.worst(gives), &supply.gives) {
                let volts = super::stack_told::amount(gives.nominal, Dimension::VOLTAGE);
                let words = format!("`{id}` gives {volts} at `{}`", contact.value);
                let claim = self.claim(&written.place, words);
                let manner = Manner::Gives {
                    low: gives.low,
                    high: gives.high,
                    blocks: supply.blocks,
                };
                setting
                    .uses
                    .push(self.uses(Thing::Supply(pin), manner, claim));
                let most = self.valued.worst(limit).map_or(0.0, |limit| limit.low);
                self.made.gives[at].insert(pin, most);
            }
        }
        for (number, bus) in pins.buses.iter().enumerate() {
            let (pull_up, capacitance) = nodes.buses.get(number).copied().unwrap_or_default();
            let words = |what: &str, contact: &str| {
                format!("`{id}` has the {what} of its two-wire bus at `{contact}`")
            };
            let clock = self.claim(&bus.clock.place, words("clock", &bus.clock.value));
            let data = self.claim(&bus.data.place, words("data", &bus.data.value));
            let behind = |contact: &str| pin_behind(module, pins, contact);
            let (Some(clock_pin), Some(data_pin)) =
                (behind(&bus.clock.value), behind(&bus.data.value))
            else {
                setting.unfit.push(clock);
                continue;
            };
            setting
                .uses
                .push(self.uses(Thing::Pin(clock_pin), shared(PinUse::BusClock), clock));
            setting
                .uses
                .push(self.uses(Thing::Pin(data_pin), shared(PinUse::BusData), data));
            let Some(of) = bus_at(module, clock_pin, data_pin) else {
                setting.unfit.push(clock);
                continue;
            };
            let worst = |node| self.valued.worst(node);
            let on_bus = OnBus {
                pull_up: worst(pull_up).map(|value| (value.low, value.high)),
                capacitance: worst(capacitance).map_or(0.0, |value| value.high),
            };
            self.made.on_bus[at].insert(of, on_bus);
        }
        self.places(board, pins, id, &mut setting);
        setting
    }

    /// Places in the stack that a board can only have alone.
    fn places(&mut self, board: usize, pins: &Pins, id: &str, setting: &mut Setting) {
        if pins.mount == Mount::Cable {
            return;
        }
        let connector = pins.connector.as_ref();
        let connector = connector.and_then(|id| self.valued.records.connector(&id.value));
        let clearance = connector.and_then(|connector| connector.clearance.as_ref());
        let height = self.valued.worst(self.valued.nodes[board].height);
        let place = &pins.place;
        if pins.mount == Mount::Socket {
            let words = format!("`{id}` carries the others and lies at the bottom");
            let claim = self.claim(place, words);
            setting
                .uses
                .push(self.uses(Thing::Bottom, Manner::Alone, claim));
        }
        if pins.mount == Mount::Plug {
            let words = format!("nothing can be stacked on `{id}`, whose connector faces down");
            let claim = self.claim(place, words);
            setting
                .uses
                .push(self.uses(Thing::Top, Manner::Alone, claim));
        } else if let (Some(height), Some(clearance)) = (height, clearance)
            && height.high > clearance.value.low()
        {
            let tall = super::stack_told::amount(height.high, Dimension::LENGTH);
            let room = super::stack_told::amount(clearance.value.low(), Dimension::LENGTH);
            let words = format!("nothing fits over `{id}`: parts {tall} high, and {room} of room");
            let written = pins.height.as_ref().map_or(place, |height| &height.place);
            let claim = self.claim(written, words);
            setting
                .uses
                .push(self.uses(Thing::Top, Manner::Alone, claim));
        }
    }

    /// What a board uses while its straps stand so.
    fn strapped(
        &mut self,
        pins: &Pins,
        board: usize,
        id: &str,
        straps: &[Strapped],
        setting: &mut Setting,
    ) {
        let module = self.module;
        for (number, claim) in pins.claims.iter().enumerate() {
            // A strap that settles nothing here has been told.
            let Some(contact) = settled(&claim.contact, straps) else {
                continue;
            };
            let words = format!(
                "`{id}` has `{}` here, for {}",
                claim.as_what.word(),
                claim.id.value
            );
            let made = self.claim(&contact.place, words);
            let Some(pin) = pin_behind(module, pins, &contact.value) else {
                setting.unfit.push(made);
                continue;
            };
            let record = &module.pins[pin];
            let can = |word: &str| record.can.iter().any(|known| known.value == word);
            if !can(claim.as_what.word()) {
                setting.unfit.push(made);
                continue;
            }
            let manner = manner(claim);
            setting.uses.push(self.uses(Thing::Pin(pin), manner, made));
            if let (PinUse::Analog, Some(channel)) = (claim.as_what, &record.channel) {
                let channel = Thing::Channel(channel.value.clone());
                setting.uses.push(self.uses(channel, Manner::Alone, made));
            }
            if let (PinUse::Pulse, Some(slice)) = (claim.as_what, &record.slice) {
                let output = record
                    .output
                    .as_ref()
                    .map_or("", |output| output.value.as_str());
                let outputs = self.outputs.len();
                let output = *self.outputs.entry(output.to_owned()).or_insert(outputs);
                let frequencies = &self.valued.nodes[board].frequencies;
                let frequency = frequencies.get(number).copied().flatten();
                let frequency = self.valued.worst(frequency).map(|value| value.nominal);
                let manner = Manner::Pulses { output, frequency };
                let slice = Thing::Slice(slice.value.clone());
                setting.uses.push(self.uses(slice, manner, made));
            }
        }
        for device in &pins.devices {
            let bus = pins
                .buses
                .iter()
                .find(|bus| bus.id.value == device.bus.value);
            let Some((bus, address)) = bus.zip(settled(&device.address, straps)) else {
                continue;
            };
            let behind = |contact: &Located<String>| pin_behind(module, pins, &contact.value);
            let pins_of = behind(&bus.clock).zip(behind(&bus.data));
            let Some(of) = pins_of.and_then(|(clock, data)| bus_at(module, clock, data)) else {
                continue;
            };
            // One that is none has been told.
            let Ok(parsed) = Address::parse(&address.value) else {
                continue;
            };
            let words = format!("`{}` of `{id}`", device.id.value);
            let made = self.claim(&address.place, words);
            let thing = Thing::Address(of, parsed.to_string());
            setting.uses.push(self.uses(thing, Manner::Alone, made));
        }
    }

    fn supply_limits(&mut self) {
        let boards = self.made.boards.len();
        let module = self.module;
        for (pin, record) in module.pins.iter().enumerate() {
            let drawn = |at: usize| self.made.draws[at].get(&pin).map_or(0.0, |(_, most)| *most);
            let adds: Vec<f64> = (0..boards).map(drawn).collect();
            let own = module
                .property("supply_limit")
                .filter(|_| record.gives.is_some());
            let own = own.map(|property| &property.given);
            let mut made = Vec::new();
            if let Some(limit) = record.limit.as_ref().or(own) {
                let limit = Limit {
                    adds: adds.clone(),
                    module_adds: 0.0,
                    most: limit.value.low(),
                    brought_by: None,
                };
                made.push((limit, LimitOf::Supply { pin, by: None }));
            }
            let module_adds = record.draw.as_ref().map_or(0.0, |draw| draw.value.high());
            for by in 0..boards {
                if let Some(&most) = self.made.gives[by].get(&pin) {
                    let limit = Limit {
                        adds: adds.clone(),
                        module_adds,
                        most,
                        brought_by: Some(by),
                    };
                    made.push((limit, LimitOf::Supply { pin, by: Some(by) }));
                }
            }
            for (limit, of) in made {
                self.made.line.limits.push(limit);
                self.made.limits.push(of);
            }
        }
    }

    fn bus_limits(&mut self) {
        let boards = self.made.boards.len();
        for (at, bus) in self.module.buses.iter().enumerate() {
            let Some(limits) = BusLimits::of(bus.mode.word()) else {
                continue;
            };
            let on_bus = |board: usize| {
                self.made.on_bus[board]
                    .get(&at)
                    .copied()
                    .unwrap_or_default()
            };
            let supply = bus.supply.value.high();
            let sunk = supply - BusLimits::low_output(supply);
            let conductance =
                |board: usize| on_bus(board).pull_up.map_or(0.0, |(low, _)| 1.0 / low);
            let own = bus
                .pull_up
                .as_ref()
                .map_or(0.0, |own| 1.0 / own.value.low());
            let sink = Limit {
                adds: (0..boards).map(conductance).collect(),
                module_adds: own,
                most: limits.sink_current / sunk,
                brought_by: None,
            };
            let own = bus.capacitance.as_ref().map_or(0.0, |own| own.value.high());
            let capacitance = Limit {
                adds: (0..boards).map(|board| on_bus(board).capacitance).collect(),
                module_adds: own,
                most: limits.capacitance,
                brought_by: None,
            };
            self.made.line.limits.extend([sink, capacitance]);
            self.made
                .limits
                .extend([LimitOf::Sink(at), LimitOf::Capacitance(at)]);
        }
    }
}

/// The bus of a module that lies on two pins.
fn bus_at(module: &Module, clock: usize, data: usize) -> Option<usize> {
    let name = |pin: usize| module.pins[pin].name.value.as_str();
    let (clock, data) = (name(clock), name(data));
    let mut buses = module.buses.iter();
    buses.position(|bus| bus.clock.value == clock && bus.data.value == data)
}

fn range(given: &Given) -> Manner {
    Manner::Takes {
        low: given.low(),
        high: given.high(),
    }
}

fn shared(as_what: PinUse) -> Manner {
    Manner::Shared(as_what as u32)
}

fn manner(claim: &Claim) -> Manner {
    match claim.as_what {
        PinUse::Interrupt
        | PinUse::SerialClock
        | PinUse::SerialOut
        | PinUse::BusClock
        | PinUse::BusData => shared(claim.as_what),
        PinUse::SerialIn if claim.releases => shared(claim.as_what),
        PinUse::Input
        | PinUse::Output
        | PinUse::Analog
        | PinUse::Pulse
        | PinUse::Select
        | PinUse::SerialIn
        | PinUse::Transmit
        | PinUse::Receive => Manner::Alone,
    }
}
