//! A notebook under overrides is the notebook that other records would make.

#[path = "seeded/copy.rs"]
#[allow(dead_code)]
mod copy;

use std::collections::{BTreeMap, BTreeSet};

use camino::{Utf8Path, Utf8PathBuf};
use copy::Copy;
use ohmbook::finding::Level;
use ohmbook::notebook::{Notebook, Override, Supposed};
use ohmbook::quantity::Given;
use ohmbook::record::{Policy, SpreadPolicy};

type Values = BTreeMap<String, [u64; 3]>;

/// Every named value, to the last bit.
fn values(notebook: &Notebook) -> Values {
    let nodes = notebook.graph.iter().filter(|(_, node)| node.is_named());
    nodes
        .filter_map(|(id, node)| {
            let outcome = notebook.value(id)?.outcome;
            let bits = [outcome.nominal, outcome.low, outcome.high].map(f64::to_bits);
            Some((node.full_name(), bits))
        })
        .collect()
}

/// Sees that a notebook has every value of another. One whose part does not
/// stray with the temperature may still say that it strays by nothing.
fn same_values(notebook: &Notebook, truth: &Notebook, case: &str) {
    let (ours, theirs) = (values(notebook), values(truth));
    for (name, value) in &theirs {
        assert_eq!(ours.get(name), Some(value), "{name} {case}");
    }
    let more: Vec<&String> = ours
        .keys()
        .filter(|name| !theirs.contains_key(*name))
        .collect();
    let strays = |name: &&String| name.contains(".tempco") || name.contains(" at 25 °C");
    assert!(more.iter().all(strays), "{more:?} {case}");
}

