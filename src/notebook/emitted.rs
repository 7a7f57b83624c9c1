//! Files for firmware, held to what stands on the disk.

use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;

use camino::{Utf8Component, Utf8Path, Utf8PathBuf};

use super::firmware::Gathering;
use crate::emit::{Emitted, Form, MARK, is_reserved};
use crate::finding::{Finding, Located, Place, Slug, Sources, quoted};
use crate::record::{EmitRecord, EmittedForm, Role};

/// Largest file that is compared, in bytes.
const LARGEST: u64 = 5_000_000;

/// A file for firmware.
#[derive(Debug)]
pub struct EmittedFile {
    /// Its path, counted from the notebook's folder.
    pub path: Utf8PathBuf,
    /// What would be written.
    pub text: String,
    /// The state that it is from.
    pub state: String,
    /// What stands on the disk.
    pub on_disk: OnDisk,
}

/// What stands on the disk in the place of a file for firmware.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum OnDisk {
    /// Nothing.
    Missing,
    /// What would be written.
    Same,
    /// A file that was written by `ohmbook emit`, from another state or changed
    /// since.
    Differs,
    /// A file of somebody else's, which is never replaced.
    Foreign,
}

/// Gathers every file for firmware and compares it with the disk.
pub(super) fn compare(
    root: &Utf8Path,
    sources: &mut Sources,
    from: &Gathering<'_>,
    findings: &mut Vec<Finding>,
) -> Vec<EmittedFile> {
    let mut taken: BTreeMap<Utf8PathBuf, Place> = BTreeMap::new();
    let mut files = Vec::new();
    for record in &from.records.notebook.emits {
        let (path, form) = match addressed(record) {
            Ok(addressed) => addressed,
            Err(finding) => {
                findings.push(*finding);
                continue;
            }
        };
        if let Some(first) = taken.get(&path) {
            let message = format!("two records write `{}`", quoted(path.as_str()));
            let finding = Finding::new(Slug::BadValue, message)
                .at(record.file.place.clone(), "again here")
                .at(first.clone(), "first here")
                .help("put everything into one record, or name another file");
            findings.push(finding);
            continue;
        }
        taken.insert(path.clone(), record.file.place.clone());
        let stem = path.file_stem().unwrap_or("").to_owned();
        let Some((emitted, places)) = from.gather(record, &stem, findings) else {
            continue;
        };
        let faults = names(&emitted, form, &places, &record.file.place);
        if !faults.is_empty() {
            findings.extend(faults);
            continue;
        }
        let text = emitted.text(form);
        match held(root, &path, &text, &record.file, sources, findings) {
            Some(on_disk) => files.push(EmittedFile {
                path,
                text,
                state: emitted.state(),
                on_disk,
            }),
            None => continue,
        }
    }
    files
}

/// What would be written, by path, without a look at the disk.
pub(super) fn texts(from: &Gathering<'_>) -> Vec<(Utf8PathBuf, String)> {
    let text = |record| {
        let (path, form) = addressed(record).ok()?;
        let stem = path.file_stem().unwrap_or("").to_owned();
        let (emitted, _) = from.gather(record, &stem, &mut Vec::new())?;
        Some((path, emitted.text(form)))
    };
    from.records
        .notebook
        .emits
        .iter()
        .filter_map(text)
        .collect()
}

/// Where a file lies, without steps that lead nowhere, and its form.
fn addressed(record: &EmitRecord) -> Result<(Utf8PathBuf, Form), Box<Finding>> {
    let Located { value, place } = &record.file;
    let refused = |message: String, help: &str| {
        let finding = Finding::new(Slug::BadValue, message).at(place.clone(), "this path");
        Err(Box::new(finding.help(help)))
    };
    let written = quoted(value);
    if value.starts_with('/') || value.contains(['\\', ':']) || value.chars().any(char::is_control)
    {
        return refused(
            format!("`{written}` is no path from the notebook's folder"),
            "write it from the notebook's folder, with `/` between its steps; `..` leads one folder up",
        );
    }
    let mut path = Utf8PathBuf::new();
    for step in Utf8Path::new(value).components() {
        match step {
            Utf8Component::ParentDir if path.file_name().is_some() => {
                path.pop();
            }
            Utf8Component::CurDir => {}
            step => path.push(step.as_str()),
        }
    }
    let is_file = path.file_name().is_some() && !value.ends_with(['/', '.']);
    if !is_file {
        return refused(
            format!("`{written}` names no file"),
            "write the file's name at the end, as in `firmware/charger.h`",
        );
    }
    if Role::of(&path).is_some() {
        return refused(
            format!("`{written}` is a place for the notebook's own files"),
            "write into a folder of the firmware, as `firmware`",
        );
    }
    let form = match record.form {
        Some(EmittedForm::C) => Form::C,
        Some(EmittedForm::Rust) => Form::Rust,
        Some(EmittedForm::Python) => Form::Python,
        Some(EmittedForm::Csv) => Form::Csv,
        Some(EmittedForm::Json) => Form::Json,
        None => match path.extension().and_then(Form::by_ending) {
            Some(form) => form,
            None => {
                return refused(
                    format!("the ending of `{written}` tells no form"),
                    "end it in .h, .rs, .py, .csv or .json, or say `form = \"c\"`",
                );
            }
        },
    };
    Ok((path, form))
}

