//! Whose a phone is: its member's and its sign-in's, nobody else's; what is refused, and what a try says.

use std::net::TcpListener;

use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use fullset::slices::receivers::Outward;
use serde_json::{Value, json};
use wiremock::ResponseTemplate;

use super::{
    kit::answers,
    pushed::{OWN, Phone, REMOVE, TRY, falls, sending, sent, service, subscribed},
};
use crate::{
    slices::accounts,
    world::{World, on_both},
};

on_both!(a_phone_is_its_members_and_its_sign_ins_and_stands_nowhere_else, async |world: &World| {
    let (server, push) = service(world).await;
    let at = |name: &str| world.member_at(&server, world.agency(), name);
    let (officer, chief) = (at("officer"), at("chief"));
    let phone = Phone::new(&push.uri(), "shared");
    let id = subscribed(&officer, &phone).await;
    // Nobody takes it over, removes it or tries it.
    chief.post(OWN, phone.body("mine now")).await.refused(409, "already-there");
    chief.post(REMOVE, json!({ "id": id })).await.refused(404, "not-found");
    chief.post(TRY, json!({ "id": id })).await.refused(404, "not-found");
    // The same sign-in has one phone: the later.
    let second = subscribed(&officer, &Phone::new(&push.uri(), "other")).await;
    let listed = officer.find(OWN).await;
    assert_eq!(
        (listed["items"].as_array().unwrap().len(), &listed["items"][0]["id"]),
        (1, &json!(second)),
        "{listed}"
    );
    assert_eq!(listed["items"][0]["this"], json!(true));
    let again = subscribed(&officer, &phone).await;
    falls(world, &server).await;
    // What reaches it is in no answer, no feed, no journal, and no backup.
    let secrets = [
        phone.endpoint.clone(),
        URL_SAFE_NO_PAD.encode(phone.auth),
        URL_SAFE_NO_PAD.encode(&phone.public),
    ];
    let mut seen = vec![
        listed.to_string(),
        officer.get("/v1/changes?limit=2000").await.text,
        officer.get("/v1/alerts").await.text,
    ];
    seen.extend(crate::world::sql::texts(
        &world.location,
        "SELECT COALESCE(CAST(body AS TEXT), '') AS t FROM journal",
    ));
    for secret in &secrets {
        assert!(!seen.iter().any(|text| text.contains(secret)), "{secret}");
    }
    assert!(!fullset::platform::backup::TABLES.iter().any(|table| table.starts_with("push_")));
    // Five phones of a member at most; each of a sign-in of its own.
    let anew = async |name: &str| {
        let (token, _) = accounts::signed_in(&chief).await;
        accounts::post(world, OWN, Some(&token), Phone::new("https://push.example", name).body(name)).await
    };
    // That service sends none.
    anew("no service").await.refused(409, "rule-broken");
    let at_server = async |name: &str| {
        let (token, _) = accounts::signed_in(&chief).await;
        let request = world.http.post(format!("{}{OWN}", server.base)).bearer_auth(token);
        let body = Phone::new(&push.uri(), name).body(name);
        crate::world::Reply::of(name.into(), request.json(&body)).await
    };
    for n in 0..5 {
        at_server(&format!("n{n}")).await.ok();
    }
    at_server("n5").await.refused(409, "rule-broken");
    // The officer signs out everywhere: the phone ends with its sign-in, and another member may have it then.
    at("admin").post(&format!("/v1/members/{}/sign-out", officer.person.id), json!({})).await.ok();
    let rows = crate::world::sql::number(&world.location, "SELECT count(*) AS n FROM push_subscription");
    assert_eq!(rows, 6, "ended ones are forgotten later");
    let before = sent(&push, &phone).await.len();
    at("crew").take_out(world.county().set_2.ram, "bent").await.ok();
    let alerts = at("crew").list("/v1/alerts").await;
    let later = alerts.iter().find(|alert| alert["rig"] == json!(world.county().engine_2)).unwrap();
    assert!(!later.to_string().contains(&again.to_string()), "{later}");
    assert_eq!(sent(&push, &phone).await.len(), before);
    at("coordinator").post(OWN, phone.body("mine now")).await.ok();
    server.stop().await;
});

on_both!(what_is_no_subscription_is_refused_and_a_try_says_how_it_went, async |world: &World| {
    let strict = sending(world, Outward::Public).await;
    let inside = Phone::new("https://127.0.0.1:9", "x");
    let chief = world.member_at(&strict, world.agency(), "chief");
    for endpoint in [
        "http://push.example/x",
        "https://10.0.0.8/x",
        "https://localhost/x",
        "push",
        &format!("https://push.example/{}", "x".repeat(1000)),
        &inside.endpoint,
    ] {
        let mut body = inside.body("x");
        body["endpoint"] = json!(endpoint);
        let problem = chief.post(OWN, body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.endpoint", "{problem}");
    }
    for (field, value) in [
        ("p256dh", json!("AAAA")),
        ("p256dh", json!(URL_SAFE_NO_PAD.encode([4; 65]))),
        ("auth", json!("AAAA")),
        ("changes", json!([])),
        ("name", json!(" ")),
    ] {
        let mut body = Phone::new("https://push.example", "x").body("x");
        body[field] = value;
        let problem = chief.post(OWN, body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], format!("body.{field}"), "{problem}");
    }
    strict.stop().await;
    // The world's own service has no contact: it offers nothing, and says so.
    let plain = world.member("chief");
    assert_eq!(plain.find(OWN).await["public_key"], Value::Null);
    plain.post(OWN, inside.body("x")).await.refused(409, "rule-broken");
    let (server, push) = service(world).await;
    let chief = world.member_at(&server, world.agency(), "chief");
    let phone = Phone::new(&push.uri(), "tried");
    let id = json!({ "id": subscribed(&chief, &phone).await });
    assert_eq!(chief.post(TRY, id.clone()).await.ok(), json!({ "taken": true, "problem": null, "gone": false }));
    let shown = phone.opened(&sent(&push, &phone).await[0].body);
    assert_eq!((&shown["title"], &shown["path"]), (&json!("Fullset: a try"), &json!("/account")));
    answers(&push, ResponseTemplate::new(403)).await;
    assert_eq!(chief.post(TRY, id.clone()).await.ok()["problem"], json!("It answered 403"));
    answers(&push, ResponseTemplate::new(410)).await;
    assert_eq!(chief.post(TRY, id.clone()).await.ok()["gone"], json!(true));
    chief.post(TRY, id.clone()).await.refused(404, "not-found");
    // One that takes the connection and says nothing is not waited for without end.
    let silent = TcpListener::bind("127.0.0.1:0").unwrap();
    let slow = Phone::new(&format!("http://{}", silent.local_addr().unwrap()), "slow");
    let slow = json!({ "id": subscribed(&chief, &slow).await });
    assert_eq!(
        chief.post(TRY, slow.clone()).await.ok()["problem"],
        json!("It did not answer within 15 seconds")
    );
    assert!(chief.post(REMOVE, slow.clone()).await.done());
    chief.post(REMOVE, slow).await.refused(404, "not-found");
    for _ in 0..20 {
        let tried = chief.post(TRY, id.clone()).await;
        if tried.status == 429 {
            tried.refused(429, "slow-down");
            return server.stop().await;
        }
    }
    panic!("nobody is held up");
});
