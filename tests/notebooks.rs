//! Small notebooks, good and bad, with what is found in each.
//!
//! The cases are text files in `tests/notebooks/good` and `tests/notebooks/bad`;
//! [`case`] says how they are written. What a text file cannot hold, such as
//! 50 MB of Markdown or a full disk, is made in the modules here.

#[path = "notebooks/case.rs"]
mod case;
#[path = "notebooks/hostile.rs"]
mod hostile;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use camino::Utf8Path;
use case::{Case, TODAY};
use ohmbook::finding::{Finding, Level, Slug};
use ohmbook::notebook::Notebook;

/// Kinds of finding that no case here provokes, and why.
const ELSEWHERE: &[(Slug, &str)] = &[(
    Slug::TooLarge,
    "such a file is made in `hostile`, and not stored",
)];

/// The cases of a folder.
fn cases(folder: &str) -> Vec<(PathBuf, Case)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/notebooks")
        .join(folder);
    let entries = fs::read_dir(&folder).expect("the cases are there");
    let mut paths: Vec<PathBuf> = entries
        .map(|entry| entry.expect("the folder can be read").path())
        .collect();
    paths.sort();
    let read = |path: PathBuf| {
        let text = fs::read_to_string(&path).expect("a case is text");
        (path, Case::parse(&text))
    };
    paths.into_iter().map(read).collect()
}

/// Lays a case out, proves it, and holds it against what it expects.
fn check(path: &Path, case: &Case) -> (Vec<Finding>, Vec<String>) {
    let folder = tempfile::tempdir().expect("a temporary folder can be made");
    // One folder further down, so that a link out of the notebook stays in here.
    let root = folder.path().join("notebook");
    case.lay_out(&root);
    let root = Utf8Path::from_path(&root).expect("temporary folders have plain names");
    let notebook = Notebook::load(root, TODAY);
    case::print(&notebook);
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let differences = case.differences(&notebook).into_iter();
    let differences = differences.map(|line| format!("{name}: {line}")).collect();
    (notebook.findings, differences)
}

/// Checks all cases of a folder; returns the kinds that were found, of each
/// case the worst level, and fails with all differences together.
#[track_caller]
fn check_all(folder: &str) -> (BTreeSet<Slug>, Vec<(PathBuf, Option<Level>)>) {
    let (mut slugs, mut levels, mut wrong) = (BTreeSet::new(), Vec::new(), Vec::new());
    for (path, case) in cases(folder) {
        let (findings, differences) = check(&path, &case);
        slugs.extend(findings.iter().map(|finding| finding.slug));
        levels.push((path, findings.iter().map(|finding| finding.level).min()));
        wrong.extend(differences);
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
    (slugs, levels)
}

#[test]
fn good_notebooks_have_no_error() {
    let (_, levels) = check_all("good");
    for (path, worst) in levels {
        assert_ne!(
            worst,
            Some(Level::Error),
            "{} is no good one",
            path.display()
        );
    }
}

#[test]
fn bad_notebooks_are_told_what_is_wrong_and_where() {
    let (_, levels) = check_all("bad");
    for (path, worst) in levels {
        assert!(worst.is_some(), "{} is no bad one", path.display());
    }
}

#[test]
fn every_kind_of_finding_is_provoked() {
    let (mut slugs, _) = check_all("bad");
    slugs.extend(check_all("good").0);
    for slug in Slug::ALL {
        let elsewhere = ELSEWHERE.iter().find(|(known, _)| known == slug);
        match (slugs.contains(slug), elsewhere) {
            (false, None) => panic!("add a case to tests/notebooks/bad in which `{slug}` is found"),
            (true, Some((_, why))) => panic!("`{slug}` is found here; it is listed as: {why}"),
            _ => {}
        }
    }
}
