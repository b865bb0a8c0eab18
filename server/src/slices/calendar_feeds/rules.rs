//! What a secret of a calendar feed is.

use sha2::{Digest as _, Sha256};

/// The most feeds of an agency whose addresses answer.
pub const MOST_FEEDS: usize = 200;

/// The SHA-256 of a secret, from the 64 hexadecimal digits in lower case that name it.
pub fn hash_of(digits: &str) -> Result<[u8; 32], &'static str> {
    const WHY: &str = "This is the SHA-256 of the secret: 64 hexadecimal digits in lower case";
    if digits.len() != 64 || !digits.bytes().all(|sign| sign.is_ascii_digit() || (b'a'..=b'f').contains(&sign)) {
        return Err(WHY);
    }
    let mut hash = [0; 32];
    for (n, byte) in hash.iter_mut().enumerate() {
        let pair = digits.get(n * 2..n * 2 + 2).ok_or(WHY)?;
        *byte = u8::from_str_radix(pair, 16).map_err(|_| WHY)?;
    }
    Ok(hash)
}

/// The SHA-256 of a secret as it stands in an address: 32 bytes as base64url without padding, 43 signs. What is shorter or longer is none, so
/// that nobody chooses a word.
pub fn hash_of_secret(secret: &str) -> Option<[u8; 32]> {
    use base64::Engine as _;
    let bytes = base64::engine::general_purpose::URL_SAFE_NO_PAD.decode(secret).ok()?;
    (bytes.len() == 32).then(|| Sha256::digest(secret.as_bytes()).into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_is_32_bytes_and_known_by_its_hash() {
        let secret = "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8";
        // printf %s "$secret" | sha256sum
        let digits = "ea866a757e4c38babfa8127cbe9a409d3e1f93a00ff1488ff735fcf917afffd0";
        assert_eq!(hash_of_secret(secret), hash_of(digits).ok());
        for wrong in ["", "secret", &secret[..42], &format!("{secret}A"), &secret.replace('A', "+")] {
            assert_eq!(hash_of_secret(wrong), None, "{wrong}");
        }
        for wrong in ["", &digits[..63], &digits.to_uppercase(), &digits.replacen('5', "g", 1)] {
            assert!(hash_of(wrong).is_err(), "{wrong}");
        }
    }
}
