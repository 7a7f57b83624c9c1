//! Currents of a linear charger that is set by a resistor and a switch.

use super::choose::Chooses;
use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes, input, may_take, optional};
use super::plan::{Cell, Holding, Plan, Planned, Table};
use super::positions::{Positions, Wiring};
use crate::quantity::Dimension;

/// The kind.
#[derive(Debug)]
pub(super) struct ChargeCurrent;

pub(super) static KIND: ChargeCurrent = ChargeCurrent;

/// More poles than a person can read all positions of: 2^6 rows of a table.
const READABLE: usize = 5;

const LAW: &str = "data sheets of linear chargers set by a resistor: I = K / R (common practice)";
const BALANCE: &str = "energy balance: P = (V_in - V_cell) I";
const RISE: &str = "definition of thermal resistance: T_J = T_A + P θ_JA";

impl Kind for ChargeCurrent {
    fn name(&self) -> &'static str {
        "charge-current"
    }

    fn title(&self) -> &'static str {
        "Charge current by switch position"
    }

    fn inputs(&self) -> &'static [Input] {
        static INPUTS: &[Input] = &[
            input(
                "constant",
                "Programming constant of the charge controller: current times set resistance",
                Dimension::VOLTAGE,
            ),
            input(
                "always",
                "Set resistor that is always in circuit",
                Dimension::RESISTANCE,
            ),
            may_take(
                "poles",
                "Set resistor of a switch pole",
                Takes::Quantities(Dimension::RESISTANCE, 1..=12),
            ),
            may_take(
                "wiring",
                "Whether a pole that is on puts its resistor in parallel, or shorts it in a series string",
                Takes::Word(&["parallel", "series"]),
            ),
            optional("capacity", "Capacity of the cell", Dimension::CHARGE),
            optional(
                "cell_limit",
                "Highest charge current that the cell may be given",
                Dimension::CURRENT,
            ),
            optional(
                "supply_limit",
                "Current that the input supply can give",
                Dimension::CURRENT,
            ),
            optional(
                "controller_limit",
                "Current at which the controller limits by itself",
                Dimension::CURRENT,
            ),
            optional(
                "quiescent",
                "Current that the controller takes for itself",
                Dimension::CURRENT,
            ),
            optional(
                "supply",
                "Highest voltage at the controller's input",
                Dimension::VOLTAGE,
            ),
            optional(
                "cell",
                "Lowest voltage of the cell at full current",
                Dimension::VOLTAGE,
            ),
            optional(
                "thermal_resistance",
                "Thermal resistance from junction to air, on this board",
                Dimension::THERMAL_RESISTANCE,
            ),
            optional("ambient", "Highest air temperature", Dimension::TEMPERATURE),
            optional(
                "junction_max",
                "Junction temperature at which the controller folds back",
                Dimension::TEMPERATURE,
            ),
        ];
        INPUTS
    }

    fn hazards(&self) -> &'static [Hazard] {
        &[Hazard::LithiumCell, Hazard::Heat]
    }

    fn chooser(&self) -> Option<&dyn Chooses> {
        Some(self)
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let poles = given.listed("poles");
        let wiring = match given.word("wiring") {
            Some("series") => Wiring::Series,
            _ => Wiring::Parallel,
        };
        if given.has("wiring") && poles.is_empty() {
            return Err(vec![Refusal::new(
                "wiring",
                "the wiring of a switch without poles means nothing",
                "list the resistors of its poles, or leave `wiring` out",
            )]);
        }
        let positions = Positions::new("always", &poles, wiring);
        let mut plan = Plan::default();
        for position in positions.shown(READABLE) {
            let (name, label) = (position.name(), position.label());
            let means = match poles.len() {
                0 => "Charge current".to_owned(),
                _ => format!("Charge current, poles {label}"),
            };
            let formula = format!("constant / {}", positions.resistance(&position));
            plan.results
                .push(Planned::formula(name, means, formula, LAW).labelled(label));
        }
        let (slowest, fastest) = (positions.slowest().name(), positions.fastest().name());
        plan.results.extend([
            Planned::formula("slowest", "Slowest charge current", slowest, LAW),
            Planned::formula("fastest", "Fastest charge current", fastest, LAW),
        ]);
        limits(given, &mut plan);
        heat(given, &mut plan);
        plan.tables.push(currents(&positions));
        plan.tables.extend(others(&plan));
        plan.notes = notes(&positions, poles.len());
        Ok(plan)
    }
}

