//! Secrets by their hashes, and what a calendar is made of.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use super::CalendarPlace;
use crate::{
    on,
    platform::{
        auth::SecretHash,
        db::{
            Db,
            schema::{calendar_secret, journal, record},
            types::{Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
        record::{Record as _, Row},
    },
    slices::capability::PieceStanding,
};

#[derive(Debug, Insertable)]
#[diesel(table_name = calendar_secret)]
struct Secret {
    hash: Vec<u8>,
    agency: Uid,
    feed: Uid,
}

/// Keeps the hash of a feed's secret.
pub fn add(db: &mut Db, agency: AgencyId, feed: Uuid, hash: &SecretHash) -> Result<(), Fault> {
    let row = Secret {
        hash: hash.bytes().to_vec(),
        agency: agency.into(),
        feed: Uid(feed),
    };
    on!(db, conn => diesel::insert_into(calendar_secret::table).values(&row).execute(conn))?;
    Ok(())
}

/// Forgets the secret of a feed.
pub fn forget(db: &mut Db, agency: AgencyId, feed: Uuid) -> Result<(), Fault> {
    let of = calendar_secret::table.filter(calendar_secret::agency.eq(Uid::from(agency)).and(calendar_secret::feed.eq(Uid(feed))));
    on!(db, conn => diesel::delete(of).execute(conn))?;
    Ok(())
}

/// The feed that a secret opens, of whichever agency.
pub fn find(db: &mut Db, hash: &SecretHash) -> Result<Option<(AgencyId, Uuid)>, Fault> {
    let found: Option<(Uid, Uid)> = on!(db, conn => calendar_secret::table
        .filter(calendar_secret::hash.eq(hash.bytes().to_vec()))
        .select((calendar_secret::agency, calendar_secret::feed))
        .first(conn)
        .optional())?;
    Ok(found.map(|(agency, feed)| (AgencyId(agency.0), feed.0)))
}

/// The answers about the pieces of a place, by tag, so many at most.
pub fn standings(db: &mut Db, agency: AgencyId, place: CalendarPlace, most: i64) -> Result<Vec<PieceStanding>, Fault> {
    let rows: Vec<Row> = on!(db, conn => {
        let query = record::table
            .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(PieceStanding::KIND)).and(record::gone.eq(false)))
            .order((record::label, record::id))
            .select(Row::as_select())
            .limit(most)
            .into_boxed();
        match place {
            CalendarPlace::District { district } => query.filter(record::district.eq(Uid(district.0))),
            CalendarPlace::Station { station } => query.filter(record::station.eq(Uid(station.0))),
            CalendarPlace::Rig { rig } => query.filter(record::rig.eq(Uid(rig.0))),
            CalendarPlace::Shop { shop } => query.filter(record::shop.eq(Uid(shop.0))),
        }
        .load(conn)
    })?;
    rows.iter().map(Row::read).collect()
}

/// When the service had the commands of these revisions.
pub fn instants(db: &mut Db, agency: AgencyId, revs: &[i64]) -> Result<HashMap<i64, DateTime<Utc>>, Fault> {
    let rows: Vec<(i64, Moment)> = on!(db, conn => journal::table
        .filter(journal::agency.eq(Uid::from(agency)).and(journal::rev.eq_any(revs)))
        .select((journal::rev, journal::received_at))
        .load(conn))?;
    Ok(rows.into_iter().map(|(rev, at)| (rev, at.0)).collect())
}
