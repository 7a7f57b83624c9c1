//! Kinds of elements, with the values that an engineer knows them by.
//!
//! Every value is in coherent SI units (Ω, F, H, V, A, K, Hz, rad); nothing
//! here solves anything.

/// Room temperature for the junctions of the parts made by [`Zener::new`] and
/// [`Led::new`]: 25 °C, in K.
pub const ROOM_TEMPERATURE: f64 = 298.15;

/// What an element is.
///
/// | kind | terminals, in order | current | power |
/// | --- | --- | --- | --- |
/// | resistor, capacitor, inductor, switch | two | first to second | taken up |
/// | voltage source | plus, minus | delivered, out of plus | delivered |
/// | current source | tail, head | delivered, out of the head | delivered |
/// | diode, LED | anode, cathode | anode to cathode | taken up |
/// | zener | anode, cathode | cathode to anode, as its data sheet counts | taken up |
/// | operational amplifier | plus input, minus input, output | delivered, out of the output | delivered |
/// | loudspeaker | two | first to second | taken up |
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Kind {
    /// A resistor.
    Resistor {
        /// Resistance in Ω, above zero.
        resistance: f64,
    },
    /// A capacitor; an open circuit at DC.
    Capacitor {
        /// Capacitance in F, above zero.
        capacitance: f64,
    },
    /// An inductor; a short circuit at DC.
    Inductor {
        /// Inductance in H, above zero.
        inductance: f64,
    },
    /// A voltage source; steady value and amplitude in V.
    VoltageSource(Source),
    /// A current source; steady value and amplitude in A.
    CurrentSource(Source),
    /// An ideal switch: no voltage when closed, no current when open.
    Switch {
        /// Whether it conducts.
        closed: bool,
    },
    /// A diode.
    Diode(Diode),
    /// A zener diode.
    Zener(Zener),
    /// A light-emitting diode.
    Led(Led),
    /// An operational amplifier.
    Amplifier(Amplifier),
    /// A moving-coil loudspeaker in free air.
    Loudspeaker(Loudspeaker),
}

/// What a source drives.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Source {
    /// The steady value, for the operating point, in V or A; of either sign.
    pub steady: f64,
    /// Amplitude of the sine that the AC response is computed for, in V or A.
    pub amplitude: f64,
    /// Phase of that sine, in rad.
    pub phase: f64,
}

impl Source {
    /// A steady source, without any AC.
    pub fn steady(value: f64) -> Source {
        Source {
            steady: value,
            ..Source::default()
        }
    }

    /// An AC source of phase zero that is off at DC.
    pub fn alternating(amplitude: f64) -> Source {
        Source {
            amplitude,
            ..Source::default()
        }
    }
}

/// A junction after W. Shockley, The Theory of p-n Junctions in Semiconductors
/// and p-n Junction Transistors, Bell System Technical Journal 28 (1949), 435:
/// `i = I_S (exp(v / (n V_T)) - 1)`, `V_T = k T / e`.
///
/// The ideality n was added to the formula later and is common practice.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Diode {
    /// Saturation current at that temperature, in A, above zero.
    pub saturation_current: f64,
    /// Ideality, usually 1 to 2.
    pub ideality: f64,
    /// Temperature of the junction, in K. It changes V_T alone: the saturation
    /// current is taken as given for the same temperature.
    pub temperature: f64,
    /// Resistance in series with the junction, in Ω, above zero.
    pub series_resistance: Option<f64>,
}

/// A zener diode: a straight line from the knee on, a junction in the forward
/// direction, nothing in between.
///
/// The knee is where the line through the test point, with the slope of the
/// dynamic resistance, meets zero current: `V_knee = V_Z - I_Z r_Z`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Zener {
    /// Zener voltage at the test current, in V.
    pub voltage: f64,
    /// Test current, in A; zero where the knee voltage itself is given.
    pub test_current: f64,
    /// Dynamic resistance, in Ω.
    pub dynamic_resistance: f64,
    /// Saturation current of the forward junction, in A.
    pub saturation_current: f64,
    /// Ideality of the forward junction.
    pub ideality: f64,
    /// Temperature of the junction, in K; it changes forward conduction alone.
    pub temperature: f64,
}

impl Zener {
    /// A zener at 25 °C with an ordinary silicon junction in the forward
    /// direction: 10 fA, ideality 1 (common practice, no source).
    pub fn new(voltage: f64, test_current: f64, dynamic_resistance: f64) -> Zener {
        Zener {
            voltage,
            test_current,
            dynamic_resistance,
            saturation_current: 1e-14,
            ideality: 1.0,
            temperature: ROOM_TEMPERATURE,
        }
    }
}

/// A light-emitting diode: a junction whose saturation current is such that
/// the forward voltage is met at the test current.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Led {
    /// Forward voltage at the test current, in V.
    pub forward_voltage: f64,
    /// Test current, in A.
    pub test_current: f64,
    /// Ideality, usually 1.5 to 3.
    pub ideality: f64,
    /// Temperature of the junction, at which the forward voltage holds, in K.
    pub temperature: f64,
}

impl Led {
    /// An LED at 25 °C with ideality 2 (common practice, no source).
    pub fn new(forward_voltage: f64, test_current: f64) -> Led {
        Led {
            forward_voltage,
            test_current,
            ideality: 2.0,
            temperature: ROOM_TEMPERATURE,
        }
    }
}

