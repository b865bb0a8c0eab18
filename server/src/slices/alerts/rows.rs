//! What is yet to be sent: one row for each alert and receiver. A row is taken by a lease, so that of several processes one sends.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::{record, telling},
            types::{Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
        record::{Record as _, Row as RecordRow},
    },
    slices::{capability::RigStanding, pieces::Piece, rigs::Rig},
};

/// A row of `telling`.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = telling, treat_none_as_default_value = false)]
pub struct Row {
    pub agency: Uid,
    pub alert: Uid,
    pub receiver: Uid,
    /// By it the message is acknowledged.
    pub code: String,
    /// When the alert was made.
    pub made_at: Moment,
    /// When it was first tried.
    pub began_at: Moment,
    /// When it is due to be sent; none: nothing is to be sent.
    pub due_at: Option<Moment>,
    /// Tries that failed.
    pub tries: i64,
    /// Until when somebody else sends it.
    pub leased_until: Moment,
}

/// What names a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Key {
    pub agency: AgencyId,
    pub alert: Uuid,
    pub receiver: Uuid,
}

impl Row {
    /// A message that is due at once, or not at all.
    pub fn new(key: Key, code: String, at: DateTime<Utc>, is_due: bool) -> Self {
        Self {
            agency: key.agency.into(),
            alert: Uid(key.alert),
            receiver: Uid(key.receiver),
            code,
            made_at: Moment(at),
            began_at: Moment(at),
            due_at: is_due.then_some(Moment(at)),
            tries: 0,
            leased_until: Moment(DateTime::UNIX_EPOCH),
        }
    }

    /// What names it.
    pub fn key(&self) -> Key {
        Key {
            agency: AgencyId(self.agency.0),
            alert: self.alert.0,
            receiver: self.receiver.0,
        }
    }
}

/// Adds a message to be sent.
pub fn add(db: &mut Db, row: &Row) -> Result<(), Fault> {
    on!(db, conn => diesel::insert_into(telling::table).values(row).execute(conn))?;
    Ok(())
}

/// The receivers to whom something is due.
pub fn receivers_due(db: &mut Db, now: DateTime<Utc>, most: i64) -> Result<Vec<(AgencyId, Uuid)>, Fault> {
    let now = Moment(now);
    let due: Vec<(Uid, Uid)> = on!(db, conn => telling::table
        .filter(telling::due_at.le(now).and(telling::leased_until.le(now)))
        .select((telling::agency, telling::receiver))
        .distinct()
        .limit(most)
        .load(conn))?;
    Ok(due.into_iter().map(|(agency, receiver)| (AgencyId(agency.0), receiver.0)).collect())
}

/// Takes the message that is due to a receiver, has been tried least and is the oldest, until an instant.
pub fn claim(db: &mut Db, (agency, receiver): (AgencyId, Uuid), now: DateTime<Utc>, until: DateTime<Utc>) -> Result<Option<Row>, Fault> {
    let now = Moment(now);
    let found: Option<Row> = on!(&mut *db, conn => telling::table
        .filter(telling::agency.eq(Uid::from(agency)).and(telling::receiver.eq(Uid(receiver))))
        .filter(telling::due_at.le(now).and(telling::leased_until.le(now)))
        .order((telling::tries, telling::made_at, telling::alert))
        .select(Row::as_select())
        .first(conn)
        .optional())?;
    let Some(mut row) = found else { return Ok(None) };
    if row.tries == 0 {
        row.began_at = now;
    }
    let taken = on!(db, conn => diesel::update(telling::table.find((row.agency, row.alert, row.receiver)))
        .filter(telling::leased_until.le(now).and(telling::due_at.is_not_null()))
        .set((telling::leased_until.eq(Moment(until)), telling::began_at.eq(row.began_at)))
        .execute(conn))?;
    // Another process was faster: it sends.
    Ok((taken == 1).then_some(row))
}

