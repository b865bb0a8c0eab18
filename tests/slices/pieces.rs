//! Pieces: one place each, out of service always wins, tags are never used again.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, acts::rev_of, begins, command, county::piece, in_shop, on_both, on_rig, on_shelf, on_the_way};

on_both!(a_tag_is_never_used_again, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let again = |tag: &str| piece(Uuid::now_v7(), tag, county.models.cutter, on_shelf(county.station_1))["body"].clone();
    coordinator.post("/v1/pieces", again("R-CUT")).await.refused(409, "already-there");
    coordinator.post("/v1/pieces", again("r-cut")).await.refused(409, "already-there");
    coordinator.retire(county.spare_cutter, "orphan parts; cut up").await.ok();
    coordinator.post("/v1/pieces", again("R-CUT")).await.refused(409, "already-there");
    coordinator.post("/v1/pieces", again(" R-CUT ")).await.refused(409, "already-there");
    coordinator.post("/v1/pieces", again("R-CUT-2")).await.ok();
});

on_both!(two_agencies_may_use_the_same_tag, async |world: &World| {
    let other = world.member_of(&world.ground.vale, "crew");
    let theirs = other.list("/v1/pieces?q=R-CUT").await;
    assert_eq!(theirs.len(), 1, "{theirs:?}");
    assert_eq!(theirs[0]["id"], json!(world.ground.vale.county.spare_cutter));
});

on_both!(a_retired_piece_stays_retired, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let retired = coordinator.retire(county.spare_cutter, "worn out").await.record();
    assert_eq!((retired["state"].as_str(), &retired["place"]), (Some("retired"), &json!({ "at": "retired" })));
    let rev = rev_of(&retired);
    coordinator.take_out(county.spare_cutter, "found it again").await.refused(409, "rule-broken");
    coordinator
        .put_back(county.spare_cutter, rev, "found it again")
        .await
        .refused(409, "rule-broken");
    coordinator
        .move_to(county.spare_cutter, on_shelf(county.station_1))
        .await
        .refused(409, "rule-broken");
    coordinator
        .report(county.spare_cutter, "still about", "usable")
        .await
        .refused(409, "rule-broken");
    coordinator
        .swap(county.engine_1, county.spare_cutter, "cutter")
        .await
        .refused(409, "rule-broken");
    coordinator.retire(county.spare_cutter, "again").await.refused(409, "rule-broken");
});

on_both!(out_of_service_beats_a_return_that_had_not_seen_it, async |world: &World| {
    let (cutter, crew, shop) = (world.county().set_1.cutter, world.crew(), world.shop());
    let seen = rev_of(&crew.take_out(cutter, "stiff").await.record());
    crew.take_out(cutter, "and it leaks at the handle").await.ok();
    let conflict = shop.put_back(cutter, seen, "loosened").await.refused(409, "stale");
    assert_eq!(conflict["current"]["state_reason"], "and it leaks at the handle", "both sides are shown");
    assert_eq!(shop.piece(cutter).await["state"], "out_of_service");
    let now = rev_of(&conflict["current"]);
    shop.put_back(cutter, now, "handle resealed").await.ok();
    assert_eq!(shop.piece(cutter).await["state"], "in_service");
});

on_both!(an_old_note_that_arrives_late_still_takes_the_piece_out, async |world: &World| {
    let (cutter, crew, shop) = (world.county().set_1.cutter, world.crew(), world.shop());
    let rev = rev_of(&crew.take_out(cutter, "stiff").await.record());
    world.pass(TimeDelta::minutes(30));
    shop.put_back(cutter, rev, "loosened").await.ok();
    world.pass(TimeDelta::minutes(30));
    let mut late = command("piece.take_out", json!({ "id": cutter, "reason": "seen leaking in the basement" }));
    late["at"] = json!(begins() + TimeDelta::minutes(10));
    crew.apply(vec![late]).await;
    let piece = shop.piece(cutter).await;
    assert_eq!(
        (piece["state"].as_str(), piece["state_reason"].as_str()),
        (Some("out_of_service"), Some("seen leaking in the basement"))
    );
    assert_eq!(piece["state_since"], "2026-11-25T14:10:00.000000Z", "the time of the act, not of its arrival");
});

