use std::sync::Arc;

use actix_web::{
    Either, HttpRequest, HttpResponse,
    http::{Method, header},
    web,
};
use serde::Deserialize;
use serde_json::json;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    entry::{Entry, Session, SignInRequest, WhoAmI, begin, enter, find, load, signed_in, told},
    limits::{CodeLimits, SignInLimits},
    passkey,
    proof::{half, proven, right_code, sign_in_failed, still_whole},
};
use crate::{
    platform::{
        auth::{AccessEventKind, Actor, AskedFrom, Email, Enrolment, NewEvent, NewSignIn},
        door::Outcome,
        error::{self, Fault},
        http::{
            Anyone, Api, Body, Caller, Doc, Json, OptionalBody, Shared, answered, asked_from, caller_of, from_open_page, prefer::Return, refresh_token,
            same_origin, spent_cookies,
        },
        ids::{AgencyId, MemberId},
    },
    slices::{devices::Device, members::Member},
};

/// The addresses of sign-in.
pub fn routes(api: &mut Api, limits: &web::Data<SignInLimits>) {
    passkey::routes(api, limits);
    let (limits, refreshed) = (limits.clone(), limits.clone());
    api.other(
        Method::POST,
        "/v1/session",
        Doc::new(
            "session",
            "sign_in",
            "Sign in",
            "Opens a sign-in: an access token for a quarter of an hour and a refresh token for 30 days. Five wrong passwords for one \
             email from one network are taken at once, then the wait grows, to a quarter of an hour at most; `Retry-After` says it. A \
             sign-in ends after 90 days, however often it is refreshed; one that the same member had in the same browser ends with the next. Where the member has a second factor, or the agency asks for one in \
             the member's role, the answer is 202 with a ticket.",
        )
        .answer("Signed in")
        .answers_raw("202", "", "The password is right; the second half is missing")
        .refuses("401", "Email and password do not match")
        .refuses("403", "Not from the service's own pages")
        .refuses("429", "Too many tries")
        .refuses("503", "Too many passwords are being checked"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: Body<SignIn>| sign_in(request, shared, given, limits.clone()),
    );
    api.other(
        Method::POST,
        "/v1/session/code",
        Doc::new(
            "session",
            "check_sign_in_code",
            "Sign in, second half: the code of the second factor",
            "Takes the ticket of the first half, for ten minutes, and a code. A code of the authenticator counts half a minute early and late, \
             and once; a recovery code once. Five wrong codes of one account are taken at once, then the wait grows, to a quarter of an hour at \
             most.",
        )
        .answer("Signed in")
        .refuses("401", "The ticket is too old, or the password was changed meanwhile")
        .refuses("403", "The code is wrong or was used, or not from the service's own pages")
        .refuses("409", "The member has no second factor any more")
        .refuses("429", "Too many tries"),
        |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: Body<SecondHalfOfSignIn>| check_code(request, shared, given),
    );
    let limits = web::Data::new(CodeLimits::default());
    api.other(
        Method::POST,
        "/v1/enrolments/redeem",
        Doc::new(
            "devices",
            "redeem_enrolment",
            "Enrol this device by a code and sign it in",
            "Makes the device's record and signs it in: as the member who made the code, or as the shared tablet of a station.",
        )
        .answer("Enrolled and signed in")
        .refuses("401", "Whoever made the code has been let go")
        .refuses("403", "The code is wrong, used or too old")
        .refuses("409", "Another device has this id")
        .refuses("429", "Too many tries"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: Body<Redeem>| redeem(request, shared, given, limits.clone()),
    );
    api.other(
        Method::POST,
        "/v1/session/refresh",
        Doc::new(
            "session",
            "refresh_session",
            "Spend the refresh token for the next, and get a new access token",
            "Send the refresh token, or as a browser its cookie. The token is spent by it; the next one is in the answer.",
        )
        .answer("Refreshed")
        .refuses("401", "The sign-in has ended")
        .refuses("403", "Not from the service's own pages")
        .refuses("429", "Refreshed too often"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: OptionalBody<Refresh>| refresh(request, shared, given, refreshed.clone()),
    );
    api.other(
        Method::DELETE,
        "/v1/session",
        Doc::new(
            "session",
            "sign_out",
            "Sign out: end this sign-in on every copy of its tokens",
            "Ends the sign-in of the access token, of the cookie, or of both. Without either it does nothing, and says so by the same answer.",
        )
        .answers_raw("204", "", "Signed out")
        .refuses("403", "Not from the service's own pages"),
        sign_out,
    );
    api.other(
        Method::GET,
        "/v1/session",
        Doc::new(
            "session",
            "who_am_i",
            "Who is signed in, and which commands the member may send",
            "The member with role and reach, the device, the agency, and the kinds of commands that are open to the role.",
        )
        .answer("The member, or the shared tablet"),
        who_am_i,
    );
}

/// Email and password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct SignIn {
    /// The email that the member signs in with; capitals and spaces around it make no difference.
    #[schema(value_type = String, max_length = 254)]
    email: Email,
    /// The member's password, 256 characters at most.
    #[schema(max_length = 256)]
    password: String,
    /// Set by the dashboard: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    browser: bool,
}

/// The second half of a sign-in.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct SecondHalfOfSignIn {
    /// What the first half was answered with.
    ticket: String,
    /// The six digits that the authenticator shows, or a recovery code.
    #[schema(max_length = 40)]
    code: String,
    /// Set by the dashboard: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    browser: bool,
}

/// A code, and the device that it enrols.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct Redeem {
    /// The code, as it was read.
    code: String,
    /// The device that the code enrols.
    device: NewDevice,
    /// Set by a browser: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    browser: bool,
}

