//! Sign-ins as people see them: on which device or browser, from which network, since when, last seen. A sign-in is the family of its
//! refresh tokens; this is what is known of it beside them.

use std::collections::BTreeSet;

use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use super::{Actor, AskedFrom, Sessions};
use crate::{
    on,
    platform::{
        db::{
            Access, Db,
            schema::{refresh_token, sign_in},
            types::{Moment, Uid},
        },
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// How long a sign-in with a password lasts at most, however often it is refreshed. An enrolled device lasts until it is revoked, or not
/// used for as long as a refresh token serves.
pub const LONGEST: TimeDelta = TimeDelta::days(90);
/// For how long the password counts as just given.
const PROVEN: TimeDelta = TimeDelta::minutes(10);
/// The most sign-ins of a member that are told of: those that were seen last.
const MOST_TOLD: usize = 100;

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = sign_in)]
struct SignInRow {
    agency: Uid,
    id: Uid,
    member: Option<Uid>,
    device: Option<Uid>,
    began_at: Moment,
    seen_at: Moment,
    network: Option<String>,
    program: Option<String>,
    proven_at: Option<Moment>,
}

/// A sign-in that has not ended.
#[derive(Debug, Clone)]
pub struct OpenSignIn {
    /// Its id.
    pub id: Uuid,
    /// The device, where one was enrolled.
    pub device: Option<Uuid>,
    /// When it began.
    pub began_at: DateTime<Utc>,
    /// When it was last seen, which is when it was last refreshed.
    pub seen_at: DateTime<Utc>,
    /// When it ends at the latest; none for an enrolled device.
    pub ends_at: Option<DateTime<Utc>>,
    /// From where it was last seen.
    pub from: AskedFrom,
}

/// Whose sign-in it is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Of {
    pub(super) agency: Uid,
    pub(super) member: Option<Uid>,
    pub(super) device: Option<Uid>,
    pub(super) family: Uid,
}

/// Notes that a sign-in began, and forgets those that nobody can refresh any more.
pub(super) fn began(db: &mut Db, of: Of, from: &AskedFrom, now: DateTime<Utc>) -> Result<(), Fault> {
    let row = SignInRow {
        agency: of.agency,
        id: of.family,
        member: of.member,
        device: of.device,
        began_at: Moment(now),
        seen_at: Moment(now),
        network: from.network.clone(),
        program: from.program.clone(),
        // A device comes by a code, and nobody gave a password there.
        proven_at: of.device.is_none().then_some(Moment(now)),
    };
    let spent = sign_in::table.filter(sign_in::agency.eq(of.agency).and(sign_in::seen_at.lt(Moment(now - LONGEST))));
    on!(&mut *db, conn => diesel::delete(spent).execute(conn))?;
    on!(db, conn => diesel::insert_into(sign_in::table).values(&row).execute(conn))?;
    Ok(())
}

/// Whether a sign-in is past its absolute end.
pub(super) fn is_past(db: &mut Db, of: Of, now: DateTime<Utc>) -> Result<bool, Fault> {
    if of.device.is_some() {
        return Ok(false);
    }
    let key = (of.agency, of.family);
    let began: Option<Moment> = on!(db, conn => sign_in::table.find(key).select(sign_in::began_at).first(conn).optional())?;
    Ok(began.is_none_or(|began| began.0 + LONGEST <= now))
}

/// Notes that the password was given again within a sign-in.
fn proved(db: &mut Db, agency: AgencyId, id: Uuid, now: DateTime<Utc>) -> Result<(), Fault> {
    let key = (Uid::from(agency), Uid(id));
    on!(db, conn => diesel::update(sign_in::table.find(key)).set(sign_in::proven_at.eq(Moment(now))).execute(conn))?;
    Ok(())
}

impl Sessions {
    /// Notes that the password was given again within a sign-in.
    pub fn proved(&self, agency: AgencyId, sign_in: Uuid) -> Result<(), Fault> {
        let now = self.clock.now();
        self.db()?.transaction(Access::Write, |db| proved(db, agency, sign_in, now))
    }
}

/// Refuses what opens another way in, or closes one, to whoever has not shown lately who it is: a browser that was left open, or a copy of
/// its tokens, is not enough for it.
pub fn lately_proven(db: &mut Db, actor: &Actor, now: DateTime<Utc>) -> Result<(), Fault> {
    let Some(id) = actor.sign_in else { return Err(proof_needed()) };
    let key = (Uid::from(actor.agency), Uid(id));
    let proven: Option<Option<Moment>> = on!(db, conn => sign_in::table.find(key).select(sign_in::proven_at).first(conn).optional())?;
    match proven.flatten() {
        Some(at) if now < at.0 + PROVEN => Ok(()),
        _ => Err(proof_needed()),
    }
}

