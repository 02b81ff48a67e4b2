//! What all pictures share: the document, its style, text and lines.

use svg::Node;
use svg::node::element::{Description, Group, Line, Path, SVG, Style, Text, Title};

/// A line's or text's role, by which the style gives it its colour. The colour on light paper stands in the element as
/// well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Ink {
    /// Text, axes, dimensions.
    Main,
    /// Grids and what stands still.
    Faint,
    /// One of the curves or parts.
    Of(usize),
}

/// On light paper and on dark. Each has a contrast of 4 to 1 at least.
const COLOURS: [(&str, &str); 6] = [
    ("#0063a5", "#6cb8f0"),
    ("#ad4500", "#ff9a57"),
    ("#00714f", "#4fd1a5"),
    ("#9b3f7a", "#f0a6ce"),
    ("#5a46b0", "#b9aeff"),
    ("#6f5800", "#e5c44d"),
];
const MAIN: (&str, &str) = ("#1b1f24", "#e8eaed");
const FAINT: (&str, &str) = ("#8a929b", "#7d868f");
const PAPER: (&str, &str) = ("#ffffff", "#14171a");

/// Lines that can be told apart without colour: strokes and gaps.
const DASHES: [&str; 8] = [
    "none",
    "8 4",
    "2 3",
    "12 3 2 3",
    "5 2",
    "14 5",
    "8 3 2 3 2 3",
    "3 6",
];

impl Ink {
    fn class(self) -> String {
        match self {
            Self::Main => "main".to_owned(),
            Self::Faint => "faint".to_owned(),
            Self::Of(at) => format!("ink-{}", at % COLOURS.len()),
        }
    }

    fn on_light(self) -> &'static str {
        match self {
            Self::Main => MAIN.0,
            Self::Faint => FAINT.0,
            Self::Of(at) => COLOURS[at % COLOURS.len()].0,
        }
    }
}

pub(super) fn dash(at: usize) -> &'static str {
    DASHES[at % DASHES.len()]
}

/// How many lines have a pattern of their own.
pub(super) const MOST_LINES: usize = DASHES.len();

/// The document around a picture. Title and description are for those who do not see it.
pub(super) fn document(
    (width, height): (f64, f64),
    title: &str,
    description: &str,
    content: Vec<Group>,
) -> String {
    let mut svg = SVG::new()
        .set("width", rounded(width))
        .set("height", rounded(height))
        .set(
            "viewBox",
            format!("0 0 {} {}", rounded(width), rounded(height)),
        )
        .set("role", "img")
        .set("class", "trunnion-plot")
        .set(
            "font-family",
            "system-ui, 'Segoe UI', 'DejaVu Sans', sans-serif",
        )
        .set("font-size", 13)
        .add(Title::new(visible(title)))
        .add(Description::new().add(svg::node::Text::new(visible(description))))
        .add(Style::new(style()));
    svg.append(
        svg::node::element::Rectangle::new()
            .set("class", "paper")
            .set("width", "100%")
            .set("height", "100%")
            .set("fill", PAPER.0),
    );
    let svg = content.into_iter().fold(svg, SVG::add);
    format!("{svg}\n")
}

fn style() -> String {
    let colours = |pick: fn(&(&'static str, &'static str)) -> &'static str| {
        let mut all = format!(
            "--paper: {}; --main: {}; --faint: {};",
            pick(&PAPER),
            pick(&MAIN),
            pick(&FAINT)
        );
        for (at, colour) in COLOURS.iter().enumerate() {
            all.push_str(&format!(" --ink-{at}: {};", pick(colour)));
        }
        all
    };
    let mut style = format!(
        "\n.trunnion-plot {{ color-scheme: light dark; {} }}\n\
         @media (prefers-color-scheme: dark) {{ .trunnion-plot {{ {} }} }}\n\
         .trunnion-plot .paper {{ fill: var(--paper); }}\n",
        colours(|colour| colour.0),
        colours(|colour| colour.1)
    );
    let names = (0..COLOURS.len()).map(|at| format!("ink-{at}"));
    for name in ["main".to_owned(), "faint".to_owned()]
        .into_iter()
        .chain(names)
    {
        style.push_str(&format!(
            ".trunnion-plot .{name} {{ stroke: var(--{name}); }}\n\
             .trunnion-plot .fill.{name} {{ fill: var(--{name}); }}\n\
             .trunnion-plot text.{name} {{ fill: var(--{name}); stroke: none; }}\n"
        ));
    }
    style
}

