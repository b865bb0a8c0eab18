//! Which addresses may be asked.

use std::{
    net::{IpAddr, Ipv4Addr, Ipv6Addr},
    str::FromStr as _,
};

use reqwest::{Url, header::HeaderValue};

use super::Outward;

/// The longest address, in characters.
const MOST_ADDRESS: usize = 1000;

/// An address that may be asked, as far as it can be told without looking its name up; or why it may not.
pub fn checked_address(address: &str, outward: Outward) -> Result<Url, String> {
    if address.chars().count() > MOST_ADDRESS {
        return Err(format!("This address is longer than {MOST_ADDRESS} characters"));
    }
    let url = Url::parse(address).map_err(|_| "This is no address; it reads https://host/path".to_owned())?;
    match (url.scheme(), outward) {
        ("https", _) | ("http", Outward::Any) => {}
        ("http", _) => return Err("Other servers are asked over https alone; whoever runs the service may allow more".to_owned()),
        _ => return Err("This is no https address; it reads https://host/path".to_owned()),
    }
    if !url.username().is_empty() || url.password().is_some() || url.fragment().is_some() {
        return Err("An address has no user, no password and no part after #".to_owned());
    }
    // What cannot be asked for is found here and not at the first asking.
    if HeaderValue::from_str(url.path()).is_err() {
        return Err("This address cannot be asked for".to_owned());
    }
    if outward == Outward::Any {
        return Ok(url);
    }
    let refused = |what: &str| {
        Err(format!(
            "This address is {what}; public addresses alone are asked, unless whoever runs the service allows more"
        ))
    };
    let host = url.host_str().unwrap_or_default().trim_end_matches('.').to_ascii_lowercase();
    match IpAddr::from_str(host.trim_start_matches('[').trim_end_matches(']')) {
        Ok(ip) => match special_network(ip) {
            Some(what) => refused(what),
            None => Ok(url),
        },
        Err(_) if !host.contains('.') => refused("a name of the own network"),
        Err(_)
            if ["localhost", "local", "internal", "home.arpa"]
                .iter()
                .any(|end| host.strip_suffix(end).is_some_and(|rest| rest.ends_with('.'))) =>
        {
            refused("a name of the own network")
        }
        Err(_) => Ok(url),
    }
}

/// What an address is, where it is not one of the public internet. After the special-purpose registries of IANA for IPv4 and IPv6
/// (RFC 6890 and its successors); what is not global unicast is refused as a whole.
pub fn special_network(ip: IpAddr) -> Option<&'static str> {
    match ip {
        IpAddr::V4(ip) => special_v4(ip),
        IpAddr::V6(ip) => special_v6(ip),
    }
}

fn special_v4(ip: Ipv4Addr) -> Option<&'static str> {
    let within = |net: [u8; 4], bits: u32| {
        let mask = u32::MAX.checked_shl(32 - bits).unwrap_or(0);
        u32::from(ip) & mask == u32::from_be_bytes(net) & mask
    };
    Some(match () {
        () if within([127, 0, 0, 0], 8) => "on the machine itself",
        () if within([10, 0, 0, 0], 8) || within([172, 16, 0, 0], 12) || within([192, 168, 0, 0], 16) => "in a private network",
        () if within([100, 64, 0, 0], 10) => "in a provider's own network",
        () if within([169, 254, 0, 0], 16) => "on the local link",
        () if within([0, 0, 0, 0], 8) => "no address of a host",
        () if within([224, 0, 0, 0], 4) => "a group of hosts",
        () if within([192, 0, 0, 0], 24)
            || within([192, 0, 2, 0], 24)
            || within([192, 88, 99, 0], 24)
            || within([198, 18, 0, 0], 15)
            || within([198, 51, 100, 0], 24)
            || within([203, 0, 113, 0], 24)
            || within([240, 0, 0, 0], 4) =>
        {
            "in a network for special purposes"
        }
        () => return None,
    })
}

