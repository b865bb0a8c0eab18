use std::{collections::HashMap, sync::Arc};

use actix_web::{
    HttpResponse,
    http::{Method, header},
    web,
};
use futures_util::stream;
use utoipa::openapi::schema::Type;

use super::{
    ServicePlanRecord, calendar,
    due::DueYear,
    facts::Facts,
    feed::PlanAsk,
    ops::{EditPlan, PublishPlan, SavePlan, WithdrawPlan},
    work::{PlanLine, work},
};
use crate::{
    platform::{
        error::Fault,
        http::{Api, Body, Caller, Doc, Json, PathId, Shared},
        past::{self, When},
        record::{self, Record as _},
    },
    slices::shops::{Shop, ShopId},
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
            "The first step of a service plan: what is due, by when, which pieces would be away, and what each district can spare.",
        )
        .answer("What the plan would be worked out from"),
        due,
    );
    api.other(
        Method::POST,
        "/v1/service-plans/work",
        Doc::new(
            "service-plans",
            "work_out_service_plan",
            "Work a plan out: lines of `progress`, at last one with the `answer` or a `problem`; writes nothing. To stop, close the \
             connection",
            "Searches for dates within the bounds that were asked. The answer comes as lines while it works; the last one has the \
             plan and whether it was shown that none is better.",
        )
        .answers_lines::<PlanLine>("A line at a time, each a JSON of its own"),
        work_out,
    );
    api.other(
        Method::GET,
        "/v1/service-plans/{id}/calendar.ics",
        Doc::new(
            "service-plans",
            "show_service_plan_calendar",
            "A plan as an iCalendar file: an all-day event for each visit",
            "For calendars that subscribe to a plan. Each event keeps its id when the plan changes.",
        )
        .answers_raw("200", "text/calendar", "RFC 5545")
        .tells(&["200"], "ETag", Type::String, "The plan's revision, in quotes"),
        ics,
    );
}

async fn due(shared: web::Data<Shared>, caller: Caller, Body(ask): Body<PlanAsk>) -> Result<Json<DueYear>, Fault> {
    ask.bounded("body")?;
    let shared: Arc<Shared> = shared.into_inner();
    let (agency, now) = (caller.0.agency, shared.clock.now());
    let due = shared.read_current(agency, move |db| Facts::load(db, agency, now)?.due(&ask)).await?;
    Json::of(&due)
}

async fn work_out(shared: web::Data<Shared>, caller: Caller, Body(ask): Body<PlanAsk>) -> Result<HttpResponse, Fault> {
    ask.bounded("body")?;
    let shared: Arc<Shared> = shared.into_inner();
    let (agency, now) = (caller.0.agency, shared.clock.now());
    let place = shared.searches.stand()?;
    let (ask, due) = shared
        .read_current(agency, move |db| {
            let due = Facts::load(db, agency, now)?.due(&ask)?;
            Ok((ask, due))
        })
        .await?;
    if ask.shops.is_empty() {
        return Err(Fault::field("body.shops", "Name the shops that serve the sets, with their hours"));
    }
    let lines = work(shared, (agency, place), ask, due);
    let lines = stream::unfold(lines, |mut lines| async move { lines.recv().await.map(|line| (Ok::<_, Fault>(line), lines)) });
    Ok(HttpResponse::Ok()
        .content_type("application/x-ndjson")
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header(("X-Accel-Buffering", "no"))
        .streaming(Box::pin(lines)))
}

async fn ics(shared: web::Data<Shared>, caller: Caller, plan: PathId<ServicePlanRecord>) -> Result<HttpResponse, Fault> {
    let (agency, now) = (caller.0.agency, shared.clock.now());
    let shared: Arc<Shared> = shared.into_inner();
    let (file, rev) = shared
        .read(move |db| {
            let row = record::find(db, agency, ServicePlanRecord::KIND, plan.id)?
                .filter(|row| !row.gone)
                .ok_or_else(PathId::<ServicePlanRecord>::missing)?;
            let plan: ServicePlanRecord = row.read()?;
            let shops = record::all(db, agency, Shop::KIND)?;
            let shops: HashMap<ShopId, String> = shops
                .iter()
                .map(|row| row.read::<Shop>().map(|shop| (shop.id, shop.name)))
                .collect::<Result<_, _>>()?;
            let last = When {
                revision: Some(row.rev),
                at: None,
            };
            let changed_at = past::then(db, agency, last, now)?.at;
            Ok((calendar::file(&plan, &shops, changed_at), row.rev))
        })
        .await?;
    Ok(HttpResponse::Ok()
        .content_type("text/calendar; charset=utf-8")
        .insert_header((header::CONTENT_DISPOSITION, "attachment; filename=\"service-plan.ics\""))
        .insert_header((header::ETAG, format!("\"{rev}\"")))
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .body(file))
}
