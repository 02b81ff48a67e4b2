//! In which units a library measures: from evidence, or from how large values are.

use super::channels::Window;
use super::columns::Column;
use super::ground::Ground;
use super::measures::{self, Measures};
use super::motions::Common;
use super::proposal::{PartValue, Proposal, word};
use super::{Found, Roles, Sizes};
use dialect::{EulerOrder, Unit};

impl Roles {
    /// Says which units there are, in which order angles turn, and how questions are answered.
    pub(super) fn measure(
        &mut self,
        ground: &Ground<'_>,
        groups: &[Found<'_>],
        common: &Common,
        proposals: &[Proposal],
        sizes: &mut Sizes,
    ) {
        let Measures {
            length,
            angle,
            euler,
        } = &common.measures;
        let mut parts = proposals.iter().flat_map(|one| &one.motions).flatten();
        let turns = parts.any(|part| match &part.value {
            PartValue::Word(word) => *word == word::ROTATION,
            PartValue::Words { words, .. } => words.iter().any(|(word, _)| *word == word::ROTATION),
            PartValue::Path(_) | PartValue::Parts(_) | PartValue::Yes => false,
        });
        self.measure_lengths(length.as_ref(), sizes);
        match angle {
            Some((unit, count)) => self.measured(
                "Angles are",
                unit,
                &format!(": {count} motions start or end as their node rests."),
            ),
            None if turns => {
                let angles = proposals.iter().flat_map(|proposal| &proposal.angles);
                let angles: Vec<f64> = angles.copied().collect();
                if let Some((unit, why)) = measures::angle_by_values(&angles) {
                    self.measured("Angles are taken to be", &unit, &format!(", by {why}."));
                }
            }
            None => {}
        }
        match euler {
            Some((order, count)) => {
                self.euler = Some(*order);
                let name = EulerOrder::ALL
                    .iter()
                    .find(|(_, known)| known == order)
                    .map_or("", |(name, _)| name);
                self.remarks.push(format!(
                    "Angles turn in the order {name}: {count} motions fit no other as well."
                ));
            }
            None if turns => self
                .remarks
                .push("In which order angles turn was not seen; xyz is assumed.".into()),
            None => {}
        }
        let mut times = times(ground, groups);
        match measures::time_by_range(&mut times) {
            Some(unit) => self.measured("Times are taken to be", &unit, ", by how large they are."),
            None if times.is_empty() => {}
            None => self
                .remarks
                .push("In which unit times are was not seen; seconds are assumed.".into()),
        }
        self.answers = common
            .answers
            .as_ref()
            .map(|answers| (answers.yes.clone(), answers.no.clone()));
    }

    /// `moved`: the unit that motions show, and how many do.
    fn measure_lengths(&mut self, moved: Option<&(Unit, usize)>, sizes: &mut Sizes) {
        if let Some((unit, count)) = moved {
            let why = format!(": {count} motions start or end where their node rests.");
            self.measured("Lengths are", unit, &why);
        } else if let Some((unit, count)) = &sizes.unit {
            let why = format!(": {count} wheels are as large as the shapes of their nodes.");
            self.measured("Lengths are", unit, &why);
        } else if let Some(unit) = measures::length_by_wheels(&mut sizes.radii) {
            self.measured("Lengths are taken to be", &unit, ", by the size of wheels.");
        }
    }

    fn measured(&mut self, what: &str, unit: &Unit, why: &str) {
        self.remarks.push(format!("{what} in {}{why}", unit.label));
        self.units.push(unit.clone());
    }
}

/// When channels end, as written.
fn times(ground: &Ground<'_>, groups: &[Found<'_>]) -> Vec<f64> {
    let mut times: Vec<f64> = Vec::new();
    for found in groups {
        for channel in &found.channels {
            let column = |field| Column::of(ground, found.records.get(channel.context), field);
            match &channel.window {
                Window::Keyframes(keyframes) => {
                    times.extend(keyframes.times.iter().filter_map(|times| times.last()));
                }
                Window::Pair(_, end) | Window::Lasting(_, end) => {
                    times.extend(column(end).numbers().into_iter().flatten());
                }
                Window::List(window, _) => {
                    let pairs = column(window).pairs.into_iter().flatten();
                    times.extend(pairs.filter_map(|[_, end]| end.number()));
                }
            }
        }
    }
    times
}
