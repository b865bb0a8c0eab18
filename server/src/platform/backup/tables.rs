//! Every table's rows as lines of JSON, the same for both databases: an id as text, an instant in RFC 3339, bytes in hexadecimal,
//! a document as the text that it is kept as, so that what was hashed is what comes back.

use anyhow::bail;
use diesel::{connection::DefaultLoadingMode, pg::PgRowByRowLoadingMode, prelude::*};

use crate::{on, platform::db::Db};

/// The most rows of one statement, and about how many bytes of lines.
const ROWS: usize = 200;
const BYTES: usize = 2 * 1024 * 1024;

/// What of a database is not copied, each with the reason.
pub const LEFT_OUT: [(&str, &str); 5] = [
    (
        "signing_key",
        "a restored service makes keys of its own, so that a copy that is stolen signs no token",
    ),
    ("photo_part", "a photo that was still on its way is sent again from its beginning"),
    (
        "passkey_answered",
        "what waited for a passkey was signed by a key that is not copied, so nothing waits after a restore",
    ),
    (
        "push_key",
        "a restored service makes one of its own, so that nobody with a copy can send to the phones of members",
    ),
    (
        "push_subscription",
        "it belongs to a sign-in, and a restore ends them all; so no copy holds where phones are reached",
    ),
];

