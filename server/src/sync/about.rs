//! `GET /v1`: what this service speaks, takes and keeps. A program asks it before anybody signs in.

use actix_web::{http::Method, web};
use serde::Serialize;
use utoipa::ToSchema;

use super::{
    feed::{MOST_WAIT, MOST_WAITING_EACH},
    news::MOST_LISTENING_EACH,
    protocol, push, scopes,
};
use crate::platform::{
    door::{CommandKind, Permission},
    error::Fault,
    http::{Anyone, Api, Doc, Shared, Tagged, body},
    record::RecordKind,
};

pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1",
        Doc::new(
            "sync",
            "about",
            "What this service speaks, takes and keeps",
            "A program asks it before anybody signs in: with which protocol, in what amounts, with which kinds of commands and records.",
        )
        .answer("Versions, limits, command kinds and record kinds"),
        about,
    );
}

/// What this service speaks, takes and keeps.
#[derive(Debug, Serialize, ToSchema)]
struct About {
    /// The name of the service: always `fullset`.
    service: &'static str,
    /// The service's own version.
    version: &'static str,
    /// The sync protocols that it speaks: what a client names in `Fullset-Protocol`.
    protocol: Protocols,
    /// What it takes at once.
    limits: Limits,
    /// The command kinds that clients may send, by name.
    commands: Vec<KindOfCommand>,
    /// The record kinds that the feed holds, by name. There may be more than a client knows.
    records: Vec<KindOfRecord>,
}

/// The sync protocols that a service speaks.
#[derive(Debug, Serialize, ToSchema)]
struct Protocols {
    /// The oldest version that is spoken.
    oldest: u32,
    /// The newest version that is spoken.
    newest: u32,
}

/// What a service takes at once.
#[derive(Debug, Serialize, ToSchema)]
struct Limits {
    /// Commands in one batch.
    commands: usize,
    /// Bytes of a JSON body.
    body_bytes: usize,
    /// Changes in one page of the feed.
    changes: i64,
    /// Records in one page of a list.
    records: i64,
    /// Places that one feed may name.
    places: usize,
    /// Seconds that `wait` may ask for.
    wait_seconds: i64,
    /// Requests with `wait` that one sign-in may have waiting at once.
    waiting: usize,
    /// Streams and requests with `wait` that one member, tablet or program may have open at once.
    listening: usize,
    /// Bytes of a photo.
    photo_bytes: usize,
}

/// A command kind.
#[derive(Debug, Serialize, ToSchema)]
struct KindOfCommand {
    /// Its word, for example `defect.report`.
    #[schema(value_type = CommandKind)]
    kind: &'static str,
    /// What it does.
    summary: &'static str,
}

/// A record kind.
#[derive(Debug, Serialize, ToSchema)]
struct KindOfRecord {
    /// Its word, for example `piece`.
    #[schema(value_type = RecordKind)]
    kind: &'static str,
    /// Whether every feed holds all records of it, whatever places the feed names.
    everywhere: bool,
}

async fn about(_: Anyone, shared: web::Data<Shared>) -> Result<Tagged<About>, Fault> {
    let registry = shared.door.registry();
    let sent = registry
        .kinds()
        .filter(|(_, kind)| kind.needs.iter().any(|needed| *needed != Permission::Service));
    let about = About {
        service: "fullset",
        version: env!("CARGO_PKG_VERSION"),
        protocol: Protocols {
            oldest: protocol::OLDEST,
            newest: protocol::NEWEST,
        },
        limits: Limits {
            commands: push::MOST,
            body_bytes: body::LIMIT,
            changes: 2000,
            records: 500,
            places: scopes::Scopes::MOST,
            wait_seconds: MOST_WAIT,
            waiting: MOST_WAITING_EACH,
            listening: MOST_LISTENING_EACH,
            photo_bytes: crate::slices::photos::MOST_BYTES,
        },
        commands: sent.map(|(kind, of)| KindOfCommand { kind, summary: of.summary }).collect(),
        records: registry
            .records()
            .map(|kind| KindOfRecord {
                kind,
                everywhere: registry.everywhere().contains(&kind),
            })
            .collect(),
    };
    Tagged::of(&about)
}
