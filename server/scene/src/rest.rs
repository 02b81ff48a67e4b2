use glam::{DMat3, DMat4, DQuat, DVec3, DVec4};

/// Where a node stands relative to its parent when nothing moves it.
///
/// Scenes have many nodes, most of which are only moved: so the rest is kept apart.
#[derive(Clone, Debug, Default)]
pub struct Rest {
    /// Metres.
    pub translation: DVec3,
    /// Whether the node, and with it all that hangs on it, is shown. None: the file does not say.
    pub visible: Option<bool>,
    /// None: its axes lie as its parent's do.
    frame: Option<Box<Frame>>,
}

/// How the axes of a node lie in those of its parent.
#[derive(Clone, Debug)]
struct Frame {
    rotation: DQuat,
    scale: DVec3,
    matrix: Option<DMat4>,
}

impl Default for Frame {
    fn default() -> Self {
        Self {
            rotation: DQuat::IDENTITY,
            scale: DVec3::ONE,
            matrix: None,
        }
    }
}

impl Frame {
    /// None if it is that of the parent, to the last bit: also the sign of a nought may show where it is written.
    fn boxed(self) -> Option<Box<Self>> {
        let rotation = self.rotation.to_array().map(f64::to_bits);
        let scale = self.scale.to_array().map(f64::to_bits);
        let is_parents = self.matrix.is_none()
            && rotation == DQuat::IDENTITY.to_array().map(f64::to_bits)
            && scale == DVec3::ONE.to_array().map(f64::to_bits);
        (!is_parents).then(|| Box::new(self))
    }
}

