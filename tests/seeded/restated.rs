//! Every stated number of the demo changed, and all of them restated.

use std::collections::BTreeMap;
use std::fs;

use camino::Utf8PathBuf;
use ohmbook::finding::Slug;
use ohmbook::notebook::Notebook;
use ohmbook::quantity::Statement;

use crate::copy::Copy;
use crate::stated::{self, Stated};

fn disagreements(notebook: &Notebook) -> usize {
    let findings = notebook.findings.iter();
    findings
        .filter(|finding| finding.slug == Slug::FigureDisagrees)
        .count()
}

/// Changes one numeral of each statement by one unit of its last digit.
fn spoil(copy: &Copy, all: &[Stated], which: usize, up: bool) {
    let mut by_file: BTreeMap<&Utf8PathBuf, Vec<&Stated>> = BTreeMap::new();
    for stated in all {
        by_file.entry(&stated.path).or_default().push(stated);
    }
    for (path, mut stated) in by_file {
        stated.sort_by_key(|stated| std::cmp::Reverse(stated.start));
        stated.dedup_by_key(|stated| stated.start);
        let mut text = copy.read(path);
        for one in stated {
            let numerals = stated::numerals(&one.statement);
            let numeral = &numerals[which.min(numerals.len() - 1)];
            let changed = stated::stepped(&one.statement, numeral, up);
            if Statement::parse(&changed, None).is_ok() {
                let end = one.start + one.statement.text().len();
                text.replace_range(one.start..end, &changed);
            }
        }
        fs::write(copy.root().join(path), text).expect("the copy can be written");
    }
}

/// The form of a statement: its text with every digit blanked out and runs of
/// them taken together, since a number may get another digit.
fn form(text: &str) -> String {
    let mut form = String::new();
    for c in text.chars() {
        match c {
            '0'..='9' => {
                if !form.ends_with('#') {
                    form.push('#');
                }
            }
            c => form.push(c),
        }
    }
    form
}

#[test]
fn whatever_is_changed_is_restated_and_keeps_its_form() {
    for (which, up) in [(0, true), (0, false), (1, true), (1, false)] {
        let copy = Copy::of_the_demo();
        let all = stated::all(&copy.prove());
        spoil(&copy, &all, which, up);
        let notebook = copy.prove();
        assert!(
            disagreements(&notebook) > all.len() / 4,
            "hardly anything was spoilt"
        );
        let restated = notebook.restated();
        assert!(restated.left.is_empty(), "{:?}", restated.left);
        for file in &restated.files {
            let lines = file.before.lines().zip(file.after.lines());
            for (before, after) in lines {
                assert_eq!(form(before), form(after), "{}", file.path);
            }
            assert_eq!(file.before.lines().count(), file.after.lines().count());
            fs::write(copy.root().join(&file.path), &file.after).expect("the copy can be written");
        }
        let again = copy.prove();
        assert_eq!(disagreements(&again), 0, "{:?}", again.findings);
        assert!(again.restated().files.is_empty());
    }
}
