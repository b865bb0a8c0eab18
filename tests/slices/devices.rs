//! Devices: enrolled by a code, and out at once when they are revoked.

use std::time::Duration;

use chrono::TimeDelta;
use futures_util::StreamExt as _;
use reqwest::{Method, header};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Engine, Reply, Server, World,
    device::{Device, code, redeem},
    on, on_both, soon, sql,
};

on_both!(a_phone_is_enrolled_by_a_code_and_acts_as_its_member, async |world: &World| {
    let crew = world.member("crew_1");
    let invitation = code(&crew, None).await;
    assert_eq!(invitation.status, 201);
    let invitation = invitation.ok();
    let text = invitation["code"].as_str().unwrap();
    assert_eq!(invitation["url"], json!(format!("{}/enrol#{text}", world.server.base)));
    assert_eq!(invitation["expires_at"], json!("2026-11-25T14:10:00.000000Z"));
    let id = Uuid::now_v7();
    let typed = json!(text.to_lowercase().replace('-', " "));
    let session = redeem(world, &typed, id).await.ok();
    assert_eq!(session["member"]["id"], json!(crew.person.id));
    assert_eq!(
        (&session["device"]["id"], &session["device"]["kind"], &session["device"]["member"]),
        (&json!(id), &json!("phone"), &json!(crew.person.id))
    );
    let phone = Device::enrol(world, &crew, None).await;
    let who = phone.get("/v1/session").await.ok();
    assert_eq!((&who["member"]["id"], &who["device"]["id"]), (&json!(crew.person.id), &json!(phone.id)));
    let report = json!({ "id": Uuid::now_v7(), "piece": world.county().set_1.pump, "what": "seeps", "class": "deformation", "severity": "usable" });
    let answer = phone.post("/v1/defects", &report).await.ok();
    assert_eq!(answer["record"]["reported_by"], crew.person.told(), "{answer}");
    assert_eq!(answer["device"], json!(phone.id), "the answer, and so the journal, names the device");
    phone.refresh().await.ok();
});

on_both!(a_device_is_in_the_feed_in_lists_and_in_history_under_its_makers_name, async |world: &World| {
    let officer = world.member("officer_1");
    let tablet = Device::enrol(world, &officer, Some(world.county().station_1)).await;
    let path = format!("/v1/devices/{}", tablet.id);
    let record = officer.find(&path).await;
    assert_eq!(
        (&record["station"], &record["member"], &record["enrolled_by"], &record["state"]),
        (&json!(world.county().station_1), &Value::Null, &officer.person.told(), &json!("active"))
    );
    let page = officer.find("/v1/changes?limit=2000").await;
    assert!(page["changes"].as_array().unwrap().iter().any(|change| change["record"] == record));
    let listed = officer.list(&format!("/v1/devices?station={}", world.county().station_1)).await;
    assert_eq!(listed, vec![record]);
    let renamed = officer.edit(&path, json!({ "name": "Bay 3" })).await.record();
    assert_eq!(renamed["name"], "Bay 3");
    let history = officer.find(&format!("{path}/history")).await;
    let items = history["items"].as_array().unwrap();
    let told: Vec<(&str, &str)> = items
        .iter()
        .map(|item| (item["kind"].as_str().unwrap(), item["by"]["name"].as_str().unwrap()))
        .collect();
    assert_eq!(told, [("device.rename", "Odal One"), ("device.enrol", "Odal One")]);
});

on_both!(a_tablet_reads_and_says_what_it_is, async |world: &World| {
    let county = world.county();
    let tablet = Device::enrol(world, &world.officer(), Some(county.station_1)).await;
    for session in [tablet.session.clone(), tablet.get("/v1/session").await.ok(), tablet.refresh().await.ok()] {
        assert_eq!(session["member"], Value::Null);
        assert_eq!((&session["device"]["id"], &session["device"]["kind"]), (&json!(tablet.id), &json!("tablet")));
        assert_eq!(session["agency"]["id"], json!(world.agency().id));
        let may = session["may"].as_array().unwrap();
        assert!(may.contains(&json!("defect.report")) && !may.contains(&json!("piece.return")), "{may:?}");
    }
    tablet.get("/v1/board").await.ok();
    tablet.get("/v1/changes").await.ok();
    let report = json!({ "id": Uuid::now_v7(), "piece": county.set_1.pump, "what": "seeps", "class": "deformation", "severity": "usable" });
    tablet.post("/v1/defects", &report).await.refused(403, "signature-needed");
    tablet.post("/v1/enrolments", &json!({ "kind": "phone" })).await.refused(403, "not-allowed");
});

