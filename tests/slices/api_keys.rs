//! Keys of programs: what they may do, and when they stop.

use chrono::{DateTime, TimeDelta, Utc};
use futures_util::future::join_all;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    accounts::{ask, events, post},
    calendar_feeds::secret,
};
use crate::world::{Client, Reply, Server, World, command, expecting, on_both, people::Person, sql};

fn key(seed: u8) -> String {
    format!("fsk_{}", secret(seed).0)
}

fn at(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(chrono::SecondsFormat::Micros, true)
}

fn wanted(world: &World, seed: u8, scope: Value) -> Value {
    let until = at(world.clock.now() + TimeDelta::days(30));
    json!({ "id": Uuid::now_v7(), "name": "Dispatch board", "scope": scope, "expires_at": until, "secret_sha256": secret(seed).1 })
}

async fn made(world: &World, seed: u8, scope: Value) -> Value {
    world.admin().post("/v1/api-keys", wanted(world, seed, scope)).await.record()
}

async fn get(world: &World, key: &str, path: &str) -> Reply {
    ask(world, Method::GET, path, Some(key), Value::Null).await
}

async fn send(world: &World, key: &str, commands: Vec<Value>) -> Reply {
    let body = json!({ "sent_at": world.clock.now(), "commands": commands });
    post(world, "/v1/commands", Some(key), body).await
}

fn report(piece: Uuid) -> Value {
    let body = json!({ "id": Uuid::now_v7(), "piece": piece, "what": "seeps", "class": "deformation", "severity": "out_of_service" });
    command("defect.report", body)
}

async fn code_of(world: &World, key: &str, one: Value) -> Value {
    send(world, key, vec![one]).await.ok()["answers"][0]["problem"]["code"].take()
}

on_both!(a_key_reads_and_a_key_for_commands_sends_those_alone, async |world: &World| {
    let county = world.county();
    let reads = made(world, 1, json!({ "of": "read" })).await;
    assert_eq!((&reads["state"], &reads["made_by"]), (&json!("active"), &world.admin().person.told()));
    for path in ["/v1/board", "/v1/changes?limit=1", "/v1/pieces", "/v1/session", "/v1/session/sign-ins"] {
        get(world, &key(1), path).await.ok();
    }
    let who = get(world, &key(1), "/v1/session").await.ok();
    assert_eq!((&who["member"], &who["may"]), (&Value::Null, &json!([])));
    assert_eq!(code_of(world, &key(1), report(county.set_1.ram)).await, "not-allowed");
    made(world, 2, json!({ "of": "commands", "kinds": ["defect.report", "piece.take_out"] })).await;
    assert_eq!(get(world, &key(2), "/v1/session").await.ok()["may"], json!(["defect.report", "piece.take_out"]));
    let sent = send(world, &key(2), vec![report(county.set_1.ram)]).await.ok();
    assert_eq!(sent["answers"][0]["outcome"], "applied", "{sent}");
    assert_eq!(code_of(world, &key(2), command("piece.move", json!({}))).await, "not-allowed");
    // The journal names it.
    let history = world.admin().find(&format!("/v1/pieces/{}/history", county.set_1.ram)).await;
    assert_eq!(
        history["items"][0]["by"],
        json!({ "id": null, "name": "Dispatch board", "role": "coordinator" }),
        "{}",
        history["items"][0]
    );
    // It writes at one address, and is nobody's account.
    let body = json!({ "id": county.set_1.ram, "reason": "bent" });
    post(world, &format!("/v1/pieces/{}/take-out", county.set_1.ram), Some(&key(2)), body)
        .await
        .refused(403, "not-allowed");
    for (path, body) in [
        ("/v1/enrolments", json!({ "kind": "phone" })),
        ("/v1/effects", json!({ "commands": [] })),
        ("/v1/session/end", json!({})),
        ("/v1/session/password", json!({ "present": "x", "password": "three-more-words" })),
        ("/v1/session/second-factor", json!({ "password": "x" })),
        ("/v1/imports", json!({})),
    ] {
        post(world, path, Some(&key(2)), body).await.refused(403, "not-allowed");
    }
    for path in ["/v1/access-events", &format!("/v1/members/{}/access", world.crew().person.id)] {
        get(world, &key(2), path).await.refused(403, "not-allowed");
    }
    // It stands in no table but as a hash.
    for table in ["journal", "record"] {
        let query = format!("SELECT count(*) AS n FROM {table} WHERE CAST(body AS TEXT) LIKE '%{}%'", secret(2).0);
        assert_eq!(sql::number(&world.location, &query), 0, "{table}");
    }
});

