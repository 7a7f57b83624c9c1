//! What customers get, and what they must not.

use std::collections::BTreeSet;

use camino::Utf8Path;
use ohmbook::record::Audience;

use super::copy::{Copy, demo};
use super::page::{Site, text};
use super::walk::amiss;

/// Words that are planted in the records, each with what it stands in. Some
/// numbers are among them, as no other number of the demo is written.
const SECRETS: &[(&str, &str)] = &[
    ("Sorrel", "title of a part of the team's"),
    ("Bracken", "note of a part of the team's"),
    ("Teasel", "source of a part of the team's"),
    ("83.57", "a price"),
    ("71.39", "a price for many"),
    ("904418", "pieces on hand"),
    ("Figwort", "an order code"),
    ("sneezewort", "a supplier"),
    ("66.13", "what a line of a list costs"),
    ("kit_price", "a figure that hangs on a price"),
    ("167.1", "its value"),
    ("Yarrow", "what a figure of the team's is"),
    ("Tansy", "note of a figure of the team's"),
    ("Comfrey", "conditions of a figure of the team's"),
    ("Burdock", "source of a figure of the team's"),
    ("hemlock_share", "id of a figure of the team's"),
    ("vervain", "symbol of a figure of the team's"),
    (
        "0.7351",
        "value of a figure of the team's, in a formula of a customers' figure",
    ),
    ("Meadowsweet", "what a working of the team's is for"),
    ("foxglove", "id of a working of the team's"),
    ("Campion", "what a relation with a figure of the team's is"),
    (
        "Larkspur",
        "what a circuit with a part of the team's is for",
    ),
    ("Aconite", "title of a board of the team's"),
    ("Betony", "front sheet of a board of the team's"),
    ("Speedwell", "title of a board that is only a concept"),
    ("lady_fern", "id of a board that is only a concept"),
    ("Toadflax", "title of a stack with a board of the team's"),
    ("Mugwort", "what a fixture is for"),
    ("Henbane", "step of a fixture"),
    ("Loosestrife", "reason of a waiver"),
    ("Sundew", "design sheet"),
    ("Butterwort", "further sheet"),
    ("eyebright", "file name of a further sheet"),
    ("Gentian", "log entry"),
    ("harebell", "file name of a log entry"),
    ("5.4321", "a reading"),
    ("Restharrow", "head of a column of readings"),
    ("goldenrod", "name of a file of readings"),
    ("Milkwort", "who checked the sheets"),
    (
        "Valerian",
        "title of a part of the team's that only an earlier revision carried",
    ),
    ("valerian_r", "its id"),
    ("4.1977", "its value"),
    ("Selfheal", "comment in a record"),
    ("Bugloss", "comment on the front sheet"),
    ("Cowslip", "comment within a paragraph of the front sheet"),
    (
        "Mallow",
        "title of a part that only the team's board carries",
    ),
];

/// What is planted where even the team's notebook does not show it.
const UNSHOWN: &[&str] = &["Selfheal"];