fn special_v6(ip: Ipv6Addr) -> Option<&'static str> {
    let [first, second, third, ..] = ip.segments();
    // What carries an address of version 4 is judged by that one.
    if let Some(inner) = ip.to_ipv4_mapped() {
        return special_v4(inner);
    }
    if (first, second) == (0x64, 0xff9b) && ip.segments().get(2..6).is_some_and(|rest| rest.iter().all(|part| *part == 0)) {
        let [.., a, b, c, d] = ip.octets();
        return special_v4(Ipv4Addr::new(a, b, c, d));
    }
    Some(match () {
        () if ip.is_loopback() => "on the machine itself",
        () if first & 0xfe00 == 0xfc00 => "in a private network",
        () if first & 0xffc0 == 0xfe80 => "on the local link",
        () if first & 0xff00 == 0xff00 => "a group of hosts",
        // Of 2000::/3: protocol assignments, 6to4, documentation.
        () if first & 0xe000 != 0x2000
            || (first == 0x2001 && second < 0x0200)
            || (first == 0x2001 && second == 0x0db8)
            || first == 0x2002
            || (first == 0x3fff && second < 0x1000)
            || (first == 0x2620 && second == 0x4f && third == 0x8000) =>
        {
            "in a network for special purposes"
        }
        () => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_public_addresses_are_taken_unless_all_are() {
        let public = [
            "https://dispatch.example.org/fullset",
            "https://dispatch.example.org:8443/fullset?desk=1",
            "https://93.184.216.34/x",
            "https://[2606:4700::1111]/x",
            "https://[64:ff9b::8.8.8.8]/x",
        ];
        for address in public {
            assert!(checked_address(address, Outward::Public).is_ok(), "{address}");
        }
        let own = [
            "https://127.0.0.1/x",
            "https://2130706433/x",
            "https://0x7f.1/x",
            "https://0/x",
            "https://10.1.2.3/",
            "https://172.31.255.255/",
            "https://192.168.0.1/",
            "https://169.254.169.254/latest",
            "https://100.100.100.200/",
            "https://192.0.0.192/",
            "https://198.19.0.1/",
            "https://203.0.113.9/",
            "https://224.0.0.1/",
            "https://255.255.255.255/",
            "https://[::1]/",
            "https://[::]/",
            "https://[::ffff:127.0.0.1]/",
            "https://[::ffff:a9fe:a9fe]/",
            "https://[64:ff9b::10.0.0.1]/",
            "https://[fd00::1]/",
            "https://[fe80::1]/",
            "https://[ff02::1]/",
            "https://[2001:db8::1]/",
            "https://[2002:7f00:1::]/",
            "https://[2001::1]/",
            "https://localhost/",
            "https://LOCALHOST./",
            "https://a.localhost/",
            "https://printer.local/",
            "https://metadata.cloud.internal/",
            "https://intranet/",
        ];
        for address in own {
            let why = checked_address(address, Outward::Public).expect_err(address);
            assert!(why.contains("public addresses alone"), "{address}: {why}");
            assert_eq!(checked_address(address, Outward::Off).expect_err(address), why);
            assert!(checked_address(address, Outward::Any).is_ok(), "{address}");
        }
        assert!(
            checked_address("http://dispatch.example.org/", Outward::Public)
                .expect_err("no TLS")
                .contains("https")
        );
        assert!(checked_address("http://dispatch.example.org/", Outward::Any).is_ok());
        for never in [
            "",
            "dispatch",
            "ftp://dispatch.example.org/",
            "https://",
            "https://me:pw@dispatch.example.org/",
            "https://dispatch.example.org/#a",
            "file:///etc/passwd",
        ] {
            for outward in [Outward::Public, Outward::Any] {
                assert!(checked_address(never, outward).is_err(), "{never}");
            }
        }
        assert!(checked_address(&format!("https://a.example.org/{}", "x".repeat(MOST_ADDRESS)), Outward::Any).is_err());
    }

    #[test]
    fn the_edges_of_networks_are_those_of_the_registry() {
        for (inside, outside) in [
            ("172.16.0.0", "172.15.255.255"),
            ("172.31.255.255", "172.32.0.0"),
            ("100.64.0.0", "100.63.255.255"),
            ("100.127.255.255", "100.128.0.0"),
            ("198.18.0.0", "198.17.255.255"),
            ("198.19.255.255", "198.20.0.0"),
            ("224.0.0.0", "223.255.255.255"),
            ("2001:1ff::", "2001:200::"),
            ("3fff:fff::", "3fff:1000::"),
        ] {
            assert!(special_network(inside.parse().expect("an address")).is_some(), "{inside}");
            assert_eq!(special_network(outside.parse().expect("an address")), None, "{outside}");
        }
    }
}
