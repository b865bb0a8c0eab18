//! What the service asks of other servers on somebody's word: where it may go, and how it goes there. Whoever names an address may name
//! one of the service's own network, so it is looked at when it is set, and again, with what its name resolves to, each time it is asked.

mod addresses;
mod asking;

use std::str::FromStr;

pub use addresses::{checked_address, special_network};
pub use asking::{client, why};

/// Where the service may ask other servers: the operator's setting.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Outward {
    /// This process asks none; another may.
    Off,
    /// Over https to public addresses.
    #[default]
    Public,
    /// Anywhere, also within the own network and without TLS.
    Any,
}

impl FromStr for Outward {
    type Err = String;

    fn from_str(word: &str) -> Result<Self, String> {
        match word {
            "off" => Ok(Self::Off),
            "public" => Ok(Self::Public),
            "any" => Ok(Self::Any),
            _ => Err(format!(
                "'{word}' is none of off (send no messages), public (over https to public addresses) and any (also within the own network and without TLS)"
            )),
        }
    }
}
