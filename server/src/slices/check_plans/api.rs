use actix_web::http::Method;
use fullset_care::{plan, starter::starter_plans};
use serde::Serialize;
use utoipa::ToSchema;

use super::{
    CheckPlan,
    ops::{AddCheckPlan, EditCheckPlan, WithdrawCheckPlan},
};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Json},
};

/// The check plans' addresses.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/check-plans/starters",
        Doc::new(
            "check-plans",
            "list_starter_plans",
            "Plans to begin with",
            "A plan for each kind of gear and rhythm, each step with its source or marked as common practice. None counts before somebody \
             of the agency has put it in force with `check_plan.add`.",
        )
        .answer("The plans"),
        starters,
    );
    api.list::<CheckPlan>("/v1/check-plans");
    api.find::<CheckPlan>("/v1/check-plans/{id}");
    api.history::<CheckPlan>("/v1/check-plans/{id}/history");
    api.act::<AddCheckPlan>(Method::POST, "/v1/check-plans");
    api.act::<EditCheckPlan>(Method::PATCH, "/v1/check-plans/{id}");
    api.act::<WithdrawCheckPlan>(Method::POST, "/v1/check-plans/{id}/withdraw");
}

/// A plan to begin with.
#[derive(Debug, Serialize, ToSchema)]
pub struct StarterPlan {
    /// Its name for machines, which stays: `weekly-cutter`.
    pub key: String,
    /// The plan, as `check_plan.add` takes it.
    pub plan: plan::CheckPlan,
}

/// The plans to begin with.
#[derive(Debug, Serialize, ToSchema)]
pub struct StarterPlans {
    /// All of them, by kind and rhythm; up to 200.
    #[schema(max_items = 200)]
    pub items: Vec<StarterPlan>,
}

async fn starters(_: Caller) -> Result<Json<StarterPlans>, Fault> {
    let plans = starter_plans().into_iter();
    Json::of(&StarterPlans {
        items: plans
            .map(|starter| StarterPlan {
                key: starter.key,
                plan: starter.plan,
            })
            .collect(),
    })
}
