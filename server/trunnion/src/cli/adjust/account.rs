//! What a change comes to, in the dialect's units: travels, track widths, the proof.

use dialect::{Dialect, Property, Quantity};
use ide::assists::{Adjustment, PartTravel};
use motion::Travel;
use project::View;
use syntax::TextRange;

use super::super::measures::{measure, number};

pub(super) fn of(view: &View, adjustment: &Adjustment) -> String {
    let Some(dialect) = view.dialect() else {
        return String::new();
    };
    let mut lines: Vec<String> = adjustment
        .travels
        .iter()
        .map(|travel| part(dialect, travel))
        .collect();
    for track in &adjustment.tracks {
        let width = |metres| measure(dialect, Quantity::Length, metres);
        let [start, end, least, most] =
            [track.at_start, track.at_end, track.least, track.most].map(width);
        let ends = match start == end {
            true => format!("{start} at both ends"),
            false => format!("{start} at the start, {end} at the end"),
        };
        let is_end = |width| [&start, &end].contains(&width);
        let widths = match (is_end(&least) && is_end(&most), start == end) {
            (true, true) => format!("stays {start}"),
            (true, false) => ends,
            (false, _) => format!("{ends}, {least} to {most} on the way"),
        };
        lines.push(format!(
            "Track width of {} and {}: {widths}.",
            track.left, track.right
        ));
    }
    lines.push(match &adjustment.difference {
        Some(found) => format!(
            "Proven by calculation: at both ends and on the way every node stands where it stood. Worst difference: {} m, {} degrees.",
            exact(dialect, found.metres),
            exact(dialect, found.degrees)
        ),
        None => "The scene cannot be read, so no poses could be calculated; the channels were compared one by one and do the same.".to_owned(),
    });
    if !adjustment.left_behind.is_empty() {
        let (verb, them) = if adjustment.left_behind.len() == 1 {
            ("moves", "it")
        } else {
            ("move", "them")
        };
        lines.push(format!(
            "{} {verb} as the mirror image and stays where it is; --mirror takes {them} along.",
            adjustment.left_behind.join(", ")
        ));
    }
    if !adjustment.places.is_empty() {
        let places = adjustment.places.iter();
        let places: Vec<String> = places.map(|place| to_fill_in(adjustment, *place)).collect();
        lines.push(format!("Left for you to fill in: {}.", places.join(", ")));
    }
    lines.push(String::new());
    lines.join("\n")
}

/// Where it is, and what stands there at first.
fn to_fill_in(adjustment: &Adjustment, place: TextRange) -> String {
    let before = &adjustment.text[..usize::from(place.start())];
    let line = before.matches('\n').count() + 1;
    match &adjustment.text[place] {
        "" => format!("an empty place in line {line}"),
        value => format!("`{value}` in line {line}"),
    }
}

fn part(dialect: &Dialect, part: &PartTravel) -> String {
    let travel = match part.travel {
        Travel::Distance { offset, metres } => {
            let way = way(dialect, offset.to_array(), metres);
            format!("{}{way}", measure(dialect, Quantity::Length, metres))
        }
        Travel::Angle { degrees, .. } => measure(dialect, Quantity::Angle, degrees),
        Travel::Factor { from, to } => {
            format!(
                "{} to {}",
                dialect.write_vector(&from.to_array()),
                dialect.write_vector(&to.to_array())
            )
        }
        Travel::Visibility { from, to } => {
            let word = |shown: bool| if shown { "shown" } else { "hidden" };
            format!("{} to {}", word(from), word(to))
        }
    };
    let what = match part.property {
        Property::Translation => "moves",
        Property::Rotation => "turns",
        Property::Scale => "scales from",
        Property::Visibility => "from",
    };
    let (begin, end) = part.window;
    let time = |seconds| {
        number(
            dialect,
            dialect.notation.units.of(Quantity::Time).from_base(seconds),
        )
    };
    let unit = dialect.notation.units.of(Quantity::Time).symbol();
    format!(
        "{} {what} {travel}, from {} to {} {unit}.",
        part.part,
        time(begin),
        time(end)
    )
}

/// " to the left", " up" and so on, if it is mostly that way.
fn way(dialect: &Dialect, offset: [f64; 3], length: f64) -> &'static str {
    let axes = dialect.notation.axes;
    let along = |direction: dialect::Direction| {
        let vector = direction.vector();
        offset.iter().zip(vector).map(|(a, b)| a * b).sum::<f64>()
    };
    let ways = [
        (along(axes.right), [" to the right", " to the left"]),
        (along(axes.up), [" up", " down"]),
        (along(axes.forward), [" forward", " back"]),
    ];
    let mostly = ways
        .into_iter()
        .find(|(part, _)| length > 0.0 && part.abs() >= 0.99 * length);
    mostly.map_or(
        "",
        |(part, [there, back])| if part > 0.0 { there } else { back },
    )
}

/// Small differences must not be rounded away.
fn exact(dialect: &Dialect, number: f64) -> String {
    if number == 0.0 {
        dialect.write_number(0.0)
    } else {
        format!("{number:.1e}")
    }
}
