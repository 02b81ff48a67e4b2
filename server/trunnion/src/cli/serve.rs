//! `trunnion serve`: the language server on stdin and stdout, or for one client over TCP.

use std::fs::File;
use std::io;
use std::net::{Ipv4Addr, TcpListener};
use std::process::ExitCode;

use super::output;
use crate::lsp;

/// Start the language server (an editor does this for you)
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Wait for one client on this port of this computer (0: a free one, told on stderr)
    #[arg(long, value_name = "PORT")]
    tcp: Option<u16>,

    /// Talk over stdin and stdout; this is the default
    #[arg(long, conflicts_with = "tcp")]
    stdio: bool,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    let runtime = match tokio::runtime::Builder::new_multi_thread()
        .enable_time()
        .build()
    {
        Ok(runtime) => runtime,
        Err(error) => {
            output::complain(&format!("the server could not start: {error}"));
            return ExitCode::FAILURE;
        }
    };
    let code = {
        let _entered = runtime.enter();
        match args.tcp {
            None => serve_stdio(),
            Some(port) => serve_tcp(port),
        }
    };
    // A thread may still sit in a read of stdin or in a long computation; the process ends without it.
    runtime.shutdown_background();
    code
}

fn serve_stdio() -> ExitCode {
    match streams() {
        Ok((input, output)) => lsp::serve(input, output),
        Err(error) => {
            output::complain(&format!("stdin and stdout cannot be used: {error}"));
            ExitCode::FAILURE
        }
    }
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

fn serve_tcp(port: u16) -> ExitCode {
    let connect = || {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        let address = listener.local_addr()?;
        output::complain(&format!("waiting for a client on {address}"));
        let (stream, _) = listener.accept()?;
        stream.set_nodelay(true)?;
        Ok((stream.try_clone()?, stream))
    };
    match connect() {
        Ok((input, output)) => lsp::serve(input, output),
        Err(error) => {
            let error: io::Error = error;
            output::complain(&format!("port {port} cannot be used: {error}"));
            ExitCode::FAILURE
        }
    }
}
