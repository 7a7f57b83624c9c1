//! Runs in a process of their own that is killed, at a moment of the clock's
//! choosing.

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use super::*;

/// Names the folder to the child.
const DESK: &str = "OHMBOOK_TEST_DESK";

/// Binds one version after the other until somebody kills it. Alone, it is no
/// test and does nothing.
#[test]
#[ignore = "run by the test below, in a process of its own"]
fn child() {
    let Ok(desk) = std::env::var(DESK) else {
        return;
    };
    let desk = Utf8PathBuf::from(desk);
    let last = fs::read_to_string(desk.join("bound/boards/0/index.html")).unwrap();
    let last: usize = last.rsplit(' ').next().unwrap().parse().unwrap();
    for number in last + 1.. {
        let _ = long_site(number).write(&desk.join("bound"), &desk.join("content"));
    }
}

/// Enough files that a kill comes in the midst of writing them.
fn long_site(number: usize) -> Site {
    let paths = (0..40).map(|page| Utf8PathBuf::from(format!("boards/{page}/index.html")));
    let bytes = format!("version {number}").into_bytes();
    Site {
        files: paths.map(|path| (path, bytes.clone())).collect(),
    }
}

#[test]
fn a_killed_run_leaves_a_whole_site() {
    let desk = Desk::new();
    let to = desk.at("bound");
    let page = to.join("boards/0/index.html");
    long_site(0).write(&to, &desk.at("content")).unwrap();
    for round in 0..8_u64 {
        let before = fs::read(&page).unwrap();
        let starting = STARTING.write();
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "bind::tests::killed::child", "--ignored"])
            .env(DESK, desk.at(""))
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        drop(starting);
        // The child starts at the version after the last one; once that is seen
        // it is at work, and any moment is as good as another.
        let began = Instant::now();
        while fs::read(&page).is_ok_and(|now| now == before) {
            assert!(
                began.elapsed() < Duration::from_secs(60),
                "the child binds nothing"
            );
            std::thread::sleep(Duration::from_millis(1));
        }
        std::thread::sleep(Duration::from_micros(2300 * round));
        child.kill().unwrap();
        child.wait().unwrap();

        let found = tree(&to);
        assert_eq!(
            found.len(),
            41,
            "all files and the list of them, round {round}"
        );
        let is_page = |(path, _): &(&String, &Vec<u8>)| *path != MARKER;
        let pages: BTreeSet<&Vec<u8>> =
            found.iter().filter(is_page).map(|(_, page)| page).collect();
        assert_eq!(
            pages.len(),
            1,
            "all pages are of one version, round {round}"
        );
    }
    long_site(0).write(&to, &desk.at("content")).unwrap();
    assert_eq!(desk.beside(), ["bound"]);
}
