//! `trunnion dialect`: dialects from the schemas of others, and for the tools of others.

mod export;
mod import;

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use clap::Subcommand;

use super::output;
use super::plain;
use super::replace::{self, Replaced};

/// Make dialect files from XML Schema, and schemas from dialect files
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Import(import::Args),
    Export(export::Args),
}

pub(crate) fn run(command: &Command) -> ExitCode {
    let outcome = match command {
        Command::Import(args) => import::run(args),
        Command::Export(args) => export::run(args),
    };
    outcome.unwrap_or_else(|failure| {
        output::complain(&failure);
        ExitCode::from(2)
    })
}

/// Largest file that is read.
const LARGEST: u64 = 64 << 20;

/// The text of a file.
///
/// # Errors
/// Why it cannot be read, without full stop.
fn read(file: &Path) -> Result<String, String> {
    let about = fs::metadata(file).map_err(|error| error.to_string())?;
    if !about.is_file() {
        return Err("it is not a file".to_owned());
    }
    if about.len() > LARGEST {
        return Err(format!("it is larger than {} megabytes", LARGEST >> 20));
    }
    let bytes = fs::read(file).map_err(|error| error.to_string())?;
    syntax::decode::bytes(&bytes).map_err(|error| error.to_string())
}

/// Writes to a file, or to stdout if none is named.
fn write(file: Option<&Path>, text: &str) -> Result<ExitCode, String> {
    let Some(file) = file else {
        return Ok(output::print(
            |out| out.write_all(text.as_bytes()),
            ExitCode::SUCCESS,
        ));
    };
    let failed = |reason: String| format!("{} cannot be written: {reason}.", plain::name(file));
    let written = replace::there(file).and_then(|old| replace::put(file, old.as_deref(), text));
    match written {
        Ok(Replaced::Done) => Ok(ExitCode::SUCCESS),
        Ok(Replaced::ChangedMeanwhile) => {
            Err(failed("somebody else changed it meanwhile".to_owned()))
        }
        Err(error) => Err(failed(error.to_string())),
    }
}

/// Says on stderr what does not translate.
fn tell(notes: &[schema::Note]) {
    for note in notes {
        output::remark(&format!("note: {note}\n"));
    }
}
