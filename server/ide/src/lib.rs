//! Editor features: pure functions over a snapshot. No I/O, no protocol, no
//! clocks: offsets in, plain values out.

pub mod checks;
pub mod codes;
mod finding;

pub use finding::{Finding, Fix, Related, Severity, Trust};
