//! The agency's list of coupling families: what else a family is called, and which families mate.

use super::spelling::fold;
use serde::{Deserialize, Serialize};

/// Whether a joint may be made while the line is under pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum UnderPressure {
    /// It may.
    Yes,
    /// The line is relieved first.
    No,
    /// Nobody has said so: taken as *relieved first*.
    #[default]
    Unknown,
}

/// One family of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CouplingFamily {
    /// Its name, as models carry it.
    pub name: String,
    /// What else people write for it.
    pub spellings: Vec<String>,
    /// Names of families, besides its own, that it mates with. Said on one side it holds on both.
    pub mates_with: Vec<String>,
    /// Whether its joints may be made under pressure.
    pub under_pressure: UnderPressure,
}

/// The list, with every name and spelling folded: which family a written name means. Which families mate is in
/// [`Mates`](super::Mates), which is made from it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Couplings {
    families: Vec<CouplingFamily>,
    /// Folded names and spellings, each with the place of its family.
    keys: Vec<(String, usize)>,
}

impl Couplings {
    /// The list of these families.
    #[must_use]
    pub fn new(families: Vec<CouplingFamily>) -> Self {
        let mut keys: Vec<(String, usize)> = families
            .iter()
            .enumerate()
            .flat_map(|(at, family)| std::iter::once(&family.name).chain(&family.spellings).map(move |name| (fold(name), at)))
            .filter(|(key, _)| !key.is_empty())
            .collect();
        keys.sort();
        Self { families, keys }
    }

    /// The families, in the order in which they were given.
    #[must_use]
    pub fn families(&self) -> &[CouplingFamily] {
        &self.families
    }

    /// The family that a written name means.
    #[must_use]
    pub fn find(&self, written: &str) -> Option<&CouplingFamily> {
        let key = fold(written);
        let found = self.keys.binary_search_by(|(known, _)| known.as_str().cmp(&key)).ok()?;
        self.keys.get(found).and_then(|(_, at)| self.families.get(*at))
    }

    /// The names of the list that are written most like this one, the nearest first.
    #[must_use]
    pub fn nearest(&self, written: &str, most: usize) -> Vec<&str> {
        let wanted: Vec<char> = fold(written).chars().take(FOLDED).collect();
        let mut near: Vec<(usize, &str)> = self
            .families
            .iter()
            .map(|family| {
                let names = std::iter::once(&family.name).chain(&family.spellings);
                let least = names.map(|name| distance(&wanted, &fold(name).chars().take(FOLDED).collect::<Vec<_>>())).min();
                (least.unwrap_or(usize::MAX), family.name.as_str())
            })
            .collect();
        near.sort_unstable();
        near.into_iter().take(most).map(|(_, name)| name).collect()
    }
}

/// So many signs of a name are compared.
const FOLDED: usize = 60;

/// Signs to put in, take out or change to turn one name into the other (Levenshtein).
fn distance(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, own) in a.iter().enumerate() {
        let mut before = i;
        let mut left = i + 1;
        let mut next = vec![left];
        for (other, above) in b.iter().zip(row.iter().skip(1)) {
            left = (before + usize::from(own != other)).min(above + 1).min(left + 1);
            before = *above;
            next.push(left);
        }
        row = next;
    }
    row.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn family(name: &str, spellings: &[&str], mates_with: &[&str], under_pressure: UnderPressure) -> CouplingFamily {
        let texts = |texts: &[&str]| texts.iter().map(|t| (*t).to_owned()).collect();
        CouplingFamily {
            name: name.into(),
            spellings: texts(spellings),
            mates_with: texts(mates_with),
            under_pressure,
        }
    }

    fn list() -> Couplings {
        Couplings::new(vec![
            family("one-push coax", &["coax, new", "OP-1"], &["flat-face single"], UnderPressure::Yes),
            family("flat-face single", &[], &[], UnderPressure::Yes),
            family("twin-line", &["twin screw"], &[], UnderPressure::No),
            family("bayonet", &[], &[], UnderPressure::Unknown),
        ])
    }

    #[test]
    fn a_family_is_found_by_its_name_and_its_spellings() {
        let list = list();
        for written in ["one push coax", "One-Push  Coax", "coax new", "op1"] {
            assert_eq!(list.find(written).map(|f| f.name.as_str()), Some("one-push coax"), "{written}");
        }
        assert_eq!(list.find("coax"), None);
        assert_eq!(list.find(" - "), None);
    }

    #[test]
    fn the_nearest_names_are_offered_first() {
        assert_eq!(list().nearest("bayonette", 1), ["bayonet"]);
        assert_eq!(list().nearest("twin scrw", 2).first(), Some(&"twin-line"));
        assert_eq!(list().nearest("x", 9).len(), 4);
        let word = |text: &str| text.chars().collect::<Vec<_>>();
        for (a, b, apart) in [
            ("kitten", "sitting", 3),
            ("", "abc", 3),
            ("abc", "", 3),
            ("flaw", "lawn", 2),
            ("same", "same", 0),
        ] {
            assert_eq!(distance(&word(a), &word(b)), apart);
        }
    }
}
