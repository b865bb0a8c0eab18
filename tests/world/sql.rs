//! The database behind the service's back: to look at what HTTP does not show, and to tamper.

use chrono::{DateTime, Utc};
use diesel::{
    QueryableByName, RunQueryDsl as _,
    connection::SimpleConnection as _,
    sql_query,
    sql_types::{BigInt, Nullable, Text},
};
use fullset::{
    on,
    platform::db::{Access, Db, Location},
};
use uuid::Uuid;

#[derive(QueryableByName)]
struct Number {
    #[diesel(sql_type = BigInt)]
    n: i64,
}

#[derive(QueryableByName)]
struct Words {
    #[diesel(sql_type = Nullable<Text>)]
    t: Option<String>,
}

fn open(location: &Location) -> Db {
    Db::open(location, Access::Write).expect("the database opens")
}

/// Runs statements.
pub fn run(location: &Location, statements: &str) {
    let mut db = open(location);
    on!(&mut db, conn => conn.batch_execute(statements)).unwrap_or_else(|error| panic!("{statements}: {error}"));
}

/// The number that a query answers as `n`.
pub fn number(location: &Location, query: &str) -> i64 {
    let mut db = open(location);
    let rows: Vec<Number> = on!(&mut db, conn => sql_query(query).load(conn)).unwrap_or_else(|error| panic!("{query}: {error}"));
    rows.first().unwrap_or_else(|| panic!("{query}: no row")).n
}

/// The texts that a query answers as `t`.
pub fn texts(location: &Location, query: &str) -> Vec<String> {
    let mut db = open(location);
    let rows: Vec<Words> = on!(&mut db, conn => sql_query(query).load(conn)).unwrap_or_else(|error| panic!("{query}: {error}"));
    rows.into_iter().map(|row| row.t.unwrap_or_else(|| "null".to_owned())).collect()
}

/// A lock under which nobody writes to the SQLite file, and nobody even reads a table of PostgreSQL.
pub struct Held(Db);

impl Held {
    pub fn of(location: &Location, table: &str) -> Self {
        let mut db = open(location);
        let statement = match location {
            Location::Sqlite(_) => "BEGIN IMMEDIATE".to_owned(),
            Location::Postgres(_) => format!("BEGIN; LOCK TABLE {table} IN ACCESS EXCLUSIVE MODE"),
        };
        on!(&mut db, conn => conn.batch_execute(&statement)).expect("the lock is taken");
        Self(db)
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        on!(&mut self.0, conn => conn.batch_execute("ROLLBACK")).ok();
    }
}

/// An id as the database's SQL writes it.
pub fn id(location: &Location, id: Uuid) -> String {
    match location {
        Location::Sqlite(_) => format!("x'{}'", id.simple()),
        Location::Postgres(_) => format!("'{id}'"),
    }
}

/// An instant as the database's SQL writes it.
pub fn instant(location: &Location, at: &str) -> String {
    let at: DateTime<Utc> = at.parse().expect("an instant");
    match location {
        Location::Sqlite(_) => at.timestamp_micros().to_string(),
        Location::Postgres(_) => format!("'{}'", at.to_rfc3339_opts(chrono::SecondsFormat::Micros, true)),
    }
}

/// An expression for a column of instants as text, to the microsecond.
pub fn instant_text(location: &Location, column: &str) -> String {
    match location {
        Location::Sqlite(_) => format!("strftime('%Y-%m-%dT%H:%M:%S', {column} / 1000000, 'unixepoch') || printf('.%06dZ', {column} % 1000000)"),
        Location::Postgres(_) => format!("to_char({column} AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.US\"Z\"')"),
    }
}

/// An expression for a column of ids as text.
pub fn hex(location: &Location, column: &str) -> String {
    match location {
        Location::Sqlite(_) => format!("lower(hex({column}))"),
        Location::Postgres(_) => format!("replace({column}::text, '-', '')"),
    }
}
