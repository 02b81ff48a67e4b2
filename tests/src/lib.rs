//! Helpers shared by the acceptance tests.

pub mod client;
pub mod metamodel;
pub mod outside;
pub mod program;
