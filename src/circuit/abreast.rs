//! One result for many vectors of parameters, several networks at a time.
//!
//! The lists of a plan are the same for every vector, so each entry of them is
//! carried out for [`LANES`] networks before the next: the processor's wide
//! registers do the rest. The operations of one network are those of
//! [`Compiled::value_in`] in the same order, so its result is the same to the
//! last bit, whoever its neighbours are.

use super::compiled::Compiled;
use super::dc::LEAST_SHARE;
use super::derived::Rule;
use super::fault::CircuitFault;
use super::plan::{LARGEST_MULTIPLIER, Plan};
use super::primitive::{ONE, Piece};
use super::wanted::{Asked, Sight, Wanted};
use super::workspace::Workspace;

/// Networks abreast.
const LANES: usize = 8;

/// A number of each network.
type Lanes = [f64; LANES];

/// Numbers of several networks that are solved abreast.
#[derive(Clone, Debug)]
pub(super) struct Abreast {
    values: Vec<Lanes>,
    entries: Vec<Lanes>,
    compared: Vec<Lanes>,
    reciprocals: Vec<Lanes>,
    /// Right sides; the reference node's comes last.
    right: Vec<Lanes>,
    /// Solutions; the reference node's comes last and is zero.
    x: Vec<Lanes>,
    /// One vector of parameters.
    single: Vec<f64>,
}

impl Compiled {
    /// A result for many vectors of parameters at once, written to `results`.
    ///
    /// `columns` holds a list for each parameter: as many values as there are
    /// results, or a single one where it does not vary. Each result is, to the
    /// last bit, that of [`Compiled::value_in`]. Operating points of linear
    /// networks are several times as fast this way; all else is as fast.
    ///
    /// # Errors
    /// As [`Compiled::value_and_gradient`], for the first vector that has no
    /// result; lists of the wrong number or length.
    pub fn values_in(
        &self,
        workspace: &mut Workspace,
        columns: &[&[f64]],
        wanted: &Wanted,
        results: &mut [f64],
    ) -> Result<(), CircuitFault> {
        let needed = self.parameters().len();
        if columns.len() != needed {
            let found = columns.len();
            return Err(CircuitFault::ParameterCount { found, needed });
        }
        let fits = |column: &&[f64]| column.len() == results.len() || column.len() == 1;
        if let Some(column) = columns.iter().find(|column| !fits(column)) {
            let (found, needed) = (column.len(), results.len());
            return Err(CircuitFault::ParameterCount { found, needed });
        }
        if !workspace.fits(self) {
            *workspace = self.workspace();
        }
        let mut abreast = match workspace.abreast.take() {
            Some(abreast) if abreast.single.len() == needed => abreast,
            _ => Box::new(Abreast::new(self)),
        };
        let done = self.fill_results(workspace, &mut abreast, columns, wanted, results);
        workspace.abreast = Some(abreast);
        done
    }

    fn fill_results(
        &self,
        workspace: &mut Workspace,
        abreast: &mut Abreast,
        columns: &[&[f64]],
        wanted: &Wanted,
        results: &mut [f64],
    ) -> Result<(), CircuitFault> {
        let plain = self.is_linear() && self.steady_faults().is_empty();
        let sight = match wanted.0 {
            Asked::Steady(sight) if plain && self.steady_plan.is_made() => Some(sight),
            _ => None,
        };
        if let Some(sight) = sight {
            self.check_sight(sight)?;
        }
        for (block, results) in results.chunks_mut(LANES).enumerate() {
            let first = block * LANES;
            let sound = match sight {
                Some(sight) => self.solve_abreast(abreast, columns, first, sight, results),
                None => [false; LANES],
            };
            for (lane, result) in results.iter_mut().enumerate() {
                if !sound[lane] {
                    for (value, column) in abreast.single.iter_mut().zip(columns) {
                        *value = column[(first + lane).min(column.len() - 1)];
                    }
                    *result = self.value_in(workspace, &abreast.single, wanted)?;
                }
            }
        }
        Ok(())
    }

    /// Solves as many networks as there are results, or [`LANES`]; whether
    /// each result can be relied on. The others are left to be computed alone.
    fn solve_abreast(
        &self,
        abreast: &mut Abreast,
        columns: &[&[f64]],
        first: usize,
        sight: Sight,
        results: &mut [f64],
    ) -> [bool; LANES] {
        let mut sound = self.derive_abreast(abreast, columns, first);
        self.drive_abreast(abreast);
        abreast.factor(&self.steady_plan, &mut sound);
        abreast.solve(&self.steady_plan);
        let read = self.sight_abreast(abreast, sight);
        for ((result, read), sound) in results.iter_mut().zip(read).zip(&mut sound) {
            *result = read;
            *sound &= read.is_finite();
        }
        sound
    }

