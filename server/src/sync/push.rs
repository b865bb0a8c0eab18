//! `POST /v1/commands`: up to 500 commands, each answered for itself.

use actix_web::{HttpRequest, HttpResponse, Responder, body::BoxBody, http::Method, web};
use chrono::{DateTime, Utc};
use serde::Deserialize;
use utoipa::ToSchema;

use super::protocol::Protocol;
use crate::platform::{
    door::{Batch, Command},
    error::{self, Fault},
    http::{AnswerType, Api, Body, Caller, Doc, Json, Refusals, Shared, prefer::Return},
};

/// The most commands in a batch.
pub const MOST: usize = 500;

pub fn routes(api: &mut Api) {
    api.other(
        Method::POST,
        "/v1/commands",
        Doc::new(
            "sync",
            "send_commands",
            "Send commands; each is answered for itself",
            "Commands act in the order of the list, each for itself: one that is refused does not hold up the rest, unless they name \
             it in `after`. Sent again under the same ids, they act once.",
        )
        .answer("One answer for each command, in order")
        .refuses("413", "Too many commands, or too large a body")
        .refuses(
            "429",
            "More was written under this sign-in than one member may: nothing was taken; send the batch again when the wait is over",
        )
        .refuses("503", "Nothing was taken; send the batch again under the same ids"),
        push,
    );
}

/// A batch of commands.
#[derive(Debug, Deserialize, ToSchema)]
struct Push {
    /// The sender's clock at the moment of sending: what the server corrects the commands' times by.
    sent_at: DateTime<Utc>,
    /// The commands, in the order in which they act.
    #[schema(max_items = 500)]
    commands: Vec<Command>,
}

/// The answers to a batch, as much of them as was asked for.
struct Pushed {
    batch: Batch,
    returns: Return,
}

impl Responder for Pushed {
    type Body = BoxBody;

    fn respond_to(self, _: &HttpRequest) -> HttpResponse {
        let mut answer = HttpResponse::Ok();
        self.returns.say(&mut answer);
        answer.extensions_mut().insert(Refusals::of(&self.batch));
        match self.returns {
            Return::Minimal => answer.json(self.batch.minimal()),
            Return::Representation => answer.json(self.batch),
        }
    }
}

impl AnswerType for Pushed {
    fn describe(doc: &mut Doc) {
        Json::<Batch>::describe(doc);
    }
}

async fn push(shared: web::Data<Shared>, caller: Caller, _: Protocol, returns: Return, Body(push): Body<Push>) -> Result<Pushed, Fault> {
    if push.commands.len() > MOST {
        return Err(Fault::new(
            error::BATCH_TOO_LARGE,
            format!("This batch holds {} commands; send {MOST} at most, the rest in the next", push.commands.len()),
        )
        .at("body.commands"));
    }
    let batch = shared.door.send(caller.0, Some(push.sent_at), push.commands).await?;
    Ok(Pushed { batch, returns })
}
