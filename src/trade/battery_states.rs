//! States of a load that sleeps and wakes: what each takes from the battery.

use super::kind::{Input, Inputs, Refusal, optional};
use super::plan::{Cell, Planned, Procedure, Table, Unworkable};
use super::sums::{Together, together};
use crate::quantity::Dimension;

const BALANCE: &str = "common practice (charge balance)";

/// What a state is described by: a current and its time, or a charge.
pub(super) const INPUTS: &[Input] = &[
    optional("current", "Current of the load", Dimension::CURRENT),
    optional(
        "time",
        "How long; the rest of the period if nothing is said",
        Dimension::TIME,
    ),
    optional(
        "charge",
        "Charge of one event, in place of current and time",
        Dimension::CHARGE,
    ),
    optional(
        "times",
        "How often in a period; once if nothing is said",
        Dimension::ONE,
    ),
    optional(
        "efficiency",
        "Efficiency of the switching regulator in this state",
        Dimension::ONE,
    ),
];

/// A state, as far as the layout depends on it.
#[derive(Debug)]
pub(super) struct State {
    name: String,
    /// Whether it takes what the others leave of the period.
    rests: bool,
    /// Whether it is told by its charge.
    event: bool,
    repeated: bool,
    own_efficiency: bool,
}

impl State {
    fn is(&self, what: &str) -> String {
        format!("state.{}.{what}", self.name)
    }

    fn shown(&self) -> String {
        self.name.replace('_', " ")
    }

    /// Factor before one event's time or charge.
    fn times(&self) -> String {
        if self.repeated {
            format!("{} * ", self.is("times"))
        } else {
            String::new()
        }
    }
}

/// Reads the states, and refuses what is no state.
pub(super) fn read(given: &Inputs, refusals: &mut Vec<Refusal>) -> Vec<State> {
    let mut states: Vec<State> = Vec::new();
    let mut refuse =
        |message: String, help: &str| refusals.push(Refusal::new("state", message, help));
    for (name, inner) in given.groups("state") {
        let has = |what| inner.has(what);
        match (has("current"), has("charge")) {
            (true, true) => refuse(
                format!("the state `{name}` has a current and a charge"),
                "give `current` and `time`, or `charge` alone",
            ),
            (false, false) => refuse(
                format!("the state `{name}` has neither a current nor a charge"),
                "give `current` and `time`, or `charge`",
            ),
            (false, true) if has("time") => refuse(
                format!("the state `{name}` has a charge and a time"),
                "an event of a given charge takes no time here: leave `time` out",
            ),
            _ => {}
        }
        let rests = has("current") && !has("time");
        if rests && has("times") {
            refuse(
                format!(
                    "the state `{name}` is the rest of the period, and cannot be so many times"
                ),
                "give it a `time`, or leave `times` out",
            );
        }
        if has("efficiency") && given.word("regulator") != Some("switching") {
            refuse(
                format!(
                    "the state `{name}` has an efficiency, and there is no switching regulator"
                ),
                "add `regulator = \"switching\"`, or leave the efficiency out",
            );
        }
        if let Some(other) = states.iter().find(|state| state.rests && rests) {
            let message = format!(
                "both `{}` and `{name}` take the rest of the period",
                other.name
            );
            refuse(message, "give all states but one a `time`");
        }
        states.push(State {
            name: name.clone(),
            rests,
            event: has("charge"),
            repeated: has("times"),
            own_efficiency: has("efficiency"),
        });
    }
    if states.is_empty() {
        refuse(
            "there is no state to draw a current".to_owned(),
            "name each: `state = { sleep = { current = \"4 µA\" } }`",
        );
    }
    let needs_period = states.iter().find(|state| state.rests || state.event);
    if let Some(state) = needs_period.filter(|_| !given.has("period")) {
        refuse(
            format!(
                "the state `{}` has no time, and there is no `period` to count it in",
                state.name
            ),
            "add `period`, the time from one waking to the next",
        );
    }
    states
}

