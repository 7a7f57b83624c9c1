//! A zener diode with a shunt in place of a cell, to test a charger with.
//!
//! The charger is a current source until the voltage that it holds is reached,
//! and a voltage source then; both networks are solved by the circuit engine,
//! and the one with the lesser voltage is what the charger does.

use std::sync::{Arc, OnceLock};

use super::kind::{Hazard, Input, Inputs, Kind, Refusal, Takes, input, optional, takes};
use super::plan::{Cell, Holding, Judge, Plan, Planned, Procedure, Table, Unworkable};
use super::sums::{Together, together};
use crate::circuit::Kind as Part;
use crate::circuit::{CircuitFault, Compiled, Network, Source, Wanted, Workspace, Zener};
use crate::quantity::{Dimension, Outcome};

pub(super) static KIND: CellEmulator = CellEmulator;

/// The kind `cell-emulator`.
#[derive(Debug)]
pub(super) struct CellEmulator;

const CIRCUIT: &str = "operating point of the network of charger, zener and shunt";
const DATA_SHEET: &str = "data-sheet-style common relation (generic)";
const ARITHMETIC: &str = "arithmetic";

/// Current below which a zener passes for not conducting, in A: far above the
/// leakage of the model, far below what any charger measures.
const CONDUCTS: f64 = 1e-9;

const INPUTS: &[Input] = &[
    input(
        "zener_voltage",
        "Zener voltage at the test current",
        Dimension::VOLTAGE,
    ),
    input(
        "test_current",
        "Test current of the zener voltage",
        Dimension::CURRENT,
    ),
    input(
        "dynamic_resistance",
        "Dynamic resistance of the zener",
        Dimension::RESISTANCE,
    ),
    input(
        "shunt",
        "Resistor between zener and ground",
        Dimension::RESISTANCE,
    ),
    takes(
        "setting",
        "Charge current",
        Takes::ByName(Dimension::CURRENT),
    ),
    input(
        "charge_voltage",
        "Voltage that the charger holds at the end",
        Dimension::VOLTAGE,
    ),
    input(
        "precharge_threshold",
        "Cell voltage at which precharge ends",
        Dimension::VOLTAGE,
    ),
    optional(
        "precharge_ratio",
        "Precharge current by charge current; as much as the charge current if nothing is said",
        Dimension::ONE,
    ),
    optional(
        "converter_resistance",
        "Input resistance of the converter at the shunt",
        Dimension::RESISTANCE,
    ),
    optional("resolution", "Resolution of the converter", Dimension::BITS),
    optional(
        "reference",
        "Reference voltage of the converter",
        Dimension::VOLTAGE,
    ),
    optional(
        "zener_rating",
        "Power that the zener is rated for",
        Dimension::POWER,
    ),
    optional(
        "shunt_rating",
        "Power that the shunt is rated for",
        Dimension::POWER,
    ),
    optional(
        "duty",
        "Share of the time that current flows; all if nothing is said",
        Dimension::ONE,
    ),
];

/// What is read off the emulator, in the order of its readings.
const READINGS: [&str; 5] = [
    "cell_voltage",
    "current",
    "sense",
    "zener_power",
    "shunt_power",
];
/// Place of the current among them.
const CURRENT: usize = 1;

/// The emulator with one way that the charger drives it.
#[derive(Debug)]
struct Driven {
    network: Compiled,
    /// The readings.
    wanted: [Wanted; READINGS.len()],
}

/// The emulator under both ways of the charger. It is built once for all
/// values: these are parameters.
#[derive(Debug)]
struct Emulator {
    held_current: Driven,
    held_voltage: Driven,
}

/// What the charger does to the emulator.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Drive {
    Current,
    Voltage,
}

impl Driven {
    fn new(drive: Drive, loaded: bool) -> Result<Driven, CircuitFault> {
        let mut network = Network::new("gnd");
        // The values are placeholders; only the shape counts.
        match drive {
            Drive::Current => {
                let source = Part::CurrentSource(Source::steady(0.1));
                network.add("charger", ["gnd", "cell"], source)
            }
            Drive::Voltage => {
                let source = Part::VoltageSource(Source::steady(4.2));
                network.add("charger", ["cell", "gnd"], source)
            }
        };
        network.add(
            "zener",
            ["sense", "cell"],
            Part::Zener(Zener::new(3.6, 0.005, 10.0)),
        );
        network.add(
            "shunt",
            ["sense", "gnd"],
            Part::Resistor { resistance: 5.0 },
        );
        if loaded {
            network.add(
                "converter",
                ["sense", "gnd"],
                Part::Resistor { resistance: 1e6 },
            );
        }
        let network = network
            .compile()
            .map_err(|mut faults| faults.swap_remove(0))?;
        Ok(Driven {
            wanted: [
                network.voltage("cell")?,
                network.current("zener")?,
                network.voltage("sense")?,
                network.power("zener")?,
                network.power("shunt")?,
            ],
            network,
        })
    }
}

