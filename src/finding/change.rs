//! Texts with other pieces put in, and such changes as a unified diff, the form
//! that `patch` and version control read (IEEE Std 1003.1, `diff -u`).

use std::fmt::Write;
use std::ops::Range;

/// Lines shown around a change.
const CONTEXT: usize = 3;

/// A text with other pieces in it, given the bytes that each takes the place of.
/// A piece that overlaps one before it is left out.
pub(crate) fn edited(text: &str, mut edits: Vec<(Range<usize>, String)>) -> String {
    edits.sort_by_key(|(span, _)| span.start);
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for (span, new) in edits {
        if span.start < at {
            continue;
        }
        out.push_str(text.get(at..span.start).unwrap_or(""));
        out.push_str(&new);
        at = span.end;
    }
    out.push_str(text.get(at..).unwrap_or(""));
    out
}

/// The change of a file whose lines are changed, never added or taken away, under
/// the names of the file before and after. Nothing where nothing changes, or where
/// the lines are not as many as they were.
pub fn unified(names: [&str; 2], before: &str, after: &str) -> String {
    let (before, after) = (lines(before), lines(after));
    let mut out = String::new();
    if before.len() != after.len() || before == after {
        return out;
    }
    let changed: Vec<usize> = (0..before.len())
        .filter(|at| after[*at] != before[*at])
        .collect();
    // Writing to a string does not fail.
    let _ = writeln!(out, "--- {}\n+++ {}", names[0], names[1]);
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
        let text: String = (1..=20)
            .map(|number| format!("R{number} = \"a\"\n"))
            .collect();
        let text = text + "end";
        let at = |line: &str| {
            let start = text.find(line).unwrap_or(0) + line.len() - 2;
            start..start + 1
        };
        let edits =
            ["R2 = \"a\"", "R3 = \"a\"", "R20 = \"a\""].map(|line| (at(line), "b".to_owned()));
        let path = "boards/lamp/board.toml";
        let names = [&*format!("a/{path}"), &*format!("b/{path}")];
        assert_eq!(
            unified(names, &text, &edited(&text, edits.to_vec())),
            "--- a/boards/lamp/board.toml\n+++ b/boards/lamp/board.toml\n@@ -1,6 +1,6 @@\n R1 = \"a\"\n-R2 = \"a\"\n-R3 = \"a\"\n+R2 = \"b\"\n+R3 = \"b\"\n R4 = \"a\"\n R5 = \"a\"\n R6 = \"a\"\n@@ -17,5 +17,5 @@\n R17 = \"a\"\n R18 = \"a\"\n R19 = \"a\"\n-R20 = \"a\"\n+R20 = \"b\"\n end\n\\ No newline at end of file\n"
        );
        assert_eq!(unified(names, &text, &edited(&text, Vec::new())), "");
    }
}
