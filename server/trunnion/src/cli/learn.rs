//! `trunnion learn`: a dialect from a folder of mods, on the command line.

mod ask;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use learn::again::{self, Kept};
use learn::names::Names;
use learn::report::Report;
use learn::roles::Verdicts;
use learn::{Settings, Structure, Surroundings, Survey, names, write};
use project::Limits;
use project::library::{self, Gathered, Unread};

use super::check::human::counted;
use super::definition::Failure;
use super::output;
use super::plain;
use super::replace::{self, Replaced};

/// Learn a dialect from the files of others
///
/// Reads all XML files in folders and archives of mods, works out what they may contain, and writes that as a dialect
/// file, with how often each thing was seen. Name the file in trunnion.toml, and the editor and `trunnion check` go by
/// it at once. What is found against it is only a hint until you remove `strict = false`.
///
/// Exit code: 0 if it was done, 1 if there is nothing to learn from, 2 if a file cannot be read or written.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Folders of mods; single files and archives will do as well
    #[arg(value_name = "DIR", required = true)]
    folders: Vec<PathBuf>,

    /// The dialect file to write
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,

    /// A file for other programs, JSON: what was inferred, with how often and what does not fit
    #[arg(long, value_name = "FILE")]
    report: Option<PathBuf>,

    /// Ask on the terminal about each role that was found: yes, no, or another one
    #[arg(long)]
    ask: bool,

    /// When a list of words counts as closed: if the chance that one more file brings a new word is at most this; 0
    /// closes no list, 1 closes all
    #[arg(long, value_name = "CHANCE", default_value_t = Settings::default().new_word)]
    words: f64,

    /// How sure it must be that an attribute or element has to be there before it is called required; 0 calls so
    /// whatever is there in all of a few elements, 1 only what is in all of many files
    #[arg(long, value_name = "CHANCE", default_value_t = Settings::default().required)]
    required: f64,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(learn(args).map(|report| (report, ExitCode::SUCCESS)))
}

fn learn(args: &Args) -> Result<String, Failure> {
    for folder in &args.folders {
        if !folder.exists() {
            return Err(Failure::broken(format!(
                "{}: there is no such file or folder",
                plain::name(folder)
            )));
        }
    }
    for (option, chance) in [("--words", args.words), ("--required", args.required)] {
        if !(0.0..=1.0).contains(&chance) {
            return Err(Failure::broken(format!(
                "{option} {chance}: a chance is from 0 to 1"
            )));
        }
    }
    let mut settings = Settings {
        new_word: args.words,
        required: args.required,
        ..Settings::default()
    };
    let (gathered, unread) = library::gather(&args.folders, &Limits::default());
    let Gathered {
        mut corpus,
        scenes,
        others,
    } = gathered;
    let around = Surroundings::new(&corpus, &others, scenes);
    corpus.tell_sorts_apart();
    let survey = Survey::of(&corpus);
    if survey.groups.is_empty() {
        let message = format!("there is no XML file to learn from.{}", trouble(&unread));
        return Err(Failure::refused(message));
    }
    let names: Names = names::infer(&survey);
    let there = replace::there(&args.output).ok().flatten();
    let there = String::from_utf8(there.unwrap_or_default()).unwrap_or_default();
    settings.verdicts.refused = again::refused(&there);
    let mut structure = Structure::of(&survey, &names, &around, &settings);
    if args.ask {
        settings.verdicts.given = ask_about(&structure, &there)
            .map_err(Failure::broken)?
            .given;
        structure = Structure::of(&survey, &names, &around, &settings);
    }
    let head = write::Head {
        name: name_of(&args.output),
        roots: args.folders.clone(),
    };
    let text = write::draft(&structure, &corpus, &head).write();
    let kept = put(&args.output, &text, &settings.verdicts).map_err(Failure::broken)?;
    if let Some(file) = &args.report {
        let report = Report::of(&survey, &names, &structure);
        let text =
            serde_json::to_string_pretty(&report).map_err(|e| Failure::broken(e.to_string()))?;
        put_report(file, &(text + "\n")).map_err(Failure::broken)?;
    }
    Ok(summary(args, &survey, &structure, &unread, kept))
}

/// What a person says about the roles. What is confirmed in the file already is not asked again.
fn ask_about(structure: &Structure, there: &str) -> Result<Verdicts, String> {
    let settled = again::confirmed(there);
    let proposals = &structure.roles.proposals;
    ask::ask(
        proposals,
        &settled,
        &mut std::io::stdin().lock(),
        &mut std::io::stderr(),
    )
    .map_err(|error| format!("the answers cannot be read: {error}."))
}

