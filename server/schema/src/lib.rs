//! Dialects out of XML Schema, and XML Schema and RELAX NG out of dialects.
//!
//! Text in, text out. Whatever one language says and the other cannot is loosened, so that valid documents stay valid,
//! and told in a [`Note`].

mod classes;
mod export;
mod import;
mod note;

pub use export::{Exported, Language, export};
pub use import::{File, ImportError, Imported, import};
pub use note::Note;
