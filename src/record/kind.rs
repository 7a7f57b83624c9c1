//! Kinds of parts, and the properties that parts of each kind have.
//!
//! The table of them is in `kinds`. A part may have properties of the team's
//! own beside those of its kind.

use super::kinds::{COMMON, KINDS};
use crate::finding::nearest;
use crate::quantity::Dimension;

/// A kind of part.
#[derive(PartialEq, Debug)]
pub struct PartKind {
    /// Word in records: `resistor`.
    pub name: &'static str,
    /// Name for people: `Light-emitting diode`.
    pub title: &'static str,
    /// Properties of this kind, beside those that every part may have.
    pub properties: &'static [PropertyKind],
}

/// A property that parts have.
#[derive(PartialEq, Debug)]
pub struct PropertyKind {
    /// Name in records and in formulas: `forward_voltage`.
    pub name: &'static str,
    /// Dimension of its values.
    pub dimension: Dimension,
    /// What it is, in words.
    pub means: &'static str,
}

impl PartKind {
    /// The kind of a name.
    pub fn by_name(name: &str) -> Option<&'static PartKind> {
        KINDS.iter().find(|kind| kind.name == name)
    }

    /// The kind whose name is nearest to what was written, if any is near.
    pub fn nearest(written: &str) -> Option<&'static PartKind> {
        nearest(written, KINDS.iter().map(|kind| kind.name)).and_then(PartKind::by_name)
    }

    /// The property of this name, its own or one that every part has.
    pub fn property(&self, name: &str) -> Option<&'static PropertyKind> {
        self.all_properties().find(|property| property.name == name)
    }

    /// Properties of this kind, then those that every part has.
    pub fn all_properties(&self) -> impl Iterator<Item = &'static PropertyKind> {
        self.properties.iter().chain(COMMON)
    }

    /// The kinds that have a property of this name.
    pub(crate) fn with_property(name: &str) -> impl Iterator<Item = &'static PartKind> {
        KINDS
            .iter()
            .filter(move |kind| kind.properties.iter().any(|known| known.name == name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Unit;

    #[test]
    fn kinds_and_their_properties_have_one_name_each() {
        for (at, kind) in KINDS.iter().enumerate() {
            assert!(
                KINDS[..at].iter().all(|other| other.name != kind.name),
                "{}",
                kind.name
            );
            let names: Vec<_> = kind
                .all_properties()
                .map(|property| property.name)
                .collect();
            for (at, name) in names.iter().enumerate() {
                assert!(!names[..at].contains(name), "{}.{name}", kind.name);
            }
        }
    }

    #[test]
    fn names_of_properties_are_well_formed_and_are_explained() {
        for property in KINDS.iter().flat_map(PartKind::all_properties) {
            let formed = property
                .name
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
            assert!(formed, "{}", property.name);
            assert!(property.means.len() > 5, "{}", property.name);
        }
    }

    #[test]
    fn a_second_for_each_ohm_is_what_the_timing_constant_takes() {
        let unit = Unit::parse("ms/Ω").ok().map(|unit| unit.dimension());
        let timer = PartKind::by_name("timer").and_then(|timer| timer.property("timing_constant"));
        assert_eq!(timer.map(|constant| constant.dimension), unit);
    }

    #[test]
    fn a_misspelt_kind_is_recognised() {
        assert_eq!(
            PartKind::nearest("resitor").map(|kind| kind.name),
            Some("resistor")
        );
        assert_eq!(PartKind::nearest("LED").map(|kind| kind.name), Some("led"));
        assert_eq!(PartKind::nearest("potentiometer"), None);
    }
}
