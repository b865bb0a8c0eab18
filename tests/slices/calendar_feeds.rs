//! Calendars of due checks, at addresses that can be revoked.

use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use chrono::TimeDelta;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::checks::{in_force, sound, weekly};
use crate::world::{Client, Reply, World, acts::id_of, on_both};

/// A secret as a client makes it, and its hash.
pub fn secret(seed: u8) -> (String, String) {
    let secret = URL_SAFE_NO_PAD.encode([seed; 32]);
    let hash = Sha256::digest(secret.as_bytes());
    (secret, hash.iter().map(|byte| format!("{byte:02x}")).collect())
}

pub async fn add(client: &Client, place: Value, seed: u8) -> (String, Reply) {
    let (secret, hash) = secret(seed);
    let body = json!({ "id": Uuid::now_v7(), "name": "Kitchen tablet", "place": place, "secret_sha256": hash });
    (format!("/v1/calendars/{secret}/checks.ics"), client.post("/v1/calendar-feeds", body).await)
}

/// The lines of a file, unfolded.
fn lines(text: &str) -> Vec<String> {
    text.replace("\r\n ", "").split("\r\n").map(str::to_owned).collect()
}

fn value(lines: &[String], of: &str) -> Vec<String> {
    lines.iter().filter_map(|line| line.strip_prefix(of).map(str::to_owned)).collect()
}

on_both!(whoever_has_the_address_reads_the_checks_until_it_is_revoked, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let plan = in_force(world, weekly()).await;
    let (address, added) = add(&officer, json!({ "of": "rig", "rig": county.engine_1 }), 1).await;
    let feed = added.record();
    assert_eq!((&feed["state"], &feed["added_by"]), (&json!("active"), &officer.person.told()));
    assert!(!feed.to_string().contains("secret"), "{feed}");
    let reply = world.nobody("GET", &address).await;
    assert_eq!(
        (reply.status, reply.headers["content-type"].to_str().unwrap()),
        (200, "text/calendar; charset=utf-8")
    );
    let text = reply.text.clone();
    let all = lines(&text);
    assert_eq!(value(&all, "UID:"), [format!("{}.{plan}@fullset", county.set_1.cutter)]);
    assert_eq!(value(&all, "DTSTART;VALUE=DATE:"), ["20261130"]);
    assert_eq!(value(&all, "DTEND;VALUE=DATE:"), ["20261201"]);
    assert_eq!(value(&all, "SUMMARY:"), ["Weekly check: cutter: E1-CUT"]);
    assert_eq!(value(&all, "LOCATION:"), ["Engine 1"]);
    assert_eq!(value(&all, "X-WR-CALNAME:"), ["Checks: Engine 1"]);
    assert_eq!(value(&all, "DTSTAMP:"), ["20261125T140000Z"]);
    let sequence = |all: &[String]| value(all, "SEQUENCE:")[0].parse::<i64>().unwrap();
    // The same file is not sent again, and does not change with the time at which it is read.
    let tag = reply.headers["etag"].to_str().unwrap().to_owned();
    world.pass(TimeDelta::hours(2));
    let again = world.http.get(format!("{}{address}", world.server.base)).header("If-None-Match", &tag);
    assert_eq!(Reply::of("again".into(), again).await.status, 304);
    // It names nobody of the agency.
    pass(&crew, plan, county.set_1.cutter).await;
    let after = world.nobody("GET", &address).await;
    assert_eq!(after.status, 200);
    for person in world.agency().people.values() {
        assert!(!after.text.contains(&person.name) && !after.text.contains(&person.email), "{}", after.text);
    }
    // Passed before its day it stays due on Monday; on Monday it moves, under the same UID and with a later sequence.
    world.pass(TimeDelta::days(5));
    pass(&crew, plan, county.set_1.cutter).await;
    let moved = lines(&world.nobody("GET", &address).await.text);
    assert_eq!(value(&moved, "DTSTART;VALUE=DATE:"), ["20261207"]);
    assert_eq!(value(&moved, "UID:"), value(&all, "UID:"));
    assert!(sequence(&moved) > sequence(&all));
    assert_ne!(value(&moved, "DTSTAMP:"), value(&all, "DTSTAMP:"));
    // Another secret, a word, none of them: no such address.
    let none = world
        .nobody("GET", &format!("/v1/calendars/{}/checks.ics", secret(2).0))
        .await
        .refused(404, "not-found");
    for wrong in ["kitchen", "%00", &"A".repeat(44), &secret(1).1] {
        let told = world
            .nobody("GET", &format!("/v1/calendars/{wrong}/checks.ics"))
            .await
            .refused(404, "not-found");
        assert_eq!(told["detail"], none["detail"]);
    }
    let path = format!("/v1/calendar-feeds/{}/revoke", id_of(&feed));
    crew.post(&path, json!({})).await.refused(403, "not-allowed");
    let revoked = officer.post(&path, json!({})).await.record();
    assert_eq!((&revoked["state"], &revoked["revoked_by"]), (&json!("revoked"), &officer.person.told()));
    let told = world.nobody("GET", &address).await.refused(404, "not-found");
    assert_eq!(told["detail"], none["detail"]);
    officer.post(&path, json!({})).await.refused(409, "rule-broken");
});

