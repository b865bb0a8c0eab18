//! The addresses of the own passkeys: each is added and removed with the password, as a second factor is set up.

use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::api::own;
use crate::{
    platform::{
        auth::{ALGORITHMS, PASSKEY_SECONDS, Passkey, PasskeyUse, factor_of, passkeys_of},
        door::name,
        error::Fault,
        http::{Api, Body, Caller, Doc, Json, Shared, asked_from},
    },
    slices::{
        agencies::Agency,
        members::Member,
        sessions::{SignInLimits, find, from_base64, is_asked, password_wrong, proven},
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
            "What `navigator.credentials.create` is asked for (Web Authentication, level 3), and a ticket of five minutes for the answer.",
        )
        .answer("What is to be made")
        .refuses("403", "The present password is another, or not from the service's own pages")
        .refuses("409", "There are ten already, or the service offers none")
        .refuses("429", "Too many tries"),
        move |caller: Caller, request: HttpRequest, shared: web::Data<Shared>, given: Body<StartPasskey>| start(caller, request, shared, given, adding.clone()),
    );
    api.other(
        Method::POST,
        "/v1/session/passkeys",
        Doc::new(
            "session",
            "add_passkey",
            "Add the passkey that was made",
            "Its attestation is not asked for, and nothing is concluded from one. From then on it counts as a second factor.",
        )
        .answer("The passkey")
        .refuses("401", "The ticket is too old, was used, or is of another sign-in")
        .refuses("403", "It is not what was asked for, or not from the service's own pages")
        .refuses("409", "There are ten already, it is known already, or the service offers none"),
        add,
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
    /// Its id.
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

/// The own passkeys.
#[derive(Serialize, ToSchema)]
struct OwnPasskeys {
    /// The origin at which they are made and serve; null: the service was not told its public address, and offers none.
    origin: Option<String>,
    /// The oldest first.
    #[schema(max_items = 10)]
    items: Vec<PasskeyShown>,
}

/// The present password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct StartPasskey {
    /// The present password.
    #[schema(max_length = 256)]
    password: String,
}

/// What is to be made. Bytes are base64url without padding.
#[derive(Serialize, ToSchema)]
struct PasskeyToMake {
    /// Stands for the question when the answer is sent.
    ticket: String,
    /// Seconds for which it does.
    expires_in: i64,
    /// The challenge.
    challenge: String,
    /// The relying party.
    rp_id: String,
    /// The origin at which it can be made.
    origin: String,
    /// The member, as the authenticator keeps it.
    user_id: String,
    /// The email that the member signs in with.
    user_name: String,
    /// The member's name.
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
    /// `clientDataJSON`.
    #[schema(max_length = 6000)]
    client_data: String,
    /// `attestationObject`.
    #[schema(max_length = 22000)]
    attestation: String,
}

/// Another name.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct NamePasskey {
    /// Of which passkey.
    id: Uuid,
    /// The name.
    #[schema(min_length = 1, max_length = 200)]
    name: String,
}

/// Which passkey goes.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct RemovePasskey {
    /// Which.
    id: Uuid,
    /// The present password.
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
    Caller(actor): Caller,
    request: HttpRequest,
    shared: web::Data<Shared>,
    Body(given): Body<StartPasskey>,
    limits: web::Data<SignInLimits>,
) -> Result<Json<PasskeyToMake>, Fault> {
    let ((id, sign_in), agency, shared) = (own(&actor)?, actor.agency, shared.into_inner());
    let party = shared.party()?.clone();
    let (member, own_agency): (Member, Agency) = shared.read(move |db| Ok((find(db, agency, id.0)?, find(db, agency, agency.0)?))).await?;
    proven(&request, &shared, &limits, (&member.email, &given.password), password_wrong).await?;
    let has = shared.slow(move |shared| shared.sessions.room_for_passkey(agency, id)).await?;
    let (ticket, challenge) = shared.keys.ask_passkey(PasskeyUse::Add { agency, member: id, sign_in })?;
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

async fn add(Caller(actor): Caller, request: HttpRequest, shared: web::Data<Shared>, Body(given): Body<NewPasskey>) -> Result<Json<PasskeyShown>, Fault> {
    let ((member, sign_in), agency, from) = (own(&actor)?, actor.agency, asked_from(&request, &shared));
    let shared = shared.into_inner();
    let (party, ticket) = (shared.party()?.clone(), shared.keys.passkey_ticket(&given.ticket)?);
    if ticket.purpose != (PasskeyUse::Add { agency, member, sign_in }) {
        return Err(Fault::new(
            crate::platform::error::SESSION_ENDED,
            "This was begun within another sign-in; begin again",
        ));
    }
    let called = name("body.name", &given.name)?;
    let client_data = from_base64("body.client_data", &given.client_data)?;
    let attestation = from_base64("body.attestation", &given.attestation)?;
    let added = shared.slow(move |shared| shared.sessions.add_passkey(&party, &ticket, (called, &client_data, &attestation), from));
    Json::of(&PasskeyShown::from(added.await?))
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
