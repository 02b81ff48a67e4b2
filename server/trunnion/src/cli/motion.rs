//! `trunnion motion`: all numbers about a machine's motion.

mod human;
mod json;

use std::path::PathBuf;
use std::process::ExitCode;

use motion::Setting;

use super::definition::{self, Failure};
use super::subject::Subject;
use super::{output, plain};

/// Calculate how a machine moves: travels, sizes, track widths, clearance, times
///
/// For every animation: how far and how fast each part goes, the room that moved parts need on the way, and the track
/// width of each axle at both ends and at its least and greatest. For the machine: width, height, length, track widths and
/// ground clearance at rest, stowed (every animation that a control plays at its start) and deployed (at its end).
///
/// Exit code: 0 if it was calculated, 2 if it could not be.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The machine's definition
    #[arg(value_name = "FILE")]
    file: PathBuf,

    /// Measure one pose instead: a control (by the animation it plays) set from 0 to 1; may be given once for each control
    #[arg(long, value_name = "CONTROL=SETTING")]
    at: Vec<String>,

    /// As JSON, in metres, degrees and seconds; with --at, with the matrices of every node
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(report(args).map(|report| (report, ExitCode::SUCCESS)))
}

fn report(args: &Args) -> Result<String, Failure> {
    let view = definition::as_meant(&args.file)?;
    let subject = Subject::of(&args.file, &view)?;
    let rig = subject.rig();
    if args.at.is_empty() {
        let report = rig.report();
        return Ok(match args.json {
            true => plain::json(&json::report(&subject, &report)).into_owned(),
            false => human::report(&subject, &report),
        });
    }
    let settings: Vec<Setting> = args
        .at
        .iter()
        .map(|at| setting(&subject, at))
        .collect::<Result<_, _>>()?;
    for (at, setting) in settings.iter().enumerate() {
        let is_same = |other: &Setting| other.control == setting.control;
        if settings[..at].iter().any(is_same) {
            let name = args.at[at]
                .rsplit_once('=')
                .map_or("", |(name, _)| name.trim());
            return Err(Failure::broken(format!(
                "`{name}` is set twice. Give --at once for each control."
            )));
        }
    }
    let pose = rig.pose_of(&settings);
    let stance = rig.stance(&pose);
    Ok(match args.json {
        true => plain::json(&json::pose(&subject, &pose, &stance)).into_owned(),
        false => human::pose(&subject, &stance),
    })
}

/// `leg.spread=0.5`
fn setting(subject: &Subject<'_>, text: &str) -> Result<Setting, Failure> {
    let wrong = || {
        Failure::broken(format!(
            "`{text}` is not a setting. Write a control, =, and a number from 0 to 1, such as leg.spread=0.5."
        ))
    };
    let (name, part) = text.rsplit_once('=').ok_or_else(wrong)?;
    let part: f64 = part.trim().parse().map_err(|_| wrong())?;
    if !(0.0..=1.0).contains(&part) {
        return Err(wrong());
    }
    let control = subject.control(Some(name.trim()))?;
    Ok(Setting { control, part })
}
