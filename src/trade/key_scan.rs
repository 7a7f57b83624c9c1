//! Reading keys: every way of wiring them, what each needs, and which keys held
//! together it tells apart.

use super::key_choice::{Choice, SORTED};
use super::key_table::{notes, table};
use super::key_wiring::{Wiring, wirings};
use super::kind::{Input, Inputs, Kind, Refusal, Takes, may_take, optional, takes};
use super::plan::{Plan, Planned};
use crate::quantity::Dimension;

pub(super) static KIND: KeyScan = KeyScan;

/// The kind `key-scan`.
#[derive(Debug)]
pub(super) struct KeyScan;

const COUNTED: &str = "common practice (combinatorics)";
const SIMULATED: &str = "simulated: paths through the contacts that are closed";
const SUMMED: &str = "sum of parts";
const SCANNED: &str = "steps of the scan";
const CHOSEN: &str = "by comparing the wirings";

const INPUTS: &[Input] = &[
    takes("keys", "How many keys there are", Takes::Whole(1..=10_000)),
    optional(
        "free_pins",
        "Free pins, where each of them can be read and driven",
        Dimension::COUNTS,
    )
    .not_negative(),
    optional(
        "free_inputs",
        "Free pins that can be read",
        Dimension::COUNTS,
    )
    .not_negative(),
    optional(
        "free_outputs",
        "Free pins that can be driven",
        Dimension::COUNTS,
    )
    .not_negative(),
    optional(
        "free_both",
        "Free pins that can be read and driven, which are among both of these",
        Dimension::COUNTS,
    )
    .not_negative(),
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
        let all = wirings(keys);
        let refusals = refusals(given, keys, together, &all);
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let choice = Choice::among(given, &all, together);
        let mut plan = Plan::default();
        for wiring in &all {
            results(given, wiring, &mut plan.results);
        }
        plan.results.push(Planned::procedure(
            "recommended_pins",
            "Pins of the wiring that is recommended",
            Dimension::COUNTS,
            choice.operands(),
            choice.pins_of_best(),
            CHOSEN,
        ));
        plan.tables.push(table(given, &all, &choice));
        plan.notes = notes(given, keys, together, &all, &choice);
        Ok(plan)
    }
}

