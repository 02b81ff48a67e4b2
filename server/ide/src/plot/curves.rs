//! Curves of every channel over time.

use dialect::Dialect;
use motion::Rig;
use svg::node::element::Group;

use super::Picture;
use super::canvas::{self, Anchor, Ink, MOST_LINES};
use super::panel::{self, Panel};
use super::series;

/// A picture with more panels than this would not be read.
const MOST_PANELS: usize = 24;

const WIDTH: f64 = 960.0;

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
    let height = panel::ROOM * panels.len() as f64 + 10.0 + 20.0 * notes.len() as f64;
    let mut content: Vec<Group> = Vec::new();
    for (at, panel) in panels.iter().enumerate() {
        content.push(panel.draw(dialect, panel::ROOM * at as f64));
    }
    for (at, note) in notes.iter().enumerate() {
        let y = panel::ROOM * panels.len() as f64 + 10.0 + 20.0 * at as f64;
        content.push(Group::new().add(canvas::text(note, (16.0, y), Anchor::Start, Ink::Main)));
    }
    Ok(Picture {
        svg: canvas::document((WIDTH, height), "Motion over time", &description, content),
        notes,
    })
}

fn animation_name(rig: &Rig<'_>, animation: usize) -> String {
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
