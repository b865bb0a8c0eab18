//! Repair tickets: one at a time for a piece, step by step, and back only with a reading.

use serde_json::json;
use uuid::Uuid;

use crate::world::{
    World,
    acts::{id_of, rev_of, tested},
    command, in_shop, on_both, on_rig, on_the_way,
};

/// A ticket for the cutter of Engine 1, taken out for it.
async fn ticket(world: &World) -> Uuid {
    let county = world.county();
    world.crew().take_out(county.set_1.cutter, "leaks").await.ok();
    id_of(&world.crew().open_ticket(county.set_1.cutter, county.shop, "leaks", &[]).await.record())
}

on_both!(a_ticket_is_for_a_piece_that_is_out_of_service, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let problem = crew
        .open_ticket(county.set_1.cutter, county.shop, "leaks", &[])
        .await
        .refused(409, "rule-broken");
    assert_eq!(problem["field"], "body.piece");
});

on_both!(a_piece_is_on_one_ticket_at_a_time, async |world: &World| {
    let county = world.county();
    ticket(world).await;
    world
        .crew()
        .open_ticket(county.set_1.cutter, county.shop, "leaks", &[])
        .await
        .refused(409, "rule-broken");
});

on_both!(a_piece_on_a_ticket_comes_back_through_the_ticket, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    ticket(world).await;
    let piece = officer.piece(county.set_1.cutter).await;
    let problem = officer
        .put_back(county.set_1.cutter, rev_of(&piece), "looks fine")
        .await
        .refused(409, "rule-broken");
    assert!(problem["detail"].as_str().unwrap().contains("on a repair ticket"), "{problem}");
    world.coordinator().retire(county.set_1.cutter, "no use").await.refused(409, "rule-broken");
});

on_both!(a_ticket_is_accepted_once, async |world: &World| {
    let ticket = ticket(world).await;
    let path = format!("/v1/tickets/{ticket}/accept");
    let (shop, coordinator) = (world.shop(), world.coordinator());
    let (one, two) = tokio::join!(shop.post(&path, json!({})), coordinator.post(&path, json!({})));
    assert_eq!([one.done(), two.done()].iter().filter(|done| **done).count(), 1);
    let lost = if one.done() { two } else { one };
    assert!(lost.refused(409, "rule-broken")["detail"].as_str().unwrap().contains("accepted already"));
});

on_both!(a_ticket_waits_with_a_reason_and_a_date_until_work_goes_on, async |world: &World| {
    let (ticket, shop) = (ticket(world).await, world.shop());
    shop.step(ticket, "accept", json!({})).await.ok();
    let waiting = shop
        .step(ticket, "wait", json!({ "reason": "part", "for": "seal kit", "expected_on": "2026-12-04" }))
        .await
        .record();
    assert_eq!(
        (&waiting["state"], &waiting["hold_reason"], &waiting["hold_for"], &waiting["expected_on"]),
        (&json!("on_hold"), &json!("part"), &json!("seal kit"), &json!("2026-12-04"))
    );
    // Ready when the wait ends, unless the shop promised another day.
    assert_eq!(waiting["ready_on"], "2026-12-04");
    let promised = shop.step(ticket, "promise", json!({ "on": "2026-12-07" })).await.record();
    assert_eq!(promised["ready_on"], "2026-12-07");
    let working = shop.step(ticket, "work", json!({})).await.record();
    assert_eq!(
        (&working["state"], &working["hold_reason"], &working["hold_for"], &working["expected_on"]),
        (&json!("working"), &json!(null), &json!(null), &json!(null))
    );
    shop.step(ticket, "wait", json!({ "for": "seal kit" })).await.refused(422, "field-invalid");
    shop.step(ticket, "work", json!({})).await.refused(409, "rule-broken");
});

