//! The board: rigs by level in each district, against the district's least number of full rigs.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, command, county::piece, on_both, on_rig};

/// Rigs by level, all of which are judged.
fn totals(full: i64, limited: i64, none: i64) -> Value {
    json!({ "not_judged": 0, "none": none, "limited": limited, "full": full, "heavy": 0, "not_known": 0 })
}

on_both!(the_board_counts_rigs_by_level_and_says_which_district_is_short, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    assert_eq!(crew.district_on_board(county.north).await, (2, 0, 0, false));
    // The light truck is limited, as its class asks; the south wants a full rig and has none.
    assert_eq!(crew.district_on_board(county.south).await, (0, 1, 0, true));
    let south = crew.find("/v1/board").await["districts"][1].clone();
    assert_eq!(
        (&south["min_above_expected"], &south["headline"]["expected"], &south["rigs"][0]["as_expected"]),
        (&json!(true), &json!(0), &json!(true))
    );
    crew.take_out(county.set_1.ram, "bent").await.ok();
    assert_eq!(crew.district_on_board(county.north).await, (1, 1, 0, true));
    crew.take_out(county.set_2.pump, "does not start").await.ok();
    assert_eq!(crew.district_on_board(county.north).await, (0, 1, 1, true));
    assert_eq!(crew.district_on_board(county.south).await, (0, 1, 0, true));
    let board = crew.find("/v1/board").await;
    assert_eq!(board["totals"], totals(0, 2, 1));
    assert_eq!(board["headline"], json!({ "expected": 2, "able": 0, "confirmed": 0 }));
    let first = &board["districts"][0]["rigs"][0];
    assert_eq!(
        (&first["as_expected"], &board["grades_set"]),
        (&json!(false), &json!(true)),
        "what is below comes first"
    );
});

on_both!(the_board_shows_the_revision_that_it_was_read_at, async |world: &World| {
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    let board = crew.find("/v1/board").await;
    assert_eq!(board["revision"], json!(crew.revision().await));
    assert_eq!(board["at"], "2026-11-25T14:00:00.000000Z");
});

on_both!(a_new_rig_is_on_the_board_at_once_without_capability, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let rig = uuid::Uuid::now_v7();
    coordinator
        .post("/v1/rigs", json!({ "id": rig, "name": "Squad 9", "station": county.station_3 }))
        .await
        .ok();
    let words = ["0 tools can run at once, 2 needed", "no spreader aboard", "no cutter aboard", "no ram aboard"];
    coordinator.on_board(rig).await.is("none", &words);
    assert_eq!(coordinator.district_on_board(county.south).await, (0, 1, 1, true));
    // Without a class nothing is expected of it: it has a level, and stands in no denominator.
    let board = coordinator.find("/v1/board").await;
    let line = board["districts"][1]["rigs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["id"] == json!(rig))
        .unwrap()
        .clone();
    assert_eq!(
        (&line["expects"], &line["as_expected"], &line["completeness"]),
        (&json!(null), &json!(null), &json!("no_list"))
    );
    assert_eq!(board["headline"]["expected"], 2);
});

on_both!(a_higher_least_number_makes_a_district_short, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .edit(&format!("/v1/districts/{}", county.north), json!({ "min_full": 1 }))
        .await
        .ok();
    assert_eq!(coordinator.district_on_board(county.north).await, (2, 0, 0, false));
    coordinator
        .edit(&format!("/v1/districts/{}", county.north), json!({ "min_full": 3 }))
        .await
        .ok();
    assert_eq!(coordinator.district_on_board(county.north).await, (2, 0, 0, true));
    assert_eq!(coordinator.find("/v1/board").await["districts"][0]["min_above_expected"], true);
});

on_both!(another_agency_sees_its_own_board_only, async |world: &World| {
    let neighbour = world.member_of(&world.ground.vale, "crew");
    world.crew().take_out(world.county().set_1.ram, "bent").await.ok();
    assert_eq!(neighbour.find("/v1/board").await["totals"], totals(2, 1, 0));
    assert_eq!(world.member_of(&world.ground.bare, "crew").find("/v1/board").await["districts"], json!([]));
});

