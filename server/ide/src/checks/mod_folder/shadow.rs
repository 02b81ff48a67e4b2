//! Is there an archive beside the folder that the game may load instead, and is it another?

use project::{Difference, How};

use crate::checks::site::Site;
use crate::{Finding, codes};

/// So many files are named.
const MOST_NAMED: usize = 3;

pub(super) fn check(site: &Site<'_>) -> Option<Finding> {
    let folder = &site.view.folder;
    let archive = folder.shadowing_archive.as_ref()?;
    let differences = folder.out_of_step.as_ref();
    if differences.is_some_and(|differences| differences.is_empty()) {
        return None;
    }
    let name = archive.file_name().unwrap_or(archive.as_os_str());
    let message = format!(
        "Beside this folder lies `{}`{}. A game that prefers archives loads that one, and what you change here does not show.",
        name.to_string_lossy(),
        differences.map(|all| told(all)).unwrap_or_default()
    );
    Some(codes::ARCHIVE_SHADOWS_FOLDER.at(site.root_name(), message))
}

fn told(differences: &[Difference]) -> String {
    let named = differences.iter().take(MOST_NAMED).map(|difference| {
        let how = match difference.how {
            How::NewerInFolder => "is newer here",
            How::OlderInFolder => "is another there",
            How::OnlyInFolder => "is missing there",
            How::OnlyInArchive => "is missing here",
        };
        format!("`{}` {how}", difference.file)
    });
    let mut named: Vec<String> = named.collect();
    if differences.len() > MOST_NAMED {
        named.push(format!(
            "{} more are not the same",
            differences.len() - MOST_NAMED
        ));
    }
    format!(", and it is out of step: {}", named.join(", "))
}
