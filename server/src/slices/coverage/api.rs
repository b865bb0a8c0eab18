use actix_web::{http::Method, web};
use chrono::{DateTime, Utc};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    County,
    sites::{ReserveSites, sites},
    view::{CoverageView, coverage},
};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Json, Query, Shared},
    past::{self, When},
};

/// Coverage's addresses.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/coverage",
        Doc::new(
            "coverage",
            "show_coverage",
            "Which demand full rigs reach in time, now or then, and what hangs on each rig",
            "Demand zones, and which of them a full rig reaches within the target time by the travel times on record or by distance \
                 over the detour factor.",
        )
        .answer("The coverage at one revision"),
        show,
    );
    api.other(
        Method::GET,
        "/v1/coverage/reserve-sites",
        Doc::new(
            "coverage",
            "list_reserve_sites",
            "The stations where reserve sets would bring most, for 1, 2, ... sets",
            "A search over the stations; the answer says whether it was shown that no choice is better, or how far off the best may be.",
        )
        .answer("The best stations, with how sure it is that none are better"),
        show_sites,
    );
}

/// Of when, and what if.
#[derive(Debug, Clone, Copy, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct CoverageQuery {
    /// As it stood at this instant, by what the service had been told by then.
    #[serde(default, deserialize_with = "past::instant")]
    at: Option<DateTime<Utc>>,
    /// As this revision left it.
    revision: Option<i64>,
    /// Within how many minutes of travel; the agency's own target unless said.
    pub target_minutes: Option<f64>,
    /// Road distance over straight distance, 1 to 10; the agency's own unless said.
    pub detour: Option<f64>,
}

/// How many sets, and what if.
#[derive(Debug, Clone, Copy, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct SitesQuery {
    /// Up to how many reserve sets, 1 to 20; 5 unless said.
    sets: Option<usize>,
    /// Within how many minutes of travel; the agency's own target unless said.
    target_minutes: Option<f64>,
    /// Road distance over straight distance, 1 to 10; the agency's own unless said.
    detour: Option<f64>,
}

async fn show(shared: web::Data<Shared>, caller: Caller, asked: Query<CoverageQuery>) -> Result<Json<CoverageView>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let when = When {
        at: asked.at,
        revision: asked.revision,
    };
    let view = shared
        .read_current(agency, move |db| {
            let then = past::then(db, agency, when, now)?;
            let county = County::read(db, agency, (!when.is_now()).then_some(then.revision), then.at)?;
            coverage(&county, then, &asked)
        })
        .await?;
    Json::of(&view)
}

async fn show_sites(shared: web::Data<Shared>, caller: Caller, asked: Query<SitesQuery>) -> Result<Json<ReserveSites>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let turn = shared.search_turn(agency).await?;
    let (county, revision) = shared
        .read_current(agency, move |db| {
            let then = past::then(db, agency, When::default(), now)?;
            Ok((County::read(db, agency, None, now)?, then.revision))
        })
        .await?;
    // The search holds no reader.
    let found = shared
        .search(turn, move || {
            sites(&county, revision, asked.sets.unwrap_or(5), asked.target_minutes, asked.detour)
        })
        .await?;
    Json::of(&found)
}
