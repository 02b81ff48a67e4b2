//! A baseline: findings that were there when somebody began to check an old mod. They are not reported again.
//!
//! A finding is known by its file, its code and the tag that it is in, not by its line; of equal ones the baseline says
//! how many there are. In the course of time it only shrinks.

use std::collections::BTreeMap;
use std::io;
use std::path::{Component, Path, PathBuf};

use ide::codes::{self, Group};
use ide::{Finding, Severity};
use project::Files;
use serde::{Deserialize, Serialize};
use syntax::TextRange;

use super::super::plain;
use super::files::absolute;
use super::report::{Checked, Report};
use crate::cli::replace::{self, Replaced};

/// Changes with the meaning of the entries.
const FORMAT: u32 = 1;
/// So much of a tag tells findings apart, in characters.
const LONGEST_CONTENT: usize = 500;

/// Of a baseline's file, in bytes; what is longer is none.
const LARGEST: u64 = 256 << 20;

/// What a baseline knows, with how many there are of it.
#[derive(Debug, Default, Clone, PartialEq)]
pub(super) struct Baseline {
    entries: BTreeMap<Entry, usize>,
}

/// What tells findings apart.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Entry {
    /// From the folder of the baseline, with `/` between the steps.
    file: String,
    pub(crate) code: String,
    /// The tag that the finding is in, as it is written but for white space.
    pub(crate) content: String,
}

/// A file of baselines: what is written.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stored {
    format: u32,
    findings: Vec<StoredEntry>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StoredEntry {
    file: String,
    code: String,
    content: String,
    count: usize,
}

/// A baseline's file as it was read.
#[derive(Debug)]
pub(super) struct File {
    path: PathBuf,
    /// The folder that the entries' files are named from. Absolute.
    folder: PathBuf,
    bytes: Vec<u8>,
    pub(super) baseline: Baseline,
}

/// An entry that is not found any more, wholly or in part.
#[derive(Debug)]
pub(crate) struct Gone {
    pub(crate) path: PathBuf,
    pub(crate) entry: Entry,
    pub(crate) count: usize,
}

impl File {
    /// None: there is no such file.
    ///
    /// # Errors
    /// Why it cannot be used, as a sentence.
    pub(super) fn read(path: &Path) -> Result<Option<Self>, String> {
        let shown = plain::name(path);
        let bytes = match Files::default().read(path, LARGEST) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(format!("The baseline {shown} cannot be read: {error}.")),
        };
        let stored: Stored = serde_json::from_slice(&bytes)
            .map_err(|error| format!("{shown} is no baseline: {error}."))?;
        if stored.format != FORMAT {
            return Err(format!(
                "The baseline {shown} has the format {}, and this version of Trunnion knows {FORMAT} only.",
                stored.format
            ));
        }
        let mut baseline = Baseline::default();
        for StoredEntry {
            file,
            code,
            content,
            count,
        } in stored.findings
        {
            let entry = Entry {
                file,
                code,
                content,
            };
            *baseline.entries.entry(entry).or_default() += count;
        }
        Ok(Some(Self {
            path: path.to_path_buf(),
            folder: folder_of(path)?,
            bytes,
            baseline,
        }))
    }

    /// A baseline that is not written yet.
    ///
    /// # Errors
    /// It could not be written, as a sentence.
    pub(super) fn new(path: &Path) -> Result<Self, String> {
        Ok(Self {
            path: path.to_path_buf(),
            folder: folder_of(path)?,
            bytes: Vec::new(),
            baseline: Baseline::default(),
        })
    }

    /// Sets those findings of a report apart that the baseline knows, and says which entries are gone. What another
    /// baseline knew does not matter.
    pub(super) fn apply(&self, report: &mut Report) {
        let mut left = self.baseline.entries.clone();
        let mut whole = Vec::new();
        for file in &mut report.files {
            let name = self.name(&file.path);
            let mut findings = std::mem::take(&mut file.findings);
            findings.append(&mut file.known);
            findings.sort_by_key(|finding| (finding.range.start(), finding.range.end()));
            for finding in findings {
                match left.get_mut(&entry(&name, file, &finding)) {
                    Some(count) if *count > 0 => {
                        *count -= 1;
                        file.known.push(finding);
                    }
                    _ => file.findings.push(finding),
                }
            }
            if is_judged(file) {
                whole.push(name);
            }
        }
        whole.sort();
        let files = Files::default();
        let is_gone = |entry: &Entry| {
            whole.binary_search(&entry.file).is_ok()
                || !files.exists(&self.folder.join(&entry.file))
        };
        let gone = left.into_iter().filter(|(_, count)| *count > 0);
        report.gone = gone
            .filter(|(entry, _)| is_gone(entry))
            .map(|(entry, count)| Gone {
                path: super::run::from_here(&self.folder.join(&entry.file)),
                entry,
                count,
            })
            .collect();
        report.has_baseline = true;
    }

    /// The baseline as a report has it: without what is gone; with what is new, if that is wanted.
    pub(super) fn after(&self, report: &Report, with_new: bool) -> Baseline {
        let mut entries = self.baseline.entries.clone();
        for gone in &report.gone {
            if let Some(count) = entries.get_mut(&gone.entry) {
                *count -= gone.count.min(*count);
            }
        }
        entries.retain(|_, count| *count > 0);
        if with_new {
            for file in &report.files {
                let name = self.name(&file.path);
                for finding in file.findings.iter().filter(|finding| may_be_known(finding)) {
                    *entries.entry(entry(&name, file, finding)).or_default() += 1;
                }
            }
        }
        Baseline { entries }
    }

    /// Puts a new baseline in the place of this one.
    ///
    /// # Errors
    /// Why it is as it was, as a sentence.
    pub(super) fn write(mut self, baseline: Baseline) -> Result<Self, String> {
        let shown = plain::name(&self.path);
        let text = baseline.text();
        let old = (!self.bytes.is_empty()).then_some(&*self.bytes);
        match replace::put(&self.path, old, &text) {
            Ok(Replaced::Done) => {
                (self.bytes, self.baseline) = (text.into_bytes(), baseline);
                Ok(self)
            }
            Ok(Replaced::ChangedMeanwhile) => Err(format!(
                "The baseline {shown} was changed by somebody else in the meantime, so it was not written. Try again."
            )),
            Err(error) => Err(format!("The baseline {shown} cannot be written: {error}.")),
        }
    }

    /// What entries call a file.
    fn name(&self, path: &Path) -> String {
        let path = absolute(path).unwrap_or_else(|_| path.to_path_buf());
        relative(&self.folder, &path)
    }
}

