//! What would be, what was, and texts that follow: `suppose`, `since`, `restate`.

use std::fs;
use std::process::Command;

use crate::desk::{DEMO, Desk, Run, tree};
use crate::json;

fn suppose(desk: &Desk, arguments: &[&str]) -> Run {
    let mut all = vec!["suppose"];
    all.extend(arguments);
    all.extend(["--of", DEMO]);
    desk.run(&all)
}

/// A copy of the demo on the desk.
fn demo(desk: &Desk, name: &str) {
    for (path, bytes) in tree(DEMO.as_ref()) {
        let to = desk.at(name).join(path);
        fs::create_dir_all(to.parent().expect("it lies in there")).expect("a folder can be made");
        fs::write(to, bytes).expect("a file can be written");
    }
}

/// By hand: 1000 V over 4.7 kΩ is 212.8 mA, and 1050 V over 0.99 of that is
/// 225.7 mA; with a temperature coefficient of 50 ppm/K over 35 K it is 226.1 mA.
#[test]
fn a_supposition_shows_what_changes_what_breaks_and_what_room_is_left() {
    let desk = Desk::new();
    let before = tree(DEMO.as_ref());
    let run = suppose(&desk, &["cell_charger.R1=4k7"]).ends(1);
    for words in [
        "cell_charger.R1: 5k1 ±1 % → 4.7 kΩ ±1 %",
        "What changes",
        "196\u{a0}mA → 213\u{a0}mA",
        "`charge_slow` must be 180 mA to 212 mA, and reaches 226.1 mA at worst case",
        "boards/cell_charger/front.md:11:11",
        "firmware/charger.h",
        "Room left, before and after",
        "3.67\u{a0}mA → −14.1\u{a0}mA",
    ] {
        assert!(run.out.contains(words), "no `{words}` in {}", run.out);
    }
    assert_eq!(tree(DEMO.as_ref()), before, "something was written");
}

#[test]
fn what_hangs_on_nothing_breaks_nothing() {
    let run = suppose(&Desk::new(), &["cell_charger.C1=22 µF"]).ends(0);
    assert!(run.out.contains("no figure changes"), "{}", run.out);
}

#[test]
fn several_suppositions_hold_at_once() {
    let desk = Desk::new();
    let two = suppose(
        &desk,
        &[
            "cell_charger.R1=±0.1 %",
            "cell_charger.policy.spread=root-sum-square",
        ],
    );
    // Nothing that is required breaks; the limits of the fixture would be closer
    // than they are stated.
    let told = "Nothing that is required breaks";
    assert!(two.out.contains(told), "{}", two.out);
    assert_eq!(two.code, Some(1), "{}", two.out);
    assert!(
        two.out.contains("cell_charger.R1: 5k1 ±1 % → 5k1 ±0.1 %"),
        "{}",
        two.out
    );
    assert!(
        two.out.contains("worst-case → root-sum-square"),
        "{}",
        two.out
    );
}

#[test]
fn a_supposition_for_programs_is_valid_and_versioned() {
    let desk = Desk::new();
    let run = suppose(&desk, &["cell_charger.R1=res_3k3", "--format", "json"]).ends(1);
    let answer = json(&run.out);
    assert_eq!(answer["form"], "ohmbook-supposition");
    assert_eq!(answer["version"], 1);
    let moved = answer["moved"].as_array().expect("a list");
    let slow = moved
        .iter()
        .find(|one| one["name"] == "cell_charger.charge_slow");
    let slow = &slow.expect("it moves")["would_be"];
    let nominal = slow["nominal"].as_f64().expect("a number");
    assert!((nominal - 1000.0 / 3300.0).abs() < 1e-12, "{nominal}");
    let broken = answer["broken"].as_array().expect("a list");
    assert!(broken.iter().any(|one| one["slug"] == "relation-broken"));
    assert_eq!(answer["sweep"], json("null"));
}

