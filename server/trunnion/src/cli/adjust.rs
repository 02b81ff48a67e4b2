//! `trunnion adjust`: parts that the player can adjust, on the command line.

mod account;

use std::path::PathBuf;
use std::process::ExitCode;

use dialect::ControlKind;
use ide::assists::{self, Wish};

use super::definition::{self, Definition, Failure};
use super::difference;
use super::library::{self, LibraryArgs};
use super::output;
use super::plain;
use super::replace;

/// Make parts of a machine adjustable by the player
///
/// Takes what moves the parts out of their animation into one of its own, and adds a control for it that carries the
/// wheels that move along. Shows what would change, how far each part goes and how far the wheels are apart, and
/// proves by calculation that every part still goes where it went. Nothing is written without --write.
///
/// Exit code: 0 if it was done, 1 if it cannot be done (the reason is said), 2 if it could not be tried: a file that
/// cannot be read or written, or a mistake in trunnion.toml or in a dialect file.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The machine's definition
    #[arg(value_name = "FILE")]
    file: PathBuf,

    /// An alias, an index path, or the name of a node (as in the scene, or as the definition writes it); several parts move together
    #[arg(value_name = "PART", required = true)]
    parts: Vec<String>,

    /// The animation that moves the parts now, if several do
    #[arg(long, value_name = "ID")]
    animation: Option<String>,

    /// Take the opposite parts along that move as mirror images
    #[arg(long)]
    mirror: bool,

    /// What to call the new animation
    #[arg(long, value_name = "NAME")]
    name: Option<String>,

    /// The input that moves the parts; the first free one if it is not said
    #[arg(long, value_name = "INPUT")]
    input: Option<String>,

    /// A button that plays to one end or the other, not an axis
    #[arg(long)]
    digital: bool,

    /// Write the change into the file
    #[arg(long)]
    write: bool,

    #[command(flatten)]
    library: LibraryArgs,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(adjust(args))
}

fn adjust(args: &Args) -> Result<(String, ExitCode), Failure> {
    let shown = plain::name(&args.file);
    let Definition { bytes, mut view } = definition::open(&args.file)?;
    view.library = library::read(&args.library, &view)?;
    let wish = Wish {
        parts: args.parts.clone(),
        animation: args.animation.clone(),
        mirrored: args.mirror,
        name: args.name.clone(),
        input: args.input.clone(),
        kind: args.digital.then_some(ControlKind::Digital),
    };
    let adjustment = assists::adjust(&view, &wish)
        .map_err(|reason| Failure::refused(format!("{shown}: {reason}")))?;
    let mut report = difference::unified(&args.file, view.text(), &adjustment.text);
    report.push('\n');
    report.push_str(&account::of(&view, &adjustment));
    report += &replace::in_place(&args.file, &bytes, &adjustment.text, args.write)?;
    Ok((report, ExitCode::SUCCESS))
}
