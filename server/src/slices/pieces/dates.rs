//! What the dates of a piece say: how long it serves, and what another day of service needs.

use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use fullset_care::life::{self, Life, ServiceLife, Wear};

use super::Piece;
use crate::slices::agencies::Policy;

/// The lives of a piece, as a whole and by its parts: what its model's maker states, and of hoses what the policy says.
pub fn lives<'a>(piece: &Piece, kind: Kind, stated: &'a [ServiceLife], policy: &Policy) -> Vec<Life<'a>> {
    let wear = Wear {
        kind,
        made_on: piece.made_on,
        parts: &piece.parts,
        cycles: piece.cycles.as_ref().map(|cycles| cycles.count),
    };
    life::lives(stated, wear, policy.hose_life_years)
}

/// What another day of the last annual service needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ServiceDay {
    /// Nothing: it lets nothing count that did not.
    Free,
    /// A written reason: nobody knew of a service.
    NeedsReason,
    /// The evidence of the service itself; typing does not do.
    NeedsEvidence,
}

/// What it needs to put another day of the last annual service on record. A later one than is known says that a service was
/// done, which is recorded with what was measured.
pub fn service_day(known: Option<NaiveDate>, new: Option<NaiveDate>) -> ServiceDay {
    match (known, new) {
        (Some(known), Some(new)) if new > known => ServiceDay::NeedsEvidence,
        (None, Some(_)) => ServiceDay::NeedsReason,
        _ => ServiceDay::Free,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_later_service_is_recorded_with_its_evidence_and_never_typed() {
        let day = |text: &str| (!text.is_empty()).then(|| text.parse::<NaiveDate>().unwrap());
        for (known, new, needs) in [
            ("2025-01-01", "2025-01-02", ServiceDay::NeedsEvidence),
            ("2025-01-01", "2025-01-01", ServiceDay::Free),
            ("2025-01-01", "2024-01-01", ServiceDay::Free),
            ("2025-01-01", "", ServiceDay::Free),
            ("", "2024-01-01", ServiceDay::NeedsReason),
            ("", "", ServiceDay::Free),
        ] {
            assert_eq!(service_day(day(known), day(new)), needs, "{known} {new}");
        }
    }
}
