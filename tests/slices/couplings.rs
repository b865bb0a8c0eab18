//! The agency's list of coupling families, and models that name one of them.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, acts::rev_of, on_both};

fn hookup(coupling: &str) -> Value {
    json!({ "coupling": coupling, "fluid": "mineral oil", "pressure": { "value": 10400, "unit": "psi" } })
}

on_both!(a_family_stands_on_the_list_once_however_it_is_written, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let id = Uuid::now_v7();
    let add = async |name: &str, spellings: Value| {
        coordinator
            .post("/v1/couplings", json!({ "id": id, "name": name, "spellings": spellings }))
            .await
    };
    let problem = add("Flat Face SINGLE", json!([])).await.refused(409, "already-there");
    assert_eq!(problem["field"], "body.name");
    let problem = add("one-push coax", json!(["coax", "twin line"])).await.refused(409, "already-there");
    assert_eq!(problem["field"], "body.spellings[1]");
    add("--", json!([])).await.refused(422, "field-invalid");
    coordinator.get(&format!("/v1/couplings/{id}")).await.refused(404, "not-found");
    let kept = add("One-push coax", json!(["coax", "CO-AX"])).await.record();
    assert_eq!(
        (&kept["name"], &kept["spellings"], &kept["mates_with"], &kept["under_pressure"]),
        (&json!("One-push coax"), &json!(["coax"]), &json!([]), &json!("unknown"))
    );
    assert_eq!(coordinator.list("/v1/couplings").await.len(), 3);
    // Another family may not take a spelling of this one.
    let path = format!("/v1/couplings/{}", county.couplings.twin_line);
    let problem = coordinator.edit(&path, json!({ "spellings": ["Coax"] })).await.refused(409, "already-there");
    assert_eq!(problem["field"], "body.spellings[0]");
    let told = coordinator.edit(&path, json!({ "mates_with": [id], "under_pressure": "no" })).await.record();
    assert_eq!((&told["mates_with"], &told["under_pressure"]), (&json!([id]), &json!("no")));
    let history = coordinator.find(&format!("{path}/history")).await;
    assert_eq!(history["items"].as_array().map(Vec::len), Some(2), "{history}");
});

on_both!(the_list_is_changed_on_the_revision_that_was_seen_by_who_plans, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/couplings/{}", county.couplings.flat_face);
    let rev = coordinator.rev(&path).await;
    coordinator
        .patch_on(&path, rev - 1, json!({ "spellings": ["FFS"] }))
        .await
        .refused(409, "stale");
    for name in ["crew", "officer", "chief", "shop"] {
        world
            .member(name)
            .patch_on(&path, rev, json!({ "spellings": ["FFS"] }))
            .await
            .refused(403, "not-allowed");
        assert_eq!(world.member(name).list("/v1/couplings").await.len(), 2);
    }
    coordinator.patch_on(&path, rev, json!({ "spellings": ["FFS"] })).await.ok();
});

on_both!(a_model_carries_the_lists_name_and_no_other_coupling, async |world: &World| {
    let coordinator = world.coordinator();
    let add = async |coupling: &str| {
        let body = json!({ "id": Uuid::now_v7(), "name": format!("Dorvan {coupling}"), "kind": "cutter", "hookup": hookup(coupling) });
        coordinator.post("/v1/models", body).await
    };
    assert_eq!(add("FLAT FACE  single").await.record()["hookup"]["coupling"], "flat-face single");
    let problem = add("flatface singel").await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.hookup.coupling");
    let detail = problem["detail"].as_str().unwrap();
    assert!(
        detail.contains("not on the agency's list") && detail.contains("the nearest are flat-face single, twin-line"),
        "{detail}"
    );
    assert!(problem["hint"].as_str().unwrap().contains("add"), "{problem}");
    let path = format!("/v1/models/{}", world.county().models.hose);
    let mut ends = hookup("flat-face single");
    ends["tool_coupling"] = json!("bayonet");
    let problem = coordinator.edit(&path, json!({ "hookup": ends })).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.hookup.tool_coupling");
    ends["tool_coupling"] = json!("TWIN LINE");
    assert_eq!(
        coordinator.edit(&path, json!({ "hookup": ends })).await.record()["hookup"]["tool_coupling"],
        "twin-line"
    );
});

on_both!(a_family_that_is_renamed_is_renamed_in_every_model_and_no_rig_drops, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.on_board(county.engine_1).await.is("full", &[]);
    let path = format!("/v1/couplings/{}", county.couplings.flat_face);
    let rev = coordinator.rev(&path).await;
    coordinator
        .post(&format!("{path}/rename"), json!({ "name": "One-push" }))
        .await
        .refused(428, "revision-needed");
    let problem = coordinator.post_on(&format!("{path}/rename"), rev, json!({ "name": "TWIN LINE" })).await;
    assert_eq!(problem.refused(409, "already-there")["field"], "body.name");
    let renamed = coordinator
        .post_on(&format!("{path}/rename"), rev, json!({ "name": "One-push" }))
        .await
        .record();
    assert_eq!((&renamed["name"], &renamed["spellings"]), (&json!("One-push"), &json!(["flat-face single"])));
    for (model, coupling) in [(county.models.cutter, "One-push"), (county.models.twin_cutter, "twin-line")] {
        assert_eq!(coordinator.find(&format!("/v1/models/{model}")).await["hookup"]["coupling"], coupling);
    }
    coordinator.on_board(county.engine_1).await.is("full", &[]);
    // Who still writes the old name means the new one.
    let body = json!({ "id": Uuid::now_v7(), "name": "Dorvan X", "kind": "cutter", "hookup": hookup("Flat-face single") });
    assert_eq!(coordinator.post("/v1/models", body).await.record()["hookup"]["coupling"], "One-push");
    assert!(rev_of(&coordinator.find(&path).await) > rev);
});

on_both!(a_tool_of_another_family_runs_where_the_list_says_that_the_two_mate, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    coordinator.bring(county.twin_cutter, crate::world::on_rig(county.engine_1)).await.ok();
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "limited");
    let path = format!("/v1/couplings/{}", county.couplings.twin_line);
    let mates = json!({ "mates_with": [county.couplings.flat_face], "under_pressure": "no", "reason": "tried in the shop" });
    coordinator.edit(&path, mates).await.ok();
    let standing = coordinator.capability(county.engine_1).await;
    assert_eq!(standing["level"], "full");
    let remarks = standing["remarks"].to_string();
    assert!(remarks.contains("pressure"), "who changes tools there must know what it stops: {remarks}");
    coordinator.edit(&path, json!({ "mates_with": [] })).await.ok();
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "limited");
});