/// An emulator with room to solve it again and again.
struct Bench {
    emulator: Arc<Emulator>,
    held_current: Room,
    held_voltage: Room,
}

/// Room for one of an emulator's networks.
struct Room {
    workspace: Workspace,
    parameters: Vec<f64>,
}

impl Room {
    fn of(driven: &Driven) -> Room {
        Room {
            workspace: driven.network.workspace(),
            parameters: driven.network.nominal(),
        }
    }
}

impl Emulator {
    fn new(loaded: bool) -> Result<Emulator, CircuitFault> {
        Ok(Emulator {
            held_current: Driven::new(Drive::Current, loaded)?,
            held_voltage: Driven::new(Drive::Voltage, loaded)?,
        })
    }
}

impl Bench {
    fn new(loaded: bool) -> Result<Bench, Unworkable> {
        let emulator = emulator(loaded)?;
        Ok(Bench {
            held_current: Room::of(&emulator.held_current),
            held_voltage: Room::of(&emulator.held_voltage),
            emulator,
        })
    }

    /// As many readings as there is place for.
    fn drive(
        &mut self,
        drive: Drive,
        source: f64,
        parts: &[f64],
        readings: &mut [f64],
    ) -> Result<(), Unworkable> {
        let (driven, room) = match drive {
            Drive::Current => (&self.emulator.held_current, &mut self.held_current),
            Drive::Voltage => (&self.emulator.held_voltage, &mut self.held_voltage),
        };
        let parameters = &mut room.parameters;
        // The source has three parameters, steady value first; then the zener
        // with six, its data-sheet values first; then the resistors.
        parameters[0] = source;
        parameters[3..6].copy_from_slice(&parts[..3]);
        parameters[9..].copy_from_slice(&parts[3..]);
        let workspace = &mut room.workspace;
        let network = &driven.network;
        let found = network.steady_values_in(workspace, parameters, &driven.wanted, readings);
        found.map_err(|fault| unsolvable(&fault))
    }

    /// Readings at a current, whatever the charger would hold.
    fn unlimited(
        &mut self,
        current: f64,
        parts: &[f64],
        readings: &mut [f64],
    ) -> Result<(), Unworkable> {
        if current > 0.0 {
            return self.drive(Drive::Current, current, parts, readings);
        }
        Err(Unworkable::new(
            format!("needs a charge current above zero, and it is {current} A"),
            "count the current into the emulator as positive",
        ))
    }

    /// The voltage that the set current takes, then readings at what the
    /// charger does that holds a voltage at most.
    fn charged(
        &mut self,
        [current, held]: [f64; 2],
        parts: &[f64],
        readings: &mut [f64],
    ) -> Result<(), Unworkable> {
        let mut found = [0.0; READINGS.len()];
        self.unlimited(current, parts, &mut found)?;
        readings[0] = found[0];
        // The comparison is so that a voltage which is no number fails below.
        let keeps = found[0] <= held;
        if !keeps {
            self.drive(Drive::Voltage, held, parts, &mut found)?;
            if found[CURRENT] < CONDUCTS {
                return Err(Unworkable::new(
                    format!(
                        "is not there, for the emulator never conducts: its zener needs more than the {held} V that the charger holds"
                    ),
                    "fit a zener with a voltage between the precharge threshold and the charge voltage: 3.6 V is usual for a cell of 4.2 V",
                ));
            }
        }
        readings[1..].copy_from_slice(&found);
        Ok(())
    }
}

fn unsolvable(fault: &CircuitFault) -> Unworkable {
    Unworkable::new(
        format!("has no value: {fault}"),
        fault
            .mend()
            .unwrap_or_else(|| "check the values of zener and shunt".to_owned()),
    )
}

/// The emulators, built when they are first asked for.
fn emulator(loaded: bool) -> Result<Arc<Emulator>, Unworkable> {
    type Built = OnceLock<Result<Arc<Emulator>, CircuitFault>>;
    static BARE: Built = OnceLock::new();
    static LOADED: Built = OnceLock::new();
    let built = if loaded { &LOADED } else { &BARE };
    let built = built.get_or_init(|| Emulator::new(loaded).map(Arc::new));
    built.clone().map_err(|fault| unsolvable(&fault))
}

/// Readings of a procedure that tries emulators.
fn on_bench<const COUNT: usize>(
    loaded: bool,
    try_out: impl Fn(&mut Bench, &[f64], &mut [f64]) -> Result<(), Unworkable>
    + Copy
    + Send
    + Sync
    + 'static,
) -> [Procedure; COUNT] {
    Procedure::several(move || {
        let mut bench = Bench::new(loaded);
        Box::new(move |of, readings| match &mut bench {
            Ok(bench) => try_out(bench, of, readings),
            Err(fault) => Err(fault.clone()),
        })
    })
}

