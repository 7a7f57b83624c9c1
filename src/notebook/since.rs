//! What differs from an earlier state of the notebook: figures, limits, parts and
//! pins, and the stated texts that follow.

use std::collections::{BTreeMap, BTreeSet};

use super::supposed::differs;
use super::{NodeId, Notebook, Origin, Target, Value};
use crate::finding::{Located, Place};
use crate::record::{Board, Choice};

/// What differs from an earlier state.
#[derive(Clone, Debug, Default)]
pub struct Differences {
    /// What the earlier state is: a folder, a commit, a revision.
    pub of: String,
    /// Figures and results that somebody states or requires, by name.
    pub figures: Vec<FigureDifference>,
    /// Limits of fixtures, by name.
    pub limits: Vec<FigureDifference>,
    /// Parts in their places, and quantities of stocked parts.
    pub parts: Vec<Difference>,
    /// What boards use of their modules.
    pub pins: Vec<Difference>,
    /// Stated texts about figures that differ.
    pub texts: Vec<TextDifference>,
}

/// A figure that differs.
#[derive(Clone, Debug)]
pub struct FigureDifference {
    /// Name with its board.
    pub name: String,
    /// What it is.
    pub means: String,
    /// Its value then; `None` where it was not there or had none.
    pub was: Option<Value>,
    /// Its value now.
    pub now: Option<Value>,
    /// What it had to be then, where that is another requirement.
    pub must_was: Option<String>,
    /// What it must be now, where it was another requirement.
    pub must_now: Option<String>,
}

impl FigureDifference {
    /// How far the nominal value moved, as a share of what it was; `None` where
    /// that says nothing.
    pub fn share(&self) -> Option<f64> {
        let (was, now) = (self.was.as_ref()?, self.now.as_ref()?);
        let share = now.outcome.nominal / was.outcome.nominal - 1.0;
        let is_plain = !was.unit.has_offset() && was.dimension.as_level().is_none();
        (is_plain && share.is_finite()).then_some(share)
    }
}

/// Something in words that differs.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Difference {
    /// What it is: `cell_charger.R1`.
    pub name: String,
    /// What stood there; `None` where it was not there.
    pub was: Option<String>,
    /// What stands there now.
    pub now: Option<String>,
}

/// A stated text about a figure that differs.
#[derive(Clone, Debug)]
pub struct TextDifference {
    /// The figure's name.
    pub figure: String,
    /// The text as it stands now.
    pub text: String,
    /// Texts about the figure that stand nowhere any more.
    pub instead_of: Vec<String>,
    /// Where it stands.
    pub place: Place,
    /// Whether it holds.
    pub holds: bool,
}

impl Differences {
    /// Whether nothing differs.
    pub fn is_empty(&self) -> bool {
        self.figures.is_empty()
            && self.limits.is_empty()
            && self.parts.is_empty()
            && self.pins.is_empty()
    }
}

impl Notebook {
    /// What differs from an earlier state; `of` is what that is called.
    pub fn since(&self, earlier: &Notebook, of: &str) -> Differences {
        let mut differences = Differences {
            of: of.to_owned(),
            ..Differences::default()
        };
        let names: BTreeSet<String> = [earlier, self].into_iter().flat_map(told).collect();
        let mut moved = BTreeSet::new();
        for name in names {
            let (scope, rest) = name.split_once('.').unwrap_or((&name, ""));
            let was = earlier.graph.find(scope, rest);
            let now = self.graph.find(scope, rest);
            let value = |book: &Notebook, node: Option<NodeId>| {
                node.and_then(|node| book.value(node).cloned())
            };
            let must = |book: &Notebook, node: Option<NodeId>| {
                let must = node.and_then(|node| book.requirement(node));
                must.map(|must| must.text().to_owned())
            };
            let (must_was, must_now) = (must(earlier, was), must(self, now));
            let one = FigureDifference {
                means: now.map_or_else(
                    || was.map_or(String::new(), |was| earlier.graph.node(was).means.clone()),
                    |now| self.graph.node(now).means.clone(),
                ),
                was: value(earlier, was),
                now: value(self, now),
                must_was: must_was.clone().filter(|_| must_was != must_now),
                must_now: must_now.clone().filter(|_| must_was != must_now),
                name: name.clone(),
            };
            let is_moved = differs(one.was.as_ref(), one.now.as_ref());
            if is_moved {
                moved.extend(now);
            }
            if !is_moved && must_was == must_now {
                continue;
            }
            let origin = now.map(|now| &self.graph.node(now).origin);
            let origin = origin.or(was.map(|was| &earlier.graph.node(was).origin));
            match origin {
                Some(Origin::Fixture { .. }) => differences.limits.push(one),
                _ => differences.figures.push(one),
            }
        }
        differences.parts = words(&parts(earlier), &parts(self));
        differences.pins = words(&pins(earlier), &pins(self));
        differences.texts = self.texts_since(earlier, &moved);
        differences
    }

