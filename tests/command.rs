//! The program as whoever types its name meets it: exit codes, what is printed
//! where, and what is left on the disk.

#[path = "command/binding.rs"]
mod binding;
#[path = "command/desk.rs"]
mod desk;
#[path = "command/states.rs"]
mod states;

use desk::{DEMO, Desk, Run};
use serde_json::Value;

/// Every command that people are told of.
const COMMANDS: [&str; 13] = [
    "start", "prove", "bind", "watch", "why", "suppose", "choose", "restate", "since", "emit",
    "stacks", "thin", "schema",
];

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error} in {text}"))
}

#[test]
fn exit_codes_are_those_that_are_documented() {
    let desk = Desk::new();
    desk.start("ours");
    desk.run(&["prove", "ours"]).ends(0);
    desk.run(&["prove", DEMO]).ends(0);
    desk.run(&["why", "lamp_current", "--of", "ours"]).ends(0);
    desk.run(&["schema"]).ends(0);
    desk.run(&["--version"]).ends(0);

    desk.change("ours/boards/first_board/board.toml", "2.9 mA", "3.9 mA");
    desk.run(&["prove", "ours"])
        .ends(1)
        .says("`lamp_current` is stated as 3.9 mA");
    desk.run(&["bind", "ours", "--to", "site"])
        .ends(1)
        .says("nothing was bound");
    desk.run(&["why", "lamp_current", "--of", "ours"]).ends(1);

    desk.write("empty/readme.txt", "no notebook");
    desk.run(&["prove", "nowhere"])
        .ends(2)
        .says("there is no folder `nowhere`");
    desk.run(&["prove", "empty"])
        .ends(2)
        .says("`notebook.toml`");
    desk.run(&["prove", "empty/readme.txt"])
        .ends(2)
        .says("is no folder");
    desk.run(&["prove"])
        .ends(2)
        .says("there is no `notebook.toml` here or in `content`");
    desk.run(&["prove", "--no-such-option"]).ends(2);
    desk.run(&["no_such_command"]).ends(2);
    desk.run(&["bind", "ours"]).ends(2).says("--to");
    desk.run(&["why", "lamp_curent", "--of", "ours"])
        .ends(2)
        .says("perhaps `lamp_current`");
    desk.run(&["start", "ours"]).ends(2).says("is not empty");
    assert!(desk.run(&[]).ends(2).out.contains("Usage: ohmbook"));
}

#[test]
fn a_caution_or_a_note_alone_does_not_fail() {
    let desk = Desk::new();
    desk.start("ours");
    desk.write("ours/boards/first_board/notes.md", "It draws 2.9 mA.\n");
    let run = desk
        .run(&["prove", "ours"])
        .ends(0)
        .says("caution[no-title]");
    assert!(!run.err.contains("note[loose-quantity]"), "{}", run.err);
    desk.run(&["prove", "ours", "--notes"])
        .ends(0)
        .says("note[loose-quantity]");
}

#[test]
fn a_finding_names_both_places_and_both_values() {
    let desk = Desk::new();
    desk.start("ours");
    desk.change("ours/boards/first_board/board.toml", "2.9 mA", "29 mA");
    desk.run(&["prove", "ours"])
        .ends(1)
        .says("error[figure-disagrees]")
        .says("ours/boards/first_board/board.toml:19:13")
        .says("stated as 29 mA, and comes to 2.9")
        .says("computed here: (5.0 V - 2.10 V) / 1.000 kΩ")
        .says("ten times too large")
        .says("write `3 mA`");
}

