//! What can be calculated of a channel or a control.

use std::sync::Arc;

use machine::{Channel, Control, NodeRef};
use project::View;

use super::grammar::labelled;
use crate::figures::{Figures, around, travels};
use crate::nodes::{Nodes, node_of};
use crate::prose::{Line, Prose};

/// How far and how fast it goes.
pub(super) fn of_channel(view: &View, channel: &Channel) -> Prose {
    let find = |asked: &NodeRef| node_of(view, asked);
    let node = channel.node.as_ref().and_then(find);
    let travels = node
        .into_iter()
        .flat_map(|node| travels(view, &find, &Arc::default(), node, channel, channel.element));
    let travels = travels.map(|travel| Line::new().text(travel));
    Prose::new().item(labelled("Travel: ", Line::new().list(travels)))
}

/// How long it takes, and what it does to the track width.
pub(super) fn of_control(view: &View, control: Control) -> Prose {
    let (Some(machine), Some(nodes)) = (around(view, vec![control]), Nodes::of(view)) else {
        return Prose::new();
    };
    let Some(figures) = Figures::of(view, &machine, &nodes) else {
        return Prose::new();
    };
    let time = figures.full_travel(0).map(|time| Line::new().text(time));
    let tracks = figures.played(0).map(|animation| figures.tracks(animation));
    let prose = Prose::new().item(labelled("End to end: ", time.unwrap_or_default()));
    tracks.into_iter().flatten().fold(prose, |prose, track| {
        let widths = match track.start == track.end {
            true => format!("{} at both ends", track.start),
            false => format!("from {} to {}", track.start, track.end),
        };
        let wheels = track.wheels.join(", ");
        prose.item(Line::new().text(format!("Track width: {widths} ({wheels})")))
    })
}
