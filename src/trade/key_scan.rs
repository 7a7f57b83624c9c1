//! Reading keys: every way of wiring them, what each needs, and which keys held
//! together it tells apart.

use super::key_wiring::{Wiring, wirings};
use super::kind::{Input, Inputs, Kind, Refusal, Takes, may_take, optional, takes};
use super::plan::{Cell, Judge, Plan, Planned, Procedure, Table, Unworkable};
use crate::quantity::{Dimension, Outcome};

pub(super) static KIND: KeyScan = KeyScan;

/// The kind `key-scan`.
#[derive(Debug)]
pub(super) struct KeyScan;

const COUNTED: &str = "common practice (combinatorics)";
const SIMULATED: &str = "simulated: paths through the contacts that are closed";
const SUMMED: &str = "sum of parts";
const SCANNED: &str = "steps of the scan";
/// Most rows of the table.
const MOST_ROWS: usize = 16;

const INPUTS: &[Input] = &[
    takes("keys", "How many keys there are", Takes::Whole(1..=10_000)),
    may_take(
        "free_pins",
        "Pins that the module has free",
        Takes::Whole(0..=10_000),
    ),
    may_take(
        "together",
        "Keys that are held together in any combination; all of them if nothing is said",
        Takes::Whole(1..=10_000),
    ),
    may_take(
        "wiring",
        "How they are wired, where that is settled",
        Takes::Word(&[
            "direct",
            "matrix",
            "matrix-with-diodes",
            "charlieplexed",
            "charlieplexed-with-diodes",
            "shift-register",
        ]),
    ),
    optional("settle", "Time of a step of the scan", Dimension::TIME).above_zero(),
    optional(
        "bounce",
        "Time that a contact bounces at most",
        Dimension::TIME,
    )
    .not_negative(),
    optional("diode_cost", "Cost of a diode, placed", Dimension::ONE).not_negative(),
    optional(
        "register_cost",
        "Cost of a shift register, placed",
        Dimension::ONE,
    )
    .not_negative(),
    optional(
        "resistor_cost",
        "Cost of a resistor, placed",
        Dimension::ONE,
    )
    .not_negative(),
    optional("pin_cost", "What a pin is worth", Dimension::ONE).not_negative(),
];

const COSTS: &[&str] = &["diode_cost", "register_cost", "resistor_cost"];

impl Kind for KeyScan {
    fn name(&self) -> &'static str {
        "key-scan"
    }

    fn title(&self) -> &'static str {
        "Ways of reading keys"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let keys = given.whole("keys").unwrap_or(1);
        let together = given.whole("together").unwrap_or(keys);
        let free = given.whole("free_pins");
        let all = wirings(keys);
        let refusals = refusals(given, keys, together, &all);
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let wanted = given.word("wiring");
        let choice = Choice {
            fits: all
                .iter()
                .map(|wiring| {
                    free.is_none_or(|free| wiring.pins <= free)
                        && wiring.rollover >= together
                        && wanted.is_none_or(|wanted| wiring.word() == wanted)
                })
                .collect(),
            parts: all.iter().map(Wiring::parts).collect(),
            pins: all.iter().map(|wiring| wiring.pins).collect(),
        };
        let mut plan = Plan::default();
        for wiring in &all {
            results(given, wiring, &mut plan.results);
        }
        let costs = costs(given, &all);
        recommended(&choice, &costs, &mut plan.results);
        plan.tables
            .push(table(given, &all, &choice, &costs, together));
        plan.notes = notes(given, keys, together, &all, &choice, !costs.is_empty());
        Ok(plan)
    }
}

