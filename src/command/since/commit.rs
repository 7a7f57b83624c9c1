//! A notebook as it was in a commit of the git repository round it, in a temporary
//! folder. The system's own `git` reads the repository; nothing in it changes.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Component, Path};
use std::process::{Command, Output, Stdio};

use camino::Utf8Path;
use tempfile::TempDir;

/// Largest file that is taken, in bytes.
const LARGEST: usize = 50_000_000;

/// A notebook in a temporary folder, which goes with this.
pub struct Taken(TempDir);

impl Taken {
    pub fn notebook(&self) -> &Utf8Path {
        // `take` saw to it.
        Utf8Path::from_path(self.0.path()).unwrap_or(Utf8Path::new("."))
    }
}

fn git(dir: &Utf8Path, arguments: &[&str]) -> Result<Output, String> {
    let mut command = Command::new("git");
    command.arg("-C").arg(dir).args(arguments);
    command.stdin(Stdio::null());
    command.output().map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => {
            "commits are read by `git`, and there is no such program here: name a folder with the earlier notebook".to_owned()
        }
        _ => format!("`git` cannot be run: {error}"),
    })
}

/// Takes the notebook in `dir` as it was in a commit.
pub fn take(dir: &Utf8Path, name: &str) -> Result<Taken, String> {
    let inside = git(dir, &["rev-parse", "--is-inside-work-tree"])?;
    if !inside.status.success() {
        return Err(format!(
            "`{name}` is no folder and no revision of a board, and `{dir}` lies in no git repository whose commit it could be"
        ));
    }
    let commit = format!("{name}^{{commit}}");
    let known = git(
        dir,
        &[
            "rev-parse",
            "--verify",
            "--quiet",
            "--end-of-options",
            &commit,
        ],
    )?;
    if !known.status.success() {
        return Err(format!(
            "`{name}` is no folder, no revision of a board, and no commit of the git repository round `{dir}`"
        ));
    }
    let commit = String::from_utf8_lossy(&known.stdout).trim().to_owned();
    let listed = git(dir, &["ls-tree", "-r", "-z", &commit])?;
    if !listed.status.success() {
        let why = String::from_utf8_lossy(&listed.stderr).trim().to_owned();
        return Err(format!("the files of `{name}` cannot be listed: {why}"));
    }
    let folder =
        tempfile::tempdir().map_err(|error| format!("no temporary folder can be made: {error}"))?;
    if Utf8Path::from_path(folder.path()).is_none() {
        return Err("the name of the temporary folder is not UTF-8".to_owned());
    }
    let mut files = Vec::new();
    for entry in listed.stdout.split(|byte| *byte == 0) {
        // `100644 blob <id>\t<path>`; links and what lies in other repositories
        // are left out.
        let entry = String::from_utf8_lossy(entry);
        let Some((head, path)) = entry.split_once('\t') else {
            continue;
        };
        let mut head = head.split(' ');
        let is_file = matches!(head.next(), Some("100644" | "100755"));
        let id = head.nth(1).unwrap_or("");
        let is_inside = Path::new(path)
            .components()
            .all(|step| matches!(step, Component::Normal(_)));
        if is_file && is_inside {
            files.push((id.to_owned(), path.to_owned()));
        }
    }
    if !files.iter().any(|(_, path)| path == "notebook.toml") {
        return Err(format!(
            "in the commit `{name}` there is no `notebook.toml` at `{dir}`"
        ));
    }
    contents(dir, folder.path(), &files)
        .map_err(|error| format!("the files of `{name}` cannot be read: {error}"))?;
    Ok(Taken(folder))
}

/// Writes the contents of files into a folder. One `git` reads them all.
fn contents(dir: &Utf8Path, folder: &Path, files: &[(String, String)]) -> std::io::Result<()> {
    let mut reader = Command::new("git")
        .arg("-C")
        .arg(dir)
        .args(["cat-file", "--batch"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()?;
    let broken = || std::io::Error::other("`git` ended early");
    let mut asks = reader.stdin.take().ok_or_else(broken)?;
    let mut answers = BufReader::new(reader.stdout.take().ok_or_else(broken)?);
    for (id, path) in files {
        writeln!(asks, "{id}")?;
        asks.flush()?;
        let mut head = String::new();
        answers.read_line(&mut head)?;
        let size = head
            .trim()
            .rsplit(' ')
            .next()
            .and_then(|size| size.parse::<usize>().ok());
        let size = size.filter(|size| *size <= LARGEST).ok_or_else(broken)?;
        let mut bytes = vec![0; size + 1];
        answers.read_exact(&mut bytes)?;
        // A line's end follows each.
        bytes.pop();
        let to = folder.join(path);
        if let Some(parent) = to.parent() {
            fs::create_dir_all(parent)?;
        }
        fs::write(to, bytes)?;
    }
    drop(asks);
    reader.wait()?;
    Ok(())
}
