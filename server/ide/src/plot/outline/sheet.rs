//! Three views for each of two poses on one sheet, all to the same scale.

use dialect::{Dialect, Quantity};
use svg::node::element::Group;

use super::sketch::{Block, Place, Sketch, Tyre};
use crate::plot::canvas::{self, Anchor, Ink};

const MARGIN: f64 = 24.0;
/// Room beside and above a view for its dimensions.
const AROUND: f64 = 90.0;
/// Room below a view for its dimensions and its name.
const BELOW: f64 = 100.0;
const HEADING: f64 = 34.0;
/// All three views together are so wide, and the highest so high.
const WIDEST: f64 = 800.0;
const HIGHEST: f64 = 330.0;

/// Which directions of a machine (0 right, 1 up, 2 forward) a view shows to the right and up, and which way.
#[derive(Debug, Clone, Copy)]
struct ViewFrom {
    name: &'static str,
    across: usize,
    /// Seen from the front, the machine's right side is on the left.
    is_turned: bool,
    up: usize,
}

const VIEWS: [ViewFrom; 3] = [
    ViewFrom {
        name: "front",
        across: 0,
        is_turned: true,
        up: 1,
    },
    ViewFrom {
        name: "right side",
        across: 2,
        is_turned: false,
        up: 1,
    },
    ViewFrom {
        name: "top, front upwards",
        across: 0,
        is_turned: false,
        up: 2,
    },
];

/// The scale, and what of the world is on the sheet.
#[derive(Debug)]
pub(super) struct Sheet {
    world: Block,
    /// Pixels for a metre.
    scale: f64,
}

impl Sheet {
    /// `None` if there is nothing to draw.
    pub(super) fn of(sketches: &[Sketch; 2]) -> Option<Self> {
        let world = sketches
            .iter()
            .filter_map(Sketch::around)
            .reduce(|a, b| Block {
                least: std::array::from_fn(|axis| a.least[axis].min(b.least[axis])),
                most: std::array::from_fn(|axis| a.most[axis].max(b.most[axis])),
                is_moved: false,
            })?;
        let size: Place = std::array::from_fn(|axis| world.most[axis] - world.least[axis]);
        let across: f64 = VIEWS.iter().map(|view| size[view.across]).sum();
        let scale = (WIDEST / across).min(HIGHEST / size[1].max(size[2]));
        // Nothing but points: any scale will do.
        let scale = if scale.is_finite() { scale } else { 1.0 };
        Some(Self { world, scale })
    }

    fn size(&self, axis: usize) -> f64 {
        (self.world.most[axis] - self.world.least[axis]) * self.scale
    }

    pub(super) fn draw(
        &self,
        dialect: &Dialect,
        title: &str,
        sketches: &[Sketch; 2],
        notes: &[String],
    ) -> String {
        let row = HEADING + AROUND + BELOW + self.size(1).max(self.size(2));
        let columns = VIEWS.map(|view| self.size(view.across).max(90.0) + AROUND * 2.0);
        let width = MARGIN * 2.0 + columns.iter().sum::<f64>();
        let mut content = Vec::new();
        let mut description = String::new();
        for (at, sketch) in sketches.iter().enumerate() {
            let top = MARGIN + row * at as f64;
            let heading = format!("{title}: {}", sketch.name);
            content.push(
                Group::new().add(
                    canvas::text(&heading, (MARGIN, top + 14.0), Anchor::Start, Ink::Main)
                        .set("font-size", 15)
                        .set("font-weight", "bold"),
                ),
            );
            let mut left = MARGIN;
            for (view, column) in VIEWS.iter().zip(columns) {
                let middle = left + column / 2.0;
                let drawing = Drawing {
                    sheet: self,
                    dialect,
                    view: *view,
                    middle,
                    bottom: top + row - BELOW,
                };
                content.push(drawing.draw(sketch));
                left += column;
            }
            description.push_str(&told(dialect, sketch));
        }
        let bottom = MARGIN * 2.0 + row * 2.0;
        let key = "Thick lines with a tint: parts that move. Thin lines: parts that stay. Dashed lines: wheels.";
        for (at, note) in std::iter::once(key)
            .chain(notes.iter().map(String::as_str))
            .enumerate()
        {
            let y = bottom - 8.0 + 20.0 * at as f64;
            content.push(Group::new().add(canvas::text(
                note,
                (MARGIN, y),
                Anchor::Start,
                Ink::Main,
            )));
        }
        let height = bottom + 10.0 + 20.0 * notes.len() as f64;
        canvas::document((width, height), title, description.trim(), content)
    }
}

