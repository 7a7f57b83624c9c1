//! What buying parts and making boards takes: the keys of prices, of costs and of
//! bills of materials.
//!
//! A row is a key, so the layout of this file is its own.

use super::shape::{Names, Shape, Takes};
use super::shapes::{may, must, record};
use crate::quantity::Dimension;

const NUMBER: Takes = Takes::Quantity(Some(Dimension::ONE));

/// Price of one by how many are bought at once.
pub(super) const PRICES: Takes = Takes::Named(Names::Count, &NUMBER);

pub(crate) static COST: Shape = record(
    "cost",
    "the costs of making",
    "[cost]",
    "What making boards costs beside the price of their parts, in the notebook's currency; for the team only.",
    &[
        must("volumes", Takes::Wholes, "numbers of boards made at once, for which costs are worked out"),
        may("line_fee", NUMBER, "what each line of a bill of materials costs for each lot: ordering, loading a feeder; nothing if nothing is said"),
        may("part_fee", NUMBER, "what each part of the line costs for each round of lots, however many lists it is on: ordering, counting, keeping a reel; nothing if nothing is said"),
        may("placement", NUMBER, "what placing one part costs; nothing if nothing is said"),
        may("attrition", Takes::Whole, "pieces that loading a feeder loses; none if nothing is said"),
    ],
);

pub(crate) static BOM: Shape = record(
    "bom",
    "the column map of a bill of materials",
    "[bom]",
    "How the bill of materials `bom.csv` is read: what its columns are headed, and what its words mean.",
    &[
        must("designators", Takes::Text, "head of the column of reference designators; `R1-R4, R7` is five of them"),
        may("quantity", Takes::Text, "head of the column that counts them"),
        may("value", Takes::Text, "head of the column of values; a part without one is called by its id or its title"),
        may("package", Takes::Text, "head of the column of packages"),
        may("part", Takes::Text, "head of the column of the notebook's own part ids"),
        may("order", Takes::Text, "head of the column of order codes"),
        may("fit", Takes::Text, "head of the column that says what is not fitted"),
        may("not_fitted", Takes::Texts, "words of that column that mean: not fitted; every other means: fitted"),
        may("calls", Takes::Named(Names::Label, &Takes::Text), "what the list calls parts, in the column of values: the id of the part behind each name"),
        may("packages", Takes::Named(Names::Label, &Takes::Text), "what the list calls packages: the package behind each name"),
        may("leaves_out", Takes::Texts, "designators that are fitted and rightly not in the list"),
        may("beyond", Takes::Texts, "designators of the list that stand for no part: holes, marks, test points"),
    ],
);
