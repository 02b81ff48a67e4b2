//! The findings as one JSON array.

use std::io::{self, Write};
use std::path::Path;

use ide::{Finding, Fix, Trust};
use serde::Serialize;
use syntax::TextRange;

use super::report::{Checked, Report, Source, Sources};

#[derive(Serialize)]
struct Entry<'a> {
    file: String,
    code: &'a str,
    severity: &'a str,
    message: &'a str,
    range: Range,
    related: Vec<RelatedEntry<'a>>,
    fixes: Vec<FixEntry<'a>>,
    help: String,
}

#[derive(Serialize)]
struct RelatedEntry<'a> {
    file: String,
    range: Range,
    message: &'a str,
}

#[derive(Serialize)]
struct FixEntry<'a> {
    title: &'a str,
    trust: &'a str,
    edits: Vec<Edit<'a>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Edit<'a> {
    range: Range,
    new_text: &'a str,
}

/// Zero-based, end exclusive; characters count UTF-16 units, as in the Language Server Protocol.
#[derive(Serialize)]
struct Range {
    start: Place,
    end: Place,
}

#[derive(Serialize)]
struct Place {
    line: u32,
    character: u32,
}

pub(crate) fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, &entries(report, &Sources::of(report)))?;
    writeln!(out)
}

/// The same as a value.
pub(crate) fn value(report: &Report) -> serde_json::Value {
    // Text and numbers only, which JSON always holds.
    serde_json::to_value(entries(report, &Sources::of(report))).unwrap_or_default()
}

fn entries<'a>(report: &'a Report, sources: &Sources) -> Vec<Entry<'a>> {
    let findings = report.findings();
    findings
        .map(|(file, finding)| entry(file, finding, sources))
        .collect()
}

fn entry<'a>(file: &'a Checked, finding: &'a Finding, sources: &Sources) -> Entry<'a> {
    let related = finding.related.iter().filter_map(|related| {
        let path = related.path.as_deref().unwrap_or(&file.path);
        let range = range(&*sources.get(path)?, related.range);
        Some(RelatedEntry {
            file: shown(path),
            range,
            message: &related.message,
        })
    });
    Entry {
        file: shown(&file.path),
        code: finding.code,
        severity: finding.severity.as_str(),
        message: &finding.message,
        range: range(&file.source, finding.range),
        related: related.collect(),
        fixes: finding
            .fixes
            .iter()
            .map(|fix| fix_entry(fix, &file.source))
            .collect(),
        help: format!("trunnion explain {}", finding.code),
    }
}

fn fix_entry<'a>(fix: &'a Fix, source: &Source) -> FixEntry<'a> {
    let edits = fix.edits.iter().map(|edit| Edit {
        range: range(source, edit.range),
        new_text: &edit.insert,
    });
    FixEntry {
        title: &fix.title,
        trust: trust(fix.trust),
        edits: edits.collect(),
    }
}

fn trust(trust: Trust) -> &'static str {
    match trust {
        Trust::Safe => "safe",
        Trust::Review => "review",
        Trust::Draft => "draft",
    }
}

fn range(source: &Source, range: TextRange) -> Range {
    let (start, end) = source.positions(range);
    let place = |position: syntax::Position| Place {
        line: position.line,
        character: position.column,
    };
    Range {
        start: place(start),
        end: place(end),
    }
}

/// A path with `/` on every system.
fn shown(path: &Path) -> String {
    path.to_string_lossy()
        .replace(std::path::MAIN_SEPARATOR, "/")
}
