//! Districts, stations, shops and rigs: names are unique, and what is in a place goes where the place goes.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, acts::id_of, on_both, on_rig};

/// Says that a piece cannot be found: whoever has it says so.
async fn gone(client: &Client, piece: Uuid) -> Reply {
    let body = json!({ "note": "not in its place" });
    client.post(&format!("/v1/pieces/{piece}/report-missing"), body).await
}

on_both!(a_name_is_taken_once_whatever_its_letters, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let id = Uuid::now_v7();
    for (path, body) in [
        ("/v1/districts", json!({ "id": id, "name": "NORTH" })),
        ("/v1/stations", json!({ "id": id, "name": "station 1", "district": county.north })),
        ("/v1/shops", json!({ "id": id, "name": "Fleet Shop" })),
        ("/v1/rigs", json!({ "id": id, "name": " engine 1 ", "station": county.station_1 })),
        (
            "/v1/rig-classes",
            json!({ "id": id, "name": "Rescue Engine", "complement": crate::world::county::truck_complement() }),
        ),
        ("/v1/couplings", json!({ "id": id, "name": "Flat Face Single" })),
        ("/v1/models", json!({ "id": id, "name": "dorvan c81", "kind": "cutter" })),
    ] {
        coordinator.post(path, body).await.refused(409, "already-there");
        coordinator.get(&format!("{path}/{id}")).await.refused(404, "not-found");
    }
    coordinator
        .post("/v1/models", json!({ "id": id, "name": "Dorvan C81", "kind": "hose" }))
        .await
        .ok();
});

on_both!(an_id_is_used_once, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let problem = coordinator
        .post("/v1/districts", json!({ "id": county.north, "name": "West" }))
        .await
        .refused(409, "already-there");
    assert_eq!(problem["field"], "body.id");
    assert_eq!(coordinator.find(&format!("/v1/districts/{}", county.north)).await["name"], "North");
});

on_both!(a_rig_that_moves_house_takes_everything_aboard_along, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let crew = world.member("crew_2");
    gone(&crew, county.set_1.ram).await.refused(403, "out-of-reach");
    coordinator
        .edit(&format!("/v1/rigs/{}", county.engine_1), json!({ "station": county.station_2 }))
        .await
        .ok();
    gone(&crew, county.set_1.ram).await.ok();
    gone(&world.member("crew_1"), county.set_1.cutter).await.refused(403, "out-of-reach");
    let there: Vec<Value> = coordinator.list(&format!("/v1/pieces?station={}", county.station_2)).await;
    assert!(there.iter().any(|piece| id_of(piece) == county.set_1.cutter));
    assert_eq!(coordinator.list(&format!("/v1/pieces?station={}&q=E1", county.station_1)).await.len(), 0);
    assert_eq!(coordinator.list(&format!("/v1/rig-standings?station={}", county.station_2)).await.len(), 2);
});

on_both!(what_is_on_its_way_to_a_rig_goes_where_the_rig_went, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.move_to(county.spare_cutter, on_rig(county.engine_1)).await.ok();
    coordinator
        .edit(&format!("/v1/rigs/{}", county.engine_1), json!({ "station": county.station_3 }))
        .await
        .ok();
    world.member("crew_1").arrive(county.spare_cutter).await.refused(403, "out-of-reach");
    assert_eq!(coordinator.list(&format!("/v1/pieces?station={}&q=R-CUT", county.station_3)).await.len(), 1);
});

on_both!(a_station_that_changes_district_takes_everything_along, async |world: &World| {
    let (county, coordinator, chief) = (world.county(), world.coordinator(), world.member("chief_north"));
    coordinator
        .edit(&format!("/v1/stations/{}", county.station_2), json!({ "district": county.south }))
        .await
        .ok();
    assert_eq!(coordinator.district_on_board(county.north).await, (1, 0, 0, true));
    assert_eq!(coordinator.district_on_board(county.south).await, (1, 1, 0, false));
    for (path, count) in [("pieces", 9), ("rigs", 2), ("rig-standings", 2), ("piece-standings", 9), ("stations", 2)] {
        assert_eq!(coordinator.list(&format!("/v1/{path}?district={}", county.south)).await.len(), count, "{path}");
    }
    gone(&chief, county.set_2.ram).await.refused(403, "out-of-reach");
    gone(&chief, county.spare_cutter).await.refused(403, "out-of-reach");
    chief.take_out(county.set_1.ram, "bent").await.ok();
});