#[test]
fn json_is_valid_versioned_and_alone() {
    let desk = Desk::new();
    desk.start("ours");
    let run = desk.run(&["prove", "ours", "--format", "json"]).ends(0);
    assert_eq!(run.err, "");
    let report = json(&run.out);
    assert_eq!(report["form"], "ohmbook-findings");
    assert_eq!(report["version"], 1);
    assert_eq!(report["findings"], json("[]"));
    assert_eq!(report["summary"]["figures"]["hold"], 2);

    desk.change("ours/boards/first_board/board.toml", "2.9 mA", "3.9 mA");
    let run = desk.run(&["prove", "ours", "--format", "json"]).ends(1);
    assert_eq!(run.err, "");
    let report = json(&run.out);
    assert_eq!(report["summary"]["errors"], 1);
    let finding = &report["findings"][0];
    assert_eq!(finding["slug"], "figure-disagrees");
    assert_eq!(finding["level"], "error");
    let place = &finding["places"][0];
    assert_eq!(place["path"], "boards/first_board/board.toml");
    assert_eq!((&place["line"], &place["column"]), (&19.into(), &13.into()));
    assert_eq!(place["text"], "3.9 mA");
    assert_eq!(finding["mend"]["write"], "2.9 mA");

    // Binding reports in the same form, and adds nothing to it.
    let run = desk
        .run(&["bind", "ours", "--to", "site", "--format", "json"])
        .ends(1);
    assert_eq!((json(&run.out), run.err.as_str()), (report, ""));

    let run = desk.run(&["prove", "nowhere", "--format", "json"]).ends(2);
    assert_eq!(run.out, "");
}

#[test]
fn what_is_no_terminal_gets_no_escapes() {
    let desk = Desk::new();
    desk.start("ours");
    desk.change("ours/boards/first_board/board.toml", "2.9 mA", "3.9 mA");
    for arguments in [
        &["prove", "ours", "--notes"][..],
        &["prove", "ours", "--format", "json"],
        &["bind", "ours", "--to", "site"],
        &["why", "lamp_current", "--of", "ours"],
        &["prove", "--no-such-option"],
        &["--help"],
        &["schema"],
    ] {
        let Run { out, err, .. } = desk.run(arguments);
        assert!(!(out + &err).contains('\u{1b}'), "{arguments:?}");
    }
}

/// On a terminal, which `script` of the system plays, findings have colour; not
/// where `NO_COLOR` is set (no-color.org) or the terminal is a dumb one.
#[test]
#[cfg(target_os = "linux")]
fn a_terminal_gets_colour_unless_it_asks_for_none() {
    let desk = Desk::new();
    desk.start("ours");
    desk.change("ours/boards/first_board/board.toml", "2.9 mA", "3.9 mA");
    if desk.shell("command -v script").code != Some(0) {
        // A system without `script` has no terminal to try this on; what is
        // drawn with colour and without is tried in the library as well.
        return;
    }
    let on_terminal = |setting: &str| {
        let line = format!("{setting} script -qec '\"$OHMBOOK\" prove ours' /dev/null");
        desk.shell(&line).ends(1).out
    };
    let plain = "env -u NO_COLOR -u CLICOLOR TERM=xterm-256color";
    let coloured = on_terminal(plain);
    assert!(coloured.contains("\u{1b}["), "{coloured}");
    assert!(coloured.contains("lamp_current"), "{coloured}");
    for setting in [
        "env NO_COLOR=1 TERM=xterm-256color",
        "env -u NO_COLOR TERM=dumb",
    ] {
        let drawn = on_terminal(setting);
        assert!(!drawn.contains("\u{1b}["), "{setting}: {drawn:?}");
        assert!(drawn.contains("lamp_current"), "{drawn}");
    }
    // Set to nothing it asks for nothing.
    let empty = on_terminal("env NO_COLOR= TERM=xterm-256color");
    assert!(empty.contains("\u{1b}["), "{empty}");
}

