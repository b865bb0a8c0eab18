//! A thousand rigs judged anew after a changed policy, while crews go on sending commands.

use std::{path::Path, time::Instant};

use fullset::platform::{clock::Clock, db::Location};
use serde_json::{Value, json};

use super::{fleet, goal, load, running::start};

const RIGS: usize = 1000;

pub fn measure(folder: &Path) {
    let location = Location::Sqlite(folder.join("anew.sqlite"));
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async move {
        fleet::found(&location).await;
        let mut service = start(&location, Clock::system()).await;
        let fleet = fleet::build(&mut service.client, &service.token, RIGS).await;
        let mut crew = load::Client::connect(service.address).await;
        let board = load::request("GET", "/v1/board", &service.token, "");
        let agency = load::request("GET", "/v1/agency", &service.token, "");
        for (what, life) in [("policy: hoses live 2 years", 2), ("policy: hoses live 10 years", 10)] {
            let (_, text) = service.client.ask(&agency).await;
            let own: Value = serde_json::from_slice(&text).expect("a record");
            let mut policy = own["policy"].clone();
            policy["hose_life_years"] = json!(life);
            let mut edit = fleet::command("agency.edit", json!({ "policy": policy, "reason": "for measuring" }));
            edit["expects"] = own["rev"].clone();
            let started = Instant::now();
            fleet::send(&mut service.client, &service.token, &[edit]).await;
            let (answered, mut waits, mut n) = (started.elapsed(), Vec::new(), 0);
            loop {
                // A crew takes a piece out, over and over, on another rig each time.
                let body = json!({ "id": fleet.pieces[(n * 370 + 3) % fleet.pieces.len()], "reason": format!("bent {life} {n}") });
                let sent = Instant::now();
                fleet::send(&mut crew, &service.token, &[fleet::command("piece.take_out", body)]).await;
                waits.push(sent.elapsed());
                n += 1;
                if n % 5 == 0 {
                    let (_, text) = service.client.ask(&board).await;
                    let board: Value = serde_json::from_slice(&text).expect("a board");
                    if board["totals"]["not_known"] == 0 {
                        break;
                    }
                }
            }
            let all = started.elapsed();
            let longest = waits.iter().max().expect("at least one");
            goal(what, &format!("{:.2} s", all.as_secs_f64()), Some("<= 3 s for 1,000 rigs"));
            goal("  the command itself", &format!("{:.0} ms", answered.as_secs_f64() * 1e3), None);
            let commands = format!("  longest wait of {n} commands meanwhile");
            goal(&commands, &format!("{:.0} ms", longest.as_secs_f64() * 1e3), Some("<= 100 ms"));
        }
        drop(crew);
        service.stop().await;
    });
}
