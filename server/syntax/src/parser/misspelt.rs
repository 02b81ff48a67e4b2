//! Names that are meant to be others.

/// Whether a name is another one, of more than two letters, but for one letter that is missing, too many or wrong, for two that are swapped, or for
/// capitals.
pub(super) fn is_misspelt(written: &str, name: &str) -> bool {
    if written.eq_ignore_ascii_case(name) {
        return true;
    }
    let is_same = |(a, b): &(char, char)| a == b;
    let both = || written.chars().zip(name.chars());
    let start: usize = both().take_while(is_same).map(|(c, _)| c.len_utf8()).sum();
    let (written, name) = (&written[start..], &name[start..]);
    let backwards = written.chars().rev().zip(name.chars().rev());
    let end: usize = backwards
        .take_while(is_same)
        .map(|(c, _)| c.len_utf8())
        .sum();
    let [written, name] = [written, name].map(|rest| &rest[..rest.len() - end]);
    // Of `p` and `b` neither is the other misspelt.
    if start + end < 2 {
        return false;
    }
    let [mut a, mut b] = [written, name].map(str::chars);
    match [(a.next(), a.next()), (b.next(), b.next())] {
        [(_, None), (_, None)] => true,
        [(Some(a1), Some(a2)), (Some(b1), Some(b2))] => {
            (a1, a2) == (b2, b1) && a.next().is_none() && b.next().is_none()
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::is_misspelt;

    #[test]
    fn one_letter_or_two_swapped_ones_are_a_slip() {
        for written in [
            "ainmation",
            "animatoin",
            "animtion",
            "anmimation",
            "anymation",
            "Animation",
            "nimation",
        ] {
            assert!(is_misspelt(written, "animation"), "{written}");
        }
        for written in ["animations2", "anmiatoin", "channel", "mation", ""] {
            assert!(!is_misspelt(written, "animation"), "{written}");
        }
        assert!(!is_misspelt("p", "b") && !is_misspelt("ab", "ba") && is_misspelt("B", "b"));
        assert!(is_misspelt("hakne", "haken") && is_misspelt("öse", "ose"));
    }
}
