//! The second factor: set up, asked for at sign-in, never tried through, never replayed.

use aws_lc_rs::hmac;
use chrono::{DateTime, TimeDelta, Utc};
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::accounts::{NEW, ask, events, noted, post, refreshed, signed_in};
use crate::world::{Client, Reply, World, command, device::Device, on_both, people::PASSWORD, sql};

/// The code that an authenticator shows, worked out here.
pub fn code(key: &str, at: DateTime<Utc>) -> String {
    let mut bits = 0_u64;
    let mut count = 0;
    let mut bytes = Vec::new();
    for sign in key.bytes() {
        let value = if sign.is_ascii_uppercase() { sign - b'A' } else { sign - b'2' + 26 };
        bits = (bits << 5) | u64::from(value);
        count += 5;
        if count >= 8 {
            count -= 8;
            bytes.push(u8::try_from((bits >> count) & 0xff).unwrap());
        }
        bits &= (1 << count) - 1;
    }
    let step = u64::try_from(at.timestamp()).unwrap() / 30;
    let mac = hmac::sign(&hmac::Key::new(hmac::HMAC_SHA1_FOR_LEGACY_USE_ONLY, &bytes), &step.to_be_bytes());
    let at = usize::from(mac.as_ref()[19] & 15);
    let number = u32::from_be_bytes(mac.as_ref()[at..at + 4].try_into().unwrap()) & 0x7fff_ffff;
    format!("{:06}", number % 1_000_000)
}

/// A code that is wrong now.
fn wrong(key: &str, at: DateTime<Utc>) -> String {
    let right: Vec<String> = (-2..=2).map(|step| code(key, at + TimeDelta::seconds(30 * step))).collect();
    (0..).map(|n| format!("{n:06}")).find(|code| !right.contains(code)).unwrap()
}

/// Sets a second factor up; answers its key and the recovery codes.
pub async fn set_up(world: &World, member: &Client) -> (String, Vec<String>) {
    let token = member.access().await;
    let started = post(world, "/v1/session/second-factor", Some(&token), json!({ "password": PASSWORD }))
        .await
        .ok();
    let key = started["secret"].as_str().unwrap().to_owned();
    assert!(started["url"].as_str().unwrap().contains(&format!("secret={key}&")), "{started}");
    let confirm = json!({ "code": code(&key, world.clock.now()) });
    let on = post(world, "/v1/session/second-factor/confirm", Some(&token), confirm).await.ok();
    assert!(on["session"].is_null(), "{on}");
    let codes = on["recovery_codes"].as_array().unwrap().iter().map(|code| code.as_str().unwrap().to_owned());
    (key, codes.collect())
}

/// The first half of a sign-in: its ticket, and what is missing.
pub async fn first_half(member: &Client) -> (String, String) {
    let reply = member.sign_in().await;
    assert_eq!(reply.status, 202, "{}", reply.text);
    let text = |name: &str| reply.json[name].as_str().unwrap().to_owned();
    (text("ticket"), text("missing"))
}

async fn second_half(world: &World, ticket: &str, code: &str) -> Reply {
    post(world, "/v1/session/code", None, json!({ "ticket": ticket, "code": code })).await
}

on_both!(with_a_second_factor_a_sign_in_takes_a_code_that_counts_once, async |world: &World| {
    let (crew, admin) = (world.crew(), world.admin());
    let token = crew.access().await;
    post(world, "/v1/session/second-factor", Some(&token), json!({ "password": "not-it" }))
        .await
        .refused(403, "password-wrong");
    post(world, "/v1/session/second-factor", Some(&token), json!({}))
        .await
        .refused(403, "password-wrong");
    post(world, "/v1/session/second-factor", None, json!({ "password": PASSWORD }))
        .await
        .refused(401, "sign-in-needed");
    post(world, "/v1/session/second-factor/confirm", Some(&token), json!({ "code": "000000" }))
        .await
        .refused(409, "rule-broken");
    let (key, codes) = set_up(world, &crew).await;
    assert_eq!(codes.len(), 10);
    let state = ask(world, Method::GET, "/v1/session/second-factor", Some(&token), Value::Null).await.ok();
    assert_eq!((&state["recovery_codes"], &state["required"]), (&json!(10), &json!(false)));
    post(world, "/v1/session/second-factor", Some(&token), json!({ "password": PASSWORD }))
        .await
        .refused(409, "rule-broken");
    let (ticket, missing) = first_half(&crew).await;
    assert_eq!(missing, "code");
    // A ticket is no access token, no token is a ticket.
    ask(world, Method::GET, "/v1/session", Some(&ticket), Value::Null)
        .await
        .refused(401, "sign-in-needed");
    second_half(world, &token, "000000").await.refused(401, "session-ended");
    // The step that confirmed it is used.
    let confirmed = code(&key, world.clock.now());
    second_half(world, &ticket, &confirmed).await.refused(403, "second-factor-wrong");
    world.pass(TimeDelta::seconds(30));
    let now = code(&key, world.clock.now());
    let session = second_half(world, &ticket, &now).await.ok();
    assert_eq!(session["member"]["id"], json!(crew.person.id));
    second_half(world, &ticket, &now).await.refused(403, "second-factor-wrong");
    // One step early and one late, and each once; what is earlier than one that was used is over.
    world.pass(TimeDelta::minutes(2));
    let at = world.clock.now();
    let early = code(&key, at + TimeDelta::seconds(30));
    second_half(world, &ticket, &early).await.ok();
    second_half(world, &ticket, &code(&key, at)).await.refused(403, "second-factor-wrong");
    second_half(world, &ticket, &code(&key, at + TimeDelta::seconds(90)))
        .await
        .refused(403, "second-factor-wrong");
    // Recovery codes, each once, however it is typed.
    second_half(world, &ticket, &codes[0].to_lowercase().replace('-', " ")).await.ok();
    second_half(world, &ticket, &codes[0]).await.refused(403, "second-factor-wrong");
    // A ticket is over after ten minutes.
    world.pass(TimeDelta::minutes(10));
    second_half(world, &ticket, &codes[1]).await.refused(401, "session-ended");
    for what in ["second_factor_on", "code_wrong", "recovery_code_used", "signed_in"] {
        noted(&admin, what, crew.person.id).await;
    }
    for secret in [&key, &codes[1], &codes[1].replace('-', "")] {
        for table in ["journal", "record"] {
            let query = format!("SELECT count(*) AS n FROM {table} WHERE CAST(body AS TEXT) LIKE '%{secret}%'");
            assert_eq!(sql::number(&world.location, &query), 0, "{secret} in {table}");
        }
    }
    let shown = admin.get(&format!("/v1/members/{}/access", crew.person.id)).await.ok();
    assert_eq!(shown["second_factor"]["recovery_codes"], 9, "{shown}");
});

