//! How wide the track gets over each control's travel.

use dialect::Quantity;
use motion::{Rig, Track};
use serde::Serialize;

use super::{Subject, poses};
use crate::cli::measures::rounded;
use crate::cli::subject::Subject as Named;

/// Less than this is noise. Metres.
const LEAST_CHANGE: f64 = 1e-6;

#[derive(Debug, Serialize)]
pub(super) struct Tracks {
    revision: u64,
    /// Of the axles whose track a control changes, from front to back.
    axles: Vec<Axle>,
}

#[derive(Debug, Serialize)]
struct Axle {
    of: String,
    /// In document order.
    controls: Vec<Range>,
}

/// Lengths to be read, in the dialect's unit.
#[derive(Debug, Serialize)]
struct Range {
    control: String,
    start: String,
    end: String,
    least: String,
    most: String,
}

/// None while there is no machine. Looks at many poses, so nothing waits for it that has to be quick.
pub(super) fn of(subject: &dyn Subject, revision: u64) -> Option<Tracks> {
    let view = subject.view().ok()?;
    let file = subject.file();
    let named = Named::of(&file, &view).ok()?;
    let rig = named.rig();
    let mut axles: Vec<((usize, usize), Axle)> = Vec::new();
    for control in 0..rig.machine.controls.len() {
        let changed = rig.played(control).map(|animation| rig.tracks(animation));
        let changed = changed.into_iter().flatten().filter(changes);
        for track in changed {
            let pair = (track.left, track.right);
            let range = range(&named, &rig, control, &track);
            match axles.iter_mut().find(|(known, _)| *known == pair) {
                Some((_, axle)) => axle.controls.push(range),
                None => axles.push((pair, of_pair(&named, pair, range))),
            }
        }
    }
    Some(Tracks {
        revision,
        axles: axles.into_iter().map(|(_, axle)| axle).collect(),
    })
}

fn changes(track: &Track) -> bool {
    track.most - track.least > LEAST_CHANGE
}

fn of_pair(named: &Named<'_>, (left, right): (usize, usize), first: Range) -> Axle {
    Axle {
        of: poses::track_label(named, left, right),
        controls: vec![first],
    }
}

fn range(named: &Named<'_>, rig: &Rig<'_>, control: usize, track: &Track) -> Range {
    let length = |metres| {
        rounded(
            named.dialect,
            Quantity::Length,
            poses::without_noise(metres),
        )
    };
    let text = rig.machine.controls[control].text.as_ref();
    Range {
        control: text.map_or_else(
            || named.control_name(control),
            |text| text.value.to_string(),
        ),
        start: length(track.start),
        end: length(track.end),
        least: length(track.least),
        most: length(track.most),
    }
}
