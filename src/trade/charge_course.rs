//! The course of charging a cell: precharge, constant current, constant voltage.
//!
//! The cell is an open-circuit voltage U(s) by its state of charge s, straight
//! lines between the points of a table, behind a resistance R. On one line the
//! equation `C ds/dt = I` has a solution in closed form, whether the current is
//! held (s rises evenly) or the voltage V (`I = (V - U(s)) / R` decays with the
//! time constant `R C / U'`). So the integration steps from line to line, and
//! no step has an error but for rounding.

use super::plan::Unworkable;
use super::straight_lines::StraightLines;

/// Rounding that is let pass where a voltage only just reaches another.
const HAIR: f64 = 1e-12;

/// What is charged, and by what, in coherent SI units.
#[derive(Debug)]
pub(super) struct Charging<'a> {
    pub capacity: f64,
    pub resistance: f64,
    pub table: StraightLines<'a>,
    /// State of charge at the start.
    pub start: f64,
    pub current: f64,
    pub voltage: f64,
    pub termination: f64,
    /// Precharge: its current, and the voltage below which it holds.
    pub precharge: Option<(f64, f64)>,
}

/// What the charger holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Phase {
    Precharge,
    ConstantCurrent,
    ConstantVoltage,
}

/// A stretch of the course on one line of the table. Pairs are at its begin and
/// at its end.
#[derive(Clone, Copy, Debug)]
pub(super) struct Leg {
    pub phase: Phase,
    pub duration: f64,
    pub state: [f64; 2],
    pub open: [f64; 2],
    pub current: [f64; 2],
    /// Charge that goes in.
    pub charge: f64,
}

impl Charging<'_> {
    /// The course from the start to termination.
    ///
    /// # Errors
    /// Values that no charging has, and a charge that never ends.
    pub fn course(&self) -> Result<Vec<Leg>, Unworkable> {
        self.check()?;
        let mut legs = Vec::with_capacity(self.table.lines() + 3);
        let mut state = self.start;
        let mut line = self.table.line_after(state);
        let open = self.table.on(line, state);
        if open > self.voltage - HAIR * self.voltage {
            return Err(Unworkable::new(
                format!(
                    "has nothing to charge: at the start the cell has {open:.3} V open, and the charger stops at {:.3} V",
                    self.voltage
                ),
                "start with an emptier cell, or check the charge voltage and the table",
            ));
        }
        if let Some((current, below)) = self.precharge {
            let goal = below - current * self.resistance;
            self.held(
                &mut legs,
                Phase::Precharge,
                current,
                goal,
                &mut state,
                &mut line,
            )?;
        }
        let goal = self.voltage - self.current * self.resistance;
        let phase = Phase::ConstantCurrent;
        self.held(&mut legs, phase, self.current, goal, &mut state, &mut line)?;
        self.fading(&mut legs, state, line)?;
        if legs.is_empty() {
            return Err(Unworkable::new(
                "has nothing to charge: at the start the current is already below termination",
                "start with an emptier cell, or check termination current and resistance",
            ));
        }
        Ok(legs)
    }

    fn check(&self) -> Result<(), Unworkable> {
        let above_zero = |value: f64, input: &str| match value > 0.0 && value < f64::INFINITY {
            true => Ok(()),
            false => Err(Unworkable::new(
                format!("needs `{input}` above zero, and it is {value}"),
                format!("give `{input}` its value, above zero"),
            )),
        };
        above_zero(self.capacity, "capacity")?;
        above_zero(self.resistance, "resistance")?;
        above_zero(self.current, "charge_current")?;
        above_zero(self.voltage, "charge_voltage")?;
        above_zero(self.termination, "termination_current")?;
        if self.termination >= self.current {
            return Err(Unworkable::new(
                format!(
                    "ends before it begins: termination at {} A is not below the charge current, {} A",
                    self.termination, self.current
                ),
                "set the termination current below the charge current: a tenth or a twentieth is usual",
            ));
        }
        if let Some((current, below)) = self.precharge {
            above_zero(current, "precharge_current")?;
            above_zero(below, "precharge_threshold")?;
            if below >= self.voltage {
                return Err(Unworkable::new(
                    format!(
                        "never leaves precharge: its threshold, {below} V, is not below the charge voltage, {} V",
                        self.voltage
                    ),
                    "check both voltages",
                ));
            }
        }
        if !self.table.never_falls() {
            return Err(Unworkable::new(
                "needs an `open_circuit_voltage` that never falls as the cell fills",
                "write the table from the empty cell to the full one",
            ));
        }
        let (first, last) = self.table.ends();
        if !(first..last).contains(&self.start) {
            return Err(Unworkable::new(
                format!(
                    "starts at {} of the charge, and the table goes from {first} to {last}",
                    self.start
                ),
                "start inside the table, below its last entry",
            ));
        }
        Ok(())
    }

    /// A current that is held until the open-circuit voltage reaches a goal.
    fn held(
        &self,
        legs: &mut Vec<Leg>,
        phase: Phase,
        current: f64,
        goal: f64,
        state: &mut f64,
        line: &mut usize,
    ) -> Result<(), Unworkable> {
        loop {
            let open = self.table.on(*line, *state);
            if open >= goal {
                return Ok(());
            }
            let slope = self.table.slope(*line);
            let rises = slope > 0.0;
            let is_last = *line + 1 == self.table.lines();
            let reach = *state + (goal - open) / slope;
            // Beyond the table the cell goes on as its last line does.
            if is_last && !rises {
                return Err(Unworkable::new(
                    format!(
                        "never ends: at {current} A the cell's voltage stops rising below {:.3} V",
                        goal + current * self.resistance
                    ),
                    "the table's last two entries have to differ, or check the voltages of the charger",
                ));
            }
            let ends_here = rises && (is_last || reach <= self.table.end_of(*line));
            let end = if ends_here {
                reach
            } else {
                self.table.end_of(*line)
            };
            let charge = self.capacity * (end - *state);
            legs.push(Leg {
                phase,
                duration: charge / current,
                state: [*state, end],
                open: [open, self.table.on(*line, end)],
                current: [current, current],
                charge,
            });
            *state = end;
            if ends_here {
                return Ok(());
            }
            *line += 1;
        }
    }

    /// The voltage is held until the current has faded to termination.
    fn fading(
        &self,
        legs: &mut Vec<Leg>,
        mut state: f64,
        mut line: usize,
    ) -> Result<(), Unworkable> {
        let current_at = |open: f64| (self.voltage - open) / self.resistance;
        loop {
            let open = self.table.on(line, state);
            let current = current_at(open);
            if current <= self.termination {
                return Ok(());
            }
            let slope = self.table.slope(line);
            let rises = slope > 0.0;
            let is_last = line + 1 == self.table.lines();
            if is_last && !rises {
                return Err(Unworkable::new(
                    format!(
                        "never ends: {current:.4} A still flow where the cell's voltage stops rising, and termination is at {} A",
                        self.termination
                    ),
                    "the table's last two entries have to differ, or check charge voltage and termination current",
                ));
            }
            let goal = self.voltage - self.termination * self.resistance;
            let reach = state + (goal - open) / slope;
            let ends_here = rises && (is_last || reach <= self.table.end_of(line));
            let end = if ends_here {
                reach
            } else {
                self.table.end_of(line)
            };
            let charge = self.capacity * (end - state);
            let open_end = self.table.on(line, end);
            let current_end = if ends_here {
                self.termination
            } else {
                current_at(open_end)
            };
            legs.push(Leg {
                phase: Phase::ConstantVoltage,
                duration: charge / mean_of_fading(current, current_end),
                state: [state, end],
                open: [open, open_end],
                current: [current, current_end],
                charge,
            });
            if ends_here {
                return Ok(());
            }
            (state, line) = (end, line + 1);
        }
    }
}

