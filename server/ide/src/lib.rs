//! Editor features: pure functions over a snapshot.
