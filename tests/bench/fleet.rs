//! An agency with rigs and pieces, built through the service.

use std::sync::Arc;

use fullset::{
    cli,
    platform::{clock::Clock, db::Location},
    slices::founding::Founding,
};
use serde_json::{Value, json};
use uuid::Uuid;

use super::load;

pub struct Fleet {
    pub stations: Vec<Uuid>,
    pub models: Vec<Uuid>,
    pub pieces: Vec<Uuid>,
}

/// Founds the agency on a fresh database.
pub async fn found(location: &Location) {
    let founding = Founding {
        agency: "Bench".into(),
        time_zone: chrono_tz::UTC,
        units: serde_json::from_value(json!("us")).expect("units"),
        locale: None,
        name: "Admin".into(),
        email: "admin@bench.example".into(),
        password: "bench-three-words".into(),
    };
    cli::found(founding, location, Clock::system()).await.expect("an agency");
}

/// Signs its admin in; answers the access token.
pub async fn sign_in(client: &mut load::Client) -> Arc<str> {
    let body = r#"{"email":"admin@bench.example","password":"bench-three-words"}"#;
    let (_, session) = client.ask(&load::request("POST", "/v1/session", "", body)).await;
    let session: Value = serde_json::from_slice(&session).expect("a session");
    session["access_token"].as_str().expect("a token").into()
}

/// A command under an id of its own.
pub fn command(kind: &str, body: Value) -> Value {
    json!({ "id": Uuid::now_v7(), "kind": kind, "body": body })
}

impl Fleet {
    /// A command that puts a new piece on a station's shelf.
    pub fn shelved(&self, n: usize) -> (Uuid, Value) {
        // As unlike each other as in a register, or compression would flatter.
        let (id, day) = (Uuid::now_v7(), n * 7919 % 330);
        let date = |year: usize| format!("{year}-{:02}-{:02}", day / 28 + 1, day % 28 + 1);
        let body = json!({
            "id": id, "tag": format!("S-{n}"), "serial": &Uuid::new_v4().simple().to_string()[..10], "model": self.models[n % self.models.len()],
            "made_on": date(2012 + n % 13), "in_service_since": date(2013 + n % 13), "last_service_on": date(2024 + n % 2),
            "place": { "at": "shelf", "station": self.stations[n * 31 % self.stations.len()] },
        });
        (id, command("piece.add", body))
    }
}

/// Adds rigs, ten pieces aboard each, and what they need.
pub async fn build(client: &mut load::Client, token: &str, rigs: usize) -> Fleet {
    let mut commands: Vec<Value> = Vec::new();
    let mut push = |kind: &str, body: Value| {
        let id = body["id"].as_str().expect("an id").parse::<Uuid>().expect("a uuid");
        commands.push(command(kind, body));
        id
    };
    let district = push("district.add", json!({ "id": Uuid::now_v7(), "name": "North" }));
    let stations: Vec<Uuid> = (0..50)
        .map(|n| {
            push(
                "station.add",
                json!({ "id": Uuid::now_v7(), "name": format!("Station {n}"), "district": district }),
            )
        })
        .collect();
    let slot = |id: &str, kind: &str, required: bool| json!({ "id": id, "name": id, "kinds": [kind], "required": required });
    let slots = json!([
        slot("pump", "power_unit", true),
        slot("hose 1", "hose", true),
        slot("hose 2", "hose", true),
        slot("cutter", "cutter", true),
        slot("spreader", "spreader", true),
        slot("ram 1", "ram", true),
        slot("ram 2", "ram", false),
        slot("combi", "combination_tool", false),
    ]);
    let class = push(
        "rig_class.add",
        json!({ "id": Uuid::now_v7(), "name": "Rescue engine", "complement": { "slots": slots }, "expects": "full" }),
    );
    push("coupling.add", json!({ "id": Uuid::now_v7(), "name": "one-push" }));
    let fed = json!({ "coupling": "one-push", "fluid": "mineral oil", "pressure": { "value": 10_400, "unit": "psi" } });
    let kinds = [
        "power_unit",
        "hose",
        "hose",
        "cutter",
        "spreader",
        "ram",
        "ram",
        "combination_tool",
        "hose",
        "hose",
    ];
    let models: Vec<Uuid> = kinds
        .iter()
        .enumerate()
        .map(|(n, kind)| {
            let hookup = match *kind {
                "combination_tool" => json!({ "battery": "own" }),
                "power_unit" => json!({ "coupling": "one-push", "fluid": "mineral oil", "pressure": { "value": 10_400, "unit": "psi" }, "circuits": 2 }),
                _ => fed.clone(),
            };
            push(
                "model.add",
                json!({ "id": Uuid::now_v7(), "name": format!("Model {n}"), "kind": kind, "hookup": hookup }),
            )
        })
        .collect();
    let mut pieces = Vec::new();
    for rig in 0..rigs {
        let rig_id = push(
            "rig.add",
            json!({ "id": Uuid::now_v7(), "name": format!("Rig {rig}"), "station": stations[rig % stations.len()], "rig_class": class }),
        );
        for (n, model) in models.iter().enumerate() {
            let body = json!({
                "id": Uuid::now_v7(), "tag": format!("B-{rig}-{n}"), "model": model, "made_on": "2024-05-01",
                "in_service_since": "2024-06-01", "last_service_on": "2026-06-01", "place": { "at": "rig", "rig": rig_id },
            });
            pieces.push(push("piece.add", body));
        }
    }
    send(
        client,
        token,
        &[command("agency.grade", json!({ "grades": grades(), "reason": "for measuring" }))],
    )
    .await;
    for batch in commands.chunks(500) {
        send(client, token, batch).await;
    }
    Fleet { stations, models, pieces }
}

/// Limited: a spreader or a combination tool. Full: spreader, cutter and ram, two of them at once.
fn grades() -> Value {
    let need = |name: &str, kinds: &[&str]| json!({ "id": name, "name": name, "alternatives": [{ "parts": [{ "kinds": kinds }] }] });
    json!({
        "limited": { "needs": [need("open", &["spreader", "combination_tool"])], "tools_at_once": 1 },
        "full": { "needs": [need("spread", &["spreader"]), need("cut", &["cutter"]), need("push", &["ram"])], "tools_at_once": 2 },
    })
}

/// The body of a batch.
pub fn batch(commands: &[Value]) -> String {
    json!({ "sent_at": chrono::Utc::now(), "commands": commands }).to_string()
}

/// Sends a batch, all of which must be applied.
pub async fn send(client: &mut load::Client, token: &str, commands: &[Value]) {
    let (status, answer) = client.ask(&load::request("POST", "/v1/commands", token, &batch(commands))).await;
    assert_eq!((status, applied(&answer).0), (200, commands.len()), "{}", String::from_utf8_lossy(&answer));
}

/// How many commands of a batch were applied, and how many records they wrote.
pub fn applied(answer: &[u8]) -> (usize, usize) {
    let answer: Value = serde_json::from_slice(answer).expect("answers");
    let answers = answer["answers"].as_array().expect("answers").iter();
    answers.filter(|one| one["outcome"] == "applied").fold((0, 0), |(commands, records), one| {
        (commands + 1, records + one["records"].as_array().map_or(0, Vec::len))
    })
}
