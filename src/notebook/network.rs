//! From the record of a circuit to a network that can be solved.

use std::sync::Arc;

use super::graph::{Body, Graph, Network, Node, NodeId, Origin, ParameterSource, Solution, Source};
use super::resolve::{Unresolved, listed, resolve};
use crate::circuit::{
    Amplifier, Aspect, CircuitFault, Compiled, Diode, Kind, Led, Loudspeaker, Zener,
};
use crate::circuit::{ROOM_TEMPERATURE, Source as Steady, Wanted};
use crate::finding::{Finding, Located, Place, Slug};
use crate::nearest::nearest;
use crate::quantity::Dimension;
use crate::record::{CircuitRecord, Part, Records};

/// A parameter of an element: its name, and the property or the number that it
/// comes from.
enum From {
    Property(&'static str),
    Number(f64),
}

/// Makes the network of a circuit. `drives` are the nodes of its drives:
/// steady value, and amplitude where there is one.
pub(super) fn network(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    circuit: usize,
    drives: &[(NodeId, Option<NodeId>)],
    findings: &mut Vec<Finding>,
) -> Option<Network> {
    let record = &records.boards[board].circuits[circuit];
    let mut net = crate::circuit::Network::new(&record.ground.value);
    let mut sources: Vec<(String, &'static str, Source)> = Vec::new();
    let mut whole = true;
    for (designator, nodes) in &record.between {
        match element(graph, records, board, record, designator) {
            Ok((kind, parameters)) => {
                let names = nodes.iter().map(|node| node.value.as_str());
                net.add(designator.value.as_str(), names, kind);
                let named = |(parameter, source)| (designator.value.clone(), parameter, source);
                sources.extend(parameters.into_iter().map(named));
            }
            Err(found) => {
                findings.extend(found.map(|finding| *finding));
                whole = false;
            }
        }
    }
    for switch in &record.closed {
        if !record
            .between
            .iter()
            .any(|(designator, _)| designator.value == switch.value)
        {
            let known = record
                .between
                .iter()
                .map(|(designator, _)| designator.value.as_str());
            let mut finding = Finding::new(
                Slug::UnknownName,
                format!(
                    "`{}` is closed, and is no part of the circuit",
                    switch.value
                ),
            )
            .at(switch.place.clone(), "not in `between`");
            if let Some(near) = nearest(&switch.value, known) {
                finding = finding.help(format!("perhaps `{near}`"));
            }
            findings.push(finding);
            whole = false;
        }
    }
    for (drive, (steady, amplitude)) in record.drives.iter().zip(drives) {
        let ground = &record.ground;
        let (into, from) = (
            &drive.into.value,
            &drive.from.as_ref().unwrap_or(ground).value,
        );
        let source = Steady::steady(1.0);
        let name = drive.name.value.as_str();
        if drive.is_current {
            net.add(name, [from, into], Kind::CurrentSource(source));
        } else {
            net.add(name, [into, from], Kind::VoltageSource(source));
        }
        let quantity = if drive.is_current {
            "current"
        } else {
            "voltage"
        };
        sources.push((drive.name.value.clone(), quantity, Source::Node(*steady)));
        let amplitude = amplitude.map_or(Source::Fixed(0.0), Source::Node);
        sources.push((drive.name.value.clone(), "amplitude", amplitude));
    }
    if !whole {
        return None;
    }
    let compiled = match net.compile() {
        Ok(compiled) => compiled,
        Err(faults) => {
            findings.extend(faults.iter().map(|fault| fault_finding(record, fault)));
            return None;
        }
    };
    findings.extend(
        compiled
            .steady_faults()
            .iter()
            .map(|fault| fault_finding(record, fault)),
    );
    let sources = compiled.parameters().iter().map(|parameter| {
        let known = sources
            .iter()
            .find(|(element, name, _)| *element == parameter.element && *name == parameter.name);
        known.map_or(Source::Fixed(parameter.nominal), |(_, _, source)| *source)
    });
    let sources = sources.collect();
    Some(Network {
        compiled: Arc::new(compiled),
        sources,
    })
}

type Parameters = Vec<(&'static str, Source)>;

/// The element of a designator: its kind with nominal values, and where its
/// parameters come from. The error is the finding, unless it was told before.
fn element(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    circuit: &CircuitRecord,
    designator: &Located<String>,
) -> Result<(Kind, Parameters), Option<Box<Finding>>> {
    let name = &designator.value;
    let line = records.boards[board]
        .fitted
        .iter()
        .find(|line| line.designator.value == *name);
    let part = line.and_then(|line| records.part(&line.part.value));
    let Some(part) = part.filter(|_| line.is_some_and(|line| line.fit)) else {
        // The resolver knows every way in which a designator has no part.
        let found = resolve(graph, records, board, &format!("{name}.value"));
        let told = found
            .err()
            .and_then(|unresolved| unresolved.finding(designator.place.clone()));
        return Err(told.map(Box::new));
    };
    let closed = circuit.closed.iter().any(|switch| switch.value == *name);
    let Some((template, parameters)) = template(part, closed) else {
        let message = format!(
            "a part of kind `{}` has no model in a circuit",
            part.kind.name
        );
        let finding = Finding::new(Slug::BadValue, message)
            .at(designator.place.clone(), format!("`{}`", part.id.value))
            .help("circuits hold resistors, capacitors, inductors, diodes, zeners, LEDs, switches, operational amplifiers and speakers; drive what else there is by a source");
        return Err(Some(Box::new(finding)));
    };
    let mut sources = Vec::new();
    for (parameter, from) in parameters {
        let property = match from {
            From::Number(number) => {
                sources.push((parameter, Source::Fixed(number)));
                continue;
            }
            From::Property(property) => property,
        };
        let written = if property == "value" {
            name.clone()
        } else {
            format!("{name}.{property}")
        };
        match resolve(graph, records, board, &written) {
            Ok(node) => sources.push((parameter, Source::Node(node))),
            Err(unresolved) => {
                let told = unresolved.finding(designator.place.clone());
                return Err(told.map(|finding| Box::new(finding.note("the circuit needs it"))));
            }
        }
    }
    Ok((template, sources))
}

/// The model of a part, with the properties that its parameters come from.
/// Numbers in it are placeholders; the parameters that count come from records.
fn template(part: &Part, closed: bool) -> Option<(Kind, Vec<(&'static str, From)>)> {
    use From::{Number, Property};
    let has = |property: &str| {
        part.property(property).is_some() || part.left_out.iter().any(|name| name == property)
    };
    let one = |name, property| vec![(name, Property(property))];
    Some(match part.kind.name {
        "resistor" => (
            Kind::Resistor { resistance: 1.0 },
            one("resistance", "value"),
        ),
        "capacitor" => (
            Kind::Capacitor { capacitance: 1e-6 },
            one("capacitance", "value"),
        ),
        "inductor" => (
            Kind::Inductor { inductance: 1e-3 },
            one("inductance", "value"),
        ),
        "fuse" => (
            Kind::Resistor { resistance: 1.0 },
            one("resistance", "resistance"),
        ),
        "switch" => (Kind::Switch { closed }, Vec::new()),
        "diode" if has("saturation_current") => {
            let series = has("series_resistance");
            let diode = Diode {
                saturation_current: 1e-12,
                ideality: 1.0,
                temperature: ROOM_TEMPERATURE,
                series_resistance: series.then_some(1.0),
            };
            let ideality = if has("ideality") {
                Property("ideality")
            } else {
                Number(1.0)
            };
            let mut parameters = vec![
                ("saturation_current", Property("saturation_current")),
                ("ideality", ideality),
            ];
            if series {
                parameters.push(("series_resistance", Property("series_resistance")));
            }
            (Kind::Diode(diode), parameters)
        }
        "diode" | "led" => {
            let ideality = if has("ideality") {
                Property("ideality")
            } else {
                Number(2.0)
            };
            let parameters = vec![
                ("forward_voltage", Property("forward_voltage")),
                ("test_current", Property("test_current")),
                ("ideality", ideality),
            ];
            (Kind::Led(Led::new(0.7, 1e-3)), parameters)
        }
        "zener" => {
            let parameters = vec![
                ("voltage", Property("zener_voltage")),
                ("test_current", Property("test_current")),
                ("dynamic_resistance", Property("dynamic_resistance")),
            ];
            (Kind::Zener(Zener::new(5.0, 1e-3, 1.0)), parameters)
        }
        "operational-amplifier" if has("open_loop_gain") => {
            let resistance = has("output_resistance");
            let amplifier = Amplifier::SinglePole {
                gain: 1e5,
                gain_bandwidth: 1e6,
                output_resistance: resistance.then_some(1.0),
            };
            let mut parameters = vec![
                ("gain", Property("open_loop_gain")),
                ("gain_bandwidth", Property("gain_bandwidth")),
            ];
            if resistance {
                parameters.push(("output_resistance", Property("output_resistance")));
            }
            (Kind::Amplifier(amplifier), parameters)
        }
        "operational-amplifier" => (Kind::Amplifier(Amplifier::Ideal), Vec::new()),
        "speaker" => {
            let coil = if has("coil_inductance") {
                Property("coil_inductance")
            } else {
                Number(0.0)
            };
            let speaker = Loudspeaker {
                dc_resistance: 4.0,
                coil_inductance: 0.0,
                resonance: 100.0,
                mechanical_q: 1.0,
                electrical_q: 1.0,
            };
            let parameters = vec![
                ("dc_resistance", Property("dc_resistance")),
                ("coil_inductance", coil),
                ("resonance", Property("resonance")),
                ("mechanical_q", Property("mechanical_q")),
                ("electrical_q", Property("electrical_q")),
            ];
            (Kind::Loudspeaker(speaker), parameters)
        }
        _ => return None,
    })
}

/// The finding of a fault, with the parts and nodes that it names.
fn fault_finding(record: &CircuitRecord, fault: &CircuitFault) -> Finding {
    let text = fault.to_string();
    let named = |written: &Located<String>| text.contains(&format!("`{}`", written.value));
    let mut places: Vec<(Place, String)> = Vec::new();
    for (designator, nodes) in &record.between {
        if named(designator) {
            places.push((designator.place.clone(), format!("`{}`", designator.value)));
        }
        for node in nodes.iter().filter(|node| named(node)) {
            places.push((node.place.clone(), format!("node `{}`", node.value)));
        }
    }
    for drive in &record.drives {
        for written in [Some(&drive.name), Some(&drive.into), drive.from.as_ref()]
            .into_iter()
            .flatten()
        {
            if named(written) {
                places.push((written.place.clone(), format!("`{}`", written.value)));
            }
        }
    }
    let message = format!("the circuit `{}` cannot be solved: {text}", record.id.value);
    let mut finding = Finding::new(Slug::BadCircuit, message);
    if places.is_empty() {
        finding = finding.at(record.id.place.clone(), "this circuit");
    }
    for (place, text) in places {
        finding = finding.at(place, text);
    }
    match fault.mend() {
        Some(mend) => finding.help(mend),
        None => finding,
    }
}

/// The voltage across a part, from its first node to its second.
fn across(record: &CircuitRecord, compiled: &Compiled, name: &str) -> Result<Wanted, CircuitFault> {
    let part = record
        .between
        .iter()
        .find(|(designator, _)| designator.value == name);
    let ends = match part.map(|(_, nodes)| nodes.as_slice()) {
        Some([first, second, ..]) => Some((&first.value, &second.value)),
        _ => record
            .drives
            .iter()
            .find(|drive| drive.name.value == name)
            .map(|drive| {
                (
                    &drive.into.value,
                    &drive.from.as_ref().unwrap_or(&record.ground).value,
                )
            }),
    };
    match ends {
        Some((first, second)) => compiled.voltage_between(first, second),
        None => compiled.voltage(name),
    }
}

/// Ratings of parts, and the result of a circuit that each of them limits.
const RATINGS: &[(&str, &str)] = &[
    ("power_rating", "power"),
    ("voltage_rating", "voltage"),
    ("current_rating", "current"),
];

/// A part in a circuit, a rating of it, and the stress that it limits.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stress {
    pub board: usize,
    pub circuit: usize,
    /// Position of the part in the circuit.
    pub part: usize,
    pub rating: NodeId,
    pub stress: NodeId,
}

/// Every rating of every part of a board's circuits, with its stress.
pub(super) fn stresses(graph: &mut Graph, records: &Records, board: usize) -> Vec<Stress> {
    let record = &records.boards[board];
    let mut stresses = Vec::new();
    for (circuit, circuit_record) in record.circuits.iter().enumerate() {
        for (at, (designator, _)) in circuit_record.between.iter().enumerate() {
            let name = &designator.value;
            let line = record
                .fitted
                .iter()
                .find(|line| line.designator.value == *name);
            let Some(part) = line.and_then(|line| records.part(&line.part.value)) else {
                continue;
            };
            for (rating, stress) in RATINGS
                .iter()
                .filter(|(rating, _)| part.property(rating).is_some())
            {
                let rating = resolve(graph, records, board, &format!("{name}.{rating}"));
                let stress = result(graph, records, board, circuit, &format!("{name}.{stress}"));
                if let (Ok(rating), Ok(stress)) = (rating, stress) {
                    stresses.push(Stress {
                        board,
                        circuit,
                        part: at,
                        rating,
                        stress,
                    });
                }
            }
        }
    }
    stresses
}

/// The node of a circuit's result: `emulator.sense.voltage`, `emulator.R9.power`,
/// `emulator.filter.level`.
pub(super) fn result(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    circuit: usize,
    rest: &str,
) -> Result<NodeId, Unresolved> {
    let record = &records.boards[board].circuits[circuit];
    let id = &record.id.value;
    if let Some(found) = graph.find(&records.boards[board].id.value, &format!("{id}.{rest}")) {
        return Ok(found);
    }
    let Some(network) = graph.network(board, circuit).cloned() else {
        // What is wrong with the network has a finding.
        return Err(Unresolved::told());
    };
    let Some((name, what)) = rest.split_once('.') else {
        return Err(Unresolved::new(format!(
            "`{id}.{rest}` says what of the circuit `{id}`, not which number"
        ))
        .help(Some(format!(
            "write `{id}.<node>.voltage`, `{id}.<part>.current` or `{id}.<part>.power`"
        ))));
    };
    let compiled = &network.compiled;
    let response = record
        .responses
        .iter()
        .find(|response| response.name.value == name);
    let wanted = match (response, what) {
        (Some(response), _) => {
            let transfer = compiled.transfer(&response.from.value, &response.to.value);
            let aspect = match what {
                "magnitude" => Some((Aspect::Magnitude, Dimension::ONE)),
                "level" => Some((
                    Aspect::Level,
                    Dimension::level(crate::quantity::Level::Field),
                )),
                "phase" => Some((Aspect::Phase, Dimension::ONE)),
                _ => None,
            };
            let frequency = response.at.value.nominal();
            aspect.map(|(aspect, dimension)| {
                transfer.map(|transfer| (transfer.at(frequency, aspect), dimension))
            })
        }
        (None, "voltage") if compiled.elements().any(|element| element == name) => {
            Some(across(record, compiled, name).map(|wanted| (wanted, Dimension::VOLTAGE)))
        }
        (None, "voltage") => Some(
            compiled
                .voltage(name)
                .map(|wanted| (wanted, Dimension::VOLTAGE)),
        ),
        (None, "current") => Some(
            compiled
                .current(name)
                .map(|wanted| (wanted, Dimension::CURRENT)),
        ),
        (None, "power") => Some(
            compiled
                .power(name)
                .map(|wanted| (wanted, Dimension::POWER)),
        ),
        (None, _) => None,
    };
    let (wanted, dimension): (Wanted, Dimension) = match wanted {
        Some(Ok(found)) => found,
        Some(Err(fault)) => {
            return Err(
                Unresolved::new(format!("the circuit `{id}` has no such result: {fault}"))
                    .help(fault.mend()),
            );
        }
        None => {
            let known: &[&str] = match response {
                Some(_) => &["magnitude", "level", "phase"],
                None => &["voltage", "current", "power"],
            };
            return Err(Unresolved::new(format!("a circuit has no result `{what}`"))
                .help(Some(format!("its results are {}", listed(known)))));
        }
    };
    let mut operands: Vec<NodeId> = Vec::new();
    let parameters = network.sources.iter().map(|source| match source {
        Source::Fixed(number) => ParameterSource::Fixed(*number),
        Source::Node(node) => {
            let at = operands
                .iter()
                .position(|known| known == node)
                .unwrap_or_else(|| {
                    operands.push(*node);
                    operands.len() - 1
                });
            ParameterSource::Operand(at)
        }
    });
    let parameters = parameters.collect();
    let means = match response {
        Some(response) => format!(
            "{what} of `{}` against `{}` at {}",
            response.to.value,
            response.from.value,
            response.at.value.text()
        ),
        None => format!("{what} of `{name}` in the circuit `{id}`"),
    };
    Ok(graph.add(Node {
        scope: records.boards[board].id.value.clone(),
        name: format!("{id}.{rest}"),
        means,
        origin: Origin::Circuit { board, circuit },
        place: record.id.place.clone(),
        body: Body::Solved(Solution {
            network: network.compiled,
            wanted,
            dimension,
            parameters,
            operands,
        }),
        unit: (what == "phase")
            .then(|| crate::quantity::Unit::parse("°").ok())
            .flatten(),
    }))
}
