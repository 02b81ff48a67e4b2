//! What can be calculated of a channel or a control.

use machine::Control;
use project::View;

use super::grammar::labelled;
use crate::figures::Figures;
use crate::prose::{Line, Prose};

/// How far and how fast it goes.
pub(super) fn of_channel(view: &View, animation: usize, channel: usize) -> Prose {
    let Some(figures) = Figures::of(view) else {
        return Prose::new();
    };
    let travels = figures.channel(animation, channel).into_iter();
    let travels = travels.map(|travel| Line::new().text(travel));
    Prose::new().item(labelled("Travel: ", Line::new().list(travels)))
}

/// How long it takes, and what it does to the track width.
pub(super) fn of_control(view: &View, control: &Control) -> Prose {
    let (Some(machine), Some(figures)) = (view.machine(), Figures::of(view)) else {
        return Prose::new();
    };
    let mut controls = machine.controls.iter();
    let Some(at) = controls.position(|one| one.element == control.element) else {
        return Prose::new();
    };
    let time = figures.full_travel(at).map(|time| Line::new().text(time));
    let tracks = figures
        .played(at)
        .map(|animation| figures.tracks(animation));
    let prose = Prose::new().item(labelled("End to end: ", time.unwrap_or_default()));
    tracks.into_iter().flatten().fold(prose, |prose, track| {
        let widths = match track.start == track.end {
            true => format!("stays {}", track.start),
            false => format!("from {} to {}", track.start, track.end),
        };
        let wheels = track.wheels.join(", ");
        prose.item(Line::new().text(format!("Track width: {widths} ({wheels})")))
    })
}