on_both!(a_tablet_is_enrolled_by_an_officer_within_reach, async |world: &World| {
    let county = world.county();
    code(&world.crew(), Some(county.station_1)).await.refused(403, "not-allowed");
    code(&world.shop(), Some(county.station_1)).await.refused(403, "not-allowed");
    code(&world.member("officer_1"), Some(county.station_2)).await.refused(403, "out-of-reach");
    code(&world.officer(), Some(Uuid::now_v7())).await.refused(422, "field-invalid");
    code(&world.officer(), Some(world.ground.vale.county.station_1))
        .await
        .refused(422, "field-invalid");
    let officer = world.member("officer_1");
    officer.post("/v1/enrolments", json!({ "kind": "tablet" })).await.refused(422, "field-invalid");
    officer
        .post("/v1/enrolments", json!({ "kind": "phone", "station": county.station_1 }))
        .await
        .refused(422, "field-invalid");
    let made = code(&officer, Some(county.station_1)).await.ok()["code"].take();
    let path = format!("/v1/members/{}", officer.person.id);
    world.admin().edit(&path, json!({ "name": "Odal Uno" })).await.ok();
    redeem(world, &made, Uuid::now_v7()).await.ok();
});

on_both!(a_code_serves_once_and_for_ten_minutes, async |world: &World| {
    let crew = world.crew();
    let first = code(&crew, None).await.ok()["code"].take();
    redeem(world, &first, Uuid::now_v7()).await.ok();
    redeem(world, &first, Uuid::now_v7()).await.refused(403, "code-unknown");
    let late = code(&crew, None).await.ok()["code"].take();
    world.pass(TimeDelta::minutes(10) - TimeDelta::seconds(1));
    let taken = Uuid::now_v7();
    let timely = code(&crew, None).await.ok()["code"].take();
    redeem(world, &timely, taken).await.ok();
    world.pass(TimeDelta::seconds(1));
    redeem(world, &late, Uuid::now_v7()).await.refused(403, "code-unknown");
});

on_both!(a_code_sent_from_two_devices_at_once_enrols_one, async |world: &World| {
    let made = code(&world.crew(), None).await.ok()["code"].take();
    let id = Uuid::now_v7();
    let (one, two, same) = tokio::join!(redeem(world, &made, id), redeem(world, &made, Uuid::now_v7()), redeem(world, &made, id));
    let done = [one, two, same].into_iter().filter(Reply::done).count();
    assert_eq!(done, 1);
    assert_eq!(world.admin().list("/v1/devices").await.len(), 1);
});

on_both!(a_device_id_that_is_anothers_leaves_the_code_open, async |world: &World| {
    let crew = world.crew();
    let phone = Device::enrol(world, &world.member("crew_2"), None).await;
    let made = code(&crew, None).await.ok()["code"].take();
    redeem(world, &made, phone.id).await.refused(409, "already-there");
    redeem(world, &made, Uuid::now_v7()).await.ok();
    phone.get("/v1/board").await.ok();
    let made = code(&world.officer(), Some(world.county().station_2)).await.ok()["code"].take();
    redeem(world, &made, phone.id).await.refused(409, "already-there");
    phone.refresh().await.ok();
});

on_both!(nobody_takes_over_a_tablet_that_is_out_of_reach, async |world: &World| {
    let (county, near) = (world.county(), world.member("officer_1"));
    let tablet = Device::enrol(world, &world.officer(), Some(county.station_2)).await;
    let made = code(&near, Some(county.station_1)).await.ok()["code"].take();
    redeem(world, &made, tablet.id).await.refused(409, "already-there");
    let made = code(&world.crew(), None).await.ok()["code"].take();
    redeem(world, &made, tablet.id).await.refused(409, "already-there");
    tablet.get("/v1/board").await.ok();
    let made = code(&world.officer(), Some(county.station_1)).await.ok()["code"].take();
    let moved = redeem(world, &made, tablet.id).await.ok();
    assert_eq!(moved["device"]["station"], json!(county.station_1), "who reaches both stations moves it");
});

on_both!(a_device_is_admitted_again_under_its_own_id, async |world: &World| {
    let crew = world.crew();
    let phone = Device::enrol(world, &crew, None).await;
    // The answer to the first code was lost: a second code, the same id.
    let made = code(&crew, None).await.ok()["code"].take();
    let session = redeem(world, &made, phone.id).await.ok();
    assert_eq!(session["device"]["id"], json!(phone.id));
    phone.get("/v1/board").await.refused(401, "session-ended");
    phone.refresh().await.refused(401, "session-ended");
    let again = phone.with(session);
    again.get("/v1/board").await.ok();
    again.refresh().await.ok();
    assert_eq!(crew.list("/v1/devices").await.len(), 1);
    // Revoked, it forgets what it keeps; afterwards it may come again.
    crew.post(&format!("/v1/devices/{}/revoke", again.id), json!({})).await.ok();
    again.get("/v1/board").await.refused(401, "device-revoked");
    let made = code(&crew, None).await.ok()["code"].take();
    let session = redeem(world, &made, again.id).await.ok();
    again.refresh().await.refused(401, "device-revoked");
    let third = again.with(session);
    third.get("/v1/board").await.ok();
    third.refresh().await.ok();
    assert_eq!(crew.find(&format!("/v1/devices/{}", third.id)).await["state"], "active");
});

