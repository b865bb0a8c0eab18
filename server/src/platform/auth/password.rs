//! Passwords: which are taken, and their argon2id hashes.
//!
//! | ASVS 5.0 | here |
//! | --- | --- |
//! | 6.2.1 least length 8, better 15 | 10 signs |
//! | 6.2.4 not among the commonest that fit the rules | the list of `zxcvbn`: some 30,000 out of published breaches, and what is made of them |
//! | 6.2.5 no rules of which signs | none |
//! | 6.2.8 taken as it is | not cut, case kept |
//! | 6.2.9 at least 64 signs | 256 |
//! | 6.2.11 words of the context | name, email and agency of the member; words of the trade |
//! | 6.2.12 breached passwords | the same list, offline: no password leaves the service, and not each that was ever breached is in it |

use std::{
    fmt,
    sync::{Mutex, PoisonError},
};

use argon2::{
    ARGON2ID_IDENT, Algorithm, Argon2, Block, Params, Version,
    password_hash::phc::{Output, ParamsString, PasswordHash, Salt},
};
use zxcvbn::zxcvbn;

use crate::platform::error::Fault;

/// The fewest signs of a password.
const FEWEST: usize = 10;
/// The most signs of a password.
pub const MOST_PASSWORD: usize = 256;
/// So many letters that are neither digits nor the member's own words make a password somebody else's to guess.
const FEWEST_OTHER: usize = 4;
/// The fewest guesses that a password takes. One of the list with a year, capitals, signs for letters or a sign after it takes some
/// hundred million at most: each piece beyond the second counts as ten thousand by itself. Two unrelated words with something between
/// them take more, and argon2id makes a guess some hundredths of a second.
const FEWEST_GUESSES: u64 = 300_000_000;
/// A piece that the list holds whole is guessed within so many tries; what is no piece of it takes more.
const GUESSED_AT_ONCE: u64 = 100_000;
/// So many signs are looked at: what follows makes no password of one that is none by then, and the time grows with them.
const MOST_LOOKED_AT: usize = 64;
/// The most of the member's own words that are looked for.
const MOST_OWN: usize = 24;

/// Words that somebody of the trade thinks of first.
const TRADE: [&str; 26] = [
    "fullset",
    "fire",
    "firefighter",
    "firefighters",
    "fireman",
    "firedept",
    "firedepartment",
    "firestation",
    "firehouse",
    "firetruck",
    "fireengine",
    "firechief",
    "firerescue",
    "rescue",
    "engine",
    "ladder",
    "truck",
    "squad",
    "station",
    "hydrant",
    "extrication",
    "hydraulic",
    "cutter",
    "spreader",
    "paramedic",
    "ambulance",
];

/// A new password: hashed, and still held against the words of whoever it is for.
#[derive(Clone)]
pub struct NewPassword {
    hash: String,
    letters: String,
}

impl fmt::Debug for NewPassword {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("NewPassword(..)")
    }
}

impl NewPassword {
    /// Checks and hashes a password; `own` are what is known by now of its member's own words. Takes a processor for some hundredths of
    /// a second.
    pub fn new(password: &str, own: &[&str]) -> Result<Self, Fault> {
        check_password(password, own)?;
        Ok(Self {
            hash: hash(password)?,
            letters: letters(password),
        })
    }

    /// Its hash.
    pub fn hash(&self) -> &str {
        &self.hash
    }

    /// Refuses a password that is made of its member's own words: name, email, agency.
    pub fn is_not_of(&self, own: &[&str]) -> Result<(), Fault> {
        other_letters(&self.letters, own)
    }
}

/// The own words in small letters, the longest first.
fn words(own: &[&str]) -> Vec<String> {
    let mut words: Vec<String> = own
        .iter()
        .flat_map(|text| text.split(|sign: char| !sign.is_alphanumeric()))
        .map(letters)
        .filter(|word| word.chars().count() >= 3)
        .collect();
    words.sort_by_key(|word| std::cmp::Reverse(word.len()));
    words.dedup();
    words
}

fn other_letters(password: &str, own: &[&str]) -> Result<(), Fault> {
    let left = words(own).iter().fold(password.to_owned(), |left, word| left.replace(word.as_str(), ""));
    if left.chars().count() < FEWEST_OTHER && left.len() < password.len() {
        let why = "This password is made of the member's own name, email or agency; three unrelated words make a good one";
        return Err(refused(why));
    }
    Ok(())
}

fn refused(words: &str) -> Fault {
    Fault::field("body.password", words)
}

