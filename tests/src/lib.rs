//! Helpers shared by the acceptance tests.

pub mod abilities;
pub mod client;
pub mod desk;
pub mod generate;
pub mod memory;
pub mod metamodel;
pub mod numbers;
pub mod outside;
pub mod program;
pub mod sarif;
pub mod system_calls;
pub mod tour;
pub mod trees;
pub mod yard;
