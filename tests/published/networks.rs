//! Topic 9: node voltages, currents, phasors and impedances of small networks.
//!
//! The file states its conventions at its head. A difference is allowed up to
//! the case's relative tolerance, or half a unit of its last digit, or its
//! absolute tolerance where the value is near zero.

use std::collections::{BTreeMap, BTreeSet};

use num_complex::Complex64;
use ohmbook::circuit::{Compiled, Diode, Kind, Led, Loudspeaker, Network, Source, Zener};
use ohmbook::quantity::{Decimal, Unit};
use serde::Deserialize;

#[derive(Deserialize)]
struct Topic {
    #[serde(rename = "case")]
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    id: String,
    inputs: BTreeMap<String, String>,
    expect: BTreeMap<String, String>,
    elements: Vec<Element>,
    digits: Option<i32>,
    rel_tol: Option<f64>,
    abs_tol: f64,
    source: String,
}

#[derive(Deserialize)]
struct Element {
    name: String,
    kind: String,
    between: [String; 2],
    value: Option<String>,
    #[serde(rename = "Is")]
    saturation_current: Option<String>,
    n: Option<String>,
    #[serde(rename = "Vz0")]
    knee: Option<String>,
    rz: Option<String>,
}

/// Temperature of every junction, from the head of the file.
const TEMPERATURE: f64 = 298.15;

/// A value in coherent SI units; an angle is left in degrees.
fn value(text: &str) -> f64 {
    let (decimal, used) = Decimal::scan(text).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
    let unit = text[used..].trim();
    if unit.is_empty() || unit == "°" {
        return decimal.to_f64();
    }
    Unit::parse(unit)
        .unwrap_or_else(|fault| panic!("{text}: {fault}"))
        .value_of(&decimal)
}

impl Element {
    fn kind(&self, alternating: bool) -> Kind {
        let stated = |text: &Option<String>| value(text.as_deref().unwrap());
        match self.kind.as_str() {
            "R" => Kind::Resistor {
                resistance: stated(&self.value),
            },
            "C" => Kind::Capacitor {
                capacitance: stated(&self.value),
            },
            "L" => Kind::Inductor {
                inductance: stated(&self.value),
            },
            "V" if alternating => Kind::VoltageSource(Source::alternating(stated(&self.value))),
            "V" => Kind::VoltageSource(Source::steady(stated(&self.value))),
            "I" => Kind::CurrentSource(Source::steady(stated(&self.value))),
            "D" => Kind::Diode(Diode {
                saturation_current: stated(&self.saturation_current),
                ideality: stated(&self.n),
                temperature: TEMPERATURE,
                series_resistance: None,
            }),
            "Z" => Kind::Zener(Zener::new(stated(&self.knee), 0.0, stated(&self.rz))),
            other => panic!("{}: kind {other}", self.name),
        }
    }
}

impl Case {
    fn frequency(&self) -> Option<f64> {
        self.inputs.get("f").map(|text| value(text))
    }

    fn network(&self) -> Network {
        let mut network = Network::new(self.inputs["ground"].clone());
        for element in &self.elements {
            let kind = element.kind(self.frequency().is_some());
            network.add(element.name.clone(), element.between.clone(), kind);
        }
        network
    }

    fn compiled(&self) -> Compiled {
        compiled(&self.network(), &self.id)
    }

    fn allowed(&self, expected: f64) -> f64 {
        let relative = match (self.rel_tol, self.digits) {
            (Some(relative), _) => relative,
            (None, Some(digits)) => 0.5 * 10f64.powi(1 - digits),
            (None, None) => panic!("{} states no tolerance", self.id),
        };
        (relative * expected.abs()).max(self.abs_tol)
    }

    fn compare(&self, what: &str, computed: f64, expected: f64) -> Option<String> {
        let difference = (computed - expected).abs();
        let allowed = self.allowed(expected);
        // Written so that what is no number fails.
        let agrees = difference <= allowed;
        (!agrees).then(|| {
            format!(
                "{} {what}: expected {expected:e}, computed {computed:e}, off by \
                 {difference:e}, allowed {allowed:e}; source: {}",
                self.id, self.source
            )
        })
    }
}

fn compiled(network: &Network, id: &str) -> Compiled {
    network
        .compile()
        .unwrap_or_else(|faults| panic!("{id}: {faults:?}"))
}

fn topic() -> Topic {
    let file = include_str!("09_networks.toml");
    let topic: Topic = toml::from_str(file).unwrap();
    let headers = file.lines().filter(|line| line.trim() == "[[case]]");
    assert_eq!(topic.cases.len(), headers.count(), "every case is read");
    let ids: BTreeSet<&str> = topic.cases.iter().map(|case| case.id.as_str()).collect();
    assert_eq!(ids.len(), topic.cases.len(), "every case has its own id");
    topic
}

fn case(id: &str) -> Case {
    let mut cases = topic().cases.into_iter();
    cases.find(|case| case.id == id).unwrap()
}

/// Compares everything a case expects; how much that was, and what differs.
fn judge(case: &Case) -> (usize, Vec<String>) {
    let network = case.compiled();
    let mut failures = Vec::new();
    for (what, expected) in &case.expect {
        if what == "conducts" {
            let zener = network.operating_point(&network.nominal()).unwrap();
            let conducts = zener.current("Z1").unwrap() > 1e-12;
            if conducts != (expected == "yes") {
                failures.push(format!("{}: conducts: {conducts}", case.id));
            }
            continue;
        }
        let computed = match case.frequency() {
            None => at_rest(&network, what),
            Some(frequency) => phasor(&network, frequency, what),
        };
        failures.extend(case.compare(what, computed, value(expected)));
    }
    (case.expect.len(), failures)
}

