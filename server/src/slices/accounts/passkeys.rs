//! The addresses of the own passkeys: each is added and removed with the password, as a second factor is set up.

use std::sync::Arc;

use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{api::own, factor::by_ticket};
use crate::{
    platform::{
        auth::{ALGORITHMS, HalfSignIn, PASSKEY_SECONDS, Passkey, PasskeyTicket, PasskeyUse, factor_of, passkeys_of},
        door::name,
        error::{self, Fault},
        http::{Anyone, Api, Body, Caller, Doc, Json, Shared, asked_from},
        ids::{AgencyId, MemberId},
    },
    slices::{
        agencies::Agency,
        members::Member,
        sessions::{Session, SignInLimits, SignInRequest, begin, find, from_base64, is_asked, password_wrong, proven},
    },
};

/// The addresses of the own passkeys.
pub fn routes(api: &mut Api, limits: &web::Data<SignInLimits>) {
    api.other(
        Method::GET,
        "/v1/session/passkeys",
        Doc::new(
            "session",
            "list_own_passkeys",
            "The member's passkeys, and under which address they serve",
            "Ten at most, the oldest first. Where the service was not told its public address, it offers none.",
        )
        .answer("The passkeys; a shared tablet has none"),
        list,
    );
    let (adding, removing) = (limits.clone(), limits.clone());
    api.other(
        Method::POST,
        "/v1/session/passkeys/start",
        Doc::new(
            "session",
            "start_passkey",
            "Begin another passkey, giving the present password",
            "Takes the present password, or the ticket of a sign-in that lacks a second factor. What `navigator.credentials.create` is asked for \
             (Web Authentication, level 3), and a ticket of five minutes for the answer.",
        )
        .answer("What is to be made")
        .refuses("401", "Sign in first, or the ticket is too old")
        .refuses("403", "The present password is another, or not from the service's own pages")
        .refuses("409", "There are ten already, or the service offers none")
        .refuses("429", "Too many tries"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, caller: Result<Caller, Fault>, given: Body<StartPasskey>| {
            start(request, shared, caller, given, adding.clone())
        },
    );
    api.other(
        Method::POST,
        "/v1/session/passkeys",
        Doc::new(
            "session",
            "add_passkey",
            "Add the passkey that was made",
            "Its attestation is not asked for, and nothing is concluded from one. From then on it counts as a second factor. Where the member has no \
             recovery codes left, ten come with it, which are shown this once. Begun with the ticket of a sign-in it also signs in.",
        )
        .answer("The passkey")
        .refuses("401", "The ticket is too old, was used, or is of another sign-in")
        .refuses("403", "It is not what was asked for, or not from the service's own pages")
        .refuses("409", "There are ten already, it is known already, or the service offers none"),
        |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, caller: Result<Caller, Fault>, given: Body<NewPasskey>| {
            add(request, shared, caller, given)
        },
    );
    api.other(
        Method::POST,
        "/v1/session/passkeys/name",
        Doc::new("session", "name_passkey", "Name one of the own passkeys anew", "1 to 200 characters.")
            .answers_raw("204", "", "Named")
            .refuses("404", "The member has no such passkey"),
        rename,
    );
    api.other(
        Method::POST,
        "/v1/session/passkeys/remove",
        Doc::new(
            "session",
            "remove_passkey",
            "Remove one of the own passkeys, giving the present password",
            "The last one stays where the agency asks for a second factor in the member's role and there is no other.",
        )
        .answers_raw("204", "", "Removed")
        .refuses("403", "The present password is another, or not from the service's own pages")
        .refuses("404", "The member has no such passkey")
        .refuses("409", "The agency asks for it")
        .refuses("429", "Too many tries"),
        move |caller: Caller, request: HttpRequest, shared: web::Data<Shared>, given: Body<RemovePasskey>| {
            remove(caller, request, shared, given, removing.clone())
        },
    );
}

/// A passkey.
#[derive(Serialize, ToSchema)]
struct PasskeyShown {
    /// What the passkey is renamed and removed by; it is not its credential.
    id: Uuid,
    /// The member's name of it.
    name: String,
    /// When it was added.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    made_at: DateTime<Utc>,
    /// When it last signed in; null: never.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    used_at: Option<DateTime<Utc>>,
}

impl From<Passkey> for PasskeyShown {
    fn from(passkey: Passkey) -> Self {
        Self {
            id: passkey.id,
            name: passkey.name,
            made_at: passkey.made_at,
            used_at: passkey.used_at,
        }
    }
}

/// A passkey that was added.
#[derive(Serialize, ToSchema)]
struct PasskeyAdded {
    #[serde(flatten)]
    passkey: PasskeyShown,
    /// Recovery codes, each of six groups of four signs; none where the member has some.
    #[schema(max_items = 10)]
    recovery_codes: Vec<String>,
    /// Where it was begun with the ticket of a sign-in: the sign-in.
    session: Option<Session>,
}

/// The own passkeys.
#[derive(Serialize, ToSchema)]
struct OwnPasskeys {
    /// The origin at which they are made and serve; null: the service was not told its public address, and offers none.
    origin: Option<String>,
    /// The member's passkeys, the oldest first; 10 at most.
    #[schema(max_items = 10)]
    items: Vec<PasskeyShown>,
}

/// Who adds one.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct StartPasskey {
    /// The present password of the member who is signed in.
    #[schema(max_length = 256)]
    password: Option<String>,
    /// The ticket of a sign-in that lacks a second factor.
    ticket: Option<String>,
}

