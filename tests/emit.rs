//! Files for firmware as firmware meets them: a compiler and an interpreter read
//! them, and what they hold is what the notebook comes to.
//!
//! A compiler that is not there is told of and passed over, but not where
//! `OHMBOOK_CI` is set, as `.ci/run` does.
#![allow(clippy::print_stderr)]

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::date;
use ohmbook::finding::Slug;
use ohmbook::notebook::{Notebook, OnDisk};
use tempfile::TempDir;
use walkdir::WalkDir;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");

/// The record that every form is written from.
const RECORD: &str = r#"
[[emit]]
file   = "../firmware/NAME"
tables = { CHIME = "stone_chime.notes", POSITIONS = "cell_charger.charging" }
limits = ["charger_fixture.production"]
[emit.constants]
SLOW_UA  = { of = "cell_charger.charge_slow", unit = "µA", whole = true }
SLOW_A   = { of = "cell_charger.charge_slow", unit = "A" }
JUNCTION = "cell_charger.junction_fastest"
"#;

/// A copy of the demo, in a folder below a temporary one.
struct Desk(TempDir);

impl Desk {
    fn new() -> Desk {
        let folder = tempfile::tempdir().expect("a temporary folder can be made");
        for entry in WalkDir::new(DEMO) {
            let entry = entry.expect("the demo can be walked");
            let inside = entry.path().strip_prefix(DEMO).expect("it lies in there");
            let to = folder.path().join("notebook").join(inside);
            if entry.file_type().is_dir() {
                fs::create_dir_all(to).expect("a folder can be made");
            } else {
                fs::copy(entry.path(), to).expect("a file can be copied");
            }
        }
        Desk(folder)
    }

    fn at(&self, path: &str) -> Utf8PathBuf {
        let path = self.0.path().join(path);
        Utf8PathBuf::try_from(path).expect("temporary folders have plain names")
    }

    fn change(&self, path: &str, from: &str, to: &str) {
        let path = self.at(path);
        let text = fs::read_to_string(&path).expect("it is there");
        assert!(text.contains(from), "no `{from}` in {path}");
        fs::write(path, text.replace(from, to)).expect("it can be written");
    }

    /// Adds a record for a file in `firmware` beside the notebook.
    fn names(&self, file: &str) {
        let path = self.at("notebook/notebook.toml");
        let text = fs::read_to_string(&path).expect("it is there");
        let text = text + &RECORD.replace("NAME", file);
        fs::write(path, text).expect("it can be written");
    }

    fn prove(&self) -> Notebook {
        Notebook::load(&self.at("notebook"), date(2026, 4, 1))
    }

    fn emit(&self) -> (Option<i32>, String) {
        let mut command = Command::new(env!("CARGO_BIN_EXE_ohmbook"));
        command
            .args(["emit", "notebook"])
            .current_dir(self.0.path());
        let output = command.output().expect("the program can be run");
        let text = [output.stdout, output.stderr].concat();
        (
            output.status.code(),
            String::from_utf8_lossy(&text).into_owned(),
        )
    }
}

/// Errors of a notebook: their kinds, and what they say.
fn errors(notebook: &Notebook) -> Vec<(Slug, String)> {
    let errors = notebook.findings.iter();
    let errors = errors.filter(|it| it.level == ohmbook::finding::Level::Error);
    errors.map(|it| (it.slug, it.message.clone())).collect()
}

/// Runs a program of the system; `None` where there is none.
fn run(program: &str, folder: &Utf8Path, arguments: &[&str]) -> Option<Output> {
    let mut command = Command::new(program);
    command
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null());
    match command.output() {
        Ok(output) => Some(output),
        Err(error) => {
            let must = std::env::var_os("OHMBOOK_CI").is_some();
            assert!(!must, "`{program}` cannot be run: {error}");
            eprintln!("passed over: `{program}` cannot be run: {error}");
            None
        }
    }
}

