//! `trunnion pack`: a mod's folder into an archive.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use archive::{Packed, Refused};
use ide::Severity;

use super::check::{human, run as checks};
use super::output;
use super::plain;
use super::unpack::{lines, told};
use crate::packing::{self, Planned};

/// Pack a mod's folder into an archive
///
/// The mod is checked first, as `trunnion check` does; if it has errors, nothing is packed, unless --despite-errors says
/// so. The same files give the same archive, byte for byte, whenever and on whatever computer: names in a fixed order,
/// fixed times, permissions and compression. It is read back and compared with the folder before it takes its place, at
/// once and whole; what was there before is kept beside it as a numbered backup (ARCHIVE.~1~, ARCHIVE.~2~, …).
///
/// Left out, and listed with the reason, are leftovers of editors and systems, hidden files, empty folders, and
/// Trunnion's own files (trunnion.toml and the dialects that it names), unless a definition names the file. Links, and names that Windows cannot
/// hold or that differ only in upper and lower case, are errors. So are files outside of the folder that a definition
/// names, since the archive would lack them; with --despite-errors they are listed.
///
/// Exit code: 0 if it was packed, 1 if the check found errors or a file cannot be packed, 2 if it could not be tried:
/// there is no such folder, or the archive cannot be written.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The mod's folder
    #[arg(value_name = "DIR")]
    folder: PathBuf,

    /// The archive; if it is not said, it is called as the folder and made beside it
    #[arg(short, long, value_name = "ARCHIVE")]
    output: Option<PathBuf>,

    /// The folder from which the game loads mods: the archive is made there, and other copies of the mod there (a folder
    /// or an archive of its name, or of its name and a number) are moved into a folder beside it, MODS_FOLDER-set-aside
    #[arg(long, value_name = "MODS_FOLDER", conflicts_with = "output")]
    into: Option<PathBuf>,

    /// Pack even if the check finds errors
    #[arg(long)]
    despite_errors: bool,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    if !args.folder.is_dir() {
        output::complain(&format!(
            "{}: there is no such folder",
            plain::name(&args.folder)
        ));
        return ExitCode::from(2);
    }
    let Some(target) = target(args) else {
        let shown = plain::name(&args.folder);
        output::complain(&format!(
            "{shown} is no folder whose name an archive can have"
        ));
        return ExitCode::from(2);
    };
    // Before the check: what changes from now on is noticed.
    let planned = match packing::plan(&args.folder, &target, &Default::default()) {
        Ok(planned) => planned,
        Err(stopped) => return told(&stopped, &args.folder, "Nothing was packed."),
    };
    if let Some(code) = stopped_by_check(args) {
        return code;
    }
    let Planned {
        plan,
        unread,
        outside,
    } = planned;
    let outside = lines(outside.into_iter());
    if !outside.is_empty() && !args.despite_errors {
        let outside = outside.trim_end();
        output::complain(&format!(
            "nothing was packed, because the archive would lack what the mod names; --despite-errors packs all the same:\n{outside}"
        ));
        return ExitCode::from(1);
    }
    let shadows = match &args.into {
        Some(_) => plan.shadows(),
        None => Ok(Vec::new()),
    };
    match shadows.and_then(|shadows| plan.pack(&shadows)) {
        Ok(packed) => {
            let mut account = account(&packed, &target, plan.left_out(), unread.as_deref());
            if !outside.is_empty() {
                account.push_str(&format!("Not in the archive:\n{outside}"));
            }
            output::report(Ok((account, ExitCode::SUCCESS)))
        }
        Err(stopped) => told(&stopped, &args.folder, "Nothing was packed."),
    }
}

fn target(args: &Args) -> Option<PathBuf> {
    match (&args.output, &args.into) {
        (Some(target), _) => Some(target.clone()),
        (None, Some(mods)) => Some(mods.join(packing::file_name(&args.folder)?)),
        (None, None) => packing::usual_archive(&args.folder),
    }
}

/// Shows what the check found. Errors are a reason to stop.
fn stopped_by_check(args: &Args) -> Option<ExitCode> {
    let report = checks::run(
        std::slice::from_ref(&args.folder),
        None,
        &Default::default(),
    );
    for failure in &report.failures {
        output::complain(failure);
    }
    if report.findings().next().is_some() {
        let shown = |out: &mut _| human::write(&report, output::wants_colour(), out);
        let printed = output::print(shown, ExitCode::SUCCESS);
        if printed != ExitCode::SUCCESS {
            return Some(printed);
        }
    }
    let code = report.exit_code();
    if code == 0 || args.despite_errors {
        return None;
    }
    let errors = human::counted(report.count(Severity::Error), "error", "errors");
    output::complain(&format!(
        "nothing was packed, because the check found {errors}{}; --despite-errors packs all the same",
        match report.failures.is_empty() {
            true => "",
            false => " and could not look at everything",
        }
    ));
    Some(ExitCode::from(code))
}

fn account(packed: &Packed, target: &Path, left_out: &[Refused], unread: Option<&str>) -> String {
    let shown = plain::name(target);
    let mut account = match packed.is_as_before {
        true => format!("{shown} has been made of these files before; it stays as it is.\n"),
        false => format!(
            "Packed {} ({} bytes) into {shown} ({} bytes), and read it back.\n",
            human::counted(packed.files, "file", "files"),
            packed.bytes,
            packed.size
        ),
    };
    if let Some(backup) = &packed.backup {
        account.push_str(&format!(
            "What was there before is now {}.\n",
            plain::name(backup)
        ));
    }
    for moved in &packed.moved {
        account.push_str(&format!(
            "{} is another copy of the mod, which the game may load instead; it is now {}.\n",
            plain::name(&moved.from),
            plain::name(&moved.to)
        ));
    }
    if !left_out.is_empty() {
        account.push_str("Left out:\n");
        account.push_str(&lines(left_out.iter().map(ToString::to_string)));
    }
    if let Some(unread) = unread {
        account.push_str(&format!("Not all documents were looked at. {unread}\n"));
    }
    account
}