fn at_rest(network: &Compiled, what: &str) -> f64 {
    let point = network.operating_point(&network.nominal()).unwrap();
    match what.split_once('_').unwrap() {
        ("v", node) => point.voltage(node).unwrap(),
        ("i", element) => point.current(element).unwrap(),
        _ => panic!("{what} is not judged"),
    }
}

fn phasor(network: &Compiled, frequency: f64, what: &str) -> f64 {
    let nominal = network.nominal();
    let (of, aspect) = what.rsplit_once('_').unwrap();
    let phasor: Complex64 = if of == "zin" {
        let impedance = network.input_impedance("V1").unwrap();
        network.sweep(&nominal, &[frequency], &impedance).unwrap()[0]
    } else {
        let phasors = network.phasors(&nominal, frequency).unwrap();
        phasors.voltage(of).unwrap()
    };
    match aspect {
        "re" => phasor.re,
        "im" => phasor.im,
        "mag" => phasor.norm(),
        "deg" => phasor.arg().to_degrees(),
        _ => panic!("{what} is not judged"),
    }
}

#[test]
fn every_case_of_networks_agrees() {
    let topic = topic();
    let (mut judged, mut failures) = (0, Vec::new());
    for case in &topic.cases {
        let (count, differing) = judge(case);
        assert!(count > 0, "{} expects something", case.id);
        judged += count;
        failures.extend(differing);
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    let expected: usize = topic.cases.iter().map(|case| case.expect.len()).sum();
    assert_eq!(judged, expected, "nothing is skipped");
}

/// The network of the loudspeaker cases is the equivalent circuit of a
/// loudspeaker, so one with the Thiele-Small parameters that belong to it has
/// the same impedance.
#[test]
fn a_loudspeaker_is_its_equivalent_circuit() {
    let cases = topic().cases;
    let cases: Vec<&Case> = cases
        .iter()
        .filter(|case| case.id.starts_with("ac-loudspeaker"))
        .collect();
    assert_eq!(cases.len(), 5);
    for case in cases {
        let of = |name: &str| {
            let found = case.elements.iter().find(|element| element.name == name);
            value(found.unwrap().value.as_deref().unwrap())
        };
        let omega = 1.0 / (of("L2") * of("C1")).sqrt();
        let electrical_q = omega * of("R1") * of("C1");
        let mut network = Network::new("0");
        let source = Kind::VoltageSource(Source::alternating(of("V1")));
        let speaker = Kind::Loudspeaker(Loudspeaker {
            dc_resistance: of("R1"),
            coil_inductance: of("L1"),
            resonance: omega / std::f64::consts::TAU,
            mechanical_q: electrical_q * of("R2") / of("R1"),
            electrical_q,
        });
        network.add("V1", ["in", "0"], source);
        network.add("LS1", ["in", "0"], speaker);
        let network = compiled(&network, &case.id);
        for (what, expected) in &case.expect {
            if what.starts_with("zin_") {
                let computed = phasor(&network, case.frequency().unwrap(), what);
                assert_eq!(case.compare(what, computed, value(expected)), None);
            }
        }
    }
}

/// The resistor in series with the LED of this case may stand inside it.
#[test]
fn a_series_resistance_may_be_a_diode_s_own() {
    let case = case("nl-led-1");
    let mut network = Network::new("0");
    for element in &case.elements {
        match element.kind(false) {
            _ if element.name == "R2" => {}
            Kind::Diode(diode) => {
                let series_resistance = Some(3.0);
                let kind = Kind::Diode(Diode {
                    series_resistance,
                    ..diode
                });
                network.add("D1", ["a", "0"], kind);
            }
            kind => {
                network.add(element.name.clone(), element.between.clone(), kind);
            }
        }
    }
    let network = compiled(&network, &case.id);
    for what in ["v_a", "i_D1"] {
        let expected = value(&case.expect[what]);
        let difference = case.compare(what, at_rest(&network, what), expected);
        assert_eq!(difference, None);
    }
}

/// An LED that is fitted through the operating point that a case gives has
/// that operating point.
#[test]
fn an_led_goes_through_its_test_point() {
    let case = case("nl-led-2");
    let of = |what: &str| value(&case.expect[what]);
    let mut network = Network::new("0");
    for element in &case.elements {
        let kind = match element.kind(false) {
            Kind::Diode(_) => Kind::Led(Led::new(of("v_a"), of("i_D1"))),
            kind => kind,
        };
        network.add(element.name.clone(), element.between.clone(), kind);
    }
    let network = compiled(&network, &case.id);
    for what in ["v_a", "i_D1"] {
        assert_eq!(case.compare(what, at_rest(&network, what), of(what)), None);
    }
}

/// A zener that is given at a test current has the knee of the cases where
/// the test current's share of the voltage is taken off.
#[test]
fn a_zener_is_given_at_its_test_current() {
    let case = case("nl-zener-1");
    let mut network = Network::new("0");
    for element in &case.elements {
        let kind = match element.kind(false) {
            Kind::Zener(_) => Kind::Zener(Zener::new(5.0 + 7.0 * 5e-3, 5e-3, 7.0)),
            kind => kind,
        };
        network.add(element.name.clone(), element.between.clone(), kind);
    }
    let network = compiled(&network, &case.id);
    for what in ["v_out", "i_Z1"] {
        let expected = value(&case.expect[what]);
        assert_eq!(case.compare(what, at_rest(&network, what), expected), None);
    }
}
