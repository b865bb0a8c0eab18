//! `POST /v1/commands`: up to 500 commands, each answered for itself.

use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use chrono::{DateTime, Utc};
use serde::Deserialize;
use utoipa::{ToSchema, openapi::path::ParameterIn};

use super::protocol;
use crate::platform::{
    door::{Batch, Command},
    error::{self, Fault},
    http::{
        Access, Api, Caller, Doc, RawBody, Shared, body,
        prefer::{self, Return},
    },
};

/// The most commands in a batch.
pub const MOST: usize = 500;

pub fn routes(api: &mut Api) {
    api.other(
        Method::POST,
        "/v1/commands",
        Doc::new("sync", "send_commands", "Send commands; each is answered for itself", Access::Member)
            .parameter(ParameterIn::Header, protocol::HEADER, false, protocol::MEANING)
            .parameter(ParameterIn::Header, prefer::HEADER, false, prefer::MEANING)
            .takes::<Push>()
            .answers::<Batch>("200", "One answer for each command, in order")
            .refuses("400", "The body cannot be read")
            .refuses("413", "Too many commands, or too large a body")
            .refuses("422", "A field cannot be used")
            .refuses("426", "The client speaks a protocol that is no longer served")
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

async fn push(request: HttpRequest, shared: web::Data<Shared>, caller: Caller, RawBody(bytes): RawBody) -> Result<HttpResponse, Fault> {
    protocol::check(&request)?;
    let push: Push = body::parse(&bytes, "body")?;
    if push.commands.len() > MOST {
        return Err(Fault::new(
            error::BATCH_TOO_LARGE,
            format!("This batch holds {} commands; send {MOST} at most, the rest in the next", push.commands.len()),
        )
        .at("body.commands"));
    }
    let batch = shared.door.send(caller.0, Some(push.sent_at), push.commands).await?;
    let (mut answer, returns) = (HttpResponse::Ok(), Return::of(&request));
    returns.say(&mut answer);
    Ok(match returns {
        Return::Minimal => answer.json(batch.minimal()),
        Return::Representation => answer.json(batch),
    })
}
