//! Check by a fixture that the resistors of a board are the right ones.

use super::Takes;
use super::choose::Chooses;
use super::kind::{Input, Inputs, Kind, Refusal, input, may_take, optional, takes};
use super::plan::{Plan, Planned, Procedure, Unworkable};
use super::presence::neighbour;
use super::presence_tables;
use super::verdict::answer;
use crate::quantity::{Dimension, Series};

/// The kind.
#[derive(Debug)]
pub(super) struct PresenceCheck;

pub(super) static KIND: PresenceCheck = PresenceCheck;

/// More would be no table that anybody reads.
const MOST: usize = 32;

const DIVIDER: &str = "textbook: voltage divider, read against the voltage that feeds it";

const INPUTS: &[Input] = &[
    input(
        "fixture_resistor",
        "The fixture's resistor, that makes the divider",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    input(
        "resolution",
        "Bits of the fixture's converter",
        Dimension::BITS,
    )
    .above_zero(),
    takes(
        "resistors",
        "Resistor under test, good",
        Takes::ByName(Dimension::RESISTANCE),
    )
    .above_zero(),
    may_take(
        "parallel",
        "What lies in parallel on the board, to that resistor",
        Takes::ByName(Dimension::RESISTANCE),
    )
    .above_zero(),
    may_take(
        "series",
        "Series that the values are from",
        Takes::Word(&["E3", "E6", "E12", "E24", "E48", "E96", "E192"]),
    ),
    may_take(
        "selected_by",
        "How the fixture reaches each resistor",
        Takes::Word(&["probe", "switch"]),
    ),
    optional(
        "contact",
        "Resistance of probes and switch in series",
        Dimension::RESISTANCE,
    )
    .above_zero(),
    optional(
        "drive",
        "Voltage that feeds the divider, where it is not the reference",
        Dimension::VOLTAGE,
    )
    .above_zero(),
    optional(
        "reference",
        "Reference of the converter, where it does not feed the divider",
        Dimension::VOLTAGE,
    )
    .above_zero(),
    optional(
        "leakage",
        "Current that pins of the board and the converter put into the divider",
        Dimension::CURRENT,
    ),
    optional(
        "error",
        "Offset, gain error and nonlinearity of the converter together",
        Dimension::COUNTS,
    ),
    optional(
        "guard",
        "Guard band by which the limits are wider than good boards need",
        Dimension::COUNTS,
    )
    .not_negative(),
    optional(
        "controller_accuracy",
        "How far the controller that the resistor programs may be off by itself, as a share",
        Dimension::ONE,
    )
    .not_negative(),
];

/// A fault of a single resistor: its name in results, and in words.
pub(super) const FAULTS: &[(&str, &str)] = &[
    ("open", "open, or missing"),
    ("short", "short"),
    ("next_up", "next value up"),
    ("next_down", "next value down"),
    ("decade_up", "ten times the value"),
    ("decade_down", "a tenth of the value"),
];

impl Kind for PresenceCheck {
    fn name(&self) -> &'static str {
        "presence-check"
    }

    fn title(&self) -> &'static str {
        "Check of resistors by a fixture"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn chooser(&self) -> Option<&dyn Chooses> {
        Some(self)
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let refusals = refusals(given);
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let series = series(given);
        let resistors = given.names("resistors");
        let paths = given.names("parallel");
        let mut plan = Plan::default();
        plan.results.extend(scale(given));
        for &one in &resistors {
            plan.results.extend(wrong_values(one, series));
            let path = paths.contains(&one).then(|| format!("parallel.{one}"));
            plan.results
                .extend(readings(given, one, path.as_deref(), ""));
            if path.is_some() {
                plan.results.extend(readings(given, one, None, "bare."));
            }
            plan.results.push(per_count(one));
        }
        for pair in resistors.windows(2) {
            for (at, other) in [(pair[0], pair[1]), (pair[1], pair[0])] {
                let path = paths.contains(&at).then(|| format!("parallel.{at}"));
                let element = format!("resistors.{other}");
                plan.results.push(Planned::formula(
                    format!("swapped.{at}.{other}"),
                    format!("Reading at {}, {} fitted", words(at), words(other)),
                    reading(given, Some(&element), path.as_deref()),
                    DIVIDER,
                ));
            }
        }
        plan.tables = presence_tables::tables(given, series);
        plan.notes = notes(given, series);
        answer(&mut plan, INPUTS, given, presence_tables::VERDICTS);
        // Readings stand in the tables of faults; a list of all would say it twice.
        if let Some(list) = plan.tables.last_mut() {
            list.rows.truncate(listed(given));
            list.caption = "The fixture".to_owned();
        }
        Ok(plan)
    }
}

