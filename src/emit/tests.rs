//! The five forms, each with text that could break out of it.

use super::*;

/// A file with everything that a file may have.
fn emitted() -> Emitted {
    Emitted {
        stem: "limits-2".into(),
        means: Some("Ends */ a comment, /* begins one,\nand a line \\".into()),
        notebook: "A \"quoted\" title, 2 \u{202e}back".into(),
        boards: vec![("lamp".into(), "B".into())],
        constants: vec![
            Constant {
                name: "OFFSET_V".into(),
                value: -0.1 - 0.2,
                is_whole: false,
                unit: "V".into(),
                low: -0.31,
                high: -0.29,
                means: "Offset".into(),
            },
            Constant {
                name: "LEAST".into(),
                value: -2_147_483_648.0,
                is_whole: true,
                unit: String::new(),
                low: -2_147_483_648.0,
                high: -2_147_483_648.0,
                means: "Least number".into(),
            },
            Constant {
                name: "tiny".into(),
                value: 2.5e-13,
                is_whole: false,
                unit: "F".into(),
                low: 2.5e-13,
                high: 2.5e-13,
                means: "Stray, \"tiny\"".into(),
            },
            Constant {
                name: "MOST".into(),
                value: 9_007_199_254_740_991.0,
                is_whole: true,
                unit: "count".into(),
                low: f64::NEG_INFINITY,
                high: f64::INFINITY,
                means: "Most".into(),
            },
        ],
        tables: vec![Table {
            name: "CHIME".into(),
            means: "Notes".into(),
            columns: vec![
                Column {
                    head: "Note".into(),
                    unit: String::new(),
                    cells: Cells::Words(vec!["A\"4\\".into(), "what??/, é\u{7}".into()]),
                },
                Column {
                    head: "Frequency".into(),
                    unit: "Hz".into(),
                    cells: Cells::Numbers(vec![440.0, 1.0 / 3.0]),
                },
                Column {
                    head: "Frequency".into(),
                    unit: "kHz".into(),
                    cells: Cells::Numbers(vec![-0.44, 1e21]),
                },
                Column {
                    head: "Increment".into(),
                    unit: String::new(),
                    cells: Cells::Whole(vec![2195.0, 3691.0]),
                },
                Column {
                    head: "Wide".into(),
                    unit: String::new(),
                    cells: Cells::Whole(vec![2195.0, 2f64.powi(63)]),
                },
            ],
        }],
        limits: vec![Limit {
            name: "TEST_SLOW".into(),
            unit: "mV".into(),
            low: -185.25,
            high: 207.0,
            counts: Some((230.0, 257.0)),
            means: "Charge current, slow".into(),
        }],
        inputs: vec![("lamp.R1".into(), [100.0, 99.0, 101.0])],
    }
}

#[track_caller]
fn has(form: Form, lines: &[&str]) {
    let text = emitted().text(form);
    assert!(text.contains(MARK), "{text}");
    assert!(text.contains(&emitted().state()), "{text}");
    for line in lines {
        let found = text.lines().any(|it| it.trim() == *line);
        assert!(found, "no line `{line}` in\n{text}");
    }
}

#[test]
fn a_c_header_keeps_comments_and_strings_closed() {
    has(
        Form::C,
        &[
            "/* Ends * / a comment, / * begins one, and a line \\ */",
            "#ifndef OHMBOOK_LIMITS_2_H",
            "/* Offset, in V; -0.31 to -0.29 */",
            "#define OFFSET_V (-0.3)",
            "#define LEAST (-2147483648)",
            "#define tiny 2.5e-13",
            "#define MOST 9007199254740991",
            "#define CHIME_ROWS 2",
            "static const char *const CHIME_NOTE[CHIME_ROWS] = {",
            r#""A\"4\\","#,
            r#""what\?\?/, é\007","#,
            "static const double CHIME_FREQUENCY[CHIME_ROWS] = {",
            "static const double CHIME_FREQUENCY_2[CHIME_ROWS] = {",
            "1e21,",
            "static const long CHIME_INCREMENT[CHIME_ROWS] = {",
            "3691,",
            "static const unsigned long long CHIME_WIDE[CHIME_ROWS] = {",
            "9223372036854775808ULL,",
            "#define TEST_SLOW_LOW (-185.25)",
            "#define TEST_SLOW_HIGH_COUNTS 257",
        ],
    );
}

