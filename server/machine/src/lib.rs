//! What one definition means, read off its tree through a dialect's roles.
