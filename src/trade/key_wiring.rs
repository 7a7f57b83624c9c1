//! Ways of wiring keys to pins, with what each needs and what it can tell apart.

use super::contacts::Contacts;

/// Keys of a network of which every set is tried.
const EVERY_SET: usize = 12;
/// Sets of one size that are tried at most.
const MOST_SETS: u64 = 50_000;
/// Sizes of sets that are tried where not every set is.
const SIZES: usize = 4;

/// A way of wiring.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Way {
    /// A pin each.
    Direct,
    /// Rows and columns.
    Matrix {
        rows: u64,
        columns: u64,
        diodes: bool,
    },
    /// A key between any two pins.
    Charlieplexed { diodes: bool },
    /// Parallel-in shift registers of eight bits.
    ShiftRegister,
}

/// Keys in a way of wiring.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Wiring {
    /// The way.
    pub way: Way,
    /// Pins of the controller.
    pub pins: u64,
    /// Diodes.
    pub diodes: u64,
    /// Shift registers.
    pub registers: u64,
    /// Resistors that pull inputs of registers up; pins have their own.
    pub resistors: u64,
    /// Steps of a scan.
    pub steps: u64,
    /// How many keys may be held in any combination and are told apart.
    pub rollover: u64,
    /// Which sets are told apart, in words.
    pub sets: String,
}

/// What a wiring asks of pins.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Needs {
    /// Pins that are driven.
    pub driven: u64,
    /// Pins that are read.
    pub read: u64,
    /// Pins that are driven at one time and read at another.
    pub both: u64,
}

impl Wiring {
    /// What it asks of its pins: rows are driven, columns read; a register takes
    /// its clock and its latch, and is read at one pin.
    pub fn needs(&self) -> Needs {
        let (driven, read, both) = match &self.way {
            Way::Direct => (0, self.pins, 0),
            Way::Matrix { rows, columns, .. } => (*rows, *columns, 0),
            Way::Charlieplexed { .. } => (0, 0, self.pins),
            Way::ShiftRegister => (2, 1, 0),
        };
        Needs { driven, read, both }
    }

    /// Parts beside the keys.
    pub fn parts(&self) -> u64 {
        self.diodes + self.registers + self.resistors
    }

    /// Name of its results.
    pub fn id(&self) -> String {
        match &self.way {
            Way::Direct => "direct".into(),
            Way::Matrix {
                rows,
                columns,
                diodes,
            } => {
                format!(
                    "matrix_{rows}_by_{columns}{}",
                    if *diodes { "_diodes" } else { "" }
                )
            }
            Way::Charlieplexed { diodes: true } => "charlieplexed_diodes".into(),
            Way::Charlieplexed { diodes: false } => "charlieplexed".into(),
            Way::ShiftRegister => "shift_register".into(),
        }
    }

    /// Name for people.
    pub fn title(&self) -> String {
        match &self.way {
            Way::Direct => "One pin a key".into(),
            Way::Matrix {
                rows,
                columns,
                diodes,
            } => {
                format!(
                    "{rows} by {columns}{}",
                    if *diodes { ", with diodes" } else { "" }
                )
            }
            Way::Charlieplexed { diodes: true } => "Charlieplexed, with diodes".into(),
            Way::Charlieplexed { diodes: false } => "Charlieplexed".into(),
            Way::ShiftRegister => "Shift registers".into(),
        }
    }

    /// The word that records have for it.
    pub fn word(&self) -> &'static str {
        match &self.way {
            Way::Direct => "direct",
            Way::Matrix { diodes: false, .. } => "matrix",
            Way::Matrix { diodes: true, .. } => "matrix-with-diodes",
            Way::Charlieplexed { diodes: false } => "charlieplexed",
            Way::Charlieplexed { diodes: true } => "charlieplexed-with-diodes",
            Way::ShiftRegister => "shift-register",
        }
    }
}

