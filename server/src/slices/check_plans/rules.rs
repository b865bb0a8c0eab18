//! What the agency's plans may be.

use chrono_tz::Tz;
use fullset_care::{
    plan::{CheckPlan, Rhythm},
    zone::Calendar,
};

use crate::slices::agencies::Policy;

/// The most plans in force at once.
pub const MOST_PLANS: usize = 60;

/// The agency's calendar: its zone, and when its duty day begins.
pub fn calendar(policy: &Policy, zone: Tz) -> Calendar {
    Calendar {
        zone,
        day_starts: policy.duty_day_begins,
    }
}

/// Why a plan cannot be put in force here, though it is one; field and sentence.
pub fn refusal(plan: &CheckPlan) -> Option<(&'static str, &'static str)> {
    match plan.rhythm {
        Rhythm::Uses { .. } | Rhythm::Hours { .. } => Some((
            "rhythm",
            "Uses and running hours of a piece are not counted yet, so nothing would ever fall due by this plan; choose weeks or months",
        )),
        _ => None,
    }
}
