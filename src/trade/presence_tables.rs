//! Tables of a check of resistors: limits, faults, and what the limits miss.

use super::kind::Inputs;
use super::plan::{Cell, Table};
use super::presence::{Seen, Window, neighbour, seen};
use super::presence_check::{FAULTS, words};
use super::verdict::{Verdict, judged, percent, whole};
use crate::quantity::{Outcome, Series};

/// All questions are answered in the tables here.
pub(super) const VERDICTS: &[Verdict] = &[];

/// A fault, by the names of the readings that tell it.
struct Fault {
    /// What it is, in words.
    what: String,
    /// The good reading and the one with the fault, at each place that sees it.
    sights: Vec<(String, String)>,
    /// The same without what is parallel, where something is.
    bare: Option<(String, String)>,
    /// The resistor whose next value it is.
    next_of: Option<(String, bool)>,
    /// Whether it takes more than one resistor.
    is_of_several: bool,
}

/// All tables.
pub(super) fn tables(given: &Inputs, series: Series) -> Vec<Table> {
    let faults = faults(given);
    let mut tables = vec![
        summary(given, &faults),
        limits(given),
        single(given, &faults, series),
    ];
    let several: Vec<&Fault> = faults.iter().filter(|fault| fault.is_of_several).collect();
    if !several.is_empty() {
        tables.push(Table {
            caption: "Faults of several resistors".to_owned(),
            columns: columns(["Fault", "What the limits make of it"]),
            rows: several
                .iter()
                .map(|fault| vec![Cell::Text(fault.what.clone()), fault.verdict(given, series)])
                .collect(),
        });
    }
    if given.has("controller_accuracy") {
        tables.push(controller(given, series));
    }
    tables
}

fn columns<const N: usize>(heads: [&str; N]) -> Vec<String> {
    heads.map(str::to_owned).into()
}

fn faults(given: &Inputs) -> Vec<Fault> {
    let resistors = given.names("resistors");
    let paths = given.names("parallel");
    let mut faults = Vec::new();
    for one in &resistors {
        for (fault, what) in FAULTS {
            faults.push(Fault {
                what: format!("{}: {what}", words(one)),
                sights: vec![(format!("reading.{one}"), format!("{fault}.{one}"))],
                bare: paths
                    .contains(one)
                    .then(|| (format!("bare.reading.{one}"), format!("bare.{fault}.{one}"))),
                next_of: match *fault {
                    "next_up" => Some((format!("resistors.{one}"), true)),
                    "next_down" => Some((format!("resistors.{one}"), false)),
                    _ => None,
                },
                is_of_several: false,
            });
        }
    }
    for pair in resistors.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        faults.push(Fault {
            what: format!("{} and {} swapped", words(a), words(b)),
            sights: vec![
                (format!("reading.{a}"), format!("swapped.{a}.{b}")),
                (format!("reading.{b}"), format!("swapped.{b}.{a}")),
            ],
            bare: None,
            next_of: None,
            is_of_several: true,
        });
    }
    if given.word("selected_by") == Some("switch") && resistors.len() > 1 {
        for stuck in &resistors {
            let others = resistors.iter().filter(|other| *other != stuck);
            faults.push(Fault {
                what: format!("switch stuck at {}", words(stuck)),
                sights: others
                    .map(|other| (format!("reading.{other}"), format!("reading.{stuck}")))
                    .collect(),
                bare: None,
                next_of: None,
                is_of_several: true,
            });
        }
    }
    faults
}

impl Fault {
    /// Readings that tell it, the guard band where there is one, and the value
    /// whose neighbour it is.
    fn of(&self, given: &Inputs) -> Vec<String> {
        let mut of = Vec::new();
        for (good, bad) in self.sights.iter().chain(&self.bare) {
            of.extend([good.clone(), bad.clone()]);
        }
        of.extend(self.next_of.iter().map(|(name, _)| name.clone()));
        of.extend(given.has("guard").then(|| "guard".to_owned()));
        of
    }

