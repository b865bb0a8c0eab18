//! What is handed in. Districts, shops and periods are named by their place in their list, periods from 0.

use uuid::Uuid;

/// A place in the plan that is settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pin {
    /// When.
    pub period: usize,
    /// At which shop.
    pub shop: usize,
}

/// A set that is due.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// Id of the tool set.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// Its district.
    pub district: usize,
    /// Hours of work.
    pub hours: f64,
    /// First period in which it may be served.
    pub earliest: usize,
    /// Last one.
    pub latest: usize,
    /// The period by which it is due; later ones are late by their distance.
    pub due: usize,
    /// The shops that can serve it; empty: all.
    pub shops: Vec<usize>,
    /// Already settled: the plan is made around it. May lie outside of the window; limits hold all the same.
    pub pinned: Option<Pin>,
}

/// A shop.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    /// Id of the shop: the UUID that it was made with; it never changes.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// Hours in each period; beyond the end of the list the last one holds.
    pub hours: Vec<f64>,
}

/// A district.
#[derive(Debug, Clone, PartialEq)]
pub struct District {
    /// Id of the district: the UUID that it was made with; it never changes.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// Most sets away at once in each period beside those for which something stands in, see [`spare`]; beyond the end of the list the last
    /// one holds.
    pub most_away: Vec<usize>,
    /// What can stand in; at most [`STAND_INS`] are looked at, the first ones.
    pub stand_ins: Vec<StandIn>,
}

/// Most stand-ins of a district that are looked at.
pub const STAND_INS: usize = 32;

/// A reserve set that restores rigs of its district while their own sets are away, one rig at a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StandIn {
    /// Id of the tool set.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// Its own place among the sets that are due: while it is away it stands in nowhere.
    pub due: Option<usize>,
    /// The sets whose rigs it restores, each with the periods in which it does.
    pub restores: Vec<(usize, Vec<usize>)>,
}

/// How many full rigs a district can spare at once: those beyond its minimum.
#[must_use]
pub const fn spare(full_rigs: usize, minimum: usize) -> usize {
    full_rigs.saturating_sub(minimum)
}

/// All of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Year {
    /// The periods, as people call them: "week 12".
    pub periods: Vec<String>,
    /// The sets that are due.
    pub sets: Vec<Set>,
    /// The shops.
    pub shops: Vec<Shop>,
    /// The districts.
    pub districts: Vec<District>,
}
