//! `trunnion unpack`: an archive into a folder of its own.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use archive::{Refused, Stopped, Unpacked};

use super::check::human::counted;
use super::output;
use super::plain;

/// So many names are shown one by one.
const MOST_SHOWN: usize = 100;

/// Unpack a mod into a folder of its own
///
/// The folder appears whole, or not at all; what is there already is never touched, and the archive stays. Refused is
/// what could do harm: paths that leave the folder, absolute paths, drives, names that Windows does not allow, links, names that
/// occur twice or differ only in upper and lower case, what is encrypted, damaged or shares its bytes with others, and
/// archives that would become far too large. Refused are also members that say something else of themselves than the archive does.
/// Files get the time of unpacking. If anything is refused, nothing is unpacked, unless --leave-out says so.
///
/// Exit code: 0 if all of it was unpacked, 1 if something was refused (it is said what and why), 2 if it could not be
/// tried: there is no such archive, the folder is there already, or cannot be written.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The archive (ZIP)
    #[arg(value_name = "ARCHIVE")]
    archive: PathBuf,

    /// The new folder; if it is not said, it is called as the archive and made where you are
    #[arg(value_name = "DIR")]
    folder: Option<PathBuf>,

    /// Unpack the rest if some members are refused
    #[arg(long)]
    leave_out: bool,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    let Some(folder) = args.folder.clone().or_else(|| own_folder(&args.archive)) else {
        output::complain("name the folder to unpack into");
        return ExitCode::from(2);
    };
    match archive::unpack(&args.archive, &folder, args.leave_out) {
        Ok(unpacked) => {
            let code = u8::from(!unpacked.left_out.is_empty());
            output::report(Ok((account(&unpacked, &folder), ExitCode::from(code))))
        }
        Err(stopped) => told(&stopped, &args.archive, "Nothing was unpacked."),
    }
}

/// Called as the archive, without its ending.
fn own_folder(archive: &Path) -> Option<PathBuf> {
    let stem = archive.file_stem()?;
    (Some(stem) != archive.file_name()).then(|| PathBuf::from(stem))
}

/// Says why nothing was done, in the end `end`.
pub(super) fn told(stopped: &Stopped, about: &Path, end: &str) -> ExitCode {
    match stopped {
        Stopped::Refused(refused) => {
            output::complain(&format!("{} is refused:", plain::name(about)));
            output::remark(&format!("{}{end}\n", list(refused)));
            ExitCode::from(1)
        }
        Stopped::Failed(reason) => {
            output::complain(&format!("{reason}."));
            ExitCode::from(2)
        }
    }
}

fn account(unpacked: &Unpacked, folder: &Path) -> String {
    let mut account = format!(
        "Unpacked {} ({} bytes) into {}.\n",
        counted(unpacked.files, "file", "files"),
        unpacked.bytes,
        plain::name(folder)
    );
    if !unpacked.renamed.is_empty() {
        account.push_str("Names that were made safe:\n");
        let renamed = unpacked.renamed.iter();
        account.push_str(&lines(
            renamed.map(|(old, new)| format!("{old} is now {new}")),
        ));
    }
    if !unpacked.left_out.is_empty() {
        account.push_str("Left out:\n");
        account.push_str(&list(&unpacked.left_out));
    }
    account
}

fn list(refused: &[Refused]) -> String {
    lines(refused.iter().map(ToString::to_string))
}

/// Indented, and no more than can be read.
pub(super) fn lines(mut items: impl ExactSizeIterator<Item = String>) -> String {
    let mut text: String = items
        .by_ref()
        .take(MOST_SHOWN)
        .map(|item| format!("  {item}\n"))
        .collect();
    if items.len() > 0 {
        text.push_str(&format!("  and {} more\n", items.len()));
    }
    text
}