/// What cannot be wired.
fn refusals(given: &Inputs, keys: u64, together: u64, all: &[Wiring]) -> Vec<Refusal> {
    let mut refusals = Vec::new();
    if together > keys {
        refusals.push(Refusal::new(
            "together",
            format!("{together} keys cannot be held together: there are {keys}"),
            "leave `together` out where all may be held",
        ));
    }
    let some = COSTS.iter().any(|cost| given.has(cost));
    for lacks in COSTS.iter().filter(|cost| some && !given.has(cost)) {
        refusals.push(Refusal::new(
            "keys",
            format!("what a wiring costs cannot be told without `{lacks}`"),
            format!("add `{lacks}`, or leave the other costs out"),
        ));
    }
    if given.has("bounce") && !given.has("settle") {
        refusals.push(Refusal::new(
            "bounce",
            "how long a key takes to be read cannot be told without `settle`",
            "add `settle`, the time of a step of the scan",
        ));
    }
    if !refusals.is_empty() {
        return refusals;
    }
    let able = |wiring: &&Wiring| wiring.rollover >= together;
    let wanted = given.word("wiring");
    let named = |wiring: &&Wiring| wanted.is_none_or(|wanted| wiring.word() == wanted);
    // What does with the fewest pins, in the wanted way and in any.
    let least = all
        .iter()
        .filter(able)
        .filter(named)
        .min_by_key(|wiring| wiring.pins);
    let Some(least) = least else {
        let most = all
            .iter()
            .filter(named)
            .map(|wiring| wiring.rollover)
            .max()
            .unwrap_or(0);
        refusals.push(Refusal::new(
            "wiring",
            format!(
                "wired so, {most} of the {keys} keys can be held in any combination, and {together} have to be"
            ),
            "use diodes or another wiring, or state fewer keys in `together`",
        ));
        return refusals;
    };
    let Some(free) = given.whole("free_pins") else {
        return refusals;
    };
    if least.pins <= free {
        return refusals;
    }
    let other = all
        .iter()
        .filter(able)
        .filter(|wiring| wiring.pins <= free)
        .min_by_key(|wiring| (wiring.parts(), wiring.pins));
    let lacking = least.pins - free;
    let help = match other {
        Some(other) => format!(
            "wire them otherwise, {} with {} pins; or free {lacking} more",
            other.title().to_lowercase(),
            other.pins
        ),
        None => format!("free {lacking} more, or let fewer keys be held together"),
    };
    refusals.push(Refusal::new(
        if wanted.is_some() {
            "keys"
        } else {
            "free_pins"
        },
        format!(
            "{keys} keys wired so ({}) take {} pins, and {free} are free",
            least.title().to_lowercase(),
            least.pins
        ),
        help,
    ));
    refusals
}

/// Results of one wiring.
fn results(given: &Inputs, wiring: &Wiring, results: &mut Vec<Planned>) {
    let (id, title) = (wiring.id(), wiring.title());
    let mut add = |key: &str, means: &str, formula: String, source| {
        results.push(Planned::formula(
            format!("{id}.{key}"),
            format!("{title}: {means}"),
            formula,
            source,
        ));
    };
    let count = |number: u64| format!("{number} count");
    add("pins", "pins", count(wiring.pins), COUNTED);
    add("diodes", "diodes", count(wiring.diodes), COUNTED);
    add(
        "parts",
        "parts beside the keys",
        count(wiring.parts()),
        COUNTED,
    );
    add(
        "together",
        "keys that may be held in any combination",
        count(wiring.rollover),
        SIMULATED,
    );
    if given.has("diode_cost") {
        let pins = match given.has("pin_cost") {
            true => format!(" + {} * pin_cost", wiring.pins),
            false => String::new(),
        };
        let formula = format!(
            "{} * diode_cost + {} * register_cost + {} * resistor_cost{pins}",
            wiring.diodes, wiring.registers, wiring.resistors
        );
        add("cost", "cost beside the keys", formula, SUMMED);
    }
    if given.has("settle") {
        add(
            "scan_time",
            "time of a scan",
            format!("{} * settle", wiring.steps),
            SCANNED,
        );
    }
    if given.has("bounce") {
        let formula = format!("(ceil(bounce / {id}.scan_time) + 1) * {id}.scan_time");
        add(
            "latency",
            "time until a key is sure",
            formula,
            "scans that agree for as long as a contact bounces, and the one under way",
        );
    }
}

/// Names of the costs of all wirings; none where costs are not given.
fn costs(given: &Inputs, all: &[Wiring]) -> Vec<String> {
    match given.has("diode_cost") {
        true => all
            .iter()
            .map(|wiring| format!("{}.cost", wiring.id()))
            .collect(),
        false => Vec::new(),
    }
}

/// What a recommendation goes by.
#[derive(Clone, Debug)]
struct Choice {
    /// Whether it has pins enough and tells apart what has to be.
    fits: Vec<bool>,
    parts: Vec<u64>,
    pins: Vec<u64>,
}