#[test]
fn why_derives_a_figure_of_the_demo() {
    let desk = Desk::new();
    let run = desk
        .run(&["why", "cell_charger.charge_slow", "--of", DEMO])
        .ends(0);
    // A number and its unit are held together by a space that does not break.
    let out = run.out.replace('\u{a0}', " ");
    for line in [
        "cell_charger.charge_slow: 196 mA",
        "  boards/cell_charger/board.toml:",
        "  = set_constant / R1",
        "  = 1000 V / 5.10 kΩ",
        "  must   180 mA to 212 mA",
        // 950 V / 5.151 kΩ and 1050 V / 5.049 kΩ, and 50 ppm/K over 35 K.
        "Worst case: 184.1 mA to 208.3 mA",
        "  least with    ambient temperature low, R1.tempco low, R1 at 25 °C high, U1.set_constant low",
        "  greatest with ambient temperature low, R1.tempco high, R1 at 25 °C low, U1.set_constant high",
        // 5 % and 1 % of the same value: five sixths and one sixth.
        "    83 %  U1.set_constant",
        "    17 %  R1 at 25 °C ",
        "  termination_slow ",
        "  charger_fixture.emulator_slow ",
        "  196 mA                       boards/cell_charger/front.md:",
    ] {
        let found = out.lines().any(|found| found.starts_with(line));
        assert!(found, "`{line}` in\n{}", out);
    }
    // A name that several boards have is asked back for.
    let several = desk.run(&["why", "R1", "--of", DEMO]).ends(2);
    several
        .says("several boards have a `R1`")
        .says("`cell_charger.R1`");
    let part = desk.run(&["why", "cell_charger.R1", "--of", DEMO]).ends(0);
    assert!(part.out.contains("charge_fastest"), "{}", part.out);
}

#[test]
fn the_schema_is_json_schema_of_every_record() {
    let schema = json(&Desk::new().run(&["schema"]).ends(0).out);
    let draft = "https://json-schema.org/draft/2020-12/schema";
    assert_eq!(schema["$schema"], draft);
    let text = schema.to_string();
    for key in [
        "notebook", "part", "module", "board", "figure", "relation", "caution", "waiver",
    ] {
        assert!(text.contains(&format!("\"{key}\"")), "{key}");
    }
    // Whatever is referred to is there.
    for reference in text.split("\"$ref\":\"#").skip(1) {
        let pointer = reference.split('"').next().unwrap_or("");
        assert!(schema.pointer(pointer).is_some(), "{pointer}");
    }
}

#[test]
fn completions_and_manual_know_every_command() {
    let desk = Desk::new();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = desk.run(&["completions", shell]).ends(0).out;
        for command in COMMANDS {
            assert!(script.contains(command), "{command} for {shell}");
        }
    }
    let manual = desk.run(&["manual"]).ends(0).out;
    assert!(manual.contains(".TH ohmbook 1"), "{manual}");
    for command in COMMANDS {
        assert!(manual.contains(command), "{command}");
    }
    desk.run(&["completions", "no_such_shell"]).ends(2);
}

#[test]
fn every_command_shows_an_example() {
    let desk = Desk::new();
    let help = desk.run(&["--help"]).ends(0).out;
    for command in COMMANDS {
        assert!(
            help.contains(&format!("  {command} ")),
            "{command} in {help}"
        );
        let own = desk.run(&[command, "--help"]).ends(0).out;
        let is_plain = own.lines().count() < 8;
        assert!(is_plain || own.contains("Example"), "{own}");
    }
    assert!(help.contains("Exit codes: 0 "), "{help}");
}

/// `/dev/full` takes nothing, as a full disk does.
#[test]
#[cfg(target_os = "linux")]
fn output_that_cannot_be_written_is_a_failure() {
    let desk = Desk::new();
    desk.start("ours");
    for line in [
        "\"$OHMBOOK\" schema > /dev/full",
        "\"$OHMBOOK\" manual > /dev/full",
        "\"$OHMBOOK\" prove ours --format json > /dev/full",
        "\"$OHMBOOK\" why lamp_current --of ours > /dev/full",
    ] {
        desk.shell(line)
            .ends(2)
            .says("standard output cannot be written");
    }
    desk.shell("\"$OHMBOOK\" prove ours 2> /dev/full").ends(2);
    desk.shell("\"$OHMBOOK\" prove nowhere 2> /dev/full")
        .ends(2);
}

