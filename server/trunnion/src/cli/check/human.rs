//! The findings for people: each with the line it is about.

use std::io::{self, Write};
use std::ops::Range;
use std::path::Path;

use annotate_snippets::{AnnotationKind, Element, Group, Level, Origin, Renderer, Snippet};
use ide::{Finding, Severity};
use syntax::{Encoding, TextRange, TextSize};

use crate::cli::plain;

use super::report::{Checked, Report, Source, Sources};

/// Lines longer than this many bytes are shown in part.
const LONGEST_LINE: usize = 400;
/// More of what is gone is counted only.
const MOST_GONE: usize = 20;
/// How much of such a line is shown before and after the place.
const AROUND: usize = 120;

pub(crate) fn write(report: &Report, colour: bool, out: &mut impl Write) -> io::Result<()> {
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    };
    let sources = Sources::of(report);
    for (file, finding) in report.findings() {
        let group = group(file, finding, &sources);
        // The renderer makes others plain, but for what it was given as a path.
        let shown = renderer.render(&[group]);
        let shown = shown.replace(|c| ('\u{80}'..='\u{9f}').contains(&c), "\u{fffd}");
        writeln!(out, "{shown}\n")?;
    }
    out.write_all(plain::text(&summary(report)).as_bytes())
}

fn group<'a>(file: &'a Checked, finding: &'a Finding, sources: &Sources) -> Group<'a> {
    let title = level(finding.severity)
        .primary_title(finding.message.as_str())
        .id(finding.code);
    let mut group = Group::with_title(title);
    for element in frame(
        &file.path,
        &file.source,
        finding.range,
        AnnotationKind::Primary,
        None,
    ) {
        group = group.element(element);
    }
    for related in &finding.related {
        let path = related.path.as_deref().unwrap_or(&file.path);
        if let Some(source) = sources.get(path) {
            let label = Some(related.message.as_str());
            for element in frame(path, &source, related.range, AnnotationKind::Context, label) {
                group = group.element(element);
            }
        }
    }
    for fix in &finding.fixes {
        group = group.element(Level::HELP.message(fix.title.as_str()));
    }
    group
}

fn level(severity: Severity) -> Level<'static> {
    match severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Information => Level::INFO.with_name("information"),
        Severity::Hint => Level::NOTE.with_name("hint"),
    }
}

/// The line that `range` starts on, marked. Only what is shown is handed over: the renderer looks at all it gets.
fn frame<'a>(
    path: &Path,
    source: &Source,
    range: TextRange,
    kind: AnnotationKind,
    label: Option<&'a str>,
) -> Vec<Element<'a>> {
    let path = plain::name(path);
    let text = source.text.as_str();
    let position = source.lines.position(text, range.start(), Encoding::Utf32);
    let whole = source.lines.line_content_range(text, position.line);
    let line = without_mark(text, whole.unwrap_or_default());
    let content = text.get(Range::<usize>::from(line)).unwrap_or_default();
    let within = |offset: TextSize| {
        let offset = offset.clamp(line.start(), line.end()) - line.start();
        content.floor_char_boundary(usize::from(offset))
    };
    let (start, end) = (within(range.start()), within(range.end()));
    let number = position.line as usize + 1;
    let column = content.get(..start).unwrap_or_default().chars().count() + 1;
    let window = window(content, start, end);
    let annotation = kind
        .span(start - window.start..end.min(window.end) - window.start)
        .label(label);
    let snippet = Snippet::source(content[window.clone()].to_owned())
        .line_start(number)
        .annotation(annotation);
    if window == (0..content.len()) {
        vec![snippet.path(path).into()]
    } else {
        let origin = Origin::path(path).line(number).char_column(column);
        vec![origin.into(), snippet.into()]
    }
}

/// The first line without the byte order mark, which nobody sees.
fn without_mark(text: &str, line: TextRange) -> TextRange {
    let mark = TextSize::of('\u{feff}');
    let has_mark = line.start() == TextSize::new(0) && text.starts_with('\u{feff}');
    let start = if has_mark { mark } else { line.start() };
    TextRange::new(start, line.end().max(start))
}

/// The part of a line to show: all of it, or some of a long one around the place.
fn window(content: &str, start: usize, end: usize) -> Range<usize> {
    if content.len() <= LONGEST_LINE {
        return 0..content.len();
    }
    let from = content.floor_char_boundary(start.saturating_sub(AROUND));
    let to = content.ceil_char_boundary(
        end.min(start + AROUND)
            .saturating_add(AROUND)
            .min(content.len()),
    );
    from..to
}

/// The last lines: how many findings of which kind, in how many files.
fn summary(report: &Report) -> String {
    let with_dialect = report.files.iter().filter(|file| file.has_dialect).count();
    let without = report.files.len() - with_dialect;
    let counts: Vec<String> = [
        (Severity::Error, "error", "errors"),
        (Severity::Warning, "warning", "warnings"),
        (Severity::Information, "note", "notes"),
        (Severity::Hint, "hint", "hints"),
    ]
    .into_iter()
    .map(|(severity, one, many)| (report.count(severity), one, many))
    .filter(|(count, _, _)| *count > 0)
    .map(|(count, one, many)| counted(count, one, many))
    .collect();
    let found = match counts.as_slice() {
        // Where nothing was looked at there is nothing to praise.
        [] if report.files.is_empty() => String::new(),
        [] => ": nothing to complain about".to_owned(),
        counts => format!(": {}", counts.join(", ")),
    };
    let mut summary = format!(
        "{}{found}\n",
        counted(report.files.len(), "file checked", "files checked")
    );
    if without > 0 {
        let files = counted(without, "file fits", "files fit");
        summary.push_str(&format!("{files} no dialect and got form checks only\n"));
    }
    let accepted = report.accepted().count();
    if accepted > 0 {
        let findings = counted(accepted, "finding is", "findings are");
        summary.push_str(&format!("{findings} accepted in comments\n"));
    }
    summary.push_str(&of_baseline(report));
    if let Some((_, finding)) = report.findings().next() {
        summary.push_str(&format!(
            "More on a code: trunnion explain {}\n",
            finding.code
        ));
    }
    summary
}

/// What there is to say about the baseline, if there is one.
pub(super) fn of_baseline(report: &Report) -> String {
    let mut said = String::new();
    if !report.has_baseline {
        return said;
    }
    let known = report.known().count();
    let findings = counted(known, "finding is", "findings are");
    said.push_str(&format!("{findings} known from the baseline\n"));
    let gone = report.gone.iter().map(|gone| gone.count).sum();
    if gone > 0 {
        said.push_str(&format!(
            "{} gone:\n",
            counted(
                gone,
                "finding of the baseline is",
                "findings of the baseline are"
            )
        ));
        for gone in report.gone.iter().take(MOST_GONE) {
            let (path, entry) = (plain::name(&gone.path), &gone.entry);
            let times = match gone.count {
                1 => String::new(),
                several => format!(" ({several} times)"),
            };
            said.push_str(&format!(
                "  {path}: {}: {}{times}\n",
                entry.code, entry.content
            ));
        }
        if let Some(more @ 1..) = report.gone.len().checked_sub(MOST_GONE) {
            said.push_str(&format!("  and {more} more\n"));
        }
    }
    said
}

pub(crate) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
