//! What must hold whatever bytes come: one module for each fuzz target, each with a function that panics where it does not hold.
//!
//! `make fuzz` looks for bytes that break one; `tests/fuzzed.rs` runs the kept corpus through the same functions.

pub mod commands;
pub mod csv;
pub mod photos;
pub mod ratings;
pub mod recurrences;
pub mod scopes;
pub mod tokens;

/// Holds bytes to a property, and panics where it does not hold.
pub type Property = fn(&[u8]);

/// Every target by the name of its binary and of its corpus.
pub const TARGETS: &[(&str, Property)] = &[
    ("commands", commands::hold),
    ("csv", csv::hold),
    ("photos", photos::hold),
    ("ratings", ratings::hold),
    ("recurrences", recurrences::hold),
    ("scopes", scopes::hold),
    ("tokens", tokens::hold),
];

/// The first byte, which says what is done with the rest.
pub(crate) fn cut(bytes: &[u8]) -> Option<(u8, &[u8])> {
    bytes.split_first().map(|(first, rest)| (*first, rest))
}

/// Bytes as text, or nothing where they are none.
pub(crate) fn text(bytes: &[u8]) -> Option<&str> {
    std::str::from_utf8(bytes).ok()
}
