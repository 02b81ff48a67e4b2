//! What can be calculated of a definition's motion, in words.

use dialect::{Dialect, Quantity};
use machine::Machine;
use motion::{Axle, Rig, Travel};
use project::View;

use crate::measures::{measure, rounded, speed};

/// A definition with its scene.
#[derive(Debug)]
pub(crate) struct Figures<'v> {
    dialect: &'v Dialect,
    machine: &'v Machine,
    rig: Rig<'v>,
    axles: Vec<Axle>,
}

/// The track width of the axles with the same one.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TrackLine {
    /// The wheels, in pairs.
    pub(crate) wheels: Vec<String>,
    pub(crate) start: String,
    pub(crate) end: String,
}

impl<'v> Figures<'v> {
    /// None without a scene.
    pub(crate) fn of(view: &'v View) -> Option<Self> {
        let (machine, dialect, scene) = (view.machine()?, view.dialect()?, view.scene()?);
        let rig = Rig::new(scene, machine, &dialect.notation);
        let axles = rig.axles(rig.rest());
        Some(Self {
            dialect,
            machine,
            rig,
            axles,
        })
    }

    /// "0.32 m, 0.16 m/s" for each motion of a channel.
    pub(crate) fn channel(&self, animation: usize, channel: usize) -> Vec<String> {
        let drives = self.rig.drives_of_channel(animation, channel);
        let lines = drives.filter_map(|drive| {
            let movement = self.rig.movement(drive);
            let (way, quantity) = match movement.travel {
                Travel::Distance { metres, .. } => {
                    let way = measure(self.dialect, Quantity::Length, metres);
                    (way, Some(Quantity::Length))
                }
                Travel::Angle { degrees, .. } => {
                    let way = measure(self.dialect, Quantity::Angle, degrees);
                    (way, Some(Quantity::Angle))
                }
                Travel::Factor { from, to } => {
                    let change = (to - from).abs().max_element();
                    (format!("by {}", rounded(self.dialect, change)), None)
                }
                Travel::Visibility { .. } => return None,
            };
            Some(match movement.speed.zip(quantity) {
                Some((per_second, quantity)) => {
                    format!("{way}, {}", speed(self.dialect, quantity, per_second))
                }
                None => way,
            })
        });
        lines.collect()
    }

    /// "6 s": from one end of a control to the other, with its input held.
    pub(crate) fn full_travel(&self, control: usize) -> Option<String> {
        let seconds = self.rig.full_travel_time(control)?;
        Some(measure(self.dialect, Quantity::Time, seconds))
    }

    /// What an animation does to the track widths, from front to back. Only of axles with a wheel that it moves along.
    pub(crate) fn tracks(&self, animation: usize) -> Vec<TrackLine> {
        let carried = self.rig.wheels_carried(animation);
        let is_carried = |wheel: usize| carried.binary_search(&wheel).is_ok();
        let mut lines: Vec<TrackLine> = Vec::new();
        if carried.is_empty() {
            return lines;
        }
        let length = self.rig.length(animation);
        let ends = [0.0, length].map(|time| self.rig.pose(&[(animation, time)]));
        for axle in &self.axles {
            if !is_carried(axle.left) && !is_carried(axle.right) {
                continue;
            }
            let [Some(start), Some(end)] = [0, 1].map(|at| self.rig.width_of(axle, &ends[at]))
            else {
                continue;
            };
            let [start, end] =
                [start, end].map(|metres| measure(self.dialect, Quantity::Length, metres));
            let wheels = format!("{} and {}", self.wheel(axle.left), self.wheel(axle.right));
            match lines
                .iter_mut()
                .find(|line| line.start == start && line.end == end)
            {
                Some(line) => line.wheels.push(wheels),
                None => lines.push(TrackLine {
                    wheels: vec![wheels],
                    start,
                    end,
                }),
            }
        }
        lines
    }

    /// The animation that a control plays.
    pub(crate) fn played(&self, control: usize) -> Option<usize> {
        self.rig.played(control)
    }

    fn wheel(&self, wheel: usize) -> String {
        let label = self.machine.wheels.get(wheel).and_then(|one| one.label());
        label.map_or_else(|| format!("{}", wheel + 1), str::to_owned)
    }
}
