//! `trunnion carry`: one's own changes brought over to the author's new release.

mod machine;
mod mods;
mod positions;

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use project::{Disk, Files};

use super::check::is_archive;
use super::definition::{self, Failure};
use super::diff::folders;
use super::plain;
use super::{output, replace};
use machine::Carried;

/// Bring your changes over to the author's new release
///
/// OLD is what you started from, NEW the author's new release, MINE your changed OLD: three machines, or three folders
/// or archives of mods. The result is NEW with your changes, found by what they mean: they follow names, not places,
/// and your index paths follow their nodes if the scene has changed, as numbers follow what they count. What both
/// changed is a conflict: it is shown with all sides, and the author's stays. What is wrong in the result only, such as
/// a name that you changed and the author asks for anew, is told. OLD, NEW and MINE are left alone. Links in mods are
/// refused.
///
/// Exit code: 0 if all of your changes are in the result (or would be), 1 if some are left to you, 2 if it could not be
/// done: a file that cannot be read or written.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The file, folder or archive that your changes were made to
    #[arg(value_name = "OLD")]
    old: PathBuf,

    /// The author's new one
    #[arg(value_name = "NEW")]
    new: PathBuf,

    /// Yours
    #[arg(value_name = "MINE")]
    mine: PathBuf,

    /// Write the result here; nothing may be there yet
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,

    /// Write the result beside MINE, as MINE-carried; nothing may be there yet
    #[arg(long, conflicts_with = "output")]
    write: bool,
}

/// What is written, and what is told of it.
#[derive(Debug)]
struct Outcome {
    report: String,
    left: usize,
    product: Product,
}

#[derive(Debug)]
enum Product {
    File { like: Vec<u8>, text: String },
    Folder(Vec<(String, Content)>),
}

/// What a file of a mod is to hold.
#[derive(Debug)]
enum Content {
    Written(Vec<u8>),
    /// What this one holds, which may be in an archive. A mod is too large to be remembered.
    Of(PathBuf),
}

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(carried(args))
}

fn carried(args: &Args) -> Result<(String, ExitCode), Failure> {
    let is_file = |path: &Path| path.is_file() && !is_archive(path);
    let all = [&args.old, &args.new, &args.mine];
    let outcome = match all.iter().filter(|path| is_file(path)).count() {
        3 => one(args)?,
        0 => mods::carried(&args.old, &args.new, &args.mine)?,
        _ => {
            return Err(Failure::broken(
                "OLD, NEW and MINE must be three files, or three mods (folders or archives)",
            ));
        }
    };
    let mut report = outcome.report;
    let target = match (&args.output, args.write) {
        (Some(output), _) => Some(output.clone()),
        (None, true) => Some(beside(&args.mine)),
        (None, false) => None,
    };
    match target {
        None => report.push_str("Nothing was written; -o OUT or --write does that.\n"),
        Some(target) => {
            write(&target, outcome.product)?;
            report.push_str(&format!("Written to {}.\n", plain::name(&target)));
        }
    }
    Ok((report, ExitCode::from(u8::from(outcome.left > 0))))
}

/// `bram-6.machine.xml` as `bram-6-carried.machine.xml`.
fn beside(mine: &Path) -> PathBuf {
    let name = mine
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let at = match mine.is_dir() {
        true => name.len(),
        false => name.find('.').filter(|at| *at > 0).unwrap_or(name.len()),
    };
    let (stem, rest) = name.split_at(at);
    // What comes of an archive is a folder.
    let rest = if is_archive(mine) { "" } else { rest };
    mine.with_file_name(OsString::from(format!("{stem}-carried{rest}")))
}

fn write(target: &Path, product: Product) -> Result<(), Failure> {
    let written = match product {
        Product::File { like, text } => replace::create_like(target, &like, &text),
        Product::Folder(files) => folders::make(target, |folder| {
            let disk = Files::default();
            for (name, content) in files {
                let bytes = match content {
                    Content::Written(bytes) => bytes,
                    Content::Of(path) => disk.read(&path, u64::MAX)?,
                };
                folders::put(&folder.join(name), &bytes)?;
            }
            Ok(())
        }),
    };
    written.map_err(|reason| {
        Failure::broken(format!(
            "{} cannot be made: {reason}. Nothing was written.",
            plain::name(target)
        ))
    })
}

fn one(args: &Args) -> Result<Outcome, Failure> {
    let carried = machine::carried([&args.old, &args.new, &args.mine], &Disk::default())?;
    let (like, _) = definition::bytes_and_text(&args.new)?;
    let report = machine::report(&plain::name(&args.new), &carried);
    let Carried { text, left, .. } = carried;
    Ok(Outcome {
        report,
        left,
        product: Product::File { like, text },
    })
}
