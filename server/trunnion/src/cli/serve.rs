//! `trunnion serve`: the language server on stdin and stdout, or for one client over TCP.

#![allow(clippy::print_stderr)]

use std::net::Ipv4Addr;
use std::process::ExitCode;

use tokio::net::TcpListener;

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
        .enable_all()
        .build()
    {
        Ok(runtime) => runtime,
        Err(error) => {
            eprintln!("trunnion: the server could not start: {error}");
            return ExitCode::FAILURE;
        }
    };
    let code = runtime.block_on(async {
        match args.tcp {
            None => lsp::serve(tokio::io::stdin(), tokio::io::stdout()).await,
            Some(port) => serve_tcp(port).await,
        }
    });
    // A thread may still sit in a read of stdin or in a long computation; the process ends without it.
    runtime.shutdown_background();
    code
}

async fn serve_tcp(port: u16) -> ExitCode {
    let connected = async {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await?;
        eprintln!(
            "trunnion: waiting for a client on {}",
            listener.local_addr()?
        );
        let (stream, _) = listener.accept().await?;
        stream.set_nodelay(true)?;
        std::io::Result::Ok(stream)
    };
    match connected.await {
        Ok(stream) => {
            let (input, output) = stream.into_split();
            lsp::serve(input, output).await
        }
        Err(error) => {
            eprintln!("trunnion: port {port} cannot be used: {error}");
            ExitCode::FAILURE
        }
    }
}
