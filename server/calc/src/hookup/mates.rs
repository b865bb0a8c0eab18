//! Which coupling families mate, by the agency's own list.

use serde::{Deserialize, Serialize};

/// A coupling name as it is compared: lower case, letters and digits alone, so that two spellings are one family.
#[must_use]
pub fn fold(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// Pairs of coupling families that mate beside each with itself, and families whose joints may be made under pressure.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Mates {
    pairs: Vec<(String, String)>,
    under_pressure: Vec<String>,
}

impl Mates {
    /// From pairs of names, in either order, and the names of families that may be joined under pressure.
    #[must_use]
    pub fn new<'n>(pairs: impl IntoIterator<Item = (&'n str, &'n str)>, under_pressure: impl IntoIterator<Item = &'n str>) -> Self {
        Self {
            pairs: pairs.into_iter().map(|(a, b)| (fold(a), fold(b))).collect(),
            under_pressure: under_pressure.into_iter().map(fold).collect(),
        }
    }

    /// Whether two families mate.
    #[must_use]
    pub fn mate(&self, a: &str, b: &str) -> bool {
        let (a, b) = (fold(a), fold(b));
        !a.is_empty() && !b.is_empty() && (a == b || self.lists(&a, &b))
    }

    /// Whether the list joins two names that are folded already.
    pub(crate) fn lists(&self, a: &str, b: &str) -> bool {
        self.pairs.iter().any(|(x, y)| (x == a && y == b) || (x == b && y == a))
    }

    /// Whether a joint of that family may be made under pressure; what is not known may not.
    #[must_use]
    pub fn may_join_under_pressure(&self, family: &str) -> bool {
        self.under_pressure.contains(&fold(family))
    }
}
