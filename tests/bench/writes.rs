//! How fast each database writes and is read from, with the service in a process of its own, and the room that it takes.

use std::{path::Path, sync::Arc, time::Duration};

use diesel::{Connection as _, SqliteConnection, connection::SimpleConnection as _};
use fullset::platform::db::Location;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    Line, alone, cluster,
    feed::{self, Service},
    fleet::{self, command},
    goal, load,
};

const TIME: Duration = Duration::from_secs(5);
/// Pieces that are added in batches.
const PIECES: usize = 30_000;

/// What is aimed at, each a second.
struct Goals {
    batches: f64,
    single: f64,
    delta: f64,
    poll: f64,
    take_out: f64,
}

pub fn measure(folder: &Path) {
    let sqlite = format!("sqlite:{}", folder.join("writes.sqlite").display());
    let goals = Goals {
        batches: 25_000.0,
        single: 10_000.0,
        delta: 10_000.0,
        poll: 10_000.0,
        take_out: 3_000.0,
    };
    measure_one(
        "SQLite",
        &sqlite,
        &goals,
        || alone::sqlite(folder),
        || {
            // What waits in the log is no room for a record: the log has a bound of its own.
            let path = folder.join("writes.sqlite");
            let mut beside = SqliteConnection::establish(&path.to_string_lossy()).expect("the database is there");
            beside
                .batch_execute("PRAGMA busy_timeout = 5000; PRAGMA wal_checkpoint(PASSIVE);")
                .expect("a checkpoint");
            std::fs::metadata(&path).map_or(0, |file| file.len()) as f64
        },
    );
    cluster::command("CREATE DATABASE writes");
    let goals = Goals {
        batches: 12_000.0,
        single: 4_000.0,
        ..goals
    };
    measure_one("PostgreSQL", &cluster::url("writes"), &goals, alone::postgres, || {
        cluster::size("writes") as f64
    });
}

fn measure_one(name: &str, url: &str, goals: &Goals, alone_too: impl Fn(), size: impl Fn() -> f64) {
    let location: Location = url.parse().expect("the address of a database");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async move {
        fleet::found(&location).await;
        let service = Service::start(url);
        let address = service.address;
        let mut client = load::Client::connect(address).await;
        let token = fleet::sign_in(&mut client).await;
        let fleet = Arc::new(fleet::build(&mut client, &token, 100).await);
        let say = |what: &str, per_second: f64, goal: f64| {
            Line {
                goal: Some(goal),
                ..Line::new(format!("{name}: {what}"), per_second)
            }
            .say();
        };
        let before = size();
        let added: Vec<(Uuid, Value)> = (0..PIECES).map(|n| fleet.shelved(n)).collect();
        let commands: Vec<Value> = added.iter().map(|(_, command)| command.clone()).collect();
        let (commands, records) = feed::batches(address, &token, &commands).await;
        say("batches of 50 piece.add, 8 clients, records", records, goals.batches);
        Line::new("  the same, commands".into(), commands).say();
        let written = PIECES as f64 * records / commands;
        goal(
            &format!("{name}: room for each record"),
            &format!("{:.0} B", (size() - before) / written),
            Some("<= 1500 B"),
        );

        alone_too();
        let (one, own) = (Arc::clone(&fleet), Arc::clone(&token));
        let single = load::run(address, 32, TIME, move |client, turn| {
            let (_, command) = one.shelved(1_000_000 + client * 100_000 + usize::try_from(turn).expect("few turns"));
            load::request("POST", "/v1/commands", &own, &fleet::batch(&[command]))
        })
        .await;
        say("single piece.add, 32 clients", single, goals.single);

        // The first connection has rested too long meanwhile.
        let mut client = load::Client::connect(address).await;
        let since = feed::newest(&mut client, &token).await;
        let path = format!("/v1/changes?scope=agency&since={since}");
        let poll = load::request("GET", &path, &token, "");
        let polled = load::run(address, 32, TIME, move |_, _| poll.clone()).await;
        say("poll that finds nothing new, 32 clients", polled, goals.poll);
        let taken: Vec<Value> = added.iter().step_by(7).take(20).map(|(id, _)| take_out(*id)).collect();
        fleet::send(&mut client, &token, &taken).await;
        let delta = load::request("GET", &path, &token, "");
        let read = load::run(address, 32, TIME, move |_, _| delta.clone()).await;
        say("delta of 20 changes, 32 clients", read, goals.delta);

        let (taking, own) = (Arc::clone(&fleet), Arc::clone(&token));
        let out = load::run(address, 32, TIME, move |client, turn| {
            let piece = taking.pieces[(client * 31 + usize::try_from(turn).expect("few turns")) % taking.pieces.len()];
            load::request("POST", "/v1/commands", &own, &fleet::batch(&[take_out(piece)]))
        })
        .await;
        say("take-out with its rig's answers, 32 clients", out, goals.take_out);
        goal(
            &format!("{name}: resident memory at the end"),
            &format!("{:.0} MB", service.memory("VmRSS:")),
            Some("<= 120 MB"),
        );
    });
}

fn take_out(piece: Uuid) -> Value {
    command("piece.take_out", json!({ "id": piece, "reason": "cover cut to the braid" }))
}