impl Choice {
    /// The cheapest that fits; with no costs, the one of the fewest parts; of
    /// equals, the one of the fewest pins.
    fn best(&self, costs: &[f64]) -> Option<usize> {
        let fit = (0..self.fits.len()).filter(|at| self.fits[*at]);
        let cost = |at: usize| costs.get(at).copied().unwrap_or(self.parts[at] as f64);
        fit.min_by(|&a, &b| {
            let dearer = cost(a).total_cmp(&cost(b));
            dearer.then(self.pins[a].cmp(&self.pins[b]))
        })
    }
}

/// Pins of what is recommended, so that a record can hold it to something.
fn recommended(choice: &Choice, costs: &[String], results: &mut Vec<Planned>) {
    let owned = choice.clone();
    results.push(Planned::procedure(
        "recommended_pins",
        "Pins of the wiring that is recommended",
        Dimension::COUNTS,
        costs.to_vec(),
        Procedure::new(move |costs| {
            let best = owned.best(costs).map(|at| owned.pins[at] as f64);
            best.ok_or_else(|| {
                Unworkable::new(
                    "has no value: no wiring does",
                    "free more pins, or let fewer keys be held together",
                )
            })
        }),
        SUMMED,
    ));
}

fn table(
    given: &Inputs,
    all: &[Wiring],
    choice: &Choice,
    costs: &[String],
    together: u64,
) -> Table {
    let optional = [
        ("cost", "Cost", given.has("diode_cost")),
        ("scan_time", "Scan", given.has("settle")),
        ("latency", "Sure after", given.has("bounce")),
    ];
    let mut columns: Vec<String> = [
        "Wiring",
        "Pins",
        "Diodes",
        "Parts",
        "Held together",
        "Sets told apart",
    ]
    .map(String::from)
    .into();
    columns.extend(
        optional
            .iter()
            .filter(|column| column.2)
            .map(|column| column.1.to_owned()),
    );
    columns.push("Verdict".into());
    let row = |(at, wiring): (usize, &Wiring)| {
        let of = |key: &str| Cell::Value(format!("{}.{key}", wiring.id()));
        let mut row = vec![
            Cell::Text(wiring.title()),
            of("pins"),
            of("diodes"),
            of("parts"),
            of("together"),
            Cell::Text(wiring.sets.clone()),
        ];
        row.extend(
            optional
                .iter()
                .filter(|column| column.2)
                .map(|column| of(column.0)),
        );
        row.push(verdict(given, at, wiring, choice, costs, together));
        row
    };
    Table {
        caption: String::new(),
        columns,
        rows: shown(all).map(row).collect(),
    }
}

/// The wirings that the table shows: all, but for matrices far from square where
/// there are many.
fn shown(all: &[Wiring]) -> impl Iterator<Item = (usize, &Wiring)> {
    let beyond = all.len().saturating_sub(MOST_ROWS).div_ceil(2);
    let mut left_out = [beyond, beyond];
    all.iter().enumerate().filter(move |(_, wiring)| {
        let sort = match wiring.word() {
            "matrix" => 0,
            "matrix-with-diodes" => 1,
            _ => return true,
        };
        let skip = left_out[sort] > 0;
        left_out[sort] = left_out[sort].saturating_sub(1);
        !skip
    })
}

fn verdict(
    given: &Inputs,
    at: usize,
    wiring: &Wiring,
    choice: &Choice,
    costs: &[String],
    together: u64,
) -> Cell {
    let fixed = if given
        .whole("free_pins")
        .is_some_and(|free| wiring.pins > free)
    {
        Some("more pins than are free".to_owned())
    } else if wiring.rollover < together {
        Some(format!(
            "{} held together may read as others",
            wiring.rollover + 1
        ))
    } else if !choice.fits[at] {
        Some("would do".to_owned())
    } else {
        None
    };
    if let Some(words) = fixed {
        return Cell::Text(words);
    }
    let choice = choice.clone();
    Cell::Judged {
        of: costs.to_vec(),
        judge: Judge::new(move |costs: &[Outcome]| {
            let costs: Vec<f64> = costs.iter().map(|cost| cost.nominal).collect();
            match choice.best(&costs) == Some(at) {
                true => "recommended".into(),
                false => "would do".into(),
            }
        }),
    }
}

