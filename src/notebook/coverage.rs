//! What a fixture sees: every fault of every fitted part, tried on every step.
//!
//! A fault is tried by drawing boards by chance, with the part as the fault
//! leaves it, and looking how often a reading falls out of the limits. Only
//! parts with a value can be tried so; of the others the record says what a step
//! sees, and the sheet says whose word that is.

use rayon::prelude::*;

use super::Notebook;
use super::chance;
use super::graph::{Limited, NodeId, Origin};
use super::slice::Slice;
use super::temperature;
use crate::quantity::Series;
use crate::record::{Board, FixtureRecord};
use crate::spread::{Acceptance, Distribution, Response, Variable, draws};
use crate::trade::neighbour;

/// What can be wrong with a part, or with how it is soldered in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Fault {
    /// It is not there.
    Missing,
    /// A joint does not conduct.
    Open,
    /// Its joints are bridged.
    Short,
    /// The next value up in the series is fitted.
    ValueUp,
    /// The next value down is fitted.
    ValueDown,
    /// Ten times the value is fitted.
    Decade,
    /// It is turned round.
    Reversed,
}

impl Fault {
    /// All there are.
    pub const ALL: [Fault; 7] = [
        Fault::Missing,
        Fault::Open,
        Fault::Short,
        Fault::ValueUp,
        Fault::ValueDown,
        Fault::Decade,
        Fault::Reversed,
    ];

    /// What records and sheets call it.
    pub fn words(self) -> &'static str {
        match self {
            Fault::Missing => "missing",
            Fault::Open => "open",
            Fault::Short => "short",
            Fault::ValueUp => "next value up",
            Fault::ValueDown => "next value down",
            Fault::Decade => "ten times the value",
            Fault::Reversed => "reversed",
        }
    }

    /// Whether it is one of the joints and not of the part.
    pub fn is_of_joints(self) -> bool {
        matches!(self, Fault::Open | Fault::Short)
    }

    /// The faults that a kind of part can have.
    fn of(kind: &str) -> &'static [Fault] {
        match kind {
            "resistor" | "capacitor" | "inductor" => &[
                Fault::Missing,
                Fault::Open,
                Fault::Short,
                Fault::ValueUp,
                Fault::ValueDown,
                Fault::Decade,
            ],
            "connector" | "switch" | "fuse" | "crystal" | "speaker" | "cell" | "panel"
            | "other" => &[Fault::Missing, Fault::Open, Fault::Short],
            _ => &[Fault::Missing, Fault::Open, Fault::Short, Fault::Reversed],
        }
    }

    /// The value that it leaves of a part of a kind; `None` where its value does
    /// not tell.
    fn value(self, kind: &str, good: f64) -> Option<f64> {
        let next = |above| neighbour(good, Series::E24, above);
        match (self, kind) {
            // A resistor that is not there, and a bridge of solder.
            (Fault::Missing | Fault::Open, "resistor") => Some(1e12),
            (Fault::Short, "resistor") => Some(1e-3),
            (Fault::Missing | Fault::Open, "capacitor") => Some(1e-18),
            (Fault::Short, "inductor") => Some(1e-12),
            (Fault::ValueUp, _) => next(true),
            (Fault::ValueDown, _) => next(false),
            (Fault::Decade, _) => Some(10.0 * good),
            _ => None,
        }
    }
}

/// How well a fault is seen.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Sight {
    /// This share of boards that were tried with it fail, most of them at this
    /// step.
    Tried(f64, usize),
    /// The record says that this step sees it.
    Said(usize),
    /// No step hangs on the part.
    Unseen,
}

/// A fault that at least such a share of boards fail with is caught.
const CAUGHT: f64 = 0.99;

impl Sight {
    /// The share of faulty boards that fail.
    pub fn share(self) -> f64 {
        match self {
            Sight::Tried(share, _) => share,
            Sight::Said(_) => 1.0,
            Sight::Unseen => 0.0,
        }
    }

    /// Whether practically every faulty board fails.
    pub fn catches(self) -> bool {
        self.share() >= CAUGHT
    }
}

