//! Parts that can be dropped from a line: a planted optimum, what keeps parts from
//! being dropped, and the patch.

use std::collections::BTreeMap;
use std::fs;

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::date;
use ohmbook::notebook::Notebook;
use ohmbook::thin::{Thinning, Verdict};

/// A notebook in a folder of its own.
struct Line {
    folder: tempfile::TempDir,
}

impl Line {
    fn of(files: &[(&str, &str)]) -> Line {
        let line = Line {
            folder: tempfile::tempdir().expect("a temporary folder can be made"),
        };
        line.write("notebook.toml", "[notebook]\ntitle = \"Line\"\nowner = \"Nobody\"\ncurrency = \"EUR\"\n[cost]\nvolumes = [100]\npart_fee = \"5\"\n");
        for (path, text) in files {
            line.write(path, text);
        }
        line
    }

    fn root(&self) -> &Utf8Path {
        Utf8Path::from_path(self.folder.path()).expect("temporary folders have plain names")
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.root().join(path);
        let parent = path.parent().expect("it lies in the folder");
        fs::create_dir_all(parent).expect("a folder can be made");
        fs::write(&path, text).expect("a file can be written");
    }

    fn prove(&self) -> Notebook {
        Notebook::load(self.root(), date(2026, 4, 1))
    }

    /// Applies a unified diff, as `patch -p1` would.
    fn apply(&self, patch: &str) {
        let mut files: BTreeMap<Utf8PathBuf, Vec<String>> = BTreeMap::new();
        let mut file = Utf8PathBuf::new();
        let (mut at, mut shift) = (0usize, 0isize);
        for line in patch.lines() {
            if let Some(path) = line.strip_prefix("+++ b/") {
                file = self.root().join(path);
                let text = fs::read_to_string(&file).expect("a patched file is there");
                files.insert(file.clone(), text.lines().map(str::to_owned).collect());
                shift = 0;
            } else if let Some(rest) = line.strip_prefix("@@ -") {
                let start: isize = rest
                    .split(',')
                    .next()
                    .and_then(|n| n.parse().ok())
                    .expect("a line");
                at = (start - 1 + shift) as usize;
            } else if !line.starts_with("--- ") {
                let lines = files.get_mut(&file).expect("a file comes before its lines");
                let text = &line[1..];
                match &line[..1] {
                    " " => {
                        assert_eq!(lines[at], text, "what is around a change is as it was");
                        at += 1;
                    }
                    "-" => {
                        assert_eq!(lines.remove(at), text);
                        shift -= 1;
                    }
                    "+" => {
                        lines.insert(at, text.to_owned());
                        (at, shift) = (at + 1, shift + 1);
                    }
                    other => panic!("`{other}` begins no line of a diff"),
                }
            }
        }
        for (path, lines) in files {
            fs::write(&path, lines.join("\n") + "\n").expect("a file can be written");
        }
    }
}

/// A board that holds some figures.
fn board(title: &str, rest: &str) -> String {
    format!(
        "[board]\ntitle = \"{title}\"\nrevision = \"A\"\nstatus = \"production\"\nsummary = \"Of a line.\"\n{rest}"
    )
}

fn resistor(id: &str, value: &str, rest: &str) -> String {
    format!(
        "[part.{id}]\nkind = \"resistor\"\nvalue = \"{value} ±1 %\"\nplaced = \"feeder\"\nprice = \"0.02\"\n{rest}\n"
    )
}

/// Which parts take the places of which, by board.
fn moves(notebook: &Notebook, thinning: &Thinning) -> Vec<String> {
    let records = &notebook.records;
    let id = |part: usize| records.parts[part].id.value.as_str();
    thinning
        .moves()
        .map(|swap| {
            let board = &records.boards[swap.board].id.value;
            format!("{board}: {} for {}", id(swap.to), id(swap.from))
        })
        .collect()
}

