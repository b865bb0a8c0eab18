//! What a record allows is what the service then does: each act is tried on a record in each of its states. What is in `allows` is
//! not refused for the state of the record, what is not in it is.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, World,
    acts::{id_of, looked, looked_over, rev_of, tested},
    command, expecting, on_both, on_shelf,
};

/// The acts of a noun, each with the body that is right for a record.
type Acts = Vec<(&'static str, Value)>;

/// What a record allows, as it is read.
fn allowed(record: &Value) -> BTreeSet<String> {
    let names = record["allows"].as_array().unwrap_or_else(|| panic!("nothing says what is allowed: {record}"));
    names.iter().map(|name| name.as_str().expect("a name").to_owned()).collect()
}

/// Why an act would be refused, by the members who may decide most: none where one of them may.
async fn refusal(members: &[Client], act: &Value) -> Option<Value> {
    let mut last = None;
    for member in members {
        let told = member.post("/v1/effects", json!({ "commands": [act] })).await.ok();
        let code = told["problem"]["code"].as_str().map(str::to_owned);
        match code.as_deref() {
            None => return None,
            Some("not-allowed") => {}
            // What a release rests on is asked of a record that allows it.
            Some("evidence-missing") => return None,
            Some(_) => last = Some(told["problem"].clone()),
        }
    }
    Some(last.unwrap_or_else(|| panic!("nobody may send {act}")))
}

/// Tries all acts on a record; answers what it allows.
async fn held(world: &World, what: &str, path: &str, acts: impl Fn(Uuid) -> Acts) -> BTreeSet<String> {
    let members = [world.admin(), world.shop(), world.officer()];
    let record = world.admin().find(path).await;
    let (allows, acts) = (allowed(&record), acts(id_of(&record)));
    for name in &allows {
        assert!(acts.iter().any(|(kind, _)| kind == name), "{what}: nobody tries {name}");
    }
    for (kind, body) in acts {
        let act = expecting(command(kind, body), rev_of(&record));
        match refusal(&members, &act).await {
            None => assert!(allows.contains(kind), "{what}: {kind} would be done, and is not in {allows:?}"),
            Some(problem) => {
                assert!(!allows.contains(kind), "{what}: {kind} is in {allows:?} and refused: {problem}");
                assert_eq!(problem["code"], "rule-broken", "{what}: {kind}: {problem}");
            }
        }
    }
    allows
}

/// Tries the acts on records in the states that are named; every act is allowed by one of them and refused by another.
async fn held_in_each(world: &World, path: &str, stage: &[(&str, Uuid)], acts: impl Fn(Uuid) -> Acts) {
    let mut seen = Vec::new();
    for (what, id) in stage {
        seen.push(held(world, what, &format!("{path}/{id}"), &acts).await);
    }
    for (kind, _) in acts(Uuid::now_v7()) {
        assert!(seen.iter().any(|allows| allows.contains(kind)), "{kind} is allowed nowhere");
        assert!(!seen.iter().all(|allows| allows.contains(kind)), "{kind} is allowed everywhere");
    }
}

on_both!(a_piece_allows_what_is_then_done, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let (one, two) = (county.set_1, county.set_2);
    officer.move_to(county.spare_hose, on_shelf(county.station_1)).await.ok();
    officer.bring(county.combi_3, json!({ "at": "loan", "name": "the next county" })).await.ok();
    crew.take_out(one.ram, "stiff").await.ok();
    crew.report(one.spreader, "arm bent", "out_of_service").await.ok();
    for piece in [two.cutter, two.spreader] {
        crew.take_out(piece, "leaks").await.ok();
        crew.open_ticket(piece, county.shop, "leaks", &[]).await.ok();
    }
    for piece in [two.ram, two.spreader] {
        let gone = json!({ "note": "not in its place" });
        crew.post(&format!("/v1/pieces/{piece}/report-missing"), gone).await.ok();
    }
    world.coordinator().retire(county.twin_cutter, "worn out").await.ok();
    let stage = [
        ("in service on a rig", one.cutter),
        ("in service on a shelf", county.spare_cutter),
        ("in service, on its way", county.spare_hose),
        ("in service, lent", county.combi_3),
        ("out of service", one.ram),
        ("out of service for a defect", one.spreader),
        ("out of service on a ticket", two.cutter),
        ("missing", two.ram),
        ("missing, on a ticket", two.spreader),
        ("retired", county.twin_cutter),
    ];
    let there = on_shelf(county.station_3);
    held_in_each(world, "/v1/pieces", &stage, |id| {
        vec![
            ("piece.take_out", json!({ "id": id, "reason": "dropped" })),
            ("piece.return", json!({ "id": id, "note": "fine", "evidence": looked_over() })),
            ("piece.move", json!({ "id": id, "to": there, "arrived": true })),
            ("piece.arrive", json!({ "id": id })),
            ("piece.report_missing", json!({ "id": id, "note": "gone" })),
            ("piece.found", json!({ "id": id, "place": there, "note": "behind the seat" })),
            (
                "piece.serviced",
                json!({ "id": id, "on": "2026-11-20", "by_whom": "the shop", "evidence": looked_over() }),
            ),
            ("piece.edit", json!({ "id": id, "note": "blue tape" })),
            ("piece.retire", json!({ "id": id, "reason": "worn", "disposal": "cut up" })),
            (
                "defect.report",
                json!({ "id": Uuid::now_v7(), "piece": id, "what": "bent", "class": "deformation", "severity": "out_of_service" }),
            ),
            ("ticket.open", json!({ "id": Uuid::now_v7(), "piece": id, "shop": county.shop, "what": "bent" })),
            (
                "swap.start",
                json!({ "id": Uuid::now_v7(), "piece": id, "rig": county.truck_3, "on_the_way": false, "despite": "ordered" }),
            ),
        ]
    })
    .await;
});

