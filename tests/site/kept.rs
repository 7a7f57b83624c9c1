//! Values that hang on nothing but what is as it was are kept from one reading of
//! a notebook to the next, and nobody who reads them can tell.

use std::collections::BTreeMap;
use std::sync::Arc;

use ohmbook::notebook::{Notebook, Value};
use ohmbook::page::pages;

use super::copy::{Copy, TODAY};

/// Reads a copy, changes it, and reads it once more after the first.
fn changed(change: impl Fn(&Copy)) -> (Copy, Notebook, Notebook) {
    let copy = Copy::of_the_demo();
    let before = Notebook::load_after(&copy.path(""), TODAY, None);
    // What pages ask for is drawn by chance only then.
    pages(&before).expect("its pages can be made");
    change(&copy);
    let now = Notebook::load_after(&copy.path(""), TODAY, Some(&before));
    (copy, before, now)
}

fn assert_as_read_anew(what: &str, copy: &Copy, now: &Notebook) {
    let anew = copy.prove();
    assert_eq!(now.findings, anew.findings, "{what}");
    for (node, record) in anew.graph.iter() {
        let told = |value: Option<&Value>| value.map(|value| format!("{value:?}"));
        // How a value is shown is written out when somebody asks.
        if let Some(value) = now.value(node) {
            value.shown();
        }
        if let Some(value) = anew.value(node) {
            value.shown();
        }
        let (now, anew) = (told(now.value(node)), told(anew.value(node)));
        assert_eq!(now, anew, "{what}: {}", record.full_name());
    }
    for (board, fixture) in fixtures(now) {
        let seen = |notebook: &Notebook| format!("{:?}", notebook.coverage(board, fixture));
        assert_eq!(seen(now), seen(&anew), "{what}: what a fixture sees");
    }
    if now.holds() {
        let [now, anew] = [now, &anew].map(|notebook| pages(notebook).expect("pages"));
        for ((path, now), (_, anew)) in now.iter().zip(&anew) {
            assert!(now == anew, "{what}: {path} is not as a fresh bind has it");
        }
        assert_eq!(now.len(), anew.len());
    }
}

/// All fixtures, by board.
fn fixtures(notebook: &Notebook) -> impl Iterator<Item = (usize, usize)> {
    let boards = notebook.records.boards.iter().enumerate();
    boards.flat_map(|(at, board)| (0..board.fixtures.len()).map(move |fixture| (at, fixture)))
}

/// What took long and is there twice: what fixtures see, draws of all revisions, and
/// sounds. By what it is of, with the address where it lies.
fn taking_long(notebook: &Notebook) -> BTreeMap<String, usize> {
    fn place<T>(of: Option<Arc<T>>) -> Option<usize> {
        of.map(|of| Arc::as_ptr(&of).addr())
    }
    let mut found = BTreeMap::new();
    for (board, fixture) in fixtures(notebook) {
        let seen = place(notebook.coverage(board, fixture));
        found.extend(seen.map(|seen| (format!("fixture {board}.{fixture}"), seen)));
    }
    let mut drawn = |what: &str, notebook: &Notebook| {
        for (node, record) in notebook.graph.iter().filter(|(_, node)| node.is_named()) {
            if notebook.requirement(node).is_some() {
                let drawn = place(notebook.drawn(node));
                found.extend(drawn.map(|drawn| (format!("{what} {}", record.full_name()), drawn)));
            }
        }
    };
    drawn("now", notebook);
    for (at, board) in notebook.records.boards.iter().enumerate() {
        for revision in 0..board.revisions.len() {
            let then = notebook.revision(at, revision).expect("it has that one");
            drawn(&format!("then {at}.{revision}"), &then.notebook);
        }
    }
    for (at, board) in notebook.records.boards.iter().enumerate() {
        for working in 0..board.workings.len() {
            let worked = notebook.graph.working(at, working).expect("it holds");
            for sound in &worked.plan.sounds {
                let samples = place(notebook.samples(at, worked, sound));
                let name = format!("sound {at}.{working}.{}", sound.name);
                found.extend(samples.map(|samples| (name, samples)));
            }
        }
    }
    found
}

/// Figures of boards whose values are the very same, and all.
fn kept(before: &Notebook, now: &Notebook, board: &str) -> (usize, usize) {
    let at = now.records.board_at(board).expect("it is a board");
    let figures = now.figures_of(at);
    let is_kept = |scope: &str, name: &str| {
        let value = |notebook: &Notebook| {
            let node = notebook.graph.find(scope, name)?;
            notebook.value(node).map(std::ptr::from_ref)
        };
        value(before) == value(now)
    };
    let kept = figures.iter().filter(|node| {
        let node = now.graph.node(**node);
        is_kept(&node.scope, &node.name)
    });
    (kept.count(), figures.len())
}

const CHARGER: &str = "boards/cell_charger/board.toml";

