//! Nodes by their names, as people spell names.

use foldhash::HashMap;
use scene::{NodeIndex, Scene};

/// The nodes of a scene by plain name.
#[derive(Debug, Default)]
pub(crate) struct NodeNames {
    /// None: there are several.
    nodes: HashMap<String, Option<NodeIndex>>,
}

impl NodeNames {
    pub(crate) fn of(scene: &Scene) -> Self {
        let mut nodes: HashMap<String, Option<NodeIndex>> = HashMap::default();
        for id in scene.ids() {
            let name = plain(&scene[id].name);
            nodes
                .entry(name)
                .and_modify(|known| *known = None)
                .or_insert(Some(id));
        }
        Self { nodes }
    }

    /// The node of this name, if there is one and no other.
    pub(crate) fn only(&self, name: &str) -> Option<NodeIndex> {
        self.nodes.get(&plain(name)).copied().flatten()
    }
}

/// A name without case and punctuation: `Leg_Left` and `leg.left` are meant to be the same.
pub(crate) fn plain(name: &str) -> String {
    letters(name).collect()
}

/// Whether two names are the same without case and punctuation.
pub(crate) fn are_alike(one: &str, other: &str) -> bool {
    if one == other {
        return true;
    }
    if one.is_ascii() && other.is_ascii() {
        // Nearly all; each alias is asked.
        return are_alike_in_ascii(one.as_bytes(), other.as_bytes());
    }
    letters(one).eq(letters(other))
}

fn are_alike_in_ascii(mut one: &[u8], mut other: &[u8]) -> bool {
    loop {
        match (next_letter(&mut one), next_letter(&mut other)) {
            (None, None) => return true,
            (one, other) if one == other => {}
            _ => return false,
        }
    }
}

/// Takes the first letter or digit, and what stands before it, off a name.
#[inline]
fn next_letter(name: &mut &[u8]) -> Option<u8> {
    while let Some((&first, rest)) = name.split_first() {
        *name = rest;
        let plain = PLAIN[usize::from(first)];
        if plain != 0 {
            return Some(plain);
        }
    }
    None
}

/// By byte: the letter in lower case, or the digit; 0 if it is neither.
const PLAIN: [u8; 256] = {
    let mut plain = [0; 256];
    let mut byte = 0_u8;
    while byte.is_ascii() {
        if byte.is_ascii_alphanumeric() {
            plain[byte as usize] = byte.to_ascii_lowercase();
        }
        byte += 1;
    }
    plain
};

/// What is left of a name without case and punctuation.
pub(crate) fn letters(name: &str) -> impl Iterator<Item = char> {
    let letters = name.chars().filter(|c| c.is_alphanumeric());
    letters.flat_map(char::to_lowercase)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    #[test]
    fn names_in_ascii_are_compared_like_others() {
        assert!(are_alike("Leg_Left", "leg.left") && !are_alike("leg.left", "leg.left2"));
        assert!(are_alike("", "-._") && !are_alike("", "a"));
        let mut random = Random::new(11);
        let letters_of = |random: &mut Random| -> String {
            let letter = |_| ["a", "A", "1", "_", ".", "z", "\u{7f}", "@"][random.below(8)];
            (0..4).map(letter).collect()
        };
        let mut alike = 0;
        for _ in 0..20_000 {
            let (one, other) = (letters_of(&mut random), letters_of(&mut random));
            let expected = letters(&one).eq(letters(&other));
            assert_eq!(are_alike(&one, &other), expected, "{one:?} {other:?}");
            alike += usize::from(expected);
        }
        assert!(alike > 100, "{alike}");
    }
}
