//! Trunnion: a language server and command line for machine definitions.

mod cli;
mod lsp;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run()
}
