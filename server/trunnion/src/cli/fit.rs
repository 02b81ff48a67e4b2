//! `trunnion fit`: the settings of a control at which a machine fits.

use std::path::PathBuf;
use std::process::ExitCode;

use dialect::{Dialect, Quantity, read_length};
use motion::{Asked, Extreme, Fit, Rig, Span};

use super::definition::{self, Failure};
use super::measures::{five_digits, rounded};
use super::output;
use super::plain;
use super::subject::Subject;

/// Tell at which settings of a control a machine fits over something, or through something
///
/// Calculates the room between the sides (between the wheels of each axle, and between parts that move on both sides) and
/// the outer width over the travel of the control, all else at rest, and tells the settings from 0 (one end of the travel)
/// to 1 (the other one) at which they suffice, or why none does.
///
/// Exit code: 0 if it fits at some setting, 1 if it does not, 2 if it could not be calculated.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("asked").required(true).multiple(true).args(["between", "outer"]))]
pub(crate) struct Args {
    /// The machine's definition
    #[arg(value_name = "FILE")]
    file: PathBuf,

    /// A thing of this width has to go between the sides: a number and m, cm, mm, in or ft, such as 2.55m
    #[arg(long, value_name = "LENGTH", value_parser = read_length)]
    between: Option<f64>,

    /// The machine has to go through a gap of this width
    #[arg(long, value_name = "LENGTH", value_parser = read_length)]
    outer: Option<f64>,

    /// The animation that the control plays; may be left out if there is one control only
    #[arg(long, value_name = "NAME")]
    control: Option<String>,
}

pub(crate) fn run(args: &Args) -> ExitCode {
    output::report(fit(args).map(|(report, fits)| (report, ExitCode::from(u8::from(!fits)))))
}

/// The report, and whether there is a setting at which all fits.
fn fit(args: &Args) -> Result<(String, bool), Failure> {
    let view = definition::as_meant(&args.file)?;
    let subject = Subject::of(&args.file, &view)?;
    let rig = subject.rig();
    let control = subject.control(args.control.as_deref())?;
    let asked = Asked {
        between: args.between,
        outer: args.outer,
    };
    let name = subject.control_name(control);
    let Some(fit) = rig.fit(control, asked) else {
        return Err(Failure::broken(format!(
            "{}: {name} plays no animation.",
            plain::name(&args.file)
        )));
    };
    Ok((
        told(&subject, &rig, control, asked, &fit),
        !fit.fits.is_empty(),
    ))
}

fn told(subject: &Subject<'_>, rig: &Rig<'_>, control: usize, asked: Asked, fit: &Fit) -> String {
    let name = subject.control_name(control);
    let dialect = subject.dialect;
    let length = |metres: f64| rounded(dialect, Quantity::Length, metres);
    let mut lines = Vec::new();
    let wishes: Vec<String> = [
        asked
            .between
            .map(|wanted| format!("{} between the sides", length(wanted))),
        asked
            .outer
            .map(|wanted| format!("{} outside", length(wanted))),
    ]
    .into_iter()
    .flatten()
    .collect();
    let wishes = wishes.join(" and ");
    if fit.fits.is_empty() {
        lines.push(format!("{name} does not fit {wishes} at any setting."));
        lines.extend(reasons(dialect, asked, fit));
    } else {
        let spans: Vec<String> = fit.fits.iter().map(|span| range(dialect, span)).collect();
        lines.push(format!("{name} fits {wishes} {}.", spans.join(", and ")));
    }
    let ends = ["At 0", "At 1"].into_iter().zip(fit.ends);
    lines.extend(ends.map(|(at, (inner, outer))| {
        let said = |metres: Option<f64>| metres.map_or("not known".to_owned(), length);
        format!(
            "{at}: {} between the sides, {} outside.",
            said(inner),
            said(outer)
        )
    }));
    if let Some(seconds) = rig.full_travel_time(control) {
        let time = rounded(dialect, Quantity::Time, seconds);
        lines.push(format!("From 0 to 1 it takes {time}."));
    }
    if fit.error > 0.0 {
        lines.push(format!(
            "Looked at in steps: between two of them the measures may differ by up to {}.",
            length(fit.error)
        ));
    }
    lines.push(String::new());
    lines.join("\n")
}

/// "from 0.25 to 1"
fn range(dialect: &Dialect, span: &Span) -> String {
    let at = |setting: f64| five_digits(dialect, setting);
    match (at(span.from), at(span.to)) {
        (from, to) if from == to => format!("at {from} only"),
        (from, to) => format!("from {from} to {to}"),
    }
}

/// Why it does not fit.
fn reasons(dialect: &Dialect, asked: Asked, fit: &Fit) -> Vec<String> {
    let best = |wanted: Option<f64>, alone: &[Span], best: Option<Extreme>, words: [&str; 3]| {
        let (wanted, [what, most, unknown]) = (wanted?, words);
        let length = |metres: f64| rounded(dialect, Quantity::Length, metres);
        Some(match best {
            None => unknown.to_owned(),
            Some(best) if alone.is_empty() => format!(
                "The {what} is {most} {}, at {}: {} {}.",
                length(best.metres),
                five_digits(dialect, best.at),
                length((wanted - best.metres).abs()),
                if wanted > best.metres {
                    "too little"
                } else {
                    "too much"
                },
            ),
            Some(_) => {
                let spans: Vec<String> = alone.iter().map(|span| range(dialect, span)).collect();
                format!("The {what} alone suffices {}.", spans.join(", and "))
            }
        })
    };
    let between = best(
        asked.between,
        &fit.clear,
        fit.widest_clearance,
        [
            "room between the sides",
            "at most",
            "There is no room between the sides to measure: no wheels in pairs, and no parts that move on both sides.",
        ],
    );
    let outer = best(
        asked.outer,
        &fit.narrow,
        fit.least_width,
        [
            "outer width",
            "at least",
            "There is no outer width to measure: the scene does not say how large its meshes are.",
        ],
    );
    between.into_iter().chain(outer).collect()
}
