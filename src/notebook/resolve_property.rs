//! Properties of parts and modules, which become nodes when they are named first.

use super::graph::{Body, Graph, Node, NodeId, Origin};
use super::resolve::{Unresolved, left_out, listed};
use crate::nearest::nearest;
use crate::record::Records;

pub(super) fn fitted_property(
    graph: &mut Graph,
    records: &Records,
    board: usize,
    designator: &str,
    property: &str,
) -> Result<NodeId, Unresolved> {
    let record = &records.boards[board];
    if left_out(&record.left_out, &["fitted"], designator) {
        return Err(Unresolved::told());
    }
    let Some(fitted) = record
        .fitted
        .iter()
        .position(|line| line.designator.value == designator)
    else {
        let known = record
            .fitted
            .iter()
            .map(|line| line.designator.value.as_str());
        let help = nearest(designator, known).map(|near| format!("perhaps `{near}`"));
        let message = format!("no `{designator}` is fitted on `{}`", record.id.value);
        return Err(Unresolved::new(message).help(help));
    };
    let line = &record.fitted[fitted];
    if !line.fit {
        return Err(Unresolved {
            because: Some((
                line.designator.place.clone(),
                "its place is left empty".into(),
            )),
            ..Unresolved::new(format!(
                "`{designator}` is not fitted on `{}`",
                record.id.value
            ))
        });
    }
    let Some(part) = records.part_at(&line.part.value) else {
        // `[fitted]` itself has the finding.
        return Err(Unresolved::told());
    };
    let part_record = &records.parts[part];
    let wanted = if property.is_empty() {
        "value"
    } else {
        property
    };
    let Some(found) = part_record.property(wanted) else {
        if part_record.left_out.iter().any(|name| name == wanted) {
            return Err(Unresolved::told());
        }
        let known: Vec<&str> = part_record
            .properties
            .iter()
            .map(|property| property.name.value.as_str())
            .collect();
        let help = match nearest(wanted, known.iter().copied()) {
            Some(near) if near != "value" => format!("perhaps `{designator}.{near}`"),
            _ if known.is_empty() => format!("give `{}` that property", part_record.id.value),
            _ => format!("it has {}", listed(&known)),
        };
        let message = if property.is_empty() {
            format!(
                "`{designator}` has no value: the part `{}` states none",
                part_record.id.value
            )
        } else {
            format!(
                "`{designator}` has no `{property}`: the part `{}` states none",
                part_record.id.value
            )
        };
        return Err(Unresolved {
            because: Some((part_record.id.place.clone(), "the part".into())),
            ..Unresolved::new(message).help(Some(help))
        });
    };
    let what = part_record.title.as_ref().map_or_else(
        || part_record.kind.title.to_owned(),
        |title| title.value.clone(),
    );
    let means = match (property, found.means) {
        ("", _) => what,
        (_, "") => format!("{what}: {}", wanted.replace('_', " ")),
        (_, means) => format!("{what}: {means}"),
    };
    let name = if property.is_empty() {
        designator.to_owned()
    } else {
        format!("{designator}.{property}")
    };
    let node = Node {
        scope: record.id.value.clone(),
        name,
        means,
        origin: Origin::Fitted {
            board,
            fitted,
            part,
            property: wanted.to_owned(),
        },
        place: line.part.place.clone(),
        body: Body::Given(found.given.value.clone()),
        unit: None,
    };
    let strays = property.is_empty() && part_record.property("tempco").is_some();
    if strays && !record.conditions.is_empty() {
        return Ok(super::temperature::at_ambient(
            graph, records, board, designator, node,
        ));
    }
    Ok(graph.add(node))
}

pub(super) fn module_property(
    graph: &mut Graph,
    records: &Records,
    module: usize,
    property: &str,
) -> Result<NodeId, Unresolved> {
    let record = &records.modules[module];
    if let Some(found) = graph.find(&record.id.value, property) {
        return Ok(found);
    }
    let Some(found) = record
        .properties
        .iter()
        .find(|known| known.name.value == property)
    else {
        if record.left_out.iter().any(|name| name == property) {
            return Err(Unresolved::told());
        }
        let known: Vec<&str> = record
            .properties
            .iter()
            .map(|known| known.name.value.as_str())
            .collect();
        let help = match nearest(property, known.iter().copied()) {
            Some(near) => format!("perhaps `{}.{near}`", record.id.value),
            None => format!("it has {}", listed(&known)),
        };
        let message = format!("the module `{}` has no `{property}`", record.id.value);
        return Err(Unresolved::new(message).help(Some(help)));
    };
    let what = if found.means.is_empty() {
        found.name.value.replace('_', " ")
    } else {
        found.means.into()
    };
    Ok(graph.add(Node {
        scope: record.id.value.clone(),
        name: property.to_owned(),
        means: format!("{}: {what}", record.title.value),
        origin: Origin::Module { module },
        place: found.given.place.clone(),
        body: Body::Given(found.given.value.clone()),
        unit: None,
    }))
}

/// A property of a part of the library, by the part's id.
pub(super) fn stock_property(
    graph: &mut Graph,
    records: &Records,
    part: usize,
    property: &str,
) -> Result<NodeId, Unresolved> {
    let record = &records.parts[part];
    let id = &record.id.value;
    if let Some(found) = graph.find(id, property) {
        return Ok(found);
    }
    let Some(found) = record.property(property) else {
        if record.left_out.iter().any(|name| name == property) {
            return Err(Unresolved::told());
        }
        let properties = record.properties.iter();
        let known: Vec<&str> = properties.map(|known| known.name.value.as_str()).collect();
        let help = match nearest(property, known.iter().copied()) {
            Some(near) => format!("perhaps `{id}.{near}`"),
            None if known.is_empty() => format!("give `{id}` that property"),
            None => format!("it has {}", listed(&known)),
        };
        let message = match property {
            "" => format!("`{id}` is a part, and a part has no value by its id"),
            property => format!("the part `{id}` has no `{property}`"),
        };
        return Err(Unresolved {
            because: Some((record.id.place.clone(), "the part".into())),
            ..Unresolved::new(message).help(Some(help))
        });
    };
    let title = record.title.as_ref().map_or(id, |title| &title.value);
    let what = match found.means {
        "" => property.replace('_', " "),
        means => means.to_owned(),
    };
    Ok(graph.add(Node {
        scope: id.clone(),
        name: property.to_owned(),
        means: format!("{title}: {what}"),
        origin: Origin::Stock { part },
        place: found.given.place.clone(),
        body: Body::Given(found.given.value.clone()),
        unit: None,
    }))
}
