//! Names for new things, in the style of the names that a document has.

use crate::name_places::keep;
use dialect::{Dialect, Kind};
use machine::Machine;

/// How the words of a name are put together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct NameStyle {
    joint: Joint,
    /// Words begin with a capital.
    capitals: bool,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Joint {
    /// `leg.left`
    Mark(char),
    /// `legLeft`, `LegLeft`
    Hump,
}

impl NameStyle {
    /// The style of the names of one kind; where these do not show any, that
    /// of all names.
    pub(crate) fn of(machine: &Machine, dialect: &Dialect, kind: &Kind) -> Self {
        let fits = |mark: char| keep(dialect, kind, &format!("a{mark}b"));
        let of_kind = machine
            .definitions_of(kind)
            .map(|definition| &*definition.name.value);
        let all = machine
            .definitions
            .iter()
            .map(|definition| &*definition.name.value);
        let joint = match fits('.') {
            true => Joint::Mark('.'),
            false => Joint::Hump,
        };
        Self::shown_by(of_kind, fits)
            .or_else(|| Self::shown_by(all, fits))
            .unwrap_or(Self {
                joint,
                capitals: false,
            })
    }

    /// `fits`: whether such a mark may stand in a name.
    fn shown_by<'n>(
        names: impl Iterator<Item = &'n str>,
        fits: impl Fn(char) -> bool,
    ) -> Option<Self> {
        let mut marks: Vec<(char, usize)> = Vec::new();
        let (mut humps, mut capitals, mut count) = (0, 0, 0);
        for name in names {
            let inner = name.trim_matches(|c: char| !c.is_alphanumeric());
            for mark in inner.chars().filter(|c| !c.is_alphanumeric() && fits(*c)) {
                match marks.iter_mut().find(|(known, _)| *known == mark) {
                    Some((_, seen)) => *seen += 1,
                    None => marks.push((mark, 1)),
                }
            }
            let before_letters = inner.chars().zip(inner.chars().skip(1));
            humps += usize::from(
                before_letters
                    .into_iter()
                    .any(|(a, b)| a.is_lowercase() && b.is_uppercase()),
            );
            capitals += usize::from(inner.starts_with(char::is_uppercase));
            count += 1;
        }
        let most = marks
            .iter()
            .copied()
            .reduce(|most, next| if next.1 > most.1 { next } else { most });
        let joint = match most {
            Some((mark, seen)) if seen >= humps => Joint::Mark(mark),
            _ if humps > 0 => Joint::Hump,
            _ => return None,
        };
        Some(Self {
            joint,
            capitals: capitals * 2 > count,
        })
    }

    /// What stands between two words.
    pub(crate) fn joiner(&self) -> String {
        match self.joint {
            Joint::Mark(mark) => mark.to_string(),
            Joint::Hump => String::new(),
        }
    }

    /// Words as one name.
    pub(crate) fn join<'w>(&self, words: impl IntoIterator<Item = &'w str>) -> String {
        let mut name = String::new();
        for word in words {
            self.append(&mut name, word);
        }
        name
    }

    /// A name with a word behind it. The name itself stays as it is.
    pub(crate) fn with_word(&self, name: &str, word: &str) -> String {
        let mut name = name.to_owned();
        self.append(&mut name, word);
        name
    }

    fn append(&self, name: &mut String, word: &str) {
        let is_first = name.is_empty();
        if !is_first {
            name.push_str(&self.joiner());
        }
        let capital = match self.joint {
            Joint::Mark(_) => self.capitals,
            Joint::Hump => self.capitals || !is_first,
        };
        match capital {
            true => name.push_str(&capitalised(word)),
            false if is_first && self.joint == Joint::Hump => name.push_str(&decapitalised(word)),
            false => name.push_str(word),
        }
    }
}

/// The words of a name: `leg.left`, `leg_left`, `LegLeft` and `leg left` have
/// the same two, but for capitals. Numbers are words of their own.
pub(crate) fn words(name: &str) -> Vec<&str> {
    let mut words = Vec::new();
    let mut start = None;
    let mut last: Option<char> = None;
    for (at, c) in name.char_indices() {
        let begins = match last {
            Some(before) if c.is_alphanumeric() => {
                (before.is_lowercase() && c.is_uppercase())
                    || (before.is_numeric() != c.is_numeric())
            }
            _ => true,
        };
        let open = start.filter(|_| !c.is_alphanumeric() || begins);
        if let Some(from) = open {
            words.extend(name.get(from..at));
            start = None;
        }
        if c.is_alphanumeric() {
            start = start.or(Some(at));
            last = Some(c);
        } else {
            last = None;
        }
    }
    words.extend(start.and_then(|from| name.get(from..)));
    words
}

/// What names have in common: the words they all begin with, else the words
/// they all end with. As the first name writes it; empty if nothing.
pub(crate) fn common<'n>(names: &[&'n str]) -> &'n str {
    let Some((first, others)) = names.split_first() else {
        return "";
    };
    let own = words(first);
    let agreeing = |reversed: bool| {
        let mut count = own.len();
        for other in others {
            let theirs = words(other);
            let same = if reversed {
                let pairs = own.iter().rev().zip(theirs.iter().rev());
                pairs
                    .take_while(|(a, b)| a.to_lowercase() == b.to_lowercase())
                    .count()
            } else {
                let pairs = own.iter().zip(&theirs);
                pairs
                    .take_while(|(a, b)| a.to_lowercase() == b.to_lowercase())
                    .count()
            };
            count = count.min(same);
        }
        count
    };
    let between = |from: &str, to: &str| {
        let start = from.as_ptr() as usize - first.as_ptr() as usize;
        let end = to.as_ptr() as usize - first.as_ptr() as usize + to.len();
        first.get(start..end).unwrap_or_default()
    };
    let leading = agreeing(false);
    if let (Some(from), Some(to)) = (
        own.first(),
        leading.checked_sub(1).and_then(|at| own.get(at)),
    ) {
        return between(from, to);
    }
    let trailing = agreeing(true);
    match (own.get(own.len() - trailing), own.last()) {
        (Some(from), Some(to)) => between(from, to),
        _ => "",
    }
}

