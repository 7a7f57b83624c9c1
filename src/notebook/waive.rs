//! Waivers: findings that may stand until a date.

use jiff::civil::Date;

use crate::finding::{Finding, Slug, Sources};
use crate::nearest::nearest;
use crate::record::{Records, Waiver};

/// A finding that stands by leave of a waiver.
#[derive(Clone, Debug)]
pub struct Waived {
    /// The finding.
    pub finding: Finding,
    /// Why it may stand.
    pub reason: String,
    /// Last day on which it may.
    pub until: Date,
}

/// Findings that no waiver excuses: a missing safety text, and what kept the
/// notebook from being read at all.
const NEVER: &[Slug] = &[
    Slug::HazardWithoutCaution,
    Slug::FileUnreadable,
    Slug::TomlSyntax,
    Slug::MissingRecord,
    Slug::WaiverOverdue,
    Slug::WaiverIdle,
];

/// Takes waived findings out of the list. A waiver that is overdue, idle or
/// not understood adds a finding of its own.
pub(super) fn waive(
    sources: &Sources,
    records: &Records,
    today: Date,
    findings: &mut Vec<Finding>,
) -> Vec<Waived> {
    let mut waived = Vec::new();
    let boards = records.boards.iter().flat_map(|board| &board.waivers);
    for waiver in records.notebook.waivers.iter().chain(boards) {
        let Some(slug) = Slug::ALL
            .iter()
            .copied()
            .find(|slug| slug.name() == waiver.finding.value)
        else {
            findings.push(unknown(waiver));
            continue;
        };
        if NEVER.contains(&slug) {
            findings.push(
                Finding::new(Slug::BadValue, format!("`{slug}` cannot be waived"))
                    .at(waiver.finding.place.clone(), "mend what it says instead"),
            );
            continue;
        }
        let (matching, rest): (Vec<Finding>, Vec<Finding>) = std::mem::take(findings)
            .into_iter()
            .partition(|finding| matches(waiver, slug, finding, sources));
        *findings = rest;
        if matching.is_empty() {
            findings.push(
                Finding::new(
                    Slug::WaiverIdle,
                    format!("this waiver of `{slug}` matches no finding"),
                )
                .at(waiver.place.clone(), "waives nothing")
                .help("take it away, or mend its `place`"),
            );
        } else if waiver.until.value < today {
            findings.extend(matching);
            findings.push(
                Finding::new(
                    Slug::WaiverOverdue,
                    format!("this waiver of `{slug}` ran out on {}", waiver.until.value),
                )
                .at(waiver.until.place.clone(), "this day has passed")
                .help("mend what it waived, or decide again until when it may stand"),
            );
        } else {
            waived.extend(matching.into_iter().map(|finding| Waived {
                finding,
                reason: waiver.reason.value.clone(),
                until: waiver.until.value,
            }));
        }
    }
    waived
}

fn matches(waiver: &Waiver, slug: Slug, finding: &Finding, sources: &Sources) -> bool {
    let Some(place) = finding.place().filter(|_| finding.slug == slug) else {
        return false;
    };
    let file = sources.file(place.file);
    let (line, _) = file.line_column(place.start);
    match waiver.at.value.rsplit_once(':') {
        Some((path, at)) if at.bytes().all(|byte| byte.is_ascii_digit()) && !at.is_empty() => {
            file.path == path && at.parse() == Ok(line)
        }
        _ => file.path == waiver.at.value,
    }
}

fn unknown(waiver: &Waiver) -> Finding {
    let written = &waiver.finding.value;
    let finding = Finding::new(
        Slug::BadValue,
        format!("there is no kind of finding `{written}`"),
    )
    .at(waiver.finding.place.clone(), "no finding is called so");
    match nearest(written, Slug::ALL.iter().map(|slug| slug.name())) {
        Some(near) => finding.help(format!("perhaps `{near}`")),
        None => finding,
    }
}
