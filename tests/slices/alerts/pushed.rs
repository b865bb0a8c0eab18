//! Officers who are told by their phones: a push service that takes notices, or does not, and a browser that opens them by what RFC 8291 and
//! RFC 8188 say, without any code of the service.

use aws_lc_rs::{
    aead::{AES_128_GCM, Aad, LessSafeKey, Nonce, UnboundKey},
    agreement::{ECDH_P256, PrivateKey, UnparsedPublicKey, agree},
    hkdf::{HKDF_SHA256, KeyType, Salt},
    signature::{self, ECDSA_P256_SHA256_FIXED},
};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use chrono::TimeDelta;
use fullset::{app::Settings, slices::receivers::Outward};
use serde_json::{Value, json};
use uuid::Uuid;
use wiremock::{MockServer, Request, ResponseTemplate};

use super::kit::{answers, sorted, told};
use crate::world::{Client, Server, World, acts::id_of, on_both, soon};

const CONTACT: &str = "mailto:fire-it@harrow.example";
pub const OWN: &str = "/v1/session/subscriptions";
pub const REMOVE: &str = "/v1/session/subscriptions/remove";
pub const TRY: &str = "/v1/session/subscriptions/try";

/// A browser that was subscribed.
pub struct Phone {
    private: PrivateKey,
    pub public: Vec<u8>,
    pub auth: [u8; 16],
    pub endpoint: String,
}

/// So many bytes of a key.
struct Bytes(usize);

impl KeyType for Bytes {
    fn len(&self) -> usize {
        self.0
    }
}

/// HKDF of RFC 5869, by a library that the service does not use for it.
fn derived<const N: usize>(salt: &[u8], secret: &[u8], info: &[&[u8]]) -> [u8; N] {
    let mut bytes = [0; N];
    let key = Salt::new(HKDF_SHA256, salt).extract(secret);
    key.expand(info, Bytes(N)).expect("short").fill(&mut bytes).expect("as long as it is");
    bytes
}

impl Phone {
    pub fn new(push_service: &str, name: &str) -> Self {
        let private = PrivateKey::generate(&ECDH_P256).expect("a key");
        let public = private.compute_public_key().expect("a point").as_ref().to_vec();
        let auth = *Uuid::new_v4().as_bytes();
        let endpoint = format!("{push_service}/v1/{name}");
        Self {
            private,
            public,
            auth,
            endpoint,
        }
    }

    /// What the screen sends of it.
    pub fn body(&self, name: &str) -> Value {
        json!({
            "endpoint": self.endpoint, "p256dh": URL_SAFE_NO_PAD.encode(&self.public), "auth": URL_SAFE_NO_PAD.encode(self.auth),
            "name": name, "changes": ["rig_falls", "rig_rises", "district_short", "district_enough"],
        })
    }

    /// What a browser shows of a body (RFC 8188, 2; RFC 8291, 3).
    pub fn opened(&self, body: &[u8]) -> Value {
        let (salt, rest) = body.split_at(16);
        let size = u32::from_be_bytes(rest[..4].try_into().expect("four"));
        assert!(body.len() <= 4096 && size == 4096 && rest[4] == 65, "{} bytes", body.len());
        let (sender, sealed) = rest[5..].split_at(65);
        let info: [&[u8]; 3] = [b"WebPush: info\0", &self.public, sender];
        let key = |shared: &[u8]| Ok(derived::<32>(&self.auth, shared, &info));
        let agreed = agree(&self.private, UnparsedPublicKey::new(&ECDH_P256, sender), (), key).expect("a point");
        let key: [u8; 16] = derived(salt, &agreed, &[b"Content-Encoding: aes128gcm\0"]);
        let nonce: [u8; 12] = derived(salt, &agreed, &[b"Content-Encoding: nonce\0"]);
        let key = LessSafeKey::new(UnboundKey::new(&AES_128_GCM, &key).expect("16 bytes"));
        let mut text = sealed.to_vec();
        let plain = key
            .open_in_place(Nonce::assume_unique_for_key(nonce), Aad::empty(), &mut text)
            .expect("it is for this browser");
        let end = plain.iter().rposition(|byte| *byte != 0).expect("not all padding");
        assert_eq!(plain[end], 2, "the last record");
        serde_json::from_slice(&plain[..end]).expect("JSON")
    }
}

