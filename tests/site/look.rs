//! A look of the notebook's own.

use camino::Utf8Path;
use ohmbook::page::{PageFault, pages};

use super::copy::Copy;
use super::page::{Site, text};

/// The demo with a folder of its own look, and one file in it.
fn with(name: &str, content: &str) -> Copy {
    let copy = Copy::of_the_demo();
    copy.replace(
        "notebook.toml",
        "[notebook]\n",
        "[notebook]\ntheme = \"look\"\n",
    );
    copy.write(&format!("look/{name}"), content);
    copy
}

fn fault(copy: &Copy) -> PageFault {
    match pages(&copy.prove()) {
        Ok(_) => panic!("the look is at fault, and nobody says so"),
        Err(fault) => fault,
    }
}

#[test]
fn a_file_replaces_the_one_of_its_name() {
    let copy = with("drawing.css", "body { color: black }");
    copy.write("look/fonts/lettering.woff2", [0u8, 1, 2]);
    let site = Site::of(&copy.prove());
    let style = &site.files[Utf8Path::new("look/drawing.css")];
    assert_eq!(style, b"body { color: black }");
    assert!(
        site.files
            .contains_key(Utf8Path::new("look/fonts/lettering.woff2"))
    );
    assert!(site.files.contains_key(Utf8Path::new("look/mark.svg")));
}

#[test]
fn a_template_replaces_the_one_of_its_name() {
    let copy = with(
        "log_list.html",
        "{% extends \"sheet.html\" %}{% block face %}<h1>All of {{ face.lead }}</h1>{% endblock %}",
    );
    let site = Site::of(&copy.prove());
    let page = site.page("boards/cell_charger/log/index.html");
    assert!(text(page.one("h1")).starts_with("All of What was decided"));
}

#[test]
fn a_fault_in_a_template_has_its_place() {
    let fault = fault(&with(
        "findings.html",
        "<p>\n  {{ face.lead | no_such_thing }}\n",
    ));
    assert_eq!(fault.path, "look/findings.html");
    assert_eq!(fault.place, Some((2, 18)), "{fault}");
    assert!(
        fault.to_string().starts_with("look/findings.html:2:"),
        "{fault}"
    );
}

#[test]
fn an_unknown_name_in_a_template_has_its_place() {
    let fault = fault(&with("findings.html", "<p>\n\n{{ face.leed }}\n"));
    assert_eq!(fault.path, "look/findings.html");
    assert_eq!(fault.place, Some((3, 9)), "{fault}");
    assert!(fault.message.contains("leed"), "{fault}");
}

#[test]
fn a_look_that_is_none_is_refused() {
    for theme in ["no_such_folder", "notebook.toml"] {
        let copy = Copy::of_the_demo();
        let line = format!("[notebook]\ntheme = \"{theme}\"\n");
        copy.replace("notebook.toml", "[notebook]\n", &line);
        let fault = fault(&copy);
        assert_eq!(fault.path, theme, "{fault}");
    }
}

/// A path that climbs is refused where the record is read.
#[test]
fn a_look_outside_the_notebook_is_refused() {
    for theme in ["..", "../../", "/etc"] {
        let copy = Copy::of_the_demo();
        let line = format!("[notebook]\ntheme = \"{theme}\"\n");
        copy.replace("notebook.toml", "[notebook]\n", &line);
        assert!(!copy.prove().holds(), "{theme}");
    }
}

#[cfg(unix)]
#[test]
fn a_look_that_a_link_leads_out_to_is_refused() {
    let elsewhere = tempfile::tempdir().expect("a temporary folder can be made");
    let copy = Copy::of_the_demo();
    copy.replace(
        "notebook.toml",
        "[notebook]\n",
        "[notebook]\ntheme = \"look\"\n",
    );
    copy.link("look", elsewhere.path());
    assert_eq!(fault(&copy).path, "look");
}
