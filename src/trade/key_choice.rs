//! Which wiring of keys is recommended, and why not the others: by the pins that
//! are free, by what has to be told apart, by cost.

use super::key_wiring::{Needs, Wiring};
use super::kind::Inputs;
use super::plan::{Judge, Procedure, Unworkable};
use crate::quantity::Outcome;

/// Inputs that give the free pins by what they can do.
pub(super) const SORTED: &[&str] = &["free_inputs", "free_outputs", "free_both"];

/// What a recommendation goes by.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    keys: u64,
    ways: Vec<Way>,
    /// Names of the inputs that give the free pins: none, one or three.
    free: &'static [&'static str],
    /// Names of the costs of all ways; none where costs are not given.
    costs: Vec<String>,
}

/// A wiring, as far as the choice depends on it.
#[derive(Clone, Debug)]
struct Way {
    title: String,
    needs: Needs,
    pins: u64,
    parts: u64,
    /// Why it does not do, whatever pins are free.
    unable: Option<String>,
}

/// Pins that are free.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Free {
    /// Pins that can be read.
    inputs: f64,
    /// Pins that can be driven.
    outputs: f64,
    /// Pins that can be both, which are among those.
    both: f64,
    /// Whether nothing is said of what they can do.
    alike: bool,
}

impl Free {
    /// What is lacking, in a few words; `None` where there is enough. Pins that
    /// can do both go first to what has to be both, and then to whatever is short.
    fn lacks(&self, needs: Needs) -> Option<String> {
        let [driven, read, both] = [needs.driven, needs.read, needs.both].map(|pins| pins as f64);
        let short = |needed: f64, free: f64| (needed - (free - self.both)).max(0.0);
        if both + short(read, self.inputs) + short(driven, self.outputs) <= self.both {
            return None;
        }
        let of = |needed: f64, what: &str, free: f64| {
            let are = if free == 1.0 { "is" } else { "are" };
            format!("{needed} pins{what}, and {free} {are} free")
        };
        let words = match () {
            () if self.alike => of(driven + read + both, "", self.both),
            () if both > self.both => of(both, " to drive and to read", self.both),
            () if driven > self.outputs => of(driven, " to drive", self.outputs),
            () if read > self.inputs => of(read, " to read", self.inputs),
            () => {
                let all = self.inputs + self.outputs - self.both;
                of(driven, &format!(" to drive and {read} to read"), all)
            }
        };
        Some(words)
    }
}

impl Choice {
    /// The choice among wirings for what a record gives.
    pub fn among(given: &Inputs, all: &[Wiring], together: u64) -> Choice {
        let wanted = given.word("wiring");
        let unable = |wiring: &Wiring| {
            if wiring.rollover < together {
                let failing = wiring.rollover + 1;
                Some(format!("{failing} held together may read as others"))
            } else if wanted.is_some_and(|wanted| wiring.word() != wanted) {
                Some("not the wiring that is settled".to_owned())
            } else {
                None
            }
        };
        let ways = all.iter().map(|wiring| Way {
            title: wiring.title(),
            needs: wiring.needs(),
            pins: wiring.pins,
            parts: wiring.parts(),
            unable: unable(wiring),
        });
        let cost = |wiring: &Wiring| format!("{}.cost", wiring.id());
        Choice {
            keys: given.whole("keys").unwrap_or(1),
            ways: ways.collect(),
            free: match (given.has("free_pins"), given.has(SORTED[0])) {
                (true, _) => &["free_pins"],
                (false, true) => SORTED,
                (false, false) => &[],
            },
            costs: match given.has("diode_cost") {
                true => all.iter().map(cost).collect(),
                false => Vec::new(),
            },
        }
    }

    /// Whether costs are given.
    pub fn is_costed(&self) -> bool {
        !self.costs.is_empty()
    }

    /// Whether free pins are given.
    pub fn knows_pins(&self) -> bool {
        !self.free.is_empty()
    }

    /// Names of what it hangs on.
    pub fn operands(&self) -> Vec<String> {
        let free = self.free.iter().map(|&input| input.to_owned());
        free.chain(self.costs.iter().cloned()).collect()
    }

    fn free(&self, of: &[f64]) -> Option<Free> {
        match (self.free.len(), of) {
            (1, &[pins, ..]) => Some(Free {
                inputs: pins,
                outputs: pins,
                both: pins,
                alike: true,
            }),
            (3, &[inputs, outputs, both, ..]) => Some(Free {
                inputs,
                outputs,
                both,
                alike: false,
            }),
            _ => None,
        }
    }

    fn lacks(&self, way: &Way, of: &[f64]) -> Option<String> {
        self.free(of)?.lacks(way.needs)
    }

    /// What it costs; its parts where there are no costs.
    fn cost(&self, at: usize, of: &[f64]) -> f64 {
        let costs = of.get(self.free.len()..).unwrap_or_default();
        let cost = costs.get(at).copied();
        cost.or(self.ways.get(at).map(|way| way.parts as f64))
            .unwrap_or(f64::INFINITY)
    }

