//! Every record there is: its keys, what they take, and what they mean.
//!
//! A row is a key, so the layout of this file is its own.

use super::complete::COMPLETE;
use super::pin_shapes::{CONNECTOR, MODULE_BUS, MODULE_PIN, PINS, STACK};
use super::shape::{Key, Names, Rest, Shape, Takes};
use super::purchase_shapes::{BOM, COST, PRICES};
use super::word::{Audience, CoverageInterval, EmittedForm, Hazard, LifeCycle, Placing, Scatter, Signal, SpreadPolicy, Status};
use crate::quantity::Dimension;

pub(super) const fn must(name: &'static str, takes: Takes, means: &'static str) -> Key {
    Key { name, takes, required: true, means }
}

pub(super) const fn may(name: &'static str, takes: Takes, means: &'static str) -> Key {
    Key { name, takes, required: false, means }
}

/// A record with the keys that are listed and no others.
pub(super) const fn record(
    name: &'static str,
    one: &'static str,
    header: &'static str,
    means: &'static str,
    keys: &'static [Key],
) -> Shape {
    Shape { name, one, header, means, keys, rest: Rest::Nothing, one_of: &[] }
}

const ANY_QUANTITY: Takes = Takes::Quantity(None);
pub(super) const VOLTAGE: Takes = Takes::Quantity(Some(Dimension::VOLTAGE));
pub(super) const CURRENT: Takes = Takes::Quantity(Some(Dimension::CURRENT));
const COUNT: Takes = Takes::Quantity(Some(Dimension::COUNTS));
const AUDIENCE: Key = may(
    "audience",
    Takes::Word(Audience::WORDS),
    "who may read it; customers, and with them everybody, if nothing is said",
);
const OWN_PROPERTIES: Key = may(
    "property",
    Takes::Named(Names::Id, &ANY_QUANTITY),
    "properties of your own, by name",
);

pub(crate) static NOTEBOOK: Shape = record(
    "notebook",
    "the notebook's record",
    "[notebook]",
    "What holds for the whole notebook; most of it stands in the title block of every sheet (ISO 7200).",
    &[
        must("title", Takes::Text, "title of the drawing set"),
        must("owner", Takes::Text, "legal owner"),
        may("licence", Takes::Licence, "licence of the notebook, as an SPDX expression"),
        may("language", Takes::Language, "language that the sheets are written in; `en` if nothing is said"),
        may("made_by", Takes::Text, "role of those who made the sheets"),
        may("checked_by", Takes::Text, "role of those who checked them"),
        may("notice", Takes::Text, "a notice that stands on every sheet"),
        may("software_licence", Takes::Licence, "licence of the software that comes with the boards, as an SPDX expression"),
        may("source", Takes::WebAddress, "address under which the files that can be edited are published"),
        may("address", Takes::WebAddress, "address at which the bound notebook will stand; feed and site map name it"),
        may("theme", Takes::Folder, "folder of your own look, as a path from the notebook's folder"),
        may("currency", Takes::Currency, "currency of all prices (ISO 4217)"),
    ],
);

const SPREAD: Key = may(
    "spread",
    Takes::Word(SpreadPolicy::WORDS),
    "how the tolerances of inputs go together; worst-case if nothing is said",
);

pub(crate) static POLICY: Shape = record(
    "policy",
    "the policy",
    "[policy]",
    "How the notebook, or a board of it, counts.",
    &[
        SPREAD,
        may("coverage", Takes::Quantity(Some(Dimension::ONE)), "share of all draws that a spread holds; 95 % if nothing is said"),
        may("interval", Takes::Word(CoverageInterval::WORDS), "which interval with that share; symmetric if nothing is said"),
        may("seed", Takes::Whole, "number that settles all draws; 1 if nothing is said"),
    ],
);