on_both!(what_takes_a_person_no_program_does, async |world: &World| {
    let county = world.county();
    made(world, 3, json!({ "of": "role", "role": "coordinator" })).await;
    let may = get(world, &key(3), "/v1/session").await.ok()["may"].clone();
    let personal = [
        "piece.return",
        "rig.put_back",
        "ticket.return",
        "ticket.test",
        "defect.close",
        "defect.extend",
        "notice.clear",
        "check.record",
        "member.sign_off",
        "member.practise",
        "card_draft.approve",
        "member.certify",
        "member.set_pin",
        "piece.found",
        "piece.try_out",
        "use.check",
        "device.rename",
        "device.revoke",
        "rollout.close",
        "rollout_rig.confirm",
        "rollout_rig.change_over",
    ];
    for kind in personal {
        assert!(!may.as_array().unwrap().contains(&json!(kind)), "{kind}");
        assert_eq!(code_of(world, &key(3), command(kind, json!({}))).await, "not-allowed", "{kind}");
        let named = json!({ "of": "commands", "kinds": [kind] });
        let refused = world.admin().post("/v1/api-keys", wanted(world, 4, named)).await.refused(422, "field-invalid");
        assert_eq!(refused["field"], "body.scope.kinds[0]");
    }
    assert!(may.as_array().unwrap().contains(&json!("model.add")), "{may}");
    // What lowers is taken; what would let the rig count again is not, by whatever command.
    let out = command("rig.take_out", json!({ "id": county.engine_1, "reason": "at the dealer" }));
    assert_eq!(send(world, &key(3), vec![out]).await.ok()["answers"][0]["outcome"], "applied");
    let lost = command("piece.take_out", json!({ "id": county.set_2.hose, "reason": "cut" }));
    assert_eq!(send(world, &key(3), vec![lost]).await.ok()["answers"][0]["outcome"], "applied");
    let grades = json!({ "grades": crate::world::county::grades(), "reason": "the committee met" });
    let eased = expecting(command("agency.grade", grades), world.admin().rev("/v1/agency").await);
    let answer = send(world, &key(3), vec![eased]).await.ok()["answers"][0].take();
    assert_eq!(answer["problem"]["code"], "not-allowed", "{answer}");
    assert!(answer["problem"]["detail"].as_str().unwrap().contains("takes a person"), "{answer}");
    // Members and keys are no program's.
    for kind in ["member.add", "member.edit", "member.link", "member.invite", "api_key.add", "agency.edit"] {
        assert_eq!(code_of(world, &key(3), command(kind, json!({}))).await, "not-allowed", "{kind}");
    }
    for scope in [
        json!({ "of": "role", "role": "admin" }),
        json!({ "of": "commands", "kinds": ["member.add"] }),
        json!({ "of": "commands", "kinds": [] }),
    ] {
        world.admin().post("/v1/api-keys", wanted(world, 4, scope)).await.refused(422, "field-invalid");
    }
});

on_both!(a_key_runs_out_and_is_revoked, async |world: &World| {
    let admin = world.admin();
    for (until, ok) in [(TimeDelta::zero(), false), (TimeDelta::days(367), false), (TimeDelta::days(365), true)] {
        let mut body = wanted(world, 5, json!({ "of": "read" }));
        body["expires_at"] = json!(at(world.clock.now() + until));
        let reply = admin.post("/v1/api-keys", body).await;
        assert_eq!(reply.status, if ok { 201 } else { 422 }, "{}", reply.text);
    }
    // The same secret twice is one too many.
    admin
        .post("/v1/api-keys", wanted(world, 5, json!({ "of": "read" })))
        .await
        .refused(409, "already-there");
    let key_6 = made(world, 6, json!({ "of": "commands", "kinds": ["defect.report"] })).await;
    get(world, &key(6), "/v1/board").await.ok();
    world.pass(TimeDelta::days(30) - TimeDelta::seconds(1));
    get(world, &key(6), "/v1/board").await.ok();
    world.pass(TimeDelta::seconds(1));
    get(world, &key(6), "/v1/board").await.refused(401, "sign-in-needed");
    send(world, &key(6), vec![report(world.county().set_1.ram)])
        .await
        .refused(401, "sign-in-needed");
    let path = format!("/v1/api-keys/{}/revoke", key_6["id"].as_str().unwrap());
    world.officer().post(&path, json!({})).await.refused(403, "not-allowed");
    world
        .member_of(&world.ground.vale, "admin")
        .post(&path, json!({}))
        .await
        .refused(404, "not-found");
    admin.post(&path, json!({})).await.ok();
    admin.post(&path, json!({})).await.refused(409, "rule-broken");
    let key_7 = made(world, 7, json!({ "of": "read" })).await;
    get(world, &key(7), "/v1/board").await.ok();
    let revoked = admin
        .post(&format!("/v1/api-keys/{}/revoke", key_7["id"].as_str().unwrap()), json!({}))
        .await
        .record();
    assert_eq!((&revoked["state"], &revoked["revoked_by"]), (&json!("revoked"), &admin.person.told()));
    get(world, &key(7), "/v1/board").await.refused(401, "sign-in-needed");
    for made_up in ["fsk_", "fsk_word", &key(8), &format!("{}A", key(5)), &key(5).replace("fsk_", "fsk-")] {
        get(world, made_up, "/v1/board").await.refused(401, "sign-in-needed");
    }
    let told: Vec<String> = events(&admin, "").await.into_iter().map(|event| event.0).collect();
    assert!(told.contains(&"key_made".to_owned()) && told.contains(&"key_revoked".to_owned()), "{told:?}");
});

