//! The addresses of the own second factor. It is set up by a member who is signed in and gives the password, or, where the agency asks for
//! one and there is none yet, by whoever has the ticket of the first half of a sign-in.

use std::sync::Arc;

use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    api::own,
    view::{self, FactorShown},
};
use crate::{
    platform::{
        auth::{AccessEventKind, Actor, AskedFrom, HalfSignIn, NewEvent, SecondHalf, authenticator_address, base32, factor_of, passkeys_of},
        error::{self, Fault},
        http::{Anyone, Api, Body, Caller, Doc, Json, Shared, asked_from, same_origin},
        ids::{AgencyId, MemberId},
    },
    slices::{
        agencies::Agency,
        members::Member,
        sessions::{Session, SignInLimits, SignInRequest, begin, find, half, is_asked, missing, password_wrong, proven, right_code},
    },
};

/// The addresses of the second factor.
pub fn routes(api: &mut Api, limits: &web::Data<SignInLimits>) {
    api.other(
        Method::GET,
        "/v1/session/second-factor",
        Doc::new(
            "session",
            "show_own_second_factor",
            "Whether the member has a second factor",
            "Since when, how many recovery codes are left, and whether the agency asks for one in the member's role.",
        )
        .answer("The second factor; a shared tablet has none"),
        show,
    );
    let limits = limits.clone();
    api.other(
        Method::POST,
        "/v1/session/second-factor",
        Doc::new(
            "session",
            "start_second_factor",
            "Make the key of a second factor",
            "Takes the present password, or the ticket of a sign-in that lacks a second factor. The key is for an authenticator (TOTP, RFC 6238: \
             SHA-1, six digits, 30 seconds) and counts once it is confirmed.",
        )
        .answer("The key; it is shown this once")
        .refuses("401", "Sign in first, or the ticket is too old")
        .refuses("403", "The present password is another, or not from the service's own pages")
        .refuses("409", "The second factor is on already")
        .refuses("429", "Too many tries"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, caller: Result<Caller, Fault>, given: Body<StartFactor>| {
            start(request, shared, caller, given, limits.clone())
        },
    );
    api.other(
        Method::POST,
        "/v1/session/second-factor/confirm",
        Doc::new(
            "session",
            "confirm_second_factor",
            "Turn the second factor on, by its first code",
            "Answers ten recovery codes, which are shown this once; each signs in once without the authenticator. With a ticket it also signs in.",
        )
        .answer("It is on")
        .refuses("401", "Sign in first, or the ticket is too old")
        .refuses("403", "The code is wrong, or not from the service's own pages")
        .refuses("409", "There is no key that waits")
        .refuses("429", "Too many tries"),
        |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, caller: Result<Caller, Fault>, given: Body<ConfirmFactor>| {
            confirm(request, shared, caller, given)
        },
    );
    api.other(
        Method::POST,
        "/v1/session/second-factor/off",
        Doc::new(
            "session",
            "turn_second_factor_off",
            "Turn the second factor off, by a code",
            "By a code of the authenticator or a recovery code; refused where the agency asks for a second factor in the member's role and there is no \
             passkey.",
        )
        .answers_raw("204", "", "It is off")
        .refuses("403", "The code is wrong, or not from the service's own pages")
        .refuses("409", "There is none, or the agency asks for it")
        .refuses("429", "Too many tries"),
        turn_off,
    );
    api.other(
        Method::POST,
        "/v1/session/second-factor/recovery-codes",
        Doc::new(
            "session",
            "renew_recovery_codes",
            "New recovery codes in the place of those before, by a code",
            "Ten, which are shown this once. Those that were left count no more.",
        )
        .answer("The codes")
        .refuses("403", "The code is wrong, or not from the service's own pages")
        .refuses("409", "There is no second factor")
        .refuses("429", "Too many tries"),
        renew,
    );
}

/// Who sets a second factor up.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct StartFactor {
    /// The present password of the member who is signed in.
    #[schema(max_length = 256)]
    password: Option<String>,
    /// The ticket of a sign-in that lacks a second factor.
    ticket: Option<String>,
}

/// A key for an authenticator.
#[derive(Serialize, ToSchema)]
struct FactorKey {
    /// The key in Base32, to be typed.
    secret: String,
    /// The address that an authenticator reads from a QR picture.
    url: String,
}

/// The first code.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct ConfirmFactor {
    /// The six digits that the authenticator shows.
    #[schema(max_length = 40)]
    code: String,
    /// The ticket of a sign-in that lacks a second factor.
    ticket: Option<String>,
    /// With a ticket, set by the dashboard: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    browser: bool,
}

/// A second factor that is on.
#[derive(Serialize, ToSchema)]
struct FactorOn {
    /// The recovery codes, each of six groups of four signs.
    #[schema(max_items = 10)]
    recovery_codes: Vec<String>,
    /// With a ticket: the sign-in.
    session: Option<Session>,
}

/// A code.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct GivenCode {
    /// The six digits that the authenticator shows, or a recovery code.
    #[schema(max_length = 40)]
    code: String,
}

/// Recovery codes.
#[derive(Serialize, ToSchema)]
struct RecoveryCodes {
    /// Each of six groups of four signs.
    #[schema(max_items = 10)]
    recovery_codes: Vec<String>,
}

async fn load(shared: &Arc<Shared>, agency: AgencyId, member: MemberId) -> Result<(Member, Agency), Fault> {
    shared.read(move |db| Ok((find(db, agency, member.0)?, find(db, agency, agency.0)?))).await
}

