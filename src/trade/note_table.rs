//! Notes of an instrument, and how near its firmware comes to them.

use super::keys::{Key, MOST, keys};
use super::kind::{Input, Inputs, Kind, Refusal, Takes, may_take, optional, takes};
use super::plan::{Cell, Holding, Plan, Planned, Table};
use super::sums::{Together, together};
use super::tuning::{SCALE_NAMES, TONICS, TUNING_NAMES};
use super::verdict::{exact, judged};
use crate::quantity::Dimension;

pub(super) static KIND: NoteTable = NoteTable;

/// The kind `note-table`.
#[derive(Debug)]
pub(super) struct NoteTable;

/// Bits that a double-precision number keeps.
const EXACT_BITS: u64 = 53;

const SYNTHESIS: &str = "textbook: tuning equation of direct digital synthesis, f = M f_s / 2^N";
const TIMER: &str = "textbook: a timer that divides by whole numbers";
const CENTS: &str = "A. J. Ellis's cent (textbook)";
const SAMPLING: &str = "textbook: the sampling theorem";

const INPUTS: &[Input] = &[
    takes(
        "notes",
        "Notes of the keys, lowest first; the first one alone where a scale is named",
        Takes::Words,
    ),
    may_take(
        "scale",
        "Scale that climbs from the first note",
        Takes::Word(SCALE_NAMES),
    ),
    may_take(
        "count",
        "Number of keys of the scale",
        Takes::Whole(1..=MOST as u64),
    ),
    may_take(
        "tuning",
        "Tuning; equal temperament if nothing is said",
        Takes::Word(TUNING_NAMES),
    ),
    may_take(
        "tonic",
        "Note that a tuning by ratios is built on; C if nothing is said",
        Takes::Word(TONICS),
    ),
    optional(
        "reference",
        "Pitch of the A above middle C; 440 Hz (ISO 16) if nothing is said",
        Dimension::FREQUENCY,
    )
    .above_zero(),
    may_take(
        "ratios",
        "Ratio of each note to the base frequency, in place of a tuning",
        Takes::Quantities(Dimension::ONE, 1..=MOST),
    )
    .above_zero(),
    optional("base", "Frequency of ratio 1", Dimension::FREQUENCY).above_zero(),
    optional(
        "stretch",
        "How much wider than pure an octave is",
        Dimension::CENTS,
    ),
    may_take(
        "pins",
        "Pin of each key, in the order of the notes",
        Takes::Words,
    ),
    may_take(
        "accumulator",
        "Width of the phase accumulator in bits",
        Takes::Whole(1..=64),
    ),
    optional(
        "rate",
        "Sample rate that the firmware counts on",
        Dimension::FREQUENCY,
    )
    .above_zero(),
    optional(
        "timer_clock",
        "Clock of the timer, behind its prescaler",
        Dimension::FREQUENCY,
    )
    .above_zero(),
    may_take(
        "timer_counts",
        "What the timer counts out; a whole period if nothing is said",
        Takes::Word(&["period", "half-period"]),
    ),
    may_take(
        "timer_bits",
        "Width of the timer in bits",
        Takes::Whole(1..=64),
    ),
    optional(
        "clock_error",
        "What the clock is off from the one that the firmware counts on, as a share of it",
        Dimension::ONE,
    ),
];

impl Kind for NoteTable {
    fn name(&self) -> &'static str {
        "note-table"
    }

    fn title(&self) -> &'static str {
        "Notes"
    }

    fn inputs(&self) -> &'static [Input] {
        INPUTS
    }

    fn plan(&self, given: &Inputs) -> Result<Plan, Vec<Refusal>> {
        let keys = keys(given)?;
        let refusals = refusals(given, &keys);
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let mut plan = Plan::default();
        for key in &keys {
            pitch(&mut plan, key);
        }
        plan.tables.push(pitches(given, &keys));
        if let Some(bits) = given.whole("accumulator") {
            accumulator(&mut plan, given, &keys, bits);
        }
        if given.has("timer_clock") {
            timer(&mut plan, given, &keys);
        }
        Ok(plan)
    }
}

