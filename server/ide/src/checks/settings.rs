//! Mistakes in `trunnion.toml` and in dialect files.

use std::path::PathBuf;

use project::Settings;

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
