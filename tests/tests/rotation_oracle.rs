//! Our rotations against scipy's, compared as matrices: different angles may mean the same rotation.

use std::process::Command;

use acceptance::outside;
use dialect::EulerOrder;
use glam::{DMat3, DVec3};

/// Both compute in 64-bit floats.
const TOLERANCE: f64 = 1e-12;

#[test]
fn angles_mean_what_scipy_means() {
    let Some(python) = outside::python_with("scipy") else {
        return outside::skipped("rotations against scipy", "scipy is not installed");
    };
    let orders = EulerOrder::ALL.map(|(word, order)| (word.to_uppercase(), order));
    let mut cases = Vec::new();
    for degrees in angles()
        .take(200)
        .chain([DVec3::new(30.0, -45.0, 60.0), DVec3::splat(90.0)])
    {
        cases.extend(
            orders
                .iter()
                .map(|(word, order)| (word.as_str(), *order, degrees)),
        );
    }
    let asked: Vec<_> = cases
        .iter()
        .map(|(word, _, degrees)| (word, degrees.to_array()))
        .collect();
    let script = outside::project().join("tests/rotation-oracle/matrices.py");
    let input = serde_json::to_string(&asked).unwrap();
    let answer = outside::run(Command::new(python).arg(script), &input).unwrap();
    let theirs: Vec<[[f64; 3]; 3]> = serde_json::from_str(&answer).unwrap();
    assert_eq!(theirs.len(), cases.len());
    let mut worst = 0.0_f64;
    for ((word, order, degrees), rows) in cases.iter().zip(&theirs) {
        let ours = DMat3::from_quat(scene::rotation(*degrees, *order));
        let their = DMat3::from_cols_array_2d(rows).transpose();
        let apart = (ours - their)
            .to_cols_array()
            .into_iter()
            .fold(0.0_f64, |most, by| most.max(by.abs()));
        assert!(
            apart <= TOLERANCE,
            "{word} {degrees}: {ours} instead of {their}"
        );
        worst = worst.max(apart);
    }
    outside::say(&format!(
        "rotations against scipy: {} matrices, at most {worst:e} apart",
        cases.len()
    ));
}

/// Angles from -400 to 400 degrees that look random and are the same every time.
fn angles() -> impl Iterator<Item = DVec3> {
    // Multiples of an irrational number, each axis its own, fill the range evenly.
    (1..).map(|step| {
        let spread = |by: f64| (f64::from(step) * by).fract() * 800.0 - 400.0;
        DVec3::new(
            spread(2.0_f64.sqrt()),
            spread(3.0_f64.sqrt()),
            spread(5.0_f64.sqrt()),
        )
    })
}
