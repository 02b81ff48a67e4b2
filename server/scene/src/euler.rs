//! Three angles and the rotation they mean.

use dialect::EulerOrder;
use glam::{DQuat, DVec3, EulerRot};

/// The rotation of three angles in degrees about x, y and z, applied in this order, each about the axes as
/// turned so far (intrinsic). `Xyz` is the matrix Rx·Ry·Rz: what scipy and three.js call 'XYZ'.
pub fn rotation(degrees: DVec3, order: EulerOrder) -> DQuat {
    let [x, y, z] = [DVec3::X, DVec3::Y, DVec3::Z]
        .map(|axis| DQuat::from_axis_angle(axis, degrees.dot(axis).to_radians()));
    match order {
        EulerOrder::Xyz => x * y * z,
        EulerOrder::Xzy => x * z * y,
        EulerOrder::Yxz => y * x * z,
        EulerOrder::Yzx => y * z * x,
        EulerOrder::Zxy => z * x * y,
        EulerOrder::Zyx => z * y * x,
    }
}

/// Three angles in degrees about x, y and z that give the rotation: the middle one of the order between -90
/// and 90, the others between -180 and 180. Others may give the same rotation.
pub fn angles(rotation: DQuat, order: EulerOrder) -> DVec3 {
    let (named, [first, middle, last]) = match order {
        EulerOrder::Xyz => (EulerRot::XYZ, [0, 1, 2]),
        EulerOrder::Xzy => (EulerRot::XZY, [0, 2, 1]),
        EulerOrder::Yxz => (EulerRot::YXZ, [1, 0, 2]),
        EulerOrder::Yzx => (EulerRot::YZX, [1, 2, 0]),
        EulerOrder::Zxy => (EulerRot::ZXY, [2, 0, 1]),
        EulerOrder::Zyx => (EulerRot::ZYX, [2, 1, 0]),
    };
    let turns = rotation.to_euler(named);
    let mut degrees = DVec3::ZERO;
    degrees[first] = turns.0.to_degrees();
    degrees[middle] = turns.1.to_degrees();
    degrees[last] = turns.2.to_degrees();
    degrees
}

#[cfg(test)]
mod tests {
    use super::*;

    const ORDERS: [EulerOrder; 6] = [
        EulerOrder::Xyz,
        EulerOrder::Xzy,
        EulerOrder::Yxz,
        EulerOrder::Yzx,
        EulerOrder::Zxy,
        EulerOrder::Zyx,
    ];

    /// x y z w for 30, -45 and 60 degrees about x, y and z. Source: scipy's
    /// `Rotation.from_euler` with upper-case (intrinsic) letters; three.js' `Quaternion.setFromEuler` agrees.
    const KNOWN: [(EulerOrder, [f64; 4]); 6] = [
        (EulerOrder::Xyz, [0.02226, -0.4396797, 0.3604234, 0.8223632]),
        (EulerOrder::Yxz, [0.02226, -0.4396797, 0.5319757, 0.7233174]),
        (
            EulerOrder::Zxy,
            [0.3919038, -0.2005621, 0.3604234, 0.8223632],
        ),
        (
            EulerOrder::Zyx,
            [0.3919038, -0.2005621, 0.5319757, 0.7233174],
        ),
        (EulerOrder::Yzx, [0.02226, -0.2005621, 0.5319757, 0.8223632]),
        (
            EulerOrder::Xzy,
            [0.3919038, -0.4396797, 0.3604234, 0.7233174],
        ),
    ];

    #[test]
    fn angles_mean_what_scipy_and_three_js_mean() {
        for (order, known) in KNOWN {
            let ours = rotation(DVec3::new(30.0, -45.0, 60.0), order);
            assert!(
                ours.abs_diff_eq(DQuat::from_array(known), 1e-6),
                "{order:?}: {ours}"
            );
        }
    }

    #[test]
    fn a_positive_angle_turns_right_handed() {
        let turned = rotation(DVec3::new(0.0, 0.0, 90.0), EulerOrder::Xyz) * DVec3::X;
        assert!(turned.abs_diff_eq(DVec3::Y, 1e-12));
    }

    #[test]
    fn angles_of_a_rotation_give_it_back() {
        const STEPS: [f64; 11] = [
            -360.0, -180.0, -120.0, -90.0, -45.0, -1e-3, 0.0, 30.0, 90.0, 175.0, 300.0,
        ];
        let pairs = STEPS
            .iter()
            .flat_map(|x| STEPS.iter().map(move |y| (*x, *y)));
        for (x, y) in pairs {
            for (z, order) in STEPS.iter().flat_map(|z| ORDERS.map(|order| (*z, order))) {
                let once = rotation(DVec3::new(x, y, z), order);
                let again = rotation(angles(once, order), order);
                assert!(
                    once.dot(again).abs() > 1.0 - 1e-9,
                    "{order:?} {x} {y} {z}: {once} {again}"
                );
            }
        }
    }
}
