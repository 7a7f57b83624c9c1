//! How long a battery feeds a load that sleeps and wakes.

use super::battery_states::{self, State};
use super::kind::{Input, Inputs, Kind, Refusal, Takes, input, may_take, optional, takes};
use super::plan::{Cell, Holding, Judge, Plan, Planned, Procedure, Table, Unworkable};
use super::straight_lines::{MOST_POINTS, StraightLines, unequal_lists};
use crate::quantity::Dimension;

pub(super) static KIND: BatteryLife = BatteryLife;

/// The kind `battery-life`.
#[derive(Debug)]
pub(super) struct BatteryLife;

const BALANCE: &str = "common practice (charge balance)";
const ENERGY: &str = "energy balance";
const DECAY: &str = "derived: dQ/dt = -I - λ Q";

const INPUTS: &[Input] = &[
    input("capacity", "Charge of the full battery", Dimension::CHARGE),
    takes(
        "state",
        "What the load does",
        Takes::Groups(battery_states::INPUTS),
    ),
    optional(
        "period",
        "Time from one waking to the next",
        Dimension::TIME,
    ),
    may_take(
        "quiescent",
        "Current that always flows from the battery",
        Takes::ByName(Dimension::CURRENT),
    ),
    may_take(
        "regulator",
        "What feeds the load from the battery",
        Takes::Word(&["linear", "switching"]),
    ),
    optional(
        "battery_voltage",
        "Mean voltage of the battery",
        Dimension::VOLTAGE,
    ),
    optional(
        "output_voltage",
        "Voltage behind the regulator",
        Dimension::VOLTAGE,
    ),
    optional(
        "efficiency",
        "Efficiency of a switching regulator",
        Dimension::ONE,
    ),
    optional(
        "dropout",
        "Voltage that a linear regulator needs above its output",
        Dimension::VOLTAGE,
    ),
    optional(
        "usable",
        "Share of the capacity that can be used: ageing and the like",
        Dimension::ONE,
    ),
    optional(
        "temperature",
        "Temperature of the battery",
        Dimension::TEMPERATURE,
    ),
    may_take(
        "temperatures",
        "Temperatures of the table of capacity, rising",
        Takes::Quantities(Dimension::TEMPERATURE, 2..=MOST_POINTS),
    ),
    may_take(
        "capacity_shares",
        "Share of the capacity that is left at each temperature",
        Takes::Quantities(Dimension::ONE, 2..=MOST_POINTS),
    ),
    optional(
        "cut_off",
        "Battery voltage at which the board stops",
        Dimension::VOLTAGE,
    ),
    may_take(
        "open_circuit_voltage",
        "Voltage of the resting battery, from empty to full",
        Takes::Quantities(Dimension::VOLTAGE, 2..=MOST_POINTS),
    ),
    may_take(
        "state_of_charge",
        "State of charge of each open-circuit voltage; even steps from 0 % to 100 % if nothing is said",
        Takes::Quantities(Dimension::ONE, 2..=MOST_POINTS),
    ),
    optional(
        "resistance",
        "Internal resistance of the battery",
        Dimension::RESISTANCE,
    ),
    optional(
        "peak_current",
        "Most current that is drawn at cut-off",
        Dimension::CURRENT,
    ),
    optional(
        "self_discharge",
        "Share of the charge that is lost in a time",
        Dimension::FREQUENCY,
    ),
    optional("wanted_life", "Life that is wanted", Dimension::TIME),
    optional(
        "panel_power",
        "Power of the solar panel in full sun (1 kW/m²)",
        Dimension::POWER,
    ),
    optional(
        "sun_hours",
        "Equivalent hours of full sun a day",
        Dimension::TIME,
    ),
    optional(
        "harvest_efficiency",
        "Share of the panel's energy that reaches the battery",
        Dimension::ONE,
    ),
];