/// Every way of wiring so many keys: a matrix in every factorisation, and in the
/// one with the fewest pins where that has places left over.
pub(super) fn wirings(keys: u64) -> Vec<Wiring> {
    let mut found = vec![wiring(Way::Direct, keys)];
    let mut sizes: Vec<(u64, u64)> = (1..=keys.isqrt())
        .filter(|rows| keys.is_multiple_of(*rows))
        .map(|rows| (rows, keys / rows))
        .collect();
    let fewest = (1..=keys.isqrt() + 1).map(|rows| (rows, keys.div_ceil(rows)));
    if let Some((rows, columns)) = fewest.min_by_key(|(rows, columns)| rows + columns) {
        let least = rows + columns;
        if sizes.iter().all(|(rows, columns)| rows + columns > least) {
            sizes.push((rows.min(columns), rows.max(columns)));
        }
    }
    for diodes in [false, true] {
        for &(rows, columns) in &sizes {
            // A single row needs no diodes: each key has a column of its own.
            if !(diodes && rows == 1) {
                found.push(wiring(
                    Way::Matrix {
                        rows,
                        columns,
                        diodes,
                    },
                    keys,
                ));
            }
        }
    }
    for diodes in [false, true] {
        found.push(wiring(Way::Charlieplexed { diodes }, keys));
    }
    found.push(wiring(Way::ShiftRegister, keys));
    found
}

fn wiring(way: Way, keys: u64) -> Wiring {
    let (pins, diodes, registers, steps) = match &way {
        Way::Direct => (keys, 0, 0, 1),
        Way::Matrix {
            rows,
            columns,
            diodes,
        } => (rows + columns, if *diodes { keys } else { 0 }, 0, *rows),
        Way::Charlieplexed { diodes } => {
            let places = |pins: u64| pins * (pins - 1) / if *diodes { 1 } else { 2 };
            let pins = (2..).find(|pins| places(*pins) >= keys).unwrap_or(keys);
            (pins, if *diodes { keys } else { 0 }, 0, pins)
        }
        Way::ShiftRegister => (3, 0, keys.div_ceil(8), 8 * keys.div_ceil(8)),
    };
    let resistors = if registers > 0 { keys } else { 0 };
    let (rollover, sets) = told_apart(&way, pins, keys);
    Wiring {
        way,
        pins,
        diodes,
        registers,
        resistors,
        steps,
        rollover,
        sets,
    }
}

/// How many keys may be held in any combination, and which sets are told apart.
fn told_apart(way: &Way, pins: u64, keys: u64) -> (u64, String) {
    let small = keys <= EVERY_SET as u64;
    let Some(whole) = touched(way, pins, Contacts::MOST_KEYS) else {
        let words = match small {
            true => format!("all {}", 1u64 << keys),
            false => "all, each key being read alone".into(),
        };
        return (keys, words);
    };
    let whole = whole.first(usize::try_from(keys).unwrap_or(usize::MAX));
    if small {
        let told = whole.told_apart_by_size();
        let (all_told, all) = (told.iter().sum::<u64>(), 1u64 << keys);
        let words = match all_told == all {
            true => format!("all {all}"),
            false => format!("{all_told} of {all}"),
        };
        let sizes = (1..).zip(&told[1..]);
        let whole_sizes = sizes.take_while(|&(size, &told)| told == choose(keys, size));
        return (whole_sizes.count() as u64, words);
    }
    let mut rollover = 0;
    for size in 1..=SIZES {
        // As many keys touch no more lines than these, and all lines of a sort
        // are alike.
        let told_all = touched(way, pins, size).is_none_or(|part| {
            let (told, all) = part.of_size(size);
            told == all
        });
        if !told_all {
            break;
        }
        rollover = size as u64;
    }
    let mut words = Vec::new();
    if keys <= Contacts::MOST_KEYS as u64 {
        for size in 2..=SIZES {
            if choose(keys, size as u64) > MOST_SETS {
                break;
            }
            let (told, all) = whole.of_size(size);
            words.push(format!("{told} of {all} sets of {size}"));
        }
    }
    if words.is_empty() {
        words.push(format!(
            "all of {rollover} keys, not all of {}",
            rollover + 1
        ));
    }
    (rollover, words.join(", "))
}

/// The part of a network that so many keys can touch. `None` where each key has a
/// line of its own, or diodes let no path go on: a key's reading hangs on that key
/// alone then.
fn touched(way: &Way, pins: u64, keys: usize) -> Option<Contacts> {
    let least = |lines: u64, most: usize| usize::try_from(lines).unwrap_or(most).min(most);
    match *way {
        Way::Direct | Way::ShiftRegister => None,
        Way::Matrix { rows: 1, .. } | Way::Matrix { diodes: true, .. } => None,
        Way::Matrix { rows, columns, .. } => {
            let (rows, columns) = (least(rows, keys), least(columns, keys));
            Some(Contacts::matrix(rows, columns, false))
        }
        Way::Charlieplexed { diodes } => {
            Some(Contacts::charlieplexed(least(pins, 2 * keys), diodes))
        }
    }
}