const SCATTER: Key = may(
    "scatter",
    Takes::Word(Scatter::WORDS),
    "how values lie within their tolerance; rectangular if nothing is said",
);
const COVERAGE_FACTOR: Key = may(
    "coverage_factor",
    Takes::Quantity(Some(Dimension::ONE)),
    "how many standard deviations a tolerance is, where values are normal; 2 if nothing is said",
);
pub(crate) static WAIVER: Shape = record(
    "waiver",
    "a waiver",
    "[[waiver]]",
    "Lets a finding stand until its date.",
    &[
        must("finding", Takes::FindingName, "name of the kind of finding"),
        must(
            "place",
            Takes::Text,
            "file that the finding is in, as a path from the notebook's folder, with `:` and the line where only that line is meant",
        ),
        must("reason", Takes::Text, "why it may stand"),
        must("until", Takes::Date, "last day on which it may"),
    ],
);

const WAIVERS: Key = may("waiver", Takes::List(&WAIVER), "findings that may stand for a while");

pub(crate) static PART: Shape = Shape {
    rest: Rest::Properties,
    ..record(
        "part",
        "a part",
        "[part.<id>]",
        "A part that the team stocks and fits, with what its data sheet says of it.",
        &[
            must("kind", Takes::PartKind, "what sort of part it is; it settles which properties the part may have"),
            may("title", Takes::Text, "name for people"),
            may("package", Takes::Text, "land pattern or case"),
            may("dielectric", Takes::Text, "class of a capacitor's dielectric, which settles what is left of its value at bias and in heat"),
            may("placed", Takes::Word(Placing::WORDS), "how it gets onto the board"),
            may("life", Takes::Word(LifeCycle::WORDS), "where it stands in its life; active if nothing is said"),
            may("prices", PRICES, "price of one by how many are bought at once, in the notebook's currency; for the team only"),
            may("stock", Takes::Whole, "pieces on hand; for the team only"),
            may("orders", Takes::Named(Names::Id, &Takes::Text), "order code at each supplier, the usual one first; for the team only"),
            may("second_sources", Takes::Texts, "parts that may be bought and fitted in its place, by their ids"),
            may("source", Takes::Text, "where the properties are from"),
            may("note", Takes::Text, "a remark"),
            SCATTER,
            COVERAGE_FACTOR,
            may(
                "reel_share",
                Takes::Quantity(Some(Dimension::ONE)),
                "share of the variance that all parts of one reel have in common; none if nothing is said",
            ),
            AUDIENCE,
            OWN_PROPERTIES,
        ],
    )
};

pub(crate) static MODULE: Shape = record(
    "module",
    "a module",
    "[module.<id>]",
    "A controller module that boards are made for.",
    &[
        must("title", Takes::Text, "name for people"),
        may("summary", Takes::Text, "what it is, in a sentence"),
        may("source", Takes::Text, "where the properties are from"),
        may("supply", VOLTAGE, "supply voltage that it provides to boards"),
        may("supply_limit", CURRENT, "greatest current that boards together may draw"),
        may("logic_high", VOLTAGE, "least voltage that it reads as high"),
        may("logic_low", VOLTAGE, "greatest voltage that it reads as low"),
        may("pin_count", COUNT, "number of its pins"),
        OWN_PROPERTIES,
        may("pin", Takes::Named(Names::Pin, &Takes::Table(&MODULE_PIN)), "its pins by name"),
        may("bus", Takes::Named(Names::Id, &Takes::Table(&MODULE_BUS)), "its two-wire buses by name"),
        may(
            "connector",
            Takes::Named(Names::Id, &Takes::Named(Names::Pin, &Takes::Text)),
            "connectors that it has: the pin behind each contact",
        ),
    ],
);

pub(crate) static BOARD: Shape = record(
    "board",
    "a board's record",
    "[board]",
    "What the board is and where it stands in its life.",
    &[
        may("id", Takes::Id("board"), "the board's id; the same as its folder's name"),
        must("title", Takes::Text, "name for people"),
        must("revision", Takes::Mark, "revision that the records describe"),
        must("status", Takes::Word(Status::WORDS), "where the board stands in its life"),
        must("summary", Takes::Text, "what the board does, in a sentence"),
        may("date", Takes::Date, "date of this revision"),
        may("licence", Takes::Licence, "licence of the board itself, as an SPDX expression, where it is not the notebook's"),
        may("software_licence", Takes::Licence, "licence of its software, as an SPDX expression, where it is not the notebook's"),
        may("document_licence", Takes::Licence, "licence of its documents, as an SPDX expression, where it is not the notebook's"),
        may("function", Takes::Text, "what the board is for and how it does it, for somebody who has never seen one"),
        may("issue", Takes::Mark, "issue of the documents of this revision"),
        may("module", Takes::Id("module"), "module that the board is made for"),
        may(
            "audience",
            Takes::Word(Audience::WORDS),
            "who may read of it; the team while it is a concept, customers then, if nothing is said",
        ),
        may("tell", Takes::Text, "how to tell a board of this revision from earlier ones"),
    ],
);

