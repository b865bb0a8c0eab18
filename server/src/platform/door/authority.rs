//! Whose word counts: found out inside the transaction of the command, from the records as they are there. What an access token
//! says is how things were when it was signed; a command may have waited since, in a queue or on the wire.

use std::borrow::Cow;

use chrono::{DateTime, Utc};
use uuid::Uuid;

use super::{Ahead, Signature, Stored, unit_of_work::UnitOfWork, write::stored};
use crate::platform::{
    auth::{self, Actor},
    db::Db,
    error::{self, Fault, Problem},
    ids::AgencyId,
    record::Record,
};

/// An agency's records as they are before a command begins, for finding out who acts.
#[allow(missing_debug_implementations)]
pub struct Present<'a> {
    pub(super) db: &'a mut Db,
    pub(super) held: &'a mut UnitOfWork,
    pub(super) agency: AgencyId,
    /// When the service had the command.
    pub now: DateTime<Utc>,
}

impl Present<'_> {
    /// A live record, or none. The writer remembers it from one transaction to the next.
    pub fn look<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<Option<Stored<R>>, Fault> {
        let row = self.held.find(self.db, (self.agency, Cow::Borrowed(R::KIND), id.into()))?;
        row.filter(|row| !row.gone).map(|row| stored(&row)).transpose()
    }

    /// The database, for what is kept beside the records.
    pub fn beside(&mut self) -> &mut Db {
        self.db
    }
}

/// How the platform, which knows no members, finds out who acts.
#[derive(Debug, Clone, Copy)]
pub struct Authority {
    /// Names the records that it will ask for.
    pub ahead: fn(&Actor, &mut Ahead),
    /// Who a sign-in acts as now: with the role, the reach and the name of now. Refuses who may not act any more.
    pub acts: fn(&mut Present<'_>, &Actor) -> Result<Actor, Fault>,
    /// Who signed a command that a shared tablet sends, as an actor.
    pub signs: fn(&mut Present<'_>, &Actor, &Signature) -> Result<Actor, Fault>,
}

/// Whether a refusal says that the sender's sign-in or key is over. The whole batch is then answered so, as it is where the sign-in was
/// over before the batch was read: the client keeps what it sent, and what had been applied is answered as repeated.
pub(super) fn is_signed_out(problem: &Problem) -> bool {
    matches!(problem.code, error::SESSION_ENDED | error::DEVICE_REVOKED | error::SIGN_IN_NEEDED)
}

/// Refuses a sign-in that was ended in this very transaction.
pub(super) fn still_signed_in(db: &mut Db, actor: &Actor) -> Result<(), Fault> {
    match actor.sign_in.map(|sign_in| auth::end_of(db, sign_in)).transpose()?.flatten() {
        Some(revoked) => Err(auth::refusal(revoked)),
        None => Ok(()),
    }
}

/// For tests of the door itself: everybody is who the token says.
#[cfg(test)]
pub(super) const TRUSTING: Authority = Authority {
    ahead: |_, _| (),
    acts: |_, actor| Ok(actor.clone()),
    signs: |_, _, _| unreachable!("nothing is signed here"),
};
