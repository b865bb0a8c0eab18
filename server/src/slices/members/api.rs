use std::num::NonZeroU32;

use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{AddMember, Member, ops::EditMember};
use crate::{
    platform::{
        auth::{ACCESS_SECONDS, SessionTokens},
        db::Db,
        error::{self, Fault},
        http::{Access, Api, Caller, Doc, REFRESH_COOKIE, RawBody, Shared, body, same_origin, session_cookies, spent_cookies},
        ids::{AgencyId, MemberId},
        record,
        record::Record as _,
    },
    slices::agencies::Agency,
};

/// The members' addresses, sign-in among them.
pub fn routes(api: &mut Api) {
    api.list::<Member>("/v1/members");
    api.find::<Member>("/v1/members/{id}");
    api.history::<Member>("/v1/members/{id}/history");
    api.act::<AddMember>(Method::POST, "/v1/members");
    api.act::<EditMember>(Method::PATCH, "/v1/members/{id}");
    let limits = web::Data::new(SignInLimits::default());
    api.other(
        Method::POST,
        "/v1/session",
        Doc::new("session", "sign_in", "Sign in", Access::Anyone)
            .takes::<SignIn>()
            .answers::<Session>("200", "Signed in")
            .refuses("400", "The body cannot be read")
            .refuses("401", "Email and password do not match")
            .refuses("413", "The body is too large")
            .refuses("422", "A field cannot be used")
            .refuses("429", "Too many tries"),
        move |request: HttpRequest, shared: web::Data<Shared>, bytes: RawBody| sign_in(request, shared, bytes, limits.clone()),
    );
    api.other(
        Method::POST,
        "/v1/session/refresh",
        Doc::new(
            "session",
            "refresh_session",
            "Spend the refresh token for the next, and get a new access token",
            Access::Anyone,
        )
        .takes::<Refresh>()
        .answers::<Session>("200", "Refreshed")
        .refuses("400", "The body cannot be read")
        .refuses("401", "The sign-in has ended")
        .refuses("403", "Not from the service's own pages")
        .refuses("413", "The body is too large")
        .refuses("422", "A field cannot be used"),
        refresh,
    );
    api.other(
        Method::DELETE,
        "/v1/session",
        Doc::new("session", "sign_out", "Sign out: end this sign-in on every copy of its tokens", Access::Anyone)
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
            Access::Member,
        )
        .answers::<WhoAmI>("200", "The member"),
        who_am_i,
    );
}

/// Email and password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignIn {
    /// The member's email.
    pub email: String,
    /// The member's password.
    pub password: String,
    /// Set by the dashboard: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    pub browser: bool,
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
    /// Who signed in.
    member: Member,
    /// Where.
    agency: Agency,
    /// The command kinds that the member may send.
    may: Vec<&'static str>,
}

/// Who is signed in.
#[derive(Debug, Serialize, ToSchema)]
struct WhoAmI {
    /// The member.
    member: Member,
    /// Its agency.
    agency: Agency,
    /// The command kinds that the member may send.
    may: Vec<&'static str>,
}

/// At most five tries for one email from one address at once, then one every six seconds.
struct SignInLimits(DefaultKeyedRateLimiter<(String, String)>);

impl Default for SignInLimits {
    fn default() -> Self {
        Self(RateLimiter::keyed(
            Quota::per_minute(NonZeroU32::MIN.saturating_add(9)).allow_burst(NonZeroU32::MIN.saturating_add(4)),
        ))
    }
}

fn load(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<(Member, Agency), Fault> {
    let ended = || Fault::new(error::SESSION_ENDED, "This member does not sign in here any more; ask an admin");
    let found = record::find(db, agency, Member::KIND, member.0)?.ok_or_else(ended)?;
    let member: Member = found.read()?;
    if !member.active || found.gone {
        return Err(ended());
    }
    let agency: Agency = record::find(db, agency, Agency::KIND, agency.0)?.ok_or_else(ended)?.read()?;
    Ok((member, agency))
}

async fn answered(shared: web::Data<Shared>, tokens: SessionTokens, browser: bool) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    let (agency_id, member_id) = (tokens.agency, tokens.member);
    let (member, agency) = shared.read(move |db| load(db, agency_id, member_id)).await?;
    let access = shared.keys.sign(&member.actor(agency_id), member_id, tokens.family)?;
    let may = shared.door.registry().open_to(member.role);
    let mut response = HttpResponse::Ok();
    let mut session = Session {
        access_token: None,
        refresh_token: None,
        expires_in: ACCESS_SECONDS,
        member,
        agency,
        may,
    };
    if browser {
        for cookie in session_cookies(access, &tokens, shared.plain_http) {
            response.cookie(cookie);
        }
    } else {
        session.access_token = Some(access);
        session.refresh_token = Some(tokens.refresh);
    }
    Ok(response.insert_header(("Cache-Control", "no-store")).json(session))
}

async fn sign_in(request: HttpRequest, shared: web::Data<Shared>, RawBody(bytes): RawBody, limits: web::Data<SignInLimits>) -> Result<HttpResponse, Fault> {
    let given: SignIn = body::parse(&bytes, "body")?;
    let from = request.peer_addr().map(|peer| peer.ip().to_string()).unwrap_or_default();
    if limits.0.check_key(&(given.email.to_lowercase(), from)).is_err() {
        return Err(Fault::new(
            error::SLOW_DOWN,
            "Too many tries to sign in with this email; wait a few seconds before the next",
        ));
    }
    if limits.0.len() > 100_000 {
        limits.0.retain_recent();
    }
    let tokens = shared
        .clone()
        .into_inner()
        .slow(move |shared| shared.sessions.start(&given.email, &given.password).map(|tokens| (tokens, given.browser)))
        .await?;
    answered(shared, tokens.0, tokens.1).await
}

async fn refresh(request: HttpRequest, shared: web::Data<Shared>, RawBody(bytes): RawBody) -> Result<HttpResponse, Fault> {
    let given: Refresh = if bytes.is_empty() {
        Refresh { refresh_token: None }
    } else {
        body::parse(&bytes, "body")?
    };
    let cookie = request.cookie(REFRESH_COOKIE).map(|cookie| cookie.value().to_owned());
    let browser = given.refresh_token.is_none();
    if browser && cookie.is_some() {
        same_origin(&request, &shared)?;
    }
    let token = given
        .refresh_token
        .or(cookie)
        .ok_or_else(|| Fault::new(error::SESSION_ENDED, "No refresh token came along; sign in again"))?;
    let tokens = shared.clone().into_inner().slow(move |shared| shared.sessions.refresh(&token)).await?;
    answered(shared, tokens, browser).await
}

async fn sign_out(request: HttpRequest, shared: web::Data<Shared>, caller: Result<Caller, Fault>) -> Result<HttpResponse, Fault> {
    let mut response = HttpResponse::NoContent();
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

async fn who_am_i(shared: web::Data<Shared>, caller: Caller) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    let actor = caller.0;
    let id = actor.member.ok_or_else(|| Fault::new(error::SIGN_IN_NEEDED, "Sign in as a member"))?;
    let agency = actor.agency;
    let (member, agency) = shared.read(move |db| load(db, agency, id)).await?;
    let may = shared.door.registry().open_to(member.role);
    Ok(HttpResponse::Ok()
        .insert_header(("Cache-Control", "no-store"))
        .json(WhoAmI { member, agency, may }))
}
