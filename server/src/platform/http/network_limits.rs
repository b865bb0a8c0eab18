//! How often one network may try what takes no sign-in.

use std::net::{IpAddr, Ipv6Addr};

use crate::platform::{
    error::{self, Fault},
    rates::Rates,
};

/// Tries of each network at something that takes no sign-in.
pub struct NetworkLimits(Rates<IpAddr>);

impl NetworkLimits {
    /// So many tries of one network at once, and then so many a minute.
    pub fn new(burst: u32, per_minute: u32) -> Self {
        Self(Rates::new(burst, per_minute))
    }

    /// Counts a try; refused with these words, it says when the next one is free.
    pub fn count(&self, from: Option<IpAddr>, words: &str) -> Result<(), Fault> {
        self.0.take(&network_of(from), 1).map_err(|seconds| slow_down(words, seconds))
    }
}

/// Too many tries, and the seconds until the next one is free.
pub fn slow_down(words: &str, seconds: u64) -> Fault {
    Fault::new(error::SLOW_DOWN, words).again_in(seconds)
}

/// How many bits of an address of version 6 one household or company is commonly given to itself (RIPE-690, from memory). Counting by
/// longer ones would give a single caller as many tries as it cares to number.
const SITE_BITS: u32 = 56;

/// What one caller has to itself: an address of version 4, or the site of one of version 6.
fn network(from: IpAddr) -> IpAddr {
    match from.to_canonical() {
        IpAddr::V6(address) => IpAddr::V6(Ipv6Addr::from_bits(address.to_bits() & !(u128::MAX >> SITE_BITS))),
        address => address,
    }
}

/// The network that tries of a caller are counted by.
pub fn network_of(from: Option<IpAddr>) -> IpAddr {
    network(from.unwrap_or(IpAddr::V6(Ipv6Addr::UNSPECIFIED)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_site_is_one_network() {
        let of = |text: &str| network_of(Some(text.parse().unwrap()));
        assert_eq!(of("2001:db8:0:1200::1"), of("2001:db8:0:12ff:8::9"));
        assert_ne!(of("2001:db8:0:1200::1"), of("2001:db8:0:1300::1"));
        assert_eq!(of("::ffff:192.0.2.7"), of("192.0.2.7"));
        assert_ne!(of("192.0.2.7"), of("192.0.2.8"));
    }
}
