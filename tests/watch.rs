//! The watch, over a real connection and on a real disk: what is served, what a
//! save changes, who is refused, and how it ends.
#![allow(clippy::unwrap_used)]

#[path = "watch/refusals.rs"]
mod refusals;
#[path = "watch/served.rs"]
mod served;

use std::fs;
use std::time::Duration;

use served::Served;

const RECORD: &str = "boards/first_board/board.toml";
const FRONT: &str = "boards/first_board/front.md";

fn laid_over(page: &str) -> bool {
    page.contains("<aside id=\"CheckPrint\"")
}

#[test]
fn every_file_is_served_as_it_is_bound() {
    let served = Served::new();
    let bound = served.bound();
    assert!(bound.len() > 8, "{:?}", bound.keys());
    let mut pages = 0;
    for (path, content) in &bound {
        let reply = served.get(&format!("/{path}"));
        assert_eq!(reply.status, 200, "{path}");
        assert_eq!(served::without_following(&reply.body), *content, "{path}");
        let follows = reply.body.len() > content.len();
        assert_eq!(follows, path.extension() == Some("html"), "{path}");
        pages += usize::from(follows);
    }
    assert!(pages > 5);
    // The folder's page, and a query that nobody asks about.
    assert_eq!(served.page("/"), served.page("/index.html?edition=3"));
    assert_eq!(
        served.page("/boards/first_board/"),
        served.page("/boards/first_board/index.html")
    );
}

#[test]
fn a_save_is_seen_and_followers_are_told_once() {
    let served = Served::new();
    let mut news = served.follow();
    let first = news.next().unwrap();
    let front = served.read(FRONT);
    served.write(FRONT, &format!("{front}\nA new paragraph.\n"));
    let second = news.next().unwrap();
    assert_ne!(first["edition"], second["edition"]);
    let page = served.page("/boards/first_board/");
    assert!(page.contains("<p>A new paragraph.</p>"));
    let edition = second["edition"].as_str().unwrap();
    assert!(page.contains(&format!("data-edition=\"{edition}\"")));
    // No page but the one that changed is another file, and no look is; words of
    // the page are in the finder's index.
    let stamps = second["stamps"].as_object().unwrap();
    assert_eq!(stamps.keys().collect::<Vec<_>>(), ["finder-index.js"]);
    assert!(served.is_as_bound(&served.bound()));
    // The same text again is no news: the next are of what follows it.
    served.write(FRONT, &format!("{front}\nA new paragraph.\n"));
    std::thread::sleep(Duration::from_millis(700));
    served.write(FRONT, &front);
    let third = news.next().unwrap();
    let number = |edition: &str| -> u64 { edition.rsplit('.').next().unwrap().parse().unwrap() };
    assert_eq!(
        number(third["edition"].as_str().unwrap()),
        number(edition) + 1
    );
}

#[test]
fn findings_are_laid_over_the_last_good_page_until_they_are_mended() {
    let served = Served::new();
    let mut news = served.follow();
    news.next().unwrap();
    let before = served.page("/boards/first_board/");
    assert!(!laid_over(&before));
    let record = served.read(RECORD);
    assert!(record.contains("2.9 mA"), "{record}");
    served.write(RECORD, &record.replace("2.9 mA", "3.9 mA"));
    news.next().unwrap();
    for target in ["/", "/boards/first_board/", "/parts/index.html"] {
        let page = served.page(target);
        assert!(laid_over(&page), "{target}");
        // The place, the line with a ring around what is wrong, and the mend.
        assert!(
            page.contains("boards/first_board/board.toml:19:13"),
            "{page}"
        );
        assert!(page.contains("&quot;<mark>3.9 mA</mark>&quot;"), "{page}");
        assert!(page.contains("is stated as 3.9 mA, and comes to"), "{page}");
        assert!(page.contains("<b>Mend:</b>"), "{page}");
    }
    // Beneath it nothing is changed.
    let page = served.page("/boards/first_board/");
    let (sheet, _) = page.split_once("<aside id=\"CheckPrint\"").unwrap();
    let start = |page: &str| page.find("<body>").unwrap();
    assert!(before[start(&before)..].starts_with(&sheet[start(sheet)..]));

    served.write(RECORD, &record);
    news.next().unwrap();
    assert!(!laid_over(&served.page("/boards/first_board/")));
    assert!(served.is_as_bound(&served.bound()));
}