#[test]
fn a_reader_that_has_gone_away_is_no_failure() {
    let desk = Desk::new();
    desk.start("ours");
    for arguments in [&["schema"][..], &["prove", "ours", "--format", "json"]] {
        let mut command = desk.command(arguments);
        command.stdout(std::process::Stdio::piped());
        command.stderr(std::process::Stdio::piped());
        let mut child = command.spawn().expect("the program can be run");
        drop(child.stdout.take());
        let run = Run::of(child.wait_with_output().expect("it ends"));
        assert_eq!(run.ends(0).err, "");
    }
}

#[test]
fn stacks_say_what_goes_together_and_why_others_do_not() {
    let desk = Desk::new();
    // A number and its unit are held together by a space that does not break.
    let out = desk
        .run(&["stacks", DEMO])
        .ends(0)
        .out
        .replace('\u{a0}', " ");
    for line in [
        "trail_module: 6 boards and 3 stacks that no board can be added to",
        "  1  carrier, night_switch, sound_post, stone_chime",
        "     set sound_post.JP2 to line 2",
        "  2  carrier, night_switch, sound_post, trail_keypad",
        "     set sound_post.JP2 to line 1, as it comes",
        // 250 mA of the carrier's triplets; 3 mA and 1 µs are those of UM10204.
        " of 250 mA",
        "to sink of 3 mA",
        "to rise of 1 µs",
        "  charger_fixture and stone_chime",
        "    `charger_fixture` and `stone_chime` both use the pin `IO1`",
    ] {
        assert!(out.contains(line), "no `{line}` in\n{out}");
    }
    // Both positions of a strap are taken: one sentence for each.
    let pair = [
        "stacks",
        DEMO,
        "--board",
        "charger_fixture",
        "--board",
        "sound_post",
    ];
    let out = desk.run(&pair).ends(1).out;
    assert!(out.contains("do not go together"), "{out}");
    assert_eq!(out.matches("both use the pin").count(), 2, "{out}");
    let works = [
        "stacks",
        DEMO,
        "--board",
        "carrier",
        "--board",
        "sound_post",
    ];
    assert!(desk.run(&works).ends(0).out.contains("go together"));
    desk.run(&["stacks", DEMO, "--board", "sound_post"])
        .ends(1)
        .says("shows which do go together");
    desk.run(&["stacks", DEMO, "--on", "other"])
        .ends(2)
        .says("there is no module `other`; there are trail_module");
    desk.run(&["stacks", DEMO, "--board", "cell_charger"])
        .ends(2)
        .says("has no `[pins]`");
    desk.run(&["stacks", DEMO, "--board", "nothing"])
        .ends(2)
        .says("there is no board `nothing`");
    desk.start("ours");
    desk.run(&["stacks", "ours"])
        .ends(2)
        .says("there is no module in this notebook");
}

#[test]
fn parts_that_could_go_are_told_and_come_as_a_patch() {
    let desk = Desk::new();
    let told = desk.run(&["thin", DEMO]).ends(0).out;
    for words in [
        "36 parts on 8 boards: 1 could go, and no more",
        "sound_post C1: cap_100n instead",
        "parts on the line    36 -> 35",
        "feeders              20 -> 19",
        "no record states its colour",
        "`period` must be 540 s to 660 s",
    ] {
        assert!(told.contains(words), "{words} is not in:\n{told}");
    }
    let patch = desk.run(&["thin", DEMO, "--patch"]).ends(0).out;
    assert!(patch.starts_with("--- a/boards/sound_post/board.toml\n+++ b/boards/"));
    assert!(patch.contains("\n-C1  = \"cap_100n_16v\""), "{patch}");
    let alone = ["thin", DEMO, "--patch", "--part", "cap_100n_16v"];
    assert_eq!(desk.run(&alone).ends(0).out, patch);
    desk.run(&["thin", DEMO, "--patch", "--part", "res_1k"])
        .ends(2)
        .says("`res_1k` could not go; there are cap_100n_16v");
    desk.start("ours");
    desk.run(&["thin", "ours"]).ends(0);
    desk.run(&["thin", "ours", "--patch"])
        .ends(0)
        .says("no part could go");
    desk.run(&["thin", "nowhere"])
        .ends(2)
        .says("there is no folder `nowhere`");
}
