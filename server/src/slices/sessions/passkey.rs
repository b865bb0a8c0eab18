//! The addresses of a sign-in by a passkey: the second half after a password, or the whole where the authenticator has looked who it is.

use std::sync::Arc;

use actix_web::{
    HttpRequest,
    http::{Method, header},
    web,
};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    entry::{Session, SignInRequest, begin, ended, find, told},
    limits::SignInLimits,
    proof::half,
};
use crate::{
    platform::{
        auth::{PASSKEY_SECONDS, PasskeySignature, PasskeyTicket, PasskeyUse, passkey_owner, passkey_wrong, passkeys_of},
        error::{self, Fault},
        http::{Anyone, Api, Body, Doc, Json, Shared, caller_of, from_open_page, same_origin},
        ids::{AgencyId, MemberId},
    },
    slices::members::Member,
};

/// The addresses of a sign-in by a passkey.
pub fn routes(api: &mut Api, limits: &web::Data<SignInLimits>) {
    api.other(
        Method::POST,
        "/v1/session/passkey/start",
        Doc::new(
            "session",
            "start_passkey_sign_in",
            "Begin to sign in with a passkey",
            "What `navigator.credentials.get` is asked for (Web Authentication, level 3), and a ticket of five minutes for the answer. With the \
             ticket of a sign-in whose password was right it is the second half of that; without one it is the whole, for which the \
             authenticator has to verify its person.",
        )
        .answer("What is to be signed")
        .refuses("401", "The ticket is too old, or the password was changed meanwhile")
        .refuses("409", "The service was not told its public address, and offers no passkeys"),
        |_: Anyone, shared: web::Data<Shared>, given: Body<StartPasskeySignIn>| start(shared, given),
    );
    let limits = limits.clone();
    api.other(
        Method::POST,
        "/v1/session/passkey",
        Doc::new(
            "session",
            "sign_in_with_passkey",
            "Sign in with a passkey",
            "Takes what was signed, once, within five minutes. A wrong signature counts as a try to sign in. A counter that goes back is refused, \
             and told among the events of the member: somebody may have a copy of the passkey.",
        )
        .answer("Signed in")
        .refuses("401", "The ticket is too old or was used, or the member was let go")
        .refuses("403", "The passkey does not sign in, or not from the service's own pages")
        .refuses("409", "The service was not told its public address, and offers no passkeys")
        .refuses("429", "Too many tries"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: Body<SignedByPasskey>| check(request, shared, given, limits.clone()),
    );
}

/// For what a passkey is to sign.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct StartPasskeySignIn {
    /// The ticket of a sign-in that lacks its second half; null or left out: a whole sign-in.
    ticket: Option<String>,
}

/// What is to be signed. Bytes are base64url without padding.
#[derive(Serialize, ToSchema)]
struct PasskeyAsked {
    /// Stands for the question when the answer is sent.
    ticket: String,
    /// Seconds for which it does.
    expires_in: i64,
    /// The bytes to be signed: `challenge`, made for this question alone.
    challenge: String,
    /// The domain that passkeys of this service are bound to: `rpId`.
    rp_id: String,
    /// The origin at which passkeys serve.
    origin: String,
    /// The credentials of the member; empty for a whole sign-in, where the authenticator offers what it has.
    #[schema(max_items = 10)]
    credentials: Vec<String>,
    /// Whether the authenticator has to verify its person.
    verify: bool,
}

/// What an authenticator has signed. Bytes are base64url without padding.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct SignedByPasskey {
    /// What the question was answered with.
    ticket: String,
    /// `rawId` of the credential that signed.
    #[schema(max_length = 1364)]
    credential: String,
    /// `clientDataJSON` of the answer, as the browser gave it.
    #[schema(max_length = 6000)]
    client_data: String,
    /// `authenticatorData` of the answer, as the authenticator gave it.
    #[schema(max_length = 22000)]
    authenticator_data: String,
    /// `signature` of the answer, as the authenticator gave it.
    #[schema(max_length = 1400)]
    signature: String,
    /// `userHandle`, where the authenticator told one.
    #[schema(max_length = 88)]
    user_handle: Option<String>,
    /// Set by the dashboard: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    browser: bool,
}

