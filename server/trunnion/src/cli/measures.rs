//! Numbers for reading, in the units of a dialect.

use dialect::{Dialect, Quantity};

/// A number of base units in the dialect's unit: `0.32 m`.
pub(crate) fn measure(dialect: &Dialect, quantity: Quantity, base: f64) -> String {
    let unit = dialect.notation.units.of(quantity);
    format!(
        "{} {}",
        number(dialect, unit.from_base(base)),
        unit.symbol()
    )
}

/// Six decimals are enough to read.
pub(crate) fn number(dialect: &Dialect, number: f64) -> String {
    dialect.write_number((number * 1e6).round() / 1e6)
}

/// The same, with five digits that matter.
pub(crate) fn rounded(dialect: &Dialect, quantity: Quantity, base: f64) -> String {
    let unit = dialect.notation.units.of(quantity);
    let number = five_digits(dialect, unit.from_base(base));
    format!("{number} {}", unit.symbol())
}

/// A number with five digits that matter, or 0: scenes are written with seven.
pub(crate) fn five_digits(dialect: &Dialect, number: f64) -> String {
    if number.abs() < 5e-7 {
        return dialect.write_number(0.0);
    }
    let digits = 4 - libm::log10(number.abs()).floor().clamp(-7.0, 4.0) as i32;
    let scale = 10_f64.powi(digits);
    dialect.write_number((number * scale).round() / scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_noise_of_a_scene_is_nothing() {
        let dialect = Dialect::house();
        for (number, written) in [
            (-4.8e-9, "0"),
            (4.9e-7, "0"),
            (-6.123456e-7, "-0.00000061235"),
            (0.000_098_619, "0.000098619"),
            (2.691_783, "2.6918"),
        ] {
            assert_eq!(five_digits(&dialect, number), written);
        }
    }
}
