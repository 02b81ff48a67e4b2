use glam::{DMat4, DVec3};

/// A box whose faces are parallel to the axes. Metres; `min` is never above `max`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// The least corner.
    pub min: DVec3,
    /// The greatest corner.
    pub max: DVec3,
}

impl Bounds {
    /// `None` if a number is not finite or a minimum lies above its maximum.
    pub fn new(min: DVec3, max: DVec3) -> Option<Self> {
        (min.is_finite() && max.is_finite() && min.cmple(max).all()).then_some(Self { min, max })
    }

    /// The box around a single point.
    pub fn point(at: DVec3) -> Self {
        Self { min: at, max: at }
    }

    /// The smallest box around both.
    pub fn union(self, other: Self) -> Self {
        Self {
            min: self.min.min(other.min),
            max: self.max.max(other.max),
        }
    }

    /// The extent along each axis.
    pub fn size(self) -> DVec3 {
        self.max - self.min
    }

    /// The middle of the box.
    pub fn centre(self) -> DVec3 {
        self.min.midpoint(self.max)
    }

    /// The eight corners.
    pub fn corners(self) -> [DVec3; 8] {
        std::array::from_fn(|i| {
            let pick = |bit: usize, low: f64, high: f64| if i & bit == 0 { low } else { high };
            DVec3::new(
                pick(1, self.min.x, self.max.x),
                pick(2, self.min.y, self.max.y),
                pick(4, self.min.z, self.max.z),
            )
        })
    }

    /// The box around this box once `matrix` has moved it. For a rotation that is no multiple of a
    /// quarter turn this is larger than the box around the moved mesh.
    pub fn transformed(self, matrix: DMat4) -> Self {
        let [first, rest @ ..] = self.corners().map(|corner| matrix.transform_point3(corner));
        rest.into_iter()
            .map(Self::point)
            .fold(Self::point(first), Self::union)
    }
}