/// Names that the form keeps for itself, or that are there twice.
fn names(
    emitted: &Emitted,
    form: Form,
    places: &BTreeMap<String, Place>,
    file: &Place,
) -> Vec<Finding> {
    let place_of = |made_for: Option<&str>| {
        let place = made_for.and_then(|name| places.get(name));
        place.unwrap_or(file).clone()
    };
    let mut findings = Vec::new();
    let mut seen: BTreeMap<String, Place> = BTreeMap::new();
    for (name, made_for) in emitted.names(form) {
        let place = place_of(made_for);
        if is_reserved(form, &name) {
            let message = format!("{} keeps the name `{name}` for itself", form.name());
            let finding = Finding::new(Slug::BadId, message)
                .at(place.clone(), "this name")
                .help("choose another name");
            findings.push(finding);
        }
        if let Some(first) = seen.get(&name) {
            let message = format!("`{name}` would stand twice in the file");
            let mut finding = Finding::new(Slug::DuplicateId, message).at(place.clone(), "again");
            if *first != place {
                finding = finding.at(first.clone(), "first here");
            }
            findings.push(finding.help("choose another name"));
        } else {
            seen.insert(name, place);
        }
    }
    findings
}

/// What stands on the disk. `None` where it cannot be read.
fn held(
    root: &Utf8Path,
    path: &Utf8Path,
    text: &str,
    record: &Located<String>,
    sources: &mut Sources,
    findings: &mut Vec<Finding>,
) -> Option<OnDisk> {
    let shown = quoted(path.as_str());
    let finding = |message: String| {
        let finding = Finding::new(Slug::EmittedFileDiffers, message);
        finding.at(record.place.clone(), "written into this file")
    };
    let found = match read(&root.join(path)) {
        Ok(found) => found,
        Err(why) => {
            let message = format!("`{shown}` cannot be read: {why}");
            let finding = Finding::new(Slug::FileUnreadable, message)
                .at(record.place.clone(), "written into this file")
                .help("move it away, and run `ohmbook emit`");
            findings.push(finding);
            return None;
        }
    };
    let Some(found) = found else {
        let finding = finding(format!("`{shown}` is not there"));
        findings.push(finding.help("run `ohmbook emit`, which writes it"));
        return Some(OnDisk::Missing);
    };
    if !found.contains(MARK) {
        let finding = finding(format!("`{shown}` was not written by `ohmbook emit`"));
        findings.push(finding.help("move it away, or name another file: what `ohmbook emit` did not write, it does not replace"));
        return Some(OnDisk::Foreign);
    }
    let Some((line, is, should)) = difference(&found, text) else {
        return Some(OnDisk::Same);
    };
    let should = match should {
        Some(should) => format!("`{}` would stand there", quoted(should.trim())),
        None => "nothing would stand there".to_owned(),
    };
    let start = found.split_inclusive('\n').take(line).map(str::len).sum();
    let label = match is.trim() {
        "" => "this line differs".to_owned(),
        is => format!("this is `{}`", quoted(is)),
    };
    let file = sources.add(path, found.clone());
    let finding = finding(format!("`{shown}` is not what would be written"))
        .at(Place::new(file, start..start + is.len()), label)
        .note(format!("line {} of it: {should}", line + 1))
        .help("run `ohmbook emit`, which writes it anew");
    findings.push(finding);
    Some(OnDisk::Differs)
}

/// A file's text; `None` where there is no file.
fn read(path: &Utf8Path) -> Result<Option<String>, String> {
    let size = match fs::metadata(path) {
        Ok(data) if !data.is_file() => return Err("it is not an ordinary file".into()),
        Ok(data) => data.len(),
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error.to_string()),
    };
    if size > LARGEST {
        return Err(format!("it has {size} bytes, and {LARGEST} are read"));
    }
    let bytes = fs::read(path).map_err(|error| error.to_string())?;
    let text = String::from_utf8(bytes);
    text.map(Some).map_err(|_| "it is not UTF-8 text".into())
}

/// The line that differs, from zero, with what stands there and what should.
///
/// The head differs with every state, so the first line behind it that differs
/// tells more. Whether lines end with a carriage return is not looked at: version
/// control may change that.
fn difference<'t>(found: &'t str, text: &'t str) -> Option<(usize, &'t str, Option<&'t str>)> {
    let (is, should): (Vec<&str>, Vec<&str>) = (found.lines().collect(), text.lines().collect());
    let lines = is.len().max(should.len());
    let differs = |&at: &usize| is.get(at) != should.get(at);
    let differing: Vec<usize> = (0..lines).filter(differs).collect();
    let tells_state = |at: &usize| {
        let line = should.get(*at).copied().unwrap_or("");
        line.contains("state ")
            || line.contains("_STATE")
            || line.contains("\"state\"")
            || line.contains(",state,")
    };
    let first = differing
        .iter()
        .find(|at| !tells_state(at))
        .or(differing.first())?;
    Some((
        *first,
        is.get(*first).copied().unwrap_or(""),
        should.get(*first).copied(),
    ))
}
