//! Until when an answer holds.
//!
//! Time alone changes a piece in these ways: a check falls due, its grace runs out, its life or its allowance ends, the date is
//! past by which a defect had to be repaired. Each of these is said somewhere in the answer, so the next such instant ends it. It may
//! leave the three answers as they are and change a reason alone; the answer is then refreshed early, never late.

use super::faults;
use super::input::{Life, LifeOf, Piece, Policy};
use chrono::{DateTime, Utc};

/// What changes about a piece by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Change<'p> {
    /// A check falls due.
    Due(&'p str),
    /// The grace of an overdue check runs out.
    GraceEnds(&'p str),
    /// Its service life ends.
    LifeEnds,
    /// Its unknown age is allowed no longer.
    AllowanceEnds,
    /// The date by which a defect has to be repaired is past.
    RepairBy,
    /// It begins or ends to count by a rule that the agency has made looser.
    OwnRule(&'p str),
}

/// One instant at which something about a piece changes by itself.
#[derive(Debug, Clone, Copy)]
pub(super) struct Turn<'p> {
    pub at: DateTime<Utc>,
    pub piece: &'p Piece,
    pub change: Change<'p>,
}

impl Turn<'_> {
    /// "annual service of ram RM-7 due".
    pub(super) fn words(&self) -> String {
        let piece = faults::named(self.piece);
        match self.change {
            Change::Due(check) => format!("{} of {piece} due", self.without_kind(check)),
            Change::GraceEnds(check) => format!("grace for the {} of {piece} ends", self.without_kind(check)),
            Change::LifeEnds => match self.piece.life_of {
                LifeOf::Part(part) => format!("service life of the {part} of {piece} ends"),
                LifeOf::Piece | LifeOf::Cycles => format!("service life of {piece} ends"),
            },
            Change::AllowanceEnds => format!("{piece} of unknown age is allowed no longer"),
            Change::RepairBy => format!("defect of {piece} to be repaired by then"),
            Change::OwnRule(rule) => format!("from then on {piece} counts otherwise by the agency's own rule ({rule})"),
        }
    }

    /// A check's name without the kind of piece at its end, which the piece's own name says: "Weekly check: accessory" of accessory AC-7.
    fn without_kind<'n>(&self, check: &'n str) -> &'n str {
        let kind = self.piece.kind.word();
        check.strip_suffix(kind).and_then(|rest| rest.strip_suffix(": ")).unwrap_or(check)
    }
}

/// Instants at which something about a piece changes by itself.
pub(super) fn turns<'p>(piece: &'p Piece, policy: &'p Policy) -> impl Iterator<Item = Turn<'p>> + 'p {
    let end = match &piece.life {
        Life::Ends(end) => Some((*end, Change::LifeEnds)),
        Life::AllowedUntil(end, _) => Some((*end, Change::AllowanceEnds)),
        Life::None | Life::Unknown => None,
    };
    let checks = piece.checks.iter().flat_map(|check| {
        let name = check.name.as_str();
        [
            check.due.map(|due| (due, Change::Due(name))),
            check.counts_from(policy).map(|end| (end, Change::GraceEnds(name))),
        ]
    });
    checks
        .chain([end])
        .chain(piece.limits.iter().map(|limit| limit.repair_by.map(|by| (by, Change::RepairBy))))
        .chain(piece.looser_rules.iter().flat_map(|own| {
            [
                Some((own.from, Change::OwnRule(&own.words))),
                own.until.map(|until| (until, Change::OwnRule(&own.words))),
            ]
        }))
        .flatten()
        .map(move |(at, change)| Turn { at, piece, change })
}

/// When a piece that may be used now must no longer be, if nobody does anything.
pub(super) fn lapses(piece: &Piece, policy: &Policy) -> Option<DateTime<Utc>> {
    let end = match &piece.life {
        Life::Ends(end) | Life::AllowedUntil(end, _) => Some(*end),
        Life::None | Life::Unknown => None,
    };
    let checks = piece.checks.iter().filter_map(|check| check.counts_from(policy));
    checks.chain(end).chain(piece.limits.iter().filter_map(|limit| limit.repair_by)).min()
}

/// The first of them, of all these pieces, after `at`; of several at one instant that of the first tag.
pub(super) fn next<'p>(pieces: &'p [Piece], policy: &'p Policy, at: DateTime<Utc>) -> Option<Turn<'p>> {
    let turns = pieces.iter().flat_map(|piece| turns(piece, policy));
    turns
        .filter(|turn| turn.at > at)
        .min_by(|a, b| (a.at, &a.piece.tag, a.piece.id).cmp(&(b.at, &b.piece.tag, b.piece.id)))
}