#[test]
fn a_formula_of_one_board_leaves_the_values_of_others() {
    let (copy, before, now) = changed(|copy| {
        copy.replace(
            CHARGER,
            "\"set_constant / R1\"",
            "\"1.1 * set_constant / R1\"",
        );
    });
    assert!(!now.holds(), "stated numbers drift");
    assert_as_read_anew("another formula", &copy, &now);
    // The carrier names the current that is left over.
    for board in ["cell_charger", "carrier"] {
        let (same, all) = kept(&before, &now, board);
        assert!(same > 0 && same < all, "{board}: {same} of {all}");
    }
    for board in ["stone_chime", "sound_post", "trail_keypad"] {
        let (same, all) = kept(&before, &now, board);
        assert_eq!(same, all, "{board}");
    }
}

#[test]
fn values_are_kept_where_nodes_are_numbered_otherwise() {
    let (copy, before, now) = changed(|copy| {
        let figure = "[figure.added]\nmeans = \"Added\"\nfrom = \"2 * R1\"\n";
        copy.append("boards/bench_breakout/board.toml", &format!("\n{figure}"));
    });
    assert_as_read_anew("a figure more", &copy, &now);
    let (same, all) = kept(&before, &now, "bench_breakout");
    // Those whose inputs have other numbers are written down with these.
    assert!(same > 0 && same < all, "{same} of {all}");
}

#[test]
fn whatever_a_value_hangs_on_is_seen() {
    const PARTS: &str = "parts/passives.toml";
    const SWITCH: &str = "boards/night_switch/board.toml";
    for (what, path, this, by) in [
        ("a tolerance", PARTS, "\"5k1 ±1 %\"", "\"5k1 ±2 %\""),
        (
            "a scatter",
            PARTS,
            "title          = \"Resistor 5k1\"",
            "title = \"Resistor 5k1\"\nscatter = \"triangular\"",
        ),
        (
            "a policy of a board",
            CHARGER,
            "[fitted]",
            "[policy]\nspread = \"root-sum-square\"\n\n[fitted]",
        ),
        (
            "a seed of the notebook",
            "notebook.toml",
            "[policy]",
            "[policy]\nseed = 7",
        ),
        (
            "a unit",
            SWITCH,
            "spread   = \"monte-carlo\"",
            "spread = \"monte-carlo\"\nunit = \"mA\"",
        ),
        (
            "a reading",
            "boards/night_switch/readings/2026-04-02-ten_posts.csv",
            "N-01,82.1",
            "N-01,82.2",
        ),
        (
            "words of a record",
            CHARGER,
            "Slow setting of revision A",
            "The slow setting of revision A",
        ),
    ] {
        let (copy, _, now) = changed(|copy| copy.replace(path, this, by));
        assert_as_read_anew(what, &copy, &now);
    }
}

#[test]
fn words_of_a_record_leave_everything_that_takes_long() {
    let copy = Copy::of_the_demo();
    let before = Notebook::load_after(&copy.path(""), TODAY, None);
    let all = taking_long(&before);
    for what in ["fixture", "now", "then", "sound"] {
        let mut names = all.keys();
        assert!(
            names.any(|name| name.starts_with(what)),
            "nothing of {what}"
        );
    }
    copy.replace(
        CHARGER,
        "Charges one lithium-ion",
        "It charges one lithium-ion",
    );
    copy.replace(CHARGER, "Slow setting of revision A", "Slowly, revision A");
    let now = Notebook::load_after(&copy.path(""), TODAY, Some(&before));
    let again = taking_long(&now);
    let other = |(name, place): &(&String, &usize)| again.get(*name) != Some(*place);
    let anew: Vec<&String> = (all.iter().filter(other)).map(|(name, _)| name).collect();
    assert!(anew.is_empty(), "worked out anew: {anew:?}");
    assert_eq!(again.len(), all.len());
}

#[test]
fn what_a_fixture_sees_is_worked_out_anew_where_anything_of_it_is_other() {
    const FIXTURE: &str = "boards/charger_fixture/board.toml";
    const PARTS: &str = "parts/passives.toml";
    for (what, path, this, by) in [
        ("good boards", FIXTURE, "\"95 %\"", "\"90 %\""),
        (
            "a part that is not fitted",
            CHARGER,
            "J1  = \"screw_terminal\"",
            "J1 = { part = \"screw_terminal\", fit = false }",
        ),
        ("a tolerance", PARTS, "\"5k1 ±1 %\"", "\"5k1 ±0.9 %\""),
    ] {
        let (copy, before, now) = changed(|copy| copy.replace(path, this, by));
        assert_as_read_anew(what, &copy, &now);
        let seen = |notebook: &Notebook| -> Vec<String> {
            let seen = fixtures(notebook).map(|(board, at)| notebook.coverage(board, at));
            seen.map(|seen| format!("{seen:?}")).collect()
        };
        assert_ne!(seen(&before), seen(&now), "{what}");
    }
}
