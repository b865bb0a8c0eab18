//! What the register knows of the piece that is checked. What is `None` or not in a list is not known.

use crate::plan::Drive;
use chrono::NaiveDate;
use fullset_calc::{
    ratings::{Gear, Ratings},
    release::Measure,
    units::Quantity,
};
use serde::{Deserialize, Serialize};

/// What sort of value: a measure, or for *other* the step that asks for it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = ReadingSort))]
pub struct Sort {
    /// The measure; for `other`, the step tells which.
    pub measure: Measure,
    /// The id of the step, for *other*; `None` else, so that one measure is one sort in every plan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
}

impl Sort {
    /// The sort of a measure in a step of that id.
    #[must_use]
    pub fn of(measure: Measure, step: &str) -> Self {
        Self {
            measure,
            step: (measure == Measure::Other).then(|| step.to_owned()),
        }
    }
}

/// A value of this piece's acceptance test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = KnownReading))]
pub struct KnownReading {
    /// What was measured at the acceptance test.
    pub sort: Sort,
    /// The value that the acceptance test showed, with its unit.
    pub value: Quantity,
}

/// What the maker names for the model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct MakersBound {
    /// What the limit is of; the maker names one limit for each.
    pub sort: Sort,
    /// The least that a reading must be, not below zero; null: the maker names none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min: Option<Quantity>,
    /// The most that a reading may be, not below the least; null: the maker names none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max: Option<Quantity>,
}

/// A reading of an earlier check of this piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = EarlierReading))]
pub struct Earlier {
    /// What was measured at the earlier check.
    pub sort: Sort,
    /// The day of the check.
    pub on: NaiveDate,
    /// The value that was read then, with its unit.
    pub value: Quantity,
}

/// The piece, as far as a check asks for it.
#[derive(Debug, Clone, Copy)]
pub struct Facts<'a> {
    /// What its plate rates it for.
    pub ratings: &'a Ratings,
    /// Operating pressure of a source, allowable one of a hose, rated one of a tool.
    pub nominal: Option<Quantity>,
    /// What drives the piece; `None`: not known.
    pub drive: Option<Drive>,
    /// Which accessory it is.
    pub gear: Option<Gear>,
    /// Whether the pump has a dump valve.
    pub dump_valve: Option<bool>,
    /// The values of its acceptance test, against which later ones are held.
    pub baseline: &'a [KnownReading],
    /// What its maker names.
    pub makers_bounds: &'a [MakersBound],
    /// Readings of earlier checks, in any order.
    pub earlier: &'a [Earlier],
}
