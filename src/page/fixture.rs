//! Fixture sheets: steps and limits of a production test, and what it sees.

use serde::Serialize;

use super::book::{Book, anchor};
use super::caution;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::numbers::{percent, running, typeset};
use super::view::{Link, Sheet};
use super::zone::Zones;
use crate::notebook::{Coverage, Fault, Marks, Notebook, Seen, Sight, StepRisks};
use crate::quantity::{Unit, shown_digits};
use crate::record::{FixtureRecord, FixtureStep};

/// What only a fixture sheet has.
#[derive(Debug, Serialize)]
pub(crate) struct Fixtures {
    lead: String,
    fixtures: Vec<FixtureView>,
}

/// A production test.
#[derive(Debug, Serialize)]
struct FixtureView {
    id: String,
    zone: String,
    title: String,
    tested: Link,
    guard: String,
    steps: Vec<StepView>,
    coverage_zone: String,
    summary: Vec<Row>,
    heads: Vec<&'static str>,
    parts: Vec<PartRow>,
    masked: Vec<String>,
    unseen: Vec<String>,
    further: Option<Further>,
    alike: Vec<Link>,
    notes: Vec<&'static str>,
}

/// A figure that one more step could measure.
#[derive(Debug, Serialize)]
struct Further {
    link: Link,
    told: usize,
}

/// A line of a summary.
#[derive(Debug, Serialize)]
struct Row {
    name: &'static str,
    value: String,
}

/// A step.
#[derive(Debug, Serialize)]
struct StepView {
    number: usize,
    title: String,
    set: Option<String>,
    apply: Option<String>,
    measures: String,
    measured: String,
    error: String,
    low: Option<LimitView>,
    high: Option<LimitView>,
    low_counts: Option<LimitView>,
    high_counts: Option<LimitView>,
    risks: Option<String>,
}

/// A limit.
#[derive(Debug, Serialize)]
struct LimitView {
    id: String,
    value: String,
    says: Option<String>,
    holds: bool,
}

/// A part of the board under test: how each fault of it is seen.
#[derive(Debug, Serialize)]
struct PartRow {
    designator: String,
    part: String,
    cells: Vec<CellView>,
}

/// How a fault is seen.
#[derive(Debug, Serialize)]
struct CellView {
    class: &'static str,
    text: String,
}

/// The fixture sheet of a board.
pub(crate) fn fixture_sheet(book: &Book<'_>, board: usize) -> Sheet<Fixtures> {
    let page = Page::Fixture(board);
    let from = &book.leaves.leaf(page).path;
    let record = &book.notebook.records.boards[board];
    let mut zones = Zones::default();
    zones.next();
    let title = &record.title.value;
    let fixtures = (0..record.fixtures.len())
        .filter(|&at| book.edition.shows_fixture(book.notebook, board, at))
        .map(|at| view(book, board, at, &mut zones))
        .collect();
    let parts = Parts {
        description: format!("What the {title} measures, the limits, and which faults it sees."),
        cautions: caution::of_board(book, from, board),
        stated: &[],
        face: Fixtures {
            lead: format!(
                "{title}, revision {}. Limits follow from the spread of good boards, the error of the measurement and the guard band.",
                record.revision.value
            ),
            fixtures,
        },
    };
    sheet(book, page, parts)
}

