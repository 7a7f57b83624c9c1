//! What a visitor hears is what the tables say: the pitch of every file of the
//! demo's sounds, and the players that lead there.

#![allow(clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::sync::LazyLock;

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::date;
use ohmbook::notebook::Notebook;
use ohmbook::page::pages;
use scraper::{Html, Selector};

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
const FRONT: &str = "boards/stone_chime/index.html";

/// What a pitch may be off, in cents.
const CLOSE: f64 = 0.1;

type Files = BTreeMap<Utf8PathBuf, Vec<u8>>;

static NOTEBOOK: LazyLock<Notebook> =
    LazyLock::new(|| Notebook::load(Utf8Path::new(DEMO), date(2026, 4, 1)));
static FILES: LazyLock<Files> = LazyLock::new(|| pages(&NOTEBOOK).unwrap());

/// A WAV file of one channel of sixteen bits: samples a second, and samples.
fn read(bytes: &[u8]) -> (f64, Vec<f64>) {
    let number = |at: usize, count: usize| {
        let bytes = bytes[at..at + count].iter().rev();
        bytes.fold(0u64, |number, byte| number << 8 | u64::from(*byte))
    };
    assert_eq!(&bytes[..4], b"RIFF");
    assert_eq!(&bytes[8..16], b"WAVEfmt ");
    assert_eq!(number(4, 4) as usize, bytes.len() - 8);
    assert_eq!((number(20, 2), number(22, 2), number(34, 2)), (1, 1, 16));
    assert_eq!(&bytes[36..40], b"data");
    assert_eq!(number(40, 4) as usize, bytes.len() - 44);
    let sample = |pair: &[u8]| f64::from(i16::from_le_bytes([pair[0], pair[1]]));
    (
        number(24, 4) as f64,
        bytes[44..].chunks_exact(2).map(sample).collect(),
    )
}

/// The spectrum of a windowed run at any frequency (the sum that a Fourier
/// transform is, taken where it is wanted).
struct Spectrum {
    rate: f64,
    samples: Vec<f64>,
}

impl Spectrum {
    /// Of a run, with a Blackman window (textbook).
    fn of(rate: f64, samples: &[f64]) -> Spectrum {
        let count = samples.len() as f64;
        let window = |at: usize| {
            let turn = TAU * (at as f64 + 0.5) / count;
            0.42 - 0.5 * turn.cos() + 0.08 * (2.0 * turn).cos()
        };
        let weighed = |(at, sample): (usize, &f64)| sample * window(at);
        Spectrum {
            rate,
            samples: samples.iter().enumerate().map(weighed).collect(),
        }
    }

    fn power(&self, frequency: f64) -> f64 {
        let (step_sin, step_cos) = (TAU * frequency / self.rate).sin_cos();
        let (mut real, mut imaginary) = (1.0, 0.0);
        let (mut along, mut across) = (0.0, 0.0);
        for sample in &self.samples {
            along += sample * real;
            across += sample * imaginary;
            (real, imaginary) = (
                real * step_cos - imaginary * step_sin,
                real * step_sin + imaginary * step_cos,
            );
        }
        along * along + across * across
    }

    /// The frequency of the highest line of all: of a fast transform first, then
    /// of the place beside it.
    fn highest(&self) -> f64 {
        let mut planner = realfft::RealFftPlanner::<f64>::new();
        let transform = planner.plan_fft_forward(self.samples.len());
        let mut lines = transform.make_output_vec();
        transform
            .process(&mut self.samples.clone(), &mut lines)
            .unwrap();
        let powers = lines.iter().map(|line| line.norm_sqr());
        let (line, _) = powers
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap();
        self.summit(line as f64 * self.rate / self.samples.len() as f64)
    }

    /// The summit within one line of a frequency, by thirds.
    fn summit(&self, near: f64) -> f64 {
        let line = self.rate / self.samples.len() as f64;
        let (mut low, mut high) = (near - line, near + line);
        while high - low > 1e-6 * near {
            let third = (high - low) / 3.0;
            if self.power(low + third) < self.power(high - third) {
                low += third;
            } else {
                high -= third;
            }
        }
        (low + high) / 2.0
    }
}

fn figure(name: &str) -> f64 {
    let node = NOTEBOOK.graph.find("stone_chime", name).unwrap();
    NOTEBOOK.value(node).unwrap().outcome.nominal
}

