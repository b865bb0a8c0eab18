//! Decisions over HTTP, on the sizes that they are exact for: 30 gaps and 200 donors, 300 zones and 50 stations.

use std::path::Path;

use fullset::platform::{clock::Clock, db::Location};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{fleet, load, running::start};

const RIGS: usize = 60;
const GAPS: usize = 30;
const DONORS: usize = 200;
const ZONES: usize = 300;

/// Minutes from 2 to 30 that look thrown and are the same in each run.
fn minutes(zone: usize, station: usize) -> f64 {
    let thrown = (zone * 7919 + station * 104_729) % 2801;
    2.0 + thrown as f64 / 100.0
}

pub fn measure(folder: &Path) {
    let location = Location::Sqlite(folder.join("decisions.sqlite"));
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async move {
        fleet::found(&location).await;
        let mut service = start(&location, Clock::system()).await;
        let token = std::sync::Arc::clone(&service.token);
        let built = fleet::build(&mut service.client, &token, RIGS).await;
        let donors: Vec<Value> = (0..DONORS).map(|n| built.shelved(n).1).collect();
        fleet::send(&mut service.client, &token, &donors).await;
        // The cutter or the first ram of every other rig: one gap each.
        let broken: Vec<Value> = (0..GAPS)
            .map(|n| built.pieces[n * 2 * 10 + if n % 2 == 0 { 3 } else { 5 }])
            .map(|piece| fleet::command("piece.take_out", json!({ "id": piece, "reason": "broken" })))
            .collect();
        fleet::send(&mut service.client, &token, &broken).await;
        let agency: Value = {
            let (_, body) = service.client.ask(&load::request("GET", "/v1/agency", &token, "")).await;
            serde_json::from_slice(&body).expect("a page")
        };
        let zones: Vec<Value> = (0..ZONES)
            .map(|n| json!({ "id": Uuid::now_v7(), "name": format!("Zone {n}"), "lat": 10.0, "lon": 10.0, "weight": n * 37 % 100 }))
            .collect();
        let rows: Vec<Vec<f64>> = (0..ZONES)
            .map(|zone| (0..built.stations.len()).map(|station| minutes(zone, station)).collect())
            .collect();
        let times = json!({ "source": "thrown", "stations": built.stations, "minutes": rows });
        let demand = json!({ "id": agency["id"], "target_minutes": 3, "zones": zones, "times": times });
        fleet::send(&mut service.client, &token, &[fleet::command("demand.set", demand)]).await;
        for (what, path, most) in [
            (
                format!("swap plan, {GAPS} gaps x {} pieces on shelves", DONORS),
                "/v1/swap-plan",
                Some("<= 1000 ms"),
            ),
            (format!("coverage, {ZONES} zones x {RIGS} rigs"), "/v1/coverage", None),
            (
                "the same, best stations for 1 to 10 sets".to_owned(),
                "/v1/coverage/reserve-sites?sets=10",
                Some("<= 2000 ms"),
            ),
            ("order of the bench".to_owned(), "/v1/bench-order", None),
        ] {
            service.say(&what, &vec![path.to_owned(); 20], most).await;
        }
        service.stop().await;
    });
}
