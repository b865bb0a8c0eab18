use std::sync::Arc;

use actix_web::{HttpResponse, http::Method, web};

use super::{
    ServicePlanRecord,
    due::DueYear,
    facts::Facts,
    feed::PlanAsk,
    ops::{EditPlan, PublishPlan, SavePlan, WithdrawPlan},
};
use crate::platform::{
    error::Fault,
    http::{Access, Api, Caller, Doc, RawBody, Shared, body},
};

/// The service plans' addresses.
pub fn routes(api: &mut Api) {
    api.list::<ServicePlanRecord>("/v1/service-plans");
    api.find::<ServicePlanRecord>("/v1/service-plans/{id}");
    api.history::<ServicePlanRecord>("/v1/service-plans/{id}/history");
    api.act::<SavePlan>(Method::POST, "/v1/service-plans");
    api.act::<EditPlan>(Method::PATCH, "/v1/service-plans/{id}");
    api.act::<PublishPlan>(Method::POST, "/v1/service-plans/{id}/publish");
    api.act::<WithdrawPlan>(Method::POST, "/v1/service-plans/{id}/withdraw");
    api.other(
        Method::POST,
        "/v1/service-plans/due",
        Doc::new(
            "service-plans",
            "list_sets_due",
            "Which sets are due in a plan, what districts can spare and what shops have; writes nothing",
            Access::Member,
        )
        .takes::<PlanAsk>()
        .answers::<DueYear>("200", "What the plan would be worked out from")
        .refuses("400", "The body cannot be read")
        .refuses("413", "The body is too large")
        .refuses("422", "A field cannot be used"),
        due,
    );
}

async fn due(shared: web::Data<Shared>, caller: Caller, body: RawBody) -> Result<HttpResponse, Fault> {
    let ask: PlanAsk = body::parse(&body.0, "body")?;
    let shared: Arc<Shared> = shared.into_inner();
    let (agency, now) = (caller.0.agency, shared.clock.now());
    let due = shared.read(move |db| Facts::load(db, agency, now)?.due(&ask)).await?;
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(due))
}
