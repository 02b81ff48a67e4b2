//! Curves of every channel over time.

use dialect::{Dialect, Property, Quantity};
use motion::Rig;
use svg::node::element::Group;

use super::Picture;
use super::canvas::{self, Anchor, Ink, MOST_LINES};
use super::scale::{Scale, decimals, ticks};
use super::series::{self, Series, quantity};

/// A picture with more panels than this would not be read.
const MOST_PANELS: usize = 24;

const WIDTH: f64 = 960.0;
/// From the top of a panel to the top of the next.
const PANEL: f64 = 330.0;
const TOP: f64 = 44.0;
/// The frame of the curves in its panel.
const LEFT: f64 = 78.0;
const RIGHT: f64 = 690.0;
const HEIGHT: f64 = 224.0;
/// The legend.
const LEGEND: f64 = 722.0;

/// Curves that share their axes.
struct Panel {
    title: String,
    property: Property,
    length: f64,
    series: Vec<Series>,
}

/// The curves of some animations, by position in the machine: one panel for each animation and property, and more if there
/// are more curves than can be told apart.
///
/// # Errors
/// Nothing moves in these animations.
pub fn curves(rig: &Rig<'_>, dialect: &Dialect, animations: &[usize]) -> Result<Picture, String> {
    let mut panels = Vec::new();
    let mut total = 0;
    for &animation in animations {
        let all = series::of(rig, dialect, animation);
        total += all.len();
        for same in all.chunk_by(|a, b| a.property == b.property) {
            let pages = same.len().div_ceil(MOST_LINES);
            for (page, few) in same.chunks(MOST_LINES).enumerate() {
                let part = match pages {
                    1 => String::new(),
                    _ => format!(" ({} of {pages})", page + 1),
                };
                panels.push(Panel {
                    title: format!("{}{part}", animation_name(rig, animation)),
                    property: few[0].property,
                    length: rig.length(animation),
                    series: few.to_vec(),
                });
            }
        }
    }
    if panels.is_empty() {
        return Err("nothing moves here that could be drawn".to_owned());
    }
    let mut notes = Vec::new();
    if panels.len() > MOST_PANELS {
        panels.truncate(MOST_PANELS);
        let shown: usize = panels.iter().map(|panel| panel.series.len()).sum();
        notes.push(format!(
            "The picture has the first {shown} of {total} curves: more than {MOST_PANELS} panels would not be read. \
             Choose an animation."
        ));
    }
    let names: Vec<&str> = panels.iter().map(|panel| panel.title.as_str()).collect();
    let description = format!("Curves over time, one panel each for {}.", names.join(", "));
    let height = PANEL * panels.len() as f64 + 10.0 + 20.0 * notes.len() as f64;
    let mut content: Vec<Group> = Vec::new();
    for (at, panel) in panels.iter().enumerate() {
        content.push(panel.draw(dialect, PANEL * at as f64));
    }
    for (at, note) in notes.iter().enumerate() {
        let y = PANEL * panels.len() as f64 + 10.0 + 20.0 * at as f64;
        content.push(Group::new().add(canvas::text(note, (16.0, y), Anchor::Start, Ink::Main)));
    }
    Ok(Picture {
        svg: canvas::document((WIDTH, height), "Motion over time", &description, content),
        notes,
    })
}

pub(super) fn animation_name(rig: &Rig<'_>, animation: usize) -> String {
    let name = rig
        .machine
        .animations
        .get(animation)
        .and_then(|animation| animation.name.as_ref());
    name.map_or_else(
        || format!("animation {}", animation + 1),
        |name| canvas::shorter(&name.value, 60),
    )
}

