//! How long a cell takes to charge, with the energy that goes in and the heat.

use super::charge_course::{Charging, Leg, Phase, time_until};
use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes, input, may_take, optional, takes};
use super::plan::{
    Axis, Cell, Curve, Curves, Holding, Judge, Plan, Planned, Plot, Procedure, Table, Unworkable,
};
use super::straight_lines::{MOST_POINTS, StraightLines, unequal_lists};
use crate::quantity::Dimension;

pub(super) static KIND: ChargeTime = ChargeTime;

/// The kind `charge-time`.
#[derive(Debug)]
pub(super) struct ChargeTime;

/// State of charge whose time is told where the record asks for no other.
const USUAL_TARGET: f64 = 0.8;
/// Points that a leg of the course is drawn with.
const POINTS_PER_LEG: usize = 24;

const MODEL: &str = "cell as open-circuit voltage behind a resistance, charge balance (textbook); each line of the table in closed form";
const BALANCE: &str = "energy balance";

const INPUTS: &[Input] = &[
    input("capacity", "Charge of the full cell", Dimension::CHARGE),
    takes(
        "open_circuit_voltage",
        "Voltage of the resting cell, from empty to full",
        Takes::Quantities(Dimension::VOLTAGE, 2..=MOST_POINTS),
    ),
    may_take(
        "state_of_charge",
        "State of charge of each open-circuit voltage; even steps from 0 % to 100 % if nothing is said",
        Takes::Quantities(Dimension::ONE, 2..=MOST_POINTS),
    ),
    input(
        "resistance",
        "Internal resistance of the cell, with its leads",
        Dimension::RESISTANCE,
    ),
    input(
        "charge_current",
        "Current of the constant-current phase",
        Dimension::CURRENT,
    ),
    input(
        "charge_voltage",
        "Voltage of the constant-voltage phase",
        Dimension::VOLTAGE,
    ),
    input(
        "termination_current",
        "Current at which charging ends",
        Dimension::CURRENT,
    ),
    optional(
        "precharge_current",
        "Current into a deeply discharged cell",
        Dimension::CURRENT,
    ),
    optional(
        "precharge_threshold",
        "Cell voltage at which precharge ends",
        Dimension::VOLTAGE,
    ),
    optional(
        "start",
        "State of charge at the start; 0 % if nothing is said",
        Dimension::ONE,
    ),
    optional(
        "target",
        "State of charge whose time is wanted; 80 % if nothing is said",
        Dimension::ONE,
    ),
    optional(
        "supply",
        "Input voltage of a linear charger",
        Dimension::VOLTAGE,
    ),
    optional(
        "safety_timer",
        "Time after which the charger gives up",
        Dimension::TIME,
    ),
];

/// Where the operands of every procedure stand: the fixed ones first, then
/// those that may be left out, the table last.
#[derive(Clone, Debug)]
struct Layout {
    names: Vec<String>,
    precharge: bool,
    start: bool,
    supply: bool,
    target: bool,
    points: usize,
    positions: bool,
}

impl Layout {
    fn of(given: &Inputs) -> Layout {
        let fixed = [
            "capacity",
            "resistance",
            "charge_current",
            "charge_voltage",
            "termination_current",
        ];
        let mut names: Vec<String> = fixed.iter().map(|&name| name.to_owned()).collect();
        let rest = [
            "precharge_current",
            "precharge_threshold",
            "start",
            "supply",
            "target",
        ];
        names.extend(
            rest.iter()
                .filter(|name| given.has(name))
                .map(|&name| name.to_owned()),
        );
        let voltages = given.listed("open_circuit_voltage");
        let points = voltages.len();
        names.extend(voltages);
        names.extend(given.listed("state_of_charge"));
        Layout {
            names,
            precharge: given.has("precharge_current"),
            start: given.has("start"),
            supply: given.has("supply"),
            target: given.has("target"),
            points,
            positions: given.has("state_of_charge"),
        }
    }