/// A fault of a fitted part.
#[derive(Clone, PartialEq, Debug)]
pub struct Seen {
    /// Position of the part in `[fitted]` of the board under test.
    pub fitted: usize,
    /// What is wrong with it.
    pub fault: Fault,
    /// How well that is seen.
    pub sight: Sight,
}

/// What comes of a step's limits.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct StepRisks {
    /// By the normal distributions of JCGM 106; `None` where nothing strays.
    pub acceptance: Option<Acceptance>,
    /// Share of good boards that fail here, of those drawn by chance.
    pub fails_good: f64,
}

/// Full and partial marks over faults that can happen: one for each caught, a
/// half for each that is caught sometimes.
#[derive(Clone, Copy, PartialEq, Default, Debug)]
pub struct Marks {
    /// Sum of the marks.
    pub marks: f64,
    /// Faults there are.
    pub of: usize,
}

/// What a fixture sees, and what it does not.
#[derive(Clone, Debug)]
pub struct Coverage {
    /// Risks of each step, in their order; `None` where it has no limits.
    pub steps: Vec<Option<StepRisks>>,
    /// Every fault of every fitted part.
    pub faults: Vec<Seen>,
    /// Share of good boards that fail at any step.
    pub fails_good: f64,
    /// Marks for presence, correctness and orientation of parts.
    pub device: Marks,
    /// Marks for open and shorted joints.
    pub joint: Marks,
    /// Share of all faults that are caught.
    pub caught: f64,
    /// Share of shipped boards with a fault, where the record says how many come
    /// to the test without one.
    pub escapes: Option<f64>,
    /// A figure that is not measured yet and would tell most of what escapes,
    /// with the number of faults.
    pub further: Option<(NodeId, usize)>,
}

/// Boards that are drawn to see how many good ones fail.
const GOOD_BOARDS: usize = 8192;
/// Boards that are drawn for each fault.
const FAULTY_BOARDS: usize = 1024;
/// Coverage factor of the error of a measurement.
const COVERAGE_FACTOR: f64 = 2.0;
/// Least share of faulty boards that counts as caught sometimes.
const SOMETIMES: f64 = 0.05;

/// A step with what trying it takes.
struct Step<'a> {
    at: usize,
    measured: NodeId,
    slice: Slice<'a>,
    /// Values of each input on all boards.
    columns: Vec<Vec<f64>>,
    /// What the measurement is off by on each; none where it has no error.
    errors: Option<Vec<f64>>,
    error: f64,
    limits: (f64, f64),
}

impl Step<'_> {
    /// Of so many boards, whether each fails here; `part` is put in the place of
    /// a part's value.
    fn fails(&self, boards: usize, part: Option<(NodeId, f64, f64)>) -> Vec<bool> {
        let faulty = part.and_then(|(node, good, value)| {
            let mut inputs = self.slice.inputs.iter();
            Some((inputs.position(|&input| input == node)?, value / good))
        });
        let mut ask = self.slice.asker();
        let mut point = vec![0.0; self.columns.len()];
        let fails = |board: usize| {
            for (place, column) in point.iter_mut().zip(&self.columns) {
                *place = column[board];
            }
            if let Some((at, factor)) = faulty {
                // Values keep the tolerance of the part.
                point[at] *= factor;
            }
            // What has no value is not known to fail.
            ask(&point).is_some_and(|value| {
                let error = self.errors.as_ref().map_or(0.0, |errors| errors[board]);
                let reading = value + error;
                reading < self.limits.0 || reading > self.limits.1
            })
        };
        (0..boards).map(fails).collect()
    }
}

impl Notebook {
    /// The node of a fixture's number: `low` of its step.
    pub fn of_step(&self, board: usize, fixture: usize, step: usize, name: &str) -> Option<NodeId> {
        let board = &self.records.boards[board];
        let fixture = &board.fixtures[fixture];
        let name = format!(
            "{}.{}.{name}",
            fixture.id.value, fixture.steps[step].id.value
        );
        self.graph.find(&board.id.value, &name)
    }

