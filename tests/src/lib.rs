//! Helpers shared by the acceptance tests.
