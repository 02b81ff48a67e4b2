//! The numbers as JSON: metres, degrees, seconds.

use motion::{Drive, Movement, Pose, Report, Stance, Track, Travel};
use scene::NodeIndex;
use serde_json::{Value, json};

use super::super::subject::Subject;

pub(super) fn report(subject: &Subject<'_>, report: &Report) -> String {
    let animations = report.animations.iter().map(|animation| {
        let swept = animation.sweep.swept.iter().map(|swept| {
            let bounds = swept
                .bounds
                .map(|bounds| json!({"min": bounds.min.to_array(), "max": bounds.max.to_array()}));
            json!({"node": node(subject, swept.node), "bounds": bounds, "error": swept.error})
        });
        json!({
            "name": subject.animation_name(animation.animation),
            "length": animation.length,
            "motions": list(animation.movements.iter().map(|one| movement(subject, one))),
            "moments": animation.sweep.moments,
            "swept": list(swept),
            "tracks": list(animation.sweep.tracks.iter().map(|track| of_track(subject, track))),
            "start": stance(subject, &animation.start),
            "end": stance(subject, &animation.end),
        })
    });
    let controls = report.controls.iter().map(|control| {
        json!({
            "animation": control.animation.map(|animation| subject.animation_name(animation)),
            "fullTravel": control.full_travel,
        })
    });
    let contested = report.contested.iter().filter_map(|drives| {
        let first = drives.first()?;
        let by = drives
            .iter()
            .map(|drive| json!(subject.animation_name(drive.animation)));
        Some(json!({
            "node": node(subject, first.node),
            "property": first.property.as_str(),
            "by": list(by),
        }))
    });
    written(&json!({
        "rest": stance(subject, &report.rest),
        "stowed": stance(subject, &report.stowed),
        "deployed": stance(subject, &report.deployed),
        "animations": list(animations),
        "controls": list(controls),
        "contested": list(contested),
    }))
}

/// Matrices are sixteen numbers, column by column, as in glTF.
pub(super) fn pose(subject: &Subject<'_>, pose: &Pose, measured: &Stance) -> String {
    let nodes = subject.scene.ids().map(|id| {
        let at = id.index();
        json!({
            "path": subject.scene.index_path(id),
            "name": subject.scene[id].name,
            "local": pose.local[at].to_cols_array(),
            "world": pose.world[at].to_cols_array(),
            "shown": pose.visible[at],
        })
    });
    let mut whole = stance(subject, measured);
    whole["nodes"] = list(nodes);
    written(&whole)
}

fn stance(subject: &Subject<'_>, stance: &Stance) -> Value {
    let axles = stance.axles.iter().map(|axle| {
        json!({
            "left": subject.wheel_name(axle.left),
            "right": subject.wheel_name(axle.right),
            "trackWidth": axle.width,
        })
    });
    json!({
        "overall": stance.overall.map(|size| {
            json!({"width": size.width, "height": size.height, "length": size.length})
        }),
        "groundClearance": stance.clearance.map(|clearance| {
            json!({"height": clearance.height, "node": node(subject, clearance.node)})
        }),
        "axles": list(axles),
    })
}

fn movement(subject: &Subject<'_>, movement: &Movement) -> Value {
    let Drive {
        node: moved,
        property,
        begin,
        end,
        ..
    } = &movement.drive;
    let travel = match movement.travel {
        Travel::Distance { offset, metres } => {
            json!({"offset": offset.to_array(), "metres": metres})
        }
        Travel::Angle { change, degrees } => {
            json!({"change": change.to_array(), "degrees": degrees})
        }
        Travel::Factor { from, to } => json!({"from": from.to_array(), "to": to.to_array()}),
        Travel::Visibility { from, to } => json!({"from": from, "to": to}),
    };
    json!({
        "node": node(subject, *moved),
        "property": property.as_str(),
        "begin": begin,
        "end": end,
        "travel": travel,
        "speed": movement.speed,
    })
}

fn of_track(subject: &Subject<'_>, track: &Track) -> Value {
    json!({
        "left": subject.wheel_name(track.left),
        "right": subject.wheel_name(track.right),
        "start": track.start,
        "end": track.end,
        "least": track.least,
        "most": track.most,
        "error": track.error,
    })
}

fn node(subject: &Subject<'_>, id: NodeIndex) -> Value {
    json!({"path": subject.scene.index_path(id), "name": subject.scene[id].name})
}

fn list(values: impl Iterator<Item = Value>) -> Value {
    Value::Array(values.collect())
}

fn written(value: &Value) -> String {
    format!("{value:#}\n")
}