fn view(book: &Book<'_>, board: usize, fixture: usize, zones: &mut Zones) -> FixtureView {
    let notebook = book.notebook;
    let from = &book.leaves.leaf(Page::Fixture(board)).path;
    let record = &notebook.records.boards[board].fixtures[fixture];
    // What a test lets through is the maker's business.
    let coverage = notebook
        .coverage(board, fixture)
        .filter(|_| book.edition.is_whole());
    let steps = record.steps.iter().enumerate().map(|(at, step)| {
        let coverage = coverage.as_ref();
        let risks = coverage.and_then(|coverage| coverage.steps.get(at).copied().flatten());
        step_view(book, (board, fixture, at), step, risks)
    });
    let steps: Vec<StepView> = steps.collect();
    let zone = zones.next();
    let tested = tested(book, record);
    let alike = notebook.fixtures_alike(board, fixture).into_iter();
    let alike = alike.filter(|_| book.edition.is_whole());
    let alike = alike.map(|(board, _)| Link {
        text: notebook.records.boards[board].title.value.clone(),
        href: book.page(from, Page::Fixture(board)),
    });
    let seen = coverage
        .as_ref()
        .map(|coverage| coverage.faults.as_slice())
        .unwrap_or_default();
    let named = |seen: &Seen| {
        format!(
            "{} {}",
            designator(notebook, record, seen),
            seen.fault.words()
        )
    };
    let masked = seen
        .iter()
        .filter(|seen| matches!(seen.sight, Sight::Tried(..)) && !seen.sight.catches());
    let masked =
        masked.map(|seen| format!("{} ({} caught)", named(seen), percent(seen.sight.share())));
    let unseen = seen.iter().filter(|seen| seen.sight == Sight::Unseen);
    FixtureView {
        id: record.id.value.clone(),
        zone,
        title: record.title(),
        tested: Link {
            text: tested.map_or_else(
                || record.tests.value.clone(),
                |at| notebook.records.boards[at].title.value.clone(),
            ),
            href: tested.map_or_else(String::new, |at| book.page(from, Page::Front(at))),
        },
        guard: record.guard.as_ref().map_or_else(
            || record.guard().to_string(),
            |guard| typeset(guard.value.text()),
        ),
        steps,
        coverage_zone: zones.next(),
        summary: coverage.as_deref().map(summary).unwrap_or_default(),
        heads: Fault::ALL.iter().map(|fault| fault.words()).collect(),
        parts: part_rows(notebook, record, seen),
        masked: masked.collect(),
        unseen: unseen.map(named).collect(),
        further: coverage.as_ref().and_then(|coverage| {
            let (node, told) = coverage.further?;
            let link = Link {
                text: notebook.graph.node(node).full_name(),
                href: book.place_of(from, node),
            };
            Some(Further { link, told })
        }),
        alike: alike.collect(),
        notes: vec![
            "A fault is tried by drawing boards by chance with the part as the fault leaves it. Faults marked “said” are the word of the record: nothing here computes them.",
            "What is within the limits is not proved right: a current test cannot tell a wrong resistor from a controller at the end of its tolerance, and a resistor test says nothing of the controller.",
        ],
    }
}

fn tested(book: &Book<'_>, record: &FixtureRecord) -> Option<usize> {
    let mut boards = book.notebook.records.boards.iter();
    boards.position(|board| board.id.value == record.tests.value)
}

fn designator(notebook: &Notebook, record: &FixtureRecord, seen: &Seen) -> String {
    let tested = notebook.records.board(&record.tests.value);
    let line = tested.and_then(|tested| tested.fitted.get(seen.fitted));
    line.map_or_else(String::new, |line| line.designator.value.clone())
}

