//! Drawings: schematics of small networks, and plots, as SVG text.
//!
//! Data in, text out: nothing here knows a record or a notebook, opens a file
//! or decides what is right. Every drawing carries classes and no colours, so
//! that one style sheet (`themes/drawing/figures.css`) makes it follow day,
//! night and print; it has a title and a description for those who do not see
//! it, and is drawn to be read at the width of a phone.
//!
//! Not here: the table beside a schematic, which the caller writes from the
//! same list of elements. A plot hands its table back with it.

mod caption;
#[cfg(test)]
mod golden_tests;
mod measure;
mod pin_pattern;
mod pins;
mod plot;
mod schematic;

pub use caption::Caption;
pub use pin_pattern::pin_pattern;
pub use pins::{PinDrawing, PinLabel, pin_view};
pub use plot::{
    Axis, Bin, Bound, Column, Distribution, FrequencyResponse, Interval, Plot, PlotError, PlotMark,
    Requirement, Response, ResponsePoint, Scale, Series, Side, Table, XyPlot,
};
pub use schematic::{Drawing, Element, NodeLabel, Schematic, Shape, Symbol, schematic};
