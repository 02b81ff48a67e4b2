//! `trunnion diff`: what changed between two versions of a machine or of a mod.

pub(super) mod folders;
mod report;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use compare::{Change, Patch, Version};
use project::{Disk, SettingsStore, View};

use super::check::is_archive;
use super::definition::{self, Failure};
use super::{output, plain, replace};
use folders::{Folder, Status};

/// Show what changed between two versions of a machine, or of a mod
///
/// OLD and NEW are two machines (or any XML files), or two folders or archives of mods. Says what changed by what it
/// means: which control came, which channel moved to which animation, which path leads elsewhere. Files of mods are
/// compared by their paths; what is hidden is left out, and links are refused.
///
/// -o writes the change as an XML patch (RFC 5261), which `trunnion patch` applies; for mods, into a new folder, a patch
/// for each file that can have one. The patch is tried before it is written: it is said whether it gives the new file
/// byte for byte, or a file with the same content that is written a little otherwise.
///
/// Exit code: 0 if nothing differs, 1 if something does, 2 if it could not be done: a file that cannot be read or
/// written, or a change that no patch can say.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The file, folder or archive as it was
    #[arg(value_name = "OLD")]
    old: PathBuf,

    /// The file, folder or archive as it is
    #[arg(value_name = "NEW")]
    new: PathBuf,

    /// Write the patch here; nothing may be there yet
    #[arg(short, long, value_name = "PATCH")]
    output: Option<PathBuf>,

    /// Show it as JSON
    #[arg(long)]
    json: bool,
}

/// Two versions of one file.
#[derive(Debug)]
struct Compared {
    /// As it is shown.
    name: String,
    status: Status,
    /// None: no XML that could be compared, and why.
    content: Result<Content, String>,
}

#[derive(Debug, Default)]
struct Content {
    changes: Vec<Change>,
    old: Option<View>,
    new: Option<View>,
    /// None: nobody asked. The error says why there is none.
    patch: Option<Result<Patch, String>>,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(compared(args))
}

fn compared(args: &Args) -> Result<(String, ExitCode), Failure> {
    let is_file = |path: &Path| path.is_file() && !is_archive(path);
    if let Some(absent) = [&args.old, &args.new]
        .into_iter()
        .find(|path| !path.exists())
    {
        return Err(Failure::broken(format!(
            "{}: there is no such file or folder",
            plain::name(absent)
        )));
    }
    let files = match (is_file(&args.old), is_file(&args.new)) {
        (true, true) => vec![one(
            args,
            &args.new.display().to_string(),
            [&args.old, &args.new],
            &Disk::default(),
        )?],
        (false, false) => mods(args)?,
        _ => {
            return Err(Failure::broken(
                "OLD and NEW must be two files, or two mods (folders or archives)",
            ));
        }
    };
    let written = match &args.output {
        Some(output) => Some(write(output, &files, is_file(&args.old))?),
        None => None,
    };
    let differs = files.iter().any(|file| file.status != Status::Same);
    let code = ExitCode::from(u8::from(differs));
    let report = match args.json {
        true => plain::json(&report::json(&files)).into_owned(),
        false => report::human(&files, written.as_deref(), is_file(&args.old)),
    };
    Ok((report, code))
}

fn mods(args: &Args) -> Result<Vec<Compared>, Failure> {
    let (old, new) = (Folder::open(&args.old)?, Folder::open(&args.new)?);
    let (mut files, disk) = (Vec::new(), Disk::default());
    // An archive of the mod has nothing of these: that is no change.
    let ours = |folder: &Folder, name: &str| folder.ours().contains(&folder.path(name));
    for (name, status) in folders::compared(&old, &new)? {
        if status == Status::Added && ours(&new, &name)
            || status == Status::Removed && ours(&old, &name)
        {
            continue;
        }
        let compared = match status {
            Status::Changed if folders::is_xml(&new, &name) && folders::is_xml(&old, &name) => {
                one(args, &name, [&old.path(&name), &new.path(&name)], &disk).or_else(
                    |failure| {
                        Ok(Compared {
                            name: name.clone(),
                            status,
                            content: Err(failure.message),
                        })
                    },
                )?
            }
            status => Compared {
                name,
                status,
                content: Err(String::new()),
            },
        };
        files.push(compared);
    }
    Ok(files)
}

fn one(args: &Args, name: &str, [old, new]: [&Path; 2], disk: &Disk) -> Result<Compared, Failure> {
    let settings = definition::settings_of(&[old, new]);
    let opened = |file| opened(file, &settings, disk);
    let (old, new) = (opened(old)?, opened(new)?);
    let (one, other) = (version(&old), version(&new));
    let changes = compare::changes(&one, &other);
    let patch = args.output.is_some() || args.json;
    let patch = patch.then(|| compare::patch(&one, &other));
    let status = match old.text() == new.text() {
        true => Status::Same,
        false => Status::Changed,
    };
    Ok(Compared {
        name: name.to_owned(),
        status,
        content: Ok(Content {
            changes,
            patch,
            old: Some(old),
            new: Some(new),
        }),
    })
}

/// A document that can be compared.
///
/// # Errors
/// It cannot be read, or is not well-formed.
pub(super) fn opened(file: &Path, settings: &SettingsStore, disk: &Disk) -> Result<View, Failure> {
    let view = definition::open_by(file, settings, disk)?.view;
    match view.tree().errors().first() {
        None => Ok(view),
        Some(error) => {
            let lines = &view.document.lines;
            let at = lines.position(view.text(), error.range.start(), syntax::Encoding::Utf32);
            Err(Failure::broken(format!(
                "{}:{}:{}: the file is not well-formed, so it cannot be compared: {}",
                plain::name(file),
                at.line + 1,
                at.column + 1,
                error.message
            )))
        }
    }
}

pub(super) fn version(view: &View) -> Version<'_> {
    let meaning = view.meaning.as_ref();
    Version {
        tree: view.tree(),
        text: view.text(),
        meaning: meaning.map(|meaning| (&*meaning.dialect, &*meaning.kind)),
    }
}

/// Writes the patch, or a folder of patches; what was written.
fn write(output: &Path, files: &[Compared], is_file: bool) -> Result<String, Failure> {
    let shown = plain::name(output);
    let failed = |reason: std::io::Error| {
        Failure::broken(format!(
            "{shown} cannot be made: {reason}. Nothing was written."
        ))
    };
    let mut patches = Vec::new();
    for file in files {
        let Ok(Content {
            patch: Some(patch), ..
        }) = &file.content
        else {
            continue;
        };
        match patch {
            Ok(patch) => patches.push((format!("{}.patch.xml", file.name), &patch.text)),
            Err(reason) => {
                return Err(Failure::broken(format!(
                    "{}: no patch can say this change: {reason}. Nothing was written.",
                    file.name
                )));
            }
        }
    }
    if is_file {
        if let [(_, text)] = patches.as_slice() {
            replace::create(output, text).map_err(failed)?;
        }
        return Ok(format!("Written to {shown}."));
    }
    folders::make(output, |folder| {
        for (name, text) in &patches {
            folders::put(&folder.join(name), text.as_bytes())?;
        }
        Ok(())
    })
    .map_err(failed)?;
    Ok(format!("{} patches written to {shown}.", patches.len()))
}
