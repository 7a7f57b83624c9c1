//! The documents of the project are held to what the program really does.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::Path;
use std::process::Command;

use ohmbook::finding::Slug;

/// A copy of the demo in a folder of its own.
fn copy_of_demo() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("content");
    for entry in walkdir::WalkDir::new(&from) {
        let entry = entry.unwrap();
        let to = dir.path().join(entry.path().strip_prefix(&from).unwrap());
        if entry.file_type().is_dir() {
            fs::create_dir_all(to).unwrap();
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
    dir
}

fn ohmbook(dir: &Path, arguments: &[&str]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmbook"));
    let output = command
        .args(arguments)
        .current_dir(dir)
        .env("COLUMNS", "100")
        .output()
        .unwrap();
    String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap()
}

fn readme() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap()
}

/// What the README says that a command prints.
fn shown_in_readme(command: &str) -> String {
    let readme = readme();
    let start = readme
        .find(&format!("$ {command}\n"))
        .expect("the README shows this command");
    let block = &readme[start..];
    let block = &block[block.find('\n').unwrap() + 1..];
    block[..block.find("\n```").unwrap()].to_owned()
}

#[test]
fn the_readme_shows_what_prove_prints() {
    let demo = copy_of_demo();
    let record = demo.path().join("boards/cell_charger/board.toml");
    let text = fs::read_to_string(&record).unwrap();
    fs::write(
        &record,
        text.replace("R1  = \"res_5k1\" ", "R1  = \"res_3k3\" "),
    )
    .unwrap();
    let printed = ohmbook(demo.path(), &["prove"]);
    let shown = shown_in_readme("ohmbook prove");
    assert!(
        printed.contains(&shown),
        "the README shows\n{shown}\n\nprinted was\n{printed}"
    );
}

#[test]
fn the_readme_shows_what_why_prints() {
    let demo = copy_of_demo();
    let printed = ohmbook(demo.path(), &["why", "charge_slow"]);
    let shown = shown_in_readme("ohmbook why charge_slow");
    assert_eq!(printed.trim_end(), shown);
}

#[test]
fn the_readme_shows_the_demo_as_it_is() {
    let record = fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("content/boards/cell_charger/board.toml"),
    )
    .unwrap();
    for line in [
        "R1  = \"res_5k1\"",
        "from      = \"set_constant / R1\"",
        "says      = \"196 mA\"",
    ] {
        assert!(record.contains(line), "the README quotes `{line}`");
    }
}

#[test]
fn every_kind_of_finding_is_in_the_notes_for_contributors() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md");
    let page = fs::read_to_string(path).unwrap();
    for slug in Slug::ALL {
        let row = format!(
            "| `{}` | {} | {} |",
            slug.name(),
            slug.level().word(),
            slug.says()
        );
        assert!(page.contains(&row), "DEVELOPERS.md lacks the row\n{row}");
    }
    let rows = page
        .lines()
        .filter(|line| line.starts_with("| `") && line.matches('|').count() == 4);
    let rows = rows.filter(|line| {
        ["| error |", "| caution |", "| note |"]
            .iter()
            .any(|w| line.contains(w))
    });
    assert_eq!(
        rows.count(),
        Slug::ALL.len(),
        "DEVELOPERS.md lists kinds that are no more"
    );
}