fn step_view(
    book: &Book<'_>,
    (board, fixture, at): (usize, usize, usize),
    step: &FixtureStep,
    risks: Option<StepRisks>,
) -> StepView {
    let notebook = book.notebook;
    // A formula that names what is the team's is not shown.
    let explained = |name: &str| {
        let node = notebook.of_step(board, fixture, at, name);
        node.is_some_and(|node| book.edition.explains(notebook, node))
    };
    let shown = |name: &str| {
        let node = notebook.of_step(board, fixture, at, name)?;
        let value = notebook.value(node)?;
        Some(super::numbers::spread(value).map_or_else(
            || value.shown().to_string(),
            |spread| format!("{} ({spread})", value.shown()),
        ))
    };
    let limit = |name: &str| {
        let node = notebook.of_step(board, fixture, at, name)?;
        let value = notebook.value(node)?;
        let measured = notebook.of_step(board, fixture, at, "measured")?;
        // A limit is written to the digits that the spread of boards deserves.
        let text = match (notebook.value(measured), name.ends_with("counts")) {
            (Some(measured), false) => measured.shown_as(value.outcome.nominal).to_string(),
            _ => shown_digits(value.outcome.nominal, 7, &value.unit).to_string(),
        };
        Some(LimitView {
            id: anchor(&notebook.graph.node(node).name),
            value: text,
            says: notebook.says(node).map(|says| typeset(says.text())),
            holds: notebook.figure_holds(node),
        })
    };
    let texts = |text: &Option<crate::finding::Located<String>>| {
        text.as_ref().map(|text| running(&text.value))
    };
    StepView {
        number: at + 1,
        title: step.title(),
        set: texts(&step.set),
        apply: texts(&step.apply),
        measures: match explained("measured") {
            true => step.measures.value.clone(),
            false => "–".into(),
        },
        measured: shown("measured").unwrap_or_else(|| "–".into()),
        error: shown("error").unwrap_or_else(|| "–".into()),
        low: limit("low"),
        high: limit("high"),
        low_counts: limit("low_counts"),
        high_counts: limit("high_counts"),
        risks: risks.map(|risks| risk_text(&risks)),
    }
}

/// What a step passes and fails wrongly.
fn risk_text(risks: &StepRisks) -> String {
    let drawn = format!("{} of good boards fail, by chance", rate(risks.fails_good));
    match risks.acceptance {
        Some(global) => format!(
            "{drawn}; global risks: {} passed wrongly, {} failed wrongly",
            rate(global.false_accept),
            rate(global.false_reject)
        ),
        None => drawn,
    }
}

/// A share, in parts per million where it is small.
fn rate(share: f64) -> String {
    match share {
        share if share >= 1e-3 => percent(share),
        share if share < 1e-9 => "none".to_owned(),
        share => format!("{} ppm", shown_digits(share * 1e6, 2, &Unit::one())),
    }
}

fn summary(coverage: &Coverage) -> Vec<Row> {
    let marks = |marks: Marks| {
        format!(
            "{} of {}",
            shown_digits(marks.marks, 4, &Unit::one()),
            marks.of
        )
    };
    let mut rows = vec![
        Row {
            name: "Presence, correctness and orientation of parts, marks",
            value: marks(coverage.device),
        },
        Row {
            name: "Open and shorted joints, marks",
            value: marks(coverage.joint),
        },
        Row {
            name: "Faults caught, all alike",
            value: percent(coverage.caught),
        },
        Row {
            name: "Good boards that fail at any step",
            value: rate(coverage.fails_good),
        },
    ];
    if let Some(escapes) = coverage.escapes {
        rows.push(Row {
            name: "Boards shipped with a fault, 1 − Y^(1 − T)",
            value: rate(escapes),
        });
    }
    rows
}

fn part_rows(notebook: &Notebook, record: &FixtureRecord, faults: &[Seen]) -> Vec<PartRow> {
    let Some(tested) = notebook.records.board(&record.tests.value) else {
        return Vec::new();
    };
    let rows = tested
        .fitted
        .iter()
        .enumerate()
        .filter(|(_, line)| line.fit);
    rows.map(|(fitted, line)| {
        let cell = |fault: &Fault| {
            let seen = faults
                .iter()
                .find(|seen| seen.fitted == fitted && seen.fault == *fault);
            let (class, text) = match seen.map(|seen| seen.sight) {
                None => ("none", String::new()),
                Some(Sight::Unseen) => ("missed", "not seen".to_owned()),
                Some(Sight::Said(step)) => ("said", format!("said, step {}", step + 1)),
                Some(sight @ Sight::Tried(share, step)) => match sight.catches() {
                    true => ("caught", format!("step {}", step + 1)),
                    false => ("partly", format!("{} at step {}", percent(share), step + 1)),
                },
            };
            CellView { class, text }
        };
        PartRow {
            designator: line.designator.value.clone(),
            part: line.part.value.clone(),
            cells: Fault::ALL.iter().map(cell).collect(),
        }
    })
    .collect()
}
