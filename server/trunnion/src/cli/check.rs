//! `trunnion check`: the checks on the command line.

mod artifacts;
mod baseline;
mod before;
mod files;
mod fix;
pub(crate) mod human;
pub(crate) mod json;
pub(super) mod report;
pub(crate) mod run;
mod sarif;

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::ValueEnum;
use project::SettingsStore;

use super::output;
use super::plain;
pub(super) use files::is_archive;
use report::Report;

/// Check machine definitions and mods for mistakes
///
/// Give it files, folders of mods, archives of mods, or all of these. In a folder every XML file is looked at, and every
/// file that a dialect knows by its name, but for links; archives (.zip) in it are read without being unpacked, and what
/// they hold is shown as mod.zip!/machines/a.xml. Such a path may be asked for, too. Files that no dialect fits are
/// checked as XML only.
///
/// With --fix, what can be repaired without a choice is repaired first, each file as a whole or not at all; then all
/// is checked, and what is left is reported. --diff shows these repairs and writes nothing.
///
/// With --baseline, what was there when the baseline was written is not reported. A finding counts as known if the
/// baseline has its file, its code and the tag it is in, whatever its line. What the baseline knows and is not found
/// any more is listed as gone; --write-baseline takes it out.
///
/// With --before, index paths are taken to be written for a scene as it was before its last export: the nodes they
/// led to are looked for in the scene as it is now, and paths that lead to other nodes are reported (stale-path), also
/// those without an alias.
///
/// Exit code: 0 if there is no error (there may be warnings), 1 if there is one, 2 if something could not be checked
/// at all: a path that does not exist, a folder without anything to check, a mistake in trunnion.toml or in a
/// dialect file; also if something could not be written. What a baseline knows or a comment accepts does not count. With --diff: 0 if there is nothing to repair, 1 if there is.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Definitions, folders or archives of mods, folders of these, or dialect files
    #[arg(value_name = "PATH", required = true)]
    paths: Vec<PathBuf>,

    /// How to write the findings
    #[arg(long, value_enum, default_value_t = Format::Human)]
    format: Format,

    /// Make the repairs that are safe, and write them
    #[arg(long)]
    fix: bool,

    /// Show the repairs that are safe as a unified diff, and write nothing
    #[arg(long, conflicts_with_all = ["format", "baseline", "write_baseline"])]
    diff: bool,

    /// What the paths were written for: a scene's file, or the folder or archive of the mod, as it was
    #[arg(long, value_name = "OLD")]
    before: Option<PathBuf>,

    /// Leave out the findings that this file knows
    #[arg(long, value_name = "FILE")]
    baseline: Option<PathBuf>,

    /// Make a baseline of all findings; of one that is there, only take out what is gone
    #[arg(long, value_name = "FILE", conflicts_with = "baseline")]
    write_baseline: Option<PathBuf>,

    /// Take new findings into a baseline that is there, too
    #[arg(long, requires = "write_baseline")]
    add_new: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Format {
    /// For people: each finding with the line it is about
    Human,
    /// One JSON array, for scripts: lines and characters (UTF-16) from 0, as editors count
    Json,
    /// SARIF 2.1.0, for code hosts and other tools
    Sarif,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    if args.diff {
        return show_repairs(&args.paths);
    }
    let (account, failures) = match args.fix {
        true => repair(&args.paths),
        false => Default::default(),
    };
    // What other tools read is the findings and nothing else.
    match args.format {
        Format::Human if !account.is_empty() => {
            output::report(Ok((format!("{account}\n"), ExitCode::SUCCESS)));
        }
        _ => output::remark(&account),
    }
    let mut report = run::run(
        &args.paths,
        args.before.as_deref(),
        &SettingsStore::of_one_run(),
    );
    report.failures.extend(failures);
    let said = with_baseline(args, &mut report);
    if !matches!(args.format, Format::Human) {
        output::remark(&human::of_baseline(&report));
    }
    match said {
        Ok(said) => output::remark(&said),
        Err(failure) => report.failures.push(failure),
    }
    for failure in &report.failures {
        output::complain(failure);
    }
    let code = ExitCode::from(report.exit_code());
    match args.format {
        Format::Human => output::print(
            |out| human::write(&report, output::wants_colour(), out),
            code,
        ),
        Format::Json => output::print(|out| json::write(&report, out), code),
        Format::Sarif => output::print(|out| sarif::write(&report, out), code),
    }
}

/// Holds a report against the baseline, and writes that anew if it is asked for. Gives back what to tell.
///
/// # Errors
/// The baseline cannot be used or written, as a sentence.
fn with_baseline(args: &Args, report: &mut Report) -> Result<String, String> {
    if let Some(path) = &args.baseline {
        let shown = plain::name(path);
        let file = baseline::File::read(path)?
            .ok_or_else(|| format!("There is no baseline {shown}; --write-baseline makes one."))?;
        file.apply(report);
    }
    let Some(path) = &args.write_baseline else {
        return Ok(String::new());
    };
    let shown = plain::name(path);
    let (file, is_new) = match baseline::File::read(path)? {
        Some(file) => (file, false),
        None => (baseline::File::new(path)?, true),
    };
    file.apply(report);
    if report.exit_code() == 2 {
        return Err(format!(
            "The baseline {shown} was not written, because not everything could be checked."
        ));
    }
    let baseline = file.after(report, is_new || args.add_new);
    if !is_new && baseline == file.baseline {
        return Ok(format!("The baseline {shown} stays as it is.\n"));
    }
    let file = file.write(baseline)?;
    file.apply(report);
    let findings = human::counted(file.baseline.len(), "finding", "findings");
    Ok(format!("The baseline {shown} now has {findings}.\n"))
}

/// Makes the safe repairs. Gives back what was done, and what could not be written.
fn repair(paths: &[PathBuf]) -> (String, Vec<String>) {
    let (mut account, mut failures, mut count) = (String::new(), Vec::new(), 0);
    // What cannot be looked at is told by the check.
    let repairs = fix::fix(paths);
    for fixed in repairs.files {
        match fixed.write() {
            Ok(()) => {
                account.push_str(&fixed.account());
                count += fixed.done.len();
            }
            Err(failure) => failures.push(failure),
        }
    }
    if count > 0 {
        account.push_str(&format!(
            "{} made\n",
            human::counted(count, "repair", "repairs")
        ));
    }
    account.push_str(&repairs.out_of_reach);
    (account, failures)
}

fn show_repairs(paths: &[PathBuf]) -> ExitCode {
    let fix::Repairs {
        files: fixed,
        out_of_reach,
        failures,
    } = fix::fix(paths);
    for fixed in &fixed {
        output::remark(&fixed.account());
    }
    output::remark(&out_of_reach);
    for failure in &failures {
        output::complain(failure);
    }
    let code = match failures.is_empty() {
        true => ExitCode::from(u8::from(!fixed.is_empty())),
        false => ExitCode::from(2),
    };
    output::print(
        |out| {
            let mut differences = fixed.iter().map(fix::Fixed::difference);
            differences.try_for_each(|one| out.write_all(one.as_bytes()))
        },
        code,
    )
}