/// For those who do not see the picture.
fn told(dialect: &Dialect, sketch: &Sketch) -> String {
    let mut told = format!("{}:", sketch.name);
    for (axle, _) in &sketch.axles {
        told.push_str(&format!(" track width {},", measure(dialect, axle.width)));
    }
    if let Some((overall, _)) = &sketch.overall {
        told.push_str(&format!(
            " {} wide, {} high, {} long,",
            measure(dialect, overall.width),
            measure(dialect, overall.height),
            measure(dialect, overall.length)
        ));
    }
    format!("{}. ", told.trim_end_matches([',', ':']))
}

/// In the dialect's unit of length, with as many decimals as it takes to tell millimetres apart.
fn measure(dialect: &Dialect, metres: f64) -> String {
    let unit = dialect.notation.units.of(Quantity::Length);
    let decimals = (-libm::log10(unit.from_base(1e-3)) - 1e-9).ceil().max(0.0);
    let scale = 10_f64.powi(decimals as i32);
    let number = (unit.from_base(metres) * scale).round() / scale;
    format!("{} {}", dialect.write_number(number), unit.symbol())
}

/// One view of one pose.
struct Drawing<'s> {
    sheet: &'s Sheet,
    dialect: &'s Dialect,
    view: ViewFrom,
    /// Where the middle of the world lies.
    middle: f64,
    /// Where the lowest point of the world lies.
    bottom: f64,
}

impl Drawing<'_> {
    fn x(&self, place: f64) -> f64 {
        let world = &self.sheet.world;
        let middle = world.least[self.view.across].midpoint(world.most[self.view.across]);
        let way = (place - middle) * self.sheet.scale;
        self.middle + if self.view.is_turned { -way } else { way }
    }

    fn y(&self, place: f64) -> f64 {
        self.bottom - (place - self.sheet.world.least[self.view.up]) * self.sheet.scale
    }

    fn draw(&self, sketch: &Sketch) -> Group {
        let top = self.bottom - self.sheet.size(self.view.up);
        let mut group = Group::new();
        for block in &sketch.blocks {
            let (corner, size) = self.rectangle(block);
            let drawn = match block.is_moved {
                true => canvas::rectangle(corner, size, Ink::Of(0))
                    .set("class", "fill ink-0")
                    .set("fill", "#0063a5")
                    .set("fill-opacity", 0.12)
                    .set("stroke-width", 2),
                false => canvas::rectangle(corner, size, Ink::Faint).set("stroke-width", 1),
            };
            group = group.add(drawn);
        }
        for tyre in &sketch.tyres {
            let drawn = self.tyre(tyre);
            group = group.add(
                drawn
                    .set("stroke-width", 1.5)
                    .set("stroke-dasharray", "5 2"),
            );
        }
        if self.view.up == 1 {
            let reach = self.sheet.size(self.view.across) / 2.0 + 20.0;
            let (from, to) = (self.middle - reach, self.middle + reach);
            group = group.add(canvas::line(
                (from, self.bottom),
                (to, self.bottom),
                Ink::Main,
            ));
        }
        let name = format!("From the {}", self.view.name);
        group = group
            .add(canvas::text(
                &name,
                (self.middle, self.bottom + 66.0),
                Anchor::Middle,
                Ink::Main,
            ))
            .add(self.dimensions(sketch, top));
        group
    }

    fn rectangle(&self, block: &Block) -> ((f64, f64), (f64, f64)) {
        let (a, b) = (
            self.x(block.least[self.view.across]),
            self.x(block.most[self.view.across]),
        );
        let (top, bottom) = (
            self.y(block.most[self.view.up]),
            self.y(block.least[self.view.up]),
        );
        ((a.min(b), top), ((a - b).abs(), bottom - top))
    }

    fn tyre(&self, tyre: &Tyre) -> svg::node::element::Path {
        let scale = self.sheet.scale;
        let centre = (
            self.x(tyre.centre[self.view.across]),
            self.y(tyre.centre[self.view.up]),
        );
        if self.view.across == 2 {
            return canvas::circle(centre, tyre.radius * scale, Ink::Main);
        }
        let (width, height) = (tyre.width * scale, 2.0 * tyre.radius * scale);
        let corner = (centre.0 - width / 2.0, centre.1 - height / 2.0);
        canvas::rectangle(corner, (width, height), Ink::Main)
    }

    fn dimensions(&self, sketch: &Sketch, top: f64) -> Group {
        let mut group = Group::new();
        let label = |name: &str, metres: f64| format!("{name}{}", measure(self.dialect, metres));
        let sides = |[left, right]: &[Place; 2]| (self.x(left[0]), self.x(right[0]));
        if let Some((overall, block)) = &sketch.overall {
            let across = (
                self.x(block.least[self.view.across]),
                self.x(block.most[self.view.across]),
            );
            let up = (
                self.y(block.most[self.view.up]),
                self.y(block.least[self.view.up]),
            );
            let (name, size) = match self.view.across {
                0 => ("width ", overall.width),
                _ => ("length ", overall.length),
            };
            group = group.add(across_dimension(
                across,
                top - 34.0,
                up.0,
                &label(name, size),
            ));
            if self.view.across == 2 {
                let x = across.0.max(across.1);
                group = group.add(upward_dimension(
                    up,
                    x + 30.0,
                    x,
                    &label("", overall.height),
                ));
            }
        }
        match (self.view.across, self.view.up) {
            // One line if all axles are alike.
            (0, 1) => {
                for (at, (axle, places)) in distinct(sketch).into_iter().take(2).enumerate() {
                    let y = self.bottom + 18.0 + 20.0 * at as f64;
                    let from = self.y(places[0][1]);
                    group = group.add(across_dimension(
                        sides(places),
                        y,
                        from,
                        &label("track ", axle.width),
                    ));
                }
            }
            (0, _) => {
                for (axle, places) in &sketch.axles {
                    let y = self.y(places[0][2].midpoint(places[1][2]));
                    group = group.add(across_dimension(
                        sides(places),
                        y,
                        y,
                        &label("track ", axle.width),
                    ));
                }
            }
            _ => {}
        }
        group
    }
}

