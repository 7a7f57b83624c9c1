//! One row of a bill of materials, cell by cell.

use std::collections::BTreeMap;

use super::bom::{List, Mention};
use crate::finding::{Finding, Level, Located, Slug};
use crate::nearest::nearest;
use crate::record::{BomRecord, Cell, Fitted, Part};

/// Which column of a list holds what; `None` for one that is not asked for, or
/// not there.
pub(super) struct Columns {
    pub separator: char,
    pub designators: Option<usize>,
    pub value: Option<usize>,
    quantity: Option<usize>,
    package: Option<usize>,
    part: Option<usize>,
    order: Option<usize>,
    fit: Option<usize>,
}

impl Columns {
    /// Finds the columns of a map among the heads of a list.
    pub fn of(map: &BomRecord, heads: &[Cell], separator: char) -> Columns {
        let find =
            |head: &Located<String>| heads.iter().position(|cell| cell.text == head.value.trim());
        let named = |head: &Option<Located<String>>| head.as_ref().and_then(find);
        Columns {
            separator,
            designators: find(&map.designators),
            value: named(&map.value),
            quantity: named(&map.quantity),
            package: named(&map.package),
            part: named(&map.part),
            order: named(&map.order),
            fit: named(&map.fit),
        }
    }

    /// The heads that a map asks for, each with the column found.
    pub fn wanted<'m>(&self, map: &'m BomRecord) -> Vec<(&'m Located<String>, Option<usize>)> {
        let further = [
            (&map.quantity, self.quantity),
            (&map.value, self.value),
            (&map.package, self.package),
            (&map.part, self.part),
            (&map.order, self.order),
            (&map.fit, self.fit),
        ];
        let further = further
            .into_iter()
            .filter_map(|(head, at)| Some((head.as_ref()?, at)));
        std::iter::once((&map.designators, self.designators))
            .chain(further)
            .collect()
    }

    /// How many columns were found.
    pub fn found(&self) -> usize {
        let all = [
            self.designators,
            self.value,
            self.quantity,
            self.package,
            self.part,
            self.order,
            self.fit,
        ];
        all.iter().flatten().count()
    }

    /// Holds the count of a row to the designators that it names.
    pub fn check_row(
        &self,
        list: &List<'_>,
        row: &[Cell],
        mentions: &[Mention<'_>],
        findings: &mut Vec<Finding>,
    ) {
        let Some(cell) = self.quantity.and_then(|at| row.get(at)) else {
            return;
        };
        let Some(first) = mentions.first() else {
            return;
        };
        let counted = mentions.len();
        // A row of what is not fitted may count as many as there are, or none.
        let none = cell.text == "0" && self.is_left_empty(list, row);
        if cell.text.parse() == Ok(counted) || none {
            return;
        }
        let message = match cell.text.parse::<usize>() {
            Ok(stated) => format!("the list counts {stated}, and names {counted}"),
            Err(_) if cell.text.is_empty() => {
                format!("the list gives no number, and names {counted}")
            }
            Err(_) => format!("`{}` is no number of parts", cell.text),
        };
        findings.push(
            Finding::new(Slug::BomDiffers, message)
                .at(list.cell_place(row, cell), "counted here")
                .at(first.place.clone(), "named from here on")
                .help(format!("if the designators are right, write {counted}")),
        );
    }

    /// Whether a row is one of what is not fitted.
    fn is_left_empty(&self, list: &List<'_>, row: &[Cell]) -> bool {
        let Some(cell) = self.fit.and_then(|at| row.get(at)) else {
            return false;
        };
        match list.map.not_fitted.as_slice() {
            [] => !cell.text.is_empty(),
            words => words.iter().any(|word| word.value.trim() == cell.text),
        }
    }

    /// Holds what the list says of a designator to its part.
    pub fn check_part(
        &self,
        list: &List<'_>,
        mention: &Mention<'_>,
        line: &Fitted,
        part: &Part,
        listed: &BTreeMap<String, &str>,
        findings: &mut Vec<Finding>,
    ) {
        let row = Row {
            list,
            mention,
            line,
            part,
        };
        self.fit(&row, findings);
        let cell = |at: Option<usize>| at.and_then(|at| mention.row.get(at));
        if let Some(cell) = cell(self.part) {
            row.part(cell, findings);
        }
        if let Some(cell) = cell(self.value) {
            row.value(cell, listed, findings);
        }
        if let Some(cell) = cell(self.package) {
            row.package(cell, findings);
        }
        if let Some(cell) = cell(self.order) {
            row.order(cell, findings);
        }
    }

    fn fit(&self, row: &Row<'_>, findings: &mut Vec<Finding>) {
        let left_empty = self.is_left_empty(row.list, row.mention.row);
        if left_empty != row.line.fit {
            return;
        }
        let name = &row.mention.name;
        let board = &row.list.board.id.value;
        let (message, here) = match left_empty {
            true => (
                format!("the list leaves `{name}` empty, and it is fitted on `{board}`"),
                "not fitted here",
            ),
            false => (
                format!("the list fits `{name}`, and its place on `{board}` is left empty"),
                "fitted here",
            ),
        };
        let place = match self.fit.and_then(|at| row.mention.row.get(at)) {
            Some(cell) => row.list.cell_place(row.mention.row, cell),
            None => row.mention.place.clone(),
        };
        findings.push(
            Finding::new(Slug::BomDiffers, message)
                .at(place, here)
                .at(
                    row.line.designator.place.clone(),
                    "as the board's record has it",
                )
                .help(format!(
                    "mend the list, or `fit` of `{name}` under `[fitted]`"
                )),
        );
    }
}

