//! What `bind` leaves on the disk: the site whole, or everything as it was.

use std::fs;
use std::thread::sleep;
use std::time::{Duration, Instant};

use super::desk::{DEMO, Desk, tree};

#[test]
fn a_notebook_that_was_just_started_proves_and_binds() {
    let desk = Desk::new();
    let said = desk.run(&["start", "ours"]).ends(0).out;
    // What it says to do next is done.
    for line in said
        .lines()
        .filter_map(|line| line.strip_prefix("  ohmbook "))
    {
        let arguments: Vec<&str> = line.split(' ').collect();
        desk.run(&arguments).ends(0);
    }
    assert!(said.contains("prove") && said.contains("bind"), "{said}");
    let site = tree(&desk.at("site"));
    assert!(site.keys().any(|path| path.ends_with("index.html")));
    assert_eq!(desk.others(&["ours", "site"]), [""; 0]);
    // A second start would overwrite what is there, and does not.
    let before = tree(&desk.at("ours"));
    desk.run(&["start", "ours"]).ends(2).says("is not empty");
    desk.write("file", "in the way");
    desk.run(&["start", "file"]).ends(2);
    assert_eq!(tree(&desk.at("ours")), before);
    // An empty folder is as good as none.
    fs::create_dir(desk.at("theirs")).expect("a folder can be made");
    desk.run(&["start", "theirs"]).ends(0);
}

#[test]
fn without_a_command_the_notebook_in_content_is_bound() {
    let desk = Desk::new();
    desk.start("content");
    let run = desk.run(&[]).ends(0);
    assert!(run.out.contains("bound/index.html"), "{}", run.out);
    assert!(desk.at("bound/index.html").is_file());
}

#[test]
fn a_failing_proof_leaves_the_earlier_site() {
    let desk = Desk::new();
    desk.start("ours");
    desk.run(&["bind", "ours", "--to", "site"]).ends(0);
    let before = tree(&desk.at("site"));
    desk.change("ours/boards/first_board/board.toml", "2.9 mA", "3.9 mA");
    desk.run(&["bind", "ours", "--to", "site"])
        .ends(1)
        .says("`site` is as it was");
    assert_eq!(tree(&desk.at("site")), before);
    desk.change("ours/boards/first_board/board.toml", "3.9 mA", "2.90 mA");
    desk.run(&["bind", "ours", "--to", "site"]).ends(0);
    assert_ne!(tree(&desk.at("site")), before);
    assert_eq!(desk.others(&["ours", "site"]), [""; 0]);
}

#[test]
fn a_folder_that_cannot_be_written_is_told() {
    let desk = Desk::new();
    desk.start("ours");
    desk.write("file", "in the way");
    for (to, words) in [
        ("file", "is not a folder"),
        ("file/site", "cannot"),
        ("/dev/null/site", "cannot"),
        ("ours/site", "would overlap the notebook"),
        ("ours", ""),
        (".", ""),
        ("/", ""),
    ] {
        desk.run(&["bind", "ours", "--to", to])
            .ends(2)
            .says("error: ")
            .says(words);
    }
    assert_eq!(
        fs::read_to_string(desk.at("file")).ok().as_deref(),
        Some("in the way")
    );
    assert_eq!(desk.others(&["ours", "file"]), [""; 0]);
}

#[test]
fn a_folder_that_may_not_be_written_is_told() {
    use std::os::unix::fs::PermissionsExt;

    let desk = Desk::new();
    desk.start("ours");
    let shut = desk.at("shut");
    fs::create_dir(&shut).expect("a folder can be made");
    let mode = |mode| fs::set_permissions(&shut, fs::Permissions::from_mode(mode));
    mode(0o555).expect("it is ours");
    // An administrator may write everywhere, and then the site is bound.
    let may_write = fs::create_dir(shut.join("trial")).is_ok();
    let run = desk.run(&["bind", "ours", "--to", "shut/site"]);
    mode(0o755).expect("it is ours");
    match may_write {
        true => run.ends(0),
        false => run.ends(2).says("error: cannot "),
    };
}

