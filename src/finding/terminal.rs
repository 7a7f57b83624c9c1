//! Findings as a good compiler shows them: the line, the place in it, and the mend.
//!
//! One finding is one report, with every file that it speaks of in it. The
//! drawing itself is the library's that rustc uses; here findings are put into
//! its words, and the text of the notebook is cut to the width and made harmless
//! before it gets there.

use annotate_snippets::renderer::{
    DEFAULT_ERROR_STYLE, DEFAULT_NOTE_STYLE, DEFAULT_WARNING_STYLE, DecorStyle,
};
use annotate_snippets::{
    AnnotationKind, Element, Group, Level as Word, Padding, Patch, Renderer, Snippet, Title,
};
use camino::Utf8PathBuf;

use super::excerpt::{Excerpt, Mark, NEAR_LINES, fits, forward, lines_of, tidy};
use super::text::{one_line, width, wrapped};
use super::{FileId, Finding, Label, Level, Mend, Place, Sources, Summary};

/// Stands around the number of a path while a report is drawn. It is one of the
/// characters that Unicode keeps for a program's own use, and text from outside
/// has none of them once it is made harmless.
const HOLD: char = '\u{fdd0}';

/// Columns of text beyond which a line is cut however wide the terminal is.
const MOST_COLUMNS: usize = 400;

/// Columns of text that are used even where the terminal has fewer.
const LEAST_COLUMNS: usize = 20;

/// Columns that are told to the library, so that it does not trim what is cut
/// already; it would trim several lines at the same columns.
const UNTRIMMED: usize = 10 * MOST_COLUMNS;

/// How findings are drawn.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TerminalStyle {
    /// With ANSI escape sequences for colour.
    pub colour: bool,
    /// Columns of the terminal. Text is broken and lines of files are cut to
    /// it; a word, label or mend that is longer than that is not.
    pub width: usize,
    /// With lines drawn from Unicode's box-drawing characters, else in ASCII.
    /// Text of the notebook is shown as it is, in either case.
    pub unicode: bool,
    /// Whether findings of level note are drawn.
    pub notes: bool,
    /// What leads from the user's folder to the notebook's, put before every
    /// path so that a terminal can follow it.
    pub folder: Utf8PathBuf,
}

impl Default for TerminalStyle {
    /// Plain text in ASCII, 80 columns wide, without notes.
    fn default() -> TerminalStyle {
        TerminalStyle {
            colour: false,
            width: 80,
            unicode: false,
            notes: false,
            folder: Utf8PathBuf::new(),
        }
    }
}

/// Draws findings in the order given, an empty line after each; the caller has
/// them put in order by [`order`](super::order()).
///
/// Places that lie outside their file are drawn at its end.
pub fn draw(findings: &[Finding], sources: &Sources, style: &TerminalStyle) -> String {
    let renderer = match style.colour {
        true => Renderer::styled(),
        false => Renderer::plain(),
    };
    let renderer = renderer
        .term_width(UNTRIMMED)
        .decor_style(match style.unicode {
            true => DecorStyle::Unicode,
            false => DecorStyle::Ascii,
        });
    let mut out = String::new();
    for finding in findings {
        if finding.level == Level::Note && !style.notes {
            continue;
        }
        let mut drawing = Drawing::new(finding, sources, style);
        let report = drawing.report(finding);
        let drawn = renderer.render(&report);
        out.push_str(&with_heads(&drawn, &drawing.heads));
        out.push_str("\n\n");
    }
    out
}

/// Draws the closing line, such as `3 errors, 1 caution, 2 notes (not shown): 29
/// of 31 figures hold`, with a line feed.
pub fn draw_summary(summary: &Summary, style: &TerminalStyle) -> String {
    let colour = match summary {
        Summary { errors: 1.., .. } => DEFAULT_ERROR_STYLE,
        Summary { cautions: 1.., .. } => DEFAULT_WARNING_STYLE,
        _ => DEFAULT_NOTE_STYLE,
    };
    let findings = summary.findings_in_words();
    let mut out = match style.colour {
        true => format!("{colour}{findings}{colour:#}"),
        false => findings,
    };
    if summary.notes > 0 && !style.notes {
        out.push_str(" (not shown)");
    }
    if let Some(figures) = summary.figures_in_words() {
        out.push_str(": ");
        out.push_str(&figures);
    }
    out.push('\n');
    out
}

