//! How pieces, defects, tickets and swaps stand, as far as the story says.

use std::collections::BTreeSet;

use uuid::Uuid;

use crate::county::Place;

/// Where a piece is, as far as the story says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Seen {
    At(Place),
    OnTheWay(Place),
    Missing(Place),
    Retired,
}

#[derive(Debug)]
pub struct PieceState {
    pub seen: Seen,
    pub is_out: bool,
    pub defects_out: BTreeSet<Uuid>,
    pub ticket: Option<Uuid>,
    pub swap: Option<Uuid>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bench {
    Waiting,
    Accepted,
    Working,
    OnHold,
    Tested,
    Closed,
}

#[derive(Debug)]
pub struct DefectState {
    pub is_open: bool,
    pub repeats: usize,
    pub extended: bool,
    pub out: bool,
    pub piece: Uuid,
    pub ticket: Option<Uuid>,
    pub station: Option<u8>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Swapped {
    Open,
    Ended,
    Kept,
}
