//! The service itself, in this process, over HTTP.

use std::{
    net::TcpListener,
    path::Path,
    sync::Arc,
    time::{Duration, Instant},
};

use fullset::{
    app::{self, Settings},
    cli::Founding,
    platform::{clock::Clock, db::Location},
};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Line, load, yardsticks::Bare};

const RIGS: usize = 1000;
const TIME: Duration = Duration::from_secs(5);

struct Fleet {
    pieces: Vec<Uuid>,
}

pub fn measure(folder: &Path, bare: &Bare) {
    let location = Location::Sqlite(folder.join("bench.sqlite"));
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async move {
        let founding = Founding {
            agency: "Bench".into(),
            time_zone: chrono_tz::UTC,
            units: serde_json::from_value(json!("us")).expect("units"),
            name: "Admin".into(),
            email: "admin@bench.example".into(),
            password: "bench-password".into(),
        };
        founding.found(&location, Clock::system()).await.expect("an agency");
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let address = listener.local_addr().expect("an address");
        let running = app::start(listener, Settings::new(location)).await.expect("a service");
        let server = tokio::spawn(running.server);
        let mut client = load::Client::connect(address).await;
        let signed_in = client
            .ask(&load::request(
                "POST",
                "/v1/session",
                "",
                r#"{"email":"admin@bench.example","password":"bench-password"}"#,
            ))
            .await;
        let session: Value = serde_json::from_slice(&signed_in.1).expect("a session");
        let token: Arc<str> = session["access_token"].as_str().expect("a token").into();

        let start = Instant::now();
        let fleet = Arc::new(build(&mut client, &token).await);
        let commands = RIGS + fleet.pieces.len();
        Line {
            what: format!("batches of 500: {RIGS} rigs and {} pieces aboard", fleet.pieces.len()),
            per_second: commands as f64 / start.elapsed().as_secs_f64(),
            against: None,
        }
        .say();

        let report = |fleet: &Arc<Fleet>, token: &Arc<str>| {
            let (fleet, token) = (Arc::clone(fleet), Arc::clone(token));
            move |client: usize, turn: u64| {
                let piece = fleet.pieces[(client * 7919 + turn as usize) % fleet.pieces.len()];
                let body = json!({ "id": Uuid::now_v7(), "piece": piece, "what": "seeps at the swivel", "severity": "usable" });
                load::request("POST", "/v1/defects", &token, &body.to_string())
            }
        };
        let one = load::run(address, 1, TIME, report(&fleet, &token)).await;
        Line {
            what: "defect.report, 1 client, durable".into(),
            per_second: one,
            against: Some(("bare SQLite commits", bare.commits)),
        }
        .say();
        let many = load::run(address, 32, TIME, report(&fleet, &token)).await;
        Line {
            what: "defect.report, 32 clients, durable".into(),
            per_second: many,
            against: Some(("bare actix, 32 clients", bare.actix_32)),
        }
        .say();
        Line {
            what: "  the same".into(),
            per_second: many,
            against: Some(("bare SQLite, 32 rows a commit", bare.grouped)),
        }
        .say();
        let (taking, taken) = (Arc::clone(&fleet), Arc::clone(&token));
        let out = load::run(address, 32, TIME, move |client, turn| {
            let piece = taking.pieces[(client * 7919 + turn as usize) % taking.pieces.len()];
            load::request(
                "POST",
                &format!("/v1/pieces/{piece}/take-out"),
                &taken,
                r#"{"reason":"cover cut to the braid"}"#,
            )
        })
        .await;
        Line {
            what: "piece.take_out with its rig's capability, 32 clients".into(),
            per_second: out,
            against: Some(("bare actix, 32 clients", bare.actix_32)),
        }
        .say();

        let ask = load::request("GET", "/v1/board", &token, "");
        client.ask(&ask).await;
        let mut times: Vec<f64> = Vec::new();
        for _ in 0..200 {
            let start = Instant::now();
            let (status, _) = client.ask(&ask).await;
            assert_eq!(status, 200);
            times.push(start.elapsed().as_secs_f64() * 1000.0);
        }
        times.sort_by(f64::total_cmp);
        println!("board of {RIGS} rigs over HTTP: median {:.2} ms, 95 % within {:.2} ms", times[100], times[190]);
        let poll = load::request("GET", "/v1/session", &token, "");
        let polled = load::run(address, 32, TIME, move |_, _| poll.clone()).await;
        Line {
            what: "who am I, 32 clients (two reads)".into(),
            per_second: polled,
            against: Some(("bare actix, 32 clients", bare.actix_32)),
        }
        .say();
        running.handle.stop(true).await;
        server.await.expect("the service ends").expect("the service ends well");
        let _ = bare.actix_1;
    });
}

async fn build(client: &mut load::Client, token: &str) -> Fleet {
    let mut commands: Vec<Value> = Vec::new();
    let mut push = |kind: &str, body: Value| {
        let id = body["id"].as_str().expect("an id").parse::<Uuid>().expect("a uuid");
        commands.push(json!({ "id": Uuid::now_v7(), "kind": kind, "body": body }));
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
    let slot = |id: &str, kind: &str, need: &str| json!({ "id": id, "name": id, "kinds": [kind], "need": need });
    let slots = json!([
        slot("pump", "power_unit", "core"),
        slot("hose 1", "hose", "core"),
        slot("hose 2", "hose", "required"),
        slot("cutter", "cutter", "core"),
        slot("spreader", "spreader", "core"),
        slot("ram 1", "ram", "required"),
        slot("ram 2", "ram", "optional"),
        slot("combi", "combination_tool", "optional"),
    ]);
    let class = push(
        "class.add",
        json!({ "id": Uuid::now_v7(), "name": "Rescue engine", "complement": { "simultaneous_min": 2, "slots": slots } }),
    );
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
    for rig in 0..RIGS {
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
    for batch in commands.chunks(500) {
        let body = json!({ "sent_at": chrono::Utc::now(), "commands": batch }).to_string();
        let (status, answer) = client.ask(&load::request("POST", "/v1/commands", token, &body)).await;
        let answer: Value = serde_json::from_slice(&answer).expect("answers");
        assert!(
            status == 200
                && answer["answers"]
                    .as_array()
                    .is_some_and(|all| all.iter().all(|one| one["outcome"] == "applied")),
            "{answer}"
        );
    }
    Fleet { pieces }
}