/// Charge by time of a current that falls exponentially from one value to
/// another: the logarithmic mean `(a - b) / ln(a / b)`, which tends to both
/// where they are alike.
fn mean_of_fading(a: f64, b: f64) -> f64 {
    let step = (a - b) / b;
    if step.abs() < 1e-5 {
        // ln(1 + x) / x = 1 - x / 2 + x² / 3, the next term being below 1e-15.
        b / (1.0 - step * (0.5 - step / 3.0))
    } else {
        b * step / step.ln_1p()
    }
}

impl Leg {
    /// Energy that the cell stores: open-circuit voltage times charge.
    pub fn stored(&self) -> f64 {
        0.5 * (self.open[0] + self.open[1]) * self.charge
    }

    /// Heat in the cell's resistance: the current falls in a straight line
    /// with the charge, so its mean over the charge is that of its ends.
    pub fn heat(&self, resistance: f64) -> f64 {
        0.5 * (self.current[0] + self.current[1]) * self.charge * resistance
    }

    /// Time from the leg's begin until a state of charge inside it.
    pub fn time_until(&self, state: f64) -> f64 {
        let whole = self.state[1] - self.state[0];
        if whole <= 0.0 {
            return 0.0;
        }
        let part = ((state - self.state[0]) / whole).clamp(0.0, 1.0);
        let there = self.current[0] + part * (self.current[1] - self.current[0]);
        self.charge * part / mean_of_fading(self.current[0], there)
    }
}

/// Time from the start until a state of charge; `None` where charging ends
/// before.
pub(super) fn time_until(legs: &[Leg], state: f64) -> Option<f64> {
    let mut before = 0.0;
    for leg in legs {
        if state <= leg.state[1] {
            return Some(before + leg.time_until(state));
        }
        before += leg.duration;
    }
    None
}
