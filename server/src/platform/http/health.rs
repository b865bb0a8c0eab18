//! How the service fares, for whoever watches over it. Nothing here waits behind those who read.

use std::{
    collections::BTreeMap,
    time::{Duration, Instant},
};

use actix_web::{HttpResponse, http::header, web};
use chrono::TimeDelta;
use tokio::sync::Mutex;

use super::Shared;
use crate::platform::{
    clock::Clock,
    db::{self, Access, Location, Pool},
    door::{Pulse, lapses},
    error::{self, Fault},
    tasks::TaskState,
};

/// For how long the database is waited for, before it is said not to answer: whoever watches over the service waits for a few seconds.
const PATIENCE: Duration = Duration::from_secs(2);

/// What asks the database how it fares, on a connection of its own. However many want to know, one question is under way; who comes
/// meanwhile waits for the next one, with all others who do.
#[allow(missing_debug_implementations)]
pub struct Health {
    own: Pool,
    /// When the last question was begun, and what was answered.
    last: Mutex<Option<(Instant, Option<i64>)>>,
}

impl Health {
    /// Opens its connection.
    pub fn open(location: &Location) -> anyhow::Result<Self> {
        Ok(Self {
            own: db::pool(location, Access::Read, 1)?,
            last: Mutex::default(),
        })
    }

    /// How many lapses have been due for more than a minute and are not settled; none where the database does not answer in time.
    async fn lapses_overdue(&self, clock: &Clock) -> Option<i64> {
        let came = Instant::now();
        let mut last = self.last.lock().await;
        if let Some((begun, answer)) = *last
            && begun >= came
        {
            return answer;
        }
        let (begun, own, before) = (Instant::now(), self.own.clone(), clock.now() - TimeDelta::minutes(1));
        let question = web::block(move || db::transaction(&own, Access::Read, |db| lapses::overdue(db, before)));
        let answer: Option<Result<i64, Fault>> = tokio::time::timeout(PATIENCE, question).await.ok().and_then(Result::ok);
        let answer = match answer {
            Some(Ok(overdue)) => Some(overdue),
            Some(Err(fault)) => {
                tracing::warn!(cause = ?fault.cause, %fault, "the database does not tell how it fares");
                None
            }
            None => {
                tracing::warn!(seconds = PATIENCE.as_secs(), "the database has not told in time how it fares");
                None
            }
        };
        *last = Some((begun, answer));
        answer
    }
}

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

/// Answers when the database can be read.
async fn healthy(shared: web::Data<Shared>) -> Result<HttpResponse, Fault> {
    let told = shared.health.lapses_overdue(&shared.clock).await;
    told.ok_or_else(|| Fault::new(error::BUSY, "The database does not answer just now; try again in a moment").again_in(PATIENCE.as_secs()))?;
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
    let lapses_overdue = shared.health.lapses_overdue(&shared.clock).await;
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
