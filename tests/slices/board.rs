//! The board: rigs by level in each district, against the district's least number of full rigs.

use serde_json::json;

use crate::world::{World, on_both};

on_both!(the_board_counts_rigs_by_level_and_says_which_district_is_short, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    assert_eq!(crew.district_on_board(county.north).await, (2, 0, 0, false));
    assert_eq!(crew.district_on_board(county.south).await, (1, 0, 0, false));
    crew.take_out(county.set_1.ram, "bent").await.ok();
    assert_eq!(crew.district_on_board(county.north).await, (1, 1, 0, true));
    crew.take_out(county.set_2.pump, "does not start").await.ok();
    assert_eq!(crew.district_on_board(county.north).await, (0, 1, 1, true));
    assert_eq!(crew.district_on_board(county.south).await, (1, 0, 0, false));
    assert_eq!(crew.find("/v1/board").await["totals"], json!({ "full": 1, "limited": 1, "none": 1 }));
});

on_both!(the_board_shows_the_revision_that_it_was_read_at, async |world: &World| {
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    let board = crew.find("/v1/board").await;
    assert_eq!(board["revision"], json!(crew.revision().await));
    assert_eq!(board["at"], "2026-11-25T14:00:00Z");
});

on_both!(a_new_rig_is_on_the_board_at_once_without_capability, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let rig = uuid::Uuid::now_v7();
    coordinator
        .post("/v1/rigs", json!({ "id": rig, "name": "Squad 9", "station": county.station_3 }))
        .await
        .ok();
    coordinator.on_board(rig).await.is("none", &["no complement is set for this rig's class"]);
    assert_eq!(coordinator.district_on_board(county.south).await, (1, 0, 1, false));
});

on_both!(a_higher_least_number_makes_a_district_short, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .edit(&format!("/v1/districts/{}", county.south), json!({ "min_full": 2 }))
        .await
        .ok();
    assert_eq!(coordinator.district_on_board(county.south).await, (1, 0, 0, true));
});

on_both!(another_agency_sees_its_own_board_only, async |world: &World| {
    let neighbour = world.member_of(&world.ground.vale, "crew");
    world.crew().take_out(world.county().set_1.ram, "bent").await.ok();
    assert_eq!(neighbour.find("/v1/board").await["totals"], json!({ "full": 3, "limited": 0, "none": 0 }));
    assert_eq!(world.member_of(&world.ground.bare, "crew").find("/v1/board").await["districts"], json!([]));
});
