//! Input that means harm, or none at all: findings, and no panic.

use super::{check, read};
use crate::finding::Slug;
use crate::record::shapes::{BOARD_FILE, FILES};

#[test]
fn brackets_a_hundred_thousand_deep_are_refused() {
    let deep = 100_000;
    let texts = [
        format!("x = {}{}", "[".repeat(deep), "]".repeat(deep)),
        format!("x = {}", "[".repeat(deep)),
        format!("x = {}", "{a=".repeat(deep)),
        format!("[{}a]", "a.".repeat(deep)),
        format!("{}a = 1", "a.".repeat(deep)),
    ];
    for text in texts {
        let (_, _, findings) = read(&format!("//- parts/stock.toml\n{text}\n"));
        let syntax = |slug| slug == Slug::TomlSyntax;
        assert!(
            findings.iter().any(|finding| syntax(finding.slug)),
            "{}",
            &text[..20]
        );
        assert!(findings.len() < 5, "{} findings", findings.len());
    }
}

/// Every key of every record, holding every type of value: each is refused or
/// read, and none of it ends the program.
#[test]
fn any_type_of_value_under_any_key_is_survived() {
    let values = [
        "1",
        "1.5",
        "true",
        "\"text\"",
        "\"\"",
        "2026-02-03",
        "2026-02-03T10:00:00Z",
        "10:00:00",
        "[]",
        "[1]",
        "[[1]]",
        "[{}]",
        "{}",
        "{ a = 1 }",
        "nan",
        "-inf",
        "0x10",
        "'''\n'''",
        "",
        "9999999999999999999999999999",
        "1e999",
    ];
    let headers = [
        "notebook",
        "policy",
        "part.a",
        "module.a",
        "board",
        "fitted",
        "figure.a",
        "relation.a",
        "caution.a",
        "revision.a",
        "working.a",
        "part.a.property",
        "figure.a.holds_for",
    ];
    let mut keys = vec!["R1", "a", "value"];
    for header in headers {
        let name = header.split('.').next().unwrap_or("");
        let shapes = FILES.iter().flat_map(|file| file.keys);
        keys.extend(shapes.filter(|key| key.name == name).map(|key| key.name));
    }
    keys.extend(BOARD_FILE.keys.iter().map(|key| key.name));
    keys.extend([
        "kind",
        "title",
        "means",
        "given",
        "from",
        "says",
        "must",
        "unit",
        "holds_for",
        "date",
        "changes",
        "signal",
        "because",
        "until",
        "finding",
        "property",
        "headline",
        "licence",
        "language",
        "theme",
        "spread",
        "id",
        "revision",
        "status",
        "audience",
        "fit",
        "part",
    ]);
    let paths = [
        "notebook.toml",
        "parts/p.toml",
        "modules/m.toml",
        "boards/b_board/board.toml",
    ];
    let mut refused = 0;
    for path in paths {
        for value in values {
            let mut text = String::new();
            for key in &keys {
                text.push_str(&format!("{key} = {value}\n"));
            }
            for header in headers {
                text.push_str(&format!("[{header}]\n"));
                for key in &keys {
                    text.push_str(&format!("{key} = {value}\n"));
                }
            }
            refused += read(&format!("//- {path}\n{text}")).2.len();
        }
    }
    assert!(refused > 1000, "{refused}");
}

/// A good file cut off at every byte, and with every byte taken out.
#[test]
fn a_file_cut_anywhere_is_survived() {
    let good = r#"[board]
title = "Bä"
revision = 'B'
date = 2026-03-04
[fitted]
R1 = { part = "res", fit = false }
[figure.a]
means = """
Two"""
from = "1"
holds_for = { "U1.q" = "2 kΩ to 5 kΩ" }
[revision.A]
date = 2026-01-01
changes = ["x", "y"]
[[waiver]]
until = 2026-01-01
"#;
    for (at, c) in good.char_indices() {
        read(&format!("//- boards/b_board/board.toml\n{}", &good[..at]));
        let without = format!("{}{}", &good[..at], &good[at + c.len_utf8()..]);
        read(&format!("//- boards/b_board/board.toml\n{without}"));
        for put in ["\"", "[", "]", "=", "\n", "\u{0}", "\u{202e}", "'''"] {
            let with = format!("{}{put}{}", &good[..at], &good[at..]);
            read(&format!("//- boards/b_board/board.toml\n{with}"));
        }
    }
}

#[test]
fn a_file_that_is_nothing_but_faults_is_told_in_bounds() {
    let (_, _, findings) = read(&format!("//- parts/p.toml\n{}", "§ $ %\n".repeat(2000)));
    assert!(findings.len() <= 102, "{} findings", findings.len());
    let rest = findings
        .iter()
        .find(|finding| finding.message.contains("more faults"));
    assert!(rest.is_some());
}

#[test]
fn names_that_would_deceive_are_spelt_out() {
    check(
        "//- parts/p.toml\n[part.a]\nkind = \"led\"\n\"ti\u{202e}tle\" = \"x\"\n#^^^^^^ unknown-key: `ti\\u{202e}tle`\n",
    );
}

#[test]
fn long_names_are_cut_in_what_is_said_of_them() {
    let name = "x".repeat(100_000);
    let (_, _, findings) = read(&format!(
        "//- parts/p.toml\n[part.a]\nkind = \"led\"\n{name} = 1\n"
    ));
    assert!(findings[0].message.len() < 200);
}