    /// Works out what a fixture of a board sees.
    pub(super) fn cover(&self, board: usize, fixture: usize) -> Option<Coverage> {
        let record = &self.records.boards[board].fixtures[fixture];
        let tested = self.records.board(&record.tests.value)?;
        let steps: Vec<Option<Step<'_>>> = (0..record.steps.len())
            .map(|at| self.step(board, fixture, at))
            .collect();
        let tries: Vec<&Step<'_>> = steps.iter().flatten().collect();
        let good: Vec<Vec<bool>> = tries
            .par_iter()
            .map(|step| step.fails(GOOD_BOARDS, None))
            .collect();
        let any = |board: usize| good.iter().any(|step| step[board]);
        let failing = (0..GOOD_BOARDS).filter(|&board| any(board)).count();
        let share = |fails: &[bool]| {
            fails.iter().filter(|&&fails| fails).count() as f64 / fails.len() as f64
        };
        let mut good = good.iter();
        let risks = steps.iter().map(|step| {
            let step = step.as_ref()?;
            Some(StepRisks {
                acceptance: self.acceptance(step),
                fails_good: share(good.next()?),
            })
        });
        let risks: Vec<Option<StepRisks>> = risks.collect();
        let faults = self.faults(record, tested, &tries);
        let caught =
            faults.iter().map(|seen| seen.sight.share()).sum::<f64>() / faults.len().max(1) as f64;
        let marks = |of_joints: bool| marks(&faults, of_joints);
        let good_before = record.good_before.as_ref();
        Some(Coverage {
            steps: risks,
            fails_good: failing as f64 / GOOD_BOARDS as f64,
            device: marks(false),
            joint: marks(true),
            caught,
            escapes: good_before.map(|good| escapes(good.value.nominal(), caught)),
            further: self.further(board, fixture, tested, &faults),
            faults,
        })
    }