/// The axles that differ in their track widths.
fn distinct(sketch: &Sketch) -> Vec<&(motion::Axle, [Place; 2])> {
    let mut found: Vec<&(motion::Axle, [Place; 2])> = Vec::new();
    for axle in &sketch.axles {
        if found
            .iter()
            .all(|known| (known.0.width - axle.0.width).abs() > 5e-4)
        {
            found.push(axle);
        }
    }
    found
}

/// How far a dimension line and its helpers reach beyond the ends.
const BEYOND: f64 = 5.0;

/// A dimension line at a height, with helpers from what it measures.
fn across_dimension((a, b): (f64, f64), y: f64, from: f64, label: &str) -> Group {
    let (left, right) = (a.min(b), a.max(b));
    let beyond = if from < y { y + BEYOND } else { y - BEYOND };
    let mut group = Group::new();
    for x in [left, right] {
        if (from - y).abs() > 1.0 {
            group =
                group.add(canvas::line((x, from), (x, beyond), Ink::Main).set("stroke-width", 0.6));
        }
        group = group.add(slash(x, y));
    }
    let width = canvas::patch_width(label);
    // Beside a line that is too short for it.
    let middle = match width + 24.0 < right - left {
        true => left.midpoint(right),
        false => right + 10.0 + width / 2.0,
    };
    group
        .add(canvas::line((left, y), (right, y), Ink::Main))
        .add(canvas::patched(label, (middle, y), Ink::Main))
}

/// The same upright.
fn upward_dimension((top, bottom): (f64, f64), x: f64, from: f64, label: &str) -> Group {
    let mut group = Group::new().add(canvas::line((x, top), (x, bottom), Ink::Main));
    for y in [top, bottom] {
        let helper = canvas::line((from, y), (x + BEYOND, y), Ink::Main).set("stroke-width", 0.6);
        group = group.add(helper).add(slash(x, y));
    }
    let middle = top.midpoint(bottom);
    let turned = format!(
        "rotate(-90 {} {})",
        canvas::rounded(x),
        canvas::rounded(middle)
    );
    group.add(canvas::patched(label, (x, middle), Ink::Main).set("transform", turned))
}

/// The mark at the end of a dimension line, as drawings have it.
fn slash(x: f64, y: f64) -> svg::node::element::Line {
    canvas::line((x - 4.0, y + 4.0), (x + 4.0, y - 4.0), Ink::Main).set("stroke-width", 1.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measures_are_rounded_in_the_unit_that_they_are_told_in() {
        let told = |unit: &str, metres: f64| {
            let toml = format!(
                "[dialect]\nname = \"a\"\nformat = 1\n[units]\nlength = \"{unit}\"\n[[document]]\nname = \"a\"\nroot = \"a\"\n[element.a]\n"
            );
            measure(&Dialect::read(&toml, None).expect("it is sound"), metres)
        };
        assert_eq!(told("in", 104.0 * 0.0254), "104 in");
        assert_eq!(told("in", 2.8816), "113.45 in");
        assert_eq!(told("m", 2.6004), "2.6 m");
        assert_eq!(told("cm", 2.6014), "260.1 cm");
        assert_eq!(told("mm", 2.6014), "2601 mm");
    }
}
