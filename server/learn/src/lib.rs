//! What a library of files shows: kinds of documents, grammar, values, names and references,
//! roles; and how others did the thing at hand.
//!
//! Documents are read into a [`Corpus`] once; everything is inferred from its tables.

pub mod again;
mod choices;
mod colours;
mod content;
mod contexts;
mod corpus;
mod exceptions;
mod files;
mod forms;
mod habits;
mod keys;
mod kinds;
mod musts;
pub mod names;
mod node_names;
mod node_paths;
mod ordered;
mod orders;
mod own;
pub mod pattern;
pub mod precedents;
pub mod report;
pub mod roles;
mod rules;
mod scenes;
mod separators;
mod sets;
mod settings;
mod shapes;
mod sorts;
mod spread;
mod stored;
mod structure;
mod surroundings;
mod survey;
mod symbols;
mod told;
mod types;
mod usual;
mod values;
mod words;
pub mod write;
mod xml;

pub use contexts::{ContextId, Contexts};
pub use corpus::{Attribute, Corpus, Document, Element, Source};
pub use forms::Place;
pub use habits::Habits;
pub use precedents::Precedents;
pub use rules::{Child, Choice, Content};
pub use settings::Settings;
pub use shapes::Marks;
pub use stored::FORMAT as STORED_FORMAT;
pub use structure::{DocumentForm, ElementForm, Structure, ValueForm};
pub use surroundings::Surroundings;
pub use survey::{Group, Seen, Slot, Survey};
pub use symbols::{Symbol, Symbols};
pub use values::{Tally, Values};
