//! Passkeys: added with the password, signed in with beside it or alone, and refused in all the ways in which they may be wrong.
//! What they say is held to the standard's vectors beside the code (`platform/auth/webauthn_tests.rs`).

use aws_lc_rs::{
    rand::SystemRandom,
    signature::{ECDSA_P256_SHA256_ASN1_SIGNING, EcdsaKeyPair, KeyPair as _},
};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use chrono::TimeDelta;
use fullset::app::Settings;
use reqwest::Method;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

use super::{
    accounts::{NEW, ask, events, noted, post, refreshed, signed_in},
    second_factor::{code, first_half, set_up},
};
use crate::world::{Client, PUBLIC, Reply, Server, World, device::Device, on_both, people::PASSWORD};

fn text(bytes: &[u8]) -> String {
    URL_SAFE_NO_PAD.encode(bytes)
}

/// An authenticator of software, for one credential.
pub struct Authenticator {
    key: EcdsaKeyPair,
    credential: Vec<u8>,
    pub counter: u32,
    /// Whether it looks who its person is.
    pub verifies: bool,
    pub origin: String,
    party: String,
}

impl Authenticator {
    pub fn new(name: &str) -> Self {
        Self {
            key: EcdsaKeyPair::generate(&ECDSA_P256_SHA256_ASN1_SIGNING).unwrap(),
            credential: Sha256::digest(name.as_bytes()).to_vec(),
            counter: 1,
            verifies: true,
            origin: PUBLIC.to_owned(),
            party: PUBLIC.trim_start_matches("https://").to_owned(),
        }
    }

    fn collected(&self, kind: &str, challenge: &str) -> String {
        json!({ "type": kind, "challenge": challenge, "origin": self.origin, "crossOrigin": false }).to_string()
    }

    fn said(&self, more: u8) -> Vec<u8> {
        let flags = 0x01 | if self.verifies { 0x04 } else { 0 } | more;
        [
            Sha256::digest(self.party.as_bytes()).as_slice(),
            &[flags],
            self.counter.to_be_bytes().as_slice(),
        ]
        .concat()
    }

    /// Answers what `POST /v1/session/passkeys/start` asks for.
    pub fn make(&self, asked: &Value, name: &str) -> Value {
        let point = self.key.public_key().as_ref();
        let key = [
            &[0xa5, 1, 2, 3, 0x26, 0x20, 1, 0x21, 0x58, 32],
            &point[1..33],
            &[0x22, 0x58, 32],
            &point[33..65],
        ]
        .concat();
        let length = u16::try_from(self.credential.len()).unwrap().to_be_bytes();
        let said = [self.said(0x40), vec![0; 16], length.to_vec(), self.credential.clone(), key].concat();
        let size = u16::try_from(said.len()).unwrap().to_be_bytes();
        let object = [b"\xa3\x63fmt\x64none\x67attStmt\xa0\x68authData\x59".as_slice(), &size, &said].concat();
        let collected = self.collected("webauthn.create", asked["challenge"].as_str().unwrap());
        json!({ "ticket": asked["ticket"], "name": name, "client_data": text(collected.as_bytes()), "attestation": text(&object) })
    }

    /// Answers what `POST /v1/session/passkey/start` asks for.
    pub fn sign(&mut self, asked: &Value) -> Value {
        self.counter += 1;
        let (said, collected) = (self.said(0), self.collected("webauthn.get", asked["challenge"].as_str().unwrap()));
        let message = [said.as_slice(), Sha256::digest(collected.as_bytes()).as_slice()].concat();
        let signature = self.key.sign(&SystemRandom::new(), &message).unwrap();
        json!({
            "ticket": asked["ticket"], "credential": text(&self.credential), "client_data": text(collected.as_bytes()),
            "authenticator_data": text(&said), "signature": text(signature.as_ref()),
        })
    }
}

async fn begin_adding(world: &World, token: &str) -> Value {
    post(world, "/v1/session/passkeys/start", Some(token), json!({ "password": PASSWORD }))
        .await
        .ok()
}

/// Adds a passkey; answers its id.
pub async fn add(world: &World, member: &Client, authenticator: &Authenticator, name: &str) -> Value {
    let token = member.access().await;
    let asked = begin_adding(world, &token).await;
    let added = post(world, "/v1/session/passkeys", Some(&token), authenticator.make(&asked, name)).await.ok();
    added["id"].clone()
}

/// What a whole sign-in asks for, or the second half of a ticket.
pub async fn begin(world: &World, ticket: Option<&str>) -> Value {
    post(world, "/v1/session/passkey/start", None, json!({ "ticket": ticket })).await.ok()
}

