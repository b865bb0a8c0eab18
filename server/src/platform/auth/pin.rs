//! PINs: what a member signs commands with on a shared tablet. A PIN becomes a key; the PIN itself is kept nowhere.
//!
//! `key = PBKDF2-HMAC-SHA256(PIN, salt, iterations, 32 bytes)`, `signature = HMAC-SHA256(key, text)`. A million PINs can be
//! tried by whoever holds a signature or the key, so both are kept as closely as passwords, and a wrong key counts.
//!
//! A signature comes with the check of its key. Whoever sends a check that is not the one of the member's key has tried one PIN,
//! however many commands they signed with it, and its signatures are not even looked at: a guess counts once, and no guess is free.

use std::num::NonZeroU32;

use aws_lc_rs::{constant_time::verify_slices_are_equal, hmac, pbkdf2};
use chrono::{DateTime, Utc};
use diesel::prelude::*;

use super::{AccessEventKind, Actor, NewEvent, note};
use crate::{
    on,
    platform::{
        db::{Db, schema::pin, types::Uid},
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// How often a PIN is hashed into its key.
const ITERATIONS: NonZeroU32 = NonZeroU32::new(600_000).unwrap();
/// How many wrong keys lock a PIN.
const MOST_WRONG: usize = 10;
/// How many earlier PINs of a member are known as such.
const MOST_FORMER: usize = 10;
const KEY_BYTES: usize = 32;
/// Bytes of a key's check, as a signature carries it.
pub const CHECK_BYTES: usize = 8;

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = pin)]
struct PinRow {
    agency: Uid,
    member: Uid,
    salt: Vec<u8>,
    iterations: i64,
    secret: Vec<u8>,
    former: Vec<u8>,
    wrong: Vec<u8>,
}

impl PinRow {
    fn locked(&self) -> bool {
        self.wrong.chunks_exact(CHECK_BYTES).count() >= MOST_WRONG
    }
}

/// A signature that has been read, and the text that it must be of.
#[derive(Debug, Clone)]
pub struct Signature {
    /// Id of the member.
    pub member: MemberId,
    /// The check of the key that it was made with.
    pub check: [u8; CHECK_BYTES],
    /// The signature's bytes.
    pub code: Vec<u8>,
    /// The text.
    pub text: String,
}

/// A new PIN, made into its key.
#[derive(Clone)]
pub struct Pin {
    salt: [u8; 16],
    key: [u8; KEY_BYTES],
}

/// What may be told of a member's PIN.
#[derive(Debug)]
pub struct Signer {
    /// Id of the member.
    pub member: MemberId,
    /// What its PIN is hashed with.
    pub salt: Vec<u8>,
    /// How often.
    pub iterations: i64,
    /// One byte of the key's own signature, by which a tablet catches a slip of the finger and learns little else.
    pub check: u8,
    /// Whether too many wrong PINs were tried.
    pub locked: bool,
}

impl Pin {
    /// Makes the key of a PIN, with a salt of its own. Takes a good part of a second.
    pub fn new(digits: &str) -> Result<Self, Fault> {
        sound(digits)?;
        let salt: [u8; 16] = rand::random();
        Ok(Self {
            salt,
            key: derive(digits, &salt, ITERATIONS),
        })
    }
}

/// Refuses what is no PIN, and those that everybody tries first.
fn sound(digits: &str) -> Result<(), Fault> {
    let bytes = digits.as_bytes();
    if bytes.len() != 6 || !bytes.iter().all(u8::is_ascii_digit) {
        return Err(Fault::field("body.pin", "A PIN is six digits"));
    }
    let all_equal = bytes.iter().all(|digit| bytes.first() == Some(digit));
    if all_equal || ["123456", "654321"].contains(&digits) {
        return Err(Fault::field("body.pin", "This PIN is tried first by everybody; choose another"));
    }
    Ok(())
}

fn derive<const BYTES: usize>(digits: &str, salt: &[u8], iterations: NonZeroU32) -> [u8; BYTES] {
    let mut key = [0; BYTES];
    pbkdf2::derive(pbkdf2::PBKDF2_HMAC_SHA256, iterations, salt, digits.as_bytes(), &mut key);
    key
}

fn signing(key: &[u8]) -> hmac::Key {
    hmac::Key::new(hmac::HMAC_SHA256, key)
}

