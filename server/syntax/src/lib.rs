//! Text to lossless XML tree: lexer, parser, incremental edit, positions, text edits.

pub mod decode;
mod edits;
pub mod escape;
mod positions;

pub use edits::{Change, EditError, TextEdit, apply};
pub use positions::{Encoding, LineIndex, Position, PositionError};
pub use rowan::{TextRange, TextSize};
