use std::sync::Arc;

use actix_web::{Either, HttpRequest, HttpResponse, http::Method, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::json;
use utoipa::ToSchema;
use uuid::Uuid;

use super::ops::{InviteMember, LinkMember, UseLink, may_make};
use crate::{
    platform::{
        auth::{self, AccessLink, Actor, SecretHash},
        door::Outcome,
        error::Fault,
        http::{Anyone, Api, Body, Doc, Json, Shared, caller_of, refused, same_origin},
        record::{self, Record as _},
    },
    slices::{
        accounts::hashed,
        agencies::Agency,
        members::Member,
        sessions::{CodeLimits, Entry, SignInRequest, enter, find},
    },
};

/// The addresses of invitations and links.
pub fn routes(api: &mut Api) {
    api.act::<InviteMember>(Method::POST, "/v1/invitations");
    api.act::<LinkMember>(Method::POST, "/v1/members/{id}/link");
    api.registry.add::<UseLink>();
    let limits = web::Data::new(CodeLimits::default());
    let looked = limits.clone();
    api.other(
        Method::POST,
        "/v1/links/look",
        Doc::new(
            "session",
            "look_at_link",
            "Whose password a link sets",
            "For whoever has the link, without signing in. Tries are limited by network.",
        )
        .answer("The link")
        .refuses("403", "The link was used, has run out or was replaced")
        .refuses("429", "Too many tries"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: Body<LinkSecret>| look(request, shared, given, looked.clone()),
    );
    api.other(
        Method::POST,
        "/v1/links/use",
        Doc::new(
            "session",
            "use_link",
            "Set the own password by a link, and sign in",
            "Spends the link. All sign-ins of the member end, and one begins; where the member has a second factor, or the agency asks for one in \
             the member's role, the answer is 202 with a ticket, as at sign-in.",
        )
        .answer("Set and signed in")
        .answers_raw("202", "", "The password is set; the second half of the sign-in is missing")
        .refuses("403", "The link was used, has run out or was replaced, or not from the service's own pages")
        .refuses("409", "The email signs another member in by now")
        .refuses("429", "Too many tries")
        .refuses("503", "Too many passwords are being checked"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: Body<LinkUse>| use_link(request, shared, given, limits.clone()),
    );
}

/// The secret of a link.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct LinkSecret {
    /// As it stands in the address.
    #[schema(max_length = 43)]
    secret: String,
}

/// The secret of a link, and the password that it sets.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct LinkUse {
    /// As it stands in the address.
    #[schema(max_length = 43)]
    secret: String,
    /// The new password, as with `member.add`.
    #[schema(min_length = 10, max_length = 256)]
    password: String,
    /// Set by the dashboard: tokens go into cookies that scripts cannot read, not into the answer.
    #[serde(default)]
    browser: bool,
}

/// A link that waits to be used.
#[derive(Serialize, ToSchema)]
struct OpenLink {
    /// Whether it invites somebody who has no password yet; else it sets a new one.
    invites: bool,
    /// The name of the member whose password the link sets.
    name: String,
    /// The email that the member signs in with.
    email: String,
    /// The name of the agency that the member belongs to.
    agency: String,
    /// When it runs out.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    expires_at: DateTime<Utc>,
}

/// The open link that a secret is of, with its member and agency.
async fn open(shared: &Arc<Shared>, secret: &str) -> Result<(SecretHash, AccessLink, Member, Agency), Fault> {
    let hash = SecretHash::of_secret(secret).ok_or_else(auth::link_spent)?;
    let now = shared.clock.now();
    let found = shared.read(move |db| {
        let Some(link) = auth::find_link(db, &hash, now)? else { return Ok(None) };
        let row = record::find(db, link.agency, Member::KIND, link.member.0)?.filter(|row| !row.gone);
        let Some(row) = row else { return Ok(None) };
        let (member, maker): (Member, Member) = (row.read()?, find(db, link.agency, link.maker.0)?);
        if !member.active || !may_make(&maker, &link, row.scope()) {
            return Ok(None);
        }
        let agency: Agency = find(db, link.agency, link.agency.0)?;
        Ok(Some((hash, link, member, agency)))
    });
    found.await?.ok_or_else(auth::link_spent)
}

async fn look(request: HttpRequest, shared: web::Data<Shared>, Body(given): Body<LinkSecret>, limits: web::Data<CodeLimits>) -> Result<Json<OpenLink>, Fault> {
    limits.count(caller_of(&request, &shared))?;
    let (_, link, member, agency) = open(&shared.into_inner(), &given.secret).await?;
    Json::of(&OpenLink {
        invites: link.invites,
        name: member.name,
        email: member.email.as_str().to_owned(),
        agency: agency.name,
        expires_at: link.expires_at,
    })
}

async fn use_link(
    request: HttpRequest,
    shared: web::Data<Shared>,
    Body(given): Body<LinkUse>,
    limits: web::Data<CodeLimits>,
) -> Result<Either<Entry, HttpResponse>, Fault> {
    if given.browser {
        same_origin(&request, &shared)?;
    }
    limits.count(caller_of(&request, &shared))?;
    let (shared, asked) = (shared.clone().into_inner(), SignInRequest::of(&request, &shared, given.browser));
    let (hash, link, member, agency) = open(&shared, &given.secret).await?;
    let made = hashed(&shared, None, given.password, [&member.name, member.email.as_str(), &agency.name]).await?;
    let body = json!({ "id": member.id, "secret_sha256": hash.digits(), "made": made.hash(), "from": asked.from.network });
    let sender = Actor {
        member: Some(member.id),
        ..Actor::service(link.agency, &member.name)
    };
    let answer = shared.door.send_own(sender, "member.use_link", &Uuid::now_v7().to_string(), &body).await?;
    if let (Outcome::Conflict | Outcome::Refused, Some(problem)) = (answer.outcome, answer.problem) {
        return Ok(Either::Right(refused(problem)));
    }
    let id = member.id;
    let known = shared
        .read(move |db| auth::credential_for(db, link.agency, id))
        .await?
        .ok_or_else(auth::link_spent)?;
    enter(shared, known, asked).await.map(Either::Left)
}
