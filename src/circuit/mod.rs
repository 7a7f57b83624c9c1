//! Small networks computed for real: operating point, AC response, and exact
//! derivatives of both.
//!
//! A [`Network`] is built from elements between named nodes. It is compiled
//! once, which either finds everything that its shape and values forbid or
//! resolves every name; a [`Compiled`] network is then solved for as many
//! vectors of parameters as are asked for. Numbers in, numbers out: no record,
//! no file, no unit but the coherent ones of the SI.
//!
//! | file | holds |
//! | --- | --- |
//! | `kind` | kinds of elements and the values they are known by |
//! | `network`, `topology`, `fault`, `mend` | the network as drawn, and what is wrong with it |
//! | `derived`, `primitive`, `junction` | from parameters to the pieces of the equations |
//! | `compiled`, `workspace` | names resolved, memory |
//! | `plan`, `ordering`, `lu` | linear equations |
//! | `dc`, `ac` | operating point; phasors |
//! | `wanted`, `point` | results by name, one or all |
//! | `abreast` | a result for many vectors of parameters |
//! | `sensitivity`, `phasor_sensitivity` | results with their derivatives |
//!
//! Not here: transients, noise, temperature rise, the supplies of amplifiers
//! (an output is never clipped) and the capacitance of junctions.

mod abreast;
mod ac;
mod compiled;
mod dc;
mod derived;
mod fault;
mod junction;
mod kind;
mod lu;
mod mend;
mod network;
mod ordering;
mod phasor_sensitivity;
mod plan;
mod point;
mod points;
mod primitive;
mod sensitivity;
mod topology;
mod wanted;
mod workspace;

pub use compiled::{Compiled, Parameter};
pub use fault::{CircuitFault, Regime, Unknown};
pub use kind::{Amplifier, Diode, Kind, Led, Limit, Loudspeaker, ROOM_TEMPERATURE, Source, Zener};
pub use network::{Element, Network};
pub use point::{OperatingPoint, Phasors};
pub use points::OperatingPoints;
pub use wanted::{Aspect, Transfer, Wanted};
pub use workspace::Workspace;

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod abreast_tests;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod fault_tests;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod law_tests;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod newton_tests;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod plan_tests;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod sample_tests;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod sensitivity_tests;
