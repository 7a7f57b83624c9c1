//! Pull-up resistors and addresses of a two-wire bus over the boards of a stack.

use super::Takes;
use super::bus_address::{Address, clash};
use super::kind::{Input, Inputs, Kind, Refusal, input, may_take, optional, takes};
use super::plan::{Holding, Plan, Planned};
use super::verdict::{Verdict, answer, fitted, time};
use crate::quantity::{Dimension, Given, Outcome};

/// The kind.
#[derive(Debug)]
pub(super) struct BusPullUp;

pub(super) static KIND: BusPullUp = BusPullUp;

const LIMITS: &str = "NXP UM10204, I2C-bus specification and user manual (rev. 6, 2014 / rev. 7, \
                      2021), tables 9 and 10; the rise time of Fast-mode Plus from memory";
const SIZING: &str = "NXP UM10204, I2C-bus specification and user manual (rev. 6, 2014 / rev. 7, \
                      2021), 7.1: 0.8473 is ln(0.7 / 0.3)";
const PARALLEL: &str = "textbook";

/// What a mode of the bus allows.
#[derive(Debug)]
struct Mode {
    name: &'static str,
    bit_rate: &'static str,
    rise_time: &'static str,
    capacitance: &'static str,
    sink_current: &'static str,
}

const MODES: &[Mode] = &[
    Mode {
        name: "standard",
        bit_rate: "100 kbit/s",
        rise_time: "1000 ns",
        capacitance: "400 pF",
        sink_current: "3 mA",
    },
    Mode {
        name: "fast",
        bit_rate: "400 kbit/s",
        rise_time: "300 ns",
        capacitance: "400 pF",
        sink_current: "3 mA",
    },
    Mode {
        name: "fast-plus",
        bit_rate: "1 Mbit/s",
        rise_time: "120 ns",
        capacitance: "550 pF",
        sink_current: "20 mA",
    },
];

/// What a mode allows, in coherent SI units (NXP UM10204, tables 9 and 10).
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct BusLimits {
    /// Longest rise time from 30 % to 70 %, in seconds.
    pub rise_time: f64,
    /// Greatest capacitance of a line, in farads.
    pub capacitance: f64,
    /// Current that every output sinks, in amperes.
    pub sink_current: f64,
}

impl BusLimits {
    /// The limits of a mode: `standard`, `fast`, `fast-plus`.
    pub fn of(mode: &str) -> Option<BusLimits> {
        let mode = MODES.iter().find(|known| known.name == mode)?;
        let number = |text| Some(Given::parse(text, None).ok()?.nominal());
        Some(BusLimits {
            rise_time: number(mode.rise_time)?,
            capacitance: number(mode.capacitance)?,
            sink_current: number(mode.sink_current)?,
        })
    }

    /// Highest voltage of a low output, given the voltage of the pull-ups, in
    /// volts (NXP UM10204, table 9).
    pub fn low_output(supply: f64) -> f64 {
        (0.2 * supply).min(0.4)
    }

    /// Rise time from 30 % to 70 %, in seconds: 0.8473 R C (NXP UM10204, 7.1).
    pub fn rise(resistance: f64, capacitance: f64) -> f64 {
        0.8473 * resistance * capacitance
    }
}

const INPUTS: &[Input] = &[
    input("supply", "Voltage of the pull-ups", Dimension::VOLTAGE).above_zero(),
    takes(
        "mode",
        "Mode of the bus",
        Takes::Word(&["standard", "fast", "fast-plus"]),
    ),
    takes(
        "boards",
        "What each board puts on the bus",
        Takes::Groups(&[
            input(
                "capacitance",
                "Capacitance of each line on the board, pins and tracks",
                Dimension::CAPACITANCE,
            )
            .not_negative(),
            optional(
                "pull_up",
                "Pull-up resistor of each line on the board",
                Dimension::RESISTANCE,
            )
            .above_zero(),
            may_take(
                "addresses",
                "Addresses on the board, of seven bits: 0x48",
                Takes::Words,
            ),
        ]),
    ),
    optional(
        "wiring",
        "Capacitance of cables and connectors",
        Dimension::CAPACITANCE,
    )
    .not_negative(),
    optional(
        "low_output",
        "Highest voltage of a low output",
        Dimension::VOLTAGE,
    )
    .not_negative(),
    optional(
        "sink_current",
        "Current that the weakest output sinks",
        Dimension::CURRENT,
    )
    .above_zero(),
];

