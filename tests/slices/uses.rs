//! Uses: what a rig's pieces were used for. Recording one only adds.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, acts::id_of, command, on_both, on_shelf};

fn body(world: &World) -> Value {
    let county = world.county();
    json!({
        "id": Uuid::now_v7(), "rig": county.engine_1, "pieces": [county.set_1.cutter, county.set_1.hose],
        "what": "  Two cars, door removal ", "incident": "26-1187", "minutes": 40,
    })
}

async fn record(client: &Client, body: Value) -> crate::world::Reply {
    client.post("/v1/uses", body).await
}

on_both!(a_use_says_what_was_used_when_and_by_whom, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let sent = body(world);
    let kept = record(&crew, sent.clone()).await.record();
    let expected = json!({
        "id": sent["id"], "rig": county.engine_1, "station": county.station_1, "pieces": sent["pieces"],
        "what": "Two cars, door removal", "incident": "26-1187", "minutes": 40, "used_at": "2026-11-25T14:00:00.000000Z", "while_out": [],
        "recorded_by": crew.person.told(), "checks": [], "corrected": null, "allows": ["use.check"], "rev": kept["rev"],
    });
    assert_eq!(kept, expected);
    let id = id_of(&kept);
    assert_eq!(crew.find(&format!("/v1/uses/{id}")).await, expected);
    assert_eq!(crew.list(&format!("/v1/uses?rig={}", county.engine_1)).await, std::slice::from_ref(&expected));
    assert_eq!(crew.list(&format!("/v1/uses?rig={}", county.engine_2)).await, Vec::<Value>::new());
    let history = crew.find(&format!("/v1/uses/{id}/history")).await;
    assert_eq!(history["items"].as_array().unwrap().len(), 1, "{history}");
    crew.on_board(county.engine_1).await.is("full", &[]);
});

on_both!(a_used_piece_is_counted_but_not_counted_on_until_it_is_checked, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let verdict = async || crew.find(&format!("/v1/piece-standings/{}", county.set_1.cutter)).await;
    assert_eq!(crew.capability(county.engine_1).await["confirmed"], true);
    assert_eq!(verdict().await["verdict"], "yes");
    let used = id_of(&record(&crew, body(world)).await.record());
    let standing = crew.capability(county.engine_1).await;
    assert_eq!((&standing["level"], &standing["confirmed"]), (&json!("full"), &json!(false)));
    let mut doubts: Vec<&str> = standing["doubts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["words"].as_str().unwrap())
        .collect();
    doubts.sort_unstable();
    let said = ["cutter E1-CUT", "hose E1-HOSE1"].map(|piece| format!("{piece}: used 2026-11-25 07:00, not checked since"));
    assert_eq!(doubts, said);
    let told = verdict().await;
    assert_eq!(
        (&told["verdict"], &told["reasons"][0]["code"]),
        (&json!("cannot_be_confirmed"), &json!("used-unchecked"))
    );
    world.pass(TimeDelta::minutes(10));
    crew.post(&format!("/v1/uses/{used}/check"), json!({})).await.ok();
    assert_eq!(crew.capability(county.engine_1).await["confirmed"], true);
    assert_eq!(verdict().await["verdict"], "yes");
});

on_both!(a_use_that_is_sent_later_was_when_it_was, async |world: &World| {
    let crew = world.crew();
    let mut late = command("use.record", body(world));
    late["at"] = json!(world.clock.now() - TimeDelta::hours(3));
    crew.apply(vec![late]).await;
    let kept = crew.list("/v1/uses").await;
    assert_eq!(kept[0]["used_at"], "2026-11-25T11:00:00.000000Z");
});

on_both!(a_use_never_conflicts_whatever_became_of_the_pieces, async |world: &World| {
    let (county, crew, coordinator) = (world.county(), world.crew(), world.coordinator());
    coordinator.bring(county.set_1.cutter, on_shelf(county.station_3)).await.ok();
    coordinator.retire(county.set_1.hose, "burst").await.ok();
    let kept = record(&crew, body(world)).await.record();
    assert_eq!(kept["pieces"], json!([county.set_1.cutter, county.set_1.hose]));
    record(&crew, body(world)).await.ok();
    assert_eq!(crew.list("/v1/uses").await.len(), 2);
});

on_both!(a_use_may_say_little, async |world: &World| {
    let county = world.county();
    let kept = record(
        &world.crew(),
        json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "pieces": [county.set_1.ram] }),
    )
    .await
    .record();
    assert_eq!((&kept["what"], &kept["incident"], &kept["minutes"]), (&Value::Null, &Value::Null, &Value::Null));
});

on_both!(a_use_that_makes_no_sense_is_refused_with_its_field, async |world: &World| {
    let (crew, vale) = (world.crew(), &world.ground.vale.county);
    let before = crew.revision().await;
    let cutter = world.county().set_1.cutter;
    for (field, value, at) in [
        ("minutes", json!(0), "body.minutes"),
        ("minutes", json!(1441), "body.minutes"),
        ("minutes", json!(-5), "body.minutes"),
        ("pieces", json!([]), "body.pieces"),
        ("pieces", json!([cutter, cutter]), "body.pieces[1]"),
        ("pieces", json!([cutter, vale.set_1.cutter]), "body.pieces[1]"),
        ("pieces", json!(vec![cutter; 201]), "body.pieces"),
        ("rig", json!(vale.engine_1), "body.rig"),
        ("what", json!(" "), "body.what"),
        ("incident", json!("26\n1187"), "body.incident"),
    ] {
        let mut bad = body(world);
        bad[field] = value.clone();
        let problem = record(&crew, bad).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], at, "{field} {value}");
    }
    assert_eq!(crew.revision().await, before);
    for minutes in [1, 1440] {
        let mut good = body(world);
        good["minutes"] = json!(minutes);
        record(&crew, good).await.ok();
    }
});

on_both!(a_use_is_recorded_by_every_member_of_the_agency, async |world: &World| {
    record(&world.member("crew_1"), body(world)).await.ok();
    record(&world.member("crew_2"), body(world)).await.ok();
});
