//! Figures that are measured: a column of readings in the board's folder.

use std::ops::Range;

use super::build::Builder;
use super::graph::{Body, NodeId};
use super::resolve::listed;
use crate::finding::{FileId, Finding, Located, Place, Slug, Sources};
use crate::nearest::nearest;
use crate::quantity::{Decimal, Given, Unit};
use crate::record::Measured;

/// Fewer readings than these say nothing of how a value strays.
pub(super) const FEWEST: usize = 2;

impl Builder<'_> {
    /// Gives a measured figure its readings; tells what is wrong with them.
    pub(super) fn measured(&mut self, node: NodeId, board: usize, measured: &Measured) {
        let readings = self.readings(board, measured);
        match readings {
            Ok((given, values)) => {
                self.graph.node_mut(node).body = Body::Given(given);
                self.graph.add_sample(node, values);
            }
            Err(finding) => self.findings.push(*finding),
        }
    }

    fn readings(
        &self,
        board: usize,
        measured: &Measured,
    ) -> Result<(Given, Vec<f64>), Box<Finding>> {
        let board = &self.records.boards[board].id.value;
        let column = column(self.sources, board, measured)?;
        let values = column.values;
        let given = Given::measured(&values, &column.unit).filter(|_| values.len() >= FEWEST);
        let given = given.ok_or_else(|| too_few(measured, values.len()))?;
        Ok((given, values))
    }

    /// A file of a board's readings.
    pub(super) fn readings_file(
        &self,
        board: usize,
        named: &Located<String>,
    ) -> Result<FileId, Box<Finding>> {
        readings_file(self.sources, &self.records.boards[board].id.value, named)
    }
}

/// A column of readings.
pub(super) struct Column {
    /// The file that it is in.
    pub file: FileId,
    /// The unit that its head states.
    pub unit: Unit,
    /// The readings in coherent SI units.
    pub values: Vec<f64>,
    /// Where each stands.
    pub places: Vec<Place>,
    /// What the first cell of each row says: which board it was.
    pub boards: Vec<String>,
}

/// Reads a column; cells without text are left out.
pub(super) fn column(
    sources: &Sources,
    board: &str,
    measured: &Measured,
) -> Result<Column, Box<Finding>> {
    let file = readings_file(sources, board, &measured.file)?;
    let text = &sources.file(file).text;
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let heads = reader.headers().cloned();
    let heads = heads.map_err(|error| unread(file, text, &error))?;
    let wanted = &measured.column.value;
    let Some(column) = heads.iter().position(|head| head == wanted) else {
        let known: Vec<&str> = heads.iter().filter(|head| !head.is_empty()).collect();
        let help = match nearest(wanted, known.iter().copied()) {
            Some(near) => format!("perhaps `{near}`"),
            None => format!("its columns are {}", listed(&known)),
        };
        let message = format!("`{}` has no column `{wanted}`", measured.file.value);
        return Err(Box::new(
            Finding::new(Slug::UnknownName, message)
                .at(measured.column.place.clone(), "not a head of a column")
                .at(Place::new(file, line(text, 0)), "the heads")
                .help(help),
        ));
    };
    let unit = unit(wanted).ok_or_else(|| {
        let message = format!("the column `{wanted}` states no unit that is known");
        let finding = Finding::new(Slug::UnknownUnit, message)
            .at(measured.column.place.clone(), "this column")
            .help("write the unit of the values in brackets at the end of the head: `slow current (mA)`");
        Box::new(finding)
    })?;
    let mut found = Column {
        file,
        unit,
        values: Vec::new(),
        places: Vec::new(),
        boards: Vec::new(),
    };
    for row in reader.records() {
        let row = row.map_err(|error| unread(file, text, &error))?;
        let Some(cell) = row.get(column).filter(|cell| !cell.is_empty()) else {
            continue;
        };
        let number = cell.parse().ok().and_then(Decimal::from_f64);
        let Some(number) = number else {
            return Err(Box::new(not_a_number(file, text, &row, column)));
        };
        found.values.push(found.unit.value_of(&number));
        let place = cell_place(text, &row, column);
        found.places.push(Place::new(file, place));
        found.boards.push(row.get(0).unwrap_or_default().to_owned());
    }
    Ok(found)
}

