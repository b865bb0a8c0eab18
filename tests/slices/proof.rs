//! The password again, before what opens or closes a way in.

use chrono::TimeDelta;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    accounts::post,
    calendar_feeds::secret,
    signed::{PIN, is, set_pin, tablet},
};
use crate::world::{Client, Reply, World, command, device::Device, on_both, people::PASSWORD};

async fn once(member: &Client, path: &str, body: &Value) -> Reply {
    member.once(Method::POST, path, Some(body), &[]).await
}

fn key(world: &World, seed: u8) -> Value {
    let until = (world.clock.now() + TimeDelta::days(3)).to_rfc3339_opts(chrono::SecondsFormat::Micros, true);
    json!({ "id": Uuid::now_v7(), "name": "Board", "scope": { "of": "read" }, "expires_at": until, "secret_sha256": secret(seed).1 })
}

on_both!(
    what_opens_or_closes_a_way_in_takes_the_password_of_the_last_ten_minutes,
    async |world: &World| {
        let (admin, station) = (world.admin(), world.county().station_1);
        // Of the sign-in itself.
        admin.sign_in().await.ok();
        once(&admin, "/v1/pin", &json!({ "pin": PIN })).await.ok();
        world.pass(TimeDelta::minutes(10));
        let asked = [
            ("/v1/pin", json!({ "pin": "739164" })),
            ("/v1/enrolments", json!({ "kind": "phone" })),
            ("/v1/enrolments", json!({ "kind": "tablet", "station": station })),
            ("/v1/api-keys", key(world, 1)),
            ("/v1/session/end", json!({})),
        ];
        for (path, body) in &asked {
            once(&admin, path, body).await.refused(403, "proof-needed");
        }
        let batch = vec![command("member.set_pin", json!({ "pin": "739164" })), command("api_key.add", key(world, 2))];
        for answer in admin.send(batch).await.ok()["answers"].as_array().expect("answers") {
            is(answer, "proof-needed");
        }
        let prove = async |password: &str| once(&admin, "/v1/session/proof", &json!({ "password": password })).await;
        prove("not-the-password").await.refused(403, "password-wrong");
        once(&admin, "/v1/pin", &json!({ "pin": "739164" })).await.refused(403, "proof-needed");
        assert_eq!(prove(PASSWORD).await.status, 204);
        for (path, body) in &asked {
            assert!(once(&admin, path, body).await.done(), "{path} {body}");
        }
    }
);

on_both!(a_proof_is_of_one_sign_in_and_a_wrong_one_a_try_to_sign_in, async |world: &World| {
    let crew = world.member("crew_1");
    let phone = Device::enrol(world, &crew, None).await;
    let body = json!({ "pin": PIN });
    // A code brought it in, and no password.
    phone.post("/v1/pin", &body).await.refused(403, "proof-needed");
    set_pin(&crew, PIN).await;
    phone.post("/v1/pin", &body).await.refused(403, "proof-needed");
    assert_eq!(phone.post("/v1/session/proof", &json!({ "password": PASSWORD })).await.status, 204);
    phone.post("/v1/pin", &body).await.ok();
    for _ in 0..5 {
        let wrong = json!({ "password": "not-the-password" });
        phone.post("/v1/session/proof", &wrong).await.refused(403, "password-wrong");
    }
    phone
        .post("/v1/session/proof", &json!({ "password": PASSWORD }))
        .await
        .refused(429, "slow-down");
    crew.sign_in().await.refused(429, "slow-down");
    post(world, "/v1/session/proof", None, json!({ "password": PASSWORD }))
        .await
        .refused(401, "sign-in-needed");
});

on_both!(a_pin_on_a_tablet_makes_no_key, async |world: &World| {
    let (admin, tablet) = (world.admin(), tablet(world).await);
    set_pin(&admin, PIN).await;
    let pin = tablet.key(&admin, PIN).await;
    let answer = tablet.send(tablet.sign(&admin, &pin, command("api_key.add", key(world, 1)))).await;
    is(&answer, "proof-needed");
    tablet
        .post("/v1/session/proof", &json!({ "password": PASSWORD }))
        .await
        .refused(403, "not-allowed");
});