    /// What operands mean, for one evaluation.
    fn read<'v>(&self, operands: &'v [f64]) -> Result<Read<'v>, Unworkable> {
        let (fixed, rest) = operands.split_at(5);
        let mut rest = rest.iter().copied();
        let mut next = |given: bool| if given { rest.next() } else { None };
        let precharge = next(self.precharge).zip(next(self.precharge));
        let start = next(self.start).unwrap_or(0.0);
        let supply = next(self.supply);
        let target = next(self.target).unwrap_or(USUAL_TARGET);
        let table = &operands[self.names.len() - self.points * (1 + usize::from(self.positions))..];
        let (voltages, positions) = table.split_at(self.points);
        let charging = Charging {
            capacity: fixed[0],
            resistance: fixed[1],
            table: StraightLines::new(positions, voltages, "state_of_charge")?,
            start,
            current: fixed[2],
            voltage: fixed[3],
            termination: fixed[4],
            precharge,
        };
        let legs = charging.course()?;
        Ok(Read {
            charging,
            legs,
            supply,
            target,
        })
    }
}

/// One evaluation: what is charged, and how that goes.
struct Read<'v> {
    charging: Charging<'v>,
    legs: Vec<Leg>,
    supply: Option<f64>,
    target: f64,
}

impl Read<'_> {
    fn time(&self, phase: Option<Phase>) -> f64 {
        let legs = self.legs.iter();
        let legs = legs.filter(|leg| phase.is_none_or(|phase| leg.phase == phase));
        legs.map(|leg| leg.duration).sum()
    }

    fn charge(&self) -> f64 {
        self.legs.iter().map(|leg| leg.charge).sum()
    }

    fn stored(&self) -> f64 {
        self.legs.iter().map(Leg::stored).sum()
    }

    fn heat(&self) -> f64 {
        self.legs
            .iter()
            .map(|leg| leg.heat(self.charging.resistance))
            .sum()
    }

    /// State of charge where the constant current ends.
    fn turn(&self) -> f64 {
        let fading = self
            .legs
            .iter()
            .find(|leg| leg.phase == Phase::ConstantVoltage);
        fading.map_or_else(|| self.end(), |leg| leg.state[0])
    }

    fn end(&self) -> f64 {
        self.legs
            .last()
            .map_or(self.charging.start, |leg| leg.state[1])
    }

    fn time_to_target(&self) -> Result<f64, Unworkable> {
        let percent = 100.0 * self.target;
        if self.target < self.charging.start {
            return Err(Unworkable::new(
                format!("is past already: the cell starts with more than {percent:.3} %"),
                "raise `target`, or start with an emptier cell",
            ));
        }
        time_until(&self.legs, self.target).ok_or_else(|| {
            Unworkable::new(
                format!(
                    "is never reached: charging ends at {:.3} %, before {percent:.3} %",
                    100.0 * self.end()
                ),
                "lower `target`, or check charge voltage and termination current",
            )
        })
    }

    /// Most power in a linear charger: the current is held or falls while the
    /// cell's voltage rises, so it is at the begin of a phase.
    fn charger_power(&self) -> Result<f64, Unworkable> {
        let supply = self.supply.unwrap_or(0.0);
        if supply <= self.charging.voltage {
            return Err(Unworkable::new(
                format!(
                    "has no room: the supply, {supply} V, is not above the charge voltage, {} V",
                    self.charging.voltage
                ),
                "a linear charger needs a supply above the charge voltage",
            ));
        }
        let resistance = self.charging.resistance;
        let power =
            |leg: &Leg| (supply - leg.open[0] - leg.current[0] * resistance) * leg.current[0];
        Ok(self.legs.iter().map(power).fold(0.0, f64::max))
    }
}

impl Kind for ChargeTime {
    fn name(&self) -> &'static str {
        "charge-time"
    }

    fn title(&self) -> &'static str {
        "Charge time"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn hazards(&self) -> &'static [Hazard] {
        &[Hazard::LithiumCell, Hazard::Heat]
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let refusals = refusals(given);
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let layout = Layout::of(given);
        let mut results = results(&layout);
        if layout.supply {
            results.extend(charger_results(&layout));
        }
        if given.has("safety_timer") {
            results.push(Planned::formula(
                "timer_margin",
                "Time that the safety timer leaves",
                "safety_timer - time",
                "arithmetic",
            ));
        }
        let tables = vec![phases(&results), whole(&results)];
        Ok(Plan {
            plots: plots(&layout),
            results,
            tables,
            holds: given
                .has("safety_timer")
                .then(|| Holding::new("timer_margin >= 0 s", "the safety timer lets charging end"))
                .into_iter()
                .collect(),
            notes: vec![
                "The cell is its open-circuit voltage behind one resistance, at one temperature; a real cell relaxes besides, and takes longer when cold or old.".into(),
                "Beyond the last entry of the table the cell goes on as its last line does.".into(),
                "The load on the board is not counted: what it takes does not reach the cell.".into(),
            ],
            ..Plan::default()
        })
    }
}

