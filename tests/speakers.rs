//! Speakers of the demo: what moves when another one is fitted, and how a note
//! table and a measurement take part.
#![allow(clippy::unwrap_used)]

use std::fs;
use std::path::Path;

use camino::Utf8Path;
use jiff::civil::date;
use ohmbook::finding::{Finding, Level};
use ohmbook::notebook::Notebook;

/// The demo, loaded from a copy in whose library the small speaker resonates at
/// some frequency and is so loud.
fn demo(resonance: &str, sensitivity: &str) -> Notebook {
    let dir = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("content");
    for entry in walkdir::WalkDir::new(&from) {
        let entry = entry.unwrap();
        let to = dir.path().join(entry.path().strip_prefix(&from).unwrap());
        if entry.file_type().is_dir() {
            fs::create_dir_all(to).unwrap();
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
    let record = dir.path().join("parts/sound.toml");
    let mut text = fs::read_to_string(&record).unwrap();
    for (stated, other) in [("\"380 Hz ", resonance), ("\"80 dB ", sensitivity)] {
        assert!(text.contains(stated));
        text = text.replace(stated, &format!("\"{other} "));
    }
    fs::write(&record, text).unwrap();
    Notebook::load(Utf8Path::from_path(dir.path()).unwrap(), date(2026, 5, 1))
}

fn nominal(notebook: &Notebook, name: &str) -> f64 {
    let node = notebook.graph.find("sound_post", name).unwrap();
    notebook.value(node).unwrap().outcome.nominal
}

/// The curves that the plot of roll-off shows.
fn curves(notebook: &Notebook) -> Vec<(String, Vec<(f64, f64)>)> {
    let boards = &notebook.records.boards;
    let board = boards
        .iter()
        .position(|board| board.id.value == "sound_post")
        .unwrap();
    let mut workings = boards[board].workings.iter();
    let working = workings
        .position(|working| working.id.value == "rolloff")
        .unwrap();
    let worked = notebook.graph.working(board, working).unwrap();
    let plot = &worked.plan.plots[0];
    let values = plot.operands.iter().map(|name| {
        let node = worked.nodes[name];
        notebook.value(node).unwrap().outcome.nominal
    });
    plot.curves.trace(&values.collect::<Vec<f64>>()).unwrap()
}

fn errors(notebook: &Notebook) -> Vec<&Finding> {
    let findings = notebook.findings.iter();
    findings
        .filter(|finding| finding.level == Level::Error)
        .collect()
}

#[test]
fn another_speaker_part_moves_plot_notes_sentences_and_findings_together() {
    let before = demo("380 Hz", "80 dB");
    let after = demo("500 Hz", "84 dB");
    assert!(errors(&before).is_empty(), "{:?}", errors(&before));
    // The notes that it keeps.
    assert_eq!(nominal(&before, "heard.small.kept"), 4.0);
    assert_eq!(nominal(&after, "heard.small.kept"), 2.0);
    // The plot: its own curve moves, the other one does not.
    let (old, new) = (curves(&before), curves(&after));
    assert_eq!((old[0].0.as_str(), old[1].0.as_str()), ("Small", "Large"));
    assert_ne!(old[0].1, new[0].1);
    let level = |curve: &[(f64, f64)], hertz: f64| {
        let after = curve.iter().find(|point| point.0 >= hertz);
        after.unwrap().1
    };
    assert!((level(&old[1].1, 523.0) - level(&new[1].1, 523.0)).abs() < 0.2);
    assert!(level(&old[0].1, 523.0) - level(&new[0].1, 523.0) > 3.0);
    // Sentences and findings: each that no longer holds is named in its place.
    let told: Vec<String> = errors(&after)
        .iter()
        .map(|finding| format!("{finding:?}"))
        .collect();
    for name in [
        "rolloff.small.corner",
        "heard.small.lowest_kept",
        "amplifier.level_at_nearest",
    ] {
        let named = |told: &&String| told.contains(name);
        assert!(told.iter().any(|told| named(&told)), "{name}: {told:#?}");
    }
}
