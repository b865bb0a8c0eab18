//! What is handed in: the complement, the pieces with their state, the policy.

use crate::hookup::Hookup;
use crate::ratings::{Kind, Ratings};
use chrono::{DateTime, Days, Months, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use uuid::Uuid;

/// How much a rig needs a slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Need {
    /// Needed even for limited capability; also required for full.
    Core,
    /// Needed for full capability.
    Required,
    /// Never counts toward the level.
    Optional,
}

impl Need {
    /// Whether full capability asks for it.
    #[must_use]
    pub const fn is_required(self) -> bool {
        matches!(self, Self::Core | Self::Required)
    }
}

/// A place in the complement for one piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Slot {
    /// Short name, unique in the complement.
    #[cfg_attr(feature = "openapi", schema(example = "cutter"))]
    pub id: String,
    /// The name that people read.
    #[cfg_attr(feature = "openapi", schema(example = "Cutter"))]
    pub name: String,
    /// The kinds that may fill it. With a power unit or hand pump among them it is a power slot.
    pub kinds: Vec<Kind>,
    /// How much it is needed.
    pub need: Need,
    /// The ratings a piece must meet; for terms where less is better, the most that is accepted.
    #[serde(default)]
    pub minimums: Ratings,
}

impl Slot {
    /// Whether a source may fill it.
    #[must_use]
    pub fn is_power(&self) -> bool {
        self.kinds.iter().any(|kind| kind.is_source())
    }
}

/// What a rig class must carry.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Complement {
    /// How many tools must be able to run at once for full capability.
    #[serde(default)]
    pub simultaneous_min: u32,
    /// The slots, in the order in which people read them.
    pub slots: Vec<Slot>,
}

/// How battery tools get their packs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Batteries {
    /// A battery tool carries its own pack, which is not tracked.
    #[default]
    WithTool,
    /// Packs are pieces: a tool needs a usable one of its family aboard, and one for itself to run at once with others.
    AsPieces,
}

/// What counts as the start of a service life when the date of make is unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum UnknownAge {
    /// The day it came into service.
    FromInService,
    /// Nothing: unknown is not young, the piece is not used.
    #[default]
    NotUsable,
}

/// The rules that the agency sets itself.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Policy {
    /// Whole days after its due instant for which an overdue check does not count against a piece;
    /// `None`: an overdue check never does, but is said.
    pub overdue_grace_days: Option<u32>,
    /// The share by which a rated pressure may lie below a source's operating pressure; usually 0.01.
    pub pressure_tolerance: f64,
    /// How battery tools get their packs.
    pub batteries: Batteries,
    /// How [`life_ends`] treats an unknown date of make.
    pub unknown_age: UnknownAge,
}

impl Default for Policy {
    fn default() -> Self {
        Self {
            overdue_grace_days: Some(0),
            pressure_tolerance: 0.01,
            batteries: Batteries::default(),
            unknown_age: UnknownAge::default(),
        }
    }
}

impl Policy {
    /// When a check that is due at an instant begins to count against the piece; `None`: never.
    #[must_use]
    pub fn counts_from(&self, due: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.overdue_grace_days.and_then(|days| due.checked_add_days(Days::new(u64::from(days))))
    }
}

/// May be used, or may not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum State {
    /// May be used.
    InService,
    /// Must not be used.
    OutOfService {
        /// From when on.
        since: DateTime<Utc>,
        /// In the words of the person who took it out.
        reason: String,
    },
}

/// Something said against a piece or a rig, with the instant it began.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// From when on.
    pub since: DateTime<Utc>,
    /// What is said.
    pub words: String,
}

/// How long a piece may be used by age.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Life {
    /// May be used before that instant, not from it on.
    Ends(DateTime<Utc>),
    /// Its kind has no life by age.
    None,
    /// It has one, but nobody knows when it began: not usable.
    Unknown,
}

/// The last day's end of a life counted in years: the date from which on the piece may not be used.
///
/// `made_on` counts when known. Else, by `unknown_age`, the day it came into service, else nothing: `None` is "unknown",
/// to be handed in as [`Life::Unknown`]. A life that began on 29 February ends on 28 February.
#[must_use]
pub fn life_ends(made_on: Option<NaiveDate>, in_service_since: Option<NaiveDate>, years: u32, unknown_age: UnknownAge) -> Option<NaiveDate> {
    let began = made_on.or(if unknown_age == UnknownAge::FromInService { in_service_since } else { None })?;
    began.checked_add_months(Months::new(years.checked_mul(12)?))
}

/// A check that a piece must have, with the instant from which on it is overdue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueCheck {
    /// As said in words: "weekly check".
    pub name: String,
    /// Overdue from this instant on.
    pub due: DateTime<Utc>,
}

/// One piece, with everything that decides whether it counts.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Its id.
    pub id: Uuid,
    /// Its asset tag; decides among equals.
    pub tag: String,
    /// What it is.
    pub kind: Kind,
    /// How its model is hooked up.
    pub hookup: Arc<Hookup>,
    /// What its model is rated for.
    pub ratings: Arc<Ratings>,
    /// In or out of service.
    pub state: State,
    /// A stop-use notice that hits it.
    pub stop_use: Option<Notice>,
    /// Its life by age.
    pub life: Life,
    /// The checks it must have, each with its next due instant.
    pub checks: Vec<DueCheck>,
}

impl Piece {
    /// Whether it may be used at that instant under that policy.
    #[must_use]
    pub fn is_usable(&self, policy: &Policy, at: DateTime<Utc>) -> bool {
        let alive = match self.life {
            Life::None => true,
            Life::Ends(end) => at < end,
            Life::Unknown => false,
        };
        alive && self.state == State::InService && self.stop_use.is_none() && !self.checks.iter().any(|c| policy.counts_from(c.due).is_some_and(|t| at >= t))
    }
}

/// One rig at one instant.
#[derive(Debug, Clone, Copy)]
pub struct Rig<'a> {
    /// Since when and why the rig itself must not be used; `None`: it may.
    pub out_of_service: Option<&'a Notice>,
    /// What it must carry; `None`: nobody set it.
    pub complement: Option<&'a Complement>,
    /// What is aboard, in any order. Pieces on their way to or from the rig are not aboard.
    pub pieces: &'a [Piece],
}