on_both!(codes_cannot_be_tried_through, async |world: &World| {
    let crew = world.crew();
    let (key, codes) = set_up(world, &crew).await;
    world.pass(TimeDelta::seconds(30));
    let bad = wrong(&key, world.clock.now());
    for _ in 0..5 {
        let (ticket, _) = first_half(&crew).await;
        second_half(world, &ticket, &bad).await.refused(403, "second-factor-wrong");
    }
    // A new ticket, another way in, the right code, a recovery code: all wait.
    let (ticket, _) = first_half(&crew).await;
    let mut waits = Vec::new();
    for _ in 0..4 {
        let slowed = second_half(world, &ticket, &code(&key, world.clock.now())).await;
        let wait: i64 = slowed.headers["retry-after"].to_str().unwrap().parse().unwrap();
        slowed.refused(429, "slow-down");
        second_half(world, &ticket, &codes[0]).await.refused(429, "slow-down");
        let off = json!({ "code": codes[0] });
        post(world, "/v1/session/second-factor/off", Some(&crew.access().await), off)
            .await
            .refused(429, "slow-down");
        waits.push(wait);
        world.pass(TimeDelta::seconds(wait));
        let bad = wrong(&key, world.clock.now());
        second_half(world, &ticket, &bad).await.refused(403, "second-factor-wrong");
    }
    assert!(waits.is_sorted() && waits[3] > waits[0], "the wait grows: {waits:?}");
    // Many at once are counted each.
    world.pass(TimeDelta::minutes(16));
    let (ticket, _) = first_half(&crew).await;
    let bad = wrong(&key, world.clock.now());
    let all = futures_util::future::join_all((0..20).map(|_| second_half(world, &ticket, &bad))).await;
    assert_eq!(all.iter().filter(|reply| reply.status == 403).count(), 1, "one try was free");
    world.pass(TimeDelta::minutes(16));
    let (ticket, _) = first_half(&crew).await;
    second_half(world, &ticket, &code(&key, world.clock.now())).await.ok();
});

on_both!(a_second_factor_goes_off_by_a_code_or_by_an_admin_alone, async |world: &World| {
    let (crew, admin) = (world.member("crew_1"), world.admin());
    let (key, codes) = set_up(world, &crew).await;
    let token = crew.access().await;
    let off = async |body: Value| post(world, "/v1/session/second-factor/off", Some(&token), body).await;
    off(json!({ "code": "" })).await.refused(403, "second-factor-wrong");
    off(json!({ "password": PASSWORD })).await.refused(422, "field-invalid");
    world.pass(TimeDelta::seconds(30));
    let renewed = json!({ "code": code(&key, world.clock.now()) });
    let renewed = post(world, "/v1/session/second-factor/recovery-codes", Some(&token), renewed).await.ok();
    off(json!({ "code": codes[3] })).await.refused(403, "second-factor-wrong");
    assert_eq!(off(json!({ "code": renewed["recovery_codes"][3] })).await.status, 204);
    crew.sign_in().await.ok();
    off(json!({ "code": renewed["recovery_codes"][4] })).await.refused(409, "rule-broken");
    // Lost: an admin within reach takes it away, which ends all sign-ins.
    set_up(world, &crew).await;
    let drop = format!("/v1/members/{}/drop-second-factor", crew.person.id);
    world.member("officer_1").post(&drop, json!({})).await.refused(403, "not-allowed");
    world
        .member_of(&world.ground.vale, "admin")
        .post(&drop, json!({}))
        .await
        .refused(404, "not-found");
    let own = format!("/v1/members/{}/drop-second-factor", admin.person.id);
    admin.post(&own, json!({})).await.refused(409, "rule-broken");
    admin.post(&drop, json!({})).await.ok();
    crew.get("/v1/session").await.refused(401, "session-ended");
    crew.sign_in().await.ok();
    let (_, _, by) = events(&admin, "").await.into_iter().find(|(what, ..)| what == "second_factor_off").unwrap();
    assert_eq!(by, json!(admin.person.name));
});

