//! Rewriting numbers in the habit in which they are written.

use dialect::Dialect;

/// More decimals than this are noise of computing.
const MOST_DECIMALS: usize = 12;

/// How many decimals numbers are written with at least, as texts show: if most
/// have the same count of decimals and some end in a zero, the count is fixed.
pub(crate) fn least_decimals<'t>(
    dialect: &Dialect,
    texts: impl IntoIterator<Item = &'t str>,
) -> usize {
    let shown: Vec<&str> = texts
        .into_iter()
        .map(|text| decimals(dialect, text))
        .collect();
    let fixed = shown
        .iter()
        .filter(|decimals| decimals.ends_with('0'))
        .map(|decimals| decimals.len())
        .max();
    let has_most = |count: &usize| {
        shown
            .iter()
            .filter(|decimals| decimals.len() == *count)
            .count()
            * 2
            > shown.len()
    };
    fixed
        .filter(has_most)
        .unwrap_or(0)
        .max(dialect.notation.numbers.least_decimals)
}

fn decimals<'t>(dialect: &Dialect, text: &'t str) -> &'t str {
    let marks = &dialect.notation.numbers.decimal_marks;
    let mantissa = text.split(['e', 'E']).next().unwrap_or(text).trim();
    mantissa
        .split_once(|c| marks.contains(&c))
        .map_or("", |(_, decimals)| decimals)
}

/// `number` in the place of a number that is written as `old`: with the same
/// decimal mark, and with as many decimals as it takes and `least` at least.
pub(crate) fn number_like(dialect: &Dialect, old: &str, number: f64, least: usize) -> String {
    let marks = &dialect.notation.numbers.decimal_marks;
    let usual = marks.first().copied().unwrap_or('.');
    let mark = old.chars().find(|c| marks.contains(c)).unwrap_or(usual);
    let decimals = (least..=MOST_DECIMALS).find(|decimals| says(number, *decimals));
    let text = format!("{number:.*}", decimals.unwrap_or(MOST_DECIMALS.max(least)));
    let text = if text
        .bytes()
        .any(|byte| byte.is_ascii_digit() && byte != b'0')
    {
        text
    } else {
        // No "-0".
        text.trim_start_matches('-').to_owned()
    };
    text.replace('.', &mark.to_string())
}

/// Whether so many decimals say the number.
fn says(number: f64, decimals: usize) -> bool {
    format!("{number:.decimals$}")
        .parse::<f64>()
        .is_ok_and(|read| (read - number).abs() <= 1e-13 * number.abs().max(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn house(old: &str, number: f64) -> String {
        let dialect = Dialect::house();
        number_like(&dialect, old, number, least_decimals(&dialect, [old]))
    }

    #[test]
    fn a_fixed_count_of_decimals_is_kept() {
        assert_eq!(house("1.50", 0.0), "0.00");
        assert_eq!(house("4.0", 2.5), "2.5");
        assert_eq!(house("4.0", 2.25), "2.25");
    }

    #[test]
    fn else_decimals_come_as_needed_and_noise_does_not() {
        assert_eq!(house("1.5", 0.0), "0");
        assert_eq!(house("3", 1.5), "1.5");
        assert_eq!(house("0.3", 0.3 - 0.1), "0.2");
        assert_eq!(house("4", 4.0 - 1.0 / 3.0), "3.666666666667");
    }

    #[test]
    fn neighbours_show_the_count() {
        let dialect = Dialect::house();
        assert_eq!(least_decimals(&dialect, ["1.50", "2.00", "3.25", "4"]), 2);
        assert_eq!(least_decimals(&dialect, ["1.50", "2", "3", "4"]), 0);
        assert_eq!(least_decimals(&dialect, ["1.5", "2.25", "10"]), 0);
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(house("0.50", -0.0), "0.00");
        assert_eq!(house("1", -1e-17), "0");
    }

    #[test]
    fn the_mark_in_use_is_kept() {
        let mut dialect = Dialect::clone(&Dialect::house());
        dialect.notation.numbers.decimal_marks = vec!['.', ','];
        assert_eq!(number_like(&dialect, "1,5", 0.25, 0), "0,25");
        assert_eq!(number_like(&dialect, "1", 0.25, 0), "0.25");
    }
}
