//! What a library of files shows: kinds of documents, grammar, values, names and references,
//! roles; and how others did the thing at hand.
//!
//! Documents are read into a [`Corpus`] once; everything is inferred from its tables.

mod contexts;
mod corpus;
pub mod names;
mod survey;
mod symbols;

pub use contexts::{ContextId, Contexts};
pub use corpus::{Attribute, Corpus, Document, Element, Source};
pub use survey::{Group, Seen, Slot, Survey};
pub use symbols::{Symbol, Symbols};