fn proof_needed() -> Fault {
    Fault::new(error::PROOF_NEEDED, "Give your password again first: this opens or closes a way in")
        .hint("POST /v1/session/proof with the password counts for ten minutes, as a sign-in with it does")
}

/// Notes that a sign-in was refreshed.
pub(super) fn seen(db: &mut Db, of: Of, from: &AskedFrom, now: DateTime<Utc>) -> Result<(), Fault> {
    let key = (of.agency, of.family);
    on!(db, conn => diesel::update(sign_in::table.find(key))
        .set((
            sign_in::seen_at.eq(Moment(now)),
            sign_in::network.eq(from.network.as_deref()),
            sign_in::program.eq(from.program.as_deref()),
        ))
        .execute(conn))?;
    Ok(())
}

/// The sign-ins of a member that have not ended, the one that was seen last first.
pub fn open_sign_ins(db: &mut Db, agency: AgencyId, member: MemberId, now: DateTime<Utc>) -> Result<Vec<OpenSignIn>, Fault> {
    let (agency, member) = (Uid::from(agency), Uid::from(member));
    let open: Vec<Uid> = on!(&mut *db, conn => refresh_token::table
        .filter(refresh_token::agency.eq(agency).and(refresh_token::member.eq(member)))
        .filter(refresh_token::spent_at.is_null().and(refresh_token::ended_at.is_null()).and(refresh_token::expires_at.gt(Moment(now))))
        .select(refresh_token::family)
        .load(conn))?;
    let open: BTreeSet<Uid> = open.into_iter().collect();
    let rows: Vec<SignInRow> = on!(db, conn => sign_in::table
        .filter(sign_in::agency.eq(agency).and(sign_in::member.eq(member)))
        .order(sign_in::seen_at.desc())
        .select(SignInRow::as_select())
        .load(conn))?;
    Ok(rows
        .into_iter()
        .filter(|row| open.contains(&row.id))
        .map(OpenSignIn::from)
        .filter(|one| one.ends_at.is_none_or(|end| end > now))
        .take(MOST_TOLD)
        .collect())
}

/// Of these sign-ins of an agency those that have not ended, whosever they are.
pub fn still_open(db: &mut Db, agency: AgencyId, ids: &[Uuid], now: DateTime<Utc>) -> Result<BTreeSet<Uuid>, Fault> {
    if ids.is_empty() {
        return Ok(BTreeSet::new());
    }
    let (agency, ids): (_, Vec<Uid>) = (Uid::from(agency), ids.iter().copied().map(Uid).collect());
    let of_them = || refresh_token::table.filter(refresh_token::agency.eq(agency).and(refresh_token::family.eq_any(&ids)));
    let ended: BTreeSet<Uid> = on!(&mut *db, conn => of_them()
        .filter(refresh_token::ended_at.is_not_null())
        .select(refresh_token::family)
        .distinct()
        .load(conn))?
    .into_iter()
    .collect();
    let alive: Vec<Uid> = on!(&mut *db, conn => of_them()
        .filter(refresh_token::spent_at.is_null().and(refresh_token::expires_at.gt(Moment(now))))
        .select(refresh_token::family)
        .load(conn))?;
    let rows: Vec<SignInRow> = on!(db, conn => sign_in::table
        .filter(sign_in::agency.eq(agency).and(sign_in::id.eq_any(&ids)))
        .select(SignInRow::as_select())
        .load(conn))?;
    let within: BTreeSet<Uuid> = rows
        .into_iter()
        .map(OpenSignIn::from)
        .filter(|one| one.ends_at.is_none_or(|end| end > now))
        .map(|one| one.id)
        .collect();
    Ok(alive
        .into_iter()
        .filter(|id| !ended.contains(id) && within.contains(&id.0))
        .map(|id| id.0)
        .collect())
}

impl From<SignInRow> for OpenSignIn {
    fn from(row: SignInRow) -> Self {
        Self {
            id: row.id.0,
            device: row.device.map(|device| device.0),
            began_at: row.began_at.0,
            seen_at: row.seen_at.0,
            ends_at: row.device.is_none().then(|| row.began_at.0 + LONGEST),
            from: AskedFrom {
                network: row.network,
                program: row.program,
            },
        }
    }
}
