//! The numbers as text, in the dialect's units.

use dialect::{Dialect, Quantity};
use motion::{AnimationReport, Movement, Report, Stance, Track, Travel};

use super::super::measures::{five_digits, rounded};
use super::super::subject::Subject;

pub(super) fn report(subject: &Subject<'_>, report: &Report) -> String {
    let mut lines = Vec::new();
    let stances = [
        ("At rest", &report.rest),
        ("Stowed", &report.stowed),
        ("Deployed", &report.deployed),
    ];
    for (title, stance) in stances {
        lines.push(format!("{title}:"));
        lines.extend(of_stance(subject, stance));
    }
    for animation in &report.animations {
        lines.push(String::new());
        lines.extend(of_animation(subject, animation));
    }
    if !report.controls.is_empty() {
        lines.push(String::new());
    }
    for control in &report.controls {
        let name = subject.control_name(control.control);
        lines.push(match control.full_travel {
            Some(seconds) => format!(
                "Control of {name}: {} from end to end.",
                rounded(subject.dialect, Quantity::Time, seconds)
            ),
            None => format!("Control of {name}: it plays nothing."),
        });
    }
    for drives in &report.contested {
        let Some(first) = drives.first() else {
            continue;
        };
        let mut animations: Vec<String> = drives
            .iter()
            .map(|drive| subject.animation_name(drive.animation))
            .collect();
        animations.dedup();
        lines.push(format!(
            "Contested: the {} of {} is driven by {}.",
            first.property.as_str(),
            subject.scene.tree_path(first.node),
            animations.join(" and ")
        ));
    }
    lines.push(String::new());
    lines.join("\n")
}

pub(super) fn pose(subject: &Subject<'_>, stance: &Stance) -> String {
    let mut lines = of_stance(subject, stance);
    lines.push(String::new());
    lines.join("\n")
}

fn of_stance(subject: &Subject<'_>, stance: &Stance) -> Vec<String> {
    let length = |metres| rounded(subject.dialect, Quantity::Length, metres);
    let mut lines = Vec::new();
    if let Some(size) = stance.overall {
        lines.push(format!(
            "  {} wide, {} high, {} long",
            length(size.width),
            length(size.height),
            length(size.length)
        ));
    }
    if let Some(clearance) = stance.clearance {
        lines.push(format!(
            "  ground clearance {}, under {}",
            length(clearance.height),
            subject.scene.tree_path(clearance.node)
        ));
    }
    lines.extend(stance.axles.iter().map(|axle| {
        format!(
            "  track width of {} and {}: {}",
            subject.wheel_name(axle.left),
            subject.wheel_name(axle.right),
            length(axle.width)
        )
    }));
    if lines.is_empty() {
        lines.push("  nothing can be measured".to_owned());
    }
    lines
}

fn of_animation(subject: &Subject<'_>, report: &AnimationReport) -> Vec<String> {
    let dialect = subject.dialect;
    let mut lines = vec![format!(
        "{}, {}:",
        subject.animation_name(report.animation),
        rounded(dialect, Quantity::Time, report.length)
    )];
    let moving = report.movements.iter();
    let moving = moving.filter(|one| !one.drive.waits(subject.machine));
    lines.extend(moving.map(|one| of_movement(subject, one)));
    lines.extend(report.sweep.swept.iter().filter_map(|swept| {
        let size = swept.bounds?.size().to_array();
        let unit = dialect.notation.units.of(Quantity::Length);
        let sides = size.map(|side| five_digits(dialect, unit.from_base(side)));
        let error = match swept.error {
            0.0 => String::new(),
            error => format!(
                ", at most {} more",
                rounded(dialect, Quantity::Length, error)
            ),
        };
        Some(format!(
            "  {} needs {} {} of room (x × y × z){error}",
            subject.scene.tree_path(swept.node),
            sides.join(" × "),
            unit.symbol()
        ))
    }));
    lines.extend(
        report
            .sweep
            .tracks
            .iter()
            .map(|track| of_track(subject, track)),
    );
    lines
}

fn of_movement(subject: &Subject<'_>, movement: &Movement) -> String {
    let (dialect, drive) = (subject.dialect, &movement.drive);
    let (what, unit) = match movement.travel {
        Travel::Distance { metres, .. } => (
            format!("moves {}", rounded(dialect, Quantity::Length, metres)),
            Some(Quantity::Length),
        ),
        Travel::Angle { degrees, .. } => (
            format!("turns {}", rounded(dialect, Quantity::Angle, degrees)),
            Some(Quantity::Angle),
        ),
        Travel::Factor { from, to } => {
            let row = |factors: &[f64]| dialect.write_vector(factors);
            let (from, to) = (row(&from.to_array()), row(&to.to_array()));
            (format!("is scaled from {from} to {to}"), None)
        }
        Travel::Visibility { to, .. } => {
            let what = if to { "appears" } else { "disappears" };
            (what.to_owned(), None)
        }
    };
    let speed = movement
        .speed
        .zip(unit)
        .map_or(String::new(), |(speed, unit)| {
            let time = dialect.notation.units.of(Quantity::Time);
            let in_unit = speed * time.to_base(1.0);
            format!(", {} per {}", rounded(dialect, unit, in_unit), time.name)
        });
    let time = dialect.notation.units.of(Quantity::Time);
    let at = |seconds| five_digits(dialect, time.from_base(seconds));
    format!(
        "  {} {what} from {} to {} {}{speed}",
        subject.scene.tree_path(drive.node),
        at(drive.begin),
        at(drive.end),
        time.symbol()
    )
}

fn of_track(subject: &Subject<'_>, track: &Track) -> String {
    let dialect: &Dialect = subject.dialect;
    let length = |metres: f64| rounded(dialect, Quantity::Length, metres);
    let wheels = format!(
        "  track width of {} and {}",
        subject.wheel_name(track.left),
        subject.wheel_name(track.right)
    );
    let [start, end, least, most] = [track.start, track.end, track.least, track.most].map(length);
    let ends_are_extremes = [&start, &end].contains(&&least) && [&start, &end].contains(&&most);
    if start == end && ends_are_extremes {
        format!("{wheels}: stays {start}")
    } else if ends_are_extremes {
        format!("{wheels}: {start} at the start, {end} at the end")
    } else {
        format!("{wheels}: {start} at the start, {end} at the end, {least} to {most} on the way")
    }
}
