use actix_web::{HttpResponse, http::Method, web};
use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

use super::{
    groups::ReliabilityBy,
    period::PeriodAsked,
    view::{self, Question, Reliability, ReliabilityStops},
};
use crate::platform::{
    error::Fault,
    http::{Access, Api, Caller, Doc, Shared},
};

/// Reliability's addresses.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/reliability",
        Doc::new(
            "reliability",
            "show_reliability",
            "How often pieces fail, how long they are away and whether it gets worse, with bounds",
            Access::Member,
        )
        .query::<Asked>()
        .answers::<Reliability>("200", "The rows")
        .refuses("400", "A query parameter cannot be used")
        .refuses("404", "No such model in this agency"),
        reliability,
    );
    api.other(
        Method::GET,
        "/v1/reliability/stops",
        Doc::new("reliability", "show_stops", "The stops behind a row, newest first", Access::Member)
            .query::<StopsAsked>()
            .answers::<ReliabilityStops>("200", "The stops that count")
            .refuses("400", "A query parameter cannot be used")
            .refuses("404", "No such model in this agency"),
        stops,
    );
}

/// What is asked of reliability.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct Asked {
    /// What a row stands for: `kind` unless said.
    #[serde(default)]
    #[param(inline, required = false)]
    by: ReliabilityBy,
    /// Only pieces of this kind.
    #[param(inline)]
    kind: Option<Kind>,
    /// Only pieces of this model.
    model: Option<Uuid>,
    /// From this day on, in the agency's time zone; from the first record unless said.
    from: Option<NaiveDate>,
    /// Up to the end of this day; up to now unless said.
    until: Option<NaiveDate>,
    /// Of each pair of bounds, between 0 and 1: 0.9 unless said.
    confidence: Option<f64>,
}

async fn reliability(shared: web::Data<Shared>, caller: Caller, asked: web::Query<Asked>) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let question = Question {
        by: asked.by,
        kind: asked.kind,
        model: asked.model,
        period: PeriodAsked {
            from: asked.from,
            until: asked.until,
        },
    };
    let confidence = asked.confidence.unwrap_or(0.9);
    let shown = shared.read(move |db| view::reliability(db, agency, &question, confidence, now)).await?;
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(shown))
}

/// Which stops are asked for.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct StopsAsked {
    /// What a row stands for: `kind` unless said.
    #[serde(default)]
    #[param(inline, required = false)]
    by: ReliabilityBy,
    /// Only those of the row with this key.
    key: Option<String>,
    /// Only pieces of this kind.
    #[param(inline)]
    kind: Option<Kind>,
    /// Only pieces of this model.
    model: Option<Uuid>,
    /// From this day on, in the agency's time zone; from the first record unless said.
    from: Option<NaiveDate>,
    /// Up to the end of this day; up to now unless said.
    until: Option<NaiveDate>,
}

async fn stops(shared: web::Data<Shared>, caller: Caller, asked: web::Query<StopsAsked>) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let question = Question {
        by: asked.by,
        kind: asked.kind,
        model: asked.model,
        period: PeriodAsked {
            from: asked.from,
            until: asked.until,
        },
    };
    let shown = shared.read(move |db| view::stops(db, agency, &question, asked.key.as_deref(), now)).await?;
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(shown))
}
