//! Constants of physics, by name and by symbol.
//!
//! Seven of them define the SI and are exact since 2019, as is everything that
//! is made of them alone; the rest is measured and has a standard uncertainty.
//! Values: CODATA recommended values of 2022 (names as listed there), and the
//! SI Brochure, 9th edition, section 2.2. Measured values were checked against
//! one another through the relations that join them (see the tests).

use super::{Dimension, Unit};

/// A constant of physics, in coherent SI units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Constant {
    /// The name, as CODATA lists it: `elementary charge`.
    pub name: &'static str,
    /// The symbol in plain letters: `e`, `N_A`, `epsilon_0`.
    pub symbol: &'static str,
    /// Other names in use.
    also: &'static [&'static str],
    /// The value in coherent SI units.
    pub value: f64,
    /// Its standard uncertainty in the same unit; zero where it is exact.
    pub standard_uncertainty: f64,
    /// The dimension of the value.
    pub dimension: Dimension,
    /// The unit as it is printed after the value: `J K^-1`.
    pub unit: &'static str,
    /// Where the value is published.
    pub source: &'static str,
}

const DEFINING: &str = "exact by definition: SI Brochure, 9th edition, 2.2";
const DERIVED: &str = "exact, from the defining constants of the SI; CODATA 2022";
const MEASURED: &str = "CODATA 2022 recommended value";
const CONVENTION: &str = "exact by convention; CODATA 2022, adopted values";