const VERDICTS: &[Verdict] = &[
    Verdict {
        asks: "Can there be a resistor at all?",
        of: &["least_resistor", "greatest_resistor"],
        answer: window,
    },
    Verdict {
        asks: "Is the capacitance within the limit of the mode?",
        of: &["bus_capacitance", "capacitance_limit"],
        answer: capacitance,
    },
    Verdict {
        asks: "Can every output pull the bus low?",
        of: &["sunk_current", "sink_limit"],
        answer: sinks,
    },
    Verdict {
        asks: "Does the bus rise in time?",
        of: &["rise_time", "rise_limit"],
        answer: rises,
    },
];

impl Kind for BusPullUp {
    fn name(&self) -> &'static str {
        "bus-pull-up"
    }

    fn title(&self) -> &'static str {
        "Pull-up resistors of a two-wire bus"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let boards = given.groups("boards");
        let addresses = addresses(boards)?;
        let mode = MODES
            .iter()
            .find(|mode| Some(mode.name) == given.word("mode"))
            .unwrap_or(&MODES[0]);
        let mut plan = Plan {
            results: results(given, boards, mode),
            holds: holds(boards),
            notes: vec![
                format!("The mode clocks at {} at most.", mode.bit_rate),
                "Pull-ups on several boards are in parallel: a board that joins the stack makes \
                 them stronger."
                    .to_owned(),
            ],
            ..Plan::default()
        };
        if !addresses.is_empty() {
            let all: Vec<String> = addresses.iter().map(ToString::to_string).collect();
            plan.notes.push(format!(
                "Addresses in use, none of them twice: {}.",
                all.join(", ")
            ));
        }
        answer(&mut plan, INPUTS, given, VERDICTS);
        Ok(plan)
    }
}

/// All addresses, where each can be used.
fn addresses(boards: &[(String, Inputs)]) -> Result<Vec<Address>, Vec<Refusal>> {
    let (mut found, mut refusals) = (Vec::new(), Vec::new());
    for (board, inputs) in boards {
        for text in inputs.words("addresses") {
            match Address::parse(text) {
                Ok(address) => found.push((board.as_str(), address)),
                Err(fault) => refusals.push(Refusal::new(
                    format!("boards.{board}.addresses"),
                    format!("`{text}` of `{board}` is no address of the bus: {fault}"),
                    "write seven bits without the direction bit, as 0x48; 0x08 to 0x77 are free",
                )),
            }
        }
    }
    if let Some((first, second, address)) = clash(&found) {
        refusals.push(Refusal::new(
            format!("boards.{second}.addresses"),
            format!("the address {address} is used by `{first}` and by `{second}`"),
            "set another address on one of them, or keep them off one bus",
        ));
    }
    if refusals.is_empty() {
        Ok(found.into_iter().map(|(_, address)| address).collect())
    } else {
        Err(refusals)
    }
}

fn results(given: &Inputs, boards: &[(String, Inputs)], mode: &Mode) -> Vec<Planned> {
    // Sums and parallels grow by one board at a time, since formulas are short.
    let mut results = Vec::new();
    let mut capacitance = given.has("wiring").then(|| "wiring".to_owned());
    let mut conductance: Option<String> = None;
    let pulled: Vec<&str> = boards
        .iter()
        .filter(|(_, inputs)| inputs.has("pull_up"))
        .map(|(board, _)| board.as_str())
        .collect();
    for (at, (board, inputs)) in boards.iter().enumerate() {
        let own = format!("boards.{board}.capacitance");
        let sum = match &capacitance {
            Some(before) => format!("{before} + {own}"),
            None => own,
        };
        let is_last = at + 1 == boards.len();
        let (name, means) = if is_last {
            (
                "bus_capacitance".to_owned(),
                "Capacitance of each line".to_owned(),
            )
        } else {
            (
                format!("up_to.{board}.capacitance"),
                format!("Capacitance of each line up to `{board}`"),
            )
        };
        results.push(Planned::formula(&name, means, sum, PARALLEL));
        capacitance = Some(name);
        if !inputs.has("pull_up") {
            continue;
        }
        let own = format!("boards.{board}.pull_up");
        let both = match &conductance {
            Some(before) => format!("parallel({before}, {own})"),
            None => own,
        };
        let (name, means) = if pulled.last() == Some(&board.as_str()) {
            (
                "pull_up".to_owned(),
                "Pull-up of each line, all boards together".to_owned(),
            )
        } else {
            (
                format!("up_to.{board}.pull_up"),
                format!("Pull-up of each line up to `{board}`"),
            )
        };
        results.push(Planned::formula(&name, means, both, PARALLEL));
        conductance = Some(name);
    }
    results.extend(limits(given, mode));
    if conductance.is_some() {
        results.push(Planned::formula(
            "sunk_current",
            "Current that an output sinks to pull the bus low",
            "(supply - low_limit) / pull_up",
            "textbook: Ohm's law",
        ));
        results.push(Planned::formula(
            "rise_time",
            "Rise time from 30 % to 70 %",
            "0.8473 * pull_up * bus_capacitance",
            SIZING,
        ));
        results.push(Planned::formula(
            "capacitance_for_pull_up",
            "Capacitance at which these pull-ups just rise in time",
            "rise_limit / (0.8473 * pull_up)",
            SIZING,
        ));
    }
    results
}

