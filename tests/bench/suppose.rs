//! What a supposition costs on the demo and on a line of two hundred boards.
//!
//! Beside it stands what it saves: reading and proving the notebook anew. Whether
//! both come to the same is tested in `tests/suppose.rs`. Nothing is asserted:
//! times are of one machine.
//!
//! Run it with `cargo bench --bench suppose`.

#![allow(clippy::print_stdout)] // Printing is what it is for.

#[path = "line/made.rs"]
mod made;
#[path = "median.rs"]
mod median;

use std::hint::black_box;

use camino::Utf8Path;
use jiff::civil::date;
use ohmbook::notebook::Notebook;

use median::median;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
/// Boards on the line.
const BOARDS: usize = 200;
/// Rounds of which the median counts.
const ROUNDS: usize = 15;

fn measured(name: &str, root: &Utf8Path, one: &str, everywhere: &str, sweep: &str) {
    let load = || Notebook::load(root, date(2026, 4, 1));
    let proved = median(ROUNDS, || {
        black_box(load());
    });
    let notebook = load();
    println!(
        "{name}: {} nodes, read and proved in {proved:.1} ms",
        notebook.graph.len()
    );
    for wish in [one, everywhere] {
        let wish = notebook.wish(wish).expect("there is such a thing");
        let mut moved = 0;
        let took = median(ROUNDS, || {
            moved = black_box(notebook.under(&wish.overrides)).moved.len()
        });
        println!(
            "  {} → {}: {moved} values move, {took:.1} ms",
            wish.now, wish.would_be
        );
    }
    let wish = notebook.wish(sweep).expect("there is such a thing");
    let took = median(ROUNDS, || {
        let _ = black_box(notebook.sweep(&wish, &[], None, 21));
    });
    println!("  {sweep} in 21 points: {took:.1} ms");
}

fn main() {
    let demo = Utf8Path::new(DEMO);
    measured(
        "demo",
        demo,
        "cell_charger.R1=res_3k3",
        "res_10k=res_5k1",
        "cell_charger.R1=4k7..6k2",
    );
    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    let root = Utf8Path::from_path(folder.path()).expect("temporary folders have plain names");
    made::lay_out(root, BOARDS);
    measured(
        "line",
        root,
        "board_7.R1=5 kΩ",
        "res_12=res_13",
        "board_7.R1=1 kΩ..90 kΩ",
    );
}
