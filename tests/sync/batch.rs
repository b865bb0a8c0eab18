//! A batch: each command is answered for itself, in order, and one bad command never spoils the others.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, acts::rev_of, command, county::piece, expecting, on_both, on_rig, on_shelf};

fn district(name: &str) -> Value {
    command("district.add", json!({ "id": Uuid::now_v7(), "name": name }))
}

pub fn outcomes(batch: &Value) -> Vec<&str> {
    batch["answers"]
        .as_array()
        .expect("answers")
        .iter()
        .map(|answer| answer["outcome"].as_str().expect("an outcome"))
        .collect()
}

pub fn codes(batch: &Value) -> Vec<&str> {
    batch["answers"]
        .as_array()
        .expect("answers")
        .iter()
        .map(|answer| answer["problem"]["code"].as_str().unwrap_or(""))
        .collect()
}

on_both!(each_command_is_answered_for_itself_and_in_order, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let first = district("East");
    coordinator.apply(vec![first.clone()]).await;
    let stale = expecting(command("district.edit", json!({ "id": county.north, "min_full": 5 })), 1);
    let commands = vec![
        district("West"),
        first,
        stale,
        command("piece.take_out", json!({ "id": Uuid::now_v7(), "reason": "x" })),
        district("Far West"),
    ];
    let batch = coordinator.send(commands.clone()).await.ok();
    assert_eq!(outcomes(&batch), ["applied", "repeated", "conflict", "refused", "applied"]);
    assert_eq!(codes(&batch), ["", "", "stale", "not-found", ""]);
    for (command, answer) in commands.iter().zip(batch["answers"].as_array().unwrap()) {
        assert_eq!(command["id"], answer["id"]);
    }
    assert_eq!(batch["answers"][2]["current"]["min_full"], 2, "a conflict shows the record as it stands");
    assert_eq!(batch["answers"][4]["revision"], batch["revision"]);
    assert_eq!(batch["revision"], json!(coordinator.revision().await));
});

on_both!(an_answer_names_what_it_touched_with_the_main_record_first, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let report = json!({ "id": Uuid::now_v7(), "piece": county.set_1.cutter, "what": "chipped", "class": "deformation", "severity": "out_of_service" });
    let answer = crew.send(vec![command("defect.report", report)]).await.ok()["answers"][0].take();
    let kinds: Vec<&str> = answer["records"]
        .as_array()
        .unwrap()
        .iter()
        .map(|touched| touched["kind"].as_str().unwrap())
        .collect();
    assert_eq!(kinds, ["defect", "piece", "piece_standing", "rig_standing"]);
    assert_eq!(answer["record"]["what"], "chipped");
    for touched in answer["records"].as_array().unwrap() {
        assert_eq!(touched["rev"], answer["revision"]);
    }
});

on_both!(the_same_command_twice_in_one_batch_acts_once, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let noted = command(
        "defect.report",
        json!({ "id": Uuid::now_v7(), "piece": county.set_1.pump, "what": "seeps", "class": "deformation", "severity": "usable" }),
    );
    let batch = crew.send(vec![noted.clone(), noted]).await.ok();
    assert_eq!(outcomes(&batch), ["applied", "repeated"]);
    assert_eq!(batch["answers"][0]["revision"], batch["answers"][1]["revision"]);
    assert_eq!(crew.list("/v1/defects").await.len(), 1);
});

on_both!(a_batch_sent_again_is_answered_again_and_changes_nothing, async |world: &World| {
    let coordinator = world.coordinator();
    let commands: Vec<Value> = (0..5).map(|n| district(&format!("West {n}"))).collect();
    let mut first = coordinator.send(commands.clone()).await.ok();
    let before = (coordinator.revision().await, world.journal_length());
    let again = coordinator.send(commands).await.ok();
    for answer in first["answers"].as_array_mut().unwrap() {
        answer["outcome"] = json!("repeated");
    }
    assert_eq!(again, first);
    assert_eq!((coordinator.revision().await, world.journal_length()), before);
});

on_both!(a_used_id_with_another_body_is_refused, async |world: &World| {
    let coordinator = world.coordinator();
    let first = district("West");
    coordinator.apply(vec![first.clone()]).await;
    let mut other = district("East");
    other["id"] = first["id"].clone();
    let batch = coordinator.send(vec![other, district("Far East")]).await.ok();
    assert_eq!((outcomes(&batch), codes(&batch)), (vec!["refused", "applied"], vec!["id-reused", ""]));
});

