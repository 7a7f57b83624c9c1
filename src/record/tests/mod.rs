//! Records as people write them, and what is found in them.

mod check;
mod hostile;
mod ids;
mod keys;
mod mends;
mod schema;
mod syntax;
mod values;
mod whole;

pub(crate) use check::{check, read};