    /// The cheapest that does; with no costs, the one of the fewest parts; of
    /// equals, the one of the fewest pins.
    fn best(&self, of: &[f64]) -> Option<usize> {
        let able = self
            .ways
            .iter()
            .enumerate()
            .filter(|(_, way)| way.unable.is_none() && self.lacks(way, of).is_none());
        let best = able.min_by(|(a, one), (b, other)| {
            let dearer = self.cost(*a, of).total_cmp(&self.cost(*b, of));
            dearer.then(one.pins.cmp(&other.pins))
        });
        best.map(|(at, _)| at)
    }

    /// Works out the pins of the best, so that a record can hold it to something.
    pub fn pins_of_best(&self) -> Procedure {
        let choice = self.clone();
        Procedure::new(move |of| match choice.best(of) {
            Some(best) => Ok(choice.ways[best].pins as f64),
            None => Err(choice.too_few(of)),
        })
    }

    /// Too few pins are free for what could be told apart.
    fn too_few(&self, of: &[f64]) -> Unworkable {
        let fewest = |ways: &mut dyn Iterator<Item = &Way>| {
            let best = ways.min_by_key(|way| way.pins);
            best.map(|way| (way.title.to_lowercase(), way.pins, self.lacks(way, of)))
        };
        let able = |way: &&Way| way.unable.is_none();
        let Some((title, _, Some(lacks))) = fewest(&mut self.ways.iter().filter(able)) else {
            return Unworkable::new("has no value: no wiring does", "use another wiring");
        };
        // Whatever is settled, another wiring may have been able.
        let settled = |way: &&Way| {
            let held = way.unable.as_ref().is_some_and(|why| why.contains("held"));
            !held && self.lacks(way, of).is_none()
        };
        let other = self.ways.iter().filter(settled);
        let help = match other.min_by_key(|way| (way.parts, way.pins)) {
            Some(way) => format!(
                "wire them otherwise ({}: {} pins), or free more pins",
                way.title.to_lowercase(),
                way.pins
            ),
            None => "free more pins, or let fewer keys be held together".to_owned(),
        };
        Unworkable::new(
            format!(
                "has no value: {} keys wired so ({title}) take {lacks}",
                self.keys
            ),
            help,
        )
    }

    /// The verdict on one wiring, for values of the operands: recommended or not,
    /// and why.
    pub fn verdict(&self, at: usize) -> Judge {
        let choice = self.clone();
        Judge::new(move |of: &[Outcome]| {
            let of: Vec<f64> = of.iter().map(|outcome| outcome.nominal).collect();
            choice.words(at, &of)
        })
    }

    fn words(&self, at: usize, of: &[f64]) -> String {
        let Some(way) = self.ways.get(at) else {
            return String::new();
        };
        if let Some(why) = &way.unable {
            return why.clone();
        }
        if let Some(lacks) = self.lacks(way, of) {
            return format!("takes {lacks}");
        }
        let Some(best) = self.best(of) else {
            return "would do".into();
        };
        let least = match self.is_costed() {
            true => "the least cost",
            false => "the fewest parts",
        };
        if best == at {
            return format!("recommended: {least} of those that do");
        }
        match self.cost(at, of) > self.cost(best, of) {
            true if self.is_costed() => "would do, and costs more".into(),
            true => "would do, with more parts".into(),
            false if way.pins > self.ways[best].pins => "would do, with more pins".into(),
            false => "would do as well".into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn free(inputs: f64, outputs: f64, both: f64) -> Free {
        Free {
            inputs,
            outputs,
            both,
            alike: false,
        }
    }

    /// Truth: brute force: each pin that can do both is given to one use in every
    /// way that there is.
    #[test]
    fn pins_that_can_do_both_are_given_out_once() {
        let fits = |only_in: u64, only_out: u64, both: u64, needs: Needs| {
            (0..=both).any(|read| {
                (0..=both - read).any(|driven| {
                    only_in + read >= needs.read
                        && only_out + driven >= needs.driven
                        && both - read - driven >= needs.both
                })
            })
        };
        for number in 0..3u64.pow(6) {
            let digit = |place: u32| number / 3u64.pow(place) % 3;
            let (only_in, only_out, both) = (digit(0), digit(1), digit(2));
            let needs = Needs {
                driven: digit(3),
                read: digit(4),
                both: digit(5),
            };
            let free = free(
                (only_in + both) as f64,
                (only_out + both) as f64,
                both as f64,
            );
            assert_eq!(
                free.lacks(needs).is_none(),
                fits(only_in, only_out, both, needs),
                "{free:?} {needs:?}"
            );
        }
    }

    #[test]
    fn what_is_lacking_is_named() {
        let matrix = Needs {
            driven: 3,
            read: 4,
            both: 0,
        };
        let lacks = |free: Free| free.lacks(matrix).unwrap_or_default();
        assert_eq!(
            lacks(free(6.0, 2.0, 0.0)),
            "3 pins to drive, and 2 are free"
        );
        assert_eq!(lacks(free(3.0, 5.0, 0.0)), "4 pins to read, and 3 are free");
        assert_eq!(
            lacks(free(4.0, 4.0, 3.0)),
            "3 pins to drive and 4 to read, and 5 are free"
        );
    }
}