pub(crate) static FITTED_PLACE: Shape = record(
    "fitted_place",
    "a place for a part",
    "{ part = \"…\", fit = false }",
    "A place on the board for a part, which may be left empty.",
    &[
        must("part", Takes::Id("part"), "part that the place is for"),
        may("fit", Takes::Flag, "whether the part is really fitted; true if nothing is said"),
    ],
);

const FITTED: Takes = Takes::Named(Names::Designator, &Takes::Short("part", &FITTED_PLACE));

pub(crate) static FIGURE: Shape = Shape {
    one_of: &[&["given", "source"], &["from"], &["measured"]],
    ..record(
        "figure",
        "a figure",
        "[figure.<id>]",
        "A number that can drift: given with its source, computed from a formula, or measured.",
        &[
            must("means", Takes::Text, "what the figure is, in words"),
            may("given", ANY_QUANTITY, "its value with its tolerance, quoted from the source"),
            may("from", Takes::Formula, "formula that it is computed from"),
            may("measured", Takes::Table(&MEASURED), "readings that it is the mean of, and strays as"),
            may("source", Takes::Text, "where the value or the formula is from"),
            may("readings", Takes::Table(&READINGS), "readings of boards that were measured, held against what is computed"),
            may("says", Takes::Statement, "what is stated of it on the board, in the shop, anywhere"),
            may("must", Takes::Statement, "what it is required to be"),
            SCATTER,
            COVERAGE_FACTOR,
            SPREAD,
            may("unit", Takes::Unit, "unit to show it in"),
            may("symbol", Takes::Text, "letter symbol for it in formulas, with its subscript after an underscore"),
            may(
                "holds_for",
                Takes::Named(Names::Reference, &Takes::Statement),
                "ranges of names within which the formula is valid",
            ),
            may("at", Takes::Text, "conditions, shown wherever the number is shown"),
            AUDIENCE,
            may("note", Takes::Text, "a remark"),
            may("headline", Takes::Flag, "whether the front sheet shows it first"),
        ],
    )
};

pub(crate) static MEASURED: Shape = record(
    "measured",
    "a reference to readings",
    "{ file = \"…\", column = \"…\" }",
    "Readings of a value: a column of a CSV file in the board's folder `readings`.",
    &[
        must("file", Takes::Text, "name of the file"),
        must("column", Takes::Text, "head of the column, with the unit of its values in brackets"),
    ],
);

pub(crate) static READINGS: Shape = record(
    "readings",
    "a reference to readings of a computed value",
    "{ file = \"…\", column = \"…\" }",
    "Readings of boards that were measured: a column of a CSV file in the board's folder `readings`.",
    &[
        must("file", Takes::Text, "name of the file"),
        must("column", Takes::Text, "head of the column, with the unit of its values in brackets"),
        may("error", ANY_QUANTITY, "expanded uncertainty of a reading (k = 2); none if nothing is said"),
        may("date", Takes::Date, "day of the readings, where the name of the file does not begin with it"),
    ],
);

pub(crate) static RELATION: Shape = record(
    "relation",
    "a relation",
    "[relation.<id>]",
    "A joint requirement between figures, compared at worst case.",
    &[
        must("means", Takes::Text, "what is required, in words"),
        must("holds", Takes::Comparison, "the comparison that has to hold"),
    ],
);

pub(crate) static CAUTION: Shape = record(
    "caution",
    "a caution",
    "[caution.<id>]",
    "A warning, and what makes it true.",
    &[
        must("signal", Takes::Word(Signal::WORDS), "signal word (ANSI Z535.6, ISO 3864-2)"),
        must("hazard", Takes::Text, "what the hazard is"),
        may("consequence", Takes::Text, "what may happen"),
        must("avoid", Takes::Text, "how to avoid it"),
        must("because", Takes::Comparison, "the comparison that makes it true"),
        may("about", Takes::Word(Hazard::WORDS), "what it is about; general if nothing is said"),
    ],
);