async fn answer(world: &World, body: Value) -> Reply {
    post(world, "/v1/session/passkey", None, body).await
}

async fn list(world: &World, member: &Client) -> Value {
    ask(world, Method::GET, "/v1/session/passkeys", Some(&member.access().await), Value::Null)
        .await
        .ok()
}

on_both!(a_passkey_is_added_with_the_password_named_used_and_removed, async |world: &World| {
    let (crew, admin) = (world.crew(), world.admin());
    let token = crew.access().await;
    let start = async |body: Value| post(world, "/v1/session/passkeys/start", Some(&token), body).await;
    start(json!({ "password": "not-the-password" })).await.refused(403, "password-wrong");
    let mut phone = Authenticator::new("phone");
    let asked = begin_adding(world, &token).await;
    assert_eq!((&asked["origin"], &asked["rp_id"]), (&json!(PUBLIC), &json!("fullset.harrow.example")));
    assert_eq!((&asked["exclude"], &asked["algorithms"]), (&json!([]), &json!([-7, -8, -257])));
    let made = phone.make(&asked, "My phone");
    let (elsewhere, _) = signed_in(&crew).await;
    post(world, "/v1/session/passkeys", Some(&elsewhere), made.clone())
        .await
        .refused(401, "session-ended");
    let added = post(world, "/v1/session/passkeys", Some(&token), made.clone()).await.ok();
    post(world, "/v1/session/passkeys", Some(&token), made).await.refused(401, "session-ended");
    let mine = list(world, &crew).await;
    assert_eq!((&mine["origin"], &mine["items"][0]["name"]), (&json!(PUBLIC), &json!("My phone")));
    assert!(mine["items"][0]["used_at"].is_null(), "{mine}");
    // The same one is not added twice, and an authenticator is told which it has.
    let again = begin_adding(world, &token).await;
    assert_eq!(again["exclude"], json!([text(&phone.credential)]));
    let twice = phone.make(&again, "Again");
    post(world, "/v1/session/passkeys", Some(&token), twice).await.refused(409, "rule-broken");
    let named = json!({ "id": added["id"], "name": "Duty phone" });
    assert_eq!(post(world, "/v1/session/passkeys/name", Some(&token), named.clone()).await.status, 204);
    let other = world.officer().access().await;
    post(world, "/v1/session/passkeys/name", Some(&other), named).await.refused(404, "not-found");
    // Alone, where it looked who it is.
    let session = answer(world, phone.sign(&begin(world, None).await)).await.ok();
    assert_eq!(session["member"]["id"], json!(crew.person.id));
    refreshed(world, session["refresh_token"].as_str().unwrap()).await.ok();
    let mine = list(world, &crew).await;
    assert_eq!(mine["items"][0]["name"], "Duty phone");
    assert!(mine["items"][0]["used_at"].is_string(), "{mine}");
    let shown = admin.get(&format!("/v1/members/{}/access", crew.person.id)).await.ok();
    assert_eq!(shown["second_factor"]["passkeys"], 1);
    // Gone, it opens nothing.
    let remove = async |password: &str| {
        let body = json!({ "id": added["id"], "password": password });
        post(world, "/v1/session/passkeys/remove", Some(&token), body).await
    };
    remove("not-the-password").await.refused(403, "password-wrong");
    assert_eq!(remove(PASSWORD).await.status, 204);
    remove(PASSWORD).await.refused(404, "not-found");
    answer(world, phone.sign(&begin(world, None).await)).await.refused(403, "passkey-wrong");
    crew.sign_in().await.ok();
    for what in ["passkey_added", "passkey_removed"] {
        noted(&admin, what, crew.person.id).await;
    }
});

