//! Who asked and under which name, where a proxy stands between. What a request says of that is believed only from the networks that
//! whoever runs the service has named; from anybody else it is a claim, and is not looked at.

use std::net::IpAddr;

use actix_web::{HttpRequest, http::header};

use super::{Shared, network_limits::network_of};
use crate::platform::auth::AskedFrom;

/// Networks whose word about a caller counts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Proxies(Vec<(IpAddr, u32)>);

impl Proxies {
    /// Reads networks such as `10.0.0.0/8`, or single addresses.
    pub fn read(named: &[String]) -> Result<Self, String> {
        let read = |text: &String| -> Option<(IpAddr, u32)> {
            let (address, length) = match text.split_once('/') {
                Some((address, length)) => (address, Some(length)),
                None => (text.as_str(), None),
            };
            let address: IpAddr = address.parse().ok()?;
            let most = bits(address).1;
            let length = length.map_or(Some(most), |length| length.parse().ok()).filter(|length| *length <= most)?;
            Some((address, length))
        };
        named
            .iter()
            .map(|text| read(text).ok_or_else(|| format!("'{text}' is no network: give an address or a network, for example 127.0.0.1 or 10.0.0.0/8")))
            .collect::<Result<_, _>>()
            .map(Self)
    }

    fn has(&self, address: IpAddr) -> bool {
        let (value, width) = bits(address);
        self.0.iter().any(|(network, length)| {
            let (network, same) = bits(*network);
            same == width && (value ^ network).checked_shr(width - length).unwrap_or(0) == 0
        })
    }
}

/// An address as a number, and how many bits it has.
fn bits(address: IpAddr) -> (u128, u32) {
    match address.to_canonical() {
        IpAddr::V4(address) => (address.to_bits().into(), 32),
        IpAddr::V6(address) => (address.to_bits(), 128),
    }
}

fn named<'a>(request: &'a HttpRequest, name: &str) -> impl DoubleEndedIterator<Item = &'a str> {
    let values = request.headers().get_all(name).filter_map(|value| value.to_str().ok());
    values.flat_map(|value| value.split(',')).map(str::trim).collect::<Vec<_>>().into_iter()
}

/// The address that a request came from.
pub fn caller_of(request: &HttpRequest, shared: &Shared) -> Option<IpAddr> {
    let peer = request.peer_addr()?.ip().to_canonical();
    if !shared.proxies.has(peer) {
        return Some(peer);
    }
    // Each proxy appends whom it saw: the last one that is no proxy of ours is the caller; what stands before is the caller's word.
    let mut caller = peer;
    for text in named(request, "x-forwarded-for").rev() {
        let Ok(address) = text.parse::<IpAddr>() else { break };
        caller = address.to_canonical();
        if !shared.proxies.has(caller) {
            break;
        }
    }
    Some(caller)
}

/// The name, and where it needs one the port, under which the service was asked.
pub fn host_of(request: &HttpRequest, shared: &Shared) -> String {
    let trusted = request.peer_addr().is_some_and(|peer| shared.proxies.has(peer.ip().to_canonical()));
    let forwarded = trusted.then(|| named(request, "x-forwarded-host").next_back()).flatten();
    let own = || {
        let header = request.headers().get(header::HOST).and_then(|value| value.to_str().ok());
        header.or_else(|| request.uri().authority().map(|authority| authority.as_str()))
    };
    forwarded.or_else(own).unwrap_or_default().to_owned()
}

/// From where a request comes, as it is shown to whoever looks after an account.
pub fn asked_from(request: &HttpRequest, shared: &Shared) -> AskedFrom {
    let program = request.headers().get(header::USER_AGENT).and_then(|value| value.to_str().ok());
    AskedFrom::new(caller_of(request, shared).map(|from| network_of(Some(from)).to_string()), program)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_network_has_its_addresses() {
        let proxies = Proxies::read(&["10.0.0.0/8".into(), "127.0.0.1".into(), "fd00::/16".into(), "192.168.7.1/24".into()]).unwrap();
        for inside in ["10.200.3.4", "127.0.0.1", "fd00:1::2", "192.168.7.9", "::ffff:10.1.1.1"] {
            assert!(proxies.has(inside.parse().unwrap()), "{inside}");
        }
        for outside in ["11.0.0.1", "127.0.0.2", "fd01::1", "192.168.8.1", "::1"] {
            assert!(!proxies.has(outside.parse().unwrap()), "{outside}");
        }
        assert!(Proxies::read(&["0.0.0.0/0".into()]).unwrap().has("9.9.9.9".parse().unwrap()));
        for bad in ["10.0.0.0/33", "proxy", "10.0.0/8", ""] {
            assert!(Proxies::read(&[bad.into()]).is_err(), "{bad}");
        }
    }
}