/// What is to be made. Bytes are base64url without padding.
#[derive(Serialize, ToSchema)]
struct PasskeyToMake {
    /// Stands for the question when the answer is sent.
    ticket: String,
    /// Seconds for which it does.
    expires_in: i64,
    /// The bytes that are asked for as `challenge`, made for this question alone.
    challenge: String,
    /// The domain that passkeys of this service are bound to: `rp.id`.
    rp_id: String,
    /// The origin at which it can be made.
    origin: String,
    /// The member, as the authenticator keeps it.
    user_id: String,
    /// The email that the member signs in with.
    user_name: String,
    /// The member's name and the agency's, as the authenticator shows them.
    display_name: String,
    /// The algorithms that are taken, by IANA's numbers of COSE, the one to be preferred first.
    #[schema(max_items = 3)]
    algorithms: [i64; 3],
    /// The credentials that the member has: an authenticator makes no second one.
    #[schema(max_items = 10)]
    exclude: Vec<String>,
}

/// A passkey that was made. Bytes are base64url without padding.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct NewPasskey {
    /// What the question was answered with.
    ticket: String,
    /// The member's name of it.
    #[schema(min_length = 1, max_length = 200)]
    name: String,
    /// `clientDataJSON` of the answer, as the browser gave it.
    #[schema(max_length = 6000)]
    client_data: String,
    /// `attestationObject` of the answer, as the authenticator gave it.
    #[schema(max_length = 22000)]
    attestation: String,
    /// Where it was begun with the ticket of a sign-in, set by the dashboard: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    browser: bool,
}

/// Another name.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct NamePasskey {
    /// The passkey to rename: one of the member's own.
    id: Uuid,
    /// What the member calls it from now on: 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    name: String,
}

/// Which passkey goes.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct RemovePasskey {
    /// The passkey to remove: one of the member's own.
    id: Uuid,
    /// The password that the member has now; a wrong one counts as a try to sign in.
    #[schema(max_length = 256)]
    password: String,
}

async fn list(shared: web::Data<Shared>, Caller(actor): Caller) -> Result<Json<OwnPasskeys>, Fault> {
    let shared = shared.into_inner();
    let items = match actor.member {
        Some(member) => shared.read(move |db| passkeys_of(db, actor.agency, member)).await?,
        None => Vec::new(),
    };
    Json::of(&OwnPasskeys {
        origin: shared.party.as_ref().map(|party| party.origin.clone()),
        items: items.into_iter().map(PasskeyShown::from).collect(),
    })
}

async fn start(
    request: HttpRequest,
    shared: web::Data<Shared>,
    caller: Result<Caller, Fault>,
    Body(given): Body<StartPasskey>,
    limits: web::Data<SignInLimits>,
) -> Result<Json<PasskeyToMake>, Fault> {
    let shared = shared.into_inner();
    let party = shared.party()?.clone();
    let (agency, id, purpose) = match given.ticket {
        Some(ticket) => {
            let half = by_ticket(&request, &shared, &ticket, false).await?;
            (half.agency, half.member, PasskeyUse::SetUp { ticket })
        }
        None => {
            let actor = caller?.0;
            let ((member, sign_in), agency) = (own(&actor)?, actor.agency);
            (agency, member, PasskeyUse::Add { agency, member, sign_in })
        }
    };
    let (member, own_agency): (Member, Agency) = shared.read(move |db| Ok((find(db, agency, id.0)?, find(db, agency, agency.0)?))).await?;
    if matches!(purpose, PasskeyUse::Add { .. }) {
        let password = given.password.unwrap_or_default();
        proven(&request, &shared, &limits, (&member.email, &password), password_wrong).await?;
    }
    let has = shared.slow(move |shared| shared.sessions.room_for_passkey(agency, id)).await?;
    let (ticket, challenge) = shared.keys.ask_passkey(purpose)?;
    Json::of(&PasskeyToMake {
        ticket,
        expires_in: PASSKEY_SECONDS,
        challenge: URL_SAFE_NO_PAD.encode(challenge),
        rp_id: party.id,
        origin: party.origin,
        user_id: URL_SAFE_NO_PAD.encode(id.0.as_bytes()),
        user_name: member.email.as_str().to_owned(),
        display_name: format!("{}, {}", member.name, own_agency.name),
        algorithms: ALGORITHMS,
        exclude: has.iter().map(|one| URL_SAFE_NO_PAD.encode(&one.credential)).collect(),
    })
}

