//! What the line of boards comes to: how many parts, how many used once, how many
//! feeders, and what a board costs at stated volumes.
//!
//! Cost of a lot of N boards = for each part: what a part costs + for each line of
//! a list: what a line costs + pieces × price at so many pieces, where a feeder
//! loses some at loading; + N × placed parts × what placing costs. What is not stated is counted, and never
//! taken for nothing in silence.

use std::collections::{BTreeMap, BTreeSet};

use crate::record::{Board, Costs, Placing, Records, Status};

/// Totals of a board.
#[derive(Clone, PartialEq, Debug)]
pub struct BoardTotals {
    /// Which board.
    pub board: usize,
    /// How many pieces it carries of each part, by the part's position.
    pub pieces: BTreeMap<usize, u64>,
    /// Parts that no other board of the line carries.
    pub only_here: Vec<usize>,
    /// Feeders that it takes.
    pub feeders: usize,
    /// Parts of which nobody says how they get onto the board.
    pub unplaced: usize,
    /// Costs of one board at each of the volumes.
    pub costs: Vec<Cost>,
}

/// What one board costs where so many are made at once.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Cost {
    /// Boards made at once.
    pub volume: u64,
    /// Cost of one, in the notebook's currency, without parts that have no price.
    pub each: f64,
    /// Parts without a price.
    pub unpriced: usize,
}

/// Totals of the line: every board that is not withdrawn.
#[derive(Clone, PartialEq, Debug)]
pub struct LineTotals {
    /// Its boards.
    pub boards: Vec<BoardTotals>,
    /// Boards that carry each part, by the part's position.
    pub uses: BTreeMap<usize, Vec<usize>>,
    /// Feeders that the line takes.
    pub feeders: Vec<usize>,
    /// Feeders that every board takes.
    pub common_feeders: usize,
    /// Parts of which nobody says how they get onto a board.
    pub unplaced: usize,
    /// Costs of one of each board, all bought together.
    pub costs: Vec<Cost>,
}

impl LineTotals {
    /// The totals of a notebook's line as it is.
    pub fn of(records: &Records) -> LineTotals {
        LineTotals::with(records, &|board, fitted| {
            let line = &records.boards[board].fitted[fitted];
            let parts = &records.parts;
            parts
                .binary_search_by(|part| part.id.value.cmp(&line.part.value))
                .ok()
        })
    }

    /// The totals where each place of each board carries the part of this
    /// position; `None` where that is not known.
    pub fn with(records: &Records, part_at: &dyn Fn(usize, usize) -> Option<usize>) -> LineTotals {
        let line = records.boards.iter().enumerate();
        let line = line.filter(|(_, board)| board.status != Status::Withdrawn);
        let carried: Vec<(usize, BTreeMap<usize, u64>)> = line
            .map(|(at, board)| (at, pieces(board, |fitted| part_at(at, fitted))))
            .collect();
        let mut uses: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (board, pieces) in &carried {
            for part in pieces.keys() {
                uses.entry(*part).or_default().push(*board);
            }
        }
        let placed = |part: usize| records.parts[part].placed;
        let is_fed = |part: usize| placed(part) == Some(Placing::Feeder);
        let feeders: Vec<usize> = uses.keys().copied().filter(|part| is_fed(*part)).collect();
        let common = feeders
            .iter()
            .filter(|part| uses[part].len() == carried.len());
        let costs = records.notebook.costs.as_ref();
        let volumes = costs.map_or(&[][..], |costs| &costs.volumes);
        let count = |pieces: &BTreeMap<usize, u64>, is: &dyn Fn(usize) -> bool| {
            pieces.keys().filter(|part| is(**part)).count()
        };
        let boards = carried.iter().map(|(board, pieces)| BoardTotals {
            board: *board,
            only_here: pieces
                .keys()
                .copied()
                .filter(|part| uses[part].len() == 1)
                .collect(),
            feeders: count(pieces, &is_fed),
            unplaced: count(pieces, &|part| placed(part).is_none()),
            costs: volumes
                .iter()
                .zip(costs.into_iter().cycle())
                .map(|(volume, costs)| cost(records, costs, std::slice::from_ref(pieces), *volume))
                .collect(),
            pieces: pieces.clone(),
        });
        let boards = boards.collect();
        let all: Vec<BTreeMap<usize, u64>> =
            carried.iter().map(|(_, pieces)| pieces.clone()).collect();
        LineTotals {
            boards,
            common_feeders: common.count(),
            unplaced: uses.keys().filter(|part| placed(**part).is_none()).count(),
            costs: volumes
                .iter()
                .zip(costs.into_iter().cycle())
                .map(|(volume, costs)| cost(records, costs, &all, *volume))
                .collect(),
            feeders,
            uses,
        }
    }

    /// Parts that one board alone carries.
    pub fn used_once(&self) -> Vec<usize> {
        let once = self.uses.iter().filter(|(_, boards)| boards.len() == 1);
        once.map(|(part, _)| *part).collect()
    }

    /// Lines of all lists together.
    pub fn lines(&self) -> usize {
        self.uses.values().map(Vec::len).sum()
    }

    /// Degree of commonality: how many boards carry a part on average. From one to
    /// the number of boards (Collier, Decision Sciences 12(1), 1981).
    pub fn commonality(&self) -> Option<f64> {
        (!self.uses.is_empty()).then(|| self.lines() as f64 / self.uses.len() as f64)
    }

    /// Total constant commonality: 1 − (d − 1)/(S − 1) for d parts on S lines; zero
    /// where no two boards have a part in common, one where there is a single part
    /// (Wacker and Treleven, J. Oper. Manag. 6(2), 1986).
    pub fn total_commonality(&self) -> Option<f64> {
        let (parts, lines) = (self.uses.len(), self.lines());
        (lines > 1).then(|| 1.0 - (parts as f64 - 1.0) / (lines as f64 - 1.0))
    }
}

/// How many pieces of each part a board carries.
fn pieces(board: &Board, part_at: impl Fn(usize) -> Option<usize>) -> BTreeMap<usize, u64> {
    let mut pieces = BTreeMap::new();
    for (at, line) in board.fitted.iter().enumerate() {
        if let Some(part) = part_at(at).filter(|_| line.fit) {
            *pieces.entry(part).or_insert(0) += 1;
        }
    }
    pieces
}

/// Cost of one of each board where so many of each are made, their parts bought
/// together.
fn cost(records: &Records, costs: &Costs, boards: &[BTreeMap<usize, u64>], volume: u64) -> Cost {
    let parts: BTreeSet<usize> = boards.iter().flat_map(BTreeMap::keys).copied().collect();
    let mut sum = 0.0;
    let mut unpriced = 0;
    for part in parts {
        let record = &records.parts[part];
        let lots = boards.iter().filter_map(|pieces| pieces.get(&part));
        let (mut pieces, mut lines) = (0u64, 0u64);
        for each in lots {
            pieces = pieces.saturating_add(each.saturating_mul(volume));
            lines += 1;
        }
        if record.placed != Some(Placing::Loose) {
            sum += pieces as f64 * costs.placement;
        }
        sum += costs.part_fee + lines as f64 * costs.line_fee;
        if record.placed == Some(Placing::Feeder) {
            pieces = pieces.saturating_add(lines * costs.attrition);
        }
        match record.purchase.price_at(pieces) {
            Some(price) => sum += pieces as f64 * price,
            None => unpriced += 1,
        }
    }
    Cost {
        volume,
        // Volumes are never zero.
        each: sum / volume as f64,
        unpriced,
    }
}
