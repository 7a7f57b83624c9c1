//! The order in which findings are told.

use super::{Finding, Sources};

/// Findings in the order of the files' paths and of the places in them, each
/// one once.
///
/// Findings that have no place come first: they are about the whole notebook.
/// Findings of one place are ordered by slug, then by message; whatever is
/// still equal keeps the order it was found in. The order does not depend on
/// the order in which the files were read.
pub fn order(mut findings: Vec<Finding>, sources: &Sources) -> Vec<Finding> {
    findings.sort_by(|a, b| key(a, sources).cmp(&key(b, sources)));
    let mut kept: Vec<Finding> = Vec::with_capacity(findings.len());
    for finding in findings {
        // Equal findings have equal keys, so they stand close together.
        let known = kept
            .iter()
            .rev()
            .take_while(|earlier| key(earlier, sources) == key(&finding, sources))
            .any(|earlier| *earlier == finding);
        if !known {
            kept.push(finding);
        }
    }
    kept
}

/// What findings are ordered by. Byte offsets stand for line and column, which
/// they order alike.
fn key<'a>(
    finding: &'a Finding,
    sources: &'a Sources,
) -> (Option<(&'a str, usize)>, &'static str, &'a str) {
    let place = finding
        .place()
        .map(|place| (sources.file(place.file).path.as_str(), place.start));
    (place, finding.slug.name(), &finding.message)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{Place, Slug};

    #[test]
    fn findings_follow_path_place_and_slug_whatever_the_order_of_reading() {
        let mut sources = Sources::default();
        let late = sources.add("boards/b/board.toml", "x = 1\ny = 2\n".into());
        let early = sources.add("boards/a/board.toml", "x = 1\n".into());
        let at =
            |slug, file, span, says: &str| Finding::new(slug, says).at(Place::new(file, span), "");

        let found = vec![
            at(Slug::UnknownKey, late, 6..7, "fourth"),
            at(Slug::WrongType, late, 0..1, "third"),
            at(Slug::UnknownKey, early, 0..1, "second"),
            at(Slug::BadValue, early, 0..1, "first"),
            Finding::new(Slug::MissingRecord, "nothing in it"),
        ];
        let messages = |found: &[Finding]| {
            let all: Vec<String> = found.iter().map(|f| f.message.clone()).collect();
            all.join(", ")
        };
        let ordered = order(found.clone(), &sources);
        assert_eq!(
            messages(&ordered),
            "nothing in it, first, second, third, fourth"
        );
        let backwards = order(found.into_iter().rev().collect(), &sources);
        assert_eq!(messages(&backwards), messages(&ordered));
    }

    #[test]
    fn a_finding_is_told_once_but_another_note_makes_it_another() {
        let sources = Sources::default();
        let plain = Finding::new(Slug::NotComputable, "no value");
        let noted = plain.clone().note("R1 is zero");
        let found = vec![plain.clone(), noted.clone(), plain.clone()];
        assert_eq!(order(found, &sources), [plain, noted]);
    }
}
