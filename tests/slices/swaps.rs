//! Swaps: a stand-in takes a slot, until the swap is ended or kept.

use serde_json::json;
use uuid::Uuid;

use crate::world::{
    World,
    acts::{id_of, rev_of},
    county::piece,
    on_both, on_rig, on_shelf, on_the_way,
};

on_both!(
    two_people_take_the_last_reserve_at_once_and_the_second_is_told_who_has_it,
    async |world: &World| {
        let county = world.county();
        let (one, two) = (world.member("crew_1"), world.member("crew_2"));
        let (first, second) = tokio::join!(
            one.swap(county.engine_1, county.spare_cutter, "cutter"),
            two.swap(county.engine_2, county.spare_cutter, "cutter"),
        );
        let (won, lost, winner, rig) = match (first.done(), second.done()) {
            (true, false) => (first, second, &one, "Engine 1"),
            (false, true) => (second, first, &two, "Engine 2"),
            both => panic!("exactly one has it, not {both:?}"),
        };
        assert_eq!(won.record()["started_by"], json!(winner.person.name));
        let told = lost.refused(409, "rule-broken");
        let detail = told["detail"].as_str().unwrap();
        assert!(
            detail.contains(&winner.person.name) && detail.contains(rig) && detail.contains("R-CUT"),
            "{detail}"
        );
        assert_eq!(one.list("/v1/swaps?state=open").await.len(), 1);
    }
);

on_both!(the_nearest_reserve_is_offered_first_and_what_does_not_fit_is_not, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let far = piece(Uuid::now_v7(), "R-CUT-3", county.models.cutter, on_shelf(county.station_3));
    let own = piece(Uuid::now_v7(), "R-CUT-1", county.models.cutter, on_shelf(county.station_1));
    coordinator.apply(vec![far, own]).await;
    assert_eq!(coordinator.stand_ins(county.engine_1, "cutter").await, ["R-CUT-1", "R-CUT", "R-CUT-3"]);
    let first = coordinator.find(&format!("/v1/rigs/{}/stand-ins?slot=cutter", county.engine_1)).await["items"][1].clone();
    assert_eq!(
        (first["distance_km"].as_f64(), first["station"].clone()),
        (Some(5.6), json!(county.station_2)),
        "5.56 km by great circle"
    );
    assert_eq!(first["restores"], "full");
});

on_both!(a_piece_that_another_rig_needs_is_not_offered, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    assert_eq!(
        crew.stand_ins(county.engine_1, "ram").await,
        Vec::<String>::new(),
        "the only other ram makes Engine 2 full"
    );
});

on_both!(a_slot_that_the_complement_does_not_have_is_not_found, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.get(&format!("/v1/rigs/{}/stand-ins?slot=winch", county.engine_1))
        .await
        .refused(404, "not-found");
    let problem = crew.swap(county.engine_1, county.spare_cutter, "winch").await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.slot");
});

on_both!(a_stand_in_must_be_in_service_and_here, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    officer.take_out(county.spare_cutter, "stiff").await.ok();
    officer.swap(county.engine_1, county.spare_cutter, "cutter").await.refused(409, "rule-broken");
    officer.bring(county.spare_hose, json!({ "at": "loan", "name": "Vale academy" })).await.ok();
    officer.swap(county.engine_1, county.spare_hose, "hose").await.refused(409, "rule-broken");
    officer.swap(county.engine_1, county.set_1.cutter, "cutter").await.refused(409, "rule-broken");
});

on_both!(taking_a_piece_off_another_rig_is_a_decision_on_what_was_seen, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    crew.swap(county.engine_1, county.set_2.ram, "ram").await.refused(403, "not-allowed");
    officer.swap(county.engine_1, county.set_2.ram, "ram").await.refused(428, "revision-needed");
    let rev = rev_of(&officer.piece(county.set_2.ram).await);
    let body = json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "piece": county.set_2.ram, "slot": "ram" });
    officer.post_on("/v1/swaps", rev - 1, body.clone()).await.refused(409, "stale");
    officer.post_on("/v1/swaps", rev, body).await.ok();
    officer.on_board(county.engine_2).await.is("limited", &["no ram aboard"]);
});

on_both!(a_stand_in_on_its_way_counts_when_it_has_arrived, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    let body = json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "piece": county.spare_cutter, "slot": "cutter", "on_the_way": true });
    crew.post("/v1/swaps", body).await.ok();
    assert_eq!(crew.piece(county.spare_cutter).await["place"], on_the_way(on_rig(county.engine_1)));
    crew.on_board(county.engine_1)
        .await
        .is("limited", &["cutter E1-CUT: out of service since 2026-11-25 07:00, stiff"]);
    crew.arrive(county.spare_cutter).await.ok();
    crew.on_board(county.engine_1).await.is("full", &[]);
});

on_both!(a_swap_that_is_kept_makes_the_rig_the_stand_ins_home, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let swap = id_of(&officer.swap(county.engine_1, county.spare_cutter, "cutter").await.record());
    assert_eq!(officer.piece(county.spare_cutter).await["home"], on_shelf(county.station_2));
    assert_eq!(officer.finish_swap(swap, "keep").await.record()["state"], "kept");
    let piece = officer.piece(county.spare_cutter).await;
    assert_eq!((&piece["home"], &piece["place"]), (&on_rig(county.engine_1), &on_rig(county.engine_1)));
    officer.finish_swap(swap, "end").await.refused(409, "rule-broken");
});

on_both!(a_swap_is_ended_on_the_revision_that_was_seen, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let swap = id_of(&officer.swap(county.engine_1, county.spare_cutter, "cutter").await.record());
    officer.post(&format!("/v1/swaps/{swap}/end"), json!({})).await.refused(428, "revision-needed");
    officer.post_on(&format!("/v1/swaps/{swap}/end"), 1, json!({})).await.refused(409, "stale");
    officer.finish_swap(swap, "end").await.ok();
    officer.finish_swap(swap, "end").await.refused(409, "rule-broken");
});

on_both!(ending_a_swap_does_not_bring_back_what_was_retired_meanwhile, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let swap = id_of(&coordinator.swap(county.engine_1, county.spare_cutter, "cutter").await.record());
    coordinator.retire(county.spare_cutter, "broke in two").await.ok();
    coordinator.finish_swap(swap, "end").await;
    let piece = coordinator.piece(county.spare_cutter).await;
    assert_eq!((piece["state"].as_str(), &piece["place"]), (Some("retired"), &json!({ "at": "retired" })));
});