/// Says that a column holds too few readings.
pub(super) fn too_few(measured: &Measured, count: usize) -> Box<Finding> {
    let message = format!(
        "the column `{}` holds {count} readings",
        measured.column.value
    );
    Box::new(
        Finding::new(Slug::NotComputable, message)
            .at(measured.column.place.clone(), "this column")
            .help("measure at least two boards: one says nothing of how the value strays"),
    )
}

/// A file of a board's readings.
fn readings_file(
    sources: &Sources,
    board: &str,
    named: &Located<String>,
) -> Result<FileId, Box<Finding>> {
    let folder = format!("boards/{board}/readings");
    let path = format!("{folder}/{}", named.value);
    if let Some(file) = sources.by_path(path.as_str().into()) {
        return Ok(file);
    }
    let files = sources.iter().map(|(_, file)| file.path.as_str());
    let known: Vec<&str> = files
        .filter_map(|path| path.strip_prefix(folder.as_str())?.strip_prefix('/'))
        .collect();
    let help = match nearest(&named.value, known.iter().copied()) {
        Some(near) => format!("perhaps `{near}`"),
        None if known.is_empty() => format!("put the readings into `{folder}`, as CSV"),
        None => format!("`{folder}` holds {}", listed(&known)),
    };
    let message = format!("there are no readings `{path}`");
    Err(Box::new(
        Finding::new(Slug::UnknownName, message)
            .at(named.place.clone(), "no such file")
            .help(help),
    ))
}

/// The unit in brackets at the end of a head.
pub(super) fn unit(head: &str) -> Option<Unit> {
    let (_, unit) = head.strip_suffix(')')?.rsplit_once('(')?;
    Unit::parse(unit.trim()).ok()
}

/// A file that is no CSV.
pub(super) fn unread(file: FileId, text: &str, error: &csv::Error) -> Box<Finding> {
    let at = error
        .position()
        .map_or(0, |position| position.byte() as usize);
    let finding = Finding::new(Slug::FileUnreadable, format!("this is no CSV: {error}"))
        .at(Place::new(file, line(text, at)), "read so far")
        .help("each row has as many cells as the first, with commas between them (RFC 4180)");
    Box::new(finding)
}

/// A cell that should hold a number and does not.
pub(super) fn not_a_number(
    file: FileId,
    text: &str,
    row: &csv::StringRecord,
    column: usize,
) -> Finding {
    let cell = row.get(column).unwrap_or_default();
    let help = match cell.contains(',') {
        true => "write the decimal sign as a point",
        false => "write plain numbers, their unit in the head of the column",
    };
    Finding::new(Slug::BadValue, format!("`{cell}` is no reading"))
        .at(
            Place::new(file, cell_place(text, row, column)),
            "not a number",
        )
        .help(help)
}

/// Where a cell of a row stands; its whole line where that cannot be told.
pub(super) fn cell_place(text: &str, row: &csv::StringRecord, column: usize) -> Range<usize> {
    let start = row
        .position()
        .map_or(0, |position| position.byte() as usize);
    let line = line(text, start);
    // Cells before it may hold the same text.
    let mut from = line.start;
    for (at, cell) in row.iter().enumerate() {
        let Some(found) = text.get(from..line.end).and_then(|rest| rest.find(cell)) else {
            break;
        };
        let place = from + found..from + found + cell.len();
        if at == column {
            return if cell.is_empty() { line } else { place };
        }
        // Past the comma, where there is one.
        from = place.end;
        from += text[from..line.end].find(',').map_or(0, |comma| comma + 1);
    }
    line
}

/// Where the heads of the columns stand.
pub(super) fn head_place(text: &str) -> Range<usize> {
    line(text, 0)
}

/// The line that begins at or holds a byte, without its end.
pub(super) fn line(text: &str, at: usize) -> Range<usize> {
    let at = text.floor_char_boundary(at);
    // A reader's position may be that of the line's end before.
    let skipped = text[at..].len() - text[at..].trim_start_matches(['\r', '\n']).len();
    let start = at + skipped;
    let end = text[start..]
        .find(['\r', '\n'])
        .map_or(text.len(), |end| start + end);
    start..end
}