#[test]
fn a_notebook_that_never_held_shows_its_findings_and_then_its_pages() {
    let served = Served::begun(|folder| {
        fs::write(folder.join(RECORD), "[board\n").unwrap();
    });
    served.until("findings are there", |served| laid_over(&served.page("/")));
    let reply = served.get("/");
    assert_eq!(reply.status, 503);
    assert!(reply.text().contains("boards/first_board/board.toml:1:"));
    // It follows like any other page.
    assert!(reply.text().contains("/watch/follow.js"));
    served.write(RECORD, "[board]\ntitle = \"Lamp\"\nstatus = \"concept\"\nrevision = \"A\"\nsummary = \"A lamp.\"\n");
    served.write(FRONT, "# Lamp\n\nIt shines.\n");
    served.write("boards/first_board/design.md", "# Design\n\nPlain.\n");
    served.until("it is bound", |served| served.get("/").status == 200);
    assert!(served.is_as_bound(&served.bound()));
}

/// Editors save by renaming over, by truncating and writing, and by moving the old
/// file away first; all of them leave other files beside it.
#[test]
fn editors_save_in_many_ways() {
    let served = Served::new();
    let path = served.folder.join(FRONT);
    let beside = |name: &str| path.with_file_name(name);
    let seen = |words: &str| {
        served.until(words, |served| {
            served.page("/boards/first_board/").contains(words)
        });
    };
    let with = |words: &str| format!("# Lamp\n\n{words}\n");

    let temporary = beside("front.md.tmp~");
    fs::write(&temporary, with("Renamed over.")).unwrap();
    fs::rename(&temporary, &path).unwrap();
    seen("Renamed over.");

    fs::File::create(&path).unwrap();
    std::thread::sleep(Duration::from_millis(5));
    fs::write(&path, with("Truncated and written.")).unwrap();
    seen("Truncated and written.");

    fs::write(beside(".front.md.swp"), "x").unwrap();
    fs::rename(&path, beside("front.md~")).unwrap();
    fs::write(&path, with("Moved away and made anew.")).unwrap();
    fs::remove_file(beside("front.md~")).unwrap();
    seen("Moved away and made anew.");
    assert!(served.is_as_bound(&served.bound()));
}

#[test]
fn new_moved_and_deleted_sheets_and_whole_trees_are_followed() {
    let served = Served::new();
    let status = |target: &str| served.get(target).status;
    let sheet = "# Notes\n\nPlain.\n";
    served.write("boards/first_board/notes.md", sheet);
    served.until("a new sheet", |_| {
        status("/boards/first_board/notes.html") == 200
    });
    let moved = served.folder.join("boards/first_board/remarks.md");
    fs::rename(served.folder.join("boards/first_board/notes.md"), &moved).unwrap();
    served.until("a moved sheet", |_| {
        status("/boards/first_board/notes.html") == 404
            && status("/boards/first_board/remarks.html") == 200
    });
    fs::remove_file(&moved).unwrap();
    served.until("a deleted sheet", |_| {
        status("/boards/first_board/remarks.html") == 404
    });
    // Whoever was on it is told so, by a page that follows.
    let gone = served.page("/boards/first_board/remarks.html");
    assert!(gone.contains("/watch/follow.js"), "{gone}");

    // A board in folders that are new altogether.
    let board = "[board]\ntitle = \"Bell\"\nstatus = \"concept\"\nrevision = \"A\"\nsummary = \"A bell.\"\n";
    served.write("boards/bell/board.toml", board);
    served.write("boards/bell/front.md", "# Bell\n\nIt rings.\n");
    served.until("a new board", |_| status("/boards/bell/") == 200);

    // Another tree in the place of this one, as by another branch.
    let away = served.folder.with_file_name("away");
    let other = served.folder.with_file_name("other");
    for entry in walkdir::WalkDir::new(&served.folder) {
        let entry = entry.unwrap();
        let to = other
            .as_std_path()
            .join(entry.path().strip_prefix(&served.folder).unwrap());
        match entry.file_type().is_dir() {
            true => fs::create_dir_all(to).unwrap(),
            false => drop(fs::copy(entry.path(), to).unwrap()),
        }
    }
    fs::remove_dir_all(other.join("boards/bell")).unwrap();
    fs::rename(&served.folder, &away).unwrap();
    fs::rename(&other, &served.folder).unwrap();
    served.until("another tree", |_| status("/boards/bell/") == 404);
    served.write(FRONT, "# Lamp\n\nIn the other tree.\n");
    served.until("a save in the other tree", |served| {
        served
            .page("/boards/first_board/")
            .contains("In the other tree.")
    });
    assert!(served.is_as_bound(&served.bound()));
}

