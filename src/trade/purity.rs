//! How clean a wave table sounds: measured from its samples, and by theory.

use super::plan::{Axis, Cell, Curves, Plan, Planned, Plot, Procedure, Table};
use super::spectrum::powers;
use super::wave_shape::Shape;
use crate::quantity::Dimension;

const BENNETT: &str =
    "W. R. Bennett, Spectra of Quantized Signals, Bell System Technical Journal 27 (1948), 446";
const TRUNCATION: &str =
    "textbook: error of a truncated phase, even over one step (direct digital synthesis)";
const INTERPOLATION: &str = "derived: error of a straight line between two points of a sine";
const INTERPOLATED_NOISE: &str = "derived from W. R. Bennett, Spectra of Quantized Signals, Bell System Technical Journal 27 (1948), 446, for entries interpolated and rounded down";
const MEASURED: &str = "measured from the samples by a Fourier transform over whole periods (IEEE Std 1241: coherent sampling)";
const LEVELS: &str = "IEEE Std 1241: levels of noise, distortion and spurs";

/// How clean the wave comes out, measured and by theory.
pub(super) fn purity(plan: &mut Plan, shape: &Shape) {
    plot(plan, shape);
    let of = shape.clone();
    let readings: [Procedure; 4] = Procedure::several(move || {
        let of = of.clone();
        Box::new(move |operands, readings| {
            let found = of.measured(operands)?;
            readings.copy_from_slice(&[
                found.signal_to_rest,
                found.signal_to_noise,
                found.distortion,
                found.spur,
            ]);
            Ok(())
        })
    });
    let names = [
        (
            "signal_to_rest",
            "Signal to noise and distortion, measured at the highest note",
        ),
        (
            "signal_to_noise",
            "Signal to noise, measured at the highest note",
        ),
        (
            "distortion",
            "Distortion by harmonics, measured at the highest note",
        ),
        (
            "worst_spur",
            "Worst spur against the fundamental, measured at the highest note",
        ),
    ];
    for ((name, means), reading) in names.into_iter().zip(readings) {
        let operands = shape.operands(&["highest_increment"]);
        let dimension = Dimension::DECIBEL;
        let result = Planned::procedure(name, means, dimension, operands, reading, MEASURED);
        plan.results.push(result);
    }
    let share = Planned::formula(
        "total_distortion",
        "Total distortion as a share of the amplitude",
        "field_ratio(distortion)",
        LEVELS,
    );
    plan.results.push(share);
    let theory = theory(plan, shape);
    let row = |what: &str, measured: &str, expected: Option<&str>| {
        let expected = expected.filter(|name| theory.contains(name));
        vec![
            Cell::Text(what.to_owned()),
            Cell::Value(measured.to_owned()),
            expected.map_or_else(
                || Cell::Text("–".to_owned()),
                |name| Cell::Value(name.to_owned()),
            ),
        ]
    };
    plan.tables.push(Table {
        caption: "Purity at the highest note".to_owned(),
        columns: ["What it is", "Measured", "By theory"]
            .map(str::to_owned)
            .into(),
        rows: vec![
            row(
                "Signal to noise and distortion",
                "signal_to_rest",
                Some("expected_signal_to_rest"),
            ),
            row("Signal to noise", "signal_to_noise", None),
            row("Distortion by harmonics", "distortion", None),
            row("Worst spur", "worst_spur", Some("expected_spur")),
        ],
    });
}

/// What theory expects of a sine; of other waves only the noise of their
/// entries.
fn theory(plan: &mut Plan, shape: &Shape) -> Vec<&'static str> {
    let (bits, address) = (shape.bits, shape.address_bits());
    let mut add = |name, means: &str, formula: String, source| {
        plan.results
            .push(Planned::formula(name, means, formula, source));
        name
    };
    // Between two entries their errors weigh in with two thirds of their power,
    // on the mean over all places, and the product that is rounded down adds one
    // more: five thirds in all.
    let (share, source) = match shape.interpolated {
        true => ("9 / 10", INTERPOLATED_NOISE),
        false => ("3 / 2", BENNETT),
    };
    let mut known = vec![add(
        "expected_quantisation",
        "Signal to noise of samples of so many bits, for a full-scale sine",
        format!("field_level(2^{bits} * sqrt({share}))"),
        source,
    )];
    if !shape.harmonics.is_empty() {
        return known;
    }
    let (formula, spur, source) = if shape.interpolated {
        let step = format!("(2 * pi / {})", shape.length);
        (
            format!("field_level(sqrt(720) / {step}^2)"),
            format!("field_level(1 / ({} - 1)^2)", shape.length),
            INTERPOLATION,
        )
    } else {
        (
            format!("field_level(2^{address} * sqrt(3) / pi)"),
            format!("field_level(1 / 2^{address})"),
            TRUNCATION,
        )
    };
    known.push(add(
        "expected_phase",
        "Signal to noise of a table of so many entries, for a sine",
        formula,
        source,
    ));
    known.push(add(
        "expected_signal_to_rest",
        "Signal to noise and distortion by theory",
        "field_level(1 / sqrt(1 / field_ratio(expected_quantisation)^2 + 1 / field_ratio(expected_phase)^2))"
            .to_owned(),
        "powers of unrelated errors add",
    ));
    known.push(add(
        "expected_spur",
        "Worst spur that the length of the table makes",
        spur,
        source,
    ));
    known
}

/// The spectrum as a plot.
fn plot(plan: &mut Plan, shape: &Shape) {
    let of = shape.clone();
    plan.plots.push(Plot {
        name: "spectrum",
        marks: Vec::new(),
        lines: Vec::new(),
        title: "Spectrum at the highest note, without decay".to_owned(),
        x: Axis::even("Frequency", "kHz"),
        y: Axis::even("Level", "dB"),
        operands: shape.operands(&[&shape.rate, "highest_increment"]),
        curves: Curves::new(move |operands| {
            let [rate, increment, harmonics @ ..] = operands else {
                return Ok(Vec::new());
            };
            let (samples, _) = of.run(*increment, harmonics)?;
            Ok(vec![("level".to_owned(), spectrum(&samples, *rate))])
        }),
    });
}

/// Levels of the spectral lines against the highest, with the frequency in kHz:
/// of each stretch of the axis the greatest.
fn spectrum(samples: &[i32], rate: f64) -> Vec<(f64, f64)> {
    const STRETCHES: usize = 256;
    let powers = powers(samples);
    let greatest = powers.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let width = powers.len().div_ceil(STRETCHES);
    let stretches = powers.chunks(width).enumerate();
    let point = |(at, stretch): (usize, &[f64])| {
        let power = stretch.iter().copied().fold(0.0, f64::max);
        let middle = (at * width) as f64 + (stretch.len() - 1) as f64 / 2.0;
        let frequency = middle * rate / samples.len() as f64 / 1e3;
        // What lies deeper is rounding.
        (frequency, (10.0 * (power / greatest).log10()).max(-120.0))
    };
    stretches.map(point).collect()
}