on_both!(a_passkey_is_the_second_half_of_a_sign_in, async |world: &World| {
    let crew = world.crew();
    let mut stick = Authenticator::new("stick");
    // One that only feels a touch: enough beside the password, and not alone.
    stick.verifies = false;
    add(world, &crew, &stick, "Stick").await;
    let half = crew.sign_in().await;
    assert_eq!(
        (half.status, &half.json["missing"], &half.json["passkey"]),
        (202, &json!("passkey"), &json!(true))
    );
    let (ticket, _) = first_half(&crew).await;
    let asked = begin(world, Some(&ticket)).await;
    assert_eq!((&asked["credentials"], &asked["verify"]), (&json!([text(&stick.credential)]), &json!(false)));
    let session = answer(world, stick.sign(&asked)).await.ok();
    assert_eq!(session["member"]["id"], json!(crew.person.id));
    let whole = begin(world, None).await;
    assert_eq!((&whole["credentials"], &whole["verify"]), (&json!([]), &json!(true)));
    answer(world, stick.sign(&whole)).await.refused(403, "passkey-wrong");
    // No code of an authenticator opens what has none, and no second factor is set up around it.
    post(world, "/v1/session/code", None, json!({ "ticket": ticket, "code": "000000" }))
        .await
        .refused(403, "second-factor-wrong");
    post(world, "/v1/session/second-factor", None, json!({ "ticket": ticket }))
        .await
        .refused(409, "rule-broken");
    // Beside an authenticator either does.
    world.pass(TimeDelta::minutes(1));
    let (key, _) = set_up(world, &crew).await;
    world.pass(TimeDelta::seconds(30));
    let half = crew.sign_in().await;
    assert_eq!((&half.json["missing"], &half.json["passkey"]), (&json!("code"), &json!(true)));
    let given = json!({ "ticket": half.json["ticket"], "code": code(&key, world.clock.now()) });
    post(world, "/v1/session/code", None, given).await.ok();
    answer(world, stick.sign(&begin(world, half.json["ticket"].as_str()).await)).await.ok();
});

on_both!(a_passkey_that_is_wrong_in_any_way_is_refused_and_told, async |world: &World| {
    let (crew, officer, admin) = (world.crew(), world.officer(), world.admin());
    let (mut mine, mut theirs) = (Authenticator::new("mine"), Authenticator::new("theirs"));
    add(world, &crew, &mine, "Mine").await;
    add(world, &officer, &theirs, "Theirs").await;
    // Another page, for the right host too.
    for origin in [
        "https://fullset.harrow.example.evil.example",
        "https://fullset.harrow.example:8443",
        "http://fullset.harrow.example",
    ] {
        origin.clone_into(&mut mine.origin);
        answer(world, mine.sign(&begin(world, None).await)).await.refused(403, "passkey-wrong");
    }
    PUBLIC.clone_into(&mut mine.origin);
    answer(world, mine.sign(&begin(world, None).await)).await.ok();
    // A challenge of another question.
    let (one, two) = (begin(world, None).await, begin(world, None).await);
    let mut mixed = mine.sign(&one);
    mixed["ticket"] = two["ticket"].clone();
    answer(world, mixed).await.refused(403, "passkey-wrong");
    // Nobody was looked at.
    mine.verifies = false;
    answer(world, mine.sign(&begin(world, None).await)).await.refused(403, "passkey-wrong");
    mine.verifies = true;
    // Used twice; too late; no ticket at all; a ticket of something else.
    let signed = mine.sign(&begin(world, None).await);
    answer(world, signed.clone()).await.ok();
    answer(world, signed.clone()).await.refused(401, "session-ended");
    let late = mine.sign(&begin(world, None).await);
    world.pass(TimeDelta::minutes(5));
    answer(world, late.clone()).await.refused(401, "session-ended");
    let (access, _) = signed_in(&admin).await;
    for ticket in [access, "x".to_owned()] {
        let mut other = late.clone();
        other["ticket"] = json!(ticket);
        answer(world, other).await.refused(401, "session-ended");
    }
    // Another member's, for the half of this one.
    let (ticket, _) = first_half(&crew).await;
    answer(world, theirs.sign(&begin(world, Some(&ticket)).await))
        .await
        .refused(403, "passkey-wrong");
    // Under the name of another member's credential, and by a handle that is somebody else's.
    let mut named = theirs.sign(&begin(world, None).await);
    named["credential"] = json!(text(&mine.credential));
    answer(world, named).await.refused(403, "passkey-wrong");
    let mut handed = mine.sign(&begin(world, None).await);
    handed["user_handle"] = json!(text(officer.person.id.as_bytes()));
    answer(world, handed).await.refused(403, "passkey-wrong");
    // Nothing of it is base64url.
    let mut odd = mine.sign(&begin(world, None).await);
    odd["signature"] = json!("no/base64+url=");
    assert_eq!(answer(world, odd).await.refused(422, "field-invalid")["field"], "body.signature");
    // The counter of a copy goes back.
    world.pass(TimeDelta::minutes(16));
    answer(world, mine.sign(&begin(world, None).await)).await.ok();
    mine.counter -= 1;
    answer(world, mine.sign(&begin(world, None).await)).await.refused(403, "passkey-wrong");
    noted(&admin, "passkey_copied", crew.person.id).await;
    noted(&admin, "passkey_wrong", crew.person.id).await;
    // Wrong ones are tries to sign in.
    mine.origin = "https://evil.example".into();
    let mut slowed = false;
    for _ in 0..8 {
        slowed |= answer(world, mine.sign(&begin(world, None).await)).await.status == 429;
    }
    assert!(slowed);
});