/// By hand: at worst case the slow current is 1050 V / (0.99 · (1 − 0.00175) R) at
/// most, which is 212 mA at 5011.7 Ω; and 950 V / (1.01 · 1.00175 R) at least,
/// which is 180 mA at 5216.3 Ω.
#[test]
fn a_sweep_finds_the_range_in_which_everything_holds_to_digits() {
    let desk = Desk::new();
    let run = suppose(
        &desk,
        &[
            "cell_charger.R1=4k7..6k2",
            "--series",
            "E24",
            "--format",
            "json",
        ],
    )
    .ends(0);
    let answer = json(&run.out);
    let required = answer["sweep"]["required"].as_array().expect("a list");
    assert_eq!(required.len(), 1, "{required:?}");
    let (low, high) = (&required[0]["low"], &required[0]["high"]);
    let truth = |numerator: f64, limit: f64, factor: f64| numerator / (limit * factor);
    let least = truth(1050.0, 0.212, 0.99 * (1.0 - 50e-6 * 35.0));
    let most = truth(950.0, 0.180, 1.01 * (1.0 + 50e-6 * 35.0));
    let off = |found: &serde_json::Value, truth: f64| {
        (found.as_f64().expect("a number") / truth - 1.0).abs()
    };
    assert!(off(low, least) < 1e-6, "{low} is not {least}");
    assert!(off(high, most) < 1e-6, "{high} is not {most}");
    let text = suppose(&desk, &["cell_charger.R1=4k7..6k2", "--series", "E24"])
        .ends(0)
        .out;
    let range = "Every requirement holds from 5.0117\u{a0}kΩ to 5.2163\u{a0}kΩ";
    assert!(text.contains(range), "{text}");
    assert!(text.contains("Every stated number holds as well"), "{text}");
}

#[test]
fn a_sweep_in_which_nothing_holds_says_so() {
    let run = suppose(&Desk::new(), &["cell_charger.R1=1k..2k", "--points", "5"]).ends(1);
    assert!(
        run.out
            .contains("Every requirement holds at none of these points"),
        "{}",
        run.out
    );
}

#[test]
fn what_cannot_be_supposed_is_told_with_the_mend() {
    let desk = Desk::new();
    for (arguments, words) in [
        (
            &["R1=4k7"][..],
            "several boards have a `R1`: `bench_breakout.R1`",
        ),
        (&["cell_charger.R1"], "write `NAME=VALUE`"),
        (&["cell_charger.R1="], "lacks a name or a value"),
        (
            &["cell_charger.R99=4k7"],
            "no `R99` is fitted on `cell_charger`",
        ),
        (&["charge_slwo=1 mA"], "perhaps `charge_slow`"),
        (
            &["cell_charger.charge_slow=1 mA"],
            "is computed, `set_constant / R1`",
        ),
        (&["cell_charger.R1=res_6k2"], "there is no part `res_6k2`"),
        (&["cell_charger.R1=cap_10u"], "`cap_10u` is a capacitor"),
        (&["cell_charger.R1=4 V"], "expected a resistance"),
        (&["cell_charger.R1=4,7 kΩ"], "write `4.7`"),
        (&["cell_charger.R1.colour=1"], "has no `colour`"),
        (&["cell_charger.R6=4k7"], "is not fitted"),
        (
            &["cell_charger.revision=Z"],
            "had no revision `Z`; there are `A`",
        ),
        (&["carrier.revision=A"], "it has no earlier ones"),
        (&["policy.spread=worst-cas"], "perhaps `worst-case`"),
        (&["res_5k1=res_9"], "there is no part `res_9`"),
        (&["cell_charger.R1=4k7.."], "lacks an end"),
        (&["cell_charger.R1=..4k7"], "lacks an end"),
        (&["cell_charger.R1=.."], "lacks an end"),
        (&["cell_charger.R1=6k2..4k7"], "write the lower end first"),
        (
            &["cell_charger.R1=many..few"],
            "there is no part `many..few`",
        ),
        (
            &["cell_charger.R1=4k7..6k2 ±1 %"],
            "values without a tolerance",
        ),
        (
            &["cell_charger.R1=4k7..6k2", "cell_charger.R2=1k..2k"],
            "one quantity is swept at a time",
        ),
        (
            &["cell_charger.R1=4k8..4k9", "--series", "E3"],
            "E3 has no value",
        ),
        (
            &["cell_charger.R1=4k7..6k2", "--series", "E25"],
            "no series of preferred values",
        ),
        (
            &["cell_charger.R1=4k7", "--series", "E24"],
            "goes with a sweep",
        ),
    ] {
        let run = suppose(&desk, arguments);
        assert_eq!(run.code, Some(2), "{arguments:?}: {}{}", run.out, run.err);
        assert!(run.err.contains(words), "`{words}` in {}", run.err);
    }
}