pub(crate) static REVISION: Shape = record(
    "revision",
    "a revision",
    "[revision.<letter>]",
    "An earlier revision, and what was different then.",
    &[
        must("date", Takes::Date, "date of issue"),
        may("changes", Takes::Texts, "what changed after it, in words"),
        may("tell", Takes::Text, "how to tell a board of this revision from others"),
        may("fitted", FITTED, "designators that carried other parts then"),
    ],
);

pub(crate) static ERRATUM: Shape = record(
    "erratum",
    "an erratum",
    "[[erratum]]",
    "A known error of boards that are out there.",
    &[
        must("means", Takes::Text, "what is wrong, in a sentence"),
        must("affects", Takes::Texts, "revisions that have it"),
        may("seen", Takes::Text, "how it shows"),
        may("workaround", Takes::Text, "what to do about it on a board that has it"),
        may("fixed_in", Takes::Mark, "revision that no longer has it"),
        may("date", Takes::Date, "date on which it became known"),
    ],
);

pub(crate) static WORKING: Shape = Shape {
    rest: Rest::Inputs,
    ..record(
        "working",
        "a working",
        "[working.<id>]",
        "A worked calculation of a known kind; every other key is one of its inputs.",
        &[
            must("kind", Takes::Text, "kind of the calculation"),
            may("means", Takes::Text, "what it is for, in words"),
            may("says", Takes::Named(Names::Label, &Takes::Statement), "what is printed and published, by result"),
            may("must", Takes::Named(Names::Label, &Takes::Statement), "what is required, by result"),
            may("audience", Takes::Word(Audience::WORDS), "who may read it"),
        ],
    )
};

pub(crate) static CONDITION: Shape = record(
    "condition",
    "a condition",
    "[condition.<id>]",
    "A condition that the board works under; parts with a temperature coefficient stray with it.",
    &[
        must("means", Takes::Text, "where or when that is, in words"),
        must("ambient", Takes::Quantity(Some(Dimension::TEMPERATURE)), "range of the temperature round the board"),
    ],
);

pub(crate) static DRIVE: Shape = Shape {
    one_of: &[&["voltage"], &["current"]],
    ..record(
        "drive",
        "a drive",
        "{ current = \"…\", into = \"…\" }",
        "A source that drives a circuit: a voltage at a node, or a current into one.",
        &[
            may("voltage", Takes::Formula, "voltage of the node, steady"),
            may("current", Takes::Formula, "current into the node, steady"),
            must("into", Takes::Text, "node that it drives"),
            may("from", Takes::Text, "node that it drives from; ground if nothing is said"),
            may("amplitude", Takes::Formula, "amplitude of the sine that it adds, for the response over frequency"),
        ],
    )
};

pub(crate) static RESPONSE: Shape = record(
    "response",
    "a response",
    "{ from = \"…\", to = \"…\", at = \"…\" }",
    "Voltage of one node for each volt of another, at a frequency.",
    &[
        must("from", Takes::Text, "node that it is compared with"),
        must("to", Takes::Text, "node that is looked at"),
        must("at", Takes::Quantity(Some(Dimension::FREQUENCY)), "frequency"),
    ],
);

pub(crate) static CIRCUIT: Shape = record(
    "circuit",
    "a circuit",
    "[circuit.<id>]",
    "A small network of fitted parts between named nodes.",
    &[
        may("means", Takes::Text, "what it is for, in words"),
        must("ground", Takes::Text, "node that voltages are counted from"),
        must(
            "between",
            Takes::Named(Names::Designator, &Takes::Texts),
            "nodes of each part: a diode's anode first, an amplifier's plus input, minus input and output",
        ),
        may("drive", Takes::Named(Names::Id, &Takes::Table(&DRIVE)), "sources by name"),
        may("closed", Takes::Texts, "switches that are closed; all others are open"),
        may("response", Takes::Named(Names::Id, &Takes::Table(&RESPONSE)), "responses over frequency by name"),
    ],
);

