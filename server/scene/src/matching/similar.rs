//! How alike two names are.

/// Names longer than this are compared by their beginnings: the time is quadratic.
const LONGEST: usize = 48;

/// From 0 (nothing alike) to 1 (the same but for case and punctuation). Numbers count whole: `lamp.1` and `lamp.2`
/// are different things, however alike they are spelled.
pub(super) fn similarity(one: &str, other: &str) -> f64 {
    let (a, b) = (letters(one), letters(other));
    if a.is_empty() || b.is_empty() {
        return 0.0;
    }
    let (digits, other_digits) = (digits(one), digits(other));
    let numbers = if digits == other_digits {
        1.0
    } else if digits.is_empty() || other_digits.is_empty() {
        // A copy, or what the original was called before there were copies.
        0.5
    } else {
        0.0
    };
    let common = common_subsequence(&a, &b);
    numbers * (2 * common) as f64 / (a.len() + b.len()) as f64
}

fn letters(name: &str) -> Vec<char> {
    name.chars()
        .filter(|c| c.is_alphabetic())
        .flat_map(char::to_lowercase)
        .take(LONGEST)
        .collect()
}

/// The numbers in a name, without leading zeros.
fn digits(name: &str) -> Vec<&str> {
    name.split(|c: char| !c.is_ascii_digit())
        .filter(|number| !number.is_empty())
        .map(|number| number.trim_start_matches('0'))
        .collect()
}

/// The length of the longest row of letters that both have in this order.
fn common_subsequence(a: &[char], b: &[char]) -> usize {
    let mut row = vec![0; b.len() + 1];
    for letter in a {
        let mut diagonal = 0;
        for (at, other) in b.iter().enumerate() {
            let above = row[at + 1];
            row[at + 1] = if letter == other {
                diagonal + 1
            } else {
                above.max(row[at])
            };
            diagonal = above;
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::similarity;

    #[test]
    fn case_and_punctuation_do_not_count() {
        assert_eq!(similarity("Leg_Left", "leg.left"), 1.0);
        assert_eq!(similarity("lamp_01", "lamp1"), 1.0);
    }

    #[test]
    fn another_number_is_another_thing() {
        assert_eq!(similarity("lamp.1", "lamp.2"), 0.0);
        assert_eq!(similarity("lamp", "lamp.001"), 0.5);
    }

    #[test]
    fn nothing_is_like_no_name() {
        assert_eq!(similarity("", ""), 0.0);
        assert_eq!(similarity("12", "12"), 0.0);
    }

    #[test]
    fn a_word_more_is_still_alike() {
        let long = "x".repeat(10_000);
        assert!(similarity("leg_left", "leg_left_upper") > 0.7);
        assert!(similarity("hook", "mast") < 0.3);
        assert_eq!(similarity(&long, &long), 1.0);
    }
}
