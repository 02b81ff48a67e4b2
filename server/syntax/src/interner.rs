//! Makes tokens, and hands out a token again when the same text comes again: names, indentation and short attributes
//! repeat all through a definition. The memory is small and fixed: a slot per hash, the last token wins.

use rowan::GreenToken;

use crate::kind::Kind;

/// Longer texts hardly repeat.
const LONGEST: usize = 40;

#[derive(Debug)]
pub(crate) struct Interner {
    /// The hash beside the token spares a look at a token that is another.
    slots: Vec<(u64, Option<GreenToken>)>,
}

impl Interner {
    /// An interner for a text of so many bytes.
    pub(crate) fn new(text_len: usize) -> Self {
        let slots = (text_len / 32).clamp(16, 2048).next_power_of_two();
        Self {
            slots: vec![(0, None); slots],
        }
    }

    #[inline]
    pub(crate) fn token(&mut self, kind: Kind, text: &str) -> GreenToken {
        if text.len() > LONGEST {
            return GreenToken::new(kind.raw(), text);
        }
        let hash = hash(kind, text.as_bytes());
        let slot = hash as usize & (self.slots.len() - 1);
        match &mut self.slots[slot] {
            (known, Some(token))
                if *known == hash && token.kind() == kind.raw() && token.text() == text =>
            {
                token.clone()
            }
            entry => {
                let token = GreenToken::new(kind.raw(), text);
                *entry = (hash, Some(token.clone()));
                token
            }
        }
    }
}

#[inline]
fn hash(kind: Kind, bytes: &[u8]) -> u64 {
    const MIX: u64 = 0x9E37_79B9_7F4A_7C15;
    let add = |hash: u64, word: u64| (hash.rotate_left(5) ^ word).wrapping_mul(MIX);
    let mut hash = (kind as u64) ^ (bytes.len() as u64) << 8;
    let mut rest = bytes;
    while let Some((word, more)) = rest
        .split_first_chunk::<8>()
        .filter(|(_, more)| !more.is_empty())
    {
        hash = add(hash, u64::from_le_bytes(*word));
        rest = more;
    }
    // The last word may overlap the one before it: that is quicker than padding.
    let last = match (
        bytes.last_chunk::<8>(),
        rest.first_chunk::<4>(),
        rest.last_chunk::<4>(),
    ) {
        (Some(word), ..) => u64::from_le_bytes(*word),
        (None, Some(first), Some(last)) => {
            u64::from(u32::from_le_bytes(*first)) << 32 | u64::from(u32::from_le_bytes(*last))
        }
        _ => rest
            .iter()
            .fold(0, |word, &byte| word << 8 | u64::from(byte)),
    };
    hash = add(hash, last);
    hash ^ hash >> 32
}
