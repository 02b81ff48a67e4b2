//! The findings as SARIF 2.1.0 (OASIS), for the pages of code hosts and other tools.

use std::io::{self, Write};
use std::path::Path;

use ide::codes::{self, Code};
use ide::{Finding, Fix, Severity};
use serde_json::{Value, json};
use syntax::TextRange;

use super::artifacts::Artifacts;
use super::report::{Checked, Report, Source, Sources};

const SCHEMA: &str = "https://json.schemastore.org/sarif-2.1.0.json";

pub(crate) fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let places = Places {
        sources: Sources::of(report),
        artifacts: Artifacts::default(),
    };
    let results = results(report, &places);
    let notifications: Vec<Value> = report
        .failures
        .iter()
        .map(|failure| json!({ "level": "error", "message": { "text": failure } }))
        .collect();
    let exit_code = report.exit_code();
    let log = json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "Trunnion",
                "version": env!("CARGO_PKG_VERSION"),
                "rules": codes::all().map(rule).collect::<Vec<_>>(),
            }},
            "invocations": [{
                "executionSuccessful": exit_code < 2,
                "exitCode": exit_code,
                "toolExecutionNotifications": notifications,
            }],
            "artifacts": places.artifacts.into_value(),
            "columnKind": "utf16CodeUnits",
            "results": results,
        }],
    });
    serde_json::to_writer_pretty(&mut *out, &log)?;
    writeln!(out)
}

/// All there is, also what is not reported: what the baseline knows (3.27.24, `baselineState`), what is gone of it, and
/// what comments accept (3.27.23, `suppressions`).
fn results(report: &Report, places: &Places) -> Vec<Value> {
    let state = |mut result: Value, state: &str| {
        if report.has_baseline {
            result["baselineState"] = state.into();
        }
        result
    };
    let new = report
        .findings()
        .map(|(file, finding)| state(result(file, finding, places), "new"));
    let known = report
        .known()
        .map(|(file, finding)| state(result(file, finding, places), "unchanged"));
    let accepted = report.accepted().map(|(file, accepted)| {
        let mut result = state(result(file, &accepted.finding, places), "new");
        result["suppressions"] = json!([{
            "kind": "inSource",
            "status": "accepted",
            "justification": accepted.reason,
            "location": places.location(&file.path, &file.source, accepted.comment),
        }]);
        result
    });
    let gone = report.gone.iter().map(|gone| {
        let code = &gone.entry.code;
        json!({
            "ruleId": code,
            "message": { "text": format!("`{code}` is not found any more in: {}", gone.entry.content) },
            "locations": [{ "physicalLocation": { "artifactLocation": places.artifacts.location(&gone.path) } }],
            "occurrenceCount": gone.count,
            "baselineState": "absent",
        })
    });
    new.chain(known).chain(accepted).chain(gone).collect()
}

/// What locations are made of.
struct Places {
    sources: Sources,
    artifacts: Artifacts,
}

fn rule(code: &Code) -> Value {
    json!({
        "id": code.name,
        "shortDescription": { "text": code.summary() },
        "help": { "text": code.page, "markdown": code.page },
        "defaultConfiguration": { "level": level(code.severity) },
        "properties": { "tags": [code.group.as_str()] },
    })
}

fn result(file: &Checked, finding: &Finding, places: &Places) -> Value {
    let mut result = json!({
        "ruleId": finding.code,
        "level": level(finding.severity),
        "message": { "text": finding.message },
        "locations": [places.location(&file.path, &file.source, finding.range)],
    });
    if let Some(index) = codes::all().position(|code| code.name == finding.code) {
        result["ruleIndex"] = index.into();
    }
    let related: Vec<Value> = finding
        .related
        .iter()
        .filter_map(|related| {
            let path = related.path.as_deref().unwrap_or(&file.path);
            let mut location = places.location(path, &*places.sources.get(path)?, related.range);
            location["message"] = json!({ "text": related.message });
            Some(location)
        })
        .collect();
    if !related.is_empty() {
        result["relatedLocations"] = related.into();
    }
    if !finding.fixes.is_empty() {
        result["fixes"] = finding
            .fixes
            .iter()
            .map(|one| fix(file, one, places))
            .collect();
    }
    result
}

fn fix(file: &Checked, fix: &Fix, places: &Places) -> Value {
    let replacements: Vec<Value> = fix
        .edits
        .iter()
        .map(|edit| {
            json!({
                "deletedRegion": region(&file.source, edit.range),
                "insertedContent": { "text": edit.insert },
            })
        })
        .collect();
    json!({
        "description": { "text": fix.title },
        "artifactChanges": [{
            "artifactLocation": places.artifacts.location(&file.path),
            "replacements": replacements,
        }],
    })
}

impl Places {
    fn location(&self, path: &Path, source: &Source, range: TextRange) -> Value {
        json!({ "physicalLocation": {
            "artifactLocation": self.artifacts.location(path),
            "region": region(source, range),
        }})
    }
}

/// Lines and columns from one; the end column is the one after the last character.
fn region(source: &Source, range: TextRange) -> Value {
    let (start, end) = source.positions(range);
    json!({
        "startLine": start.line + 1,
        "startColumn": start.column + 1,
        "endLine": end.line + 1,
        "endColumn": end.column + 1,
    })
}

/// SARIF has three levels: hints are notes too.
fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Information | Severity::Hint => "note",
    }
}