on_both!(what_follows_a_refused_command_is_refused_with_it, async |world: &World| {
    let coordinator = world.coordinator();
    let after = |mut command: Value, before: &Value| {
        command["after"] = before["id"].clone();
        command
    };
    let (good, bad) = (district("West"), district("North"));
    let follows_good = after(district("West A"), &good);
    let follows_bad = after(district("West B"), &bad);
    let follows_that = after(district("West C"), &follows_bad);
    let nobody = json!({ "id": Uuid::now_v7() });
    let batch = coordinator
        .send(vec![
            good.clone(),
            bad,
            follows_good,
            follows_bad,
            follows_that,
            after(district("West D"), &nobody),
        ])
        .await
        .ok();
    assert_eq!(outcomes(&batch), ["applied", "refused", "applied", "refused", "refused", "refused"]);
    assert_eq!(codes(&batch), ["", "already-there", "", "after-refused", "after-refused", "after-refused"]);
    let later = coordinator.send(vec![after(district("West E"), &good)]).await.ok();
    assert_eq!(outcomes(&later), ["applied"], "what was applied in an earlier batch counts");
});

on_both!(a_later_command_sees_what_an_earlier_one_in_the_batch_did, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let (id, rig) = (Uuid::now_v7(), Uuid::now_v7());
    coordinator
        .apply(vec![
            command(
                "rig.add",
                json!({ "id": rig, "name": "Squad 9", "station": county.station_3, "rig_class": county.truck_class }),
            ),
            piece(id, "N-1", county.models.combi, on_rig(rig)),
            command("piece.take_out", json!({ "id": id, "reason": "dropped" })),
        ])
        .await;
    coordinator
        .on_board(rig)
        .await
        .is("none", &["combination tool N-1: out of service since 2026-11-25 07:00, “dropped”"]);
});

on_both!(of_two_commands_with_one_unique_name_the_second_is_refused_alone, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let tagged = |tag: &str| piece(Uuid::now_v7(), tag, county.models.cutter, on_shelf(county.station_1));
    let (won, lost) = (tagged("N-1"), tagged("n-1"));
    let batch = coordinator
        .send(vec![
            district("West"),
            won.clone(),
            lost.clone(),
            tagged("N-2"),
            district("WEST"),
            district("East"),
        ])
        .await
        .ok();
    assert_eq!(outcomes(&batch), ["applied", "applied", "refused", "applied", "refused", "applied"]);
    assert_eq!(codes(&batch), ["", "", "already-there", "", "already-there", ""]);
    assert_eq!(coordinator.list("/v1/pieces?q=N-").await.len(), 2);
    coordinator
        .get(&format!("/v1/pieces/{}", lost["body"]["id"].as_str().unwrap()))
        .await
        .refused(404, "not-found");
});

on_both!(of_two_commands_with_one_serial_number_the_second_is_refused_alone, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let stamped = |tag: &str, serial: &str, model: Uuid| {
        let mut command = piece(Uuid::now_v7(), tag, model, on_shelf(county.station_1));
        command["body"]["serial"] = json!(serial);
        command
    };
    let (cutter, spreader) = (county.models.cutter, county.models.spreader);
    let batch = coordinator
        .send(vec![
            stamped("N-1", "AB 12", cutter),
            stamped("N-2", "ab12", cutter),
            stamped("N-3", "AB 12", spreader),
        ])
        .await
        .ok();
    assert_eq!(outcomes(&batch), ["applied", "refused", "applied"]);
    assert_eq!(batch["answers"][1]["problem"]["field"], "body.serial", "{batch}");
    coordinator
        .post("/v1/pieces", stamped("N-4", "A B 1 2", cutter)["body"].clone())
        .await
        .refused(409, "already-there");
});

on_both!(
    a_command_that_fails_after_it_began_to_write_leaves_nothing_and_spoils_nobody,
    async |world: &World| {
        let (county, coordinator, admin) = (world.county(), world.coordinator(), world.admin());
        let (set, cutter) = (Uuid::now_v7(), county.set_1.cutter);
        let half_done = command("tool_set.add", json!({ "id": set, "name": "Set A", "pieces": [cutter, Uuid::now_v7()] }));
        let member = |name: &str, email: &str| command("member.add", json!({ "id": Uuid::now_v7(), "name": name, "email": email, "role": "crew" }));
        let before = admin.revision().await;
        let batch = admin
            .send(vec![
                district("West"),
                half_done,
                member("Sam One", "sam@harrow.example"),
                member("Sam Two", "SAM@harrow.example"),
                district("East"),
            ])
            .await
            .ok();
        assert_eq!(outcomes(&batch), ["applied", "refused", "applied", "refused", "applied"]);
        assert_eq!(codes(&batch), ["", "field-invalid", "", "already-there", ""]);
        assert_eq!(admin.revision().await, before + 3, "a refused command takes no revision");
        assert_eq!(batch["revision"], json!(before + 3));
        coordinator.get(&format!("/v1/tool-sets/{set}")).await.refused(404, "not-found");
        assert_eq!(coordinator.piece(cutter).await["tool_set"], json!(null));
        assert_eq!(admin.list("/v1/members?q=Sam").await.len(), 1);
    }
);

on_both!(what_follows_a_command_that_failed_half_way_is_refused_too, async |world: &World| {
    let coordinator = world.coordinator();
    let half_done = command("tool_set.add", json!({ "id": Uuid::now_v7(), "name": "Set A", "pieces": [Uuid::now_v7()] }));
    let mut follower = district("West");
    follower["after"] = half_done["id"].clone();
    let batch = coordinator.send(vec![district("East"), half_done, follower]).await.ok();
    assert_eq!(codes(&batch), ["", "field-invalid", "after-refused"]);
});

