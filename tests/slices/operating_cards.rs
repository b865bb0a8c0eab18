//! Operating cards: nothing counts before a named person has approved it, and what was approved is never rewritten.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, acts::id_of, on_both};

fn text(start: &str) -> Value {
    json!({
        "stowed": "Left side, second compartment", "start": start, "levers": "", "controls": "", "differs": "", "shut_down": "", "restow": "", "care": "",
        "cautions": "", "replaces": null, "pictures": [],
    })
}

fn draft(of: Uuid, from_version: u32, start: &str) -> Value {
    json!({ "id": Uuid::now_v7(), "subject": { "of": "model", "model": of }, "from_version": from_version, "text": text(start) })
}

/// What a phone of a station holds of a kind.
async fn on_phone(client: &Client, station: Uuid, kind: &str) -> Vec<Value> {
    let page = client.find(&format!("/v1/changes?scope=station:{station}&limit=2000")).await;
    assert_eq!(page["more"], false, "one page");
    let changes = page["changes"].as_array().unwrap().iter().filter(|change| change["kind"] == kind);
    changes.map(|change| change["record"].clone()).collect()
}

async fn approve(client: &Client, draft: Uuid) -> Value {
    let path = format!("/v1/card-drafts/{draft}");
    client.post_on(&format!("{path}/approve"), client.rev(&path).await, json!({})).await.record()
}

