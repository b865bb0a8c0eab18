//! Who is on a rig, until when, and what nobody aboard is signed off on. The hours are of the world's clock, 2026-11-25 14:00 UTC.

use chrono::TimeDelta;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, on_both};

async fn now(client: &Client, rig: Uuid) -> Value {
    let all = client.find("/v1/crews/now").await;
    let found = all["items"].as_array().unwrap().iter().find(|one| one["rig"] == json!(rig)).cloned();
    found.unwrap_or_else(|| panic!("{rig} among {all}"))
}

/// Says who is on a rig.
async fn name(client: &Client, rig: Uuid, body: &Value) -> Reply {
    client.ask(Method::PUT, &format!("/v1/crews/{rig}"), Some(body), &[]).await
}

fn kinds(crew: &Value) -> Vec<&str> {
    let unsigned = crew["unsigned"].as_array().unwrap();
    unsigned.iter().map(|one| one["kind"].as_str().unwrap()).collect()
}

on_both!(
    what_nobody_aboard_is_signed_off_on_stands_beside_the_level_and_lowers_nothing,
    async |world: &World| {
        let (county, crew, officer) = (world.county(), world.crew(), world.officer());
        let rig = county.engine_1;
        let before = now(&crew, rig).await;
        assert_eq!(
            (&before["known"], &before["until"], kinds(&before).len()),
            (&json!(false), &Value::Null, 0),
            "{before}"
        );

        let body = json!({ "members": [crew.person.id, officer.person.id], "until": "2026-11-26T15:00:00Z" });
        name(&crew, rig, &body).await.ok();
        let aboard = now(&crew, rig).await;
        assert_eq!((&aboard["known"], aboard["members"].as_array().unwrap().len()), (&json!(true), 2), "{aboard}");
        assert_eq!(kinds(&aboard), ["power_unit", "cutter", "spreader", "ram"]);
        assert!(
            aboard["unsigned"][1]["words"]
                .as_str()
                .unwrap()
                .starts_with("nobody aboard is signed off on the cutter "),
            "{aboard}"
        );
        assert_eq!(crew.capability(rig).await["level"], "full", "the set is there, whoever is aboard");

        // One of them is enough, up to and including the day.
        let signed = |until: &str| json!({ "kinds": ["power_unit", "cutter", "spreader", "ram"], "until": until });
        officer
            .post(&format!("/v1/members/{}/sign-offs", crew.person.id), signed("2026-11-25"))
            .await
            .ok();
        assert_eq!(kinds(&now(&crew, rig).await), [""; 0]);
        world.pass(TimeDelta::days(1));
        let later = now(&crew, rig).await;
        assert_eq!((kinds(&later).len(), &later["unsigned"][0]["ended"]), (4, &json!("2026-11-25")), "{later}");

        // Over is not known, and not the crew of yesterday.
        world.pass(TimeDelta::hours(2));
        let over = now(&crew, rig).await;
        assert_eq!((&over["known"], &over["members"], kinds(&over).len()), (&json!(false), &json!([]), 0), "{over}");
    }
);

on_both!(a_crew_that_cannot_be_is_refused_with_the_field, async |world: &World| {
    let (county, crew) = (world.county(), world.member("crew_1"));
    let rig = county.engine_1;
    let me = crew.person.id;
    for (body, field) in [
        (json!({ "members": [me, me], "until": "2026-11-26T07:00:00Z" }), "body.members[1]"),
        (json!({ "members": [Uuid::now_v7()], "until": "2026-11-26T07:00:00Z" }), "body.members[0]"),
        (json!({ "members": vec![me; 13], "until": "2026-11-26T07:00:00Z" }), "body.members"),
        (json!({ "members": [me], "until": "2026-11-25T13:00:00Z" }), "body.until"),
        (json!({ "members": [me], "until": "2026-12-25T13:00:00Z" }), "body.until"),
    ] {
        let refused = name(&crew, rig, &body).await.refused(422, "field-invalid");
        assert_eq!(refused["field"], field, "{refused}");
    }
    let good = json!({ "members": [me], "until": "2026-11-26T07:00:00Z" });
    name(&crew, county.engine_2, &good).await.refused(403, "out-of-reach");
    name(&crew, rig, &good).await.ok();
    // The next crew takes its place; the one before is its history.
    name(&crew, rig, &json!({ "members": [], "until": "2026-11-26T07:00:00Z" })).await.ok();
    let uncrewed = now(&crew, rig).await;
    assert_eq!(
        (&uncrewed["known"], kinds(&uncrewed).len()),
        (&json!(true), 0),
        "not crewed lacks no sign-off: {uncrewed}"
    );
    assert_eq!(crew.find(&format!("/v1/crews/{rig}/history")).await["items"].as_array().unwrap().len(), 2);
});
