//! What a stack comes to: current from each supply, pull-ups of each bus, and
//! what it lacks.

use super::Notebook;
use super::stack_line::StackLine;
use crate::record::Records;
use crate::trade::BusLimits;

/// What a stack comes to. Numbers are in coherent SI units, at worst case where
/// nothing else is said.
#[derive(Clone, PartialEq, Debug)]
pub struct StackSums {
    /// Supplies that any board or the module has to do with.
    pub supplies: Vec<SupplySum>,
    /// Buses that any board is on.
    pub buses: Vec<BusSum>,
}

/// A supply of a stack.
#[derive(Clone, PartialEq, Debug)]
pub struct SupplySum {
    /// Position of the pin in the module's record.
    pub pin: usize,
    /// Current that boards and module draw together, nominal.
    pub draw: f64,
    /// The same at worst case.
    pub draw_most: f64,
    /// Current that may be drawn; `None` where nobody says.
    pub limit: Option<f64>,
    /// Whether anybody gives it.
    pub given: bool,
}

/// A two-wire bus of a stack.
#[derive(Clone, PartialEq, Debug)]
pub struct BusSum {
    /// Position of the bus in the module's record.
    pub bus: usize,
    /// Pull-ups in parallel, least and greatest; `None` where there is none.
    pub pull_up: Option<(f64, f64)>,
    /// Current that an output sinks at most.
    pub sunk: f64,
    /// Current that every output can sink.
    pub sink_limit: f64,
    /// Capacitance of each line.
    pub capacitance: f64,
    /// The greatest that the mode allows.
    pub capacitance_limit: f64,
    /// Longest rise time; `None` without pull-ups.
    pub rise: Option<f64>,
    /// The longest that the mode allows.
    pub rise_limit: f64,
}

impl BusSum {
    /// Whether the bus rises in time.
    pub fn rises(&self) -> bool {
        self.rise.is_some_and(|rise| rise <= self.rise_limit)
    }
}

impl StackSums {
    /// Whether nothing is lacking that another board could bring.
    pub fn lacks_nothing(&self) -> bool {
        self.supplies.iter().all(|supply| supply.given) && self.buses.iter().all(BusSum::rises)
    }
}

impl Notebook {
    /// What boards of a line come to together.
    pub fn stack_sums(&self, line: &StackLine, boards: &[usize]) -> StackSums {
        line.sums(&self.records, boards)
    }
}

impl StackLine {
    /// What boards come to together.
    pub(super) fn sums(&self, records: &Records, boards: &[usize]) -> StackSums {
        let module = &records.modules[self.module];
        let mut supplies = Vec::new();
        for (pin, record) in module.pins.iter().enumerate() {
            let drawn: Vec<(f64, f64)> = boards
                .iter()
                .filter_map(|&board| self.draws[board].get(&pin).copied())
                .collect();
            let sources: Vec<f64> = boards
                .iter()
                .filter_map(|&board| self.gives[board].get(&pin).copied())
                .collect();
            let takes = record.takes.is_some() || record.draw.is_some();
            if drawn.is_empty() && sources.is_empty() && !takes {
                continue;
            }
            let own = record.draw.as_ref().map(|draw| &draw.value);
            let draw: f64 = drawn.iter().map(|(nominal, _)| nominal).sum();
            let most: f64 = drawn.iter().map(|(_, most)| most).sum();
            let of_module = module
                .property("supply_limit")
                .filter(|_| record.gives.is_some());
            let of_module = record
                .limit
                .as_ref()
                .or(of_module.map(|property| &property.given));
            let limits = sources
                .iter()
                .copied()
                .chain(of_module.map(|limit| limit.value.low()));
            supplies.push(SupplySum {
                pin,
                draw: draw + own.map_or(0.0, |own| own.nominal()),
                draw_most: most + own.map_or(0.0, |own| own.high()),
                limit: limits.reduce(f64::min),
                given: record.gives.is_some() || !sources.is_empty(),
            });
        }
        let buses = module.buses.iter().enumerate().filter_map(|(at, bus)| {
            let on_bus: Vec<_> = boards
                .iter()
                .filter_map(|&board| self.on_bus[board].get(&at))
                .collect();
            let limits = BusLimits::of(bus.mode.word()).filter(|_| !on_bus.is_empty())?;
            let own = bus
                .pull_up
                .as_ref()
                .map(|own| (own.value.low(), own.value.high()));
            let pull_ups = || on_bus.iter().filter_map(|board| board.pull_up).chain(own);
            let parallel = |end: fn((f64, f64)) -> f64| {
                1.0 / pull_ups().map(|both| 1.0 / end(both)).sum::<f64>()
            };
            let pull_up = pull_ups()
                .next()
                .map(|_| (parallel(|both| both.0), parallel(|both| both.1)));
            let own = bus.capacitance.as_ref().map_or(0.0, |own| own.value.high());
            let capacitance = own + on_bus.iter().map(|board| board.capacitance).sum::<f64>();
            let supply = bus.supply.value.high();
            let low = BusLimits::low_output(supply);
            Some(BusSum {
                bus: at,
                pull_up,
                sunk: pull_up.map_or(0.0, |(least, _)| (supply - low) / least),
                sink_limit: limits.sink_current,
                capacitance,
                capacitance_limit: limits.capacitance,
                rise: pull_up.map(|(_, greatest)| BusLimits::rise(greatest, capacitance)),
                rise_limit: limits.rise_time,
            })
        });
        StackSums {
            supplies,
            buses: buses.collect(),
        }
    }
}
