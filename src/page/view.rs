//! What a template is given: finished strings, and nothing to work out.
//!
//! Numbers are formatted before they come here. A field whose name ends in
//! `_html` or `_mathml` is markup that Ohmbook itself has written and escaped;
//! templates pass it on as it is and escape everything else.

use serde::Serialize;

/// One page: what every sheet has, and what only this kind of sheet has.
#[derive(Debug, Serialize)]
pub(crate) struct Sheet<F> {
    /// Language tag of the text (BCP 47).
    pub language: String,
    /// Title for the browser's window: sheet, board, notebook.
    pub window_title: String,
    /// One sentence on what the sheet holds.
    pub description: String,
    /// From this page to the folder of the cover: empty, or `../` repeated.
    pub root: String,
    /// Whether there is a feed.
    pub feed: bool,
    /// Sentence that stands on every sheet.
    pub notice: Option<String>,
    /// Sheets above this one, the drawing list first.
    pub above: Vec<Link>,
    /// Cautions of the board that the sheet belongs to.
    pub cautions: Vec<CautionView>,
    /// The title block.
    pub block: TitleBlock,
    /// Derivations of the numbers stated on the sheet.
    pub slips: Vec<Slip>,
    /// What only this kind of sheet has.
    pub face: F,
}

/// A link within the notebook.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Link {
    /// Visible text.
    pub text: String,
    /// Address, relative to the page.
    pub href: String,
}

/// The title block (ISO 7200), with what hangs on it.
#[derive(Debug, Serialize)]
pub(crate) struct TitleBlock {
    /// Legal owner.
    pub owner: String,
    /// Title: that of the board, or of the notebook.
    pub title: String,
    /// Supplementary title: that of the sheet, where it differs.
    pub sheet_title: Option<String>,
    /// Document type.
    pub kind: String,
    /// Identification number.
    pub identification: String,
    /// Revision index.
    pub revision: Option<String>,
    /// Document status.
    pub status: Option<String>,
    /// Date of issue (ISO 8601).
    pub date: Option<String>,
    /// Number of this sheet in its set.
    pub sheet: String,
    /// Number of sheets in the set.
    pub sheets: String,
    /// Creator.
    pub made_by: Option<String>,
    /// Approval person.
    pub checked_by: Option<String>,
    /// Whether it is of the edition that has everything.
    pub is_whole: bool,
    /// Target group (IEC/IEEE 82079-1): for whom the edition is.
    pub audience: &'static str,
    /// How many figures hold.
    pub tally: TallyView,
    /// Licence expression (SPDX).
    pub licence: Option<String>,
    /// Language tag.
    pub language: String,
    /// The sheets of the set, this one among them.
    pub set: Vec<SheetLink>,
    /// Revisions of the board, the newest first.
    pub revisions: Vec<RevisionRow>,
    /// The sheet before this one in the whole notebook.
    pub previous: Option<Link>,
    /// The sheet after this one.
    pub next: Option<Link>,
    /// Sheets that serve the whole notebook.
    pub general: Vec<Link>,
}

/// One sheet in the list of its set.
#[derive(Debug, Serialize)]
pub(crate) struct SheetLink {
    /// Number in the set.
    pub number: String,
    /// Its title.
    pub title: String,
    /// Address, relative to the page.
    pub href: String,
    /// Whether it is the sheet that is being read.
    pub here: bool,
}

/// One line of the revision table.
#[derive(Debug, Serialize)]
pub(crate) struct RevisionRow {
    /// Revision index.
    pub index: String,
    /// Its sheet, where it is an earlier one.
    pub href: Option<String>,
    /// Date of issue (ISO 8601).
    pub date: Option<String>,
    /// What changed, in words.
    pub changes: Vec<String>,
}

/// How many figures hold.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct TallyView {
    /// `31 of 31 figures hold`.
    pub text: String,
    /// Whether all of them do.
    pub all: bool,
    /// `31`.
    pub hold: String,
    /// `31`.
    pub of: String,
}

/// A caution (ANSI Z535.6, ISO 3864-2).
#[derive(Clone, Debug, Serialize)]
pub(crate) struct CautionView {
    /// Signal word.
    pub signal: &'static str,
    /// Class of the signal's colours.
    pub class: &'static str,
    /// Whether the safety alert symbol stands before the word.
    pub alert: bool,
    /// What the hazard is.
    pub hazard: String,
    /// What may happen.
    pub consequence: Option<String>,
    /// How to avoid it.
    pub avoid: String,
    /// What makes it true: `full_voltage is 4.20 V, more than 4 V`.
    pub because_html: Option<String>,
}

/// A spread against its requirement, drawn to scale.
///
/// All lengths are in units of a drawing 200 wide, as SVG attributes take them.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct BarView {
    /// The same in words, for those who do not see it.
    pub words: String,
    /// Left end of the requirement's band.
    pub band_from: String,
    /// Width of the requirement's band.
    pub band_width: String,
    /// Place of the lower limit, where there is one.
    pub limit_low: Option<String>,
    /// Place of the upper limit, where there is one.
    pub limit_high: Option<String>,
    /// Left end of the spread.
    pub spread_from: String,
    /// Width of the spread.
    pub spread_width: String,
    /// Place of the nominal value.
    pub nominal: String,
    /// Whether the spread keeps to the requirement.
    pub holds: bool,
}

/// A figure's derivation, small enough to be laid beside its number.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Slip {
    /// Id of the slip on its page.
    pub id: String,
    /// What the figure is.
    pub means: String,
    /// Its name, with the board's where that is another one.
    pub name: String,
    /// `given` or `computed`.
    pub kind: &'static str,
    /// Formula, numbers put in and result: the inside of a `math` element.
    pub steps_mathml: Option<String>,
    /// Whether they are too wide for half a sheet of paper.
    pub wide: bool,
    /// Nominal value with unit.
    pub value: String,
    /// `184 mA to 208 mA`.
    pub spread: Option<String>,
    /// What it has to be.
    pub must: Option<String>,
    /// Conditions.
    pub at: Option<String>,
    /// Spread against requirement.
    pub bar: Option<BarView>,
    /// Where a given value is from.
    pub source: Option<String>,
    /// Its place on the calculation sheet or another.
    pub href: String,
    /// `On the calculation sheet`.
    pub place: String,
    /// Whether no finding speaks against it.
    pub holds: bool,
}