fn file(name: &str) -> (f64, Vec<f64>) {
    read(&FILES[Utf8Path::new(&format!("boards/stone_chime/sounds/tones-{name}.wav"))])
}

fn cents(found: f64, expected: f64) -> f64 {
    1200.0 * (found / expected).log2()
}

const KEYS: [&str; 5] = ["c5", "d5", "e5", "g5", "a5"];

#[test]
fn every_key_sounds_at_the_frequency_that_the_table_says() {
    for key in KEYS {
        let played = figure(&format!("notes.{key}.played"));
        for copy in ["", "-speaker"] {
            let (rate, samples) = file(&format!("{key}{copy}"));
            assert_eq!(rate, figure("sample_rate"));
            let found = Spectrum::of(rate, &samples).highest();
            let off = cents(found, played);
            assert!(
                off.abs() < CLOSE,
                "{key}{copy}: {found} Hz, off by {off} cent"
            );
        }
        // The tables tell the played pitch from the wanted one more finely than
        // this test does, or it would prove nothing.
        let error = figure(&format!("notes.{key}.error"));
        let wanted = figure(&format!("notes.{key}.frequency"));
        assert!((cents(played, wanted) - error).abs() < 1e-9);
    }
    assert!(figure("notes.c5.error").abs() > CLOSE);
}

#[test]
fn the_keys_in_turn_sound_one_after_the_other() {
    let (rate, samples) = file("in_turn");
    let each = samples.len() / KEYS.len();
    for (key, samples) in KEYS.iter().zip(samples.chunks_exact(each)) {
        let found = Spectrum::of(rate, samples).highest();
        let off = cents(found, figure(&format!("notes.{key}.played")));
        assert!(off.abs() < CLOSE, "{key}: off by {off} cent");
    }
}

#[test]
fn chords_hold_each_of_their_notes() {
    for chord in ["c5_g5", "e5_a5", "c5_d5_e5_g5_a5"] {
        let (rate, samples) = file(chord);
        let spectrum = Spectrum::of(rate, &samples);
        let loudest = spectrum.power(spectrum.highest());
        for key in KEYS {
            let played = figure(&format!("notes.{key}.played"));
            if chord.split('_').any(|name| name == key) {
                let found = spectrum.summit(played);
                let off = cents(found, played);
                assert!(off.abs() < CLOSE, "{key} in {chord}: off by {off} cent");
                assert!(spectrum.power(found) > 0.1 * loudest, "{key} in {chord}");
            } else {
                assert!(spectrum.power(played) < 1e-3 * loudest, "{key} in {chord}");
            }
        }
    }
}

/// Whoever plays a sound has a caution above it, and the file is there.
#[test]
fn players_lead_to_files_below_a_caution() {
    let mut played = 0;
    for (path, bytes) in FILES
        .iter()
        .filter(|(path, _)| path.extension() == Some("html"))
    {
        let page = Html::parse_document(std::str::from_utf8(bytes).unwrap());
        let all = |selector: &str| {
            let selector = Selector::parse(selector).unwrap();
            page.select(&selector)
                .map(|found| found.html())
                .collect::<Vec<_>>()
        };
        let players = all("audio").len();
        assert_eq!(
            players,
            all(".sounds li audio[controls][preload=none]").len(),
            "{path}"
        );
        let figures = all(".sounds").len();
        assert_eq!(figures, all(".sounds > .hearing").len(), "{path}");
        let selector = Selector::parse("audio").unwrap();
        for audio in page.select(&selector) {
            let source = audio.attr("src").unwrap();
            let file = path.parent().unwrap().join(source);
            assert!(FILES.contains_key(&file), "{path}: {source}");
            played += 1;
        }
    }
    let front = String::from_utf8(FILES[Utf8Path::new(FRONT)].clone()).unwrap();
    assert!(front.contains("<audio"), "a customer can hear the chime");
    let sounds = FILES.keys().filter(|path| path.extension() == Some("wav"));
    // Each stands on the front sheet and on the workings sheet.
    assert_eq!(played, 2 * sounds.count());
}

/// Small enough for a page: none of the files is above 200 kB.
#[test]
fn files_are_small() {
    for (path, bytes) in FILES
        .iter()
        .filter(|(path, _)| path.extension() == Some("wav"))
    {
        assert!(bytes.len() < 200_000, "{path}: {}", bytes.len());
    }
}
