//! Signing keys as they are kept: in the clear, or sealed with a key that is not in the database, so that who reads a copy of the
//! database signs no token. A sealed one is `sealed:` and the base64 of a version byte (1), a nonce of 12 bytes, and what
//! AES-256-GCM (NIST SP 800-38D) makes of the key; the id of the key goes in as associated data, so that no two can be exchanged.

use std::path::Path;

use anyhow::{Context as _, bail, ensure};
use aws_lc_rs::aead::{AES_256_GCM, Aad, NONCE_LEN, Nonce, RandomizedNonceKey};
use base64::{Engine as _, engine::general_purpose::STANDARD as BASE64};

use crate::platform::hex;

const MARK: &str = "sealed:";
const VERSION: u8 = 1;
const KEY_BYTES: usize = 32;

/// The key that seals the signing keys.
#[derive(Clone)]
pub struct SealingKey([u8; KEY_BYTES]);

impl std::fmt::Debug for SealingKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("SealingKey")
    }
}

impl SealingKey {
    /// Reads a key: 32 bytes as 64 hexadecimal digits or as base64.
    pub fn read(text: &str) -> anyhow::Result<Self> {
        let text = text.trim();
        // In base64 they are 44 letters, and so no digits.
        let bytes = hex::bytes(text).or_else(|| BASE64.decode(text).ok());
        let bytes = bytes.and_then(|bytes| bytes.try_into().ok());
        bytes
            .map(Self)
            .context("the sealing key is none: it is 32 random bytes as 64 hexadecimal digits or as base64; `openssl rand -hex 32` makes one")
    }

    /// Reads a key from a file.
    pub fn read_file(path: &Path) -> anyhow::Result<Self> {
        let text = std::fs::read_to_string(path).with_context(|| format!("the sealing key's file {} cannot be read", path.display()))?;
        Self::read(&text)
    }

    fn cipher(&self) -> anyhow::Result<RandomizedNonceKey> {
        RandomizedNonceKey::new(&AES_256_GCM, &self.0).map_err(|_| anyhow::anyhow!("the sealing key is of no use"))
    }

    /// Seals a signing key.
    pub fn seal(&self, kid: &str, plain: &str) -> anyhow::Result<String> {
        let mut text = plain.as_bytes().to_vec();
        let nonce = self
            .cipher()?
            .seal_in_place_append_tag(Aad::from(kid.as_bytes()), &mut text)
            .map_err(|_| anyhow::anyhow!("a signing key could not be sealed"))?;
        let mut bytes = vec![VERSION];
        bytes.extend(nonce.as_ref());
        bytes.extend(text);
        Ok(format!("{MARK}{}", BASE64.encode(bytes)))
    }

    fn open(&self, kid: &str, sealed: &str) -> anyhow::Result<String> {
        let wrong = || {
            anyhow::anyhow!(
                "the signing key {kid} cannot be opened with this sealing key: give the one that it was sealed with (FULLSET_KEY or FULLSET_KEY_FILE), or forget it with fullset keys revoke {kid}"
            )
        };
        let bytes = BASE64.decode(sealed).map_err(|_| wrong())?;
        let (version, rest) = bytes.split_first().ok_or_else(wrong)?;
        ensure!(*version == VERSION, "the signing key {kid} was sealed by a later version of Fullset");
        let (nonce, text) = rest.split_at_checked(NONCE_LEN).ok_or_else(wrong)?;
        let nonce = Nonce::try_assume_unique_for_key(nonce).map_err(|_| wrong())?;
        let mut text = text.to_vec();
        let plain = self.cipher()?.open_in_place(nonce, Aad::from(kid.as_bytes()), &mut text).map_err(|_| wrong())?;
        Ok(String::from_utf8(plain.to_vec())?)
    }
}

/// Whether a signing key is kept sealed.
pub(super) fn is_sealed(kept: &str) -> bool {
    kept.starts_with(MARK)
}

/// A signing key as it is used.
pub(super) fn opened(kid: &str, kept: &str, key: Option<&SealingKey>) -> anyhow::Result<String> {
    match (kept.strip_prefix(MARK), key) {
        (None, _) => Ok(kept.to_owned()),
        (Some(sealed), Some(key)) => key.open(kid, sealed),
        (Some(_), None) => bail!("the signing keys of this database are sealed: give the sealing key in FULLSET_KEY or FULLSET_KEY_FILE"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(byte: u8) -> SealingKey {
        SealingKey([byte; KEY_BYTES])
    }

    #[test]
    fn what_is_sealed_opens_with_its_key_and_id_alone() {
        let sealed = key(7).seal("kid-1", "a secret").unwrap();
        assert!(is_sealed(&sealed) && !sealed.contains("secret"));
        assert_ne!(sealed, key(7).seal("kid-1", "a secret").unwrap(), "each time another nonce");
        assert_eq!(opened("kid-1", &sealed, Some(&key(7))).unwrap(), "a secret");
        assert_eq!(opened("kid-1", "plain", None).unwrap(), "plain");
        for (kid, with) in [("kid-1", Some(key(8))), ("kid-2", Some(key(7))), ("kid-1", None)] {
            assert!(opened(kid, &sealed, with.as_ref()).is_err(), "{kid} {with:?}");
        }
        let bytes = BASE64.decode(sealed.strip_prefix(MARK).unwrap()).unwrap();
        for n in 0..bytes.len() {
            let mut bad = bytes.clone();
            bad[n] ^= 1;
            assert!(opened("kid-1", &format!("{MARK}{}", BASE64.encode(bad)), Some(&key(7))).is_err(), "byte {n}");
        }
        assert!(opened("kid-1", MARK, Some(&key(7))).is_err());
    }

    /// McGrew and Viega, "The Galois/Counter Mode of Operation", appendix B, test case 14 (from memory): key, IV and text all zero.
    #[test]
    fn the_cipher_is_the_published_one() {
        let sealed = "cea7403d4d606b6e074ec5d3baf39d18d0d1c8a799996bf0265b98b5d48ab919";
        let mut bytes: Vec<u8> = hex::bytes(sealed).unwrap();
        let nonce = Nonce::try_assume_unique_for_key(&[0; NONCE_LEN]).unwrap();
        let plain = key(0).cipher().unwrap().open_in_place(nonce, Aad::from(b""), &mut bytes).unwrap().to_vec();
        assert_eq!(plain, [0; 16]);
    }

    #[test]
    fn a_key_is_read_from_digits_or_base64() {
        let digits = "07".repeat(32);
        for text in [digits.clone(), format!(" {digits}\n"), BASE64.encode([7; 32])] {
            assert_eq!(SealingKey::read(&text).unwrap().0, [7; 32]);
        }
        for bad in ["", "07", "password", &BASE64.encode([7; 31]), &"zz".repeat(32), &"é".repeat(32)] {
            assert!(SealingKey::read(bad).is_err(), "{bad}");
        }
    }
}
