//! What the motions of one property of a node say together, as some may speak of some axes only.

use glam::DVec3;

use crate::drive::{Drive, Sample};

/// Which motion counts along each axis at a time in seconds: of those that speak of the axis the one that began last; before
/// any has begun, the first. Along an axis that none speaks of it may be any: all of them have the node where it rests.
/// `motions`: those of one property of a node in one animation, as [`Rig::drives_of`](crate::Rig::drives_of) has them. `None`
/// if there are none.
pub fn acting(motions: &[Drive], time: f64) -> Option<[&Drive; 3]> {
    let begun = motions.partition_point(|drive| drive.begin <= time);
    let last = motions.get(begun.saturating_sub(1))?;
    Some(last.acting.map(|at| motions.get(at).unwrap_or(last)))
}

/// The value at a time in seconds, along each axis that of the motion which counts there.
pub fn together(acting: [&Drive; 3], time: f64) -> Sample {
    match acting.map(|drive| drive.sample(time)) {
        [Sample::Vector(x), Sample::Vector(y), Sample::Vector(z)] => {
            Sample::Vector(DVec3::new(x.x, y.y, z.z))
        }
        [visible, ..] => visible,
    }
}

/// Which axes some motions speak of.
pub(crate) fn spoken(motions: &[Drive]) -> [bool; 3] {
    // If the one that counts along an axis does not speak of it, none does.
    let Some(first) = motions.first() else {
        return [false; 3];
    };
    [0, 1, 2].map(|axis| {
        let acting = motions.get(first.acting[axis]);
        acting.is_some_and(|drive| drive.axes[axis])
    })
}

/// Notes in each motion which ones count once it has begun. `motions`: those of one property of a node in one animation, by
/// begin.
pub(crate) fn note_acting(motions: &mut [Drive]) {
    if let [only] = motions {
        only.acting = [0; 3];
        return;
    }
    for axis in 0..3 {
        let mut acting = motions.iter().position(|drive| drive.axes[axis]);
        for (at, drive) in motions.iter_mut().enumerate() {
            if drive.axes[axis] {
                acting = Some(at);
            }
            drive.acting[axis] = acting.unwrap_or(at);
        }
    }
}
