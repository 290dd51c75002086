//! Patterns: what the beach gives, and where that is more than luck.
