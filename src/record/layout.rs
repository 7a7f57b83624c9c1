//! Which files of a notebook hold records, and of which kind.

use camino::Utf8Path;

use crate::finding::FileId;

/// What a file of records is for.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Role {
    /// `notebook.toml`: the whole notebook.
    Notebook,
    /// `parts/*.toml`: parts.
    Parts,
    /// `modules/*.toml`: controller modules.
    Modules,
    /// `boards/<id>/board.toml`: the board of that folder.
    Board(String),
    /// `boards/<id>/readings/*.csv`: measured values.
    Readings,
    /// `boards/<id>/bom.csv`: a board's bill of materials.
    Bom,
    /// `stacks.toml`: boards that go together.
    Stacks,
}

impl Role {
    /// What the file at a path is for, the path counted from the notebook's
    /// folder; `None` for a file without records.
    pub fn of(path: &Utf8Path) -> Option<Role> {
        let steps: Vec<&str> = path.components().map(|step| step.as_str()).collect();
        let is_toml = path.extension() == Some("toml");
        match steps.as_slice() {
            ["notebook.toml"] => Some(Role::Notebook),
            ["stacks.toml"] => Some(Role::Stacks),
            ["parts", _] if is_toml => Some(Role::Parts),
            ["modules", _] if is_toml => Some(Role::Modules),
            ["boards", _, "readings", _] if path.extension() == Some("csv") => Some(Role::Readings),
            ["boards", _, "bom.csv"] => Some(Role::Bom),
            ["boards", id, "board.toml"] => Some(Role::Board((*id).to_owned())),
            _ => None,
        }
    }
}

/// The files of a notebook that hold records.
#[derive(Clone, Debug, Default)]
pub struct Layout {
    /// Files that were loaded, with what each is for.
    pub files: Vec<(FileId, Role)>,
    /// What the files were for that are there and could not be loaded. Whoever
    /// loads has said so already; that something is missing is not said again.
    pub unreadable: Vec<Role>,
}

#[cfg(test)]
mod tests {
    use super::Role;

    #[test]
    fn the_place_of_a_file_says_what_it_is_for() {
        let role = |path: &str| Role::of(path.into());
        assert_eq!(role("notebook.toml"), Some(Role::Notebook));
        assert_eq!(role("parts/power.toml"), Some(Role::Parts));
        assert_eq!(role("modules/trail_module.toml"), Some(Role::Modules));
        let board = Role::Board("cell_charger".into());
        assert_eq!(role("boards/cell_charger/board.toml"), Some(board));
        let readings = role("boards/cell_charger/readings/first_samples.csv");
        assert_eq!(readings, Some(Role::Readings));
        assert_eq!(role("boards/cell_charger/bom.csv"), Some(Role::Bom));
        assert_eq!(role("boards/cell_charger/front.md"), None);
        assert_eq!(role("parts/old/power.toml"), None);
        assert_eq!(role("parts/power.txt"), None);
    }
}