/// Inputs that come together or not at all.
const TOGETHER: &[(&str, &[&str])] = &[
    ("regulator", &["output_voltage"]),
    ("dropout", &["regulator", "cut_off"]),
    ("temperatures", &["temperature", "capacity_shares"]),
    ("capacity_shares", &["temperatures"]),
    ("temperature", &["temperatures"]),
    ("open_circuit_voltage", &["cut_off"]),
    ("state_of_charge", &["open_circuit_voltage"]),
    ("resistance", &["peak_current", "open_circuit_voltage"]),
    ("peak_current", &["resistance"]),
    ("panel_power", &["sun_hours", "battery_voltage"]),
    ("sun_hours", &["panel_power"]),
    ("harvest_efficiency", &["panel_power"]),
];

impl Kind for BatteryLife {
    fn name(&self) -> &'static str {
        "battery-life"
    }

    fn title(&self) -> &'static str {
        "Battery life"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let mut refusals = refusals(given);
        let states = battery_states::read(given, &mut refusals);
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let mut results = Vec::new();
        battery_states::plan(given, &states, &mut results);
        usable(given, &mut results);
        life(given, &mut results);
        if given.has("wanted_life") {
            wanted(given, &mut results);
        }
        if given.has("panel_power") {
            sun(given, &mut results);
        }
        let tables = tables(given, &states, &results);
        Ok(Plan {
            results,
            tables,
            holds: holds(given),
            notes: notes(given),
            ..Plan::default()
        })
    }
}

fn refusals(given: &Inputs) -> Vec<Refusal> {
    let mut refusals = Vec::new();
    let mut lacks = |one: &str, other: &str| {
        refusals.push(Refusal::new(
            one,
            format!("`{one}` without `{other}`"),
            format!("give `{other}` too, or leave `{one}` out"),
        ));
    };
    for (one, others) in TOGETHER {
        for other in others
            .iter()
            .filter(|other| given.has(one) && !given.has(other))
        {
            lacks(one, other);
        }
    }
    if given.word("regulator") == Some("switching") {
        for needed in ["efficiency", "battery_voltage"] {
            if !given.has(needed) {
                lacks("regulator", needed);
            }
        }
    }
    refusals.extend(unequal_lists(given, "temperatures", "capacity_shares"));
    refusals.extend(unequal_lists(
        given,
        "state_of_charge",
        "open_circuit_voltage",
    ));
    refusals
}

/// How much of the capacity can be used.
fn usable(given: &Inputs, results: &mut Vec<Planned>) {
    let mut shares = vec!["capacity"];
    if given.has("usable") {
        shares.push("usable");
    }
    if given.has("temperatures") {
        let mut operands = vec!["temperature".to_owned()];
        operands.extend(given.listed("temperatures"));
        operands.extend(given.listed("capacity_shares"));
        let procedure = Procedure::new(|of| {
            let (positions, values) = of[1..].split_at((of.len() - 1) / 2);
            let table = StraightLines::new(positions, values, "temperatures")?;
            table.at(of[0]).ok_or_else(|| {
                Unworkable::new(
                    format!(
                        "is not known at {:.1} °C: the table does not reach there",
                        of[0] - 273.15
                    ),
                    "add an entry to `temperatures` and `capacity_shares` beyond it",
                )
            })
        });
        results.push(Planned::procedure(
            "temperature_share",
            "Share of the capacity at the temperature",
            Dimension::ONE,
            operands,
            procedure,
            "straight lines between the entries of the table",
        ));
        shares.push("temperature_share");
    }
    if given.has("open_circuit_voltage") {
        results.push(cut_off_share(given));
        shares.push("cut_off_share");
    }
    results.push(Planned::formula(
        "usable_charge",
        "Charge that can be used",
        shares.join(" * "),
        BALANCE,
    ));
}

