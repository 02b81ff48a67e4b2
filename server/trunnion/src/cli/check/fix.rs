//! Safe repairs, made on paper: what each file would be like after them.

use std::collections::{BTreeMap, HashSet};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use ide::{assists, checks};
use machine::in_parallel;
use project::{Disk, SettingsStore};
use syntax::{Encoding, LineIndex, TextEdit};

use super::files;
use super::human;
use super::run::{self, Read};
use crate::cli::difference;
use crate::cli::plain;
use crate::cli::replace::{self, Replaced};

/// Repairs can make room for others, but not for ever.
const MOST_ROUNDS: usize = 200;

/// A file to which something was done, not written yet.
#[derive(Debug)]
pub(super) struct Fixed {
    path: PathBuf,
    /// As it is shown.
    pub(super) shown: PathBuf,
    bytes: Vec<u8>,
    before: String,
    after: String,
    pub(super) done: Vec<Done>,
}

/// One repair.
#[derive(Debug)]
pub(super) struct Done {
    /// From one, in the text that was repaired.
    pub(super) line: u32,
    pub(super) code: &'static str,
    pub(super) title: String,
}

/// What can be repaired safely.
#[derive(Debug, Default)]
pub(super) struct Repairs {
    pub(super) files: Vec<Fixed>,
    /// Files in archives that could be repaired if they were not there, a line each.
    pub(super) out_of_reach: String,
    /// What cannot be looked at, as sentences.
    pub(super) failures: Vec<String>,
}

/// Works out the repairs of all files below `paths`.
pub(super) fn fix(paths: &[PathBuf]) -> Repairs {
    let (disk, settings) = (Disk::default(), SettingsStore::of_one_run());
    let wanted = files::wanted(paths, disk.files(), &settings);
    let mut repairs = Repairs {
        failures: wanted.failures,
        ..Repairs::default()
    };
    // Several paths may lead to one file.
    let wanted: BTreeMap<PathBuf, (PathBuf, PathBuf)> = wanted
        .files
        .into_iter()
        .map(|(path, shown)| {
            let real = fs::canonicalize(&path);
            (real.unwrap_or_else(|_| path.clone()), (path, shown))
        })
        .collect();
    let wanted: Vec<(PathBuf, PathBuf)> = wanted.into_values().collect();
    let fixed = in_parallel(wanted.len(), 1, |at| {
        let (path, shown) = &wanted[at];
        // A file that makes the program stumble must not keep the others from being repaired.
        catch_unwind(AssertUnwindSafe(|| fixed(path, shown, &disk, &settings)))
            .ok()
            .flatten()
    });
    for fixed in fixed.into_iter().flatten() {
        if project::inside(&fixed.path).is_some() {
            let count = human::counted(fixed.done.len(), "repair is", "repairs are");
            let shown = plain::name(&fixed.shown);
            repairs.out_of_reach.push_str(&format!(
                "{shown}: {count} not made: nothing is written into archives. Unpack it first (trunnion unpack).\n"
            ));
        } else {
            repairs.files.push(fixed);
        }
    }
    repairs
}

fn fixed(path: &Path, shown: &Path, disk: &Disk, settings: &SettingsStore) -> Option<Fixed> {
    let Ok(Read::Text { text, bytes }) = run::read(path, disk, settings) else {
        return None;
    };
    if !text
        .trim_start_matches('\u{feff}')
        .trim_start()
        .starts_with('<')
    {
        return None;
    }
    let (after, done) = settled(path, &text, disk, settings);
    (after != text).then(|| Fixed {
        path: path.to_path_buf(),
        shown: shown.to_path_buf(),
        bytes,
        before: text,
        after,
        done,
    })
}

/// A text repaired until nothing changes any more. A round that breaks the XML is not taken.
fn settled(path: &Path, text: &str, disk: &Disk, settings: &SettingsStore) -> (String, Vec<Done>) {
    let look = |text: &str| {
        let view = project::view_of(path.to_path_buf(), text.to_owned(), disk, settings);
        let findings = checks::run(&view);
        (view, findings)
    };
    let (mut done, mut seen) = (Vec::new(), HashSet::from([text.to_owned()]));
    let (mut view, mut findings) = look(text);
    if !view.settings.problems.is_empty() {
        // With a dialect that cannot be read, the file may be judged by another one.
        return (text.to_owned(), done);
    }
    for _ in 0..MOST_ROUNDS {
        let repairs = assists::safe_repairs(&view, &findings);
        let edits: Vec<TextEdit> = repairs
            .iter()
            .flat_map(|repair| repair.edits.iter().cloned())
            .collect();
        let Ok(next) = syntax::apply(view.text(), &edits) else {
            break;
        };
        if !seen.insert(next.clone()) {
            break;
        }
        let (next_view, next_findings) = look(&next);
        if next_view.tree().errors().len() > view.tree().errors().len() {
            break;
        }
        let lines = LineIndex::new(view.text());
        done.extend(repairs.into_iter().map(|repair| {
            let start = lines.position(view.text(), repair.range.start(), Encoding::Utf8);
            Done {
                line: start.line + 1,
                code: repair.code,
                title: repair.title,
            }
        }));
        (view, findings) = (next_view, next_findings);
    }
    (view.text().to_owned(), done)
}

impl Fixed {
    /// # Errors
    /// Why the file is as it was, as a sentence.
    pub(super) fn write(&self) -> Result<(), String> {
        let shown = plain::name(&self.shown);
        match replace::replace(&self.path, &self.bytes, &self.after) {
            Ok(Replaced::Done) => Ok(()),
            Ok(Replaced::ChangedMeanwhile) => Err(format!(
                "{shown} was changed by somebody else in the meantime, so nothing was written to it. Try again."
            )),
            Err(reason) => Err(format!(
                "{shown} cannot be written, and is as it was: {reason}."
            )),
        }
    }

    /// As a unified diff.
    pub(super) fn difference(&self) -> String {
        difference::unified(&self.shown, &self.before, &self.after)
    }

    /// What was done, a line each.
    pub(super) fn account(&self) -> String {
        let shown = plain::name(&self.shown);
        let line = |done: &Done| format!("{shown}:{}: {}: {}\n", done.line, done.code, done.title);
        self.done.iter().map(line).collect()
    }
}