async fn show(shared: web::Data<Shared>, Caller(actor): Caller) -> Result<Json<FactorShown>, Fault> {
    let shared = shared.into_inner();
    let shown = shared.read(move |db| {
        let member: Option<Member> = actor.member.map(|member| find(db, actor.agency, member.0)).transpose()?;
        view::factor(db, actor.agency, member.as_ref())
    });
    Json::of(&shown.await?)
}

/// Whose second factor a ticket lets set up.
pub async fn by_ticket(request: &HttpRequest, shared: &Arc<Shared>, ticket: &str, browser: bool) -> Result<HalfSignIn, Fault> {
    if browser {
        same_origin(request, shared)?;
    }
    let half = half(shared, ticket).await?;
    let (agency, member) = (half.agency, half.member);
    // Whoever has set one up since is asked for it, whatever ticket was given before.
    if shared.read(move |db| missing(db, agency, member)).await? != Some(SecondHalf::SetUp) {
        return Err(Fault::rule("This sign-in lacks a code or a passkey, not a second factor; give that"));
    }
    Ok(half)
}

async fn start(
    request: HttpRequest,
    shared: web::Data<Shared>,
    caller: Result<Caller, Fault>,
    Body(given): Body<StartFactor>,
    limits: web::Data<SignInLimits>,
) -> Result<Json<FactorKey>, Fault> {
    let shared = shared.into_inner();
    let (agency, id) = match &given.ticket {
        Some(ticket) => {
            let half = by_ticket(&request, &shared, ticket, false).await?;
            (half.agency, half.member)
        }
        None => {
            let actor = caller?.0;
            (actor.agency, own(&actor)?.0)
        }
    };
    let (member, own_agency) = load(&shared, agency, id).await?;
    if given.ticket.is_none() {
        let password = given.password.unwrap_or_default();
        proven(&request, &shared, &limits, (&member.email, &password), password_wrong).await?;
    }
    let key = shared.slow(move |shared| shared.sessions.start_factor(agency, id)).await?;
    Json::of(&FactorKey {
        secret: base32(&key),
        url: authenticator_address(&format!("Fullset {}", own_agency.name), member.email.as_str(), &key),
    })
}

async fn confirm(
    request: HttpRequest,
    shared: web::Data<Shared>,
    caller: Result<Caller, Fault>,
    Body(given): Body<ConfirmFactor>,
) -> Result<Json<FactorOn>, Fault> {
    let shared = shared.into_inner();
    let asked = SignInRequest::of(&request, &shared, given.browser);
    let half = match &given.ticket {
        Some(ticket) => Some(by_ticket(&request, &shared, ticket, given.browser).await?),
        None => None,
    };
    let (agency, id) = match &half {
        Some(half) => (half.agency, half.member),
        None => {
            let actor = caller?.0;
            (actor.agency, own(&actor)?.0)
        }
    };
    let (code, noted) = (given.code, asked.from.clone());
    let recovery_codes = shared
        .slow(move |shared| {
            let codes = shared.sessions.confirm_factor(agency, id, &code);
            let what = match &codes {
                Ok(_) => AccessEventKind::SecondFactorOn,
                Err(fault) if fault.code == error::SECOND_FACTOR_WRONG => AccessEventKind::CodeWrong,
                Err(_) => return codes,
            };
            shared.sessions.note(NewEvent::own(agency, id, what, noted))?;
            codes
        })
        .await?;
    let Some(half) = half else {
        return Json::of(&FactorOn { recovery_codes, session: None });
    };
    let (session, cookies) = begin(shared, (agency, id, Some(half.password().clone())), asked).await?;
    let answer = FactorOn {
        recovery_codes,
        session: Some(session),
    };
    Ok(Json::of(&answer)?.with_cookies(cookies))
}

/// The member who asks, with the agency and from where.
fn asking(request: &HttpRequest, shared: &Shared, actor: &Actor) -> Result<(AgencyId, MemberId, AskedFrom), Fault> {
    Ok((actor.agency, own(actor)?.0, asked_from(request, shared)))
}

async fn turn_off(request: HttpRequest, shared: web::Data<Shared>, Caller(actor): Caller, Body(given): Body<GivenCode>) -> Result<HttpResponse, Fault> {
    let (agency, id, from) = asking(&request, &shared, &actor)?;
    let shared = shared.into_inner();
    let asked = shared.read(move |db| {
        let member: Member = find(db, agency, id.0)?;
        if factor_of(db, agency, id)?.is_none() {
            return Err(Fault::rule("There is no authenticator to turn off; passkeys are removed one by one"));
        }
        Ok(is_asked(db, agency, &member)? && passkeys_of(db, agency, id)?.is_empty())
    });
    if asked.await? {
        return Err(Fault::rule("Your agency asks for a second factor in your role, so it stays on"));
    }
    right_code(&shared, (agency, id), &from, given.code).await?;
    shared.slow(move |shared| shared.sessions.drop_factor(agency, id, from)).await?;
    Ok(HttpResponse::NoContent().finish())
}

async fn renew(request: HttpRequest, shared: web::Data<Shared>, Caller(actor): Caller, Body(given): Body<GivenCode>) -> Result<Json<RecoveryCodes>, Fault> {
    let (agency, id, from) = asking(&request, &shared, &actor)?;
    let shared = shared.into_inner();
    right_code(&shared, (agency, id), &from, given.code).await?;
    let recovery_codes = shared.slow(move |shared| shared.sessions.renew_codes(agency, id)).await?;
    Json::of(&RecoveryCodes { recovery_codes })
}
