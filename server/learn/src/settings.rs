//! What may be set.

use crate::roles::Verdicts;

/// How boldly things are inferred.
#[derive(Clone, Debug)]
pub struct Settings {
    /// A list of words counts as closed if the chance that the next file brings a new word is at most
    /// this: 0 takes no list for closed, 1 every one.
    pub new_word: f64,
    /// How sure it must be that something has to be there before it is called required, from 0 to 1: 0 calls so what no
    /// element lacks that was seen, 1 only what is in all of many files.
    pub required: f64,
    /// What a person said about roles.
    pub verdicts: Verdicts,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            new_word: 0.1,
            required: 0.75,
            verdicts: Verdicts::default(),
        }
    }
}
