//! The units that are read, their prefixes, and ways of writing that are met
//! often and are wrong.

use super::dimension::{Dimension, Level};

/// A unit of the table.
pub(super) struct Entry {
    pub(super) symbol: &'static str,
    /// Other ways of writing the same unit.
    pub(super) also: &'static [&'static str],
    pub(super) dimension: Dimension,
    pub(super) power_of_ten: i32,
    pub(super) factor: f64,
    pub(super) offset: f64,
    pub(super) prefixes: Prefixes,
}

/// Which prefixes a unit takes.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Prefixes {
    None,
    All,
    /// Only kilo and above, as for bits and feet of cable.
    Large,
}

const fn si(symbol: &'static str, also: &'static [&'static str], dimension: Dimension) -> Entry {
    Entry {
        symbol,
        also,
        dimension,
        power_of_ten: 0,
        factor: 1.0,
        offset: 0.0,
        prefixes: Prefixes::All,
    }
}

const fn fixed(
    symbol: &'static str,
    also: &'static [&'static str],
    dimension: Dimension,
    power_of_ten: i32,
    factor: f64,
) -> Entry {
    Entry {
        symbol,
        also,
        dimension,
        power_of_ten,
        factor,
        offset: 0.0,
        prefixes: Prefixes::None,
    }
}

const fn takes(prefixes: Prefixes, entry: Entry) -> Entry {
    Entry { prefixes, ..entry }
}

const fn offset(offset: f64, entry: Entry) -> Entry {
    Entry { offset, ..entry }
}

const PI: f64 = std::f64::consts::PI;
const CONDUCTANCE: Dimension = Dimension::of([-2, -1, 3, 2, 0, 0, 0], [0; 3]);
const FORCE: Dimension = Dimension::of([1, 1, -2, 0, 0, 0, 0], [0; 3]);
const PRESSURE: Dimension = Dimension::of([-1, 1, -2, 0, 0, 0, 0], [0; 3]);
const FLUX_DENSITY: Dimension = Dimension::of([0, 1, -2, -1, 0, 0, 0], [0; 3]);
const FLUX: Dimension = Dimension::of([2, 1, -2, -1, 0, 0, 0], [0; 3]);
const ILLUMINANCE: Dimension = Dimension::of([-2, 0, 0, 0, 0, 0, 1], [0; 3]);

/// Every unit that is read. Factors: SI Brochure 9th edition tables 2, 4 and 8;
/// NIST SP 811 (2008) B.8 for inch, foot, ounce, psi, kgf.
pub(super) const TABLE: &[Entry] = &[
    si("m", &[], Dimension::LENGTH),
    takes(Prefixes::All, fixed("g", &[], Dimension::MASS, -3, 1.0)),
    si("s", &[], Dimension::TIME),
    si("A", &[], Dimension::CURRENT),
    si("K", &[], Dimension::TEMPERATURE_DIFFERENCE),
    si("mol", &[], Dimension::AMOUNT),
    si("cd", &[], Dimension::LUMINOUS_INTENSITY),
    si("V", &[], Dimension::VOLTAGE),
    si(
        "Ω",
        &["\u{2126}", "ohm", "ohms", "Ohm"],
        Dimension::RESISTANCE,
    ),
    si("W", &[], Dimension::POWER),
    si("F", &[], Dimension::CAPACITANCE),
    si("H", &[], Dimension::INDUCTANCE),
    si("Hz", &[], Dimension::FREQUENCY),
    si("S", &[], CONDUCTANCE),
    si("C", &[], Dimension::CHARGE),
    si("J", &[], Dimension::ENERGY),
    si("N", &[], FORCE),
    si("Pa", &[], PRESSURE),
    si("T", &[], FLUX_DENSITY),
    si("Wb", &[], FLUX),
    si("lx", &[], ILLUMINANCE),
    si("lm", &[], Dimension::LUMINOUS_INTENSITY),
    si("VA", &[], Dimension::POWER),
    si("rad", &[], Dimension::ONE),
    takes(Prefixes::All, fixed("Ah", &[], Dimension::CHARGE, 2, 36.0)),
    takes(Prefixes::All, fixed("Wh", &[], Dimension::ENERGY, 2, 36.0)),
    takes(
        Prefixes::All,
        fixed("L", &["l"], Dimension::VOLUME, -3, 1.0),
    ),
    takes(Prefixes::All, fixed("bar", &[], PRESSURE, 5, 1.0)),
    takes(
        Prefixes::Large,
        fixed("bit", &["bits"], Dimension::BITS, 0, 1.0),
    ),
    takes(
        Prefixes::Large,
        fixed("byte", &["bytes"], Dimension::BITS, 0, 8.0),
    ),
    takes(
        Prefixes::Large,
        fixed("ft", &[], Dimension::LENGTH, -4, 3048.0),
    ),
    fixed("min", &[], Dimension::TIME, 1, 6.0),
    fixed("h", &[], Dimension::TIME, 2, 36.0),
    fixed("d", &["day", "days"], Dimension::TIME, 2, 864.0),
    fixed("week", &["weeks"], Dimension::TIME, 2, 6048.0),
    // 365.25 d / 12, as battery tables count a month.
    fixed("month", &["months"], Dimension::TIME, 2, 26298.0),
    // The Julian year of 365.25 d.
    fixed("year", &["years"], Dimension::TIME, 2, 315_576.0),
    fixed("in", &["inch"], Dimension::LENGTH, -4, 254.0),
    fixed("mil", &["mils"], Dimension::LENGTH, -7, 254.0),
    fixed("oz", &[], Dimension::MASS, -11, 2_834_952_312.5),
    fixed("lb", &[], Dimension::MASS, -8, 45_359_237.0),
    fixed("kgf", &[], FORCE, -5, 980_665.0),
    fixed("psi", &[], PRESSURE, 0, 6_894.757_293_168_361),
    fixed("rpm", &[], Dimension::FREQUENCY, 0, 2.0 * PI / 60.0),
    fixed("°", &["deg"], Dimension::ONE, 0, PI / 180.0),
    fixed("%", &["percent"], Dimension::ONE, -2, 1.0),
    fixed("ppm", &[], Dimension::ONE, -6, 1.0),
    fixed("count", &["counts"], Dimension::COUNTS, 0, 1.0),
    fixed("cent", &["cents"], Dimension::CENTS, 0, 1.0),
    offset(
        273.15,
        fixed("°C", &["degC", "℃"], Dimension::TEMPERATURE, 0, 1.0),
    ),
    offset(
        459.67 * 5.0 / 9.0,
        fixed("°F", &["degF"], Dimension::TEMPERATURE, 0, 5.0 / 9.0),
    ),
    fixed("dB", &[], Dimension::DECIBEL, 0, 1.0),
    fixed("dBm", &[], Dimension::level(Level::Milliwatt), 0, 1.0),
    fixed("dBV", &[], Dimension::level(Level::Volt), 0, 1.0),
    fixed("dBu", &[], Dimension::level(Level::Dbu), 0, 1.0),
    fixed(
        "dB SPL",
        &["dBSPL"],
        Dimension::level(Level::SoundPressure),
        0,
        1.0,
    ),
];