#[test]
fn rust_has_types_that_hold_the_numbers() {
    has(
        Form::Rust,
        &[
            "pub const OFFSET_V: f64 = -0.3;",
            "pub const LEAST: i32 = -2147483648;",
            "pub const MOST: i64 = 9007199254740991;",
            "pub const CHIME_NOTE: [&str; 2] = [",
            "pub const CHIME_INCREMENT: [i32; 2] = [",
            "pub const CHIME_WIDE: [u64; 2] = [",
            "9223372036854775808,",
            r#""what??/, é\u{7}","#,
            "pub const TEST_SLOW_LOW_COUNTS: i32 = 230;",
        ],
    );
    // A doc comment stands before an item; whatever turns text round is gone.
    assert!(!emitted().text(Form::Rust).contains('\u{202e}'));
}

#[test]
fn python_assigns_numbers_strings_and_tuples_only() {
    has(
        Form::Python,
        &[
            "OFFSET_V = -0.3",
            "tiny = 2.5e-13",
            "CHIME_NOTE = (",
            r#""what??/, é\u0007","#,
            "TEST_SLOW_HIGH = 207.0",
        ],
    );
    let text = emitted().text(Form::Python);
    for word in ["import", "f\"", " -> "] {
        assert!(!text.contains(word), "{word} in {text}");
    }
}

#[test]
fn csv_comes_back_field_by_field() {
    let text = emitted().text(Form::Csv);
    assert!(text.ends_with("\r\n") && !text.replace("\r\n", "").contains('\r'));
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let rows: Result<Vec<::csv::StringRecord>, _> = reader.records().collect();
    let rows = rows.expect("every row has the same fields");
    let row = |name: &str| {
        let row = rows.iter().find(|row| &row[1] == name);
        let row = row.unwrap_or_else(|| panic!("no row `{name}`"));
        row.iter().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(row("title")[4], emitted().notebook);
    assert_eq!(row("tiny")[10], "Stray, \"tiny\"");
    assert_eq!(row("OFFSET_V")[4..8], ["-0.3", "V", "-0.31", "-0.29"]);
    assert_eq!(row("MOST")[4..8], ["9007199254740991", "count", "", ""]);
    assert_eq!(row("CHIME")[..5], ["table", "CHIME", "Note", "1", "A\"4\\"]);
    let limit = ["", "mV", "-185.25", "207.0", "230", "257"];
    assert_eq!(row("TEST_SLOW")[4..10], limit);
}

#[test]
fn json_comes_back_as_it_was() {
    let text = emitted().text(Form::Json);
    let json: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
    assert_eq!(json["state"], emitted().state().as_str());
    assert_eq!(json["notebook"], emitted().notebook.as_str());
    assert_eq!(json["boards"][0]["revision"], "B");
    assert_eq!(json["constants"][0]["value"], -0.3);
    assert_eq!(json["constants"][1]["value"], -2_147_483_648_i64);
    assert!(json["constants"][3]["low"].is_null());
    assert_eq!(json["tables"][0]["columns"][0]["cells"][0], "A\"4\\");
    assert_eq!(json["tables"][0]["columns"][1]["cells"][1], 0.333_333_333);
    assert_eq!(json["limits"][0]["high_counts"], 257);
}

#[test]
fn the_state_changes_with_values_and_what_they_hang_on_and_not_with_words() {
    let before = emitted();
    assert_eq!(before.state().len(), 12);
    let state_with = |change: fn(&mut Emitted)| {
        let mut changed = emitted();
        change(&mut changed);
        changed.state()
    };
    let reworded = state_with(|it| {
        it.notebook.clear();
        it.means = None;
        it.constants[0].means = "Another word".into();
        it.limits[0].means.clear();
    });
    assert_eq!(reworded, before.state());
    // One bit of what is given tells, beyond the digits that are written.
    let changes: [fn(&mut Emitted); 5] = [
        |it| it.inputs[0].1[1] = 99.0_f64.next_up(),
        |it| it.constants[0].value = -0.300_000_001,
        |it| it.constants[0].unit = "mV".into(),
        |it| it.limits[0].counts = None,
        |it| it.tables[0].columns[0].cells = Cells::Words(vec!["A".into(), "B".into()]),
    ];
    for change in changes {
        assert_ne!(state_with(change), before.state());
    }
}

#[test]
fn every_name_of_a_file_is_known_and_languages_keep_theirs() {
    let file = emitted();
    for form in [Form::C, Form::Rust, Form::Python] {
        let text = file.text(form);
        for (name, _) in file.names(form) {
            assert!(text.contains(&name), "{name} in {text}");
        }
    }
    assert!(is_reserved(Form::C, "double") && !is_reserved(Form::Rust, "double"));
    assert!(is_reserved(Form::Rust, "fn") && is_reserved(Form::Python, "None"));
    assert!(!is_reserved(Form::Json, "double"));
}