on_both!(what_is_out_already_keeps_its_first_time_and_gets_the_newer_reason, async |world: &World| {
    let (cutter, crew) = (world.county().set_1.cutter, world.crew());
    crew.take_out(cutter, "stiff").await.ok();
    world.pass(TimeDelta::minutes(5));
    let piece = crew.take_out(cutter, "leaks").await.record();
    assert_eq!(
        (piece["state_since"].as_str(), piece["state_reason"].as_str()),
        (Some("2026-11-25T14:00:00.000000Z"), Some("leaks"))
    );
});

on_both!(a_return_names_the_revision_that_it_was_decided_on, async |world: &World| {
    let (cutter, officer) = (world.county().set_1.cutter, world.officer());
    officer.take_out(cutter, "stiff").await.ok();
    let path = format!("/v1/pieces/{cutter}/return");
    officer.post(&path, json!({ "note": "loosened" })).await.refused(428, "revision-needed");
    assert_eq!(officer.piece(cutter).await["state"], "out_of_service");
});

on_both!(a_piece_in_service_is_not_returned, async |world: &World| {
    let (cutter, officer) = (world.county().set_1.cutter, world.officer());
    let rev = rev_of(&officer.piece(cutter).await);
    officer.put_back(cutter, rev, "it was fine").await.refused(409, "rule-broken");
});

on_both!(a_piece_on_its_way_counts_nowhere, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    officer.move_to(county.set_1.ram, on_rig(county.engine_2)).await.ok();
    assert_eq!(officer.piece(county.set_1.ram).await["place"], on_the_way(on_rig(county.engine_2)));
    officer.on_board(county.engine_1).await.is("limited", &["no ram aboard"]);
    let there = officer.capability(county.engine_2).await;
    assert_eq!(there["margin"], 0, "it does not yet make Engine 2 safer: {there}");
    officer.take_out(county.set_2.ram, "bent").await.ok();
    officer
        .on_board(county.engine_2)
        .await
        .is("limited", &["ram E2-RAM: out of service since 2026-11-25 07:00, “bent”"]);
    officer.arrive(county.set_1.ram).await.ok();
    officer.on_board(county.engine_2).await.is("full", &[]);
    officer.arrive(county.set_1.ram).await.refused(409, "rule-broken");
});

on_both!(a_move_shows_the_piece_at_one_place_only, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    officer.bring(county.set_1.ram, on_shelf(county.station_3)).await.ok();
    assert_eq!(officer.list(&format!("/v1/pieces?rig={}&q=E1-RAM", county.engine_1)).await.len(), 0);
    assert_eq!(officer.list(&format!("/v1/pieces?station={}&q=E1-RAM", county.station_3)).await.len(), 1);
    officer.bring(county.set_1.ram, on_shelf(county.station_3)).await.refused(409, "rule-broken");
});

on_both!(a_move_to_nowhere_is_refused, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    for to in [json!({ "at": "retired" }), on_the_way(on_shelf(county.station_1))] {
        let problem = officer.move_to(county.set_1.ram, to).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.to.at");
    }
    let problem = officer.move_to(county.set_1.ram, on_shelf(county.engine_1)).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.to.station");
    let problem = officer
        .move_to(county.set_1.ram, in_shop(world.ground.vale.county.shop))
        .await
        .refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.to.shop", "another agency's shop does not exist");
});

on_both!(an_edit_that_had_not_seen_the_last_one_is_a_conflict_with_both_sides, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/pieces/{}", county.set_1.cutter);
    let seen = coordinator.rev(&path).await;
    coordinator.patch_on(&path, seen, json!({ "serial": "K-77" })).await.ok();
    let conflict = coordinator.patch_on(&path, seen, json!({ "serial": "K-71" })).await.refused(409, "stale");
    assert_eq!(conflict["current"]["serial"], "K-77");
    coordinator.patch_on(&path, rev_of(&conflict["current"]), json!({ "serial": null })).await.ok();
    assert_eq!(coordinator.find(&path).await["serial"], json!(null));
});

