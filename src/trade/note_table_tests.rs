//! What notes and their firmware come to, against outside values.

use super::check::{Given, near};
use super::note_table::KIND;
use super::verdict::exact;

fn notes(names: &[&str]) -> Given {
    Given::default().words("notes", names)
}

fn with_accumulator(names: &[&str], bits: u64, rate: f64) -> Given {
    Given::quantities(&[("rate", rate)])
        .words("notes", names)
        .whole("accumulator", bits)
}

/// Truth: mpmath with 40 digits, in agreement with librosa 0.11.0 and
/// music21 10.5.1 (cases 04-et of the published checks).
#[test]
fn equal_temperament_on_the_standard_pitch() {
    let names = [
        "C2", "C#2", "G2", "C4", "G#4", "A4", "C5", "G5", "A5", "C6", "C7",
    ];
    let found = notes(&names).work(&KIND);
    for (name, hertz) in [
        ("c2", 65.406_391_33),
        ("cs2", 69.295_657_74),
        ("g2", 97.998_859),
        ("c4", 261.625_565_3),
        ("gs4", 415.304_697_6),
        ("a4", 440.0),
        ("g5", 783.990_872),
        ("a5", 880.0),
        ("c6", 1_046.502_261),
        ("c7", 2_093.004_522),
    ] {
        near(found[&format!("{name}.frequency")], hertz, 1e-9);
    }
    near(found["c5.period"], 1.0 / 523.251_130_601_197, 1e-12);
}

/// Truth: mpmath (cases 04-et with other reference pitches).
#[test]
fn other_reference_pitches() {
    for (reference, name, id, hertz) in [
        (442.0, "C4", "c4", 262.814_772_4),
        (443.0, "E2", "e2", 82.968_754_38),
        (415.0, "C4", "c4", 246.760_476_4),
        (432.0, "G3", "g3", 192.434_123_1),
    ] {
        let given = Given::quantities(&[("reference", reference)]).words("notes", &[name]);
        near(given.result(&KIND, &format!("{id}.frequency")), hertz, 1e-9);
    }
}

/// Truth: mpmath (cases 04-acc of the published checks): increment,
/// frequency and error for accumulators of 16, 24 and 32 bit.
#[test]
fn accumulators_play_what_they_can() {
    for (bits, rate, name, increment, played, error) in [
        (16, 8_000.0, "C2", 536.0, 65.429_687_5, 0.616_513_91),
        (
            24,
            48_000.0,
            "C7",
            731_558.0,
            2_093.004_227,
            -0.000_244_605_75,
        ),
        (
            24,
            22_050.0,
            "A4",
            334_783.0,
            439.999_410_5,
            -0.002_319_422_1,
        ),
        (24, 22_050.0, "C2", 49_766.0, 65.406_578_78, 0.004_961_692_6),
        (
            24,
            22_050.0,
            "E4",
            250_804.0,
            329.627_287_4,
            -0.001_415_570_6,
        ),
        (
            32,
            44_100.0,
            "A4",
            42_852_281.0,
            439.999_995_8,
            -1.661_806_8e-5,
        ),
        (
            32,
            44_100.0,
            "C7",
            203_840_952.0,
            2_093.004_525,
            1.750_867_4e-6,
        ),
    ] {
        let found = with_accumulator(&[name], bits, rate).work(&KIND);
        let id = name.to_lowercase();
        assert_eq!(found[&format!("{id}.increment")], increment);
        near(found[&format!("{id}.played")], played, 1e-9);
        let off = found[&format!("{id}.error")] - error;
        // Cents of a ratio near one keep as many digits as that ratio has.
        assert!(off.abs() < 1e-6, "{name}: {off}");
        near(
            found["greatest_error"],
            found[&format!("{id}.error")].abs(),
            1e-12,
        );
    }
    near(
        with_accumulator(&["A4"], 16, 31_250.0).result(&KIND, "resolution"),
        0.476_837_158_2,
        1e-9,
    );
}

/// Truth: mpmath (cases 04-timer): dividers of half periods, and arithmetic
/// of whole ones: 1 MHz over 1046.5 Hz is 956, -0.79 cent.
#[test]
fn timers_divide_by_whole_numbers() {
    for (clock, name, divider, played, error) in [
        (1e6, "A4", 1136.0, 440.140_845_1, 0.554_083_55),
        (32_768.0, "A5", 19.0, 862.315_789_5, -35.144_672),
        (2e6, "G#5", 1204.0, 830.564_784_1, -0.092_985_152),
        (125e3, "E6", 47.0, 1_329.787_234, 14.744_005),
    ] {
        let given = Given::quantities(&[("timer_clock", clock)])
            .words("notes", &[name])
            .word("timer_counts", "half-period");
        let found = given.work(&KIND);
        let id = name.to_lowercase().replace('#', "s");
        assert_eq!(found[&format!("{id}.divider")], divider);
        near(found[&format!("{id}.timer_played")], played, 1e-9);
        near(found[&format!("{id}.timer_error")], error, 1e-6);
    }
    let given = Given::quantities(&[("timer_clock", 1e6)]).words("notes", &["C6"]);
    let found = given.work(&KIND);
    assert_eq!(found["c6.divider"], 956.0);
    near(found["c6.timer_error"], -0.79, 0.005);
}