/// How many sets of a size there are; the greatest number where it is larger.
fn choose(of: u64, size: u64) -> u64 {
    let mut ways: u64 = 1;
    for at in 0..size {
        // Each product of so many neighbours is divisible.
        let Some(product) = ways.checked_mul(of.saturating_sub(at)) else {
            return u64::MAX;
        };
        ways = product / (at + 1);
    }
    ways
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(keys: u64, id: &str) -> Wiring {
        let found = wirings(keys).into_iter().find(|wiring| wiring.id() == id);
        found.unwrap_or_else(|| panic!("{keys} keys can be wired as {id}"))
    }

    /// Truth: common practice (combinatorics): 8 keys as 2 by 4 take six pins, 12
    /// as 3 by 4 seven; n (n - 1) keys on n pins with diodes, half of that without.
    #[test]
    fn pins_and_parts_are_those_of_common_practice() {
        assert_eq!(of(8, "matrix_2_by_4").pins, 6);
        assert_eq!(of(12, "matrix_3_by_4").pins, 7);
        assert_eq!(of(90, "matrix_6_by_15").pins, 21);
        assert_eq!(of(8, "direct").pins, 8);
        assert_eq!(of(25, "matrix_5_by_5_diodes").diodes, 25);
        for (keys, pins) in [(8, 4), (12, 4), (20, 5), (25, 6), (30, 6), (56, 8)] {
            assert_eq!(of(keys, "charlieplexed_diodes").pins, pins, "{keys}");
        }
        for (keys, pins) in [(1, 2), (3, 3), (6, 4), (28, 8)] {
            assert_eq!(of(keys, "charlieplexed").pins, pins, "{keys}");
        }
        assert_eq!(of(8, "shift_register").registers, 1);
        assert_eq!(of(25, "shift_register").registers, 4);
        assert_eq!(of(25, "shift_register").pins, 3);
    }

    /// Truth: fewest pins of a matrix, ceil(2 √n) (derived; computed by search).
    #[test]
    fn the_fewest_pins_of_a_matrix_are_found() {
        for (keys, pins) in [
            (5, 5),
            (8, 6),
            (10, 7),
            (13, 8),
            (17, 9),
            (24, 10),
            (25, 10),
            (32, 12),
            (61, 16),
        ] {
            let matrices = wirings(keys).into_iter();
            let bare = matrices.filter(|wiring| wiring.word() == "matrix");
            assert_eq!(bare.map(|wiring| wiring.pins).min(), Some(pins), "{keys}");
        }
    }

    /// Truth: three keys on the corners of a rectangle read as four (common
    /// practice, by brute force in the tests of contacts); two never do. On
    /// charlieplexed lines any two keys that meet in a line read as a third.
    #[test]
    fn keys_that_may_be_held_together_are_counted() {
        assert_eq!(of(12, "matrix_3_by_4").rollover, 2);
        assert_eq!(of(12, "matrix_3_by_4_diodes").rollover, 12);
        assert_eq!(of(12, "direct").rollover, 12);
        assert_eq!(of(12, "charlieplexed_diodes").rollover, 1);
        assert_eq!(of(100, "matrix_10_by_10").rollover, 2);
        assert_eq!(of(100, "charlieplexed").rollover, 1);
        assert_eq!(of(12, "shift_register").rollover, 12);
        assert_eq!(of(4, "matrix_2_by_2").sets, "11 of 16");
    }

    #[test]
    fn what_is_asked_of_pins_adds_up_to_them() {
        for wiring in wirings(24) {
            let Needs { driven, read, both } = wiring.needs();
            assert_eq!(driven + read + both, wiring.pins, "{}", wiring.id());
        }
    }

    #[test]
    fn ten_thousand_keys_are_answered() {
        let all = wirings(10_000);
        assert_eq!(of(10_000, "matrix_100_by_100").pins, 200);
        assert_eq!(of(10_000, "matrix_100_by_100").rollover, 2);
        assert!(all.len() < 40, "{}", all.len());
    }
}
