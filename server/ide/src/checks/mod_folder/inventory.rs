//! Files that a mod need not have, or not like this.

use project::{Heavy, Weight};
use syntax::{TextRange, TextSize};

use crate::checks::site::Site;
use crate::{Finding, codes};

/// More files are counted only.
const MOST: usize = 100;
/// More meshes are counted only.
const MOST_MESHES: usize = 3;

pub(super) fn check(site: &Site<'_>) -> Vec<Finding> {
    let inventory = &site.view.folder.inventory;
    let mut findings = Vec::new();
    if let Some(left_out) = &inventory.left_out {
        findings.push(codes::UNUSED_FILE.at(site.root_name(), left_out));
    }
    for file in inventory.unused.iter().take(MOST) {
        let message = format!(
            "Nothing in the mod names the file `{file}`. If the game does not look for it by itself, nobody needs it."
        );
        findings.push(at_file(
            site,
            codes::UNUSED_FILE.at(site.root_name(), message),
            file,
        ));
    }
    if let Some(more @ 1..) = inventory.unused.len().checked_sub(MOST) {
        let message = format!("Nothing in the mod names {more} more files.");
        findings.push(codes::UNUSED_FILE.at(site.root_name(), message));
    }
    for (left, why) in inventory.leftovers.iter().take(MOST) {
        let message = format!("`{left}` is no part of the mod. {why}");
        let finding = codes::LEFTOVER_FILE.at(site.root_name(), message);
        findings.push(match left.ends_with('/') {
            true => finding,
            false => at_file(site, finding, left),
        });
    }
    for heavy in inventory.heavy.iter().take(MOST) {
        let finding = codes::HEAVY_FILE.at(site.root_name(), why(heavy));
        findings.push(at_file(site, finding, &heavy.file));
    }
    findings
}

fn at_file(site: &Site<'_>, finding: Finding, file: &str) -> Finding {
    let start = TextRange::empty(TextSize::new(0));
    finding.see_in(Some(site.view.folder.root.join(file)), start, "this file")
}

fn why(heavy: &Heavy) -> String {
    let Heavy { file, size, why } = heavy;
    let size = format!("{:.1} MB", *size as f64 / f64::from(1 << 20));
    match why {
        Weight::PlainSound => {
            format!("The recording `{file}` is not compressed and takes {size}.")
        }
        Weight::PlainImage => format!("The picture `{file}` is not compressed and takes {size}."),
        Weight::LargeImage { width, height } => {
            format!(
                "The picture `{file}` has {width} × {height} pixels and takes {size}: more than any screen shows of it."
            )
        }
        Weight::SpareMeshes(meshes) => {
            let named: Vec<String> = meshes
                .iter()
                .take(MOST_MESHES)
                .map(|mesh| format!("`{mesh}`"))
                .collect();
            let more = match meshes.len().checked_sub(MOST_MESHES) {
                Some(more @ 1..) => format!(" and {more} more"),
                _ => String::new(),
            };
            let meshes = named.join(", ");
            format!(
                "No node of the scene `{file}`, which takes {size}, has the meshes {meshes}{more}."
            )
        }
    }
}
