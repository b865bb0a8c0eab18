//! Swaps: a stand-in serves a need or takes a slot, until the swap is ended or kept.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, World,
    acts::{id_of, rev_of},
    command,
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
        assert_eq!(won.record()["started_by"], winner.person.told());
        let told = lost.refused(409, "rule-broken");
        let detail = told["detail"].as_str().unwrap();
        assert!(
            detail.contains(&winner.person.name) && detail.contains(rig) && detail.contains("R-CUT"),
            "{detail}"
        );
        assert_eq!(one.list("/v1/swaps?state=open").await.len(), 1);
    }
);

/// The candidates for one gap of a rig; the rig must have that gap.
async fn candidates(client: &Client, rig: Uuid, gap: &str) -> Vec<Value> {
    let found = client.find(&format!("/v1/rigs/{rig}/remedies")).await;
    let gaps = found["items"].as_array().unwrap().iter();
    let asked = gaps.clone().find(|one| one["id"] == gap).unwrap_or_else(|| panic!("no gap '{gap}': {found}"));
    asked["candidates"].as_array().unwrap().clone()
}

on_both!(the_nearest_reserve_is_offered_first_and_what_does_not_fit_is_not, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let far = piece(Uuid::now_v7(), "R-CUT-3", county.models.cutter, on_shelf(county.station_3));
    let own = piece(Uuid::now_v7(), "R-CUT-1", county.models.cutter, on_shelf(county.station_1));
    coordinator.apply(vec![far, own]).await;
    assert!(coordinator.stand_ins(county.engine_1, "cut").await.is_empty(), "nothing is missing");
    coordinator.take_out(county.set_1.cutter, "stiff").await.ok();
    // For the need of the grade and for the slot of the list alike. R-TWIN lies at station 1 too, and fits nothing aboard.
    for gap in ["cut", "cutter"] {
        assert_eq!(coordinator.stand_ins(county.engine_1, gap).await, ["R-CUT-1", "R-CUT", "R-CUT-3"], "{gap}");
    }
    let second = candidates(&coordinator, county.engine_1, "cut").await[1].clone();
    assert_eq!(
        (second["distance_km"].as_f64(), second["station"].clone()),
        (Some(5.6), json!(county.station_2)),
        "5.56 km by great circle"
    );
    assert_eq!(
        (&second["restores"], &second["words"], &second["where"]),
        (
            &json!("full"),
            &json!("the rig is full with it, by the records"),
            &json!("on the shelf of Station 2")
        )
    );
});

on_both!(
    a_piece_that_is_not_ready_is_shown_with_what_it_waits_for_and_after_those_that_are,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        let near = Uuid::now_v7();
        coordinator
            .apply(vec![piece(near, "R-CUT-1", county.models.cutter, on_shelf(county.station_1))])
            .await;
        let lent = json!({ "at": "loan", "name": "Vale academy", "due_on": "2026-11-25" });
        coordinator.bring(near, lent).await.ok();
        coordinator.take_out(county.set_1.cutter, "stiff").await.ok();
        assert_eq!(coordinator.stand_ins(county.engine_1, "cut").await, ["R-CUT"]);
        let all = candidates(&coordinator, county.engine_1, "cut").await;
        let told: Vec<_> = all.iter().map(|one| (one["tag"].as_str().unwrap(), one["ready"].as_bool().unwrap())).collect();
        assert_eq!(told, [("R-CUT", true), ("R-CUT-1", false)]);
        assert_eq!(
            (&all[1]["where"], &all[1]["state"], &all[1]["call"], &all[1]["expected_on"]),
            (
                &json!("lent to Vale academy"),
                &json!("in service, due back 2026-11-25"),
                &json!("Vale academy"),
                &json!("2026-11-25")
            )
        );
        // 18:00 on the 25th in Denver is the 26th elsewhere: what is due on that day is not late yet. Six hours later it is.
        let state = async || candidates(&coordinator, county.engine_1, "cut").await[1]["state"].clone();
        world.pass(TimeDelta::hours(11));
        assert_eq!(state().await, "in service, due back 2026-11-25");
        world.pass(TimeDelta::hours(6));
        assert_eq!(state().await, "in service, 1 day overdue");
    }
);

on_both!(what_a_shop_promised_is_when_its_piece_is_expected, async |world: &World| {
    let (county, coordinator, shop) = (world.county(), world.coordinator(), world.shop());
    let near = Uuid::now_v7();
    coordinator
        .apply(vec![piece(near, "R-CUT-1", county.models.cutter, on_shelf(county.station_1))])
        .await;
    coordinator.take_out(near, "blades dull").await.ok();
    let ticket = id_of(&coordinator.open_ticket(near, county.shop, "blades dull", &[]).await.record());
    shop.step(ticket, "accept", json!({ "piece_is_here": true })).await.ok();
    coordinator.take_out(county.set_1.cutter, "stiff").await.ok();
    let expected = async || {
        let all = candidates(&coordinator, county.engine_1, "cut").await;
        all.iter().find(|one| one["tag"] == "R-CUT-1").expect("it is told of")["expected_on"].clone()
    };
    assert_eq!(expected().await, json!(null));
    shop.step(ticket, "wait", json!({ "reason": "part", "for": "blades", "expected_on": "2026-12-04" }))
        .await
        .ok();
    assert_eq!(expected().await, "2026-12-04");
    shop.step(ticket, "promise", json!({ "on": "2026-12-08" })).await.ok();
    assert_eq!(expected().await, "2026-12-08", "the shop's own word goes before the day of the part");
});

