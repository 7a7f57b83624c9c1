//! Other words of a sheet, taken in without proving the notebook again: the pages
//! are those of a notebook that is read anew, and whatever else changed is not
//! taken for words.

use camino::Utf8Path;
use ohmbook::finding::Finding;
use ohmbook::notebook::Notebook;
use ohmbook::page::{Pages, pages, pages_after, pages_reworded};

use super::copy::{Copy, demo};

const FRONT: &str = "boards/cell_charger/front.md";

/// A copy, its notebook, and all its pages.
fn bound() -> (Copy, Notebook, Pages) {
    let copy = Copy::of_the_demo();
    let notebook = copy.prove();
    let pages = pages_after(&notebook, &Pages::default()).expect("its pages can be made");
    (copy, notebook, pages)
}

fn plain(pages: &Pages) -> Vec<(&Utf8Path, &[u8])> {
    let files = pages.files.iter();
    files
        .map(|(path, content)| (path.as_path(), content.as_slice()))
        .collect()
}

#[test]
fn words_of_every_sheet_are_taken_in_and_no_other_page_is_rendered() {
    let (copy, mut notebook, before) = bound();
    let told = |path: &Utf8Path| {
        let file = demo().sources.by_path(path);
        let mut places = demo().findings.iter().filter_map(Finding::place);
        places.any(|place| Some(place.file) == file)
    };
    let sheets = demo().sheets.iter().map(|sheet| sheet.path.clone());
    let sheets: Vec<_> = sheets.filter(|path| !told(path)).collect();
    assert!(sheets.len() > 12, "{sheets:?}");
    let mut changed = Vec::new();
    for path in &sheets {
        copy.append(path.as_str(), "\nOne more word.\n");
        let sheet = notebook.reword(path);
        changed.push(sheet.unwrap_or_else(|| panic!("words were added to {path}")));
    }
    let now = pages_reworded(&notebook, &before, &changed).expect("its pages can be made");
    let now = now.expect("only words were changed");
    assert_eq!(now.rendered, sheets.len());
    let anew = pages(&copy.prove()).expect("its pages can be made");
    for ((path, now), (known, anew)) in plain(&now).into_iter().zip(&anew) {
        assert_eq!(path, known);
        assert!(now == anew, "{path} is not as a fresh bind has it");
    }
    assert_eq!(now.files.len(), anew.len());
}

#[test]
fn a_page_whose_words_are_as_before_is_not_rendered() {
    let (_copy, mut notebook, before) = bound();
    let sheet = notebook.reword(FRONT.into()).expect("nothing was changed");
    let now = pages_reworded(&notebook, &before, &[sheet]).expect("its pages can be made");
    let now = now.expect("nothing was changed");
    assert_eq!(now.rendered, 0);
    assert!(plain(&now) == plain(&before));
}

#[test]
fn what_anything_hangs_on_is_not_taken_for_words() {
    for (what, this, by) in [
        ("a title", "# Solar cell charger", "# Sun cell charger"),
        ("a heading", "## Choosing a current", "## Picking a current"),
        ("a level", "## Choosing a current", "### Choosing a current"),
        ("a stated number", "[1.2 µA](", "[1.3 µA]("),
        ("an address", "(board:night_switch)", "(board:night_swich)"),
        ("a link less", "[design sheet](design.md)", "design sheet"),
        (
            "a link more",
            "Connecting it\n",
            "Connecting it\n\nSee [D3](part:D3).\n",
        ),
        ("a loose quantity", "One panel,", "One panel of 5 V,"),
        ("markup", "One panel,", "One <b>panel</b>,"),
    ] {
        let (copy, mut notebook, _) = bound();
        copy.replace(FRONT, this, by);
        assert_eq!(notebook.reword(FRONT.into()), None, "{what}");
        let kept = notebook.sources.by_path(FRONT.into()).expect("it was read");
        let kept = &notebook.sources.file(kept).text;
        assert!(kept.contains(this), "{what}: nothing is taken in");
    }
}

#[test]
fn files_that_are_no_sheets_or_cannot_be_read_are_not_taken_for_words() {
    let (copy, mut notebook, _) = bound();
    for path in [
        "boards/cell_charger/board.toml",
        "boards/cell_charger/none.md",
    ] {
        assert_eq!(notebook.reword(path.into()), None, "{path}");
    }
    copy.write(FRONT, [b'#', b' ', 0xff, b'\n']);
    assert_eq!(notebook.reword(FRONT.into()), None);
}

/// A finding on a sheet stands at a place, and words before it would move it.
#[test]
fn a_sheet_with_findings_is_read_again() {
    let copy = Copy::of_the_demo();
    copy.replace(FRONT, "One panel,", "One panel of 5 V,");
    let mut notebook = copy.prove();
    assert!(notebook.holds(), "a loose quantity is only noted");
    copy.append(FRONT, "\nOne more word.\n");
    assert_eq!(notebook.reword(FRONT.into()), None);
}

/// Pages elsewhere say in which zone of the sheet a number stands.
#[test]
fn a_link_that_moves_into_another_zone_moves_on_other_pages() {
    let (copy, mut notebook, before) = bound();
    // The last link stands in front of its heading now, in the same order.
    let heading = "## What it needs from you\n\n";
    copy.replace(FRONT, heading, "");
    let last = "Why the numbers are";
    copy.replace(FRONT, last, &format!("{heading}{last}"));
    let sheet = notebook
        .reword(FRONT.into())
        .expect("the same links and headings");
    let now = pages_reworded(&notebook, &before, &[sheet]).expect("its pages can be made");
    assert!(now.is_none());
    let now = pages_after(&notebook, &before).expect("its pages can be made");
    let anew = pages(&copy.prove()).expect("its pages can be made");
    assert!(
        plain(&now).into_iter().eq(anew
            .iter()
            .map(|(path, page)| (path.as_path(), page.as_slice())))
    );
}
