//! Quantities: numbers that know their unit, and text that states them.
//!
//! Values are held in coherent SI units, so no other module multiplies by
//! 1e-3. Nothing here opens a file, reads a clock or starts a thread.

mod code_tolerance;
mod colour;
mod constant;
mod decimal;
mod dimension;
mod level;
mod preferred;
mod restate;
mod rkm;
mod rounding;
mod show;
mod stated;
mod text;
mod text_fault;
mod tolerance;
mod unit;
mod unit_table;
pub mod writing;
mod written;

pub use code_tolerance::CodeTolerance;
pub use colour::{Colour, ColourCode, ColourEdition, ColourFault, colour_bands};
pub use constant::Constant;
pub use decimal::{Decimal, NumeralFault, Ties};
pub use dimension::{Dimension, Level, Scale};
pub use level::{
    decibels_to_field_ratio, decibels_to_power_ratio, field_ratio_to_decibels,
    power_ratio_to_decibels,
};
pub use preferred::{Series, UnknownSeries};
pub(crate) use rkm::scan as scan_value_code;
pub use rkm::{RkmCode, RkmFault, rkm_code};
pub use show::{Shown, customary_unit, fitted_unit, shown, shown_digits};
pub use stated::{Claim, Miss, Outcome, Statement};
pub use text::Given;
pub use text_fault::{TextFault, TextFaultKind};
pub use tolerance::Margin;
pub use unit::{Unit, UnitFault, is_unit_symbol, prefix_power_by_name};
pub use written::Written;

/// Ordinary, no-break, narrow no-break and thin spaces are the same space.
pub(crate) fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}')
}