/// A designator of the list, with its line and its part.
pub(super) struct Row<'a> {
    pub(super) list: &'a List<'a>,
    pub(super) mention: &'a Mention<'a>,
    line: &'a Fitted,
    pub(super) part: &'a Part,
}

impl Row<'_> {
    /// A finding about a cell, with both places.
    pub(super) fn differs(&self, cell: &Cell, message: String, here: impl Into<String>) -> Finding {
        Finding::new(Slug::BomDiffers, message)
            .at(self.list.cell_place(self.mention.row, cell), here)
            .at(
                self.line.part.place.clone(),
                format!("`{}` is fitted here", self.part.id.value),
            )
    }

    /// The notebook's own id.
    fn part(&self, cell: &Cell, findings: &mut Vec<Finding>) {
        let (name, id) = (&self.mention.name, &self.part.id.value);
        if cell.text == *id {
            return;
        }
        let message = match cell.text.as_str() {
            "" => format!("the list names no part for `{name}`"),
            other => format!("the list has `{other}` as `{name}`, and `{id}` is fitted"),
        };
        let finding = self.differs(cell, message, "named here");
        let known = self
            .list
            .records
            .parts
            .iter()
            .map(|part| part.id.value.as_str());
        let unknown = self.list.records.part(&cell.text).is_none() && !cell.text.is_empty();
        let finding = match nearest(&cell.text, known).filter(|_| unknown) {
            Some(near) => finding.note(format!(
                "there is no part `{}`; perhaps `{near}`",
                cell.text
            )),
            None => finding,
        };
        findings.push(finding.help(format!("if the record is right, write `{id}`")));
    }

    fn package(&self, cell: &Cell, findings: &mut Vec<Finding>) {
        let (name, id) = (&self.mention.name, &self.part.id.value);
        let mut packages = self.list.map.packages.iter();
        let called = packages.find(|(called, _)| called.value == cell.text);
        let stated = called.map_or(cell.text.as_str(), |(_, package)| package.value.as_str());
        let Some(package) = &self.part.package else {
            if !stated.is_empty() {
                let message = format!(
                    "the list has {stated} as the package of `{name}`, and `{id}` states none"
                );
                let mut finding = self
                    .differs(cell, message, "nothing to hold it against")
                    .at(self.part.id.place.clone(), "no `package` here")
                    .help("state the part's package");
                finding.level = Level::Caution;
                findings.push(finding);
            }
            return;
        };
        if stated == package.value {
            return;
        }
        let message = match stated {
            "" => format!("the list gives no package for `{name}`"),
            stated => format!(
                "the list has {stated} as the package of `{name}`, and `{id}` is {}",
                package.value
            ),
        };
        findings.push(
            self.differs(cell, message, "listed here")
                .at(package.place.clone(), "its package")
                .help(
                    "mend the list, or say under `packages` of `[bom]` what the list means by it",
                ),
        );
    }

    fn order(&self, cell: &Cell, findings: &mut Vec<Finding>) {
        let (name, id) = (&self.mention.name, &self.part.id.value);
        let orders = &self.part.purchase.orders;
        if orders.iter().any(|(_, code)| code.value == cell.text)
            || (orders.is_empty() && cell.text.is_empty())
        {
            return;
        }
        let mut others = self.list.records.parts.iter();
        let other = others.find(|part| {
            part.purchase
                .orders
                .iter()
                .any(|(_, code)| code.value == cell.text)
        });
        let message = match (cell.text.as_str(), other) {
            ("", _) => format!("the list gives no order code for `{name}`"),
            (code, Some(other)) => format!(
                "the list orders `{code}` as `{name}`, which is `{}`, and `{id}` is fitted",
                other.id.value
            ),
            (code, None) => {
                format!("the list orders `{code}` as `{name}`, which is no order code of `{id}`")
            }
        };
        let finding = self.differs(cell, message, "ordered here");
        let finding = match orders.first() {
            Some((_, code)) => finding.at(code.place.clone(), "its order code"),
            None => finding.at(self.part.id.place.clone(), "no `orders` here"),
        };
        findings.push(finding);
    }
}