on_both!(a_passkey_counts_where_the_agency_asks_for_a_second_factor, async |world: &World| {
    let (admin, officer) = (world.admin(), world.officer());
    let mut phone = Authenticator::new("phone");
    let first = add(world, &officer, &phone, "Phone").await;
    let mut policy = admin.find("/v1/agency").await["policy"].clone();
    policy["second_factor_roles"] = json!(["officer"]);
    admin.edit("/v1/agency", json!({ "policy": policy })).await.ok();
    let session = answer(world, phone.sign(&begin(world, None).await)).await.ok();
    let token = session["access_token"].as_str().unwrap();
    refreshed(world, session["refresh_token"].as_str().unwrap()).await.ok();
    // The only one stays.
    let remove = json!({ "id": first, "password": PASSWORD });
    post(world, "/v1/session/passkeys/remove", Some(token), remove.clone())
        .await
        .refused(409, "rule-broken");
    add(world, &officer, &Authenticator::new("stick"), "Stick").await;
    assert_eq!(post(world, "/v1/session/passkeys/remove", Some(token), remove).await.status, 204);
    // An admin takes all away, which ends the sign-ins; then a second factor is to be set up.
    let drop = format!("/v1/members/{}/drop-second-factor", officer.person.id);
    admin.post(&drop, json!({})).await.ok();
    ask(world, Method::GET, "/v1/session", Some(token), Value::Null)
        .await
        .refused(401, "session-ended");
    assert_eq!(first_half(&officer).await.1, "set_up");
    let (_, _, by) = events(&admin, "").await.into_iter().find(|(what, ..)| what == "second_factor_off").unwrap();
    assert_eq!(by, json!(admin.person.name));
});

on_both!(
    nothing_is_signed_in_of_who_was_let_go_or_whose_password_changed_between_the_halves,
    async |world: &World| {
        let (crew, admin) = (world.crew(), world.admin());
        let mut phone = Authenticator::new("phone");
        add(world, &crew, &phone, "Phone").await;
        let (ticket, _) = first_half(&crew).await;
        let asked = begin(world, Some(&ticket)).await;
        let path = format!("/v1/members/{}", crew.person.id);
        admin.edit(&path, json!({ "password": NEW })).await.ok();
        answer(world, phone.sign(&asked)).await.refused(401, "session-ended");
        // The passkey is the member's whatever the password is, until the member is let go.
        answer(world, phone.sign(&begin(world, None).await)).await.ok();
        admin.edit(&path, json!({ "active": false })).await.ok();
        answer(world, phone.sign(&begin(world, None).await)).await.refused(401, "session-ended");
    }
);

on_both!(a_member_has_ten_at_most_and_a_tablet_none, async |world: &World| {
    let (crew, admin) = (world.crew(), world.admin());
    for n in 0..10 {
        add(world, &crew, &Authenticator::new(&n.to_string()), &format!("Number {n}")).await;
    }
    let token = crew.access().await;
    let start = json!({ "password": PASSWORD });
    post(world, "/v1/session/passkeys/start", Some(&token), start.clone())
        .await
        .refused(409, "rule-broken");
    assert_eq!(list(world, &crew).await["items"].as_array().unwrap().len(), 10);
    let tablet = Device::enrol(world, &admin, Some(world.county().station_1)).await;
    tablet.post("/v1/session/passkeys/start", &start).await.refused(403, "not-allowed");
});

on_both!(without_a_public_address_none_are_offered_and_it_is_said_why, async |world: &World| {
    let crew = world.crew();
    let token = crew.access().await;
    let quiet = Server::with(&world.location, &world.clock, |settings| Settings { party: None, ..settings }).await;
    let ask = async |method: Method, path: &str, body: Value| {
        let request = world.http.request(method, format!("{}{path}", quiet.base)).bearer_auth(&token).json(&body);
        Reply::of(path.to_owned(), request).await
    };
    assert!(ask(Method::GET, "/v1/session/passkeys", json!({})).await.ok()["origin"].is_null());
    for path in ["/v1/session/passkeys/start", "/v1/session/passkey/start"] {
        let body = if path.contains("keys/") { json!({ "password": PASSWORD }) } else { json!({}) };
        let problem = ask(Method::POST, path, body).await.refused(409, "rule-broken");
        assert!(problem["hint"].as_str().unwrap().contains("--public-url"), "{problem}");
    }
    quiet.stop().await;
});