impl Panel {
    fn draw(&self, dialect: &Dialect, top: f64) -> Group {
        let time = dialect.notation.units.of(Quantity::Time);
        let length = time.from_base(self.length);
        let (frame_top, frame_bottom) = (top + TOP, top + TOP + HEIGHT);
        // Until the end, which mostly is round; a motion without a length still has an axis.
        let times = Scale::new(0.0, if length > 0.0 { length } else { 1.0 }, (LEFT, RIGHT));
        let numbers = || self.series.iter().flat_map(|series| &series.points);
        let least = numbers().map(|point| point.1).fold(f64::INFINITY, f64::min);
        let most = numbers()
            .map(|point| point.1)
            .fold(f64::NEG_INFINITY, f64::max);
        let levels = match self.property {
            Property::Visibility => vec![0.0, 1.0],
            _ if least <= most => ticks(least, most, 5.0),
            _ => vec![0.0, 1.0],
        };
        let (low, high) = (levels[0], levels[levels.len() - 1]);
        let values = Scale::new(low, high, (frame_bottom, frame_top));

        let heading = format!("{}: {}", self.title, what(self.property));
        let mut group = Group::new().add(
            canvas::text(&heading, (LEFT, top + 24.0), Anchor::Start, Ink::Main)
                .set("font-size", 15)
                .set("font-weight", "bold"),
        );
        let exact = decimals(&levels);
        for level in &levels {
            let y = values.place(*level);
            let label = match self.property {
                Property::Visibility => ["hidden", "shown"][usize::from(*level > 0.5)].to_owned(),
                _ => written(*level, exact),
            };
            group = group
                .add(canvas::line((LEFT, y), (RIGHT, y), Ink::Faint).set("stroke-width", 0.5))
                .add(canvas::text(
                    &label,
                    (LEFT - 8.0, y + 4.5),
                    Anchor::End,
                    Ink::Main,
                ));
        }
        let moments = ticks(0.0, length.max(0.0), 8.0);
        let exact = decimals(&moments);
        for moment in moments.into_iter().filter(|moment| *moment >= 0.0) {
            let x = times.place(moment);
            if x > RIGHT + 0.5 {
                continue;
            }
            group = group
                .add(canvas::line(
                    (x, frame_bottom),
                    (x, frame_bottom + 5.0),
                    Ink::Main,
                ))
                .add(canvas::text(
                    &written(moment, exact),
                    (x, frame_bottom + 20.0),
                    Anchor::Middle,
                    Ink::Main,
                ));
        }
        let middle = f64::midpoint(frame_top, frame_bottom);
        group = group
            .add(canvas::line(
                (LEFT, frame_top),
                (LEFT, frame_bottom),
                Ink::Main,
            ))
            .add(canvas::line(
                (LEFT, frame_bottom),
                (RIGHT, frame_bottom),
                Ink::Main,
            ))
            .add(canvas::text(
                &format!("Time in {}", time.symbol()),
                (f64::midpoint(LEFT, RIGHT), frame_bottom + 40.0),
                Anchor::Middle,
                Ink::Main,
            ));
        if let Some(label) = axis_label(self.property, dialect) {
            let x = LEFT - 56.0;
            let turned = format!(
                "rotate(-90 {} {})",
                canvas::rounded(x),
                canvas::rounded(middle)
            );
            let label = canvas::text(&label, (x, middle), Anchor::Middle, Ink::Main);
            group = group.add(label.set("transform", turned));
        }
        for (at, series) in self.series.iter().enumerate() {
            let points: Vec<(f64, f64)> = series
                .points
                .iter()
                .map(|(moment, number)| {
                    (times.place(time.from_base(*moment)), values.place(*number))
                })
                .collect();
            let curve = canvas::polyline(&points, Ink::Of(at))
                .set("stroke-width", 2)
                .set("stroke-dasharray", canvas::dash(at))
                .set("stroke-linejoin", "round");
            group = group.add(curve);
            let y = frame_top + 12.0 + 24.0 * at as f64;
            let sample = canvas::line((LEGEND, y), (LEGEND + 40.0, y), Ink::Of(at))
                .set("stroke-width", 2)
                .set("stroke-dasharray", canvas::dash(at));
            group = group.add(sample).add(canvas::text(
                &format!("{} {}", key(at), series.label),
                (LEGEND + 48.0, y + 4.5),
                Anchor::Start,
                Ink::Main,
            ));
        }
        // Above all lines, and each at another time, so that curves that run together are still told apart.
        let count = self.series.len() as f64;
        for (at, series) in self.series.iter().enumerate() {
            let moment = self.length * (at as f64 + 0.75) / (count + 0.5);
            if let Some(number) = value_at(&series.points, moment) {
                let place = (times.place(time.from_base(moment)), values.place(number));
                group = group.add(canvas::patched(key(at), place, Ink::Of(at)));
            }
        }
        group
    }
}

/// What the curves are the values of.
fn what(property: Property) -> &'static str {
    match property {
        Property::Translation => "where parts are",
        Property::Rotation => "how parts are turned",
        Property::Scale => "how large parts are",
        Property::Visibility => "whether parts are shown",
    }
}

fn axis_label(property: Property, dialect: &Dialect) -> Option<String> {
    let unit = quantity(property).map(|quantity| dialect.notation.units.of(quantity).symbol());
    match property {
        Property::Translation => Some(format!("Place in {}", unit?)),
        Property::Rotation => Some(format!("Angle in {}", unit?)),
        Property::Scale => Some("Factor".to_owned()),
        Property::Visibility => None,
    }
}

/// The letter that stands at a curve and before its name.
fn key(at: usize) -> &'static str {
    ["A", "B", "C", "D", "E", "F", "G", "H"][at % MOST_LINES]
}

/// The value on the way between two points.
fn value_at(points: &[(f64, f64)], time: f64) -> Option<f64> {
    let after = points.partition_point(|point| point.0 <= time);
    match (after.checked_sub(1).map(|at| points[at]), points.get(after)) {
        (Some(before), Some(after)) => {
            let way = Scale::new(before.0, after.0, (before.1, after.1));
            Some(way.place(time))
        }
        (Some(last), None) => Some(last.1),
        (None, first) => first.map(|first| first.1),
    }
}

/// A number at an axis, without a sign for zero.
fn written(number: f64, decimals: usize) -> String {
    if number != 0.0 && !(1e-9..1e9).contains(&number.abs()) {
        return format!("{number:e}");
    }
    let text = format!("{number:.decimals$}");
    match text
        .trim_start_matches('-')
        .trim_matches(['0', '.'])
        .is_empty()
    {
        true => text.trim_start_matches('-').to_owned(),
        false => text.replace('-', "\u{2212}"),
    }
}
