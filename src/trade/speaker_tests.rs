//! Published checks of `speaker-rolloff` and `audible-notes`, and of the boxes
//! that are chosen.

use std::collections::HashMap;

use super::check::{Given, near};
use super::choose::{Answer, Chooses, Question, Target};
use super::{Input, Inputs, Planned, Takes};
use super::{Kind, Plan, Refusal, audible_notes, box_choice, speaker_rolloff};
use crate::quantity::{Dimension, Outcome, Statement};

const KIND: &speaker_rolloff::SpeakerRolloff = &speaker_rolloff::KIND;
const LITRE: f64 = 1e-3;

type Quantities<'q> = &'q [(&'q str, f64)];

fn speaker(quantities: Quantities<'_>, word: &str) -> Given {
    Given::default()
        .groups("speaker", &[("one", quantities)])
        .word_in("speaker", "one", "box", word)
}

/// Truth: computed with numpy by the relations of Small (1972, 1973); cases of
/// a driver in a closed box.
#[test]
fn closed_boxes_come_to_what_the_paper_says() {
    let cases = [
        (
            (40.0, 3.5, 0.45, 50.0, 30.0),
            (65.319_726_47, 0.651_130_184_8, 71.413_289_3),
        ),
        (
            (62.0, 4.2, 0.55, 12.0, 8.0),
            (98.030_607_47, 0.768_932_778_4, 90.777_408_57),
        ),
        (
            (115.0, 5.0, 0.7, 1.8, 0.9),
            (199.185_842_9, 1.063_539_97, 152.630_037_1),
        ),
        (
            (28.0, 6.0, 0.38, 120.0, 60.0),
            (48.497_422_61, 0.618_977_404_6, 56.359_697_44),
        ),
    ];
    for ((fs, qms, qes, vas, vb), (fc, qtc, f3)) in cases {
        let quantities = [
            ("resonance", fs),
            ("mechanical_q", qms),
            ("electrical_q", qes),
            ("equivalent_volume", vas * LITRE),
            ("volume", vb * LITRE),
        ];
        let given = speaker(&quantities, "closed");
        let work = given.work(KIND);
        near(work["one.resonance"], fc, 1e-9);
        near(work["one.q"], qtc, 1e-9);
        near(work["one.corner"], f3, 1e-9);
        given.hangs_together(KIND);
    }
}

/// Truth: f10/f3 = 9^(-1/(2n)) of a Butterworth high-pass (scipy root finding
/// gives 0.6933612744 for n = 3).
#[test]
fn stated_corners_are_butterworth_ones() {
    let given = Given::default()
        .groups("speaker", &[("one", &[("corner", 380.0)])])
        .whole_in("speaker", "one", "order", 3);
    let work = given.work(KIND);
    near(work["one.corner"], 380.0, 1e-12);
    near(work["one.ten_down"], 380.0 * 0.693_361_274_4, 1e-9);
    near(work["one.peak"], 0.0, 0.0);
    given.hangs_together(KIND);
}

/// Truth: a Helmholtz resonator of 5 L with a round port of 3 cm by 10 cm is
/// tuned to 58.78866418 Hz (computed outside, c = 343 m/s, end correction 1.46 r).
/// And common practice: a low tuning of a tiny box asks for a port far longer
/// than the box.
#[test]
fn ports_have_the_length_that_the_resonator_asks_for() {
    let port = |tuning: f64, litres: f64, diameter: f64| {
        let quantities = [
            ("resonance", 60.0),
            ("total_q", 0.4),
            ("equivalent_volume", 9.0 * LITRE),
            ("volume", litres * LITRE),
            ("tuning", tuning),
            ("port_diameter", diameter),
        ];
        let given = speaker(&quantities, "vented");
        given.hangs_together(KIND);
        given.work(KIND)
    };
    near(port(58.788_664_18, 5.0, 0.03)["one.port_length"], 0.1, 1e-8);
    let tiny = port(100.0, 0.25, 0.02);
    assert!(
        tiny["one.port_length"] > 4.0 * tiny["one.box_edge"],
        "{tiny:?}"
    );
}

/// Truth: fb = fp √(1 + Vap/Vb) and the mass for a tuning (Small, 1974), computed
/// outside: 20 Hz, 30 L in 10 L tune to 40 Hz; 80 cm² in 4 L with 8 L, tuned to
/// 55 Hz, weigh 28.37236983 g.
#[test]
fn passive_radiators_are_tuned_as_the_paper_says() {
    let radiator = |own: f64, compliance: f64, litres: f64, area: f64| {
        let quantities = [
            ("resonance", 60.0),
            ("total_q", 0.4),
            ("equivalent_volume", 9.0 * LITRE),
            ("volume", litres * LITRE),
            ("radiator_resonance", own),
            ("radiator_volume", compliance * LITRE),
            ("radiator_area", area),
        ];
        let given = speaker(&quantities, "passive-radiator");
        given.hangs_together(KIND);
        given.work(KIND)
    };
    near(radiator(20.0, 30.0, 10.0, 0.01)["one.tuning"], 40.0, 1e-12);
    near(
        radiator(25.0, 8.0, 4.0, 0.01)["one.tuning"],
        43.301_270_19,
        1e-9,
    );
    let own = 55.0 / 3f64.sqrt();
    near(
        radiator(own, 8.0, 4.0, 0.008)["one.radiator_mass"],
        28.372_369_83e-3,
        1e-9,
    );
}

/// Truth: a vented box without losses after the B4 alignment, Q = 0.38268 and
/// α = √2, is 3.01 dB down at fs and 10 dB at 0.7598356857 fs (scipy).
#[test]
fn corners_of_vented_boxes_are_found() {
    let quantities = [
        ("resonance", 60.0),
        ("total_q", 0.382_683_432_365),
        ("equivalent_volume", 9.0 * LITRE),
        ("volume", 9.0 * LITRE / std::f64::consts::SQRT_2),
        ("tuning", 60.0),
    ];
    let work = speaker(&quantities, "vented").work(KIND);
    near(work["one.corner"], 60.0, 1e-6);
    near(work["one.ten_down"], 60.0 * 0.759_835_685_7, 1e-6);
    assert!(work["one.peak"].abs() < 1e-6);
}

/// Truth: p = ρ ω² S x / (2 π √2 r) in half space (Small, 1972) by hand: a cone
/// of 100 cm² moving 1 mm to either side at 100 Hz, far above its resonance of
/// 1 Hz, makes 0.5331 Pa at 1 m, 88.52 dB.
#[test]
fn the_cone_moves_as_far_as_its_sound_asks_for() {
    let quantities = [
        ("resonance", 1.0),
        ("total_q", 0.707),
        ("cone_area", 0.01),
        ("excursion", 1e-3),
    ];
    let given = Given::quantities(&[("lowest", 100.0), ("level", 88.515)])
        .groups("speaker", &[("one", &quantities)]);
    let work = given.work(KIND);
    near(work["one.highest_level"], 88.515, 1e-4);
    near(work["one.displacement"], 1e-3, 1e-3);
    given.hangs_together(KIND);
}

/// Truth: points on a Butterworth response of second order at 400 Hz (closed
/// form), so that the corner is 400 Hz and 10 dB are lost at 400/√3 Hz.
#[test]
fn measured_responses_are_read_between_their_points() {
    let level = |hertz: f64| 71.0 - 10.0 * (1.0 + (400.0 / hertz).powi(4)).log10();
    let points: Vec<(f64, f64)> = (0..80)
        .map(|step| 100.0 * 2f64.powf(f64::from(step) / 12.0))
        .map(|hertz| (hertz, level(hertz)))
        .collect();
    let measured = |points: &[(f64, f64)]| {
        Given::default()
            .groups("speaker", &[("one", &[])])
            .response_in("speaker", "one", "measured", points)
    };
    let given = measured(&points);
    given.hangs_together(KIND);
    let work = given.work(KIND);
    near(work["one.corner"], 400.0, 2e-3);
    near(work["one.ten_down"], 400.0 / 3f64.sqrt(), 2e-3);
    let short = measured(&points[20..]);
    assert!(!short.work(KIND).contains_key("one.ten_down"));
    assert!(
        short
            .plan(KIND)
            .notes
            .iter()
            .any(|note| note.contains("10 dB"))
    );
}

#[test]
fn what_does_not_make_a_speaker_is_refused() {
    let refused = |given: Given| given.refusals(KIND).len();
    assert_eq!(refused(Given::default().groups("speaker", &[])), 1);
    assert_eq!(refused(speaker(&[], "closed")), 1, "no way of rolling off");
    assert_eq!(
        refused(speaker(&[("corner", 1.0), ("resonance", 2.0)], "closed")),
        1
    );
    assert_eq!(
        refused(speaker(&[("corner", 1.0)], "closed")),
        1,
        "no order"
    );
    let resonance = ("resonance", 100.0);
    assert_eq!(
        refused(speaker(&[resonance, ("total_q", 0.7)], "closed")),
        2,
        "no volumes"
    );
    assert_eq!(
        refused(speaker(&[resonance, ("electrical_q", 0.7)], "baffle")),
        1
    );
    let tuned = [resonance, ("total_q", 0.7), ("tuning", 50.0)];
    assert_eq!(refused(speaker(&tuned, "baffle")), 1, "nothing to tune");
}

/// Zero, negative and endless values end without a value, and never in a panic.
#[test]
fn values_that_no_speaker_has_come_to_nothing() {
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e300, 1e-300] {
        for place in 0..4 {
            let mut quantities = [
                ("resonance", 60.0),
                ("total_q", 0.4),
                ("equivalent_volume", 9.0 * LITRE),
                ("volume", LITRE),
            ];
            quantities[place].1 = bad;
            let given = speaker(&quantities, "closed");
            let work = given.work(KIND);
            if bad.is_nan() || bad <= 0.0 {
                assert!(
                    !work.contains_key("one.corner"),
                    "{} of {bad}",
                    quantities[place].0
                );
            }
            let plan = given.plan(KIND);
            for plot in &plan.plots {
                let _ = plot.curves.trace(&given.values_of(&plot.operands[..4]));
            }
        }
    }
}

/// A stand-in for a note table: frequencies by name.
#[derive(Debug)]
struct Notes;

static NOTES: Notes = Notes;

impl Kind for Notes {
    fn name(&self) -> &'static str {
        "note-table"
    }

    fn title(&self) -> &'static str {
        "Notes"
    }

    fn inputs(&self) -> &'static [Input] {
        const INPUTS: &[Input] = &[super::kind::takes(
            "note",
            "Frequency",
            Takes::ByName(Dimension::FREQUENCY),
        )];
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let names = given.names("note").into_iter();
        let results = names.map(|name| {
            Planned::formula(
                format!("{name}.frequency"),
                name,
                format!("note.{name}"),
                "given",
            )
        });
        Ok(Plan {
            results: results.collect(),
            ..Plan::default()
        })
    }
}