on_both!(a_code_dies_with_the_sign_in_that_made_it, async |world: &World| {
    let crew = world.crew();
    let made = code(&crew, None).await.ok()["code"].take();
    let path = format!("/v1/members/{}", crew.person.id);
    world.admin().edit(&path, json!({ "password": "another-three-words" })).await.ok();
    redeem(world, &made, Uuid::now_v7()).await.refused(403, "code-unknown");
});

on_both!(five_codes_of_a_member_are_open_at_most, async |world: &World| {
    let crew = world.crew();
    for _ in 0..5 {
        code(&crew, None).await.ok();
    }
    code(&crew, None).await.refused(409, "rule-broken");
    code(&world.officer(), None).await.ok();
    world.pass(TimeDelta::minutes(10));
    code(&crew, None).await.ok();
});

on_both!(guessing_codes_is_slowed_down, async |world: &World| {
    for guess in ["2222-2222", "2222-2223", "2222-2224", "2222-2225", ""] {
        redeem(world, &json!(guess), Uuid::now_v7()).await.refused(403, "code-unknown");
    }
    let slowed = redeem(world, &json!("2222-2226"), Uuid::now_v7()).await;
    assert!(slowed.headers.contains_key(header::RETRY_AFTER));
    slowed.refused(429, "slow-down");
});

on_both!(a_code_is_kept_as_a_hash_and_reaches_no_journal, async |world: &World| {
    let crew = world.crew();
    let made = code(&crew, None).await.ok()["code"].take();
    redeem(world, &made, Uuid::now_v7()).await.ok();
    let (code, plain) = (made.as_str().unwrap().to_owned(), made.as_str().unwrap().replace('-', ""));
    for (table, column) in [("journal", "body"), ("record", "body"), ("state", "body")] {
        for text in [&code, &plain] {
            let query = format!("SELECT count(*) AS n FROM {table} WHERE CAST({column} AS TEXT) LIKE '%{text}%'");
            assert_eq!(sql::number(&world.location, &query), 0, "{table}.{column}");
        }
    }
    assert_eq!(
        sql::number(&world.location, "SELECT count(*) AS n FROM enrolment WHERE length(code_hash) = 32"),
        1
    );
});

on_both!(a_browser_that_is_enrolled_gets_cookies_and_no_tokens, async |world: &World| {
    let made = code(&world.crew(), None).await.ok()["code"].take();
    let body = json!({ "code": made, "device": { "id": Uuid::now_v7(), "name": "Phone" }, "browser": true });
    let ask = async |origin: &str| {
        let request = world.http.post(format!("{}/v1/enrolments/redeem", world.server.base)).header("origin", origin);
        Reply::of("redeem in a browser".into(), request.json(&body)).await
    };
    ask("http://elsewhere.example").await.refused(403, "origin-refused");
    let reply = ask(&world.server.base).await;
    assert_eq!(reply.headers.get_all(header::SET_COOKIE).iter().count(), 2);
    let session = reply.ok();
    assert!(session["access_token"].is_null() && session["refresh_token"].is_null(), "{session}");
});

on_both!(a_revoked_device_is_out_at_once_and_for_good, async |world: &World| {
    let crew = world.member("crew_1");
    let phone = Device::enrol(world, &crew, None).await;
    phone.get("/v1/board").await.ok();
    let mut stream = Box::pin(phone.request(Method::GET, "/v1/changes/live").send().await.unwrap().bytes_stream());
    stream.next().await.unwrap().unwrap();
    let path = format!("/v1/devices/{}", phone.id);
    let revoked = crew.post(&format!("{path}/revoke"), json!({})).await.record();
    assert_eq!(revoked["state"], "revoked");
    phone.get("/v1/board").await.refused(401, "device-revoked");
    phone.refresh().await.refused(401, "device-revoked");
    let rest = async { while stream.next().await.is_some() {} };
    tokio::time::timeout(Duration::from_secs(1), rest)
        .await
        .expect("the stream ends with the device");
    world.pass(TimeDelta::days(40));
    phone.refresh().await.refused(401, "device-revoked");
    crew.get("/v1/board").await.ok();
    crew.post(&format!("{path}/revoke"), json!({})).await.refused(409, "rule-broken");
    crew.edit(&path, json!({ "name": "Again" })).await.refused(409, "rule-broken");
});

