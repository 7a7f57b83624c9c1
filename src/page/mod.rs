//! View models and their rendering.

use std::collections::BTreeMap;

use camino::Utf8PathBuf;

use crate::notebook::Notebook;

/// The pages of a proved notebook.
///
/// # Errors
/// Where a template cannot be rendered.
pub fn pages(_notebook: &Notebook) -> Result<BTreeMap<Utf8PathBuf, Vec<u8>>, std::io::Error> {
    Err(std::io::Error::other("pages are not rendered yet"))
}