/// Of each table its columns with their types and, for bytes, how they are written. The first tables are those that others refer to.
macro_rules! tables {
    ($($table:ident ($($key:ident),+) { $($column:ident: $type:ty $(as $how:tt)?),+ $(,)? })+) => {
        mod rows {
            $(pub mod $table {
                use diesel::prelude::*;
                use serde::{Deserialize, Serialize};

                #[allow(unused_imports, reason = "not each table has a column of each type")]
                use crate::platform::db::types::{Doc, Moment, Uid};

                #[derive(Queryable, Selectable, Insertable, Serialize, Deserialize)]
                #[diesel(table_name = crate::platform::db::schema::$table, treat_none_as_default_value = false)]
                #[serde(deny_unknown_fields)]
                pub struct Row {
                    $($(#[serde(with = $how)])? pub $column: $type),+
                }
            })+
        }

        /// The tables that are copied, in the order in which they are put back.
        pub const TABLES: &[&str] = &[$(stringify!($table)),+];

        /// The columns that are copied of a table.
        pub fn columns(table: &str) -> &'static [&'static str] {
            match table {
                $(stringify!($table) => &[$(stringify!($column)),+],)+
                _ => &[],
            }
        }

        /// Tells each row of a table as a line, one at a time, in the order of its key.
        pub fn read(db: &mut Db, table: &str, each: &mut dyn FnMut(String) -> anyhow::Result<()>) -> anyhow::Result<()> {
            match table {
                $(stringify!($table) => {
                    use crate::platform::db::schema::$table::dsl;
                    match db {
                        Db::Sqlite(conn) => {
                            let query = dsl::$table.select(rows::$table::Row::as_select()).order(($(dsl::$key,)+));
                            for row in query.load_iter::<rows::$table::Row, DefaultLoadingMode>(conn)? {
                                each(serde_json::to_string(&row?)?)?;
                            }
                        }
                        Db::Postgres(conn) => {
                            let query = dsl::$table.select(rows::$table::Row::as_select()).order(($(dsl::$key,)+));
                            for row in query.load_iter::<rows::$table::Row, PgRowByRowLoadingMode>(conn)? {
                                each(serde_json::to_string(&row?)?)?;
                            }
                        }
                    }
                    Ok(())
                })+
                other => bail!("'{other}' is no table of this version"),
            }
        }

        /// Puts the rows of some lines into a table, some hundred at a time; answers how many those were.
        pub fn put(db: &mut Db, table: &str, lines: &mut dyn Iterator<Item = anyhow::Result<String>>) -> anyhow::Result<u64> {
            match table {
                $(stringify!($table) => {
                    let mut waiting: Vec<rows::$table::Row> = Vec::new();
                    let (mut bytes, mut rows) = (0, 0_u64);
                    let mut flush = |waiting: &mut Vec<rows::$table::Row>| -> QueryResult<()> {
                        use crate::platform::db::schema::$table::dsl;
                        on!(&mut *db, conn => diesel::insert_into(dsl::$table).values(&*waiting).execute(conn))?;
                        waiting.clear();
                        Ok(())
                    };
                    for line in lines {
                        let line = line?;
                        bytes += line.len();
                        rows += 1;
                        waiting.push(serde_json::from_str(&line)?);
                        if waiting.len() >= ROWS || bytes >= BYTES {
                            flush(&mut waiting)?;
                            bytes = 0;
                        }
                    }
                    if !waiting.is_empty() {
                        flush(&mut waiting)?;
                    }
                    Ok(rows)
                })+
                other => bail!("'{other}' is no table of this version"),
            }
        }
    };
}

tables! {
    agency (id) { id: Uid, rev: i64, journal_head: Vec<u8> as "crate::platform::hex", created_at: Moment, horizon: i64 }
    record (agency, kind, id) {
        agency: Uid, kind: String, id: Uid, rev: i64, gone: bool, label: String, uniq: Option<String>, mark: Option<String>, state: String,
        parent: Option<Uid>, district: Option<Uid>, station: Option<Uid>, rig: Option<Uid>, shop: Option<Uid>, home_district: Option<Uid>,
        home_station: Option<Uid>, home_rig: Option<Uid>, renamed: Option<i64>, body: Doc,
    }
    replaced (agency, kind, id, rev) {
        agency: Uid, rev: i64, kind: String, id: Uid, gone: bool, district: Option<Uid>, station: Option<Uid>, rig: Option<Uid>, body: Doc,
    }
    departure (agency, place, rev, kind, id) { agency: Uid, place: Uid, rev: i64, kind: String, id: Uid, level: String }
    journal (agency, rev) {
        agency: Uid, rev: i64, command: Uid, kind: String, actor: Option<Uid>, actor_name: String, actor_role: String, at_raw: Moment,
        at: Moment, received_at: Moment, skew_us: i64, body: Doc, device: Option<Uid>, record_kind: Option<String>, record: Option<Uid>,
        hash: Vec<u8> as "crate::platform::hex",
    }
    standing (agency, rig, from_rev) {
        agency: Uid, rig: Uid, from_rev: i64, from_at: Moment, until_at: Option<Moment>, level: String, holds_until: Option<Moment>,
        planned: bool, rule: i64,
    }
    lapse (agency, kind, id) { agency: Uid, kind: String, id: Uid, at: Moment, try_at: Moment, tries: i64, pending: bool }
    credential (agency, member) { agency: Uid, member: Uid, email: String, password_hash: String }
    refresh_token (token_hash) {
        token_hash: Vec<u8> as "crate::platform::hex", family: Uid, agency: Uid, member: Option<Uid>, device: Option<Uid>, issued_at: Moment,
        expires_at: Moment, spent_at: Option<Moment>, next_salt: Option<Vec<u8>> as "crate::platform::hex::or_none", ended_at: Option<Moment>,
        revoked: bool,
    }
    enrolment (agency, id) {
        agency: Uid, id: Uid, code_hash: Vec<u8> as "crate::platform::hex", member: Uid, sign_in: Uid, station: Option<Uid>, expires_at: Moment,
        used_at: Option<Moment>,
    }
    sign_in (agency, id) {
        agency: Uid, id: Uid, member: Option<Uid>, device: Option<Uid>, began_at: Moment, seen_at: Moment, network: Option<String>,
        program: Option<String>, proven_at: Option<Moment>,
    }
    access_link (agency, member) {
        agency: Uid, member: Uid, found_by: Vec<u8> as "crate::platform::hex", hash: Vec<u8> as "crate::platform::hex", maker: Uid, invites: bool,
        expires_at: Moment,
    }
    second_factor (agency, member) {
        agency: Uid, member: Uid, secret: Vec<u8> as "crate::platform::hex", on_at: Option<Moment>, last_step: i64, failures: i64, free_at: Moment,
    }
    recovery_code (agency, member, hash) { agency: Uid, member: Uid, hash: Vec<u8> as "crate::platform::hex" }
    passkey (agency, id) {
        agency: Uid, id: Uid, member: Uid, credential: Vec<u8> as "crate::platform::hex", public_key: Vec<u8> as "crate::platform::hex",
        counter: i64, name: String, made_at: Moment, used_at: Option<Moment>,
    }
    access_event (agency, id) {
        agency: Uid, id: Uid, at: Moment, what: String, member: Option<Uid>, actor: Option<Uid>, actor_name: Option<String>,
        network: Option<String>, program: Option<String>,
    }
    api_key_secret (agency, api_key) {
        agency: Uid, api_key: Uid, found_by: Vec<u8> as "crate::platform::hex", hash: Vec<u8> as "crate::platform::hex", maker: Uid, name: String,
        role: String, kinds: Option<String>, district: Option<Uid>, station: Option<Uid>, expires_at: Moment,
    }
    pin (agency, member) {
        agency: Uid, member: Uid, salt: Vec<u8> as "crate::platform::hex", iterations: i64, secret: Vec<u8> as "crate::platform::hex",
        former: Vec<u8> as "crate::platform::hex", wrong: Vec<u8> as "crate::platform::hex",
    }
    photo (agency, sha256) {
        agency: Uid, sha256: String, bytes: i64, kept_bytes: i64, media: String, width: i64, height: i64, member: Option<Uid>, stored_at: Moment,
        kept_hash: Option<String>,
    }
    piece_run (agency, piece, at, source) { agency: Uid, piece: Uid, at: Moment, source: Uid, meter: bool, minutes: Option<i64> }
    trial_sheet (agency, answer) { agency: Uid, answer: Uid, trial: Uid, body: Doc }
    calendar_secret (agency, feed) { agency: Uid, feed: Uid, hash: Vec<u8> as "crate::platform::hex" }
    receiver_secret (agency, receiver) { agency: Uid, receiver: Uid, secret: Vec<u8> as "crate::platform::hex" }
    telling (agency, alert, receiver) {
        agency: Uid, alert: Uid, receiver: Uid, code: String, made_at: Moment, began_at: Moment, due_at: Option<Moment>, tries: i64,
        leased_until: Moment,
    }
}