on_both!(a_record_that_moved_with_its_station_carries_the_new_revision, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let before = coordinator.piece(county.spare_cutter).await;
    let answer = coordinator
        .edit(&format!("/v1/stations/{}", county.station_2), json!({ "district": county.south }))
        .await
        .ok();
    let after = coordinator.piece(county.spare_cutter).await;
    assert_eq!(after["rev"], answer["revision"]);
    assert_ne!(after["rev"], before["rev"]);
    assert_eq!(answer["records"][0]["kind"], "station", "the main record comes first");
});

on_both!(a_point_is_whole_and_on_the_globe, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    for (lat, lon) in [(json!(39.7), json!(null)), (json!(139.7), json!(-105.0)), (json!(39.7), json!(-200))] {
        let body = json!({ "id": Uuid::now_v7(), "name": "Station 9", "district": county.north, "lat": lat, "lon": lon });
        let problem = coordinator.post("/v1/stations", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.lat");
    }
});

on_both!(a_place_that_does_not_exist_is_named_as_the_field_at_fault, async |world: &World| {
    let (coordinator, nowhere) = (world.coordinator(), Uuid::now_v7());
    let problem = coordinator
        .post("/v1/stations", json!({ "id": Uuid::now_v7(), "name": "Station 9", "district": nowhere }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.district");
    let problem = coordinator
        .post("/v1/rigs", json!({ "id": Uuid::now_v7(), "name": "Squad 9", "station": nowhere }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.station");
});

on_both!(a_complement_is_sound_or_refused_with_the_slot_at_fault, async |world: &World| {
    let coordinator = world.coordinator();
    let refused = async |complement: Value, field: &str| {
        let body = json!({ "id": Uuid::now_v7(), "name": "New class", "complement": complement });
        assert_eq!(coordinator.post("/v1/rig-classes", body).await.refused(422, "field-invalid")["field"], field);
    };
    let slot = |id: &str, kinds: Value| json!({ "id": id, "name": "Cutter", "kinds": kinds, "required": true });
    refused(json!({ "slots": [] }), "body.complement.slots").await;
    refused(
        json!({ "slots": [slot("a", json!(["cutter"])), slot("a", json!(["ram"]))] }),
        "body.complement.slots[1].id",
    )
    .await;
    refused(json!({ "slots": [slot("a", json!([]))] }), "body.complement.slots[0].kinds").await;
    refused(json!({ "slots": [slot("a", json!(["cutter", "winch"]))] }), "body.complement.slots[0].kinds[1]").await;
    // An accessory is asked for by its name, and nothing else is.
    refused(json!({ "slots": [slot("a", json!(["accessory"]))] }), "body.complement.slots[0].gear").await;
    let mut named = slot("a", json!(["cutter"]));
    named["gear"] = json!("chains");
    refused(json!({ "slots": [named] }), "body.complement.slots[0].gear").await;
    let many: Vec<Value> = (0..41).map(|n| slot(&format!("s-{n}"), json!(["cutter"]))).collect();
    refused(json!({ "slots": many }), "body.complement.slots").await;
    let mut torque = slot("a", json!(["spreader"]));
    torque["minimums"] = json!({ "lowest_spreading_force": { "value": 9900, "unit": "in" } });
    refused(json!({ "slots": [torque] }), "body.complement.slots[0].minimums.lowest_spreading_force").await;
});

on_both!(a_class_expects_a_level_that_a_rig_can_reach_or_none, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/rig-classes/{}", county.truck_class);
    for level in ["none", "not_judged"] {
        let problem = coordinator.edit(&path, json!({ "expects": level })).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.expects");
    }
    let headline = async || coordinator.find("/v1/board").await["headline"].clone();
    // Two engines should be able to do a full extrication, and are; nobody has checked them since they came aboard.
    let told = headline().await;
    assert_eq!((&told["expected"], &told["able"]), (&json!(2), &json!(2)));
    coordinator.edit(&path, json!({ "expects": "full" })).await.ok();
    let told = headline().await;
    assert_eq!((&told["expected"], &told["able"]), (&json!(3), &json!(2)));
    assert_eq!(
        coordinator.edit(&path, json!({ "expects": null, "reason": "not decided yet" })).await.record()["expects"],
        json!(null)
    );
    let told = headline().await;
    assert_eq!((&told["expected"], &told["able"]), (&json!(2), &json!(2)), "in no count of what should be able");
});