/// One row of the table, exact until [`measured`] says otherwise.
const fn exact(
    name: &'static str,
    symbol: &'static str,
    value: f64,
    (unit, dimension): (&'static str, Dimension),
    source: &'static str,
) -> Constant {
    Constant {
        name,
        symbol,
        also: &[],
        value,
        standard_uncertainty: 0.0,
        dimension,
        unit,
        source,
    }
}

const fn measured(
    name: &'static str,
    symbol: &'static str,
    (value, standard_uncertainty): (f64, f64),
    unit: (&'static str, Dimension),
) -> Constant {
    Constant {
        standard_uncertainty,
        ..exact(name, symbol, value, unit, MEASURED)
    }
}

const fn also(also: &'static [&'static str], constant: Constant) -> Constant {
    Constant { also, ..constant }
}

const fn si(exponents: [i8; 7]) -> Dimension {
    Dimension::of(exponents, [0; 3])
}

const ACTION: (&str, Dimension) = ("J s", si([2, 1, -1, 0, 0, 0, 0]));
const KILOGRAM: (&str, Dimension) = ("kg", Dimension::MASS);

const TABLE: &[Constant] = &[
    exact(
        "hyperfine transition frequency of Cs-133",
        "Delta_nu_Cs",
        9_192_631_770.0,
        ("Hz", Dimension::FREQUENCY),
        DEFINING,
    ),
    also(
        &["speed of light"],
        exact(
            "speed of light in vacuum",
            "c",
            299_792_458.0,
            ("m s^-1", si([1, 0, -1, 0, 0, 0, 0])),
            DEFINING,
        ),
    ),
    exact(
        "Planck constant",
        "h",
        6.626_070_15e-34,
        ("J Hz^-1", ACTION.1),
        DEFINING,
    ),
    exact(
        "elementary charge",
        "e",
        1.602_176_634e-19,
        ("C", Dimension::CHARGE),
        DEFINING,
    ),
    exact(
        "Boltzmann constant",
        "k",
        1.380_649e-23,
        ("J K^-1", si([2, 1, -2, 0, -1, 0, 0])),
        DEFINING,
    ),
    exact(
        "Avogadro constant",
        "N_A",
        6.022_140_76e23,
        ("mol^-1", si([0, 0, 0, 0, 0, -1, 0])),
        DEFINING,
    ),
    exact(
        "luminous efficacy",
        "K_cd",
        683.0,
        ("lm W^-1", si([-2, -1, 3, 0, 0, 0, 1])),
        DEFINING,
    ),
    exact(
        "reduced Planck constant",
        "hbar",
        1.054_571_817_646_156_4e-34,
        ACTION,
        DERIVED,
    ),
    also(
        &["gas constant"],
        exact(
            "molar gas constant",
            "R",
            8.314_462_618_153_24,
            ("J mol^-1 K^-1", si([2, 1, -2, 0, -1, -1, 0])),
            DERIVED,
        ),
    ),
    exact(
        "Faraday constant",
        "F",
        96_485.332_123_310_02,
        ("C mol^-1", si([0, 0, 1, 1, 0, -1, 0])),
        DERIVED,
    ),
    exact(
        "Stefan-Boltzmann constant",
        "sigma",
        5.670_374_419_184_429e-8,
        ("W m^-2 K^-4", si([0, 1, -3, 0, -4, 0, 0])),
        DERIVED,
    ),
    also(
        &["mag. flux quantum"],
        exact(
            "magnetic flux quantum",
            "Phi_0",
            2.067_833_848_461_929e-15,
            ("Wb", si([2, 1, -2, -1, 0, 0, 0])),
            DERIVED,
        ),
    ),
    exact(
        "Josephson constant",
        "K_J",
        483_597.848_416_983_6e9,
        ("Hz V^-1", si([-2, -1, 2, 1, 0, 0, 0])),
        DERIVED,
    ),
    exact(
        "von Klitzing constant",
        "R_K",
        25_812.807_459_304_5,
        ("ohm", Dimension::RESISTANCE),
        DERIVED,
    ),
    exact(
        "conductance quantum",
        "G_0",
        7.748_091_729_863_65e-5,
        ("S", si([-2, -1, 3, 2, 0, 0, 0])),
        DERIVED,
    ),
    also(
        &["electronvolt"],
        exact(
            "electron volt",
            "eV",
            1.602_176_634e-19,
            ("J", Dimension::ENERGY),
            DERIVED,
        ),
    ),
    also(
        &["electric constant", "permittivity of vacuum"],
        measured(
            "vacuum electric permittivity",
            "epsilon_0",
            (8.854_187_818_8e-12, 1.4e-21),
            ("F m^-1", si([-3, -1, 4, 2, 0, 0, 0])),
        ),
    ),
    also(
        &[
            "vacuum mag. permeability",
            "magnetic constant",
            "permeability of vacuum",
        ],
        measured(
            "vacuum magnetic permeability",
            "mu_0",
            (1.256_637_061_27e-6, 2.0e-16),
            ("N A^-2", si([1, 1, -2, -2, 0, 0, 0])),
        ),
    ),
    also(
        &["impedance of vacuum"],
        measured(
            "characteristic impedance of vacuum",
            "Z_0",
            (376.730_313_412, 5.9e-8),
            ("ohm", Dimension::RESISTANCE),
        ),
    ),
    measured(
        "fine-structure constant",
        "alpha",
        (7.297_352_564_3e-3, 1.1e-12),
        ("", Dimension::ONE),
    ),
    measured(
        "electron mass",
        "m_e",
        (9.109_383_713_9e-31, 2.8e-40),
        KILOGRAM,
    ),
    measured(
        "proton mass",
        "m_p",
        (1.672_621_925_95e-27, 5.2e-37),
        KILOGRAM,
    ),
    measured(
        "atomic mass constant",
        "m_u",
        (1.660_539_068_92e-27, 5.2e-37),
        KILOGRAM,
    ),
    measured(
        "Bohr radius",
        "a_0",
        (5.291_772_105_44e-11, 8.2e-21),
        ("m", Dimension::LENGTH),
    ),
    measured(
        "Bohr magneton",
        "mu_B",
        (9.274_010_065_7e-24, 2.9e-33),
        ("J T^-1", si([2, 0, 0, 1, 0, 0, 0])),
    ),
    measured(
        "Rydberg constant",
        "R_inf",
        (10_973_731.568_157, 1.2e-5),
        ("m^-1", si([-1, 0, 0, 0, 0, 0, 0])),
    ),
    measured(
        "Newtonian constant of gravitation",
        "G",
        (6.674_30e-11, 1.5e-15),
        ("m^3 kg^-1 s^-2", si([3, -1, -2, 0, 0, 0, 0])),
    ),
    also(
        &["standard acceleration due to gravity"],
        exact(
            "standard acceleration of gravity",
            "g_n",
            9.806_65,
            ("m s^-2", si([1, 0, -2, 0, 0, 0, 0])),
            CONVENTION,
        ),
    ),
    exact(
        "standard atmosphere",
        "atm",
        101_325.0,
        ("Pa", si([-1, 1, -2, 0, 0, 0, 0])),
        CONVENTION,
    ),
];

impl Constant {
    /// All constants: the defining ones, what is made of them, the measured,
    /// and those set by convention.
    pub fn all() -> &'static [Constant] {
        TABLE
    }

    /// The constant of a name, in small or capital letters alike.
    pub fn by_name(name: &str) -> Option<&'static Constant> {
        TABLE.iter().find(|constant| {
            let mut names = constant.also.iter().chain([&constant.name]);
            names.any(|known| known.eq_ignore_ascii_case(name))
        })
    }

    /// The constant of a symbol in plain letters: `e`, `N_A`. Symbols keep
    /// their case: `h` is not `H`, and `k` is not `K`.
    pub fn by_symbol(symbol: &str) -> Option<&'static Constant> {
        TABLE.iter().find(|constant| constant.symbol == symbol)
    }

    /// Whether the value is exact, by definition or by convention.
    pub fn is_exact(&self) -> bool {
        self.standard_uncertainty == 0.0
    }

    /// The coherent unit of the value.
    pub fn coherent_unit(&self) -> Unit {
        Unit::coherent(self.dimension)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn value(symbol: &str) -> f64 {
        Constant::by_symbol(symbol).unwrap().value
    }

    fn agree(left: f64, right: f64, relative: f64) {
        assert!((left / right - 1.0).abs() <= relative, "{left:e} {right:e}");
    }

    #[test]
    fn a_constant_is_found_by_its_names() {
        let charge = Constant::by_name("elementary charge").unwrap();
        assert_eq!((charge.value, charge.unit), (1.602_176_634e-19, "C"));
        assert!(charge.is_exact());
        assert_eq!(
            Constant::by_name("electric constant"),
            Constant::by_symbol("epsilon_0")
        );
        assert_eq!(Constant::by_name("luck"), None);
    }

    #[test]
    fn every_printed_unit_is_read_and_has_the_dimension_of_its_constant() {
        for constant in Constant::all() {
            let unit = Unit::parse(constant.unit).unwrap();
            assert_eq!(unit.dimension(), constant.dimension, "{}", constant.name);
        }
    }

    #[test]
    fn names_and_symbols_are_not_used_twice() {
        for constant in Constant::all() {
            assert_eq!(Constant::by_symbol(constant.symbol), Some(constant));
            for name in constant.also.iter().chain([&constant.name]) {
                assert_eq!(Constant::by_name(name), Some(constant), "{name}");
            }
        }
    }

    /// A float is good to 1.1e-16; a handful of products adds up to this.
    const FEW_ROUNDINGS: f64 = 1e-15;

    #[test]
    fn exact_constants_follow_from_the_defining_ones() {
        let (e, h, k, c) = (value("e"), value("h"), value("k"), value("c"));
        agree(value("hbar"), h / (2.0 * PI), FEW_ROUNDINGS);
        agree(value("R"), value("N_A") * k, FEW_ROUNDINGS);
        agree(value("F"), value("N_A") * e, FEW_ROUNDINGS);
        let sigma = 2.0 * PI.powi(5) * k.powi(4) / (15.0 * h.powi(3) * c * c);
        agree(value("sigma"), sigma, 4.0 * FEW_ROUNDINGS);
        agree(value("K_J"), 2.0 * e / h, FEW_ROUNDINGS);
        agree(value("Phi_0"), h / (2.0 * e), FEW_ROUNDINGS);
        agree(value("R_K"), h / (e * e), FEW_ROUNDINGS);
        agree(value("G_0"), 2.0 * e * e / h, FEW_ROUNDINGS);
    }

    /// Measured constants hang together through the fine-structure constant;
    /// each is printed to eleven or twelve digits.
    #[test]
    fn measured_constants_follow_from_one_another() {
        const PRINTED: f64 = 4e-11;
        let (e, h, c) = (value("e"), value("h"), value("c"));
        let alpha = value("alpha");
        agree(value("epsilon_0"), e * e / (2.0 * alpha * h * c), PRINTED);
        agree(value("mu_0"), 2.0 * alpha * h / (c * e * e), PRINTED);
        agree(value("Z_0"), 2.0 * alpha * h / (e * e), PRINTED);
        let rydberg = alpha * alpha * value("m_e") * c / (2.0 * h);
        agree(value("R_inf"), rydberg, PRINTED);
        let bohr = value("hbar") / (value("m_e") * c * alpha);
        agree(value("a_0"), bohr, PRINTED);
        agree(
            value("mu_B"),
            e * value("hbar") / (2.0 * value("m_e")),
            PRINTED,
        );
        // Published ratio of proton to electron mass, CODATA 2022.
        agree(value("m_p") / value("m_e"), 1_836.152_673_426, PRINTED);
    }
}
