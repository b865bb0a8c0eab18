//! What happened to ways of signing in, for whoever keeps the members: rows beside the records, for 180 days and 20,000 of an agency at
//! most. They hold no password, no code, no secret, and no email that is nobody's: a try with an unknown email belongs to no agency.

use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::Actor;
use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::access_event,
            types::{Moment, Uid},
        },
        error::Fault,
        ids::{AgencyId, MemberId},
    },
};

/// How long an event is kept.
const KEPT: TimeDelta = TimeDelta::days(180);
/// The most events of an agency.
const MOST_EVENTS: i64 = 20_000;
/// The most signs of what a browser says of itself.
const MOST_PROGRAM: usize = 200;

macro_rules! events {
    ($($(#[doc = $words:literal])* $name:ident = $word:literal;)*) => {
        /// What happened.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
        #[serde(rename_all = "snake_case")]
        pub enum AccessEventKind {
            $($(#[doc = $words])* $name,)*
        }

        impl AccessEventKind {
            const fn word(self) -> &'static str {
                match self { $(Self::$name => $word,)* }
            }

            fn read(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$name),)* _ => None }
            }
        }
    };
}

events! {
    /// Signed in by a password or a link, with all that it takes.
    SignedIn = "signed_in";
    /// Signed in by a passkey alone.
    SignedInByPasskey = "signed_in_by_passkey";
    /// Signed a phone in by a code that the member had made.
    PhoneEnrolled = "phone_enrolled";
    /// Signed out.
    SignedOut = "signed_out";
    /// A wrong password was given, at sign-in or to change something of the own account.
    PasswordWrong = "password_wrong";
    /// A wrong code of the second factor was given.
    CodeWrong = "code_wrong";
    /// A wrong PIN was given on a shared tablet, another one than those before.
    PinWrong = "pin_wrong";
    /// A PIN was set.
    PinSet = "pin_set";
    /// Something was refused that the role, the reach or the key does not permit; 20 a day are noted of one sender.
    Refused = "refused";
    /// The same token was used from two places: one of them was a copy, and the sign-in ended.
    TokenUsedTwice = "token_used_twice";
    /// Sign-ins were ended by a member.
    SignInsEnded = "sign_ins_ended";
    /// The password was changed.
    PasswordChanged = "password_changed";
    /// A link was made that sets a password.
    LinkMade = "link_made";
    /// Such a link was used.
    LinkUsed = "link_used";
    /// The second factor was turned on.
    SecondFactorOn = "second_factor_on";
    /// The second factor was turned off.
    SecondFactorOff = "second_factor_off";
    /// A recovery code was used up.
    RecoveryCodeUsed = "recovery_code_used";
    /// A passkey was added.
    PasskeyAdded = "passkey_added";
    /// A passkey was removed.
    PasskeyRemoved = "passkey_removed";
    /// A passkey was refused: what was signed is not what was asked for.
    PasskeyWrong = "passkey_wrong";
    /// A passkey was refused because its counter went back: somebody may have a copy of it.
    PasskeyCopied = "passkey_copied";
    /// A key of a program was made.
    KeyMade = "key_made";
    /// A key of a program was revoked.
    KeyRevoked = "key_revoked";
}

/// From where somebody asks.
#[derive(Debug, Clone, Default)]
pub struct AskedFrom {
    /// The address, or of version 6 the network.
    pub network: Option<String>,
    /// What the program says of itself.
    pub program: Option<String>,
}

impl AskedFrom {
    /// Of a network and a program, which is cut to 200 signs.
    pub fn new(network: Option<String>, program: Option<&str>) -> Self {
        let program = program.map(|program| program.chars().filter(|sign| !sign.is_control()).take(MOST_PROGRAM).collect());
        Self { network, program }
    }
}

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = access_event)]
struct EventRow {
    agency: Uid,
    id: Uid,
    at: Moment,
    what: String,
    member: Option<Uid>,
    actor: Option<Uid>,
    actor_name: Option<String>,
    network: Option<String>,
    program: Option<String>,
}

/// An event to be noted.
#[derive(Debug, Clone)]
pub struct NewEvent {
    /// The agency in which it happened.
    pub agency: AgencyId,
    /// What happened, of the kinds of events that are noted.
    pub what: AccessEventKind,
    /// The member whom it is about; none where it is about a tablet or a program's key.
    pub member: Option<MemberId>,
    /// Who did it, where that was somebody else: the id, and the name of then.
    pub actor: Option<(Option<MemberId>, String)>,
    /// The network and the program that asked, as far as they are known.
    pub from: AskedFrom,
}

impl NewEvent {
    /// Something that a member did at its own account.
    pub fn own(agency: AgencyId, member: MemberId, what: AccessEventKind, from: AskedFrom) -> Self {
        Self {
            agency,
            what,
            member: Some(member),
            actor: None,
            from,
        }
    }

