//! The settings of a control at which a machine fits over something, or through something.

use crate::{Rig, Setting};

/// What the machine has to fit. Metres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    /// This wide a thing has to go between the sides.
    pub between: Option<f64>,
    /// The machine has to go through a gap of this width.
    pub outer: Option<f64>,
}

/// A range of settings, from 0 to 1, both ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// The least setting; 0 is the start of the animation, 1 its end.
    pub from: f64,
    /// The greatest setting.
    pub to: f64,
}

/// The best that can be had of one measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extreme {
    /// Metres.
    pub metres: f64,
    /// The setting at which it is had, from 0 to 1.
    pub at: f64,
}

/// At which settings a machine fits.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The ranges of settings at which all that was asked for is so, in order. Empty if there are none.
    pub fits: Vec<Span>,
    /// The ranges at which the clearance alone suffices; everything if it was not asked for.
    pub clear: Vec<Span>,
    /// The ranges at which the width alone suffices; everything if it was not asked for.
    pub narrow: Vec<Span>,
    /// The greatest inner clearance. `None` if there is none to measure.
    pub widest_clearance: Option<Extreme>,
    /// The least outer width. `None` if nothing can be measured.
    pub least_width: Option<Extreme>,
    /// At both ends of the travel: inner clearance and outer width. Metres.
    pub ends: [(Option<f64>, Option<f64>); 2],
    /// How far both measures may pass what was found between two settings that were looked at. Metres.
    pub error: f64,
}

/// How finely the ends of a range are searched for: halvings of the distance between two samples.
const HALVINGS: usize = 40;
/// Metres: what fits but for the noise of computing fits.
const NOISE: f64 = 1e-9;

/// Inner clearance and outer width at a setting. Metres.
type Measures = (Option<f64>, Option<f64>);

impl Rig<'_> {
    /// The settings of a control at which a machine fits, all else at rest. `None` if the control plays no animation.
    /// A measure that cannot be taken does not suffice. The ends of ranges are exact to a billionth of the travel; a
    /// range that lies wholly between two moments that were looked at is missed, which needs a measure that passes
    /// the wanted one by no more than `error`.
    pub fn fit(&self, control: usize, asked: Asked) -> Option<Fit> {
        let animation = self.played(control)?;
        let length = self.length(animation);
        let moments = self.moments(animation);
        let moved = self.moved_nodes(animation);
        let measure = |part: f64| -> Measures {
            let pose = self.pose_of(&[Setting { control, part }]);
            (self.inner_clearance(&pose, &moved), self.outer_width(&pose))
        };
        let mut parts: Vec<f64> = moments
            .times
            .iter()
            .map(|time| if length > 0.0 { time / length } else { 0.0 })
            .collect();
        parts.dedup();
        let samples: Vec<(f64, Measures)> =
            parts.iter().map(|&part| (part, measure(part))).collect();
        let is_clear = |(inner, _): Measures| match asked.between {
            Some(wanted) => inner.is_some_and(|inner| inner >= wanted - NOISE),
            None => true,
        };
        let is_narrow = |(_, outer): Measures| match asked.outer {
            Some(wanted) => outer.is_some_and(|outer| outer <= wanted + NOISE),
            None => true,
        };
        let spans = |holds: &dyn Fn(Measures) -> bool| spans(&samples, &measure, holds);
        let by = |value: fn(&Measures) -> Option<f64>, sign: f64| {
            let of = |(at, measures): &(f64, Measures)| {
                let metres = value(measures)?;
                Some(Extreme { metres, at: *at })
            };
            // The first of equals.
            samples.iter().filter_map(of).reduce(|best, one| {
                if sign * one.metres > sign * best.metres + NOISE {
                    one
                } else {
                    best
                }
            })
        };
        let errors = self.scene.ids().map(|id| moments.error_of(id));
        Some(Fit {
            fits: spans(&|at| is_clear(at) && is_narrow(at)),
            clear: spans(&is_clear),
            narrow: spans(&is_narrow),
            widest_clearance: by(|at| at.0, 1.0),
            least_width: by(|at| at.1, -1.0),
            ends: [measure(0.0), measure(1.0)],
            error: 2.0 * errors.fold(0.0, f64::max),
        })
    }
}

/// The ranges in which something holds, their ends searched for between the samples.
fn spans(
    samples: &[(f64, Measures)],
    measure: &dyn Fn(f64) -> Measures,
    holds: &dyn Fn(Measures) -> bool,
) -> Vec<Span> {
    // Between a setting at which it holds and one at which it does not: the last one at which it does.
    let border = |mut inside: f64, mut outside: f64| {
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(inside, outside);
            if holds(measure(middle)) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        inside
    };
    let mut spans: Vec<Span> = Vec::new();
    let mut open: Option<f64> = None;
    let mut before: Option<f64> = None;
    for &(part, at) in samples {
        match (holds(at), open) {
            (true, None) => open = Some(before.map_or(part, |before| border(part, before))),
            (false, Some(from)) => {
                let to = before.map_or(part, |before| border(before, part));
                spans.push(Span { from, to });
                open = None;
            }
            _ => {}
        }
        before = Some(part);
    }
    if let (Some(from), Some(to)) = (open, before) {
        spans.push(Span { from, to });
    }
    spans
}
