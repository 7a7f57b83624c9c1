//! Random networks and small helpers for the tests of this module.

use super::*;

/// Numbers without pattern, the same in every run (a linear congruence;
/// constants from D. E. Knuth, MMIX).
pub(super) struct Noise(pub(super) u64);

impl Noise {
    /// From 0 up to 1.
    pub(super) fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// One of so many.
    pub(super) fn below(&mut self, count: usize) -> usize {
        (self.unit() * count as f64) as usize
    }

    /// Between two positive numbers, every decade being as likely.
    pub(super) fn decades(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
}

/// What a random network may hold besides resistors and sources.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Sort {
    Resistive,
    Reactive,
    Junctions,
    Everything,
}

pub(super) fn resistor(resistance: f64) -> Kind {
    Kind::Resistor { resistance }
}

pub(super) fn silicon() -> Kind {
    Kind::Diode(Diode {
        saturation_current: 1e-14,
        ideality: 1.0,
        temperature: ROOM_TEMPERATURE,
        series_resistance: None,
    })
}

pub(super) fn compiled(network: &Network) -> Compiled {
    match network.compile() {
        Ok(compiled) => compiled,
        Err(faults) => panic!("{network:?}: {faults:?}"),
    }
}

/// A network of 3 to 8 nodes: a tree of resistors to ground, a source in
/// series with one of them, and random elements across it.
pub(super) fn random(noise: &mut Noise, sort: Sort) -> Network {
    let mut network = Network::new("0");
    let nodes = 3 + noise.below(6);
    for node in 1..=nodes {
        let other = noise.below(node);
        network.add(
            format!("RT{node}"),
            [node.to_string(), other.to_string()],
            resistor(noise.decades(10.0, 1e5)),
        );
        network.add(
            format!("RG{node}"),
            [node.to_string(), "0".to_owned()],
            resistor(noise.decades(1e4, 1e7)),
        );
    }
    let source = Kind::VoltageSource(Source {
        steady: noise.between(-12.0, 12.0),
        amplitude: noise.between(0.1, 2.0),
        phase: noise.between(-3.0, 3.0),
    });
    network.add("V1", ["in", "0"], source);
    network.add("RV1", ["in", "1"], resistor(noise.decades(10.0, 1e4)));
    for at in 0..2 + noise.below(2 * nodes) {
        let a = noise.below(nodes + 1);
        let b = (a + 1 + noise.below(nodes)) % (nodes + 1);
        let kind = random_kind(noise, sort);
        let mut ends = vec![a.to_string(), b.to_string()];
        if matches!(kind, Kind::Amplifier(_)) {
            // A follower that drives a node of its own, which a resistor loads.
            let out = format!("o{at}");
            ends = vec![a.to_string(), out.clone(), out.clone()];
            network.add(
                format!("RX{at}"),
                [out, b.to_string()],
                resistor(noise.decades(1e3, 1e5)),
            );
        }
        network.add(format!("X{at}"), ends, kind);
    }
    network
}

fn random_kind(noise: &mut Noise, sort: Sort) -> Kind {
    let plain = match noise.below(3) {
        0 => Kind::CurrentSource(Source {
            steady: noise.between(-0.01, 0.01),
            amplitude: noise.between(0.0, 1e-3),
            phase: noise.between(-3.0, 3.0),
        }),
        _ => resistor(noise.decades(10.0, 1e6)),
    };
    let reactive = |noise: &mut Noise| match noise.below(3) {
        0 => Kind::Inductor {
            inductance: noise.decades(1e-5, 1.0),
        },
        1 => Kind::Loudspeaker(Loudspeaker {
            dc_resistance: noise.between(3.0, 16.0),
            coil_inductance: noise.decades(1e-5, 1e-3),
            resonance: noise.decades(30.0, 1000.0),
            mechanical_q: noise.between(1.0, 8.0),
            electrical_q: noise.between(0.3, 3.0),
        }),
        _ => Kind::Capacitor {
            capacitance: noise.decades(1e-11, 1e-5),
        },
    };
    let junction = |noise: &mut Noise| match noise.below(3) {
        0 => Kind::Diode(Diode {
            saturation_current: noise.decades(1e-16, 1e-7),
            ideality: noise.between(1.0, 2.0),
            temperature: noise.between(250.0, 380.0),
            series_resistance: (noise.unit() < 0.5).then(|| noise.decades(0.01, 10.0)),
        }),
        1 => Kind::Zener(Zener::new(
            noise.between(2.4, 12.0),
            noise.between(0.0, 5e-3),
            noise.between(1.0, 50.0),
        )),
        _ => Kind::Led(Led::new(noise.between(1.6, 3.3), noise.between(1e-3, 0.02))),
    };
    let amplifier = |noise: &mut Noise| {
        Kind::Amplifier(if noise.unit() < 0.3 {
            Amplifier::Ideal
        } else {
            Amplifier::SinglePole {
                gain: noise.decades(1e3, 1e6),
                gain_bandwidth: noise.decades(1e5, 1e8),
                output_resistance: (noise.unit() < 0.5).then(|| noise.between(10.0, 200.0)),
            }
        })
    };
    match (sort, noise.below(4)) {
        (Sort::Reactive, 0 | 1) | (Sort::Everything, 0) => reactive(noise),
        (Sort::Junctions, 0 | 1) | (Sort::Everything, 1) => junction(noise),
        (Sort::Everything, 2) => amplifier(noise),
        _ => plain,
    }
}