/// The share of the charge that is out when the voltage under load has fallen
/// to cut-off.
fn cut_off_share(given: &Inputs) -> Planned {
    let loaded = given.has("resistance");
    let mut operands = vec!["cut_off".to_owned()];
    if loaded {
        operands.extend(["resistance".to_owned(), "peak_current".to_owned()]);
    }
    let first = operands.len();
    let points = given.listed("open_circuit_voltage");
    let count = points.len();
    operands.extend(points);
    operands.extend(given.listed("state_of_charge"));
    let procedure = Procedure::new(move |of| {
        let drop = if loaded { of[1] * of[2] } else { 0.0 };
        let (values, positions) = of[first..].split_at(count);
        let table = StraightLines::new(positions, values, "state_of_charge")?;
        if !table.never_falls() {
            return Err(Unworkable::new(
                "needs an `open_circuit_voltage` that never falls as the battery fills",
                "write the table from the empty battery to the full one",
            ));
        }
        let at_rest = of[0] + drop;
        let (empty, full) = (values[0], values[count - 1]);
        if at_rest >= full {
            return Err(Unworkable::new(
                format!(
                    "is none: cut-off needs {at_rest:.3} V at rest, and the full battery has {full:.3} V"
                ),
                "lower the cut-off voltage, or the drop across the battery's resistance",
            ));
        }
        if at_rest <= empty {
            return Ok(1.0);
        }
        Ok(1.0 - table.position_of(at_rest).unwrap_or(0.0))
    });
    Planned::procedure(
        "cut_off_share",
        "Share of the capacity until cut-off",
        Dimension::ONE,
        operands,
        procedure,
        "open-circuit voltage behind a resistance (textbook)",
    )
}

fn life(given: &Inputs, results: &mut Vec<Planned>) {
    // The check of what formulas cannot refuse; its own result is of use too.
    let procedure = Procedure::new(|of| match of {
        [current, capacity] if *capacity > 0.0 && *current > 0.0 => Ok(current / capacity),
        [_, capacity] if *capacity > 0.0 => Err(Unworkable::new(
            "has no value: no current is drawn, so the battery has no life to tell",
            "give the currents of the states",
        )),
        _ => Err(Unworkable::new(
            "has no value: the capacity is not above zero",
            "give the charge of the full battery",
        )),
    });
    results.push(Planned::procedure(
        "rate",
        "Average current by capacity",
        Dimension::FREQUENCY,
        vec!["average_current".to_owned(), "capacity".to_owned()],
        procedure,
        "definition",
    ));
    let formula =
        |name: &str, means: &str, text: &str, source| Planned::formula(name, means, text, source);
    if !given.has("self_discharge") {
        results.push(formula(
            "life",
            "Life",
            "usable_charge / average_current",
            BALANCE,
        ));
        return;
    }
    results.extend([
        formula(
            "self_discharge_current",
            "Current that self-discharge is worth",
            "self_discharge * capacity",
            BALANCE,
        ),
        formula(
            "life",
            "Life, the same charge being lost every day",
            "usable_charge / (average_current + self_discharge_current)",
            BALANCE,
        ),
        formula(
            "decay",
            "Self-discharge as a rate of decay",
            "-ln(1 - self_discharge * 1 month) / 1 month",
            DECAY,
        ),
        formula(
            "life_by_decay",
            "Life, the same share of what is left being lost every day",
            "ln((average_current + decay * capacity) / (average_current + decay * (capacity - usable_charge))) / decay",
            DECAY,
        ),
    ]);
}

/// What the wanted life asks for.
fn wanted(given: &Inputs, results: &mut Vec<Planned>) {
    let lost = if given.has("self_discharge") {
        " - self_discharge_current"
    } else {
        ""
    };
    results.push(Planned::formula(
        "wanted_current",
        "Average current that reaches the wanted life",
        format!("usable_charge / wanted_life{lost}"),
        BALANCE,
    ));
    results.push(Planned::formula(
        "life_margin",
        "Life beyond the wanted one",
        "life - wanted_life",
        "arithmetic",
    ));
    if !given.has("period") {
        return;
    }
    let operands = [
        "wanted_current",
        "base_current",
        "awake_charge",
        "awake_time",
    ];
    let procedure = Procedure::new(|of| {
        let [wanted, base, charge, awake] = of else {
            return Err(Unworkable::new(
                "has no value",
                "see what its inputs come to",
            ));
        };
        if wanted <= base {
            return Err(Unworkable::new(
                format!(
                    "is none: even asleep the board draws {base:.3e} A, and the wanted life allows {wanted:.3e} A"
                ),
                "lower the current of rest, or take a larger battery",
            ));
        }
        // Awake without a pause it would live long enough: no period is shorter.
        Ok(((charge - base * awake) / (wanted - base)).max(*awake))
    });
    results.push(Planned::procedure(
        "wanted_period",
        "Least wake period that reaches the wanted life",
        Dimension::TIME,
        operands.iter().map(|&name| name.to_owned()).collect(),
        procedure,
        "charge balance, solved for the period",
    ));
}