/// One finding on its way to the library.
struct Drawing<'a> {
    sources: &'a Sources,
    style: &'a TerminalStyle,
    /// Columns that the line numbers and the rule beside them take.
    gutter: usize,
    /// Columns left for lines of files.
    room: usize,
    /// What stands for each held path: path, line and column in the file, which
    /// are not those in the excerpt.
    heads: Vec<String>,
}

/// Labels of one file that are drawn in one excerpt.
struct Cluster<'a> {
    file: FileId,
    labels: Vec<&'a Label>,
    marks: Vec<Mark>,
}

impl<'a> Drawing<'a> {
    fn new(finding: &Finding, sources: &'a Sources, style: &'a TerminalStyle) -> Drawing<'a> {
        let labelled = finding.labels.iter().map(|label| (&label.place, 0));
        let mended = finding
            .mend
            .iter()
            .map(|mend| (&mend.place, mend.text.matches('\n').count()));
        let mut last_line = 0;
        let mut bracket = 0;
        for (place, added) in labelled.chain(mended) {
            let file = sources.file(place.file);
            let (first, last) = lines_of(file, &tidy(file, &place.span()));
            last_line = last_line.max(last + added);
            // What reaches over several lines has a bracket drawn beside it,
            // two columns wide, and overlapping brackets stand side by side.
            bracket += if first < last { 2 } else { 0 };
        }
        let gutter = last_line.to_string().len() + 3;
        let room = style.width.saturating_sub(gutter + bracket);
        Drawing {
            sources,
            style,
            gutter,
            room: room.clamp(LEAST_COLUMNS, MOST_COLUMNS),
            heads: Vec::new(),
        }
    }

    fn report(&mut self, finding: &Finding) -> Vec<Group<'static>> {
        let word = match finding.level {
            Level::Error => Word::ERROR,
            Level::Caution => Word::WARNING.with_name(Level::Caution.word()),
            Level::Note => Word::NOTE,
        };
        let slug = finding.slug.name();
        let before = width(finding.level.word()) + width(slug) + "[]: ".len();
        let title = word
            .primary_title(self.wrapped(&one_line(&finding.message), before))
            .id(slug);
        let mut group = Group::with_title(title);
        for cluster in self.clusters(finding) {
            group = group.element(self.snippet(&cluster, finding));
        }
        for note in &finding.notes {
            let before = self.gutter + "note: ".len();
            group = group.element(Word::NOTE.message(self.wrapped(note, before)));
        }
        let help = finding.help.as_deref();
        let Some(mend) = &finding.mend else {
            if let Some(help) = help {
                let before = self.gutter + "help: ".len();
                group = group.element(Word::HELP.message(self.wrapped(help, before)));
            }
            return vec![group];
        };
        let help = help.unwrap_or(match mend.text.is_empty() {
            true => "leave this out",
            false => "write instead",
        });
        let title = Word::HELP.secondary_title(self.wrapped(help, "help: ".len()));
        let about = finding.place().map(|place| place.file);
        vec![group, self.patch(title, mend, about)]
    }

    fn wrapped(&self, text: &str, before: usize) -> String {
        wrapped(
            text,
            self.style.width.saturating_sub(before).max(LEAST_COLUMNS),
        )
    }

    /// The labels, sorted into excerpts; that of the first label comes first.
    fn clusters<'f>(&self, finding: &'f Finding) -> Vec<Cluster<'f>> {
        let mut clusters: Vec<Cluster<'f>> = Vec::new();
        for label in &finding.labels {
            let file = self.sources.file(label.place.file);
            let mark = Mark {
                span: tidy(file, &label.place.span()),
                label: width(&one_line(&label.text)),
            };
            let at_home = clusters.iter_mut().find(|cluster| {
                cluster.file == label.place.file && fits(file, &cluster.marks, &mark, self.room)
            });
            match at_home {
                Some(cluster) => {
                    cluster.labels.push(label);
                    cluster.marks.push(mark);
                }
                None => clusters.push(Cluster {
                    file: label.place.file,
                    labels: vec![label],
                    marks: vec![mark],
                }),
            }
        }
        clusters
    }

    fn snippet(&mut self, cluster: &Cluster<'_>, finding: &Finding) -> Element<'static> {
        let excerpt = self.excerpt(cluster.file, &cluster.marks, self.room);
        let head = self.hold(&cluster.labels[0].place);
        let mut snippet = Snippet::source(excerpt.text)
            .line_start(excerpt.first_line)
            .path(head);
        for (label, mark) in cluster.labels.iter().zip(excerpt.marks) {
            let is_first = finding
                .labels
                .first()
                .is_some_and(|first| std::ptr::eq(first, *label));
            let kind = match is_first {
                true => AnnotationKind::Primary,
                false => AnnotationKind::Context,
            };
            let text = Some(one_line(&label.text)).filter(|text| !text.is_empty());
            snippet = snippet.annotation(kind.span(mark).label(text));
        }
        snippet.into()
    }

    /// The mend; the file is named where it is not the one that the finding is about.
    fn patch(
        &mut self,
        title: Title<'static>,
        mend: &Mend,
        about: Option<FileId>,
    ) -> Group<'static> {
        let file = self.sources.file(mend.place.file);
        let mark = Mark {
            span: tidy(file, &mend.place.span()),
            label: 0,
        };
        let (first, last) = lines_of(file, &mark.span);
        let head = (about != Some(mend.place.file)).then(|| self.hold(&mend.place));
        let new_text = wrapped(&mend.text, usize::MAX);
        // The line with the new text in it should fit, not only that with the old.
        let old_text = &file.text[..mark.span.end];
        let (_, old_columns) = forward(old_text, mark.span.start, self.room);
        let new_columns = new_text.lines().map(width).max().unwrap_or(0);
        let growth = new_columns.saturating_sub(old_columns);
        let room = self.room.saturating_sub(growth).max(LEAST_COLUMNS);
        let mut excerpt = self.excerpt(mend.place.file, &[mark], room);
        // There is one mark, since one was given.
        let span = excerpt.marks.pop().unwrap_or(0..0);
        if last - first < NEAR_LINES {
            let patch = Patch::new(span, new_text);
            let lines = Snippet::source(excerpt.text).line_start(excerpt.first_line);
            return title.element(lines.path(head).patch(patch));
        }
        // The library would list every line that goes.
        let old = AnnotationKind::Primary
            .span(span)
            .label("in the place of this");
        let lines = Snippet::source(excerpt.text).line_start(excerpt.first_line);
        title
            .element(lines.path(head).annotation(old))
            .element(Padding)
            .element(Word::HELP.no_name().message(new_text))
    }

    fn excerpt(&self, file: FileId, marks: &[Mark], room: usize) -> Excerpt {
        let ellipsis = if self.style.unicode { "…" } else { "..." };
        Excerpt::cut(self.sources.file(file), marks, room, ellipsis)
    }

    /// Takes note of a place and returns what stands for its path meanwhile.
    fn hold(&mut self, place: &Place) -> String {
        let file = self.sources.file(place.file);
        let (line, column) = file.line_column(tidy(file, &place.span()).start);
        let path = self.style.folder.join(&file.path);
        self.heads
            .push(format!("{}:{line}:{column}", one_line(path.as_str())));
        format!("{HOLD}{}{HOLD}", self.heads.len() - 1)
    }
}

/// Puts path, line and column where the library put a held path and the line and
/// column of the excerpt.
fn with_heads(drawn: &str, heads: &[String]) -> String {
    let mut parts = drawn.split(HOLD);
    let mut out = String::with_capacity(drawn.len());
    out.push_str(parts.next().unwrap_or(""));
    while let (Some(number), Some(rest)) = (parts.next(), parts.next()) {
        let head = number.parse().ok().and_then(|at: usize| heads.get(at));
        out.push_str(head.map_or("", String::as_str));
        out.push_str(rest.trim_start_matches(|c: char| c == ':' || c.is_ascii_digit()));
    }
    out
}

#[cfg(test)]
#[path = "terminal_tests.rs"]
mod tests;
