//! What a notebook's records hold once they are read.
//!
//! Every value keeps the place that it came from. Names that point at other
//! records are still text here; the notebook resolves them.

use std::sync::Arc;

use jiff::civil::Date;

use super::bom::BomRecord;
use super::complete::Complete;
use super::fixture::FixtureRecord;
use super::kind::PartKind;
use super::pins::{Connector, Mapping, ModuleBus, ModulePin, Pins, Stack};
use super::purchase::{Costs, Purchase};
use super::word::{
    Audience, CoverageInterval, EmittedForm, Hazard, LifeCycle, Placing, Scatter, Signal,
    SpreadPolicy, Status,
};
use crate::finding::{FileId, Located, Place};
use crate::quantity::{Given, Statement, Unit};

/// All records of a notebook. A copy shares its boards with the original until
/// one of them is changed.
#[derive(Clone, Debug)]
pub struct Records {
    /// `notebook.toml`.
    pub notebook: NotebookRecord,
    /// All parts, ordered by id.
    pub parts: Vec<Part>,
    /// All controller modules, ordered by id.
    pub modules: Vec<Module>,
    /// All connectors, ordered by id.
    pub connectors: Vec<Connector>,
    /// All boards, ordered by id.
    pub boards: Vec<Arc<Board>>,
    /// Stacks that are promised, in the order written.
    pub stacks: Vec<Stack>,
    /// Parts, modules and boards that are there and could not be read.
    pub left_out: Vec<LeftOut>,
    /// Files with text that could not be read as TOML: what is missing from
    /// them may only be hidden.
    pub damaged: Vec<FileId>,
}

impl Records {
    /// The part of this id.
    pub fn part(&self, id: &str) -> Option<&Part> {
        self.parts.get(self.part_at(id)?)
    }

    /// The position of the part of this id.
    pub fn part_at(&self, id: &str) -> Option<usize> {
        by_id(&self.parts, id, |part| &part.id.value)
    }

    /// The controller module of this id.
    pub fn module(&self, id: &str) -> Option<&Module> {
        self.modules.get(self.module_at(id)?)
    }

    /// The position of the controller module of this id.
    pub fn module_at(&self, id: &str) -> Option<usize> {
        by_id(&self.modules, id, |module| &module.id.value)
    }

    /// The connector of this id.
    pub fn connector(&self, id: &str) -> Option<&Connector> {
        let at = by_id(&self.connectors, id, |connector| &connector.id.value)?;
        self.connectors.get(at)
    }

    /// The board of this id.
    pub fn board(&self, id: &str) -> Option<&Board> {
        self.boards.get(self.board_at(id)?).map(Arc::as_ref)
    }

    /// The position of the board of this id.
    pub fn board_at(&self, id: &str) -> Option<usize> {
        by_id(&self.boards, id, |board| &board.id.value)
    }
}

/// The position of an id among records that are ordered by id.
fn by_id<T>(records: &[T], id: &str, id_of: impl Fn(&T) -> &str) -> Option<usize> {
    records
        .binary_search_by(|record| id_of(record).cmp(id))
        .ok()
}

/// Something that is in the files and could not be read.
///
/// A finding says why. Whoever meets its name elsewhere knows by this that the
/// name is not unknown.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LeftOut {
    /// What it was to be: `part`, `figure`, `fitted`.
    pub kind: &'static str,
    /// Its name as written, which need not be well formed.
    pub name: String,
}

