//! How the service fares, for whoever watches over it.

use std::collections::BTreeMap;

use actix_web::{HttpResponse, http::header, web};

use super::Shared;
use crate::platform::{door::Pulse, error::Fault, tasks::TaskState};

/// The addresses, which no sign-in guards.
pub fn routes(config: &mut web::ServiceConfig) {
    for method in [web::get, web::head] {
        config
            .route("/livez", method().to(alive))
            .route("/healthz", method().to(healthy))
            .route("/readyz", method().to(ready));
    }
}

/// Answers while the process does: it takes no connection to the database and no thread that may block.
async fn alive() -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/plain; charset=utf-8")
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .body("alive")
}

/// Answers when a reader can read.
async fn healthy(shared: web::Data<Shared>) -> Result<HttpResponse, Fault> {
    shared.into_inner().read(|_| Ok(())).await?;
    Ok(HttpResponse::Ok().content_type("text/plain; charset=utf-8").body("ready"))
}

/// How the service fares.
#[derive(Debug, serde::Serialize)]
struct Readiness {
    /// Whether it can read and write, and will for a while.
    ready: bool,
    /// Whether it was told to stop: it answers a little longer, and others should be asked.
    stopping: bool,
    writer: Pulse,
    readers: Readers,
    /// The work beside the requests, by name.
    tasks: BTreeMap<&'static str, TaskState>,
    /// Lapses that have been due for more than a minute and are not settled: they failed and are tried again. Null where the
    /// database cannot be read.
    lapses_overdue: Option<i64>,
}

/// Connections that read.
#[derive(Debug, serde::Serialize)]
struct Readers {
    open: u32,
    idle: u32,
}

/// Says how the service fares; 503 while it cannot read or write, and from when it is told to stop.
async fn ready(shared: web::Data<Shared>) -> HttpResponse {
    let shared = shared.into_inner();
    let lapses_overdue = shared.lapses_overdue().await.ok();
    let (writer, pool) = (shared.door.pulse(), shared.readers.state());
    let stopping = shared.tasks.ended();
    let ready = writer.alive && lapses_overdue.is_some() && !stopping;
    let mut answer = if ready { HttpResponse::Ok() } else { HttpResponse::ServiceUnavailable() };
    answer.insert_header((header::CACHE_CONTROL, "no-store")).json(Readiness {
        ready,
        stopping,
        writer,
        readers: Readers {
            open: pool.connections,
            idle: pool.idle_connections,
        },
        tasks: shared.tasks.states(),
        lapses_overdue,
    })
}
