use std::sync::Arc;

use actix_web::{
    Either, HttpRequest, HttpResponse,
    http::{Method, header},
    web,
};
use serde::{Deserialize, Serialize};
use serde_json::json;
use utoipa::ToSchema;
use uuid::Uuid;

use super::limits::{CodeLimits, SignInLimits};
use crate::{
    platform::{
        auth::{self, ACCESS_SECONDS, Actor, Email, Enrolment, MOST_PASSWORD, Role, SessionTokens, refusal},
        db::Db,
        door::{CommandKind, Outcome},
        error::{self, Fault},
        http::{
            Anyone, Api, Body, Caller, Doc, Json, OptionalBody, REFRESH_COOKIE, Shared, answered, caller_of, from_open_page, prefer::Return, same_origin,
            session_cookies, spent_cookies,
        },
        ids::{AgencyId, MemberId},
        record::{self, Record},
    },
    slices::{
        agencies::Agency,
        devices::{Device, DeviceState},
        members::Member,
    },
};

/// The addresses of sign-in.
pub fn routes(api: &mut Api) {
    let limits = web::Data::new(SignInLimits::default());
    let refreshed = limits.clone();
    api.other(
        Method::POST,
        "/v1/session",
        Doc::new(
            "session",
            "sign_in",
            "Sign in",
            "Opens a sign-in: an access token for a quarter of an hour and a refresh token for 30 days. Five wrong passwords for one \
             email from one network are taken at once, then the wait grows, to a quarter of an hour at most; `Retry-After` says it.",
        )
        .answer("Signed in")
        .refuses("401", "Email and password do not match")
        .refuses("403", "Not from the service's own pages")
        .refuses("429", "Too many tries")
        .refuses("503", "Too many passwords are being checked"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: Body<SignIn>| sign_in(request, shared, given, limits.clone()),
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
        .refuses("403", "Not from the service's own pages"),
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
    /// The member's email.
    #[schema(value_type = String, max_length = 254)]
    email: Email,
    /// The member's password.
    #[schema(max_length = 256)]
    password: String,
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
    /// The device.
    device: NewDevice,
    /// Set by a browser: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    browser: bool,
}

/// The device that a code enrols.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct NewDevice {
    /// Its id, made by the device.
    id: Uuid,
    /// Its name, for example `Bay 2`.
    name: String,
}

/// A refresh token; a browser leaves it out, its cookie has it.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct Refresh {
    refresh_token: Option<String>,
}

/// A sign-in.
#[derive(Debug, Serialize, ToSchema)]
struct Session {
    /// Bearer token for the API; not for browsers.
    #[serde(skip_serializing_if = "Option::is_none")]
    access_token: Option<String>,
    /// Spend it once for the next pair; not for browsers.
    #[serde(skip_serializing_if = "Option::is_none")]
    refresh_token: Option<String>,
    /// Seconds that the access token serves.
    expires_in: i64,
    #[serde(flatten)]
    who: WhoAmI,
}

/// Who is signed in.
#[derive(Debug, Serialize, ToSchema)]
struct WhoAmI {
    /// The member; null for a shared tablet.
    member: Option<Member>,
    /// The device, where one was enrolled.
    device: Option<Device>,
    /// The agency.
    agency: Agency,
    /// The command kinds that the member may send: by the role, without what decides for the whole agency where the member acts in
    /// a part of it. For a shared tablet: what every member may send on it when signed; what else a
    /// signer's own role opens is taken as well.
    #[schema(value_type = Vec<CommandKind>)]
    may: Vec<&'static str>,
}

fn ended() -> Fault {
    Fault::new(error::SESSION_ENDED, "This member does not sign in here any more; ask an admin")
}

fn find<R: Record>(db: &mut Db, agency: AgencyId, id: Uuid) -> Result<R, Fault> {
    let row = record::find(db, agency, R::KIND, id)?.filter(|row| !row.gone);
    row.ok_or_else(ended)?.read()
}

/// Who a sign-in stands for, as records.
fn load(db: &mut Db, agency: AgencyId, member: Option<MemberId>, device: Option<Uuid>) -> Result<(Option<Member>, Option<Device>, Agency), Fault> {
    let member: Option<Member> = member.map(|member| find(db, agency, member.0)).transpose()?;
    if member.as_ref().is_some_and(|member| !member.active) {
        return Err(ended());
    }
    let device: Option<Device> = device.map(|device| find(db, agency, device)).transpose()?;
    if device.as_ref().is_some_and(|device| device.state == DeviceState::Revoked) {
        return Err(refusal(true));
    }
    Ok((member, device, find(db, agency, agency.0)?))
}

impl WhoAmI {
    fn new(shared: &Shared, (member, device, agency): (Option<Member>, Option<Device>, Agency)) -> Self {
        let role = member.as_ref().map_or(Role::Crew, |member| member.role);
        let bounded = member.as_ref().is_some_and(|member| member.actor(agency.id).is_bounded());
        Self {
            may: shared.door.registry().open_to(role, bounded),
            member,
            device,
            agency,
        }
    }
}