on_both!(nothing_of_a_key_counts_after_it_was_revoked, async |world: &World| {
    let made = made(world, 9, json!({ "of": "commands", "kinds": ["defect.report"] })).await;
    let county = world.county();
    let pieces = [
        county.set_1.pump,
        county.set_1.cutter,
        county.set_1.spreader,
        county.set_1.ram,
        county.set_1.hose,
        county.set_2.pump,
    ];
    let reports = join_all((0..60_usize).map(|n| async move {
        tokio::time::sleep(std::time::Duration::from_micros(50 * n as u64)).await;
        send(world, &key(9), vec![report(pieces[n % pieces.len()])]).await
    }));
    let path = format!("/v1/api-keys/{}/revoke", made["id"].as_str().unwrap());
    let admin = world.admin();
    let (replies, revoked) = tokio::join!(reports, admin.post(&path, json!({})));
    let last = revoked.ok()["revision"].as_i64().unwrap();
    for reply in replies {
        if reply.status == 200 {
            let revision = reply.ok()["answers"][0]["revision"].as_i64().unwrap();
            assert!(revision < last, "{revision} after {last}");
        } else {
            reply.refused(401, "sign-in-needed");
        }
    }
});

on_both!(another_process_hears_of_a_key_within_a_second, async |world: &World| {
    let second = Server::start(&world.location, &world.clock).await;
    let there = async || {
        let request = world.http.get(format!("{}/v1/board", second.base)).bearer_auth(key(10));
        Reply::of("there".into(), request).await
    };
    let made = made(world, 10, json!({ "of": "read" })).await;
    crate::world::soon("it answers there", async || there().await.done().then_some(())).await;
    let path = format!("/v1/api-keys/{}/revoke", made["id"].as_str().unwrap());
    world.admin().post(&path, json!({})).await.ok();
    crate::world::soon("it is refused there", async || (there().await.status == 401).then_some(())).await;
    second.stop().await;
});

on_both!(a_key_ends_with_what_its_maker_may_do, async |world: &World| {
    let (admin, county) = (world.admin(), world.county());
    let changes = [json!({ "active": false }), json!({ "role": "officer" }), json!({ "district": county.north })];
    for (n, change) in changes.into_iter().enumerate() {
        let person = Person::new("harrow", &format!("Maker {n}"), "admin").over(county.south);
        admin.post("/v1/members", person.body()).await.ok();
        let maker = Client::new(&world.server.base, &world.http, &world.clock, &person);
        let seed = 20 + u8::try_from(n).unwrap();
        let mut body = wanted(world, seed, json!({ "of": "read" }));
        maker.post("/v1/api-keys", body.clone()).await.refused(403, "out-of-reach");
        body["district"] = json!(county.south);
        maker.post("/v1/api-keys", body).await.ok();
        get(world, &key(seed), "/v1/board").await.ok();
        let path = format!("/v1/members/{}", person.id);
        admin.edit(&path, json!({ "name": format!("Renamed {n}") })).await.ok();
        get(world, &key(seed), "/v1/board").await.ok();
        admin.edit(&path, change).await.ok();
        get(world, &key(seed), "/v1/board").await.refused(401, "sign-in-needed");
        send(world, &key(seed), vec![report(county.set_1.ram)]).await.refused(401, "sign-in-needed");
    }
});

on_both!(a_bounded_key_acts_in_its_part, async |world: &World| {
    let county = world.county();
    let mut body = wanted(
        world,
        30,
        json!({ "of": "commands", "kinds": ["piece.edit", "piece.take_out", "coupling.add"] }),
    );
    body["station"] = json!(county.station_3);
    world.admin().post("/v1/api-keys", body).await.ok();
    let path = format!("/v1/pieces/{}", county.set_1.ram);
    let edit = expecting(
        command("piece.edit", json!({ "id": county.set_1.ram, "serial": "X-17" })),
        world.admin().rev(&path).await,
    );
    assert_eq!(code_of(world, &key(30), edit).await, "out-of-reach");
    assert_eq!(code_of(world, &key(30), command("coupling.add", json!({}))).await, "out-of-reach");
});
