use actix_web::{HttpRequest, http::Method, web};
use serde::{Deserialize, Serialize};
use serde_json::json;
use utoipa::ToSchema;

use super::{
    Alert, AlertId,
    acts::{AcknowledgeAlert, ResendAlert},
    message::ACKNOWLEDGE_PATH,
    ops::{AnswerAlert, NoteTelling},
    watch,
    work::{code_of, dispatcher},
};
use crate::platform::{
    door::{Act as _, Outcome, name},
    error::{self, Fault},
    http::{Anyone, Api, Body, Doc, Json, Shared, caller_of, network_limits::NetworkLimits},
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