/// Writes the file, or renews the one that is there. Leaves it as it was if that fails.
fn put(file: &Path, learnt: &str, verdicts: &Verdicts) -> Result<Kept, String> {
    let failed =
        |error: std::io::Error| format!("{} cannot be written: {error}.", plain::name(file));
    let no_toml = |error: &dyn std::fmt::Display| {
        let file = plain::name(file);
        format!(
            "{file} is there already and cannot be renewed: it is not TOML. Mend it or name another file.\n{error}"
        )
    };
    match replace::there(file) {
        Ok(Some(old)) => {
            let there = str::from_utf8(&old).map_err(|error| no_toml(&error))?;
            if !again::may_become_dialect(there).map_err(|error| no_toml(&error))? {
                let file = plain::name(file);
                return Err(format!(
                    "{file} is there already and is no dialect, so it is left as it is. Name another file."
                ));
            }
            let (text, kept) = again::again(there, learnt).map_err(|error| no_toml(&error))?;
            let text = again::without(&text, verdicts).map_err(|error| no_toml(&error))?;
            match replace::replace(file, &old, &text).map_err(failed)? {
                Replaced::Done => Ok(kept),
                Replaced::ChangedMeanwhile => Err(format!(
                    "{} was changed by somebody else in the meantime, so nothing was written. Try again.",
                    plain::name(file)
                )),
            }
        }
        Ok(None) => {
            let text = again::first(learnt).map_err(|error| error.to_string())?;
            let text = again::without(&text, verdicts).map_err(|error| error.to_string())?;
            replace::create(file, &text).map_err(failed)?;
            Ok(Kept::default())
        }
        Err(error) => Err(failed(error)),
    }
}

/// Writes the report in place of the one that is there, if any.
fn put_report(file: &Path, text: &str) -> Result<(), String> {
    let failed =
        |error: std::io::Error| format!("{} cannot be written: {error}.", plain::name(file));
    match replace::there(file) {
        // Whatever else is there is not ours to replace.
        Ok(Some(old)) if !old.is_empty() && !is_report(&old) => Err(format!(
            "{} is there already and is no report, so it is left as it is. Name another file.",
            plain::name(file)
        )),
        Ok(old) => match replace::put(file, old.as_deref(), text).map_err(failed)? {
            Replaced::Done => Ok(()),
            Replaced::ChangedMeanwhile => Err(format!(
                "{} was changed by somebody else in the meantime, so no report was written. Try again.",
                plain::name(file)
            )),
        },
        Err(error) => Err(failed(error)),
    }
}

fn is_report(bytes: &[u8]) -> bool {
    let read = serde_json::from_slice::<serde_json::Map<String, serde_json::Value>>(bytes);
    read.is_ok_and(|report| {
        let keys = ["kinds", "attributes", "roles"];
        keys.iter().all(|key| report.contains_key(*key))
    })
}

/// The dialect's name, from that of its file.
fn name_of(file: &Path) -> String {
    let stem = file.file_name().unwrap_or_default().to_string_lossy();
    let name = stem.split('.').next().unwrap_or_default();
    let name: String = name.split_whitespace().collect::<Vec<_>>().join("-");
    match name.is_empty() {
        true => "learnt".to_owned(),
        false => name,
    }
}

fn summary(
    args: &Args,
    survey: &Survey<'_>,
    structure: &Structure,
    unread: &[Unread],
    kept: Kept,
) -> String {
    let mut text = String::new();
    let files = survey.corpus.documents.len();
    let broken = survey
        .corpus
        .documents
        .iter()
        .filter(|document| document.broken);
    text.push_str(&format!(
        "Learnt from {}: {}, {}.\n",
        counted(files, "document", "documents"),
        counted(
            structure.documents.len(),
            "kind of document",
            "kinds of documents"
        ),
        counted(
            structure.elements.len(),
            "kind of element",
            "kinds of elements"
        ),
    ));
    text.push_str(&roles(structure));
    for document in broken {
        let shown = shown(&document.source);
        text.push_str(&format!(
            "Not learnt from {shown}: it is not well-formed.\n"
        ));
    }
    text.push_str(trouble(unread).trim_start());
    text.push_str(&format!("Written to {}.", plain::name(&args.output)));
    let Kept { changed, removed } = kept;
    if changed + removed > 0 {
        text.push_str(&format!(
            " What you changed there was kept: {changed} changed, {removed} removed."
        ));
    }
    let name = args.output.file_name().unwrap_or_default();
    text.push_str(&format!(
        "\nTo use it, write `dialects = [\"{}\"]`, with its folder if it lies elsewhere, into a file trunnion.toml at the top of your mod.\n",
        plain::name(Path::new(name))
    ));
    text
}

/// Which roles are played, how sure that is, and which are not.
fn roles(structure: &Structure) -> String {
    let (mut found, mut missing) = (Vec::new(), Vec::new());
    for (role, confidence) in structure.roles.found() {
        match confidence {
            Some(confidence) => found.push(format!("{role} ({:.0} %)", confidence * 100.0)),
            None => missing.push(role),
        }
    }
    let mut text = String::new();
    if !found.is_empty() {
        text.push_str(&format!(
            "Roles, and how sure they are: {}.\n",
            found.join(", ")
        ));
    }
    if !missing.is_empty() {
        text.push_str(&format!(
            "Nothing seems to play: {}. If something does, say so in the file, as `[[role.{}]]`.\n",
            missing.join(", "),
            missing[0]
        ));
    }
    text
}

fn trouble(unread: &[Unread]) -> String {
    let lines = unread
        .iter()
        .map(|one| format!("\nNot read: {}: {}", shown(&one.source), one.reason));
    let mut lines: String = lines.collect();
    if !lines.is_empty() {
        lines.push('\n');
    }
    lines
}

fn shown(source: &learn::Source) -> String {
    let file = plain::name(&source.file);
    match &source.member {
        Some(member) => format!("{file}!/{}", plain::name(Path::new(member))),
        None => file,
    }
}
