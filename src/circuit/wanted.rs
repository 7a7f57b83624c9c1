//! What can be asked of a network, by name, resolved once.

use super::compiled::Compiled;
use super::fault::CircuitFault;
use super::kind::Kind;

/// A result of a network: one number that depends on the parameters.
///
/// Voltages are in V, currents in A, powers in W, phases in rad; which way a
/// current counts, and whether a power is taken up or delivered, is
/// [`Kind`]'s table.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Wanted(pub(super) Asked);

impl Wanted {
    /// Whether it is read off the operating point.
    pub fn is_steady(&self) -> bool {
        matches!(self.0, Asked::Steady(_))
    }
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Asked {
    /// At the operating point.
    Steady(Sight),
    /// At a frequency in Hz.
    Phasor(Transfer, f64, Aspect),
}

/// A number that can be read off a solution.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Sight {
    /// One.
    One,
    /// The voltage between two unknowns.
    Voltage([usize; 2]),
    /// The current of a part.
    Current(usize),
    /// The power of a part; only at the operating point.
    Power(usize),
}

/// A ratio of two phasors, or one phasor, as it goes over frequency.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Transfer {
    pub(super) drive: Drive,
    pub(super) over: Sight,
    pub(super) under: Sight,
}

/// Which sources drive an AC response.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Drive {
    /// All, with their amplitudes and phases.
    All,
    /// The source that is this piece, with one volt or ampere; no other.
    Only(usize),
}

/// Which number of a phasor is wanted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Aspect {
    /// The magnitude.
    Magnitude,
    /// The magnitude as a level: 20 times its logarithm to base 10, in dB.
    Level,
    /// The phase in rad, above -π and up to π.
    Phase,
    /// The real part.
    Real,
    /// The imaginary part.
    Imaginary,
}

impl Transfer {
    /// One number of the phasor, at a frequency in Hz.
    pub fn at(self, frequency: f64, aspect: Aspect) -> Wanted {
        Wanted(Asked::Phasor(self, frequency, aspect))
    }
}

/// Results by name. All fail for names that are not in the network, with the
/// nearest that is.
#[allow(clippy::missing_errors_doc)]
impl Compiled {
    /// The voltage of a node at the operating point.
    pub fn voltage(&self, node: &str) -> Result<Wanted, CircuitFault> {
        let at = self.node(node)?;
        Ok(Wanted(Asked::Steady(Sight::Voltage([at, self.order()]))))
    }

    /// The voltage from one node to another at the operating point: that of
    /// the first, less that of the second.
    pub fn voltage_between(&self, plus: &str, minus: &str) -> Result<Wanted, CircuitFault> {
        let ends = [self.node(plus)?, self.node(minus)?];
        Ok(Wanted(Asked::Steady(Sight::Voltage(ends))))
    }

    /// The current of an element at the operating point.
    pub fn current(&self, element: &str) -> Result<Wanted, CircuitFault> {
        Ok(Wanted(Asked::Steady(Sight::Current(self.part(element)?))))
    }

    /// The power of an element at the operating point.
    pub fn power(&self, element: &str) -> Result<Wanted, CircuitFault> {
        Ok(Wanted(Asked::Steady(Sight::Power(self.part(element)?))))
    }

    /// The voltage of a node as a phasor, all sources driving with their
    /// amplitudes and phases.
    pub fn phasor(&self, node: &str) -> Result<Transfer, CircuitFault> {
        let over = Sight::Voltage([self.node(node)?, self.order()]);
        Ok(all(over, Sight::One))
    }

    /// The voltage from one node to another as a phasor.
    pub fn phasor_between(&self, plus: &str, minus: &str) -> Result<Transfer, CircuitFault> {
        let over = Sight::Voltage([self.node(plus)?, self.node(minus)?]);
        Ok(all(over, Sight::One))
    }

    /// The current of an element as a phasor.
    pub fn phasor_current(&self, element: &str) -> Result<Transfer, CircuitFault> {
        Ok(all(Sight::Current(self.part(element)?), Sight::One))
    }

    /// The voltage of a node as a ratio to that of another, all sources
    /// driving.
    pub fn transfer(&self, from: &str, to: &str) -> Result<Transfer, CircuitFault> {
        let voltage = |node| Ok(Sight::Voltage([self.node(node)?, self.order()]));
        Ok(all(voltage(to)?, voltage(from)?))
    }

    /// The voltage of a node for each volt or ampere of one source, all others
    /// at rest.
    pub fn gain(&self, source: &str, to: &str) -> Result<Transfer, CircuitFault> {
        let part = self.source(source)?;
        Ok(Transfer {
            drive: Drive::Only(self.parts[part].lead),
            over: Sight::Voltage([self.node(to)?, self.order()]),
            under: Sight::One,
        })
    }

    /// The impedance that a source sees, all others at rest, in Ω: its voltage
    /// over the current that it delivers.
    pub fn input_impedance(&self, source: &str) -> Result<Transfer, CircuitFault> {
        let at = self.source(source)?;
        let part = &self.parts[at];
        let [first, second] = part.ends;
        let drive = Drive::Only(part.lead);
        let (over, under) = if matches!(part.kind, Kind::VoltageSource(_)) {
            (Sight::Voltage([first, second]), Sight::Current(at))
        } else {
            (Sight::Voltage([second, first]), Sight::One)
        };
        Ok(Transfer { drive, over, under })
    }

    fn source(&self, name: &str) -> Result<usize, CircuitFault> {
        let at = self.part(name)?;
        match self.parts[at].kind {
            Kind::VoltageSource(_) | Kind::CurrentSource(_) => Ok(at),
            kind => Err(CircuitFault::NotASource {
                element: name.to_owned(),
                kind: kind.name(),
            }),
        }
    }

    /// Refuses what was resolved for another network and points outside this.
    pub(super) fn check_sight(&self, sight: Sight) -> Result<(), CircuitFault> {
        let inside = match sight {
            Sight::One => true,
            Sight::Voltage(ends) => ends.iter().all(|&end| end <= self.order()),
            Sight::Current(part) | Sight::Power(part) => part < self.parts.len(),
        };
        if inside {
            Ok(())
        } else {
            Err(CircuitFault::ForeignResult)
        }
    }
}

fn all(over: Sight, under: Sight) -> Transfer {
    let drive = Drive::All;
    Transfer { drive, over, under }
}
