//! Input that no text file here could hold: too large, too deep, cut short,
//! or no file at all. Each ends in a finding with its place, and soon.

use std::fs;
use std::os::unix::net::UnixListener;
use std::time::{Duration, Instant};

use camino::{Utf8Path, Utf8PathBuf};
use ohmbook::finding::Slug;
use ohmbook::notebook::Notebook;
use tempfile::TempDir;

use super::case::{Case, NOTEBOOK, TODAY, print};

/// The `[board]` table of a board.
const BOARD: &str =
    "[board]\ntitle = \"Big\"\nrevision = \"A\"\nstatus = \"concept\"\nsummary = \"Is big.\"\n";

/// Longer than this no bad input may hold anybody up, even on a busy machine
/// and without optimisation; most take milliseconds.
const PATIENCE: Duration = Duration::from_secs(20);

/// A notebook in a temporary folder.
struct Folder {
    folder: TempDir,
}

impl Folder {
    fn new() -> Folder {
        let folder = tempfile::tempdir().expect("a temporary folder can be made");
        let made = Folder { folder };
        made.write("notebook.toml", NOTEBOOK);
        made
    }

    fn path(&self, path: &str) -> Utf8PathBuf {
        let root = Utf8Path::from_path(self.folder.path());
        root.expect("temporary folders have plain names").join(path)
    }

    fn write(&self, path: &str, contents: impl AsRef<[u8]>) {
        let path = self.path(path);
        let parent = path.parent().expect("it lies in the folder");
        fs::create_dir_all(parent).expect("a folder can be made");
        fs::write(path, contents).expect("a file can be written");
    }

    /// Proves it, prints what is found, and sees that it took not too long.
    fn prove(&self) -> Notebook {
        let start = Instant::now();
        let notebook = Notebook::load(&self.path(""), TODAY);
        let (drawn, _) = print(&notebook);
        assert!(start.elapsed() < PATIENCE, "{:?}", start.elapsed());
        assert!(drawn.len() < 1_000_000, "{} bytes of findings", drawn.len());
        notebook
    }
}

/// What is found, each as `slug path:line:column`.
fn found(notebook: &Notebook) -> Vec<String> {
    let place = |finding: &ohmbook::finding::Finding| {
        let place = finding.place()?;
        let file = notebook.sources.file(place.file);
        let (line, column) = file.line_column(place.start);
        Some(format!("{} {}:{line}:{column}", finding.slug, file.path))
    };
    let all = notebook.findings.iter();
    all.map(|finding| place(finding).unwrap_or_else(|| finding.slug.to_string()))
        .collect()
}

/// What is found in a notebook whose one figure has this formula.
fn found_in_formula(formula: &str) -> Vec<String> {
    let folder = Folder::new();
    let record = format!("{BOARD}[figure.long]\nmeans = \"Long\"\nfrom = \"{formula}\"\n");
    folder.write("boards/big/board.toml", record);
    let notebook = folder.prove();
    let value = notebook
        .named("long")
        .ok()
        .and_then(|node| notebook.value(node));
    assert!(value.is_none(), "it has no value");
    found(&notebook)
}

#[test]
fn fifty_megabytes_of_markdown_are_not_read() {
    let folder = Folder::new();
    folder.write("boards/big/board.toml", BOARD);
    folder.write("boards/big/front.md", "# Big\n");
    folder.write("boards/big/design.md", "[5 V](figure:x) ".repeat(3_200_000));
    folder.write("parts/stock.toml", "# nothing\n".repeat(600_000));
    let notebook = folder.prove();
    let expected = [
        "too-large boards/big/design.md:1:1",
        "too-large parts/stock.toml:1:1",
    ];
    assert_eq!(found(&notebook), expected);
    let message = &notebook.findings[0].message;
    assert!(message.contains("51200000 bytes"), "{message}");
}

#[test]
fn the_largest_sheet_that_is_read_is_read_soon() {
    let folder = Folder::new();
    folder.write("boards/big/board.toml", BOARD);
    let row = "A line with [a link](#big) and `code`, 5 V loose.\n\n";
    let mut text = "# Big\n\n".to_owned();
    while text.len() + row.len() < 1_000_000 {
        text.push_str(row);
    }
    folder.write("boards/big/front.md", text);
    let notebook = Notebook::load(&folder.path(""), TODAY);
    let loose = |slug| slug == Slug::LooseQuantity;
    assert!(notebook.findings.len() > 1000);
    assert!(notebook.findings.iter().all(|finding| loose(finding.slug)));
}

