//! Chains of commands that were made without a signal, and answers that say little.

use serde_json::{Value, json};
use uuid::Uuid;

use super::batch::{codes, outcomes};
use crate::world::{World, acts::looked_over, command, expecting, on_both};

/// The same command, decided on the record as an earlier one left it.
fn after(mut command: Value, before: &Value) -> Value {
    command["expects"] = json!({ "after": before["id"] });
    command
}

on_both!(a_chain_made_without_a_signal_is_applied_as_one, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let ram = county.set_1.ram;
    let out = command("piece.take_out", json!({ "id": ram, "reason": "annual service", "planned": true }));
    let back = after(
        command("piece.return", json!({ "id": ram, "note": "not today", "evidence": looked_over() })),
        &out,
    );
    let swap = Uuid::now_v7();
    let lost = command("piece.take_out", json!({ "id": county.set_1.cutter, "reason": "stiff" }));
    let start = command(
        "swap.start",
        json!({ "id": swap, "rig": county.engine_1, "piece": county.spare_cutter, "slot": "cutter" }),
    );
    let end = after(command("swap.end", json!({ "id": swap })), &start);
    let ticket = Uuid::now_v7();
    let opened = command(
        "ticket.open",
        json!({ "id": ticket, "piece": county.set_1.cutter, "shop": county.shop, "what": "stiff" }),
    );
    let accepted = after(command("ticket.accept", json!({ "id": ticket })), &opened);
    let waits = after(command("ticket.wait", json!({ "id": ticket, "reason": "part", "for": "seal kit" })), &accepted);
    let works = after(command("ticket.work", json!({ "id": ticket })), &waits);
    let chain = vec![out, back, lost, start, end, opened, accepted, waits, works];
    // In one batch, or each in its own: where the reply to one was lost, the next follows all the same.
    for batch in chain.chunks(4) {
        let answers = coordinator.send(batch.to_vec()).await.ok();
        assert!(outcomes(&answers).iter().all(|outcome| *outcome == "applied"), "{answers}");
    }
    let again = coordinator.send(chain).await.ok();
    assert!(outcomes(&again).iter().all(|outcome| *outcome == "repeated"), "{again}");
    assert_eq!(coordinator.piece(ram).await["state"], "in_service");
    assert_eq!(coordinator.find(&format!("/v1/swaps/{swap}")).await["state"], "ended");
    assert_eq!(coordinator.find(&format!("/v1/tickets/{ticket}")).await["state"], "working");
});

on_both!(a_chain_that_somebody_else_came_between_is_a_conflict, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.member("crew_1"));
    let ram = county.set_1.ram;
    let out = command("piece.take_out", json!({ "id": ram, "reason": "annual service", "planned": true }));
    coordinator.apply(vec![out.clone()]).await;
    crew.take_out(ram, "bent at the tip").await.ok();
    let back = after(
        command("piece.return", json!({ "id": ram, "note": "not today", "evidence": looked_over() })),
        &out,
    );
    let elsewhere = after(
        command("piece.return", json!({ "id": county.set_1.cutter, "note": "x", "evidence": looked_over() })),
        &out,
    );
    let unknown = after(back.clone(), &json!({ "id": Uuid::now_v7() }));
    let refused = command("piece.take_out", json!({ "id": Uuid::now_v7(), "reason": "x" }));
    let mut odd = back.clone();
    (odd["expects"], odd["id"]) = (json!({ "after": back["id"] }), json!(Uuid::now_v7()));
    let mut unknown = unknown;
    unknown["id"] = json!(Uuid::now_v7());
    let follows = after(command("piece.return", json!({ "id": ram, "note": "x", "evidence": looked_over() })), &refused);
    let batch = coordinator.send(vec![back, elsewhere, unknown, refused, follows, odd]).await.ok();
    assert_eq!(
        codes(&batch),
        ["stale", "stale", "after-refused", "not-found", "after-refused", "after-refused"],
        "{batch}"
    );
    assert_eq!(outcomes(&batch), ["conflict", "conflict", "refused", "refused", "refused", "refused"]);
    assert_eq!(batch["answers"][0]["current"]["state_reason"], "bent at the tip");
    assert_eq!(batch["answers"][4]["problem"]["field"], "expects.after");
});

on_both!(who_asks_for_little_is_answered_without_records, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    // A defect takes a hundred notes.
    let commands: Vec<Value> = (0..5)
        .flat_map(|_| {
            let defect = Uuid::now_v7();
            let report = json!({ "id": defect, "piece": county.set_1.pump, "what": "seeps", "class": "deformation", "severity": "usable" });
            let notes = (1..100).map(move |n| command("defect.note", json!({ "id": defect, "text": format!("note {n}: still seeps at the handle") })));
            std::iter::once(command("defect.report", report)).chain(notes)
        })
        .collect();
    let body = json!({ "sent_at": "2026-11-25T14:00:00.000000Z", "commands": commands });
    let ask = async |prefer: &str| crew.ask(reqwest::Method::POST, "/v1/commands", Some(&body), &[("Prefer", prefer.into())]).await;
    let little = ask("respond-async, return=minimal").await;
    assert_eq!(little.headers["preference-applied"], "return=minimal");
    let much = ask("return=representation").await;
    assert!(much.headers.get("preference-applied").is_none());
    println!("500 answers: {} bytes with their records, {} without", much.text.len(), little.text.len());
    assert!(little.text.len() * 4 < much.text.len(), "{} and {}", little.text.len(), much.text.len());
    let (little, much) = (little.ok(), much.ok());
    for (little, much) in little["answers"].as_array().unwrap().iter().zip(much["answers"].as_array().unwrap()) {
        assert_eq!(
            (&little["id"], &little["revision"], &little["records"]),
            (&much["id"], &much["revision"], &much["records"])
        );
        assert!(little["record"].is_null() && much["record"].is_object());
    }
    let path = format!("/v1/pieces/{}/take-out", county.set_1.ram);
    let rest = crew
        .ask(
            reqwest::Method::POST,
            &path,
            Some(&json!({ "reason": "bent" })),
            &[("Prefer", "return=minimal".into())],
        )
        .await;
    assert_eq!(rest.headers["preference-applied"], "return=minimal");
    assert!(rest.headers.contains_key("etag"));
    let rest = rest.ok();
    assert!(rest["record"].is_null() && rest["records"].is_array(), "{rest}");
    let stale = expecting(
        command("piece.return", json!({ "id": county.set_1.ram, "note": "x", "evidence": looked_over() })),
        1,
    );
    let body = json!({ "sent_at": "2026-11-25T14:00:00.000000Z", "commands": [stale] });
    let conflict = world
        .coordinator()
        .ask(reqwest::Method::POST, "/v1/commands", Some(&body), &[("Prefer", "return=minimal".into())])
        .await
        .ok();
    assert_eq!(
        conflict["answers"][0]["current"]["state"], "out_of_service",
        "both sides of a conflict are shown all the same"
    );
});