/// Inputs that are single formulas, and the scale.
fn listed(given: &Inputs) -> usize {
    let single =
        |input: &&Input| matches!(input.takes, Takes::Quantity(_)) && given.has(input.name);
    INPUTS.iter().filter(single).count() + 2
}

/// A name of the record's own choice in a sentence.
pub(super) fn words(name: &str) -> String {
    name.replace('_', " ")
}

pub(super) fn series(given: &Inputs) -> Series {
    given
        .word("series")
        .and_then(|name| Series::parse(name).ok())
        .unwrap_or(Series::E24)
}

fn refusals(given: &Inputs) -> Vec<Refusal> {
    let mut refusals = Vec::new();
    let resistors = given.names("resistors");
    if !(1..=MOST).contains(&resistors.len()) {
        refusals.push(Refusal::new(
            "resistors",
            format!("there are {} resistors to test", resistors.len()),
            format!("give 1 to {MOST} of them"),
        ));
    }
    for path in given.names("parallel") {
        if !resistors.contains(&path) {
            refusals.push(Refusal::new(
                "parallel",
                format!("there is no resistor `{path}` that something could be parallel to"),
                format!("name one of those under test: {}", resistors.join(", ")),
            ));
        }
    }
    for (has, lacks) in [
        ("drive", "reference"),
        ("reference", "drive"),
        ("leakage", "drive"),
    ] {
        if given.has(has) && !given.has(lacks) {
            refusals.push(Refusal::new(
                has,
                format!("`{has}` makes no reading without `{lacks}`"),
                format!("give `{lacks}` as well, or leave `{has}` out"),
            ));
        }
    }
    refusals
}

fn scale(given: &Inputs) -> [Planned; 2] {
    let feeds = match (given.has("drive"), given.has("leakage")) {
        (true, true) => "(drive + leakage * fixture_resistor) / reference * 2^resolution",
        (true, false) => "drive / reference * 2^resolution",
        (false, _) => "2^resolution",
    };
    [
        Planned::formula(
            "full_scale",
            "Greatest reading",
            "2^resolution - 1 count",
            "common converter convention: full scale is 2^N steps",
        ),
        Planned::formula(
            "scale",
            "Steps from nothing to the voltage that feeds the divider",
            feeds,
            DIVIDER,
        ),
    ]
}

/// Values that the next in the series would have, and off as the good one is.
fn wrong_values(one: &str, series: Series) -> [Planned; 2] {
    [("up", true), ("down", false)].map(|(way, above)| {
        Planned::procedure(
            format!("value_{way}.{one}"),
            format!("Next value {way} in {series}, for {}", words(one)),
            Dimension::RESISTANCE,
            vec![format!("resistors.{one}")],
            Procedure::new(move |of| {
                let found = of.first().and_then(|&own| neighbour(own, series, above));
                found.ok_or_else(|| {
                    Unworkable::new(
                        "does not exist",
                        "give the resistor a value above zero that parts have",
                    )
                })
            }),
            "IEC 60063:2015",
        )
    })
}

/// The reading of a resistor that may be open, within the converter's range.
fn reading(given: &Inputs, element: Option<&str>, path: Option<&str>) -> String {
    let board = match (element, path) {
        (Some(element), Some(path)) => Some(format!("parallel({element}, {path})")),
        (Some(one), None) | (None, Some(one)) => Some(one.to_owned()),
        (None, None) => None,
    };
    let counts = match board {
        None => "scale".to_owned(),
        Some(board) if given.has("contact") => {
            format!("scale / (1 + fixture_resistor / (contact + {board}))")
        }
        Some(board) => format!("scale / (1 + fixture_resistor / ({board}))"),
    };
    clamped(given, &counts)
}