#[test]
fn a_formula_of_a_hundred_thousand_characters_ends_in_a_finding() {
    let long = 100_000;
    let nested = |open: &str, close: &str| {
        let count = long / (open.len() + close.len());
        format!("{}1{}", open.repeat(count), close.repeat(count))
    };
    let formulas = [
        ("a sum", format!("1{}", " + 1".repeat(long / 4))),
        ("brackets", nested("(", ")")),
        ("open brackets", "(".repeat(long)),
        ("closing brackets", ")".repeat(long)),
        ("functions", nested("sqrt(", ")")),
        ("signs", format!("{}1", "-".repeat(long))),
        ("powers", format!("1{}", "^1".repeat(long / 2))),
        ("a numeral", "9".repeat(long)),
        ("an exponent", format!("1e{}", "9".repeat(long))),
        ("a name", "a".repeat(long)),
        ("dotted names", format!("a{}", ".a".repeat(long / 2))),
        ("units", format!("1 ({}m)", "m ".repeat(long / 2))),
        ("arguments", format!("min(1{})", ", 1".repeat(long / 3))),
        ("commas", ",".repeat(long)),
        ("letters of another script", "ж".repeat(long / 2)),
    ];
    for (what, formula) in formulas {
        let found = found_in_formula(&formula);
        let [only] = found.as_slice() else {
            panic!("{what}: {found:?}");
        };
        assert!(only.contains(" boards/big/board.toml:8:"), "{what}: {only}");
    }
}

#[test]
fn other_texts_of_a_hundred_thousand_characters_end_in_a_finding() {
    let digits = "9".repeat(100_000);
    let folder = Folder::new();
    folder.write(
        "boards/big/board.toml",
        format!(
            "{BOARD}[figure.big]\nmeans = \"Big\"\ngiven = \"{digits} V\"\nsource = \"invented\"\n\
             says = \"5 V ± {digits} V\"\nmust = \"{digits}\"\nunit = \"{}\"\n\
             [figure.{}]\nmeans = \"Its id is long\"\nfrom = \"1\"\n",
            "m".repeat(100_000),
            "a".repeat(100_000),
        ),
    );
    folder.write(
        "boards/big/front.md",
        format!("# Big\n\nIt is [{digits} V](figure:big) or [5 V](figure:{digits}).\n"),
    );
    let notebook = folder.prove();
    let found = found(&notebook);
    for line in [8, 10, 11, 12, 13] {
        let place = format!(" boards/big/board.toml:{line}:");
        assert!(
            found.iter().any(|one| one.contains(&place)),
            "{place} in {found:?}"
        );
    }
    assert!(
        found.iter().any(|one| one.contains("front.md:3:")),
        "{found:?}"
    );
}

/// Each figure of the chain is computed from the one given value, so the time
/// goes with the square of its length; the stack does not.
#[test]
fn a_chain_of_two_hundred_figures_is_computed() {
    let mut record = format!(
        "{BOARD}[figure.f0]\nmeans = \"First\"\ngiven = \"1 V ±1 %\"\nsource = \"invented\"\n"
    );
    for at in 1..200 {
        let before = at - 1;
        record.push_str(&format!(
            "[figure.f{at}]\nmeans = \"Next\"\nfrom = \"f{before} * 1\"\n"
        ));
    }
    let folder = Folder::new();
    folder.write("boards/big/board.toml", record);
    let notebook = folder.prove();
    assert_eq!(found(&notebook), [""; 0]);
    assert_eq!(notebook.tally().hold, 200);
}

#[test]
fn a_circle_of_a_thousand_figures_is_told_once() {
    let mut record = BOARD.to_owned();
    for at in 0..1000 {
        let next = (at + 1) % 1000;
        record.push_str(&format!(
            "[figure.f{at}]\nmeans = \"One of many\"\nfrom = \"f{next}\"\n"
        ));
    }
    let folder = Folder::new();
    folder.write("boards/big/board.toml", record);
    assert_eq!(
        found(&folder.prove()),
        ["circular-figures boards/big/board.toml:8:9"]
    );
}

