//! Waivers: findings that may stand until a date.

use std::collections::BTreeSet;

use camino::{Utf8Path, Utf8PathBuf};
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

/// Findings behind which others may hide: what they speak of was left out.
const HIDING: &[Slug] = &[
    Slug::FileUnreadable,
    Slug::TomlSyntax,
    Slug::UnknownKey,
    Slug::MissingKey,
    Slug::WrongType,
    Slug::QuantityForm,
    Slug::UnknownUnit,
    Slug::FormulaForm,
    Slug::UnknownName,
    Slug::UnitMismatch,
    Slug::NotComputable,
    Slug::CircularFigures,
    Slug::BadCircuit,
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
    let hiding: BTreeSet<Utf8PathBuf> = (findings.iter())
        .filter(|finding| HIDING.contains(&finding.slug))
        .filter_map(|finding| sources.file(finding.place()?.file).path.parent())
        .map(Utf8Path::to_owned)
        .collect();
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
            // What it waives may come back as soon as that is mended.
            let of_file = Utf8Path::new(named(waiver).0);
            if of_file
                .parent()
                .is_some_and(|folder| hiding.contains(folder))
            {
                continue;
            }
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
    let (path, at) = named(waiver);
    file.path == path && at.is_none_or(|at| at == line)
}

/// The file that a waiver names, and the line where it names one.
fn named(waiver: &Waiver) -> (&str, Option<usize>) {
    let whole = waiver.at.value.as_str();
    let parts = whole.rsplit_once(':');
    match parts.and_then(|(path, line)| Some((path, line.parse().ok()?))) {
        Some((path, line)) => (path, Some(line)),
        None => (whole, None),
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
