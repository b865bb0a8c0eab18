//! Recovery codes of who has passkeys alone, and the first passkey by the ticket of a sign-in.

use chrono::TimeDelta;
use reqwest::Method;
use serde_json::{Value, json};

use super::{
    accounts::{ask, noted, post, refreshed},
    passkeys::{Authenticator, add, begin},
    second_factor::{code, first_half, set_up},
};
use crate::world::{Client, Reply, World, on_both, people::PASSWORD};

/// Adds a passkey; answers what it was answered with.
async fn added(world: &World, member: &Client, authenticator: &Authenticator) -> Value {
    let token = member.access().await;
    let asked = post(world, "/v1/session/passkeys/start", Some(&token), json!({ "password": PASSWORD }))
        .await
        .ok();
    let made = authenticator.make(&asked, "A passkey");
    post(world, "/v1/session/passkeys", Some(&token), made).await.ok()
}

async fn with_code(world: &World, member: &Client, code: &Value) -> Reply {
    let (ticket, missing) = first_half(member).await;
    assert!(["passkey", "code"].contains(&missing.as_str()), "{missing}");
    post(world, "/v1/session/code", None, json!({ "ticket": ticket, "code": code })).await
}

async fn left(world: &World, token: &str) -> Value {
    ask(world, Method::GET, "/v1/session/second-factor", Some(token), Value::Null).await.ok()
}

on_both!(who_has_passkeys_alone_signs_in_by_a_recovery_code_once, async |world: &World| {
    let (crew, admin) = (world.crew(), world.admin());
    let first = added(world, &crew, &Authenticator::new("phone")).await;
    let codes = first["recovery_codes"].as_array().expect("codes").clone();
    assert_eq!((codes.len(), &first["name"], &first["session"]), (10, &json!("A passkey"), &Value::Null));
    let second = added(world, &crew, &Authenticator::new("stick")).await;
    assert_eq!(second["recovery_codes"], json!([]), "those of the first one count on");
    let session = with_code(world, &crew, &codes[0]).await.ok();
    assert_eq!(session["member"]["id"], json!(crew.person.id));
    noted(&admin, "recovery_code_used", crew.person.id).await;
    with_code(world, &crew, &codes[0]).await.refused(403, "second-factor-wrong");
    let token = session["access_token"].as_str().expect("a token");
    let shown = left(world, token).await;
    assert_eq!(
        (&shown["on_at"], &shown["recovery_codes"], &shown["passkeys"]),
        (&Value::Null, &json!(9), &json!(2))
    );
    // Tries are counted, as with an authenticator.
    for _ in 0..4 {
        with_code(world, &crew, &json!("AAAA-BBBB-CCCC-DDDD-EEEE-FFFF"))
            .await
            .refused(403, "second-factor-wrong");
    }
    with_code(world, &crew, &codes[1]).await.refused(429, "slow-down");
    world.pass(TimeDelta::minutes(16));
    // A key that was never confirmed opens nothing.
    let token = with_code(world, &crew, &codes[1]).await.ok()["access_token"]
        .as_str()
        .expect("a token")
        .to_owned();
    let key = post(world, "/v1/session/second-factor", Some(&token), json!({ "password": PASSWORD }))
        .await
        .ok();
    let now = code(key["secret"].as_str().expect("a key"), world.clock.now());
    with_code(world, &crew, &json!(now)).await.refused(403, "second-factor-wrong");
    // New ones in their place by one of them; there is no authenticator to turn off.
    let renew = json!({ "code": codes[2] });
    let renewed = post(world, "/v1/session/second-factor/recovery-codes", Some(&token), renew).await.ok();
    with_code(world, &crew, &codes[3]).await.refused(403, "second-factor-wrong");
    let off = json!({ "code": renewed["recovery_codes"][0] });
    post(world, "/v1/session/second-factor/off", Some(&token), off)
        .await
        .refused(409, "rule-broken");
    // With the last passkey they go.
    for passkey in [&first, &second] {
        let remove = json!({ "id": passkey["id"], "password": PASSWORD });
        assert_eq!(post(world, "/v1/session/passkeys/remove", Some(&token), remove).await.status, 204);
    }
    assert_eq!(left(world, &token).await["recovery_codes"], json!(0));
    crew.sign_in().await.ok();
});

on_both!(recovery_codes_stay_while_passkey_or_authenticator_is_there, async |world: &World| {
    let crew = world.crew();
    let passkey = add(world, &crew, &Authenticator::new("phone"), "Phone").await;
    let (_, codes) = set_up(world, &crew).await;
    let token = crew.access().await;
    let off = json!({ "code": codes[0] });
    assert_eq!(post(world, "/v1/session/second-factor/off", Some(&token), off).await.status, 204);
    assert_eq!(left(world, &token).await["recovery_codes"], json!(9), "the passkey is still there");
    with_code(world, &crew, &json!(codes[1])).await.ok();
    let (_, codes) = set_up(world, &crew).await;
    let remove = json!({ "id": passkey, "password": PASSWORD });
    assert_eq!(post(world, "/v1/session/passkeys/remove", Some(&token), remove).await.status, 204);
    assert_eq!(left(world, &token).await["recovery_codes"], json!(codes.len()), "the authenticator is");
});

on_both!(the_ticket_of_a_sign_in_that_lacks_a_second_factor_adds_a_passkey, async |world: &World| {
    let (admin, officer) = (world.admin(), world.officer());
    let mut policy = admin.find("/v1/agency").await["policy"].clone();
    policy["second_factor_roles"] = json!(["officer"]);
    admin.edit("/v1/agency", json!({ "policy": policy })).await.ok();
    let (ticket, missing) = first_half(&officer).await;
    let (other, _) = first_half(&officer).await;
    assert_eq!(missing, "set_up");
    let start = async |ticket: &str| post(world, "/v1/session/passkeys/start", None, json!({ "ticket": ticket })).await;
    let mut phone = Authenticator::new("phone");
    let asked = start(&ticket).await.ok();
    post(world, "/v1/session/passkeys/start", None, json!({ "password": PASSWORD }))
        .await
        .refused(401, "sign-in-needed");
    let earlier = start(&other).await.ok();
    let done = post(world, "/v1/session/passkeys", None, phone.make(&asked, "Phone")).await.ok();
    assert_eq!(done["session"]["member"]["id"], json!(officer.person.id));
    assert_eq!(done["recovery_codes"].as_array().expect("codes").len(), 10);
    refreshed(world, done["session"]["refresh_token"].as_str().expect("a token")).await.ok();
    // From here on the second factor is asked for: neither ticket adds another, of either sort.
    start(&ticket).await.refused(409, "rule-broken");
    let stick = Authenticator::new("stick");
    post(world, "/v1/session/passkeys", None, stick.make(&earlier, "Stick"))
        .await
        .refused(409, "rule-broken");
    post(world, "/v1/session/second-factor", None, json!({ "ticket": other }))
        .await
        .refused(409, "rule-broken");
    let (ticket, missing) = first_half(&officer).await;
    assert_eq!(missing, "passkey");
    let session = post(world, "/v1/session/passkey", None, phone.sign(&begin(world, Some(&ticket)).await))
        .await
        .ok();
    assert_eq!(session["member"]["id"], json!(officer.person.id));
});