/// Plans what each state takes, and their average.
pub(super) fn plan(given: &Inputs, states: &[State], results: &mut Vec<Planned>) {
    let awake: Vec<&State> = states.iter().filter(|state| !state.rests).collect();
    let timed: Vec<String> = awake
        .iter()
        .filter(|state| !state.event)
        .map(|state| format!("{}{}", state.times(), state.is("time")))
        .collect();
    let no_time = ["0 s".to_owned()];
    let timed = if timed.is_empty() {
        &no_time[..]
    } else {
        &timed
    };
    let sum = Together::Sum;
    together(
        results,
        sum,
        ("awake_time", "Time of all states but rest"),
        timed,
        BALANCE,
    );
    let period = if given.has("period") {
        "period"
    } else {
        "awake_time"
    };
    results.push(awake_share(period, states));
    for state in states.iter().filter(|state| state.rests) {
        let means = format!("Rest of the period, {}", state.shown());
        let text = "period - awake_time";
        results.push(Planned::formula(
            state.is("time"),
            means,
            text,
            "arithmetic",
        ));
    }
    for state in states {
        results.push(drawn(given, state));
    }
    let drawn = |states: &[&State]| -> Vec<String> {
        states.iter().map(|state| state.is("drawn")).collect()
    };
    let no_charge = ["0 C".to_owned()];
    let of_awake = drawn(&awake);
    let of_awake = if awake.is_empty() {
        &no_charge[..]
    } else {
        &of_awake
    };
    let means = "Charge in a period, of all states but rest";
    together(results, sum, ("awake_charge", means), of_awake, BALANCE);
    let always: Vec<String> = given
        .names("quiescent")
        .iter()
        .map(|name| format!("quiescent.{name}"))
        .collect();
    if !always.is_empty() {
        together(
            results,
            sum,
            ("always_current", "Current that always flows"),
            &always,
            BALANCE,
        );
    }
    let at_rest = states.iter().find(|state| state.rests);
    let mut base: Vec<String> = at_rest
        .map(|state| at_battery(given, state, &state.is("current")))
        .into_iter()
        .collect();
    if !always.is_empty() {
        base.push("always_current".to_owned());
    }
    if base.is_empty() {
        base.push("0 A".to_owned());
    }
    results.push(Planned::formula(
        "base_current",
        "Current at rest, with what always flows",
        base.join(" + "),
        BALANCE,
    ));
    let all: Vec<&State> = states.iter().collect();
    let mut all = drawn(&all);
    if !always.is_empty() {
        all.push(format!("always_current * {period}"));
    }
    together(
        results,
        sum,
        ("period_charge", "Charge in a period"),
        &all,
        BALANCE,
    );
    results.push(Planned::formula(
        "average_current",
        "Average current",
        format!("period_charge / {period}"),
        BALANCE,
    ));
    for state in states {
        let means = format!("Share of the charge, {}", state.shown());
        let text = format!("{} / period_charge", state.is("drawn"));
        results.push(Planned::formula(state.is("share"), means, text, BALANCE));
    }
    for name in given.names("quiescent") {
        let means = format!("Share of the charge, {}", name.replace('_', " "));
        let text = format!("quiescent.{name} * {period} / period_charge");
        results.push(Planned::formula(
            format!("quiescent.{name}.share"),
            means,
            text,
            BALANCE,
        ));
    }
    if given.word("regulator") == Some("linear") && given.has("dropout") {
        results.push(Planned::formula(
            "headroom",
            "Voltage that the regulator has to spare at cut-off",
            "cut_off - output_voltage - dropout",
            "arithmetic",
        ));
    }
    if given.word("regulator") == Some("linear") && given.has("battery_voltage") {
        results.push(Planned::formula(
            "regulator_efficiency",
            "Efficiency of the linear regulator",
            "output_voltage / battery_voltage",
            "energy balance",
        ));
    }
}