/// `notebook.toml`: what holds for the whole notebook.
#[derive(Clone, Debug)]
pub struct NotebookRecord {
    /// Title of the drawing set; a stand-in where it could not be read.
    pub title: String,
    /// Legal owner (ISO 7200); empty where it could not be read.
    pub owner: String,
    /// SPDX licence expression.
    pub licence: Option<Located<String>>,
    /// SPDX licence expression of the software that comes with the boards.
    pub software_licence: Option<Located<String>>,
    /// Address under which the files that can be edited are published.
    pub source: Option<Located<String>>,
    /// Language tag (BCP 47).
    pub language: String,
    /// Who made the sheets (ISO 7200: creator).
    pub made_by: Option<Located<String>>,
    /// Who checked them (ISO 7200: approval person).
    pub checked_by: Option<Located<String>>,
    /// Address at which the bound notebook will stand.
    pub address: Option<Located<String>>,
    /// A sentence that stands on every sheet.
    pub notice: Option<Located<String>>,
    /// Folder of the user's own look, relative to the notebook's folder.
    pub theme: Option<Located<String>>,
    /// Currency of all prices (ISO 4217).
    pub currency: Option<Located<String>>,
    /// What making boards costs beside their parts.
    pub costs: Option<Costs>,
    /// How it counts.
    pub policy: Policy,
    /// Waivers that hold anywhere in the notebook.
    pub waivers: Vec<Waiver>,
    /// Files for firmware, in the order written.
    pub emits: Vec<EmitRecord>,
    /// The `[notebook]` header; nowhere if there is no `notebook.toml`.
    pub place: Option<Place>,
}

/// `[policy]`: how the notebook, or one board of it, counts. What is not said
/// is as it is one level up.
#[derive(Clone, Debug, Default)]
pub struct Policy {
    /// How the tolerances of inputs go together.
    pub spread: Option<SpreadPolicy>,
    /// Share of all draws that a spread holds.
    pub coverage: Option<Located<Given>>,
    /// Which interval with that share.
    pub interval: Option<CoverageInterval>,
    /// Number that settles all draws.
    pub seed: Option<u64>,
}

/// How values lie within their tolerance.
#[derive(Clone, Debug, Default)]
pub struct ScatterRecord {
    /// The distribution.
    pub scatter: Scatter,
    /// How many standard deviations the tolerance is.
    pub coverage_factor: Option<Box<Located<Given>>>,
    /// Share of the variance that all parts of one reel have in common.
    pub reel_share: Option<Box<Located<Given>>>,
}

/// `[part.<id>]`: what the team stocks and fits.
#[derive(Clone, Debug)]
pub struct Part {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// What sort of part it is.
    pub kind: &'static PartKind,
    /// Name for people.
    pub title: Option<Located<String>>,
    /// Value and properties, in the order written.
    pub properties: Vec<Property>,
    /// Land pattern or case.
    pub package: Option<Located<String>>,
    /// Class of a capacitor's dielectric.
    pub dielectric: Option<Located<String>>,
    /// How it gets onto the board.
    pub placed: Option<Placing>,
    /// Where it stands in its life.
    pub life: LifeCycle,
    /// What buying it takes.
    pub purchase: Purchase,
    /// Parts that may be fitted in its place, by their ids.
    pub second_sources: Vec<Located<String>>,
    /// Where the figures are from.
    pub source: Option<Located<String>>,
    /// A remark.
    pub note: Option<Located<String>>,
    /// Who may read it.
    pub audience: Audience,
    /// How its values lie within their tolerances.
    pub scatter: ScatterRecord,
    /// Keys that are there, if misspelt, and could not be read.
    pub left_out: Vec<String>,
}

impl Board {
    /// Texts of the record that are words for people, and on which no value hangs.
    pub(crate) fn words(&self) -> impl Iterator<Item = &Located<String>> {
        let own = [&self.title, &self.summary].into_iter();
        let own = own.chain([&self.function, &self.tell].into_iter().flatten());
        let figures = self.figures.iter().flat_map(|figure| {
            let more = [&figure.note, &figure.source].into_iter().flatten();
            std::iter::once(&figure.means).chain(more)
        });
        let relations = self.relations.iter().map(|relation| &relation.means);
        let workings = self.workings.iter().filter_map(|it| it.means.as_ref());
        let cautions = self.cautions.iter().flat_map(|caution| {
            let texts = [&caution.hazard, &caution.avoid].into_iter();
            texts.chain(&caution.consequence)
        });
        own.chain(figures)
            .chain(relations)
            .chain(workings)
            .chain(cautions)
    }

