//! A line of boards made by chance from a seed, laid out as a notebook.
//!
//! Every board has dividers, a corner frequency and lamps, each required to lie
//! within some tenths of what it comes to, and states two of them. Which of the
//! stocked values a board takes is left to chance; a few boards have a resistor
//! besides that is next to a stocked one, and could go.

#[path = "../dice.rs"]
mod dice;

use std::fmt::Write;
use std::fs;

use camino::Utf8Path;

use dice::Dice;

/// Values of the series E12 (IEC 60063).
const E12: [f64; 12] = [1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2];

/// Resistors that a board alone has, each next to a stocked one.
const ODD: usize = 6;

/// Ohms of the stocked resistors: two decades of E12.
fn ohms() -> Vec<f64> {
    let decades = [1e3, 1e4].into_iter();
    decades
        .flat_map(|decade| E12.map(|value| value * decade))
        .collect()
}

/// Lays out a notebook of so many boards.
pub fn lay_out(folder: &Utf8Path, boards: usize) {
    let write = |path: &str, text: &str| {
        let path = folder.join(path);
        let parent = path.parent().expect("it lies in the folder");
        fs::create_dir_all(parent).expect("a folder can be made");
        fs::write(&path, text).expect("a file can be written");
    };
    write(
        "notebook.toml",
        "[notebook]\ntitle = \"Line\"\nowner = \"Nobody\"\ncurrency = \"EUR\"\n[cost]\nvolumes = [100]\nline_fee = \"2\"\npart_fee = \"5\"\n",
    );
    let ohms = ohms();
    let mut parts = String::new();
    for (at, ohm) in ohms.iter().enumerate() {
        // Writing to a string does not fail.
        let _ = writeln!(
            parts,
            "[part.res_{at}]\nkind = \"resistor\"\nvalue = \"{ohm:.0} Ω ±1 %\"\npackage = \"0603\"\nplaced = \"feeder\"\npower_rating = \"100 mW\"\nprices = {{ 1 = \"0.02\", 1000 = \"0.004\" }}\n"
        );
    }
    for (at, nano) in [10, 22, 47, 100, 220, 470].iter().enumerate() {
        let _ = writeln!(
            parts,
            "[part.cap_{at}]\nkind = \"capacitor\"\nvalue = \"{nano} nF ±10 %\"\npackage = \"0603\"\ndielectric = \"X7R\"\nplaced = \"feeder\"\nvoltage_rating = \"25 V\"\nprices = {{ 1 = \"0.03\" }}\n"
        );
    }
    for odd in 0..ODD {
        let ohm = 1.03 * ohms[odd + 6];
        let _ = writeln!(
            parts,
            "[part.odd_{odd}]\nkind = \"resistor\"\nvalue = \"{ohm:.0} Ω ±1 %\"\npackage = \"0603\"\nplaced = \"feeder\"\npower_rating = \"100 mW\"\n"
        );
    }
    write("parts/stock.toml", &parts);
    let mut dice = Dice(20_260_401);
    for board in 0..boards {
        write(
            &format!("boards/board_{board}/board.toml"),
            &record(board, &ohms, &mut dice),
        );
    }
}

fn record(board: usize, ohms: &[f64], dice: &mut Dice) -> String {
    let mut text = format!(
        "[board]\ntitle = \"Board {board}\"\nrevision = \"A\"\nstatus = \"production\"\nsummary = \"Made by chance.\"\n\n[fitted]\n"
    );
    // Values in the middle are taken more often, as on real boards.
    let picks: Vec<usize> = (0..6)
        .map(|_| (dice.below(ohms.len()) + dice.below(ohms.len())) / 2)
        .collect();
    let cap = dice.below(6);
    for (at, pick) in picks.iter().enumerate() {
        let _ = writeln!(text, "R{} = \"res_{pick}\"", at + 1);
    }
    if board < ODD {
        let _ = writeln!(text, "R7 = \"odd_{board}\"");
    }
    let _ = writeln!(text, "C1 = \"cap_{cap}\"\n");
    let figure = |name: &str, from: &str, value: f64, unit: &str, slack: f64| {
        format!(
            "[figure.{name}]\nmeans = \"Made by chance\"\nfrom = \"{from}\"\nmust = \"{:.6} {unit} to {:.6} {unit}\"\n\n",
            value * (1.0 - slack),
            value * (1.0 + slack)
        )
    };
    let r = |at: usize| ohms[picks[at]];
    let farad = [10e-9, 22e-9, 47e-9, 100e-9, 220e-9, 470e-9][cap];
    let mut slack = || [0.05, 0.15, 0.25, 0.4][dice.below(4)];
    let ratio = r(1) / (r(0) + r(1));
    text += &figure("tap", "5 V * R2 / (R1 + R2)", 5.0 * ratio, "V", slack());
    text += &figure(
        "drain",
        "5 V / (R1 + R2)",
        5e6 / (r(0) + r(1)),
        "µA",
        slack(),
    );
    text += &figure("lamp", "(5 V - 2 V) / R3", 3e3 / r(2), "mA", slack());
    let corner = 1.0 / (2.0 * std::f64::consts::PI * r(3) * farad);
    // The capacitor alone takes a tenth of it.
    text += &figure(
        "corner",
        "1 / (2 * pi * R4 * C1)",
        corner,
        "Hz",
        slack() + 0.12,
    );
    text += &figure("gain", "1 + R5 / R6", 1.0 + r(4) / r(5), "", slack());
    if board < ODD {
        text += &figure("pull", "R7", 1.03 * ohms[board + 6], "Ω", 0.1);
    }
    text
}
