//! Whole mods, file by file.

use std::path::Path;

use super::machine;
use super::{Content, Outcome, Product};
use crate::cli::definition::Failure;
use crate::cli::diff::folders::{self, Folder};
use project::Disk;

/// Whose file goes into the result, if it is there.
enum Taken {
    Theirs,
    Mine,
    /// The author's, though I changed it too.
    Conflict(&'static str),
}

/// The author's new mod with what I changed in it.
///
/// # Errors
/// A file of them cannot be read.
pub(super) fn carried(old: &Path, new: &Path, mine: &Path) -> Result<Outcome, Failure> {
    let [old, new, mine] = [Folder::open(old)?, Folder::open(new)?, Folder::open(mine)?];
    let (mut report, mut left, mut result) = (String::new(), 0, Vec::new());
    let disk = Disk::default();
    let mut names = &old.names | &new.names;
    names.extend(mine.names.iter().cloned());
    for name in &names {
        let bytes = |folder: &Folder| {
            let has = folder.names.contains(name);
            has.then(|| folder.bytes(name)).transpose()
        };
        let sides = [bytes(&old)?, bytes(&new)?, bytes(&mine)?];
        let versions = [&old, &new, &mine];
        let paths = versions.map(|folder| folder.path(name));
        let paths = paths.each_ref().map(|path| path.as_path());
        if is_merged(name, versions, &sides, paths, &disk) {
            match machine::carried(paths, &disk) {
                Ok(carried) => {
                    report.push_str(&machine::report(name, &carried));
                    left += carried.left;
                    let like = sides[1].as_deref().unwrap_or_default();
                    let text = crate::cli::replace::encoded(like, &carried.text)
                        .map_err(|error| Failure::broken(format!("{name}: {error}.")))?;
                    result.push((name.clone(), Content::Written(text)));
                    continue;
                }
                Err(failure) => report.push_str(&format!("{name}: {}\n", failure.message)),
            }
        }
        let side = match taken(&sides) {
            Taken::Theirs => &new,
            Taken::Mine => {
                let what = match &sides[2] {
                    Some(_) => "as you have it",
                    None => "left out, as you did",
                };
                report.push_str(&format!("{name}: {what}\n"));
                &mine
            }
            Taken::Conflict(why) => {
                left += 1;
                report.push_str(&format!("{name}: Conflict: {why}\n"));
                &new
            }
        };
        if side.names.contains(name) {
            result.push((name.clone(), Content::Of(side.path(name))));
        }
    }
    report.push_str(&match left {
        0 => "All of your changes are in the result.\n".to_owned(),
        1 => "1 thing is left to you.\n".to_owned(),
        several => format!("{several} things are left to you.\n"),
    });
    Ok(Outcome {
        report,
        left,
        product: Product::Folder(result),
    })
}

/// Whether a file is merged, and not taken from one side.
fn is_merged(
    name: &str,
    versions: [&Folder; 3],
    [base, theirs, own]: &[Option<Vec<u8>>; 3],
    paths: [&Path; 3],
    disk: &Disk,
) -> bool {
    let is_xml = |folder: &&Folder| folder.names.contains(name) && folders::is_xml(folder, name);
    // What only I changed still has to follow the author's new scene.
    versions.iter().all(is_xml)
        && base != own
        && theirs != own
        && (base != theirs || machine::paths_move(paths, disk))
}

/// Whose side of a file is taken that is not merged.
fn taken([base, theirs, own]: &[Option<Vec<u8>>; 3]) -> Taken {
    if own == base || own == theirs {
        return Taken::Theirs;
    }
    if theirs == base {
        return Taken::Mine;
    }
    Taken::Conflict(match (base, theirs, own) {
        (_, None, _) => "you changed it, and the author took it out. It is not in the result",
        (_, _, None) => "you took it out, and the author changed it. The author's stays",
        (None, ..) => "you and the author added it, with other content. The author's stays",
        _ => "you and the author changed it, and it cannot be merged. The author's stays",
    })
}