/// A name as something to read: `leg.spread` as `Leg spread`.
pub(crate) fn humanised(name: &str) -> String {
    let mut words = words(name).into_iter();
    let Some(first) = words.next() else {
        return name.to_owned();
    };
    let mut text = capitalised(first);
    for word in words {
        text.push(' ');
        // Abbreviations keep their capitals.
        let is_abbreviation =
            word.chars().count() > 1 && word.chars().all(|c| c.is_uppercase() || c.is_numeric());
        match is_abbreviation {
            true => text.push_str(word),
            false => text.push_str(&word.to_lowercase()),
        }
    }
    text
}

fn capitalised(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

fn decapitalised(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(chars).collect()
    })
}

/// "`a`", "`a` and `b`", "`a`, `b` and 3 more": for titles.
pub(crate) fn listed(names: &[String]) -> String {
    const MOST: usize = 3;
    let quoted = |names: &[String]| {
        names
            .iter()
            .map(|name| format!("`{name}`"))
            .collect::<Vec<_>>()
            .join(", ")
    };
    match names {
        [] => String::new(),
        [only] => format!("`{only}`"),
        _ if names.len() > MOST + 1 => {
            format!("{} and {} more", quoted(&names[..MOST]), names.len() - MOST)
        }
        [first @ .., last] => format!("{} and `{last}`", quoted(first)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn style(names: &[&str]) -> NameStyle {
        NameStyle::shown_by(names.iter().copied(), |_| true).expect("a style shows")
    }

    #[test]
    fn names_fall_into_words() {
        for name in [
            "leg.left",
            "leg_left",
            "leg-left",
            "leg left",
            ".leg..left.",
        ] {
            assert_eq!(words(name), ["leg", "left"], "{name}");
        }
        assert_eq!(words("legLeft"), ["leg", "Left"]);
        assert_eq!(words("LegLeft2"), ["Leg", "Left", "2"]);
        assert_eq!(words("ramp01b"), ["ramp", "01", "b"]);
        assert_eq!(words("größeÄnderung"), ["größe", "Änderung"]);
        assert_eq!(words(""), Vec::<&str>::new());
        assert_eq!(words("..."), Vec::<&str>::new());
    }

    #[test]
    fn the_style_is_the_one_most_names_have() {
        assert_eq!(
            style(&["leg.left", "leg.right", "a_b"]).join(["leg", "spread"]),
            "leg.spread"
        );
        assert_eq!(
            style(&["leg_left", "mast"]).join(["leg", "spread"]),
            "leg_spread"
        );
        assert_eq!(
            style(&["legLeft", "mast"]).join(["leg", "spread"]),
            "legSpread"
        );
        assert_eq!(
            style(&["LegLeft", "Mast"]).join(["leg", "spread"]),
            "LegSpread"
        );
        assert_eq!(
            style(&["Leg_Left", "Mast_Up"]).join(["leg", "spread"]),
            "Leg_Spread"
        );
        assert_eq!(
            style(&["leg left", "mast up"]).join(["leg", "spread"]),
            "leg spread"
        );
        assert_eq!(
            NameStyle::shown_by(["mast", "leg"].into_iter(), |_| true),
            None
        );
    }

    #[test]
    fn a_name_keeps_its_own_spelling_before_a_word() {
        assert_eq!(
            style(&["a.b"]).with_word("Ramp_01", "lower"),
            "Ramp_01.lower"
        );
    }

    #[test]
    fn names_have_words_in_common() {
        assert_eq!(common(&["leg.left", "leg.right"]), "leg");
        assert_eq!(
            common(&["stanchion.front.left", "stanchion.front.right"]),
            "stanchion.front"
        );
        assert_eq!(common(&["legLeft", "legRight"]), "leg");
        assert_eq!(common(&["left_leg", "right_leg"]), "leg");
        assert_eq!(common(&["ramp1", "ramp2"]), "ramp");
        assert_eq!(common(&["mast"]), "mast");
        assert_eq!(common(&["boom", "stick"]), "");
        assert_eq!(common(&[]), "");
        assert_eq!(common(&["", ""]), "");
    }

    #[test]
    fn names_read_as_sentences() {
        assert_eq!(humanised("leg.spread"), "Leg spread");
        assert_eq!(humanised("LegSpread"), "Leg spread");
        assert_eq!(humanised("ramp_01_lower"), "Ramp 01 lower");
        assert_eq!(humanised("LED.turn"), "LED turn");
    }

    #[test]
    fn long_lists_are_cut() {
        let names = |count: usize| (1..=count).map(|at| at.to_string()).collect::<Vec<_>>();
        assert_eq!(listed(&names(1)), "`1`");
        assert_eq!(listed(&names(4)), "`1`, `2`, `3` and `4`");
        assert_eq!(listed(&names(6)), "`1`, `2`, `3` and 3 more");
    }
}
