//! One panel: curves that share their axes, their frame and their legend.

use dialect::{Dialect, Property, Quantity, Unit};
use svg::node::element::Group;

use super::canvas::{self, Anchor, Ink, MOST_LINES};
use super::scale::{Scale, decimals, ticks};
use super::series::Series;

/// From the top of a panel to the top of the next.
pub(super) const ROOM: f64 = 330.0;
const TOP: f64 = 44.0;
/// The frame of the curves.
const LEFT: f64 = 78.0;
const RIGHT: f64 = 690.0;
const HEIGHT: f64 = 224.0;
/// The legend.
const LEGEND: f64 = 722.0;

/// What is drawn.
pub(super) struct Panel {
    pub(super) title: String,
    pub(super) property: Property,
    /// Seconds.
    pub(super) length: f64,
    /// At most [`MOST_LINES`].
    pub(super) series: Vec<Series>,
}

/// Where things are on the paper.
struct Frame<'d> {
    top: f64,
    bottom: f64,
    /// The unit of times.
    time: &'d Unit,
    times: Scale,
    values: Scale,
}

impl Frame<'_> {
    /// `point`: seconds and value.
    fn place(&self, point: (f64, f64)) -> (f64, f64) {
        let time = self.time.from_base(point.0);
        (self.times.place(time), self.values.place(point.1))
    }
}

impl Panel {
    pub(super) fn draw(&self, dialect: &Dialect, top: f64) -> Group {
        let time = dialect.notation.units.of(Quantity::Time);
        let length = time.from_base(self.length);
        let levels = self.levels();
        let (low, high) = (levels[0], levels[levels.len() - 1]);
        let (frame_top, bottom) = (top + TOP, top + TOP + HEIGHT);
        // Until the end, which mostly is round; a motion without a length still has an axis.
        let last = if length > 0.0 { length } else { 1.0 };
        let frame = Frame {
            top: frame_top,
            bottom,
            time,
            times: Scale::new(0.0, last, (LEFT, RIGHT)),
            values: Scale::new(low, high, (bottom, frame_top)),
        };
        let heading = format!("{}: {}", self.title, what(self.property));
        let group = Group::new().add(
            canvas::text(&heading, (LEFT, top + 24.0), Anchor::Start, Ink::Main)
                .set("font-size", 15)
                .set("font-weight", "bold"),
        );
        let group = self.add_levels(group, &frame, &levels);
        let group = add_moments(group, &frame, length);
        let group = self.add_axes(group, &frame, dialect);
        let group = self.add_curves(group, &frame);
        self.add_keys(group, &frame)
    }

    /// The values that have a line and a number.
    fn levels(&self) -> Vec<f64> {
        let numbers = || self.series.iter().flat_map(|series| &series.points);
        let least = numbers().map(|point| point.1).fold(f64::INFINITY, f64::min);
        let most = numbers()
            .map(|point| point.1)
            .fold(f64::NEG_INFINITY, f64::max);
        match self.property {
            Property::Visibility => vec![0.0, 1.0],
            _ if least <= most => ticks(least, most, 5.0),
            _ => vec![0.0, 1.0],
        }
    }

    fn add_levels(&self, mut group: Group, frame: &Frame<'_>, levels: &[f64]) -> Group {
        let exact = decimals(levels);
        for level in levels {
            let y = frame.values.place(*level);
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
        group
    }

    fn add_axes(&self, mut group: Group, frame: &Frame<'_>, dialect: &Dialect) -> Group {
        let label = format!("Time in {}", frame.time.symbol());
        let below = (f64::midpoint(LEFT, RIGHT), frame.bottom + 40.0);
        group = group
            .add(canvas::line(
                (LEFT, frame.top),
                (LEFT, frame.bottom),
                Ink::Main,
            ))
            .add(canvas::line(
                (LEFT, frame.bottom),
                (RIGHT, frame.bottom),
                Ink::Main,
            ))
            .add(canvas::text(&label, below, Anchor::Middle, Ink::Main));
        if let Some(label) = axis_label(self.property, dialect) {
            let (x, middle) = (LEFT - 56.0, f64::midpoint(frame.top, frame.bottom));
            let turned = format!(
                "rotate(-90 {} {})",
                canvas::rounded(x),
                canvas::rounded(middle)
            );
            let label = canvas::text(&label, (x, middle), Anchor::Middle, Ink::Main);
            group = group.add(label.set("transform", turned));
        }
        group
    }

    /// The curves, and their lines in the legend.
    fn add_curves(&self, mut group: Group, frame: &Frame<'_>) -> Group {
        for (at, series) in self.series.iter().enumerate() {
            let points = series.points.iter().map(|point| frame.place(*point));
            let points: Vec<(f64, f64)> = points.collect();
            let curve = canvas::polyline(&points, Ink::Of(at))
                .set("stroke-width", 2)
                .set("stroke-dasharray", canvas::dash(at))
                .set("stroke-linejoin", "round");
            group = group.add(curve);
            let y = frame.top + 12.0 + 24.0 * at as f64;
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
        group
    }

    /// Above all lines, and each at another time, so that curves that run together are still told apart.
    fn add_keys(&self, mut group: Group, frame: &Frame<'_>) -> Group {
        let count = self.series.len() as f64;
        for (at, series) in self.series.iter().enumerate() {
            let moment = self.length * (at as f64 + 0.75) / (count + 0.5);
            if let Some(number) = value_at(&series.points, moment) {
                let place = frame.place((moment, number));
                group = group.add(canvas::patched(key(at), place, Ink::Of(at)));
            }
        }
        group
    }
}

/// `length`: in the unit of times.
fn add_moments(mut group: Group, frame: &Frame<'_>, length: f64) -> Group {
    let moments = ticks(0.0, length.max(0.0), 8.0);
    let exact = decimals(&moments);
    for moment in moments.into_iter().filter(|moment| *moment >= 0.0) {
        let x = frame.times.place(moment);
        if x > RIGHT + 0.5 {
            continue;
        }
        let (mark, label) = ((x, frame.bottom + 5.0), (x, frame.bottom + 20.0));
        let moment = written(moment, exact);
        group = group
            .add(canvas::line((x, frame.bottom), mark, Ink::Main))
            .add(canvas::text(&moment, label, Anchor::Middle, Ink::Main));
    }
    group
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
    let unit = property.quantity();
    let unit = unit.map(|quantity| dialect.notation.units.of(quantity).symbol());
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