fn clamped(given: &Inputs, counts: &str) -> String {
    let error = if given.has("error") { " + error" } else { "" };
    format!("max(0 count, min(full_scale, {counts}{error}))")
}

/// Readings of a resistor, good and with each fault, under names that begin with
/// `before`.
fn readings(given: &Inputs, one: &str, path: Option<&str>, before: &str) -> Vec<Planned> {
    let own = format!("resistors.{one}");
    let short = if given.has("contact") {
        clamped(given, "scale / (1 + fixture_resistor / contact)")
    } else {
        clamped(given, "0 count")
    };
    let at = |element: &str| reading(given, Some(element), path);
    let all = [
        ("reading", "good", at(&own)),
        ("open", FAULTS[0].1, reading(given, None, path)),
        ("short", FAULTS[1].1, short),
        ("next_up", FAULTS[2].1, at(&format!("value_up.{one}"))),
        ("next_down", FAULTS[3].1, at(&format!("value_down.{one}"))),
        ("decade_up", FAULTS[4].1, at(&format!("(10 * {own})"))),
        ("decade_down", FAULTS[5].1, at(&format!("({own} / 10)"))),
    ];
    let beside = if before.is_empty() {
        ""
    } else {
        ", without what is parallel"
    };
    all.into_iter()
        .map(|(name, what, formula)| {
            Planned::formula(
                format!("{before}{name}.{one}"),
                format!("Reading of {}, {what}{beside}", words(one)),
                formula,
                DIVIDER,
            )
        })
        .collect()
}

fn per_count(one: &str) -> Planned {
    Planned::formula(
        format!("share_per_count.{one}"),
        format!(
            "Change of {} that moves the reading by one count",
            words(one)
        ),
        format!(
            "1 count / scale / (0.25 - (1 / (1 + fixture_resistor / resistors.{one}) - 0.5)^2)"
        ),
        // Each resistor stands once: the extremes of this are those of its parts.
        "derivative of the divider: dR/R = dx / (x (1 - x)), with x (1 - x) = 1/4 - (x - 1/2)²",
    )
}