/// What the bus asks of its boards together.
fn holds(boards: &[(String, Inputs)]) -> Vec<Holding> {
    let mut holds = vec![Holding::new(
        "bus_capacitance <= capacitance_limit",
        "The boards load the bus with no more than its mode allows",
    )];
    if boards.iter().any(|(_, inputs)| inputs.has("pull_up")) {
        holds.push(Holding::new(
            "sunk_current <= sink_limit",
            "Every output can pull the bus low",
        ));
        holds.push(Holding::new(
            "rise_time <= rise_limit",
            "The bus rises in time",
        ));
    }
    holds
}

fn limits(given: &Inputs, mode: &Mode) -> Vec<Planned> {
    let low = if given.has("low_output") {
        "low_output"
    } else {
        "min(0.4 V, 0.2 * supply)"
    };
    let sink = if given.has("sink_current") {
        "sink_current"
    } else {
        mode.sink_current
    };
    vec![
        Planned::formula(
            "rise_limit",
            "Longest rise time of the mode",
            mode.rise_time,
            LIMITS,
        ),
        Planned::formula(
            "capacitance_limit",
            "Greatest capacitance of the mode",
            mode.capacitance,
            LIMITS,
        ),
        Planned::formula(
            "sink_limit",
            "Current that every output sinks",
            sink,
            LIMITS,
        ),
        Planned::formula("low_limit", "Highest voltage of a low output", low, LIMITS),
        Planned::formula(
            "least_resistor",
            "Smallest resistor that every output can pull low",
            "(supply - low_limit) / sink_limit",
            SIZING,
        ),
        Planned::formula(
            "greatest_resistor",
            "Largest resistor with which the bus rises in time",
            "rise_limit / (0.8473 * bus_capacitance)",
            SIZING,
        ),
    ]
}

fn window(of: &[Outcome]) -> String {
    let [least, greatest] = of else {
        return String::new();
    };
    let show = |value| fitted(value, Dimension::RESISTANCE);
    let (low, high) = (show(least.high), show(greatest.low));
    if least.high <= greatest.low {
        format!("yes: from {low} to {high}")
    } else {
        format!("no: it would have to be at least {low} and at most {high}")
    }
}

fn within(of: &[Outcome], show: impl Fn(f64) -> String, [is, is_not]: [&str; 2]) -> String {
    let [found, limit] = of else {
        return String::new();
    };
    let (most, allowed) = (show(found.high), show(limit.low));
    if found.high <= limit.low {
        format!("yes: {is} {most} at most, and {allowed} are allowed")
    } else {
        format!("no: {is_not} {most}, and {allowed} are allowed")
    }
}

fn capacitance(of: &[Outcome]) -> String {
    let show = |value| fitted(value, Dimension::CAPACITANCE);
    within(of, show, ["it is", "it may be"])
}

fn sinks(of: &[Outcome]) -> String {
    let show = |value| fitted(value, Dimension::CURRENT);
    within(of, show, ["it sinks", "it may have to sink"])
}

fn rises(of: &[Outcome]) -> String {
    within(of, time, ["it takes", "it may take"])
}

#[cfg(test)]
mod tests {
    use super::super::Entry;
    use super::super::check::{Given, near};
    use super::*;

    fn bus(supply: f64, mode: &str, boards: &[(&str, &[(&str, f64)])]) -> Given {
        Given::quantities(&[("supply", supply)])
            .word("mode", mode)
            .groups("boards", boards)
    }

    /// Truth: Texas Instruments SLVA689 (February 2015), section 4: Fast-mode,
    /// 3.3 V, 200 pF: 1.77 kΩ at most and 966.667 Ω at least; recomputed
    /// 1.770329281 kΩ and 966.6666667 Ω.
    #[test]
    fn the_example_of_an_application_report() {
        let bus = bus(3.3, "fast", &[("main", &[("capacitance", 200e-12)])]);
        let found = bus.work(&KIND);
        near(found["greatest_resistor"], 1.770_329_281e3, 1e-9);
        near(found["least_resistor"], 966.666_666_7, 1e-9);
    }

