//! Secrets that a client makes and of which the service is told the SHA-256 alone, so that they stand in no command, journal or table:
//! 32 random bytes, as base64url without padding 43 signs.
//!
//! A secret is found by the first eight bytes of its hash, and what was found is compared whole in a time that tells nothing.

use aws_lc_rs::constant_time::verify_slices_are_equal;
use base64::Engine as _;
use sha2::{Digest as _, Sha256};

use crate::platform::error::Fault;

/// Bytes of a hash by which it is found.
const FOUND_BY: usize = 8;

/// The SHA-256 of a secret.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SecretHash([u8; 32]);

impl SecretHash {
    /// From the 64 hexadecimal digits in lower case that name it.
    pub fn of_digits(digits: &str) -> Result<Self, &'static str> {
        const WHY: &str = "This is the SHA-256 of the secret: 64 hexadecimal digits in lower case";
        if digits.len() != 64 || !digits.bytes().all(|sign| sign.is_ascii_digit() || (b'a'..=b'f').contains(&sign)) {
            return Err(WHY);
        }
        let mut hash = [0; 32];
        for (n, byte) in hash.iter_mut().enumerate() {
            let pair = digits.get(n * 2..n * 2 + 2).ok_or(WHY)?;
            *byte = u8::from_str_radix(pair, 16).map_err(|_| WHY)?;
        }
        Ok(Self(hash))
    }

    /// Of the body's field `secret_sha256`.
    pub fn of_body(digits: &str) -> Result<Self, Fault> {
        Self::of_digits(digits).map_err(|why| Fault::field("body.secret_sha256", why))
    }

    /// Of a secret as it stands in an address. What is shorter or longer than 43 signs is none, so that nobody chooses a word.
    pub fn of_secret(secret: &str) -> Option<Self> {
        let bytes = base64::engine::general_purpose::URL_SAFE_NO_PAD.decode(secret).ok()?;
        (bytes.len() == 32).then(|| Self(Sha256::digest(secret.as_bytes()).into()))
    }

    /// As 64 hexadecimal digits.
    pub fn digits(&self) -> String {
        self.0.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// By what it is found.
    pub fn found_by(&self) -> &[u8] {
        self.0.get(..FOUND_BY).unwrap_or_default()
    }

    /// Its bytes.
    pub const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// Whether it is the one that was kept, in a time that does not tell how much of it is.
    pub fn is(&self, kept: &[u8]) -> bool {
        verify_slices_are_equal(&self.0, kept).is_ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_is_32_bytes_and_known_by_its_hash() {
        let secret = "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8";
        // printf %s "$secret" | sha256sum
        let digits = "ea866a757e4c38babfa8127cbe9a409d3e1f93a00ff1488ff735fcf917afffd0";
        let hash = SecretHash::of_secret(secret).unwrap();
        assert_eq!(Some(hash), SecretHash::of_digits(digits).ok());
        assert_eq!(hash.digits(), digits);
        assert!(hash.is(hash.bytes()) && hash.bytes().starts_with(hash.found_by()));
        for wrong in ["", "secret", &secret[..42], &format!("{secret}A"), &secret.replace('A', "+")] {
            assert_eq!(SecretHash::of_secret(wrong), None, "{wrong}");
        }
        for wrong in ["", &digits[..63], &digits.to_uppercase(), &digits.replacen('5', "g", 1)] {
            assert!(SecretHash::of_digits(wrong).is_err(), "{wrong}");
        }
    }
}
