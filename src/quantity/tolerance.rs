//! What stands behind a value: `±5 %`, `+0.1 V -0.05 V`.

use super::written::skip_spaces;
use super::{Decimal, Dimension, TextFault, TextFaultKind, Written};

/// How far a value may lie to one side.
#[derive(Clone, PartialEq, Debug)]
pub struct Margin {
    /// As written, without its sign.
    pub written: Written,
    /// Whether it is a share of the value it belongs to.
    pub relative: bool,
}

impl Margin {
    /// The margin of `centre` in coherent SI units, never negative.
    pub fn size(&self, centre: &Written) -> f64 {
        let written = &self.written;
        if self.relative {
            return (centre.value() * written.value()).abs();
        }
        (written.decimal.to_f64() * written.unit.step()).abs()
    }
}

/// What stands behind a value: `±5 %`, `+0.1 V -0.05 V`.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Tolerance {
    pub minus: Margin,
    pub plus: Margin,
    /// Whether one margin was written for both sides.
    pub symmetric: bool,
    pub end: usize,
}

impl Tolerance {
    pub(crate) fn scan(text: &str, at: usize, centre: &Written) -> Result<Tolerance, TextFault> {
        let rest = &text[at..];
        for sign in ["±", "+/-", "+/−", "+-"] {
            if rest.starts_with(sign) {
                let margin = Tolerance::margin(text, skip_spaces(text, at + sign.len()), centre)?;
                let end = margin.written.span.end;
                return Ok(Tolerance {
                    minus: margin.clone(),
                    plus: margin,
                    symmetric: true,
                    end,
                });
            }
        }
        if let Some(used) = rest.strip_prefix('+').map(|_| 1) {
            let plus_at = skip_spaces(text, at + used);
            let bare = Decimal::scan(&text[plus_at..]);
            // `+0.1/-0.05 V` has one unit for both.
            if let Ok((decimal, used)) = bare
                && text[plus_at + used..].starts_with('/')
            {
                let minus = Tolerance::minus(text, plus_at + used + 1, centre)?;
                let digits = plus_at..plus_at + used;
                let written = Written {
                    decimal,
                    unit: minus.written.unit.clone(),
                    span: digits.clone(),
                    digits,
                    code: false,
                };
                let end = minus.written.span.end;
                let plus = Margin {
                    written,
                    relative: minus.relative,
                };
                return Ok(Tolerance {
                    minus,
                    plus,
                    symmetric: false,
                    end,
                });
            }
            let plus = Tolerance::margin(text, plus_at, centre)?;
            let minus = Tolerance::minus(text, skip_spaces(text, plus.written.span.end), centre)?;
            let end = minus.written.span.end;
            return Ok(Tolerance {
                minus,
                plus,
                symmetric: false,
                end,
            });
        }
        let kind = TextFaultKind::Form;
        Err(TextFault {
            span: at..text.len(),
            kind,
            expected: Some(centre.unit.dimension()),
        })
    }

    fn minus(text: &str, at: usize, centre: &Written) -> Result<Margin, TextFault> {
        let sign = text[at..].chars().next().filter(|c| matches!(c, '-' | '−'));
        let Some(sign) = sign else {
            let kind = TextFaultKind::OneSided;
            return Err(TextFault {
                span: at..text.len(),
                kind,
                expected: None,
            });
        };
        Tolerance::margin(text, skip_spaces(text, at + sign.len_utf8()), centre)
    }

    fn margin(text: &str, at: usize, centre: &Written) -> Result<Margin, TextFault> {
        let wanted = centre.unit.for_difference().dimension();
        let mut written = Written::scan(text, at, Some(wanted))?;
        let symbol = written.unit.symbol();
        let share = symbol == "%" || symbol == "ppm";
        if share && centre.unit.symbol() != symbol {
            if centre.unit.has_offset() || centre.unit.dimension().as_level().is_some() {
                let kind = TextFaultKind::WrongDimension {
                    found: Dimension::ONE,
                };
                return Err(TextFault {
                    span: written.span,
                    kind,
                    expected: Some(wanted),
                });
            }
            return Ok(Margin {
                written,
                relative: true,
            });
        }
        if symbol.is_empty() && !centre.unit.symbol().is_empty() {
            return Err(TextFault {
                span: written.span,
                kind: TextFaultKind::ToleranceWithoutUnit {
                    unit: centre.unit.symbol().to_owned(),
                },
                expected: Some(wanted),
            });
        }
        written.unit = written.unit.for_difference();
        if !written.unit.dimension().comparable(wanted) {
            let kind = TextFaultKind::WrongDimension {
                found: written.unit.dimension(),
            };
            return Err(TextFault {
                span: written.span,
                kind,
                expected: Some(wanted),
            });
        }
        Ok(Margin {
            written,
            relative: false,
        })
    }
}
