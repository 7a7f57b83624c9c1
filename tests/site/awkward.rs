//! A notebook that is awkward to show: names without end, text from right to
//! left, hundreds of figures, wide tables, no picture, and findings of every
//! level that binding allows.

use std::fmt::Write as _;
use std::fs;

use camino::Utf8Path;

/// A word that no line holds.
fn endless(word: &str) -> String {
    word.repeat(24)
}

/// Writes the notebook into a folder.
pub fn lay_out(folder: &Utf8Path) {
    let write = |path: &str, text: &str| {
        let path = folder.join(path);
        let parent = path.parent().expect("it lies in the folder");
        fs::create_dir_all(parent).expect("a folder can be made");
        fs::write(path, text).expect("the notebook can be written");
    };
    write(
        "notebook.toml",
        &format!(
            "[notebook]\ntitle = \"{}\"\nowner = \"{} {RIGHT_TO_LEFT}\"\nlanguage = \"en-GB\"\nnotice = \"{}\"\n\
             [[waiver]]\nfinding = \"raw-html\"\nplace = \"boards/awkward/front.md\"\nreason = \"{RIGHT_TO_LEFT}, {}\"\nuntil = 2026-12-31\n",
            endless("Drawing"),
            endless("Owner"),
            endless("notice "),
            endless("reason"),
        ),
    );
    write(
        "parts/parts.toml",
        &format!(
            "[part.{}]\nkind = \"resistor\"\ntitle = \"{}\"\nvalue = \"5k1 ±1 %\"\nnote = \"{RIGHT_TO_LEFT}\"\nprice = \"0.02\"\n\n\
             [part.{}]\nkind = \"resistor\"\ntitle = \"{}\"\nvalue = \"10 kΩ ±1 %\"\n",
            "r".repeat(60),
            endless("Resistor"),
            "s".repeat(60),
            endless("Earlier")
        ),
    );
    write(
        "modules/modules.toml",
        &format!(
            "[module.{0}]\ntitle = \"{1}\"\n[module.{0}.pin.{2}]\nmeans = \"{1}\"\ncan = [\"input\"]\n[module.{0}.pin.{3}]\ngives = \"3.3 V\"\n",
            "m".repeat(60),
            endless("Module"),
            "P".repeat(60),
            "V".repeat(60)
        ),
    );
    write("boards/awkward/board.toml", &board());
    write("boards/awkward/front.md", &front());
    write(
        &format!("boards/awkward/{}.md", "sheet-".repeat(12)),
        &format!("## {}\n\n[{RIGHT_TO_LEFT}](front.md)\n", endless("Heading")),
    );
    write(
        "boards/awkward/log/2026-03-30-late.md",
        &format!("# {RIGHT_TO_LEFT} {}\n\nDecided.\n", endless("log")),
    );
    write(
        "boards/bare/board.toml",
        "[board]\ntitle = \"Bare\"\nrevision = \"A\"\nstatus = \"withdrawn\"\nsummary = \"Nothing at all.\"\n",
    );
}

/// Arabic for "the supply voltage of the circuit", from memory.
pub const RIGHT_TO_LEFT: &str = "جهد تغذية الدائرة";

fn board() -> String {
    let mut text = format!(
        "[board]\ntitle = \"{}\"\nrevision = \"A\"\nstatus = \"prototype\"\nsummary = \"{RIGHT_TO_LEFT} {}\"\nmodule = \"{}\"\n\n[fitted]\nR1 = \"{}\"\nR2 = \"{}\"\n\n",
        endless("Board"),
        endless("summary"),
        "m".repeat(60),
        "r".repeat(60),
        "r".repeat(60),
    );
    for at in 0..200 {
        let from = if at == 0 {
            "R1 + R2".to_owned()
        } else {
            format!("figure_0 * {at} + R1")
        };
        let headline = if at < 12 { "headline = true\n" } else { "" };
        // Writing to a string does not fail.
        let _ = write!(
            text,
            "[figure.figure_{at}]\nmeans = \"{RIGHT_TO_LEFT} {at} {}\"\nfrom = \"{from}\"\nunit = \"kΩ\"\nat = \"{}\"\nmust = \"1 kΩ to 10 GΩ\"\n{headline}\n",
            endless("m"),
            endless("at"),
        );
    }
    let name = "n".repeat(64);
    let _ = write!(
        text,
        "[figure.{name}]\nmeans = \"{}\"\ngiven = \"1 V ±1 %\"\nsource = \"{}\"\nnote = \"{}\"\n\n\
         [relation.{name}]\nmeans = \"{}\"\nholds = \"{name} <= 2 V\"\n\n",
        endless("Mean"),
        endless("source"),
        endless("note"),
        endless("Relation"),
    );
    let _ = write!(
        text,
        "[pins.claim.{name}]\nmeans = \"{RIGHT_TO_LEFT} {}\"\nuse = \"input\"\ncontact = \"{}\"\n\
         [pins.supply.{}]\ndraw = \"{name} / (R1 + R2 + R1 + R2 + R1 + R2 + R1 + R2)\"\n\
         [revision.{}]\ndate = 2026-01-15\nchanges = [\"{}\"]\ntell = \"{RIGHT_TO_LEFT} {}\"\nfitted = {{ R1 = \"{}\" }}\n\n",
        endless("Claim"),
        "P".repeat(60),
        "V".repeat(60),
        "0".repeat(30),
        endless("change"),
        endless("tell"),
        "s".repeat(60),
    );
    for (signal, at) in [("DANGER", 0), ("WARNING", 1), ("CAUTION", 2), ("NOTICE", 3)] {
        let _ = write!(
            text,
            "[caution.caution_{at}]\nsignal = \"{signal}\"\nhazard = \"{} {RIGHT_TO_LEFT}\"\nconsequence = \"{}\"\navoid = \"{}\"\nbecause = \"{name} > 0.5 V\"\nabout = \"heat\"\n\n",
            endless("hazard"),
            endless("harm"),
            endless("avoid"),
        );
    }
    text
}

fn front() -> String {
    let mut text = format!(
        "# {}\n\n{RIGHT_TO_LEFT}. {}\n\n<b>raw</b>\n\n## {RIGHT_TO_LEFT}\n\n",
        endless("Title"),
        endless("word")
    );
    let columns = 24;
    text += &"| Column ".repeat(columns);
    text += "|\n";
    text += &"| --- ".repeat(columns);
    text += "|\n";
    for row in 0..3 {
        for column in 0..columns {
            let _ = write!(text, "| {} ", row * columns + column);
        }
        text += "|\n";
    }
    text += "\n## Numbers\n\n";
    for at in 0..80 {
        let _ = write!(text, "[](figure:figure_{at}), ");
    }
    let _ = write!(
        text,
        "and 20.4 kΩ that hangs on nothing.[^long]\n\n```\n{}\n```\n\n> - {}\n>   1. {}\n\n[^long]: {}\n",
        endless("code"),
        endless("quoted"),
        endless("counted"),
        endless("foot"),
    );
    text
}