/// A service beside the world's own that sends notices, and the push service that takes them.
pub async fn service(world: &World) -> (Server, MockServer) {
    let push = MockServer::start().await;
    answers(&push, ResponseTemplate::new(201)).await;
    (sending(world, Outward::Any).await, push)
}

pub async fn sending(world: &World, outward: Outward) -> Server {
    let with = |settings| Settings {
        outward,
        push_contact: Some(CONTACT.parse().expect("a contact")),
        ..settings
    };
    Server::with(&world.location, &world.clock, with).await
}

/// What a phone was sent.
pub async fn sent(push: &MockServer, phone: &Phone) -> Vec<Request> {
    let all = push.received_requests().await.unwrap_or_default();
    all.into_iter().filter(|request| phone.endpoint.ends_with(request.url.path())).collect()
}

/// Has notices sent to a member's new phone; answers its id.
pub async fn subscribed(member: &Client, phone: &Phone) -> Uuid {
    id_of(&member.post(OWN, phone.body("Duty phone")).await.ok())
}

fn header<'r>(request: &'r Request, name: &str) -> &'r str {
    request
        .headers
        .get(name)
        .and_then(|value| value.to_str().ok())
        .unwrap_or_else(|| panic!("no {name}"))
}

/// `Authorization` must be a token of RFC 8292 for this push service, by the key that the browser was given.
fn verify(world: &World, request: &Request, origin: &str, public_key: &str) {
    let said = header(request, "authorization").strip_prefix("vapid t=").expect("the scheme vapid");
    let (token, key) = said.split_once(", k=").expect("a key");
    assert_eq!(key, public_key);
    let (signed, signature) = token.rsplit_once('.').expect("three parts");
    let bytes = |text: &str| URL_SAFE_NO_PAD.decode(text).expect("base64url");
    signature::UnparsedPublicKey::new(&ECDSA_P256_SHA256_FIXED, bytes(key))
        .verify(signed.as_bytes(), &bytes(signature))
        .expect("signed by that key");
    let (head, claims) = signed.split_once('.').expect("two parts");
    let json = |text: &str| serde_json::from_slice::<Value>(&bytes(text)).expect("JSON");
    assert_eq!((&json(head)["alg"], &json(head)["typ"]), (&json!("ES256"), &json!("JWT")));
    let claims = json(claims);
    assert_eq!((&claims["aud"], &claims["sub"]), (&json!(origin), &json!(CONTACT)));
    let ends_in = claims["exp"].as_i64().expect("seconds") - world.clock.now().timestamp();
    assert!(
        (1..=24 * 60 * 60).contains(&ends_in),
        "RFC 8292, 2: within 24 hours, and this ends in {ends_in} s"
    );
}

/// The alert of the rig that the ram fell off.
pub async fn falls(world: &World, server: &Server) -> String {
    let crew = world.member_at(server, world.agency(), "crew");
    crew.take_out(world.county().set_1.ram, "bent by J. Miller").await.ok();
    let all = crew.list("/v1/alerts").await;
    let rig = all
        .iter()
        .find(|alert| alert["change"] == "rig_falls")
        .unwrap_or_else(|| panic!("no alert in {all:?}"));
    id_of(rig).to_string()
}