    /// Writes the values that follow from the parameters; whether those of
    /// each network keep their limits.
    fn derive_abreast(
        &self,
        abreast: &mut Abreast,
        columns: &[&[f64]],
        first: usize,
    ) -> [bool; LANES] {
        // Above zero for a network with a value that breaks its limit.
        let mut broken = [0.0; LANES];
        let mut load = |parameter: usize| -> Lanes {
            let lanes = load(columns[parameter], first);
            let least = self.least_value(parameter);
            broken = map2(&broken, &lanes, |broken, value| {
                if least <= value && value <= f64::MAX {
                    broken
                } else {
                    1.0
                }
            });
            lanes
        };
        let Abreast { values, single, .. } = abreast;
        let mut derived = [true; LANES];
        values[ONE] = [1.0; LANES];
        for &(parameter, value) in &self.reciprocals {
            values[value] = map(&load(parameter), |resistance| 1.0 / resistance);
        }
        for &at in &self.others {
            let step = &self.derivations[at];
            let values = &mut values[step.values.clone()];
            if let Rule::Same(_) = step.rule {
                for (value, parameter) in values.iter_mut().zip(step.parameters.clone()) {
                    *value = load(parameter);
                }
                continue;
            }
            let mut loaded = [[0.0; LANES]; Rule::MOST_PARAMETERS];
            for (lanes, parameter) in loaded.iter_mut().zip(step.parameters.clone()) {
                *lanes = load(parameter);
            }
            for (lane, derived) in derived.iter_mut().enumerate() {
                let mut own = [0.0; Rule::MOST_VALUES];
                for (parameter, lanes) in single.iter_mut().zip(&loaded) {
                    *parameter = lanes[lane];
                }
                *derived &= step.rule.derive(single, &mut own[..values.len()]);
                for (lanes, own) in values.iter_mut().zip(own) {
                    lanes[lane] = own;
                }
            }
        }
        std::array::from_fn(|lane| derived[lane] && broken[lane] == 0.0)
    }

    /// Writes the right sides.
    fn drive_abreast(&self, abreast: &mut Abreast) {
        let Abreast { values, right, .. } = abreast;
        right.fill([0.0; LANES]);
        for &at in &self.active {
            let placed = &self.pieces[at];
            let [a, b] = placed.ends;
            match placed.piece {
                Piece::VoltageSource { value, branch } => {
                    right[branch] = map2(&right[branch], &values[value], |sum, v| sum + v);
                }
                Piece::CurrentSource { value } => {
                    right[a] = map2(&right[a], &values[value], |sum, i| sum - i);
                    right[b] = map2(&right[b], &values[value], |sum, i| sum + i);
                }
                _ => {}
            }
        }
    }

    fn sight_abreast(&self, abreast: &Abreast, sight: Sight) -> Lanes {
        let x = &abreast.x;
        let across = |[a, b]: [usize; 2]| map2(&x[a], &x[b], |a, b| a - b);
        let current = |piece: usize| -> Lanes {
            let placed = &self.pieces[piece];
            match (placed.branch(), placed.piece) {
                (Some(branch), _) => x[branch],
                (None, Piece::Conductance { value }) => {
                    map2(&abreast.values[value], &across(placed.ends), |g, v| g * v)
                }
                (None, Piece::CurrentSource { value }) => abreast.values[value],
                _ => [0.0; LANES],
            }
        };
        match sight {
            Sight::One => [1.0; LANES],
            Sight::Voltage(ends) => across(ends),
            Sight::Current(part) => {
                let part = &self.parts[part];
                map(&current(part.lead), |i| part.current_sign * i)
            }
            Sight::Power(part) => {
                let part = &self.parts[part];
                let voltage = across(part.ends);
                map2(&voltage, &current(part.lead), |v, i| {
                    part.power_sign * v * i
                })
            }
        }
    }
}

impl Abreast {
    fn new(network: &Compiled) -> Abreast {
        let zeros = |count: usize| vec![[0.0; LANES]; count];
        let plan = &network.steady_plan;
        Abreast {
            values: zeros(network.values),
            entries: zeros(plan.sums.len()),
            compared: zeros(plan.steps.len()),
            reciprocals: zeros(plan.steps.len()),
            right: zeros(network.order() + 1),
            x: zeros(network.order() + 1),
            single: vec![0.0; network.parameters().len()],
        }
    }