on_both!(a_ticket_is_void_when_the_password_or_the_member_is_gone, async |world: &World| {
    let (crew, admin) = (world.crew(), world.admin());
    let (key, _) = set_up(world, &crew).await;
    world.pass(TimeDelta::seconds(30));
    let (ticket, _) = first_half(&crew).await;
    let path = format!("/v1/members/{}", crew.person.id);
    admin.edit(&path, json!({ "password": NEW })).await.ok();
    let now = code(&key, world.clock.now());
    second_half(world, &ticket, &now).await.refused(401, "session-ended");
    let mut renewed = crew.clone();
    renewed.person.password = NEW.into();
    let (ticket, _) = first_half(&renewed).await;
    admin.edit(&path, json!({ "active": false })).await.ok();
    second_half(world, &ticket, &now).await.refused(401, "session-ended");
    renewed.sign_in().await.refused(401, "session-ended");
});

on_both!(where_the_agency_asks_for_it_a_member_signs_in_only_to_set_it_up, async |world: &World| {
    let (admin, officer, crew) = (world.admin(), world.officer(), world.crew());
    let (_, refresh) = signed_in(&officer).await;
    let phone = Device::enrol(world, &officer, None).await;
    let mut policy = admin.find("/v1/agency").await["policy"].clone();
    policy["second_factor_roles"] = json!(["officer"]);
    let before = admin.revision().await;
    admin.edit("/v1/agency", json!({ "policy": policy })).await.ok();
    assert_eq!(admin.revision().await, before + 1, "no rig is judged anew for it");
    // A policy that leaves the roles out asks nobody any more: that takes a reason.
    let mut left_out = policy.clone();
    left_out.as_object_mut().unwrap().remove("second_factor_roles");
    let problem = admin.edit("/v1/agency", json!({ "policy": left_out })).await.refused(422, "reason-needed");
    assert!(problem["detail"].as_str().unwrap().contains("without a second factor: officer"), "{problem}");
    // What is signed in goes on until it is refreshed; phones and other roles go on.
    refreshed(world, &refresh).await.refused(401, "session-ended");
    refreshed(world, phone.session["refresh_token"].as_str().unwrap()).await.ok();
    crew.sign_in().await.ok();
    let (ticket, missing) = first_half(&officer).await;
    assert_eq!(missing, "set_up");
    ask(world, Method::GET, "/v1/board", Some(&ticket), Value::Null)
        .await
        .refused(401, "sign-in-needed");
    second_half(world, &ticket, "000000").await.refused(409, "rule-broken");
    let started = post(world, "/v1/session/second-factor", None, json!({ "ticket": ticket })).await.ok();
    let key = started["secret"].as_str().unwrap();
    let confirm = async |code: &str| {
        let body = json!({ "ticket": ticket, "code": code });
        post(world, "/v1/session/second-factor/confirm", None, body).await
    };
    confirm(&wrong(key, world.clock.now())).await.refused(403, "second-factor-wrong");
    let on = confirm(&code(key, world.clock.now())).await.ok();
    assert_eq!(on["session"]["member"]["id"], json!(officer.person.id));
    assert_eq!(on["recovery_codes"].as_array().unwrap().len(), 10);
    let token = on["session"]["access_token"].as_str().unwrap();
    ask(world, Method::GET, "/v1/board", Some(token), Value::Null).await.ok();
    refreshed(world, on["session"]["refresh_token"].as_str().unwrap()).await.ok();
    // The ticket sets up no second one, and what is asked for stays on.
    post(world, "/v1/session/second-factor", None, json!({ "ticket": ticket }))
        .await
        .refused(409, "rule-broken");
    let off = json!({ "code": on["recovery_codes"][0] });
    post(world, "/v1/session/second-factor/off", Some(token), off).await.refused(409, "rule-broken");
    // With a second factor, the ticket of a sign-in asks for a code and sets nothing up.
    let (ticket, missing) = first_half(&officer).await;
    assert_eq!(missing, "code");
    post(world, "/v1/session/second-factor", None, json!({ "ticket": ticket }))
        .await
        .refused(409, "rule-broken");
    let report = json!({ "id": Uuid::now_v7(), "piece": world.county().set_1.hose, "what": "seeps", "class": "leak", "severity": "out_of_service" });
    world.crew().apply(vec![command("defect.report", report)]).await;
});
