//! The two short forms for cutting: NFPA levels per material, EN 13204 capacity letter.

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use std::cmp::Ordering;

/// Cutting levels of NFPA 1936: 1 to 9 for each material, A round bar, B flat bar, C pipe, D square tube, E angle,
/// and F from a later edition where it was rated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct CuttingLevels {
    a_to_e: [u8; 5],
    f: Option<u8>,
}

/// Why a cutting short form was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CuttingFault(pub String);

impl std::fmt::Display for CuttingFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for CuttingFault {}

impl CuttingLevels {
    /// From levels for A to E and, where rated, F. `None` when a level is not 1 to 9.
    #[must_use]
    pub fn new(a_to_e: [u8; 5], f: Option<u8>) -> Option<Self> {
        a_to_e.iter().chain(f.iter()).all(|level| (1..=9).contains(level)).then_some(Self { a_to_e, f })
    }

    /// Reads the written form with slashes only: `A4/B5/C6/D3/E4`, letters in order, A to E all there, F optional.
    ///
    /// # Errors
    /// When anything else stands there.
    pub fn parse_strict(text: &str) -> Result<Self, CuttingFault> {
        Self::from_parts(text, text.split('/'))
    }

    /// Reads the written form as people type it: slashes, blanks or commas between, any case.
    ///
    /// # Errors
    /// When letters are missing, repeated or out of order, or a level is not 1 to 9.
    pub fn parse(text: &str) -> Result<Self, CuttingFault> {
        let clean = text.trim().to_uppercase();
        Self::from_parts(text, clean.split(['/', ' ', ',']).filter(|part| !part.is_empty()))
    }

    fn from_parts<'a>(text: &str, parts: impl Iterator<Item = &'a str>) -> Result<Self, CuttingFault> {
        let fault = |why: &str| CuttingFault(format!("\"{text}\" is not a cutting-level string: {why}; write A8/B9/C8/D9/E9"));
        let mut levels = Vec::with_capacity(6);
        for (letter, part) in ('A'..='G').zip(parts) {
            let mut chars = part.chars();
            if letter > 'F' || chars.next() != Some(letter) {
                return Err(fault("the letters must be A to E in order, and then at most F"));
            }
            let level = chars.as_str().parse::<u8>().ok().filter(|n| (1..=9).contains(n) && chars.as_str().len() == 1);
            levels.push(level.ok_or_else(|| fault("every level is one digit from 1 to 9"))?);
        }
        match levels.as_slice() {
            [a, b, c, d, e] => Ok(Self {
                a_to_e: [*a, *b, *c, *d, *e],
                f: None,
            }),
            [a, b, c, d, e, f] => Ok(Self {
                a_to_e: [*a, *b, *c, *d, *e],
                f: Some(*f),
            }),
            _ => Err(fault("A to E must all be there")),
        }
    }

    /// Whether a cutter of these levels serves where the others are required: `None` when F is required and was not rated.
    #[must_use]
    pub fn serves(&self, required: &Self) -> Option<bool> {
        if self.a_to_e.iter().zip(required.a_to_e.iter()).any(|(has, needs)| has < needs) {
            return Some(false);
        }
        match (self.f, required.f) {
            (_, None) => Some(true),
            (Some(has), Some(needs)) => Some(has >= needs),
            (None, Some(_)) => None,
        }
    }

    /// The letters that fall short, with the level there is and the level needed (`None`: not rated).
    pub fn short_of(&self, required: &Self) -> impl Iterator<Item = (char, Option<u8>, u8)> {
        let pairs = self.a_to_e.iter().zip(required.a_to_e.iter()).map(|(has, needs)| (Some(*has), *needs));
        let last = required.f.map(|needs| (self.f, needs));
        let all: Vec<_> = ('A'..='F').zip(pairs.chain(last)).collect();
        all.into_iter()
            .filter(|(_, (has, needs))| has.is_none_or(|has| has < *needs))
            .map(|(letter, (has, needs))| (letter, has, needs))
    }
}

impl PartialOrd for CuttingLevels {
    /// A partial order: one is greater only when no letter is less. Without F on both or neither there is no order.
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        match (self.serves(other)?, other.serves(self)?) {
            (true, true) => Some(Ordering::Equal),
            (true, false) => Some(Ordering::Greater),
            (false, true) => Some(Ordering::Less),
            (false, false) => None,
        }
    }
}

impl std::fmt::Display for CuttingLevels {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (i, (letter, level)) in ('A'..='F').zip(self.a_to_e.iter().chain(self.f.iter())).enumerate() {
            write!(f, "{}{letter}{level}", if i == 0 { "" } else { "/" })?;
        }
        Ok(())
    }
}

impl Serialize for CuttingLevels {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for CuttingLevels {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(input)?).map_err(D::Error::custom)
    }
}

/// The capacity letter of EN 13204 up to the 2016 edition: A (least) to K. It is the worst letter over all profiles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CapacityLetter(char);

impl CapacityLetter {
    /// The letter, A to K.
    ///
    /// # Errors
    /// When it is any other text.
    pub fn parse(text: &str) -> Result<Self, CuttingFault> {
        let mut chars = text.trim().chars();
        match (chars.next().map(|c| c.to_ascii_uppercase()), chars.next()) {
            (Some(letter @ 'A'..='K'), None) => Ok(Self(letter)),
            _ => Err(CuttingFault(format!("\"{text}\" is not a capacity letter: write one letter from A to K"))),
        }
    }

    /// The letter.
    #[must_use]
    pub const fn letter(self) -> char {
        self.0
    }

    /// The one letter that stands for several profiles: the worst. `None` for no profile.
    #[must_use]
    pub fn worst(profiles: impl IntoIterator<Item = Self>) -> Option<Self> {
        profiles.into_iter().min()
    }
}

impl std::fmt::Display for CapacityLetter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl Serialize for CapacityLetter {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for CapacityLetter {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(input)?).map_err(D::Error::custom)
    }
}