fn notes(given: &Inputs, series: Series) -> Vec<String> {
    let mut notes = vec![
        "This proves the resistor and not the controller that it programs: a controller that is \
         missing, faulty or of the wrong kind can leave every reading here as it is. Only a test \
         of the current proves the controller."
            .to_owned(),
        format!(
            "A test of the current alone does not prove the resistor: where the controller may be \
             off by 7 % to 10 % by itself (from memory, usual for chargers), that is about one \
             step of E24, so the next value of {series} can give a current within the limits. \
             Both tests are needed."
        ),
        "An open resistor and a missing one are the same to this test, and so is an open joint. A \
         part of the right value and a worse tolerance is not seen."
            .to_owned(),
        "The board is tested without power.".to_owned(),
    ];
    if !given.names("parallel").is_empty() {
        notes.push(
            "Where something is parallel on the board, a fault moves the reading less, and may be \
             masked."
                .to_owned(),
        );
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    fn given(fixture: f64, resistors: &[(&str, f64)], more: &[(&str, f64)]) -> Given {
        let inputs = [("fixture_resistor", fixture), ("resolution", 12.0)];
        Given::quantities(&[&inputs, more].concat()).by_name("resistors", resistors)
    }

    /// Truth: the divider by exact fractions: 10 kΩ through 10 kΩ is 2048 of
    /// 4096; 10 kΩ through 5.1 kΩ is 40960/15.1; open is full scale, short 0;
    /// the next values of E24 are 11 kΩ and 9.1 kΩ (IEC 60063).
    #[test]
    fn readings_by_exact_fractions() {
        let found = given(10e3, &[("a", 10e3)], &[]).work(&KIND);
        near(found["reading.a"], 2048.0, 1e-12);
        near(found["open.a"], 4095.0, 1e-12);
        assert_eq!(found["short.a"], 0.0);
        near(found["next_up.a"], 4096.0 * 11.0 / 21.0, 1e-12);
        near(found["next_down.a"], 4096.0 * 9.1 / 19.1, 1e-12);
        near(found["decade_up.a"], 4096.0 / 1.1, 1e-12);
        near(found["decade_down.a"], 4096.0 / 11.0, 1e-12);
        let found = given(5.1e3, &[("a", 10e3)], &[]).work(&KIND);
        near(found["reading.a"], 40_960.0 / 15.1, 1e-12);
    }

    /// Truth: dR/R = dx / (x (1 - x)) (calculus), computed: 12 bit and 8 counts
    /// are 0.78 % at the middle, and 2.2 % where x is a tenth.
    #[test]
    fn the_change_that_a_count_stands_for() {
        let share = |fixture| {
            let given = given(fixture, &[("a", 10e3)], &[]);
            8.0 * given.result(&KIND, "share_per_count.a")
        };
        near(share(10e3), 0.0078, 2e-3);
        near(share(90e3), 0.0217, 1e-3);
    }

    /// Truth: superposition: 2.5 V through 10 kΩ onto 10 kΩ, with 10 µA into
    /// the node, is 1.25 V + 10 µA × 5 kΩ = 1.3 V; against 3.25 V at 12 bit
    /// 1638.4 counts, and 3 more.
    #[test]
    fn drive_leakage_and_error_by_superposition() {
        let more = [
            ("drive", 2.5),
            ("reference", 3.25),
            ("leakage", 10e-6),
            ("error", 3.0),
        ];
        let found = given(10e3, &[("a", 10e3)], &more).result(&KIND, "reading.a");
        near(found, 1641.4, 1e-12);
    }

    /// Truth: arithmetic: 47 kΩ beside 10 kΩ is 8.2456 kΩ; missing it leaves
    /// 10 kΩ, 21 % more; 100 Ω of contact come on top.
    #[test]
    fn what_is_parallel_stays_when_the_part_is_missing() {
        let given =
            given(10e3, &[("a", 47e3)], &[("contact", 100.0)]).by_name("parallel", &[("a", 10e3)]);
        let found = given.work(&KIND);
        let both = 470e6 / 57e3 + 100.0;
        near(found["reading.a"], 4096.0 * both / (both + 10e3), 1e-12);
        near(found["open.a"], 4096.0 * 10.1 / 20.1, 1e-12);
        near(found["short.a"], 4096.0 * 0.1 / 10.1, 1e-12);
        near(found["bare.reading.a"], 4096.0 * 47.1 / 57.1, 1e-12);
        near(found["bare.open.a"], 4095.0, 1e-12);
    }

    #[test]
    fn a_swapped_neighbour_reads_as_what_it_is() {
        let given = given(10e3, &[("a", 10e3), ("b", 3.3e3), ("c", 47e3)], &[]);
        let found = given.work(&KIND);
        near(found["swapped.a.b"], found["reading.b"], 1e-12);
        near(found["swapped.c.b"], found["reading.b"], 1e-12);
        assert!(!found.contains_key("swapped.a.c"));
    }

    #[test]
    fn formulas_hang_together() {
        given(1.0, &[("a", 1.0)], &[]).hangs_together(&KIND);
        let all = [
            ("contact", 1.0),
            ("drive", 1.0),
            ("reference", 1.0),
            ("leakage", 1.0),
            ("error", 1.0),
            ("guard", 1.0),
            ("controller_accuracy", 0.1),
        ];
        given(1.0, &[("a", 1.0), ("b", 2.0)], &all)
            .by_name("parallel", &[("b", 5.0)])
            .word("series", "E96")
            .word("selected_by", "switch")
            .hangs_together(&KIND);
    }

    #[test]
    fn what_makes_no_reading_is_refused() {
        let wrong = given(1.0, &[("a", 1.0)], &[("leakage", 1e-6)]);
        assert_eq!(wrong.refusals(&KIND)[0].input, "leakage");
        let wrong = given(1.0, &[("a", 1.0)], &[]).by_name("parallel", &[("z", 1.0)]);
        assert_eq!(wrong.refusals(&KIND)[0].input, "parallel");
        assert_eq!(given(1.0, &[], &[]).refusals(&KIND)[0].input, "resistors");
    }
}