on_both!(a_defect_allows_what_is_then_done, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let report = async |piece: Uuid, severity: &str| id_of(&officer.report(piece, "scratched", severity).await.record());
    let usable = report(county.set_1.cutter, "usable").await;
    let extended = report(county.set_1.ram, "usable").await;
    let path = format!("/v1/defects/{extended}");
    let rev = officer.rev(&path).await;
    officer
        .post_on(&format!("{path}/extend"), rev, json!({ "reason": "the part comes on Friday" }))
        .await
        .ok();
    let out = report(county.set_1.spreader, "out_of_service").await;
    let on_ticket = report(county.set_2.cutter, "out_of_service").await;
    crew.open_ticket(county.set_2.cutter, county.shop, "scratched", &[on_ticket]).await.ok();
    let closed = report(county.set_2.ram, "out_of_service").await;
    world.shop().close(closed, "polished").await.ok();
    let stage = [
        ("usable", usable),
        ("usable, put off", extended),
        ("out of service", out),
        ("on a ticket", on_ticket),
        ("closed", closed),
    ];
    held_in_each(world, "/v1/defects", &stage, |id| {
        vec![
            ("defect.note", json!({ "id": id, "text": "still there" })),
            ("defect.extend", json!({ "id": id, "reason": "the part is late" })),
            ("defect.close", json!({ "id": id, "resolution": "polished", "evidence": looked_over() })),
        ]
    })
    .await;
});

on_both!(a_ticket_allows_what_is_then_done, async |world: &World| {
    let (county, crew, shop) = (world.county(), world.crew(), world.shop());
    let (one, two) = (&county.set_1, &county.set_2);
    let (mut stage, mut later) = (Vec::new(), std::collections::HashMap::new());
    let whole = tested();
    let tested = json!({ "passed": true, "readings": whole["readings"], "manual": whole["manual"], "note": "sound" });
    let accept = ("accept", json!({}));
    let wait = ("wait", json!({ "reason": "part" }));
    for (what, piece, steps) in [
        ("waiting", one.pump, vec![]),
        ("accepted", one.cutter, vec![accept.clone()]),
        ("working", one.spreader, vec![accept.clone(), ("work", json!({}))]),
        ("on hold", one.ram, vec![accept.clone(), wait]),
        ("tested", two.cutter, vec![accept.clone(), ("test", tested)]),
        ("closed", two.ram, vec![accept.clone(), ("drop", json!({ "note": "no parts" }))]),
    ] {
        crew.take_out(piece, "leaks").await.ok();
        let ticket = id_of(&crew.open_ticket(piece, county.shop, "leaks", &[]).await.record());
        let seen = id_of(&world.officer().report(piece, "seeps too", "usable").await.record());
        later.insert(ticket, seen);
        for (step, body) in steps {
            shop.step(ticket, step, body).await.ok();
        }
        stage.push((what, ticket));
    }
    held_in_each(world, "/v1/tickets", &stage, |id| {
        vec![
            ("ticket.include", json!({ "id": id, "defects": [later.get(&id).unwrap_or(&id)] })),
            ("ticket.accept", json!({ "id": id })),
            ("ticket.work", json!({ "id": id })),
            ("ticket.wait", json!({ "id": id, "reason": "part", "for": "a seal kit" })),
            ("ticket.assign", json!({ "id": id, "member": null })),
            ("ticket.promise", json!({ "id": id, "on": null })),
            ("ticket.cause", json!({ "id": id, "cause": "wear" })),
            ("ticket.line", json!({ "id": id, "line": { "kind": "part", "what": "seal kit" } })),
            ("ticket.test", json!({ "id": id, "passed": true, "readings": looked(), "note": "sound" })),
            ("ticket.return", json!({ "id": id })),
            ("ticket.drop", json!({ "id": id, "note": "no parts" })),
        ]
    })
    .await;
});