on_both!(
    a_draft_counts_for_nothing_until_it_is_approved_and_no_approved_version_is_rewritten,
    async |world: &World| {
        let (county, coordinator, officer, crew) = (world.county(), world.coordinator(), world.officer(), world.crew());
        let model = county.models.cutter;
        let card = format!("/v1/operating-cards/{model}");
        crew.post("/v1/card-drafts", draft(model, 0, "1. Pack in")).await.refused(403, "not-allowed");
        let first = id_of(&officer.post("/v1/card-drafts", draft(model, 0, "1. Pack in")).await.record());
        crew.get(&card).await.refused(404, "not-found");
        assert_eq!(
            on_phone(&crew, county.station_1, "card_draft").await,
            Vec::<Value>::new(),
            "a draft is no phone's matter"
        );
        let path = format!("/v1/card-drafts/{first}");
        let rev = officer.rev(&path).await;
        officer.post_on(&format!("{path}/approve"), rev, json!({})).await.refused(403, "not-allowed");
        let changed = json!({ "from_version": 0, "text": text("1. Pack in\n2. Press **on**"), "note": "the switch" });
        officer.patch_on(&path, rev, changed.clone()).await.ok();
        officer.patch_on(&path, rev, changed).await.refused(409, "stale");
        coordinator.post_on(&format!("{path}/approve"), rev, json!({})).await.refused(409, "stale");

        let approved = approve(&coordinator, first).await;
        assert_eq!((&approved["version"], &approved["approved_by"]), (&json!(1), &coordinator.person.told()));
        assert_eq!((&approved["written_by"], &approved["note"]), (&officer.person.told(), &json!("the switch")));
        coordinator.get(&path).await.refused(404, "not-found");
        let held = on_phone(&crew, county.station_1, "operating_card").await;
        assert_eq!(held.len(), 1);
        assert_eq!(held[0]["text"]["start"], "1. Pack in\n2. Press **on**");

        // Two begin from the same version: the second to be approved has not seen what the first said.
        let [second, third] = ["1. Look at the plate", "1. Wipe the contacts"].map(|start| draft(model, 1, start));
        let second = id_of(&coordinator.post("/v1/card-drafts", second).await.record());
        let third = id_of(&officer.post("/v1/card-drafts", third).await.record());
        assert_eq!(approve(&coordinator, second).await["version"], 2);
        let path = format!("/v1/card-drafts/{third}");
        let late = coordinator.post_on(&format!("{path}/approve"), coordinator.rev(&path).await, json!({})).await;
        assert!(late.refused(409, "rule-broken")["detail"].as_str().unwrap().contains("begun from version 1"));
        let again = json!({ "from_version": 2, "text": text("1. Look at the plate\n2. Wipe the contacts") });
        officer.patch_on(&path, officer.rev(&path).await, again).await.ok();
        assert_eq!(approve(&coordinator, third).await["version"], 3);
        let history = crew.find(&format!("{card}/history")).await;
        let said: Vec<(&Value, &Value)> = history["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| (&one["record"]["version"], &one["record"]["text"]["start"]))
            .collect();
        assert_eq!(
            said,
            [
                (&json!(3), &json!("1. Look at the plate\n2. Wipe the contacts")),
                (&json!(2), &json!("1. Look at the plate")),
                (&json!(1), &json!("1. Pack in\n2. Press **on**")),
            ]
        );
    }
);

on_both!(
    a_card_that_was_withdrawn_leaves_no_text_and_its_number_is_not_used_again,
    async |world: &World| {
        let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
        let model = county.models.spreader;
        let first = id_of(&coordinator.post("/v1/card-drafts", draft(model, 0, "Valve open")).await.record());
        approve(&coordinator, first).await;
        let card = format!("/v1/operating-cards/{model}");
        let (withdraw, rev) = (format!("{card}/withdraw"), crew.rev(&card).await);
        let reason = json!({ "reason": "the valve turns the other way" });
        world.officer().post_on(&withdraw, rev, reason.clone()).await.refused(403, "not-allowed");
        coordinator
            .post_on(&withdraw, rev, json!({ "reason": " " }))
            .await
            .refused(422, "field-invalid");
        world.shop().post_on(&withdraw, rev, reason.clone()).await.ok();
        let held = on_phone(&crew, county.station_1, "operating_card").await;
        assert_eq!((&held[0]["text"], &held[0]["withdrawn_reason"]), (&Value::Null, &reason["reason"]));
        assert_eq!(crew.list("/v1/operating-cards?state=approved").await.len(), 0);
        coordinator.post_on(&withdraw, crew.rev(&card).await, reason).await.refused(409, "rule-broken");
        let next = id_of(&coordinator.post("/v1/card-drafts", draft(model, 1, "Valve shut")).await.record());
        let next = approve(&coordinator, next).await;
        assert_eq!((&next["version"], &next["withdrawn_at"]), (&json!(2), &Value::Null));
    }
);

on_both!(what_a_card_cannot_say_is_refused_with_its_field, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let model = county.models.cutter;
    let photo = "a".repeat(64);
    let picture = |section: &str, words: &str| json!({ "photo": photo, "section": section, "words": words });
    for (part, value, field) in [
        ("start", json!("<script>alert(1)</script>"), "body.text.start"),
        ("care", json!("a".repeat(2001)), "body.text.care"),
        ("differs", json!("[manual](https://maker.example)"), "body.text.differs"),
        ("replaces", json!(Uuid::now_v7()), "body.text.replaces"),
        ("replaces", json!(model), "body.text.replaces"),
        ("replaces", json!(county.models.ram), "body.text.replaces"),
        ("pictures", json!([picture("start", " ")]), "body.text.pictures[0].words"),
        (
            "pictures",
            json!([picture("start", "The lever"), picture("care", "Again")]),
            "body.text.pictures[1].photo",
        ),
        ("pictures", json!(vec![picture("start", "The lever"); 7]), "body.text.pictures"),
    ] {
        let mut body = draft(model, 0, "1. Pack in");
        body["text"][part] = value;
        let refused = coordinator.post("/v1/card-drafts", body).await.refused(422, "field-invalid");
        assert_eq!(refused["field"], field, "{refused}");
    }
    let mut stranger = draft(Uuid::now_v7(), 0, "1. Pack in");
    let refused = coordinator.post("/v1/card-drafts", stranger.clone()).await.refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.subject.model");
    // A rig class has a card of its own, and replaces no model.
    stranger["subject"] = json!({ "of": "rig_class", "rig_class": county.engine_class });
    stranger["text"]["replaces"] = json!(model);
    let refused = coordinator.post("/v1/card-drafts", stranger.clone()).await.refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.text.replaces");
    stranger["text"]["replaces"] = Value::Null;
    stranger["text"]["pictures"] = json!([picture("stowed", "The second compartment, door open")]);
    let class = id_of(&coordinator.post("/v1/card-drafts", stranger).await.record());
    assert_eq!(approve(&coordinator, class).await["id"], json!(county.engine_class));
});

on_both!(an_import_whose_model_has_a_card_is_not_undone, async |world: &World| {
    let coordinator = world.coordinator();
    let file = "Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\n";
    let import = id_of(&coordinator.import("", file.into(), &[]).await.ok());
    let models = coordinator.list("/v1/models?q=Dorvan%20HP").await;
    let written = id_of(
        &coordinator
            .post("/v1/card-drafts", draft(id_of(&models[0]), 0, "Shut the valve"))
            .await
            .record(),
    );
    let undo = format!("/v1/imports/{import}/undo");
    coordinator.post(&undo, json!({})).await.refused(409, "rule-broken");
    approve(&coordinator, written).await;
    coordinator.post(&undo, json!({})).await.refused(409, "rule-broken");
});
