//! Tokens as a hostile caller forges them: access tokens, half sign-ins, the feed's, and the keys of lists.

use std::sync::{Arc, OnceLock};

use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD as BASE64};
use chrono::DateTime;
use fullset::{
    platform::{
        auth::{Actor, Ended, Keys, Role},
        clock::Clock,
        db::{self, Access, Db, Location},
        error::Fault,
        ids::{AgencyId, MemberId},
        listing::{key, key_parts},
    },
    sync::{Sealed, Token},
};
use uuid::Uuid;

const AGENCY: AgencyId = AgencyId(Uuid::from_u128(1));
const SIGN_IN: Uuid = Uuid::from_u128(3);

/// Keys as a service has them, and a token that they signed.
struct Ground {
    keys: Keys,
    sound: String,
    _folder: tempfile::TempDir,
}

fn ground() -> &'static Ground {
    static GROUND: OnceLock<Ground> = OnceLock::new();
    GROUND.get_or_init(|| {
        let folder = tempfile::tempdir().expect("a folder");
        let location = Location::Sqlite(folder.path().join("keys.sqlite"));
        Db::make(&location).expect("a database");
        Db::open(&location, Access::Write).and_then(|mut db| db.migrate()).expect("tables");
        let clock = Clock::manual(DateTime::from_timestamp(1_700_000_000, 0).expect("an instant"));
        let pool = db::pool(&location, Access::Write, 1).expect("a connection");
        let keys = Keys::open(pool, clock.clone(), Arc::new(Ended::new(clock)), None).expect("keys");
        let actor = Actor {
            member: Some(MemberId(Uuid::from_u128(2))),
            role: Role::Crew,
            ..Actor::service(AGENCY, "Sam Sample")
        };
        let sound = keys.sign(&actor, SIGN_IN).expect("a token");
        Ground { keys, sound, _folder: folder }
    })
}

/// Only what the service made is believed, and a refusal is never the service's own failure.
pub fn hold(bytes: &[u8]) {
    let Some((way, rest)) = super::cut(bytes) else { return };
    match way % 5 {
        0 => signed(&edited(ground().sound.as_bytes(), rest)),
        1 => signed(&forged(rest)),
        2 => feed(rest),
        3 => {
            if let Some(text) = super::text(rest) {
                let _ = Sealed::read(text).map(|sealed| refused(sealed.open(AGENCY, "agency", Some(&[7; 32]))));
                listed(text);
                signed(rest);
            }
        }
        _ => {
            if let Some((label, id)) = rest
                .split_last_chunk::<16>()
                .and_then(|(label, id)| Some((super::text(label)?, Uuid::from_bytes(*id))))
            {
                listed(&key(label, id));
            }
        }
    }
}

fn refused<T>(read: Result<T, Fault>) {
    match read {
        Ok(_) => panic!("what nobody signed was believed"),
        Err(fault) => assert!(!fault.is_ours(), "{fault:?}"),
    }
}

/// An access token, which is the sound one or refused; a half sign-in it is never.
fn signed(token: &[u8]) {
    let Some(token) = super::text(token) else { return };
    let ground = ground();
    refused(ground.keys.half(token));
    match ground.keys.actor(token) {
        Ok(actor) => {
            assert_eq!(token, ground.sound, "another spelling of a sound token was believed");
            assert_eq!((actor.agency, actor.role, actor.sign_in), (AGENCY, Role::Crew, Some(SIGN_IN)));
        }
        Err(fault) => {
            assert!(!fault.is_ours(), "{fault:?}");
            assert_ne!(token, ground.sound, "the sound token was refused");
        }
    }
}

/// The sound text after some edits, each of four bytes: what to do, where, what to put there.
fn edited(sound: &[u8], edits: &[u8]) -> Vec<u8> {
    let mut text = sound.to_vec();
    for edit in edits.chunks_exact(4) {
        let at = usize::from(u16::from_le_bytes([edit[1], edit[2]])) % (text.len() + 1);
        match edit[0] % 4 {
            0 if at < text.len() => text[at] = edit[3],
            1 => text.insert(at, edit[3]),
            2 if at < text.len() => {
                text.remove(at);
            }
            3 => text.truncate(at),
            _ => {}
        }
    }
    text
}

/// A token of three parts that end with a line break: header and claims, in which KID stands for the key's name, and the seal: none,
/// the sound token's, or whatever is there. Where claims are empty they are the sound token's.
fn forged(bytes: &[u8]) -> Vec<u8> {
    let sound: Vec<&str> = ground().sound.split('.').collect();
    let head: serde_json::Value = serde_json::from_slice(&BASE64.decode(sound[0]).expect("a header")).expect("JSON");
    let kid = head["kid"].as_str().expect("a name");
    let mut parts = bytes.splitn(3, |byte| *byte == b'\n');
    let mut part = |or: &str| match parts.next().unwrap_or_default() {
        b"" => or.to_owned(),
        bytes => match super::text(bytes) {
            Some(text) => BASE64.encode(text.replace("KID", kid)),
            None => BASE64.encode(bytes),
        },
    };
    let (header, claims) = (part(sound[0]), part(sound[1]));
    let seal = match parts.next().unwrap_or_default() {
        b"" => sound[2].to_owned(),
        b"-" => String::new(),
        bytes => BASE64.encode(bytes),
    };
    format!("{header}.{claims}.{seal}").into_bytes()
}

/// A place in the feed: what was written reads as it was, under its agency, scope and key alone, and no edit of it is believed.
fn feed(bytes: &[u8]) {
    let Some((numbers, rest)) = bytes.split_at_checked(20) else { return };
    let number = |at: usize| i64::from_le_bytes(numbers[at..at + 8].try_into().expect("eight bytes"));
    let (label, edits) = rest.split_at(usize::from(numbers[16]).min(rest.len()));
    let token = Token {
        at: number(0),
        rev: number(8),
        after: super::text(label)
            .filter(|_| numbers[17] & 1 == 1)
            .map(|label| (label.to_owned(), Uuid::from_u128(4))),
        snapshot: (numbers[17] & 2 == 2).then_some(number(0)),
    };
    let (scope, secret) = (format!("station:{}", Uuid::from_u128(5)), [numbers[18]; 32]);
    let written = token.write(AGENCY, &scope, &secret);
    let sealed = Sealed::read(&written).expect("what was written is read");
    assert_eq!(sealed.clone().open(AGENCY, &scope, Some(&secret)).ok(), Some(token));
    refused(sealed.clone().open(AgencyId(Uuid::from_u128(6)), &scope, Some(&secret)));
    refused(sealed.clone().open(AGENCY, "agency", Some(&secret)));
    refused(sealed.clone().open(AGENCY, &scope, Some(&[numbers[18] ^ 1; 32])));
    refused(sealed.open(AGENCY, &scope, None));
    let changed = edited(written.as_bytes(), edits);
    if changed != written.as_bytes()
        && let Some(changed) = super::text(&changed)
        && let Ok(sealed) = Sealed::read(changed)
    {
        refused(sealed.open(AGENCY, &scope, Some(&secret)));
    }
}

/// A key of a list: what is read of it is fit for a query, and its own spelling reads as the same.
fn listed(text: &str) {
    let Some((label, id)) = key_parts(text) else { return };
    assert!(label.len() <= 800 && !label.chars().any(char::is_control), "{label:?}");
    assert_eq!(key_parts(&key(&label, id)), Some((label, id)));
}
