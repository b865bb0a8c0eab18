//! How often somebody who is not signed in may try.

use std::{
    net::{IpAddr, Ipv6Addr},
    num::NonZeroU32,
};

use governor::{DefaultDirectRateLimiter, DefaultKeyedRateLimiter, Quota, RateLimiter};

use crate::platform::error::{self, Fault};

/// How many keys are kept before those that have rested are forgotten.
pub const MOST_KEYS: usize = 100_000;

/// So many tries at once, and then so many a minute.
pub fn quota(burst: u32, per_minute: u32) -> Quota {
    let at_least_one = |n: u32| NonZeroU32::new(n).unwrap_or(NonZeroU32::MIN);
    Quota::per_minute(at_least_one(per_minute)).allow_burst(at_least_one(burst))
}

/// At most five tries for one email from one address at once, then one every six seconds.
pub struct SignInLimits(DefaultKeyedRateLimiter<(String, String)>);

impl Default for SignInLimits {
    fn default() -> Self {
        Self(RateLimiter::keyed(quota(5, 10)))
    }
}

impl SignInLimits {
    /// Counts a try.
    pub fn count(&self, email: &str, from: Option<IpAddr>) -> Result<(), Fault> {
        let from = from.map(|from| from.to_string()).unwrap_or_default();
        if self.0.check_key(&(email.to_lowercase(), from)).is_err() {
            return Err(Fault::new(
                error::SLOW_DOWN,
                "Too many tries to sign in with this email; wait a few seconds before the next",
            ));
        }
        if self.0.len() > MOST_KEYS {
            self.0.retain_recent();
        }
        Ok(())
    }
}

/// Tries at the codes that enrol devices: five at once and then five a minute from one network, sixty a minute from all of
/// them together.
///
/// A code is one of 31^8 = 852,891,037,441, and serves for ten minutes. One network has 5 + 10 x 5 = 55 tries in that time: with
/// ten codes open, it finds one with a chance of 55 x 10 / 31^8, one in fifteen hundred million. All networks of the world together
/// have 60 x 60 x 24 x 365 = 31.5 million tries in a year, with ten codes open all year long a chance of one in 2,700. Each
/// further process that serves adds as many. Who exhausts the common sixty keeps others from enrolling, and from nothing else.
/// Behind a proxy all callers are one network.
pub struct CodeLimits {
    each: DefaultKeyedRateLimiter<IpAddr>,
    all: DefaultDirectRateLimiter,
}

impl Default for CodeLimits {
    fn default() -> Self {
        Self {
            each: RateLimiter::keyed(quota(5, 5)),
            all: RateLimiter::direct(quota(60, 60)),
        }
    }
}

impl CodeLimits {
    /// Counts a try.
    pub fn count(&self, from: Option<IpAddr>) -> Result<(), Fault> {
        let from = network(from.unwrap_or(IpAddr::V6(Ipv6Addr::UNSPECIFIED)));
        if self.each.check_key(&from).is_err() || self.all.check().is_err() {
            return Err(Fault::new(error::SLOW_DOWN, "Too many codes were tried; wait a minute before the next"));
        }
        if self.each.len() > MOST_KEYS {
            self.each.retain_recent();
        }
        Ok(())
    }
}

/// What one caller has to itself: an address of version 4, or the first half of one of version 6.
pub fn network(from: IpAddr) -> IpAddr {
    match from.to_canonical() {
        IpAddr::V6(address) => IpAddr::V6(Ipv6Addr::from_bits(address.to_bits() & !u128::from(u64::MAX))),
        address => address,
    }
}