/// Whose the passkey is that was begun with a ticket; with the first half of a sign-in where it was begun with one.
async fn begun(
    request: &HttpRequest,
    shared: &Arc<Shared>,
    caller: Result<Caller, Fault>,
    (ticket, browser): (&PasskeyTicket, bool),
) -> Result<(AgencyId, MemberId, Option<HalfSignIn>), Fault> {
    if let PasskeyUse::SetUp { ticket } = &ticket.purpose {
        let half = by_ticket(request, shared, ticket, browser).await?;
        return Ok((half.agency, half.member, Some(half)));
    }
    let actor = caller?.0;
    let ((member, sign_in), agency) = (own(&actor)?, actor.agency);
    if ticket.purpose != (PasskeyUse::Add { agency, member, sign_in }) {
        return Err(Fault::new(error::SESSION_ENDED, "This was begun within another sign-in; begin again"));
    }
    Ok((agency, member, None))
}

async fn add(
    request: HttpRequest,
    shared: web::Data<Shared>,
    caller: Result<Caller, Fault>,
    Body(given): Body<NewPasskey>,
) -> Result<Json<PasskeyAdded>, Fault> {
    let asked = SignInRequest::of(&request, &shared, given.browser);
    let shared = shared.into_inner();
    let (party, ticket) = (shared.party()?.clone(), shared.keys.passkey_ticket(&given.ticket)?);
    let (agency, member, half) = begun(&request, &shared, caller, (&ticket, given.browser)).await?;
    let called = name("body.name", &given.name)?;
    let client_data = from_base64("body.client_data", &given.client_data)?;
    let attestation = from_base64("body.attestation", &given.attestation)?;
    let from = asked.from.clone();
    let added = shared.slow(move |shared| {
        let of = (&ticket, agency, member);
        shared.sessions.add_passkey(&party, of, (called, &client_data, &attestation), from)
    });
    let (passkey, recovery_codes) = added.await?;
    let (session, cookies) = match half {
        Some(half) => {
            let (session, cookies) = begin(shared, (agency, member, Some(half.password().clone())), asked).await?;
            (Some(session), cookies)
        }
        None => (None, Vec::new()),
    };
    let answer = PasskeyAdded {
        passkey: passkey.into(),
        recovery_codes,
        session,
    };
    Ok(Json::of(&answer)?.with_cookies(cookies))
}

async fn rename(shared: web::Data<Shared>, Caller(actor): Caller, Body(given): Body<NamePasskey>) -> Result<HttpResponse, Fault> {
    let ((member, _), agency, called) = (own(&actor)?, actor.agency, name("body.name", &given.name)?);
    let shared = shared.into_inner();
    shared
        .slow(move |shared| shared.sessions.name_passkey(agency, member, given.id, &called))
        .await?;
    Ok(HttpResponse::NoContent().finish())
}

async fn remove(
    Caller(actor): Caller,
    request: HttpRequest,
    shared: web::Data<Shared>,
    Body(given): Body<RemovePasskey>,
    limits: web::Data<SignInLimits>,
) -> Result<HttpResponse, Fault> {
    let ((id, _), agency, from) = (own(&actor)?, actor.agency, asked_from(&request, &shared));
    let shared = shared.into_inner();
    let (member, last) = shared
        .read(move |db| {
            let member: Member = find(db, agency, id.0)?;
            let last = !is_asked(db, agency, &member)? || factor_of(db, agency, id)?.is_some();
            Ok((member, last))
        })
        .await?;
    proven(&request, &shared, &limits, (&member.email, &given.password), password_wrong).await?;
    shared
        .slow(move |shared| shared.sessions.remove_passkey(agency, id, (given.id, last), from))
        .await?;
    Ok(HttpResponse::NoContent().finish())
}
