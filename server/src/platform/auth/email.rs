//! An email address in its one normal form, which sign-in, limits, records and the table of credentials all know it by.

use std::fmt;

use icu_normalizer::ComposingNormalizerBorrowed;
use serde::{Deserialize, Serialize};

/// The most bytes of an address (RFC 5321, 4.5.3.1.3: a path has 256 octets with its angle brackets).
pub const MOST_EMAIL_BYTES: usize = 254;

/// An email address: without spaces around it, in small letters, in Unicode's normal form C, of at most 254 bytes.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String")]
pub struct Email(String);

/// Why a text is no email address, in words for a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EmailFault(&'static str);

impl fmt::Display for EmailFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0)
    }
}

impl std::error::Error for EmailFault {}

impl Email {
    /// Reads an address as somebody typed it.
    pub fn read(given: &str) -> Result<Self, EmailFault> {
        let trimmed = given.trim();
        // Before any work on it: whoever asks is not signed in.
        if trimmed.len() > MOST_EMAIL_BYTES {
            return Err(EmailFault("An email address has 254 bytes at most"));
        }
        let small = trimmed.to_lowercase();
        let email = ComposingNormalizerBorrowed::new_nfc().normalize(&small).into_owned();
        if email.len() > MOST_EMAIL_BYTES {
            return Err(EmailFault("An email address has 254 bytes at most"));
        }
        let shaped = email
            .split_once('@')
            .is_some_and(|(user, host)| !user.is_empty() && host.contains('.') && !host.contains('@'));
        if shaped && !email.contains(|sign: char| sign.is_whitespace() || sign.is_control()) {
            Ok(Self(email))
        } else {
            Err(EmailFault("This is no email address; it reads name@host"))
        }
    }

    /// The normal form.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Email {
    type Error = EmailFault;

    fn try_from(given: String) -> Result<Self, EmailFault> {
        Self::read(&given)
    }
}

impl fmt::Display for Email {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_has_one_form() {
        let known = Email::read("zoë.crew@harrow.example").unwrap();
        for same in [
            " Zoë.Crew@Harrow.Example\t",
            "zoe\u{308}.crew@harrow.example",
            "ZOE\u{308}.CREW@HARROW.EXAMPLE\u{a0}",
        ] {
            assert_eq!(Email::read(same).as_ref(), Ok(&known), "{same:?}");
        }
    }

    #[test]
    fn what_is_no_address_is_refused() {
        let long = format!("{}@harrow.example", "a".repeat(240));
        for bad in [
            "",
            "nobody",
            "@harrow.example",
            "a@host",
            "a b@harrow.example",
            "a\0@harrow.example",
            "a@b@harrow.example",
            &long,
        ] {
            assert!(Email::read(bad).is_err(), "{bad:?}");
        }
        assert!(Email::read(&format!("{}@harrow.example", "a".repeat(239))).is_ok(), "254 bytes");
        assert!(
            serde_json::from_str::<Email>("\"nobody\"").is_err(),
            "a body and a record are held to it as well"
        );
    }
}