fn refusals(given: &Inputs) -> Vec<Refusal> {
    let mut refusals: Vec<Refusal> =
        unequal_lists(given, "state_of_charge", "open_circuit_voltage")
            .into_iter()
            .collect();
    for (one, other) in [
        ("precharge_current", "precharge_threshold"),
        ("precharge_threshold", "precharge_current"),
    ] {
        if given.has(one) && !given.has(other) {
            refusals.push(Refusal::new(
                one,
                format!("`{one}` without `{other}`"),
                format!("give `{other}` too, or neither for a charger without precharge"),
            ));
        }
    }
    refusals
}

fn stepped(
    layout: &Layout,
    (name, means): (&str, &str),
    dimension: Dimension,
    result: impl Fn(&Read<'_>) -> Result<f64, Unworkable> + Send + Sync + 'static,
) -> Planned {
    let operands = layout.names.clone();
    let layout = layout.clone();
    let procedure = Procedure::new(move |operands| result(&layout.read(operands)?));
    Planned::procedure(name, means, dimension, operands, procedure, MODEL)
}

fn results(layout: &Layout) -> Vec<Planned> {
    let time = |name, means, phase| {
        stepped(layout, (name, means), Dimension::TIME, move |read| {
            Ok(read.time(phase))
        })
    };
    let mut results = Vec::new();
    if layout.precharge {
        results.push(time(
            "precharge_time",
            "Time in precharge",
            Some(Phase::Precharge),
        ));
    }
    let current = Some(Phase::ConstantCurrent);
    let voltage = Some(Phase::ConstantVoltage);
    let target = match layout.target {
        true => "Time to the wanted state of charge",
        false => "Time to 80 % of the capacity",
    };
    results.extend([
        time("constant_current_time", "Time at constant current", current),
        time("constant_voltage_time", "Time at constant voltage", voltage),
        time("time", "Time to termination", None),
        stepped(
            layout,
            ("time_to_target", target),
            Dimension::TIME,
            |read| read.time_to_target(),
        ),
        stepped(
            layout,
            (
                "turning_point",
                "State of charge where constant current ends",
            ),
            Dimension::ONE,
            |read| Ok(read.turn()),
        ),
        stepped(
            layout,
            ("final_charge", "State of charge at termination"),
            Dimension::ONE,
            |read| Ok(read.end()),
        ),
        stepped(
            layout,
            ("charge", "Charge that goes in"),
            Dimension::CHARGE,
            |read| Ok(read.charge()),
        ),
        stepped(
            layout,
            ("stored_energy", "Energy that the cell stores"),
            Dimension::ENERGY,
            |read| Ok(read.stored()),
        ),
        stepped(
            layout,
            ("cell_heat", "Heat in the cell's resistance"),
            Dimension::ENERGY,
            |read| Ok(read.heat()),
        ),
        Planned::formula(
            "energy",
            "Energy into the cell",
            "stored_energy + cell_heat",
            BALANCE,
        ),
    ]);
    results.push(Planned::formula(
        "rate",
        "Charge current by capacity (C-rate)",
        "charge_current / capacity",
        "common practice",
    ));
    results
}

/// What a linear charger takes from its supply, and turns to heat.
fn charger_results(layout: &Layout) -> [Planned; 4] {
    [
        Planned::formula(
            "supply_energy",
            "Energy from the supply",
            "supply * charge",
            BALANCE,
        ),
        Planned::formula(
            "charger_heat",
            "Heat in the charger",
            "supply_energy - energy",
            BALANCE,
        ),
        stepped(
            layout,
            ("charger_power", "Most power in the charger"),
            Dimension::POWER,
            |read| read.charger_power(),
        ),
        Planned::formula(
            "efficiency",
            "Energy stored by energy from the supply",
            "stored_energy / supply_energy",
            "definition",
        ),
    ]
}

fn phases(results: &[Planned]) -> Table {
    let has = |name: &str| results.iter().any(|result| result.name == name);
    let rows = [
        ("Precharge", "precharge_time"),
        ("Constant current", "constant_current_time"),
        ("Constant voltage", "constant_voltage_time"),
        ("All", "time"),
    ];
    let share = |name: &str| {
        let judge = Judge::new(|of| match of {
            [part, whole] if whole.nominal > 0.0 => {
                format!("{:.0} %", 100.0 * part.nominal / whole.nominal)
            }
            _ => "–".to_owned(),
        });
        Cell::Judged {
            of: vec![name.to_owned(), "time".to_owned()],
            judge,
        }
    };
    let rows = rows
        .iter()
        .filter(|(_, name)| has(name))
        .map(|&(phase, name)| {
            vec![
                Cell::Text(phase.to_owned()),
                Cell::Value(name.to_owned()),
                Cell::Range(name.to_owned()),
                share(name),
            ]
        });
    Table {
        caption: String::new(),
        columns: ["Phase", "Time", "Range", "Share"]
            .map(str::to_owned)
            .to_vec(),
        rows: rows.collect(),
    }
}

fn whole(results: &[Planned]) -> Table {
    let shown = results.iter().filter(|result| {
        let in_phases = [
            "precharge_time",
            "constant_current_time",
            "constant_voltage_time",
            "time",
        ];
        !in_phases.contains(&result.name.as_str())
    });
    let rows = shown.map(|result| {
        vec![
            Cell::Text(result.means.clone()),
            Cell::Value(result.name.clone()),
            Cell::Range(result.name.clone()),
        ]
    });
    Table {
        caption: "Charge, energy and heat".to_owned(),
        columns: ["What it is", "Value", "Range"].map(str::to_owned).to_vec(),
        rows: rows.collect(),
    }
}

/// Current, voltage and charge over time; a plot each, since they share no axis.
fn plots(layout: &Layout) -> Vec<Plot> {
    type Reading = fn(&Read<'_>, open: f64, current: f64, state: f64) -> f64;
    let plot = |name, title: &str, y: Axis, curve: &'static str, reading: Reading| {
        let operands = layout.names.clone();
        let layout = layout.clone();
        Plot {
            name,
            title: title.to_owned(),
            x: Axis::even("Time", "h"),
            y,
            operands,
            curves: Curves::new(move |operands| {
                let read = layout.read(operands)?;
                Ok(vec![trace(&read, curve, reading)])
            }),
            marks: Vec::new(),
            lines: Vec::new(),
        }
    };
    vec![
        plot(
            "current",
            "Charge current over time",
            Axis::even("Current", "A"),
            "current",
            |_, _, current, _| current,
        ),
        plot(
            "voltage",
            "Cell voltage over time",
            Axis::even("Voltage", "V"),
            "voltage",
            |read, open, current, _| open + current * read.charging.resistance,
        ),
        plot(
            "charge",
            "State of charge over time",
            Axis::even("State of charge", "%"),
            "state of charge",
            |_, _, _, state| 100.0 * state,
        ),
    ]
}

fn trace(read: &Read<'_>, name: &str, reading: impl Fn(&Read<'_>, f64, f64, f64) -> f64) -> Curve {
    let mut points = Vec::with_capacity(read.legs.len() * (POINTS_PER_LEG + 1));
    let mut before = 0.0;
    for leg in &read.legs {
        for at in 0..=POINTS_PER_LEG {
            let part = at as f64 / POINTS_PER_LEG as f64;
            let between = |[from, to]: [f64; 2]| from + part * (to - from);
            let state = between(leg.state);
            // Everything on a leg goes in straight lines with the charge.
            let value = reading(read, between(leg.open), between(leg.current), state);
            points.push(((before + leg.time_until(state)) / 3600.0, value));
        }
        before += leg.duration;
    }
    (name.to_owned(), points)
}