fn played(within: f64, overtones: &[f64]) -> Given {
    let notes = Given::default().by_name(
        "note",
        &[("a3", 220.0), ("c4", 261.625_565_3), ("c6", 1_046.502_261)],
    );
    let speakers = Given::default().groups(
        "speaker",
        &[("one", &[("resonance", 600.0), ("total_q", 0.7)])],
    );
    let given = Given::quantities(&[("within", within), ("level", 80.0)])
        .working("notes", &NOTES, &notes)
        .working("speakers", KIND, &speakers);
    match overtones {
        [] => given,
        overtones => given.list("overtones", overtones),
    }
}

/// Truth: 220 Hz through a high-pass of second order, 600 Hz and Q = 0.7, falls by
/// 17.5 dB, 262 Hz by 14.6 dB (computed outside for the notebook's brief); so both
/// lie outside of the 10 dB of IEC 60268-5, and C6 within.
#[test]
fn low_notes_fall_as_far_as_a_second_order_takes_them() {
    let kind = &audible_notes::KIND;
    let given = played(10.0, &[]);
    given.hangs_together(kind);
    let work = given.work(kind);
    assert!(
        (work["one.a3.drop"] - 17.5).abs() < 0.05,
        "{}",
        work["one.a3.drop"]
    );
    assert!(
        (work["one.c4.drop"] - 14.6).abs() < 0.05,
        "{}",
        work["one.c4.drop"]
    );
    near(work["one.a3.level"], 80.0 - work["one.a3.drop"], 1e-12);
    near(work["one.kept"], 1.0, 0.0);
    near(work["one.lowest_kept"], 1_046.502_261, 1e-9);
    near(
        played(15.0, &[]).result(kind, "one.lowest_kept"),
        261.625_565_3,
        1e-9,
    );
    assert!(
        !played(-20.0, &[])
            .work(kind)
            .contains_key("one.lowest_kept")
    );
}