on_both!(an_officer_is_told_sealed_and_signed_and_sees_it_by_a_press_alone, async |world: &World| {
    let (server, push) = service(world).await;
    let (officer, crew) = (
        world.member_at(&server, world.agency(), "officer_1"),
        world.member_at(&server, world.agency(), "crew"),
    );
    let key = officer.find(OWN).await["public_key"].as_str().expect("a key").to_owned();
    let phone = Phone::new(&push.uri(), "officer");
    let id = subscribed(&officer, &phone).await;
    let alert = falls(world, &server).await;
    let telling = told(&crew, &alert, id, "taken").await;
    assert_eq!(
        (&telling["way"], &telling["member"], &telling["acknowledged"]),
        (&json!("phone"), &json!(officer.person.id), &Value::Null),
        "taken is not seen"
    );
    let requests = sent(&push, &phone).await;
    let [request] = requests.as_slice() else {
        panic!("{} notices", requests.len())
    };
    verify(world, request, &push.uri(), &key);
    for (name, value) in [
        ("ttl", "14400"),
        ("urgency", "high"),
        ("content-encoding", "aes128gcm"),
        ("content-type", "application/octet-stream"),
    ] {
        assert_eq!(header(request, name), value, "{name}");
    }
    let shown = phone.opened(&request.body);
    assert_eq!(
        (&shown["title"], &shown["path"]),
        (&json!("Engine 1: limited"), &json!(format!("/alerts/{alert}")))
    );
    let text = shown.to_string();
    assert!(
        text.contains("Missing, or not to be used: Ram.") && !text.contains("Miller") && !text.contains("Crew"),
        "{text}"
    );
    // Opening the page reads; only the press says that it was seen.
    officer.find(&format!("/v1/alerts/{alert}")).await;
    assert_eq!(crew.list("/v1/alerts?state=open").await.len(), 1, "the district is another matter");
    let seen = format!("/v1/alerts/{alert}/acknowledge");
    crew.post(&seen, json!({ "receiver": id })).await.refused(403, "not-allowed");
    officer.post(&seen, json!({ "receiver": id })).await.ok();
    let by = told(&crew, &alert, id, "taken").await["acknowledged"].take();
    assert_eq!((&by["by"]["id"], &by["through"]), (&json!(officer.person.id), &json!("member")));
    assert!(crew.list("/v1/alerts?state=open").await.is_empty());
    server.stop().await;
});

on_both!(each_phone_is_told_of_its_members_reach_and_what_it_asked_for, async |world: &World| {
    let (server, push) = service(world).await;
    let at = |name: &str| world.member_at(&server, world.agency(), name);
    for name in ["crew", "shop"] {
        at(name).post(OWN, Phone::new(&push.uri(), name).body("x")).await.refused(403, "not-allowed");
        assert_eq!(at(name).find(OWN).await["may"], json!(false));
    }
    let people = ["officer_1", "chief_north", "chief", "coordinator"];
    let mut phones = Vec::new();
    for name in people {
        let phone = Phone::new(&push.uri(), name);
        phones.push((subscribed(&at(name), &phone).await, phone));
    }
    // One that asked for good news alone, and one of another agency.
    let admin = Phone::new(&push.uri(), "admin");
    let mut body = admin.body("x");
    body["changes"] = json!(["rig_rises"]);
    at("admin").post(OWN, body).await.ok();
    let elsewhere = Phone::new(&push.uri(), "vale");
    subscribed(&world.member_at(&server, &world.ground.vale, "admin"), &elsewhere).await;
    at("crew").take_out(world.county().set_2.ram, "bent").await.ok();
    let alerts = at("crew").list("/v1/alerts").await;
    let names = |change: &str| -> Vec<String> {
        let alert = alerts.iter().find(|alert| alert["change"] == change).unwrap_or_else(|| panic!("no {change}"));
        let told = alert["told"].as_array().unwrap().iter();
        sorted(told.map(|one| one["name"].as_str().unwrap().to_owned()))
    };
    let everybody = ["Nell North", "chief all", "coordinator all"];
    assert_eq!(names("rig_falls"), everybody, "the officer is of another station");
    assert_eq!(names("district_short"), everybody);
    let [(officer, of_officer), (north, of_north), ..] = phones.as_slice() else {
        panic!("four")
    };
    soon("they are told", async || (sent(&push, of_north).await.len() == 2).then_some(())).await;
    assert!(sent(&push, of_officer).await.is_empty() && sent(&push, &admin).await.is_empty() && sent(&push, &elsewhere).await.is_empty());
    // Of the phones of members one that has seen it is enough.
    let rig = id_of(alerts.iter().find(|alert| alert["change"] == "rig_falls").unwrap());
    at("chief_north")
        .post(&format!("/v1/alerts/{rig}/acknowledge"), json!({ "receiver": north }))
        .await
        .ok();
    let open = at("crew").list("/v1/alerts?state=open").await;
    assert!(open.iter().all(|alert| alert["change"] == "district_short"), "{open:?}");
    // Who was let go is told nothing more.
    let gone = format!("/v1/members/{}", at("officer_1").person.id);
    at("admin").edit(&gone, json!({ "active": false })).await.ok();
    at("crew").take_out(world.county().set_1.ram, "bent").await.ok();
    let later = at("crew").list("/v1/alerts").await;
    assert!(!later.iter().any(|alert| alert.to_string().contains(&officer.to_string())), "{later:?}");
    server.stop().await;
});

