//! Findings: what is wrong, where, how bad, and the mend.
//!
//! A finding is data; how it looks on a terminal or as JSON is the business of
//! the two renderers. Every module that checks something makes findings here
//! and nobody else formats them.

mod change;
mod excerpt;
pub mod json;
mod order;
mod place;
mod quoted;
mod summary;
mod terminal;
mod text;

pub(crate) use change::edited;
pub use change::unified;
pub use order::order;
pub(crate) use place::stretch;
pub use place::{FileId, Located, Place, SourceFile, Sources};
pub(crate) use quoted::quoted;
pub use summary::{FigureCount, Summary};
pub use terminal::{TerminalStyle, draw, draw_summary};

pub(crate) use crate::nearest::nearest;

use std::fmt;

/// How bad a finding is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Level {
    /// The notebook does not bind.
    Error,
    /// The notebook binds, and somebody should look.
    Caution,
    /// Worth knowing.
    Note,
}

impl Level {
    /// The word that stands before the message.
    pub fn word(self) -> &'static str {
        match self {
            Level::Error => "error",
            Level::Caution => "caution",
            Level::Note => "note",
        }
    }
}

macro_rules! slugs {
    ($($variant:ident $level:ident $slug:literal $says:literal,)*) => {
        /// The kind of a finding: the sentence it says.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum Slug {
            $(#[doc = $says] $variant,)*
        }

        impl Slug {
            /// Every kind there is.
            pub const ALL: &[Slug] = &[$(Slug::$variant,)*];

            /// The name that findings are filed, waived and looked up under.
            pub fn name(self) -> &'static str {
                match self { $(Slug::$variant => $slug,)* }
            }

            /// What such a finding says, in a sentence.
            pub fn says(self) -> &'static str {
                match self { $(Slug::$variant => $says,)* }
            }

            /// How bad such a finding is.
            pub fn level(self) -> Level {
                match self { $(Slug::$variant => Level::$level,)* }
            }
        }
    };
}

slugs! {
    FileUnreadable Error "file-unreadable" "A file of the notebook cannot be read.",
    TooLarge Error "too-large" "A file, or a piece of text in it, is larger than what is read.",
    LinkLoop Error "link-loop" "A symbolic link leads back into a folder that it lies in.",
    OutsideNotebook Error "outside-notebook" "A link or a path leads out of the notebook's folder.",
    TomlSyntax Error "toml-syntax" "The text is not TOML.",
    UnknownKey Error "unknown-key" "A record has a key that no record of its kind has.",
    MissingKey Error "missing-key" "A record lacks a key that it must have.",
    WrongType Error "wrong-type" "A value is of another type than its key takes.",
    BadValue Error "bad-value" "A value is none of those that its key takes.",
    BadId Error "bad-id" "An id is not of the form that ids have, or reads as a unit.",
    DuplicateId Error "duplicate-id" "Two records have the same id.",
    MissingRecord Error "missing-record" "A file that the notebook cannot do without is not there.",
    QuantityForm Error "quantity-form" "Text that should be a quantity is none.",
    UnknownUnit Error "unknown-unit" "A unit is not known.",
    DecimalComma Error "decimal-comma" "A comma stands where numerals have a point.",
    FormulaForm Error "formula-form" "A formula cannot be read.",
    UnknownName Error "unknown-name" "A name means nothing here.",
    UnitMismatch Error "unit-mismatch" "Two quantities that are set against each other differ in dimension.",
    NotComputable Error "not-computable" "A figure has no value.",
    CircularFigures Error "circular-figures" "Figures depend on each other in a circle.",
    BadCircuit Error "bad-circuit" "A circuit is not one that can be solved.",
    RatingExceeded Error "rating-exceeded" "A part is strained beyond its rating at worst case.",
    FigureDisagrees Error "figure-disagrees" "A stated number is not what the figure comes to.",
    RequirementMissed Error "requirement-missed" "A figure does not meet what it must.",
    RelationBroken Error "relation-broken" "A relation between figures does not hold at worst case.",
    OutsideValidity Error "outside-validity" "A formula is used outside the range in which it is valid.",
    CautionWithoutCause Error "caution-without-cause" "A caution stands although what makes it true does not hold.",
    HazardWithoutCaution Error "hazard-without-caution" "A board carries a hazard that no caution speaks of.",
    ReadingOutside Error "reading-outside" "A board that was measured contradicts what is computed.",
    EmittedFileDiffers Error "emitted-file-differs" "A file for firmware is not what would be written.",
    OrderCodeShared Error "order-code-shared" "One order code stands on two parts.",
    SecondSourceDiffers Error "second-source-differs" "A part that may stand in for another is not the same.",
    TitleDiffers Error "title-differs" "The title of a part says another value than its record.",
    PartEnds Caution "part-ends" "A board carries a part that is no longer made, or soon will not be.",
    BomDiffers Error "bom-differs" "The bill of materials and the board's record disagree.",
    PinTaken Error "pin-taken" "Two boards of a stack use one pin, or one thing behind it.",
    PinUnfit Error "pin-unfit" "A board asks of a pin what its module cannot do there.",
    AddressTaken Error "address-taken" "Two devices on one bus have one address.",
    SupplyExceeded Error "supply-exceeded" "A supply does not give the current or the voltage that boards take from it.",
    BackFeed Error "back-feed" "Current can flow from one supply back into another.",
    Height Error "height" "Two boards of a stack cannot lie over one another.",
    TimerShared Error "timer-shared" "Two boards need one timer in two ways.",
    PullUpLimits Error "pull-up-limits" "The pull-ups of a stack are outside the limits of the bus.",
    DeadLink Error "dead-link" "A link leads nowhere.",
    RefusedAddress Error "refused-address" "An address is of a kind that sheets do not link to.",
    RawHtml Caution "raw-html" "HTML in Markdown is shown as text, never passed through.",
    NoTitle Caution "no-title" "A sheet has no heading to take its title from.",
    NoAlternativeText Caution "no-alternative-text" "A picture has no text for those who cannot see it.",
    DocumentMissing Caution "document-missing" "A document that others need to make, test or repair a board is not there.",
    ManifestIncomplete Note "manifest-incomplete" "A board's records lack what its open hardware manifest must have.",
    LooseQuantity Note "loose-quantity" "A quantity in prose hangs on no figure.",
    SiWriting Note "si-writing" "A quantity is written against the rules of the SI.",
    SpreadOpen Note "spread-open" "The extremes of a figure could not be pinned down.",
    WaiverOverdue Error "waiver-overdue" "A waiver has passed its date.",
    WaiverIdle Error "waiver-idle" "A waiver matches no finding.",
}

