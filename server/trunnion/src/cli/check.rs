//! `trunnion check`: the checks on the command line.

#![allow(clippy::print_stderr)]

mod files;
mod human;
mod json;
mod report;
mod run;
mod sarif;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::ValueEnum;

use super::output;

/// Check machine definitions and mods for mistakes
///
/// Give it files, folders of mods, or both. In a folder every XML file is looked at, and every file that a dialect
/// knows by its name. Files that no dialect fits are checked as XML only.
///
/// Exit code: 0 if there is no error (there may be warnings), 1 if there is one, 2 if something could not be checked
/// at all: a path that does not exist, a folder without anything to check, a mistake in trunnion.toml or in a
/// dialect file.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Definitions, mod folders, folders of mods, or dialect files
    #[arg(value_name = "PATH", required = true)]
    paths: Vec<PathBuf>,

    /// How to write the findings
    #[arg(long, value_enum, default_value_t = Format::Human)]
    format: Format,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Format {
    /// For people: each finding with the line it is about
    Human,
    /// One JSON array, for scripts
    Json,
    /// SARIF 2.1.0, for code hosts and other tools
    Sarif,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    let report = run::run(&args.paths);
    for failure in &report.failures {
        eprintln!("trunnion: {failure}");
    }
    let code = ExitCode::from(report.exit_code());
    match args.format {
        Format::Human => output::print(
            |out| human::write(&report, output::wants_colour(), out),
            code,
        ),
        Format::Json => output::print(|out| json::write(&report, out), code),
        Format::Sarif => output::print(|out| sarif::write(&report, out), code),
    }
}
