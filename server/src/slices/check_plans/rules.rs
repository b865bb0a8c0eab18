//! What the agency's plans may be.

use chrono_tz::Tz;
use fullset_care::zone::Calendar;

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
