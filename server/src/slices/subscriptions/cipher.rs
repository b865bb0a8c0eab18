//! A notice as only the browser that it is for can read it: RFC 8291, which is `aes128gcm` of RFC 8188 with a key that both sides agree on.

use aws_lc_rs::{
    aead::{AES_128_GCM, Aad, LessSafeKey, Nonce, UnboundKey},
    agreement::{ECDH_P256, PrivateKey, UnparsedPublicKey, agree},
    hmac::{self, HMAC_SHA256},
};

/// The bytes of an uncompressed point of P-256.
pub const POINT: usize = 65;
/// The bytes of the secret that a browser draws for its subscription (RFC 8291, 3.2).
pub const AUTH: usize = 16;
/// The size of a record, and the most that a push service has to take (RFC 8030, 7.2; RFC 8291, 4).
const RECORD: u32 = 4096;
/// Salt, size of the record, length of the key's id, and the key itself.
const HEAD: usize = 16 + 4 + 1 + POINT;
/// The most bytes of a notice: what is left of a body of 4,096 bytes after the head, the sign that ends a record, and the tag of the cipher.
pub const MOST_PLAIN: usize = 4096 - HEAD - 1 - 16;

/// What a browser gave away, so that notices to it can be sealed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SealedFor {
    /// Its public key, as an uncompressed point of P-256.
    pub p256dh: Vec<u8>,
    /// The secret that it drew.
    pub auth: Vec<u8>,
}

/// HKDF (RFC 5869) with SHA-256, for 32 bytes at most.
fn derived(salt: &[u8], secret: &[u8], info: &[&[u8]]) -> [u8; 32] {
    let extracted = hmac::sign(&hmac::Key::new(HMAC_SHA256, salt), secret);
    let expanded = hmac::sign(&hmac::Key::new(HMAC_SHA256, extracted.as_ref()), &[&info.concat()[..], &[1]].concat());
    let mut bytes = [0; 32];
    bytes.copy_from_slice(expanded.as_ref());
    bytes
}

/// Whether what a browser gave can be sealed for: a point of the curve, and a secret of the right length.
pub fn is_sound(to: &SealedFor) -> bool {
    to.auth.len() == AUTH && seal(to, b"").is_some()
}

/// Seals a notice for a browser, with a key and a salt drawn for it alone; none where it is too long, or what the browser gave is no key.
pub fn seal(to: &SealedFor, plain: &[u8]) -> Option<Vec<u8>> {
    seal_with(to, plain, &PrivateKey::generate(&ECDH_P256).ok()?, rand::random())
}

fn seal_with(to: &SealedFor, plain: &[u8], own: &PrivateKey, salt: [u8; 16]) -> Option<Vec<u8>> {
    if plain.len() > MOST_PLAIN || to.p256dh.len() != POINT {
        return None;
    }
    let public = own.compute_public_key().ok()?;
    let theirs = UnparsedPublicKey::new(&ECDH_P256, &to.p256dh);
    let info: [&[u8]; 3] = [b"WebPush: info\0", &to.p256dh, public.as_ref()];
    let agreed = agree(own, theirs, (), |shared| Ok(derived(&to.auth, shared, &info))).ok()?;
    let key = derived(&salt, &agreed, &[b"Content-Encoding: aes128gcm\0"]);
    let nonce = derived(&salt, &agreed, &[b"Content-Encoding: nonce\0"]);
    let key = LessSafeKey::new(UnboundKey::new(&AES_128_GCM, key.get(..16)?).ok()?);
    let nonce = Nonce::try_assume_unique_for_key(nonce.get(..12)?).ok()?;
    // 2 ends the last record, which is the only one (RFC 8188, 2).
    let mut text = [plain, &[2]].concat();
    key.seal_in_place_append_tag(nonce, Aad::empty(), &mut text).ok()?;
    let mut body = Vec::with_capacity(HEAD + text.len());
    body.extend(salt);
    body.extend(RECORD.to_be_bytes());
    body.push(u8::try_from(POINT).ok()?);
    body.extend(public.as_ref());
    body.extend(text);
    Some(body)
}

#[cfg(test)]
mod tests {
    use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
    use serde_json::Value;

    use super::*;

    /// RFC 8291, section 5 and appendix A: `tests/published/data/web_push.json`.
    fn published() -> Value {
        serde_json::from_str(include_str!("../../../../tests/published/data/web_push.json")).expect("JSON")
    }

    fn bytes(of: &Value, field: &str) -> Vec<u8> {
        URL_SAFE_NO_PAD.decode(of[field].as_str().expect("text")).expect("base64url")
    }

    fn receiver(of: &Value) -> SealedFor {
        SealedFor {
            p256dh: bytes(of, "ua_public"),
            auth: bytes(of, "auth_secret"),
        }
    }

    #[test]
    fn the_published_notice_is_sealed_as_published() {
        let all = published();
        let own = PrivateKey::from_private_key(&ECDH_P256, &bytes(&all, "as_private")).expect("a key");
        let salt = bytes(&all, "salt").try_into().expect("16 bytes");
        let plain = all["plaintext"].as_str().expect("text").as_bytes();
        let sealed = seal_with(&receiver(&all), plain, &own, salt).expect("a body");
        assert_eq!(URL_SAFE_NO_PAD.encode(sealed), all["body"].as_str().expect("text"));
    }

    #[test]
    fn each_notice_has_a_key_of_its_own_and_fits_what_a_push_service_takes() {
        let to = receiver(&published());
        let longest = vec![b'x'; MOST_PLAIN];
        let (one, other) = (seal(&to, &longest).expect("a body"), seal(&to, &longest).expect("a body"));
        assert_eq!(one.len(), 4096);
        assert_ne!(one[..HEAD], other[..HEAD], "salt and key are drawn anew");
        assert_eq!(seal(&to, &vec![b'x'; MOST_PLAIN + 1]), None);
    }

    #[test]
    fn what_is_no_point_of_the_curve_is_refused() {
        let good = receiver(&published());
        assert!(is_sound(&good));
        let with = |p256dh: Vec<u8>| SealedFor { p256dh, ..good.clone() };
        let mut off_curve = good.p256dh.clone();
        off_curve[64] ^= 1;
        for bad in [
            Vec::new(),
            vec![0],
            vec![4; POINT],
            off_curve,
            good.p256dh[..33].to_vec(),
            [&good.p256dh[..], &[0]].concat(),
        ] {
            assert!(!is_sound(&with(bad.clone())), "{bad:?}");
        }
        assert!(!is_sound(&SealedFor {
            auth: vec![7; 15],
            ..good.clone()
        }));
        assert!(!is_sound(&SealedFor { auth: vec![7; 17], ..good }));
    }
}