on_both!(the_headline_counts_front_line_rigs_that_are_not_out, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let board = async || coordinator.find("/v1/board").await;
    let all = board().await;
    assert_eq!(all["headline"], json!({ "expected": 2, "able": 2, "confirmed": 2 }));
    assert_eq!(all["apart"], json!({ "ready_reserve": 0, "stripped_reserve": 0, "out": 0 }));
    let path = format!("/v1/rigs/{}", county.engine_2);
    coordinator.edit(&path, json!({ "duty": "ready_reserve", "reason": "no crew" })).await.ok();
    let reserve = board().await;
    assert_eq!(
        (&reserve["headline"], &reserve["totals"], &reserve["apart"]["ready_reserve"]),
        (&json!({ "expected": 1, "able": 1, "confirmed": 1 }), &totals(1, 1, 0), &json!(1))
    );
    // It is as full as before, and nobody rides out with it.
    coordinator.on_board(county.engine_2).await.is("full", &[]);
    assert_eq!(coordinator.district_on_board(county.north).await, (1, 0, 0, true));
    coordinator.edit(&path, json!({ "duty": "front_line" })).await.ok();
    let out = json!({ "reason": "brakes", "at": "mechanic" });
    coordinator.post(&format!("/v1/rigs/{}/take-out", county.engine_1), out).await.ok();
    let out = board().await;
    assert_eq!(
        (&out["headline"]["expected"], &out["totals"], &out["apart"]["out"]),
        (&json!(1), &totals(1, 1, 0), &json!(1))
    );
    let line = out["districts"][0]["rigs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["id"] == json!(county.engine_1))
        .unwrap()
        .clone();
    assert_eq!((&line["out"], &line["level"]), (&json!("mechanic"), &json!("none")));
});

on_both!(a_doubt_about_a_piece_takes_the_confirmation_and_not_the_level, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .edit(
            &format!("/v1/pieces/{}", county.set_1.cutter),
            json!({ "last_service_on": null, "in_service_since": null }),
        )
        .await
        .ok();
    let board = coordinator.find("/v1/board").await;
    assert_eq!(board["headline"], json!({ "expected": 2, "able": 2, "confirmed": 1 }));
    let rigs = board["districts"][0]["rigs"].as_array().unwrap();
    let line = rigs.iter().find(|line| line["id"] == json!(county.engine_1)).unwrap();
    assert_eq!(
        (&line["level"], &line["confirmed"], &line["doubts"]),
        (
            &json!("full"),
            &json!(false),
            &json!(["cutter E1-CUT: no date of its last annual service on record"])
        )
    );
});

on_both!(until_grades_are_chosen_no_rig_is_judged_and_none_is_called_none, async |world: &World| {
    let admin = world.member_of(&world.ground.bare, "admin");
    let [district, station, rig, model] = [Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7()];
    let hookup = json!({ "battery": "28V family" });
    admin
        .apply(vec![
            command("district.add", json!({ "id": district, "name": "Whole", "min_full": 1 })),
            command("station.add", json!({ "id": station, "name": "Only station", "district": district })),
            command("rig.add", json!({ "id": rig, "name": "Engine 1", "station": station })),
            command(
                "model.add",
                json!({ "id": model, "name": "Orvane B14", "kind": "combination_tool", "hookup": hookup, "ratings": {} }),
            ),
            piece(Uuid::now_v7(), "E1-COMBI", model, on_rig(rig)),
        ])
        .await;
    let board = admin.find("/v1/board").await;
    assert_eq!(
        (&board["grades_set"], &board["totals"]["not_judged"], &board["totals"]["none"]),
        (&json!(false), &json!(1), &json!(0))
    );
    assert_eq!(board["headline"], json!({ "expected": 0, "able": 0, "confirmed": 0 }));
    admin
        .on_board(rig)
        .await
        .is("not_judged", &["the agency has not chosen its grades; nothing is judged yet"]);
    let grades = json!({ "grades": crate::world::county::grades() });
    let first = json!({ "grades": crate::world::county::grades(), "reason": "our standard names few figures" });
    admin.post("/v1/agency/grade", first).await.ok();
    assert_eq!(admin.on_board(rig).await.level, "limited");
    let board = admin.find("/v1/board").await;
    assert_eq!((&board["grades_set"], &board["totals"]), (&json!(true), &totals(0, 1, 0)));
    // The next choice overrules the first one: it says on what it rests, and why.
    admin.post("/v1/agency/grade", grades.clone()).await.refused(428, "revision-needed");
    let rev = admin.rev("/v1/agency").await;
    let refused = admin.post_on("/v1/agency/grade", rev, grades).await.refused(422, "reason-needed");
    assert_eq!(refused["field"], "body.reason");
});