impl Kind for CellEmulator {
    fn name(&self) -> &'static str {
        "cell-emulator"
    }

    fn title(&self) -> &'static str {
        "Cell emulator"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn hazards(&self) -> &'static [Hazard] {
        &[Hazard::Heat]
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let settings = given.names("setting");
        let mut refusals = Vec::new();
        if settings.is_empty() {
            refusals.push(Refusal::new(
                "setting",
                "there is no charge setting",
                "name each charge current: `setting = { slow = \"196 mA\" }`",
            ));
        }
        for (one, other) in [("resolution", "reference"), ("reference", "resolution")] {
            if given.has(one) && !given.has(other) {
                refusals.push(Refusal::new(
                    one,
                    format!("`{one}` without `{other}`"),
                    format!("give `{other}` too: counts follow from both"),
                ));
            }
        }
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let mut results = Vec::new();
        for setting in &settings {
            of_setting(given, setting, &mut results);
        }
        whole(given, &settings, &mut results);
        Ok(Plan {
            tables: tables(given, &settings),
            results,
            holds: holds(given, &settings),
            notes: vec![
                "The zener is a straight line from its knee on; a real one bends there, most of all below 5 V, so measure one of the lot.".into(),
                "Zener and shunt get hot at the higher currents: give them time, or a heat sink.".into(),
            ],
            ..Plan::default()
        })
    }
}

fn parts(given: &Inputs) -> Vec<String> {
    let mut parts = vec![
        "zener_voltage",
        "test_current",
        "dynamic_resistance",
        "shunt",
    ];
    if given.has("converter_resistance") {
        parts.push("converter_resistance");
    }
    parts.into_iter().map(str::to_owned).collect()
}

/// Results of one charge setting.
fn of_setting(given: &Inputs, setting: &str, results: &mut Vec<Planned>) {
    let loaded = given.has("converter_resistance");
    let set = format!("setting.{setting}");
    let name = |result: &str| format!("{set}.{result}");
    let means = |what: &str| format!("{what}, {}", setting.replace('_', " "));
    let mut operands = vec![set.clone(), "charge_voltage".to_owned()];
    operands.extend(parts(given));
    let charged: [Procedure; 1 + READINGS.len()] = on_bench(loaded, |bench, of, readings| {
        bench.charged([of[0], of[1]], &of[2..], readings)
    });
    let told = [
        ("Voltage at the full set current", Dimension::VOLTAGE),
        ("Voltage in place of the cell's", Dimension::VOLTAGE),
        ("Current through the zener", Dimension::CURRENT),
        ("Voltage across the shunt", Dimension::VOLTAGE),
        ("Power in the zener", Dimension::POWER),
        ("Power in the shunt", Dimension::POWER),
    ];
    let names = std::iter::once("set_voltage").chain(READINGS);
    for ((result, (what, dimension)), reading) in names.zip(told).zip(charged) {
        let operands = operands.clone();
        let (name, means) = (name(result), means(what));
        results.push(Planned::procedure(
            name, means, dimension, operands, reading, CIRCUIT,
        ));
    }
    results.push(precharge_voltage(given, setting));
    let formula = |result: &str, what: &str, formula: String, source| {
        Planned::formula(name(result), means(what), formula, source)
    };
    results.extend([
        formula(
            "end_margin",
            "Distance below the charge voltage",
            format!("charge_voltage - {set}.set_voltage"),
            DATA_SHEET,
        ),
        formula(
            "precharge_margin",
            "Distance above the precharge threshold",
            format!("{set}.precharge_voltage - precharge_threshold"),
            DATA_SHEET,
        ),
    ]);
    if given.has("resolution") {
        results.push(formula(
            "counts",
            "Counts of the converter",
            format!("{set}.sense / reference * 2^resolution"),
            "definition of an ideal converter",
        ));
    }
    let duty = if given.has("duty") { "duty * " } else { "" };
    for part in ["zener", "shunt"] {
        if given.has(&format!("{part}_rating")) {
            results.push(formula(
                &format!("{part}_load"),
                &format!("Power of the {part} by its rating"),
                format!("{duty}{set}.{part}_power / {part}_rating"),
                ARITHMETIC,
            ));
        }
    }
}

