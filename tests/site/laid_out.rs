//! Sites on the disk, for the browser that looks at them.
//!
//! `tests/site/browser/run` sets a folder and has them written; in `cargo test`
//! alone the same notebooks are only made into pages and walked over.

use std::fs;
use std::path::Path;

use camino::{Utf8Path, Utf8PathBuf};
use ohmbook::finding::Level;
use ohmbook::notebook::Notebook;
use ohmbook::record::Audience;

use super::awkward;
use super::case::Case;
use super::copy::{TODAY, demo};
use super::page::Site;
use super::walk::amiss;

/// Names the folder that the sites are written to.
const FOLDER: &str = "OHMBOOK_SITES";

fn keep(name: &str, site: &Site) {
    let Some(folder) = std::env::var_os(FOLDER) else {
        return;
    };
    let folder = Path::new(&folder).join(name);
    for (path, content) in &site.files {
        let path = folder.join(path);
        fs::create_dir_all(path.parent().expect("it has a folder")).expect("it can be made");
        fs::write(path, content).expect("it can be written");
    }
}

#[test]
fn the_demo_for_both_audiences() {
    keep("team", &Site::of(demo()));
    keep("customers", &Site::for_readers(demo(), Audience::Customers));
}

#[test]
fn a_notebook_that_is_awkward_to_show() {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let root = Utf8Path::from_path(folder.path()).expect("it is UTF-8");
    awkward::lay_out(root);
    let notebook = Notebook::load(root, TODAY);
    let errors: Vec<&str> = notebook
        .findings
        .iter()
        .filter(|finding| finding.level == Level::Error)
        .map(|finding| finding.message.as_str())
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
    for readers in [Audience::Team, Audience::Customers] {
        let site = Site::for_readers(&notebook, readers);
        let amiss = amiss(&site);
        assert!(amiss.is_empty(), "{}", amiss.join("\n"));
        keep(&format!("awkward-{readers:?}").to_lowercase(), &site);
    }
}

/// Every kind of finding, as the watch would show it below its sheets.
#[test]
fn notebooks_with_every_finding() {
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/notebooks/bad");
    let mut paths: Vec<_> = fs::read_dir(cases)
        .expect("the cases are there")
        .map(|entry| entry.expect("it can be read").path())
        .collect();
    paths.sort();
    let mut shown = 0;
    for path in paths {
        let text = fs::read_to_string(&path).expect("a case is text");
        let folder = tempfile::tempdir().expect("a folder can be made");
        let root = Utf8PathBuf::from_path_buf(folder.path().join("notebook"));
        let root = root.expect("it is UTF-8");
        Case::parse(&text).lay_out(root.as_std_path());
        let notebook = Notebook::load(&root, TODAY);
        // A look or a link that is at fault makes no pages at all.
        let Ok(files) = ohmbook::page::pages(&notebook) else {
            continue;
        };
        shown += 1;
        let name = path.file_stem().unwrap_or_default().to_string_lossy();
        keep(&format!("bad-{name}"), &Site::of_files(files));
    }
    assert!(shown > 30, "{shown}");
}
