//! Files for firmware: what a notebook comes to, as source text of the language
//! that reads it.
//!
//! A plain model of constants, tables and limits goes in, text comes out: one
//! file a form. Every file says at its head which notebook it is from, in which
//! state, and that it is not to be edited. No line carries the clock, so the
//! same values give the same bytes.
//!
//! Not here: where values come from, and the disk. The notebook gathers the
//! model and compares; the command writes.

mod c;
mod csv;
mod json;
mod names;
mod number;
mod python;
mod rust;
mod state;
mod words;

#[cfg(test)]
mod tests;

pub(crate) use csv::line as csv_line;
pub use names::is_reserved;

/// What stands in every file that was written here, and in no other: a file
/// without it is never replaced.
pub const MARK: &str = "Written by `ohmbook emit`; what is changed here by hand is lost.";

/// The form of a file.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Form {
    /// C header (C99, and C++).
    C,
    /// Rust module.
    Rust,
    /// Python without imports, for small interpreters too.
    Python,
    /// CSV (RFC 4180).
    Csv,
    /// JSON (RFC 8259).
    Json,
}

impl Form {
    /// The form that the ending of a file's name tells.
    pub fn by_ending(ending: &str) -> Option<Form> {
        match ending {
            "h" => Some(Form::C),
            "rs" => Some(Form::Rust),
            "py" => Some(Form::Python),
            "csv" => Some(Form::Csv),
            "json" => Some(Form::Json),
            _ => None,
        }
    }

    /// What messages call the language of it.
    pub fn name(self) -> &'static str {
        match self {
            Form::C => "C",
            Form::Rust => "Rust",
            Form::Python => "Python",
            Form::Csv => "CSV",
            Form::Json => "JSON",
        }
    }
}

/// What one file holds.
#[derive(Clone, PartialEq, Debug)]
pub struct Emitted {
    /// Name of the file without its ending; names of the file's own are made of it.
    pub stem: String,
    /// What the file is for, in words.
    pub means: Option<String>,
    /// Title of the notebook.
    pub notebook: String,
    /// Ids and revisions of the boards that it draws on, in the order of ids.
    pub boards: Vec<(String, String)>,
    /// Constants, in the order written.
    pub constants: Vec<Constant>,
    /// Tables, in the order written.
    pub tables: Vec<Table>,
    /// Limits, in the order of their steps.
    pub limits: Vec<Limit>,
    /// What is given and all of that hangs on, by name: nominal value, lower and
    /// upper end, in coherent SI units.
    pub inputs: Vec<(String, [f64; 3])>,
}

/// A number under a name.
#[derive(Clone, PartialEq, Debug)]
pub struct Constant {
    /// Its name, which is an identifier of the form.
    pub name: String,
    /// Its value, in the unit.
    pub value: f64,
    /// Whether it is written as a whole number; its value is one then, and
    /// below 2^53.
    pub is_whole: bool,
    /// Symbol of the unit; empty for a plain number.
    pub unit: String,
    /// Lower end of the spread, in the unit.
    pub low: f64,
    /// Upper end of the spread, in the unit.
    pub high: f64,
    /// What it is, in words.
    pub means: String,
}

/// Columns of equal length.
#[derive(Clone, PartialEq, Debug)]
pub struct Table {
    /// Its name, which is an identifier of the form.
    pub name: String,
    /// What it shows, in words.
    pub means: String,
    /// Its columns; there is at least one, and at least one row.
    pub columns: Vec<Column>,
}

impl Table {
    /// How many rows there are.
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |column| column.cells.len())
    }
}

/// A column of a table.
#[derive(Clone, PartialEq, Debug)]
pub struct Column {
    /// Its head, in words.
    pub head: String,
    /// Symbol of the unit of its numbers; empty for plain numbers and for words.
    pub unit: String,
    /// What stands in it.
    pub cells: Cells,
}

/// What stands in a column.
#[derive(Clone, PartialEq, Debug)]
pub enum Cells {
    /// Numbers, in the column's unit.
    Numbers(Vec<f64>),
    /// Whole numbers, in the column's unit.
    Whole(Vec<f64>),
    /// Words.
    Words(Vec<String>),
}

impl Cells {
    fn len(&self) -> usize {
        match self {
            Cells::Numbers(numbers) | Cells::Whole(numbers) => numbers.len(),
            Cells::Words(words) => words.len(),
        }
    }
}

/// The limits of one step of a fixture.
#[derive(Clone, PartialEq, Debug)]
pub struct Limit {
    /// Its name, which is an identifier of the form.
    pub name: String,
    /// Symbol of the unit; empty for a plain number.
    pub unit: String,
    /// Least value that passes, in the unit.
    pub low: f64,
    /// Greatest value that passes, in the unit.
    pub high: f64,
    /// Least and greatest reading of the converter that pass, in counts.
    pub counts: Option<(f64, f64)>,
    /// What the step tests, in words.
    pub means: String,
}

impl Emitted {
    /// The file's text.
    pub fn text(&self, form: Form) -> String {
        match form {
            Form::C => c::text(self),
            Form::Rust => rust::text(self),
            Form::Python => python::text(self),
            Form::Csv => csv::text(self),
            Form::Json => json::text(self),
        }
    }

    /// The sentence that says which notebook it is from.
    fn from(&self) -> String {
        let boards: Vec<String> = self
            .boards
            .iter()
            .map(|(id, revision)| format!("{id} revision {revision}"))
            .collect();
        let mut from = format!("From the notebook \"{}\"", self.notebook);
        if !boards.is_empty() {
            from += &format!(", boards: {}", boards.join(", "));
        }
        from + &format!("; state {}.", self.state())
    }

    /// What every file of source text says at its head, a line each.
    fn head(&self) -> Vec<String> {
        let mut head = vec![MARK.to_owned(), self.from()];
        head.extend(self.means.clone());
        head
    }
}
