//! What is handed in. Rigs, gaps, donors and groups are named by their place in their list.

use crate::coverage::Zone;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Where a donor comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Home {
    /// A station's reserve shelf.
    Shelf,
    /// The shop: its ticket is finished.
    Shop,
    /// Another rig that can spare it.
    Rig,
}

/// A rig.
#[derive(Debug, Clone, PartialEq)]
pub struct Rig {
    /// Id of the rig: the UUID that it was made with; it never changes.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// Whether it is full now. One that is not and has no gap is held down by something that no piece mends.
    pub full: bool,
    /// The zones it reaches in time, by their place in the list.
    pub reaches: Vec<usize>,
}

/// An empty slot that its rig needs for full.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// Which rig.
    pub rig: usize,
    /// Which slot.
    pub slot: String,
}

/// Donors of which only so many may go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Group {
    /// At most that many.
    pub most: usize,
}

/// A piece that may be moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Donor {
    /// Id of the piece.
    pub id: Uuid,
    /// Its tag, with its kind: "cutter HT-1002".
    pub name: String,
    /// Where it comes from.
    pub home: Home,
    /// The same in words: "the reserve shelf of Station 4".
    pub place: String,
    /// The group it belongs to.
    pub group: Option<usize>,
    /// The rig that cannot be made full when this piece goes; such a rig is not full now.
    pub strips: Option<usize>,
    /// What stays open where it was, in words: "the optional slot `combi` of E4".
    pub leaves: Option<String>,
}

/// A donor that fills a gap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Which gap.
    pub gap: usize,
    /// Which donor.
    pub donor: usize,
    /// Minutes to bring it there.
    pub minutes: f64,
}

/// All of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Day {
    /// Zones with their weights.
    pub zones: Vec<Zone>,
    /// Rigs.
    pub rigs: Vec<Rig>,
    /// Gaps.
    pub gaps: Vec<Gap>,
    /// Donors.
    pub donors: Vec<Donor>,
    /// Groups of donors.
    pub groups: Vec<Group>,
    /// Which donor fills which gap.
    pub fits: Vec<Fit>,
}