    fn verdict(&self, given: &Inputs, series: Series) -> Cell {
        let sight = self.sight(given);
        let next = self.next_of.as_ref().map(|(_, above)| (series, *above));
        judged(&self.of(given), move |of| sight.words(of, next))
    }

    fn sight(&self, given: &Inputs) -> Sight {
        Sight {
            pairs: self.sights.len(),
            has_bare: self.bare.is_some(),
            is_next: self.next_of.is_some(),
            has_guard: given.has("guard"),
        }
    }
}

/// How the outcomes of a fault are laid out for its judge.
#[derive(Clone, Copy)]
struct Sight {
    pairs: usize,
    has_bare: bool,
    is_next: bool,
    has_guard: bool,
}

/// What is made of a fault.
struct Judgement {
    seen: Seen,
    is_masked: bool,
    gap: f64,
}

impl Sight {
    /// How many outcomes it takes.
    fn len(&self) -> usize {
        2 * (self.pairs + usize::from(self.has_bare))
            + usize::from(self.is_next)
            + usize::from(self.has_guard)
    }

    fn judge(&self, of: &[Outcome]) -> Option<Judgement> {
        if of.len() != self.len() {
            return None;
        }
        let guard = match of.last() {
            Some(guard) if self.has_guard => guard.high,
            _ => 0.0,
        };
        let at = |pair: usize| {
            let limits = Window::around(&of[2 * pair], guard);
            let fault = Window::around(&of[2 * pair + 1], 0.0);
            (seen(&limits, &fault), limits.gap(&fault))
        };
        // One place that sees it for sure is enough.
        let all = (0..self.pairs).map(at);
        let (seen, gap) = all.max_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))?;
        let is_masked = self.has_bare && seen != Seen::Always && at(self.pairs).0 == Seen::Always;
        Some(Judgement {
            seen,
            is_masked,
            gap,
        })
    }

    fn words(&self, of: &[Outcome], next: Option<(Series, bool)>) -> String {
        let Some(judgement) = self.judge(of) else {
            return String::new();
        };
        let own = of.get(2 * (self.pairs + usize::from(self.has_bare)));
        if let (Some((series, _)), Some(own)) = (next, own) {
            if !series.member(own.nominal) {
                return format!(
                    "not judged: the value is none of {series}, so it has no neighbour"
                );
            }
            let member = series.nearest(own.nominal);
            if [own.low, own.high]
                .iter()
                .any(|&end| series.nearest(end) != member)
            {
                return "missed: the part's own tolerance reaches half-way to the next value"
                    .to_owned();
            }
        }
        let mut words = match judgement.seen {
            Seen::Always => format!("caught, {} counts from the limits", whole(judgement.gap)),
            Seen::Sometimes => format!(
                "not always caught: {} counts are within the limits",
                whole(1.0 - judgement.gap)
            ),
            Seen::Never => "missed: within the limits".to_owned(),
        };
        if judgement.is_masked {
            words += "; masked by what is parallel";
        }
        words
    }
}

fn show(window: &Window) -> String {
    format!("{} to {}", whole(window.low), whole(window.high))
}

fn limits(given: &Inputs) -> Table {
    let row = |one: &&str| {
        let reading = format!("reading.{one}");
        let mut of = vec![reading.clone()];
        of.extend(given.has("guard").then(|| "guard".to_owned()));
        vec![
            Cell::Text(words(one)),
            Cell::Value(format!("resistors.{one}")),
            Cell::Value(reading),
            judged(&of, |of| {
                let guard = of.get(1).map_or(0.0, |guard| guard.high);
                of.first()
                    .map_or_else(String::new, |good| show(&Window::around(good, guard)))
            }),
            Cell::Value(format!("share_per_count.{one}")),
        ]
    };
    Table {
        caption: "Limits".to_owned(),
        columns: columns([
            "Resistor",
            "Value",
            "Reading",
            "Limits in counts",
            "One count is",
        ]),
        rows: given.names("resistors").iter().map(row).collect(),
    }
}

