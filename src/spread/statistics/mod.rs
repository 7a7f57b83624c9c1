//! Statistics of measured data: what a sample says, and how surely.

mod capability;
mod control;
mod fault;
mod gauge;
mod summary;

pub use capability::Capability;
pub use control::{ControlLimits, c4, control_limits, d2, d2_of_groups, d3};
pub use fault::StatisticsFault;
pub use gauge::{Anova, GaugeReport, GaugeStudy, RangeMethod, Reading};
pub use summary::{Summary, correlation};