impl PartialEq for Rest {
    fn eq(&self, other: &Self) -> bool {
        self.translation == other.translation
            && self.visible == other.visible
            && self.rotation() == other.rotation()
            && self.scale() == other.scale()
            && self.sheared() == other.sheared()
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

    /// A node that is moved, turned by a unit quaternion, and scaled along its own axes.
    pub fn of(translation: DVec3, rotation: DQuat, scale: DVec3) -> Self {
        let frame = Frame {
            rotation,
            scale,
            matrix: None,
        };
        Self {
            translation,
            visible: None,
            frame: frame.boxed(),
        }
    }

    /// A unit quaternion.
    pub fn rotation(&self) -> DQuat {
        self.frame
            .as_ref()
            .map_or(DQuat::IDENTITY, |frame| frame.rotation)
    }

    /// Factors along the node's own axes.
    pub fn scale(&self) -> DVec3 {
        self.frame.as_ref().map_or(DVec3::ONE, |frame| frame.scale)
    }

    /// Set only when the file gave a matrix that translation, rotation and scale cannot say (it shears,
    /// or flattens). These three are then the nearest reading of it.
    pub fn sheared(&self) -> Option<&DMat4> {
        self.frame.as_ref()?.matrix.as_ref()
    }

    /// Leaves translation, rotation and scale alone.
    pub fn drop_shear(&mut self) {
        if self.sheared().is_some() {
            self.reframe(|frame| frame.matrix = None);
        }
    }

    /// Turns the node otherwise.
    pub fn set_rotation(&mut self, rotation: DQuat) {
        self.reframe(|frame| frame.rotation = rotation);
    }

    /// Scales the node otherwise.
    pub fn set_scale(&mut self, scale: DVec3) {
        self.reframe(|frame| frame.scale = scale);
    }

    fn reframe(&mut self, change: impl FnOnce(&mut Frame)) {
        let mut frame = self
            .frame
            .take()
            .map_or_else(Frame::default, |frame| *frame);
        change(&mut frame);
        self.frame = frame.boxed();
    }

    /// Whether the node is shown: what nothing is said of is.
    pub fn is_visible(&self) -> bool {
        self.visible.unwrap_or(true)
    }

    /// Reads a local matrix. One that translation, rotation and scale can say is kept as these.
    pub(crate) fn from_matrix(matrix: DMat4) -> Self {
        let (translation, rotation, scale) = decompose(matrix);
        let mut rest = Self::of(translation, rotation, scale);
        // Scene files hold 32-bit floats, good for about seven digits.
        let tolerance = 1e-6 * greatest(matrix).max(f64::MIN_POSITIVE);
        if !matrix.abs_diff_eq(rest.matrix(), tolerance) {
            rest.reframe(|frame| frame.matrix = Some(matrix));
        }
        rest
    }

    /// Where the node's origin is in its parent's coordinates: the last column of the matrix. Metres.
    pub(crate) fn origin(&self) -> DVec4 {
        let matrix = self.frame.as_ref().and_then(|frame| frame.matrix);
        matrix.map_or(self.translation.extend(1.0), |matrix| matrix.w_axis)
    }

    /// The local matrix: scale first, then rotation, then translation (glTF 2.0, section 3.5.3).
    pub fn matrix(&self) -> DMat4 {
        let Some(frame) = &self.frame else {
            return DMat4::from_translation(self.translation);
        };
        frame.matrix.unwrap_or_else(|| {
            DMat4::from_scale_rotation_translation(frame.scale, frame.rotation, self.translation)
        })
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
        assert_eq!(rest.sheared(), None);
        assert!(rest.translation.abs_diff_eq(place, 1e-12));
        assert!(rest.scale().abs_diff_eq(scale, 1e-12));
        assert!(rest.rotation().dot(turned()).abs() > 1.0 - 1e-12);
    }

    #[test]
    fn a_large_matrix_of_32_bit_numbers_is_no_shear() {
        let matrix =
            DMat4::from_scale_rotation_translation(DVec3::splat(1e5), turned(), DVec3::splat(1e6));
        let rounded = matrix
            .to_cols_array()
            .map(|number| f64::from(number as f32));
        let rest = Rest::from_matrix(DMat4::from_cols_array(&rounded));
        assert_eq!(rest.sheared(), None);
    }

    #[test]
    fn a_mirrored_matrix_is_kept_too() {
        let matrix = DMat4::from_scale_rotation_translation(
            DVec3::new(1.0, 1.0, -1.0),
            turned(),
            DVec3::ZERO,
        );
        let rest = Rest::from_matrix(matrix);
        assert_eq!(rest.sheared(), None);
        assert!(rest.matrix().abs_diff_eq(matrix, 1e-12));
    }

    #[test]
    fn a_shear_keeps_its_matrix() {
        let mut matrix = DMat4::IDENTITY;
        matrix.y_axis.x = 0.5;
        let rest = Rest::from_matrix(matrix);
        assert_eq!(rest.sheared(), Some(&matrix));
        assert_eq!(rest.matrix(), matrix);
    }

    #[test]
    fn flattened_axes_give_finite_parts() {
        for scale in [DVec3::ZERO, DVec3::X, DVec3::Y, DVec3::new(2.0, 0.0, 3.0)] {
            let matrix = DMat4::from_scale_rotation_translation(scale, turned(), DVec3::ONE);
            let rest = Rest::from_matrix(matrix);
            assert!(
                rest.rotation().is_normalized(),
                "{scale}: {:?}",
                rest.rotation()
            );
            assert!(rest.matrix().abs_diff_eq(matrix, 1e-9), "{scale}");
        }
    }

    #[test]
    fn numbers_beyond_reason_do_not_panic() {
        let rest = Rest::from_matrix(DMat4::from_cols_array(&[1e300; 16]));
        assert!(rest.rotation().is_finite());
    }

    #[test]
    fn what_is_only_moved_needs_no_frame() {
        let place = DVec3::new(1.0, -0.0, 1e300);
        let rest = Rest::of(place, DQuat::IDENTITY, DVec3::ONE);
        assert!(rest.frame.is_none());
        let matrix = DMat4::from_scale_rotation_translation(DVec3::ONE, DQuat::IDENTITY, place);
        let bits = |matrix: DMat4| matrix.to_cols_array().map(f64::to_bits);
        assert_eq!(bits(rest.matrix()), bits(matrix));
    }

    #[test]
    fn what_is_set_is_there_and_what_is_taken_back_leaves_nothing() {
        let mut rest = Rest::at(DVec3::X);
        rest.set_rotation(turned());
        rest.set_scale(DVec3::splat(2.0));
        assert_eq!(rest, Rest::of(DVec3::X, turned(), DVec3::splat(2.0)));
        rest.set_rotation(DQuat::IDENTITY);
        rest.set_scale(DVec3::ONE);
        assert!(rest.frame.is_none());
        // The sign of a nought is not lost.
        let signed = DQuat::from_xyzw(-0.0, 0.0, 0.0, 1.0);
        rest.set_rotation(signed);
        assert!(rest.rotation().x.is_sign_negative());
        assert_eq!(rest, Rest::at(DVec3::X));
    }

    #[test]
    fn without_its_shear_a_node_is_what_is_nearest() {
        let mut matrix = DMat4::IDENTITY;
        matrix.y_axis.x = 0.5;
        let rest = Rest::from_matrix(matrix);
        let mut plain = rest.clone();
        plain.drop_shear();
        assert_eq!(
            plain,
            Rest::of(rest.translation, rest.rotation(), rest.scale())
        );
        assert_ne!(plain, rest);
    }
}