#[test]
fn texts_are_restated_only_on_a_word_of_ones_own() {
    let desk = Desk::new();
    demo(&desk, "ours");
    let record = "ours/boards/cell_charger/board.toml";
    desk.change(record, "R1  = \"res_5k1\"", "R1  = \"res_3k3\"");
    let before = tree(&desk.at("ours"));
    let shown = desk
        .run(&["restate", "ours"])
        .ends(1)
        .says("nothing was written");
    for line in [
        "--- boards/cell_charger/board.toml",
        "+++ boards/cell_charger/board.toml",
        "-says      = \"196 mA\"",
        "+says      = \"303 mA\"",
    ] {
        assert!(shown.out.contains(line), "{}", shown.out);
    }
    assert_eq!(tree(&desk.at("ours")), before);
    desk.run(&["restate", "ours", "--yes"])
        .ends(0)
        .says("restated ");
    let after = fs::read_to_string(desk.at(record)).expect("it is there");
    // What is required and what is given stands, and so do comments.
    assert!(
        after.contains("must      = \"180 mA to 212 mA\""),
        "{after}"
    );
    assert!(after.contains("# always in circuit"), "{after}");
    assert_eq!(
        after.lines().count(),
        before[std::path::Path::new("boards/cell_charger/board.toml")]
            .split(|b| *b == b'\n')
            .count()
            - 1
    );
    let proved = desk.run(&["prove", "ours"]).ends(1);
    assert!(!proved.err.contains("figure-disagrees"), "{}", proved.err);
    assert!(proved.err.contains("requirement-missed"), "{}", proved.err);
    desk.run(&["restate", "ours"])
        .ends(0)
        .says("nothing to restate");
    let hidden = desk.others(&["ours"]);
    assert!(hidden.is_empty(), "{hidden:?}");
}

#[test]
fn restated_text_keeps_its_form_its_byte_order_mark_and_its_line_ends() {
    let desk = Desk::new();
    desk.start("ours");
    let path = "ours/boards/first_board/notes.md";
    let text = "\u{feff}# Notes\r\n\r\nAbout [≈ 9 mA](figure:lamp_current), [9.9 mA ± 5 %](figure:lamp_current), **[at least 1 mA](figure:lamp_current)**, [9&nbsp;mA](figure:lamp_current).\r\n";
    desk.write(path, text);
    desk.run(&["restate", "ours", "--yes"]).ends(0);
    let after = fs::read_to_string(desk.at(path)).expect("it is there");
    assert!(
        after.starts_with("\u{feff}# Notes\r\n\r\nAbout [≈ 3 mA](figure:lamp_current), [2.9 mA ± "),
        "{after}"
    );
    assert!(
        after.contains(
            "**[at least 1 mA](figure:lamp_current)**, [3&nbsp;mA](figure:lamp_current).\r\n"
        ),
        "{after}"
    );
    desk.run(&["prove", "ours"]).ends(0);
}

#[test]
fn what_differs_from_a_folder_is_told() {
    let desk = Desk::new();
    demo(&desk, "now");
    demo(&desk, "then");
    desk.change(
        "then/boards/cell_charger/board.toml",
        "R1  = \"res_5k1\"",
        "R1  = \"res_3k3\"",
    );
    desk.change(
        "then/boards/cell_charger/front.md",
        "| none | [196 mA]",
        "| none | [303 mA]",
    );
    let run = desk.run(&["since", "then", "--of", "now"]).ends(0);
    for words in [
        "Since then",
        "303\u{a0}mA → 196\u{a0}mA",
        "− 35 %",
        "cell_charger.R1",
        "res_3k3 → res_5k1",
        "charger_fixture.production.slow.low_counts",
    ] {
        assert!(run.out.contains(words), "no `{words}` in {}", run.out);
    }
    let same = desk.run(&["since", "now", "--of", "now"]).ends(0);
    assert!(
        same.out.contains("Nothing differs from now"),
        "{}",
        same.out
    );
    let run = desk
        .run(&[
            "since", "then", "--of", "now", "--format", "json", "--to", "site",
        ])
        .ends(0);
    assert_eq!(json(&run.out)["form"], "ohmbook-since");
    let page = fs::read_to_string(desk.at("site/since.html")).expect("a sheet was bound");
    assert!(
        page.contains("Since then") && page.contains("res_3k3"),
        "{page}"
    );
}

