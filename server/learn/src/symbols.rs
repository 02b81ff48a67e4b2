//! Texts that occur again and again, kept once each.

use foldhash::HashMap;
use foldhash::HashMapExt as _;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// A text of a [`Symbols`] table. Equal texts of one table have equal symbols.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Symbol(u32);

impl Symbol {
    /// The empty text, in every table.
    pub const EMPTY: Symbol = Symbol(0);

    /// Its place in the table, from 0: an index for tables kept beside it.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// Texts and their symbols.
#[derive(Clone, Debug)]
pub struct Symbols {
    texts: Vec<Arc<str>>,
    known: HashMap<Arc<str>, Symbol>,
}

impl Default for Symbols {
    fn default() -> Self {
        let mut symbols = Self {
            texts: Vec::new(),
            known: HashMap::new(),
        };
        symbols.add("");
        symbols
    }
}

impl Symbols {
    /// The symbol of a text; a new one if the text is new.
    pub fn add(&mut self, text: &str) -> Symbol {
        if let Some(symbol) = self.known.get(text) {
            return *symbol;
        }
        let symbol = Symbol(self.texts.len() as u32);
        let text: Arc<str> = text.into();
        self.texts.push(text.clone());
        self.known.insert(text, symbol);
        symbol
    }

    /// The symbol of a text that is known already.
    pub fn find(&self, text: &str) -> Option<Symbol> {
        self.known.get(text).copied()
    }

    /// The text of one of this table's symbols.
    pub fn text(&self, symbol: Symbol) -> &str {
        &self.texts[symbol.index()]
    }

    /// How many texts there are.
    pub fn len(&self) -> usize {
        self.texts.len()
    }

    /// Whether nothing but the empty text is known.
    pub fn is_empty(&self) -> bool {
        self.len() <= 1
    }

    /// All texts, in the order of their symbols.
    pub(crate) fn texts(&self) -> impl Iterator<Item = &str> {
        self.texts.iter().map(AsRef::as_ref)
    }

    /// Adds all texts of another table. The result leads from the other's symbols, by
    /// [`Symbol::index`], to this one's.
    pub(crate) fn take_in(&mut self, other: &Symbols) -> Vec<Symbol> {
        other.texts.iter().map(|text| self.add(text)).collect()
    }
}