    /// Known errors of a revision.
    pub fn errata_of<'b>(&'b self, revision: &'b str) -> impl Iterator<Item = &'b Erratum> {
        let affects = move |erratum: &&Erratum| {
            let mut affects = erratum.affects.iter();
            affects.any(|affected| affected.value == revision)
        };
        self.errata.iter().filter(affects)
    }
}

impl Part {
    /// The property of this name; the part's value is called `value`.
    pub fn property(&self, name: &str) -> Option<&Property> {
        self.properties
            .iter()
            .find(|property| property.name.value == name)
    }
}

/// A quantity that a part or a module has: `value`, `quiescent`.
#[derive(Clone, Debug)]
pub struct Property {
    /// Its name in formulas.
    pub name: Located<String>,
    /// What it means; empty for a property of the team's own.
    pub means: &'static str,
    /// The quantity.
    pub given: Located<Given>,
}

impl Property {
    /// Who may read it: what a part costs is the team's.
    pub fn audience(&self) -> Audience {
        match self.name.value.as_str() {
            super::purchase::PRICE => Purchase::AUDIENCE,
            _ => Audience::Customers,
        }
    }
}

/// `[module.<id>]`: a controller module that boards are made for.
#[derive(Clone, Debug)]
pub struct Module {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// Name for people.
    pub title: Located<String>,
    /// One sentence on what it is.
    pub summary: Option<Located<String>>,
    /// Where the figures are from.
    pub source: Option<Located<String>>,
    /// Supplies, levels and the team's own properties, in the order written.
    pub properties: Vec<Property>,
    /// Its pins, in the order written.
    pub pins: Vec<ModulePin>,
    /// Its two-wire buses.
    pub buses: Vec<ModuleBus>,
    /// Its connectors.
    pub connectors: Vec<Mapping>,
    /// Keys that are there, if misspelt, and could not be read.
    pub left_out: Vec<String>,
}

impl Module {
    /// The property of this name, such as `supply`.
    pub fn property(&self, name: &str) -> Option<&Property> {
        self.properties
            .iter()
            .find(|property| property.name.value == name)
    }
}