fn refusals(given: &Inputs, keys: &[Key]) -> Vec<Refusal> {
    let mut wrong = Vec::new();
    let pins = given.words("pins");
    if given.has("pins") && pins.len() != keys.len() {
        wrong.push(Refusal::new(
            "pins",
            format!("{} keys have {} pins", keys.len(), pins.len()),
            "name a pin for each key, in the order of the notes",
        ));
    }
    for (at, pin) in pins.iter().enumerate() {
        if pins[..at].contains(pin) {
            wrong.push(Refusal::new(
                "pins",
                format!("two keys are at pin `{pin}`"),
                "give each key a pin of its own",
            ));
        }
    }
    let pairs = [("accumulator", "rate"), ("rate", "accumulator")];
    for (input, lacking) in pairs {
        if given.has(input) && !given.has(lacking) {
            wrong.push(Refusal::new(
                input,
                format!("`{input}` says nothing without `{lacking}`"),
                format!("give `{lacking}` too, or take it out"),
            ));
        }
    }
    for input in ["timer_counts", "timer_bits"] {
        if given.has(input) && !given.has("timer_clock") {
            wrong.push(Refusal::new(
                input,
                format!("`{input}` says nothing without `timer_clock`"),
                "give `timer_clock` too, or take it out",
            ));
        }
    }
    let stays = given.has("accumulator") || given.has("timer_clock");
    if given.has("clock_error") && !stays {
        wrong.push(Refusal::new(
            "clock_error",
            "nothing here is made from a clock",
            "give `accumulator` and `rate`, or `timer_clock`",
        ));
    }
    wrong
}

/// Puts a result of a key down, under the label `C5 frequency`.
fn add(
    plan: &mut Plan,
    key: &Key,
    (name, of): (&str, &str),
    means: &str,
    formula: String,
    source: &'static str,
) {
    let (id, written) = (&key.id, &key.written);
    let result = Planned::formula(
        format!("{id}.{name}"),
        format!("{means} of {written}"),
        formula,
        source,
    );
    plan.results
        .push(result.labelled(format!("{written} {of}")));
}

fn pitch(plan: &mut Plan, key: &Key) {
    let id = &key.id;
    add(
        plan,
        key,
        ("frequency", "frequency"),
        "Frequency",
        key.frequency.clone(),
        key.source,
    );
    let period = format!("1 / {id}.frequency");
    add(
        plan,
        key,
        ("period", "period"),
        "Period",
        period,
        "definition",
    );
    if let Some(equal) = &key.equal {
        let cents = format!("cents({id}.frequency / ({equal}))");
        let means = "Deviation from equal temperament";
        add(plan, key, ("from_equal", "from equal"), means, cents, CENTS);
    }
}

fn pitches(given: &Inputs, keys: &[Key]) -> Table {
    let pins = given.words("pins");
    let mut columns = vec!["Note", "Frequency", "Period"];
    if keys.iter().any(|key| key.equal.is_some()) {
        columns.push("From equal temperament");
    }
    if !pins.is_empty() {
        columns.push("Pin of the key");
    }
    let row = |(at, key): (usize, &Key)| {
        let value = |name: &str| Cell::Value(format!("{}.{name}", key.id));
        let mut row = vec![
            Cell::Text(key.written.clone()),
            value("frequency"),
            value("period"),
        ];
        if key.equal.is_some() {
            row.push(value("from_equal"));
        }
        row.extend(pins.get(at).map(|pin| Cell::Text(pin.clone())));
        row
    };
    table("", &columns, keys.iter().enumerate().map(row).collect())
}

/// The clock that there is, over the one that the firmware counts on.
fn clock(given: &Inputs) -> &'static str {
    if given.has("clock_error") {
        " * (1 + clock_error)"
    } else {
        ""
    }
}

