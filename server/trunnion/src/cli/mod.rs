//! The command line: one file per subcommand. The only room that prints.

mod serve;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// A language server and command line for machine definitions.
#[derive(Debug, Parser)]
#[command(name = "trunnion", version)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Serve(serve::Args),
}

pub(crate) fn run() -> ExitCode {
    match Cli::parse().command {
        Command::Serve(args) => serve::run(&args),
    }
}