/// SI prefixes: symbols (all three ways of writing micro), name, power of ten.
pub(super) const PREFIXES: &[(&[&str], &str, i32)] = &[
    (&["a"], "atto", -18),
    (&["f"], "femto", -15),
    (&["p"], "pico", -12),
    (&["n"], "nano", -9),
    (&["µ", "u", "μ"], "micro", -6),
    (&["m"], "milli", -3),
    (&["c"], "centi", -2),
    (&["d"], "deci", -1),
    (&["h"], "hecto", 2),
    (&["k"], "kilo", 3),
    (&["M"], "mega", 6),
    (&["G"], "giga", 9),
    (&["T"], "tera", 12),
    (&["P"], "peta", 15),
    (&["E"], "exa", 18),
];

/// Ways of writing that are met often and are wrong, with the mend.
pub(super) const SLIPS: &[(&str, &str)] = &[
    ("sec", "the second is written `s`"),
    ("secs", "the second is written `s`"),
    ("hz", "hertz is written `Hz`"),
    ("HZ", "hertz is written `Hz`"),
    ("khz", "kilohertz is written `kHz`"),
    ("Khz", "kilohertz is written `kHz`"),
    ("KHz", "kilo is a small k: write `kHz`"),
    ("KΩ", "kilo is a small k: write `kΩ`"),
    ("Kohm", "kilo is a small k: write `kohm` or `kΩ`"),
    ("Volt", "the unit symbol is `V`"),
    ("volt", "the unit symbol is `V`"),
    ("volts", "the unit symbol is `V`"),
    ("Volts", "the unit symbol is `V`"),
    ("amp", "the unit symbol is `A`"),
    ("amps", "the unit symbol is `A`"),
    ("Amp", "the unit symbol is `A`"),
    ("Amps", "the unit symbol is `A`"),
    ("watts", "the unit symbol is `W`"),
    (
        "Vrms",
        "a unit carries no information about the quantity: write `V` and say r.m.s. in words",
    ),
    (
        "Vpp",
        "a unit carries no information about the quantity: write `V` and say peak to peak in words",
    ),
    ("cc", "write `cm^3`"),
    ("mAH", "ampere hour is written `Ah`: `mAh`"),
    ("mah", "ampere hour is written `Ah`: `mAh`"),
    ("hrs", "the hour is written `h`"),
    ("hr", "the hour is written `h`"),
    ("db", "decibel is written `dB`"),
    ("DB", "decibel is written `dB`"),
    ("R", "write `Ω`, or put the R where the point stands: `4R7`"),
];

/// Prefixes that are known by name only: read as symbols, they would make
/// units of words and designators.
pub(super) const NAMED_PREFIXES: &[(&str, i32)] = &[
    ("quecto", -30),
    ("ronto", -27),
    ("yocto", -24),
    ("zepto", -21),
    ("deca", 1),
    ("zetta", 21),
    ("yotta", 24),
    ("ronna", 27),
    ("quetta", 30),
];