/// Five boards. On `low` and `mid` 12 kΩ may stand for 10 kΩ and 15 kΩ, and nothing
/// else may: were 12 kΩ to go as well, 15 kΩ would have nobody. On `sum` either of
/// two resistors may rise a step, and not both, since their sum is limited.
fn planted() -> Line {
    let parts = [
        resistor("res_10k", "10 kΩ", "package = \"0805\""),
        resistor("res_12k", "12 kΩ", "package = \"0805\""),
        resistor("res_15k", "15 kΩ", "package = \"0805\""),
        resistor("res_1k0", "1 kΩ", "package = \"1206\""),
        resistor("res_1k1", "1.1 kΩ", "package = \"1206\""),
        resistor("res_2k0", "2 kΩ", "package = \"1206\""),
        resistor("res_2k2", "2.2 kΩ", "package = \"1206\""),
    ];
    let low = board(
        "Low",
        "[fitted]\nR1 = \"res_10k\"\n[figure.draw]\nmeans = \"Draw\"\nfrom = \"5 V / R1\"\nunit = \"mA\"\nsays = \"0.50 mA\"\nmust = \"0.4 mA to 0.6 mA\"\n",
    );
    let mid = board(
        "Mid",
        "[fitted]\nR1 = \"res_15k\"\nR2 = \"res_12k\"\n[figure.draw]\nmeans = \"Draw\"\nfrom = \"5 V / R1\"\nunit = \"mA\"\nsays = \"0.33 mA\"\nmust = \"0.3 mA to 0.43 mA\"\n[figure.other]\nmeans = \"Draw of the other\"\nfrom = \"5 V / R2\"\nmust = \"0.4 mA to 0.43 mA\"\n",
    );
    let sum = board(
        "Sum",
        "[fitted]\nR1 = \"res_1k0\"\nR2 = \"res_2k0\"\n[figure.both]\nmeans = \"Both in series\"\nfrom = \"R1 + R2\"\nmust = \"2.9 kΩ to 3.25 kΩ\"\n[figure.first]\nmeans = \"The first\"\nfrom = \"R1\"\nmust = \"at most 1.2 kΩ\"\n",
    );
    let steps = board(
        "Steps",
        "[fitted]\nR1 = \"res_1k1\"\nR2 = \"res_2k2\"\n[figure.first]\nmeans = \"The first\"\nfrom = \"R1\"\nmust = \"1.05 kΩ to 1.15 kΩ\"\n[figure.second]\nmeans = \"The second\"\nfrom = \"R2\"\nmust = \"2.1 kΩ to 2.3 kΩ\"\n",
    );
    Line::of(&[
        ("parts/stock.toml", &parts.concat()),
        ("boards/low/board.toml", &low),
        (
            "boards/low/front.md",
            "# Low\n\nIt draws [0.50 mA](figure:draw), or [about 0.5 mA](figure:draw).\n",
        ),
        ("boards/mid/board.toml", &mid),
        ("boards/sum/board.toml", &sum),
        ("boards/steps/board.toml", &steps),
    ])
}

#[test]
fn the_planted_optimum_is_found_and_proven() {
    let line = planted();
    let notebook = line.prove();
    assert!(notebook.holds(), "{:?}", notebook.findings);
    let thinning = Thinning::of(&notebook, false);
    let found = moves(&notebook, &thinning);
    assert!(
        found.contains(&"low: res_12k for res_10k".to_owned()),
        "{found:?}"
    );
    assert!(
        found.contains(&"mid: res_12k for res_15k".to_owned()),
        "{found:?}"
    );
    // One of the two that clash, whichever.
    let first = found.contains(&"sum: res_1k1 for res_1k0".to_owned());
    let second = found.contains(&"sum: res_2k2 for res_2k0".to_owned());
    assert!(first != second, "{found:?}");
    assert_eq!((thinning.drops.len(), thinning.at_most), (3, 3));
    assert!(thinning.is_largest());
    let parts = |totals: &ohmbook::notebook::LineTotals| (totals.uses.len(), totals.feeders.len());
    assert_eq!(parts(&thinning.before), (7, 7));
    assert_eq!(parts(&thinning.after), (4, 4));
    // Three parts at 5 each, for a hundred sets of boards.
    let saved = thinning.before.costs[0].each - thinning.after.costs[0].each;
    assert!((saved - 0.15).abs() < 1e-9, "{saved}");
}

#[test]
fn a_patched_notebook_holds_and_states_what_changed() {
    let line = planted();
    let notebook = line.prove();
    let thinning = Thinning::of(&notebook, false);
    // 5 V / 12 kΩ is 0.4167 mA; 5 V / 15 kΩ is 0.3333 mA.
    let mut texts: Vec<(&str, &str)> = thinning
        .texts
        .iter()
        .map(|text| (notebook.sources.text_at(&text.place), text.text.as_str()))
        .collect();
    texts.sort_unstable();
    let wanted = [
        ("0.33 mA", "0.42 mA"),
        ("0.50 mA", "0.42 mA"),
        ("0.50 mA", "0.42 mA"),
        ("about 0.5 mA", "about 0.4 mA"),
    ];
    assert_eq!(texts, wanted);
    // The patch of one part touches no other board.
    let low = thinning.drops[0].patch(&notebook);
    assert!(low.contains("b/boards/low/board.toml") && low.contains("b/boards/low/front.md"));
    assert!(!low.contains("boards/mid"), "{low}");
    line.apply(&thinning.patch(&notebook));
    let after = line.prove();
    assert!(after.holds(), "{:?}", after.findings);
    let again = Thinning::of(&after, false);
    assert_eq!(again.before, {
        // Positions of parts and boards are the same: no record came or went.
        thinning.after
    });
    assert!(again.drops.is_empty(), "{:?}", moves(&after, &again));
}