/// How much of the period is awake; refuses what formulas would compute with.
fn awake_share(period: &str, states: &[State]) -> Planned {
    let mut operands = vec!["awake_time".to_owned(), period.to_owned()];
    for state in states {
        let what: &[&str] = match (state.event, state.rests) {
            (true, _) => &["charge"],
            (false, true) => &["current"],
            (false, false) => &["current", "time"],
        };
        operands.extend(what.iter().map(|what| state.is(what)));
        operands.extend(state.repeated.then(|| state.is("times")));
    }
    let names = operands.clone();
    let procedure = Procedure::new(move |of| {
        let negative = of.iter().position(|value| *value < 0.0 || value.is_nan());
        if let Some(at) = negative {
            return Err(Unworkable::new(
                format!("has no value: `{}` is below zero", names[at]),
                "a state takes time and draws charge, or none",
            ));
        }
        let [awake, period] = [of[0], of[1]];
        if period <= 0.0 {
            return Err(Unworkable::new(
                "has no value: the period is not above zero",
                "give `period`, the time from one waking to the next",
            ));
        }
        if awake > period * (1.0 + 1e-12) {
            return Err(Unworkable::new(
                format!(
                    "is above all: the states take {awake} s, longer than their period of {period} s"
                ),
                "lengthen the period, or shorten the states",
            ));
        }
        Ok(awake / period)
    });
    Planned::procedure(
        "awake_share",
        "Share of the period that is not rest",
        Dimension::ONE,
        operands,
        procedure,
        "definition",
    )
}

/// What a state takes from the battery in a period.
fn drawn(given: &Inputs, state: &State) -> Planned {
    let charge = if state.event {
        state.is("charge")
    } else {
        format!("{} * {}", state.is("current"), state.is("time"))
    };
    let text = at_battery(given, state, &format!("{}{charge}", state.times()));
    let means = format!("Charge from the battery in a period, {}", state.shown());
    let source = match given.word("regulator") {
        Some("switching") => "charge balance; energy balance of the regulator",
        _ => BALANCE,
    };
    Planned::formula(state.is("drawn"), means, text, source)
}

/// A current or charge of the load as one of the battery. A linear regulator
/// passes its current on.
fn at_battery(given: &Inputs, state: &State, load: &str) -> String {
    if given.word("regulator") != Some("switching") {
        return load.to_owned();
    }
    let efficiency = match state.own_efficiency {
        true => state.is("efficiency"),
        false => "efficiency".to_owned(),
    };
    format!("output_voltage * {load} / ({efficiency} * battery_voltage)")
}

/// What each state takes, and its share.
pub(super) fn table(given: &Inputs, states: &[State]) -> Table {
    let mut rows: Vec<Vec<Cell>> = states
        .iter()
        .map(|state| {
            let value = |what: &str| Cell::Value(state.is(what));
            let nothing = || Cell::Text("–".to_owned());
            vec![
                Cell::Text(state.shown()),
                if state.event {
                    nothing()
                } else {
                    value("current")
                },
                if state.event {
                    nothing()
                } else {
                    value("time")
                },
                if state.repeated {
                    value("times")
                } else {
                    nothing()
                },
                value("drawn"),
                value("share"),
            ]
        })
        .collect();
    for name in given.names("quiescent") {
        rows.push(vec![
            Cell::Text(name.replace('_', " ")),
            Cell::Value(format!("quiescent.{name}")),
            Cell::Text("always".to_owned()),
            Cell::Text("–".to_owned()),
            Cell::Text("–".to_owned()),
            Cell::Value(format!("quiescent.{name}.share")),
        ]);
    }
    let columns = ["State", "Current", "Time", "Times", "Charge", "Share"];
    Table {
        caption: String::new(),
        columns: columns.map(str::to_owned).to_vec(),
        rows,
    }
}
