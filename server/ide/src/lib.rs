//! Editor features: pure functions over a snapshot. No I/O, no protocol, no
//! clocks: offsets in, plain values out.

pub mod assists;
pub mod checks;
pub mod closing;
pub mod codes;
pub mod colours;
pub mod completion;
pub mod definition;
mod figures;
pub mod file_moves;
mod file_names;
mod finding;
#[cfg(test)]
mod fixture;
pub mod folding;
pub mod highlight;
pub mod hover;
pub mod inlay;
pub mod lens;
pub mod linked_editing;
pub mod links;
mod location;
mod measures;
mod motions;
mod name_places;
mod node_names;
mod node_paths;
mod nodes;
mod occurrences;
mod open_elements;
mod owners;
pub mod plot;
pub mod precedents;
mod prose;
#[cfg(test)]
mod random;
pub mod references;
pub mod rename;
pub mod repath;
pub mod selection;
mod shared_names;
pub mod signature;
mod spot;
pub mod symbols;
mod template;
pub mod tokens;
pub mod workspace_symbols;
mod writer;

pub use finding::{Finding, Fix, Related, Severity, Trust};
pub use location::Location;
pub use prose::{Line, Prose};
pub use shared_names::SharedName;
pub use template::{Piece, Template};
