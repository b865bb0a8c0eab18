//! How often calendars may be read by one caller that nobody knows.

use std::net::IpAddr;

use crate::platform::{error::Fault, http::network_limits::NetworkLimits};

/// Sixty reads at once from one network and then sixty a minute: a service that reads calendars for many reads each some times a day.
/// A secret has 256 bits; nobody finds one by trying, however often.
pub struct CalendarLimits(NetworkLimits);

impl Default for CalendarLimits {
    fn default() -> Self {
        Self(NetworkLimits::new(60, 60))
    }
}

impl CalendarLimits {
    /// Counts a read.
    pub fn count(&self, from: Option<IpAddr>) -> Result<(), Fault> {
        self.0.count(from, "Calendars are read too often from here; wait a minute before the next time")
    }
}
