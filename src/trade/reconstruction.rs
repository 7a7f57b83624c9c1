//! The filter behind a converter: a ladder of resistors and capacitors, solved by
//! the circuit engine.

use std::sync::{Arc, OnceLock};

use num_complex::Complex64;

use super::plan::Unworkable;
use crate::circuit::{CircuitFault, Compiled, Kind as Part, Network, Source, Transfer};

/// Most sections of a filter.
pub(super) const MOST_SECTIONS: usize = 4;

/// A frequency that no capacitor of a filter knows from standing still, in Hz.
pub(super) const STILL: f64 = 1e-3;

/// Odd lines of a square wave that ripple is summed from.
const LINES: usize = 32;
/// Moments of half a period that ripple is looked at.
const MOMENTS: usize = 128;

/// What a filter consists of; its values come later, in the order pin, series
/// resistors, capacitors, load.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Filter {
    /// Series resistors, each with a capacitor to ground behind it.
    pub sections: usize,
    /// Whether the pin has a resistance.
    pub pin: bool,
    /// Whether there is a load.
    pub load: bool,
}

/// A filter as a network, made once for all values.
#[derive(Debug)]
struct Ladder {
    network: Compiled,
    output: Transfer,
}

/// A filter with its values.
#[derive(Debug)]
pub(super) struct Room {
    ladder: Arc<Ladder>,
    sections: usize,
    parameters: Vec<f64>,
}

impl Filter {
    /// The filter with values for its parts, in Ω and F.
    pub fn with(self, parts: &[f64]) -> Result<Room, Unworkable> {
        let ladder = self.ladder()?;
        // The source comes first, with three parameters of its own.
        let mut parameters = ladder.network.nominal();
        if let Some(values) = parameters.get_mut(3..3 + parts.len()) {
            values.copy_from_slice(parts);
        }
        Ok(Room {
            ladder,
            sections: self.sections,
            parameters,
        })
    }

    fn ladder(self) -> Result<Arc<Ladder>, Unworkable> {
        type Built = OnceLock<Result<Arc<Ladder>, CircuitFault>>;
        static BUILT: [Built; 4 * MOST_SECTIONS] = [const { OnceLock::new() }; 4 * MOST_SECTIONS];
        let sections = self.sections.clamp(1, MOST_SECTIONS);
        let at = 4 * (sections - 1) + 2 * usize::from(self.pin) + usize::from(self.load);
        let built = BUILT[at].get_or_init(|| self.build(sections).map(Arc::new));
        built.clone().map_err(|fault| unsolvable(&fault))
    }

    fn build(self, sections: usize) -> Result<Ladder, CircuitFault> {
        let mut network = Network::new("gnd");
        let drive = Part::VoltageSource(Source::alternating(1.0));
        network.add("pin", ["n0", "gnd"], drive);
        // The values are placeholders; only the shape counts.
        let resistor = Part::Resistor { resistance: 1e3 };
        let capacitor = Part::Capacitor { capacitance: 1e-8 };
        if self.pin {
            network.add("source", ["n0", "p"], resistor.clone());
        }
        let node = |at: usize| match (at, self.pin) {
            (0, true) => "p".to_owned(),
            _ => format!("n{at}"),
        };
        for at in 0..sections {
            network.add(format!("R{at}"), [node(at), node(at + 1)], resistor.clone());
        }
        for at in 0..sections {
            network.add(
                format!("C{at}"),
                [node(at + 1), "gnd".to_owned()],
                capacitor.clone(),
            );
        }
        if self.load {
            network.add("load", [node(sections), "gnd".to_owned()], resistor);
        }
        let network = network
            .compile()
            .map_err(|mut faults| faults.swap_remove(0))?;
        let output = network.gain("pin", &node(sections))?;
        Ok(Ladder { network, output })
    }
}

fn unsolvable(fault: &CircuitFault) -> Unworkable {
    let mend = fault.mend();
    Unworkable::new(
        format!("has no value: {fault}"),
        mend.unwrap_or_else(|| "check the values of the filter".to_owned()),
    )
}

impl Room {
    /// The output for a volt at the pin, at frequencies in Hz.
    fn phasors(&self, frequencies: &[f64]) -> Result<Vec<Complex64>, Unworkable> {
        let Ladder { network, output } = &*self.ladder;
        let found = network.sweep(&self.parameters, frequencies, output);
        found.map_err(|fault| unsolvable(&fault))
    }

    /// The magnitude of the output for a volt at the pin, at a frequency in Hz.
    pub fn gain(&mut self, frequency: f64) -> Result<f64, Unworkable> {
        Ok(self.phasors(&[frequency])?[0].norm())
    }

    /// The frequency at which half the power of slow signals is left, in Hz.
    pub fn corner(&mut self) -> Result<f64, Unworkable> {
        let aim = self.gain(STILL)? / 2f64.sqrt();
        let (mut low, mut high) = (1.0f64, 1e12f64);
        let is_outside = self.gain(low)? < aim || self.gain(high)? > aim;
        if !(aim > 0.0) || is_outside {
            return Err(Unworkable::new(
                "has no value between 1 Hz and 1 THz",
                "check the values of the filter",
            ));
        }
        // A ladder only ever lets less through the higher the frequency. Halving
        // the logarithm of twelve decades sixty times leaves rounding.
        for _ in 0..60 {
            let middle = (low * high).sqrt();
            if self.gain(middle)? > aim {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok((low * high).sqrt())
    }

    /// What is left of a square wave from zero to full scale, from peak to peak
    /// in V, by the sum of its odd lines.
    pub fn ripple(&mut self, full_scale: f64, carrier: f64) -> Result<f64, Unworkable> {
        let odd = (0..LINES).map(|at| 2 * at + 1);
        let frequencies: Vec<f64> = odd.clone().map(|line| line as f64 * carrier).collect();
        let phasors = self.phasors(&frequencies)?;
        let amplitude = 2.0 * full_scale / std::f64::consts::PI;
        let mut greatest = 0.0f64;
        // The second half of a period is the first with its sign turned.
        for moment in 0..MOMENTS {
            let turn = std::f64::consts::PI * moment as f64 / MOMENTS as f64;
            let of = |(line, phasor): (usize, &Complex64)| {
                let rotated = phasor * Complex64::cis(turn * line as f64);
                rotated.im / line as f64
            };
            let value: f64 = odd.clone().zip(&phasors).map(of).sum();
            greatest = greatest.max(value.abs());
        }
        // Behind one section the lines that are left out add up at the edge, each
        // weaker by the square of its number: of 1/k² over the odd k above a line
        // there is left about half of one over the even number next to it. Behind
        // more sections they hardly count.
        let last = (2 * LINES - 1) as f64;
        let tail = match (self.sections, phasors.last()) {
            (1, Some(phasor)) => phasor.norm() * last / (2.0 * (last + 1.0)),
            _ => 0.0,
        };
        Ok(2.0 * amplitude * (greatest + tail))
    }
}
