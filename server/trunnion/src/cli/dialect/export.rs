//! `trunnion dialect export`: a dialect as XML Schema or RELAX NG.

use super::super::plain;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use dialect::Dialect;
use schema::{Exported, Language};

use crate::cli::replace;

/// Write the grammar of a dialect as XML Schema (1.0) or RELAX NG, for other tools
///
/// A schema describes the documents of one namespace. If the documents of the dialect have several, name the one that
/// you want by one of its documents (`--document`), or a folder for all of them (`--out`). What a schema language cannot
/// say is loosened and told on stderr; roles and units are not part of a schema.
///
/// Exit code: 0 if it was done, 2 if not: a file that cannot be read or written, or mistakes in the dialect.
#[derive(Debug, clap::Args)]
#[command(group(clap::ArgGroup::new("language").required(true).args(["xsd", "rng"])))]
pub(crate) struct Args {
    /// The dialect; `house` is the built-in one
    #[arg(value_name = "FILE.dialect.toml")]
    file: PathBuf,

    /// Write XML Schema
    #[arg(long)]
    xsd: bool,

    /// Write RELAX NG, in XML
    #[arg(long)]
    rng: bool,

    /// The kind of document that the schema is to describe, with all others of the same namespace
    #[arg(long, value_name = "NAME")]
    document: Option<String>,

    /// The file to write; for several schemas, a folder. Without it, to stdout
    #[arg(short, long, value_name = "OUT")]
    out: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> Result<ExitCode, String> {
    let dialect = read(&args.file)?;
    let (language, ending) = match args.xsd {
        true => (Language::Xsd, "xsd"),
        false => (Language::Rng, "rng"),
    };
    let mut schemas = schema::export(&dialect, language);
    if let Some(document) = &args.document {
        schemas.retain(|schema| schema.documents.contains(document));
        if schemas.is_empty() {
            let names = dialect.documents.iter().map(|kind| kind.name.as_str());
            let all: Vec<&str> = names.collect();
            return Err(format!(
                "the dialect has no document `{document}`; it has {}.",
                all.join(", ")
            ));
        }
    }
    match (schemas.as_slice(), args.out.as_deref()) {
        ([], _) if dialect.documents.is_empty() => {
            Err("the dialect has no documents.".to_owned())
        }
        ([], _) => Err(
            "all documents of the dialect have elements of several namespaces (`inner-namespaces`); a schema is about one."
                .to_owned(),
        ),
        ([schema], Some(out)) if !out.is_dir() => one(schema, Some(out)),
        ([schema], None) => one(schema, None),
        (several, Some(folder)) => all(several, folder, ending),
        (several, None) => {
            let names = several.iter().filter_map(|schema| schema.documents.first());
            let ways: Vec<String> = names.map(|name| format!("--document {name}")).collect();
            Err(format!(
                "the documents have several namespaces, or one root for several kinds, and a schema is about one. Say {}, or name a folder with --out.",
                ways.join(" or ")
            ))
        }
    }
}

fn one(schema: &Exported, out: Option<&Path>) -> Result<ExitCode, String> {
    // Whatever else is there is not ours to replace.
    let old = out.and_then(|file| Some((file, replace::there(file).ok()??)));
    if let Some((file, old)) = old
        && !old.is_empty()
        && !old.starts_with(beginning(&schema.text).as_bytes())
    {
        return Err(format!(
            "{} is there already and is no schema of this sort, so it is left as it is. Name another file.",
            plain::name(file)
        ));
    }
    super::tell(&schema.notes);
    super::write(out, &schema.text)
}

/// A schema up to the name of its root element.
fn beginning(schema: &str) -> &str {
    let root = schema.find("\n<").map_or(0, |at| at + 1);
    let name = schema[root..].find(' ').unwrap_or(schema.len() - root);
    &schema[..root + name]
}

/// Each schema in a file of its own, named for its first document.
fn all(schemas: &[Exported], folder: &Path, ending: &str) -> Result<ExitCode, String> {
    fs::create_dir_all(folder)
        .map_err(|error| format!("{} cannot be made: {error}.", plain::name(folder)))?;
    for schema in schemas {
        let name = schema.documents.first().map_or("schema", String::as_str);
        // A name may hold anything; a file's name may not lead out of the folder.
        let fits = |c: char| c.is_alphanumeric() || "-_ ".contains(c);
        let name: String = name
            .chars()
            .map(|c| if fits(c) { c } else { '_' })
            .collect();
        one(schema, Some(&folder.join(format!("{name}.{ending}"))))?;
    }
    Ok(ExitCode::SUCCESS)
}

fn read(file: &Path) -> Result<Dialect, String> {
    let shown = plain::name(file);
    if file == Path::new("house") && !file.exists() {
        return Ok((*Dialect::house()).clone());
    }
    let text = super::read(file).map_err(|reason| format!("{shown} cannot be read: {reason}."))?;
    Dialect::read(&text, None).map_err(|problems| {
        let count = problems.len();
        let first = problems.first().map(ToString::to_string).unwrap_or_default();
        format!("{shown} has {count} mistakes; `trunnion check {shown}` lists them. The first one: {first}")
    })
}