    /// Truth: UM10204 7.1, computed: standard mode and 400 pF: 2.950548802 kΩ;
    /// Fast-mode Plus and 550 pF: 257.5024409 Ω; 1.8 V, 0.36 V: 480 Ω at 3 mA
    /// and 72 Ω at 20 mA; 5 V: 1533.333333 Ω.
    #[test]
    fn limits_of_the_modes() {
        let limits = |supply, mode, capacitance| {
            bus(supply, mode, &[("main", &[("capacitance", capacitance)])]).work(&KIND)
        };
        let standard = limits(5.0, "standard", 400e-12);
        near(standard["greatest_resistor"], 2.950_548_802e3, 1e-9);
        near(standard["least_resistor"], 1_533.333_333, 1e-9);
        let plus = limits(1.8, "fast-plus", 550e-12);
        near(plus["greatest_resistor"], 257.502_440_9, 1e-9);
        near(plus["least_resistor"], 72.0, 1e-12);
        near(limits(1.8, "fast", 1e-10)["least_resistor"], 480.0, 1e-12);
    }

    /// Truth: own calculation by UM10204 7.1: 4.7 kΩ each at 3.3 V: four boards
    /// sink 2.47 mA, five 3.09 mA, which is too much; and at 400 pF in 300 ns
    /// no resistor will do: at most 885 Ω, at least 967 Ω.
    #[test]
    fn pull_ups_of_a_stack_add_up() {
        let board: &[(&str, f64)] = &[("capacitance", 80e-12), ("pull_up", 4.7e3)];
        let five = [
            ("a", board),
            ("b", board),
            ("c", board),
            ("d", board),
            ("e", board),
        ];
        near(
            bus(3.3, "fast", &five[..4]).result(&KIND, "sunk_current"),
            2.468e-3,
            1e-3,
        );
        let found = bus(3.3, "fast", &five).work(&KIND);
        near(found["sunk_current"], 3.085e-3, 1e-3);
        near(found["bus_capacitance"], 400e-12, 1e-12);
        near(found["greatest_resistor"], 885.164_640_6, 1e-9);
        // 4.7 kΩ reach 300 ns at 75.33 pF (300 ns / 0.8473 / 4.7 kΩ).
        near(
            bus(3.3, "fast", &five[..1]).result(&KIND, "capacitance_for_pull_up"),
            75.333_16e-12,
            1e-6,
        );
        let exact = Outcome::exact;
        let sunk = sinks(&[exact(found["sunk_current"]), exact(found["sink_limit"])]);
        assert!(sunk.starts_with("no: it may have to sink 3.09"), "{sunk}");
        let window = window(&[
            exact(found["least_resistor"]),
            exact(found["greatest_resistor"]),
        ]);
        assert!(
            window.starts_with("no: it would have to be at least 967"),
            "{window}"
        );
        bus(3.3, "fast", &five).hangs_together(&KIND);
    }

    fn refused(boards: &[(&str, &[&str])]) -> Vec<String> {
        let group = |(board, addresses): &(&str, &[&str])| {
            let mut inputs = Inputs::default();
            inputs.put("capacitance", Entry::Quantity);
            let words = addresses.iter().map(|&word| word.to_owned()).collect();
            inputs.put("addresses", Entry::Words(words));
            ((*board).to_owned(), inputs)
        };
        let groups: Vec<(String, Inputs)> = boards.iter().map(group).collect();
        let refusals = addresses(&groups).err().unwrap_or_default();
        refusals
            .into_iter()
            .map(|refusal| refusal.message)
            .collect()
    }

    #[test]
    fn addresses_that_clash_or_are_reserved_are_refused() {
        assert!(refused(&[("a", &["0x48"]), ("b", &["0x49"])]).is_empty());
        let twice = refused(&[("a", &["0x48"]), ("b", &["0x48"])]);
        assert_eq!(twice, ["the address 0x48 is used by `a` and by `b`"]);
        let wrong = refused(&[("a", &["0x03", "0x90", "48", "0xzz"])]);
        assert_eq!(wrong.len(), 4, "{wrong:?}");
        assert!(wrong[0].ends_with("it is reserved"), "{wrong:?}");
        assert!(wrong[1].contains("eight bits"), "{wrong:?}");
    }
}
