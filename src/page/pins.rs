//! Pin views: what a board uses of its connector, and what a module can do.

use camino::Utf8Path;
use serde::Serialize;

use super::book::Book;
use super::caution;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::markup::escaped;
use super::numbers::typeset;
use super::pin_values::{ValueRow, values};
use super::view::{Link, Sheet};
use crate::draw::{Caption, PinDrawing, PinLabel, pin_pattern, pin_view};
use crate::record::{Choice, Module, PinUse, Pins, Records};

/// What only a pin sheet has.
#[derive(Debug, Serialize)]
pub(crate) struct PinSheet {
    lead: String,
    drawing_html: String,
    rows: Vec<PinRow>,
    free: String,
    straps: Vec<StrapRow>,
    devices: Vec<DeviceRow>,
    values: Vec<ValueRow>,
    stacks: Link,
}

/// A contact in the table.
#[derive(Debug, Serialize)]
struct PinRow {
    number: String,
    contact: String,
    pin: Option<String>,
    used: String,
    means: String,
}

/// A strap and what each of its positions settles.
#[derive(Debug, Serialize)]
struct StrapRow {
    designator: String,
    means: String,
    positions: Vec<PositionRow>,
}

#[derive(Debug, Serialize)]
struct PositionRow {
    position: String,
    settles: String,
    factory: bool,
}

/// A device on a bus.
#[derive(Debug, Serialize)]
struct DeviceRow {
    means: String,
    bus: String,
    addresses: String,
}

/// A contact, with all that is known of it.
struct Contact {
    name: String,
    pin: Option<usize>,
    ground: bool,
    supply: bool,
    uses: Vec<(PinUse, String)>,
    /// A few words on the first of them, for the drawing.
    briefly: Option<String>,
    /// What a supply gives or draws.
    supplies: Option<String>,
}

impl Contact {
    /// Whether the board leaves it alone.
    fn is_free(&self) -> bool {
        self.uses.is_empty() && self.supplies.is_none() && !self.ground && !self.supply
    }
}

/// Whether there is anything to draw for a board.
pub(crate) fn has_pins(records: &Records, board: usize) -> bool {
    let pins = records.boards[board].pins.as_ref();
    pins.is_some_and(|pins| {
        let connector = pins.connector.as_ref();
        connector.is_some_and(|id| records.connector(&id.value).is_some())
            || module_of(records, board).is_some()
    })
}

fn module_of(records: &Records, board: usize) -> Option<&Module> {
    let module = records.boards[board].module.as_ref()?;
    records.module(&module.value)
}

