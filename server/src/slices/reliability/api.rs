use actix_web::{http::Method, web};
use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

use super::{
    facts::Histories,
    groups::ReliabilityBy,
    period::PeriodQuery,
    view::{self, Question, Reliability, ReliabilityStops},
};
use crate::platform::{
    error::Fault,
    follow::Followed,
    http::{Api, Caller, Doc, Json, Query, Shared},
};

/// Reliability's addresses.
pub fn routes(api: &mut Api, histories: &Followed<Histories>) {
    let (of_rows, of_stops) = (histories.clone(), histories.clone());
    api.other(
        Method::GET,
        "/v1/reliability",
        Doc::new(
            "reliability",
            "show_reliability",
            "How often pieces fail, how long they are away and whether it gets worse, with bounds",
            "Failure rates, times away and trends by kind, model, part or age, from the stops on record, with confidence bounds. \
             Planned service is no failure.",
        )
        .answer("The rows")
        .refuses("404", "No such model in this agency"),
        move |shared: web::Data<Shared>, caller: Caller, query: Query<ReliabilityQuery>| reliability(shared, caller, query, of_rows.clone()),
    );
    api.other(
        Method::GET,
        "/v1/reliability/stops",
        Doc::new(
            "reliability",
            "show_stops",
            "The stops behind a row, newest first",
            "Each time that a piece of the row was away from service within the period, with why and for how long.",
        )
        .answer("The stops that count")
        .refuses("404", "No such model in this agency"),
        move |shared: web::Data<Shared>, caller: Caller, query: Query<StopsQuery>| stops(shared, caller, query, of_stops.clone()),
    );
}

/// What is asked of reliability.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct ReliabilityQuery {
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

async fn reliability(
    shared: web::Data<Shared>,
    caller: Caller,
    query: Query<ReliabilityQuery>,
    histories: Followed<Histories>,
) -> Result<Json<Reliability>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let question = Question {
        by: query.by,
        kind: query.kind,
        model: query.model,
        period: PeriodQuery {
            from: query.from,
            until: query.until,
        },
    };
    let confidence = query.confidence.unwrap_or(0.9);
    let shown = shared
        .read_followed((&histories, agency), move |db, known, _| {
            view::reliability(db, agency, known, &question, confidence, now)
        })
        .await?;
    Json::of(&shown)
}

/// Which stops are asked for.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct StopsQuery {
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

async fn stops(shared: web::Data<Shared>, caller: Caller, query: Query<StopsQuery>, histories: Followed<Histories>) -> Result<Json<ReliabilityStops>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let question = Question {
        by: query.by,
        kind: query.kind,
        model: query.model,
        period: PeriodQuery {
            from: query.from,
            until: query.until,
        },
    };
    let shown = shared
        .read_followed((&histories, agency), move |db, known, _| {
            view::stops(db, agency, known, &question, query.key.as_deref(), now)
        })
        .await?;
    Json::of(&shown)
}