/// Truth: at its corner a speaker has lost half of its power, 3.01 dB (definition);
/// one octave far below it a closed box loses 12 dB more, and whatever is of
/// fourth order 24 dB (textbook: 6 dB for each order).
#[test]
fn notes_fall_by_the_order_of_the_speaker() {
    let kind = &audible_notes::KIND;
    for (order, octave) in [(2, 12.041_2), (4, 24.082_4)] {
        let notes = [("corner", 800.0), ("low", 25.0), ("lower", 12.5)];
        let notes = Given::default().by_name("note", &notes);
        let speakers = Given::default()
            .groups("speaker", &[("one", &[("corner", 800.0)])])
            .whole_in("speaker", "one", "order", order);
        let work = Given::default()
            .working("notes", &NOTES, &notes)
            .working("speakers", KIND, &speakers)
            .work(kind);
        near(work["one.corner.drop"], 3.010_299_957, 1e-9);
        near(work["one.lower.drop"] - work["one.low.drop"], octave, 1e-5);
        near(work["one.kept"], 1.0, 0.0);
    }
}

/// Truth: closed form of the second order at 440 Hz, by hand: x = 440/600,
/// |H|² = x⁴ / ((1 - x²)² + x²/Q²).
#[test]
fn harmonics_are_heard_where_the_fundamental_is_lost() {
    let kind = &audible_notes::KIND;
    let given = played(10.0, &[-6.0, -12.0]);
    given.hangs_together(kind);
    let square = (440.0f64 / 600.0).powi(2);
    let power = square * square / ((1.0 - square).powi(2) + square / 0.49);
    let expected = 80.0 - 6.0 + 10.0 * power.log10();
    near(given.result(kind, "one.a3.harmonic_2"), expected, 1e-9);
}

