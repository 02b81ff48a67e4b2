//! Colours and how they are written.

use crate::numbers::{NumberNotation, Separator};

/// A colour: red, green, blue and perhaps alpha, each from 0 to 1.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Colour {
    /// From 0 to 1.
    pub red: f64,
    /// From 0 to 1.
    pub green: f64,
    /// From 0 to 1.
    pub blue: f64,
    /// How much it covers, from 0 to 1, where that is said.
    pub alpha: Option<f64>,
}

/// How colours are written.
#[derive(Clone, Debug, PartialEq)]
pub enum ColourNotation {
    /// Two hexadecimal digits for each of the three or four parts.
    Hex {
        /// In front of the digits.
        mark: String,
    },
    /// Three or four numbers.
    Row {
        /// Between two numbers.
        separator: Separator,
        /// What stands for a part in full: 1, or 255 for whole numbers.
        full: u8,
    },
}

impl ColourNotation {
    /// The colour that a text says; None if it says none.
    pub fn read(&self, text: &str, numbers: &NumberNotation) -> Option<Colour> {
        let parts: Vec<f64> = match self {
            Self::Hex { mark } => {
                let digits = text.trim_ascii().strip_prefix(mark.as_str())?;
                let pairs = digits.as_bytes().chunks(2);
                let pairs = pairs.map(|pair| match pair {
                    [high, low] => Some(f64::from(digit(*high)? * 16 + digit(*low)?) / 255.0),
                    _ => None,
                });
                pairs.collect::<Option<_>>()?
            }
            Self::Row { separator, full } => {
                let row = numbers.read_row(text, separator)?;
                let full = f64::from(*full);
                let fits = |number: &f64| {
                    (0.0..=full).contains(number) && (full == 1.0 || number.fract() == 0.0)
                };
                if !row.iter().all(fits) {
                    return None;
                }
                row.into_iter().map(|number| number / full).collect()
            }
        };
        let (red, green, blue, alpha) = match parts[..] {
            [red, green, blue] => (red, green, blue, None),
            [red, green, blue, alpha] => (red, green, blue, Some(alpha)),
            _ => return None,
        };
        Some(Colour {
            red,
            green,
            blue,
            alpha,
        })
    }

    /// The text for a colour, as `like` is written: with digits in its case, and with alpha only if it has one or the
    /// colour needs it.
    pub fn write(&self, colour: Colour, like: &str, numbers: &NumberNotation) -> String {
        let had_alpha = self
            .read(like, numbers)
            .is_some_and(|colour| colour.alpha.is_some());
        let alpha = colour.alpha.unwrap_or(1.0);
        let mut parts = vec![colour.red, colour.green, colour.blue];
        parts.extend((had_alpha || alpha < 1.0).then_some(alpha));
        let byte = |part: f64| (part.clamp(0.0, 1.0) * 255.0).round();
        match self {
            Self::Hex { mark } => {
                let digits = like.strip_prefix(mark.as_str()).unwrap_or(like);
                let is_upper = digits.contains(|c: char| c.is_ascii_uppercase());
                let pairs = parts.iter().map(|part| byte(*part) as u8);
                let pairs = pairs.map(|byte| match is_upper {
                    true => format!("{byte:02X}"),
                    false => format!("{byte:02x}"),
                });
                pairs.fold(mark.clone(), |text, pair| text + &pair)
            }
            Self::Row { separator, full: 1 } => {
                let shares = parts.iter().map(|part| (part * 1000.0).round() / 1000.0);
                numbers.write_row(&shares.collect::<Vec<_>>(), separator)
            }
            Self::Row { separator, .. } => {
                let bytes = parts.iter().map(|part| byte(*part));
                numbers.write_row(&bytes.collect::<Vec<_>>(), separator)
            }
        }
    }
}

fn digit(byte: u8) -> Option<u8> {
    char::from(byte).to_digit(16).map(|digit| digit as u8)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hex() -> ColourNotation {
        ColourNotation::Hex { mark: "#".into() }
    }

    fn row(full: u8) -> ColourNotation {
        let separator = Separator::WhiteSpace;
        ColourNotation::Row { separator, full }
    }

    fn again(notation: &ColourNotation, text: &str) -> Option<String> {
        let numbers = NumberNotation::default();
        let colour = notation.read(text, &numbers)?;
        Some(notation.write(colour, text, &numbers))
    }

    #[test]
    fn what_is_read_is_written_as_it_was() {
        for text in ["#ff8000", "#FF8000", "#ff800080"] {
            assert_eq!(again(&hex(), text).as_deref(), Some(text));
        }
        for text in ["1 0.5 0", "0.2 0.25 1 0.5"] {
            assert_eq!(again(&row(1), text).as_deref(), Some(text));
        }
        for text in ["255 128 0", "1 2 3 4"] {
            assert_eq!(again(&row(255), text).as_deref(), Some(text));
        }
    }

    #[test]
    fn alpha_comes_where_it_is_needed() {
        let numbers = NumberNotation::default();
        let mut colour = hex().read("#ffffff", &numbers).unwrap();
        colour.alpha = Some(0.0);
        assert_eq!(hex().write(colour, "#ffffff", &numbers), "#ffffff00");
        colour.alpha = Some(1.0);
        assert_eq!(hex().write(colour, "#ffffff", &numbers), "#ffffff");
        assert_eq!(hex().write(colour, "#ffffff00", &numbers), "#ffffffff");
    }

    #[test]
    fn what_is_none_is_none() {
        for text in [
            "",
            "#",
            "#fff",
            "#fffffg",
            "ffffff",
            "#fffffffff",
            "#ffff\u{e9}",
        ] {
            assert_eq!(again(&hex(), text), None, "{text}");
        }
        for text in ["1 1", "2 0 0", "-1 0 0", "1 1 1 1 1", "a b c"] {
            assert_eq!(again(&row(1), text), None, "{text}");
        }
        assert_eq!(again(&row(255), "0.5 1 2"), None);
    }
}
