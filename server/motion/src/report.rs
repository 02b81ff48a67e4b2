//! All numbers about a machine's motion at once.

use crate::drive::{Drive, Ends};
use crate::{Axle, Clearance, Overall, Pose, Rig, Sweep, Travel};

/// All numbers about a machine's motion.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// Nothing is driven.
    pub rest: Stance,
    /// Every animation that a control plays is at its start.
    pub stowed: Stance,
    /// Every animation that a control plays is at its end.
    pub deployed: Stance,
    /// In the order of the document.
    pub animations: Vec<AnimationReport>,
    /// In the order of the document.
    pub controls: Vec<ControlReport>,
    /// Properties of nodes that more than one animation drives: each with all that drives it.
    pub contested: Vec<Vec<Drive>>,
}

/// What can be measured of a pose.
#[derive(Clone, Debug, PartialEq)]
pub struct Stance {
    /// Of what the scene can measure.
    pub overall: Option<Overall>,
    /// From front to back.
    pub axles: Vec<Axle>,
    /// Under the lowest mesh.
    pub clearance: Option<Clearance>,
}

/// The numbers of one animation, all else at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct AnimationReport {
    /// Which of the machine's animations.
    pub animation: usize,
    /// Seconds.
    pub length: f64,
    /// By node and property, then by begin.
    pub movements: Vec<Movement>,
    /// The room it needs, and the track widths on the way.
    pub sweep: Sweep,
    /// At its start.
    pub start: Stance,
    /// At its end.
    pub end: Stance,
}

/// One motion and how far it goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Movement {
    /// What moves.
    pub drive: Drive,
    /// How far.
    pub travel: Travel,
    /// On average: metres, degrees or factors in a second. `None` for what jumps.
    pub speed: Option<f64>,
}

/// The numbers of one control.
#[derive(Clone, Debug, PartialEq)]
pub struct ControlReport {
    /// Which of the machine's controls.
    pub control: usize,
    /// Which of the machine's animations it plays.
    pub animation: Option<usize>,
    /// Seconds from one end to the other, with the input held. `None` if nothing plays.
    pub full_travel: Option<f64>,
}

impl Rig<'_> {
    /// Everything. Takes time in proportion to nodes × moments, and to the square of the wheels.
    pub fn report(&self) -> Report {
        let machine = self.machine;
        let controls: Vec<ControlReport> = (0..machine.controls.len())
            .map(|control| ControlReport {
                control,
                animation: self.played(control),
                full_travel: self.full_travel_time(control),
            })
            .collect();
        let mut played: Vec<usize> = controls.iter().filter_map(|one| one.animation).collect();
        played.sort_unstable();
        played.dedup();
        let all_at = |part: f64| {
            let times: Vec<(usize, f64)> = played
                .iter()
                .map(|&animation| (animation, self.time_at(animation, part)))
                .collect();
            self.stance(&self.pose(&times))
        };
        let contested = self.contested().into_iter();
        Report {
            rest: self.stance(self.rest()),
            stowed: all_at(0.0),
            deployed: all_at(1.0),
            animations: (0..machine.animations.len())
                .map(|animation| self.animation_report(animation))
                .collect(),
            controls,
            contested: contested
                .map(|drives| drives.into_iter().cloned().collect())
                .collect(),
        }
    }

    fn animation_report(&self, animation: usize) -> AnimationReport {
        let length = self.length(animation);
        let at = |time: f64| self.stance(&self.pose(&[(animation, time)]));
        AnimationReport {
            animation,
            length,
            movements: self
                .drives_of(animation)
                .iter()
                .map(|drive| self.movement(drive))
                .collect(),
            sweep: self.sweep(animation),
            start: at(0.0),
            end: at(length),
        }
    }

    /// How far a motion goes and how fast.
    pub fn movement(&self, drive: &Drive) -> Movement {
        let travel = self.travel(drive);
        let lasts = drive.end - drive.begin;
        let way = match (travel, drive.ends) {
            (Travel::Distance { metres, .. }, _) => Some(metres),
            (Travel::Angle { degrees, .. }, _) => Some(degrees),
            (Travel::Factor { from, to }, _) => Some((to - from).abs().max_element()),
            (Travel::Visibility { .. }, _) => None,
        };
        let jumps =
            drive.easing == dialect::Easing::Step || matches!(drive.ends, Ends::Visible { .. });
        Movement {
            drive: drive.clone(),
            travel,
            speed: way.filter(|_| lasts > 0.0 && !jumps).map(|way| way / lasts),
        }
    }

    /// What can be measured of a pose.
    pub fn stance(&self, pose: &Pose) -> Stance {
        Stance {
            overall: self.overall(pose),
            axles: self.axles(pose),
            clearance: self.ground_clearance(pose),
        }
    }
}
