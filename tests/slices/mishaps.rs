//! Near misses and injuries with a tool: who tells them, what happens to the pieces, and who closes them.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, acts::id_of, on_both};

fn told(more: Value) -> Value {
    let mut body = json!({ "id": Uuid::now_v7(), "sort": "injury", "during": "rescue", "what": "The cutter turned and caught a hand." });
    body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    body
}

async fn refused(client: &Client, more: Value, field: &str) {
    let problem = client.post("/v1/mishaps", told(more)).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], field);
}

on_both!(
    whoever_sees_it_tells_it_and_the_pieces_are_out_until_a_person_returns_them,
    async |world: &World| {
        let (county, crew, coordinator) = (world.county(), world.crew(), world.coordinator());
        let cutter = county.set_1.cutter;
        let more = json!({ "rig": county.engine_1, "place": "Mill Road", "pieces": [cutter], "take_out": true, "happened_at": "2026-11-25T12:00:00Z" });
        let record = crew.post("/v1/mishaps", told(more)).await.record();
        assert_eq!(
            (&record["state"], &record["happened_at"], &record["taken_out"], &record["allows"]),
            (&json!("open"), &json!("2026-11-25T12:00:00.000000Z"), &json!(true), &json!(["mishap.close"]))
        );
        assert_eq!(record["reported_by"]["name"], crew.person.name);
        let piece = crew.piece(cutter).await;
        assert_eq!(piece["state"], "out_of_service");
        assert_eq!(piece["state_reason"], "injury: “The cutter turned and caught a hand”");
        assert_ne!(crew.capability(county.engine_1).await["level"], "full");
        // The same cutter was out already; it takes another reason, and nothing brings it back.
        let again = told(json!({ "sort": "near_miss", "pieces": [cutter], "take_out": true }));
        crew.post("/v1/mishaps", again).await.ok();
        // Who keeps the programme closes it, once.
        let (id, rev) = (id_of(&record), record["rev"].as_i64().unwrap());
        let path = format!("/v1/mishaps/{id}/close");
        let finding = json!({ "finding": "Grip worn; exchanged on all three." });
        crew.post_on(&path, rev, finding.clone()).await.refused(403, "not-allowed");
        world.shop().post_on(&path, rev, finding.clone()).await.refused(403, "not-allowed");
        coordinator.post(&path, finding.clone()).await.refused(428, "revision-needed");
        coordinator.post_on(&path, rev, json!({ "finding": " " })).await.refused(422, "field-invalid");
        let closed = coordinator.post_on(&path, rev, finding.clone()).await.record();
        assert_eq!(
            (&closed["state"], &closed["finding"], &closed["what"]),
            (&json!("closed"), &finding["finding"], &record["what"])
        );
        let rev = closed["rev"].as_i64().unwrap();
        coordinator.post_on(&path, rev, finding).await.refused(409, "rule-broken");
        assert_eq!(crew.piece(cutter).await["state"], "out_of_service", "closing it returns nothing");
        assert_eq!(crew.list("/v1/mishaps?state=open").await.len(), 1);
    }
);

on_both!(what_cannot_be_told_so_is_refused_and_takes_nothing_out, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let [one, two] = [county.set_1.cutter, county.set_1.ram];
    refused(&crew, json!({ "what": " " }), "body.what").await;
    refused(&crew, json!({ "happened_at": "2026-11-26T14:00:00Z" }), "body.happened_at").await;
    refused(&crew, json!({ "take_out": true }), "body.pieces").await;
    refused(&crew, json!({ "pieces": [one, one] }), "body.pieces[1]").await;
    let many: Vec<Uuid> = (0..13).map(|_| Uuid::now_v7()).collect();
    refused(&crew, json!({ "pieces": many }), "body.pieces").await;
    // The second cannot be taken out, so nothing of it is done.
    world.coordinator().retire(two, "worn").await.ok();
    let problem = crew.post("/v1/mishaps", told(json!({ "pieces": [one, two], "take_out": true }))).await;
    assert_eq!(problem.refused(409, "rule-broken")["field"], "body.pieces[1]");
    assert_eq!(crew.piece(one).await["state"], "in_service");
    assert_eq!(crew.list("/v1/mishaps").await.len(), 0);
});