fn find(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<Option<PinRow>, Fault> {
    let key = (Uid::from(agency), Uid::from(member));
    Ok(on!(db, conn => pin::table.find(key).select(PinRow::as_select()).first(conn).optional())?)
}

fn put_wrong(db: &mut Db, agency: AgencyId, member: MemberId, wrong: &[u8]) -> Result<(), Fault> {
    let key = (Uid::from(agency), Uid::from(member));
    on!(db, conn => diesel::update(pin::table.find(key)).set(pin::wrong.eq(wrong)).execute(conn))?;
    Ok(())
}

/// Whether a member has a PIN.
pub fn has_pin(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<bool, Fault> {
    Ok(find(db, agency, member)?.is_some())
}

/// Gives a member a PIN, and opens it where it was locked.
pub fn put_pin(db: &mut Db, agency: AgencyId, member: MemberId, new: &Pin) -> Result<(), Fault> {
    let mut former = Vec::new();
    if let Some(old) = find(db, agency, member)? {
        former.extend(old.secret);
        former.extend(old.former);
        former.truncate(MOST_FORMER * KEY_BYTES);
    }
    let row = PinRow {
        agency: agency.into(),
        member: member.into(),
        salt: new.salt.to_vec(),
        iterations: ITERATIONS.get().into(),
        secret: new.key.to_vec(),
        former,
        wrong: Vec::new(),
    };
    on!(&mut *db, conn => diesel::delete(pin::table.find((row.agency, row.member))).execute(conn))?;
    on!(db, conn => diesel::insert_into(pin::table).values(&row).execute(conn))?;
    Ok(())
}

/// Opens a member's PIN again.
pub fn unlock_pin(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<(), Fault> {
    put_wrong(db, agency, member, &[])
}

/// The members of an agency who have a PIN.
pub fn signers(db: &mut Db, agency: AgencyId) -> Result<Vec<Signer>, Fault> {
    let rows: Vec<PinRow> = on!(db, conn => pin::table.filter(pin::agency.eq(Uid::from(agency))).select(PinRow::as_select()).load(conn))?;
    Ok(rows
        .into_iter()
        .map(|row| Signer {
            member: MemberId(row.member.0),
            check: check(&row.secret).first().copied().unwrap_or_default(),
            locked: row.locked(),
            salt: row.salt,
            iterations: row.iterations,
        })
        .collect())
}

/// By what a key is known without being told: the first eight bytes of its signature of the word `check`.
fn check(key: &[u8]) -> Vec<u8> {
    hmac::sign(&signing(key), b"check").as_ref().iter().copied().take(CHECK_BYTES).collect()
}

/// Holds a signature to the member's PIN, in a time that tells nothing. A wrong key is noted in the transaction that it came in,
/// which the caller commits though it refuses the command; the same wrong key again is no further guess, and nor is an earlier PIN.
pub fn check_signature(db: &mut Db, tablet: &Actor, signature: &Signature, now: DateTime<Utc>) -> Result<(), Fault> {
    let agency = tablet.agency;
    let member = signature.member;
    let made_with = |key: &[u8]| verify_slices_are_equal(&check(key), &signature.check).is_ok();
    let Some(pin) = find(db, agency, member)? else {
        return Err(Fault::new(error::PIN_WRONG, "This member has no PIN yet; set one on a phone or at a desk").at("by.member"));
    };
    if pin.locked() {
        return Err(Fault::new(
            error::PIN_LOCKED,
            "Ten wrong PINs were tried. An officer unlocks the PIN, or the member sets a new one on a phone or at a desk",
        )
        .at("by.member"));
    }
    if made_with(&pin.secret) {
        if hmac::verify(&signing(&pin.secret), signature.text.as_bytes(), &signature.code).is_err() {
            let words = "This signature is of another command, body or device; sign again what is sent";
            return Err(Fault::new(error::PIN_WRONG, words).at("by.signature"));
        }
        if !pin.wrong.is_empty() {
            put_wrong(db, agency, member, &[])?;
        }
        return Ok(());
    }
    // What was signed before the PIN was changed and arrives after it is no guess.
    let words = if pin.former.chunks_exact(KEY_BYTES).any(made_with) {
        "This was signed with a PIN that the member had before; sign it again"
    } else {
        if !pin.wrong.chunks_exact(CHECK_BYTES).any(|wrong| wrong == signature.check) {
            put_wrong(db, agency, member, &[pin.wrong.as_slice(), &signature.check].concat())?;
            note(db, NewEvent::by(tablet, Some(member), AccessEventKind::PinWrong), now)?;
        }
        "The PIN does not match; type it again and sign anew"
    };
    Err(Fault::new(error::PIN_WRONG, words).at("by.signature"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hex(bytes: &[u8]) -> String {
        bytes.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// RFC 7914, section 11.
    #[test]
    fn keys_are_made_as_the_standard_says() {
        for (password, salt, iterations, key) in [
            (
                "passwd",
                "salt",
                1,
                "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc49ca9cccf179b645991664b39d77ef317c71b845b1e30bd509112041d3a19783",
            ),
            (
                "Password",
                "NaCl",
                80_000,
                "4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56a1d425a1225833549adb841b51c9b3176a272bdebba1d078478f62b397f33c8d",
            ),
        ] {
            let made: [u8; 64] = derive(password, salt.as_bytes(), NonZeroU32::new(iterations).unwrap());
            assert_eq!(hex(&made), key);
        }
    }

    /// RFC 4231, test cases 1 and 2.
    #[test]
    fn signatures_are_made_as_the_standard_says() {
        for (key, text, code) in [
            (&[0x0b; 20][..], "Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
            (
                b"Jefe",
                "what do ya want for nothing?",
                "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
            ),
        ] {
            assert_eq!(hex(hmac::sign(&signing(key), text.as_bytes()).as_ref()), code);
        }
    }

    #[test]
    fn a_pin_is_six_digits_and_none_that_everybody_tries_first() {
        for no in [
            "",
            "12345",
            "1234567",
            "12345x",
            "１２３４５６",
            "000000",
            "777777",
            "123456",
            "654321",
            " 12345",
        ] {
            assert!(sound(no).is_err(), "{no}");
        }
        for yes in ["482915", "000001", "123457"] {
            assert!(sound(yes).is_ok(), "{yes}");
        }
    }
}
