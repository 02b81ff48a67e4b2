//! `trunnion plot`: pictures of a machine's motion.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use ide::plot::{self, Ends, Picture};
use motion::{Rig, Setting};

use super::definition::{self, Failure};
use super::output;
use super::plain;
use super::replace::{self, Replaced};
use super::subject::Subject;

/// Draw how a machine moves, as SVG: curves over time, or its outline at both ends
///
/// Without --outline: where every channel is over time, one panel for each animation and property. With --outline: the
/// machine from the front, the side and above at both ends of the motion, to the same scale, with the track width of each
/// axle, overall width, height and length drawn in. The same machine gives the same bytes, in light and dark.
///
/// Exit code: 0 if it was drawn, 1 if there is nothing to draw, 2 if it could not be tried: a file that cannot be read or
/// written, or no such animation or control.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The machine's definition
    #[arg(value_name = "FILE")]
    file: PathBuf,

    /// Only this animation
    #[arg(long, value_name = "ID", conflicts_with = "control")]
    animation: Option<String>,

    /// Only the animation that this control plays: the animation's name, or the text that the player reads
    #[arg(long, value_name = "ID")]
    control: Option<String>,

    /// Outlines with dimensions; of all controls together if no animation and no control is named
    #[arg(long)]
    outline: bool,

    /// Where the picture goes; an older picture there is replaced. Without it, to the standard output
    #[arg(short, long, value_name = "SVG")]
    output: Option<PathBuf>,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    match plot(args) {
        Ok(picture) => {
            for note in &picture.notes {
                output::complain(note);
            }
            match &args.output {
                None => output::print(
                    |out| out.write_all(picture.svg.as_bytes()),
                    ExitCode::SUCCESS,
                ),
                Some(file) => written(file, &picture.svg),
            }
        }
        Err(failure) => output::failed(&failure),
    }
}

fn plot(args: &Args) -> Result<Picture, Failure> {
    let view = definition::as_meant(&args.file)?;
    let subject = Subject::of(&args.file, &view)?;
    let rig = subject.rig();
    let chosen = chosen(args, &subject, &rig)?;
    let drawn = match args.outline {
        true => outline(&subject, &rig, chosen),
        false => {
            let all = || (0..subject.machine.animations.len()).collect();
            let animations: Vec<usize> = chosen.map_or_else(all, |one| vec![one]);
            plot::curves(&rig, subject.dialect, &animations)
        }
    };
    drawn.map_err(|reason| Failure::refused(format!("{}: {reason}.", plain::name(&args.file))))
}

/// The animation that was asked for, if one was.
fn chosen(args: &Args, subject: &Subject<'_>, rig: &Rig<'_>) -> Result<Option<usize>, Failure> {
    let shown = plain::name(&args.file);
    if let Some(name) = &args.animation {
        let found = subject.machine.animation(name);
        return found.map(Some).ok_or_else(|| {
            let all = 0..subject.machine.animations.len();
            let there: Vec<String> = all.map(|at| subject.animation_name(at)).collect();
            Failure::broken(format!(
                "{shown}: there is no animation `{name}`. There are: {}.",
                there.join(", ")
            ))
        });
    }
    let Some(name) = &args.control else {
        return Ok(None);
    };
    let control = subject.control(Some(name))?;
    let played = rig.played(control);
    played.map(Some).ok_or_else(|| {
        Failure::broken(format!(
            "{shown}: the control `{name}` plays no animation that is there."
        ))
    })
}

fn outline(subject: &Subject<'_>, rig: &Rig<'_>, chosen: Option<usize>) -> Result<Picture, String> {
    if let Some(animation) = chosen {
        let [start, end] = [0.0, rig.length(animation)].map(|time| rig.pose(&[(animation, time)]));
        let ends = Ends {
            title: &subject.animation_name(animation),
            poses: [("at the start", &start), ("at the end", &end)],
            moved: &rig.moved_nodes(animation),
        };
        return plot::outline(rig, subject.dialect, &ends);
    }
    let controls = 0..subject.machine.controls.len();
    let settings = |part: f64| -> Vec<Setting> {
        let all = controls.clone();
        all.map(|control| Setting { control, part }).collect()
    };
    let played = controls.clone().filter_map(|control| rig.played(control));
    let moved: Vec<_> = played
        .flat_map(|animation| rig.moved_nodes(animation))
        .collect();
    let [stowed, deployed] = [0.0, 1.0].map(|part| rig.pose_of(&settings(part)));
    let ends = Ends {
        title: "All controls",
        poses: [("stowed", &stowed), ("deployed", &deployed)],
        moved: &moved,
    };
    plot::outline(rig, subject.dialect, &ends)
}

/// Puts the picture into its file.
fn written(file: &Path, svg: &str) -> ExitCode {
    let shown = plain::name(file);
    let outcome = match replace::there(file) {
        // Whatever else is there is not ours to replace.
        Ok(Some(old)) if !old.is_empty() && !old.starts_with(b"<svg ") => {
            return output::failed(&Failure::broken(format!(
                "{shown} is there and is no picture of ours, so it is left as it is. Name another file."
            )));
        }
        Ok(old) => replace::put(file, old.as_deref(), svg),
        Err(error) => Err(error),
    };
    match outcome {
        Ok(Replaced::Done) => {
            output::report(Ok((format!("Written to {shown}.\n"), ExitCode::SUCCESS)))
        }
        Ok(Replaced::ChangedMeanwhile) => output::failed(&Failure::broken(format!(
            "{shown} was changed by somebody else in the meantime, so nothing was written. Try again."
        ))),
        Err(error) => output::failed(&Failure::broken(format!(
            "{shown} cannot be written: {error}."
        ))),
    }
}
