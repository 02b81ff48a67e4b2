//! `trunnion try`: a page with an editor, a mod and the preview in it.

use std::convert::Infallible;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use std::thread;

use super::definition::Failure;
use super::output;
use super::plain;
use crate::tryout::{self, Folder};

/// Try Trunnion in the browser, without an editor
///
/// Opens a free port on this computer only and prints the address of a page with an editor in it; the address holds a
/// secret, and whoever does not know it gets nothing. Without a mod, the page has a copy of the demo in a new folder. The
/// page is there until you end the command (Ctrl+C).
///
/// Exit code: 2 if the page cannot be served.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// A mod's folder, or a file in one; what you save there is saved in place
    #[arg(value_name = "MOD")]
    path: Option<PathBuf>,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    match serve(args) {
        Ok(never) => match never {},
        Err(failure) => output::failed(&failure),
    }
}

fn serve(args: &Args) -> Result<Infallible, Failure> {
    if !tryout::is_built() {
        return Err(Failure::broken(tryout::NOT_BUILT));
    }
    let failed =
        |error: std::io::Error| Failure::broken(format!("the page cannot be served: {error}"));
    let path = match &args.path {
        Some(path) => path.clone(),
        None => {
            let copy = tryout::unpack_demo().map_err(failed)?;
            output::complain(&format!("the demo is in {}", plain::name(&copy)));
            copy
        }
    };
    let folder = Folder::of(&path).map_err(Failure::broken)?;
    let address = tryout::serve(folder).map_err(failed)?;
    output::print(|out| writeln!(out, "{address}"), ExitCode::SUCCESS);
    loop {
        thread::park();
    }
}
