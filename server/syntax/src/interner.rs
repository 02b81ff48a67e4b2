//! Makes tokens, and hands out a token again when the same text comes again: names, indentation and short attributes
//! repeat all through a definition. The memory is small and fixed: a slot per hash, the last token wins.

use rowan::GreenToken;

use crate::kind::Kind;

/// Longer texts hardly repeat.
const LONGEST: usize = 40;

#[derive(Debug)]
pub(crate) struct Interner {
    slots: Vec<Option<GreenToken>>,
}

impl Interner {
    /// An interner for a text of so many bytes.
    pub(crate) fn new(text_len: usize) -> Self {
        let slots = (text_len / 32).clamp(16, 2048).next_power_of_two();
        Self {
            slots: vec![None; slots],
        }
    }

    #[inline]
    pub(crate) fn token(&mut self, kind: Kind, text: &str) -> GreenToken {
        if text.len() > LONGEST {
            return GreenToken::new(kind.raw(), text);
        }
        let slot = hash(kind, text.as_bytes()) as usize & (self.slots.len() - 1);
        match &mut self.slots[slot] {
            Some(token) if token.kind() == kind.raw() && token.text() == text => token.clone(),
            entry => {
                let token = GreenToken::new(kind.raw(), text);
                *entry = Some(token.clone());
                token
            }
        }
    }
}

#[inline]
fn hash(kind: Kind, bytes: &[u8]) -> u64 {
    const MIX: u64 = 0x9E37_79B9_7F4A_7C15;
    let mut hash = (kind as u64) ^ (bytes.len() as u64) << 8;
    let mut words = bytes.chunks_exact(8);
    for word in &mut words {
        let mut eight = [0; 8];
        eight.copy_from_slice(word);
        hash = (hash.rotate_left(5) ^ u64::from_le_bytes(eight)).wrapping_mul(MIX);
    }
    let mut last = [0; 8];
    last[..words.remainder().len()].copy_from_slice(words.remainder());
    hash = (hash.rotate_left(5) ^ u64::from_le_bytes(last)).wrapping_mul(MIX);
    hash ^ hash >> 32
}
