//! Tables: wrapped so that a narrow screen can scroll them, and aligned by
//! class, because a strict content security policy takes no style attribute.

use pulldown_cmark::Alignment;

use super::markup::attribute;

/// Where the writer stands in the document's tables.
#[derive(Default)]
pub(super) struct Tables {
    count: usize,
    columns: Vec<Alignment>,
    column: usize,
    head: bool,
}

impl Tables {
    /// Begins a table below a heading. The wrapper can be reached by keyboard,
    /// or those without a pointer could not scroll it, and has a name of its
    /// own, as a region must.
    pub fn open(&mut self, columns: &[Alignment], heading: Option<&str>) -> String {
        self.count += 1;
        self.columns = columns.to_vec();
        let name = match heading {
            Some(heading) if !heading.is_empty() => format!("Table {}: {heading}", self.count),
            _ => format!("Table {}", self.count),
        };
        format!(
            "<div class=\"table\" tabindex=\"0\" role=\"region\" aria-label=\"{}\">",
            attribute(&name)
        )
    }

    /// Begins a row.
    pub fn row(&mut self, head: bool) {
        self.head = head;
        self.column = 0;
    }

    /// Begins a cell.
    pub fn cell(&mut self) -> String {
        let class = match self.columns.get(self.column) {
            Some(Alignment::Left) => " class=\"left\"",
            Some(Alignment::Center) => " class=\"center\"",
            Some(Alignment::Right) => " class=\"right\"",
            Some(Alignment::None) | None => "",
        };
        self.column += 1;
        if self.head {
            format!("<th scope=\"col\"{class}>")
        } else {
            format!("<td{class}>")
        }
    }

    /// Ends a cell.
    pub fn end_cell(&self) -> &'static str {
        if self.head { "</th>" } else { "</td>" }
    }
}
