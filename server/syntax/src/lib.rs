//! Text to lossless XML tree: lexer, parser, incremental edit, positions, text edits.
//!
//! XML 1.0 (fifth edition) with Namespaces; no dialect, no protocol. `parse` takes any text and gives a tree whose text
//! is that text, with the errors beside it. The views (`Element`, `Attribute`, `Item`) walk the tree with byte offsets
//! into the text.

mod attribute;
mod chars;
pub mod decode;
mod doctype;
mod edits;
mod element;
mod error;
pub mod escape;
mod incremental;
mod interner;
mod item;
mod kind;
mod markup;
pub mod namespaces;
mod parser;
mod place;
mod plain_tag;
mod portions;
mod positions;
mod reference;
mod source;
mod style;
mod tag;
mod text_element;
mod tree;
mod value;
mod wide;
mod words;

pub use attribute::{Attribute, Attributes};
pub use edits::{Change, EditError, TextEdit, apply};
pub use element::{Children, Element, EndTag};
pub use error::{Fix, FormCode, FormError};
pub use item::{Item, Items, Token};
pub use parser::{Far, Near, in_two};
pub use place::Place;
pub use portions::{Identity, Portion};
pub use positions::{Encoding, LineIndex, Position, PositionError};
pub use rowan::{TextRange, TextSize};
pub use source::{Nearby, Source};
pub use style::Style;
pub use tree::{Tree, parse};
pub use words::may_hold_forbidden;
