//! In which units values are written, told by comparing them with where nodes rest.

use super::shapes::Value;
use dialect::{EulerOrder, Property, Quantity, Unit};
use glam::{DQuat, DVec3};
use scene::{Node, Rest};

/// Fewer values that agree prove nothing.
const ENOUGH: usize = 3;

/// What was found out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Measures {
    /// Units that evidence shows, each with how many values agree.
    pub(super) length: Option<(Unit, usize)>,
    pub(super) angle: Option<(Unit, usize)>,
    pub(super) euler: Option<(EulerOrder, usize)>,
}

/// The ends of one channel's motion, and where its node rests.
#[derive(Copy, Clone, Debug)]
pub(super) struct Row<'r> {
    pub(super) ends: &'r [Value; 2],
    pub(super) node: &'r Node,
}

impl Row<'_> {
    fn vectors(&self) -> Option<[DVec3; 2]> {
        let [from, to] = self.ends;
        Some([from.vector()?.into(), to.vector()?.into()])
    }

    fn rest(&self) -> &Rest {
        &self.node.rest
    }

    fn is_turned(&self) -> bool {
        turn(self.rest().rotation, DQuat::IDENTITY) > 0.5
    }

    /// Whether an end is where the node rests, in this unit of length.
    fn is_shifted(&self, unit: &Unit) -> bool {
        let place = self.rest().translation / unit.to_base;
        let is_there = |end: DVec3| near(end, place);
        place.length() > 1e-6
            && self
                .vectors()
                .is_some_and(|ends| ends.into_iter().any(is_there))
    }

    fn is_swung(&self, unit: &Unit, order: EulerOrder) -> bool {
        let is_there = |end: DVec3| {
            let end = DVec3::select(end.is_nan_mask(), DVec3::ZERO, end);
            turn(
                scene::rotation(end * unit.to_base, order),
                self.rest().rotation,
            ) < 0.3
        };
        self.is_turned()
            && self
                .vectors()
                .is_some_and(|ends| ends.into_iter().any(is_there))
    }

    fn is_sized(&self) -> bool {
        let is_there = |end: DVec3| near(end, self.rest().scale);
        self.vectors()
            .is_some_and(|ends| ends.into_iter().any(is_there))
    }

    /// How strongly the row speaks for each property.
    pub(super) fn votes(&self, measures: &Measures) -> Vec<(Property, f64)> {
        let Some(ends) = self.vectors() else {
            return vec![(Property::Visibility, 1.0)];
        };
        let metre = || Quantity::Length.base_unit();
        let degree = || Quantity::Angle.base_unit();
        let length = measures
            .length
            .as_ref()
            .map_or_else(metre, |(unit, _)| unit.clone());
        let angle = measures
            .angle
            .as_ref()
            .map_or_else(degree, |(unit, _)| unit.clone());
        let order = measures.euler.map_or(EulerOrder::Xyz, |(order, _)| order);
        let mut votes = Vec::new();
        if self.is_shifted(&length) {
            votes.push((Property::Translation, 1.0));
        }
        if self.is_swung(&angle, order) {
            votes.push((Property::Rotation, 1.0));
        }
        if self.is_sized() {
            votes.push((Property::Scale, 1.0));
        }
        let from_nought = ends.contains(&DVec3::ZERO);
        if from_nought && !self.is_turned() && self.rest().translation.length() > 1e-6 {
            votes.push((Property::Rotation, 0.7));
        }
        votes
    }

    /// Whether the node is shown when nothing moves.
    pub(super) fn is_shown(&self) -> bool {
        self.rest().is_visible()
    }
}

/// The angle between two rotations, degrees.
fn turn(one: DQuat, other: DQuat) -> f64 {
    one.angle_between(other).to_degrees().abs()
}

/// Files are written with few decimals.
fn near(one: DVec3, other: DVec3) -> bool {
    // What is not said of an axis is as the node rests.
    let one = DVec3::select(one.is_nan_mask(), other, one);
    let greatest = other.abs().max_element();
    let tolerance = (0.004 * greatest).max(1e-4);
    one.abs_diff_eq(other, tolerance)
}

/// Units of a quantity; the base unit first, so that it wins where several fit.
fn units(quantity: Quantity) -> Vec<Unit> {
    let mut units: Vec<Unit> = Unit::all_known(quantity).filter_map(Unit::known).collect();
    units.sort_by_key(|unit| unit.to_base != 1.0);
    units
}

fn best<T>(candidates: impl Iterator<Item = (T, usize)>) -> Option<(T, usize)> {
    let mut best: Option<(T, usize)> = None;
    for (candidate, count) in candidates.filter(|(_, count)| *count >= ENOUGH) {
        if best.as_ref().is_none_or(|(_, known)| count > *known) {
            best = Some((candidate, count));
        }
    }
    best
}