#[test]
fn no_notes_and_far_too_many_are_refused() {
    let kind = &audible_notes::KIND;
    let speakers = Given::default().groups(
        "speaker",
        &[("one", &[("resonance", 600.0), ("total_q", 0.7)])],
    );
    let none = Given::default().working("speakers", KIND, &speakers);
    assert_eq!(none.refusals(kind).len(), 1);
    let names: Vec<String> = (0..200).map(|at| format!("n{at}")).collect();
    let many: Vec<(&str, f64)> = names.iter().map(|name| (name.as_str(), 440.0)).collect();
    let many = Given::default()
        .by_name("note", &many)
        .working("speakers", KIND, &speakers);
    assert_eq!(many.refusals(kind).len(), 1);
}

fn chosen(quantities: Quantities<'_>, targets: &[(&str, &str)]) -> Option<Answer> {
    chosen_for("baffle", quantities, targets)
}

fn chosen_for(word: &str, quantities: Quantities<'_>, targets: &[(&str, &str)]) -> Option<Answer> {
    let targets: Vec<Target> = targets
        .iter()
        .filter_map(|(key, text)| Target::of(key, &Statement::parse(text, None).ok()?))
        .collect();
    let given = speaker(quantities, word);
    let values: HashMap<String, Outcome> = given
        .work(KIND)
        .into_iter()
        .map(|(name, value)| (name, Outcome::exact(value)))
        .collect();
    let question = Question {
        given: given.inputs(),
        values: &values,
        targets: &targets,
        candidates: &[],
        show: 8,
    };
    box_choice::BoxChoice.choose(&question).ok()
}

/// Truth: Vb = Vas / ((Qtc/Qts)² - 1) (Small, 1972): 0.62 and 1.8 L give 1.123976608 L
/// for Q = 1; and the worked example of the page that reprints Thiele's table:
/// Q = 0.259, 30.4 Hz and 125.9 L give 28.23 L tuned to 43.2 Hz.
#[test]
fn boxes_are_sized_as_the_papers_do() {
    let closed = [
        ("resonance", 100.0),
        ("total_q", 0.62),
        ("equivalent_volume", 1.8 * LITRE),
    ];
    let answer = chosen(&closed, &[]).unwrap_or_else(|| panic!("a box is found"));
    let volumes: Vec<f64> = answer.own.iter().map(|candidate| candidate.value).collect();
    assert!(
        volumes
            .iter()
            .any(|volume| (volume / 1.123_976_608e-3 - 1.0).abs() < 1e-9),
        "{volumes:?}"
    );
    let vented = [
        ("resonance", 30.4),
        ("total_q", 0.259),
        ("equivalent_volume", 125.9 * LITRE),
    ];
    let answer = chosen(&vented, &[("one.corner", "54 Hz")]).unwrap_or_else(|| panic!("found"));
    let best = &answer.choices[0];
    assert_eq!(
        best.parts.len(),
        2,
        "the vented box is nearest to the target"
    );
    // The table prints three digits; so does its example.
    near(answer.own[best.parts[0].1].value, 28.23 * LITRE, 5e-3);
    near(answer.own[best.parts[1].1].value, 43.2, 6e-3);
    near(best.results[0].nominal, 53.8, 6e-3);
    assert!(chosen(&closed, &[("one.colour", "54 Hz")]).is_none());
    let high = [
        ("resonance", 100.0),
        ("total_q", 1.5),
        ("equivalent_volume", LITRE),
    ];
    let none = chosen(&high, &[]).unwrap_or_else(|| panic!("it says why"));
    assert!(none.choices.is_empty() && none.law.len() == 1);
}

