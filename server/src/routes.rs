//! Every route and every kind of command, in the order in which a noun is looked for; and the document that says so.

use actix_web::web;

use crate::{
    platform::{
        auth::Role,
        door::Registry,
        error::Fault,
        follow::Followed,
        http::{Api, Preface},
    },
    slices::{
        accounts, agencies, alerts, api_keys, availability, bench, board, calendar_feeds, capability, check_plans, checks, couplings, coverage, crews, defects,
        demand, devices, districts, due_checks, effects, field_trials, founding, handovers, imports, invitations, map_lines, map_tiles, members, mishaps,
        models, notices, operating_cards, photos, pieces, receivers, reliability, replacements, reserves, rig_classes, rigs, rollouts, safety, service_lives,
        service_plan, sessions, sheet, shifts, shops, stations, subscriptions, swap_plan, swaps, tickets, tool_sets, uses,
    },
    sync,
    tags::TAGS,
};

/// Every route and every command kind.
pub fn api() -> Api {
    let mut api = Api::new(Registry::new(capability::follow, devices::AUTHORITY));
    // A noun is looked for in this order; what phones ask all day stands first.
    sync::routes(&mut api);
    agencies::routes(&mut api);
    members::routes(&mut api);
    devices::routes(&mut api);
    let limits = web::Data::new(sessions::SignInLimits::default());
    sessions::routes(&mut api, &limits);
    founding::routes(&mut api);
    accounts::routes(&mut api, &limits);
    invitations::routes(&mut api);
    api_keys::routes(&mut api);
    districts::routes(&mut api);
    stations::routes(&mut api);
    shops::routes(&mut api);
    couplings::routes(&mut api);
    models::routes(&mut api);
    check_plans::routes(&mut api);
    rig_classes::routes(&mut api);
    rigs::routes(&mut api);
    pieces::routes(&mut api);
    tool_sets::routes(&mut api);
    crews::routes(&mut api);
    photos::routes(&mut api);
    operating_cards::routes(&mut api);
    shifts::routes(&mut api);
    defects::routes(&mut api);
    uses::routes(&mut api);
    // Before `/v1/checks/{id}`, which would take it for an id.
    due_checks::routes(&mut api);
    checks::routes(&mut api);
    calendar_feeds::routes(&mut api);
    notices::routes(&mut api);
    mishaps::routes(&mut api);
    handovers::routes(&mut api);
    field_trials::routes(&mut api);
    swaps::routes(&mut api);
    tickets::routes(&mut api);
    capability::routes(&mut api);
    rollouts::routes(&mut api);
    receivers::routes(&mut api);
    subscriptions::routes(&mut api);
    alerts::routes(&mut api);
    effects::routes(&mut api);
    board::routes(&mut api);
    sheet::routes(&mut api);
    demand::routes(&mut api);
    map_lines::routes(&mut api);
    map_tiles::routes(&mut api);
    coverage::routes(&mut api);
    swap_plan::routes(&mut api);
    bench::routes(&mut api);
    availability::routes(&mut api);
    let histories = Followed::default();
    reliability::routes(&mut api, &histories);
    reserves::routes(&mut api, histories);
    service_lives::routes(&mut api);
    replacements::routes(&mut api);
    safety::routes(&mut api);
    service_plan::routes(&mut api);
    imports::routes(&mut api);
    let open = api.registry.open_to_programs(Role::Coordinator, false);
    api.registry.provide(api_keys::ProgramKinds(open));
    api
}

/// What the document says beside the routes.
const PREFACE: Preface = Preface {
    tags: TAGS,
    examples: include_str!("../../openapi/examples.json"),
};

/// Every kind of record and command.
pub fn registry() -> Registry {
    api().service().0
}

/// The OpenAPI document.
pub fn document() -> Result<serde_json::Value, Fault> {
    api().document(PREFACE)
}
