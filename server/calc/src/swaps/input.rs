//! What is handed in. Rigs, donors, groups and districts are named by their place in their list.

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

/// A donor that would do for a want.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// The donor, by its place in the list of donors.
    pub donor: usize,
    /// Minutes to bring it there.
    pub minutes: f64,
}

/// One piece that a mend asks for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Want {
    /// Any one of these.
    pub fits: Vec<Fit>,
}

/// Pieces that, put aboard together, make a rig full: one donor for each want, whichever.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mend {
    /// What is asked for.
    pub wants: Vec<Want>,
    /// Donors on the rig itself of which none may leave, or the mend does no longer.
    pub rests_on: Vec<usize>,
}

/// A rig.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rig {
    /// UUID that the rig was made with; it never changes.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// Whether it is full now.
    pub full: bool,
    /// The zones it reaches in time, by their place in the list.
    pub reaches: Vec<usize>,
    /// The rig's district, by its place in the list of districts.
    pub district: Option<usize>,
    /// What would make it full; any one of these. Of one that is full: nothing.
    pub mends: Vec<Mend>,
    /// Whether mends were sought for it.
    pub is_sought: bool,
    /// Why there may be mends that are not listed, in words; `None`: these are all.
    pub undecided: Option<String>,
}

/// Donors of which only so many may go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Group {
    /// At most that many.
    pub most: usize,
}

/// A district.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct District {
    /// Whether it has fewer full rigs than it should have.
    pub is_short: bool,
}

/// A piece that may be moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Donor {
    /// UUID that the piece was made with; it never changes.
    pub id: Uuid,
    /// Its tag, with its kind: "cutter HT-1002".
    pub name: String,
    /// Where it comes from.
    pub home: Home,
    /// The same in words: "the reserve shelf of Station 4".
    pub place: String,
    /// The district it is in.
    pub district: Option<usize>,
    /// The group it belongs to.
    pub group: Option<usize>,
    /// What stays open where it was, in words: "the optional slot `combi` of E4".
    pub leaves: Option<String>,
}

/// All of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Day {
    /// Zones with their weights.
    pub zones: Vec<Zone>,
    /// The rigs that take part, full ones too.
    pub rigs: Vec<Rig>,
    /// The pieces that may be moved, each once.
    pub donors: Vec<Donor>,
    /// Groups of donors of which only so many may go.
    pub groups: Vec<Group>,
    /// The districts, each with whether it is short of full rigs.
    pub districts: Vec<District>,
}

/// One move of a plan that is to be looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Planned {
    /// The donor to move, by its place in the list of donors.
    pub donor: usize,
    /// The rig that gets it, by its place in the list of rigs.
    pub rig: usize,
    /// By which of its mends.
    pub mend: usize,
    /// For which want of it.
    pub want: usize,
}

/// What must be otherwise so that moves do together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Instead {
    /// Fewer donors of a group.
    Fewer {
        /// The group.
        group: usize,
        /// So many at most.
        most: usize,
    },
    /// Other donors for a want.
    Other {
        /// The rig.
        rig: usize,
        /// The mend.
        mend: usize,
        /// The want.
        want: usize,
        /// None of these.
        donors: Vec<usize>,
    },
}

/// Looks at all moves of a plan together. Nothing: they do. Else the ways out: in every plan that does, one of these holds. Donors of one group
/// must be alike for that.
pub trait Together {
    /// The ways out.
    fn breach(&mut self, moves: &[Planned]) -> Vec<Instead>;
}

impl<F: FnMut(&[Planned]) -> Vec<Instead>> Together for F {
    fn breach(&mut self, moves: &[Planned]) -> Vec<Instead> {
        self(moves)
    }
}

/// Whatever fits does together.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unjudged;

impl Together for Unjudged {
    fn breach(&mut self, _: &[Planned]) -> Vec<Instead> {
        Vec::new()
    }
}