/// Bytes as they travel.
pub fn from_base64(field: &str, text: &str) -> Result<Vec<u8>, Fault> {
    URL_SAFE_NO_PAD
        .decode(text)
        .map_err(|_| Fault::field(field, "Send bytes as base64url without padding"))
}

impl SignedByPasskey {
    fn read(&self) -> Result<PasskeySignature, Fault> {
        Ok(PasskeySignature {
            credential: from_base64("body.credential", &self.credential)?,
            client_data: from_base64("body.client_data", &self.client_data)?,
            authenticator_data: from_base64("body.authenticator_data", &self.authenticator_data)?,
            signature: from_base64("body.signature", &self.signature)?,
            user_handle: self.user_handle.as_deref().map(|handle| from_base64("body.user_handle", handle)).transpose()?,
        })
    }
}

async fn start(shared: web::Data<Shared>, Body(given): Body<StartPasskeySignIn>) -> Result<Json<PasskeyAsked>, Fault> {
    let shared = shared.into_inner();
    let party = shared.party()?.clone();
    let (purpose, credentials) = match given.ticket {
        Some(ticket) => {
            let half = half(&shared, &ticket).await?;
            let own = shared.read(move |db| passkeys_of(db, half.agency, half.member)).await?;
            (PasskeyUse::Half { ticket }, own)
        }
        None => (PasskeyUse::Whole, Vec::new()),
    };
    let verify = purpose == PasskeyUse::Whole;
    let (ticket, challenge) = shared.keys.ask_passkey(purpose)?;
    Json::of(&PasskeyAsked {
        ticket,
        expires_in: PASSKEY_SECONDS,
        challenge: URL_SAFE_NO_PAD.encode(challenge),
        rp_id: party.id,
        origin: party.origin,
        credentials: credentials.iter().map(|one| URL_SAFE_NO_PAD.encode(&one.credential)).collect(),
        verify,
    })
}

/// Whose passkey may answer a ticket: of the second half its member's alone.
async fn owner(shared: &Arc<Shared>, ticket: &PasskeyTicket, credential: Vec<u8>) -> Result<(AgencyId, MemberId), Fault> {
    let whose = match &ticket.purpose {
        PasskeyUse::Add { .. } | PasskeyUse::SetUp { .. } => return Err(passkey_wrong()),
        PasskeyUse::Half { ticket } => {
            let half = half(shared, ticket).await?;
            Some((half.agency, half.member))
        }
        PasskeyUse::Whole => None,
    };
    let found = shared.read(move |db| passkey_owner(db, &credential)).await?.ok_or_else(passkey_wrong)?;
    if whose.is_some_and(|whose| whose != found) {
        return Err(passkey_wrong());
    }
    Ok(found)
}

async fn check(
    request: HttpRequest,
    shared: web::Data<Shared>,
    Body(given): Body<SignedByPasskey>,
    limits: web::Data<SignInLimits>,
) -> Result<Json<Session>, Fault> {
    // As with a password: another page may not sign its visitor in.
    if given.browser || request.headers().contains_key(header::ORIGIN) && !from_open_page(&request) {
        same_origin(&request, &shared)?;
    }
    let (asked, network, shared) = (
        SignInRequest::of(&request, &shared, given.browser),
        caller_of(&request, &shared),
        shared.into_inner(),
    );
    let (party, ticket, signature) = (shared.party()?.clone(), shared.keys.passkey_ticket(&given.ticket)?, given.read()?);
    let (agency, id) = owner(&shared, &ticket, signature.credential.clone()).await?;
    let member: Member = shared.read(move |db| find(db, agency, id.0)).await?;
    if !member.active {
        return Err(ended());
    }
    let counted = limits.count(&member.email, network, shared.clock.now())?;
    let password = match &ticket.purpose {
        PasskeyUse::Half { ticket } => Some(half(&shared, ticket).await?.password().clone()),
        _ => None,
    };
    let noted = asked.from.clone();
    let checked = shared.slow(move |shared| shared.sessions.check_passkey(&party, &ticket, ((agency, id), &signature), noted));
    match checked.await {
        Ok(()) => limits.succeeded(&counted, shared.clock.now()),
        Err(fault) if fault.code == error::PASSKEY_WRONG => return Err(fault),
        Err(fault) => {
            limits.give_back(&counted, shared.clock.now());
            return Err(fault);
        }
    }
    told(begin(shared, (agency, id, password), asked).await?)
}
