//! Formulas as engineers write them: text to tree to value.
//!
//! A formula is read once, with the place of every piece in its text. Its
//! dimension is checked without any value; it is evaluated over any
//! [`Scalar`], so that the same tree gives a number, exact derivatives or an
//! enclosure; and it is written back as MathML.
//!
//! Not here: what a name means. A formula knows its names by number, and
//! whoever evaluates it brings their values in that order.

mod evaluate;
mod function;
mod lex;
mod mathml;
mod parse;
mod tree;
mod units;

pub use evaluate::{Asker, Elementary, EvaluationFault, EvaluationFaultKind, Scalar, Smooth};
pub use function::Function;
pub use mathml::{Notation, symbol_mathml};
pub use parse::{FormulaFault, FormulaFaultSort, is_constant};
pub use tree::{Comparator, Comparison, Formula, NameUse};
pub use units::DimensionFault;

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::{Dimension, Shown};

    fn value(text: &str) -> f64 {
        Formula::parse(text).unwrap().evaluate::<f64>(&[]).unwrap()
    }

    fn dimension(text: &str) -> Dimension {
        Formula::parse(text).unwrap().dimension(&[]).unwrap()
    }

    fn fault(text: &str) -> FormulaFault {
        Formula::parse(text).unwrap_err()
    }

    #[test]
    fn precedence_is_that_of_paper() {
        assert_eq!(value("2 + 3 * 4"), 14.0);
        assert_eq!(value("(2 + 3) * 4"), 20.0);
        assert_eq!(value("-2^2"), -4.0);
        assert_eq!(value("2^3^2"), 512.0);
        assert_eq!(value("8 / 4 / 2"), 1.0);
        assert_eq!(value("2 - 3 - 4"), -5.0);
        assert_eq!(value("2^-1"), 0.5);
    }

    #[test]
    fn a_number_carries_its_unit_and_a_name_does_not() {
        assert_eq!(value("1000 V / 5.1 kΩ"), 1000.0 / 5100.0);
        assert_eq!(dimension("1000 V / 5.1 kΩ"), Dimension::CURRENT);
        assert_eq!(
            dimension("0.6 W * 60 (K/W)"),
            Dimension::TEMPERATURE_DIFFERENCE
        );
        assert_eq!(value("max(1, 2.5, -3)"), 2.5);
        assert_eq!(value("parallel(10 kΩ, 10 kΩ)"), 5000.0);
        let names: Vec<_> = Formula::parse("R1 * charge.fastest / R1")
            .unwrap()
            .names()
            .to_vec();
        assert_eq!(
            names.iter().map(|n| n.name.as_str()).collect::<Vec<_>>(),
            ["R1", "charge.fastest"]
        );
    }

    /// Truth: the thermal voltage at 298.15 K, 25.6926 mV, from the exact SI
    /// values of k and e.
    #[test]
    fn constants_of_nature_have_names() {
        let text = "boltzmann_constant * 25 °C / elementary_charge";
        assert_eq!(dimension(text), Dimension::VOLTAGE);
        assert!((value(text) - 0.02569257912).abs() < 1e-11);
    }

    #[test]
    fn temperatures_are_points_and_their_differences_are_kelvin() {
        assert_eq!(
            dimension("25 °C + 0.6 W * 60 (K/W)"),
            Dimension::TEMPERATURE
        );
        assert_eq!(
            dimension("85 °C - 25 °C"),
            Dimension::TEMPERATURE_DIFFERENCE
        );
        assert_eq!(value("85 °C - 25 °C"), 60.0);
        assert!((value("-40 °C") - 233.15).abs() < 1e-12);
        assert!(
            Formula::parse("25 °C + 25 °C")
                .unwrap()
                .dimension(&[])
                .is_err()
        );
    }

    #[test]
    fn bits_make_counts_and_levels_make_ratios() {
        assert_eq!(
            dimension("3.3 V / 2^(12 bit)").to_string(),
            "a voltage step (V/count)"
        );
        assert!(dimension("field_level(2)").comparable(Dimension::DECIBEL));
        assert!((value("field_level(2)") - 6.020599913279624).abs() < 1e-12);
        assert!((value("power_ratio(-3 dB)") - 0.5011872336272722).abs() < 1e-12);
        assert!(
            Formula::parse("3 dB * 2 V")
                .unwrap()
                .dimension(&[])
                .is_err()
        );
        assert!(
            Formula::parse("power_ratio(field_level(2))")
                .unwrap()
                .dimension(&[])
                .is_err()
        );
    }

    /// Truth: 74 dB is 12 bits by SNR = 6.02 N + 1.76 dB.
    #[test]
    fn a_level_difference_over_another_is_a_number() {
        let text = "(74 dB - 1.76 dB) / 6.02 dB";
        assert_eq!(dimension(text), Dimension::ONE);
        assert!((value(text) - 12.0).abs() < 1e-12);
        assert_eq!(dimension("field_level(8) / 6.02 dB"), Dimension::ONE);
        let refused = [
            "30 dBm / 10 dB",
            "30 dB / 10 dBm",
            "3 dB * 2 dB",
            "1 / 3 dB",
        ];
        for text in refused {
            let formula = Formula::parse(text).unwrap();
            assert!(formula.dimension(&[]).is_err(), "{text}");
        }
    }

    /// Truth: common practice, no source: twice the power is 3.01 dB more,
    /// twice the distance 6.02 dB less.
    #[test]
    fn decibels_add_whatever_they_were_counted_from() {
        let text = "88 dB + power_level(2 W / 1 W) - field_level(2 m / 1 m)";
        assert_eq!(dimension(text), Dimension::DECIBEL);
        assert!((value(text) - 84.9897).abs() < 1e-4);
        assert_eq!(dimension("10 dBm + field_level(2)"), dimension("10 dBm"));
        assert!(
            Formula::parse("10 dBm + 10 dBm")
                .unwrap()
                .dimension(&[])
                .is_err()
        );
    }

    #[test]
    fn a_mismatch_shows_both_sides_and_their_units() {
        let fault = Formula::parse("5 V + 3 mA")
            .unwrap()
            .dimension(&[])
            .unwrap_err();
        assert_eq!(fault.message, "adds a voltage (V) and a current (A)");
        assert_eq!(
            fault.sides,
            vec![
                (0..3, "a voltage (V)".into()),
                (6..10, "a current (A)".into())
            ]
        );
    }

    #[test]
    fn faults_point_at_their_bytes_and_offer_a_way_out() {
        assert_eq!(
            fault("R1 / W").help.unwrap(),
            "write `1 W`, or a compound unit in brackets: `60 (K/W)`"
        );
        assert_eq!(fault("4,7 kΩ").sort, FormulaFaultSort::DecimalComma);
        assert_eq!(fault("5 Vlot").span, 2..6);
        assert_eq!(
            fault("2 R1").help.unwrap(),
            "if `R1` is a name, write `*` before it"
        );
        assert!(fault("paralel(R1, R2)").help.unwrap().contains("parallel"));
        assert_eq!(fault("(1 + 2").span, 0..1);
        assert!(fault("5 m^2").message.contains("two ways"));
        assert!(fault("R1 R2").message.contains("operator is missing"));
        assert!(Formula::parse("").is_err());
    }

    #[test]
    fn hostile_input_ends_in_a_fault() {
        assert!(fault(&"1+".repeat(50_000)).message.contains("100000 bytes"));
        assert!(fault(&"(".repeat(3000)).message.contains("deep"));
        assert!(fault(&"-".repeat(3000)).message.contains("deep"));
        assert!(fault(&"2^".repeat(1500)).message.contains("deep"));
        let overflow = Formula::parse("10^300 * 10^300")
            .unwrap()
            .evaluate::<f64>(&[])
            .unwrap_err();
        assert!(matches!(
            overflow.kind,
            EvaluationFaultKind::NotFinite("product")
        ));
        let zero = Formula::parse("1 / (2 - 2)")
            .unwrap()
            .evaluate::<f64>(&[])
            .unwrap_err();
        assert_eq!(
            (zero.kind, zero.span),
            (EvaluationFaultKind::DivisionByZero, 4..11)
        );
        assert!(
            Formula::parse("(5 V)^1000")
                .unwrap()
                .dimension(&[])
                .is_err()
        );
    }

    #[test]
    fn a_formula_is_written_back_as_paper_has_it() {
        let formula = Formula::parse("set_constant / (R1 + R2)").unwrap();
        let symbols: Vec<String> = formula
            .names()
            .iter()
            .map(|n| symbol_mathml(&n.name))
            .collect();
        assert_eq!(
            formula.mathml(&Notation::Symbols(&symbols)),
            "<mfrac><mtext>set constant</mtext><mrow><msub><mi>R</mi><mn>1</mn></msub><mo>+</mo>\
             <msub><mi>R</mi><mn>2</mn></msub></mrow></mfrac>"
        );
        let value = |numeral: &str, unit: &str| Shown {
            numeral: numeral.into(),
            unit: unit.into(),
        };
        let power = Formula::parse("I^2 * R1").unwrap();
        let shown = power.mathml(&Notation::Values(&[value("0.2", "A"), value("5.1", "kΩ")]));
        assert!(
            shown.starts_with("<mrow><msup><mrow><mrow><mo>(</mo>"),
            "{shown}"
        );
        assert_eq!(
            formula.substituted(|at| ["1 kV", "5.1 kΩ", "10 kΩ"][at].into()),
            "1 kV / (5.1 kΩ + 10 kΩ)"
        );
    }
}
