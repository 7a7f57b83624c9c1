//! Findings of before and after, told apart.

use crate::finding::{Finding, Level, Place, Slug};

/// What findings of two proofs are paired by.
pub(super) fn key(finding: &Finding) -> (Slug, Option<&Place>, &str) {
    // A working may ask for several things at one place, each in its own words,
    // and the words of other findings hold numbers.
    let words = match finding.slug {
        Slug::RelationBroken => finding.message.as_str(),
        _ => "",
    };
    (finding.slug, finding.place(), words)
}

#[derive(Default)]
pub(super) struct Pairs {
    pub broken: Vec<Finding>,
    pub mended: Vec<Finding>,
    pub still: Vec<Finding>,
}

/// Findings of before and after, told apart. Notes are left out.
pub(super) fn paired(was: Vec<Finding>, now: Vec<Finding>) -> Pairs {
    let mut pairs = Pairs::default();
    let mut was: Vec<Option<Finding>> = was.into_iter().map(Some).collect();
    for finding in now {
        if finding.level == Level::Note {
            continue;
        }
        let same = |known: &&mut Option<Finding>| {
            known
                .as_ref()
                .is_some_and(|known| key(known) == key(&finding))
        };
        match was.iter_mut().find(same) {
            Some(known) => {
                *known = None;
                pairs.still.push(finding);
            }
            None => pairs.broken.push(finding),
        }
    }
    let rest = was.into_iter().flatten();
    pairs.mended = rest
        .filter(|finding| finding.level != Level::Note)
        .collect();
    pairs
}