/// What is left of a text as letters: small, with the signs that stand for letters read as those.
fn letters(text: &str) -> String {
    let read = |sign: char| match sign {
        '@' => 'a',
        '0' => 'o',
        '1' | '!' => 'i',
        '3' => 'e',
        '5' | '$' => 's',
        other => other,
    };
    // Digits and signs at the ends are what people append; inside a word they stand for letters.
    let middle = text.trim_matches(|sign: char| !sign.is_alphabetic() && sign != '@' && sign != '$');
    middle.to_lowercase().chars().map(read).filter(|sign| sign.is_alphabetic()).collect()
}

/// Whether a password is found among those that are tried first.
fn is_guessed(password: &str, own: &[&str]) -> bool {
    let looked: String = password.chars().take(MOST_LOOKED_AT).collect();
    let own = words(own);
    let known: Vec<&str> = own.iter().map(String::as_str).take(MOST_OWN).chain(TRADE).collect();
    let guesses = |text: &str| zxcvbn(text, &known).guesses();
    // Signs between the letters and after them hide a word of the list from the estimate, and from nobody who guesses.
    let plain = letters(&looked);
    let mostly = plain.chars().count() >= FEWEST_OTHER && plain.chars().count() * 2 >= looked.chars().count();
    guesses(&looked) < FEWEST_GUESSES || mostly && guesses(&plain) < GUESSED_AT_ONCE
}

/// Refuses what is no password: too short, too long, made of the own words, or among those that are tried first. For a thread that may
/// block.
pub fn check_password(password: &str, own: &[&str]) -> Result<(), Fault> {
    match password.chars().take(MOST_PASSWORD + 1).count() {
        0..FEWEST => return Err(refused("A password has 10 characters or more; three unrelated words make a good one")),
        FEWEST..=MOST_PASSWORD => {}
        _ => return Err(refused("A password has 256 characters at most")),
    }
    other_letters(&letters(password), own)?;
    if is_guessed(password, own) {
        return Err(refused(
            "This password is among those that are tried first; three unrelated words make a good one",
        ));
    }
    Ok(())
}

/// Where passwords are hashed, used again and again: each thread's 19 MiB would stay with the allocator after a flood of sign-ins. As many
/// as ever hashed at once.
static MEMORY: Mutex<Vec<Vec<Block>>> = Mutex::new(Vec::new());

/// The hash of a password with a salt, of the length of `out`.
fn derive(password: &str, salt: &[u8], params: Params, out: &mut [u8]) -> argon2::Result<()> {
    let pool = || MEMORY.lock().unwrap_or_else(PoisonError::into_inner);
    let mut memory = pool().pop().unwrap_or_default();
    memory.resize(params.block_count(), Block::new());
    let argon2 = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    let done = argon2.hash_password_into_with_memory(password.as_bytes(), salt, out, &mut memory[..]);
    pool().push(memory);
    done
}

/// Hashes a password.
pub(super) fn hash(password: &str) -> Result<String, Fault> {
    let write = || {
        let (salt, params) = (Salt::generate(), Params::default());
        let mut out = [0; Params::DEFAULT_OUTPUT_LEN];
        derive(password, &salt, params.clone(), &mut out).map_err(anyhow::Error::msg)?;
        let written = PasswordHash {
            algorithm: ARGON2ID_IDENT,
            version: Some(Version::V0x13.into()),
            params: ParamsString::try_from(&params).map_err(anyhow::Error::msg)?,
            salt: Some(salt),
            hash: Some(Output::new(&out).map_err(anyhow::Error::msg)?),
        };
        anyhow::Ok(written.to_string())
    };
    write().map_err(|error| error.context("hashing failed").into())
}

/// Whether a hash was made in another way than new ones are: it is made anew when its password is next given.
pub(super) fn is_outdated(text: &str) -> bool {
    let usual = ParamsString::try_from(&Params::default()).map(|params| params.to_string());
    PasswordHash::new(text).is_ok_and(|hash| hash.version != Some(Version::V0x13.into()) || usual.is_ok_and(|usual| usual != hash.params.to_string()))
}

/// Whether a text is a hash that this service makes.
pub(super) fn is_hash(text: &str) -> bool {
    PasswordHash::new(text).is_ok_and(|hash| hash.algorithm.as_str() == "argon2id" && hash.salt.is_some() && hash.hash.is_some())
}

