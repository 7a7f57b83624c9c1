//! A place to run the program in, and what comes of it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;
use walkdir::WalkDir;

/// The demo notebook.
pub const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");

/// The program.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_ohmbook");

/// A temporary folder with the program at hand.
pub struct Desk {
    folder: TempDir,
}

/// What a run printed, and its exit code.
pub struct Run {
    pub out: String,
    pub err: String,
    pub code: Option<i32>,
}

impl Desk {
    pub fn new() -> Desk {
        let folder = tempfile::tempdir().expect("a temporary folder can be made");
        Desk { folder }
    }

    /// A path on the desk.
    pub fn at(&self, path: &str) -> PathBuf {
        self.folder.path().join(path)
    }

    /// The program with these arguments, run in the folder of the desk. Nothing
    /// of what this test itself runs in shall colour what it prints.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(PROGRAM);
        command.args(arguments).current_dir(self.folder.path());
        command.stdin(Stdio::null());
        for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"] {
            command.env_remove(name);
        }
        command
    }

    /// Runs the program.
    pub fn run(&self, arguments: &[&str]) -> Run {
        let output = self.command(arguments).output();
        Run::of(output.expect("the program can be run"))
    }

    /// Runs a line of the shell, in which `$OHMBOOK` is the program.
    pub fn shell(&self, line: &str) -> Run {
        let mut shell = Command::new("sh");
        shell.args(["-c", line]).current_dir(self.folder.path());
        shell.env("OHMBOOK", PROGRAM).stdin(Stdio::null());
        Run::of(shell.output().expect("there is a shell"))
    }

    /// Writes a file.
    pub fn write(&self, path: &str, contents: &str) {
        let path = self.at(path);
        let parent = path.parent().expect("it lies on the desk");
        fs::create_dir_all(parent).expect("a folder can be made");
        fs::write(path, contents).expect("a file can be written");
    }

    /// Changes a file by putting other text in the place of some.
    pub fn change(&self, path: &str, from: &str, to: &str) {
        let before = fs::read_to_string(self.at(path)).expect("the file is there");
        assert!(before.contains(from), "`{from}` in {path}");
        self.write(path, &before.replace(from, to));
    }

    /// Makes a small notebook with `start`.
    pub fn start(&self, name: &str) {
        let run = self.run(&["start", name]);
        assert_eq!(run.code, Some(0), "{}", run.err);
    }

    /// Names left on the desk, other than these.
    pub fn others(&self, known: &[&str]) -> Vec<String> {
        let entries = fs::read_dir(self.folder.path()).expect("the desk can be read");
        let names = entries.map(|entry| {
            let name = entry.expect("the desk can be read").file_name();
            name.into_string().expect("a plain name")
        });
        names
            .filter(|name| !known.contains(&name.as_str()))
            .collect()
    }
}

impl Run {
    pub fn of(output: Output) -> Run {
        let text = |bytes| String::from_utf8(bytes).expect("what is printed is UTF-8");
        let run = Run {
            out: text(output.stdout),
            err: text(output.stderr),
            code: output.status.code(),
        };
        assert!(!run.err.contains("panicked"), "{}", run.err);
        run
    }

    /// Sees that it ended with this exit code.
    #[track_caller]
    pub fn ends(self, code: i32) -> Run {
        assert_eq!(self.code, Some(code), "{}{}", self.out, self.err);
        self
    }

    /// Sees that this stands in what it printed to standard error.
    #[track_caller]
    pub fn says(self, words: &str) -> Run {
        assert!(self.err.contains(words), "`{words}` in {}", self.err);
        self
    }
}

/// All files below a folder with their bytes.
pub fn tree(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut tree = BTreeMap::new();
    for entry in WalkDir::new(folder) {
        let entry = entry.expect("the folder can be walked");
        if entry.file_type().is_file() {
            let path = entry.path().strip_prefix(folder).expect("it lies in there");
            let bytes = fs::read(entry.path()).expect("the file can be read");
            tree.insert(path.to_owned(), bytes);
        }
    }
    tree
}