/// What cannot be wired, whatever the numbers that it hangs on come to.
fn refusals(given: &Inputs, keys: u64, together: u64, all: &[Wiring]) -> Vec<Refusal> {
    let mut refusals = Vec::new();
    if together > keys {
        refusals.push(Refusal::new(
            "together",
            format!("{together} keys cannot be held together: there are {keys}"),
            "leave `together` out where all may be held",
        ));
    }
    let mut all_or_none = |inputs: &[&str], message: &str, help: &str| {
        let some = inputs.iter().any(|input| given.has(input));
        for lacks in inputs.iter().filter(|input| some && !given.has(input)) {
            refusals.push(Refusal::new(
                "keys",
                format!("{message} without `{lacks}`"),
                format!("add `{lacks}`, or leave the other {help} out"),
            ));
        }
    };
    all_or_none(COSTS, "what a wiring costs cannot be told", "costs");
    all_or_none(SORTED, "which pins are free cannot be told", "free pins");
    if given.has("free_pins") && SORTED.iter().any(|sort| given.has(sort)) {
        refusals.push(Refusal::new(
            "free_pins",
            "free pins are given twice, all alike and by what they can do",
            "leave `free_pins` out",
        ));
    }
    if given.has("bounce") && !given.has("settle") {
        refusals.push(Refusal::new(
            "bounce",
            "how long a key takes to be read cannot be told without `settle`",
            "add `settle`, the time of a step of the scan",
        ));
    }
    let wanted = given.word("wiring");
    let named = |wiring: &&Wiring| wanted.is_none_or(|wanted| wiring.word() == wanted);
    let held = all.iter().filter(named).map(|wiring| wiring.rollover);
    let most = held.max().unwrap_or(0);
    if refusals.is_empty() && most < together {
        refusals.push(Refusal::new(
            "wiring",
            format!(
                "wired so, {most} of the {keys} keys can be held in any combination, and {together} have to be"
            ),
            "use diodes or another wiring, or state fewer keys in `together`",
        ));
    }
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

#[cfg(test)]
#[allow(clippy::expect_used, clippy::panic)]
mod tests {
    use super::super::check::{Given, near};
    use super::super::{How, Unworkable};
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
        let all = keys(8).also("free_pins", 6.0).work(&KIND);
        // Eight diodes are fewer parts than a register with eight resistors.
        near(all["recommended_pins"], 6.0, 0.0);
        let two = keys(8)
            .also("free_pins", 6.0)
            .whole("together", 2)
            .work(&KIND);
        near(two["recommended_pins"], 6.0, 0.0);
        let three = keys(8).also("free_pins", 3.0).work(&KIND);
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

    /// What a record hears of free pins that do not do.
    fn refused(given: &Given) -> Unworkable {
        let plan = given.plan(&KIND);
        let mut results = plan.results.into_iter();
        let found = results.find(|planned| planned.name == "recommended_pins");
        let Some(How::Procedure {
            operands,
            procedure,
            ..
        }) = found.map(|planned| planned.how)
        else {
            panic!("a recommendation is worked out");
        };
        let refused = procedure.run(&given.values_of(&operands));
        refused.expect_err("there are too few pins")
    }

    #[test]
    fn more_keys_than_pins_are_refused_with_a_way_out() {
        let direct = refused(&keys(12).word("wiring", "direct").also("free_pins", 8.0));
        assert!(
            direct
                .message
                .ends_with("(one pin a key) take 12 pins, and 8 are free"),
            "{direct:?}"
        );
        assert!(
            direct.help.contains("3 by 4, with diodes: 7 pins"),
            "{direct:?}"
        );
        let none = refused(&keys(12).also("free_pins", 2.0));
        assert!(none.help.starts_with("free more"), "{none:?}");
        assert_eq!(keys(2).whole("together", 3).refusals(&KIND).len(), 1);
        let half = keys(2).also("free_inputs", 3.0);
        assert_eq!(half.refusals(&KIND).len(), 2, "outputs, and both");
        let twice = sorted(12, 9.0, 4.0, 2.0).also("free_pins", 8.0);
        assert_eq!(twice.refusals(&KIND).len(), 1);
    }

    fn sorted(number: u64, inputs: f64, outputs: f64, both: f64) -> Given {
        keys(number)
            .also("free_inputs", inputs)
            .also("free_outputs", outputs)
            .also("free_both", both)
    }

    /// Truth: by hand. Six pins to read and five to drive, two of them both, are
    /// nine pins: not twelve for a pin a key; a matrix of 3 by 4 drives three and
    /// reads four; four charlieplexed pins would have to do both.
    #[test]
    fn a_pin_that_is_only_read_drives_no_row() {
        let matrix = sorted(12, 6.0, 5.0, 2.0).work(&KIND);
        near(matrix["recommended_pins"], 7.0, 0.0);
        // With two to drive alone, a matrix of 2 by 6, which has eight.
        let narrow = sorted(12, 6.0, 2.0, 0.0).work(&KIND);
        near(narrow["recommended_pins"], 8.0, 0.0);
        // Seven pins of which none can be driven do for no matrix and no register.
        let refused = refused(&sorted(12, 7.0, 0.0, 0.0));
        assert!(refused.message.contains("and 0 are free"), "{refused:?}");
        // A pin that can do both does one of them at a time.
        let shared = sorted(4, 2.0, 2.0, 2.0).work(&KIND);
        assert!(!shared.contains_key("recommended_pins"), "{shared:?}");
    }

    #[test]
    fn hangs_together() {
        costs()
            .whole("keys", 12)
            .also("free_pins", 8.0)
            .hangs_together(&KIND);
        sorted(12, 6.0, 5.0, 2.0).hangs_together(&KIND);
        keys(1).hangs_together(&KIND);
        keys(10_000).hangs_together(&KIND);
    }
}
