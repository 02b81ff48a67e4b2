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

    pub(super) fn is_turned(&self) -> bool {
        turn(self.rest().rotation(), DQuat::IDENTITY) > 0.5
    }

    /// Whether an end is where the node rests, in this unit of length.
    pub(super) fn is_shifted(&self, unit: &Unit) -> bool {
        self.vectors()
            .is_some_and(|ends| ends.into_iter().any(|end| self.is_place(end, unit)))
    }

    /// Whether the node rests there and not at nought, as far as that is said.
    pub(super) fn is_place(&self, end: DVec3, unit: &Unit) -> bool {
        let place = self.rest().translation / unit.to_base;
        said(place, end).length() > 1e-6 && near(end, place)
    }

    /// Whether one of the ends is nought although the node rests elsewhere, as far as they speak of it; or is the whole
    /// of a size.
    pub(super) fn is_from_nought(&self) -> bool {
        let Some(ends) = self.vectors() else {
            return false;
        };
        let is_plain = |end: DVec3, number: f64| said(end, end) == said(DVec3::splat(number), end);
        let is_one = |number: f64| {
            ends.into_iter()
                .filter(|end| is_plain(*end, number))
                .count()
                == 1
        };
        is_one(0.0) || is_one(1.0)
    }

    /// Whether the node rests away from the origin along the axes that the ends speak of.
    pub(super) fn is_placed(&self) -> bool {
        let place = self.rest().translation;
        self.vectors()
            .is_some_and(|[end, _]| said(place, end).length() > 1e-3)
    }

    pub(super) fn is_swung(&self, unit: &Unit, order: EulerOrder) -> bool {
        let is_there = |end: DVec3| {
            let end = DVec3::select(end.is_nan_mask(), DVec3::ZERO, end);
            turn(
                scene::rotation(end * unit.to_base, order),
                self.rest().rotation(),
            ) < 0.3
        };
        self.is_turned()
            && self
                .vectors()
                .is_some_and(|ends| ends.into_iter().any(is_there))
    }

    fn is_sized(&self) -> bool {
        let is_there = |end: DVec3| near(end, self.rest().scale());
        self.vectors()
            .is_some_and(|ends| ends.into_iter().any(is_there))
    }

    /// How strongly the row speaks for each property.
    pub(super) fn votes(&self, measures: &Measures) -> Vec<(Property, f64)> {
        let Some(ends) = self.vectors() else {
            return vec![(Property::Visibility, 1.0)];
        };
        let mut votes = Vec::new();
        if self.is_shifted(&measures.length()) {
            votes.push((Property::Translation, 1.0));
        }
        if self.is_swung(&measures.angle(), measures.order()) {
            votes.push((Property::Rotation, 1.0));
        }
        if self.is_sized() {
            votes.push((Property::Scale, 1.0));
        }
        let from_nought = ends.iter().any(|end| said(*end, *end) == DVec3::ZERO);
        if from_nought
            && !self.is_turned()
            && said(self.rest().translation, ends[0]).length() > 1e-6
        {
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

/// A vector along the axes that another one speaks of; nought along the others.
fn said(vector: DVec3, by: DVec3) -> DVec3 {
    DVec3::select(by.is_nan_mask(), DVec3::ZERO, vector)
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
    /// The unit of lengths; metres if nothing shows it.
    pub(super) fn length(&self) -> Unit {
        let known = self.length.as_ref();
        known.map_or_else(|| Quantity::Length.base_unit(), |(unit, _)| unit.clone())
    }

    /// The unit of angles; degrees if nothing shows it.
    pub(super) fn angle(&self) -> Unit {
        let known = self.angle.as_ref();
        known.map_or_else(|| Quantity::Angle.base_unit(), |(unit, _)| unit.clone())
    }

    pub(super) fn order(&self) -> EulerOrder {
        self.euler.map_or(EulerOrder::Xyz, |(order, _)| order)
    }

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

/// Whether most numbers are angles rather than lengths, by how large they are, or by being whole steps.
pub(super) fn are_angles(numbers: &[f64]) -> bool {
    let mut sizes: Vec<f64> = numbers.iter().map(|number| number.abs()).collect();
    sizes.retain(|size| *size > 0.0);
    sizes.sort_by(f64::total_cmp);
    let Some(middle) = sizes.get(sizes.len() / 2) else {
        return false;
    };
    let is_step = |size: &&f64| {
        let steps = **size / (std::f64::consts::PI / 36.0);
        (steps - steps.round()).abs() < 0.02
    };
    *middle > 4.9 || sizes.iter().filter(is_step).count() * 4 >= sizes.len() * 3
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
