//! The answer, in the shape in which it is stored and sent.

use super::input::Need;
use crate::ratings::{Figure, Kind};
use crate::units::Quantity;
use chrono::{DateTime, Datelike, Timelike, Utc};
use serde::{Deserialize, Serialize, Serializer};
use uuid::Uuid;

/// Capability of a rig.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Level {
    /// Cannot start an extrication, or nobody knows.
    None,
    /// Can start one.
    Limited,
    /// Can do all that the complement asks.
    Full,
}

impl Level {
    /// The word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Limited => "limited",
            Self::None => "none",
        }
    }
}

/// The whole answer about one rig at one instant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Assessment {
    /// Full, limited or none.
    pub level: Level,
    /// The first future instant at which this answer changes if nobody does anything; `None`: it stands.
    #[serde(serialize_with = "maybe_instant")]
    pub holds_until: Option<DateTime<Utc>>,
    /// How many tools can run at once.
    pub simultaneous: u32,
    /// How many must, for full.
    pub simultaneous_min: u32,
    /// How many pieces, whichever they are, the rig can lose without dropping a level; `None` at level none.
    pub margin: Option<u32>,
    /// True when the margin is at least the one stated, but was not followed further.
    #[serde(default)]
    pub margin_at_least: bool,
    /// The single pieces whose loss drops the level.
    pub critical: Vec<Uuid>,
    /// One for each slot, in the order of the complement.
    pub fillings: Vec<Filling>,
    /// One for each slot that is not filled, in the order of the complement.
    pub gaps: Vec<Gap>,
    /// The smallest set of acts that makes the rig full; empty when it is, or when nothing can.
    pub restore: Vec<Act>,
    /// False when a smaller set than `restore` could not be ruled out within the work allowed.
    #[serde(default = "yes")]
    pub restore_is_smallest: bool,
    /// What holds the level down beside the slots, in words.
    pub also: Vec<String>,
    /// What is to be known of pieces aboard without holding the level down: a check that is overdue within its grace.
    #[serde(default)]
    pub remarks: Vec<String>,
}

const fn yes() -> bool {
    true
}

/// A slot with the piece in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Filling {
    /// The slot.
    pub slot: String,
    /// The piece that fills it; `None`: empty.
    pub piece: Option<Uuid>,
    /// How a tool in it is driven; `None` for what needs no hook-up or carries its own pack.
    pub via: Option<Via>,
}

/// The hook-up of a tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Via {
    /// From a source through a hose.
    Hose {
        /// The source.
        source: Uuid,
        /// The hose.
        hose: Uuid,
    },
    /// From a battery pack.
    Battery {
        /// The pack.
        battery: Uuid,
    },
}

/// An empty slot, and why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Gap {
    /// The slot.
    pub slot: String,
    /// How much it is needed.
    pub need: Need,
    /// Why, in words.
    pub words: Vec<String>,
    /// Why, as data: every piece aboard that might have filled it, and what kept it from that.
    pub near: Vec<Near>,
    /// Slots that compete for too few pieces, this one among them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compete: Option<Compete>,
}

/// Slots that compete for the same pieces.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Compete {
    /// The slots, in the order of the complement.
    pub slots: Vec<String>,
    /// Every piece that fits any of them: fewer than the slots.
    pub pieces: Vec<Uuid>,
}

/// What keeps a piece from filling a slot. Codes never change their meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum NearCode {
    /// No piece of a fitting kind is aboard.
    NoneAboard,
    /// The piece is out of service.
    OutOfService,
    /// A stop-use notice hits it.
    StopUse,
    /// Its service life has ended.
    LifeEnded,
    /// Nobody knows when its service life ends.
    LifeUnknown,
    /// A check is overdue beyond the grace.
    CheckOverdue,
    /// A rating is below the slot's minimum.
    MinimumNotMet,
    /// It is not rated in that term.
    RatingUnknown,
    /// It is rated by a standard whose figure does not answer the slot's.
    RatedByAnotherStandard,
    /// It is rated, but nobody wrote down by which standard, and the slot names one.
    StandardNotStated,
    /// No source of the rig's system is in service.
    NoSource,
    /// No hose in service leads from the system to it.
    NoHose,
    /// No usable battery of its family is aboard.
    NoBattery,
    /// How it is driven was not written down.
    HookupUnknown,
    /// A coupling family was not written down.
    CouplingUnknown,
    /// The coupling families do not mate.
    CouplingDiffers,
    /// A fluid was not written down.
    FluidUnknown,
    /// The fluids differ.
    FluidDiffers,
    /// A pressure was not written down.
    PressureUnknown,
    /// Rated below the source's operating pressure.
    PressureBelow,
    /// It would fill this slot, but is needed in another.
    FillsAnotherSlot,
    /// It fits, but belongs to a system that was not chosen.
    AnotherSystem,
    /// More pieces are aboard than are looked at.
    NotCounted,
}

/// One near miss: a piece and one requirement that it fails.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Near {
    /// The piece; `None` when none of a fitting kind is aboard.
    pub piece: Option<Uuid>,
    /// What it fails.
    pub code: NearCode,
    /// In words: "cutter HT-1002: out of service since ..., leak at handle".
    pub words: String,
    /// Since when, where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "maybe_instant")]
    pub since: Option<DateTime<Utc>>,
    /// What it has.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub has: Option<Fact>,
    /// What is needed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub needs: Option<Fact>,
    /// By how much it falls short, in the unit of what is needed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub short_by: Option<Quantity>,
}

/// What a piece has, or what is needed: a size, or words such as a coupling family or cutting levels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Fact {
    /// A number with a unit.
    Quantity(Quantity),
    /// Anything else, as words.
    Text(String),
}

impl From<Figure> for Fact {
    fn from(figure: Figure) -> Self {
        match figure {
            Figure::Quantity(q) => Self::Quantity(q),
            Figure::Levels(levels) => Self::Text(levels.to_string()),
            Figure::Letter(letter) => Self::Text(letter.to_string()),
        }
    }
}

/// What kind of act.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum ActKind {
    /// Put the rig itself back in service.
    PutRigBack,
    /// Do the overdue checks of a piece.
    Check,
    /// Put another piece aboard.
    PutAboard,
    /// Put a piece right that is aboard: repair it, clear the notice, check it.
    PutRight,
}

/// One act toward full capability.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Act {
    /// What to do.
    pub act: ActKind,
    /// To which piece aboard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub piece: Option<Uuid>,
    /// For which slot a piece is put aboard; `None`: for none, for example a further hose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slot: Option<String>,
    /// Of which kind the piece put aboard is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<Kind>,
    /// On which coupling family and fluid, or battery family.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub family: Option<String>,
    /// In words.
    pub words: String,
}

/// Instants as the API writes them: UTC, fixed width, microseconds.
#[allow(clippy::ref_option)]
fn maybe_instant<S: Serializer>(at: &Option<DateTime<Utc>>, out: S) -> Result<S::Ok, S::Error> {
    match at {
        Some(at) => out.collect_str(&format_args!(
            "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:06}Z",
            at.year(),
            at.month(),
            at.day(),
            at.hour(),
            at.minute(),
            at.second(),
            at.nanosecond() % 1_000_000_000 / 1000
        )),
        None => out.serialize_none(),
    }
}