/// The contacts of a board in the rows of its connector; those of a board that
/// speaks of pins, in the order of the module.
fn contacts(records: &Records, board: usize, pins: &Pins) -> (Vec<Contact>, usize) {
    let module = module_of(records, board);
    let connector = pins.connector.as_ref();
    let connector = connector.and_then(|id| records.connector(&id.value));
    let mapping = module.zip(connector).and_then(|(module, connector)| {
        let mut mappings = module.connectors.iter();
        mappings.find(|mapping| mapping.connector.value == connector.id.value)
    });
    let pin_named = |name: &str| {
        let mut pins = module?.pins.iter();
        pins.position(|pin| pin.name.value == name)
    };
    let listed = |list: &[crate::finding::Located<String>], name: &str| {
        list.iter().any(|known| known.value == name)
    };
    let (mut contacts, rows): (Vec<Contact>, usize) = match (connector, module) {
        (Some(connector), _) => {
            let names = connector.contacts.iter().map(|name| Contact {
                name: name.value.clone(),
                pin: mapping.and_then(|mapping| {
                    let mut mapped = mapping.pins.iter();
                    let (_, pin) = mapped.find(|(contact, _)| contact.value == name.value)?;
                    pin_named(&pin.value)
                }),
                ground: listed(&connector.ground, &name.value),
                supply: listed(&connector.supply, &name.value),
                uses: Vec::new(),
                briefly: None,
                supplies: None,
            });
            (names.collect(), connector.rows.max(1) as usize)
        }
        (None, Some(module)) => (of_module(module), 2),
        (None, None) => (Vec::new(), 1),
    };
    let mut add = |name: &str, used: PinUse, means: String, briefly: Option<String>| {
        if let Some(contact) = contacts.iter_mut().find(|contact| contact.name == name) {
            contact.uses.push((used, means));
            contact.briefly = contact.briefly.take().or(briefly);
        }
    };
    for claim in &pins.claims {
        let means = &claim.means.value;
        match &claim.contact {
            Choice::Fixed(contact) => {
                let briefly = Some(means.clone());
                add(&contact.value, claim.as_what, means.clone(), briefly);
            }
            Choice::ByStrap { strap, settles } => {
                for (position, contact) in settles {
                    let strap = &strap.value;
                    let told = format!("{means}, if {strap} is at {}", position.value);
                    let briefly = Some(format!("{means} ({strap})"));
                    add(&contact.value, claim.as_what, told, briefly);
                }
            }
        }
    }
    for bus in &pins.buses {
        let words = |what: &str| format!("{what} of the two-wire bus");
        add(&bus.clock.value, PinUse::BusClock, words("Clock"), None);
        add(&bus.data.value, PinUse::BusData, words("Data"), None);
    }
    for supply in &pins.supplies {
        let text = match (&supply.gives, &supply.draw) {
            (Some(_), _) => "The board gives this supply",
            (None, _) => "The board draws from this supply",
        };
        let mut contacts = contacts.iter_mut();
        if let Some(contact) = contacts.find(|contact| contact.name == supply.contact.value) {
            contact.supplies = Some(text.to_owned());
            contact.supply = true;
        }
    }
    (contacts, rows)
}

fn of_module(module: &Module) -> Vec<Contact> {
    let pins = module.pins.iter().enumerate();
    let contact = |(at, pin): (usize, &crate::record::ModulePin)| Contact {
        name: pin.name.value.clone(),
        pin: Some(at),
        ground: pin.ground,
        supply: pin.gives.is_some() || pin.takes.is_some(),
        uses: Vec::new(),
        briefly: None,
        supplies: None,
    };
    pins.map(contact).collect()
}

/// Class of the colour of a use.
fn class(used: PinUse) -> &'static str {
    match used {
        PinUse::Output | PinUse::Select => "driven",
        PinUse::Input | PinUse::Interrupt => "read",
        PinUse::Analog => "analog",
        PinUse::Pulse => "pulse",
        PinUse::BusClock | PinUse::BusData => "bus",
        PinUse::SerialClock
        | PinUse::SerialIn
        | PinUse::SerialOut
        | PinUse::Transmit
        | PinUse::Receive => "serial",
    }
}

fn label(number: usize, contact: &Contact) -> PinLabel {
    let (class, words) = match (contact.uses.first(), contact.ground, contact.supply) {
        (Some((used, _)), _, _) => {
            let words = used_words(&contact.uses);
            let words = match &contact.briefly {
                Some(briefly) => format!("{words}: {briefly}"),
                None => words,
            };
            (class(*used), words)
        }
        (None, true, _) => ("ground", "ground".to_owned()),
        (None, false, true) => ("supply", "supply".to_owned()),
        (None, false, false) => ("free", "free".to_owned()),
    };
    PinLabel {
        number: number.to_string(),
        name: contact.name.clone(),
        used: words,
        class,
    }
}

/// The words of uses, each once.
fn used_words(uses: &[(PinUse, String)]) -> String {
    let mut list: Vec<&'static str> = Vec::new();
    for (used, _) in uses {
        if !list.contains(&used.word()) {
            list.push(used.word());
        }
    }
    list.join(", ")
}

/// How many contacts stand in a row.
fn per_row(contacts: usize, rows: usize) -> usize {
    contacts.div_ceil(rows.max(1)).max(1)
}

fn drawing(contacts: &[Contact], rows: usize) -> PinDrawing {
    let numbered: Vec<PinLabel> = contacts
        .iter()
        .enumerate()
        .map(|(at, contact)| label(at + 1, contact))
        .collect();
    PinDrawing {
        rows: numbered
            .chunks(per_row(contacts.len(), rows))
            .map(<[PinLabel]>::to_vec)
            .collect(),
    }
}

