//! Handovers: what was read stays on record, somebody else takes it, and only who gave it takes it back.

use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, on_both};

fn sheet() -> Value {
    json!([
        { "title": "Levels: 1 dropped", "lines": ["Engine 1 full → limited, 13:40: cutter out of service, by Cruz One"], "left_out": 0 },
        { "title": "Ready, still at a shop", "lines": [], "left_out": 3 },
    ])
}

fn body() -> Value {
    json!({ "since": "2026-11-25T07:00:00Z", "parts": sheet(), "note": "The ram comes at four." })
}

async fn give(client: &Client, place: Uuid, body: &Value) -> Reply {
    client.ask(Method::PUT, &format!("/v1/handovers/{place}"), Some(body), &[]).await
}

async fn on_last(client: &Client, place: Uuid, how: &str, body: Value) -> Reply {
    let path = format!("/v1/handovers/{place}");
    client.post_on(&format!("{path}/{how}"), client.rev(&path).await, body).await
}

on_both!(what_was_read_stays_and_somebody_else_takes_it, async |world: &World| {
    let (crew, officer) = (world.member("crew_1"), world.officer());
    let station = world.county().station_1;
    let given = give(&crew, station, &body()).await.record();
    assert_eq!(
        (&given["state"], &given["parts"], &given["given_by"]["name"], &given["follows_untaken"]),
        (&json!("given"), &sheet(), &json!(crew.person.name), &json!(false))
    );
    // Not who gave it, and not on what has changed meanwhile.
    on_last(&crew, station, "take", json!({})).await.refused(409, "rule-broken");
    let path = format!("/v1/handovers/{station}/take");
    officer.post(&path, json!({})).await.refused(428, "revision-needed");
    let seen = officer.rev(&format!("/v1/handovers/{station}")).await;
    give(&crew, station, &body()).await.ok();
    officer.post_on(&path, seen, json!({})).await.refused(409, "stale");
    let taken = on_last(&officer, station, "take", json!({})).await.record();
    assert_eq!(
        (
            &taken["state"],
            &taken["taken_by"]["name"],
            &taken["parts"],
            &taken["follows_untaken"],
            &taken["allows"]
        ),
        (&json!("taken"), &json!(officer.person.name), &sheet(), &json!(true), &json!([]))
    );
    // Once; and what was taken is not withdrawn.
    on_last(&world.coordinator(), station, "take", json!({})).await.refused(409, "rule-broken");
    on_last(&crew, station, "withdraw", json!({ "reason": "no" })).await.refused(409, "rule-broken");
    // The next one follows one that was taken; those before are its history.
    let next = give(&officer, station, &body()).await.record();
    assert_eq!(
        (&next["state"], &next["taken_by"], &next["follows_untaken"]),
        (&json!("given"), &Value::Null, &json!(false))
    );
    let history = crew.find(&format!("/v1/handovers/{station}/history")).await;
    assert_eq!(history["items"].as_array().unwrap().len(), 4);
});

on_both!(only_who_gave_it_takes_it_back_and_only_while_nobody_has_taken_it, async |world: &World| {
    let (crew, officer) = (world.member("crew_1"), world.officer());
    let district = world.county().north;
    give(&crew, district, &body()).await.refused(403, "out-of-reach");
    give(&officer, district, &body()).await.ok();
    on_last(&world.coordinator(), district, "withdraw", json!({ "reason": "wrong day" }))
        .await
        .refused(409, "rule-broken");
    on_last(&officer, district, "withdraw", json!({ "reason": " " }))
        .await
        .refused(422, "field-invalid");
    let withdrawn = on_last(&officer, district, "withdraw", json!({ "reason": "wrong day" })).await.record();
    assert_eq!(
        (&withdrawn["state"], &withdrawn["withdrawn_reason"]),
        (&json!("withdrawn"), &json!("wrong day"))
    );
    on_last(&world.coordinator(), district, "take", json!({})).await.refused(409, "rule-broken");
    let again = give(&officer, district, &body()).await.record();
    assert_eq!(
        (&again["state"], &again["withdrawn_reason"], &again["follows_untaken"]),
        (&json!("given"), &Value::Null, &json!(false))
    );
});

on_both!(a_sheet_that_cannot_be_kept_is_refused_with_the_field, async |world: &World| {
    let (crew, station) = (world.member("crew_1"), world.county().station_1);
    let with = |field: &str, value: Value| {
        let mut body = body();
        body[field] = value;
        body
    };
    let part = |title: &str, lines: usize| json!({ "title": title, "lines": vec!["x"; lines], "left_out": 0 });
    for (body, field) in [
        (with("parts", json!([])), "body.parts"),
        (with("parts", json!(vec![part("x", 1); 25])), "body.parts"),
        (with("parts", json!([part("x", 61)])), "body.parts[0].lines"),
        (with("parts", json!([part(" ", 1)])), "body.parts[0].title"),
        (with("since", json!("2026-11-26T07:00:00Z")), "body.since"),
        (with("since", json!("2026-11-01T07:00:00Z")), "body.since"),
    ] {
        assert_eq!(give(&crew, station, &body).await.refused(422, "field-invalid")["field"], field);
    }
    give(&crew, world.county().station_2, &body()).await.refused(403, "out-of-reach");
    give(&crew, Uuid::now_v7(), &body()).await.refused(404, "not-found");
    assert_eq!(crew.list("/v1/handovers").await.len(), 0);
});