/// The demo with a secret in every kind of record that can hold one, and links
/// to all of them from a front sheet.
fn planted() -> Copy {
    let copy = Copy::of_the_demo();
    copy.write(
        "parts/planted.toml",
        r#"# Selfheal
[part.dock_r]
kind     = "resistor"
title    = "Sorrel"
value    = "1k5 ±1 %"
note     = "Bracken"
source   = "Teasel"
audience = "team"

[part.valerian_r]
kind     = "resistor"
title    = "Valerian"
value    = "4.1977 kΩ ±1 %"
audience = "team"

[part.priced_r]
kind  = "resistor"
title = "Resistor with a price"
value = "1k5 ±1 %"
price = "83.57"

[part.mallow_r]
kind  = "resistor"
title = "Mallow"
value = "1k5 ±1 %"

[part.broken_r]
kind   = "resistor"
title  = "Resistor with price breaks"
value  = "1k5 ±1 %"
prices = { 1 = "83.57", 100 = "71.39" }
stock  = 904418
orders = { sneezewort = "Figwort" }
"#,
    );
    copy.replace("notebook.toml", "\"Test bench lead\"", "\"Milkwort\"");
    copy.replace(
        "notebook.toml",
        "line_fee  = \"1.80\"",
        "line_fee  = \"66.13\"",
    );
    let carrier = "boards/carrier/board.toml";
    copy.replace(
        carrier,
        "[fitted]\n",
        "[fitted]\nR90 = \"dock_r\"\nR91 = \"priced_r\"\nR92 = \"broken_r\"\n",
    );
    let path = format!("{}/{carrier}", super::copy::DEMO);
    let whole = std::fs::read_to_string(path).expect("the demo is there");
    let whole = whole.replace(
        "[fitted]\n",
        "[fitted]\nR90 = \"dock_r\"\nR91 = \"priced_r\"\nR92 = \"broken_r\"\n",
    );
    // A pin that hangs on a figure of the team's.
    let whole = whole.replace(
        "limit = \"triplet_allowance\"",
        "limit = \"triplet_allowance * hemlock_share\"",
    );
    copy.write(carrier, whole + PLANTED);
    copy.write(
        "boards/carrier/readings/goldenrod.csv",
        "Restharrow (V)\n5.4321\n5.1234\n5.2777\n",
    );
    copy.write("boards/carrier/eyebright.md", "# Butterwort\n\nMore.\n");
    copy.write(
        "boards/carrier/log/2026-03-30-harebell.md",
        "# Gentian\n\nDecided.\n",
    );
    copy.replace("boards/carrier/design.md", "# ", "# Sundew: ");
    copy.replace("boards/carrier/front.md", "\n## Signals", FRONT);
    copy.replace(
        "boards/charger_fixture/board.toml",
        "summary",
        "audience = \"team\"\nsummary",
    );
    copy.replace(
        "boards/charger_fixture/board.toml",
        "[fitted]\n",
        "[fitted]\nR92 = \"mallow_r\"\n",
    );
    copy.replace(
        "boards/charger_fixture/board.toml",
        "title    = \"Charger fixture\"",
        "title    = \"Aconite\"",
    );
    copy.replace(
        "boards/charger_fixture/front.md",
        "A bench tool",
        "Betony, a bench tool",
    );
    copy.replace("stacks.toml", "Charger test", "Toadflax");
    copy.write(
        "boards/lady_fern/board.toml",
        "[board]\ntitle = \"Speedwell\"\nrevision = \"A\"\nstatus = \"concept\"\nsummary = \"Not made yet.\"\n",
    );
    copy
}

const PLANTED: &str = r#"
[figure.kit_price]
means = "Two of them"
from  = "2 * R91.price"

[figure.hemlock_share]
means    = "Yarrow"
given    = "0.7351"
source   = "Burdock"
note     = "Tansy"
at       = "Comfrey"
symbol   = "H_vervain"
audience = "team"

[figure.seen_by_all]
means = "A figure of the customers' that hangs on one of the team's"
from  = "3 V * hemlock_share"
says  = "2.21 V"

[figure.read_by_all]
means    = "A figure of the customers' that is measured"
measured = { file = "goldenrod.csv", column = "Restharrow (V)" }

[working.foxglove]
kind     = "divider"
means    = "Meadowsweet"
supply   = "3 V"
upper    = "R91"
lower    = "R91"
audience = "team"

[relation.share]
means = "Campion"
holds = "hemlock_share <= 1"

[circuit.larch]
means   = "Larkspur"
ground  = "gnd"
between = { R90 = ["top", "gnd"], R91 = ["top", "gnd"] }
drive   = { source = { current = "1 mA", into = "top" } }

[fixture.thistle]
means = "Mugwort"
tests = "carrier"

[fixture.thistle.step.first]
means    = "Henbane"
measures = "rail"
error    = "10 mV"

[revision.Z]
date    = 2026-01-15
changes = ["Bus pull-up R1 is another."]
fitted  = { R1 = "valerian_r" }

[[waiver]]
finding = "raw-html"
place   = "boards/carrier/front.md"
reason  = "Loosestrife"
until   = 2026-12-31
"#;

const FRONT: &str = r#"
<!-- Bugloss -->

The notes <!-- Cowslip --> are [in the design](design.md), [further on](eyebright.md), in
[the log](log:2026-03-30-harebell) and in [readings](readings/goldenrod.csv). There is
[a board](board:charger_fixture), [another](board:lady_fern), [a part](part:dock_r),
[a place](part:R90), [a share](figure:hemlock_share), and [2.21 V](figure:seen_by_all).