on_both!(parts_and_labour_are_kept_in_order, async |world: &World| {
    let (ticket, shop) = (ticket(world).await, world.shop());
    let part = json!({ "line": { "kind": "part", "what": "seal kit", "quantity": 1, "unit_cost": 41.5 } });
    shop.step(ticket, "line", part.clone()).await.refused(409, "rule-broken");
    shop.step(ticket, "accept", json!({})).await.ok();
    shop.step(ticket, "line", part).await.ok();
    let unmeasured = shop
        .step(ticket, "line", json!({ "line": { "kind": "labour", "what": "resealed" } }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(unmeasured["field"], "body.line.minutes");
    let lines = shop
        .step(ticket, "line", json!({ "line": { "kind": "labour", "what": "resealed", "minutes": 45 } }))
        .await
        .record()["lines"]
        .take();
    assert_eq!(
        lines.as_array().unwrap().iter().map(|line| line["what"].as_str().unwrap()).collect::<Vec<_>>(),
        ["seal kit", "resealed"]
    );
    let outside = json!({ "line": { "kind": "outside", "what": "rod ground", "vendor": "Sparrowhale service" } });
    let summed = shop.step(ticket, "line", outside).await.record();
    assert_eq!(summed["sums"], json!({ "cost": 41.5, "unpriced": 1, "minutes": 45 }));
});

on_both!(somebody_who_may_repair_is_put_on_a_ticket_and_taken_off, async |world: &World| {
    let (ticket, shop) = (ticket(world).await, world.shop());
    let me = json!({ "member": shop.person.id });
    shop.step(ticket, "assign", me.clone()).await.refused(409, "rule-broken");
    shop.step(ticket, "accept", json!({})).await.ok();
    let taken = shop.step(ticket, "assign", me).await.record();
    assert_eq!(taken["assigned_to"]["id"], json!(shop.person.id));
    let problem = shop
        .step(ticket, "assign", json!({ "member": world.crew().person.id }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.member");
    let nobody = shop.step(ticket, "assign", json!({ "member": null })).await.record();
    assert_eq!(nobody["assigned_to"], json!(null));
});

on_both!(a_promised_day_is_not_past_and_the_first_one_stays_beside_it, async |world: &World| {
    let (ticket, shop) = (ticket(world).await, world.shop());
    shop.step(ticket, "accept", json!({})).await.ok();
    let today = chrono::NaiveDate::from_ymd_opt(2026, 11, 25).expect("the day of the tests");
    let day = |days: i64| (today + chrono::TimeDelta::days(days)).to_string();
    for wrong in [day(-3), day(800)] {
        let problem = shop.step(ticket, "promise", json!({ "on": wrong })).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.on");
    }
    shop.step(ticket, "promise", json!({ "on": day(4) })).await.ok();
    shop.step(ticket, "promise", json!({ "on": day(4) })).await.ok();
    let moved = shop.step(ticket, "promise", json!({ "on": day(9) })).await.record();
    let promise = &moved["promise"];
    assert_eq!(
        (&promise["on"], &promise["first"], &promise["moved"]),
        (&json!(day(9)), &json!(day(4)), &json!(1))
    );
    assert_eq!(promise["by"]["id"], json!(shop.person.id));
    let none = shop.step(ticket, "promise", json!({ "on": null })).await.record();
    assert_eq!(none["promise"], json!(null));
});

on_both!(what_it_came_from_is_said_also_when_the_ticket_is_closed, async |world: &World| {
    let (ticket, shop) = (ticket(world).await, world.shop());
    shop.step(ticket, "accept", json!({})).await.ok();
    shop.step(ticket, "cause", json!({ "cause": "mischief" })).await.refused(422, "field-invalid");
    shop.step(ticket, "cause", json!({ "cause": "unknown" })).await.ok();
    let rev = rev_of(&shop.find(&format!("/v1/tickets/{ticket}")).await);
    shop.post_on(&format!("/v1/tickets/{ticket}/drop"), rev, json!({ "note": "beyond repair" }))
        .await
        .ok();
    let closed = shop.step(ticket, "cause", json!({ "cause": "wrong_use" })).await.record();
    assert_eq!((&closed["state"], &closed["cause"]), (&json!("closed"), &json!("wrong_use")));
    assert_eq!(closed["allows"], json!(["ticket.cause"]));
});

on_both!(defects_found_later_join_the_ticket_and_are_closed_with_it, async |world: &World| {
    let (county, shop) = (world.county(), world.shop());
    let ticket = ticket(world).await;
    let (later, other) = (Uuid::now_v7(), Uuid::now_v7());
    for (id, piece) in [(later, county.set_1.cutter), (other, county.set_1.ram)] {
        let body = json!({ "id": id, "piece": piece, "what": "label gone", "class": "other", "severity": "usable" });
        world.officer().post("/v1/defects", body).await.ok();
    }
    shop.step(ticket, "accept", json!({})).await.ok();
    shop.step(ticket, "include", json!({ "defects": [] })).await.refused(422, "field-invalid");
    shop.step(ticket, "include", json!({ "defects": [other] })).await.refused(422, "field-invalid");
    let joined = shop.step(ticket, "include", json!({ "defects": [later, later] })).await.record();
    assert_eq!(joined["defects"], json!([later]));
    assert_eq!(shop.find(&format!("/v1/defects/{later}")).await["ticket"], json!(ticket));
    let test = json!({ "passed": true, "readings": tested()["readings"], "manual": "service manual, 7.2", "note": "resealed" });
    shop.step(ticket, "test", test).await.ok();
    let rev = rev_of(&shop.find(&format!("/v1/tickets/{ticket}")).await);
    shop.post_on(&format!("/v1/tickets/{ticket}/return"), rev, json!({})).await.ok();
    assert_eq!(shop.find(&format!("/v1/defects/{later}")).await["state"], json!("closed"));
    // What is closed is dealt with already.
    let second = {
        world.crew().take_out(county.set_1.cutter, "leaks again").await.ok();
        id_of(&world.crew().open_ticket(county.set_1.cutter, county.shop, "leaks again", &[]).await.record())
    };
    shop.step(second, "accept", json!({})).await.ok();
    shop.step(second, "include", json!({ "defects": [later] })).await.refused(409, "rule-broken");
});

on_both!(work_after_a_passed_test_needs_a_new_test, async |world: &World| {
    let (ticket, shop) = (ticket(world).await, world.shop());
    shop.step(ticket, "accept", json!({})).await.ok();
    shop.step(
        ticket,
        "test",
        json!({ "passed": true, "readings": tested()["readings"], "manual": "service manual, 7.2", "note": "resealed" }),
    )
    .await
    .ok();
    shop.step(ticket, "work", json!({})).await.ok();
    shop.step(ticket, "return", json!({})).await.refused(409, "rule-broken");
});

on_both!(a_return_is_decided_on_what_was_seen, async |world: &World| {
    let (ticket, shop) = (ticket(world).await, world.shop());
    shop.step(ticket, "accept", json!({})).await.ok();
    let tested = rev_of(
        &shop
            .step(
                ticket,
                "test",
                json!({ "passed": true, "readings": tested()["readings"], "manual": "service manual, 7.2", "note": "resealed" }),
            )
            .await
            .record(),
    );
    let path = format!("/v1/tickets/{ticket}/return");
    shop.post(&path, json!({})).await.refused(428, "revision-needed");
    shop.step(ticket, "test", json!({ "passed": false, "note": "seeps at the handle" })).await.ok();
    let conflict = shop.post_on(&path, tested, json!({})).await.refused(409, "stale");
    assert_eq!(conflict["current"]["tests"].as_array().unwrap().len(), 2);
    assert_eq!(shop.piece(world.county().set_1.cutter).await["state"], "out_of_service");
});

on_both!(a_ticket_does_not_return_a_piece_that_another_defect_holds, async |world: &World| {
    let (county, shop, crew) = (world.county(), world.shop(), world.crew());
    let cutter = county.set_1.cutter;
    let chipped = id_of(&crew.report(cutter, "blade chipped", "out_of_service").await.record());
    let ticket = id_of(&crew.open_ticket(cutter, county.shop, "blade", &[chipped]).await.record());
    crew.report(cutter, "leaks too", "out_of_service").await.ok();
    shop.step(ticket, "accept", json!({})).await.ok();
    shop.step(
        ticket,
        "test",
        json!({ "passed": true, "readings": tested()["readings"], "manual": "service manual, 7.2", "note": "resealed" }),
    )
    .await
    .ok();
    shop.step(ticket, "return", json!({})).await.refused(409, "rule-broken");
    assert_eq!(
        shop.find(&format!("/v1/tickets/{ticket}")).await["state"],
        "tested",
        "nothing of the refused return was kept"
    );
    assert_eq!(shop.find(&format!("/v1/defects/{chipped}")).await["state"], "open");
    assert_eq!(shop.piece(cutter).await["state"], "out_of_service");
});

on_both!(a_dropped_ticket_leaves_the_piece_out_and_its_defects_open, async |world: &World| {
    let (county, shop, crew) = (world.county(), world.shop(), world.crew());
    let cutter = county.set_1.cutter;
    let defect = id_of(&crew.report(cutter, "blade chipped", "out_of_service").await.record());
    let ticket = id_of(&crew.open_ticket(cutter, county.shop, "blade", &[defect]).await.record());
    world.officer().close(defect, "turned").await.refused(409, "rule-broken");
    assert_eq!(shop.step(ticket, "drop", json!({ "note": "not worth it" })).await.record()["state"], "closed");
    let defect_now = shop.find(&format!("/v1/defects/{defect}")).await;
    assert_eq!((&defect_now["state"], &defect_now["ticket"]), (&json!("open"), &json!(null)));
    let piece = shop.piece(cutter).await;
    assert_eq!(
        (piece["state"].as_str(), &piece["holds"]),
        (Some("out_of_service"), &json!([{ "by": "defect", "id": defect }]))
    );
    shop.step(ticket, "drop", json!({ "note": "again" })).await.refused(409, "rule-broken");
});

on_both!(a_defect_is_dealt_with_by_one_ticket_and_only_for_its_own_piece, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let of_ram = id_of(&crew.report(county.set_1.ram, "bent", "out_of_service").await.record());
    crew.take_out(county.set_1.cutter, "leaks").await.ok();
    let problem = crew
        .open_ticket(county.set_1.cutter, county.shop, "leaks", &[of_ram])
        .await
        .refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.defects");
    assert_eq!(
        crew.list(&format!("/v1/tickets?parent={}", county.set_1.cutter)).await.len(),
        0,
        "nothing of it was kept"
    );
});

on_both!(a_missing_piece_is_found_before_it_is_accepted_as_being_here, async |world: &World| {
    let (county, shop) = (world.county(), world.shop());
    let ticket = ticket(world).await;
    let before = shop.piece(county.set_1.cutter).await;
    shop.send(vec![command(
        "piece.report_missing",
        json!({ "id": county.set_1.cutter, "note": "not in its compartment" }),
    )])
    .await
    .ok();
    let problem = shop.step(ticket, "accept", json!({ "piece_is_here": true })).await.refused(409, "rule-broken");
    assert_eq!(problem["detail"], "E1-CUT is missing; say first where it was found");
    let piece = shop.piece(county.set_1.cutter).await;
    assert_eq!(
        (piece["state"].as_str(), &piece["place"]),
        (Some("missing"), &before["place"]),
        "missing keeps its last place"
    );
    assert_eq!(shop.find(&format!("/v1/tickets/{ticket}")).await["state"], "waiting");
    shop.send(vec![command(
        "piece.found",
        json!({ "id": county.set_1.cutter, "place": in_shop(county.shop), "note": "it lay at the shop" }),
    )])
    .await
    .ok();
    shop.step(ticket, "accept", json!({ "piece_is_here": true })).await.ok();
    assert_eq!(shop.piece(county.set_1.cutter).await["place"], in_shop(county.shop));
});

on_both!(a_returned_piece_goes_where_the_shop_sends_it, async |world: &World| {
    let (county, shop) = (world.county(), world.shop());
    let ticket = ticket(world).await;
    shop.step(ticket, "accept", json!({ "piece_is_here": true })).await.ok();
    shop.step(
        ticket,
        "test",
        json!({ "passed": true, "readings": tested()["readings"], "manual": "service manual, 7.2", "note": "resealed" }),
    )
    .await
    .ok();
    let lost = shop
        .step(ticket, "return", json!({ "to": on_rig(Uuid::now_v7()) }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(lost["field"], "body.to.rig");
    shop.step(ticket, "return", json!({ "to": on_rig(county.engine_2) })).await.ok();
    let piece = shop.piece(county.set_1.cutter).await;
    assert_eq!(
        (piece["state"].as_str(), &piece["place"]),
        (Some("in_service"), &on_the_way(on_rig(county.engine_2)))
    );
    assert_eq!(piece["state_by"], shop.person.told(), "a named person returned it");
});
