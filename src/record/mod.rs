//! Records: what a team writes in TOML, and what each value of it is.
//!
//! Every file of records becomes typed records here, with the place of every
//! value. What cannot be read is left out and told; the rest is read, so that
//! one slip does not hide the next. One description of each record serves the
//! reader and the [JSON Schema](schema()).
//!
//! Not here: what names point at, what formulas say, whether anything agrees.
//! Names and formulas are text in a record, and the notebook makes sense of
//! them. Nothing here opens a file.

mod board;
mod bom;
mod complete;
mod designators;
mod document;
mod emit;
mod encoding;
mod fault;
mod fields;
mod fixture;
mod id;
mod kind;
#[rustfmt::skip] // A table: one row a line.
mod kinds;
mod layout;
mod model;
mod network;
#[rustfmt::skip] // A table: one row a line.
mod pin_shapes;
mod pins;
mod purchase;
#[rustfmt::skip] // A table: one row a line.
mod purchase_shapes;
mod read;
mod rows;
mod schema;
mod shape;
#[rustfmt::skip] // A table: one row a line.
mod shapes;
mod stock;
mod value;
mod whole;
mod word;

pub use bom::BomRecord;
pub use complete::{Complete, Document, Kept};
pub(crate) use designators::designators;
pub(crate) use encoding::{NotText, decoded, utf8};
pub use fixture::{FixtureRecord, FixtureStep};
pub use kind::{PartKind, PropertyKind};
pub use kinds::{COMMON, KINDS};
pub use layout::{Layout, Role};
pub use model::{
    Board, Caution, CircuitRecord, Condition, Drive, EmitRecord, EmittedConstant, Erratum,
    FigureBody, FigureRecord, Fitted, LeftOut, Measured, Module, NotebookRecord, Part, Policy,
    Property, Readings, Records, Relation, ResponseRecord, Revision, ScatterRecord, ValidRange,
    Waiver, WorkingInput, WorkingRecord,
};
pub use pins::{
    BoardBus, BoardSupply, Choice, Claim, Connector, Device, Mapping, ModuleBus, ModulePin, Pins,
    Stack, Strap,
};
pub(crate) use purchase::PRICE;
pub use purchase::{Costs, PriceBreak, Purchase};
pub(crate) use rows::{Cell, rows};
pub use schema::schema;
pub use whole::read_records;
pub use word::{
    Audience, BusMode, CoverageInterval, EmittedForm, Hazard, LifeCycle, Mount, PinUse, Placing,
    Scatter, Signal, SpreadPolicy, Status,
};

#[cfg(test)]
mod tests;