on_both!(
    a_piece_that_another_rig_needs_is_not_offered_and_one_that_it_can_spare_is,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        coordinator.take_out(county.set_1.ram, "bent").await.ok();
        assert_eq!(
            candidates(&coordinator, county.engine_1, "push").await,
            Vec::<Value>::new(),
            "the only other ram makes Engine 2 full"
        );
        coordinator
            .apply(vec![piece(Uuid::now_v7(), "E2-RAM2", county.models.ram, on_rig(county.engine_2))])
            .await;
        let offered = candidates(&coordinator, county.engine_1, "push").await;
        assert!(!offered.is_empty());
        for one in offered {
            assert_eq!(one["leaves"], "Engine 2 stays full without it");
        }
    }
);

on_both!(a_slot_that_the_list_does_not_have_is_named_as_the_field_at_fault, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let problem = crew.swap(county.engine_1, county.spare_cutter, "winch").await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.slot");
    crew.get(&format!("/v1/rigs/{}/remedies", Uuid::now_v7())).await.refused(404, "not-found");
});

/// A stand-in for Engine 1's cut, from wherever it is.
fn for_the_cut(world: &World, piece: Uuid) -> Value {
    json!({ "id": Uuid::now_v7(), "rig": world.county().engine_1, "piece": piece, "need": "cut" })
}

on_both!(a_piece_that_does_not_serve_goes_aboard_on_an_officers_reason_alone, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.member("crew_1"), world.member("officer_1"));
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    let mut twin = for_the_cut(world, county.twin_cutter);
    for client in [&crew, &officer] {
        let problem = client.post("/v1/swaps", twin.clone()).await.refused(409, "rule-broken");
        let detail = problem["detail"].as_str().unwrap();
        assert!(detail.contains("R-TWIN does not serve there") && detail.contains("twin-line"), "{detail}");
        assert_eq!(problem["field"], "body.piece");
    }
    twin["despite"] = json!(" ");
    officer.post("/v1/swaps", twin.clone()).await.refused(422, "field-invalid");
    twin["despite"] = json!("Engine 9 brings its own pump");
    crew.post("/v1/swaps", twin.clone()).await.refused(403, "not-allowed");
    let swap = officer.post("/v1/swaps", twin).await.record();
    assert_eq!((&swap["despite"], &swap["need"]), (&json!("Engine 9 brings its own pump"), &json!("cut")));
    assert_eq!(officer.piece(county.twin_cutter).await["place"], on_rig(county.engine_1));
    // Ordered aboard it is, and lifts nothing.
    assert_eq!(officer.on_board(county.engine_1).await.level, "limited");
    // Of one that serves no reason is kept.
    let mut fits = for_the_cut(world, county.spare_cutter);
    fits["need"] = json!("x".repeat(201));
    let problem = officer.post("/v1/swaps", fits.clone()).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.need");
    fits["need"] = json!("cut");
    fits["despite"] = json!("in a hurry");
    assert_eq!(officer.post("/v1/swaps", fits).await.record()["despite"], json!(null));
});

on_both!(fluids_are_never_mixed_whoever_orders_it, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let (model, tool) = (Uuid::now_v7(), Uuid::now_v7());
    let hookup = json!({ "coupling": "flat-face single", "fluid": "phosphate ester", "pressure": { "value": 10400, "unit": "psi" } });
    let opening = json!({ "cutter_opening": { "value": 8.1, "unit": "in", "standard": "NFPA 1936", "edition": "2015" } });
    coordinator
        .apply(vec![
            command(
                "model.add",
                json!({ "id": model, "name": "Kessim PE", "kind": "cutter", "hookup": hookup, "ratings": opening }),
            ),
            piece(tool, "R-PE", model, on_shelf(county.station_1)),
        ])
        .await;
    coordinator.take_out(county.set_1.cutter, "stiff").await.ok();
    assert!(!coordinator.stand_ins(county.engine_1, "cut").await.contains(&"R-PE".to_owned()));
    let mut body = for_the_cut(world, tool);
    body["despite"] = json!("there is no other");
    let problem = coordinator.post("/v1/swaps", body.clone()).await.refused(409, "rule-broken");
    assert!(problem["detail"].as_str().unwrap().contains("Fluids are never mixed"), "{problem}");
    body["need"] = json!(null);
    coordinator.post("/v1/swaps", body).await.refused(409, "rule-broken");
    assert_eq!(coordinator.piece(tool).await["place"], on_shelf(county.station_1));
});

on_both!(
    a_stand_in_from_another_station_is_on_its_way_unless_it_is_said_to_be_there,
    async |world: &World| {
        let (county, crew) = (world.county(), world.crew());
        let own = Uuid::now_v7();
        world
            .coordinator()
            .apply(vec![piece(own, "R-CUT-1", county.models.cutter, on_shelf(county.station_1))])
            .await;
        crew.take_out(county.set_1.cutter, "stiff").await.ok();
        crew.post("/v1/swaps", for_the_cut(world, county.spare_cutter)).await.ok();
        assert_eq!(crew.piece(county.spare_cutter).await["place"], on_the_way(on_rig(county.engine_1)));
        assert_eq!(crew.on_board(county.engine_1).await.level, "limited", "it is not there yet");
        crew.post("/v1/swaps", for_the_cut(world, own)).await.ok();
        assert_eq!(crew.piece(own).await["place"], on_rig(county.engine_1), "off the own shelf");
        assert_eq!(crew.on_board(county.engine_1).await.level, "full");
    }
);

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
        .is("limited", &["cutter E1-CUT: out of service since 2026-11-25 07:00, “stiff”"]);
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
