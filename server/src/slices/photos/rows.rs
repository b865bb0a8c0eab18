//! Which photos are here, and the parts of those still being sent.

use chrono::{DateTime, Utc};
use diesel::{dsl::sql, prelude::*, sql_types::BigInt};

use super::PhotoName;
use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::{photo, photo_part},
            types::{Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
    },
};

/// A photo that is here.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = photo)]
pub struct Row {
    pub agency: Uid,
    pub sha256: String,
    /// Bytes as they were sent.
    pub bytes: i64,
    /// Bytes that are kept, the thumbnail's among them.
    pub kept_bytes: i64,
    pub media: String,
    pub width: i64,
    pub height: i64,
    pub member: Option<Uid>,
    pub stored_at: Moment,
    /// The SHA-256 of the picture's bytes and then the thumbnail's, as they are kept.
    pub kept_hash: Option<String>,
}

#[derive(Debug, Insertable)]
#[diesel(table_name = photo_part)]
struct PartRow<'a> {
    agency: Uid,
    sha256: &'a str,
    start: i64,
    size: i64,
    total: i64,
    bytes: &'a [u8],
    sent_at: Moment,
}

/// A photo, if it is here.
pub fn find(db: &mut Db, agency: AgencyId, name: &PhotoName) -> Result<Option<Row>, Fault> {
    Ok(on!(db, conn => photo::table
        .find((Uid::from(agency), name.as_str()))
        .select(Row::as_select())
        .first(conn)
        .optional())?)
}

/// Says that a photo is here, and forgets its parts. False if it was here already.
pub fn store(db: &mut Db, row: &Row) -> Result<bool, Fault> {
    let new = on!(&mut *db, conn => diesel::insert_into(photo::table).values(row).on_conflict_do_nothing().execute(conn))?;
    on!(db, conn => diesel::delete(photo_part::table
        .filter(photo_part::agency.eq(row.agency).and(photo_part::sha256.eq(&row.sha256))))
        .execute(conn))?;
    Ok(new == 1)
}

/// Says that a photo is not here any more.
pub fn lose(db: &mut Db, agency: AgencyId, name: &PhotoName) -> Result<(), Fault> {
    on!(db, conn => diesel::delete(photo::table.find((Uid::from(agency), name.as_str()))).execute(conn))?;
    Ok(())
}

/// How many bytes the agency's photos take up, with the parts of those on their way except one's own.
pub fn taken(db: &mut Db, agency: AgencyId, except: &PhotoName) -> Result<i64, Fault> {
    let kept: i64 = on!(&mut *db, conn => photo::table
        .filter(photo::agency.eq(Uid::from(agency)))
        .select(sql::<BigInt>("coalesce(cast(sum(kept_bytes) as bigint), 0)"))
        .first(conn))?;
    let parts: i64 = on!(db, conn => photo_part::table
        .filter(photo_part::agency.eq(Uid::from(agency)).and(photo_part::sha256.ne(except.as_str())))
        .select(sql::<BigInt>("coalesce(cast(sum(size) as bigint), 0)"))
        .first(conn))?;
    Ok(kept + parts)
}

/// How many bytes of an unfinished photo are here.
pub fn offset(db: &mut Db, agency: AgencyId, name: &PhotoName) -> Result<i64, Fault> {
    Ok(on!(db, conn => photo_part::table
        .filter(photo_part::agency.eq(Uid::from(agency)).and(photo_part::sha256.eq(name.as_str())))
        .select(sql::<BigInt>("coalesce(cast(sum(size) as bigint), 0)"))
        .first(conn))?)
}

/// Whether the parts that are here were said to be of a photo of another length.
pub fn is_of_another_length(db: &mut Db, agency: AgencyId, name: &PhotoName, total: i64) -> Result<bool, Fault> {
    let others: i64 = on!(db, conn => photo_part::table
        .filter(photo_part::agency.eq(Uid::from(agency)).and(photo_part::sha256.eq(name.as_str())).and(photo_part::total.ne(total)))
        .count()
        .get_result(conn))?;
    Ok(others > 0)
}

/// Keeps a part that begins at a byte of a photo of a length. False if another process has just kept one that begins there.
pub fn add_part(db: &mut Db, agency: AgencyId, name: &PhotoName, (start, total): (i64, i64), bytes: &[u8], now: DateTime<Utc>) -> Result<bool, Fault> {
    let row = PartRow {
        agency: agency.into(),
        sha256: name.as_str(),
        start,
        size: i64::try_from(bytes.len()).map_err(anyhow::Error::from)?,
        total,
        bytes,
        sent_at: Moment(now),
    };
    let new = on!(db, conn => diesel::insert_into(photo_part::table).values(&row).on_conflict_do_nothing().execute(conn))?;
    Ok(new == 1)
}

/// The parts of an unfinished photo, in order.
pub fn parts(db: &mut Db, agency: AgencyId, name: &PhotoName) -> Result<Vec<Vec<u8>>, Fault> {
    Ok(on!(db, conn => photo_part::table
        .filter(photo_part::agency.eq(Uid::from(agency)).and(photo_part::sha256.eq(name.as_str())))
        .order(photo_part::start)
        .select(photo_part::bytes)
        .load(conn))?)
}

/// Forgets the parts of a photo.
pub fn forget(db: &mut Db, agency: AgencyId, name: &PhotoName) -> Result<(), Fault> {
    on!(db, conn => diesel::delete(photo_part::table
        .filter(photo_part::agency.eq(Uid::from(agency)).and(photo_part::sha256.eq(name.as_str()))))
        .execute(conn))?;
    Ok(())
}

/// Forgets the unfinished photos that were begun before an instant.
pub fn drop_unfinished(db: &mut Db, before: DateTime<Utc>) -> Result<(), Fault> {
    let old: Vec<(Uid, String)> = on!(&mut *db, conn => photo_part::table
        .filter(photo_part::sent_at.lt(Moment(before)))
        .select((photo_part::agency, photo_part::sha256))
        .distinct()
        .load(conn))?;
    for (agency, sha256) in old {
        on!(&mut *db, conn => diesel::delete(photo_part::table
            .filter(photo_part::agency.eq(agency).and(photo_part::sha256.eq(&sha256))))
            .execute(conn))?;
    }
    Ok(())
}
