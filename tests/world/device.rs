//! A phone or a tablet that was enrolled, as its own program would drive it.

use aws_lc_rs::{hmac, pbkdf2};
use base64::Engine as _;
use reqwest::Method;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{Client, Reply, Server, World};

/// A device with its tokens.
#[derive(Debug, Clone)]
pub struct Device {
    pub id: Uuid,
    pub session: Value,
    base: String,
    http: reqwest::Client,
}

/// Has a member make a code: for the own phone, or for a tablet of a station.
pub async fn code(member: &Client, station: Option<Uuid>) -> Reply {
    let body = match station {
        Some(station) => json!({ "kind": "tablet", "station": station }),
        None => json!({ "kind": "phone" }),
    };
    member.post("/v1/enrolments", body).await
}

/// Types a code into a new device.
pub async fn redeem(world: &World, code: &Value, id: Uuid) -> Reply {
    let body = json!({ "code": code, "device": { "id": id, "name": "Bay 2" } });
    let request = world.http.post(format!("{}/v1/enrolments/redeem", world.server.base)).json(&body);
    Reply::of(format!("redeem {body}"), request).await
}

/// The key that a PIN makes.
pub fn key(pin: &str, salt: &[u8], iterations: u32) -> [u8; 32] {
    let mut key = [0; 32];
    let iterations = iterations.try_into().expect("hashed at least once");
    pbkdf2::derive(pbkdf2::PBKDF2_HMAC_SHA256, iterations, salt, pin.as_bytes(), &mut key);
    key
}

/// An HMAC-SHA256.
pub fn mac(key: &[u8], text: &str) -> Vec<u8> {
    hmac::sign(&hmac::Key::new(hmac::HMAC_SHA256, key), text.as_bytes()).as_ref().to_vec()
}

/// A signature as it travels.
pub fn signature(key: &[u8], id: &str, kind: &str, device: &str, body: &str) -> String {
    let digest: String = Sha256::digest(body).iter().map(|byte| format!("{byte:02x}")).collect();
    base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(mac(key, &format!("{id}\n{kind}\n{device}\n{digest}")))
}

/// The check of a key, as a signature carries it.
pub fn check(key: &[u8]) -> String {
    mac(key, "check").iter().take(8).map(|byte| format!("{byte:02x}")).collect()
}

impl Device {
    /// Enrols a device by a code that the member makes.
    pub async fn enrol(world: &World, member: &Client, station: Option<Uuid>) -> Self {
        let id = Uuid::now_v7();
        let code = code(member, station).await.ok()["code"].take();
        let session = redeem(world, &code, id).await.ok();
        Self {
            id,
            session,
            base: world.server.base.clone(),
            http: world.http.clone(),
        }
    }

    /// The same device with another sign-in.
    pub fn with(&self, session: Value) -> Self {
        Self { session, ..self.clone() }
    }

    /// The same device, asking another server.
    pub fn at(&self, server: &Server) -> Self {
        Self {
            base: server.base.clone(),
            ..self.clone()
        }
    }

    pub fn request(&self, method: Method, path: &str) -> reqwest::RequestBuilder {
        let access = self.session["access_token"].as_str().expect("a token");
        self.http.request(method, format!("{}{path}", self.base)).bearer_auth(access)
    }

    pub async fn get(&self, path: &str) -> Reply {
        Reply::of(format!("device GET {path}"), self.request(Method::GET, path)).await
    }

    pub async fn post(&self, path: &str, body: &Value) -> Reply {
        Reply::of(format!("device POST {path} {body}"), self.request(Method::POST, path).json(body)).await
    }

    pub async fn refresh(&self) -> Reply {
        let body = json!({ "refresh_token": self.session["refresh_token"] });
        let request = self.http.post(format!("{}/v1/session/refresh", self.base)).json(&body);
        Reply::of("device refreshes".into(), request).await
    }

    /// The key of a member's PIN, made as a tablet makes it.
    pub async fn key(&self, member: &Client, pin: &str) -> [u8; 32] {
        let signers = self.get("/v1/signers").await.ok();
        let signer = signers["items"]
            .as_array()
            .expect("items")
            .iter()
            .find(|signer| signer["member"] == json!(member.person.id));
        let signer = signer.unwrap_or_else(|| panic!("{} does not sign here: {signers}", member.person.name));
        let salt = base64::engine::general_purpose::URL_SAFE_NO_PAD
            .decode(signer["salt"].as_str().expect("a salt"))
            .expect("base64url");
        key(pin, &salt, u32::try_from(signer["iterations"].as_u64().expect("a number")).expect("small"))
    }

    /// A command signed by a member.
    pub fn sign(&self, member: &Client, key: &[u8], mut command: Value) -> Value {
        let text = |value: &Value| value.as_str().expect("text").to_owned();
        let signature = signature(
            key,
            &text(&command["id"]),
            &text(&command["kind"]),
            &self.id.to_string(),
            &command["body"].to_string(),
        );
        command["by"] = json!({ "member": member.person.id, "check": check(key), "signature": signature });
        command
    }

    /// Sends one command; answers its answer.
    pub async fn send(&self, command: Value) -> Value {
        self.send_all(vec![command]).await.remove(0)
    }

    /// Sends a batch; answers the answers.
    pub async fn send_all(&self, commands: Vec<Value>) -> Vec<Value> {
        let batch = self
            .post("/v1/commands", &json!({ "sent_at": "2026-11-25T14:00:00.000000Z", "commands": commands }))
            .await
            .ok();
        batch["answers"].as_array().expect("answers").clone()
    }
}