fn accumulator(plan: &mut Plan, given: &Inputs, keys: &[Key], bits: u64) {
    let clock = clock(given);
    plan.results.push(Planned::formula(
        "resolution",
        "Step of frequency of the accumulator",
        format!("rate / 2^{bits}"),
        SYNTHESIS,
    ));
    for key in keys {
        let id = &key.id;
        let increment = format!("round({id}.frequency * 2^{bits} / rate)");
        add(
            plan,
            key,
            ("increment", "increment"),
            "Increment",
            increment,
            SYNTHESIS,
        );
        let played = format!("{id}.increment * rate / 2^{bits}{clock}");
        add(
            plan,
            key,
            ("played", "played"),
            "Frequency really played",
            played,
            SYNTHESIS,
        );
        let error = format!("cents({id}.played / {id}.frequency)");
        add(
            plan,
            key,
            ("error", "error"),
            "Error of pitch",
            error,
            CENTS,
        );
        // The highest harmonic lies below half the rate, not at it.
        let harmonics = format!("ceil(rate / (2 * {id}.frequency)) - 1");
        let means = "Highest harmonic below half the sample rate";
        add(
            plan,
            key,
            ("harmonics", "harmonics"),
            means,
            harmonics,
            SAMPLING,
        );
        plan.holds.push(Holding::new(
            format!("{id}.frequency < rate / 2"),
            format!("{} lies below half the sample rate", key.written),
        ));
        plan.holds.push(Holding::new(
            format!("{id}.increment >= 1"),
            format!(
                "the accumulator is wide enough for {}: its increment is not zero",
                key.written
            ),
        ));
    }
    greatest(
        plan,
        keys,
        "error",
        ("greatest_error", "Greatest error of pitch"),
    );
    let row = |key: &Key| {
        let value = |name: &str| Cell::Value(format!("{}.{name}", key.id));
        vec![
            Cell::Text(key.written.clone()),
            Cell::Whole(format!("{}.increment", key.id)),
            value("played"),
            value("error"),
            judged(&[format!("{}.harmonics", key.id)], |of| {
                match of[0].nominal {
                    highest if highest >= 2.0 => format!("1 to {}", exact(highest)),
                    1.0 => "1".to_owned(),
                    _ => "none".to_owned(),
                }
            }),
        ]
    };
    plan.tables.push(table(
        &format!("Phase accumulator of {bits} bit"),
        &[
            "Note",
            "Increment",
            "Really played",
            "Error",
            "Harmonics below half the rate",
        ],
        keys.iter().map(row).collect(),
    ));
    if bits > EXACT_BITS {
        plan.notes.push(format!(
            "Increments of {bits} bit are computed with {EXACT_BITS}: the lowest bits of the largest are zero."
        ));
    }
}

fn timer(plan: &mut Plan, given: &Inputs, keys: &[Key]) {
    let clock = clock(given);
    let halves = given.word("timer_counts") == Some("half-period");
    let counts = if halves { "2 * " } else { "" };
    for key in keys {
        let id = &key.id;
        let divider = format!("round(timer_clock / ({counts}{id}.frequency))");
        add(
            plan,
            key,
            ("divider", "divider"),
            "Divider of the timer",
            divider,
            TIMER,
        );
        let played = format!("timer_clock / ({counts}{id}.divider){clock}");
        let means = "Frequency that the timer plays";
        add(
            plan,
            key,
            ("timer_played", "timer played"),
            means,
            played,
            TIMER,
        );
        let error = format!("cents({id}.timer_played / {id}.frequency)");
        let means = "Error of the timer's pitch";
        add(
            plan,
            key,
            ("timer_error", "timer error"),
            means,
            error,
            CENTS,
        );
        plan.holds.push(Holding::new(
            format!("{id}.divider >= 1"),
            format!("the timer's clock is fast enough for {}", key.written),
        ));
        if let Some(bits) = given.whole("timer_bits") {
            plan.holds.push(Holding::new(
                format!("{id}.divider <= 2^{bits}"),
                format!("the divider of {} fits the timer", key.written),
            ));
        }
    }
    greatest(
        plan,
        keys,
        "timer_error",
        (
            "greatest_timer_error",
            "Greatest error of the timer's pitch",
        ),
    );
    let row = |key: &Key| {
        let value = |name: &str| Cell::Value(format!("{}.{name}", key.id));
        vec![
            Cell::Text(key.written.clone()),
            Cell::Whole(format!("{}.divider", key.id)),
            value("timer_played"),
            value("timer_error"),
        ]
    };
    let what = if halves { "half periods" } else { "periods" };
    plan.tables.push(table(
        &format!("Timer that counts out {what}"),
        &["Note", "Divider", "Really played", "Error"],
        keys.iter().map(row).collect(),
    ));
}

/// The greatest of a result over all keys, whichever way it is off.
fn greatest(plan: &mut Plan, keys: &[Key], of: &str, result: (&str, &str)) {
    let terms: Vec<String> = keys
        .iter()
        .map(|key| format!("abs({}.{of})", key.id))
        .collect();
    together(
        &mut plan.results,
        Together::Greatest,
        result,
        &terms,
        "comparison",
    );
}

fn table(caption: &str, columns: &[&str], rows: Vec<Vec<Cell>>) -> Table {
    Table {
        caption: caption.to_owned(),
        columns: columns.iter().map(|&column| column.to_owned()).collect(),
        rows,
    }
}