![A circuit](circuit:larch)

![A divider](working:foxglove)

## Signals"#;

/// Every place of a site where a text stands: paths and contents.
fn places<'s>(site: &'s Site, secret: &'s str) -> impl Iterator<Item = &'s Utf8Path> {
    let found = site.files.iter().filter(move |(path, content)| {
        let secret = secret.as_bytes();
        path.as_str()
            .contains(std::str::from_utf8(secret).unwrap_or("\0"))
            || content.windows(secret.len()).any(|window| window == secret)
    });
    found.map(|(path, _)| path.as_path())
}

#[test]
fn customers_get_nothing_of_the_teams() {
    let copy = planted();
    let notebook = copy.prove();
    let errors: Vec<&str> = notebook
        .findings
        .iter()
        .filter(|finding| finding.level == ohmbook::finding::Level::Error)
        .map(|finding| finding.message.as_str())
        .collect();
    assert!(errors.is_empty(), "{errors:?}");
    let (team, customers) = (
        Site::of(&notebook),
        Site::for_readers(&notebook, Audience::Customers),
    );
    let mut told = Vec::new();
    for (secret, what) in SECRETS {
        told.extend(places(&customers, secret).map(|path| format!("{path}: `{secret}`, {what}")));
        if !UNSHOWN.contains(secret) {
            assert!(
                places(&team, secret).next().is_some(),
                "`{secret}`, {what}, is nowhere for the team either, so nothing is tested"
            );
        }
    }
    assert!(told.is_empty(), "{}", told.join("\n"));
    // What is the customers' is there all the same, and nothing leads nowhere.
    let front = text(customers.page("boards/carrier/index.html").one("main"));
    assert!(front.contains("a share") && front.contains("2.21\u{a0}V"));
    let figures = text(customers.page("boards/carrier/figures.html").one("main"));
    assert!(figures.contains("A figure of the customers' that hangs on one of the team's"));
    let row = "tr[id=\"figure-pins.rail.gives\"]";
    for pins in ["pins.html", "revision-Z/pins.html"] {
        let path = format!("boards/carrier/{pins}");
        customers.page(&path).one(row);
        let limit = customers
            .page(&path)
            .all("tr[id=\"figure-pins.rail.limit\"]");
        assert!(limit.is_empty(), "{path}");
        team.page(&path).one("tr[id=\"figure-pins.rail.limit\"]");
    }
    let amiss = amiss(&customers);
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
}

#[test]
fn every_sheet_says_whom_it_is_for() {
    for (readers, words) in [
        (Audience::Team, "the team"),
        (Audience::Customers, "customers"),
    ] {
        let site = Site::for_readers(demo(), readers);
        assert!(site.pages.len() > 30);
        for (path, page) in &site.pages {
            let block = text(page.one("dl.block"));
            assert!(
                block.contains(&format!("Target group {words}")),
                "{path}: {block}"
            );
        }
    }
}

#[test]
fn customers_of_the_demo_get_front_sheets_figures_pins_and_parts() {
    let site = Site::for_readers(demo(), Audience::Customers);
    let amiss = amiss(&site);
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
    let paths: BTreeSet<&str> = site.pages.keys().map(|path| path.as_str()).collect();
    for path in [
        "boards/cell_charger/index.html",
        "boards/cell_charger/figures.html",
        "boards/carrier/pins.html",
        "parts/res_5k1.html",
        "stacks.html",
    ] {
        assert!(paths.contains(path), "{path} is missing");
    }
    for path in &paths {
        let is_kept = ["design", "log", "fixture.html", "findings"];
        assert!(
            !is_kept.iter().any(|word| path.contains(word)),
            "{path} is the team's"
        );
    }
    // The charger's own formula names a constant that is the team's.
    let charger = site.page("boards/cell_charger/figures.html");
    let entry = charger
        .one("#figure-charge_slow")
        .parent()
        .and_then(|what| what.parent());
    let entry = entry
        .and_then(scraper::ElementRef::wrap)
        .expect("a figure has its entry");
    assert!(text(entry).contains("196\u{a0}mA"));
    assert!(!charger.text.contains("figure-set_constant"));
}
