//! Are the files there?

use foldhash::HashSet;
use std::path::Path;
use std::sync::Arc;

use machine::{FileUse, Ranges, Sort, Spanned};
use project::{FileState, SceneState};
use syntax::{TextEdit, TextRange};

use super::gravest::Gravest;
use super::site::Site;
use super::suggest::Budget;
use crate::file_names::{as_written, base, relative};
use crate::{Finding, Fix, Trust, codes};

pub(super) fn check(site: &Site<'_>, faulty: &HashSet<TextRange>, found: &mut Gravest) {
    let budget = Budget::new();
    let scene = site.outline.scene();
    let mut is_scene_checked = false;
    for (_, entry) in site.outline.saying(Sort::Files) {
        for used in &entry.facts.files {
            let used = used.clone().moved_on(entry.start());
            let is_scene = |scene: &Spanned<Arc<str>>| scene.range == used.name.range;
            is_scene_checked |= scene.as_ref().is_some_and(is_scene);
            if !faulty.contains(&used.name.range) {
                let state = site.meaning.file(&used.name.value);
                found.extend(finding(site, &used, state, &budget));
            }
        }
    }
    // A scene that the grammar does not call a file is a file all the same.
    if let (Some(scene), SceneState::NotThere(state), false) =
        (scene, &site.meaning.scene, is_scene_checked)
    {
        let used = FileUse {
            element: scene.range,
            name: scene,
            extensions: Arc::default(),
        };
        found.extend(finding(site, &used, state, &budget));
    }
}

fn finding(site: &Site<'_>, used: &FileUse, state: &FileState, budget: &Budget) -> Option<Finding> {
    let name = &used.name.value;
    match state {
        FileState::Found(_) | FileState::InGame => None,
        FileState::CaseDiffers { written, .. } => {
            let written = as_written(site.dialect, name, written);
            let message = format!(
                "The file is called `{written}`: as `{name}` it opens only where upper and lower case mean nothing."
            );
            Some(codes::FILE_CASE.at(used.name.range, message).fix(write(
                used,
                &written,
                Trust::Safe,
            )))
        }
        FileState::Missing(path) => {
            let message = format!("There is no file `{name}`.");
            let Some(near) = near(site, path, budget) else {
                return Some(codes::FILE_MISSING.at(used.name.range, message));
            };
            let near = as_written(site.dialect, name, &near);
            let message = format!("{message} Did you mean `{near}`?");
            Some(codes::FILE_MISSING.at(used.name.range, message).fix(write(
                used,
                &near,
                Trust::Review,
            )))
        }
    }
}

fn write(used: &FileUse, name: &str, trust: Trust) -> Fix {
    Fix {
        title: format!("Write `{name}`"),
        trust,
        edits: vec![TextEdit::replace(used.name.range, super::escaped(name))],
    }
}

/// A file of the mod with a similar name, or the same name in another folder; as written from where names start.
fn near(site: &Site<'_>, missing: &Path, budget: &Budget) -> Option<String> {
    let folder = &site.view.folder;
    let base = base(site.dialect, &site.view.document.path, &folder.root)?;
    let wanted = missing.file_name()?.to_str()?;
    let files: Vec<&str> = folder.files.iter().map(String::as_str).collect();
    let moved: Vec<&str> = files
        .iter()
        .copied()
        .filter(|file| file.rsplit('/').next() == Some(wanted))
        .collect();
    let found = match moved.as_slice() {
        [only] => (*only).to_owned(),
        _ => {
            let inside = missing
                .strip_prefix(&folder.root)
                .ok()?
                .to_str()?
                .replace('\\', "/");
            budget
                .nearest(&inside, files.len(), files.iter().copied())?
                .word
                .to_owned()
        }
    };
    relative(base, &folder.root.join(found))
}
