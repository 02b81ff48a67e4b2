//! The command line: one file per subcommand. The only room that prints.

mod adjust;
mod carry;
pub(crate) mod check;
pub(crate) mod definition;
mod dialect;
mod diff;
mod difference;
mod explain;
mod fit;
mod learn;
mod library;
pub(crate) mod measures;
mod motion;
mod output;
mod pack;
mod patch;
mod plain;
mod plot;
mod precedents;
mod preview;
mod repath;
pub(crate) mod replace;
mod serve;
pub(crate) mod subject;
mod tryout;
mod unpack;

use std::env;
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
    Adjust(adjust::Args),
    Carry(carry::Args),
    Check(check::Args),
    #[command(subcommand)]
    Dialect(dialect::Command),
    Diff(diff::Args),
    Explain(explain::Args),
    Fit(fit::Args),
    Motion(motion::Args),
    Pack(pack::Args),
    Patch(patch::Args),
    Plot(plot::Args),
    Precedents(precedents::Args),
    Preview(preview::Args),
    Learn(learn::Args),
    Repath(repath::Args),
    Serve(serve::Args),
    Try(tryout::Args),
    Unpack(unpack::Args),
}

pub(crate) fn run() -> ExitCode {
    // What editors say. To describe all the other commands takes a tenth of the time to start, and memory that stays.
    let words: Vec<_> = env::args_os().skip(1).collect();
    if words == ["serve"] || words == ["serve", "--stdio"] {
        return serve::run(&serve::Args::default());
    }
    match Cli::parse().command {
        Command::Adjust(args) => adjust::run(&args),
        Command::Carry(args) => carry::run(&args),
        Command::Check(args) => check::run(&args),
        Command::Dialect(command) => dialect::run(&command),
        Command::Diff(args) => diff::run(&args),
        Command::Explain(args) => explain::run(&args),
        Command::Fit(args) => fit::run(&args),
        Command::Motion(args) => motion::run(&args),
        Command::Pack(args) => pack::run(&args),
        Command::Patch(args) => patch::run(&args),
        Command::Plot(args) => plot::run(&args),
        Command::Precedents(args) => precedents::run(&args),
        Command::Preview(args) => preview::run(&args),
        Command::Learn(args) => learn::run(&args),
        Command::Repath(args) => repath::run(&args),
        Command::Serve(args) => serve::run(&args),
        Command::Try(args) => tryout::run(&args),
        Command::Unpack(args) => unpack::run(&args),
    }
}
