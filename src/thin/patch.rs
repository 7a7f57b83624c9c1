//! Changes to files as a unified diff, the form that `patch` and version control
//! read (IEEE Std 1003.1, `diff -u`).

use std::collections::BTreeMap;
use std::fmt::Write;

use crate::finding::{FileId, Place, SourceFile, Sources};

/// Lines shown around a change.
const CONTEXT: usize = 3;

/// The diff of edits: each place gets its text. Edits that overlap one before them
/// are left out. Lines stay lines: no text that is put in has an end of line.
pub(super) fn unified(sources: &Sources, edits: Vec<(Place, String)>) -> String {
    let mut by_file: BTreeMap<FileId, Vec<(Place, String)>> = BTreeMap::new();
    for edit in edits {
        by_file.entry(edit.0.file).or_default().push(edit);
    }
    let mut files: Vec<(&SourceFile, Vec<(Place, String)>)> = by_file
        .into_iter()
        .map(|(file, edits)| (sources.file(file), edits))
        .collect();
    files.sort_by(|(a, _), (b, _)| a.path.cmp(&b.path));
    let mut out = String::new();
    for (file, mut edits) in files {
        edits.sort_by_key(|(place, _)| place.start);
        let after = edited(&file.text, &edits);
        let (before, after): (Vec<&str>, Vec<&str>) = (lines(&file.text), lines(&after));
        let changed: Vec<usize> = (0..before.len())
            .filter(|at| after.get(*at) != before.get(*at))
            .collect();
        if changed.is_empty() || before.len() != after.len() {
            continue;
        }
        let path = &file.path;
        // Writing to a string does not fail.
        let _ = writeln!(out, "--- a/{path}\n+++ b/{path}");
        let mut rest = changed.as_slice();
        while let [first, ..] = rest {
            let mut last = *first;
            let mut count = 0;
            for at in rest {
                if *at > last + 2 * CONTEXT {
                    break;
                }
                last = *at;
                count += 1;
            }
            rest = &rest[count..];
            let from = first.saturating_sub(CONTEXT);
            let to = (last + CONTEXT + 1).min(before.len());
            let length = to - from;
            let _ = writeln!(out, "@@ -{0},{length} +{0},{length} @@", from + 1);
            hunk(&before[from..to], &after[from..to], &mut out);
        }
    }
    out
}

fn edited(text: &str, edits: &[(Place, String)]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for (place, new) in edits {
        if place.start < at {
            continue;
        }
        out.push_str(text.get(at..place.start).unwrap_or(""));
        out.push_str(new);
        at = place.end;
    }
    out.push_str(text.get(at..).unwrap_or(""));
    out
}

/// Lines with their ends.
fn lines(text: &str) -> Vec<&str> {
    text.split_inclusive('\n').collect()
}

/// Lines that stay, those that go, and those that come; of lines that change in a
/// row first all that go.
fn hunk(before: &[&str], after: &[&str], out: &mut String) {
    let mut at = 0;
    while at < before.len() {
        if before[at] == after[at] {
            line(' ', before[at], out);
            at += 1;
            continue;
        }
        let end = (at..before.len())
            .find(|at| before[*at] == after[*at])
            .unwrap_or(before.len());
        before[at..end].iter().for_each(|text| line('-', text, out));
        after[at..end].iter().for_each(|text| line('+', text, out));
        at = end;
    }
}

fn line(mark: char, text: &str, out: &mut String) {
    out.push(mark);
    out.push_str(text);
    if !text.ends_with('\n') {
        out.push_str("\n\\ No newline at end of file\n");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_near_each_other_share_a_piece_of_the_diff() {
        let mut sources = Sources::default();
        let text: String = (1..=20)
            .map(|number| format!("R{number} = \"a\"\n"))
            .collect();
        let file = sources.add("boards/lamp/board.toml", text.clone() + "end");
        let at = |line: &str| {
            let start = text.find(line).unwrap_or(0) + line.len() - 2;
            Place::new(file, start..start + 1)
        };
        let edits =
            ["R2 = \"a\"", "R3 = \"a\"", "R20 = \"a\""].map(|line| (at(line), "b".to_owned()));
        assert_eq!(
            unified(&sources, edits.to_vec()),
            "--- a/boards/lamp/board.toml\n+++ b/boards/lamp/board.toml\n@@ -1,6 +1,6 @@\n R1 = \"a\"\n-R2 = \"a\"\n-R3 = \"a\"\n+R2 = \"b\"\n+R3 = \"b\"\n R4 = \"a\"\n R5 = \"a\"\n R6 = \"a\"\n@@ -17,5 +17,5 @@\n R17 = \"a\"\n R18 = \"a\"\n R19 = \"a\"\n-R20 = \"a\"\n+R20 = \"b\"\n end\n\\ No newline at end of file\n"
        );
        assert_eq!(unified(&sources, Vec::new()), "");
    }
}
