//! `trunnion patch`: an XML patch applied to a file.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use patch::Refusal;
use syntax::{Encoding, LineIndex, TextSize};

use super::definition::{self, Failure};
use super::difference;
use super::output;
use super::plain;
use super::replace;

/// Apply an XML patch (RFC 5261) to a file
///
/// Shows what would change. All operations of the patch are carried out, or none: if one does not fit the file, it is
/// said which and why. Bytes that no operation touches stay as they are. Nothing is written without --write or --output.
///
/// Exit code: 0 if it was done, 1 if the patch does not fit the file, 2 if it could not be tried: a file that cannot be
/// read or written.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The file to be changed
    #[arg(value_name = "FILE")]
    file: PathBuf,

    /// The patch
    #[arg(value_name = "PATCH")]
    patch: PathBuf,

    /// Write the change into the file
    #[arg(long, conflicts_with = "output")]
    write: bool,

    /// Write the changed file here and leave FILE alone; nothing may be there yet
    #[arg(short, long, value_name = "NEW")]
    output: Option<PathBuf>,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(patched(args).map(|report| (report, ExitCode::SUCCESS)))
}

fn patched(args: &Args) -> Result<String, Failure> {
    let (bytes, text) = definition::bytes_and_text(&args.file)?;
    let patch_text = definition::text(&args.patch)?;
    let changed = patch::apply(&text, &patch_text).map_err(|refusal| match refusal {
        Refusal::Document { range, message } => Failure::refused(format!(
            "{}: the file is not well-formed, so nothing can be changed in it safely: {message}",
            place(&args.file, &text, range.start())
        )),
        Refusal::Patch(problem) => Failure::refused(format!(
            "{}: {}: {}. Nothing was written.",
            place(&args.patch, &patch_text, problem.range.start()),
            problem.code,
            problem.message
        )),
    })?;
    let mut report = difference::unified(&args.file, &text, &changed);
    if changed == text {
        report.push_str("The patch changes nothing.\n");
    }
    report.push_str(&written(args, &bytes, &changed)?);
    Ok(report)
}

fn written(args: &Args, bytes: &[u8], changed: &str) -> Result<String, Failure> {
    if let Some(new) = &args.output {
        let (shown, new_shown) = (plain::name(&args.file), plain::name(new));
        return match replace::create_like(new, bytes, changed) {
            Ok(()) => Ok(format!("Written to {new_shown}.\n")),
            Err(reason) => Err(Failure::broken(format!(
                "{new_shown} cannot be made, and {shown} is as it was: {reason}."
            ))),
        };
    }
    replace::in_place(&args.file, bytes, changed, args.write)
}

/// `FILE:LINE:COLUMN`, both from 1.
fn place(file: &Path, text: &str, at: TextSize) -> String {
    let position = LineIndex::new(text).position(text, at, Encoding::Utf32);
    let (line, column) = (position.line + 1, position.column + 1);
    format!("{}:{line}:{column}", plain::name(file))
}