on_both!(many_bad_batches_at_once_spoil_no_good_one, async |world: &World| {
    let county = world.county();
    let mut sent = Vec::new();
    for n in 0..12 {
        let coordinator = world.coordinator();
        let cutter = county.set_1.cutter;
        sent.push(async move {
            let half_done = command(
                "tool_set.add",
                json!({ "id": Uuid::now_v7(), "name": format!("Set {n}"), "pieces": [cutter, Uuid::now_v7()] }),
            );
            let batch = coordinator
                .send(vec![district(&format!("West {n}")), half_done, district(&format!("East {n}"))])
                .await
                .ok();
            assert_eq!(outcomes(&batch), ["applied", "refused", "applied"], "batch {n}");
        });
    }
    futures_util::future::join_all(sent).await;
    assert_eq!(world.coordinator().list("/v1/districts?q=West").await.len(), 12);
    assert_eq!(world.coordinator().list("/v1/districts?q=East").await.len(), 12);
    assert_eq!(world.coordinator().list("/v1/tool-sets").await.len(), 0);
});

on_both!(five_hundred_commands_are_taken_and_one_more_is_too_many, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let notes = |count: usize| -> Vec<Value> {
        (0..count)
            .map(|n| command("piece.take_out", json!({ "id": county.set_1.pump, "reason": format!("mark {n}") })))
            .collect()
    };
    let before = (crew.revision().await, world.journal_length());
    let refused = crew.send(notes(501)).await.refused(413, "batch-too-large");
    assert_eq!(refused["field"], "body.commands");
    assert_eq!((crew.revision().await, world.journal_length()), before, "nothing of it was taken");
    crew.apply(notes(500)).await;
    assert_eq!((crew.revision().await, world.journal_length()), (before.0 + 500, before.1 + 500));
});

on_both!(a_batch_sent_with_a_clock_gone_wild_still_applies_the_good_ones, async |world: &World| {
    let coordinator = world.coordinator();
    let mut wild = district("West");
    wild["at"] = json!("-9000-01-01T00:00:00Z");
    let batch = coordinator.send(vec![district("East"), wild, district("Far East")]).await.ok();
    let outcomes = outcomes(&batch);
    assert_eq!([outcomes[0], outcomes[2]], ["applied", "applied"], "{batch}");
});

on_both!(an_empty_batch_answers_the_revision, async |world: &World| {
    let crew = world.crew();
    let batch = crew.send(Vec::new()).await.ok();
    assert_eq!((&batch["answers"], &batch["revision"]), (&json!([]), &json!(crew.revision().await)));
});

on_both!(a_command_that_this_service_does_not_know_is_refused_alone, async |world: &World| {
    let batch = world
        .coordinator()
        .send(vec![command("piece.polish", json!({ "id": Uuid::now_v7() })), district("West")])
        .await
        .ok();
    assert_eq!((outcomes(&batch), codes(&batch)), (vec!["refused", "applied"], vec!["command-unknown", ""]));
    assert_eq!(batch["answers"][0]["problem"]["field"], "kind");
});

on_both!(a_conflict_is_settled_by_deciding_again_on_the_record_shown, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let rev = coordinator.rev(&format!("/v1/districts/{}", county.north)).await;
    let edit = |min_full: i64, rev: i64| expecting(command("district.edit", json!({ "id": county.north, "min_full": min_full })), rev);
    let batch = coordinator.send(vec![edit(3, rev), edit(4, rev)]).await.ok();
    assert_eq!(outcomes(&batch), ["applied", "conflict"]);
    let current = &batch["answers"][1]["current"];
    assert_eq!(current["min_full"], 3);
    coordinator.apply(vec![edit(4, rev_of(current))]).await;
    assert_eq!(coordinator.find(&format!("/v1/districts/{}", county.north)).await["min_full"], 4);
});

on_both!(what_came_aboard_earlier_in_a_batch_counts_for_the_commands_after_it, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let known = district("East");
    coordinator.apply(vec![known.clone()]).await;
    let seen = coordinator.rev(&format!("/v1/pieces/{}", county.spare_cutter)).await;
    let aboard = json!({ "id": county.spare_cutter, "to": on_rig(county.engine_1), "arrived": true });
    let batch = vec![
        expecting(command("piece.move", aboard), seen),
        // Told again as it was told before: what waits is written first.
        known,
        command("piece.take_out", json!({ "id": county.set_1.cutter, "reason": "bent" })),
    ];
    let told = coordinator.send(batch).await.ok();
    assert_eq!(outcomes(&told), ["applied", "repeated", "applied"], "{told}");
    let standing = coordinator.find(&format!("/v1/rig-standings/{}", county.engine_1)).await;
    assert_eq!(standing["level"], "full", "with the spare cutter: {standing}");
});
