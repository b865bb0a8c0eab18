//! Which coupling families mate, by the agency's own list.

use super::couplings::{Couplings, UnderPressure};
use super::spelling::{fold, is_name};
use serde::{Deserialize, Serialize};

/// Pairs of coupling families that mate beside each with itself, and families whose joints may be made under pressure.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Mates {
    pairs: Vec<(String, String)>,
    under_pressure: Vec<String>,
}

impl From<&Couplings> for Mates {
    fn from(list: &Couplings) -> Self {
        let families = list.families();
        let pairs = families
            .iter()
            .flat_map(|family| family.mates_with.iter().map(|other| (family.name.as_str(), other.as_str())));
        let dry = families.iter().filter(|family| family.under_pressure == UnderPressure::Yes);
        Self::new(pairs, dry.map(|family| family.name.as_str()))
    }
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
        if a == b {
            return is_name(a);
        }
        let (a, b) = (fold(a), fold(b));
        !a.is_empty() && !b.is_empty() && (a == b || self.of(&a).any(|mate| mate == b))
    }

    /// The names that the list joins with one; all folded.
    pub(crate) fn of<'m>(&'m self, folded: &'m str) -> impl Iterator<Item = &'m str> {
        self.pairs.iter().filter_map(move |(one, other)| {
            if one == folded {
                Some(other.as_str())
            } else {
                (other == folded).then_some(one.as_str())
            }
        })
    }

    /// Whether a joint of that family may be made under pressure; what is not known may not.
    #[must_use]
    pub fn may_join_under_pressure(&self, family: &str) -> bool {
        self.under_pressure.contains(&fold(family))
    }
}

#[cfg(test)]
mod tests {
    use super::{super::couplings::CouplingFamily, *};

    fn mates() -> Mates {
        let family = |name: &str, mates_with: &[&str], under_pressure| CouplingFamily {
            name: name.into(),
            spellings: Vec::new(),
            mates_with: mates_with.iter().map(|name| (*name).to_owned()).collect(),
            under_pressure,
        };
        Mates::from(&Couplings::new(vec![
            family("one-push coax", &["flat-face single"], UnderPressure::Yes),
            family("flat-face single", &[], UnderPressure::Yes),
            family("twin-line", &[], UnderPressure::No),
            family("bayonet", &[], UnderPressure::Unknown),
        ]))
    }

    #[test]
    fn what_one_side_names_mates_on_both_and_nothing_else_does() {
        let list = mates();
        for (a, b, mate) in [
            ("one-push coax", "flat face single", true),
            ("FLAT-FACE SINGLE", "one push coax", true),
            ("twin-line", "Twin Line", true),
            ("twin-line", "bayonet", false),
            ("flat-face single", "twin-line", false),
            ("unheard of", "bayonet", false),
            (" - ", " - ", false),
            ("", "", false),
        ] {
            assert_eq!((list.mate(a, b), list.mate(b, a)), (mate, mate), "{a} and {b}");
        }
    }

    #[test]
    fn what_nobody_has_said_of_a_family_is_not_joined_under_pressure() {
        let list = mates();
        let may = ["one push coax", "flat-face single", "twin-line", "bayonet", "unheard of", ""].map(|name| list.may_join_under_pressure(name));
        assert_eq!(may, [true, true, false, false, false, false]);
    }
}