#[test]
fn the_look_is_followed_and_its_faults_are_laid_over() {
    let served = Served::begun(|folder| {
        let path = folder.join("notebook.toml");
        let record = fs::read_to_string(&path).unwrap();
        let record = record.replacen("[notebook]", "[notebook]\ntheme = \"look\"", 1);
        fs::write(path, record).unwrap();
        fs::create_dir(folder.join("look")).unwrap();
        fs::write(folder.join("look/drawing.css"), "body { color: red }").unwrap();
    });
    served.until("it is bound", |served| served.get("/").status == 200);
    assert_eq!(served.page("/look/drawing.css"), "body { color: red }");
    let mut news = served.follow();
    news.next().unwrap();
    served.write("look/drawing.css", "body { color: blue }");
    let told = news.next().unwrap();
    assert_eq!(served.page("/look/drawing.css"), "body { color: blue }");
    // Open pages are told to fetch it anew.
    let number: u64 = told["edition"]
        .as_str()
        .unwrap()
        .rsplit('.')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    assert_eq!(
        told["stamps"],
        serde_json::json!({ "look/drawing.css": number })
    );

    let template =
        "{% extends \"sheet.html\" %}\n{% block face %}{{ no_such_name }}{% endblock %}\n";
    served.write("look/findings.html", template);
    news.next().unwrap();
    let page = served.page("/");
    assert!(laid_over(&page), "{page}");
    assert!(page.contains("look/findings.html:2:"), "{page}");
    assert!(page.contains("<mark>no_such_name</mark>"), "{page}");
    fs::remove_file(served.folder.join("look/findings.html")).unwrap();
    news.next().unwrap();
    assert!(!laid_over(&served.page("/")));
    assert!(served.is_as_bound(&served.bound()));
}

/// However the saves fall between the bindings, the last one counts.
#[test]
fn after_a_burst_of_saves_the_pages_are_those_of_a_fresh_bind() {
    let served = Served::new();
    let mut news = served.follow();
    let edition = |news: &serde_json::Value| -> u64 {
        let edition = news["edition"].as_str().unwrap();
        edition.rsplit('.').next().unwrap().parse().unwrap()
    };
    let first = edition(&news.next().unwrap());
    for save in 1..=200 {
        served.write(FRONT, &format!("# Lamp\n\nSave number {save}.\n"));
    }
    let bound = served.bound();
    served.until("the last save", |served| {
        served
            .page("/boards/first_board/")
            .contains("Save number 200.")
    });
    assert!(served.is_as_bound(&bound));
    let mut last = first;
    while !served.page("/").contains(&format!(".{last}\"")) {
        last = edition(&news.next().unwrap());
    }
    let editions = last - first;
    assert!(editions <= 20, "200 saves made {editions} editions");
}

/// Whether words change, or what others hang on, pages are those of a fresh bind
/// after each save, and after going back.
#[test]
fn after_a_save_of_any_kind_the_pages_are_those_of_a_fresh_bind() {
    let served = Served::new();
    let (front, record) = (served.read(FRONT), served.read(RECORD));
    let (title, rest) = front.split_once('\n').unwrap();
    let as_bound = |what: &str| {
        let bound = served.bound();
        served.until(what, |served| served.is_as_bound(&bound));
    };
    for (what, path, text) in [
        ("a word", FRONT, format!("{front}\nOne word.\n")),
        ("another word", FRONT, format!("{front}\nAnother word.\n")),
        ("a title", FRONT, format!("# Another title\n{rest}")),
        (
            "a word under it",
            FRONT,
            format!("# Another title\n{rest}\nWord.\n"),
        ),
        ("the title of before", FRONT, front.clone()),
        (
            "a heading",
            FRONT,
            format!("{front}\n## Further\n\nWord.\n"),
        ),
        (
            "a loose quantity",
            FRONT,
            format!("{title}\n\nAbout 5 V.\n{rest}"),
        ),
        (
            "a word beside it",
            FRONT,
            format!("{title}\n\nSome words, about 5 V.\n{rest}"),
        ),
        ("nothing but the title", FRONT, format!("{title}\n")),
        ("all of before", FRONT, front.clone()),
        (
            "a record",
            RECORD,
            record.replace("summary = \"", "summary = \"Indeed: "),
        ),
        ("a word after it", FRONT, format!("{front}\nOne word.\n")),
        ("the record of before", RECORD, record.clone()),
    ] {
        served.write(path, &text);
        as_bound(what);
    }
    // Two sheets at once, and one while the notebook does not hold.
    let design = "boards/first_board/design.md";
    served.write(design, &format!("{}\nTwo.\n", served.read(design)));
    served.write(FRONT, &format!("{front}\nOne.\n"));
    as_bound("words of two sheets");
    served.write(RECORD, &record.replace("2.9 mA", "3.9 mA"));
    served.until("it does not hold", |served| laid_over(&served.page("/")));
    served.write(FRONT, &format!("{front}\nMeanwhile.\n"));
    std::thread::sleep(Duration::from_millis(100));
    served.write(RECORD, &record);
    as_bound("mended, with words that were written meanwhile");
}