impl fmt::Display for Slug {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// A place in a file, with what is to be said of it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Label {
    /// Where.
    pub place: Place,
    /// What stands there, in a few words.
    pub text: String,
}

/// Text that would stand well in the place of what is there.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mend {
    /// What is replaced.
    pub place: Place,
    /// The text to put there.
    pub text: String,
}

/// Something that is wrong.
///
/// The first label is the place that the finding is about; the others say why.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Finding {
    /// Which kind of finding.
    pub slug: Slug,
    /// How bad; the kind's own level unless something speaks against it.
    pub level: Level,
    /// What is wrong, in one sentence without a full stop.
    pub message: String,
    /// Where, the place itself first, then what it disagrees with.
    pub labels: Vec<Label>,
    /// Further facts: how far apart, how it was computed, how it likely drifted.
    pub notes: Vec<String>,
    /// What to do about it.
    pub help: Option<String>,
    /// The text that would hold.
    pub mend: Option<Mend>,
}

impl Finding {
    /// A finding of this kind, at the kind's own level, without a place yet.
    pub fn new(slug: Slug, message: impl Into<String>) -> Finding {
        Finding {
            slug,
            level: slug.level(),
            message: message.into(),
            labels: Vec::new(),
            notes: Vec::new(),
            help: None,
            mend: None,
        }
    }

    /// Adds a place; the first one added is the place that the finding is about.
    pub fn at(mut self, place: Place, text: impl Into<String>) -> Finding {
        self.labels.push(Label {
            place,
            text: text.into(),
        });
        self
    }

    /// Adds a fact.
    pub fn note(mut self, text: impl Into<String>) -> Finding {
        self.notes.push(text.into());
        self
    }

    /// Says what to do about it.
    pub fn help(mut self, text: impl Into<String>) -> Finding {
        self.help = Some(text.into());
        self
    }

    /// Offers text that would hold in the place of what is there.
    pub fn mend(mut self, place: Place, text: impl Into<String>) -> Finding {
        self.mend = Some(Mend {
            place,
            text: text.into(),
        });
        self
    }

    /// The place that the finding is about.
    pub fn place(&self) -> Option<&Place> {
        self.labels.first().map(|label| &label.place)
    }
}
