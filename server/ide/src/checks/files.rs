//! Are the files there?

use std::path::Path;

use machine::FileUse;
use project::{FileState, SceneState};
use syntax::TextEdit;

use super::facts::Facts;
use super::suggest::Budget;
use crate::{Finding, Fix, Trust, codes};

pub(super) fn check(facts: &Facts<'_>) -> Vec<Finding> {
    let budget = Budget::new();
    let files = facts.machine.files.iter();
    let mut findings: Vec<Finding> = files
        .filter_map(|used| finding(facts, used, facts.meaning.file(&used.name.value), &budget))
        .collect();
    // A scene that the grammar does not call a file is a file all the same.
    if let (Some(scene), SceneState::NotThere(state)) = (&facts.machine.scene, &facts.meaning.scene)
        && !facts
            .machine
            .files
            .iter()
            .any(|used| used.name.range == scene.range)
    {
        let used = FileUse {
            name: scene.clone(),
            extensions: Vec::new(),
            element: scene.range,
        };
        findings.extend(finding(facts, &used, state, &budget));
    }
    findings
}

fn finding(
    facts: &Facts<'_>,
    used: &FileUse,
    state: &FileState,
    budget: &Budget,
) -> Option<Finding> {
    let name = &used.name.value;
    if facts.faulty.contains(&used.name.range) {
        return None;
    }
    match state {
        FileState::Found(_) | FileState::InGame => None,
        FileState::CaseDiffers { written, .. } => {
            let written = restored(facts, name, written);
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
            let Some(near) = near(facts, path, budget) else {
                return Some(codes::FILE_MISSING.at(used.name.range, message));
            };
            let near = restored(facts, name, &near);
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

/// A name with `/` between its folders, with the dialect's mark and the prefix of `written` put back.
fn restored(facts: &Facts<'_>, written: &str, name: &str) -> String {
    let notation = &facts.dialect.notation.files;
    let mark = notation
        .folder_separators
        .iter()
        .find(|mark| written.contains(**mark))
        .or(notation.folder_separators.first());
    let name = match mark {
        Some(mark) => name.replace('/', &mark.to_string()),
        None => name.to_owned(),
    };
    match notation
        .game_prefix
        .as_deref()
        .filter(|prefix| written.starts_with(prefix))
    {
        Some(prefix) => format!("{prefix}{name}"),
        None => name,
    }
}

/// A file of the mod with a similar name, or the same name in another folder; as written from where names start.
fn near(facts: &Facts<'_>, missing: &Path, budget: &Budget) -> Option<String> {
    let folder = &facts.view.folder;
    let base = match facts.dialect.notation.files.from {
        dialect::FilesFrom::Document => facts.view.document.path.parent()?,
        dialect::FilesFrom::Mod => &folder.root,
    };
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

/// `target` as written from `base`, with `/` between the steps.
fn relative(base: &Path, target: &Path) -> Option<String> {
    let common = base
        .components()
        .zip(target.components())
        .take_while(|(one, other)| one == other)
        .count();
    let up = base.components().skip(common).map(|_| "..".to_owned());
    let down = target
        .components()
        .skip(common)
        .map(|step| step.as_os_str().to_string_lossy().into_owned());
    let steps: Vec<String> = up.chain(down).collect();
    (!steps.is_empty()).then(|| steps.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_written_from_the_folder_where_names_start() {
        let relative = |base, target| relative(Path::new(base), Path::new(target));
        assert_eq!(
            relative("/mod/machines", "/mod/machines/sounds/pump.ogg").as_deref(),
            Some("sounds/pump.ogg")
        );
        assert_eq!(
            relative("/mod/machines", "/mod/sounds/pump.ogg").as_deref(),
            Some("../sounds/pump.ogg")
        );
        assert_eq!(relative("/mod", "/mod"), None);
    }
}