/// The daily balance of a board with a solar panel.
fn sun(given: &Inputs, results: &mut Vec<Planned>) {
    let efficiency = if given.has("harvest_efficiency") {
        " * harvest_efficiency"
    } else {
        ""
    };
    let lost = if given.has("self_discharge") {
        " + self_discharge_current"
    } else {
        ""
    };
    let mut formula = |name: &str, means: &str, text: String| {
        results.push(Planned::formula(name, means, text, ENERGY));
    };
    formula(
        "daily_harvest",
        "Energy from the panel in a day",
        format!("panel_power * sun_hours{efficiency}"),
    );
    formula(
        "daily_use",
        "Energy from the battery in a day",
        format!("(average_current{lost}) * battery_voltage * 1 d"),
    );
    formula(
        "daily_balance",
        "Energy left over in a day",
        "daily_harvest - daily_use".to_owned(),
    );
    formula(
        "least_sun_hours",
        "Hours of full sun a day that the board needs",
        format!("daily_use / (panel_power{efficiency})"),
    );
    formula(
        "harvest_ratio",
        "Energy from the panel by energy used",
        "daily_harvest / daily_use".to_owned(),
    );
}

fn tables(given: &Inputs, states: &[State], results: &[Planned]) -> Vec<Table> {
    let mut tables = vec![battery_states::table(given, states)];
    let of_states = |result: &&Planned| {
        result.name.starts_with("state.") || result.name.starts_with("quiescent.")
    };
    let rows = results
        .iter()
        .filter(|result| !of_states(result))
        .map(|result| {
            vec![
                Cell::Text(result.means.clone()),
                Cell::Value(result.name.clone()),
                Cell::Range(result.name.clone()),
            ]
        });
    let mut rows: Vec<Vec<Cell>> = rows.collect();
    if given.has("panel_power") {
        let judge = Judge::new(|of| match of {
            [balance] if balance.low >= 0.0 => "the sun keeps up".to_owned(),
            [balance] if balance.high < 0.0 => "the battery runs down".to_owned(),
            _ => "the battery may run down".to_owned(),
        });
        let of = vec!["daily_balance".to_owned()];
        rows.push(vec![
            Cell::Text("Balance of sun and load".to_owned()),
            Cell::Judged { of, judge },
            Cell::Text(String::new()),
        ]);
    }
    tables.push(Table {
        caption: "Charge, current and life".to_owned(),
        columns: ["What it is", "Value", "Range"].map(str::to_owned).to_vec(),
        rows,
    });
    tables
}

fn holds(given: &Inputs) -> Vec<Holding> {
    let linear = given.word("regulator") == Some("linear") && given.has("dropout");
    let holds = linear.then(|| {
        Holding::new(
            "headroom >= 0 V",
            "the regulator still regulates when the battery is at cut-off",
        )
    });
    holds.into_iter().collect()
}

fn notes(given: &Inputs) -> Vec<String> {
    let mut notes = Vec::new();
    if given.word("regulator") == Some("linear") {
        notes.push("A linear regulator takes from the battery the current that the load takes; the rest of the voltage is heat.".into());
    }
    if given.has("self_discharge") {
        notes.push("The life is the shorter one, in which self-discharge does not slow down as the battery empties.".into());
    }
    if given.has("panel_power") {
        notes.push("Equivalent sun hours are those of the worst month at the place, for the panel's tilt; a full battery takes up no more.".into());
    }
    notes
}