/// The answer to a sign-in, and the email of the member where it is one's.
async fn signed_in(shared: Arc<Shared>, tokens: SessionTokens, browser: bool) -> Result<(Json<Session>, Option<Email>), Fault> {
    let (agency, member, device) = (tokens.agency, tokens.member, tokens.device);
    let found = shared.read(move |db| load(db, agency, member, device)).await?;
    let actor = match (&found.0, &found.1) {
        (Some(member), _) => Actor {
            device,
            ..member.actor(agency)
        },
        (None, Some(tablet)) => tablet.actor(agency),
        (None, None) => return Err(anyhow::anyhow!("a sign-in of nobody").into()),
    };
    let access = shared.keys.sign(&actor, tokens.family)?;
    let email = found.0.as_ref().map(|member| member.email.clone());
    let mut session = Session {
        access_token: None,
        refresh_token: None,
        expires_in: ACCESS_SECONDS,
        who: WhoAmI::new(&shared, found),
    };
    if browser {
        let cookies = session_cookies(access, &tokens, shared.plain_http);
        return Ok((Json::of(&session)?.with_cookies(cookies), email));
    }
    session.access_token = Some(access);
    session.refresh_token = Some(tokens.refresh);
    Ok((Json::of(&session)?, email))
}

async fn sign_in(request: HttpRequest, shared: web::Data<Shared>, Body(given): Body<SignIn>, limits: web::Data<SignInLimits>) -> Result<Json<Session>, Fault> {
    // Another page may not sign its visitor in, to have the work done under a name of its choice.
    if given.browser || request.headers().contains_key(header::ORIGIN) && !from_open_page(&request) {
        same_origin(&request, &shared)?;
    }
    let shared = shared.into_inner();
    let counted = limits.count(&given.email, caller_of(&request, &shared), shared.clock.now())?;
    let answer = check(&shared, &given).await;
    match &answer {
        Ok(_) => limits.succeeded(&counted, shared.clock.now()),
        Err(fault) if fault.code != error::SIGN_IN_FAILED => limits.give_back(&counted, shared.clock.now()),
        Err(_) => {}
    }
    Ok(signed_in(shared, answer?, given.browser).await?.0)
}

/// Finds whose email and password these are, in its turn and holding no connection while it hashes, and begins the sign-in.
async fn check(shared: &Arc<Shared>, given: &SignIn) -> Result<SessionTokens, Fault> {
    let wrong = || {
        let words = "Email and password do not match; check both, or ask an admin for a new password";
        Fault::new(error::SIGN_IN_FAILED, words)
    };
    // No password is longer, so it is nobody's.
    if given.password.chars().nth(MOST_PASSWORD).is_some() {
        return Err(wrong());
    }
    let place = shared.door.hashing().place()?;
    let email = given.email.clone();
    let found = shared.read(move |db| auth::credential_of(db, &email)).await?;
    let turn = place.turn().await?;
    let (password, credential) = (given.password.clone(), found.clone());
    let matches = shared
        .slow(move |shared| {
            let _turn = turn;
            Ok(shared.sessions.matches(&password, credential.as_ref()))
        })
        .await?;
    drop(place);
    let known = found.filter(|_| matches).ok_or_else(wrong)?;
    shared.slow(move |shared| shared.sessions.begin(known.agency, Some(known.member), None)).await
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
    let tokens = shared.slow(move |shared| shared.sessions.begin(agency, member, Some(device))).await?;
    Ok(Either::Left(signed_in(shared, tokens, given.browser).await?.0))
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
    let cookie = request.cookie(REFRESH_COOKIE).map(|cookie| cookie.value().to_owned());
    let browser = given.refresh_token.is_none();
    if browser && cookie.is_some() {
        same_origin(&request, &shared)?;
    }
    let token = given
        .refresh_token
        .or(cookie)
        .ok_or_else(|| Fault::new(error::SESSION_ENDED, "No refresh token came along; sign in again"))?;
    let shared = shared.into_inner();
    let tokens = shared.slow(move |shared| shared.sessions.refresh(&token)).await?;
    // The token is spent by now, so nothing that can wait may fail the answer.
    if let Some(device) = tokens.device
        && let Err(fault) = seen(&shared, tokens.agency, device).await
    {
        tracing::warn!(cause = ?fault.cause, %fault, "that a device is in use was not noted");
    }
    let from = caller_of(&request, &shared);
    let (session, email) = signed_in(shared, tokens, browser).await?;
    if let Some(email) = email {
        limits.knows(&email, from);
    }
    Ok(session)
}

async fn sign_out(_: Anyone, request: HttpRequest, shared: web::Data<Shared>, caller: Result<Caller, Fault>) -> Result<HttpResponse, Fault> {
    let mut response = HttpResponse::NoContent();
    // Photos are kept by a browser under addresses that the next person may ask for.
    response.insert_header((header::CLEAR_SITE_DATA, "\"cache\""));
    if let Some(family) = caller.ok().and_then(|caller| caller.0.sign_in) {
        shared.clone().into_inner().slow(move |shared| shared.sessions.end_sign_in(family)).await?;
    }
    if let Some(cookie) = request.cookie(REFRESH_COOKIE) {
        same_origin(&request, &shared)?;
        let token = cookie.value().to_owned();
        shared.clone().into_inner().slow(move |shared| shared.sessions.end(&token)).await?;
    }
    for cookie in spent_cookies() {
        response.cookie(cookie);
    }
    Ok(response.finish())
}

async fn who_am_i(shared: web::Data<Shared>, caller: Caller) -> Result<Json<WhoAmI>, Fault> {
    let shared = shared.into_inner();
    let actor = caller.0;
    let found = shared.read(move |db| load(db, actor.agency, actor.member, actor.device)).await?;
    Json::of(&WhoAmI::new(&shared, found))
}
