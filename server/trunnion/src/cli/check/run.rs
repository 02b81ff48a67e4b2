//! Checking many files on all cores.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use dialect::Dialect;
use ide::checks::Judgement;
use ide::{Finding, codes};
use machine::in_parallel;
use project::{CONFIG_FILE_NAME, Disk, Files, SettingsStore};
use syntax::{TextRange, TextSize};

use super::super::plain;
use super::before::Before;
use super::files::{self, absolute};
use super::report::{Checked, Report, Source};

/// Checks everything that `paths` lead to. `before`: what their index paths were written for. `settings`: as far as they
/// are trusted.
pub(crate) fn run(paths: &[PathBuf], before: Option<&Path>, settings: &SettingsStore) -> Report {
    let disk = Disk::default();
    let before = match before.map(|path| Before::at(path, &disk)).transpose() {
        Ok(before) => before,
        Err(failure) => {
            return Report {
                failures: vec![failure],
                ..Report::default()
            };
        }
    };
    let wanted = files::wanted(paths, disk.files(), settings);
    let refused_archives = wanted.refused;
    let files: Vec<(PathBuf, PathBuf)> = wanted.files.into_iter().collect();
    let mut report = Report {
        failures: wanted.failures,
        ..Report::default()
    };
    let mut setup: BTreeMap<PathBuf, Vec<Finding>> = BTreeMap::new();
    let mut add_setup = |found: Vec<(PathBuf, Finding)>| {
        for (file, finding) in found {
            let known = setup.entry(file).or_default();
            if !known.contains(&finding) {
                known.push(finding);
            }
        }
    };
    for folder in &wanted.folders {
        add_setup(ide::checks::settings(&settings.for_folder(folder)));
    }
    let outcomes = in_parallel(files.len(), 1, |at| {
        let (path, shown) = &files[at];
        one(path, shown, &disk, settings, before.as_ref())
    });
    for (outcome, (_, shown)) in outcomes.into_iter().zip(&files) {
        match outcome {
            Ok(outcome) => {
                report.files.push(outcome.checked);
                add_setup(outcome.setup);
            }
            Err(reason) => report
                .failures
                .push(format!("{}: {reason}", plain::name(shown))),
        }
    }
    report.setup = setup
        .into_iter()
        .map(|(path, findings)| settings_file(&path, findings))
        .collect();
    report.files.extend(
        refused_archives
            .iter()
            .map(|(archive, reasons)| refused(archive, reasons)),
    );
    report.files.sort_by(|a, b| a.path.cmp(&b.path));
    report
}

struct Outcome {
    checked: Checked,
    /// Mistakes in the settings and dialects that apply to the file.
    setup: Vec<(PathBuf, Finding)>,
}

fn one(
    path: &Path,
    shown: &Path,
    disk: &Disk,
    settings: &SettingsStore,
    before: Option<&Before>,
) -> Result<Outcome, String> {
    // A file that makes the program stumble must not keep the others from being checked.
    catch_unwind(AssertUnwindSafe(|| {
        look_at(path, shown, disk, settings, before)
    }))
    .unwrap_or_else(|_| {
        Err("this file makes Trunnion stumble, which it should not: please report it".to_owned())
    })
}

fn look_at(
    path: &Path,
    shown: &Path,
    disk: &Disk,
    settings: &SettingsStore,
    before: Option<&Before>,
) -> Result<Outcome, String> {
    let text = match read(path, disk, settings)? {
        Read::Text { text, .. } => text,
        Read::Unread { readable, finding } => {
            return Ok(Outcome::unread(shown, &readable, finding));
        }
    };
    if path
        .extension()
        .is_some_and(|extension| extension == "toml")
    {
        return Ok(Outcome {
            checked: Checked::clean(shown),
            setup: setup(path, &text, settings),
        });
    }
    let starts = text.trim_start_matches('\u{feff}').trim_start();
    if !starts.starts_with('<') && !files::is_ours(path, settings) {
        return Err(NOT_XML.to_owned());
    }
    let mut view = project::view_of(path.to_path_buf(), text, disk, settings);
    if let Some(before) = before {
        before.tell(&mut view, disk)?;
    }
    let Judgement {
        mut findings,
        mut accepted,
    } = ide::checks::judge(&view);
    let all = findings
        .iter_mut()
        .chain(accepted.iter_mut().map(|accepted| &mut accepted.finding));
    for related in all.flat_map(|finding| &mut finding.related) {
        related.path = related.path.take().map(|path| from_here(&path));
    }
    let mut checked = Checked::clean(shown);
    checked.has_dialect = view.meaning.is_some() || view.is_scene();
    if !findings.is_empty() || !accepted.is_empty() {
        (checked.findings, checked.accepted) = (findings, accepted);
        checked.source = Arc::new(Source {
            text: Arc::clone(view.document.text()),
            lines: view.document.lines.clone(),
        });
    }
    Ok(Outcome {
        checked,
        setup: ide::checks::settings(&view.settings),
    })
}

