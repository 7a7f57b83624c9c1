//! Reads single values: text as what its key takes, and dates.

use std::fmt::Display;
use std::ops::Range;

use jiff::civil::Date;
use toml::Spanned;
use toml::de::DeValue;
use toml::value::Datetime;

use super::fault::escaped;
use super::fields::Value;
use super::kind::PartKind;
use super::kinds::KINDS;
use super::read::Reader;
use super::shape::{Names, Takes};
use crate::finding::{Finding, Located, Place, Slug, nearest, quoted};
use crate::quantity::{Given, Statement, TextFault, TextFaultKind, Unit, UnitFault};

impl Reader<'_, '_> {
    /// Reads text as what its key takes; tells what is wrong with it.
    pub(super) fn text(
        &mut self,
        key: &Located<String>,
        takes: &Takes,
        text: Located<String>,
    ) -> Option<Value> {
        if text.value.trim().is_empty() {
            let message = format!("`{}` is empty", quoted(&key.value));
            let finding = Finding::new(Slug::BadValue, message)
                .at(text.place, format!("{} is expected", takes.words()));
            self.findings.push(finding);
            return None;
        }
        let whole = 0..text.value.len();
        let place = text.place.clone();
        match takes {
            Takes::Quantity(dimension) => match Given::parse(&text.value, *dimension) {
                Ok(given) => return Some(Value::Quantity(Located::new(given, place))),
                Err(fault) => self.quantity_fault(key, takes, &text, &fault),
            },
            Takes::Statement => match Statement::parse(&text.value, None) {
                Ok(statement) => return Some(Value::Statement(Located::new(statement, place))),
                Err(fault) => self.quantity_fault(key, takes, &text, &fault),
            },
            Takes::Unit => match Unit::parse(&text.value) {
                Ok(unit) => return Some(Value::Unit(Located::new(unit, place))),
                Err(fault) => self.unit_fault(&text, &fault),
            },
            Takes::Word(words) => {
                let word = words.iter().find(|word| word.word == text.value);
                if let Some(word) = word {
                    return Some(Value::Word(word.word));
                }
                self.other_word(key, takes, &text, words.iter().map(|word| word.word));
            }
            Takes::PartKind => {
                if let Some(kind) = PartKind::by_name(&text.value) {
                    return Some(Value::Word(kind.name));
                }
                self.other_word(key, takes, &text, KINDS.iter().map(|kind| kind.name));
            }
            Takes::FindingName => {
                if Slug::ALL.iter().any(|slug| slug.name() == text.value) {
                    return Some(Value::Text(text));
                }
                self.other_word(key, takes, &text, Slug::ALL.iter().map(|slug| slug.name()));
            }
            Takes::Licence => match spdx::Expression::parse(&text.value) {
                Ok(_) => return Some(Value::Text(text)),
                Err(fault) => self.licence_fault(&text, &fault),
            },
            Takes::WebAddress if !is_web_address(&text.value) => self.bad(
                &text,
                whole,
                format!("`{}` is no address of the web", quoted(&text.value)),
                "write it whole and without `?` and `#`, as in `https://boards.example/book/`",
            ),
            Takes::Language if !is_language_tag(&text.value) => self.bad(
                &text,
                whole,
                format!("`{}` is no language tag", quoted(&text.value)),
                "a language tag is written `en`, `en-GB` or `de` (BCP 47)",
            ),
            Takes::Currency if !is_currency(&text.value) => self.bad(
                &text,
                whole,
                format!("`{}` is no code of a currency", quoted(&text.value)),
                "a currency is written as three capital letters, as `EUR` (ISO 4217)",
            ),
            Takes::Folder if leads_out(&text.value) => {
                let message =
                    "the path leads out of the notebook's folder, or is not relative to it";
                let finding = Finding::new(Slug::OutsideNotebook, message)
                    .at(place, "this path")
                    .help("write a path from the notebook's folder, with `/` between its steps");
                self.findings.push(finding);
            }
            Takes::Mark if Names::Mark.check(&text.value).is_err() => self.bad(
                &text,
                whole,
                format!("`{}` is no revision", quoted(&text.value)),
                Names::Mark.rule(),
            ),
            _ => return Some(Value::Text(text)),
        }
        None
    }

    fn bad(&mut self, text: &Located<String>, span: Range<usize>, message: String, help: &str) {
        let place = self.sources.place_in(text, span);
        let finding = Finding::new(Slug::BadValue, message)
            .at(place, "this value")
            .help(help);
        self.findings.push(finding);
    }

