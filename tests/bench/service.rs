//! The service itself, in this process, over HTTP.

use std::{
    net::TcpListener,
    path::Path,
    sync::Arc,
    time::{Duration, Instant},
};

use fullset::{
    app::{self, Settings},
    platform::db::Location,
};
use serde_json::json;
use uuid::Uuid;

use super::{
    Line,
    fleet::{self, Fleet},
    load,
    yardsticks::Bare,
};

const RIGS: usize = 1000;
const TIME: Duration = Duration::from_secs(5);

pub fn measure(folder: &Path, bare: &Bare) {
    let location = Location::Sqlite(folder.join("bench.sqlite"));
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async move {
        fleet::found(&location).await;
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let address = listener.local_addr().expect("an address");
        let running = app::start(listener, Settings::new(location)).await.expect("a service");
        let server = tokio::spawn(running.server);
        let mut client = load::Client::connect(address).await;
        let token = fleet::sign_in(&mut client).await;

        let start = Instant::now();
        let fleet = Arc::new(fleet::build(&mut client, &token, RIGS).await);
        let commands = RIGS + fleet.pieces.len();
        Line::new(
            format!("batches of 500: {RIGS} rigs and {} pieces aboard", fleet.pieces.len()),
            commands as f64 / start.elapsed().as_secs_f64(),
        )
        .say();

        let report = |fleet: &Arc<Fleet>, token: &Arc<str>| {
            let (fleet, token) = (Arc::clone(fleet), Arc::clone(token));
            move |client: usize, turn: u64| {
                let piece = fleet.pieces[(client * 7919 + turn as usize) % fleet.pieces.len()];
                let body = json!({ "id": Uuid::now_v7(), "piece": piece, "what": "seeps at the swivel", "class": "deformation", "severity": "usable" });
                load::request("POST", "/v1/defects", &token, &body.to_string())
            }
        };
        let one = load::run(address, 1, TIME, report(&fleet, &token)).await;
        Line {
            against: Some(("bare SQLite commits", bare.commits)),
            ..Line::new("defect.report, 1 client, durable".into(), one)
        }
        .say();
        let many = load::run(address, 32, TIME, report(&fleet, &token)).await;
        Line {
            against: Some(("bare actix, 32 clients", bare.actix_32)),
            ..Line::new("defect.report, 32 clients, durable".into(), many)
        }
        .say();
        Line {
            against: Some(("bare SQLite, 32 rows a commit", bare.grouped)),
            ..Line::new("  the same".into(), many)
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
            against: Some(("bare actix, 32 clients", bare.actix_32)),
            ..Line::new("piece.take_out with its rig's standing, 32 clients".into(), out)
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
            against: Some(("bare actix, 32 clients", bare.actix_32)),
            ..Line::new("who am I, 32 clients (two reads)".into(), polled)
        }
        .say();
        running.handle.stop(true).await;
        server.await.expect("the service ends").expect("the service ends well");
        let _ = bare.actix_1;
    });
}
