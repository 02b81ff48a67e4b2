//! `trunnion dialect import`: a dialect out of an XML Schema.

use super::super::plain;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use schema::File;

/// Make a dialect file from an XML Schema (1.0)
///
/// Reads the schema and the files that it includes or imports, never anything from the network. The dialect says which
/// elements and attributes there are, what may stand in them, and what is a name or refers to one. What a dialect
/// cannot say is loosened, so that valid documents stay valid; it is told on stderr and in comments of the dialect.
///
/// Exit code: 0 if it was done, 2 if not: a file that cannot be read or written, or that is no schema.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The schema
    #[arg(value_name = "FILE.xsd")]
    file: PathBuf,

    /// Where to write the dialect; without it, to stdout. A file that is there already stays as it is
    #[arg(short, long, value_name = "OUT.dialect.toml")]
    out: Option<PathBuf>,

    /// An element that documents begin with; may stand several times. Without it, those that no other element holds
    #[arg(long = "root", value_name = "NAME")]
    roots: Vec<String>,

    /// The folder that included files may lie in [default: that of FILE.xsd]
    #[arg(long, value_name = "FOLDER")]
    within: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> Result<ExitCode, String> {
    let out = args.out.as_deref();
    if let Some(out) = out.filter(|out| fs::symlink_metadata(out).is_ok()) {
        return Err(format!(
            "{} is there already, and may hold somebody's work. Name another file, or move it away.",
            plain::name(out)
        ));
    }
    let failed = |reason: String| format!("{} cannot be read: {reason}.", plain::name(&args.file));
    let file = fs::canonicalize(&args.file).map_err(|error| failed(error.to_string()))?;
    let within = match &args.within {
        Some(folder) => fs::canonicalize(folder)
            .map_err(|error| format!("{} cannot be read: {error}.", plain::name(folder)))?,
        None => file.parent().map(Path::to_path_buf).unwrap_or_default(),
    };
    let main = File {
        name: file.to_string_lossy().into_owned(),
        text: super::read(&file).map_err(failed)?,
    };
    let mut load = |from: &str, location: &str| load(&within, from, location);
    let imported =
        schema::import(main, &args.roots, &mut load).map_err(|error| error.to_string())?;
    super::tell(&imported.notes);
    super::write(out, &imported.toml)
}

/// The file that a schema mentions.
fn load(within: &Path, from: &str, location: &str) -> Result<File, String> {
    // A drive's letter is no scheme.
    let scheme = location
        .split_once(':')
        .is_some_and(|(scheme, _)| scheme.len() > 1);
    if scheme || location.starts_with("//") {
        return Err("nothing is read from the network".to_owned());
    }
    let location = location
        .split('#')
        .next()
        .unwrap_or_default()
        .replace("%20", " ");
    let folder = Path::new(from).parent().unwrap_or(Path::new(""));
    let path = fs::canonicalize(folder.join(location)).map_err(|error| error.to_string())?;
    if !path.starts_with(within) {
        return Err(format!(
            "it does not lie in {} (`--within FOLDER` allows another folder)",
            plain::name(within)
        ));
    }
    Ok(File {
        text: super::read(&path)?,
        name: path.to_string_lossy().into_owned(),
    })
}
