//! Who belongs to which shift of a station.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, acts::id_of, on_both};

async fn add(client: &Client, station: Uuid, name: &str, members: &[Uuid]) -> Reply {
    let body = json!({ "id": Uuid::now_v7(), "station": station, "name": name, "members": members });
    client.post("/v1/shifts", body).await
}

on_both!(a_station_has_each_shift_once_and_its_own_officer_keeps_it, async |world: &World| {
    let (county, officer, crew) = (world.county(), world.member("officer_1"), world.member("crew_1"));
    add(&crew, county.station_1, "A shift", &[]).await.refused(403, "not-allowed");
    add(&officer, county.station_2, "A shift", &[]).await.refused(403, "out-of-reach");
    let shift = add(&officer, county.station_1, " A shift ", &[officer.person.id, crew.person.id])
        .await
        .record();
    assert_eq!(shift["name"], "A shift");
    assert_eq!(shift["members"], json!([crew.person.told(), officer.person.told()]), "by name");
    add(&officer, county.station_1, "a SHIFT", &[]).await.refused(409, "already-there");
    // Another station's is another shift.
    add(&world.officer(), county.station_2, "A shift", &[]).await.ok();

    let path = format!("/v1/shifts/{}", id_of(&shift));
    officer
        .ask(reqwest::Method::PATCH, &path, Some(&json!({ "members": [] })), &[])
        .await
        .refused(428, "revision-needed");
    let rev = officer.rev(&path).await;
    let changed = officer.patch_on(&path, rev, json!({ "members": [crew.person.id] })).await.record();
    assert_eq!((&changed["name"], changed["members"].as_array().unwrap().len()), (&json!("A shift"), 1));
    officer.patch_on(&path, rev, json!({ "name": "Red" })).await.refused(409, "stale");
    let rev = officer.rev(&path).await;
    officer.post_on(&format!("{path}/remove"), rev, json!({})).await.ok();
    crew.get(&path).await.refused(404, "not-found");
    add(&officer, county.station_1, "A shift", &[]).await.ok();
});

on_both!(that_a_station_has_no_such_shift_is_a_fact_on_record, async |world: &World| {
    let (county, officer, crew) = (world.county(), world.officer(), world.crew());
    let none = |members: &[Uuid]| json!({ "id": Uuid::now_v7(), "station": county.station_1, "name": "C shift", "exists": false, "members": members });
    let refused = officer.post("/v1/shifts", none(&[crew.person.id])).await.refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.members", "{refused}");
    let stated = officer.post("/v1/shifts", none(&[])).await.record();
    assert_eq!((&stated["exists"], &stated["members"]), (&json!(false), &json!([])));
    let path = format!("/v1/shifts/{}", id_of(&stated));
    let refused = officer
        .patch_on(&path, officer.rev(&path).await, json!({ "members": [crew.person.id] }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.members", "{refused}");
    let again = json!({ "exists": true, "members": [crew.person.id] });
    let has = officer.patch_on(&path, officer.rev(&path).await, again).await.record();
    assert_eq!((&has["exists"], &has["members"]), (&json!(true), &json!([crew.person.told()])));
    // What is said not to be has no roster any more.
    let gone = officer.patch_on(&path, officer.rev(&path).await, json!({ "exists": false })).await.record();
    assert_eq!((&gone["exists"], &gone["members"]), (&json!(false), &json!([])));
    // A shift that is added without a word of it is one that the station has.
    assert_eq!(add(&officer, county.station_1, "A shift", &[]).await.record()["exists"], true);
});

on_both!(a_shift_that_cannot_be_is_refused_with_the_field, async |world: &World| {
    let (county, officer, crew) = (world.county(), world.officer(), world.crew());
    let me = crew.person.id;
    let left = world.member("crew_2");
    world
        .admin()
        .edit(&format!("/v1/members/{}", left.person.id), json!({ "active": false }))
        .await
        .ok();
    for (name, members, field) in [
        ("", vec![me], "body.name"),
        ("A shift that is called by more than forty letters", vec![me], "body.name"),
        ("A shift", vec![me, me], "body.members[1]"),
        ("A shift", vec![me; 61], "body.members"),
        ("A shift", vec![me, Uuid::now_v7()], "body.members[1]"),
        ("A shift", vec![left.person.id], "body.members[0]"),
    ] {
        let refused: Value = add(&officer, county.station_1, name, &members).await.refused(422, "field-invalid");
        assert_eq!(refused["field"], field, "{refused}");
    }
    for n in 0..12 {
        add(&officer, county.station_1, &format!("{n}"), &[]).await.ok();
    }
    add(&officer, county.station_1, "one more", &[]).await.refused(409, "rule-broken");
});
