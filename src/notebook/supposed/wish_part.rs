//! Parts that somebody wants elsewhere, or otherwise.

use super::super::Notebook;
use super::super::resolve::listed;
use super::Override;
use super::wish::Wish;
use super::wish_value::{Known, quantity};
use crate::nearest::nearest;

impl Notebook {
    pub(super) fn fitted(
        &self,
        board: usize,
        designator: &str,
        property: &str,
        value: &str,
    ) -> Result<Wish, String> {
        let record = &self.records.boards[board];
        let full = match property {
            "" => format!("{}.{designator}", record.id.value),
            property => format!("{}.{designator}.{property}", record.id.value),
        };
        let lines = record.fitted.iter();
        let Some(fitted) = lines
            .clone()
            .position(|line| line.designator.value == designator)
        else {
            let known = lines.map(|line| line.designator.value.as_str());
            let near = nearest(designator, known)
                .map_or(String::new(), |near| format!("; perhaps `{near}`"));
            return Err(format!(
                "no `{designator}` is fitted on `{}`{near}",
                record.id.value
            ));
        };
        let line = &record.fitted[fitted];
        let carried = match line.fit {
            true => line.part.value.clone(),
            false => format!("empty, meant for {}", line.part.value),
        };
        if property.is_empty() {
            match value {
                "empty" | "fitted" => {
                    let fit = value == "fitted";
                    return Ok(Wish::of(full, carried, value).by(Override::Fit {
                        board,
                        fitted,
                        fit,
                    }));
                }
                _ => {}
            }
            let parts = &self.records.parts;
            if let Some(part) = self.records.part_at(value) {
                let now = self.records.part(&line.part.value);
                if let Some(now) = now.filter(|now| !std::ptr::eq(now.kind, parts[part].kind)) {
                    return Err(format!(
                        "`{value}` is a {}, and `{full}` carries a {}",
                        parts[part].kind.name, now.kind.name
                    ));
                }
                let exchange = Override::Part {
                    board,
                    fitted,
                    part,
                };
                let fill = Override::Fit {
                    board,
                    fitted,
                    fit: true,
                };
                let mut wish = Wish::of(full, self.with_value(&carried), self.with_value(value));
                wish.overrides = if line.fit {
                    vec![exchange]
                } else {
                    vec![exchange, fill]
                };
                return Ok(wish);
            }
        }
        if !line.fit {
            return Err(format!(
                "`{full}` is not fitted: name a stocked part for its place, or `fitted`"
            ));
        }
        let wanted = if property.is_empty() {
            "value"
        } else {
            property
        };
        let part = self.records.part(&line.part.value);
        let Some(part) = part else {
            return Err(format!("there is no part `{}`", line.part.value));
        };
        let Some(stated) = part.property(wanted) else {
            let known: Vec<&str> = part
                .properties
                .iter()
                .map(|at| at.name.value.as_str())
                .collect();
            return Err(match property {
                "" => format!(
                    "`{value}` is no stocked part, and `{full}` has no value: the part `{}` has {}",
                    part.id.value,
                    listed(&known)
                ),
                _ => format!(
                    "the part `{}` has no `{property}`; it has {}",
                    part.id.value,
                    listed(&known)
                ),
            });
        };
        let name = wanted.to_owned();
        let known = Known {
            name: full,
            given: &stated.given.value,
            make: Box::new(move |given| Override::Property {
                board,
                fitted,
                property: name.clone(),
                given,
            }),
        };
        let mut wish = quantity(known, value).map_err(|why| match property {
            "" if value.starts_with(|c: char| c.is_ascii_lowercase()) => {
                let parts = self
                    .records
                    .parts
                    .iter()
                    .filter(|at| std::ptr::eq(at.kind, part.kind));
                let ids: Vec<&str> = parts.map(|part| part.id.value.as_str()).collect();
                let near = nearest(value, ids.iter().copied());
                let hint = near.map_or_else(
                    || format!("there are {}", listed(&ids)),
                    |near| format!("perhaps `{near}`"),
                );
                format!("there is no part `{value}`; {hint}")
            }
            _ => why,
        })?;
        if let (None, [Override::Property { given, .. }], "") =
            (&wish.swept, wish.overrides.as_slice(), property)
        {
            let same = |other: &&crate::record::Part| {
                let stated = other.property("value").map(|at| at.given.value.nominal());
                let near = |stated: f64| (stated / given.nominal() - 1.0).abs() < 1e-9;
                std::ptr::eq(other.kind, part.kind)
                    && other.id.value != part.id.value
                    && stated.is_some_and(near)
            };
            wish.stocked = self
                .records
                .parts
                .iter()
                .find(same)
                .map(|part| part.id.value.clone());
        }
        Ok(wish)
    }

    /// A part's id with its value, where it has one.
    fn with_value(&self, id: &str) -> String {
        let value = self
            .records
            .part(id)
            .and_then(|part| part.property("value"));
        value.map_or_else(
            || id.to_owned(),
            |value| format!("{id}, {}", value.given.value.text()),
        )
    }

    /// A stocked part exchanged in every place that carries it.
    pub(super) fn everywhere(&self, id: &str, value: &str) -> Result<Wish, String> {
        let parts = &self.records.parts;
        let of = self.records.part(id).map(|part| part.kind);
        let Some(part) = self.records.part_at(value) else {
            let alike = parts
                .iter()
                .filter(|part| of.is_some_and(|of| std::ptr::eq(of, part.kind)));
            let ids: Vec<&str> = alike
                .map(|part| part.id.value.as_str())
                .filter(|at| *at != id)
                .collect();
            let near = nearest(value, ids.iter().copied());
            let hint = near.map_or_else(
                || format!("it could be {}", listed(&ids)),
                |near| format!("perhaps `{near}`"),
            );
            return Err(format!(
                "`{id}` is a part, and there is no part `{value}` to put in its place; {hint}"
            ));
        };
        if of.is_some_and(|of| !std::ptr::eq(of, parts[part].kind)) {
            return Err(format!(
                "`{value}` is a {}, and `{id}` is none",
                parts[part].kind.name
            ));
        }
        let mut overrides = Vec::new();
        let mut places = Vec::new();
        for (board, record) in self.records.boards.iter().enumerate() {
            for (fitted, line) in record.fitted.iter().enumerate() {
                if line.part.value == id && line.fit {
                    overrides.push(Override::Part {
                        board,
                        fitted,
                        part,
                    });
                    places.push(format!("{}.{}", record.id.value, line.designator.value));
                }
            }
        }
        if overrides.is_empty() {
            return Err(format!("`{id}` is fitted nowhere"));
        }
        let mut wish = Wish::of(
            places.join(", "),
            self.with_value(id),
            self.with_value(value),
        );
        wish.overrides = overrides;
        Ok(wish)
    }
}