/// Where a text stands at its point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// A line of text; the point is on its base line.
pub(super) fn text(content: &str, (x, y): (f64, f64), anchor: Anchor, ink: Ink) -> Text {
    let anchor = match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    Text::new(visible(content))
        .set("class", ink.class())
        .set("x", rounded(x))
        .set("y", rounded(y))
        .set("text-anchor", anchor)
        .set("fill", ink.on_light())
}

/// A line of text around a point on a patch of paper, so that lines do not run through it.
pub(super) fn patched(content: &str, (x, y): (f64, f64), ink: Ink) -> Group {
    let width = patch_width(content);
    let [left, top, width] = [x - width / 2.0, y - 9.0, width].map(rounded);
    let patch = Path::new()
        .set("class", "paper")
        .set("d", format!("M{left} {top}h{width}v18h-{width}z"))
        .set("fill", PAPER.0);
    let text = text(content, (x, y + 4.5), Anchor::Middle, ink);
    Group::new().add(patch).add(text)
}

/// Wide enough for a text in most fonts.
pub(super) fn patch_width(content: &str) -> f64 {
    8.0 + 7.2 * content.chars().count() as f64
}

pub(super) fn line((x1, y1): (f64, f64), (x2, y2): (f64, f64), ink: Ink) -> Line {
    Line::new()
        .set("class", ink.class())
        .set("x1", rounded(x1))
        .set("y1", rounded(y1))
        .set("x2", rounded(x2))
        .set("y2", rounded(y2))
        .set("stroke", ink.on_light())
}

/// A line through points.
pub(super) fn polyline(points: &[(f64, f64)], ink: Ink) -> Path {
    let mut data = String::new();
    for (at, (x, y)) in points.iter().enumerate() {
        let letter = if at == 0 { 'M' } else { 'L' };
        data.push_str(&format!("{letter}{} {}", rounded(*x), rounded(*y)));
    }
    shape(data, ink)
}

pub(super) fn rectangle((x, y): (f64, f64), (width, height): (f64, f64), ink: Ink) -> Path {
    let [x, y, width, height] = [x, y, width, height].map(rounded);
    shape(format!("M{x} {y}h{width}v{height}h-{width}z"), ink)
}

pub(super) fn circle((x, y): (f64, f64), radius: f64, ink: Ink) -> Path {
    let (left, y, radius) = (rounded(x - radius), rounded(y), rounded(radius));
    let (there, back) = (rounded(2.0 * radius), rounded(-2.0 * radius));
    shape(
        format!("M{left} {y}a{radius} {radius} 0 1 0 {there} 0a{radius} {radius} 0 1 0 {back} 0z"),
        ink,
    )
}

fn shape(data: String, ink: Ink) -> Path {
    Path::new()
        .set("class", ink.class())
        .set("d", data)
        .set("fill", "none")
        .set("stroke", ink.on_light())
}

/// A hundredth of a pixel is enough, and zero has no sign.
pub(super) fn rounded(number: f64) -> f64 {
    let rounded = (number * 100.0).round() / 100.0;
    match rounded.is_finite() {
        true if rounded != 0.0 => rounded,
        _ => 0.0,
    }
}

/// Longer texts are cut.
const LONGEST: usize = 120;

/// Text without what XML does not allow or what would turn it around.
fn visible(text: &str) -> String {
    let is_odd = |c: char| {
        c.is_control()
            || matches!(c, '\u{200e}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{fffe}' | '\u{ffff}')
    };
    let shown = text.chars().map(|c| match is_odd(c) {
        true => char::REPLACEMENT_CHARACTER,
        false => c,
    });
    shorter(&shown.collect::<String>(), LONGEST)
}

/// The first so many characters.
pub(super) fn shorter(text: &str, most: usize) -> String {
    match text.chars().nth(most) {
        None => text.to_owned(),
        Some(_) => text.chars().take(most - 1).chain(['…']).collect(),
    }
}