pub(crate) static FIXTURE: Shape = record(
    "fixture",
    "a fixture",
    "[fixture.<id>]",
    "A production test: its steps, and the limits that follow from the spread of good boards.",
    &[
        must("tests", Takes::Id("board"), "board that is tested"),
        may("means", Takes::Text, "what it is for, in words"),
        may(
            "guard",
            Takes::Quantity(Some(Dimension::ONE)),
            "guard band by the error of each measurement: limits lie so far within the spread of good boards; 1 if nothing is said",
        ),
        may(
            "good_before",
            Takes::Quantity(Some(Dimension::ONE)),
            "share of boards that come to the test without a fault",
        ),
        may("outline", Takes::Texts, "length and width of the board that it holds"),
        may("touches", Takes::Named(Names::Reference, &Takes::Texts), "places of the test points, by net"),
        may("step", Takes::Named(Names::Id, &Takes::Table(&FIXTURE_STEP)), "steps in their order, by id"),
        may("audience", Takes::Word(Audience::WORDS), "who may read it; the team if nothing is said"),
    ],
);

pub(crate) static FIXTURE_STEP: Shape = record(
    "fixture_step",
    "a step of a fixture",
    "[fixture.<id>.step.<id>]",
    "A step of a production test: what is set and applied, what is measured, and what it sees.",
    &[
        may("means", Takes::Text, "what it tests, in words"),
        may("set", Takes::Text, "what is set before"),
        may("apply", Takes::Text, "what is applied"),
        must("measures", Takes::Formula, "what is measured, as a formula of the fixture's own board"),
        must("error", Takes::Formula, "expanded uncertainty of the measurement (k = 2)"),
        may("resolution", Takes::Formula, "resolution of the converter that measures, in bits"),
        may("reference", Takes::Formula, "reference voltage of that converter"),
        may(
            "sees",
            Takes::Named(Names::Designator, &Takes::Texts),
            "faults that it sees beyond those that can be tried by computing: missing, open, short, reversed",
        ),
        may("says", Takes::Named(Names::Label, &Takes::Statement), "limits as they are stated: low, high, low_counts, high_counts"),
    ],
);

const fn file(name: &'static str, one: &'static str, means: &'static str, keys: &'static [Key]) -> Shape {
    record(name, one, "", means, keys)
}

pub(crate) static NOTEBOOK_FILE: Shape = file(
    "notebook_file",
    "`notebook.toml`",
    "The file `notebook.toml`.",
    &[
        must("notebook", Takes::Table(&NOTEBOOK), "what holds for the whole notebook"),
        may("policy", Takes::Table(&POLICY), "how the notebook counts"),
        may("cost", Takes::Table(&COST), "what making boards costs beside their parts"),
        WAIVERS,
        may("emit", Takes::List(&EMIT), "files for firmware"),
    ],
);

pub(crate) static EMIT: Shape = record(
    "emit",
    "a file for firmware",
    "[[emit]]",
    "A file that `ohmbook emit` writes: constants, tables and limits for firmware.",
    &[
        must("file", Takes::Text, "the file, as a path from the notebook's folder, with `/` between its steps; it may lead out with `..`"),
        may("form", Takes::Word(EmittedForm::WORDS), "form of the file, where its ending does not tell: .h, .rs, .py, .csv, .json"),
        may("means", Takes::Text, "what the file is for, in words"),
        may(
            "constants",
            Takes::Named(Names::Constant, &Takes::Short("of", &EMITTED_CONSTANT)),
            "numbers by the name that firmware knows them by",
        ),
        may(
            "tables",
            Takes::Named(Names::Constant, &Takes::Text),
            "workings whose tables are written, a column each, by the name that firmware knows them by",
        ),
        may("limits", Takes::Texts, "fixtures whose limits are written"),
    ],
);

pub(crate) static EMITTED_CONSTANT: Shape = record(
    "emitted_constant",
    "a constant for firmware",
    "{ of = \"…\", unit = \"…\" }",
    "A number for firmware: the nominal value of a figure, in a unit.",
    &[
        must("of", Takes::Text, "name of a figure, with its board where several have one"),
        may("unit", Takes::Unit, "unit of the number; the one that the figure is shown in if nothing is said"),
        may("whole", Takes::Flag, "whether it is written as a whole number; false if nothing is said"),
        may("means", Takes::Text, "what it is, in words, where not as the figure says"),
    ],
);

