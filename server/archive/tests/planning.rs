//! What of a folder goes into its archive, what stays out, and what stops it.

use archive::{Plan, Stopped, Wishes};
use std::fs;
use tempfile::TempDir;

/// A folder with these files, empty each; what ends in `/` is a folder.
fn quay(files: &[&str]) -> TempDir {
    let pier = TempDir::with_prefix("trunnion-").unwrap();
    for file in files {
        let path = pier.path().join("quay").join(file);
        let folder = if file.ends_with('/') {
            Some(&*path)
        } else {
            path.parent()
        };
        fs::create_dir_all(folder.unwrap()).unwrap();
        if !file.ends_with('/') {
            fs::write(path, "").unwrap();
        }
    }
    pier
}

fn plan(pier: &TempDir, needed: &[&str]) -> Result<Plan, Stopped> {
    let wishes = Wishes {
        needed: needed.iter().map(|name| (*name).to_owned()).collect(),
        ..Wishes::default()
    };
    Plan::of(
        &pier.path().join("quay"),
        &pier.path().join("quay.zip"),
        wishes,
    )
}

fn left_out(plan: &Plan) -> Vec<&str> {
    let names = plan.left_out().iter().map(|one| one.name.as_deref());
    names.map(Option::unwrap).collect()
}

#[cfg(unix)]
fn refused(pier: &TempDir) -> Vec<String> {
    match plan(pier, &[]) {
        Err(Stopped::Refused(refused)) => refused
            .into_iter()
            .map(|one| format!("{}: {}", one.name.unwrap_or_default(), one.reason))
            .collect(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_is_left_out_is_named_once_with_all_that_is_in_it() {
    let pier = quay(&["mod.xml", ".git/refs/main", "a.bak", "empty/", "m/rig.xml"]);
    let plan = plan(&pier, &[]).unwrap();
    assert_eq!(left_out(&plan), [".git", "a.bak", "empty"]);
    assert_eq!(plan.files().collect::<Vec<_>>(), ["m/rig.xml", "mod.xml"]);
}

#[test]
fn what_is_needed_goes_in_whatever_it_is_called() {
    let pier = quay(&["mod.xml", ".git/main", ".parts/rig.xml", "a.bak"]);
    let plan = plan(&pier, &[".parts/rig.xml", "a.bak"]).unwrap();
    assert_eq!(left_out(&plan), [".git"]);
    assert_eq!(
        plan.files().collect::<Vec<_>>(),
        [".parts/rig.xml", "a.bak", "mod.xml"]
    );
}

#[test]
#[cfg(unix)]
fn what_no_archive_can_hold_is_refused_once_with_all_that_is_in_it() {
    let pier = quay(&["mod.xml", "a:b/c:d.xml", "m\\rig.xml"]);
    let at = |name: &str| pier.path().join("quay").join(name);
    std::os::unix::fs::symlink(at("mod.xml"), at("link.xml")).unwrap();
    let _socket = std::os::unix::net::UnixListener::bind(at("socket")).unwrap();
    let found = refused(&pier);
    let expected = [
        "a:b: ",
        "link.xml: It is a link",
        "m\\rig.xml: ",
        "socket: It is neither",
    ];
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (found, expected) in found.iter().zip(expected) {
        assert!(found.starts_with(expected), "{found}");
    }
}