    fn other_word<'w>(
        &mut self,
        key: &Located<String>,
        takes: &Takes,
        text: &Located<String>,
        words: impl Iterator<Item = &'w str>,
    ) {
        let words: Vec<&str> = words.collect();
        let written = quoted(&text.value);
        let message = match takes {
            Takes::PartKind => format!("`{written}` is not a kind of part"),
            Takes::FindingName => format!("`{written}` is not a kind of finding"),
            _ => format!("`{}` cannot be `{written}`", quoted(&key.value)),
        };
        let mut finding =
            Finding::new(Slug::BadValue, message).at(text.place.clone(), "not a word for this key");
        finding = match nearest(&text.value, words.iter().copied()) {
            Some(near) => finding
                .help(format!("perhaps `{near}`"))
                .mend(text.place.clone(), near),
            None => finding.help(format!("one of: {}", words.join(", "))),
        };
        self.findings.push(finding);
    }

    fn quantity_fault(
        &mut self,
        key: &Located<String>,
        takes: &Takes,
        text: &Located<String>,
        fault: &TextFault,
    ) {
        let slug = match fault.kind {
            TextFaultKind::WrongDimension { .. } => Slug::UnitMismatch,
            TextFaultKind::UnknownUnit(_) => Slug::UnknownUnit,
            TextFaultKind::DecimalComma { .. } => Slug::DecimalComma,
            _ => Slug::QuantityForm,
        };
        let place = self.sources.place_in(text, fault.span.clone());
        let label = format!("`{}` takes {}", quoted(&key.value), takes.words());
        let mut finding = Finding::new(slug, fault.to_string()).at(place.clone(), label);
        if let Some(help) = fault.mend() {
            finding = finding.help(help);
        }
        let mended = match &fault.kind {
            TextFaultKind::DecimalComma { mended } => Some(mended),
            TextFaultKind::UnknownUnit(unit) => nearest_unit(unit),
            _ => None,
        };
        self.findings
            .push(self.mended(finding, text, place, mended));
    }

    fn unit_fault(&mut self, text: &Located<String>, fault: &UnitFault) {
        let slug = match fault {
            UnitFault::Unknown { .. } | UnitFault::Slip { .. } => Slug::UnknownUnit,
            _ => Slug::QuantityForm,
        };
        let finding = Finding::new(slug, fault.to_string()).at(text.place.clone(), "this unit");
        let place = text.place.clone();
        self.findings
            .push(self.mended(finding, text, place, nearest_unit(fault)));
    }

    /// Offers text for a stretch of a value, where the stretch can be replaced
    /// by itself.
    fn mended(
        &self,
        finding: Finding,
        text: &Located<String>,
        place: Place,
        mended: Option<&String>,
    ) -> Finding {
        let is_exact = self.sources.text_at(&text.place) == text.value;
        match mended {
            Some(mended) if is_exact => finding.mend(place, mended),
            _ => finding,
        }
    }

    fn licence_fault(&mut self, text: &Located<String>, fault: &spdx::ParseError) {
        let span = fault.span.clone();
        let written = text.value.get(span.clone());
        let span = written.map_or(0..text.value.len(), |_| span);
        let written = written.unwrap_or(&text.value);
        let message = format!("no SPDX licence expression: {}", fault.reason);
        let known = spdx::identifiers::LICENSES
            .iter()
            .map(|licence| licence.name);
        let place = self.sources.place_in(text, span);
        let mut finding = Finding::new(Slug::BadValue, message).at(place.clone(), "this term");
        finding = match nearest(written, known).filter(|near| *near != written) {
            Some(near) => self.mended(
                finding.help(format!("perhaps `{near}`")),
                text,
                place,
                Some(&near.to_owned()),
            ),
            None => finding.help(
                "as in `CC-BY-4.0` or `CERN-OHL-S-2.0`; `LicenseRef-` starts one of your own",
            ),
        };
        self.findings.push(finding);
    }

    /// Reads a TOML date; a time of day has no place in a record.
    pub(super) fn date(
        &mut self,
        key: &Located<String>,
        date: &Datetime,
        span: Range<usize>,
    ) -> Option<Value> {
        let place = self.document.place(span);
        let day = date.date.and_then(|day| {
            // A month and a day of TOML are at most 12 and 31.
            Date::new(
                i16::try_from(day.year).ok()?,
                day.month as i8,
                day.day as i8,
            )
            .ok()
        });
        if let (Some(day), None) = (day, date.time) {
            return Some(Value::Date(Located::new(day, place)));
        }
        let found = if day.is_some() {
            "a date with a time of day"
        } else {
            "a time of day"
        };
        let message = format!("`{}` takes a date, this is {found}", quoted(&key.value));
        let mut finding = Finding::new(Slug::WrongType, message).at(place.clone(), found);
        finding = match day {
            Some(day) => finding
                .help(format!("write only the date, {day}"))
                .mend(place, day.to_string()),
            None => finding.help("a date is written 2026-02-03"),
        };
        self.findings.push(finding);
        None
    }

    /// Tells that a value is of another type than its key takes.
    pub(super) fn wrong_type(
        &mut self,
        key: &Located<String>,
        takes: &Takes,
        value: &Spanned<DeValue<'_>>,
    ) {
        let place = self.document.place(value.span());
        let found = type_words(value.get_ref());
        let message = format!(
            "`{}` takes {}; this is {found}",
            quoted(&key.value),
            takes.words()
        );
        let finding = Finding::new(Slug::WrongType, message).at(place.clone(), found);
        let raw = self.sources.text_at(&place).to_owned();
        let finding = match (takes, value.get_ref()) {
            (Takes::Date, DeValue::String(text)) => match text.trim().parse::<Date>() {
                Ok(date) => replaced(finding, place, date, "without quotation marks"),
                Err(_) => finding.help("a date is written 2026-02-03, without quotation marks"),
            },
            (Takes::Flag, DeValue::String(text)) if matches!(&**text, "true" | "false") => {
                replaced(finding, place, text, "without quotation marks")
            }
            (Takes::Texts, DeValue::String(_)) => {
                replaced(finding, place, format!("[{raw}]"), "in square brackets")
            }
            (Takes::Quantity(Some(dimension)), DeValue::Integer(_) | DeValue::Float(_))
                if !dimension.is_one() =>
            {
                let unit = dimension.coherent_symbol();
                finding.help(format!(
                    "write it as text with its unit, as in `\"{raw} {unit}\"`"
                ))
            }
            (Takes::Statement, DeValue::Integer(_) | DeValue::Float(_)) => {
                finding.help("write it as text with its unit, as in `\"196 mA\"`")
            }
            (takes, DeValue::Integer(_) | DeValue::Float(_) | DeValue::Datetime(_))
                if takes.is_text() =>
            {
                let text = format!("\"{}\"", escaped(&raw));
                replaced(finding, place, text, "in quotation marks")
            }
            (Takes::List(shape), DeValue::Table(_)) if raw.starts_with('[') => {
                replaced(finding, place, shape.header, "in double square brackets")
            }
            (Takes::Statement, DeValue::Table(_)) => finding.help(format!(
                "a name with a point in it stands in quotation marks: `\"{}.…\" = \"…\"`",
                quoted(&key.value)
            )),
            _ => finding,
        };
        self.findings.push(finding);
    }
}