/// Truth: 22 050 Hz over twice 440 Hz is 25.06: harmonics 1 to 25; and one
/// at exactly half the rate does not count (arithmetic).
#[test]
fn harmonics_stay_below_half_the_rate() {
    let of = |rate| with_accumulator(&["A4"], 24, rate).result(&KIND, "a4.harmonics");
    assert_eq!(of(22_050.0), 25.0);
    assert_eq!(of(8_800.0), 9.0);
    assert_eq!(of(800.0), 0.0);
}

/// Truth: a clock that is 100 ppm fast raises every pitch by
/// 1200 log2(1.0001) = 0.17312 cent (arithmetic).
#[test]
fn a_clock_that_is_off_is_heard() {
    let given = Given::quantities(&[("rate", 8_000.0), ("clock_error", 1e-4)])
        .words("notes", &["C2"])
        .whole("accumulator", 16);
    let found = given.work(&KIND);
    assert_eq!(found["c2.increment"], 536.0);
    assert!((found["c2.error"] - 0.616_513_91 - 0.173_115).abs() < 1e-5);
}

/// Truth: an octave stretched by 2 cents is 1202 cents (definition), and a
/// ratio of 3/2 over 300 Hz is 450 Hz (arithmetic).
#[test]
fn stretched_octaves_and_ratios_of_ones_own() {
    let given = Given::quantities(&[("stretch", 2.0)]).words("notes", &["A4", "A5", "A2"]);
    let found = given.work(&KIND);
    near(
        found["a5.frequency"],
        440.0 * 2f64.powf(1202.0 / 1200.0),
        1e-12,
    );
    near(
        found["a2.frequency"],
        110.0 * 2f64.powf(-4.0 / 1200.0),
        1e-12,
    );
    let given = Given::quantities(&[("base", 300.0)])
        .list("ratios", &[1.0, 1.5])
        .words("notes", &["Low bell", "high"]);
    near(given.result(&KIND, "low_bell.frequency"), 300.0, 1e-12);
    near(given.result(&KIND, "high.frequency"), 450.0, 1e-12);
}

/// Truth: mpmath (cases 04-just with deviations): a just fifth is 1.955
/// cents wider than an equal one, a just major third 13.686 narrower. Both
/// count from the A, whose pitch stays.
#[test]
fn just_intervals_deviate_from_equal_ones() {
    let given = notes(&["A4", "E5", "C#5"])
        .word("tuning", "just")
        .word("tonic", "A");
    let found = given.work(&KIND);
    near(found["e5.from_equal"], 1.955_000_9, 1e-6);
    near(found["cs5.from_equal"], -13.686_286_1, 1e-6);
    assert!(found["a4.from_equal"].abs() < 1e-12);
}

#[test]
fn formulas_hang_together() {
    let all = [
        ("reference", 440.0),
        ("stretch", 1.0),
        ("rate", 8e3),
        ("timer_clock", 1e6),
        ("clock_error", 0.0),
    ];
    Given::quantities(&all)
        .words("notes", &["C5"])
        .word("scale", "chromatic")
        .whole("count", 40)
        .word("tuning", "quarter-comma-meantone")
        .word("tonic", "Eb")
        .whole("accumulator", 64)
        .whole("timer_bits", 16)
        .hangs_together(&KIND);
}

#[test]
fn what_cannot_be_is_refused() {
    let refused = |given: Given, input: &str| {
        let refusals = given.refusals(&KIND);
        assert!(
            refusals.iter().any(|refusal| refusal.input == input),
            "{input}: {refusals:?}"
        );
    };
    refused(notes(&[]), "notes");
    refused(notes(&["H2"]), "notes");
    refused(notes(&["C4", "C4"]), "notes");
    refused(notes(&["C4"; 200]), "notes");
    refused(notes(&["C4"]).words("pins", &["1", "2"]), "pins");
    refused(notes(&["C4", "D4"]).words("pins", &["1", "1"]), "pins");
    refused(notes(&["C4"]).whole("accumulator", 16), "accumulator");
    refused(notes(&["C4"]).whole("count", 3), "count");
    refused(notes(&["G9"]).word("scale", "major"), "count");
    refused(notes(&["C4", "D4"]).word("scale", "major"), "notes");
    refused(notes(&["x", "y"]).list("ratios", &[1.0]), "ratios");
    refused(notes(&["4"]).list("ratios", &[1.0]), "notes");
    refused(notes(&["C4"]).whole("timer_bits", 8), "timer_bits");
}

#[test]
fn whole_numbers_keep_their_digits() {
    assert_eq!(exact(731_558.0), "731\u{202f}558");
    assert_eq!(
        exact(2f64.powi(60)),
        "1\u{202f}152\u{202f}921\u{202f}504\u{202f}606\u{202f}846\u{202f}976"
    );
    assert_eq!(exact(42.0), "42");
}