/// The fastest current against cell, supply and controller.
fn limits(given: &Inputs, plan: &mut Plan) {
    if given.has("capacity") {
        plan.results.push(Planned::formula(
            "rate",
            "Fastest charge current by the capacity per hour (C-rate)",
            "fastest * 1 h / capacity",
            "definition of the C-rate (common practice)",
        ));
    }
    if given.has("cell_limit") {
        plan.holds.push(Holding::new(
            "fastest <= cell_limit",
            "the fastest setting stays within what the cell may be charged with",
        ));
    }
    if given.has("controller_limit") {
        plan.holds.push(Holding::new(
            "fastest <= controller_limit",
            "the controller reaches the fastest setting before its own limit",
        ));
    }
    let drawn = match given.has("quiescent") {
        true => "fastest + quiescent",
        false => "fastest",
    };
    if given.has("supply_limit") {
        plan.results.push(Planned::formula(
            "drawn",
            "Current drawn from the supply at the fastest setting, which in a linear charger passes through",
            drawn,
            "Kirchhoff's current law",
        ));
        plan.holds.push(Holding::new(
            "drawn <= supply_limit",
            "the supply feeds the fastest setting",
        ));
    }
}

/// Heat at the fastest setting, and when the controller folds back.
fn heat(given: &Inputs, plan: &mut Plan) {
    let all = |names: &[&str]| names.iter().all(|name| given.has(name));
    if !all(&["supply", "cell"]) {
        return;
    }
    plan.results.push(Planned::formula(
        "heat",
        "Heat in the controller at the fastest setting",
        "(supply - cell) * fastest",
        BALANCE,
    ));
    if !all(&["thermal_resistance", "ambient"]) {
        return;
    }
    plan.results.push(Planned::formula(
        "junction",
        "Junction temperature at the fastest setting, if it did not fold back",
        "ambient + heat * thermal_resistance",
        RISE,
    ));
    if !given.has("junction_max") {
        return;
    }
    plan.results.push(Planned::formula(
        "fold_back_supply",
        "Input voltage above which the controller folds back at the fastest setting",
        "cell + (junction_max - ambient) / (thermal_resistance * fastest)",
        RISE,
    ));
    plan.holds.push(Holding::new(
        "junction <= junction_max",
        "the controller stays cool enough to keep the fastest setting",
    ));
}

/// A row a position.
fn currents(positions: &Positions<'_>) -> Table {
    let mut columns: Vec<String> = match positions.poles() {
        0 => vec!["Setting".into()],
        _ => vec!["Switch poles".into()],
    };
    columns.extend(["Current".into(), "Spread".into()]);
    let mut rows = Vec::new();
    for position in positions.shown(READABLE) {
        let name = position.name();
        let label = match positions.poles() {
            0 => "always".to_owned(),
            _ => position.label(),
        };
        rows.push(vec![
            Cell::Text(label),
            Cell::Value(name.clone()),
            Cell::Range(name),
        ]);
    }
    Table {
        caption: String::new(),
        columns,
        rows,
    }
}

/// What else there is, one below the other.
fn others(plan: &Plan) -> Option<Table> {
    let others = plan.results.iter().filter(|result| result.label.is_none());
    let rows: Vec<Vec<Cell>> = others
        .map(|result| {
            vec![
                Cell::Text(result.means.clone()),
                Cell::Value(result.name.clone()),
                Cell::Range(result.name.clone()),
            ]
        })
        .collect();
    (rows.len() > 2).then(|| Table {
        caption: "At the fastest setting".into(),
        columns: vec!["What it is".into(), "Value".into(), "Spread".into()],
        rows,
    })
}

fn notes(positions: &Positions<'_>, poles: usize) -> Vec<String> {
    let mut notes = Vec::new();
    if poles > READABLE {
        notes.push(match positions.wiring() {
            Wiring::Parallel => format!(
                "The switch has {} positions. What a pole adds to the current, it adds whatever the others do: any other position is the base current and the sum of what its poles add.",
                1_u64 << poles
            ),
            Wiring::Series => format!(
                "The switch has {} positions. What a pole takes off the set resistance, it takes off whatever the others do.",
                1_u64 << poles
            ),
        });
    }
    if poles >= 2 {
        notes.push(match positions.wiring() {
            Wiring::Parallel => "With two poles, the currents of both off and both on always add up to those of either on: I0 + I3 = I1 + I2.".into(),
            Wiring::Series => "With two poles, the set resistances of both off and both on always add up to those of either on: R0 + R3 = R1 + R2.".into(),
        });
    }
    notes.push("A linear charger turns the difference between its input and the cell into heat; copper and air flow decide how hot it gets.".into());
    notes
}

#[cfg(test)]
mod tests {
    use super::super::check::{Given, near};
    use super::*;

    fn two_poles() -> Given {
        Given::quantities(&[("constant", 1000.0), ("always", 10e3)]).list("poles", &[10e3, 3.3e3])
    }

