//! What cannot be computed because of what was handed in.

use std::fmt;

/// Why something handed in cannot be worked with, and what to hand in instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unfit {
    /// Never changes its meaning.
    pub code: &'static str,
    /// For the person who handed it in.
    pub words: String,
}

impl Unfit {
    pub(crate) const fn new(code: &'static str, words: String) -> Self {
        Self { code, words }
    }
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.words)
    }
}

impl std::error::Error for Unfit {}
