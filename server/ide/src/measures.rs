//! Numbers for reading, in the units of a dialect.

use dialect::{Dialect, Quantity};

/// Metres, degrees, seconds: what is less is left over from calculating.
const LEAST: f64 = 1e-6;

/// A number of base units in the dialect's unit, rounded for reading: `0.32 m`.
pub(crate) fn measure(dialect: &Dialect, quantity: Quantity, number: f64) -> String {
    let unit = dialect.notation.units.of(quantity);
    let number = if number.abs() < LEAST { 0.0 } else { number };
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
    format!("{way}/{}", time.name)
}

/// A number with four digits that matter at most.
pub(crate) fn rounded(dialect: &Dialect, number: f64) -> String {
    let digits = 3 - libm::log10(number.abs()).floor().clamp(-6.0, 3.0) as i32;
    let scale = 10_f64.powi(digits);
    dialect.write_number((number * scale).round() / scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_over_from_calculating_is_nothing() {
        let dialect = Dialect::house();
        let metres = |number| measure(&dialect, Quantity::Length, number);
        assert_eq!(metres(-1e-9), "0 m");
        assert_eq!(metres(2e-6), "0.000002 m");
        assert_eq!(metres(0.321_45), "0.3215 m");
    }

    #[test]
    fn a_speed_is_told_for_one_of_a_unit_that_has_a_plural() {
        let own = "[dialect]\nname = \"x\"\nformat = 1\n[unit.beat]\nquantity = \"time\"\nsize = 0.5\nlabel = \"beats\"\n\
                   [units]\ntime = \"beat\"\n[[document]]\nname = \"x\"\nroot = \"x\"\n[element.x]\n";
        let dialect = Dialect::read(own, None).unwrap();
        assert_eq!(speed(&dialect, Quantity::Length, 0.5), "0.25 m/beat");
        assert_eq!(measure(&dialect, Quantity::Time, 3.0), "6 beats");
    }
}
