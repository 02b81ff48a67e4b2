//! Numbers for reading, in the units of a dialect.

use dialect::{Dialect, Quantity};

/// A number of base units in the dialect's unit, rounded for reading: `0.32 m`.
pub(crate) fn measure(dialect: &Dialect, quantity: Quantity, number: f64) -> String {
    let unit = dialect.notation.units.of(quantity);
    format!(
        "{} {}",
        rounded(dialect, unit.from_base(number)),
        unit.symbol()
    )
}

/// A number of base units per second, per the dialect's unit of time: `0.16 m/s`.
pub(crate) fn speed(dialect: &Dialect, quantity: Quantity, per_second: f64) -> String {
    let time = dialect.notation.units.of(Quantity::Time);
    let way = measure(dialect, quantity, per_second * time.to_base(1.0));
    format!("{way}/{}", time.symbol())
}

/// A number with four digits that matter at most.
pub(crate) fn rounded(dialect: &Dialect, number: f64) -> String {
    let digits = 3 - number.abs().log10().floor().clamp(-6.0, 3.0) as i32;
    let scale = 10_f64.powi(digits);
    dialect.write_number((number * scale).round() / scale)
}
