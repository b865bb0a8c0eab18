use std::sync::Arc;

use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use serde::Deserialize;
use serde_json::json;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use super::{
    factor,
    ops::{ChangePassword, DropSecondFactor, SignMemberOut},
    passkeys,
    view::{self, AccessEvents, MemberAccess, OwnSignIns},
};
use crate::{
    platform::{
        auth::{self, Actor, NewPassword, Which},
        door::Outcome,
        error::{self, Fault},
        http::{Api, Body, Caller, Doc, Json, MayAdminister, Member as Allowed, PathId, Query, Shared, asked_from, refused},
        ids::MemberId,
    },
    slices::{
        agencies::Agency,
        members::Member,
        sessions::{SignInLimits, find, password_wrong, proven},
    },
};

/// The addresses of accounts.
pub fn routes(api: &mut Api, limits: &web::Data<SignInLimits>) {
    api.act::<SignMemberOut>(Method::POST, "/v1/members/{id}/sign-out");
    api.act::<DropSecondFactor>(Method::POST, "/v1/members/{id}/drop-second-factor");
    api.registry.add::<ChangePassword>();
    let counted = limits.clone();
    api.other(
        Method::POST,
        "/v1/session/password",
        Doc::new(
            "session",
            "change_password",
            "Change the own password, giving the present one",
            "All other sign-ins of the member end; this one stays. A wrong present password counts as a try to sign in.",
        )
        .answers_raw("204", "", "Changed")
        .refuses("403", "The present password is another, or not from the service's own pages")
        .refuses("409", "The password was changed meanwhile")
        .refuses("429", "Too many tries")
        .refuses("503", "Too many passwords are being checked"),
        move |caller: Caller, request: HttpRequest, shared: web::Data<Shared>, given: Body<NewOwnPassword>| {
            change_password(caller, request, shared, given, counted.clone())
        },
    );
    api.other(
        Method::GET,
        "/v1/session/sign-ins",
        Doc::new(
            "session",
            "list_own_sign_ins",
            "Where the member is signed in",
            "The sign-ins that have not ended, the one that was seen last first, 100 at most: device or browser, network, since when, last \
             seen. Last seen is when it was last refreshed, which happens every quarter of an hour while it is used.",
        )
        .answer("The sign-ins; a shared tablet has none of a member's"),
        list_sign_ins,
    );
    api.other(
        Method::POST,
        "/v1/session/end",
        Doc::new(
            "session",
            "end_own_sign_ins",
            "End one of the own sign-ins, or all but this one",
            "With `sign_in` that one, without it everywhere else. What is queued of an ended sign-in does not count any more.",
        )
        .answers_raw("204", "", "Ended")
        .refuses("403", "The password is asked for again, or not from the service's own pages")
        .refuses("404", "The member has no such sign-in"),
        end_sign_ins,
    );
    let counted = limits.clone();
    api.other(
        Method::POST,
        "/v1/session/proof",
        Doc::new(
            "session",
            "give_password_again",
            "Give the password again, for what opens or closes a way in",
            "Setting a PIN, a code for a device, a key for a program and ending sign-ins take a password that was given within the last ten \
             minutes, at the sign-in or here; else they answer `proof-needed`. A wrong password counts as a try to sign in.",
        )
        .answers_raw("204", "", "It is the password")
        .refuses("403", "The present password is another, or not from the service's own pages")
        .refuses("429", "Too many tries")
        .refuses("503", "Too many passwords are being checked"),
        move |caller: Caller, request: HttpRequest, shared: web::Data<Shared>, given: Body<PasswordAgain>| {
            prove(caller, request, shared, given, counted.clone())
        },
    );
    factor::routes(api, limits);
    passkeys::routes(api, limits);
    api.other(
        Method::GET,
        "/v1/members/{id}/access",
        Doc::new(
            "members",
            "show_member_access",
            "How a member signs in: password, second factor, passkeys, open link, sign-ins",
            "For an admin within reach. No secret is in it.",
        )
        .answer("How the member signs in")
        .refuses("403", "It takes an admin within reach"),
        show_access,
    );
    api.other(
        Method::GET,
        "/v1/access-events",
        Doc::new(
            "session",
            "list_access_events",
            "What happened to ways of signing in, newest first",
            "Sign-ins, wrong passwords and codes, ended sign-ins, links, second factors, passkeys, keys; for an admin, of the members within reach. Kept for \
             180 days, 20,000 at most. A try with an email that is nobody's belongs to no agency and is not in it. Go on with `next` as `after`.",
        )
        .answer("One page")
        .refuses("403", "It takes an admin"),
        list_events,
    );
}

/// A new password, and the present one.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct NewOwnPassword {
    /// The password that the member has now; a wrong one counts as a try to sign in.
    #[schema(max_length = 256)]
    present: String,
    /// The new one, as with `member.add`.
    #[schema(min_length = 10, max_length = 256)]
    password: String,
}

/// The present password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct PasswordAgain {
    /// The password that the member has now; a wrong one counts as a try to sign in.
    #[schema(max_length = 256)]
    password: String,
}

/// Which sign-ins are ended.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct EndSignIns {
    /// This one; null or left out: all but the one that asks.
    sign_in: Option<Uuid>,
}

