//! What a page shows of a machine, whatever is set.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use dialect::Quantity;
use ide::Finding;
use motion::Rig;
use project::{SceneFile, SceneState, View};
use scene::NodeIndex;
use serde::Serialize;

use super::Subject;
use super::files::{self, Referred};
use super::poses::{self, Posed};
use crate::cli::measures::rounded;
use crate::cli::subject::Subject as Named;

/// A page that draws more than this answers no slider any more.
const MOST_DRAWN: usize = 10_000;
const MOST_PROBLEMS: usize = 200;

#[derive(Debug, Serialize)]
pub(super) struct Facts {
    revision: u64,
    file: String,
    /// Why there is no machine to show.
    trouble: Option<String>,
    problems: Vec<Problem>,
    more_problems: usize,
    machine: Option<Machine>,
    /// In the pose that was asked for.
    posed: Option<Posed>,
}

#[derive(Debug, Serialize)]
struct Problem {
    severity: &'static str,
    code: &'static str,
    /// From 1.
    line: u32,
    message: String,
}

#[derive(Debug, Serialize)]
struct Machine {
    right: [f64; 3],
    up: [f64; 3],
    forward: [f64; 3],
    /// Changes when the scene's file does, or one that it refers to. None: the scene has no meshes that the page can read.
    meshes: Option<String>,
    /// Of the whole scene.
    nodes: usize,
    drawn: Vec<Drawn>,
    /// So many nodes are too many to be drawn.
    left_out: usize,
    wheels: Vec<Wheel>,
    animations: Vec<Animation>,
    controls: Vec<Control>,
    contested: Vec<String>,
}

/// A node as it rests.
#[derive(Debug, Serialize)]
struct Drawn {
    node: u32,
    /// Least and greatest corner in the node's own coordinates.
    bounds: Option<[[f64; 3]; 2]>,
    /// To the scene's coordinates, column by column.
    matrix: [f64; 16],
    visible: bool,
}

