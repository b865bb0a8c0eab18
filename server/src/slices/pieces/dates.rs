//! What another day of service needs, on plain values.

use chrono::NaiveDate;

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