async fn pass(client: &Client, plan: Uuid, piece: Uuid) {
    let body = json!({ "plan": plan, "version": 1, "piece": piece, "answers": sound() });
    client.post("/v1/checks", body).await.ok();
}

on_both!(a_calendar_is_of_a_station_a_district_a_rig_or_a_shop_within_reach, async |world: &World| {
    let (county, officer, shop) = (world.county(), world.officer(), world.shop());
    in_force(world, weekly()).await;
    shop.bring(county.set_2.cutter, crate::world::in_shop(county.shop)).await.ok();
    let at_station = json!({ "of": "station", "station": county.station_1 });
    for (n, (place, tags)) in [
        (at_station.clone(), vec!["E1-CUT"]),
        (json!({ "of": "shop", "shop": county.shop }), vec!["E2-CUT"]),
        (json!({ "of": "rig", "rig": county.engine_2 }), vec![]),
        (json!({ "of": "district", "district": county.south }), vec![]),
        (json!({ "of": "district", "district": county.north }), vec!["E1-CUT"]),
    ]
    .into_iter()
    .enumerate()
    {
        let (address, added) = add(&officer, place.clone(), u8::try_from(n).unwrap()).await;
        added.ok();
        let text = world.nobody("GET", &address).await.text;
        for tag in ["E1-CUT", "E2-CUT"] {
            assert_eq!(text.contains(tag), tags.contains(&tag), "{place} {tag}");
        }
    }
    // A secret opens one calendar, also of another agency's.
    let theirs = world.member_of(&world.ground.vale, "officer");
    let place = json!({ "of": "rig", "rig": world.ground.vale.county.engine_1 });
    add(&theirs, place.clone(), 0).await.1.refused(409, "already-there");
    let (address, added) = add(&theirs, place.clone(), 77).await;
    added.ok();
    assert!(!world.nobody("GET", &address).await.text.contains("E1-CUT"), "no plan is in force there");
    // Not of what is elsewhere, and not of what is not there.
    let next_door = world.member("officer_1");
    add(&next_door, json!({ "of": "station", "station": county.station_2 }), 100)
        .await
        .1
        .refused(403, "out-of-reach");
    add(&next_door, at_station, 101).await.1.ok();
    add(&officer, place, 102).await.1.refused(422, "field-invalid");
    let body = json!({ "id": Uuid::now_v7(), "name": "x", "place": { "of": "rig", "rig": county.engine_1 }, "secret_sha256": "ABC" });
    let problem = officer.post("/v1/calendar-feeds", body).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.secret_sha256");
});

on_both!(an_address_does_not_outlast_the_stay_of_the_member_who_made_it, async |world: &World| {
    let (admin, officer, next_door) = (world.admin(), world.officer(), world.member("officer_1"));
    let rig = json!({ "of": "rig", "rig": world.county().engine_1 });
    let (address, added) = add(&officer, rig.clone(), 31).await;
    added.ok();
    let (other, added) = add(&next_door, rig, 32).await;
    added.ok();
    let status = async |address: &str| world.nobody("GET", address).await.status;
    let member = format!("/v1/members/{}", officer.person.id);
    // Another name or role is no end of the stay.
    admin.edit(&member, json!({ "name": "Officer Renamed", "role": "crew" })).await.ok();
    assert_eq!((status(&address).await, status(&other).await), (200, 200));
    admin.edit(&member, json!({ "active": false })).await.ok();
    let none = world.nobody("GET", &format!("/v1/calendars/{}/checks.ics", secret(33).0)).await;
    let told = world.nobody("GET", &address).await.refused(404, "not-found");
    assert_eq!(told["detail"], none.refused(404, "not-found")["detail"]);
    assert_eq!(status(&other).await, 200, "a colleague's goes on");
    // Who is taken back is shown what was shown before.
    admin.edit(&member, json!({ "active": true })).await.ok();
    assert_eq!(status(&address).await, 200);
});

on_both!(who_reads_calendars_too_often_waits, async |world: &World| {
    let address = format!("/v1/calendars/{}/checks.ics", secret(9).0);
    let mut last = world.nobody("GET", &address).await;
    for _ in 0..70 {
        if last.status == 429 {
            break;
        }
        last = world.nobody("GET", &address).await;
    }
    assert!(last.headers.contains_key("retry-after"), "{}", last.text);
    last.refused(429, "slow-down");
});
