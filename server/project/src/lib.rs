//! Mods on disk and open documents: one snapshot of all that is known.
