//! The same records give the same bytes, wherever and whenever they are bound.

#[path = "command/desk.rs"]
#[allow(dead_code)] // The tests of commands use the rest of it.
mod desk;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use desk::{DEMO, Desk, Run, tree};

/// Binds a notebook to a folder of the desk; what the site holds.
fn bound(
    desk: &Desk,
    notebook: &str,
    to: &str,
    from: &Path,
    settings: &[(&str, &str)],
) -> BTreeMap<PathBuf, Vec<u8>> {
    let out = desk.at(to);
    let to = out.to_str().expect("a plain path");
    let mut command = desk.command(&["bind", notebook, "--to", to]);
    command.current_dir(from).envs(settings.iter().copied());
    Run::of(command.output().expect("the program can be run")).ends(0);
    tree(&out)
}

/// Says which files of two sites differ, rather than printing both.
#[track_caller]
fn assert_same(first: &BTreeMap<PathBuf, Vec<u8>>, second: &BTreeMap<PathBuf, Vec<u8>>) {
    let names = |site: &BTreeMap<PathBuf, Vec<u8>>| site.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(first), names(second));
    let differ: Vec<&PathBuf> = first
        .iter()
        .filter(|(path, bytes)| second.get(*path) != Some(bytes))
        .map(|(path, _)| path)
        .collect();
    assert!(differ.is_empty(), "these differ: {differ:?}");
}

#[test]
fn two_runs_write_the_same_bytes_whatever_surrounds_them() {
    let desk = Desk::new();
    let here = desk.at("");
    let first = bound(&desk, DEMO, "first", &here, &[("TZ", "UTC"), ("LANG", "C")]);
    assert!(first.len() > 20, "only {} files", first.len());

    let again = bound(&desk, DEMO, "again", &here, &[("TZ", "UTC"), ("LANG", "C")]);
    assert_same(&first, &again);

    // Another folder to work in, a relative path, the other side of the date
    // line, another language, another width and no colour.
    let above = Path::new(DEMO).parent().expect("it lies in the project");
    let settings = [
        ("TZ", "Pacific/Kiritimati"),
        ("LANG", "de_DE.UTF-8"),
        ("LC_ALL", "tr_TR.UTF-8"),
        ("COLUMNS", "40"),
        ("NO_COLOR", "1"),
        ("HOME", "/nonexistent"),
        ("USER", "somebody"),
    ];
    let elsewhere = bound(&desk, "content", "elsewhere", above, &settings);
    assert_same(&first, &elsewhere);
}

/// A copy in another folder, with other times on its files, laid down in
/// another order.
#[test]
fn a_copy_of_the_records_gives_the_same_bytes() {
    let desk = Desk::new();
    let here = desk.at("");
    let first = bound(&desk, DEMO, "first", &here, &[]);
    let mut files: Vec<(PathBuf, Vec<u8>)> = tree(Path::new(DEMO)).into_iter().collect();
    files.reverse();
    for (path, bytes) in files {
        let path = desk.at("copied/to/a/far/place").join(path);
        fs::create_dir_all(path.parent().expect("it lies in there")).expect("a folder");
        fs::write(path, bytes).expect("a file can be written");
    }
    let copy = bound(&desk, "copied/to/a/far/place", "second", &here, &[]);
    assert_same(&first, &copy);
}

#[test]
fn nothing_of_this_machine_stands_in_the_site() {
    let desk = Desk::new();
    let site = bound(&desk, DEMO, "site", &desk.at(""), &[]);
    let desk = desk.at("");
    let desk = desk.to_str().expect("a plain path").trim_end_matches('/');
    for (path, bytes) in &site {
        let text = String::from_utf8_lossy(bytes);
        for machine in [desk, env!("CARGO_MANIFEST_DIR")] {
            assert!(!text.contains(machine), "{machine} in {}", path.display());
        }
    }
}

/// Findings, too, are the same words in the same order.
#[test]
fn two_runs_find_the_same_in_the_same_order() {
    let desk = Desk::new();
    for path in tree(Path::new(DEMO)).keys() {
        let text = fs::read(Path::new(DEMO).join(path)).expect("the demo can be read");
        let mut text = String::from_utf8(text).expect("the demo is text");
        if path.ends_with("board.toml") {
            text = text.replace("R1 ", "R0 ").replace(" mA\"", " A\"");
        }
        desk.write(&format!("spoilt/{}", path.display()), &text);
    }
    let found = |settings: [(&str, &str); 2]| {
        let mut command = desk.command(&["prove", "spoilt", "--format", "json"]);
        command.envs(settings);
        let run = Run::of(command.output().expect("the program can be run")).ends(1);
        run.out
    };
    let first = found([("TZ", "UTC"), ("LANG", "C")]);
    assert!(first.matches("\"slug\"").count() > 20, "{first}");
    for _ in 0..3 {
        let again = found([("TZ", "Asia/Tokyo"), ("LANG", "fr_FR.UTF-8")]);
        assert_eq!(first, again);
    }
}