/// An operational amplifier. Its output is taken to be within its supplies;
/// whether it is must be looked at in the results.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Amplifier {
    /// No voltage and no current between the inputs, any output that this
    /// takes (a nullor).
    Ideal,
    /// Gain with one pole: `1 / A(f) = 1 / A_0 + j f / f_T`.
    SinglePole {
        /// Open-loop gain at DC, A_0, as a ratio.
        gain: f64,
        /// Gain-bandwidth product f_T, in Hz.
        gain_bandwidth: f64,
        /// Open-loop output resistance, in Ω, above zero.
        output_resistance: Option<f64>,
    },
}

/// A loudspeaker by its Thiele-Small parameters; free air, infinite baffle.
///
/// Equivalent circuit after R. H. Small, Direct-Radiator Loudspeaker System
/// Analysis, J. Audio Eng. Soc. 20 (1972) 383-395: R_E and L_E in series with
/// a parallel circuit of `R_ES = R_E Q_MS / Q_ES`,
/// `L_CES = R_E / (2π f_S Q_ES)` and `C_MES = Q_ES / (2π f_S R_E)`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Loudspeaker {
    /// DC resistance R_E of the voice coil, in Ω.
    pub dc_resistance: f64,
    /// Inductance L_E of the voice coil, in H; may be zero.
    pub coil_inductance: f64,
    /// Resonance frequency f_S in free air, in Hz.
    pub resonance: f64,
    /// Mechanical quality factor Q_MS.
    pub mechanical_q: f64,
    /// Electrical quality factor Q_ES.
    pub electrical_q: f64,
}

/// The values that a parameter may have.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Limit {
    /// Any number.
    Any,
    /// Zero and above.
    NotNegative,
    /// Above zero.
    Positive,
}

impl Limit {
    /// Whether a value is allowed: finite and on the right side of zero.
    pub fn allows(self, value: f64) -> bool {
        self.least() <= value && value <= f64::MAX
    }

    /// The least value that is allowed.
    pub(super) fn least(self) -> f64 {
        match self {
            Limit::Any => f64::MIN,
            Limit::NotNegative => 0.0,
            // The least number above zero.
            Limit::Positive => f64::from_bits(1),
        }
    }
}

/// A parameter of a kind: its name, value and limit.
pub(super) type Stated = (&'static str, f64, Limit);

impl Kind {
    /// What the trade calls it.
    pub fn name(&self) -> &'static str {
        match self {
            Kind::Resistor { .. } => "resistor",
            Kind::Capacitor { .. } => "capacitor",
            Kind::Inductor { .. } => "inductor",
            Kind::VoltageSource(_) => "voltage source",
            Kind::CurrentSource(_) => "current source",
            Kind::Switch { .. } => "switch",
            Kind::Diode(_) => "diode",
            Kind::Zener(_) => "zener diode",
            Kind::Led(_) => "light-emitting diode",
            Kind::Amplifier(_) => "operational amplifier",
            Kind::Loudspeaker(_) => "loudspeaker",
        }
    }

    /// Number of terminals.
    pub fn terminals(&self) -> usize {
        if matches!(self, Kind::Amplifier(_)) {
            3
        } else {
            2
        }
    }

    /// The parameters, in the order of a parameter vector.
    pub(super) fn parameters(&self) -> Vec<Stated> {
        use Limit::{NotNegative, Positive};
        match *self {
            Kind::Resistor { resistance } => vec![("resistance", resistance, Positive)],
            Kind::Capacitor { capacitance } => vec![("capacitance", capacitance, Positive)],
            Kind::Inductor { inductance } => vec![("inductance", inductance, Positive)],
            Kind::VoltageSource(source) => source_parameters("voltage", source),
            Kind::CurrentSource(source) => source_parameters("current", source),
            Kind::Switch { .. } | Kind::Amplifier(Amplifier::Ideal) => Vec::new(),
            Kind::Diode(diode) => {
                let mut list = vec![
                    ("saturation_current", diode.saturation_current, Positive),
                    ("ideality", diode.ideality, Positive),
                    ("temperature", diode.temperature, Positive),
                ];
                list.extend(
                    diode
                        .series_resistance
                        .map(|value| ("series_resistance", value, Positive)),
                );
                list
            }
            Kind::Zener(zener) => vec![
                ("voltage", zener.voltage, Positive),
                ("test_current", zener.test_current, NotNegative),
                ("dynamic_resistance", zener.dynamic_resistance, Positive),
                ("saturation_current", zener.saturation_current, Positive),
                ("ideality", zener.ideality, Positive),
                ("temperature", zener.temperature, Positive),
            ],
            Kind::Led(led) => vec![
                ("forward_voltage", led.forward_voltage, Positive),
                ("test_current", led.test_current, Positive),
                ("ideality", led.ideality, Positive),
                ("temperature", led.temperature, Positive),
            ],
            Kind::Amplifier(Amplifier::SinglePole {
                gain,
                gain_bandwidth,
                output_resistance,
            }) => {
                let mut list = vec![
                    ("gain", gain, Positive),
                    ("gain_bandwidth", gain_bandwidth, Positive),
                ];
                list.extend(output_resistance.map(|value| ("output_resistance", value, Positive)));
                list
            }
            Kind::Loudspeaker(speaker) => vec![
                ("dc_resistance", speaker.dc_resistance, Positive),
                ("coil_inductance", speaker.coil_inductance, NotNegative),
                ("resonance", speaker.resonance, Positive),
                ("mechanical_q", speaker.mechanical_q, Positive),
                ("electrical_q", speaker.electrical_q, Positive),
            ],
        }
    }
}

fn source_parameters(steady: &'static str, source: Source) -> Vec<Stated> {
    vec![
        (steady, source.steady, Limit::Any),
        ("amplitude", source.amplitude, Limit::Any),
        ("phase", source.phase, Limit::Any),
    ]
}