fn notes(
    given: &Inputs,
    keys: u64,
    together: u64,
    all: &[Wiring],
    choice: &Choice,
    costed: bool,
) -> Vec<String> {
    let mut notes = Vec::new();
    let by = if costed {
        "cost"
    } else {
        "parts beside the keys"
    };
    let pins = match given.whole("free_pins") {
        Some(free) => format!(" and takes no more than the {free} free pins"),
        None => String::new(),
    };
    let held = match together == keys {
        true => "every set of held keys".to_owned(),
        false => format!("any {together} keys held together"),
    };
    let best = choice.best(&[]).filter(|_| !costed);
    let which = best.map_or_else(String::new, |at| {
        format!(" ({})", all[at].title().to_lowercase())
    });
    notes.push(format!(
        "Recommended{which} is the wiring of the least {by}, and then of the fewest pins, that \
         tells apart {held}{pins}."
    ));
    notes.push(
        "A set of keys is told apart where no other set reads like it: current was followed \
         through every closed contact. Diodes are taken as ideal, and pins as having pull-ups of \
         their own."
            .into(),
    );
    if all.len() > MOST_ROWS {
        notes.push("Matrices far from square are left out of the table.".into());
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    fn keys(keys: u64) -> Given {
        Given::default().whole("keys", keys)
    }

    fn costs() -> Given {
        Given::quantities(&[
            ("diode_cost", 0.02),
            ("register_cost", 0.3),
            ("resistor_cost", 0.01),
            ("settle", 1e-5),
            ("bounce", 5e-3),
        ])
    }

    /// Truth: common practice: 8 keys as 2 by 4 take six pins, 12 as 3 by 4 seven;
    /// one pin a key needs no diodes and no tricks.
    #[test]
    fn pins_are_those_of_common_practice() {
        let eight = keys(8).work(&KIND);
        near(eight["matrix_2_by_4.pins"], 6.0, 0.0);
        near(eight["direct.diodes"], 0.0, 0.0);
        near(eight["recommended_pins"], 8.0, 0.0);
        near(keys(12).work(&KIND)["matrix_3_by_4.pins"], 7.0, 0.0);
    }

    /// Truth: with six pins, all of eight keys held together need diodes or a
    /// register (brute force in the tests of contacts); any two do without.
    #[test]
    fn what_is_recommended_hangs_on_pins_and_on_what_is_held() {
        let all = keys(8).whole("free_pins", 6).work(&KIND);
        // Eight diodes are fewer parts than a register with eight resistors.
        near(all["recommended_pins"], 6.0, 0.0);
        let two = keys(8)
            .whole("free_pins", 6)
            .whole("together", 2)
            .work(&KIND);
        near(two["recommended_pins"], 6.0, 0.0);
        let three = keys(8).whole("free_pins", 3).work(&KIND);
        near(three["recommended_pins"], 3.0, 0.0);
    }

    /// Truth: sums by hand: eight diodes cost 0.16; a register and eight resistors
    /// 0.38; two rows of 10 µs are 20 µs, and 5 ms of bouncing 250 scans.
    #[test]
    fn costs_and_times_are_sums() {
        let work = costs().whole("keys", 8).work(&KIND);
        near(work["matrix_2_by_4_diodes.cost"], 0.16, 1e-12);
        near(work["shift_register.cost"], 0.38, 1e-12);
        near(work["matrix_2_by_4.scan_time"], 2e-5, 1e-12);
        near(work["matrix_2_by_4.latency"], 251.0 * 2e-5, 1e-9);
    }

    #[test]
    fn more_keys_than_pins_are_refused_with_a_way_out() {
        let refusals = keys(12)
            .word("wiring", "direct")
            .whole("free_pins", 8)
            .refusals(&KIND);
        assert_eq!(refusals.len(), 1);
        assert!(
            refusals[0].help.contains("3 by 4, with diodes with 7 pins"),
            "{refusals:?}"
        );
        assert_eq!(keys(12).whole("free_pins", 2).refusals(&KIND).len(), 1);
        assert_eq!(keys(2).whole("together", 3).refusals(&KIND).len(), 1);
    }

    #[test]
    fn hangs_together() {
        costs()
            .whole("keys", 12)
            .whole("free_pins", 8)
            .hangs_together(&KIND);
        keys(1).hangs_together(&KIND);
        keys(10_000).hangs_together(&KIND);
    }
}
