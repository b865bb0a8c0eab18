//! What lines are worked out on: outlets that are alike, sorts of hoses and adapters, and each piece by its part in a line.

use super::names::Family;
use super::plug::Tap;
use crate::ratings::Kind;
use crate::sets::Set;

/// Outlets that are alike in drive, coupling, fluid and pressure.
#[derive(Debug, Clone)]
pub(crate) struct OutletKind {
    /// Power unit or hand pump.
    pub drive: Kind,
    /// Operating pressure.
    pub kpa: f64,
    /// The sources that have such outlets.
    pub sources: Set,
    pub(super) tap: Tap,
}

/// Hoses or adapters that may stand for each other, lengths apart.
#[derive(Debug, Clone)]
pub(crate) struct Sort {
    pub hose: bool,
    pub(super) near: Family,
    pub(super) far: Family,
    /// The one source that it serves, as its first part.
    pub fixed: Option<usize>,
    /// Outlet kinds whose fluid and pressure it stands.
    pub ok: u32,
    /// Of those, the ones that it mates with.
    pub first: u32,
    pub members: Set,
    /// The sorts that its far end mates with.
    pub next: Set,
    /// The tools that its far end mates with.
    pub mouth: Set,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Role {
    Source,
    /// A hose or adapter, with its sort.
    Conduit(u8),
    Tool,
    Pack,
    /// Has no part in any line.
    Other,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Piece {
    pub(super) role: Role,
    /// A tool's coupling.
    pub coupling: Family,
    /// Of a tool: outlet kinds that it may be fed from, at its rated pressure or below.
    pub stands: u32,
    /// Of those: the ones at its rated pressure.
    pub rated: u32,
    pub battery: Family,
    /// Of a tool: the packs of its battery family.
    pub(super) packs: Set,
    /// Of a hose: mm; below 0 when unknown.
    pub length: f64,
}

impl Default for Piece {
    fn default() -> Self {
        Self {
            role: Role::Other,
            coupling: 0,
            stands: 0,
            rated: 0,
            battery: 0,
            packs: 0,
            length: UNKNOWN,
        }
    }
}

/// A length that is not known.
pub(crate) const UNKNOWN: f64 = -1.0;

/// Circuits of one source at one outlet kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Circuits {
    pub outlet: usize,
    pub source: usize,
    pub count: u32,
}