on_both!(a_swap_a_rig_and_a_use_allow_what_is_then_done, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let mut swaps = Vec::new();
    for (what, piece, end) in [
        ("open", county.spare_cutter, None),
        ("ended", county.spare_hose, Some("end")),
        ("kept", county.set_2.ram, Some("keep")),
    ] {
        let body = json!({ "id": Uuid::now_v7(), "rig": county.truck_3, "piece": piece, "on_the_way": false, "despite": "ordered" });
        let rev = rev_of(&officer.piece(piece).await);
        let swap = id_of(&officer.post_on("/v1/swaps", rev, body).await.record());
        if let Some(end) = end {
            officer.finish_swap(swap, end).await.ok();
        }
        swaps.push((what, swap));
    }
    held_in_each(world, "/v1/swaps", &swaps, |id| {
        vec![("swap.end", json!({ "id": id })), ("swap.keep", json!({ "id": id }))]
    })
    .await;

    let out = json!({ "reason": "brakes", "at": "mechanic" });
    officer.post(&format!("/v1/rigs/{}/take-out", county.engine_2), out).await.ok();
    let rigs = |id: Uuid| vec![("rig.take_out", json!({ "id": id, "reason": "brakes" })), ("rig.put_back", json!({ "id": id }))];
    let allows = held(world, "in service", &format!("/v1/rigs/{}", county.engine_1), rigs).await;
    assert!(!allows.contains("rig.put_back"));
    let allows = held(world, "out of service", &format!("/v1/rigs/{}", county.engine_2), rigs).await;
    assert!(allows.contains("rig.put_back"));

    let body = json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "pieces": [county.set_1.cutter] });
    let used = id_of(&officer.post("/v1/uses", body).await.record());
    let checks = |id: Uuid| vec![("use.check", json!({ "id": id }))];
    let path = format!("/v1/uses/{used}");
    assert_eq!(held(world, "used", &path, checks).await.len(), 1);
    for _ in 0..20 {
        officer.post(&format!("{path}/check"), json!({})).await.ok();
    }
    assert!(allowed(&world.admin().find(&path).await).is_empty());
    let problem = officer.post(&format!("{path}/check"), json!({})).await.problem();
    assert!(problem["detail"].as_str().expect("words").contains("20 times"), "{problem}");
});

on_both!(a_mishap_allows_what_is_then_done, async |world: &World| {
    let coordinator = world.coordinator();
    let told = async || {
        let body = json!({ "id": Uuid::now_v7(), "sort": "near_miss", "during": "check", "what": "blade slipped" });
        id_of(&coordinator.post("/v1/mishaps", body).await.record())
    };
    let (open, closed) = (told().await, told().await);
    let rev = coordinator.rev(&format!("/v1/mishaps/{closed}")).await;
    let finding = json!({ "finding": "looked into" });
    coordinator.post_on(&format!("/v1/mishaps/{closed}/close"), rev, finding).await.ok();
    held_in_each(world, "/v1/mishaps", &[("open", open), ("closed", closed)], |id| {
        vec![("mishap.close", json!({ "id": id, "finding": "looked into" }))]
    })
    .await;
});

