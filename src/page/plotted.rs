//! A plot on a sheet, with the values behind it as a table and as a file.

use std::fmt::Write;

use camino::{Utf8Path, Utf8PathBuf};

use super::leaves::href;
use super::markup::escaped;
use crate::draw::{Plot, Table};
use crate::quantity::{Unit, shown_digits};

/// Rows of a table behind a plot, about; the file has them all.
const MOST_ROWS: usize = 10;
/// Digits of a value in a table behind a plot; the file has them all.
const DIGITS: u32 = 4;

/// The plot with its caption, its table, and a link to its file, which goes to
/// `files` under a name that no other plot of the board has.
pub(crate) fn figure(
    from: &Utf8Path,
    name: &str,
    caption: &str,
    plot: &Plot,
    files: &mut Vec<(Utf8PathBuf, String)>,
) -> String {
    let folder = from.parent().unwrap_or(Utf8Path::new(""));
    let path = folder.join("data").join(format!("{name}.csv"));
    let html = format!(
        "<figure class=\"drawn\">{}<figcaption>{}\
         <details class=\"data\"><summary>Values as a table</summary>{}\
         <p><a href=\"{}\" download>{}.csv, with every row and all digits</a></p></details></figcaption></figure>",
        plot.svg,
        escaped(caption),
        table(caption, &plot.table),
        escaped(&href(from, &path)),
        escaped(name)
    );
    files.push((path, plot.table.csv()));
    html
}

fn table(caption: &str, table: &Table) -> String {
    let mut html = format!(
        "<div class=\"table\" tabindex=\"0\" role=\"region\" aria-label=\"{}\"><table><thead><tr>",
        escaped(&format!("Values: {caption}"))
    );
    for column in &table.columns {
        // Writing to a string does not fail.
        let _ = write!(
            html,
            "<th scope=\"col\">{}</th>",
            escaped(&column.heading())
        );
    }
    html += "</tr></thead><tbody>";
    // Where a value depends on the first one, as gain does on frequency, digits
    // far below the greatest of its column tell nothing.
    let finest = |column: usize| {
        let values = table.rows.iter().filter_map(|row| *row.get(column)?);
        let greatest = values.map(f64::abs).fold(0.0, f64::max);
        10f64.powi(greatest.log10().floor().max(-300.0) as i32 + 1 - DIGITS as i32)
    };
    let finest: Vec<f64> = (0..table.columns.len()).map(finest).collect();
    let one = Unit::one();
    let step = table.rows.len().div_ceil(MOST_ROWS).max(1);
    let last = table.rows.len().saturating_sub(1);
    let shown = table.rows.iter().enumerate();
    for (_, row) in shown.filter(|(at, _)| at % step == 0 || *at == last) {
        html += "<tr>";
        for (column, value) in row.iter().enumerate() {
            let text = |value: f64| match finest.get(column) {
                Some(place) if column > 0 => {
                    let rounded = (value / place).round() * place;
                    shown_digits(rounded, DIGITS, &one).to_string()
                }
                _ => shown_digits(value, DIGITS, &one).to_string(),
            };
            let text = value.map_or_else(String::new, text);
            let _ = write!(html, "<td class=\"num\">{}</td>", escaped(&text));
        }
        html += "</tr>";
    }
    html + "</tbody></table></div>"
}
