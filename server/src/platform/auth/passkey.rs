//! Passkeys of members: made once, each with a name of the member's own, and held against every signature. They stand beside the password
//! as a second factor, and alone where the authenticator has looked who it is.
//!
//! What is asked for is a signed ticket of five minutes with the challenge in it, like the half of a sign-in, so that asking costs no row;
//! one that was answered is kept until it would have run out anyway, so that it serves once on all processes.

use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{
    AccessEventKind, AskedFrom, Keys, NewEvent, Sessions,
    keys::ISSUER,
    note,
    second_factor::{first_codes, forget_codes_alone},
    webauthn::{CHALLENGE_BYTES, Ceremony, MOST_CREDENTIAL, RelyingParty, Untrue},
};
use crate::{
    on,
    platform::{
        db::{
            Access, Db,
            schema::{credential, passkey, passkey_answered},
            types::{Moment, Uid},
        },
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// The most passkeys of a member.
pub const MOST_PASSKEYS: usize = 10;
/// How long there is to answer, in seconds.
pub const PASSKEY_SECONDS: i64 = 5 * 60;
/// What a ticket is for: nothing else takes it.
const AUDIENCE: &str = "urn:fullset:passkey";

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = passkey)]
struct PasskeyRow {
    agency: Uid,
    id: Uid,
    member: Uid,
    credential: Vec<u8>,
    public_key: Vec<u8>,
    counter: i64,
    name: String,
    made_at: Moment,
    used_at: Option<Moment>,
}

/// A passkey as its member sees it.
#[derive(Debug, Clone)]
pub struct Passkey {
    /// Its id.
    pub id: Uuid,
    /// The name that its authenticator knows it by.
    pub credential: Vec<u8>,
    /// The member's name of it.
    pub name: String,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// When it last signed in.
    pub used_at: Option<DateTime<Utc>>,
}

/// What somebody is asked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "for", rename_all = "snake_case")]
pub enum PasskeyUse {
    /// Another passkey, by a member within this sign-in whose password was right.
    Add {
        /// The agency.
        agency: AgencyId,
        /// The member.
        member: MemberId,
        /// The sign-in.
        sign_in: Uuid,
    },
    /// The first one, by whoever has the ticket of a sign-in that lacks a second factor.
    SetUp {
        /// The ticket of the first half.
        ticket: String,
    },
    /// The second half of the sign-in of this ticket.
    Half {
        /// The ticket of the first half.
        ticket: String,
    },
    /// A whole sign-in, of whomever it is.
    Whole,
}

/// A ticket, as it was read.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct PasskeyTicket {
    /// What it was asked for.
    #[serde(flatten)]
    pub purpose: PasskeyUse,
    #[serde(with = "crate::platform::hex")]
    challenge: Vec<u8>,
    iss: String,
    aud: String,
    exp: i64,
}

/// What an authenticator has signed.
#[derive(Debug, Clone)]
pub struct PasskeySignature {
    /// The name of the credential.
    pub credential: Vec<u8>,
    /// What the browser collected.
    pub client_data: Vec<u8>,
    /// What the authenticator says.
    pub authenticator_data: Vec<u8>,
    /// Its signature.
    pub signature: Vec<u8>,
    /// Whose it is by the authenticator's word, where it has one.
    pub user_handle: Option<Vec<u8>>,
}

fn over() -> Fault {
    Fault::new(error::SESSION_ENDED, "This took too long, or was used already; begin again")
}

/// That a passkey does not open, in the same words whatever the reason.
pub fn passkey_wrong() -> Fault {
    Fault::new(
        error::PASSKEY_WRONG,
        "This passkey does not sign in here; use another, or sign in with your password",
    )
}

impl Keys {
    /// Asks for something: the ticket, and the challenge that is to be signed.
    pub fn ask_passkey(&self, purpose: PasskeyUse) -> Result<(String, Vec<u8>), Fault> {
        let challenge = rand::random::<[u8; CHALLENGE_BYTES]>().to_vec();
        let ticket = PasskeyTicket {
            purpose,
            challenge: challenge.clone(),
            iss: ISSUER.to_owned(),
            aud: AUDIENCE.to_owned(),
            exp: (self.now() + TimeDelta::seconds(PASSKEY_SECONDS)).timestamp(),
        };
        Ok((self.seal(&ticket)?, challenge))
    }

    /// What a ticket was asked for.
    pub fn passkey_ticket(&self, token: &str) -> Result<PasskeyTicket, Fault> {
        let ticket: PasskeyTicket = self.unseal(token, AUDIENCE).map_err(|fault| if fault.is_ours() { fault } else { over() })?;
        if ticket.exp <= self.now().timestamp() {
            return Err(over());
        }
        Ok(ticket)
    }
}

