//! How a board's bill of materials is read.

use super::fields::{Fields, Value};
use crate::finding::{Located, Place};

/// `[bom]`: what the columns of `bom.csv` are headed, and what its words mean.
#[derive(Clone, Debug)]
pub struct BomRecord {
    /// Head of the column of reference designators.
    pub designators: Located<String>,
    /// Head of the column that counts them.
    pub quantity: Option<Located<String>>,
    /// Head of the column of values.
    pub value: Option<Located<String>>,
    /// Head of the column of packages.
    pub package: Option<Located<String>>,
    /// Head of the column of the notebook's own part ids.
    pub part: Option<Located<String>>,
    /// Head of the column of order codes.
    pub order: Option<Located<String>>,
    /// Head of the column that says what is not fitted.
    pub fit: Option<Located<String>>,
    /// Words of that column that mean: not fitted.
    pub not_fitted: Vec<Located<String>>,
    /// What the list calls parts, and the ids behind.
    pub calls: Vec<(Located<String>, Located<String>)>,
    /// What the list calls packages, and the packages behind.
    pub packages: Vec<(Located<String>, Located<String>)>,
    /// Designators that are fitted and rightly not in the list.
    pub leaves_out: Vec<Located<String>>,
    /// Designators of the list that stand for no part.
    pub beyond: Vec<Located<String>>,
    /// The record.
    pub place: Place,
}

/// The column map of a board; without a column of designators, it is one with
/// the head `Designator`, and a finding has told.
pub(super) fn bom(mut fields: Fields) -> BomRecord {
    let place = fields.place.clone();
    let designators = super::stock::text_or(fields.text("designators"), "Designator", &place);
    let names = |fields: &mut Fields, key| {
        let named = fields.named(key).unwrap_or_default();
        let pair = |(name, value)| match value {
            Value::Text(text) => Some((name, text)),
            _ => None,
        };
        named.entries.into_iter().filter_map(pair).collect()
    };
    let record = BomRecord {
        designators,
        quantity: fields.text("quantity"),
        value: fields.text("value"),
        package: fields.text("package"),
        part: fields.text("part"),
        order: fields.text("order"),
        fit: fields.text("fit"),
        not_fitted: fields.texts("not_fitted").unwrap_or_default(),
        calls: names(&mut fields, "calls"),
        packages: names(&mut fields, "packages"),
        leaves_out: fields.texts("leaves_out").unwrap_or_default(),
        beyond: fields.texts("beyond").unwrap_or_default(),
        place,
    };
    fields.finish();
    record
}
