//! What a library of files shows: kinds of documents, grammar, values, names and references,
//! roles; and how others did the thing at hand.
//!
//! Documents are read into a [`Corpus`] once; everything is inferred from its tables.

mod contexts;
mod corpus;
pub mod names;
pub mod precedents;
mod stored;
mod survey;
mod symbols;
mod xml;

pub use contexts::{ContextId, Contexts};
pub use corpus::{Attribute, Corpus, Document, Element, Source};
pub use precedents::Precedents;
pub use stored::FORMAT as STORED_FORMAT;
pub use survey::{Group, Seen, Slot, Survey};
pub use symbols::{Symbol, Symbols};