#[test]
fn what_differs_from_a_revision_is_told() {
    let desk = Desk::new();
    let run = desk.run(&["since", "cell_charger.A", "--of", DEMO]).ends(0);
    assert!(
        run.out.contains("Since revision A of cell_charger"),
        "{}",
        run.out
    );
    assert!(run.out.contains("303\u{a0}mA → 196\u{a0}mA"), "{}", run.out);
    desk.run(&["since", "cell_charger.Z", "--of", DEMO])
        .ends(2)
        .says("`cell_charger` had no revision `Z`; there are A");
}

#[test]
fn an_earlier_state_that_there_is_not_is_told() {
    let desk = Desk::new();
    desk.start("ours");
    desk.write("empty/readme.txt", "no notebook");
    desk.run(&["since", "empty", "--of", "ours"])
        .ends(2)
        .says("is a folder without a `notebook.toml`");
    // No commits are read where there is no `git`, and folders still are.
    let mut without = desk.command(&["since", "HEAD", "--of", "ours"]);
    without.env("PATH", "");
    let run = Run::of(without.output().expect("the program can be run"));
    run.ends(2).says("there is no such program here");
    let mut without = desk.command(&["since", "ours", "--of", "ours"]);
    without.env("PATH", "");
    Run::of(without.output().expect("the program can be run")).ends(0);
    if Command::new("git").arg("--version").output().is_err() {
        return;
    }
    let mut outside = desk.command(&["since", "HEAD", "--of", "ours"]);
    // No repository above the desk is looked into.
    outside.env("GIT_CEILING_DIRECTORIES", desk.at("."));
    let run = Run::of(outside.output().expect("the program can be run"));
    run.ends(2).says("lies in no git repository");
}

/// Only where there is a `git` to make a repository with.
#[test]
fn what_differs_from_a_commit_is_told() {
    let desk = Desk::new();
    let git = |arguments: &[&str]| {
        let mut command = Command::new("git");
        command.current_dir(desk.at(".")).args([
            "-c",
            "user.name=Nobody",
            "-c",
            "user.email=nobody@example.org",
        ]);
        command
            .args(arguments)
            .output()
            .is_ok_and(|output| output.status.success())
    };
    if !git(&["--version"]) {
        return;
    }
    desk.start("deep/ours");
    assert!(git(&["init", "--quiet"]) && git(&["add", "."]));
    assert!(git(&["commit", "--quiet", "--message", "Begun"]));
    let record = "deep/ours/boards/first_board/board.toml";
    let text = fs::read_to_string(desk.at(record)).expect("it is there");
    let line = text
        .lines()
        .find(|line| line.starts_with("R1"))
        .expect("a part is fitted");
    desk.change(record, line, "R1 = \"res_2k\"");
    let parts = fs::read_to_string(desk.at("deep/ours/parts/parts.toml")).expect("it is there");
    desk.write("deep/ours/parts/parts.toml", &format!("{parts}\n[part.res_2k]\nkind = \"resistor\"\nvalue = \"2 kΩ ±1 %\"\npower_rating = \"125 mW\"\n"));
    let run = desk.run(&["since", "HEAD", "--of", "deep/ours"]).ends(0);
    assert!(run.out.contains("Since commit HEAD"), "{}", run.out);
    assert!(run.out.contains("first_board.lamp_current"), "{}", run.out);
    assert!(run.out.contains("first_board.R1"), "{}", run.out);
    desk.run(&["since", "nothing", "--of", "deep/ours"])
        .ends(2)
        .says("no commit of the git repository");
    desk.run(&["since", "--", "--all", "--of", "deep/ours"])
        .ends(2);
    desk.write(
        "elsewhere/notebook.toml",
        "[notebook]\ntitle = \"New\"\nowner = \"Nobody\"\n",
    );
    desk.run(&["since", "HEAD", "--of", "elsewhere"])
        .ends(2)
        .says("there is no `notebook.toml`");
}
