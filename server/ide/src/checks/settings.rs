//! Mistakes in `trunnion.toml` and in dialect files.

use std::path::PathBuf;

use dialect::Dialect;
use project::{Settings, View};

use super::site::Site;
use crate::{Finding, codes};

/// What is wrong with the settings that apply to a document, each with its file.
pub fn settings(settings: &Settings) -> Vec<(PathBuf, Finding)> {
    let problems = settings.problems.iter();
    problems
        .map(|problem| {
            let is_config = problem
                .path
                .file_name()
                .is_some_and(|name| name == project::CONFIG_FILE_NAME);
            let code = if is_config {
                &codes::CONFIG_PROBLEM
            } else {
                &codes::DIALECT_PROBLEM
            };
            (
                problem.path.clone(),
                code.at(problem.range, problem.message.clone()),
            )
        })
        .collect()
}

/// The same, said at a document that the settings apply to: a person who has only the document open would not see it
/// otherwise. One finding a file, at the name of the root element, with the first mistake and how many more there are.
pub fn settings_at(view: &View) -> Vec<Finding> {
    let place = view.tree().root().map(|root| root.name_range());
    let mut by_file: Vec<(PathBuf, Finding, usize)> = Vec::new();
    for (path, finding) in settings(&view.settings) {
        if path == view.document.path {
            continue;
        }
        match by_file.iter_mut().find(|(known, ..)| *known == path) {
            Some((.., more)) => *more += 1,
            None => by_file.push((path, finding, 0)),
        }
    }
    by_file
        .into_iter()
        .map(|(path, first, more)| {
            let name = path.file_name().unwrap_or(path.as_os_str());
            let count = match more {
                0 => String::new(),
                1 => String::from(" There is one more mistake."),
                more => format!(" There are {more} more mistakes."),
            };
            let message = format!(
                "The settings of this file cannot be used as they are. In `{}`: {}{count}",
                name.to_string_lossy(),
                first.message
            );
            let at = Finding::new(
                first.code,
                first.severity,
                place.unwrap_or_default(),
                message,
            );
            at.see_in(Some(path), first.range, "here")
        })
        .collect()
}

/// What is wrong with a document that is a file of settings, as it was saved last. None: it is none, but XML.
pub(super) fn of_itself(view: &View) -> Option<Vec<Finding>> {
    let path = &view.document.path;
    let is_toml = path.extension().is_some_and(|ending| ending == "toml");
    (is_toml && view.meaning.is_none()).then(|| {
        let own = settings(&view.settings).into_iter();
        let own = own.filter(|(file, _)| file == path);
        let own = own.map(|(_, finding)| finding);
        // More may have been taken away since.
        own.filter(|finding| {
            view.text()
                .get(std::ops::Range::<usize>::from(finding.range))
                .is_some()
        })
        .collect()
    })
}

/// Another dialect would do as well.
pub(super) fn rival(site: &Site<'_>) -> Option<Finding> {
    let rival = site.meaning.rival.as_ref()?;
    let named = |dialect: &Dialect| match &dialect.origin {
        Some(file) => format!("`{}` ({})", dialect.name, file.display()),
        None => format!("`{}`", dialect.name),
    };
    let message = format!(
        "This file is read by the dialect {}, because that comes first; {} fits as well. Put the one that you mean \
         first in `dialects` in trunnion.toml, and take the other one out.",
        named(site.dialect),
        named(rival)
    );
    Some(codes::TWO_DIALECTS.at(site.root_name(), message))
}