impl Measures {
    pub(super) fn of(rows: &[Row<'_>]) -> Self {
        let lengths = units(Quantity::Length).into_iter().map(|unit| {
            let count = rows.iter().filter(|row| row.is_shifted(&unit)).count();
            (unit, count)
        });
        let length = best(lengths);
        let turned: Vec<&Row<'_>> = rows
            .iter()
            .filter(|row| row.is_turned() && row.vectors().is_some())
            .filter(|row| {
                !length
                    .as_ref()
                    .is_some_and(|(unit, _)| row.is_shifted(unit))
            })
            .take(2000)
            .collect();
        let angles = units(Quantity::Angle).into_iter().flat_map(|unit| {
            let turned = &turned;
            EulerOrder::ALL.into_iter().map(move |(_, order)| {
                let count = turned
                    .iter()
                    .filter(|row| row.is_swung(&unit, order))
                    .count();
                ((unit.clone(), order), count)
            })
        });
        let angles: Vec<((Unit, EulerOrder), usize)> = angles.collect();
        let angle = best(angles.iter().cloned());
        // What other orders of the same unit explain as well shows no order.
        let others = angle.as_ref().map(|((unit, order), _)| {
            let others = angles
                .iter()
                .filter(|((other, at), _)| other == unit && at != order);
            others.map(|(_, count)| *count).max().unwrap_or(0)
        });
        let euler = angle
            .as_ref()
            .filter(|(_, count)| others.is_some_and(|others| others < *count))
            .map(|((_, order), count)| (*order, *count));
        Self {
            length,
            angle: angle.map(|((unit, _), count)| (unit, count)),
            euler,
        }
    }
}

/// The unit of angles, from the angles that were seen, and how it was told: people turn things by whole parts of a
/// turn, and none further than twice.
pub(super) fn angle_by_values(angles: &[f64]) -> Option<(Unit, &'static str)> {
    let turned = angles
        .iter()
        .map(|angle| angle.abs())
        .filter(|angle| *angle > 0.0);
    let turned: Vec<f64> = turned.collect();
    let greatest = turned.iter().copied().fold(0.0, f64::max);
    let in_steps = |step: f64| {
        let is_step = |angle: &&f64| {
            let steps = (**angle / step).round();
            steps > 0.0 && (**angle - steps * step).abs() < 0.02 * step
        };
        turned.iter().filter(is_step).count() * 4 >= turned.len() * 3
    };
    let (size, why) = match greatest {
        greatest if greatest <= 0.0 => return None,
        greatest if greatest > 13.0 => (DEGREE, "how large they are"),
        greatest if greatest <= 6.4 && in_steps(std::f64::consts::PI / 36.0) => {
            (RADIAN, "being whole steps of five degrees")
        }
        greatest if greatest <= 1.0 && in_steps(1.0 / 24.0) && !in_steps(0.1) => {
            (WHOLE_TURN, "being whole parts of a turn")
        }
        greatest if greatest <= 6.4 => (RADIAN, "how large they are"),
        _ if in_steps(5.0) => (DEGREE, "being whole steps of five"),
        _ => return None,
    };
    let mut known = units(Quantity::Angle).into_iter();
    let unit = known.find(|unit| (unit.to_base - size).abs() < 1e-9)?;
    Some((unit, why))
}

/// Units of angles, in degrees.
const DEGREE: f64 = 1.0;
const RADIAN: f64 = 180.0 / std::f64::consts::PI;
const WHOLE_TURN: f64 = 360.0;

/// The unit of times, from how long things take: hardly less than a tenth of a second, and not many minutes.
pub(super) fn time_by_range(times: &mut [f64]) -> Option<Unit> {
    times.sort_by(f64::total_cmp);
    let middle = *times.get(times.len() / 2)?;
    let are_whole = times.iter().all(|time| time.fract() == 0.0);
    match (middle, are_whole) {
        (middle, true) if middle >= 200.0 => Unit::known("ms"),
        (middle, false) if middle < 0.2 => Unit::known("min"),
        (middle, _) if middle <= 30.0 => Some(Quantity::Time.base_unit()),
        _ => None,
    }
}

/// The unit of lengths, from the sizes of wheels: they are between a hand and a man high.
pub(super) fn length_by_wheels(radii: &mut [f64]) -> Option<Unit> {
    radii.sort_by(f64::total_cmp);
    let middle = *radii.get(radii.len() / 2)?;
    [("m", 0.1..2.0), ("cm", 10.0..200.0), ("mm", 100.0..2000.0)]
        .into_iter()
        .find(|(_, range)| range.contains(&middle))
        .and_then(|(symbol, _)| Unit::known(symbol))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[allow(clippy::approx_constant, reason = "rounded, as files have it")]
    fn angles_are_whole_parts_of_a_turn() {
        let told = |angles: &[f64]| angle_by_values(angles).map(|(unit, _)| unit.to_base);
        assert_eq!(told(&[0.0, 90.0, -35.0]), Some(DEGREE));
        assert_eq!(told(&[0.0, 1.5708, -0.6109]), Some(RADIAN));
        assert_eq!(told(&[0.25, -0.125, 0.375]), Some(WHOLE_TURN));
        assert_eq!(told(&[0.4, 0.7, 1.3]), Some(RADIAN));
        assert_eq!(told(&[5.0, 10.0, -10.0]), Some(DEGREE));
        assert_eq!(told(&[7.3, 9.1]), None);
        assert_eq!(told(&[0.0]), None);
    }
}
