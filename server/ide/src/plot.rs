//! Pictures of a machine's motion, as SVG: curves over time, and outlines at both ends.
//!
//! The same input gives the same bytes. Colours are CSS custom properties that follow the reader's choice of light or
//! dark, with presentation attributes for programs that know neither; nothing is told by colour alone. Names stand
//! in text nodes only, never in attributes, ids or styles.

mod canvas;
mod curves;
mod outline;
mod panel;
mod scale;
mod series;
#[cfg(test)]
mod tests;

pub use curves::curves;
pub use outline::{Ends, outline};

/// An SVG document, and what it leaves out, in sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    pub svg: String,
    pub notes: Vec<String>,
}