    fn texts_since(&self, earlier: &Notebook, moved: &BTreeSet<NodeId>) -> Vec<TextDifference> {
        let mut then: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for (node, text, _) in stated(earlier) {
            let name = earlier.graph.node(node).full_name();
            then.entry(name).or_default().insert(text);
        }
        let mut now: BTreeMap<NodeId, Vec<(String, Place)>> = BTreeMap::new();
        for (node, text, place) in stated(self)
            .into_iter()
            .filter(|(node, ..)| moved.contains(node))
        {
            now.entry(node).or_default().push((text, place));
        }
        let amiss: BTreeSet<&Place> = self
            .findings
            .iter()
            .filter_map(|finding| finding.place())
            .collect();
        let mut texts = Vec::new();
        for (node, stated) in now {
            let name = self.graph.node(node).full_name();
            let known: BTreeSet<&String> = stated.iter().map(|(text, _)| text).collect();
            let before = then.get(&name);
            let gone: Vec<String> = before
                .into_iter()
                .flatten()
                .filter(|text| !known.contains(text))
                .cloned()
                .collect();
            for (text, place) in &stated {
                let is_new = before.is_none_or(|before| !before.contains(text));
                let holds = !amiss.contains(place);
                if is_new || !holds {
                    texts.push(TextDifference {
                        figure: name.clone(),
                        text: text.clone(),
                        instead_of: if is_new { gone.clone() } else { Vec::new() },
                        place: place.clone(),
                        holds,
                    });
                }
            }
        }
        texts
    }
}

/// Names of figures, of results that somebody states or requires, and of limits.
fn told(notebook: &Notebook) -> Vec<String> {
    let is_told = |(id, node): &(NodeId, &super::Node)| match node.origin {
        Origin::Figure { .. } => true,
        Origin::Fixture { limit, .. } => limit.is_some(),
        Origin::Working { result, .. } => {
            let stated = notebook.says(*id).is_some() || notebook.requirement(*id).is_some();
            result.is_some() && stated
        }
        _ => false,
    };
    let nodes = notebook.graph.iter().filter(is_told);
    nodes.map(|(_, node)| node.full_name()).collect()
}

/// Every stated text, with its figure and place.
fn stated(notebook: &Notebook) -> Vec<(NodeId, String, Place)> {
    let mut all = Vec::new();
    for (id, _) in notebook.graph.iter() {
        if let Some(says) = super::recorded::says(&notebook.graph, &notebook.records, id) {
            all.push((id, says.value.text().to_owned(), says.place.clone()));
        }
    }
    for sheet in &notebook.sheets {
        for (link, target) in sheet.document.links.iter().zip(&sheet.targets) {
            if let Target::Figure(node) = target
                && link.text.contains(|c: char| c.is_ascii_digit())
            {
                all.push((*node, link.text.clone(), link.text_place.clone()));
            }
        }
    }
    all
}

type Words = BTreeMap<String, String>;

fn words(was: &Words, now: &Words) -> Vec<Difference> {
    let names: BTreeSet<&String> = was.keys().chain(now.keys()).collect();
    let one = |name: &String| Difference {
        name: name.clone(),
        was: was.get(name).cloned(),
        now: now.get(name).cloned(),
    };
    let all = names.into_iter().map(one);
    all.filter(|one| one.was != one.now).collect()
}

/// Parts by their places, and quantities of the parts that are fitted somewhere.
fn parts(notebook: &Notebook) -> Words {
    let mut words = Words::new();
    let mut fitted = BTreeSet::new();
    for board in &notebook.records.boards {
        for line in &board.fitted {
            let part = &line.part.value;
            fitted.insert(part.as_str());
            let text = if line.fit {
                part.clone()
            } else {
                format!("{part}, left empty")
            };
            words.insert(
                format!("{}.{}", board.id.value, line.designator.value),
                text,
            );
        }
    }
    for part in notebook
        .records
        .parts
        .iter()
        .filter(|part| fitted.contains(part.id.value.as_str()))
    {
        for property in &part.properties {
            let name = format!("part {}: {}", part.id.value, property.name.value);
            words.insert(name, property.given.value.text().to_owned());
        }
    }
    words
}

fn pins(notebook: &Notebook) -> Words {
    let mut words = Words::new();
    for board in &notebook.records.boards {
        words.extend(pins_of(board));
    }
    words
}

fn pins_of(board: &Board) -> Words {
    let mut words = Words::new();
    let Some(pins) = &board.pins else {
        return words;
    };
    let id = &board.id.value;
    let text = |text: &Option<Located<String>>| {
        text.as_ref()
            .map_or("nothing", |text| &text.value)
            .to_owned()
    };
    let choice = |choice: &Choice| match choice {
        Choice::Fixed(fixed) => fixed.value.clone(),
        Choice::ByStrap { strap, settles } => {
            let settles = settles.iter();
            let settles =
                settles.map(|(position, what)| format!("{} at {}", what.value, position.value));
            format!(
                "{}: {}",
                strap.value,
                settles.collect::<Vec<_>>().join(", ")
            )
        }
    };
    for claim in &pins.claims {
        let what = format!("{} as {}", choice(&claim.contact), claim.as_what.word());
        words.insert(format!("{id}.pins.{}", claim.id.value), what);
    }
    for bus in &pins.buses {
        let what = format!(
            "clock {}, data {}, pull-up {}",
            bus.clock.value,
            bus.data.value,
            text(&bus.pull_up)
        );
        words.insert(format!("{id}.pins.{}", bus.id.value), what);
    }
    for device in &pins.devices {
        let what = format!("{} on {}", choice(&device.address), device.bus.value);
        words.insert(format!("{id}.pins.{}", device.id.value), what);
    }
    for supply in &pins.supplies {
        let what = format!(
            "gives {}, draws {}",
            text(&supply.gives),
            text(&supply.draw)
        );
        words.insert(format!("{id}.pins.{}", supply.contact.value), what);
    }
    for strap in &pins.straps {
        let positions: Vec<&str> = strap.positions.iter().map(|at| at.value.as_str()).collect();
        words.insert(
            format!("{id}.pins.{}", strap.designator.value),
            positions.join(", "),
        );
    }
    words
}