pub(crate) static PARTS_FILE: Shape = file(
    "parts_file",
    "a file of parts",
    "A file `parts/*.toml`.",
    &[may("part", Takes::Named(Names::Id, &Takes::Table(&PART)), "parts by id")],
);

pub(crate) static MODULES_FILE: Shape = file(
    "modules_file",
    "a file of modules",
    "A file `modules/*.toml`.",
    &[
        may("module", Takes::Named(Names::Id, &Takes::Table(&MODULE)), "controller modules by id"),
        may("connector", Takes::Named(Names::Id, &Takes::Table(&CONNECTOR)), "connectors by id"),
    ],
);

pub(crate) static STACKS_FILE: Shape = file(
    "stacks_file",
    "`stacks.toml`",
    "The file `stacks.toml`.",
    &[may("stack", Takes::Named(Names::Id, &Takes::Table(&STACK)), "stacks that are promised, by id")],
);

pub(crate) static BOARD_FILE: Shape = file(
    "board_file",
    "`board.toml`",
    "The file `board.toml` in a board's folder.",
    &[
        must("board", Takes::Table(&BOARD), "what the board is"),
        may("policy", Takes::Table(&POLICY), "how the board counts, where not as the notebook does"),
        may("fitted", FITTED, "parts by the designator of their place"),
        may("figure", Takes::Named(Names::Id, &Takes::Table(&FIGURE)), "figures by id"),
        may("relation", Takes::Named(Names::Id, &Takes::Table(&RELATION)), "joint requirements by id"),
        may("caution", Takes::Named(Names::Id, &Takes::Table(&CAUTION)), "cautions by id"),
        may("revision", Takes::Named(Names::Mark, &Takes::Table(&REVISION)), "earlier revisions by letter or number"),
        may("working", Takes::Named(Names::Id, &Takes::Table(&WORKING)), "worked calculations by id"),
        may("condition", Takes::Named(Names::Id, &Takes::Table(&CONDITION)), "conditions that the board works under, by id"),
        may("circuit", Takes::Named(Names::Id, &Takes::Table(&CIRCUIT)), "small networks by id"),
        may("pins", Takes::Table(&PINS), "what the board uses of its module"),
        may("bom", Takes::Table(&BOM), "how its bill of materials, `bom.csv`, is read"),
        WAIVERS,
        may("complete", Takes::Table(&COMPLETE), "where the board's documents are"),
        may("fixture", Takes::Named(Names::Id, &Takes::Table(&FIXTURE)), "production tests by id"),
        may("erratum", Takes::List(&ERRATUM), "known errors, each with the revisions that have it"),
    ],
);

/// The files, which lead to every other shape.
pub(crate) static FILES: [&Shape; 5] = [&NOTEBOOK_FILE, &PARTS_FILE, &MODULES_FILE, &BOARD_FILE, &STACKS_FILE];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_of_a_record_have_one_name_each_and_are_explained() {
        for shape in [
            &NOTEBOOK, &POLICY, &WAIVER, &PART, &MODULE, &BOARD, &FITTED_PLACE, &FIGURE, &MEASURED, &READINGS, &RELATION,
            &CAUTION, &REVISION, &ERRATUM, &WORKING, &CONDITION, &DRIVE, &RESPONSE, &CIRCUIT, &FIXTURE, &FIXTURE_STEP, &EMIT, &EMITTED_CONSTANT, &NOTEBOOK_FILE, &PARTS_FILE, &MODULES_FILE, &BOARD_FILE,
            &STACKS_FILE, &COST, &BOM,
        ].into_iter().chain(super::super::pin_shapes::ALL) {
            for (at, key) in shape.keys.iter().enumerate() {
                let twice = shape.keys[..at].iter().any(|other| other.name == key.name);
                assert!(!twice, "{}.{}", shape.name, key.name);
                assert!(key.means.len() > 5, "{}.{}", shape.name, key.name);
            }
        }
    }

    #[test]
    fn groups_of_keys_name_keys_that_there_are() {
        for key in FIGURE.one_of.iter().copied().flatten() {
            assert!(FIGURE.key(key).is_some_and(|key| !key.required), "{key}");
        }
    }
}