on_both!(a_phone_that_is_gone_is_taken_off_and_others_are_tried_as_they_ask, async |world: &World| {
    let (server, push) = service(world).await;
    let (officer, crew) = (
        world.member_at(&server, world.agency(), "officer_1"),
        world.member_at(&server, world.agency(), "crew"),
    );
    let items = async || officer.find(OWN).await["items"].as_array().unwrap().len();
    let mut alerts = Vec::new();
    for (status, state, words) in [
        (404, "stopped", "knows the phone no more"),
        (410, "stopped", "knows the phone no more"),
        (413, "given_up", "answered 413"),
        (500, "failing", "It answered 500"),
        (307, "failing", "It answered 307"),
        (429, "failing", "It answered 429"),
    ] {
        let inner = MockServer::start().await;
        answers(&inner, ResponseTemplate::new(201)).await;
        let answer = ResponseTemplate::new(status)
            .insert_header("location", inner.uri())
            .insert_header("retry-after", "600")
            .set_body_json(json!({ "acknowledged_by": "nobody" }));
        answers(&push, answer).await;
        let phone = Phone::new(&push.uri(), &format!("p{status}"));
        let id = subscribed(&officer, &phone).await;
        let before = crew.list("/v1/alerts").await.len();
        // Each time a rig of the station falls: it goes out, and comes back.
        let rig = format!("/v1/rigs/{}", world.county().engine_1);
        crew.post(&format!("{rig}/take-out"), json!({ "reason": "brakes" })).await.ok();
        let all = crew.list("/v1/alerts").await;
        assert!(all.len() > before);
        let alert = all.iter().find(|alert| alert.to_string().contains(&id.to_string())).unwrap();
        let alert = id_of(alert).to_string();
        let telling = told(&crew, &alert, id, state).await;
        assert!(telling["problem"].as_str().unwrap().contains(words), "{status}: {telling}");
        assert_eq!(telling["acknowledged"], Value::Null, "a push service has seen nothing");
        assert_eq!(items().await, usize::from(![404, 410].contains(&status)), "{status}");
        assert!(inner.received_requests().await.unwrap().is_empty(), "a redirect is followed nowhere");
        let rev = officer.rev(&rig).await;
        answers(&push, ResponseTemplate::new(201)).await;
        officer.post_on(&format!("{rig}/put-back"), rev, json!({})).await.ok();
        alerts.push((alert, id, phone));
    }
    // The one that asked for fewer gets none before its time, then the same.
    let (alert, id, phone) = alerts.last().unwrap();
    world.pass(TimeDelta::seconds(500));
    tokio::time::sleep(std::time::Duration::from_millis(1500)).await;
    told(&crew, alert, *id, "failing").await;
    world.pass(TimeDelta::seconds(200));
    told(&crew, alert, *id, "taken").await;
    let requests = sent(&push, phone).await;
    assert!(requests.len() >= 2 && requests.iter().all(|request| phone.opened(&request.body)["title"].is_string()));
    // A member sends it again, also to a phone; to one that is gone nobody does.
    let (gone, whose, _) = &alerts[0];
    let resend = format!("/v1/alerts/{gone}/resend");
    officer.post(&resend, json!({ "receiver": whose })).await.refused(409, "rule-broken");
    officer.post(&format!("/v1/alerts/{alert}/resend"), json!({ "receiver": id })).await.ok();
    told(&crew, alert, *id, "taken").await;
    server.stop().await;
});
