use actix_web::{HttpRequest, http::Method, web};
use serde::{Deserialize, Serialize};
use serde_json::json;
use utoipa::ToSchema;

use super::{
    Alert, AlertId,
    acts::{AcknowledgeAlert, ResendAlert},
    letter::trial,
    message::ACKNOWLEDGE_PATH,
    ops::{AnswerAlert, NoteTelling},
    outward::{Posted, Sender},
    rules::{Answered as Meant, answered, problem},
    watch,
    work::{code_of, dispatcher},
};
use crate::{
    platform::{
        door::{Act as _, Outcome, name},
        error::{self, Fault},
        http::{Anyone, Api, Body, Caller, Doc, Json, Shared, caller_of, network_limits::NetworkLimits},
    },
    slices::subscriptions::{Phones, SubscriptionId},
};

/// The alerts' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Alert>("/v1/alerts");
    api.find::<Alert>("/v1/alerts/{id}");
    api.history::<Alert>("/v1/alerts/{id}/history");
    api.act::<AcknowledgeAlert>(Method::POST, "/v1/alerts/{id}/acknowledge");
    api.act::<ResendAlert>(Method::POST, "/v1/alerts/{id}/resend");
    api.registry.add::<NoteTelling>();
    api.registry.add::<AnswerAlert>();
    api.registry.watch(watch);
    let tries = web::Data::new(NetworkLimits::new(10, 6));
    api.other(
        Method::POST,
        "/v1/session/subscriptions/try",
        Doc::new(
            "session",
            "try_subscription",
            "Send a notice as a try to one of the own phones",
            "It is sent at once and once. That its push service took it does not say that the phone showed it: look at the phone.",
        )
        .answer("What the push service said")
        .refuses("404", "The member has no such phone")
        .refuses("429", "Too many tries"),
        move |caller: Caller,
              request: HttpRequest,
              shared: web::Data<Shared>,
              sender: web::Data<Sender>,
              phones: web::Data<Phones>,
              given: Body<TrySubscription>| { try_phone(caller, (request, shared, sender, phones), given, tries.clone()) },
    );
    // A desk acknowledges what it reads: some messages at once, and then one each second.
    let limits = web::Data::new(NetworkLimits::new(60, 60));
    api.other(
        Method::POST,
        ACKNOWLEDGE_PATH,
        Doc::new(
            "alerts",
            "acknowledge_by_code",
            "Acknowledge a message by its code",
            "For a receiver of webhooks, when somebody has read the message. Each message has a code of its own in `data.acknowledge.code`; it \
             serves once, and opens nothing else. A receiver that knows at once may acknowledge in its answer to the message instead, with \
             `{\"acknowledged_by\": \"Desk 3\"}`.",
        )
        .answer("Acknowledged")
        .refuses("403", "The code is wrong, used or too old")
        .refuses("429", "Too many tries"),
        move |_: Anyone, request: HttpRequest, shared: web::Data<Shared>, given: Body<CodeGiven>| acknowledge(request, shared, given, limits.clone()),
    );
}

/// Which phone is tried.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct TrySubscription {
    /// The phone to try: one of the member's own.
    id: SubscriptionId,
}

/// How a try went.
#[derive(Debug, Serialize, ToSchema)]
struct SubscriptionTried {
    /// Whether the phone's push service took the notice.
    taken: bool,
    /// What stood in the way, in a sentence; null: nothing.
    problem: Option<String>,
    /// Whether the phone was taken off, because its push service knows it no more.
    gone: bool,
}

type Around = (HttpRequest, web::Data<Shared>, web::Data<Sender>, web::Data<Phones>);

async fn try_phone(
    Caller(actor): Caller,
    (request, shared, sender, phones): Around,
    Body(given): Body<TrySubscription>,
    limits: web::Data<NetworkLimits>,
) -> Result<Json<SubscriptionTried>, Fault> {
    limits.count(caller_of(&request, &shared), "Too many tries; wait a minute before the next")?;
    let missing = || Fault::new(error::NOT_FOUND, "You have no such phone, or it gets no notices any more");
    let (member, phones) = (actor.member.ok_or_else(missing)?, phones.into_inner());
    let (_, own) = phones.own(actor.agency, member).await?;
    let phone = own.into_iter().find(|one| one.id == given.id).ok_or_else(missing)?;
    let said = |taken, problem, gone| Json::of(&SubscriptionTried { taken, problem, gone });
    match sender.push(&phone, &trial(), true).await? {
        Posted::Answered { status, .. } => match answered(status) {
            Meant::Taken => said(true, None, false),
            Meant::Gone => {
                phones.remove(actor.agency, member, phone.id).await?;
                said(
                    false,
                    Some("Its push service knows the phone no more; switch its notices on again".to_owned()),
                    true,
                )
            }
            Meant::Failed | Meant::Closed => said(false, Some(problem(status)), false),
        },
        Posted::Taken => said(true, None, false),
        Posted::Refused(why) | Posted::Unreached(why) => said(false, Some(why), false),
    }
}

/// A message's code, and who has read it.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct CodeGiven {
    /// The code that stands in the message as `data.acknowledge.code`; it serves once.
    #[schema(max_length = 100)]
    code: String,
    /// Who has read it: a desk or a person, 1 to 200 characters.
    by: String,
}

/// What was acknowledged.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = AlertAnswered)]
struct Answered {
    /// The alert whose message was acknowledged.
    alert: AlertId,
    /// Who has read it, as given.
    by: String,
}

async fn acknowledge(
    request: HttpRequest,
    shared: web::Data<Shared>,
    Body(given): Body<CodeGiven>,
    limits: web::Data<NetworkLimits>,
) -> Result<Json<Answered>, Fault> {
    limits.count(caller_of(&request, &shared), "Too many codes were tried; wait a minute before the next")?;
    let by = name("body.by", &given.by)?;
    let unknown = || Fault::new(error::CODE_UNKNOWN, "No message has this code, or it is too old; acknowledge by telephone").at("body.code");
    // What has other signs than a code is in no table, and need not be asked for.
    let shaped = given.code.len() <= 100 && given.code.bytes().all(|sign| sign.is_ascii_alphanumeric() || sign == b'-' || sign == b'_');
    if !shaped {
        return Err(unknown());
    }
    let shared = shared.into_inner();
    let key = code_of(&shared, given.code).await?.ok_or_else(unknown)?;
    let body = json!({ "id": key.alert, "receiver": key.receiver, "by": by });
    // Whose answer was lost asks again, and hears the same.
    let cause = format!("{}/{}/{by}", key.alert, key.receiver);
    let answer = shared.door.send_own(dispatcher(key.agency), AnswerAlert::KIND, &cause, &body).await?;
    match (answer.outcome, answer.problem) {
        (Outcome::Applied | Outcome::Repeated, _) => Json::of(&Answered { alert: AlertId(key.alert), by }),
        (_, Some(problem)) if problem.status == 403 => Err(Fault::new(error::CODE_UNKNOWN, problem.detail).at("body.code")),
        _ => Err(anyhow::anyhow!("an acknowledgement was not applied").into()),
    }
}
