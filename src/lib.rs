//! Ohmbook: the design notebook that will not bind while a number in it is wrong.
//!
//! Records come in at the top of this list and leave as pages and findings at
//! the bottom. A module knows only those above it.
//!
//! | module | holds |
//! | --- | --- |
//! | [`quantity`] | dimensions, units, decimal numerals, stated text, RKM codes, preferred series |
//! | [`formula`] | text to tree to value, dimension check, written back as MathML |
//! | [`spread`] | exact partial derivatives, intervals, worst case |
//! | [`circuit`] | small networks: operating point, AC response, derivatives, faults |
//! | [`emit`] | constants, tables and limits as C, Rust, Python, CSV and JSON |
//! | [`finding`] | what is wrong, where, how bad, and the mend; terminal and JSON |
//! | [`record`] | TOML to typed records, every value with its place in the file |
//! | [`prose`] | Markdown to events, stated links and loose quantities |
//! | [`trade`] | kinds of working: one file a kind, behind one registry |
//! | [`stack`] | which boards go together on a module: a search over their alternatives |
//! | [`notebook`] | the whole: load, resolve names, order, evaluate, compare |
//! | [`thin`] | which parts can be dropped from the line, and what that changes |
//! | [`draw`] | schematics and plots as SVG |
//! | [`page`] | view models and their rendering |
//! | [`bind`] | the site on disk, whole or not at all |
//! | [`watch`] | bound into memory at every save, served, and followed by open pages |

mod nearest;

pub mod bind;
pub mod circuit;
pub mod draw;
pub mod emit;
pub mod finding;
pub mod formula;
pub mod notebook;
pub mod page;
pub mod prose;
pub mod quantity;
pub mod record;
pub mod spread;
pub mod stack;
pub mod thin;
pub mod trade;
pub mod watch;