on_both!(a_device_is_revoked_by_its_member_or_by_who_leads_there, async |world: &World| {
    let county = world.county();
    let (crew, other) = (world.member("crew_2"), world.member("crew_1"));
    let phone = Device::enrol(world, &crew, None).await;
    let tablet = Device::enrol(world, &world.officer(), Some(county.station_2)).await;
    for device in [&phone, &tablet] {
        let path = format!("/v1/devices/{}", device.id);
        other.post(&format!("{path}/revoke"), json!({})).await.refused(403, "not-allowed");
        other.edit(&path, json!({ "name": "Mine" })).await.refused(403, "not-allowed");
        let near = world.member("officer_1");
        near.post(&format!("{path}/revoke"), json!({})).await.refused(403, "out-of-reach");
        device.get("/v1/board").await.ok();
        world.member("chief_north").post(&format!("{path}/revoke"), json!({})).await.ok();
        device.get("/v1/board").await.refused(401, "device-revoked");
    }
});

on_both!(a_member_let_go_is_out_at_once_on_every_device, async |world: &World| {
    let crew = world.crew();
    let phone = Device::enrol(world, &crew, None).await;
    let token = crew.access().await;
    let path = format!("/v1/members/{}", crew.person.id);
    world.admin().edit(&path, json!({ "active": false })).await.ok();
    assert_eq!(crew.access().await, token, "the token is the one from before");
    crew.get("/v1/board").await.refused(401, "session-ended");
    crew.take_out(world.county().set_1.ram, "bent").await.refused(401, "session-ended");
    phone.get("/v1/board").await.refused(401, "session-ended");
    phone.refresh().await.refused(401, "session-ended");
});

on_both!(
    a_changed_role_reach_or_password_and_a_sign_out_end_the_access_token_too,
    async |world: &World| {
        for (name, change) in [
            ("crew_1", json!({ "role": "officer" })),
            ("crew_2", json!({ "station": world.county().station_1 })),
            ("chief", json!({ "password": "three-other-words" })),
        ] {
            let member = world.member(name);
            let path = format!("/v1/members/{}", member.person.id);
            let phone = Device::enrol(world, &member, None).await;
            world.admin().edit(&path, json!({ "name": "Renamed" })).await.ok();
            phone.get("/v1/board").await.ok();
            world.admin().edit(&path, change).await.ok();
            phone.get("/v1/board").await.refused(401, "session-ended");
            member.get("/v1/board").await.refused(401, "session-ended");
        }
        let officer = world.officer();
        let phone = Device::enrol(world, &officer, None).await;
        let out = Reply::of("sign out".into(), phone.request(Method::DELETE, "/v1/session")).await;
        assert_eq!(out.status, 204);
        phone.get("/v1/board").await.refused(401, "session-ended");
        officer.get("/v1/board").await.ok();
    }
);

on_both!(a_device_in_use_is_noted_once_a_day, async |world: &World| {
    let officer = world.officer();
    let mut tablet = Device::enrol(world, &officer, Some(world.county().station_1)).await;
    let path = format!("/v1/devices/{}", tablet.id);
    let seen = async || officer.find(&path).await["last_seen_at"].clone();
    let before = seen().await;
    tablet.session = tablet.refresh().await.ok();
    assert_eq!(seen().await, before, "once a day is enough");
    world.pass(TimeDelta::days(1));
    tablet.session = tablet.refresh().await.ok();
    let after = seen().await;
    assert!(after.as_str() > before.as_str(), "{before} {after}");
    tablet.session = tablet.refresh().await.ok();
    assert_eq!(seen().await, after);
});

#[test]
fn a_device_revoked_at_one_server_is_out_at_the_other_within_a_second() {
    on(Engine::Postgres, async |world: &World| {
        let second = Server::start(&world.location, &world.clock).await;
        let crew = world.crew();
        let phone = Device::enrol(world, &crew, None).await;
        let there = phone.at(&second);
        there.get("/v1/board").await.ok();
        let mut stream = Box::pin(there.request(Method::GET, "/v1/changes/live").send().await.unwrap().bytes_stream());
        stream.next().await.unwrap().unwrap();
        crew.post(&format!("/v1/devices/{}/revoke", phone.id), json!({})).await.ok();
        let revoked = tokio::time::Instant::now();
        let refused = soon("the other server refuses the device", async || {
            let reply = there.get("/v1/session").await;
            (!reply.done()).then_some(reply)
        })
        .await;
        assert!(revoked.elapsed() < Duration::from_secs(1), "{:?}", revoked.elapsed());
        refused.refused(401, "device-revoked");
        there.refresh().await.refused(401, "device-revoked");
        let rest = async { while stream.next().await.is_some() {} };
        tokio::time::timeout(Duration::from_secs(1), rest).await.expect("the stream ends there too");
        second.stop().await;
    });
}
