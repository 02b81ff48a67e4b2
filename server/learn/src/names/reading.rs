//! What came of reading places as references.

use super::Form;
use crate::symbols::Symbol;

/// The least share of the names at a place that must lead somewhere.
pub(super) const FITTING: f64 = 0.9;

/// The same for a place that gives no names itself and whose names lead somewhere far more often than chance would have
/// it.
pub(super) const LEAST_FITTING: f64 = 0.65;

/// How much more likely a reference must be than chance, in nats.
pub(super) const LEAST_SCORE: f64 = 6.0;

/// What came of a reading.
#[derive(Clone, Debug)]
pub(super) struct Reading {
    pub form: Form,
    /// The places that give the names.
    pub to: Vec<u32>,
    /// How much more likely this is by reference than by chance, in nats.
    pub score: f64,
    /// Names that lead somewhere.
    pub hits: usize,
    /// Those that do not.
    pub misses: Vec<Miss>,
    /// How many of these count.
    pub counted: usize,
    /// Different names that lead somewhere.
    pub distinct: usize,
    /// Documents with hits.
    pub files: u32,
    /// Names given by elements that refer or define, as they like.
    pub inline: usize,
    /// Whether values of other sorts stand there as well.
    pub mixed: bool,
    /// Whether the names are numbers.
    pub numeric: bool,
    /// Whether the places are called after what they lead to: `carry@wheel` leads to a `wheel`.
    pub called: bool,
}

/// A name that leads nowhere.
#[derive(Clone, Debug)]
pub(super) struct Miss {
    pub document: u32,
    pub line: u32,
    pub value: Symbol,
}

impl Reading {
    /// The share of names that lead somewhere. A document in which none does, since it is broken
    /// or only a part of something, counts a little.
    pub(super) fn fit(&self) -> f64 {
        self.hits as f64 / (self.hits + self.counted).max(1) as f64
    }

    /// Whether it is good enough for references to other documents, of which there are many.
    pub(super) fn reaches(&self) -> bool {
        self.score >= 2.0 * LEAST_SCORE
            && self.fit() >= FITTING
            && self.distinct >= 5
            && (self.files >= 3 || self.called)
            && !self.numeric
            && !self.form.cuts()
    }
}

/// How likely a reference leads nowhere, by mistake or since its target is elsewhere.
pub(super) const STRAY: f64 = 0.03;
