//! Trunnion: a language server and command line for machine definitions. A library so that the server can also be
//! driven without a process around it.

mod cli;
mod loopback;
mod lsp;
mod packing;
mod preview;
mod tryout;

use std::process::ExitCode;

pub use lsp::serve;

/// Does what the command line says.
pub fn run() -> ExitCode {
    cli::run()
}
