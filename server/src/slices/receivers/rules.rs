//! Which mailboxes messages may go to, and which secrets they may be signed with.

use base64::Engine as _;

pub use crate::platform::door::SendsEmail;

/// The longest address for e-mail, in characters (RFC 5321, erratum 1690).
const MOST_MAILBOX: usize = 254;
/// What a secret begins with (Standard Webhooks).
const SECRET_PREFIX: &str = "whsec_";
/// The least and most bytes of a secret (Standard Webhooks).
const SECRET_BYTES: std::ops::RangeInclusive<usize> = 24..=64;

/// An address that e-mail may go to, or why it may not.
pub fn checked_mailbox(address: &str, sends: SendsEmail) -> Result<String, String> {
    if !sends.0 {
        return Err("This service sends no e-mail yet; whoever runs it can set that up".to_owned());
    }
    if address.chars().count() > MOST_MAILBOX {
        return Err(format!("This address is longer than {MOST_MAILBOX} characters"));
    }
    address
        .parse::<lettre::Address>()
        .map(|address| address.to_string())
        .map_err(|_| "This is no address for e-mail; it reads desk@dispatch.example".to_owned())
}

/// The bytes of a secret as Standard Webhooks writes it, or what is wrong with it.
pub fn secret_bytes(secret: &str) -> Result<Vec<u8>, String> {
    let wrong = || {
        format!(
            "A secret is {SECRET_PREFIX} and the base64 of {} to {} random bytes",
            SECRET_BYTES.start(),
            SECRET_BYTES.end()
        )
    };
    let encoded = secret.strip_prefix(SECRET_PREFIX).ok_or_else(wrong)?;
    let bytes = base64::engine::general_purpose::STANDARD.decode(encoded).map_err(|_| wrong())?;
    match SECRET_BYTES.contains(&bytes.len()) {
        // What nobody drew by chance: one byte again and again.
        true if bytes.iter().any(|byte| Some(byte) != bytes.first()) => Ok(bytes),
        _ => Err(wrong()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_for_email_is_one_and_there_is_a_relay() {
        assert_eq!(
            checked_mailbox("desk@dispatch.example", SendsEmail(true)).as_deref(),
            Ok("desk@dispatch.example")
        );
        for wrong in [
            "",
            "desk",
            "desk@",
            "@dispatch.example",
            "a b@dispatch.example",
            "desk@dispatch.example\r\nBcc: x@y.example",
            "a@b, c@d",
        ] {
            assert!(checked_mailbox(wrong, SendsEmail(true)).is_err(), "{wrong}");
        }
        assert!(checked_mailbox(&format!("{}@dispatch.example", "x".repeat(250)), SendsEmail(true)).is_err());
        let why = checked_mailbox("desk@dispatch.example", SendsEmail(false)).expect_err("no relay");
        assert!(why.contains("sends no e-mail yet") && !why.contains("--"), "{why}");
    }

    #[test]
    fn a_secret_is_one_of_standard_webhooks() {
        assert!(secret_bytes("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw").is_ok());
        let zeros = format!("whsec_{}", "A".repeat(32));
        let long = format!("whsec_{}", base64::engine::general_purpose::STANDARD.encode((0..65).collect::<Vec<u8>>()));
        for wrong in ["", "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "whsec_", "whsec_c2hvcnQ=", "whsec_!!", &zeros, &long] {
            assert!(secret_bytes(wrong).is_err(), "{wrong}");
        }
    }
}
