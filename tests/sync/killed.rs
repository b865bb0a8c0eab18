//! The real service, killed again and again in the midst of work: what was acknowledged is there, exactly once.
//!
//! `FULLSET_TEST_KILLS=200` makes it longer.

use std::{
    collections::BTreeMap,
    sync::{
        Arc,
        atomic::{AtomicBool, AtomicU64, Ordering},
    },
    time::Duration,
};

use fullset::platform::clock::Clock;
use serde_json::{Value, json};
use tokio::sync::watch;
use uuid::Uuid;

use super::feed::{Replica, equals_the_lists};
use crate::world::{
    Client, World, command, on_both,
    process::{Process, verify},
    sql,
};

const CLIENTS: usize = 16;

/// What the clients share.
struct Work {
    address: watch::Receiver<String>,
    stop: AtomicBool,
    acknowledged: AtomicU64,
}

/// What one client was told: each command with its answer.
type Told = Vec<(Value, Value)>;

/// Sends a batch under the same ids until it is answered, whatever happens to the service.
async fn insist(work: &Work, http: &reqwest::Client, token: &str, commands: &[Value]) -> Vec<Value> {
    let mut address = work.address.clone();
    loop {
        let base = address.borrow_and_update().clone();
        let body = json!({ "sent_at": chrono::Utc::now(), "commands": commands });
        let sent = http.post(format!("{base}/v1/commands")).bearer_auth(token).json(&body).send().await;
        if let Ok(answer) = sent {
            let status = answer.status();
            if let Ok(text) = answer.text().await {
                assert_eq!(status, 200, "{text}");
                return serde_json::from_str::<Value>(&text).expect("JSON")["answers"]
                    .as_array()
                    .expect("answers")
                    .clone();
            }
        }
        // The service is gone: wait for the next one, or try the same again where it only broke the connection.
        let _ = tokio::time::timeout(Duration::from_millis(200), address.changed()).await;
    }
}

/// Reports defects and notes on them, until told to stop.
async fn client(work: Arc<Work>, http: reqwest::Client, token: String, piece: Uuid, name: usize) -> Told {
    let mut told = Told::new();
    let mut round = 0;
    while !work.stop.load(Ordering::SeqCst) {
        let defect = Uuid::now_v7();
        let report = command(
            "defect.report",
            json!({ "id": defect, "piece": piece, "what": format!("mark {name}.{round}"), "severity": "usable" }),
        );
        let notes = (0..2).map(|n| command("defect.note", json!({ "id": defect, "text": format!("{name}.{round}.{n}") })));
        let out = command("piece.take_out", json!({ "id": piece, "reason": format!("stiff {name}.{round}") }));
        let commands: Vec<Value> = std::iter::once(report).chain(notes).chain([out]).collect();
        for batch in commands.chunks(if round % 2 == 0 { 4 } else { 1 }) {
            for (command, answer) in batch.iter().zip(insist(&work, &http, &token, batch).await) {
                assert!(["applied", "repeated"].contains(&answer["outcome"].as_str().unwrap()), "{answer}");
                work.acknowledged.fetch_add(1, Ordering::SeqCst);
                told.push((command.clone(), answer));
            }
        }
        round += 1;
    }
    told
}

on_both!(
    a_service_that_is_killed_again_and_again_loses_nothing_and_does_nothing_twice,
    async |world: &World| {
        let kills: u64 = std::env::var("FULLSET_TEST_KILLS")
            .ok()
            .map_or(8, |count| count.parse().expect("FULLSET_TEST_KILLS is a number"));
        let mut service = Process::serve(&world.location);
        let person = &world.agency().people["crew"];
        let admin = Client::new(&service.base, &world.http, &Clock::system(), person);
        let token = admin.access().await;
        let (tell, address) = watch::channel(service.base.clone());
        let work = Arc::new(Work {
            address,
            stop: AtomicBool::new(false),
            acknowledged: AtomicU64::new(0),
        });
        let pieces: Vec<Uuid> = admin
            .list("/v1/pieces")
            .await
            .iter()
            .map(|piece| piece["id"].as_str().unwrap().parse().unwrap())
            .collect();
        let clients: Vec<_> = (0..CLIENTS)
            .map(|n| tokio::spawn(client(Arc::clone(&work), reqwest::Client::new(), token.clone(), pieces[n % pieces.len()], n)))
            .collect();
        for kill in 0..kills {
            // Killed in the midst of work: after so many more acknowledgements, a different number each time.
            let until = work.acknowledged.load(Ordering::SeqCst) + 20 + (kill * 37) % 101;
            while work.acknowledged.load(Ordering::SeqCst) < until {
                assert!(!clients.iter().any(tokio::task::JoinHandle::is_finished), "a client has given up");
                tokio::time::sleep(Duration::from_millis(1)).await;
            }
            service.kill();
            service = Process::serve(&world.location);
            tell.send(service.base.clone()).expect("clients listen");
        }
        work.stop.store(true, Ordering::SeqCst);
        let mut told = Told::new();
        for client in clients {
            told.extend(client.await.expect("a client"));
        }
        assert!(told.len() as u64 >= 20 * kills);
        check(world, &service, &told).await;
    }
);

async fn check(world: &World, service: &Process, told: &Told) {
    let client = Client::new(&service.base, &world.http, &Clock::system(), &world.agency().people["crew"]);
    let own = world.id(world.agency().id);
    let hex = if world.engine == crate::world::Engine::Sqlite {
        "lower(hex(command))"
    } else {
        "replace(command::text, '-', '')"
    };
    let rows = sql::texts(
        &world.location,
        &format!("SELECT {hex} || ' ' || CAST(rev AS TEXT) AS t FROM journal WHERE agency = {own}"),
    );
    let mut journal: BTreeMap<String, Vec<i64>> = BTreeMap::new();
    for row in rows {
        let (command, rev) = row.split_once(' ').unwrap();
        journal.entry(command.to_owned()).or_default().push(rev.parse().unwrap());
    }
    let mut notes: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let mut reported = 0;
    for (command, answer) in told {
        let id = command["id"].as_str().unwrap().replace('-', "");
        assert_eq!(
            journal.get(&id),
            Some(&vec![answer["revision"].as_i64().unwrap()]),
            "acknowledged, so it is in the journal once: {answer}"
        );
        match command["kind"].as_str().unwrap() {
            "defect.note" => notes
                .entry(command["body"]["id"].as_str().unwrap())
                .or_default()
                .push(command["body"]["text"].as_str().unwrap()),
            "defect.report" => reported += 1,
            _ => {}
        }
    }
    let defects = client.list("/v1/defects").await;
    assert_eq!(defects.len(), reported, "every report made one defect");
    for defect in &defects {
        let kept: Vec<&str> = defect["repeats"]
            .as_array()
            .unwrap()
            .iter()
            .map(|repeat| repeat["text"].as_str().unwrap())
            .collect();
        assert_eq!(kept, notes[defect["id"].as_str().unwrap()], "every note is there once");
    }
    let mut replica = Replica::default();
    replica.follow(&client, 500).await;
    equals_the_lists(&replica, &client).await;
    let (holds, said) = verify(&world.location);
    assert!(holds, "{said}");
}
