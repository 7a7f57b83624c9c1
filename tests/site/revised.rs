//! The sheets of earlier revisions: figures, chances and pins as they were, each
//! under an address of its own.


use super::copy::demo;
use super::page::{Site, text};

#[test]
fn heads_name_a_revision_with_a_capital() {
    let site = Site::of(demo());
    let sheet = site.page("boards/cell_charger/revision-A/index.html");
    let heads: Vec<String> = sheet.all("#B thead th").into_iter().map(text).collect();
    assert_eq!(
        heads,
        [
            "Figure",
            "Revision A",
            "Every board",
            "Required now",
            "Revision B"
        ]
    );
}
