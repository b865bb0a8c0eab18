use std::{collections::HashSet, sync::Arc};

use actix_web::{http::Method, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    ops::CarryOut,
    rules::Also,
    view::{Counted, PlanInput, SwapPlanView, plan},
};
use crate::{
    platform::{
        error::{self, Fault},
        http::{Api, Caller, Doc, Json, Query, Shared},
        past::{self, When},
        record,
    },
    slices::{
        capability::Fleet,
        coverage::County,
        districts::DistrictId,
        pieces::PieceId,
        swaps::{Swap, SwapState},
    },
};

/// The swap plan's addresses.
pub fn routes(api: &mut Api) {
    api.act::<CarryOut>(Method::POST, "/v1/swap-plan");
    api.other(
        Method::GET,
        "/v1/swap-plan",
        Doc::new(
            "swap-plan",
            "show_swap_plan",
            "Which pieces to move so that full rigs reach the most demand; nothing is written",
            "A search for the fewest moves that put most demand under full rigs. `POST /v1/swap-plan` carries a plan out. Nothing is written here.",
        )
        .answer("The best plan, with what was not ruled out where the search was stopped")
        .refuses("404", "No such district in this agency"),
        show,
    );
}

/// Which rigs are to be mended.
#[derive(Debug, Clone, Copy, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct SwapPlanQuery {
    /// Only rigs of this district are mended; pieces may come from anywhere.
    #[param(value_type = Option<uuid::Uuid>)]
    district: Option<DistrictId>,
    /// `demand`: the demand that full rigs reach in time, as long as there are zones; `rigs`: full rigs, each as much as any
    /// other. Demand unless said.
    #[param(inline)]
    by: Option<Counted>,
    /// `true`: ready reserve rigs are mended, count and give like front-line rigs. Left alone unless said.
    reserves: Option<bool>,
    /// `true`: rigs that are out of service and not lent give what is aboard. Left alone unless said: it may not be at hand.
    out: Option<bool>,
}

async fn show(shared: web::Data<Shared>, caller: Caller, within: Query<SwapPlanQuery>) -> Result<Json<SwapPlanView>, Fault> {
    let shared = shared.into_inner();
    let (now, agency, actor) = (shared.clock.now(), caller.0.agency, Arc::clone(&caller.0));
    let district = within.district;
    let turn = shared.search_turn(agency).await?;
    let (fleet, county, taken, revision, arriving) = shared
        .read_current(agency, move |db| {
            let then = past::then(db, agency, When::default(), now)?;
            let county = County::read(db, agency, None, now)?;
            if district.is_some_and(|asked| county.districts.iter().all(|district| district.id != asked)) {
                return Err(Fault::new(error::NOT_FOUND, "There is no such district in this agency"));
            }
            let swaps = record::read_all::<Swap>(db, agency)?.into_iter();
            let open: HashSet<PieceId> = swaps.filter(|swap| swap.state == SwapState::Open).map(|swap| swap.piece).collect();
            let mut fleet = Fleet::read(db, agency)?.ok_or_else(|| Fault::new(error::NOT_FOUND, "The agency has not been founded yet"))?;
            let arriving = fleet.arrive();
            Ok((fleet, county, open, then.revision, arriving))
        })
        .await?;
    // The search holds no reader.
    let view = shared
        .search(turn, move || {
            plan(&PlanInput {
                fleet: &fleet,
                county: &county,
                taken,
                district,
                also: Also {
                    reserves: within.reserves.unwrap_or(false),
                    out: within.out.unwrap_or(false),
                },
                by: within.by.unwrap_or(Counted::Demand),
                actor: &actor,
                revision,
                arriving,
                now,
            })
        })
        .await?;
    Json::of(&view)
}