/// The pins of a board among the words of a sheet.
pub(crate) fn figure(
    book: &Book<'_>,
    from: &Utf8Path,
    board: usize,
    id: &str,
    caption: &str,
) -> String {
    let records = &book.notebook.records;
    let title = format!("Pins of the board: {}", records.boards[board].title.value);
    let words = if caption.is_empty() { &title } else { caption };
    format!(
        "<figure class=\"drawn\">{}<figcaption>{} <a href=\"{}\">Pin sheet</a></figcaption></figure>",
        svg(book, board, id),
        escaped(words),
        escaped(&book.page(from, Page::Pins(board)))
    )
}

fn svg(book: &Book<'_>, board: usize, id: &str) -> String {
    let record = &book.notebook.records.boards[board];
    let Some(pins) = &record.pins else {
        return String::new();
    };
    let (contacts, rows) = contacts(&book.notebook.records, board, pins);
    let title = format!("Pins of the board: {}", record.title.value);
    view(&contacts, rows, id, title)
}

/// The pattern of a board's pins: which of them it uses.
pub(crate) fn pattern(book: &Book<'_>, board: usize) -> String {
    let records = &book.notebook.records;
    let Some(pins) = &records.boards[board].pins else {
        return String::new();
    };
    let (contacts, rows) = contacts(records, board, pins);
    let used: Vec<bool> = contacts.iter().map(|contact| !contact.is_free()).collect();
    let rows = used.chunks(per_row(used.len(), rows));
    pin_pattern(&rows.map(<[bool]>::to_vec).collect::<Vec<_>>())
}

fn view(contacts: &[Contact], rows: usize, id: &str, title: String) -> String {
    let drawing = drawing(contacts, rows);
    let words = drawing.rows.iter().flatten();
    let words: Vec<String> = words
        .map(|pin| format!("{} {}: {}", pin.number, pin.name, pin.used))
        .collect();
    let caption = Caption {
        id: id.to_owned(),
        title,
        description: format!("{}.", words.join("; ")),
    };
    pin_view(&drawing, &caption)
}

/// The pins of a module as a drawing, with what each can do; nothing where none
/// is described.
pub(crate) fn module_html(module: &Module) -> Option<String> {
    if module.pins.is_empty() {
        return None;
    }
    let mut contacts = of_module(module);
    for (contact, pin) in contacts.iter_mut().zip(&module.pins) {
        let can = pin
            .can
            .iter()
            .filter_map(|word| PinUse::by_word(&word.value));
        contact.uses = can.map(|used| (used, String::new())).collect();
    }
    let title = format!("Pins of the module: {}", module.title.value);
    Some(format!(
        "<figure class=\"drawn\">{}<figcaption>Each pin with what it can do.</figcaption></figure>",
        view(&contacts, 2, "Pins", title)
    ))
}

