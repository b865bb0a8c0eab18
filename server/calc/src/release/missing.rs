use super::{Measure, Signature};
use crate::units::Quantity;
use serde::{Deserialize, Serialize};

/// What sort of thing is missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum MissingWhat {
    /// A reading that was not taken.
    Reading,
    /// A reading that is out of its limits.
    OutOfLimit,
    /// The word of somebody with another role.
    Signature,
    /// The manual's passage.
    Manual,
    /// The paper of the maker's service.
    MakersService,
    /// What was found and done, in words.
    Note,
    /// The date of make of a hose.
    DateOfMake,
    /// Nothing returns this piece: its case ends in retirement.
    Retirement,
}

/// One thing that stands between a piece and its return.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Missing {
    /// What sort of thing.
    pub what: MissingWhat,
    /// The reading that is missing or out of its limits; null where it is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measure: Option<Measure>,
    /// The least that it must be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<Quantity>,
    /// The most that it may be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<Quantity>,
    /// Whose word it takes, where a signature is missing; null for all else.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signs: Option<Signature>,
    /// What is missing and what to do, in words.
    pub words: String,
}

impl Missing {
    /// One that is said in words alone.
    #[must_use]
    pub fn new(what: MissingWhat, words: impl Into<String>) -> Self {
        Self {
            what,
            measure: None,
            low: None,
            high: None,
            signs: None,
            words: words.into(),
        }
    }
}