on_both!(a_field_trial_allows_what_is_then_done, async |world: &World| {
    let (coordinator, admin) = (world.coordinator(), world.admin());
    let question = json!({ "text": "Grip", "weight": 1, "lowest": "slips", "highest": "sits" });
    let answers = json!([{ "points": 3 }]);
    let opened = async |name: &str| {
        let candidates = json!([{ "name": "A", "kind": "cutter" }, { "name": "B", "kind": "cutter" }]);
        let body = json!({ "id": Uuid::now_v7(), "name": name, "candidates": candidates, "questions": [question], "evaluators": [admin.person.id] });
        let id = id_of(&coordinator.post("/v1/field-trials", body).await.record());
        admin
            .post(&format!("/v1/field-trials/{id}/hand-in"), json!({ "candidate": 1, "answers": answers }))
            .await
            .ok();
        id
    };
    let (open, closed, withdrawn) = (opened("One").await, opened("Two").await, opened("Three").await);
    for (id, how, body) in [(closed, "close", json!({})), (withdrawn, "withdraw", json!({ "reason": "no more" }))] {
        let path = format!("/v1/field-trials/{id}");
        coordinator.post_on(&format!("{path}/{how}"), coordinator.rev(&path).await, body).await.ok();
    }
    let states = [("open", open), ("closed", closed), ("withdrawn", withdrawn)];
    let crew = world.crew().person.id;
    held_in_each(world, "/v1/field-trials", &states, |id| {
        vec![
            ("field_trial.invite", json!({ "id": id, "evaluators": [crew] })),
            ("field_trial.hand_in", json!({ "id": id, "candidate": 2, "answers": answers })),
            ("field_trial.close", json!({ "id": id })),
            ("field_trial.withdraw", json!({ "id": id, "reason": "no more" })),
        ]
    })
    .await;
});

on_both!(a_handover_allows_what_is_then_done, async |world: &World| {
    let (county, admin) = (world.county(), world.admin());
    let parts = json!([{ "title": "Used", "lines": [], "left_out": 0 }]);
    let body = json!({ "since": "2026-11-25T07:00:00Z", "parts": parts });
    let places = [county.station_1, county.station_2, county.station_3];
    for place in places {
        let mut body = body.clone();
        body["id"] = json!(place);
        // Given by the one who withdraws, taken by another.
        admin.apply(vec![command("handover.give", body)]).await;
    }
    for (client, place, how, body) in [
        (world.officer(), places[1], "take", json!({})),
        (world.admin(), places[2], "withdraw", json!({ "reason": "no" })),
    ] {
        let path = format!("/v1/handovers/{place}");
        client.post_on(&format!("{path}/{how}"), client.rev(&path).await, body).await.ok();
    }
    let states = [("given", places[0]), ("taken", places[1]), ("withdrawn", places[2])];
    held_in_each(world, "/v1/handovers", &states, |id| {
        vec![
            ("handover.take", json!({ "id": id })),
            ("handover.withdraw", json!({ "id": id, "reason": "no" })),
        ]
    })
    .await;
});

on_both!(the_feed_says_it_too, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let allows = async || {
        let page = crew.find("/v1/changes?limit=2000").await;
        let changes = page["changes"].as_array().expect("changes");
        let piece = changes
            .iter()
            .find(|change| change["kind"] == "piece" && change["id"] == json!(county.set_1.cutter));
        allowed(&piece.expect("the piece is in the feed")["record"])
    };
    let before = allows().await;
    crew.take_out(county.set_1.cutter, "leaks").await.ok();
    let after = allows().await;
    assert!(before.contains("swap.start") && !before.contains("piece.return") && !before.contains("ticket.open"));
    assert!(!after.contains("swap.start") && after.contains("piece.return") && after.contains("ticket.open"));
});

on_both!(a_rollout_allows_what_is_then_done, async |world: &World| {
    let (coordinator, m) = (world.coordinator(), world.county().models);
    let start = async |name: &str| {
        let body = json!({
            "id": Uuid::now_v7(), "name": name, "models": [m.pack], "replaces": [m.hose], "minimums": [{ "shift": "A shift", "members": 1 }],
        });
        id_of(&coordinator.post("/v1/rollouts", body).await.record())
    };
    let (open, closed) = (start("One").await, start("Two").await);
    let path = format!("/v1/rollouts/{closed}");
    let rev = coordinator.rev(&path).await;
    coordinator.post_on(&format!("{path}/close"), rev, json!({ "note": "given up" })).await.ok();
    held_in_each(world, "/v1/rollouts", &[("open", open), ("closed", closed)], |id| {
        vec![
            ("rollout.edit", json!({ "id": id, "note": "packs first" })),
            ("rollout.close", json!({ "id": id, "note": "done" })),
        ]
    })
    .await;
});
