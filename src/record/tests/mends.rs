//! A mend that is offered, put in its place, takes its finding away and brings
//! no other one.

use super::read;

/// Everything in here is wrong in a way that has a mend.
const MENDABLE: &str = r#"//- notebook.toml
[notebook]
title = "T"
owner = "O"
licence = "CC-BY-4"
//- parts/stock.toml
[part.Res-a]
kind = "resitor"
value = 4.7 kΩ
[part.led_a]
kind = "led"
title = “LED”
forward_voltage = "1,9 V"
"audence" = "team"
package = 0805
mass = "0.1 G"
[part.op]
kind = "amplifier"
efficiency = 0.82
property = { offset = 3 }
//- boards/a_board/board.toml
[board]
id = "another"
titel = "Board"
revision = 2026-02-03
status = "prodution"
summary = "None."
date = "2026-02-03"
[fitted]
r1 = "res_a"
[figure.gain]
means = "Gain"
from = 4.5
headline = "true"
[caution.hot]
signal = "Warning"
hazard = "Hot."
avoid = "Wait."
because = "1 < 2"
[revision.A]
date = 2026-02-03T10:00:00
changes = "one"
[waiver]
finding = "loose-quantities"
place = "a.md"
reason = "R"
until = 2026-01-01
"#;

#[test]
fn every_mend_that_is_offered_holds() {
    let (sources, _, findings) = read(MENDABLE);
    let offered: Vec<_> = findings
        .iter()
        .filter_map(|finding| finding.mend.clone())
        .collect();
    assert!(offered.len() >= 20, "{} mends", offered.len());
    for mend in offered {
        let mut fixture = String::new();
        for (file, source) in sources.iter() {
            let mut text = source.text.clone();
            if file == mend.place.file {
                text.replace_range(mend.place.span(), &mend.text);
            }
            fixture.push_str(&format!("//- {}\n{text}", source.path));
        }
        let (_, _, after) = read(&fixture);
        let slugs = |findings: &[crate::finding::Finding]| {
            let mut slugs: Vec<_> = findings.iter().map(|finding| finding.slug).collect();
            slugs.sort_unstable();
            slugs
        };
        assert_eq!(after.len() + 1, findings.len(), "{mend:?}: {after:#?}");
        let mut all = slugs(&findings);
        for slug in slugs(&after) {
            let at = all.iter().position(|known| *known == slug);
            all.remove(at.unwrap_or_else(|| panic!("{mend:?} brings {slug}")));
        }
    }
}
