//! Codes of a second factor: TOTP (RFC 6238) with HMAC-SHA1, steps of 30 seconds and six digits, which is what every authenticator
//! reads; the key as Base32 (RFC 4648) without padding, 32 signs.

use aws_lc_rs::{constant_time::verify_slices_are_equal, hmac};
use chrono::{DateTime, Utc};

/// Bytes of a key: as many as the hash has (RFC 4226, section 4, R6).
pub const KEY_BYTES: usize = 20;
const STEP_SECONDS: i64 = 30;
const DIGITS: usize = 6;
/// How many steps a phone's clock may be off.
const DRIFT: i64 = 1;

/// RFC 4226, section 5.3: 31 bits of the code of a counter.
fn truncated(key: &[u8], counter: i64) -> u32 {
    let code = hmac::sign(&hmac::Key::new(hmac::HMAC_SHA1_FOR_LEGACY_USE_ONLY, key), &counter.to_be_bytes());
    let code = code.as_ref();
    let at = code.last().map_or(0, |last| usize::from(last & 0x0f));
    let bytes = code.iter().skip(at).take(4);
    bytes.fold(0_u32, |number, byte| (number << 8) | u32::from(*byte)) & 0x7fff_ffff
}

fn code_of(key: &[u8], step: i64) -> String {
    format!("{:0width$}", truncated(key, step) % 10_u32.pow(6), width = DIGITS)
}

/// The step that a code is of: the present one or one beside it, and later than the last that was used. All are tried, in a time that
/// does not tell which it was.
pub fn step_of(key: &[u8], code: &str, now: DateTime<Utc>, used: i64) -> Option<i64> {
    let present = now.timestamp().div_euclid(STEP_SECONDS);
    (present - DRIFT..=present + DRIFT).rfind(|step| verify_slices_are_equal(code_of(key, *step).as_bytes(), code.as_bytes()).is_ok() && *step > used)
}

/// A key as an authenticator takes it.
pub fn base32(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 32] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";
    let mut text = String::with_capacity(bytes.len().div_ceil(5) * 8);
    let (mut held, mut bits) = (0_u32, 0_u32);
    for byte in bytes {
        held = (held << 8) | u32::from(*byte);
        bits += 8;
        while bits >= 5 {
            bits -= 5;
            push(&mut text, SIGNS, held >> bits);
        }
        held &= (1 << bits) - 1;
    }
    if bits > 0 {
        push(&mut text, SIGNS, held << (5 - bits));
    }
    text
}

fn push(text: &mut String, signs: &[u8; 32], at: u32) {
    let sign = usize::try_from(at & 31).ok().and_then(|at| signs.get(at));
    text.extend(sign.map(|sign| char::from(*sign)));
}

/// The address by which an authenticator takes a key, `otpauth://totp/...` (the form that authenticators agree on; no standard).
pub fn address(issuer: &str, account: &str, key: &[u8]) -> String {
    let (issuer, account) = (plain(issuer), plain(account));
    let key = base32(key);
    format!("otpauth://totp/{issuer}:{account}?secret={key}&issuer={issuer}&algorithm=SHA1&digits=6&period=30")
}

/// A text as it stands in an address: all but unreserved signs as `%xx` (RFC 3986, section 2.1).
fn plain(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => char::from(byte).to_string(),
            _ => format!("%{byte:02X}"),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEY: &[u8] = b"12345678901234567890";

    fn at(seconds: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(seconds, 0).unwrap()
    }

    /// RFC 4226, appendix D, from memory.
    #[test]
    fn codes_of_counters_are_those_of_the_standard() {
        let codes = [755_224, 287_082, 359_152, 969_429, 338_314, 254_676, 287_922, 162_583, 399_871, 520_489];
        for (counter, code) in codes.into_iter().enumerate() {
            assert_eq!(truncated(KEY, i64::try_from(counter).unwrap()) % 1_000_000, code);
        }
    }

    /// RFC 6238, appendix B, the rows of SHA1, eight digits, from memory.
    #[test]
    fn codes_of_instants_are_those_of_the_standard() {
        for (seconds, code) in [
            (59, 94_287_082),
            (1_111_111_109, 7_081_804),
            (1_111_111_111, 14_050_471),
            (1_234_567_890, 89_005_924),
            (2_000_000_000, 69_279_037),
            (20_000_000_000, 65_353_130),
        ] {
            assert_eq!(truncated(KEY, seconds / 30) % 100_000_000, code, "{seconds}");
            assert!(step_of(KEY, &format!("{:06}", code % 1_000_000), at(seconds), 0).is_some(), "{seconds}");
        }
    }

    #[test]
    fn a_code_counts_one_step_early_and_one_late_and_once() {
        let code = code_of(KEY, 1000);
        for (step, counts) in [(998, false), (999, true), (1000, true), (1001, true), (1002, false)] {
            assert_eq!(step_of(KEY, &code, at(step * 30), 0).is_some(), counts, "{step}");
        }
        assert_eq!(step_of(KEY, &code, at(30_000), 999), Some(1000));
        assert_eq!(step_of(KEY, &code, at(30_000), 1000), None, "the step was used");
        assert_eq!(step_of(KEY, &code, at(30_000), 1001), None, "a later one was used");
        for wrong in ["", "00000", &format!("{code}0"), &code[..5]] {
            assert_eq!(step_of(KEY, wrong, at(30_000), 0), None, "{wrong}");
        }
    }

    /// RFC 4648, section 10, without the padding.
    #[test]
    fn keys_are_written_as_the_standard_says() {
        for (bytes, text) in [
            ("", ""),
            ("f", "MY"),
            ("fo", "MZXQ"),
            ("foo", "MZXW6"),
            ("foob", "MZXW6YQ"),
            ("fooba", "MZXW6YTB"),
            ("foobar", "MZXW6YTBOI"),
        ] {
            assert_eq!(base32(bytes.as_bytes()), text);
        }
    }

    #[test]
    fn an_address_holds_any_name() {
        let address = address("Fullset: Zoë & Co", "sam@harrow.example", b"foobar");
        assert_eq!(
            address,
            "otpauth://totp/Fullset%3A%20Zo%C3%AB%20%26%20Co:sam%40harrow.example?secret=MZXW6YTBOI&issuer=Fullset%3A%20Zo%C3%AB%20%26%20Co&algorithm=SHA1&digits=6&period=30"
        );
    }
}