/// The voltage that a setting takes during precharge.
fn precharge_voltage(given: &Inputs, setting: &str) -> Planned {
    let set = format!("setting.{setting}");
    let name = format!("{set}.precharge_voltage");
    let means = format!(
        "Voltage at the precharge current, {}",
        setting.replace('_', " ")
    );
    if !given.has("precharge_ratio") {
        return Planned::formula(name, means, format!("{set}.set_voltage"), DATA_SHEET);
    }
    let mut operands = vec![set, "precharge_ratio".to_owned()];
    operands.extend(parts(given));
    let [voltage] = on_bench(given.has("converter_resistance"), |bench, of, readings| {
        bench.unlimited(of[0] * of[1], &of[2..], readings)
    });
    Planned::procedure(name, means, Dimension::VOLTAGE, operands, voltage, CIRCUIT)
}

/// Results over all settings.
fn whole(given: &Inputs, settings: &[&str], results: &mut Vec<Planned>) {
    let all = |result: &str| -> Vec<String> {
        let names = settings.iter();
        names
            .map(|setting| format!("setting.{setting}.{result}"))
            .collect()
    };
    let greatest = Together::Greatest;
    for (name, means) in [
        ("zener_power", "Most power in the zener"),
        ("shunt_power", "Most power in the shunt"),
        ("zener_load", "Most power in the zener by its rating"),
        ("shunt_load", "Most power in the shunt by its rating"),
    ] {
        let rating = name.replace("_load", "_rating");
        if !name.ends_with("_load") || given.has(&rating) {
            together(results, greatest, (name, means), &all(name), ARITHMETIC);
        }
    }
    if given.has("resolution") {
        results.push(Planned::formula(
            "current_step",
            "Current of one count",
            "reference / 2^resolution * 1 count / shunt",
            "definition of an ideal converter",
        ));
    }
}

/// The charger has to stay in its constant-current region, and the parts within
/// their ratings.
fn holds(given: &Inputs, settings: &[&str]) -> Vec<Holding> {
    let mut holds = Vec::new();
    for setting in settings {
        let shown = setting.replace('_', " ");
        holds.push(Holding::new(
            format!("setting.{setting}.precharge_margin >= 0 V"),
            format!("at setting {shown} the charger gets out of precharge"),
        ));
        holds.push(Holding::new(
            format!("setting.{setting}.end_margin > 0 V"),
            format!("at setting {shown} the charger drives its set current"),
        ));
    }
    for part in ["zener", "shunt"] {
        if given.has(&format!("{part}_rating")) {
            holds.push(Holding::new(
                format!("{part}_load <= 1"),
                format!("the {part} bears its power"),
            ));
        }
    }
    holds
}

fn tables(given: &Inputs, settings: &[&str]) -> Vec<Table> {
    let mut columns = vec![("Cell voltage", "cell_voltage"), ("Sense voltage", "sense")];
    if given.has("resolution") {
        columns.push(("Counts", "counts"));
    }
    let mut powers = vec![("Zener", "zener_power"), ("Shunt", "shunt_power")];
    if given.has("zener_rating") {
        powers.push(("Zener by rating", "zener_load"));
    }
    if given.has("shunt_rating") {
        powers.push(("Shunt by rating", "shunt_load"));
    }
    let table = |caption: &str, columns: &[(&str, &str)], judged: bool| {
        let mut heads = vec!["Setting".to_owned(), "Set current".to_owned()];
        for (head, _) in columns {
            heads.extend([(*head).to_owned(), "Range".to_owned()]);
        }
        if judged {
            heads.push("Charger".to_owned());
        }
        let rows = settings.iter().map(|setting| {
            let name = |result: &str| format!("setting.{setting}.{result}");
            let mut row = vec![
                Cell::Text(setting.replace('_', " ")),
                Cell::Value(format!("setting.{setting}")),
            ];
            for (_, result) in columns {
                row.extend([Cell::Value(name(result)), Cell::Range(name(result))]);
            }
            if judged {
                row.push(Cell::Judged {
                    of: vec![name("precharge_margin"), name("end_margin")],
                    judge: Judge::new(region),
                });
            }
            row
        });
        Table {
            caption: caption.to_owned(),
            columns: heads,
            rows: rows.collect(),
        }
    };
    vec![
        table("", &columns, true),
        table("Power in both parts", &powers, false),
    ]
}

/// What the charger does, from its margins above precharge and below the end.
pub(super) fn region(margins: &[Outcome]) -> String {
    let [precharge, end] = margins else {
        return String::new();
    };
    // At the very threshold precharge is over; at the charge voltage itself
    // the voltage is held (topic 7, chg.phase: common practice).
    let words = if precharge.high < 0.0 {
        "stays in precharge"
    } else if end.high <= 0.0 {
        "holds its voltage: not the set current"
    } else if precharge.low < 0.0 {
        "may stay in precharge"
    } else if end.low <= 0.0 {
        "may hold its voltage: not always the set current"
    } else {
        "constant current"
    };
    words.to_owned()
}
