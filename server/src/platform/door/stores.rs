//! How the writer's rows reach their tables: on PostgreSQL all rows of a table in one statement, because each statement is a
//! round trip; on SQLite one prepared statement for each row, because there a round trip costs nothing.

use std::sync::Arc;

use diesel::{
    PgConnection, QueryResult, SqliteConnection,
    prelude::*,
    sql_query,
    sql_types::{Array, BigInt, Binary, Bool, Nullable, Text},
};

use super::{journal::Entry, lapses::Lapse, loaded::Loaded, unit_of_work::Key};
use crate::platform::db::{
    Db, fixed,
    schema::{departure, journal, lapse, record, replaced},
    types::{DocSql, MomentSql, Uid, UidSql},
};
use crate::platform::record::Departure;

/// The most rows of one statement.
const MOST: usize = 1_000;

/// Adds records that are in no table yet.
pub(super) fn add(db: &mut Db, rows: &[Arc<Loaded>]) -> QueryResult<()> {
    struct Add;
    match db {
        Db::Sqlite(conn) => each(rows, |row| fixed::<Add, _>(diesel::insert_into(record::table).values(row.row())).execute(conn)),
        Db::Postgres(conn) => put_all::<Add>(conn, rows, ""),
    }
}

/// Puts records in the place of their older states.
pub(super) fn change(db: &mut Db, rows: &[Arc<Loaded>]) -> QueryResult<()> {
    struct Change;
    match db {
        Db::Sqlite(conn) => each(rows, |row| {
            let changed = diesel::update(record::table.find((row.agency, &row.kind, row.id))).set(row.row());
            fixed::<Change, _>(changed).execute(conn)
        }),
        Db::Postgres(conn) => put_all::<Change>(
            conn,
            rows,
            "ON CONFLICT (agency, kind, id) DO UPDATE SET rev = excluded.rev, gone = excluded.gone, label = excluded.label,
                uniq = excluded.uniq, mark = excluded.mark, state = excluded.state, parent = excluded.parent, district = excluded.district,
                station = excluded.station, rig = excluded.rig, shop = excluded.shop, home_district = excluded.home_district,
                home_station = excluded.home_station, home_rig = excluded.home_rig, renamed = excluded.renamed, body = excluded.body",
        ),
    }
}

/// Has records give up their unique names, before others take them.
pub(super) fn release(db: &mut Db, rows: &[Arc<Loaded>]) -> QueryResult<()> {
    struct Release;
    let none = None::<String>;
    each(rows, |row| {
        let at = record::table.find((row.agency, &row.kind, row.id));
        crate::on!(&mut *db, conn => fixed::<Release, _>(diesel::update(at).set((record::uniq.eq(&none), record::mark.eq(&none)))).execute(conn))
    })
}

/// Moves states that are replaced to where the past is read from.
pub(super) fn replaced(db: &mut Db, rows: &[Arc<Loaded>]) -> QueryResult<()> {
    struct Replaced;
    match db {
        Db::Sqlite(conn) => each(rows, |row| {
            fixed::<Replaced, _>(diesel::insert_into(replaced::table).values(row.state())).execute(conn)
        }),
        Db::Postgres(conn) => in_parts(rows, |rows| {
            fixed::<Replaced, _>(
                sql_query(
                    "INSERT INTO replaced (agency, rev, kind, id, gone, district, station, rig, body)
                 SELECT * FROM unnest($1, $2, $3, $4, $5, $6, $7, $8, $9)",
                )
                .bind::<Array<UidSql>, _>(all(rows, |row| row.agency))
                .bind::<Array<BigInt>, _>(all(rows, |row| row.rev))
                .bind::<Array<Text>, _>(all(rows, |row| row.kind.as_str()))
                .bind::<Array<UidSql>, _>(all(rows, |row| row.id))
                .bind::<Array<Bool>, _>(all(rows, |row| row.gone))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.district))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.station))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.rig))
                .bind::<Array<DocSql>, _>(all(rows, |row| &row.body)),
            )
            .execute(conn)
        }),
    }
}