/// Whether the password is the one behind the hash. Takes the same work for a wrong one.
pub(super) fn verify(password: &str, hash: &str) -> bool {
    let Ok(PasswordHash {
        algorithm,
        params,
        salt: Some(salt),
        hash: Some(kept),
        ..
    }) = PasswordHash::new(hash)
    else {
        return false;
    };
    let mut out = vec![0; kept.len()];
    let derived = Params::try_from(&params).is_ok_and(|params| derive(password, &salt, params, &mut out).is_ok());
    // Compared in constant time.
    algorithm == ARGON2ID_IDENT && derived && Output::new(&out).is_ok_and(|out| out == kept)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_tried_first_is_no_password() {
        for bad in [
            "short",
            "ninesigns",
            "1234567890",
            "9876543210",
            "abcdefghijkl",
            "aaaaaaaaaaaa",
            "abcabcabcabc",
            "Password123!",
            "P@ssw0rd2024",
            "Password-2026-!",
            "P-a-s-s-w-o-r-d",
            "qwertyuiop",
            "1qaz2wsx3edc",
            "zxcvbnmasdfghjkl",
            "trustno1trustno1",
            "iloveyou2024!!",
            "mustang1969",
            "Liverpool123",
            "christopher1",
            "sunshine2026!",
            "drowssap1234",
            "11/25/1984",
            "firefighter1",
            "Extrication-2026",
            "fullset2026!",
            "Welcome2026!",
        ] {
            assert!(check_password(bad, &[]).is_err(), "{bad}");
        }
        assert!(check_password(&"ab".repeat(129), &[]).is_err());
        let long: String = (0..64).map(|n| format!("{:04}", n * 7919 % 10_000)).collect();
        assert!(check_password(&long, &[]).is_ok() && check_password(&format!("{long}1"), &[]).is_err());
        for good in [
            "three-unrelated-words",
            "a-word-or-three",
            "county-demo-only",
            "lantern-harbour-eleven",
            "three-quiet-words",
            "täglich drei Brote",
            "correct horse battery",
            "73519 02846",
            "kT4vwq9xZe",
        ] {
            assert!(check_password(good, &[]).is_ok(), "{good}");
        }
    }

    /// What is looked at is cut, so the time has an end: fourteen estimates took 2.7 s in a build without optimisation on a machine under
    /// load.
    #[test]
    fn a_hostile_password_is_looked_at_in_a_bounded_time() {
        let began = std::time::Instant::now();
        let hostile = ["4@8({[<369|!1/|\\\\0$5+7%2", "aA1!", "qwertyuiop", "pa55w0rd", "1/1/11", "аб", "\u{1f692}"];
        for piece in hostile {
            let _ = check_password(&piece.repeat(256).chars().take(256).collect::<String>(), &[piece]);
        }
        assert!(began.elapsed().as_secs() < 10, "{:?}", began.elapsed());
    }

    #[test]
    fn ones_own_words_are_no_password() {
        let own = ["Sam Sample", "sam.sample@harrow.example", "Harrow County Fire"];
        let made = |text: &str| NewPassword {
            hash: String::new(),
            letters: letters(text),
        };
        for bad in ["samsample2024", "Harrow-County-Fire", "sample.harrow!", "H@rrowC0unty"] {
            assert!(made(bad).is_not_of(&own).is_err() && check_password(bad, &own).is_err(), "{bad}");
        }
        // Beside a word of the list as well.
        assert!(check_password("harrowpassword", &own).is_err());
        for good in ["three-unrelated-words", "harrow-in-moonlight", "73519 02846"] {
            assert!(made(good).is_not_of(&own).is_ok() && check_password(good, &own).is_ok(), "{good}");
        }
    }

    /// Made by argon2-cffi 25.1 with a memory of 8 MiB and one pass.
    #[test]
    fn a_hash_that_was_made_otherwise_is_outdated_and_still_holds() {
        let old = "$argon2id$v=19$m=8192,t=1,p=1$Evz8XpzL9qUhQwqITY5Y/A$+MR1qazGBZCJOzXh2UhkoJAYsNhUisZEPt3jrdnzWGM";
        assert!(is_outdated(old) && verify("three-unrelated-words", old));
        assert!(!is_outdated(&hash("three-unrelated-words").unwrap()) && !is_outdated("no hash"));
    }

    #[test]
    fn hashes_are_those_of_other_programs() {
        use argon2::password_hash::{PasswordHasher as _, PasswordVerifier as _};
        let theirs = Argon2::default().hash_password(b"three quiet words").unwrap().to_string();
        assert!(verify("three quiet words", &theirs) && !verify("three quiet word", &theirs));
        let ours = hash("three quiet words").unwrap();
        let read = PasswordHash::new(&ours).unwrap();
        assert!(Argon2::default().verify_password(b"three quiet words", &read).is_ok());
        assert!(verify("three quiet words", &ours) && !verify("three quiet words ", &ours) && !verify("", "no hash"));
        assert_ne!(ours, hash("three quiet words").unwrap(), "each has a salt of its own");
    }
}