fn single(given: &Inputs, faults: &[Fault], series: Series) -> Table {
    let of_one = faults.iter().filter(|fault| !fault.is_of_several);
    let row = |fault: &Fault| {
        let bad = fault.sights[0].1.clone();
        vec![
            Cell::Text(fault.what.clone()),
            Cell::Value(bad.clone()),
            judged(&[bad], |of| {
                of.first()
                    .map_or_else(String::new, |bad| show(&Window::around(bad, 0.0)))
            }),
            fault.verdict(given, series),
        ]
    };
    Table {
        caption: "Faults of one resistor".to_owned(),
        columns: columns(["Fault", "Reading", "Counts", "What the limits make of it"]),
        rows: of_one.map(row).collect(),
    }
}

/// How many faults the limits catch, and which they do not.
fn summary(given: &Inputs, faults: &[Fault]) -> Table {
    let names: Vec<String> = faults.iter().map(|fault| fault.what.clone()).collect();
    let sights: Vec<Sight> = faults.iter().map(|fault| fault.sight(given)).collect();
    let of: Vec<String> = faults.iter().flat_map(|fault| fault.of(given)).collect();
    type Wanted = fn(&Judgement) -> bool;
    let rows: [(&str, Wanted); 4] = [
        ("always caught", |of| of.seen == Seen::Always),
        ("not always caught", |of| of.seen == Seen::Sometimes),
        ("never caught", |of| of.seen == Seen::Never),
        ("masked by what is parallel", |of| of.is_masked),
    ];
    let row = |(at, (what, wanted)): (usize, (&str, Wanted))| {
        let (names, sights) = (names.clone(), sights.clone());
        let cell = judged(&of, move |of| {
            let found = which(of, &sights, wanted);
            let count = format!("{} of {}", found.len(), sights.len());
            if at == 0 || found.is_empty() {
                return count;
            }
            let listed: Vec<&str> = found.iter().map(|&at| names[at].as_str()).collect();
            format!("{count}: {}", listed.join("; "))
        });
        vec![Cell::Text(what.to_owned()), cell]
    };
    Table {
        caption: String::new(),
        columns: columns(["Faults that are", "How many"]),
        rows: rows.into_iter().enumerate().map(row).collect(),
    }
}

/// Positions of the faults that are judged as wanted.
fn which(of: &[Outcome], sights: &[Sight], wanted: fn(&Judgement) -> bool) -> Vec<usize> {
    let mut rest = of;
    let mut found = Vec::new();
    for (at, sight) in sights.iter().enumerate() {
        let (own, after) = rest.split_at(sight.len().min(rest.len()));
        rest = after;
        if sight.judge(own).is_some_and(|judgement| wanted(&judgement)) {
            found.push(at);
        }
    }
    found
}

/// Whether a test of the current would prove each resistor.
fn controller(given: &Inputs, series: Series) -> Table {
    let row = |one: &&str| {
        let of = [format!("resistors.{one}"), "controller_accuracy".to_owned()];
        vec![
            Cell::Text(words(one)),
            judged(&of, move |of| match of {
                [own, accuracy] => proves(own, accuracy, series),
                _ => String::new(),
            }),
        ]
    };
    Table {
        caption: "What a test of the current would prove of the resistor".to_owned(),
        columns: columns(["Resistor", "Is it the right value?"]),
        rows: given.names("resistors").iter().map(row).collect(),
    }
}