/// The device that a code enrols.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct NewDevice {
    /// A UUID of version 7 that the device makes for itself and keeps.
    id: Uuid,
    /// Its name, for example `Bay 2`.
    name: String,
}

/// A refresh token; a browser leaves it out, its cookie has it.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct Refresh {
    /// The refresh token of the answer before; it is spent by this.
    refresh_token: Option<String>,
}

async fn sign_in(request: HttpRequest, shared: web::Data<Shared>, Body(given): Body<SignIn>, limits: web::Data<SignInLimits>) -> Result<Entry, Fault> {
    // Another page may not sign its visitor in, to have the work done under a name of its choice.
    if given.browser || request.headers().contains_key(header::ORIGIN) && !from_open_page(&request) {
        same_origin(&request, &shared)?;
    }
    let shared = shared.into_inner();
    let known = proven(&request, &shared, &limits, (&given.email, &given.password), sign_in_failed).await?;
    let asked = SignInRequest::of(&request, &shared, given.browser);
    enter(shared, known, asked).await
}

async fn check_code(request: HttpRequest, shared: web::Data<Shared>, Body(given): Body<SecondHalfOfSignIn>) -> Result<Json<Session>, Fault> {
    if given.browser {
        same_origin(&request, &shared)?;
    }
    let shared = shared.into_inner();
    let (asked, half) = (SignInRequest::of(&request, &shared, given.browser), half(&shared, &given.ticket).await?);
    right_code(&shared, (half.agency, half.member), &asked.from, given.code).await?;
    let whose = (half.agency, half.member, Some(half.password().clone()));
    told(begin(shared, whose, asked).await?)
}

async fn redeem(
    request: HttpRequest,
    shared: web::Data<Shared>,
    Body(given): Body<Redeem>,
    limits: web::Data<CodeLimits>,
) -> Result<Either<Json<Session>, HttpResponse>, Fault> {
    if given.browser {
        same_origin(&request, &shared)?;
    }
    limits.count(caller_of(&request, &shared))?;
    let shared = shared.into_inner();
    let code = given.code;
    let Enrolment { id, agency, member, station } = shared.slow(move |shared| shared.sessions.invited(&code)).await?;
    let maker: Member = shared.read(move |db| find(db, agency, member.0)).await?;
    // The service acts for the member who made the code, and in that name.
    let actor = Actor {
        member: Some(member),
        ..Actor::service(agency, &maker.name)
    };
    let body = json!({ "id": given.device.id, "name": given.device.name, "enrolment": id });
    let answer = shared.door.send_own(actor, "device.enrol", &id.to_string(), &body).await?;
    match answer.outcome {
        Outcome::Applied => {}
        Outcome::Repeated => return Err(Fault::new(error::CODE_UNKNOWN, "This code was used already; have a new one made").at("body.code")),
        Outcome::Conflict | Outcome::Refused => return answered(answer, true, None, Return::Representation).map(Either::Right),
    }
    let (member, device) = (station.is_none().then_some(member), given.device.id);
    let from = asked_from(&request, &shared);
    let tokens = shared
        .slow(move |shared| {
            shared.sessions.begin(NewSignIn {
                agency,
                member,
                device: Some(device),
                password: None,
                from: &from,
                before: None,
            })
        })
        .await?;
    told(signed_in(shared, tokens, given.browser).await?).map(Either::Left)
}

