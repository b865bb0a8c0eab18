//! The table of subscriptions. What stands in it leaves by no feed.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use super::{
    cipher::SealedFor,
    rules::{MOST_OF_AGENCY, MOST_OF_MEMBER, Subscription, SubscriptionId, joined, parted},
};
use crate::{
    on,
    platform::{
        auth::still_open,
        db::{
            Db,
            schema::push_subscription,
            types::{Moment, Uid},
        },
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// A row of `push_subscription`.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = push_subscription)]
struct Row {
    agency: Uid,
    id: Uid,
    member: Uid,
    sign_in: Uid,
    endpoint: String,
    p256dh: Vec<u8>,
    auth: Vec<u8>,
    name: String,
    changes: String,
    made_at: Moment,
}

impl From<Row> for Subscription {
    fn from(row: Row) -> Self {
        Self {
            agency: AgencyId(row.agency.0),
            id: SubscriptionId(row.id.0),
            member: MemberId(row.member.0),
            sign_in: row.sign_in.0,
            endpoint: row.endpoint,
            keys: SealedFor {
                p256dh: row.p256dh,
                auth: row.auth,
            },
            name: row.name,
            changes: parted(&row.changes),
            made_at: row.made_at.0,
        }
    }
}

fn of_agency(db: &mut Db, agency: AgencyId) -> Result<Vec<Row>, Fault> {
    Ok(on!(db, conn => push_subscription::table
        .filter(push_subscription::agency.eq(Uid::from(agency)))
        .order((push_subscription::made_at, push_subscription::id))
        .select(Row::as_select())
        .load(conn))?)
}

/// The rows of an agency whose sign-in has not ended.
fn open(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<Vec<Row>, Fault> {
    let rows = of_agency(db, agency)?;
    let sign_ins: Vec<Uuid> = rows.iter().map(|row| row.sign_in.0).collect();
    let open = still_open(db, agency, &sign_ins, now)?;
    Ok(rows.into_iter().filter(|row| open.contains(&row.sign_in.0)).collect())
}

/// The phones of an agency whose sign-in has not ended, the oldest first.
pub fn live(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<Vec<Subscription>, Fault> {
    Ok(open(db, agency, now)?.into_iter().map(Subscription::from).collect())
}

/// The phones of a member whose sign-in has not ended, the oldest first.
pub fn of_member(db: &mut Db, agency: AgencyId, member: MemberId, now: DateTime<Utc>) -> Result<Vec<Subscription>, Fault> {
    let mut all = live(db, agency, now)?;
    all.retain(|one| one.member == member);
    Ok(all)
}

/// A phone whose sign-in has not ended.
pub fn find(db: &mut Db, agency: AgencyId, id: Uuid, now: DateTime<Utc>) -> Result<Option<Subscription>, Fault> {
    let found: Option<Row> = on!(&mut *db, conn => push_subscription::table
        .find((Uid::from(agency), Uid(id)))
        .select(Row::as_select())
        .first(conn)
        .optional())?;
    let Some(row) = found else { return Ok(None) };
    let open = still_open(db, agency, &[row.sign_in.0], now)?;
    Ok(open.contains(&row.sign_in.0).then(|| row.into()))
}

/// Takes a phone off; answers whether it was there.
pub fn end(db: &mut Db, agency: AgencyId, id: Uuid) -> Result<bool, Fault> {
    let ended = on!(db, conn => diesel::delete(push_subscription::table.find((Uid::from(agency), Uid(id)))).execute(conn))?;
    Ok(ended > 0)
}

/// Forgets the phones whose sign-in has ended, of all agencies.
pub fn forget_ended(db: &mut Db, now: DateTime<Utc>) -> Result<(), Fault> {
    let agencies: Vec<Uid> = on!(&mut *db, conn => push_subscription::table.select(push_subscription::agency).distinct().load(conn))?;
    for agency in agencies {
        forget_ended_of(db, AgencyId(agency.0), now)?;
    }
    Ok(())
}

fn forget_ended_of(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<(), Fault> {
    let alive: Vec<Uuid> = open(db, agency, now)?.into_iter().map(|row| row.id.0).collect();
    for row in of_agency(db, agency)?.into_iter().filter(|row| !alive.contains(&row.id.0)) {
        end(db, agency, row.id.0)?;
    }
    Ok(())
}

impl From<&Subscription> for Row {
    fn from(one: &Subscription) -> Self {
        Self {
            agency: one.agency.into(),
            id: one.id.into(),
            member: one.member.into(),
            sign_in: Uid(one.sign_in),
            endpoint: one.endpoint.clone(),
            p256dh: one.keys.p256dh.clone(),
            auth: one.keys.auth.clone(),
            name: one.name.clone(),
            changes: joined(&one.changes),
            made_at: Moment(one.made_at),
        }
    }
}

/// Adds a phone, in the place of one that the same sign-in or the same browser of the member had; within a transaction that writes.
pub fn add(db: &mut Db, new: &Subscription, now: DateTime<Utc>) -> Result<(), Fault> {
    let (agency, row) = (new.agency, Row::from(new));
    forget_ended_of(db, agency, now)?;
    let same: Option<Row> = on!(&mut *db, conn => push_subscription::table
        .filter(push_subscription::endpoint.eq(&row.endpoint))
        .select(Row::as_select())
        .first(conn)
        .optional())?;
    if let Some(same) = same {
        let of = AgencyId(same.agency.0);
        let is_own = (same.agency, same.member) == (row.agency, row.member);
        if !is_own && !still_open(db, of, &[same.sign_in.0], now)?.is_empty() {
            return Err(Fault::new(
                error::ALREADY_THERE,
                "Another member's sign-in has this phone's notices; give it a new subscription",
            )
            .at("body.endpoint"));
        }
        end(db, of, same.id.0)?;
    }
    let there = of_agency(db, agency)?;
    for former in there.iter().filter(|one| one.sign_in == row.sign_in) {
        end(db, agency, former.id.0)?;
    }
    let others: Vec<&Row> = there.iter().filter(|one| one.sign_in != row.sign_in).collect();
    if others.iter().filter(|one| one.member == row.member).count() >= MOST_OF_MEMBER {
        return Err(Fault::rule(format!(
            "You get notices on {MOST_OF_MEMBER} phones, which is the most; remove one that you do not use"
        )));
    }
    if others.len() >= MOST_OF_AGENCY {
        return Err(Fault::rule(format!(
            "{MOST_OF_AGENCY} phones of your agency get notices, which is the most; somebody has to remove one"
        )));
    }
    on!(db, conn => diesel::insert_into(push_subscription::table).values(&row).execute(conn))?;
    Ok(())
}

/// Takes one of a member's own phones off; answers whether it was there.
pub fn remove(db: &mut Db, agency: AgencyId, member: MemberId, id: Uuid) -> Result<bool, Fault> {
    let own = push_subscription::table.filter(
        push_subscription::agency
            .eq(Uid::from(agency))
            .and(push_subscription::id.eq(Uid(id)))
            .and(push_subscription::member.eq(Uid::from(member))),
    );
    Ok(on!(db, conn => diesel::delete(own).execute(conn))? > 0)
}