/// `boards/<id>/board.toml`.
#[derive(Clone, Debug)]
pub struct Board {
    /// Id, which is the folder's name, with the place of the `[board]` header.
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
    /// Who may read of it.
    pub audience: Audience,
    /// Date of this revision.
    pub date: Option<Located<Date>>,
    /// SPDX licence expression of the board itself, where it is not the notebook's.
    pub licence: Option<Located<String>>,
    /// SPDX licence expression of its software, where it is not the notebook's.
    pub software_licence: Option<Located<String>>,
    /// SPDX licence expression of its documents, where it is not the notebook's.
    pub document_licence: Option<Located<String>>,
    /// What it is for and how it does it, for somebody who has never seen one.
    pub function: Option<Located<String>>,
    /// Issue of the documents of this revision.
    pub issue: Option<Located<String>>,
    /// Where its documents are.
    pub complete: Complete,
    /// Module that the board is made for.
    pub module: Option<Located<String>>,
    /// How it counts, where not as the notebook does.
    pub policy: Policy,
    /// Fitted parts, in the order written.
    pub fitted: Vec<Fitted>,
    /// Figures, in the order written.
    pub figures: Vec<FigureRecord>,
    /// Joint requirements, in the order written.
    pub relations: Vec<Relation>,
    /// Cautions, in the order written.
    pub cautions: Vec<Caution>,
    /// How to tell a board of this revision from earlier ones.
    pub tell: Option<Located<String>>,
    /// Earlier revisions, in the order written.
    pub revisions: Vec<Revision>,
    /// Known errors, in the order written.
    pub errata: Vec<Erratum>,
    /// Worked calculations, in the order written.
    pub workings: Vec<WorkingRecord>,
    /// Conditions that it works under, in the order written.
    pub conditions: Vec<Condition>,
    /// Small networks, in the order written.
    pub circuits: Vec<CircuitRecord>,
    /// Production tests, in the order written.
    pub fixtures: Vec<FixtureRecord>,
    /// What it uses of its module.
    pub pins: Option<Pins>,
    /// How its bill of materials is read.
    pub bom: Option<BomRecord>,
    /// Findings that may stand for a while.
    pub waivers: Vec<Waiver>,
    /// Records of the board that are there and could not be read.
    pub left_out: Vec<LeftOut>,
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
#[derive(Clone, Debug)]
pub struct FigureRecord {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// What the figure is, in words.
    pub means: Located<String>,
    /// Where its value comes from.
    pub body: FigureBody,
    /// Where a given value, or the formula, is from.
    pub source: Option<Located<String>>,
    /// Readings that are held against it.
    pub readings: Option<Box<Readings>>,
    /// What is printed on the board, in the shop, anywhere.
    pub says: Option<Located<Statement>>,
    /// What it has to be.
    pub must: Option<Located<Statement>>,
    /// How a given value lies within its tolerance.
    pub scatter: ScatterRecord,
    /// How the tolerances of its inputs go together, where not as on the board.
    pub spread: Option<SpreadPolicy>,
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
#[derive(Clone, Debug)]
pub enum FigureBody {
    /// Quoted, with its tolerance.
    Given(Located<Given>),
    /// A formula's text.
    From(Located<String>),
    /// Readings.
    Measured(Measured),
}

/// A column of readings.
#[derive(Clone, Debug)]
pub struct Measured {
    /// Name of the file in the board's folder `readings`.
    pub file: Located<String>,
    /// Head of the column: `slow current (mA)`.
    pub column: Located<String>,
}

/// Readings of a computed figure.
#[derive(Clone, Debug)]
pub struct Readings {
    /// The column.
    pub of: Measured,
    /// Expanded uncertainty of a reading (k = 2).
    pub error: Option<Located<Given>>,
    /// Day of the readings, where the name of the file does not say it.
    pub date: Option<Located<Date>>,
}

/// A range in which a formula is valid.
#[derive(Clone, Debug)]
pub struct ValidRange {
    /// The name that must stay inside.
    pub name: Located<String>,
    /// The range.
    pub range: Located<Statement>,
}

/// `[relation.<id>]`: a joint requirement between figures.
#[derive(Clone, Debug)]
pub struct Relation {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// What it is, in words.
    pub means: Located<String>,
    /// The comparison's text.
    pub holds: Located<String>,
}

/// `[caution.<id>]`: a warning, and what makes it true.
#[derive(Clone, Debug)]
pub struct Caution {
    /// Id, where the record's header names it.
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
#[derive(Clone, Debug)]
pub struct Revision {
    /// Its letter or number, where the record's header names it.
    pub id: Located<String>,
    /// Date of issue.
    pub date: Located<Date>,
    /// What changed after it, in words.
    pub changes: Vec<Located<String>>,
    /// How to tell a board of it.
    pub tell: Option<Located<String>>,
    /// Designators that carried other parts then.
    pub fitted: Vec<Fitted>,
}

/// `[[erratum]]`: a known error of boards that are out there.
#[derive(Clone, Debug)]
pub struct Erratum {
    /// What is wrong.
    pub means: Located<String>,
    /// Revisions that have it.
    pub affects: Vec<Located<String>>,
    /// How it shows.
    pub seen: Option<Located<String>>,
    /// What to do about it.
    pub workaround: Option<Located<String>>,
    /// Revision that no longer has it.
    pub fixed_in: Option<Located<String>>,
    /// Date on which it became known.
    pub date: Option<Located<Date>>,
    /// Where the record stands.
    pub place: Place,
}

/// `[working.<id>]`: a worked calculation of a known kind.
#[derive(Clone, Debug)]
pub struct WorkingRecord {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// Kind, still text.
    pub kind: Located<String>,
    /// What it is for, in words.
    pub means: Option<Located<String>>,
    /// What is printed and published, by result.
    pub says: Vec<(Located<String>, Located<Statement>)>,
    /// What is required, by result.
    pub must: Vec<(Located<String>, Located<Statement>)>,
    /// Who may read it.
    pub audience: Audience,
    /// All other keys: inputs by name, in the order written.
    pub inputs: Vec<(Located<String>, WorkingInput)>,
    /// Inputs that are there and could not be read.
    pub left_out: Vec<String>,
}

/// An input of a working, as it was written.
#[derive(Clone, Debug)]
pub enum WorkingInput {
    /// A formula or a word.
    Text(Located<String>),
    /// Formulas or words.
    Texts(Vec<Located<String>>),
    /// A whole number.
    Whole(u64),
    /// Inputs by name.
    Named(Vec<(Located<String>, WorkingInput)>),
}

/// `[condition.<id>]`: a condition that the board works under.
#[derive(Clone, Debug)]
pub struct Condition {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// Where or when that is, in words.
    pub means: Located<String>,
    /// Range of the temperature round the board.
    pub ambient: Located<Given>,
}

/// `[circuit.<id>]`: a small network of fitted parts.
#[derive(Clone, Debug)]
pub struct CircuitRecord {
    /// Id, where the record's header names it.
    pub id: Located<String>,
    /// What it is for, in words.
    pub means: Option<Located<String>>,
    /// Node that voltages are counted from.
    pub ground: Located<String>,
    /// Designators with the nodes that their parts lie between.
    pub between: Vec<(Located<String>, Vec<Located<String>>)>,
    /// Sources by name.
    pub drives: Vec<Drive>,
    /// Designators of switches that are closed.
    pub closed: Vec<Located<String>>,
    /// Responses over frequency by name.
    pub responses: Vec<ResponseRecord>,
}

/// A source that drives a circuit.
#[derive(Clone, Debug)]
pub struct Drive {
    /// Its name.
    pub name: Located<String>,
    /// Formula of its steady voltage or current.
    pub steady: Located<String>,
    /// Whether it is a current.
    pub is_current: bool,
    /// Node that it drives.
    pub into: Located<String>,
    /// Node that it drives from, where that is not ground.
    pub from: Option<Located<String>>,
    /// Formula of the amplitude of the sine that it adds.
    pub amplitude: Option<Located<String>>,
}

/// The voltage of one node for each volt of another, at a frequency.
#[derive(Clone, Debug)]
pub struct ResponseRecord {
    /// Its name.
    pub name: Located<String>,
    /// Node that it is compared with.
    pub from: Located<String>,
    /// Node that is looked at.
    pub to: Located<String>,
    /// Frequency.
    pub at: Located<Given>,
}

/// `[[emit]]`: a file for firmware.
#[derive(Clone, Debug)]
pub struct EmitRecord {
    /// Path of the file, counted from the notebook's folder.
    pub file: Located<String>,
    /// Its form, where the ending does not tell.
    pub form: Option<EmittedForm>,
    /// What it is for, in words.
    pub means: Option<Located<String>>,
    /// Its constants, in the order written.
    pub constants: Vec<EmittedConstant>,
    /// Names of tables, each with the name of a working.
    pub tables: Vec<(Located<String>, Located<String>)>,
    /// Names of fixtures whose limits it has.
    pub limits: Vec<Located<String>>,
    /// Whether something of it could not be read: it is not the whole file then.
    pub is_damaged: bool,
}

/// A constant of a file for firmware.
#[derive(Clone, Debug)]
pub struct EmittedConstant {
    /// Its name there.
    pub name: Located<String>,
    /// Name of the figure.
    pub of: Located<String>,
    /// Unit of the number.
    pub unit: Option<Located<Unit>>,
    /// Whether it is written as a whole number.
    pub is_whole: bool,
    /// What it is, in words, where not as the figure says.
    pub means: Option<Located<String>>,
}

/// `[[waiver]]`: lets a finding stand until its date.
#[derive(Clone, Debug)]
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

impl Waiver {
    /// The path of the file that it is about, and the line where only that
    /// line is meant.
    pub fn file_and_line(&self) -> (&str, Option<usize>) {
        let at = self.at.value.as_str();
        let split = at.rsplit_once(':');
        match split.and_then(|(path, line)| Some((path, line.parse().ok()?))) {
            Some((path, line)) => (path, Some(line)),
            None => (at, None),
        }
    }
}
