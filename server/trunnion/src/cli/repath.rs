//! `trunnion repath`: a definition's index paths follow their nodes into a new export of its scene.

mod table;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use ide::repath::{self, Repath};
use project::{Disk, SceneFile, SceneState, View};

use super::definition::{self, Definition, Failure};
use super::output;
use super::plain;
use super::replace;

/// Move a machine's index paths to a new export of its scene
///
/// Finds each node that the definition names in the new scene: by its name, by the names it hangs on, and where it
/// was renamed by how alike the names are and what is around it. Shows a table of the paths that move, with how sure
/// that is; what may be one node or another, or has gone, is listed and left alone. Nothing is written without
/// --write.
///
/// If the new export has already taken the place of the old scene, name a copy of the old one with --old. Without
/// one, aliases go by their names, and nothing is known of other paths.
///
/// Exit code: 0 if every path now leads (or with --write would lead) to its node, 1 if some are left to you or it
/// cannot be done, 2 if it could not be tried: a file that cannot be read or written, or a mistake in trunnion.toml
/// or in a dialect file.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The machine's definition
    #[arg(value_name = "FILE")]
    file: PathBuf,

    /// The new export of the scene
    #[arg(long, value_name = "NEW")]
    scene: PathBuf,

    /// The scene that the paths were written for, if it is not the one that the definition names
    #[arg(long, value_name = "OLD")]
    old: Option<PathBuf>,

    /// Write the change into the file
    #[arg(long)]
    write: bool,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(repath(args))
}

fn repath(args: &Args) -> Result<(String, ExitCode), Failure> {
    let shown = plain::name(&args.file);
    let Definition { bytes, view } = definition::open(&args.file)?;
    let new = read(&view, &args.scene)?;
    let old = match &args.old {
        Some(old) => Ok(read(&view, old)?),
        None => named(&view, &args.scene),
    };
    let mut report = String::new();
    let found = match &old {
        Ok(old) => repath::by_scenes(&view, &old.scene, &new.scene),
        Err(reason) => {
            report.push_str(&format!(
                "{reason} So aliases go by their names; where other paths led is not known. If you have a copy of \
                 the old scene, name it with --old.\n\n"
            ));
            repath::by_names(&view, &new.scene)
        }
    };
    let found = found.map_err(|reason| Failure::refused(format!("{shown}: {reason}")))?;
    report.push_str(&table::of(&view, &found));
    report.push_str(&outcome(args, &bytes, &found)?);
    let code = u8::from(found.left().next().is_some());
    Ok((report, ExitCode::from(code)))
}

/// Writes what is to be written, and says so.
fn outcome(args: &Args, bytes: &[u8], found: &Repath) -> Result<String, Failure> {
    if found.moved() == 0 {
        return Ok("Nothing is to be written.\n".to_owned());
    }
    replace::in_place(&args.file, bytes, &found.text, args.write)
}

fn read(view: &View, file: &Path) -> Result<Arc<SceneFile>, Failure> {
    let settings = &view.settings;
    Disk::default()
        .scene(file, &settings.dialects, settings.config.limits)
        .map_err(|reason| {
            Failure::broken(format!("{} cannot be read: {reason}", plain::name(file)))
        })
}

/// The scene that the definition names, or why that is not the old one.
fn named(view: &View, new: &Path) -> Result<Arc<SceneFile>, String> {
    let state = view.meaning.as_ref().map(|meaning| &meaning.scene);
    match state {
        Some(SceneState::Loaded(old)) => {
            let real = |path: &Path| fs::canonicalize(path).ok();
            if real(&old.path).is_some() && real(&old.path) == real(new) {
                return Err(
                    "The new scene is the one that the definition names, so the old one is gone."
                        .to_owned(),
                );
            }
            Ok(Arc::clone(old))
        }
        Some(SceneState::Unreadable { path, .. }) => Err(format!(
            "The scene that the definition names, {}, cannot be read.",
            plain::name(path)
        )),
        Some(SceneState::NotThere(_)) => {
            Err("The scene that the definition names is not there.".to_owned())
        }
        Some(SceneState::NotNamed) | None => Err("The definition names no scene.".to_owned()),
    }
}
