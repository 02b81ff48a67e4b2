//! Helpers shared by the acceptance tests.

pub mod outside;