    /// Writes the matrices and factors them; takes back the soundness of each
    /// network for which the plan may not do.
    fn factor(&mut self, plan: &Plan, sound: &mut [bool; LANES]) {
        let a = self.entries.as_mut_slice();
        let mut start = 0;
        for (entry, &[middle, end]) in a.iter_mut().zip(&plan.sums) {
            let mut sum = [0.0; LANES];
            for &term in &plan.terms[start..middle] {
                sum = map2(&sum, &self.values[term], |sum, term| sum + term);
            }
            for &term in &plan.terms[middle..end] {
                sum = map2(&sum, &self.values[term], |sum, term| sum - term);
            }
            *entry = sum;
            start = end;
        }
        for (compared, step) in self.compared.iter_mut().zip(&plan.steps) {
            let mut largest = [0.0; LANES];
            for entry in &a[step.compared.clone()] {
                largest = map2(&largest, entry, greater);
            }
            *compared = largest;
        }
        // Twice the least share that one network is held to: what is near it
        // is left to be judged there.
        let mut weakest = [f64::INFINITY; LANES];
        let mut multiplier = [0.0; LANES];
        for (at, step) in plan.steps.iter().enumerate() {
            let pivot = a[step.slot];
            let margin = map2(&pivot, &self.compared[at], |pivot, compared| {
                pivot.abs() - 2.0 * LEAST_SHARE * compared
            });
            weakest = map2(&weakest, &margin, |weakest, margin| {
                if margin < weakest { margin } else { weakest }
            });
            let reciprocal = map(&pivot, |pivot| 1.0 / pivot);
            self.reciprocals[at] = reciprocal;
            for &(slot, _) in &plan.lower[step.lower.clone()] {
                a[slot] = map2(&a[slot], &reciprocal, |entry, by| entry * by);
                multiplier = map2(&multiplier, &a[slot], greater);
            }
            for &[target, left, right] in &plan.updates[step.updates.clone()] {
                let product = map2(&a[left], &a[right], |left, right| left * right);
                a[target] = map2(&a[target], &product, |target, product| target - product);
            }
        }
        for lane in 0..LANES {
            sound[lane] &= weakest[lane] > 0.0 && multiplier[lane] <= LARGEST_MULTIPLIER;
        }
    }

    /// Solves for the right sides.
    fn solve(&mut self, plan: &Plan) {
        let Abreast {
            entries: a,
            right: b,
            x,
            ..
        } = self;
        for step in &plan.steps {
            let known = b[step.row];
            for &(slot, row) in &plan.lower[step.lower.clone()] {
                let product = map2(&a[slot], &known, |factor, known| factor * known);
                b[row] = map2(&b[row], &product, |right, product| right - product);
            }
        }
        for (step, reciprocal) in plan.steps.iter().zip(&self.reciprocals).rev() {
            let mut value = b[step.row];
            for &(slot, column) in &plan.upper[step.upper.clone()] {
                let product = map2(&a[slot], &x[column], |entry, x| entry * x);
                value = map2(&value, &product, |value, product| value - product);
            }
            x[step.column] = map2(&value, reciprocal, |value, by| value * by);
        }
    }
}

/// The values of several vectors from one on. A single value is that of all;
/// past the end the last one repeats.
#[inline(always)]
fn load(column: &[f64], first: usize) -> Lanes {
    match column
        .get(first..)
        .and_then(|values| values.first_chunk::<LANES>())
    {
        Some(lanes) => *lanes,
        None => std::array::from_fn(|lane| column[(first + lane).min(column.len() - 1)]),
    }
}

/// The larger of a magnitude and the magnitude of a number.
fn greater(most: f64, value: f64) -> f64 {
    if value.abs() > most {
        value.abs()
    } else {
        most
    }
}

#[inline(always)]
fn map(a: &Lanes, f: impl Fn(f64) -> f64) -> Lanes {
    let mut out = [0.0; LANES];
    for (out, &a) in out.iter_mut().zip(a) {
        *out = f(a);
    }
    out
}

#[inline(always)]
fn map2(a: &Lanes, b: &Lanes, f: impl Fn(f64, f64) -> f64) -> Lanes {
    let mut out = [0.0; LANES];
    for (out, (&a, &b)) in out.iter_mut().zip(a.iter().zip(b)) {
        *out = f(a, b);
    }
    out
}
