//! The findings sheet: what is left to look at, and what stands by leave of a
//! waiver.

use serde::Serialize;

use super::book::Book;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::markup::with_names;
use super::view::Sheet;
use super::zone::Zones;
use crate::finding::{Finding, Level, Slug};

/// What only the findings sheet has.
#[derive(Debug, Serialize)]
pub(crate) struct Findings {
    lead: String,
    groups: Vec<Group>,
}

/// Findings of one level, or those that were waived.
#[derive(Debug, Serialize)]
struct Group {
    id: &'static str,
    zone: String,
    title: &'static str,
    kinds: Vec<Kind>,
}

/// Findings of one kind.
#[derive(Debug, Serialize)]
struct Kind {
    slug: &'static str,
    says: &'static str,
    findings: Vec<FindingView>,
}

/// A finding.
#[derive(Debug, Serialize)]
struct FindingView {
    message_html: String,
    places: Vec<PlaceView>,
    notes_html: Vec<String>,
    help_html: Option<String>,
    reason: Option<String>,
    until: Option<String>,
    amiss: bool,
}

/// A place in the notebook's files.
#[derive(Debug, Serialize)]
struct PlaceView {
    at: String,
    text_html: String,
}

/// The findings sheet.
pub(crate) fn findings_sheet(book: &Book<'_>) -> Sheet<Findings> {
    let mut zones = Zones::default();
    zones.next();
    let notebook = book.notebook;
    let of = |level: Level| -> Vec<FindingView> {
        let findings = notebook.findings.iter();
        findings
            .filter(|finding| finding.level == level)
            .map(|finding| view(book, finding))
            .collect()
    };
    let slugs = |level: Level| {
        let findings = notebook.findings.iter();
        findings
            .filter(move |finding| finding.level == level)
            .map(|finding| finding.slug)
            .collect::<Vec<Slug>>()
    };
    let waived: Vec<FindingView> = notebook
        .waived
        .iter()
        .map(|waived| FindingView {
            reason: Some(waived.reason.clone()),
            until: Some(waived.until.to_string()),
            ..view(book, &waived.finding)
        })
        .collect();
    let waived_slugs = notebook.waived.iter().map(|waived| waived.finding.slug);
    let groups = [
        ("errors", "Errors", slugs(Level::Error), of(Level::Error)),
        (
            "cautions",
            "Cautions",
            slugs(Level::Caution),
            of(Level::Caution),
        ),
        ("waived", "Waived", waived_slugs.collect(), waived),
        ("notes", "Notes", slugs(Level::Note), of(Level::Note)),
    ];
    let count = |at: usize| groups.get(at).map_or(0, |group| group.2.len());
    let lead = format!(
        "Errors: {}. Cautions: {}. Waived: {}. Notes: {}.",
        count(0),
        count(1),
        count(2),
        count(3)
    );
    let groups = groups
        .into_iter()
        .filter(|(_, _, slugs, _)| !slugs.is_empty())
        .map(|(id, title, slugs, views)| Group {
            id,
            zone: zones.next(),
            title,
            kinds: kinds(slugs, views),
        })
        .collect();
    let parts = Parts {
        description: format!("What is left to look at in this notebook: {lead}"),
        cautions: Vec::new(),
        stated: &[],
        face: Findings { lead, groups },
    };
    sheet(book, Page::Findings, parts)
}

/// Findings by their kind; kinds in the order of their first finding.
fn kinds(slugs: Vec<Slug>, views: Vec<FindingView>) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = Vec::new();
    for (slug, view) in slugs.into_iter().zip(views) {
        match kinds.iter_mut().find(|kind| kind.slug == slug.name()) {
            Some(kind) => kind.findings.push(view),
            None => kinds.push(Kind {
                slug: slug.name(),
                says: slug.says(),
                findings: vec![view],
            }),
        }
    }
    kinds
}

fn view(book: &Book<'_>, finding: &Finding) -> FindingView {
    let places = finding.labels.iter().map(|label| {
        let file = book.notebook.sources.file(label.place.file);
        let (line, column) = file.line_column(label.place.start);
        PlaceView {
            at: format!("{}:{line}:{column}", file.path),
            text_html: with_names(&label.text),
        }
    });
    FindingView {
        message_html: with_names(&finding.message),
        places: places.collect(),
        notes_html: finding.notes.iter().map(|note| with_names(note)).collect(),
        help_html: finding.help.as_deref().map(with_names),
        reason: None,
        until: None,
        amiss: finding.level == Level::Error,
    }
}
