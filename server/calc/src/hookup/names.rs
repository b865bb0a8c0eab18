//! Names of families as small numbers, so that rigs are compared without looking at letters twice.

use super::{mates::Mates, spelling::fold};
use crate::sets::pick;

/// A family's number; 0 is "not known", which mates with nothing.
pub(crate) type Family = u16;

/// The family names met so far, and which of them mate.
#[derive(Debug)]
pub(crate) struct Names<'a> {
    spelt: Vec<(&'a str, Family)>,
    folded: Vec<String>,
    pub(super) joints: Joints,
    mates: &'a Mates,
}

impl<'a> Names<'a> {
    pub(crate) const fn new(mates: &'a Mates) -> Self {
        Self {
            spelt: Vec::new(),
            folded: Vec::new(),
            joints: Joints(Vec::new()),
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
            let at = self.place(&folded).unwrap_or_else(|| self.add(folded));
            Family::try_from(at + 1).unwrap_or(0)
        };
        self.spelt.push((name, number));
        number
    }

    fn place(&self, folded: &str) -> Option<usize> {
        self.folded.iter().position(|known| known == folded)
    }

    fn add(&mut self, folded: String) -> usize {
        let at = self.folded.len();
        let mates: Vec<usize> = self.mates.of(&folded).filter_map(|other| self.place(other)).collect();
        self.folded.push(folded);
        self.joints.0.push(Vec::new());
        for other in mates {
            self.joints.join(at, other);
            self.joints.join(other, at);
        }
        at
    }

    /// Whether two families mate.
    pub(crate) fn mate(&self, a: Family, b: Family) -> bool {
        self.joints.mate(a, b)
    }
}

/// Which families mate. Of each: the others that the agency's list joins it with, as bits; empty where it joins it with none.
#[derive(Debug, Clone, Default)]
pub(crate) struct Joints(Vec<Vec<u64>>);

impl Joints {
    fn join(&mut self, one: usize, other: usize) {
        let Some(bits) = self.0.get_mut(one) else { return };
        if bits.len() <= other / 64 {
            bits.resize(other / 64 + 1, 0);
        }
        if let Some(word) = bits.get_mut(other / 64) {
            *word |= 1 << (other % 64);
        }
    }

    /// Whether two families mate: the same one, or two that the agency's list joins.
    pub(crate) fn mate(&self, a: Family, b: Family) -> bool {
        if a == 0 || b == 0 {
            return false;
        }
        let (one, other) = (usize::from(a) - 1, usize::from(b) - 1);
        a == b || self.0.get(one).is_some_and(|bits| pick(bits, other / 64) >> (other % 64) & 1 != 0)
    }
}
