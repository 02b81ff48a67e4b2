//! What the values of a node say: its name, rest transform and bounds.

use dialect::{MatrixOrder, Path, Quantity, RotationForm, SceneBounds, XmlSceneFormat};
use glam::{DMat4, DQuat, DVec3, DVec4};

use super::follow::{Found, Place};
use crate::{Bounds, Rest, SceneBuilder, SceneError, euler};

/// Reads values as a format writes them. What cannot be read is noted and taken as absent.
pub(super) struct Values<'f> {
    format: &'f XmlSceneFormat,
    /// Metres in a unit of length.
    length: f64,
    /// Degrees in a unit of angle.
    angle: f64,
}

impl<'f> Values<'f> {
    pub(super) fn of(format: &'f XmlSceneFormat) -> Self {
        Self {
            format,
            length: format.units.of(Quantity::Length).to_base(1.0),
            angle: format.units.of(Quantity::Angle).to_base(1.0),
        }
    }

    pub(super) fn name(&self, place: &Place<'_>) -> Option<String> {
        Some(place.value(self.format.name.as_ref()?)?.text.into_owned())
    }

    pub(super) fn rest(&self, place: &Place<'_>, notes: &mut SceneBuilder) -> Rest {
        let format = self.format;
        let matrix = self.read(&format.matrix, place, notes, "sixteen numbers", |row| {
            self.matrix(row)
        });
        let mut rest = match matrix {
            Some(matrix) => Rest::from_matrix(matrix),
            None => Rest::of(
                self.read(&format.translation, place, notes, "three lengths", |row| {
                    self.lengths(row)
                })
                .unwrap_or(DVec3::ZERO),
                self.read(
                    &format.rotation,
                    place,
                    notes,
                    self.rotation_words(),
                    |row| self.rotation(row),
                )
                .unwrap_or(DQuat::IDENTITY),
                self.read(&format.scale, place, notes, "one factor or three", factors)
                    .unwrap_or(DVec3::ONE),
            ),
        };
        if let Some(found) = found(&format.visible, place) {
            let says = |words: &[String]| words.iter().any(|word| *word == found.text);
            match (says(&format.yes), says(&format.no)) {
                (false, true) => rest.visible = Some(false),
                (true, _) => rest.visible = Some(true),
                (false, false) => notes.note(unreadable(&found, "a word for yes or no")),
            }
        }
        rest
    }

    pub(super) fn bounds(&self, place: &Place<'_>, notes: &mut SceneBuilder) -> Option<Bounds> {
        let (min, max, end) = match self.format.bounds.as_ref()? {
            SceneBounds::List(path) => {
                let found = place.value(path)?;
                let row = self.row(&found.text).unwrap_or_default();
                let (min, max) = row.split_at(row.len() / 2);
                (self.lengths(min), self.lengths(max), found)
            }
            SceneBounds::Pair { min, max } => {
                let (min, max) = (place.value(min)?, place.value(max)?);
                let read = |found: &Found<'_>| self.lengths(&self.row(&found.text)?);
                (read(&min), read(&max), max)
            }
        };
        let bounds = min.zip(max).and_then(|(min, max)| Bounds::new(min, max));
        if bounds.is_none() {
            notes.note(unreadable(
                &end,
                "the corners of a box, the least one first",
            ));
        }
        bounds
    }

    /// The row of numbers that a path leads to, as `meaning` takes it.
    fn read<T>(
        &self,
        path: &Option<Path>,
        place: &Place<'_>,
        notes: &mut SceneBuilder,
        expected: &str,
        meaning: impl Fn(&[f64]) -> Option<T>,
    ) -> Option<T> {
        let found = found(path, place)?;
        let value = self.row(&found.text).and_then(|row| meaning(&row));
        if value.is_none() {
            notes.note(unreadable(&found, expected));
        }
        value
    }

    fn row(&self, text: &str) -> Option<Vec<f64>> {
        let numbers = &self.format.numbers;
        numbers.read_row(text, &numbers.vector_separator)
    }

    fn lengths(&self, row: &[f64]) -> Option<DVec3> {
        Some(DVec3::from_array(row.try_into().ok()?) * self.length)
    }

    fn rotation(&self, row: &[f64]) -> Option<DQuat> {
        let rotation = match (self.format.rotation_form, row) {
            (RotationForm::Euler(order), &[x, y, z]) => {
                euler::rotation(DVec3::new(x, y, z) * self.angle, order)
            }
            (RotationForm::QuaternionXyzw, &[x, y, z, w])
            | (RotationForm::QuaternionWxyz, &[w, x, y, z]) => {
                DQuat::from_xyzw(x, y, z, w).normalize()
            }
            (RotationForm::AxisAngle, &[x, y, z, angle]) => {
                match DVec3::new(x, y, z).try_normalize() {
                    Some(axis) => DQuat::from_axis_angle(axis, (angle * self.angle).to_radians()),
                    None => DQuat::IDENTITY,
                }
            }
            _ => return None,
        };
        rotation.is_normalized().then_some(rotation)
    }

    fn rotation_words(&self) -> &'static str {
        match self.format.rotation_form {
            RotationForm::Euler(_) => "three angles",
            RotationForm::QuaternionXyzw => "a quaternion: x y z w",
            RotationForm::QuaternionWxyz => "a quaternion: w x y z",
            RotationForm::AxisAngle => "an axis and an angle: four numbers",
        }
    }

    fn matrix(&self, row: &[f64]) -> Option<DMat4> {
        let read = DMat4::from_cols_array(row.try_into().ok()?);
        let mut matrix = match self.format.matrix_order {
            MatrixOrder::Rows => read.transpose(),
            MatrixOrder::Columns => read,
        };
        let place = matrix.w_axis.truncate() * self.length;
        matrix.w_axis = DVec4::from((place, 1.0));
        Some(matrix)
    }
}

fn factors(row: &[f64]) -> Option<DVec3> {
    match *row {
        [all] => Some(DVec3::splat(all)),
        [x, y, z] => Some(DVec3::new(x, y, z)),
        _ => None,
    }
}

fn found<'t>(path: &Option<Path>, place: &Place<'t>) -> Option<Found<'t>> {
    place.value(path.as_ref()?)
}

fn unreadable(found: &Found<'_>, expected: &str) -> SceneError {
    let said: String = found.text.chars().take(40).collect();
    SceneError::at(
        usize::from(found.range.start()),
        format!(
            "“{said}” should be {expected}. It is left out: mend it here, or export the scene again."
        ),
    )
}