/// Marks what has left a place.
pub(super) fn depart(db: &mut Db, rows: &[Departure]) -> QueryResult<()> {
    struct Depart;
    match db {
        Db::Sqlite(conn) => each(rows, |row| {
            let mark = diesel::insert_into(departure::table).values(row).on_conflict_do_nothing();
            fixed::<Depart, _>(mark).execute(conn)
        }),
        Db::Postgres(conn) => in_parts(rows, |rows| {
            fixed::<Depart, _>(
                sql_query("INSERT INTO departure (agency, place, rev, kind, id, level) SELECT * FROM unnest($1, $2, $3, $4, $5, $6) ON CONFLICT DO NOTHING")
                    .bind::<Array<UidSql>, _>(all(rows, |row| row.agency))
                    .bind::<Array<UidSql>, _>(all(rows, |row| row.place))
                    .bind::<Array<BigInt>, _>(all(rows, |row| row.rev))
                    .bind::<Array<Text>, _>(all(rows, |row| row.kind.as_str()))
                    .bind::<Array<UidSql>, _>(all(rows, |row| row.id))
                    .bind::<Array<Text>, _>(all(rows, |row| row.level)),
            )
            .execute(conn)
        }),
    }
}

/// `K` tells the texts apart.
fn put_all<K: 'static>(conn: &mut PgConnection, rows: &[Arc<Loaded>], else_what: &str) -> QueryResult<()> {
    let statement = format!(
        "INSERT INTO record (agency, kind, id, rev, gone, label, uniq, mark, state, parent, district, station, rig, shop, home_district, home_station, home_rig, renamed, body)
         SELECT * FROM unnest($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19) {else_what}"
    );
    in_parts(rows, |rows| {
        fixed::<K, _>(
            sql_query(&statement)
                .bind::<Array<UidSql>, _>(all(rows, |row| row.agency))
                .bind::<Array<Text>, _>(all(rows, |row| row.kind.as_str()))
                .bind::<Array<UidSql>, _>(all(rows, |row| row.id))
                .bind::<Array<BigInt>, _>(all(rows, |row| row.rev))
                .bind::<Array<Bool>, _>(all(rows, |row| row.gone))
                .bind::<Array<Text>, _>(all(rows, |row| row.label.as_str()))
                .bind::<Array<Nullable<Text>>, _>(all(rows, |row| row.uniq.as_deref()))
                .bind::<Array<Nullable<Text>>, _>(all(rows, |row| row.mark.as_deref()))
                .bind::<Array<Text>, _>(all(rows, |row| row.state.as_str()))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.parent))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.district))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.station))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.rig))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.shop))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.home_district))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.home_station))
                .bind::<Array<Nullable<UidSql>>, _>(all(rows, |row| row.home_rig))
                .bind::<Array<Nullable<BigInt>>, _>(all(rows, |row| row.renamed))
                .bind::<Array<DocSql>, _>(all(rows, |row| &row.body)),
        )
        .execute(conn)
    })
}