/// The values of a choice, in the order of its inputs.
fn values_of(answer: &Answer, choice: usize) -> Vec<f64> {
    let parts = answer.choices[choice].parts.iter();
    parts.map(|(_, at)| answer.own[*at].value).collect()
}

/// Truth: Vb = Vas / ((Qtc/Qts)² - 1) (Small, 1972) by hand for Q = 0.8: 2.707042254 L.
#[test]
fn closed_boxes_are_sized_for_any_wanted_quality_factor() {
    let quantities = [
        ("resonance", 100.0),
        ("total_q", 0.62),
        ("equivalent_volume", 1.8 * LITRE),
        ("volume", 1.0 * LITRE),
    ];
    let answer = chosen_for("closed", &quantities, &[("one.q", "0.80")]);
    let answer = answer.unwrap_or_else(|| panic!("a box is found"));
    near(values_of(&answer, 0)[0], 2.707042254 * LITRE, 1e-8);
    near(answer.choices[0].results[0].nominal, 0.8, 1e-9);
    assert!(answer.choices[0].meets);
}

/// Truth: of all closed boxes one driver has its lowest corner, fs Qtc / Qts, at
/// Q = 1/√2 (Small, 1972): 114.05 Hz here. So 115 Hz belong to two boxes, 130 Hz to
/// one, and 100 Hz to none, which is said.
#[test]
fn closed_boxes_are_sized_for_a_wanted_corner() {
    let quantities = [
        ("resonance", 100.0),
        ("total_q", 0.62),
        ("equivalent_volume", 1.8 * LITRE),
    ];
    let boxes = |corner: &str| {
        let answer = chosen(&quantities, &[("one.corner", corner)]);
        answer.unwrap_or_else(|| panic!("{corner} is answered"))
    };
    for (corner, hertz, count) in [("115 Hz", 115.0, 2), ("130 Hz", 130.0, 1)] {
        let answer = boxes(corner);
        let exact = answer.choices.iter().filter(|choice| choice.worst < 1e-9);
        assert_eq!(exact.count(), count, "{corner}: {answer:?}");
        // The box, put back into the record, has that corner.
        let mut closed = quantities.to_vec();
        closed.push(("volume", values_of(&answer, 0)[0]));
        near(
            speaker(&closed, "closed").result(KIND, "one.corner"),
            hertz,
            1e-8,
        );
        assert!(answer.law.is_empty());
    }
    let low = boxes("100 Hz");
    assert!(low.law[0].contains("114 Hz"), "{:?}", low.law);
}

/// Truth: the tuning and the mass of a passive radiator by Small (1974), which
/// other tests hold to values from outside: what is chosen, put back into the
/// record, has the tuning, the corner and the mass that it was chosen for.
#[test]
fn boxes_are_sized_for_a_passive_radiator() {
    let quantities = [
        ("resonance", 60.0),
        ("total_q", 0.33),
        ("equivalent_volume", 9.0 * LITRE),
        ("volume", 1.0 * LITRE),
        ("radiator_resonance", 20.0),
        ("radiator_volume", 12.0 * LITRE),
        ("radiator_area", 0.01),
    ];
    let word = "passive-radiator";
    let answer = chosen_for(word, &quantities, &[("one.corner", "70 Hz")]);
    let answer = answer.unwrap_or_else(|| panic!("a box is found"));
    let with_radiator = |choice: &super::choose::Choice| {
        choice
            .parts
            .iter()
            .any(|(input, _)| input == "one.radiator_resonance")
    };
    let at = answer.choices.iter().position(with_radiator);
    let at = at.unwrap_or_else(|| panic!("one has a radiator: {answer:?}"));
    let [volume, resonance] = values_of(&answer, at)[..] else {
        panic!("a box and a radiator");
    };
    let mut found = quantities;
    (found[3].1, found[4].1) = (volume, resonance);
    let work = speaker(&found, word).work(KIND);
    near(
        work["one.corner"],
        answer.choices[at].results[0].nominal,
        1e-9,
    );
    let told = &answer.own[answer.choices[at].parts[1].1].name;
    let mass = format!("{:.1} g", 1e3 * work["one.radiator_mass"]);
    assert!(told.contains(&mass), "{told} does not say {mass}");
    // No ripple: at this quality factor the response is a QB3 one, below B4.
    assert!(work["one.peak"] < 0.05, "{}", work["one.peak"]);
    near(
        work["one.tuning"],
        resonance * (1.0 + 12.0 * LITRE / volume).sqrt(),
        1e-9,
    );
}