/// Says what is to be done with a message after a try.
pub fn settle(db: &mut Db, key: Key, due: Option<DateTime<Utc>>, tries: i64) -> Result<(), Fault> {
    let row = telling::table.find((Uid::from(key.agency), Uid(key.alert), Uid(key.receiver)));
    on!(db, conn => diesel::update(row)
        .set((telling::due_at.eq(due.map(Moment)), telling::tries.eq(tries), telling::leased_until.eq(Moment(DateTime::UNIX_EPOCH))))
        .execute(conn))?;
    Ok(())
}

/// Has a message sent again from the beginning; false where it is not kept any more.
pub fn again(db: &mut Db, key: Key, now: DateTime<Utc>) -> Result<bool, Fault> {
    let row = telling::table.find((Uid::from(key.agency), Uid(key.alert), Uid(key.receiver)));
    let found = on!(db, conn => diesel::update(row)
        .set((telling::due_at.eq(Some(Moment(now))), telling::tries.eq(0), telling::leased_until.eq(Moment(DateTime::UNIX_EPOCH))))
        .execute(conn))?;
    Ok(found == 1)
}

/// Puts all messages to a receiver off that are due before an instant: it takes none now.
pub fn put_off(db: &mut Db, (agency, receiver): (AgencyId, Uuid), until: DateTime<Utc>) -> Result<(), Fault> {
    let of_receiver = telling::table.filter(telling::agency.eq(Uid::from(agency)).and(telling::receiver.eq(Uid(receiver))));
    on!(db, conn => diesel::update(of_receiver.filter(telling::due_at.lt(Moment(until))))
        .set(telling::due_at.eq(Some(Moment(until))))
        .execute(conn))?;
    Ok(())
}

/// The message that a code acknowledges.
pub fn by_code(db: &mut Db, code: &str) -> Result<Option<Key>, Fault> {
    let found: Option<Row> = on!(db, conn => telling::table
        .filter(telling::code.eq(code))
        .select(Row::as_select())
        .first(conn)
        .optional())?;
    Ok(found.map(|row| row.key()))
}

/// Forgets messages that were made before an instant. The alerts stay.
pub fn forget(db: &mut Db, before: DateTime<Utc>) -> Result<(), Fault> {
    on!(db, conn => diesel::delete(telling::table.filter(telling::made_at.lt(Moment(before)))).execute(conn))?;
    Ok(())
}

/// The front-line rigs of a district that are in service and at full or heavy, and how many of them are confirmed. `front` says of a rig
/// whether it runs first.
pub fn full_rigs(db: &mut Db, agency: AgencyId, district: Uuid, front: impl Fn(&Rig) -> bool) -> Result<(u32, u32), Fault> {
    let here = || {
        record::table.filter(
            record::agency
                .eq(Uid::from(agency))
                .and(record::district.eq(Uid(district)))
                .and(record::gone.eq(false)),
        )
    };
    let full: Vec<RecordRow> = on!(&mut *db, conn => here()
        .filter(record::kind.eq(RigStanding::KIND).and(record::state.eq_any(["full", "heavy"])))
        .select(RecordRow::as_select())
        .load(conn))?;
    let rigs: Vec<RecordRow> = on!(db, conn => here()
        .filter(record::kind.eq(Rig::KIND).and(record::state.eq("in_service")))
        .select(RecordRow::as_select())
        .load(conn))?;
    let (mut count, mut confirmed) = (0, 0);
    for row in &rigs {
        let Some(standing) = full.iter().find(|full| full.id == row.id) else {
            continue;
        };
        if front(&row.read()?) {
            let standing: RigStanding = standing.read()?;
            count += 1;
            confirmed += u32::from(standing.known && standing.answer.confirmed);
        }
    }
    Ok((count, confirmed))
}

/// The pieces out of service that are on a rig or have their home there.
pub fn out_of(db: &mut Db, agency: AgencyId, rig: Uuid) -> QueryResult<Vec<RecordRow>> {
    on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(Piece::KIND)).and(record::gone.eq(false)))
        .filter(record::state.eq("out_of_service"))
        .filter(record::rig.eq(Uid(rig)).or(record::home_rig.eq(Uid(rig))))
        .select(RecordRow::as_select())
        .load(conn))
}
