//! Workings of the trade: worked calculations of a known kind.
//!
//! A kind of working is one file here and one line in [`KINDS`]. It names its
//! inputs, and lays itself out for what a record gives: each result is a formula
//! over its inputs, or a procedure where no formula will do. The notebook puts
//! all of it on the graph of figures, so a working has spread, derivation and
//! where-used like any figure.

mod accumulator;
mod amplifier_power;
mod audible_notes;
mod battery_life;
mod battery_states;
mod box_alignment;
mod box_choice;
mod bus_address;
mod bus_pull_up;
mod cell_emulator;
mod charge_choice;
mod charge_course;
mod charge_current;
mod charge_time;
mod choose;
mod contacts;
mod converter_output;
mod converter_reading;
mod corner_frequency;
mod debounce;
mod divider;
mod formulas;
mod instrument;
mod key_choice;
mod key_scan;
mod key_table;
mod key_wiring;
mod keys;
mod kind;
mod led_resistor;
mod loudspeaker_box;
mod measured_response;
mod note_table;
mod notes_taken;
mod output_filter;
mod plan;
mod positions;
mod presence;
mod presence_check;
mod presence_choice;
mod presence_tables;
mod purity;
mod reconstruction;
mod reset_delay;
mod score;
mod sound;
mod speaker;
mod speaker_box;
mod speaker_response;
mod speaker_rolloff;
mod speaker_view;
mod spectrum;
mod straight_lines;
mod sums;
mod thermistor;
mod trace_current;
mod tuning;
mod verdict;
mod voices;
mod wave_shape;
mod wave_table;

#[cfg(test)]
mod battery_life_tests;
#[cfg(test)]
mod cell_emulator_tests;
#[cfg(test)]
mod charge_time_tests;
#[cfg(test)]
mod check;
#[cfg(test)]
mod note_table_tests;
#[cfg(test)]
mod speaker_tests;
#[cfg(test)]
mod wave_table_tests;

pub use accumulator::{Oscillator, Wave};
pub(crate) use bus_address::Address;
pub(crate) use bus_pull_up::BusLimits;
pub use choose::{Answer, Candidate, Choice, Chooses, Question, Target};
pub use kind::{Bound, Entry, Hazard, Input, Inputs, Kind, Other, OtherResult, Refusal, Takes};
pub use plan::{
    Axis, Cell, Curve, Curves, Holding, How, Judge, Line, Mark, Plan, Planned, Plot, Procedure,
    Running, Table, Unworkable,
};
pub(crate) use presence::neighbour;
pub use presence::{Ranked, Reader, Tested, fixture_resistors};
pub use sound::{Rendering, Samples, Sound};
pub(crate) use verdict::exact;

/// Every kind there is. A new kind is a new file and a line here.
pub static KINDS: &[&dyn Kind] = &[
    &amplifier_power::KIND,
    &audible_notes::KIND,
    &battery_life::KIND,
    &bus_pull_up::KIND,
    &cell_emulator::KIND,
    &charge_current::KIND,
    &charge_time::KIND,
    &converter_output::KIND,
    &converter_reading::KIND,
    &corner_frequency::KIND,
    &debounce::KIND,
    &divider::KIND,
    &key_scan::KIND,
    &led_resistor::KIND,
    &note_table::KIND,
    &presence_check::KIND,
    &reset_delay::KIND,
    &speaker_rolloff::KIND,
    &thermistor::KIND,
    &trace_current::KIND,
    &wave_table::KIND,
];

/// The kind of a name.
pub fn kind(name: &str) -> Option<&'static dyn Kind> {
    KINDS.iter().copied().find(|kind| kind.name() == name)
}