/// Notes once a day that a device is in use.
async fn seen(shared: &Arc<Shared>, agency: AgencyId, device: Uuid) -> Result<(), Fault> {
    let today = shared.clock.now().date_naive();
    let known: Device = shared.read(move |db| find(db, agency, device)).await?;
    if known.last_seen_at.is_none_or(|seen| seen.date_naive() < today) {
        let cause = format!("{device}/{today}");
        shared
            .door
            .send_own(Actor::service(agency, "sign-in"), "device.see", &cause, &json!({ "id": device }))
            .await?;
    }
    Ok(())
}

async fn refresh(
    request: HttpRequest,
    shared: web::Data<Shared>,
    OptionalBody(given): OptionalBody<Refresh>,
    limits: web::Data<SignInLimits>,
) -> Result<Json<Session>, Fault> {
    let given = given.unwrap_or(Refresh { refresh_token: None });
    let cookie = refresh_token(&request, &shared);
    let browser = given.refresh_token.is_none();
    if browser && cookie.is_some() {
        same_origin(&request, &shared)?;
    }
    let token = given
        .refresh_token
        .or(cookie)
        .ok_or_else(|| Fault::new(error::SESSION_ENDED, "No refresh token came along; sign in again"))?;
    let shared = shared.into_inner();
    let from = asked_from(&request, &shared);
    let tokens = shared.slow(move |shared| shared.sessions.refresh(&token, &from)).await?;
    if let (Some(member), None) = (tokens.member, tokens.device) {
        still_whole(&shared, tokens.agency, member, tokens.family).await?;
    }
    // The token is spent by now, so nothing that can wait may fail the answer.
    if let Some(device) = tokens.device
        && let Err(fault) = seen(&shared, tokens.agency, device).await
    {
        tracing::warn!(cause = ?fault.cause, %fault, "that a device is in use was not noted");
    }
    let network = caller_of(&request, &shared);
    let signed_in = signed_in(shared, tokens, browser).await?;
    if let Some(email) = signed_in.0.email() {
        limits.knows(email, network);
    }
    told(signed_in)
}

/// Ends the sign-in of an access token, and that of a refresh token, which is the same where a browser asks.
fn end_both(shared: &Shared, own: Option<(AgencyId, Option<MemberId>, Uuid)>, token: Option<String>, from: AskedFrom) -> Result<(), Fault> {
    let held = token.map(|token| shared.sessions.holder(&token)).transpose()?.flatten();
    for (agency, member, sign_in) in own.into_iter().chain(held) {
        if let (true, Some(member)) = (shared.sessions.end_sign_in(sign_in)?, member) {
            shared.sessions.note(NewEvent::own(agency, member, AccessEventKind::SignedOut, from.clone()))?;
        }
    }
    Ok(())
}

async fn sign_out(_: Anyone, request: HttpRequest, shared: web::Data<Shared>, caller: Result<Caller, Fault>) -> Result<HttpResponse, Fault> {
    let mut response = HttpResponse::NoContent();
    // Photos are kept by a browser under addresses that the next person may ask for.
    response.insert_header((header::CLEAR_SITE_DATA, "\"cache\""));
    let actor = caller.ok().map(|caller| caller.0);
    let own = actor.and_then(|actor| Some((actor.agency, actor.member, actor.sign_in?)));
    let token = refresh_token(&request, &shared);
    if token.is_some() {
        same_origin(&request, &shared)?;
    }
    let from = asked_from(&request, &shared);
    shared.clone().into_inner().slow(move |shared| end_both(shared, own, token, from)).await?;
    for cookie in spent_cookies(shared.plain_http) {
        response.cookie(cookie);
    }
    Ok(response.finish())
}

async fn who_am_i(shared: web::Data<Shared>, caller: Caller) -> Result<Json<WhoAmI>, Fault> {
    let shared = shared.into_inner();
    let actor = caller.0;
    let asking = Arc::clone(&actor);
    let found = shared.read(move |db| load(db, asking.agency, asking.member, asking.device)).await?;
    Json::of(&WhoAmI::new(&shared, Some(&actor), found))
}