on_both!(what_an_edit_leaves_out_stays, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/pieces/{}", county.set_1.cutter);
    let mut before = coordinator.find(&path).await;
    let mut after = coordinator.edit(&path, json!({ "note": "blade pair of 2026" })).await.record();
    assert_eq!(after["note"], "blade pair of 2026");
    for record in [&mut before, &mut after] {
        record["note"].take();
        record["rev"].take();
    }
    assert_eq!(before, after);
});

on_both!(a_piece_belongs_to_one_set, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let (first, second) = (Uuid::now_v7(), Uuid::now_v7());
    let pieces = [county.set_1.cutter, county.set_1.spreader];
    coordinator
        .post("/v1/tool-sets", json!({ "id": first, "name": "Set A", "pieces": pieces }))
        .await
        .ok();
    assert_eq!(coordinator.piece(county.set_1.cutter).await["tool_set"], json!(first));
    let problem = coordinator
        .post("/v1/tool-sets", json!({ "id": second, "name": "Set B", "pieces": pieces }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.pieces[0]");
    coordinator.get(&format!("/v1/tool-sets/{second}")).await.refused(404, "not-found");
    coordinator
        .edit(&format!("/v1/tool-sets/{first}"), json!({ "drop": [county.set_1.cutter] }))
        .await
        .ok();
    assert_eq!(coordinator.piece(county.set_1.cutter).await["tool_set"], json!(null));
    coordinator
        .post("/v1/tool-sets", json!({ "id": second, "name": "Set B", "pieces": [county.set_1.cutter] }))
        .await
        .ok();
    assert_eq!(coordinator.piece(county.set_1.cutter).await["tool_set"], json!(second));
});

on_both!(who_lends_a_piece_is_said_changed_and_taken_back, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let mut body = piece(Uuid::now_v7(), "LOANER-1", county.models.cutter, on_shelf(county.station_1))["body"].clone();
    body["lent_by"] = json!({ "name": "  " });
    let problem = coordinator.post("/v1/pieces", body.clone()).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.lent_by.name");
    body["lent_by"] = json!({ "name": " Sparrowhale service ", "due_on": "2026-12-04" });
    let lent = coordinator.post("/v1/pieces", body).await.record();
    assert_eq!(lent["lent_by"], json!({ "name": "Sparrowhale service", "due_on": "2026-12-04" }));
    let path = format!("/v1/pieces/{}", lent["id"].as_str().unwrap());
    let noted = coordinator.patch_on(&path, rev_of(&lent), json!({ "note": "blades of theirs" })).await.record();
    assert_eq!(noted["lent_by"], lent["lent_by"], "what an edit leaves out stays");
    let bought = coordinator.patch_on(&path, rev_of(&noted), json!({ "lent_by": null })).await.record();
    assert_eq!(bought["lent_by"], json!(null));
});

on_both!(
    a_piece_is_added_where_one_can_be_and_its_home_is_where_it_comes_back_to,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        let model = county.models.cutter;
        let add = async |tag: &str, place: Value, home: Option<Value>| {
            let mut body = json!({ "id": Uuid::now_v7(), "tag": tag, "model": model, "place": place });
            if let Some(home) = home {
                body["home"] = home;
            }
            coordinator.post("/v1/pieces", body).await
        };
        let shelf = on_shelf(county.station_1);
        for (place, home, field) in [
            (json!({ "at": "retired" }), None, "body.place.at"),
            (shelf.clone(), Some(json!({ "at": "retired" })), "body.home.at"),
            (shelf.clone(), Some(on_the_way(shelf.clone())), "body.home.at"),
        ] {
            let problem = add("N-1", place, home).await.refused(422, "field-invalid");
            assert_eq!(problem["field"], field, "{problem}");
        }
        let ordered = add("N-1", on_the_way(shelf.clone()), None).await.record();
        assert_eq!((&ordered["place"], &ordered["home"]), (&on_the_way(shelf.clone()), &shelf));
    }
);
