//! Lengths as people type them: `2.55m`, `255 cm`, `100in`, `8ft 4in`.

/// A unit and what it is in metres, as a ratio of whole numbers: the foot and the inch are exact by the international
/// agreement of 1959 (1 in = 25.4 mm).
const UNITS: [(&str, f64, f64); 5] = [
    ("mm", 1.0, 1000.0),
    ("cm", 1.0, 100.0),
    ("m", 1.0, 1.0),
    ("in", 254.0, 10_000.0),
    ("ft", 3048.0, 10_000.0),
];

/// A length in metres. Several in a row are added up. Rounded once for each, so that `20in` is 0.508 and nothing beside.
///
/// # Errors
/// Why it is no length, as a sentence.
pub fn read_length(text: &str) -> Result<f64, String> {
    let mut rest = text.trim();
    if rest.is_empty() {
        return Err(needed("There is no length"));
    }
    let mut metres = 0.0;
    while !rest.is_empty() {
        let end = rest
            .find(|c: char| !(c.is_ascii_digit() || ".+-".contains(c)))
            .unwrap_or(rest.len());
        let (digits, after) = rest.split_at(end);
        let number: f64 = digits
            .parse()
            .map_err(|_| needed(&format!("`{text}` is not a length")))?;
        if number.is_sign_negative() {
            return Err(needed(&format!("`{text}` is less than nothing")));
        }
        let after = after.trim_start();
        let end = after
            .find(|c: char| !c.is_alphabetic())
            .unwrap_or(after.len());
        let (symbol, after) = after.split_at(end);
        if symbol.is_empty() {
            let why = match after.is_empty() {
                true => "does not tell its unit",
                false => "is not a length",
            };
            return Err(needed(&format!("`{text}` {why}")));
        }
        let known = UNITS.iter().find(|(name, ..)| *name == symbol);
        let Some((_, times, parts)) = known else {
            return Err(needed(&format!("`{symbol}` is no unit of length")));
        };
        metres += number * times / parts;
        rest = after.trim_start();
    }
    if !metres.is_finite() {
        return Err(needed(&format!("`{text}` is not a length")));
    }
    Ok(metres)
}

/// A number of metres in the unit of this symbol, rounded once. None if there is no such unit.
pub fn in_unit(metres: f64, symbol: &str) -> Option<f64> {
    let (_, times, parts) = UNITS.iter().find(|(name, ..)| *name == symbol)?;
    Some(metres * parts / times)
}

fn needed(why: &str) -> String {
    format!("{why}. Write a number and m, cm, mm, in or ft, such as 2.55m.")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By the definition of the international inch (1959): 25.4 mm, and a foot of twelve of these.
    #[test]
    fn the_factors_are_exact() {
        for (text, metres) in [
            ("1in", 0.0254),
            ("20in", 0.508),
            ("40 in", 1.016),
            ("1ft", 0.3048),
            ("8ft 4in", 2.54),
            ("8ft4in", 2.54),
            ("2.55m", 2.55),
            ("255cm", 2.55),
            (" 2550 mm ", 2.55),
        ] {
            assert_eq!(read_length(text), Ok(metres), "{text}");
        }
        assert_eq!(in_unit(0.508, "in"), Some(20.0));
        assert_eq!(in_unit(0.3048, "ft"), Some(1.0));
        assert_eq!(in_unit(1.0, "yards"), None);
    }

    #[test]
    fn what_is_no_length_is_told() {
        for (text, why) in [
            ("", "There is no length."),
            ("2.55", "`2.55` does not tell its unit."),
            ("2,55m", "`2,55m` is not a length."),
            ("8ft 4", "`8ft 4` does not tell its unit."),
            ("wide", "`wide` is not a length."),
            ("3 yd", "`yd` is no unit of length."),
            ("1.2.3m", "`1.2.3m` is not a length."),
            ("m", "`m` is not a length."),
            ("-1m", "`-1m` is less than nothing."),
            ("8ft -4in", "`8ft -4in` is less than nothing."),
        ] {
            let told = read_length(text).unwrap_err();
            assert!(told.starts_with(why), "{text}: {told}");
        }
    }
}