#[derive(Debug, Serialize)]
struct Wheel {
    name: String,
    node: u32,
    /// Metres.
    radius: Option<f64>,
    /// Metres.
    width: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Animation {
    name: String,
    /// Seconds.
    length: f64,
    /// With all that hangs on them.
    moved: Vec<Subtree>,
}

#[derive(Debug, Serialize)]
struct Subtree {
    node: u32,
    /// One past its last node.
    end: u32,
    name: String,
}

#[derive(Debug, Serialize)]
struct Control {
    name: String,
    animation: Option<usize>,
    /// From end to end, to be read.
    time: Option<String>,
}

/// Everything of a machine that its poses do not change, and one pose, so that nobody has to ask once more after an
/// edit; see [`poses::of`] for `query`.
pub(super) fn of(subject: &dyn Subject, revision: u64, referred: &Referred, query: &str) -> Facts {
    // Whoever sees the page knows where the file is.
    let file = subject.file();
    let file = PathBuf::from(file.file_name().unwrap_or(file.as_os_str()));
    let empty = |trouble| Facts {
        revision,
        file: file.display().to_string(),
        trouble,
        problems: Vec::new(),
        more_problems: 0,
        machine: None,
        posed: None,
    };
    let view = match subject.view() {
        Ok(view) => view,
        Err(trouble) => return empty(Some(trouble)),
    };
    let largest = view.settings.config.limits.scene.bytes();
    let meshes =
        loaded(&view).and_then(|scene| meshes(&scene.path, &referred.by(&scene.path, largest)));
    let (machine, posed, trouble) = match Named::of(&file, &view) {
        Ok(named) => {
            let posed = poses::of_machine(&named, revision, query);
            (Some(machine(&named, meshes)), Some(posed), None)
        }
        Err(failure) => (None, None, Some(failure.message)),
    };
    let findings = subject.findings(&view);
    Facts {
        problems: problems(&view, &findings),
        more_problems: findings.len().saturating_sub(MOST_PROBLEMS),
        machine,
        posed,
        ..empty(trouble)
    }
}

fn problems(view: &View, findings: &[Finding]) -> Vec<Problem> {
    let first = findings.iter().take(MOST_PROBLEMS);
    first
        .map(|finding| Problem {
            severity: finding.severity.as_str(),
            code: finding.code,
            line: view.document.lines.line_of(finding.range.start()) + 1,
            message: finding.message.clone(),
        })
        .collect()
}

/// The scene's file.
pub(super) fn loaded(view: &View) -> Option<&SceneFile> {
    let SceneState::Loaded(file) = &view.meaning.as_ref()?.scene else {
        return None;
    };
    Some(file)
}

fn machine(named: &Named<'_>, meshes: Option<String>) -> Machine {
    let rig = named.rig();
    let axes = named.dialect.notation.axes;
    let drawn = drawn(&rig);
    let wanted = rig.scene.ids().filter(|id| is_drawn(&rig, *id)).count();
    Machine {
        right: axes.right.vector(),
        up: axes.up.vector(),
        forward: axes.forward.vector(),
        meshes,
        nodes: rig.scene.nodes.len(),
        left_out: wanted - drawn.len(),
        drawn: drawn.into_iter().map(|id| at_rest(&rig, id)).collect(),
        wheels: wheels(named, &rig),
        animations: animations(named, &rig),
        controls: controls(named, &rig),
        contested: contested(named, &rig),
    }
}

fn is_drawn(rig: &Rig<'_>, id: NodeIndex) -> bool {
    rig.scene[id].bounds.is_some()
}

/// The nodes that the page draws. The same for a scene's rest and for all its poses.
pub(super) fn drawn(rig: &Rig<'_>) -> Vec<NodeIndex> {
    // Wheels are drawn without a mesh, too; they come first, so that a large scene does not lose them.
    let wheels = (0..rig.machine.wheels.len()).filter_map(|wheel| rig.wheel_node(wheel));
    let mut chosen: Vec<NodeIndex> = wheels.take(MOST_DRAWN).collect();
    let room = MOST_DRAWN - chosen.len();
    chosen.extend(rig.scene.ids().filter(|id| is_drawn(rig, *id)).take(room));
    chosen.sort_unstable();
    chosen.dedup();
    chosen
}

fn at_rest(rig: &Rig<'_>, id: NodeIndex) -> Drawn {
    let (node, rest) = (&rig.scene[id], rig.rest());
    Drawn {
        node: id.0,
        bounds: node
            .bounds
            .as_ref()
            .map(|it| [it.min.to_array(), it.max.to_array()]),
        matrix: rest.world[id.index()].to_cols_array(),
        visible: rest.visible[id.index()],
    }
}

fn wheels(named: &Named<'_>, rig: &Rig<'_>) -> Vec<Wheel> {
    let all = rig.machine.wheels.iter().enumerate();
    all.filter_map(|(at, wheel)| {
        Some(Wheel {
            name: named.wheel_name(at),
            node: rig.wheel_node(at)?.0,
            radius: wheel.radius,
            width: wheel.width,
        })
    })
    .collect()
}

fn animations(named: &Named<'_>, rig: &Rig<'_>) -> Vec<Animation> {
    let all = 0..rig.machine.animations.len();
    all.map(|animation| Animation {
        name: named.animation_name(animation),
        length: rig.length(animation),
        moved: rig
            .moved_nodes(animation)
            .into_iter()
            .map(|id| Subtree {
                node: id.0,
                end: rig.scene[id].end.0,
                name: match &rig.scene[id].name {
                    none if none.is_empty() => rig.scene.tree_path(id),
                    name => name.to_string(),
                },
            })
            .collect(),
    })
    .collect()
}

fn controls(named: &Named<'_>, rig: &Rig<'_>) -> Vec<Control> {
    let all = rig.machine.controls.iter().enumerate();
    all.map(|(at, control)| Control {
        name: match &control.text {
            Some(text) => text.value.to_string(),
            None => named.control_name(at),
        },
        animation: rig.played(at),
        time: rig
            .full_travel_time(at)
            .map(|seconds| rounded(named.dialect, Quantity::Time, seconds)),
    })
    .collect()
}

fn contested(named: &Named<'_>, rig: &Rig<'_>) -> Vec<String> {
    let groups = rig.contested().into_iter().take(MOST_PROBLEMS);
    groups
        .filter_map(|drives| {
            let first = drives.first()?;
            let mut animations: Vec<String> = drives
                .iter()
                .map(|drive| named.animation_name(drive.animation))
                .collect();
            animations.dedup();
            Some(format!(
                "The {} of {} is driven by {}.",
                first.property.as_str(),
                named.scene.tree_path(first.node),
                animations.join(" and ")
            ))
        })
        .collect()
}

/// A mark of the state of a scene's file and of those that it refers to, if it looks like glTF.
fn meshes(scene: &Path, referred: &[PathBuf]) -> Option<String> {
    let mut head = [0; 64];
    let read = File::open(scene).ok()?.read(&mut head).ok()?;
    let head = head[..read].trim_ascii_start();
    let head = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head);
    if !head.starts_with(b"glTF") && !head.trim_ascii_start().starts_with(b"{") {
        return None;
    }
    let files = std::iter::once(scene).chain(referred.iter().map(PathBuf::as_path));
    let marks = files.map(|file| {
        let (size, modified) = files::stamp(file)?;
        let age = modified?.duration_since(SystemTime::UNIX_EPOCH).ok()?;
        Some(format!("{size}-{}", age.as_nanos()))
    });
    let marks: Vec<String> = marks.map(Option::unwrap_or_default).collect();
    Some(marks.join(" "))
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use dialect::Notation;
    use scene::{Bounds, NodeParts, SceneBuilder};

    use super::*;

    #[test]
    fn a_scene_that_is_too_large_is_drawn_in_part() {
        let mut builder = SceneBuilder::new();
        for _ in 0..MOST_DRAWN + 7 {
            let bounds = Bounds::new([0.0; 3].into(), [1.0; 3].into());
            builder.leaf(NodeParts {
                bounds,
                ..NodeParts::default()
            });
        }
        let (scene, notation) = (builder.finish(), Notation::default());
        let rig = Rig::of_drives(&scene, &notation, Vec::new(), Arc::default());
        let drawn = drawn(&rig);
        assert_eq!(drawn.len(), MOST_DRAWN);
        assert!(drawn.is_sorted());
    }
}