#[track_caller]
fn out(output: &Output) -> String {
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{err}");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// What a printing program prints, by the notebook's own values.
fn expected(notebook: &Notebook) -> Vec<f64> {
    let value = |name: &str| {
        let node = notebook.named(name).expect("the demo has it");
        let value = notebook.value(node).expect("it has a value");
        value.unit.count_of(value.outcome.nominal)
    };
    let slow = value("cell_charger.charge_slow");
    vec![
        (slow * 1e3).round(),
        slow * 1e-3,
        value("cell_charger.junction_fastest"),
        value("charger_fixture.production.slow.low"),
        value("charger_fixture.production.slow.high_counts"),
    ]
}

/// Holds what was printed, a number a line and the state at last, to the notebook.
#[track_caller]
fn agrees(printed: &str, notebook: &Notebook) {
    let mut lines: Vec<&str> = printed.split_whitespace().collect();
    let state = lines.pop();
    let of_the_file = notebook.emitted.last().map(|file| file.state.as_str());
    assert_eq!(state, of_the_file);
    let expected = expected(notebook);
    assert_eq!(lines.len(), expected.len(), "{printed}");
    for (line, expected) in lines.iter().zip(expected) {
        let number: f64 = line.parse().expect("a number");
        // Nine digits are written: half a unit of the ninth at most.
        assert!(
            (number - expected).abs() <= 5e-9 * expected.abs(),
            "{number} for {expected}"
        );
    }
}

const NAMES: [&str; 5] = [
    "SLOW_UA",
    "SLOW_A",
    "JUNCTION",
    "PRODUCTION_SLOW_LOW",
    "PRODUCTION_SLOW_HIGH_COUNTS",
];

#[test]
fn a_c_compiler_reads_the_header_without_a_warning() {
    let desk = Desk::new();
    desk.names("limits.h");
    let (code, said) = desk.emit();
    assert_eq!(code, Some(0), "{said}");
    let folder = desk.at("firmware");
    let lines = NAMES.map(|name| format!("    printf(\"%.12g\\n\", (double)({name}));\n"));
    let main = format!(
        "#include <stdio.h>\n#include \"limits.h\"\n#include \"limits.h\"\n\
         int main(void) {{\n{}    puts(LIMITS_STATE);\n    return CHIME_ROWS > 1 ? 0 : 1;\n}}\n",
        lines.concat()
    );
    fs::write(folder.join("main.c"), main).expect("it can be written");
    let strict = [
        "-std=c99",
        "-Wall",
        "-Wextra",
        "-Wpedantic",
        "-Werror",
        "-o",
        "main",
        "main.c",
    ];
    let Some(compiled) = run("cc", &folder, &strict) else {
        return;
    };
    out(&compiled);
    let printed = run(folder.join("main").as_str(), &folder, &[]).expect("it was compiled");
    agrees(&out(&printed), &desk.prove());
}

#[test]
fn rustc_reads_the_module_without_a_warning() {
    let desk = Desk::new();
    desk.names("limits.rs");
    let (code, said) = desk.emit();
    assert_eq!(code, Some(0), "{said}");
    let folder = desk.at("firmware");
    let lines = NAMES.map(|name| format!("    println!(\"{{}}\", limits::{name});\n"));
    let main = format!(
        "mod limits;\nfn main() {{\n{}    println!(\"{{}}\", limits::LIMITS_STATE);\n}}\n",
        lines.concat()
    );
    fs::write(folder.join("main.rs"), main).expect("it can be written");
    let strict = [
        "--edition",
        "2021",
        "-D",
        "warnings",
        "-o",
        "main",
        "main.rs",
    ];
    let Some(compiled) = run("rustc", &folder, &strict) else {
        return;
    };
    out(&compiled);
    let printed = run(folder.join("main").as_str(), &folder, &[]).expect("it was compiled");
    agrees(&out(&printed), &desk.prove());
}

#[test]
fn python_reads_the_module() {
    let desk = Desk::new();
    desk.names("limits.py");
    let (code, said) = desk.emit();
    assert_eq!(code, Some(0), "{said}");
    let folder = desk.at("firmware");
    let program = format!(
        "import limits\nfor name in '{}'.split():\n    print(repr(getattr(limits, name)))\n\
         print(limits.LIMITS_STATE)\nassert isinstance(limits.SLOW_UA, int)\n\
         columns = [getattr(limits, n) for n in dir(limits) if n.startswith('CHIME_') and not n.startswith('CHIME_2_')]\n\
         columns = [c for c in columns if isinstance(c, tuple)]\nassert columns and all(len(c) == limits.CHIME_ROWS for c in columns)\n",
        NAMES.join(" ")
    );
    fs::write(folder.join("main.py"), program).expect("it can be written");
    let Some(printed) = run("python3", &folder, &["main.py"]) else {
        return;
    };
    agrees(&out(&printed), &desk.prove());
}

#[test]
fn another_resistor_names_the_file_and_emitting_mends_it() {
    let desk = Desk::new();
    let demo = desk.prove();
    assert_eq!(errors(&demo), []);
    assert!(demo.emitted.iter().all(|file| file.on_disk == OnDisk::Same));
    let (code, said) = desk.emit();
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("up to date"), "{said}");

    // A tolerance alone changes the spread and the limits, and little else.
    let board = "notebook/boards/cell_charger/board.toml";
    desk.change(board, "R1  = \"res_5k1\" ", "R1  = \"res_3k3\" ");
    let found = errors(&desk.prove());
    let differs = |(slug, message): &(Slug, String)| {
        *slug == Slug::EmittedFileDiffers && message.contains("firmware/charger.h")
    };
    assert!(found.iter().any(differs), "{found:?}");
    assert!(found.iter().any(|(slug, _)| *slug == Slug::FigureDisagrees));
    // Nothing is written while the rest does not hold.
    let header = desk.at("notebook/firmware/charger.h");
    let before = fs::read(&header).expect("it is there");
    let (code, said) = desk.emit();
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("nothing was emitted"), "{said}");
    assert_eq!(fs::read(&header).expect("it is there"), before);
    desk.change(board, "R1  = \"res_3k3\" ", "R1  = \"res_5k1\" ");

    // Words change nothing; a line changed by hand is named at its line.
    desk.change(
        board,
        "Set resistor R1 raised",
        "Set resistor R1 was raised",
    );
    assert_eq!(errors(&desk.prove()), []);
    desk.change(
        "notebook/firmware/charger.h",
        "#define SUPPLY_V ",
        "#define SUPPLY_V 1",
    );
    let notebook = desk.prove();
    let finding = notebook
        .findings
        .iter()
        .find(|it| it.slug == Slug::EmittedFileDiffers);
    let place = &finding.expect("it is named").labels[1].place;
    let file = notebook.sources.file(place.file);
    assert_eq!(file.path, "firmware/charger.h");
    assert!(
        notebook
            .sources
            .text_at(place)
            .starts_with("#define SUPPLY_V 1")
    );
    let (code, said) = desk.emit();
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("charger.h: written"), "{said}");
    assert_eq!(errors(&desk.prove()), []);
    assert_eq!(fs::read(&header).expect("it is there"), before);
    // Version control may have changed the ends of its lines.
    let lines = String::from_utf8(before)
        .expect("it is text")
        .replace('\n', "\r\n");
    fs::write(&header, lines).expect("it can be written");
    assert_eq!(errors(&desk.prove()), []);
}

#[test]
fn a_file_of_somebody_elses_is_left_alone() {
    let desk = Desk::new();
    let header = desk.at("notebook/firmware/charger.h");
    fs::write(&header, "#define MINE 1\n").expect("it can be written");
    let (code, said) = desk.emit();
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("not replaced"), "{said}");
    assert_eq!(
        fs::read_to_string(&header).expect("there"),
        "#define MINE 1\n"
    );
    fs::remove_file(&header).expect("it can be removed");
    assert_eq!(desk.emit().0, Some(0));
    assert_eq!(errors(&desk.prove()), []);
    assert!(Path::new(header.as_std_path()).is_file());
}