/// What could be read of a file.
pub(super) enum Read {
    Text {
        text: String,
        bytes: Vec<u8>,
    },
    /// Not read, or only up to the finding.
    Unread {
        readable: String,
        finding: Finding,
    },
}

/// # Errors
/// A reason that is no finding: it cannot be opened, or it is not meant for us.
pub(super) fn read(path: &Path, disk: &Disk, settings: &SettingsStore) -> Result<Read, String> {
    let unread = |readable: &str, finding| Read::Unread {
        readable: readable.to_owned(),
        finding,
    };
    let about = disk.files().about(path);
    let about = about.map_err(|error| error.to_string())?;
    let size = about.size;
    let limit = settings.for_document(path).config.limits.document;
    if size > limit.bytes() {
        let finding = codes::TOO_LARGE.at(TextRange::default(), limit.passed_by(size));
        return Ok(unread("", finding));
    }
    // What is no file, such as a pipe, does not tell its size before.
    let bytes = disk.files().read_known(path, about, limit.bytes() + 1);
    let bytes = bytes.map_err(|error| error.to_string())?;
    let size = bytes.len() as u64;
    if size > limit.bytes() {
        let finding = codes::TOO_LARGE.at(TextRange::default(), limit.passed_by(size));
        return Ok(unread("", finding));
    }
    match syntax::decode::bytes(&bytes) {
        Ok(text) => Ok(Read::Text { text, bytes }),
        Err(_) if !files::is_ours(path, settings) => Err(NOT_XML.to_owned()),
        Err(error) => {
            // As far as it can be read, so that the place has a line.
            let readable = bytes
                .get(..error.offset)
                .and_then(|start| std::str::from_utf8(start).ok())
                .unwrap_or_default();
            let place = TextRange::empty(TextSize::of(readable));
            let finding = codes::ENCODING.at(place, error.reason);
            Ok(unread(readable, finding))
        }
    }
}

const NOT_XML: &str = "this is no XML file, so there is nothing to check in it";

impl Outcome {
    /// Of a file that was not read, or only up to the finding.
    fn unread(shown: &Path, text: &str, finding: Finding) -> Self {
        Self {
            checked: Checked {
                source: Arc::new(Source::new(text)),
                has_dialect: false,
                findings: vec![finding],
                ..Checked::clean(shown)
            },
            setup: Vec::new(),
        }
    }
}

/// More reasons why an archive is not read are counted only.
const MOST_REASONS: usize = 20;

/// An archive that is not read.
fn refused(archive: &Path, reasons: &[String]) -> Checked {
    let reasons = reasons.iter().take(MOST_REASONS).map(|reason| {
        let message = format!("This archive is not read. {reason}");
        codes::ARCHIVE_REFUSED.at(TextRange::default(), message)
    });
    Checked {
        findings: reasons.collect(),
        ..Checked::clean(archive)
    }
}

/// The mistakes in a settings or dialect file that was asked for by itself.
fn setup(path: &Path, text: &str, settings: &SettingsStore) -> Vec<(PathBuf, Finding)> {
    if path
        .file_name()
        .is_some_and(|name| name == CONFIG_FILE_NAME)
    {
        return ide::checks::settings(&settings.for_document(path));
    }
    let problems = Dialect::read(text, Some(path.to_path_buf()))
        .err()
        .unwrap_or_default();
    problems
        .into_iter()
        .map(|problem| {
            (
                path.to_path_buf(),
                codes::DIALECT_PROBLEM.at(problem.range, problem.message),
            )
        })
        .collect()
}

fn settings_file(path: &Path, findings: Vec<Finding>) -> Checked {
    let files = Files::default();
    let bytes = files.is_file(path).then(|| files.read(path, u64::MAX));
    let bytes = bytes.and_then(Result::ok).unwrap_or_default();
    let text = String::from_utf8(bytes).unwrap_or_default();
    Checked {
        source: Arc::new(Source::new(text)),
        has_dialect: false,
        findings,
        ..Checked::clean(&from_here(path))
    }
}

/// As a person here would write it.
pub(super) fn from_here(path: &Path) -> PathBuf {
    let here = absolute(Path::new("."));
    match here.as_ref().map(|here| path.strip_prefix(here)) {
        Ok(Ok(inside)) if !inside.as_os_str().is_empty() => inside.to_path_buf(),
        _ => path.to_path_buf(),
    }
}
