//! Reference designators as lists group them: `R1-R4, R7`.

use std::ops::Range;

use super::shape::Names;

/// A longer run than this is a slip, not a board.
const LONGEST: u32 = 2_000;

/// A designator, with the bytes that name it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Listed {
    /// The designator.
    pub name: String,
    /// The bytes of it, or of the run that it is in.
    pub span: Range<usize>,
}

/// Something in a list of designators that is none.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct NoDesignator {
    /// Its bytes.
    pub span: Range<usize>,
    /// What is wrong with it, in a phrase.
    pub why: &'static str,
}

/// Reads a list of designators. Commas, semicolons and spaces stand between
/// them; `R1-R4`, `R1-4`, `R1..R4` and `R1 to R4` are runs.
pub(crate) fn designators(text: &str) -> (Vec<Listed>, Vec<NoDesignator>) {
    let (mut listed, mut faults) = (Vec::new(), Vec::new());
    let words = words(text);
    let mut at = 0;
    while let Some(first) = words.get(at) {
        // `R1 - R4` and `R1 to R4`, with spaces around what joins them.
        let joined = words
            .get(at + 1)
            .is_some_and(|word| is_join(&text[word.clone()]));
        let span = match words.get(at + 2) {
            Some(last) if joined => first.start..last.end,
            _ => first.clone(),
        };
        at += if span == *first { 1 } else { 3 };
        match run(&text[span.clone()]) {
            Ok(names) => listed.extend(names.into_iter().map(|name| Listed {
                name,
                span: span.clone(),
            })),
            Err(why) => faults.push(NoDesignator { span, why }),
        }
    }
    (listed, faults)
}

fn words(text: &str) -> Vec<Range<usize>> {
    let mut words: Vec<Range<usize>> = Vec::new();
    let between = |c: char| c == ',' || c == ';' || c.is_whitespace();
    for (at, letter) in text.char_indices().filter(|(_, c)| !between(*c)) {
        let end = at + letter.len_utf8();
        match words.last_mut().filter(|word| word.end == at) {
            Some(word) => word.end = end,
            None => words.push(at..end),
        }
    }
    words
}

const JOINS: [&str; 6] = ["-", "–", "−", "...", "..", "to"];

fn is_join(word: &str) -> bool {
    JOINS.contains(&word)
}

/// The designators of one word, which may be a run.
fn run(word: &str) -> Result<Vec<String>, &'static str> {
    let is_one = |text: &str| Names::Designator.check(text).is_ok();
    if is_one(word) {
        return Ok(vec![word.to_owned()]);
    }
    let split = JOINS.iter().find_map(|join| word.split_once(join));
    let (first, last) = split.ok_or("not a reference designator")?;
    let (first, last) = (first.trim(), last.trim());
    if !is_one(first) {
        return Err("not a run of reference designators");
    }
    let letters = first.trim_end_matches(|c: char| c.is_ascii_digit());
    let last = last.strip_prefix(letters).unwrap_or(last);
    let number = |text: &str| text.parse::<u32>().ok();
    let ends = number(&first[letters.len()..]).zip(number(last));
    let (from, to) = ends.ok_or("not a run of reference designators")?;
    if to < from {
        return Err("a run that ends before it begins");
    }
    if to - from > LONGEST {
        return Err("a run of more parts than a board carries");
    }
    Ok((from..=to)
        .map(|number| format!("{letters}{number}"))
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(text: &str) -> Vec<String> {
        let (listed, faults) = designators(text);
        assert_eq!(faults, [], "{text}");
        listed.into_iter().map(|listed| listed.name).collect()
    }

    #[test]
    fn runs_and_lists_are_read_in_every_way_that_they_are_written() {
        let wanted = ["R1", "R2", "R3", "R4", "R7"];
        for text in [
            "R1-R4, R7",
            "R1-4,R7",
            "R1 - R4; R7",
            "R1..R4 R7",
            "R1–R4\nR7",
            "R1 to R4, R7",
            "R1, R2, R3, R4, R7,",
        ] {
            assert_eq!(names(text), wanted, "{text}");
        }
        assert_eq!(names("BT1"), ["BT1"]);
        assert_eq!(names("C9-C11"), ["C9", "C10", "C11"]);
        assert!(names(" , ").is_empty());
    }

    #[test]
    fn what_is_no_designator_is_told_with_its_bytes() {
        let fault = |text: &str| {
            let (_, faults) = designators(text);
            assert_eq!(faults.len(), 1, "{text}");
            (text[faults[0].span.clone()].to_owned(), faults[0].why)
        };
        assert_eq!(fault("R1, 10k").0, "10k");
        assert_eq!(fault("R4-R1").1, "a run that ends before it begins");
        assert_eq!(fault("R1-C4").0, "R1-C4");
        assert_eq!(
            fault("R1-R99999").1,
            "a run of more parts than a board carries"
        );
        assert_eq!(fault("r1").0, "r1");
    }
}