#[test]
fn what_nothing_is_required_of_is_asked_about() {
    let parts = resistor("res_330", "330 Ω", "package = \"0805\"")
        + &resistor("res_470", "470 Ω", "package = \"0805\"");
    let lamp = |part: &str, must: &str| {
        let rest = format!(
            "[fitted]\nR1 = \"{part}\"\n[figure.lamp]\nmeans = \"Lamp\"\nfrom = \"3 V / R1\"\nunit = \"mA\"\n{must}\n"
        );
        board("Lamp", &rest)
    };
    let line = Line::of(&[
        ("parts/stock.toml", &parts),
        (
            "boards/one/board.toml",
            &lamp("res_330", "says = \"9.1 mA\""),
        ),
        (
            "boards/two/board.toml",
            &lamp("res_470", "must = \"6 mA to 7 mA\""),
        ),
    ]);
    let notebook = line.prove();
    let thinning = Thinning::of(&notebook, false);
    assert!(thinning.drops.is_empty());
    let asks: Vec<&str> = thinning
        .asks
        .iter()
        .flat_map(|ask| &ask.reasons)
        .map(String::as_str)
        .collect();
    assert_eq!(
        asks,
        ["`value` is 470 Ω ±1 % instead of 330 Ω ±1 %, and nothing is required of it at `R1`"]
    );
    // Once somebody has said yes it goes.
    let granted = Thinning::of(&notebook, true);
    assert_eq!(moves(&notebook, &granted), ["one: res_470 for res_330"]);
    assert_eq!(granted.texts[0].text, "6.4 mA");
}

#[test]
fn a_part_goes_only_where_kind_package_and_life_allow_it() {
    let parts = [
        resistor("res_a", "1 kΩ", "package = \"0805\"\npower_rating = \"125 mW\""),
        resistor("res_weak", "1 kΩ", "package = \"0805\"\npower_rating = \"60 mW\""),
        resistor("res_small", "1 kΩ", "package = \"0402\"\npower_rating = \"125 mW\""),
        resistor("res_gone", "1 kΩ", "package = \"0805\"\npower_rating = \"250 mW\"\nlife = \"obsolete\""),
        "[part.timer_a]\nkind = \"timer\"\npackage = \"SO8\"\nsecond_sources = [\"timer_b\"]\n[part.timer_b]\nkind = \"timer\"\npackage = \"SO8\"\n".to_owned(),
    ];
    let fitted = "[fitted]\nR1 = \"res_a\"\nR2 = \"res_weak\"\nR3 = \"res_small\"\nR4 = \"res_gone\"\nU1 = \"timer_a\"\nU2 = \"timer_b\"\n";
    let line = Line::of(&[
        ("parts/stock.toml", &parts.concat()),
        ("boards/all/board.toml", &board("All", fitted)),
    ]);
    let notebook = line.prove();
    let thinning = Thinning::of(&notebook, false);
    // The weak one may be had stronger, the ended one only weaker; of the timers the
    // first names the second, and not the other way round.
    assert_eq!(
        moves(&notebook, &thinning),
        ["all: res_a for res_weak", "all: timer_b for timer_a"]
    );
    let reasons: Vec<&str> = thinning
        .asks
        .iter()
        .flat_map(|ask| &ask.reasons)
        .map(String::as_str)
        .collect();
    assert!(
        reasons.contains(
            &"`power_rating` is 60 mW instead of 125 mW, and nothing is required of it at `R1`"
        ),
        "{reasons:?}"
    );
    assert!(matches!(Verdict::No(String::new()), Verdict::No(_)));
}

/// A rating that a circuit strains answers for itself: the weaker part stays if it
/// still suffices, and is refused if it does not.
#[test]
fn a_lower_rating_is_enough_where_a_circuit_shows_that_it_is() {
    let parts = resistor(
        "res_strong",
        "1 kΩ",
        "package = \"0805\"\npower_rating = \"125 mW\"",
    ) + &resistor(
        "res_weak",
        "1 kΩ",
        "package = \"0805\"\npower_rating = \"60 mW\"",
    );
    let circuit = |volts: &str| {
        let rest = format!(
            "[fitted]\nR1 = \"res_strong\"\n[circuit.load]\nground = \"gnd\"\nbetween = {{ R1 = [\"in\", \"gnd\"] }}\ndrive = {{ supply = {{ voltage = \"{volts}\", into = \"in\" }} }}\n"
        );
        board("Load", &rest)
    };
    let other = board("Other", "[fitted]\nR1 = \"res_weak\"\n");
    let found = |volts: &str| {
        let line = Line::of(&[
            ("parts/stock.toml", &parts),
            ("boards/load/board.toml", &circuit(volts)),
            ("boards/other/board.toml", &other),
        ]);
        let notebook = line.prove();
        assert!(notebook.holds(), "{:?}", notebook.findings);
        let thinning = Thinning::of(&notebook, false);
        (moves(&notebook, &thinning), thinning.broke.len())
    };
    // 5 V across 1 kΩ is 25 mW, which both stand: one of them goes.
    assert_eq!(found("5 V").0.len(), 1);
    // 10 V is 100 mW: only the weak one can go.
    assert_eq!(
        found("10 V"),
        (vec!["other: res_strong for res_weak".to_owned()], 1)
    );
}
