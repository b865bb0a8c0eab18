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

/// What one caller has to itself: an address of version 4, or the first half of one of version 6.
fn network(from: IpAddr) -> IpAddr {
    match from.to_canonical() {
        IpAddr::V6(address) => IpAddr::V6(Ipv6Addr::from_bits(address.to_bits() & !u128::from(u64::MAX))),
        address => address,
    }
}

/// The network that tries of a caller are counted by.
pub fn network_of(from: Option<IpAddr>) -> IpAddr {
    network(from.unwrap_or(IpAddr::V6(Ipv6Addr::UNSPECIFIED)))
}
