//! The filter behind a converter: a ladder of resistors and capacitors, solved by
//! the circuit engine.

use std::sync::{Arc, OnceLock};

use super::plan::Unworkable;
use crate::circuit::{
    Aspect, CircuitFault, Compiled, Kind as Part, Network, Source, Transfer, Workspace,
};

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

/// A filter with its values, and room to solve it again and again.
#[derive(Debug)]
pub(super) struct Room {
    ladder: Arc<Ladder>,
    sections: usize,
    workspace: Workspace,
    parameters: Vec<f64>,
}

impl Filter {
    /// Room for the filter; its values are still to be put in.
    pub fn room(self) -> Result<Room, Unworkable> {
        let ladder = self.ladder()?;
        Ok(Room {
            workspace: ladder.network.workspace(),
            parameters: ladder.network.nominal(),
            sections: self.sections,
            ladder,
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
            network.add("source", ["n0", "p"], resistor);
        }
        let node = |at: usize| match (at, self.pin) {
            (0, true) => "p".to_owned(),
            _ => format!("n{at}"),
        };
        for at in 0..sections {
            network.add(format!("R{at}"), [node(at), node(at + 1)], resistor);
        }
        for at in 0..sections {
            network.add(
                format!("C{at}"),
                [node(at + 1), "gnd".to_owned()],
                capacitor,
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
    /// Puts values for the parts in, in Ω and F.
    pub fn put(&mut self, parts: &[f64]) {
        // The source comes first, with three parameters of its own.
        if let Some(values) = self.parameters.get_mut(3..3 + parts.len()) {
            values.copy_from_slice(parts);
        }
    }

    fn read(&mut self, frequency: f64, aspect: Aspect) -> Result<f64, Unworkable> {
        let Ladder { network, output } = &*self.ladder;
        let wanted = output.at(frequency, aspect);
        let found = network.value_in(&mut self.workspace, &self.parameters, &wanted);
        found.map_err(|fault| unsolvable(&fault))
    }

    /// The magnitude of the output for a volt at the pin, at a frequency in Hz.
    pub fn gain(&mut self, frequency: f64) -> Result<f64, Unworkable> {
        self.read(frequency, Aspect::Magnitude)
    }

    /// The frequency at which half the power of slow signals is left, in Hz.
    pub fn corner(&mut self) -> Result<f64, Unworkable> {
        let aim = self.gain(STILL)? / 2f64.sqrt();
        let beyond = |room: &mut Room, power: f64| Ok(aim / room.gain(power.exp())? - 1.0);
        // Between 1 Hz and 1 THz. A ladder only ever lets less through the higher
        // the frequency.
        let (mut low, mut high) = (0.0, 1e12f64.ln());
        let (mut below, mut above) = (beyond(self, low)?, beyond(self, high)?);
        if !(below < 0.0 && above > 0.0) {
            return Err(Unworkable::new(
                "has no value between 1 Hz and 1 THz",
                "check the values of the filter",
            ));
        }
        // By halves to about a quarter of an octave, then by straight lines whose
        // lasting end weighs half as much (the Illinois rule, textbook).
        for _ in 0..7 {
            let middle = (low + high) / 2.0;
            let value = beyond(self, middle)?;
            if value < 0.0 {
                (low, below) = (middle, value);
            } else {
                (high, above) = (middle, value);
            }
        }
        let mut moved = 0;
        let mut at = low;
        for _ in 0..40 {
            let next = (low * above - high * below) / (above - below);
            let is_there = (next - at).abs() < 1e-13 * next.abs();
            at = next;
            let value = beyond(self, at)?;
            if is_there || value == 0.0 {
                break;
            }
            if value < 0.0 {
                (low, below) = (at, value);
                above *= if moved < 0 { 0.5 } else { 1.0 };
                moved = -1;
            } else {
                (high, above) = (at, value);
                below *= if moved > 0 { 0.5 } else { 1.0 };
                moved = 1;
            }
        }
        Ok(at.exp())
    }

    /// What is left of a square wave from zero to full scale, from peak to peak
    /// in V, by the sum of its odd lines.
    pub fn ripple(&mut self, full_scale: f64, carrier: f64) -> Result<f64, Unworkable> {
        let mut lines = [[0.0; 2]; LINES];
        for (at, line) in lines.iter_mut().enumerate() {
            let number = (2 * at + 1) as f64;
            let frequency = number * carrier;
            *line = [
                self.read(frequency, Aspect::Real)? / number,
                self.read(frequency, Aspect::Imaginary)? / number,
            ];
        }
        let turns = turns();
        let mut greatest = 0.0f64;
        // The second half of a period is the first with its sign turned.
        for moment in 0..MOMENTS {
            let mut value = 0.0;
            for (at, [real, imaginary]) in lines.iter().enumerate() {
                let [sine, cosine] = turns[(2 * at + 1) * moment % (2 * MOMENTS)];
                value += real * sine + imaginary * cosine;
            }
            greatest = greatest.max(value.abs());
        }
        // Behind one section the lines that are left out add up at the edge, each
        // weaker by the square of its number: of 1/k² over the odd k above a line
        // there is left about half of one over the even number next to it. Behind
        // more sections they hardly count.
        let last = (2 * LINES - 1) as f64;
        let [real, imaginary] = lines[LINES - 1];
        let tail = match self.sections {
            1 => real.hypot(imaginary) * last * last / (2.0 * (last + 1.0)),
            _ => 0.0,
        };
        Ok(4.0 * full_scale / std::f64::consts::PI * (greatest + tail))
    }
}

/// Sines and cosines of the moments of a whole period.
fn turns() -> &'static [[f64; 2]; 2 * MOMENTS] {
    static TURNS: OnceLock<[[f64; 2]; 2 * MOMENTS]> = OnceLock::new();
    TURNS.get_or_init(|| {
        std::array::from_fn(|at| {
            let turn = std::f64::consts::PI * at as f64 / MOMENTS as f64;
            [libm::sin(turn), libm::cos(turn)]
        })
    })
}
