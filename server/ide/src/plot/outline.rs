//! The machine from the front, the side and above, at both ends of a motion, with its main dimensions.

mod sheet;
mod sketch;

use dialect::Dialect;
use motion::{Pose, Rig};
use scene::NodeIndex;

use super::Picture;
use sheet::Sheet;
use sketch::Sketch;

/// The two ends of a motion.
#[derive(Debug)]
pub struct Ends<'p> {
    /// What the motion is called.
    pub title: &'p str,
    /// What each end is called, and the pose there.
    pub poses: [(&'p str, &'p Pose); 2],
    /// The topmost nodes that move.
    pub moved: &'p [NodeIndex],
}

/// Draws both ends to the same scale: the boxes of all shown meshes, moved parts set off, and the wheels; track width of
/// each axle, overall width, height and length.
///
/// # Errors
/// There is nothing to draw: no mesh can be measured, and there are no wheels.
pub fn outline(rig: &Rig<'_>, dialect: &Dialect, ends: &Ends<'_>) -> Result<Picture, String> {
    let sketches = ends
        .poses
        .map(|(name, pose)| Sketch::of(rig, pose, ends.moved, name));
    let left_out = sketches.iter().map(|sketch| sketch.left_out).max();
    let mut notes = Vec::new();
    if let Some(count @ 1..) = left_out {
        notes.push(format!(
            "{count} small parts are left out of the picture: it shows the {} largest.",
            sketch::MOST_BOXES
        ));
    }
    let sheet = Sheet::of(&sketches).ok_or(
        "there is nothing to draw: no mesh of the scene can be measured, and no wheel has a node",
    )?;
    Ok(Picture {
        svg: sheet.draw(dialect, ends.title, &sketches, &notes),
        notes,
    })
}
