//! `trunnion serve`: the language server on stdin and stdout, or for one client over TCP.

use std::fs::File;
use std::io;
use std::net::{Ipv4Addr, TcpListener};
use std::process::ExitCode;

use super::output;
use crate::lsp;

/// Start the language server (an editor does this for you)
#[derive(Debug, Default, clap::Args)]
pub(crate) struct Args {
    /// Wait for one client on this port of this computer (0: a free one, told on stderr)
    #[arg(long, value_name = "PORT")]
    tcp: Option<u16>,

    /// Talk over stdin and stdout; this is the default
    #[arg(long, conflicts_with = "tcp")]
    stdio: bool,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    let (served, what) = match args.tcp {
        None => (serve_stdio(), "stdin and stdout".to_owned()),
        Some(port) => (serve_tcp(port), format!("port {port}")),
    };
    served.unwrap_or_else(|error| {
        output::complain(&format!("{what} cannot be used: {error}"));
        ExitCode::FAILURE
    })
}

fn serve_stdio() -> io::Result<ExitCode> {
    let (input, output) = streams()?;
    lsp::serve(input, output)
}

/// Stdin and stdout without the standard library's buffers, which write line by line.
fn streams() -> io::Result<(File, File)> {
    #[cfg(unix)]
    let (input, output) = {
        use std::os::fd::AsFd;
        (
            io::stdin().as_fd().try_clone_to_owned()?,
            io::stdout().as_fd().try_clone_to_owned()?,
        )
    };
    #[cfg(windows)]
    let (input, output) = {
        use std::os::windows::io::AsHandle;
        (
            io::stdin().as_handle().try_clone_to_owned()?,
            io::stdout().as_handle().try_clone_to_owned()?,
        )
    };
    Ok((input.into(), output.into()))
}

fn serve_tcp(port: u16) -> io::Result<ExitCode> {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
    let address = listener.local_addr()?;
    output::complain(&format!("waiting for a client on {address}"));
    let (stream, _) = listener.accept()?;
    stream.set_nodelay(true)?;
    lsp::serve(stream.try_clone()?, stream)
}
