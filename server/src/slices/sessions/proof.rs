//! Proofs that somebody is who it says: a password, a code. Each try counts, and a wrong one is noted for whoever keeps the members.

use std::sync::Arc;

use actix_web::HttpRequest;
use uuid::Uuid;

use super::{limits::SignInLimits, view::missing};
use crate::platform::{
    auth::{self, AccessEventKind, AskedFrom, Credential, Email, HalfSignIn, MOST_PASSWORD, NewEvent, RightCode, SecondHalf, credential_for},
    error::{self, Fault},
    http::{Shared, asked_from, caller_of},
    ids::{AgencyId, MemberId},
};

/// That nobody signs in by these.
pub fn sign_in_failed() -> Fault {
    let words = "Email and password do not match; check both, or ask an admin for a new password";
    Fault::new(error::SIGN_IN_FAILED, words)
}

/// That the present password is another.
pub fn password_wrong() -> Fault {
    Fault::new(error::PASSWORD_WRONG, "This is not your present password; type it again").at("body.present")
}

/// Whose email and password these are. A wrong password counts as a try to sign in, wherever it is given.
pub async fn proven(
    request: &HttpRequest,
    shared: &Arc<Shared>,
    limits: &SignInLimits,
    (email, password): (&Email, &str),
    wrong: fn() -> Fault,
) -> Result<Credential, Fault> {
    let counted = limits.count(email, caller_of(request, shared), shared.clock.now())?;
    let answer = check(shared, (email, password), wrong, asked_from(request, shared)).await;
    match &answer {
        Ok(_) => limits.succeeded(&counted, shared.clock.now()),
        Err(fault) if fault.code != wrong().code => limits.give_back(&counted, shared.clock.now()),
        Err(_) => {}
    }
    answer
}

/// Finds whose email and password these are, in its turn and holding no connection while it hashes.
async fn check(shared: &Arc<Shared>, (email, password): (&Email, &str), wrong: fn() -> Fault, from: AskedFrom) -> Result<Credential, Fault> {
    // No password is longer, so it is nobody's.
    if password.chars().nth(MOST_PASSWORD).is_some() {
        return Err(wrong());
    }
    let place = shared.door.hashing().place(None)?;
    let email = email.clone();
    let found = shared.read(move |db| auth::credential_of(db, &email)).await?;
    let turn = place.turn().await?;
    let (password, credential) = (password.to_owned(), found.clone());
    let right = shared
        .slow(move |shared| {
            let _turn = turn;
            let matches = shared.sessions.matches(&password, credential.as_ref());
            credential
                .filter(|_| matches)
                .map(|known| shared.sessions.renewed(&password, known))
                .transpose()
        })
        .await?;
    drop(place);
    match (right, found) {
        (Some(known), _) => Ok(known),
        (None, Some(known)) => {
            note_later(shared, NewEvent::own(known.agency, known.member, AccessEventKind::PasswordWrong, from));
            Err(wrong())
        }
        (None, None) => Err(wrong()),
    }
}

/// Notes an event without keeping the answer waiting: how long that takes would tell which emails exist.
fn note_later(shared: &Arc<Shared>, event: NewEvent) {
    let shared = Arc::clone(shared);
    actix_web::rt::spawn(async move {
        if let Err(fault) = shared.slow(move |shared| shared.sessions.note(event)).await {
            tracing::warn!(cause = ?fault.cause, %fault, "a failed sign-in was not noted");
        }
    });
}

/// The first half of a sign-in that a ticket stands for.
pub async fn half(shared: &Arc<Shared>, ticket: &str) -> Result<HalfSignIn, Fault> {
    let half = shared.keys.half(ticket)?;
    let (agency, member) = (half.agency, half.member);
    let present = shared.read(move |db| credential_for(db, agency, member)).await?;
    half.holds(present.as_ref())?;
    Ok(half)
}

/// Holds a code to a member's second factor, and notes what came of it.
pub async fn right_code(shared: &Arc<Shared>, (agency, member): (AgencyId, MemberId), from: &AskedFrom, code: String) -> Result<(), Fault> {
    let checked = shared.slow(move |shared| shared.sessions.check_code(agency, member, &code)).await;
    let what = match &checked {
        Ok(RightCode::Authenticator) => return Ok(()),
        Ok(RightCode::Recovery) => AccessEventKind::RecoveryCodeUsed,
        Err(fault) if fault.code == error::SECOND_FACTOR_WRONG => AccessEventKind::CodeWrong,
        Err(_) => return checked.map(drop),
    };
    let event = NewEvent::own(agency, member, what, from.clone());
    shared.slow(move |shared| shared.sessions.note(event)).await?;
    checked.map(drop)
}

/// Ends a sign-in by password whose role takes a second factor by now, where the member has none: it signs in again, and sets one up.
pub async fn still_whole(shared: &Arc<Shared>, agency: AgencyId, member: MemberId, sign_in: Uuid) -> Result<(), Fault> {
    if shared.read(move |db| missing(db, agency, member)).await? != Some(SecondHalf::SetUp) {
        return Ok(());
    }
    shared.slow(move |shared| shared.sessions.end_sign_in(sign_in).map(drop)).await?;
    let words = "Your agency asks for a second factor in your role; sign in again and set it up";
    Err(Fault::new(error::SESSION_ENDED, words))
}