#[test]
fn it_ends_at_once_with_pages_open_and_lets_go_of_its_address() {
    let mut served = Served::new();
    let mut news = served.follow();
    assert!(news.next().is_some());
    let took = served.end();
    assert!(took < Duration::from_secs(5), "{took:?}");
    assert!(news.next().is_none());
    assert!(std::net::TcpListener::bind(served.address).is_ok());
}

/// The program itself, ended as whoever types Ctrl-C ends it.
#[test]
#[cfg(unix)]
fn ctrl_c_ends_the_program_with_nothing_amiss() {
    use std::io::{BufRead, BufReader, Read, Write};
    use std::process::{Command, Stdio};

    let mut served = Served::new();
    served.end();
    for (signal, is_broken) in [("INT", false), ("INT", true), ("TERM", false)] {
        let record = served.read(RECORD);
        if is_broken {
            served.write(RECORD, &record.replace("2.9 mA", "3.9 mA"));
        }
        let mut program = Command::new(env!("CARGO_BIN_EXE_ohmbook"))
            .args(["watch", served.folder.as_str()])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(program.stdout.take().unwrap()).lines();
        let mut line = || lines.next().unwrap().unwrap();
        assert!(line().starts_with("watching "));
        let address = line();
        let address = address.strip_prefix("http://127.0.0.1:").unwrap();
        let port: u16 = address.strip_suffix('/').unwrap().parse().unwrap();
        assert_eq!(line(), "Ctrl-C ends it");
        let bound = line();
        assert_eq!(bound.contains("files bound in"), !is_broken, "{bound}");

        let mut stream = std::net::TcpStream::connect(("127.0.0.1", port)).unwrap();
        let head = format!("GET / HTTP/1.1\r\nHost: localhost:{port}\r\n\r\n");
        stream.write_all(head.as_bytes()).unwrap();
        let mut page = String::new();
        stream.read_to_string(&mut page).unwrap();
        assert_eq!(page.contains("is stated as 3.9 mA"), is_broken, "{page}");

        let kill = Command::new("kill")
            .args(["-s", signal, &program.id().to_string()])
            .status()
            .unwrap();
        assert!(kill.success());
        let mut err = String::new();
        let mut stderr = program.stderr.take().unwrap();
        stderr.read_to_string(&mut err).unwrap();
        assert_eq!(program.wait().unwrap().code(), Some(0), "{err}");
        assert_eq!(err.contains("error[figure-disagrees]"), is_broken, "{err}");
        served.write(RECORD, &record);
    }
}

#[test]
fn what_cannot_be_watched_or_served_is_said_with_exit_code_2() {
    let served = Served::new();
    let port = served.address.port().to_string();
    let parent = served.folder.parent().unwrap().as_str();
    for (arguments, says) in [
        (&["watch", "no_such_folder"][..], "there is no folder"),
        (&["watch", parent], "there is no `notebook.toml` in"),
        (
            &["watch", served.folder.as_str(), "--port", &port],
            "name another port",
        ),
        (
            &["watch", served.folder.as_str(), "--address", "192.0.2.1"],
            "name an address that this computer has",
        ),
        (
            &["watch", served.folder.as_str(), "--address", "a.example"],
            "invalid",
        ),
    ] {
        let mut program = std::process::Command::new(env!("CARGO_BIN_EXE_ohmbook"));
        let output = program.args(arguments).output().unwrap();
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {err}");
        assert!(err.contains(says), "{arguments:?}: {err}");
    }
}
