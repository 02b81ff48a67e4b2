//! Does the mod's folder fit its manifest? Asked in the manifest only.

mod inventory;
mod shadow;
mod wordings;

use foldhash::HashSet;
use std::path::{Component, Path, PathBuf};

use project::FileState;
use syntax::{TextRange, TextSize};

use super::site::Site;
use super::unread::Unread;
use crate::{Finding, codes};

pub(super) fn check(site: &Site<'_>, unread: &Unread) -> Vec<Finding> {
    if !site.meaning.kind.is_manifest {
        return Vec::new();
    }
    let mut findings = unlisted(site, unread);
    findings.extend(inventory::check(site));
    findings.extend(wordings::check(site));
    findings.extend(shadow::check(site));
    findings
}

fn unlisted(site: &Site<'_>, unread: &Unread) -> Vec<Finding> {
    let folder = &site.view.folder;
    let machine = site.meaning.machine();
    // A dialect whose manifests list no machines has nothing to forget.
    if site.dialect.roles.listings.is_empty() {
        return Vec::new();
    }
    let listed_at: HashSet<TextRange> =
        machine.listings.iter().map(|listed| listed.range).collect();
    let files = machine.files.iter();
    let mut listed: HashSet<PathBuf> = files
        .filter(|used| listed_at.contains(&used.name.range))
        .filter_map(|used| match site.meaning.file(&used.name.value) {
            FileState::Found(path) | FileState::CaseDiffers { actual: path, .. } => {
                Some(without_detours(path))
            }
            FileState::Missing(_) | FileState::InGame => None,
        })
        .collect();
    listed.extend(
        machine
            .listings
            .iter()
            .map(|listed| without_detours(&folder.root.join(&*listed.value))),
    );
    let forgotten = folder
        .inventory
        .machines
        .iter()
        .filter(|machine| !listed.contains(&without_detours(&folder.root.join(machine))));
    forgotten
        .filter(|machine| !unread.may_hold(machine))
        .map(|machine| {
            let message = format!("The machine `{machine}` lies in the mod but is not listed here, so the game does not load it.");
            let start = TextRange::empty(TextSize::new(0));
            codes::UNLISTED_MACHINE.at(site.root_name(), message).see_in(Some(folder.root.join(machine)), start, "not listed")
        })
        .collect()
}

/// The path without `.` and `..`.
fn without_detours(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for step in path.components() {
        match step {
            Component::CurDir => {}
            Component::ParentDir => {
                plain.pop();
            }
            step => plain.push(step),
        }
    }
    plain
}
