//! One machine.

use super::super::plain;
use super::positions;
use std::collections::HashSet;
use std::path::Path;

use compare::{Change, Conflict};
use ide::Severity;
use ide::repath::{self, Outcome};
use project::{Disk, SceneState, View};
use syntax::{Encoding, TextRange};

use crate::cli::definition::{self, Failure};
use crate::cli::diff::{opened, version};

/// So many lines of a side of a conflict are shown.
const MOST_LINES: usize = 12;

/// Whether these are found depends on where the result goes.
const OF_FILES: [&str; 2] = ["file-missing", "file-case"];

/// What became of one machine.
#[derive(Debug)]
pub(super) struct Carried {
    pub(super) text: String,
    /// What differs from the author's version now.
    changes: Vec<Change>,
    shared: usize,
    conflicts: Vec<Conflict>,
    /// Paths of mine that may lead elsewhere, a sentence each.
    unsure: Vec<String>,
    /// What the result has wrong and neither side had.
    wrong: Vec<String>,
    /// Conflicts, such paths, and what is wrong.
    pub(super) left: usize,
    /// The author's, mine, and the result.
    views: [View; 3],
}

/// The author's new version with what I changed. Paths: old, new, mine. `disk`: the same for all files of a mod.
///
/// # Errors
/// One of them cannot be read, or the result would be none.
pub(super) fn carried([old, new, mine]: [&Path; 3], disk: &Disk) -> Result<Carried, Failure> {
    let settings = definition::settings_of(&[old, new, mine]);
    let opened = |file| opened(file, &settings, disk);
    let (mut base, theirs, mut own) = (opened(old)?, opened(new)?, opened(mine)?);
    let (mut unsure, mut before) = (Vec::new(), Vec::new());
    // Both or none: else paths that I did not touch would look changed.
    if let (Some((old, in_old)), Some((mine, in_mine))) =
        (followed(&base, &theirs), followed(&own, &theirs))
    {
        (base, own, unsure, before) = (old, mine, in_mine, in_old);
    }
    let merged = compare::merge(&version(&base), &version(&theirs), &version(&own))
        .map_err(|reason| Failure::broken(format!("{}: {reason}", plain::name(new))))?;
    let merged_view = theirs.with_text(merged.text.clone());
    let (edits, uncounted) = positions::followed(&merged_view, [&theirs, &own]);
    let text = syntax::apply(&merged.text, &edits)
        .map_err(|error| Failure::broken(format!("{}: {error}", plain::name(new))))?;
    let result = theirs.with_text(text.clone());
    let changes = compare::changes(&version(&theirs), &version(&result));
    // What was in doubt before my changes is in doubt after them; what concerns nothing of mine is the author's.
    let messages = changes.iter().map(|change| &change.message);
    let quoted: HashSet<&str> = messages
        .flat_map(|message| message.split('`').skip(1))
        .collect();
    let before: HashSet<(String, String)> = before.into_iter().collect();
    unsure.retain(|one| !before.contains(one) || quoted.contains(one.0.as_str()));
    let mut wrong = uncounted;
    wrong.extend(newly_wrong(&result, [&theirs, &own]));
    let left = merged.conflicts.len() + unsure.len() + wrong.len();
    Ok(Carried {
        text,
        changes,
        shared: merged.shared,
        conflicts: merged.conflicts,
        unsure: unsure.into_iter().map(|(_, sentence)| sentence).collect(),
        wrong,
        left,
        views: [theirs, own, result],
    })
}

/// What goes wrong only where both sides meet: a name that one took away and the other uses, say.
fn newly_wrong(result: &View, sides: [&View; 2]) -> Vec<String> {
    let known = sides.into_iter().flat_map(ide::checks::run);
    let known: HashSet<_> = known
        .map(|finding| (finding.code, finding.message))
        .collect();
    let is_new = |finding: &ide::Finding| {
        let counts = matches!(finding.severity, Severity::Error | Severity::Warning);
        counts
            && !OF_FILES.contains(&finding.code)
            && !known.contains(&(finding.code, finding.message.clone()))
    };
    let found = ide::checks::run(result).into_iter().filter(is_new);
    found
        .map(|finding| {
            let line = line(result, finding.range);
            format!("line {line} of the result: {}", finding.message)
        })
        .collect()
}

