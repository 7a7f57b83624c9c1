//! Every kind of part, and the properties that parts of each kind have.
//!
//! The names are those of data sheets. A row is a property, so the layout of
//! this file is its own.

use super::kind::{PartKind, PropertyKind};
use crate::quantity::Dimension;

const fn kind(name: &'static str, title: &'static str, properties: &'static [PropertyKind]) -> PartKind {
    PartKind { name, title, properties }
}

const fn property(name: &'static str, dimension: Dimension, means: &'static str) -> PropertyKind {
    PropertyKind { name, dimension, means }
}

const ONE: Dimension = Dimension::ONE;
const VOLT: Dimension = Dimension::VOLTAGE;
const AMPERE: Dimension = Dimension::CURRENT;
const OHM: Dimension = Dimension::RESISTANCE;
const WATT: Dimension = Dimension::POWER;
const HERTZ: Dimension = Dimension::FREQUENCY;
const CELSIUS: Dimension = Dimension::TEMPERATURE;
const KELVIN_PER_WATT: Dimension = Dimension::THERMAL_RESISTANCE;
/// A second for each ohm is a farad: the product of R and C is a time.
const SECOND_PER_OHM: Dimension = Dimension::CAPACITANCE;

const CURRENT_RATING: PropertyKind = property("current_rating", AMPERE, "greatest current that it may carry for good");
const VOLTAGE_RATING: PropertyKind = property("voltage_rating", VOLT, "greatest voltage that it may stand for good");
const POWER_RATING: PropertyKind = property("power_rating", WATT, "greatest power that it may turn into heat for good");
const LEAKAGE: PropertyKind = property("leakage", AMPERE, "current that it passes where it should pass none");
const QUIESCENT: PropertyKind = property("quiescent", AMPERE, "current that it draws for itself while it works");
const SUPPLY_MIN: PropertyKind = property("supply_min", VOLT, "least supply voltage at which it works");
const SUPPLY_MAX: PropertyKind = property("supply_max", VOLT, "greatest supply voltage that it may be given");
const CURRENT_LIMIT: PropertyKind = property("current_limit", AMPERE, "greatest current that it delivers");
const CONTACT_RESISTANCE: PropertyKind = property("contact_resistance", OHM, "resistance of one closed contact");
const THERMAL_RESISTANCE: PropertyKind = property("thermal_resistance", KELVIN_PER_WATT, "temperature rise of the junction above its surroundings for each watt");
const JUNCTION_MAX: PropertyKind = property("junction_max", CELSIUS, "greatest temperature that the junction may reach");
const FORWARD_VOLTAGE: PropertyKind = property("forward_voltage", VOLT, "voltage across it while it conducts");
const TEST_CURRENT: PropertyKind = property("test_current", AMPERE, "current at which the voltage is specified");
const IDEALITY: PropertyKind = property("ideality", ONE, "how far the junction departs from Shockley's law, 1 to 2 for silicon");
const EFFICIENCY: PropertyKind = property("efficiency", ONE, "power delivered, as a share of the power drawn");

/// Properties that parts of every kind may have.
pub static COMMON: &[PropertyKind] = &[
    property("height", Dimension::LENGTH, "height above the board when fitted"),
    property("mass", Dimension::MASS, "mass of one part"),
    property("price", ONE, "price of one, in the currency of the notebook"),
];