/// Appends to the journal.
pub(super) fn append(db: &mut Db, entries: &[Entry]) -> QueryResult<()> {
    struct Append;
    match db {
        Db::Sqlite(conn) => each(entries, |entry| {
            fixed::<Append, _>(diesel::insert_into(journal::table).values(entry)).execute(conn)
        }),
        Db::Postgres(conn) => in_parts(entries, |entries| {
            fixed::<Append, _>(
sql_query(
                "INSERT INTO journal (agency, rev, command, kind, actor, actor_name, actor_role, at_raw, at, received_at, skew_us, body, device, record_kind, record, hash)
                 SELECT * FROM unnest($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)",
            )
            .bind::<Array<UidSql>, _>(all(entries, |entry| entry.agency))
            .bind::<Array<BigInt>, _>(all(entries, |entry| entry.rev))
            .bind::<Array<UidSql>, _>(all(entries, |entry| entry.command))
            .bind::<Array<Text>, _>(all(entries, |entry| entry.kind.as_str()))
            .bind::<Array<Nullable<UidSql>>, _>(all(entries, |entry| entry.actor))
            .bind::<Array<Text>, _>(all(entries, |entry| entry.actor_name.as_str()))
            .bind::<Array<Text>, _>(all(entries, |entry| entry.actor_role.as_str()))
            .bind::<Array<MomentSql>, _>(all(entries, |entry| entry.at_raw))
            .bind::<Array<MomentSql>, _>(all(entries, |entry| entry.at))
            .bind::<Array<MomentSql>, _>(all(entries, |entry| entry.received_at))
            .bind::<Array<BigInt>, _>(all(entries, |entry| entry.skew_us))
            .bind::<Array<DocSql>, _>(all(entries, |entry| &entry.body))
            .bind::<Array<Nullable<UidSql>>, _>(all(entries, |entry| entry.device))
            .bind::<Array<Nullable<Text>>, _>(all(entries, |entry| entry.record_kind.as_deref()))
            .bind::<Array<Nullable<UidSql>>, _>(all(entries, |entry| entry.record))
            .bind::<Array<Binary>, _>(all(entries, |entry| entry.hash.as_slice())),
)
.execute(conn)
        }),
    }
}

/// Says when answers run out.
pub(super) fn set_lapses(db: &mut Db, lapses: &[Lapse]) -> QueryResult<()> {
    struct Set;
    match db {
        Db::Sqlite(conn) => each(lapses, |one| put_lapse(conn, one)),
        Db::Postgres(conn) => in_parts(lapses, |lapses| {
            fixed::<Set, _>(
                sql_query(
                    "INSERT INTO lapse (agency, kind, id, at, try_at, tries, pending) SELECT * FROM unnest($1, $2, $3, $4, $5, $6, $7)
                 ON CONFLICT (agency, kind, id) DO UPDATE SET at = excluded.at, try_at = excluded.try_at, tries = excluded.tries, pending = excluded.pending",
                )
                .bind::<Array<UidSql>, _>(all(lapses, |one| one.agency))
                .bind::<Array<Text>, _>(all(lapses, |one| one.kind.as_str()))
                .bind::<Array<UidSql>, _>(all(lapses, |one| one.id))
                .bind::<Array<MomentSql>, _>(all(lapses, |one| one.at))
                .bind::<Array<MomentSql>, _>(all(lapses, |one| one.try_at))
                .bind::<Array<BigInt>, _>(all(lapses, |one| one.tries))
                .bind::<Array<Bool>, _>(all(lapses, |one| one.pending)),
            )
            .execute(conn)
        }),
    }
}

fn put_lapse(conn: &mut SqliteConnection, row: &Lapse) -> QueryResult<()> {
    struct Put;
    let put = diesel::insert_into(lapse::table)
        .values(row)
        .on_conflict((lapse::agency, lapse::kind, lapse::id))
        .do_update()
        .set((
            lapse::at.eq(row.at),
            lapse::try_at.eq(row.try_at),
            lapse::tries.eq(row.tries),
            lapse::pending.eq(row.pending),
        ));
    fixed::<Put, _>(put).execute(conn)
}

/// Says that answers run out no more.
pub(super) fn end_lapses(db: &mut Db, keys: &[Key]) -> QueryResult<()> {
    struct End;
    each(keys, |(agency, kind, id)| {
        let at = lapse::table.find((Uid::from(*agency), &**kind, Uid(*id)));
        crate::on!(&mut *db, conn => fixed::<End, _>(diesel::delete(at)).execute(conn))
    })
}

fn each<T>(items: &[T], write: impl FnMut(&T) -> QueryResult<()>) -> QueryResult<()> {
    items.iter().try_for_each(write)
}

fn in_parts<T>(items: &[T], write: impl FnMut(&[T]) -> QueryResult<()>) -> QueryResult<()> {
    items.chunks(MOST).try_for_each(write)
}

fn all<'a, T, V>(items: &'a [T], value: impl FnMut(&'a T) -> V) -> Vec<V> {
    items.iter().map(value).collect()
}