type Left = Vec<(String, String)>;

/// A version whose index paths lead, in the author's new scene, to the nodes that they led to; and the paths that could not
/// follow. None: there is nothing to follow.
fn followed(view: &View, theirs: &View) -> Option<(View, Left)> {
    let scene = |view: &View| match &view.meaning.as_ref()?.scene {
        SceneState::Loaded(file) => Some(file.clone()),
        _ => None,
    };
    let (from, to) = (scene(view)?, scene(theirs)?);
    let found = repath::by_scenes(view, &from.scene, &to.scene).ok()?;
    let left = found.left().filter_map(|path| {
        let why = match &path.outcome {
            Outcome::Unsure(targets) => {
                let targets: Vec<&str> = targets.iter().map(|one| one.path.as_str()).collect();
                format!("may be {} in the new scene", targets.join(" or "))
            }
            Outcome::OutOfReach(place) => {
                format!(
                    "is at {place} in the new scene, and nothing that can be written leads there"
                )
            }
            Outcome::Gone => "is not in the new scene any more".to_owned(),
            _ => return None,
        };
        let node = path.node.as_deref().unwrap_or("its node");
        Some((
            path.path.clone(),
            format!("the path {} of yours: {node} {why}", path.path),
        ))
    });
    let left = left.collect();
    Some((view.with_text(found.text.clone()), left))
}

/// Whether index paths lead elsewhere in the author's new scene, or may. Paths: old, new, mine.
pub(super) fn paths_move([old, new, mine]: [&Path; 3], disk: &Disk) -> bool {
    let settings = definition::settings_of(&[old, new, mine]);
    let opened = |file| opened(file, &settings, disk);
    let Ok(theirs) = opened(new) else {
        return false;
    };
    [old, mine].into_iter().any(|file| {
        let Ok(view) = opened(file) else {
            return false;
        };
        followed(&view, &theirs)
            .is_some_and(|(followed, left)| followed.text() != view.text() || !left.is_empty())
    })
}

/// What was carried over, and what is left to be done.
pub(super) fn report(name: &str, carried: &Carried) -> String {
    let [theirs, own, result] = &carried.views;
    let mut text = format!("{name}:\n");
    for change in &carried.changes {
        let place = match (change.new, change.old) {
            (Some(range), _) => format!("line {}", line(result, range)),
            (None, Some(range)) => format!("line {} of the author's", line(theirs, range)),
            (None, None) => String::new(),
        };
        text.push_str(&format!("  {place}: {}\n", change.message));
    }
    if carried.changes.is_empty() {
        text.push_str("  Nothing of yours is to be carried over.\n");
    }
    if carried.shared > 0 {
        text.push_str(&format!(
            "  The author made {} of your changes as well.\n",
            carried.shared
        ));
    }
    for sentence in &carried.unsure {
        text.push_str(&format!("  Look at it: {sentence}.\n"));
    }
    for sentence in &carried.wrong {
        text.push_str(&format!("  Look at it: {sentence}\n"));
    }
    for conflict in &carried.conflicts {
        text.push_str(&shown(conflict, theirs, own));
    }
    text
}

fn shown(conflict: &Conflict, theirs: &View, own: &View) -> String {
    let mut text = format!("  Conflict: {}\n", conflict.subject);
    let at = |range: Option<TextRange>, view: &View| {
        range.map_or_else(String::new, |range| {
            format!(" (line {})", line(view, range))
        })
    };
    let sides = [
        ("old", String::new(), &conflict.base),
        ("the author's", at(conflict.place, theirs), &conflict.theirs),
        ("yours", at(conflict.mine_place, own), &conflict.mine),
    ];
    for (side, place, value) in sides {
        let value = value.as_deref().unwrap_or("(not there)");
        let mut lines = value.lines();
        let shown: Vec<&str> = lines.by_ref().take(MOST_LINES).collect();
        let more = match lines.count() {
            0 => String::new(),
            more => format!("\n      … and {more} more lines"),
        };
        text.push_str(&format!(
            "    {side}{place}: {}{more}\n",
            shown.join("\n      ")
        ));
    }
    text
}

pub(super) fn line(view: &View, range: TextRange) -> u32 {
    let lines = &view.document.lines;
    lines
        .position(view.text(), range.start(), Encoding::Utf32)
        .line
        + 1
}