/// The member that a sign-in is of, with the sign-in.
pub fn own(actor: &Actor) -> Result<(MemberId, Uuid), Fault> {
    let own = actor.member.zip(actor.sign_in);
    own.ok_or_else(|| Fault::new(error::NOT_ALLOWED, "This is a member's own; sign in yourself, on your phone or at a desk"))
}

async fn change_password(
    Caller(actor): Caller,
    request: HttpRequest,
    shared: web::Data<Shared>,
    Body(given): Body<NewOwnPassword>,
    limits: web::Data<SignInLimits>,
) -> Result<HttpResponse, Fault> {
    let ((id, kept), agency, shared) = (own(&actor)?, actor.agency, shared.into_inner());
    let (member, own_agency): (Member, Agency) = shared.read(move |db| Ok((find(db, agency, id.0)?, find(db, agency, agency.0)?))).await?;
    let known = proven(&request, &shared, &limits, (&member.email, &given.present), password_wrong).await?;
    let own = [&member.name, member.email.as_str(), &own_agency.name];
    let made = hashed(&shared, Some(id), given.password, own).await?;
    let body = json!({ "id": id, "kept": kept, "was": known.hash, "made": made.hash(), "from": asked_from(&request, &shared).network });
    let sender = Actor {
        member: Some(id),
        ..Actor::service(agency, &member.name)
    };
    let answer = shared
        .door
        .send_own(sender, "member.change_password", &Uuid::now_v7().to_string(), &body)
        .await?;
    match (answer.outcome, answer.problem) {
        (Outcome::Conflict | Outcome::Refused, Some(problem)) => Ok(refused(problem)),
        _ => Ok(HttpResponse::NoContent().finish()),
    }
}

async fn prove(
    Caller(actor): Caller,
    request: HttpRequest,
    shared: web::Data<Shared>,
    Body(given): Body<PasswordAgain>,
    limits: web::Data<SignInLimits>,
) -> Result<HttpResponse, Fault> {
    let ((id, sign_in), agency, shared) = (own(&actor)?, actor.agency, shared.into_inner());
    let member: Member = shared.read(move |db| find(db, agency, id.0)).await?;
    proven(&request, &shared, &limits, (&member.email, &given.password), password_wrong).await?;
    shared.slow(move |shared| shared.sessions.proved(agency, sign_in)).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Checks and hashes a new password, in its turn. `sender`: the member who is signed in and chose it. `own`: words that it is not made of.
pub async fn hashed(shared: &Arc<Shared>, sender: Option<MemberId>, password: String, own: [&str; 3]) -> Result<NewPassword, Fault> {
    let own = own.map(str::to_owned);
    let place = shared.door.hashing().place(sender.map(Uuid::from))?;
    let turn = place.turn().await?;
    shared
        .slow(move |_| {
            let _turn = turn;
            NewPassword::new(&password, &own.each_ref().map(String::as_str))
        })
        .await
}

async fn list_sign_ins(shared: web::Data<Shared>, Caller(actor): Caller) -> Result<Json<OwnSignIns>, Fault> {
    let shared = shared.into_inner();
    let now = shared.clock.now();
    Json::of(&shared.read(move |db| view::own_sign_ins(db, &actor, now)).await?)
}

async fn end_sign_ins(request: HttpRequest, shared: web::Data<Shared>, Caller(actor): Caller, Body(given): Body<EndSignIns>) -> Result<HttpResponse, Fault> {
    let ((member, kept), agency, from) = (own(&actor)?, actor.agency, asked_from(&request, &shared));
    let which = given.sign_in.map_or(Which::AllBut(kept), Which::One);
    let shared = shared.into_inner();
    let now = shared.clock.now();
    shared.read(move |db| auth::lately_proven(db, &actor, now)).await?;
    let any = shared.slow(move |shared| shared.sessions.end_own(agency, member, which, &from)).await?;
    if !any && given.sign_in.is_some() {
        return Err(Fault::new(error::NOT_FOUND, "You have no such sign-in, or it has ended already"));
    }
    Ok(HttpResponse::NoContent().finish())
}

async fn show_access(shared: web::Data<Shared>, Allowed { actor, .. }: Allowed<MayAdminister>, id: PathId<Member>) -> Result<Json<MemberAccess>, Fault> {
    let shared = shared.into_inner();
    let now = shared.clock.now();
    Json::of(&shared.read(move |db| view::access(db, &actor, id.id, now)).await?)
}

/// Which events.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
struct EventsQuery {
    /// Of this member alone.
    member: Option<MemberId>,
    /// The older ones that follow on this one: `next` of the page before.
    after: Option<Uuid>,
    /// How many: 1 to 200, else 100.
    #[param(minimum = 1, maximum = 200)]
    limit: Option<i64>,
}

async fn list_events(shared: web::Data<Shared>, Allowed { actor, .. }: Allowed<MayAdminister>, asked: Query<EventsQuery>) -> Result<Json<AccessEvents>, Fault> {
    let (member, after, limit) = (asked.member, asked.after, asked.limit.unwrap_or(100));
    if !(1..=200).contains(&limit) {
        return Err(Fault::new(error::QUERY_INVALID, "A page has 1 to 200 events").at("limit"));
    }
    Json::of(&shared.into_inner().read(move |db| view::events(db, &actor, member, after, limit)).await?)
}