/// Currents go as 1/R. With the right value they lie within the tolerance and
/// the accuracy, and so they do with the next one, around another middle.
fn proves(own: &Outcome, accuracy: &Outcome, series: Series) -> String {
    let tolerance = (own.high / own.nominal - 1.0).max(1.0 - own.low / own.nominal);
    let (least, most) = (
        (1.0 - accuracy.high) / (1.0 + tolerance),
        (1.0 + accuracy.high) / (1.0 - tolerance),
    );
    let steps = [true, false]
        .into_iter()
        .filter_map(|above| neighbour(own.nominal, series, above))
        .map(|next| own.nominal / next);
    let hidden = steps
        .clone()
        .any(|ratio| ratio * most >= least && ratio * least <= most);
    let nearest = steps
        .map(|ratio| (ratio - 1.0).abs())
        .fold(f64::INFINITY, f64::min);
    let (off, step) = (percent(accuracy.high), percent(nearest));
    if hidden {
        format!(
            "not proven: the controller may be off by {off}, and the next value changes the current \
             by {step}"
        )
    } else {
        format!(
            "proven: the controller is off by {off} at most, and the next value changes the current \
             by {step}"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outcome(nominal: f64, share: f64) -> Outcome {
        Outcome {
            nominal,
            low: nominal * (1.0 - share),
            high: nominal * (1.0 + share),
        }
    }

    /// Truth: chargers are usually accurate to 7 % to 10 % (from memory), E24
    /// steps by 6.67 % to 15.4 % (IEC 60063, computed): a current test does not
    /// prove an E24 resistor; a controller of 1 % would.
    #[test]
    fn a_current_test_does_not_prove_the_resistor() {
        for value in Series::E24.between(10e3, 91e3) {
            let own = outcome(value, 0.01);
            let words = proves(&own, &Outcome::exact(0.07), Series::E24);
            assert!(words.starts_with("not proven"), "{value}: {words}");
            let words = proves(&own, &Outcome::exact(0.01), Series::E24);
            assert!(words.starts_with("proven"), "{value}: {words}");
        }
    }

    const PLAIN: Sight = Sight {
        pairs: 1,
        has_bare: false,
        is_next: true,
        has_guard: false,
    };

    #[test]
    fn a_neighbour_is_judged_by_its_windows_and_its_value() {
        let next = Some((Series::E24, true));
        let good = outcome(2048.0, 0.01);
        let words = |fault, own| PLAIN.words(&[good, fault, own], next);
        // 2048 × 1.01 is 2068.48, and 2145 × 0.99 is 2123.55.
        let found = words(outcome(2145.0, 0.01), outcome(10e3, 0.01));
        assert_eq!(found, "caught, 54 counts from the limits");
        let found = words(outcome(2080.0, 0.01), outcome(10e3, 0.01));
        assert!(found.starts_with("not always caught"), "{found}");
        let found = words(outcome(2050.0, 0.0), outcome(10e3, 0.01));
        assert!(found.starts_with("missed"), "{found}");
        let found = words(outcome(2145.0, 0.01), outcome(10e3, 0.05));
        assert!(found.contains("half-way"), "{found}");
        let found = words(outcome(2145.0, 0.01), outcome(9.76e3, 0.01));
        assert!(found.starts_with("not judged"), "{found}");
    }

    #[test]
    fn what_only_a_parallel_path_hides_is_called_masked() {
        let sight = Sight {
            has_bare: true,
            is_next: false,
            has_guard: true,
            ..PLAIN
        };
        let exact = Outcome::exact;
        let of = [
            exact(100.0),
            exact(105.0),
            exact(100.0),
            exact(200.0),
            exact(8.0),
        ];
        let found = sight.words(&of, None);
        assert_eq!(
            found,
            "missed: within the limits; masked by what is parallel"
        );
        assert_eq!(which(&of, &[sight], |of| of.is_masked), [0]);
        assert!(which(&of, &[sight], |of| of.seen == Seen::Always).is_empty());
    }

    #[test]
    fn one_sight_is_enough_to_catch() {
        let sight = Sight {
            pairs: 2,
            is_next: false,
            ..PLAIN
        };
        let exact = Outcome::exact;
        let of = [exact(100.0), exact(100.0), exact(100.0), exact(900.0)];
        assert!(sight.words(&of, None).starts_with("caught"));
        assert_eq!(sight.words(&of[..3], None), "");
    }
}