/// Every kind of part there is.
pub static KINDS: &[PartKind] = &[
    kind("resistor", "Resistor", &[
        property("value", OHM, "resistance"),
        POWER_RATING,
        VOLTAGE_RATING,
        property("tempco", Dimension::PER_KELVIN, "change of the resistance, as a share of it, for each kelvin"),
    ]),
    kind("capacitor", "Capacitor", &[
        property("value", Dimension::CAPACITANCE, "capacitance"),
        VOLTAGE_RATING,
        property("esr", OHM, "equivalent series resistance"),
        LEAKAGE,
    ]),
    kind("inductor", "Inductor", &[
        property("value", Dimension::INDUCTANCE, "inductance"),
        CURRENT_RATING,
        property("resistance", OHM, "resistance of the winding to direct current"),
    ]),
    kind("diode", "Diode", &[
        FORWARD_VOLTAGE,
        TEST_CURRENT,
        property("saturation_current", AMPERE, "saturation current of the junction (Shockley)"),
        IDEALITY,
        property("series_resistance", OHM, "resistance in series with the junction"),
        CURRENT_RATING,
        VOLTAGE_RATING,
        LEAKAGE,
    ]),
    kind("zener", "Zener diode", &[
        property("zener_voltage", VOLT, "voltage across it at the test current"),
        TEST_CURRENT,
        property("dynamic_resistance", OHM, "change of voltage with current near the test current"),
        POWER_RATING,
    ]),
    kind("led", "Light-emitting diode", &[FORWARD_VOLTAGE, TEST_CURRENT, IDEALITY, CURRENT_RATING]),
    kind("transistor", "Transistor", &[
        property("on_resistance", OHM, "resistance of the channel when switched on"),
        property("gate_threshold", VOLT, "magnitude of the gate voltage at which it begins to conduct"),
        CURRENT_RATING,
        VOLTAGE_RATING,
        LEAKAGE,
        property("current_gain", ONE, "collector current for each unit of base current"),
    ]),
    kind("charger", "Charge controller", &[
        property("set_constant", VOLT, "programming constant: charge current times set resistor"),
        property("regulation_voltage", VOLT, "voltage at which the cell is held at the end of a charge"),
        SUPPLY_MIN,
        SUPPLY_MAX,
        CURRENT_LIMIT,
        QUIESCENT,
        property("reverse_leakage", AMPERE, "current drawn from the cell while no supply is there"),
        property("precharge_threshold", VOLT, "cell voltage below which it charges gently"),
        property("precharge_ratio", ONE, "gentle charge current, as a share of the set one"),
        property("termination_ratio", ONE, "current at which the charge ends, as a share of the set one"),
        THERMAL_RESISTANCE,
        JUNCTION_MAX,
    ]),
    kind("regulator", "Voltage regulator", &[
        property("output_voltage", VOLT, "voltage that it holds at its output"),
        property("dropout", VOLT, "least voltage from input to output at which it still regulates"),
        QUIESCENT,
        CURRENT_LIMIT,
        SUPPLY_MIN,
        SUPPLY_MAX,
        EFFICIENCY,
        THERMAL_RESISTANCE,
        JUNCTION_MAX,
    ]),
    kind("timer", "Timer", &[
        QUIESCENT,
        property("timing_constant", SECOND_PER_OHM, "interval for each ohm of the timing resistor"),
        SUPPLY_MIN,
        SUPPLY_MAX,
    ]),
    kind("converter", "Analogue-digital or digital-analogue converter", &[
        property("resolution", Dimension::BITS, "number of bits"),
        property("reference", VOLT, "voltage of the full scale"),
        property("supply_current", AMPERE, "current that it draws while it converts"),
        property("output_resistance", OHM, "resistance of its output"),
    ]),
    kind("amplifier", "Amplifier", &[
        property("gain", ONE, "output voltage for each unit of input voltage"),
        EFFICIENCY,
        QUIESCENT,
        SUPPLY_MIN,
        SUPPLY_MAX,
        property("output_drop", VOLT, "how far the output stays short of the supply"),
        property("shutdown_current", AMPERE, "current that it draws while switched off"),
    ]),
    kind("operational-amplifier", "Operational amplifier", &[
        property("open_loop_gain", ONE, "gain without feedback, at rest"),
        property("gain_bandwidth", HERTZ, "product of gain and bandwidth"),
        property("output_resistance", OHM, "resistance of the output without feedback"),
        QUIESCENT,
        SUPPLY_MIN,
        SUPPLY_MAX,
    ]),
    kind("speaker", "Loudspeaker", &[
        property("mechanical_q", ONE, "quality factor of the suspension alone at resonance"),
        property("electrical_q", ONE, "quality factor of the motor alone at resonance"),
        property("coil_inductance", Dimension::INDUCTANCE, "inductance of the voice coil"),
        property("impedance", OHM, "rated impedance"),
        POWER_RATING,
        property("sensitivity", Dimension::DECIBEL, "sound pressure level at 1 m for 1 W"),
        property("resonance", HERTZ, "resonance frequency in free air"),
        property("dc_resistance", OHM, "resistance of the voice coil to direct current"),
        property("total_q", ONE, "total quality factor at resonance"),
        property("equivalent_volume", Dimension::VOLUME, "volume of air as compliant as the suspension"),
        property("excursion", Dimension::LENGTH, "how far the cone moves linearly to one side"),
        property("cone_area", Dimension::AREA, "effective area of the cone"),
    ]),
    kind("cell", "Cell", &[
        property("capacity", Dimension::CHARGE, "charge that it holds when full"),
        property("nominal_voltage", VOLT, "voltage that it is sold under"),
        property("full_voltage", VOLT, "voltage when full"),
        property("empty_voltage", VOLT, "voltage at which it must not be discharged further"),
        property("max_charge_current", AMPERE, "greatest current that it may be charged with"),
        property("max_discharge_current", AMPERE, "greatest current that may be drawn from it"),
        property("internal_resistance", OHM, "resistance inside the cell"),
        property("charge_temperature_min", CELSIUS, "least temperature at which it may be charged"),
        property("charge_temperature_max", CELSIUS, "greatest temperature at which it may be charged"),
    ]),
    kind("panel", "Solar panel", &[
        property("open_voltage", VOLT, "voltage without load in full sun"),
        property("peak_voltage", VOLT, "voltage at which it gives most power"),
        property("peak_current", AMPERE, "current at which it gives most power"),
        property("peak_power", WATT, "most power that it gives in full sun"),
    ]),
    kind("connector", "Connector", &[
        CURRENT_RATING,
        VOLTAGE_RATING,
        CONTACT_RESISTANCE,
        property("pitch", Dimension::LENGTH, "distance from contact to contact"),
        property("contacts", Dimension::COUNTS, "number of contacts"),
    ]),
    kind("switch", "Switch", &[
        CURRENT_RATING,
        VOLTAGE_RATING,
        CONTACT_RESISTANCE,
        property("poles", Dimension::COUNTS, "number of circuits that it switches"),
    ]),
    kind("fuse", "Fuse", &[
        property("hold_current", AMPERE, "current that it carries for good"),
        property("trip_current", AMPERE, "current at which it is sure to open"),
        VOLTAGE_RATING,
        property("resistance", OHM, "resistance when cold"),
    ]),
    kind("module", "Controller module", &[
        property("supply", VOLT, "supply voltage that it provides"),
        property("current_draw", AMPERE, "current that it draws while it works"),
        CURRENT_LIMIT,
        property("sleep_current", AMPERE, "current that it draws asleep"),
    ]),
    kind("sensor", "Sensor", &[SUPPLY_MIN, SUPPLY_MAX, QUIESCENT]),
    kind("crystal", "Crystal", &[
        property("frequency", HERTZ, "frequency at which it oscillates"),
        property("load_capacitance", Dimension::CAPACITANCE, "capacitance that it must see for that frequency"),
    ]),
    kind("other", "Other part", &[]),
];