    /// Something that an actor did to a member, or to a key.
    pub fn by(actor: &Actor, member: Option<MemberId>, what: AccessEventKind) -> Self {
        let another = actor.member.is_none() || actor.member != member;
        Self {
            agency: actor.agency,
            what,
            member,
            actor: another.then(|| (actor.member, actor.name.clone())),
            from: AskedFrom::default(),
        }
    }
}

/// An event as it is kept.
#[derive(Debug, Clone)]
pub struct AccessEvent {
    /// UUIDv7 that the event was noted with, by which a list goes on.
    pub id: Uuid,
    /// UTC instant at which it was noted, by the server's clock.
    pub at: DateTime<Utc>,
    /// What happened, of the kinds of events that are noted.
    pub what: AccessEventKind,
    /// The member whom it is about; none where it is about a tablet or a program's key.
    pub member: Option<MemberId>,
    /// Who did it, where that was not the member itself.
    pub actor: Option<(Option<MemberId>, String)>,
    /// The network and the program that asked, as far as they are known.
    pub from: AskedFrom,
}

/// Notes an event, and forgets what is past its time.
pub fn note(db: &mut Db, event: NewEvent, now: DateTime<Utc>) -> Result<(), Fault> {
    let agency = Uid::from(event.agency);
    let (actor, actor_name) = event.actor.map_or((None, None), |(id, name)| (id.map(Uid::from), Some(name)));
    let row = EventRow {
        agency,
        id: Uid(Uuid::now_v7()),
        at: Moment(now),
        what: event.what.word().to_owned(),
        member: event.member.map(Uid::from),
        actor,
        actor_name,
        network: event.from.network,
        program: event.from.program,
    };
    on!(&mut *db, conn => diesel::insert_into(access_event::table).values(&row).execute(conn))?;
    let first_too_many: Option<Moment> = on!(&mut *db, conn => access_event::table
        .filter(access_event::agency.eq(agency))
        .order((access_event::at.desc(), access_event::id.desc()))
        .select(access_event::at)
        .offset(MOST_EVENTS)
        .first(conn)
        .optional())?;
    let until = first_too_many.map_or(now - KEPT, |at| at.0.max(now - KEPT));
    on!(db, conn => diesel::delete(access_event::table.filter(access_event::agency.eq(agency).and(access_event::at.le(Moment(until))))).execute(conn))?;
    Ok(())
}

/// Events, the newest first; of these members alone where they are named. `before` is the last that was read.
pub fn events(db: &mut Db, agency: AgencyId, of: Option<&[MemberId]>, before: Option<Uuid>, limit: i64) -> Result<Vec<AccessEvent>, Fault> {
    let agency = Uid::from(agency);
    let since: Option<(Moment, Uid)> = match before {
        Some(id) => on!(&mut *db, conn => access_event::table
            .find((agency, Uid(id)))
            .select((access_event::at, access_event::id))
            .first(conn)
            .optional())?,
        None => None,
    };
    if before.is_some() && since.is_none() {
        return Ok(Vec::new());
    }
    let members: Option<Vec<Uid>> = of.map(|of| of.iter().copied().map(Uid::from).collect());
    let rows: Vec<EventRow> = on!(db, conn => {
        let mut query = access_event::table
            .filter(access_event::agency.eq(agency))
            .order((access_event::at.desc(), access_event::id.desc()))
            .select(EventRow::as_select())
            .limit(limit)
            .into_boxed();
        if let Some((at, id)) = since {
            query = query.filter(access_event::at.lt(at).or(access_event::at.eq(at).and(access_event::id.lt(id))));
        }
        if let Some(members) = &members {
            query = query.filter(access_event::member.eq_any(members));
        }
        query.load(conn)
    })?;
    Ok(rows.into_iter().filter_map(read).collect())
}

fn read(row: EventRow) -> Option<AccessEvent> {
    Some(AccessEvent {
        id: row.id.0,
        at: row.at.0,
        what: AccessEventKind::read(&row.what)?,
        member: row.member.map(|member| MemberId(member.0)),
        actor: row.actor_name.map(|name| (row.actor.map(|actor| MemberId(actor.0)), name)),
        from: AskedFrom {
            network: row.network,
            program: row.program,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_the_same_in_the_table_and_over_the_wire() {
        for kind in [AccessEventKind::SignedIn, AccessEventKind::SignInsEnded, AccessEventKind::RecoveryCodeUsed] {
            assert_eq!(serde_json::to_string(&kind).unwrap(), format!("\"{}\"", kind.word()));
            assert_eq!(AccessEventKind::read(kind.word()), Some(kind));
        }
    }

    #[test]
    fn what_a_program_says_of_itself_is_cut() {
        let from = AskedFrom::new(None, Some(&format!("a\n{}", "b".repeat(500))));
        assert_eq!(from.program.map(|program| program.len()), Some(MOST_PROGRAM));
    }
}
