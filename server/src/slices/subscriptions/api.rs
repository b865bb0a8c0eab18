use actix_web::{HttpResponse, http::Method, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Phones, Subscription, SubscriptionId,
    rules::{keys, told_of},
};
use crate::{
    platform::{
        auth::{Actor, Permission},
        door::name,
        error::{self, Fault},
        http::{Api, Body, Caller, Doc, Json, Shared},
        ids::MemberId,
        outward::checked_address,
    },
    slices::receivers::ChangeKind,
};

/// The addresses of the own phones that get notices.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/session/subscriptions",
        Doc::new(
            "session",
            "list_own_subscriptions",
            "The member's phones that get notices, and the key that a browser is given for another",
            "Five at most, the oldest first. A phone whose sign-in has ended is not in it any more.",
        )
        .answer("The phones; a shared tablet has none"),
        list,
    );
    api.other(
        Method::POST,
        "/v1/session/subscriptions",
        Doc::new(
            "session",
            "add_subscription",
            "Have notices sent to this phone",
            "Takes what `PushManager.subscribe` gave (Push API), made with `public_key`. It belongs to this sign-in: the one that the sign-in had \
             before ends, and it ends with the sign-in. A notice names the rig or district, how it stands, and what its grade lacks; it repeats \
             nobody's words. Of what is within the own reach, as with receivers.",
        )
        .answer("The phone")
        .refuses("403", "Notices are for who decides for rigs; or not from the service's own pages")
        .refuses("409", "Five phones already, another member has this one, or the service sends none"),
        add,
    );
    api.other(
        Method::POST,
        "/v1/session/subscriptions/remove",
        Doc::new(
            "session",
            "remove_subscription",
            "Send no more notices to one of the own phones",
            "What was told stays on record.",
        )
        .answers_raw("204", "", "Removed")
        .refuses("404", "The member has no such phone"),
        remove,
    );
}

/// A phone that gets notices. Where it is reached is not told again.
#[derive(Debug, Serialize, ToSchema)]
struct SubscriptionShown {
    /// What the phone is tried and removed by; alerts name it as `receiver`.
    id: SubscriptionId,
    /// What the member calls it.
    name: String,
    /// What it is told of: 1 to 4.
    #[schema(min_items = 1, max_items = 4)]
    changes: Vec<ChangeKind>,
    /// Since when (UTC).
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    since: DateTime<Utc>,
    /// Whether it belongs to the sign-in that asks.
    this: bool,
}

/// The own phones that get notices.
#[derive(Debug, Serialize, ToSchema)]
struct OwnSubscriptions {
    /// What a browser is given as `applicationServerKey` (RFC 8292), a point of P-256 in base64url without padding; null: notices to phones
    /// are switched off on this service.
    public_key: Option<String>,
    /// Whether the member's role is told at all: who decides for rigs.
    may: bool,
    /// The member's phones, the oldest first; 5 at most.
    #[schema(max_items = 5)]
    items: Vec<SubscriptionShown>,
}

/// A browser's subscription, as `PushSubscription.toJSON` has it, with a name. Bytes are base64url.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct NewSubscription {
    /// The address at its push service: https, 1,000 characters at most.
    #[schema(max_length = 1000)]
    endpoint: String,
    /// `keys.p256dh`: the browser's public key, an uncompressed point of P-256 of 65 bytes.
    #[schema(max_length = 100)]
    p256dh: String,
    /// `keys.auth`: the secret that the browser drew, 16 bytes.
    #[schema(max_length = 30)]
    auth: String,
    /// What the member calls the phone: 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    name: String,
    /// What it is told of: 1 to 4.
    #[schema(min_items = 1, max_items = 4)]
    changes: Vec<ChangeKind>,
}

/// Which phone goes.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct RemoveSubscription {
    /// The phone to remove: one of the member's own.
    id: SubscriptionId,
}

fn shown(one: Subscription, sign_in: Option<Uuid>) -> SubscriptionShown {
    SubscriptionShown {
        this: sign_in == Some(one.sign_in),
        id: one.id,
        name: one.name,
        changes: one.changes,
        since: one.made_at,
    }
}

fn own(actor: &Actor) -> Result<(MemberId, Uuid), Fault> {
    let own = actor.member.zip(actor.sign_in);
    own.ok_or_else(|| Fault::new(error::NOT_ALLOWED, "This is a member's own; sign in yourself, on your phone or at a desk"))
}

async fn list(phones: web::Data<Phones>, Caller(actor): Caller) -> Result<Json<OwnSubscriptions>, Fault> {
    let (public_key, items) = match actor.member {
        Some(member) => phones.into_inner().own(actor.agency, member).await?,
        None => (None, Vec::new()),
    };
    Json::of(&OwnSubscriptions {
        public_key,
        may: actor.member.is_some() && actor.role.grants(Permission::Handle),
        items: items.into_iter().map(|one| shown(one, actor.sign_in)).collect(),
    })
}

async fn add(
    phones: web::Data<Phones>,
    shared: web::Data<Shared>,
    Caller(actor): Caller,
    Body(given): Body<NewSubscription>,
) -> Result<Json<SubscriptionShown>, Fault> {
    let (member, sign_in) = own(&actor)?;
    if !actor.role.grants(Permission::Handle) {
        return Err(Fault::new(
            error::NOT_ALLOWED,
            "Notices to phones are for officers, chiefs, the coordinator and admins",
        ));
    }
    if phones.contact().is_none() {
        return Err(Fault::rule("Notices to phones are switched off on this service")
            .hint("Whoever runs it sets --push-contact (FULLSET_PUSH_CONTACT), whom push services may write to"));
    }
    let endpoint = checked_address(given.endpoint.trim(), phones.outward()).map_err(|why| Fault::field("body.endpoint", why))?;
    let new = Subscription {
        agency: actor.agency,
        id: SubscriptionId(Uuid::now_v7()),
        member,
        sign_in,
        endpoint: endpoint.to_string(),
        keys: keys(&given.p256dh, &given.auth)?,
        name: name("body.name", &given.name)?,
        changes: told_of(given.changes)?,
        made_at: shared.clock.now(),
    };
    Json::of(&shown(phones.into_inner().add(new).await?, Some(sign_in)))
}

async fn remove(phones: web::Data<Phones>, Caller(actor): Caller, Body(given): Body<RemoveSubscription>) -> Result<HttpResponse, Fault> {
    let ((member, _), agency) = (own(&actor)?, actor.agency);
    if phones.into_inner().remove(agency, member, given.id).await? {
        Ok(HttpResponse::NoContent().finish())
    } else {
        Err(Fault::new(error::NOT_FOUND, "You have no such phone, or it gets no notices any more"))
    }
}
