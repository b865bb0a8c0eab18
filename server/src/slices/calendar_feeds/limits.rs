//! How often calendars may be read by one caller that nobody knows.

use std::net::{IpAddr, Ipv6Addr};

use governor::{DefaultKeyedRateLimiter, RateLimiter};

use crate::{
    platform::error::{self, Fault},
    slices::sessions::{MOST_KEYS, network, quota},
};

/// Sixty reads at once from one network and then sixty a minute: a service that reads calendars for many reads each some times a day.
/// A secret has 256 bits; nobody finds one by trying, however often.
pub struct CalendarLimits(DefaultKeyedRateLimiter<IpAddr>);

impl Default for CalendarLimits {
    fn default() -> Self {
        Self(RateLimiter::keyed(quota(60, 60)))
    }
}

impl CalendarLimits {
    /// Counts a read.
    pub fn count(&self, from: Option<IpAddr>) -> Result<(), Fault> {
        let from = network(from.unwrap_or(IpAddr::V6(Ipv6Addr::UNSPECIFIED)));
        if self.0.check_key(&from).is_err() {
            return Err(Fault::new(
                error::SLOW_DOWN,
                "Calendars are read too often from here; wait a minute before the next time",
            ));
        }
        if self.0.len() > MOST_KEYS {
            self.0.retain_recent();
        }
        Ok(())
    }
}
