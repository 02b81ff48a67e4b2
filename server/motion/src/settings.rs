//! Controls and how far they are set.

use dialect::ControlKind;
use machine::Control;

use crate::{Pose, Rig};

/// How far a control is set: 0 is the start of the animation that it plays, 1 its end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Which of the machine's controls.
    pub control: usize,
    /// From 0 to 1; what lies outside is held at the ends.
    pub part: f64,
}

impl Rig<'_> {
    /// The animation that a control plays. `None` if it names none that is there.
    pub fn played(&self, control: usize) -> Option<usize> {
        let name = self.machine.controls.get(control)?.animation.as_ref()?;
        let by_name = self
            .animations
            .get_or_init(|| self.machine.animations_by_name());
        by_name.get(&*name.value).copied()
    }

    /// The pose with some controls set, and all else at rest. A control that plays nothing changes nothing. Where two
    /// drive the same property, the later one of the list counts.
    pub fn pose_of(&self, settings: &[Setting]) -> Pose {
        let times: Vec<(usize, f64)> = settings
            .iter()
            .filter_map(|setting| {
                let animation = self.played(setting.control)?;
                Some((animation, self.time_at(animation, setting.part)))
            })
            .collect();
        self.pose(&times)
    }

    /// The time in seconds at a part (0 to 1) of an animation. The end is hit exactly.
    pub(crate) fn time_at(&self, animation: usize, part: f64) -> f64 {
        let length = self.length(animation);
        if part >= 1.0 {
            length
        } else {
            length * part.max(0.0)
        }
    }

    /// Seconds; 0 if there is no such animation or its length makes no sense.
    pub fn length(&self, animation: usize) -> f64 {
        let lengths = self.lengths.get_or_init(|| {
            let animations = self.machine.animations.iter();
            animations.map(machine::Animation::length).collect()
        });
        let length = lengths.get(animation).copied().unwrap_or(0.0);
        if length.is_finite() {
            length.max(0.0)
        } else {
            0.0
        }
    }

    /// The seconds that a control takes from one end to the other. `None` if it plays nothing, or its speed is not above 0.
    pub fn full_travel_time(&self, control: usize) -> Option<f64> {
        let length = self.length(self.played(control)?);
        let speed = speed(self.machine.controls.get(control)?)?;
        Some(length / speed)
    }
}

/// How many times faster than written the animation of a control plays with the input held at its end: a digital control
/// at its rate, an analog one at its gain, but not faster than its rate. What it does not say is the dialect's
/// default, else 1. `None` if that is not above 0.
pub fn speed(control: &Control) -> Option<f64> {
    let (gain, rate) = (control.gain(), control.rate());
    let speed = match control.kind {
        Some(ControlKind::Analog) => gain.abs().min(rate),
        Some(ControlKind::Digital) | None => rate,
    };
    (speed.is_finite() && speed > 0.0).then_some(speed)
}