/// The pin sheet of a board; that of an earlier revision where the book is as of
/// it.
pub(crate) fn pin_sheet(book: &Book<'_>, board: usize) -> Sheet<PinSheet> {
    let page = Page::Pins(board);
    let from = &book.leaves.leaf(page).path;
    let records = &book.notebook.records;
    let record = &records.boards[board];
    let title = &record.title.value;
    let module = module_of(records, board);
    let (mut rows, mut straps, mut devices) = (Vec::new(), Vec::new(), Vec::new());
    let mut free = String::new();
    let mut lead = format!(
        "{title}, revision {}. Seen from above, contact 1 is square.",
        record.revision.value
    );
    if book.notebook.as_of.is_some() {
        // A record of a revision says what was fitted, and nothing of contacts.
        let now = &book.whole.records.boards[board].revision.value;
        lead.push_str(&format!(
            " What each contact is for is as in revision {now}; the numbers are those of the parts that revision {} carried.",
            record.revision.value
        ));
    }
    if let Some(pins) = &record.pins {
        let (contacts, _) = contacts(records, board, pins);
        let numbered = || contacts.iter().enumerate();
        rows = numbered()
            .filter(|(_, contact)| !contact.is_free())
            .map(|(at, contact)| row(at + 1, contact, module))
            .collect();
        let unused = numbered().filter(|(_, contact)| contact.is_free());
        let unused = unused.map(|(at, contact)| format!("{} {}", at + 1, contact.name));
        free = unused.collect::<Vec<_>>().join(", ");
        straps = strap_rows(pins);
        devices = device_rows(pins);
        if !pins.straps.is_empty() {
            lead.push_str(
                " A contact that a strap can take is marked with every use that it may have.",
            );
        }
    }
    let parts = Parts {
        description: format!("What each pin of the board is for: {title}."),
        cautions: caution::of_board(book, from, board),
        stated: &[],
        face: PinSheet {
            lead,
            drawing_html: svg(book, board, "Pins"),
            rows,
            free,
            straps,
            devices,
            values: values(book, from, board),
            stacks: Link {
                text: match book.notebook.as_of {
                    None => "What goes together, and how to set the straps".into(),
                    // Stacks are reckoned with the boards that are made now.
                    Some(_) => "What goes together, with the boards as they are made now".into(),
                },
                href: book.page(from, Page::Stacks),
            },
        },
    };
    sheet(book, page, parts)
}

fn row(number: usize, contact: &Contact, module: Option<&Module>) -> PinRow {
    let pin = module
        .zip(contact.pin)
        .map(|(module, pin)| module.pins[pin].name.value.clone());
    let used = match (contact.ground, contact.supply) {
        _ if !contact.uses.is_empty() => used_words(&contact.uses),
        (true, _) => "ground".to_owned(),
        (false, _) => "supply".to_owned(),
    };
    let mut means: Vec<String> = contact
        .uses
        .iter()
        .map(|(_, means)| means.clone())
        .collect();
    means.extend(contact.supplies.clone());
    PinRow {
        number: number.to_string(),
        contact: contact.name.clone(),
        pin,
        used,
        means: typeset(&means.join("; ")),
    }
}

fn strap_rows(pins: &Pins) -> Vec<StrapRow> {
    let straps = pins.straps.iter().map(|strap| {
        let name = &strap.designator.value;
        let settles = |position: &str| {
            let of = |choice: &Choice| match choice {
                Choice::ByStrap { strap, settles } if strap.value == *name => {
                    let mut settles = settles.iter();
                    let (_, found) = settles.find(|(known, _)| known.value == position)?;
                    Some(found.value.clone())
                }
                Choice::ByStrap { .. } | Choice::Fixed(_) => None,
            };
            let claims = pins.claims.iter().filter_map(|claim| {
                Some(format!("{}: {}", claim.means.value, of(&claim.contact)?))
            });
            let devices = pins.devices.iter().filter_map(|device| {
                Some(format!(
                    "{}: address {}",
                    device.means.value,
                    of(&device.address)?
                ))
            });
            claims.chain(devices).collect::<Vec<_>>().join("; ")
        };
        StrapRow {
            designator: name.clone(),
            means: strap.means.value.clone(),
            positions: strap
                .positions
                .iter()
                .map(|position| PositionRow {
                    settles: settles(&position.value),
                    factory: position.value == strap.factory_position(),
                    position: position.value.clone(),
                })
                .collect(),
        }
    });
    straps.collect()
}

fn device_rows(pins: &Pins) -> Vec<DeviceRow> {
    let devices = pins.devices.iter().map(|device| DeviceRow {
        means: device.means.value.clone(),
        bus: device.bus.value.clone(),
        addresses: match &device.address {
            Choice::Fixed(address) => address.value.clone(),
            Choice::ByStrap { strap, settles } => {
                let each = settles.iter();
                let each: Vec<String> = each
                    .map(|(position, address)| {
                        format!("{} ({} {})", address.value, strap.value, position.value)
                    })
                    .collect();
                each.join(", ")
            }
        },
    });
    devices.collect()
}
