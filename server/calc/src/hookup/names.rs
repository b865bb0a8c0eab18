//! Names of families as small numbers, so that rigs are compared without looking at letters twice.

use super::{mates::Mates, spelling::fold};

/// A family's number; 0 is "not known", which mates with nothing.
pub(crate) type Family = u16;

/// The family names met so far, and which of them mate.
#[derive(Debug)]
pub(crate) struct Names<'a> {
    spelt: Vec<(&'a str, Family)>,
    folded: Vec<String>,
    mates: &'a Mates,
}

impl<'a> Names<'a> {
    pub(crate) const fn new(mates: &'a Mates) -> Self {
        Self {
            spelt: Vec::new(),
            folded: Vec::new(),
            mates,
        }
    }

    /// The number of a family; 0 for a name that is not written down, or has neither letter nor digit.
    pub(crate) fn number(&mut self, name: Option<&'a str>) -> Family {
        let Some(name) = name else { return 0 };
        if let Some((_, number)) = self.spelt.iter().find(|(known, _)| *known == name) {
            return *number;
        }
        let folded = fold(name);
        let number = if folded.is_empty() {
            0
        } else {
            let at = self.folded.iter().position(|known| *known == folded).unwrap_or_else(|| {
                self.folded.push(folded);
                self.folded.len() - 1
            });
            Family::try_from(at + 1).unwrap_or(0)
        };
        self.spelt.push((name, number));
        number
    }

    /// Whether two families mate: the same one, or two that the agency's list joins.
    pub(crate) fn mate(&self, a: Family, b: Family) -> bool {
        if a == 0 || b == 0 {
            return false;
        }
        let of = |n: Family| self.folded.get(usize::from(n) - 1);
        a == b
            || match (of(a), of(b)) {
                (Some(a), Some(b)) => self.mates.lists(a, b),
                _ => false,
            }
    }
}