#[test]
fn records_as_deep_as_they_can_be_written_end_in_findings() {
    for text in [
        format!("{BOARD}[fitted]\nR1 = {}\n", "[".repeat(50_000)),
        format!("{BOARD}[fitted]\nR1 = {}\n", "{ a = ".repeat(20_000)),
        format!("{BOARD}[{}]\n", vec!["a"; 20_000].join(".")),
        format!("{BOARD}{} = 1\n", vec!["a"; 20_000].join(".")),
    ] {
        let folder = Folder::new();
        folder.write("boards/big/board.toml", &text);
        let notebook = folder.prove();
        let found = found(&notebook);
        assert!(
            !found.is_empty() && found.len() < 200,
            "{} findings",
            found.len()
        );
        assert!(!notebook.holds());
    }
}

#[test]
fn what_is_no_ordinary_file_is_told_and_never_waited_for() {
    let folder = Folder::new();
    folder.write("boards/big/board.toml", BOARD);
    let socket = folder.path("boards/big/front.md");
    let _listener = UnixListener::bind(&socket).expect("a socket can be made");
    let pipe = folder.path("boards/big/design.md");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.is_ok_and(|made| made.success()), "a pipe can be made");
    fs::create_dir_all(folder.path("parts/stock.toml")).expect("a folder can be made");
    std::os::unix::fs::symlink("nowhere", folder.path("boards/big/gone.md")).expect("a link");
    let notebook = folder.prove();
    assert_eq!(found(&notebook), ["file-unreadable"; 3]);
    for name in ["front.md", "design.md", "gone.md"] {
        let path = format!("`boards/big/{name}`");
        let told = |finding: &ohmbook::finding::Finding| finding.message.contains(&path);
        assert!(notebook.findings.iter().any(told), "{path}");
    }
}

#[test]
fn a_folder_that_may_not_be_read_is_told() {
    use std::os::unix::fs::PermissionsExt;

    let folder = Folder::new();
    folder.write("boards/big/board.toml", BOARD);
    let shut = folder.path("boards/big/board.toml");
    let mode = |mode| fs::set_permissions(&shut, fs::Permissions::from_mode(mode));
    mode(0o000).expect("it is ours");
    // An administrator may read everything, and then there is nothing to tell.
    let may_read = fs::read(&shut).is_ok();
    let notebook = folder.prove();
    mode(0o644).expect("it is ours");
    let expected: &[&str] = if may_read { &[] } else { &["file-unreadable"] };
    assert_eq!(found(&notebook), expected);
}

#[test]
fn a_folder_without_a_notebook_is_told_so() {
    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    let root = Utf8Path::from_path(folder.path()).expect("temporary folders have plain names");
    for root in [root, &root.join("nowhere")] {
        let notebook = Notebook::load(root, TODAY);
        let found = found(&notebook);
        assert!(found.contains(&"missing-record".to_owned()), "{found:?}");
        assert!(!notebook.holds());
    }
}

/// Every file of a notebook that holds, cut short after every few bytes, and
/// with every line taken out: whatever is left is proved without a panic, and
/// what is cut in the middle of a record does not pass.
#[test]
fn a_notebook_that_is_cut_short_anywhere_is_proved() {
    let text = include_str!("good/family.txt");
    let case = Case::parse(text);
    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    case.lay_out(folder.path());
    let root = Utf8Path::from_path(folder.path()).expect("temporary folders have plain names");
    let whole = Notebook::load(root, TODAY);
    assert!(whole.holds());
    let files: Vec<(Utf8PathBuf, String)> = whole
        .sources
        .iter()
        .map(|(_, file)| (root.join(&file.path), file.text.clone()))
        .collect();
    let mut failed = 0;
    let mut tried = 0;
    for (path, text) in &files {
        let cuts = (0..text.len())
            .step_by(17)
            .map(|at| text.as_bytes()[..at].to_vec());
        let lines = text.split_inclusive('\n');
        let without = (0..lines.clone().count()).map(|out| {
            let kept = lines.clone().enumerate().filter(|(at, _)| *at != out);
            kept.map(|(_, line)| line).collect::<String>().into_bytes()
        });
        for contents in cuts.chain(without) {
            fs::write(path, contents).expect("the copy can be written");
            let notebook = Notebook::load(root, TODAY);
            print(&notebook);
            tried += 1;
            failed += usize::from(!notebook.holds());
        }
        fs::write(path, text).expect("the copy can be written");
    }
    assert!(Notebook::load(root, TODAY).holds());
    assert!(
        tried > 150 && failed * 2 > tried,
        "{failed} of {tried} have errors"
    );
}
