//! Seeded errors: the demo with one thing changed in it, again and again.
//!
//! Every stated number is changed by one unit of its last digit, in both
//! directions, one at a time. Proving must name it, at the right place, and
//! name nothing else. Where the number is a bound, a range's end or a band's
//! width, one of the two directions claims less than before and is still true;
//! then exactly the direction that claims more is caught.

#[path = "seeded/copy.rs"]
mod copy;
#[path = "seeded/other_part.rs"]
mod other_part;
#[path = "seeded/restated.rs"]
mod restated;
#[path = "seeded/stated.rs"]
mod stated;
#[path = "seeded/walk.rs"]
mod walk;
#[path = "seeded/wrong.rs"]
mod wrong;

use std::collections::BTreeMap;

use camino::Utf8PathBuf;
use copy::{Copy, serious};
use ohmbook::quantity::{Claim, Statement};
use stated::{Part, Stated};

/// Fewer stated numbers than these, and the demo shows too little.
const LEAST_NUMBERS: usize = 150;

/// One change.
struct Seed<'a> {
    stated: &'a Stated,
    part: Part,
    up: bool,
    text: String,
}

impl Seed<'_> {
    /// Whether its last digit that counts stands where it stood before.
    fn claims_as_far(&self, changed: &Statement) -> bool {
        let counting = |statement: &Statement| {
            let rough = matches!(statement.claim(), Claim::Value { rough: true, .. });
            let decimal = &statement.main().decimal;
            match rough {
                true => decimal.place_without_trailing_zeros(),
                false => decimal.place(),
            }
        };
        counting(changed) == counting(&self.stated.statement)
    }
}

#[test]
fn the_demo_as_it_stands_has_no_error_and_no_caution() {
    let notebook = Copy::of_the_demo().prove();
    assert_eq!(serious(&notebook), []);
    assert!(notebook.holds());
    // One board that was measured with the cell drawing beside it.
    let waived = notebook.waived.iter();
    let waived: Vec<&str> = waived.map(|waived| waived.finding.slug.name()).collect();
    assert_eq!(waived, ["reading-outside"]);
    let tally = notebook.tally();
    assert_eq!(tally.hold, tally.of);
}

#[test]
fn every_stated_number_that_is_off_by_one_digit_is_named_at_its_place() {
    let notebook = Copy::of_the_demo().prove();
    let stated = stated::all(&notebook);
    let seeds = seeds(&stated);
    let numbers = seeds.len() / 2;
    assert!(
        numbers >= LEAST_NUMBERS,
        "the demo states {numbers} numbers, and should state {LEAST_NUMBERS}"
    );

    let workers = std::thread::available_parallelism().map_or(2, usize::from);
    let misses: Vec<String> = std::thread::scope(|scope| {
        let share = seeds.len().div_ceil(workers);
        let work = seeds.chunks(share).map(|seeds| {
            scope.spawn(move || {
                let copy = Copy::of_the_demo();
                seeds.iter().filter_map(|seed| miss(&copy, seed)).collect()
            })
        });
        let work: Vec<_> = work.collect();
        let done = work.into_iter().map(|worker| worker.join());
        done.flat_map(|misses: std::thread::Result<Vec<String>>| misses.expect("no panic"))
            .collect()
    });
    assert!(
        misses.is_empty(),
        "{} of {} changes:\n{}",
        misses.len(),
        seeds.len(),
        misses.join("\n")
    );
}

/// Both changes of every numeral of every statement.
fn seeds(stated: &[Stated]) -> Vec<Seed<'_>> {
    let mut seeds = Vec::new();
    for stated in stated {
        for numeral in stated::numerals(&stated.statement) {
            for up in [true, false] {
                seeds.push(Seed {
                    stated,
                    part: numeral.part,
                    up,
                    text: stated::stepped(&stated.statement, &numeral, up),
                });
            }
        }
    }
    seeds
}

/// What is wrong with how a change is judged; `None` where nothing is.
fn miss(copy: &Copy, seed: &Seed<'_>) -> Option<String> {
    let Stated {
        path,
        start,
        line_column: (line, column),
        statement,
        outcome,
        ..
    } = seed.stated;
    let what = format!(
        "{path}:{line}:{column}: `{}` changed to `{}`",
        statement.text(),
        seed.text
    );
    let claims_more = match seed.part {
        Part::Value => true,
        Part::Floor => seed.up,
        Part::Ceiling => !seed.up,
    };
    let changed = match Statement::parse(&seed.text, None) {
        Ok(changed) => changed,
        Err(fault) => return Some(format!("{what} states nothing: {fault}")),
    };
    let is_true = stated::holds(&changed, *outcome);
    // From `≈ 2610` to `≈ 2600` one digit less counts, and that is a lesser claim.
    let claims_more = claims_more && (seed.claims_as_far(&changed) || !is_true);
    if is_true == claims_more {
        let word = if is_true {
            "still holds"
        } else {
            "no longer holds"
        };
        return Some(format!("{what}, and {word} for {outcome:?}"));
    }

    let mut text = copy.read(path);
    text.replace_range(*start..*start + statement.text().len(), &seed.text);
    let found = serious(&copy.prove_with(path, &text));
    let expected = (path.clone(), *line, *column);
    match found.as_slice() {
        [] if !claims_more => None,
        [only] if claims_more => {
            let right = only.slug == "figure-disagrees" && only.place.as_ref() == Some(&expected);
            (!right).then(|| format!("{what}, and what is found is {only:?}"))
        }
        other => Some(format!("{what}, and what is found is {other:?}")),
    }
}

#[test]
fn the_changes_reach_every_file_that_states_a_number() {
    let notebook = Copy::of_the_demo().prove();
    let mut numbers: BTreeMap<Utf8PathBuf, usize> = BTreeMap::new();
    for stated in stated::all(&notebook) {
        *numbers.entry(stated.path).or_default() += 1;
    }
    for board in &notebook.records.boards {
        for file in ["board.toml", "front.md"] {
            let path = Utf8PathBuf::from(format!("boards/{}/{file}", board.id.value));
            assert!(numbers.contains_key(&path), "{path} states no number");
        }
    }
    // A number that stands in a link and not in its place would be missed by
    // looking at the notebook alone: so the links are counted in the text too.
    for (_, file) in notebook
        .sources
        .iter()
        .filter(|(_, f)| f.path.extension() == Some("md"))
    {
        let linked = file
            .text
            .split("](figure:")
            .map(|before| before.rsplit('[').next().unwrap_or(""))
            .filter(|text| text.contains(|c: char| c.is_ascii_digit()))
            .count();
        // The last piece of the split stands before no address.
        let after = file.text.rsplit("](figure:").next().unwrap_or("");
        let after = after.rsplit('[').next().unwrap_or("");
        let surplus = usize::from(after.contains(|c: char| c.is_ascii_digit()));
        let known = numbers.get(&file.path).copied().unwrap_or(0);
        assert_eq!(known, linked - surplus, "{}", file.path);
    }
}
