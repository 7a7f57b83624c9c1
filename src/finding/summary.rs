//! How a run went, in one line.

use std::fmt;

use serde::Serialize;

use super::{Finding, Level};

/// How many figures hold.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
pub struct FigureCount {
    /// Figures that agree with everything stated and required of them.
    pub hold: usize,
    /// Figures that were checked.
    pub of: usize,
}

/// How many findings there are, and how many figures hold.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
pub struct Summary {
    /// Findings that keep the notebook from being bound.
    pub errors: usize,
    /// Findings that somebody should look at.
    pub cautions: usize,
    /// Findings that are worth knowing.
    pub notes: usize,
    /// The figures, where the run got as far as computing them.
    pub figures: Option<FigureCount>,
}

impl Summary {
    /// Counts findings, shown or not.
    pub fn of(findings: &[Finding], figures: Option<FigureCount>) -> Summary {
        let count = |level| findings.iter().filter(|f| f.level == level).count();
        Summary {
            errors: count(Level::Error),
            cautions: count(Level::Caution),
            notes: count(Level::Note),
            figures,
        }
    }
}

/// `3 errors, 1 caution, 2 notes: 29 of 31 figures hold`
impl fmt::Display for Summary {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.findings_in_words())?;
        match self.figures_in_words() {
            Some(figures) => write!(f, ": {figures}"),
            None => Ok(()),
        }
    }
}

impl Summary {
    /// `3 errors, 1 caution, 2 notes`, leaving out what there is none of.
    pub(super) fn findings_in_words(&self) -> String {
        let counts = [
            (self.errors, Level::Error),
            (self.cautions, Level::Caution),
            (self.notes, Level::Note),
        ];
        let told: Vec<String> = counts
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, level)| {
                let plural = if count == 1 { "" } else { "s" };
                format!("{count} {}{plural}", level.word())
            })
            .collect();
        match told.is_empty() {
            true => "nothing found".to_owned(),
            false => told.join(", "),
        }
    }

    /// `29 of 31 figures hold`, unless there are no figures to speak of.
    pub(super) fn figures_in_words(&self) -> Option<String> {
        let FigureCount { hold, of } = self.figures?;
        match (hold, of) {
            (_, 0) => None,
            (1, 1) => Some("the one figure holds".to_owned()),
            (_, 1) => Some("the one figure does not hold".to_owned()),
            _ if hold == of => Some(format!("all {of} figures hold")),
            _ => Some(format!("{hold} of {of} figures hold")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Slug;

    fn line(slugs: &[Slug], figures: Option<(usize, usize)>) -> String {
        let findings: Vec<Finding> = slugs.iter().map(|slug| Finding::new(*slug, "")).collect();
        let figures = figures.map(|(hold, of)| FigureCount { hold, of });
        Summary::of(&findings, figures).to_string()
    }

    #[test]
    fn the_line_counts_findings_and_figures() {
        use Slug::{FigureDisagrees, LooseQuantity, NoTitle};
        assert_eq!(
            line(
                &[FigureDisagrees, LooseQuantity, NoTitle, FigureDisagrees],
                Some((29, 31))
            ),
            "2 errors, 1 caution, 1 note: 29 of 31 figures hold"
        );
        assert_eq!(
            line(&[NoTitle], Some((31, 31))),
            "1 caution: all 31 figures hold"
        );
        assert_eq!(
            line(&[], Some((31, 31))),
            "nothing found: all 31 figures hold"
        );
        assert_eq!(
            line(&[], Some((1, 1))),
            "nothing found: the one figure holds"
        );
    }

    #[test]
    fn a_run_that_computed_nothing_says_nothing_of_figures() {
        assert_eq!(line(&[Slug::TomlSyntax], None), "1 error");
        assert_eq!(line(&[], Some((0, 0))), "nothing found");
    }
}