impl Baseline {
    pub(super) fn len(&self) -> usize {
        self.entries.values().sum()
    }

    /// One entry in a line, in order: so that a change of it is easy to read.
    fn text(&self) -> String {
        let entries = self.entries.iter().map(|(entry, count)| StoredEntry {
            file: entry.file.clone(),
            code: entry.code.clone(),
            content: entry.content.clone(),
            count: *count,
        });
        let lines: Vec<String> = entries
            .filter_map(|entry| serde_json::to_string(&entry).ok())
            .map(|entry| format!("\n    {entry}"))
            .collect();
        format!(
            "{{\n  \"format\": {FORMAT},\n  \"findings\": [{}\n  ]\n}}\n",
            lines.join(",")
        )
    }
}

fn entry(name: &str, file: &Checked, finding: &Finding) -> Entry {
    Entry {
        file: name.to_owned(),
        code: finding.code.to_owned(),
        content: content(&file.source.text, finding.range),
    }
}

/// The tag that a range begins in or right behind, or the text there with the tags around it.
fn content(text: &str, range: TextRange) -> String {
    let at = usize::from(range.start()).min(text.len());
    let (before, after) = text.split_at(text.floor_char_boundary(at));
    let from = match after.starts_with('<') {
        true => before.len(),
        false => before.rfind('<').unwrap_or(0),
    };
    let to = after
        .find('>')
        .map_or(text.len(), |end| before.len() + end + 1);
    let words: Vec<&str> = text[from..to].split_whitespace().collect();
    words.join(" ").chars().take(LONGEST_CONTENT).collect()
}

/// What cannot be read at all is always told.
fn may_be_known(finding: &Finding) -> bool {
    codes::find(finding.code).is_some_and(|code| code.group != Group::Setup)
}

/// Whether all of a file was looked at, so that what is not found is not there: one error can hide others.
fn is_judged(file: &Checked) -> bool {
    let mut new = file.findings.iter();
    !new.any(|finding| finding.severity == Severity::Error)
}

fn folder_of(path: &Path) -> Result<PathBuf, String> {
    let path = absolute(path).map_err(|error| {
        format!(
            "The baseline {} cannot be used: {error}.",
            plain::name(path)
        )
    })?;
    Ok(path.parent().map(Path::to_path_buf).unwrap_or_default())
}

/// A path as seen from a folder, with `/` between the steps. Both are absolute.
fn relative(folder: &Path, path: &Path) -> String {
    let (from, to): (Vec<Component<'_>>, Vec<Component<'_>>) =
        (folder.components().collect(), path.components().collect());
    let common = from
        .iter()
        .zip(&to)
        .take_while(|(one, other)| one == other)
        .count();
    if common == 0 {
        // On another drive.
        return path.to_string_lossy().replace('\\', "/");
    }
    let up = std::iter::repeat_n("..".into(), from.len() - common);
    let down = to[common..]
        .iter()
        .map(|step| step.as_os_str().to_string_lossy());
    up.chain(down).collect::<Vec<_>>().join("/")
}

#[cfg(test)]
mod tests {
    use super::*;
    use syntax::TextSize;

    #[test]
    fn the_content_is_the_tag_whatever_its_layout() {
        let text = "<a>\n  <b\n    c=\"1\"\n    d='x'/> <e>#1:3</e>";
        let at = |part: &str| {
            let start = TextSize::of(text.split(part).next().unwrap_or_default());
            content(text, TextRange::at(start, TextSize::of(part)))
        };
        assert_eq!(at("1"), "<b c=\"1\" d='x'/>");
        assert_eq!(at("<b"), "<b c=\"1\" d='x'/>");
        assert_eq!(at("#1:3"), "<e>#1:3</e>");
        assert_eq!(content("", TextRange::default()), "");
    }

    #[test]
    fn files_are_named_from_the_folder_of_the_baseline() {
        let name = |path: &str| relative(Path::new("/mods/quay"), Path::new(path));
        assert_eq!(name("/mods/quay/machines/a.xml"), "machines/a.xml");
        assert_eq!(name("/mods/other/a.xml"), "../other/a.xml");
    }
}