    fn step(&self, board: usize, fixture: usize, step: usize) -> Option<Step<'_>> {
        let named = |name| self.of_step(board, fixture, step, name);
        let value = |name| Some(self.value(named(name)?)?.outcome);
        let measured = named("measured")?;
        let slice = Slice::of(&self.graph, measured, &|_| None)?;
        let variables = chance::variables(&self.graph, &self.records, &slice)?;
        let seed = chance::in_force(&self.graph, &self.records, measured).seed;
        let error = value("error")?.high;
        // An error of nothing has no distribution.
        let noise = Distribution::normal(0.0, error / COVERAGE_FACTOR).ok();
        let noise = noise.map(|noise| [Variable::new(step as u64, noise)]);
        Some(Step {
            at: step,
            measured,
            columns: draws(&variables, seed, GOOD_BOARDS),
            errors: noise.and_then(|noise| draws(&noise, seed, GOOD_BOARDS).pop()),
            slice,
            error,
            limits: (
                value(Limited::Low.name())?.nominal,
                value(Limited::High.name())?.nominal,
            ),
        })
    }

    /// Global risks of a step, its good boards normal with the standard
    /// deviation that their parts give, all of the spread taken for good.
    fn acceptance(&self, step: &Step<'_>) -> Option<Acceptance> {
        let reach = chance::root_sum_square(&step.slice).ok()?;
        let uncertainty = step.error / COVERAGE_FACTOR;
        let (low, high) = step.limits;
        let product = reach / COVERAGE_FACTOR;
        // The guard band lies between a limit and the spread of good boards.
        let good = self.value(step.measured)?.outcome;
        let tolerance = 0.5 * (good.high - good.low);
        let usable = product > 0.0 && uncertainty > 0.0 && tolerance > 0.0;
        usable.then(|| Acceptance::of(product, tolerance, uncertainty, 0.5 * (high - low)))
    }

    /// Every fault of every fitted part, tried on every step.
    fn faults(&self, record: &FixtureRecord, tested: &Board, steps: &[&Step<'_>]) -> Vec<Seen> {
        let mut faults: Vec<(usize, Fault, &str)> = Vec::new();
        for (fitted, line) in tested
            .fitted
            .iter()
            .enumerate()
            .filter(|(_, line)| line.fit)
        {
            let kind = self
                .records
                .part(&line.part.value)
                .map_or("other", |part| part.kind.name);
            faults.extend(Fault::of(kind).iter().map(|&fault| (fitted, fault, kind)));
        }
        let seen = faults.into_par_iter().map(|(fitted, fault, kind)| {
            let designator = tested.fitted[fitted].designator.value.as_str();
            let said = record.steps.iter().position(|step| {
                let mut sees = step.sees.iter().filter(|(of, _)| of.value == designator);
                sees.any(|(_, faults)| faults.iter().any(|word| word.value == fault.words()))
            });
            let tried = self.tried(tested, designator, (kind, fault), steps);
            let sight = match (tried, said) {
                (Some(tried), _) if tried.catches() => tried,
                (_, Some(step)) => Sight::Said(step),
                (Some(tried), None) => tried,
                (None, None) => Sight::Unseen,
            };
            Seen {
                fitted,
                fault,
                sight,
            }
        });
        seen.collect()
    }

    /// What trying a fault shows; `None` where no step hangs on the value that
    /// it changes.
    fn tried(
        &self,
        tested: &Board,
        designator: &str,
        (kind, fault): (&str, Fault),
        steps: &[&Step<'_>],
    ) -> Option<Sight> {
        let node = temperature::stated(&self.graph, &tested.id.value, designator)?;
        let good = self.value(node)?.outcome.nominal;
        let value = fault.value(kind, good)?;
        let hanging = steps
            .iter()
            .filter(|step| step.slice.inputs.contains(&node));
        let fails: Vec<(usize, Vec<bool>)> = hanging
            .map(|step| {
                (
                    step.at,
                    step.fails(FAULTY_BOARDS, Some((node, good, value))),
                )
            })
            .collect();
        let count = |fails: &[bool]| fails.iter().filter(|&&fails| fails).count();
        let (best, _) = fails.iter().max_by_key(|(_, fails)| count(fails))?;
        let any: Vec<bool> = (0..FAULTY_BOARDS)
            .map(|board| fails.iter().any(|(_, fails)| fails[board]))
            .collect();
        Some(Sight::Tried(
            count(&any) as f64 / FAULTY_BOARDS as f64,
            *best,
        ))
    }

    /// A figure of the board under test, or of the fixture, that would tell most
    /// of the faults that escape: those that throw its nominal value out of the
    /// spread of good boards.
    fn further(
        &self,
        board: usize,
        fixture: usize,
        tested: &Board,
        faults: &[Seen],
    ) -> Option<(NodeId, usize)> {
        let own = &self.records.boards[board];
        let steps = own.fixtures[fixture].steps.len();
        let measured: Vec<NodeId> = (0..steps)
            .filter_map(|step| self.of_step(board, fixture, step, "measured"))
            .flat_map(|node| self.graph.operands(node).iter().copied().chain([node]))
            .collect();
        let escaping: Vec<&Seen> = faults.iter().filter(|seen| !seen.sight.catches()).collect();
        let mut best: Option<(NodeId, usize)> = None;
        for (candidate, node) in self.graph.iter() {
            let can_be_measured = [&tested.id.value, &own.id.value].contains(&&node.scope)
                && matches!(
                    node.origin,
                    Origin::Figure { .. }
                        | Origin::Working {
                            result: Some(_),
                            ..
                        }
                )
                && !measured.contains(&candidate);
            if !can_be_measured {
                continue;
            }
            let Some(value) = self.value(candidate).filter(|value| value.varies()) else {
                continue;
            };
            let Some(slice) = Slice::of(&self.graph, candidate, &|_| None) else {
                continue;
            };
            let nominal: Vec<f64> = slice.limits().iter().map(|input| input.nominal).collect();
            let told = escaping.iter().filter(|seen| {
                let line = &tested.fitted[seen.fitted];
                let told = || {
                    let designator = &line.designator.value;
                    let part = temperature::stated(&self.graph, &tested.id.value, designator)?;
                    let at = slice.inputs.iter().position(|&input| input == part)?;
                    let kind = self.records.part(&line.part.value)?.kind.name;
                    let mut faulty = nominal.clone();
                    faulty[at] = seen.fault.value(kind, nominal[at])?;
                    let found = slice.at::<f64>(&faulty).ok()?;
                    Some(found < value.worst.low || found > value.worst.high)
                };
                told().unwrap_or(false)
            });
            let told = told.count();
            if told > best.map_or(0, |(_, most)| most) {
                best = Some((candidate, told));
            }
        }
        best
    }

    /// Boards whose fixtures could hold the board of this one too: same outline,
    /// same nets at the same places.
    pub fn fixtures_alike(&self, board: usize, fixture: usize) -> Vec<(usize, usize)> {
        let same = |a: &FixtureRecord, b: &FixtureRecord| {
            let texts = |texts: &[crate::finding::Located<String>]| -> Vec<String> {
                texts.iter().map(|text| text.value.clone()).collect()
            };
            let touches = |record: &FixtureRecord| {
                let mut touches: Vec<(String, Vec<String>)> = record
                    .touches
                    .iter()
                    .map(|(net, place)| (net.value.clone(), texts(place)))
                    .collect();
                touches.sort();
                touches
            };
            !a.outline.is_empty()
                && texts(&a.outline) == texts(&b.outline)
                && touches(a) == touches(b)
        };
        let own = &self.records.boards[board].fixtures[fixture];
        let mut alike = Vec::new();
        for (at, other) in self.records.boards.iter().enumerate() {
            for (number, record) in other.fixtures.iter().enumerate() {
                if (at, number) != (board, fixture) && same(own, record) {
                    alike.push((at, number));
                }
            }
        }
        alike
    }
}

/// The share of shipped boards with a fault, from the share of boards that come
/// to the test without one and the share of faults that it catches
/// (T. W. Williams and N. C. Brown, IEEE Trans. Comput. C-30 (1981) 987-988).
fn escapes(good_before: f64, caught: f64) -> f64 {
    1.0 - good_before.powf(1.0 - caught)
}

fn marks(faults: &[Seen], of_joints: bool) -> Marks {
    let mut marks = Marks::default();
    for seen in faults
        .iter()
        .filter(|seen| seen.fault.is_of_joints() == of_joints)
    {
        marks.of += 1;
        marks.marks += match seen.sight.share() {
            share if share >= CAUGHT => 1.0,
            share if share >= SOMETIMES => 0.5,
            _ => 0.0,
        };
    }
    marks
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: the formula of T. W. Williams and N. C. Brown, IEEE Trans. Comput.
    /// C-30 (1981) 987-988, worked by hand with four and five digits.
    #[test]
    fn escapes_of_a_test_that_does_not_see_all() {
        let ppm = |good, caught| (escapes(good, caught) * 1e6).round();
        assert_eq!(ppm(0.95, 0.90), 5116.0);
        assert_eq!(ppm(0.95, 0.50), 25321.0);
        assert_eq!(ppm(0.70, 0.92), 28131.0);
        assert_eq!(escapes(0.95, 1.0), 0.0);
    }

    /// Truth: IEC 60063:2015, series E24, in which 10 stands between 9.1 and 11.
    #[test]
    fn wrong_values_are_those_beside_the_right_one() {
        let value = |fault: Fault, good| fault.value("resistor", good);
        let near = |found: Option<f64>, wanted: f64| {
            assert!(found.is_some_and(|found| (found / wanted - 1.0).abs() < 1e-9));
        };
        near(value(Fault::ValueUp, 10e3), 11e3);
        near(value(Fault::ValueDown, 10e3), 9.1e3);
        near(value(Fault::Decade, 5.1e3), 51e3);
        assert_eq!(value(Fault::Reversed, 10e3), None);
        assert_eq!(value(Fault::ValueUp, 0.0), None);
        assert_eq!(Fault::Short.value("capacitor", 1e-6), None);
    }
}
