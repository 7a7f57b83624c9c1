//! What a notebook's records hold once they are read.
//!
//! Every value keeps the place that it came from. Names that point at other
//! records are still text here; the notebook resolves them.

use jiff::civil::Date;

use super::kind::PartKind;
use crate::finding::{FileId, Located, Place};
use crate::quantity::{Given, Statement, Unit};

/// All records of a notebook.
#[derive(Debug)]
pub struct Records {
    /// `notebook.toml`.
    pub notebook: NotebookRecord,
    /// All parts, ordered by id.
    pub parts: Vec<Part>,
    /// All controller modules, ordered by id.
    pub modules: Vec<Module>,
    /// All boards, ordered by id.
    pub boards: Vec<Board>,
}

/// `notebook.toml`: what holds for the whole notebook.
#[derive(Debug)]
pub struct NotebookRecord {
    /// Title of the drawing set.
    pub title: Located<String>,
    /// Legal owner (ISO 7200).
    pub owner: Located<String>,
    /// SPDX licence expression.
    pub licence: Option<Located<String>>,
    /// Language tag (BCP 47).
    pub language: String,
    /// Who made the sheets (ISO 7200: creator).
    pub made_by: Option<Located<String>>,
    /// Who checked them (ISO 7200: approval person).
    pub checked_by: Option<Located<String>>,
    /// A sentence that stands on every sheet.
    pub notice: Option<Located<String>>,
    /// Folder of the user's own look, relative to the notebook's folder.
    pub theme: Option<Located<String>>,
    /// Waivers that hold anywhere in the notebook.
    pub waivers: Vec<Waiver>,
    /// The `[notebook]` header.
    pub place: Place,
}

/// Who may read a record.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Audience {
    /// Customers, and everybody else.
    #[default]
    Customers,
    /// The team and contributors only.
    Team,
}

/// `[part.<id>]`: what the team stocks and fits.
#[derive(Debug)]
pub struct Part {
    /// Id, with the place of the record's header.
    pub id: Located<String>,
    /// What sort of part it is.
    pub kind: &'static PartKind,
    /// Name for people.
    pub title: Option<Located<String>>,
    /// Value and properties, in the order written.
    pub properties: Vec<Property>,
    /// Land pattern or case.
    pub package: Option<Located<String>>,
    /// Where the figures are from.
    pub source: Option<Located<String>>,
    /// A remark.
    pub note: Option<Located<String>>,
    /// Who may read it.
    pub audience: Audience,
}

impl Part {
    /// The property of this name; the part's value is called `value`.
    pub fn property(&self, name: &str) -> Option<&Property> {
        self.properties.iter().find(|property| property.name.value == name)
    }
}

/// A quantity that a part or a module has: `value`, `quiescent`.
#[derive(Debug)]
pub struct Property {
    /// Its name in formulas.
    pub name: Located<String>,
    /// What it means; empty for a property of the team's own.
    pub means: &'static str,
    /// The quantity.
    pub given: Located<Given>,
}

/// `[module.<id>]`: a controller module that boards are made for.
#[derive(Debug)]
pub struct Module {
    /// Id, with the place of the record's header.
    pub id: Located<String>,
    /// Name for people.
    pub title: Located<String>,
    /// One sentence on what it is.
    pub summary: Option<Located<String>>,
    /// Where the figures are from.
    pub source: Option<Located<String>>,
    /// Supplies, levels and the team's own properties, in the order written.
    pub properties: Vec<Property>,
}

/// Where a board stands in its life.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Status {
    /// An idea with numbers.
    Concept,
    /// Built, not sold.
    Prototype,
    /// Made and sold.
    Production,
    /// No longer made.
    Withdrawn,
}

impl Status {
    /// The word in records and on sheets.
    pub fn word(self) -> &'static str {
        match self {
            Status::Concept => "concept",
            Status::Prototype => "prototype",
            Status::Production => "production",
            Status::Withdrawn => "withdrawn",
        }
    }
}

/// `boards/<id>/board.toml`.
#[derive(Debug)]
pub struct Board {
    /// Id, which is the folder's name, with the place of `[board]`.
    pub id: Located<String>,
    /// The file.
    pub file: FileId,
    /// Name for people.
    pub title: Located<String>,
    /// Revision that the records describe.
    pub revision: Located<String>,
    /// Where the board stands in its life.
    pub status: Status,
    /// One sentence on what the board does.
    pub summary: Located<String>,
    /// Date of this revision.
    pub date: Option<Located<Date>>,
    /// SPDX licence expression, where it is not the notebook's.
    pub licence: Option<Located<String>>,
    /// Module that the board is made for.
    pub module: Option<Located<String>>,
    /// Fitted parts, in the order written.
    pub fitted: Vec<Fitted>,
    /// Figures, in the order written.
    pub figures: Vec<FigureRecord>,
    /// Joint requirements, in the order written.
    pub relations: Vec<Relation>,
    /// Cautions, in the order written.
    pub cautions: Vec<Caution>,
    /// Earlier revisions, in the order written.
    pub revisions: Vec<Revision>,
    /// Worked calculations, in the order written.
    pub workings: Vec<WorkingRecord>,
    /// Findings that may stand for a while.
    pub waivers: Vec<Waiver>,
}