fn of_member(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<Vec<PasskeyRow>, Fault> {
    let (agency, member) = (Uid::from(agency), Uid::from(member));
    Ok(on!(db, conn => passkey::table
        .filter(passkey::agency.eq(agency).and(passkey::member.eq(member)))
        .order((passkey::made_at, passkey::id))
        .select(PasskeyRow::as_select())
        .load(conn))?)
}

/// A member's passkeys, the oldest first.
pub fn passkeys_of(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<Vec<Passkey>, Fault> {
    Ok(of_member(db, agency, member)?.into_iter().map(Passkey::from).collect())
}

/// Forgets all passkeys of a member.
pub fn forget_passkeys(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<(), Fault> {
    let own = passkey::table.filter(passkey::agency.eq(Uid::from(agency)).and(passkey::member.eq(Uid::from(member))));
    on!(db, conn => diesel::delete(own).execute(conn))?;
    Ok(())
}

/// Whose a credential is.
pub fn passkey_owner(db: &mut Db, credential: &[u8]) -> Result<Option<(AgencyId, MemberId)>, Fault> {
    if credential.len() > MOST_CREDENTIAL {
        return Ok(None);
    }
    let found: Option<(Uid, Uid)> = on!(db, conn => passkey::table
        .filter(passkey::credential.eq(credential))
        .select((passkey::agency, passkey::member))
        .first(conn)
        .optional())?;
    Ok(found.map(|(agency, member)| (AgencyId(agency.0), MemberId(member.0))))
}

impl From<PasskeyRow> for Passkey {
    fn from(row: PasskeyRow) -> Self {
        Self {
            id: row.id.0,
            credential: row.credential,
            name: row.name,
            made_at: row.made_at.0,
            used_at: row.used_at.map(|at| at.0),
        }
    }
}

/// Marks a ticket as answered; refuses one that was.
fn answer(db: &mut Db, agency: AgencyId, ticket: &PasskeyTicket, now: DateTime<Utc>) -> Result<(), Fault> {
    let agency = Uid::from(agency);
    let spent = passkey_answered::table.filter(passkey_answered::agency.eq(agency).and(passkey_answered::until.lt(Moment(now))));
    on!(&mut *db, conn => diesel::delete(spent).execute(conn))?;
    let row = (
        passkey_answered::agency.eq(agency),
        passkey_answered::challenge.eq(&ticket.challenge),
        passkey_answered::until.eq(Moment(now + TimeDelta::seconds(2 * PASSKEY_SECONDS))),
    );
    let first = on!(db, conn => diesel::insert_into(passkey_answered::table).values(row).on_conflict_do_nothing().execute(conn))?;
    if first == 0 { Err(over()) } else { Ok(()) }
}

/// Lets one change at a time of the passkeys of a member: the row of the password is taken by it.
fn alone(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<(), Fault> {
    let own = credential::table.find((Uid::from(agency), Uid::from(member)));
    on!(db, conn => diesel::update(own).set(credential::email.eq(credential::email)).execute(conn))?;
    Ok(())
}

fn none() -> Fault {
    Fault::new(error::NOT_FOUND, "You have no such passkey, or it was removed already")
}

fn full() -> Fault {
    Fault::rule("You have ten passkeys already; remove one that you do not use any more")
}

impl Sessions {
    /// Keeps a new passkey of a member; answers recovery codes too, where none were left.
    pub fn add_passkey(
        &self,
        party: &RelyingParty,
        (ticket, agency, member): (&PasskeyTicket, AgencyId, MemberId),
        (name, client_data, attestation): (String, &[u8], &[u8]),
        from: AskedFrom,
    ) -> Result<(Passkey, Vec<String>), Fault> {
        let asked = Ceremony {
            party,
            challenge: &ticket.challenge,
            verified: false,
        };
        let made = asked.made(client_data, attestation).map_err(|why| {
            tracing::info!(%agency, ?why, "a passkey was not taken");
            Fault::new(error::PASSKEY_WRONG, "This passkey cannot be taken; begin again, or use another device")
        })?;
        let now = self.clock.now();
        let row = PasskeyRow {
            agency: agency.into(),
            id: Uid(Uuid::now_v7()),
            member: member.into(),
            credential: made.credential,
            public_key: made.key,
            counter: made.counter.into(),
            name,
            made_at: Moment(now),
            used_at: None,
        };
        let codes = self.db()?.transaction(Access::Write, |db| {
            alone(db, agency, member)?;
            answer(db, agency, ticket, now)?;
            if of_member(db, agency, member)?.len() >= MOST_PASSKEYS {
                return Err(full());
            }
            let new = on!(&mut *db, conn => diesel::insert_into(passkey::table).values(&row).on_conflict_do_nothing().execute(conn))?;
            if new == 0 {
                return Err(Fault::rule("This passkey is known here already; add another"));
            }
            note(db, NewEvent::own(agency, member, AccessEventKind::PasskeyAdded, from), now)?;
            first_codes(db, agency, member)
        })?;
        Ok((row.into(), codes))
    }

    /// Refuses another passkey where there are as many as there may be.
    pub fn room_for_passkey(&self, agency: AgencyId, member: MemberId) -> Result<Vec<Passkey>, Fault> {
        let all = passkeys_of(&mut *self.db()?, agency, member)?;
        if all.len() < MOST_PASSKEYS { Ok(all) } else { Err(full()) }
    }

    /// Names a passkey anew.
    pub fn name_passkey(&self, agency: AgencyId, member: MemberId, id: Uuid, name: &str) -> Result<(), Fault> {
        let own = passkey::table.filter(
            passkey::agency
                .eq(Uid::from(agency))
                .and(passkey::member.eq(Uid::from(member)))
                .and(passkey::id.eq(Uid(id))),
        );
        self.db()?.transaction(Access::Write, |db| {
            let named = on!(db, conn => diesel::update(own).set(passkey::name.eq(name)).execute(conn))?;
            if named == 0 { Err(none()) } else { Ok(()) }
        })
    }

    /// Removes a passkey; the last one only where something else does, or nothing is asked for.
    pub fn remove_passkey(&self, agency: AgencyId, member: MemberId, (id, last): (Uuid, bool), from: AskedFrom) -> Result<(), Fault> {
        let now = self.clock.now();
        self.db()?.transaction(Access::Write, |db| {
            alone(db, agency, member)?;
            let all = of_member(db, agency, member)?;
            let found = all.iter().find(|row| row.id.0 == id).ok_or_else(none)?;
            if !last && all.len() == 1 {
                return Err(Fault::rule(
                    "Your agency asks for a second factor in your role, and this is your only one; add another first",
                ));
            }
            on!(&mut *db, conn => diesel::delete(passkey::table.find((found.agency, found.id))).execute(conn))?;
            if all.len() == 1 {
                forget_codes_alone(db, agency, member)?;
            }
            note(db, NewEvent::own(agency, member, AccessEventKind::PasskeyRemoved, from), now)
        })
    }

    /// Holds a signature to the passkey that it names, of this member.
    pub fn check_passkey(
        &self,
        party: &RelyingParty,
        ticket: &PasskeyTicket,
        ((agency, member), given): ((AgencyId, MemberId), &PasskeySignature),
        from: AskedFrom,
    ) -> Result<(), Fault> {
        let now = self.clock.now();
        self.db()?.transaction(Access::Write, |db| {
            let all = of_member(db, agency, member)?;
            let found = all.iter().find(|row| row.credential == given.credential).ok_or_else(passkey_wrong)?;
            let refused = match signed(party, ticket, found, given) {
                Ok(counter) => {
                    answer(db, agency, ticket, now)?;
                    if next(db, found, counter, now)? {
                        return Ok::<_, Fault>(Ok(()));
                    }
                    AccessEventKind::PasskeyCopied
                }
                Err(why) => {
                    tracing::info!(%agency, ?why, "a passkey was refused");
                    AccessEventKind::PasskeyWrong
                }
            };
            // What was tried is told, so the transaction is kept.
            note(db, NewEvent::own(agency, member, refused, from), now)?;
            Ok(Err(passkey_wrong()))
        })?
    }
}

fn signed(party: &RelyingParty, ticket: &PasskeyTicket, row: &PasskeyRow, given: &PasskeySignature) -> Result<u32, Untrue> {
    let asked = Ceremony {
        party,
        challenge: &ticket.challenge,
        verified: ticket.purpose == PasskeyUse::Whole,
    };
    if given.user_handle.as_ref().is_some_and(|handle| handle.as_slice() != row.member.0.as_bytes()) {
        return Err(Untrue("the authenticator knows it as somebody else's"));
    }
    asked.signed(&row.public_key, &given.client_data, &given.authenticator_data, &given.signature)
}

/// Whether a counter goes on from the one that is kept (section 6.1.1: one that counts goes up each time), which it then is.
fn next(db: &mut Db, row: &PasskeyRow, counter: u32, now: DateTime<Utc>) -> Result<bool, Fault> {
    let counter = i64::from(counter);
    let own = passkey::table.find((row.agency, row.id));
    let next = own.filter(passkey::counter.lt(counter).or(passkey::counter.eq(0).and(passkey::counter.eq(counter))));
    let set = (passkey::counter.eq(counter), passkey::used_at.eq(Moment(now)));
    Ok(on!(db, conn => diesel::update(next).set(set).execute(conn))? == 1)
}