type Told = BTreeSet<(&'static str, Option<(Utf8PathBuf, usize)>, String)>;

/// Errors and cautions of a notebook but those about files for firmware and
/// about boards that were measured, which are as they are. What a finding is
/// about and what it says; a changed file has other columns.
fn told(notebook: &Notebook) -> Told {
    let serious = notebook.findings.iter().filter(|finding| {
        let of_what_is = [
            "emitted-file-differs",
            "reading-outside",
            "bom-differs",
            "waiver-idle",
        ];
        finding.level != Level::Note && !of_what_is.contains(&finding.slug.name())
    });
    serious
        .map(|finding| {
            let place = finding.place().map(|place| {
                let file = notebook.sources.file(place.file);
                (file.path.clone(), file.line_column(place.start).0)
            });
            (finding.slug.name(), place, finding.message.clone())
        })
        .collect()
}

fn board_and_line(notebook: &Notebook, board: &str, designator: &str) -> (usize, usize) {
    let mut boards = notebook.records.boards.iter();
    let at = boards.position(|known| known.id.value == board);
    let at = at.expect("the demo has the board");
    let mut lines = notebook.records.boards[at].fitted.iter();
    let line = lines.position(|line| line.designator.value == designator);
    (at, line.expect("it is fitted"))
}

fn part(notebook: &Notebook, id: &str) -> usize {
    let mut parts = notebook.records.parts.iter();
    let at = parts.position(|part| part.id.value == id);
    at.expect("the part is stocked")
}

fn exchanged(notebook: &Notebook, board: &str, designator: &str, id: &str) -> Supposed {
    let (board, fitted) = board_and_line(notebook, board, designator);
    let part = part(notebook, id);
    notebook.under(&[Override::Part {
        board,
        fitted,
        part,
    }])
}

/// The record of a board with a line of `[fitted]` changed.
fn with_line(text: &str, designator: &str, value: &str) -> String {
    let mut done = false;
    let mut inside = false;
    let lines = text.lines().map(|line| {
        if line.starts_with('[') {
            inside = line.starts_with("[fitted]");
        }
        match inside
            && line
                .split('=')
                .next()
                .is_some_and(|key| key.trim() == designator)
        {
            true => {
                done = true;
                format!("{designator} = {value}")
            }
            false => line.to_owned(),
        }
    });
    let lines: Vec<String> = lines.collect();
    assert!(done, "no `{designator}` is fitted");
    lines.join("\n") + "\n"
}

fn record(board: &str) -> Utf8PathBuf {
    Utf8Path::new("boards").join(board).join("board.toml")
}

/// Parts of other boards and of other sorts, some with other properties.
#[test]
fn an_exchanged_part_gives_what_the_changed_record_gives() {
    let copy = Copy::of_the_demo();
    let notebook = copy.prove();
    for (board, designator, other) in [
        ("cell_charger", "R1", "res_3k3"),
        ("cell_charger", "R2", "res_5k1"),
        ("cell_charger", "BT1", "cell_600"),
        ("carrier", "R3", "res_10k"),
        ("night_switch", "C1", "cap_10u"),
        ("charger_fixture", "R1", "res_5k1"),
    ] {
        let path = record(board);
        let text = with_line(&copy.read(&path), designator, &format!("{other:?}"));
        let truth = copy.prove_with(&path, &text);
        let supposed = exchanged(&notebook, board, designator, other);
        let case = format!("with `{other}` as {designator} of {board}");
        same_values(&supposed.notebook, &truth, &case);
        assert_eq!(told(&supposed.notebook), told(&truth), "{case}");
    }
}

#[test]
fn a_place_that_is_left_empty_gives_what_the_changed_record_gives() {
    let copy = Copy::of_the_demo();
    let notebook = copy.prove();
    let (board, fitted) = board_and_line(&notebook, "cell_charger", "R2");
    let supposed = notebook.under(&[Override::Fit {
        board,
        fitted,
        fit: false,
    }]);
    let path = record("cell_charger");
    let line = "{ part = \"res_10k\", fit = false }";
    let truth = copy.prove_with(&path, &with_line(&copy.read(&path), "R2", line));
    assert_eq!(values(&supposed.notebook), values(&truth));
    assert_eq!(told(&supposed.notebook), told(&truth));
    assert!(!supposed.breaks_nothing());
}

#[test]
fn another_policy_gives_what_the_changed_record_gives() {
    let copy = Copy::of_the_demo();
    let notebook = copy.prove();
    let policy = Policy {
        spread: Some(SpreadPolicy::RootSumSquare),
        ..Policy::default()
    };
    let supposed = notebook.under(&[Override::Policy {
        board: None,
        policy,
    }]);
    let path = Utf8Path::new("notebook.toml");
    let text = copy
        .read(path)
        .replace("\"worst-case\"", "\"root-sum-square\"");
    let truth = copy.prove_with(path, &text);
    assert_eq!(values(&supposed.notebook), values(&truth));
    assert_eq!(told(&supposed.notebook), told(&truth));
}

/// The arithmetic by hand: 1000 V ± 5 % over 4.7 kΩ ± 1 % is 212.8 mA, more
/// than the 212 mA that the slow setting may reach.
#[test]
fn a_value_of_its_own_reaches_what_hangs_on_it_and_nothing_else() {
    let copy = Copy::of_the_demo();
    let notebook = copy.prove();
    let (board, fitted) = board_and_line(&notebook, "cell_charger", "R1");
    let given = Given::parse("4.7 kΩ ±1 %", None).expect("it is a quantity");
    let supposed = notebook.under(&[Override::Property {
        board,
        fitted,
        property: "value".into(),
        given,
    }]);
    let slow = notebook
        .named("cell_charger.charge_slow")
        .expect("a figure");
    let outcome = supposed
        .notebook
        .value(slow)
        .expect("it has a value")
        .outcome;
    assert!((outcome.nominal - 1000.0 / 4700.0).abs() < 1e-12);
    let missed = supposed.broken.iter().find(|finding| {
        finding.slug.name() == "requirement-missed" && finding.message.contains("`charge_slow`")
    });
    assert!(missed.is_some(), "{:#?}", supposed.broken);
    let r1 = notebook.named("cell_charger.R1").expect("a part");
    let mut hanging = BTreeSet::from([r1]);
    let mut open = vec![r1];
    while let Some(node) = open.pop() {
        for &dependent in &notebook.dependents()[node.index()] {
            if hanging.insert(dependent) {
                open.push(dependent);
            }
        }
    }
    for (id, _) in notebook
        .graph
        .iter()
        .filter(|(id, _)| !hanging.contains(id))
    {
        let both = [&notebook, &supposed.notebook].map(|book| book.value(id).map(|v| v.outcome));
        let is_stated = notebook.graph.node(id).name.starts_with("R1 at");
        assert!(
            both[0] == both[1] || is_stated,
            "{}",
            notebook.graph.node(id).full_name()
        );
    }
    assert!(supposed.moved.len() > 20, "{}", supposed.moved.len());
}

#[test]
fn nothing_otherwise_changes_nothing() {
    let notebook = Copy::of_the_demo().prove();
    let supposed = notebook.under(&[]);
    assert!(supposed.moved.is_empty());
    assert!(supposed.broken.is_empty() && supposed.mended.is_empty());
    assert_eq!(told(&supposed.notebook), told(&notebook));
}