#[test]
fn what_somebody_else_wrote_is_never_replaced() {
    let desk = Desk::new();
    desk.start("ours");
    desk.write("letters/to_grandmother.txt", "dear");
    desk.run(&["bind", "ours", "--to", "letters"])
        .ends(2)
        .says("did not write");
    assert_eq!(tree(&desk.at("letters")).len(), 1);

    desk.run(&["bind", "ours", "--to", "site"]).ends(0);
    desk.write("site/mine.txt", "put here by hand");
    let before = tree(&desk.at("site"));
    desk.run(&["bind", "ours", "--to", "site"])
        .ends(2)
        .says("mine.txt");
    assert_eq!(tree(&desk.at("site")), before);

    std::os::unix::fs::symlink("letters", desk.at("link")).expect("a link can be made");
    desk.run(&["bind", "ours", "--to", "link"])
        .ends(2)
        .says("symbolic link");
    assert_eq!(tree(&desk.at("letters")).len(), 1);
}

/// A limit on the size of files makes writing fail as a full disk does, in the
/// middle of a file.
#[test]
#[cfg(target_os = "linux")]
fn a_disk_that_is_full_leaves_the_earlier_site() {
    let desk = Desk::new();
    desk.start("ours");
    desk.run(&["bind", "ours", "--to", "site"]).ends(0);
    let before = tree(&desk.at("site"));
    desk.change(
        "ours/notebook.toml",
        "title",
        "notice = \"Changed.\"\ntitle",
    );
    for to in ["site", "new"] {
        let line = format!("trap '' XFSZ; ulimit -f 1; exec \"$OHMBOOK\" bind ours --to {to}");
        desk.shell(&line)
            .ends(2)
            .says("error: cannot write the file");
    }
    assert_eq!(tree(&desk.at("site")), before);
    assert_eq!(desk.others(&["ours", "site"]), [""; 0]);
    desk.run(&["bind", "ours", "--to", "site"]).ends(0);
    assert_ne!(tree(&desk.at("site")), before);
}

#[test]
fn a_kill_at_any_moment_leaves_one_whole_site() {
    let desk = Desk::new();
    desk.start("ours");
    let bind = ["bind", "ours", "--to", "site"];
    let begin = Instant::now();
    desk.run(&bind).ends(0);
    let usual = begin.elapsed();
    let earlier = tree(&desk.at("site"));
    desk.change(
        "ours/notebook.toml",
        "title",
        "notice = \"Changed.\"\ntitle",
    );
    desk.run(&["bind", "ours", "--to", "model"]).ends(0);
    let later = tree(&desk.at("model"));
    assert_ne!(earlier, later);

    let (mut kept, steps) = (0, 12u32);
    for step in 0..steps {
        let mut command = desk.command(&bind);
        command.stdout(std::process::Stdio::null());
        command.stderr(std::process::Stdio::null());
        let mut child = command.spawn().expect("the program can be run");
        sleep(usual * step / steps);
        // It may have ended by itself, which is as well.
        let _ = child.kill();
        let _ = child.wait();
        let found = tree(&desk.at("site"));
        let is_earlier = found == earlier;
        assert!(
            is_earlier || found == later,
            "after step {step}: half a site"
        );
        kept += u32::from(is_earlier);
    }
    assert!(kept > 0, "the first of {steps} runs was killed at once");
    // What the killed ones left beside the site is gone after the next run.
    sleep(Duration::from_millis(10));
    desk.run(&bind).ends(0);
    assert_eq!(tree(&desk.at("site")), later);
    assert_eq!(desk.others(&["ours", "site", "model"]), [""; 0]);
}

#[test]
fn the_demo_binds_over_itself() {
    let desk = Desk::new();
    desk.run(&["bind", DEMO, "--to", "bound"]).ends(0);
    let before = tree(&desk.at("bound"));
    desk.run(&["bind", DEMO, "--to", "bound"]).ends(0);
    assert_eq!(tree(&desk.at("bound")), before);
}
