//! What a definition may contain: grammar, notation, roles; the house dialect.
