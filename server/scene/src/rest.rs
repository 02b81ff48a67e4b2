use glam::{DMat3, DMat4, DQuat, DVec3, DVec4};

/// Where a node stands relative to its parent when nothing moves it.
#[derive(Clone, Debug, PartialEq)]
pub struct Rest {
    /// Metres.
    pub translation: DVec3,
    /// A unit quaternion.
    pub rotation: DQuat,
    /// Factors along the node's own axes.
    pub scale: DVec3,
    /// Whether the node, and with it all that hangs on it, is shown. None: the file does not say.
    pub visible: Option<bool>,
    /// Set only when the file gave a matrix that translation, rotation and scale cannot say (it shears,
    /// or flattens). The three fields above are then the nearest reading of it.
    pub matrix: Option<Box<DMat4>>,
}

impl Default for Rest {
    fn default() -> Self {
        Self {
            translation: DVec3::ZERO,
            rotation: DQuat::IDENTITY,
            scale: DVec3::ONE,
            visible: None,
            matrix: None,
        }
    }
}

impl Rest {
    /// A node that is only moved.
    pub fn at(translation: DVec3) -> Self {
        Self {
            translation,
            ..Self::default()
        }
    }

    /// Whether the node is shown: what nothing is said of is.
    pub fn is_visible(&self) -> bool {
        self.visible.unwrap_or(true)
    }

    /// Reads a local matrix. One that translation, rotation and scale can say is kept as these.
    pub fn from_matrix(matrix: DMat4) -> Self {
        let (translation, rotation, scale) = decompose(matrix);
        let rest = Self {
            translation,
            rotation,
            scale,
            ..Self::default()
        };
        // Scene files hold 32-bit floats, good for about seven digits.
        let tolerance = 1e-6 * greatest(matrix).max(f64::MIN_POSITIVE);
        if matrix.abs_diff_eq(rest.matrix(), tolerance) {
            rest
        } else {
            Self {
                matrix: Some(Box::new(matrix)),
                ..rest
            }
        }
    }

    /// The local matrix: scale first, then rotation, then translation (glTF 2.0, section 3.5.3).
    pub fn matrix(&self) -> DMat4 {
        match &self.matrix {
            Some(matrix) => **matrix,
            None => {
                DMat4::from_scale_rotation_translation(self.scale, self.rotation, self.translation)
            }
        }
    }
}

/// The largest of the matrix's numbers, without sign.
fn greatest(matrix: DMat4) -> f64 {
    matrix
        .to_cols_array()
        .into_iter()
        .fold(0.0, |most, number| number.abs().max(most))
}

/// Translation, rotation and scale of a matrix. A mirrored matrix gives a negative x scale. Axes that
/// are scaled to nothing have no direction left; any that completes the others will do.
fn decompose(matrix: DMat4) -> (DVec3, DQuat, DVec3) {
    let mut axes = [matrix.x_axis, matrix.y_axis, matrix.z_axis].map(DVec4::truncate);
    let mut scale = DVec3::from_array(axes.map(DVec3::length));
    if DMat3::from_cols(axes[0], axes[1], axes[2]).determinant() < 0.0 {
        scale.x = -scale.x;
    }
    for (axis, length) in axes.iter_mut().zip(scale.to_array()) {
        *axis = if length == 0.0 {
            DVec3::ZERO
        } else {
            *axis / length
        };
    }
    complete(&mut axes);
    let rotation = DQuat::from_mat3(&DMat3::from_cols(axes[0], axes[1], axes[2])).normalize();
    let rotation = if rotation.is_finite() {
        rotation
    } else {
        DQuat::IDENTITY
    };
    (matrix.w_axis.truncate(), rotation, scale)
}

/// Gives axes without a length a direction at right angles to the others.
fn complete(axes: &mut [DVec3; 3]) {
    let lost = |axis: &DVec3| *axis == DVec3::ZERO;
    match axes.iter().filter(|axis| lost(axis)).count() {
        0 => {}
        1 => {
            let gap = axes.iter().position(lost).unwrap_or(0);
            axes[gap] = axes[(gap + 1) % 3]
                .cross(axes[(gap + 2) % 3])
                .normalize_or_zero();
        }
        2 => {
            let kept = axes.iter().position(|axis| !lost(axis)).unwrap_or(0);
            let (next, last) = axes[kept].any_orthonormal_pair();
            axes[(kept + 1) % 3] = next;
            axes[(kept + 2) % 3] = last;
            if axes[0].cross(axes[1]).dot(axes[2]) < 0.0 {
                axes[(kept + 2) % 3] = -last;
            }
        }
        _ => *axes = [DVec3::X, DVec3::Y, DVec3::Z],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::EulerRot;

    fn turned() -> DQuat {
        DQuat::from_euler(EulerRot::XYZ, 0.3, -0.7, 1.1)
    }

    #[test]
    fn a_matrix_of_translation_rotation_and_scale_is_kept_as_these() {
        let scale = DVec3::new(2.0, 0.5, 3.0);
        let place = DVec3::new(1.0, -4.0, 9.0);
        let rest = Rest::from_matrix(DMat4::from_scale_rotation_translation(
            scale,
            turned(),
            place,
        ));
        assert_eq!(rest.matrix, None);
        assert!(rest.translation.abs_diff_eq(place, 1e-12));
        assert!(rest.scale.abs_diff_eq(scale, 1e-12));
        assert!(rest.rotation.dot(turned()).abs() > 1.0 - 1e-12);
    }

    #[test]
    fn a_mirrored_matrix_is_kept_too() {
        let matrix = DMat4::from_scale_rotation_translation(
            DVec3::new(1.0, 1.0, -1.0),
            turned(),
            DVec3::ZERO,
        );
        let rest = Rest::from_matrix(matrix);
        assert_eq!(rest.matrix, None);
        assert!(rest.matrix().abs_diff_eq(matrix, 1e-12));
    }

    #[test]
    fn a_shear_keeps_its_matrix() {
        let mut matrix = DMat4::IDENTITY;
        matrix.y_axis.x = 0.5;
        let rest = Rest::from_matrix(matrix);
        assert_eq!(rest.matrix, Some(Box::new(matrix)));
        assert_eq!(rest.matrix(), matrix);
    }

    #[test]
    fn flattened_axes_give_finite_parts() {
        for scale in [DVec3::ZERO, DVec3::X, DVec3::Y, DVec3::new(2.0, 0.0, 3.0)] {
            let matrix = DMat4::from_scale_rotation_translation(scale, turned(), DVec3::ONE);
            let rest = Rest::from_matrix(matrix);
            assert!(
                rest.rotation.is_normalized(),
                "{scale}: {:?}",
                rest.rotation
            );
            assert!(rest.matrix().abs_diff_eq(matrix, 1e-9), "{scale}");
        }
    }

    #[test]
    fn numbers_beyond_reason_do_not_panic() {
        let rest = Rest::from_matrix(DMat4::from_cols_array(&[1e300; 16]));
        assert!(rest.rotation.is_finite());
    }
}