/// One line of `[fitted]`.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// Reference designator.
    pub designator: Located<String>,
    /// Id of the part.
    pub part: Located<String>,
    /// Whether it is really fitted; a place may be left empty.
    pub fit: bool,
}

/// `[figure.<id>]`.
#[derive(Debug)]
pub struct FigureRecord {
    /// Id, with the place of the record's header.
    pub id: Located<String>,
    /// What the figure is, in words.
    pub means: Located<String>,
    /// Where its value comes from.
    pub body: FigureBody,
    /// Where a given value, or the formula, is from.
    pub source: Option<Located<String>>,
    /// What is printed on the board, in the shop, anywhere.
    pub says: Option<Located<Statement>>,
    /// What it has to be.
    pub must: Option<Located<Statement>>,
    /// Unit to show it in.
    pub unit: Option<Located<Unit>>,
    /// Letter symbol for formulas, `I_chg`.
    pub symbol: Option<Located<String>>,
    /// Ranges of names within which the formula is valid.
    pub holds_for: Vec<ValidRange>,
    /// Conditions, shown wherever the number is shown.
    pub at: Option<Located<String>>,
    /// Who may read it.
    pub audience: Audience,
    /// A remark.
    pub note: Option<Located<String>>,
    /// Whether the front sheet shows it first.
    pub headline: bool,
}

/// Where a figure's value comes from.
#[derive(Debug)]
pub enum FigureBody {
    /// Quoted, with its tolerance.
    Given(Located<Given>),
    /// A formula's text.
    From(Located<String>),
}

/// A range in which a formula is valid.
#[derive(Debug)]
pub struct ValidRange {
    /// The name that must stay inside.
    pub name: Located<String>,
    /// The range.
    pub range: Located<Statement>,
}

/// `[relation.<id>]`: a joint requirement between figures.
#[derive(Debug)]
pub struct Relation {
    /// Id, with the place of the record's header.
    pub id: Located<String>,
    /// What it is, in words.
    pub means: Located<String>,
    /// The comparison's text.
    pub holds: Located<String>,
}

/// Signal words of ANSI Z535.6 and ISO 3864-2, worst first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Signal {
    /// Will kill or maim.
    Danger,
    /// Could kill or maim.
    Warning,
    /// Could injure.
    Caution,
    /// Could damage property.
    Notice,
}

impl Signal {
    /// The signal word.
    pub fn word(self) -> &'static str {
        match self {
            Signal::Danger => "DANGER",
            Signal::Warning => "WARNING",
            Signal::Caution => "CAUTION",
            Signal::Notice => "NOTICE",
        }
    }
}

/// What a caution is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Hazard {
    /// Lithium cells and their charging.
    LithiumCell,
    /// Hot parts.
    Heat,
    /// Adapters fed from the mains.
    MainsAdapter,
    /// Sound that can harm hearing.
    LoudSound,
    /// Hot irons and fumes.
    Soldering,
    /// Anything else.
    General,
}

impl Hazard {
    /// The word in records.
    pub fn word(self) -> &'static str {
        match self {
            Hazard::LithiumCell => "lithium-cell",
            Hazard::Heat => "heat",
            Hazard::MainsAdapter => "mains-adapter",
            Hazard::LoudSound => "loud-sound",
            Hazard::Soldering => "soldering",
            Hazard::General => "general",
        }
    }
}

/// `[caution.<id>]`: a warning, and what makes it true.
#[derive(Debug)]
pub struct Caution {
    /// Id, with the place of the record's header.
    pub id: Located<String>,
    /// Signal word.
    pub signal: Signal,
    /// What the hazard is.
    pub hazard: Located<String>,
    /// What may happen.
    pub consequence: Option<Located<String>>,
    /// How to avoid it.
    pub avoid: Located<String>,
    /// The comparison that makes it true.
    pub because: Located<String>,
    /// What it is about.
    pub about: Hazard,
}

/// `[revision.<X>]`: what was different then.
#[derive(Debug)]
pub struct Revision {
    /// Its letter or number, with the place of the record's header.
    pub id: Located<String>,
    /// Date of issue.
    pub date: Located<Date>,
    /// What changed after it, in words.
    pub changes: Vec<Located<String>>,
    /// Designators that carried other parts then.
    pub fitted: Vec<Fitted>,
}

/// `[working.<id>]`: a worked calculation of a known kind.
#[derive(Debug)]
pub struct WorkingRecord {
    /// Id, with the place of the record's header.
    pub id: Located<String>,
    /// Kind, still text.
    pub kind: Located<String>,
    /// What it is for, in words.
    pub means: Option<Located<String>>,
    /// All other keys: formulas by input name, in the order written.
    pub inputs: Vec<(Located<String>, Located<String>)>,
}

/// `[[waiver]]`: lets a finding stand until its date.
#[derive(Debug)]
pub struct Waiver {
    /// Name of the kind of finding.
    pub finding: Located<String>,
    /// Path of the file it is in, with `:line` where only that line is meant.
    pub at: Located<String>,
    /// Why it may stand.
    pub reason: Located<String>,
    /// Last day on which it may.
    pub until: Located<Date>,
    /// The record's header.
    pub place: Place,
}