/// A finding with the text to put in the place of what is there.
fn replaced(finding: Finding, place: Place, text: impl Display, how: &str) -> Finding {
    let text = text.to_string();
    finding
        .help(format!("write it {how}: `{}`", quoted(&text)))
        .mend(place, text)
}

fn nearest_unit(fault: &UnitFault) -> Option<&String> {
    match fault {
        UnitFault::Unknown { nearest, .. } => nearest.as_ref(),
        _ => None,
    }
}

/// What a TOML value is, in words.
fn type_words(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(date) if date.time.is_none() => "a date",
        DeValue::Datetime(_) => "a time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// Whether a text is an absolute address of the web with a host, and nothing
/// that is asked of it (RFC 3986).
fn is_web_address(text: &str) -> bool {
    let rest = text.strip_prefix("https://");
    let rest = rest.or_else(|| text.strip_prefix("http://"));
    let host = rest.and_then(|rest| rest.split('/').next()).unwrap_or("");
    let is_allowed = |c: char| c.is_ascii_graphic() && !"?#\"<>\\^`{|}".contains(c);
    !host.is_empty()
        && !host.contains('@')
        && host.starts_with(|c: char| c.is_ascii_alphanumeric() || c == '[')
        && text.chars().all(is_allowed)
}

/// Whether text has the form of a language tag (BCP 47, section 2.1), without
/// looking its subtags up.
fn is_language_tag(text: &str) -> bool {
    let mut subtags = text.split('-');
    let fits = |subtag: &str, longest: usize| {
        !subtag.is_empty()
            && subtag.len() <= longest
            && subtag.bytes().all(|b| b.is_ascii_alphanumeric())
    };
    let language = subtags.next().unwrap_or("");
    (2..=3).contains(&language.len())
        && language.bytes().all(|b| b.is_ascii_alphabetic())
        && subtags.all(|subtag| fits(subtag, 8))
}

/// Whether text has the form of a currency's code (ISO 4217), without looking it
/// up.
fn is_currency(text: &str) -> bool {
    text.len() == 3 && text.bytes().all(|b| b.is_ascii_uppercase())
}

/// Whether a path is anything but a way down from the notebook's folder.
fn leads_out(path: &str) -> bool {
    path.starts_with('/')
        || path.contains(['\\', ':', '\0'])
        || path.split('/').any(|step| step == "..")
}