    /// Truth: design notes on two-pole current switches, I = 1000 V / R by hand:
    /// 10 kΩ with 10 kΩ and 3.3 kΩ gives 100, 200, 403 and 503 mA.
    #[test]
    fn two_poles_give_four_currents() {
        let worked = two_poles().work(&KIND);
        near(worked["off_off"], 0.1, 1e-12);
        near(worked["on_off"], 0.2, 1e-12);
        near(worked["off_on"], 0.1 + 1.0 / 3.3, 1e-12);
        near(worked["fastest"], 0.2 + 1.0 / 3.3, 1e-12);
        near(worked["slowest"], 0.1, 1e-12);
    }

    /// Truth: charging notes that print I = 1000 V / R: 20 kΩ gives 50 mA,
    /// 47.5 kΩ 21.05 mA, 3.3 kΩ 303 mA (common practice).
    #[test]
    fn one_resistor_gives_the_printed_currents() {
        for (resistance, milliamperes) in [(20e3, 50.0), (47.5e3, 21.0526), (3.3e3, 303.03)] {
            let given = Given::quantities(&[("constant", 1000.0), ("always", resistance)]);
            near(given.result(&KIND, "fastest"), milliamperes * 1e-3, 1e-5);
        }
    }

    /// Truth: the law of superposed conductances, whatever the resistors
    /// (algebra): I0 + I3 = I1 + I2.
    #[test]
    fn both_off_and_both_on_add_up_to_either_on() {
        let worked = two_poles().work(&KIND);
        let (ends, middle) = (
            worked["off_off"] + worked["on_on"],
            worked["on_off"] + worked["off_on"],
        );
        near(ends, middle, 1e-12);
    }

    /// Truth: a string of 2 kΩ, 3 kΩ and 5 kΩ at 1000 V gives 100 mA whole; with
    /// the 5 kΩ shorted 200 mA; the 2 kΩ alone 500 mA (arithmetic).
    #[test]
    fn a_pole_shorts_its_resistor_of_a_series_string() {
        let given = Given::quantities(&[("constant", 1000.0), ("always", 2e3)])
            .list("poles", &[3e3, 5e3])
            .word("wiring", "series");
        let worked = given.work(&KIND);
        near(worked["off_off"], 0.1, 1e-12);
        near(worked["off_on"], 0.2, 1e-12);
        near(worked["fastest"], 0.5, 1e-12);
    }

    /// Truth: energy balance by hand: (5.5 V - 3.0 V) × 0.5 A = 1.25 W; 60 K/W
    /// above 40 °C gives 115 °C; the fold-back at 125 °C comes at 3 V +
    /// 85 K / (60 K/W × 0.5 A) = 5.833 V.
    #[test]
    fn heat_and_fold_back_of_half_an_ampere() {
        let given = Given::quantities(&[
            ("constant", 1000.0),
            ("always", 2e3),
            ("supply", 5.5),
            ("cell", 3.0),
            ("thermal_resistance", 60.0),
            ("ambient", 313.15),
            ("junction_max", 398.15),
            ("capacity", 4320.0),
        ]);
        let worked = given.work(&KIND);
        near(worked["heat"], 1.25, 1e-12);
        near(worked["junction"], 388.15, 1e-12);
        near(worked["fold_back_supply"], 3.0 + 85.0 / 30.0, 1e-12);
        near(worked["rate"], 0.5 * 3600.0 / 4320.0, 1e-12);
    }

    #[test]
    fn twelve_poles_are_shown_readably() {
        let given =
            Given::quantities(&[("constant", 1000.0), ("always", 10e3)]).list("poles", &[10e3; 12]);
        let plan = given.plan(&KIND);
        assert_eq!(plan.tables[0].rows.len(), 14);
        assert!(plan.notes[0].contains("4096 positions"));
        near(given.result(&KIND, "fastest"), 1.3, 1e-12);
    }

    #[test]
    fn formulas_hang_together() {
        let everything = Given::quantities(&[
            ("constant", 1.0),
            ("always", 1.0),
            ("capacity", 1.0),
            ("cell_limit", 1.0),
            ("supply_limit", 1.0),
            ("controller_limit", 1.0),
            ("quiescent", 1.0),
            ("supply", 1.0),
            ("cell", 1.0),
            ("thermal_resistance", 1.0),
            ("ambient", 1.0),
            ("junction_max", 1.0),
        ]);
        everything.hangs_together(&KIND);
        two_poles().hangs_together(&KIND);
        two_poles().word("wiring", "series").hangs_together(&KIND);
    }

    #[test]
    fn wiring_without_poles_is_refused() {
        let given =
            Given::quantities(&[("constant", 1.0), ("always", 1.0)]).word("wiring", "series");
        assert_eq!(given.refusals(&KIND)[0].input, "wiring");
    }
}
