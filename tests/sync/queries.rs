//! A list, the board and the feed run a fixed number of queries, whatever their length.
//!
//! Queries are counted for the whole process, so each test runs itself again in a process of its own.

use std::{
    process::Command,
    sync::atomic::{AtomicUsize, Ordering},
};

use diesel::connection::{Instrumentation, InstrumentationEvent, set_default_instrumentation};
use uuid::Uuid;

use super::replica::Replica;
use crate::{
    slices::checks,
    world::{Engine, World, county::piece, on, on_rig, on_shelf},
};

static QUERIES: AtomicUsize = AtomicUsize::new(0);

/// Counts the queries on records and journal; the service's own looks at the time and at other processes are none, nor is
/// the forgetting that it begins with.
fn counting() -> Option<Box<dyn Instrumentation>> {
    Some(Box::new(|event: InstrumentationEvent<'_>| {
        if let InstrumentationEvent::StartQuery { query, .. } = event {
            let text = query.to_string();
            let forgets = text.contains("max(") || text.starts_with("DELETE");
            if !forgets
                && ["record", "replaced", "state", "journal"]
                    .iter()
                    .any(|table| text.contains(&format!("FROM \"{table}\"")) || text.contains(&format!("FROM `{table}`")))
            {
                QUERIES.fetch_add(1, Ordering::SeqCst);
            }
        }
    }))
}

/// Runs the named test again, alone in its process, where it finds itself alone and does its work.
fn alone(name: &str, work: impl FnOnce()) {
    const ALONE: &str = "FULLSET_TEST_ALONE";
    if std::env::var_os(ALONE).is_some() {
        set_default_instrumentation(counting).expect("nothing else instruments");
        return work();
    }
    // The run's watcher must watch the runner, not this test: the directory is made here and not by the child.
    crate::world::run::dir();
    let own = std::env::current_exe().expect("a test knows its own path");
    let said = Command::new(own)
        .args(["--exact", name, "--nocapture"])
        .env(ALONE, "1")
        .output()
        .expect("it starts again");
    let told = String::from_utf8_lossy(&said.stdout);
    assert!(
        said.status.success() && told.contains("1 passed"),
        "{told}\n{}",
        String::from_utf8_lossy(&said.stderr)
    );
}

async fn queries_of(world: &World, path: &str) -> usize {
    let crew = world.crew();
    crew.access().await;
    let before = QUERIES.load(Ordering::SeqCst);
    crew.find(path).await;
    QUERIES.load(Ordering::SeqCst) - before
}

/// What it costs when many phones ask and nothing is new: for the agency, and for a station.
async fn quiet_polls(world: &World) -> Vec<usize> {
    const PHONES: usize = 20;
    let crew = world.crew();
    let mut costs = Vec::new();
    for scope in ["agency".to_owned(), format!("station:{}", world.county().station_1)] {
        let mut replica = Replica::default();
        replica.follow_in(&crew, &scope, 2000).await;
        let before = QUERIES.load(Ordering::SeqCst);
        for _ in 0..PHONES {
            assert!(!replica.step_in(&crew, &scope, 500).await);
        }
        let cost = QUERIES.load(Ordering::SeqCst) - before;
        // On SQLite the service knows that nothing was written; on PostgreSQL it looks, once for each phone.
        let most = if world.engine == Engine::Sqlite { 1 } else { PHONES };
        assert!(cost <= most, "{cost} queries for {PHONES} phones that follow {scope}");
        costs.push(cost);
    }
    costs
}

/// Asks everything that is read in one go, first of a small county, then of one with many times the pieces and rigs.
async fn counted(world: &World) {
    let (county, coordinator) = (world.county(), world.coordinator());
    let paths = [
        "/v1/pieces?limit=500".to_owned(),
        "/v1/rigs?limit=500".to_owned(),
        "/v1/rig-standings?limit=500".to_owned(),
        "/v1/board".to_owned(),
        "/v1/changes?limit=2000".to_owned(),
        format!("/v1/pieces/{}/history", county.set_1.ram),
        "/v1/register.csv".to_owned(),
        "/v1/availability?by=rig".to_owned(),
        "/v1/board/changes".to_owned(),
        format!("/v1/rigs/{}/standing", county.engine_1),
        "/v1/reliability?by=part".to_owned(),
        "/v1/reliability/stops".to_owned(),
        "/v1/reserves".to_owned(),
        "/v1/checks/due?limit=500".to_owned(),
    ];
    let mut plan = checks::weekly();
    plan["covers"] = serde_json::json!({ "kinds": ["ram"] });
    checks::in_force(world, plan).await;
    // Some read only what has changed since the last time: once before, so that both are alike.
    let followed = ["/v1/board", "/v1/reserves"];
    for path in followed {
        queries_of(world, path).await;
    }
    let mut small = Vec::new();
    for path in &paths {
        small.push(if path.ends_with("csv") {
            csv(world).await
        } else {
            queries_of(world, path).await
        });
    }
    small.extend(quiet_polls(world).await);
    let mut more = Vec::new();
    for n in 0..12 {
        let rig = Uuid::now_v7();
        more.push(crate::world::command(
            "rig.add",
            serde_json::json!({ "id": rig, "name": format!("Squad {n}"), "station": county.station_3, "rig_class": county.engine_class }),
        ));
        for of in 0..6 {
            more.push(piece(Uuid::now_v7(), &format!("Q-{n}-{of}"), county.models.ram, on_rig(rig)));
        }
        more.push(piece(Uuid::now_v7(), &format!("Q-{n}-S"), county.models.ram, on_shelf(county.station_3)));
        more.push(crate::world::command(
            "piece.take_out",
            serde_json::json!({ "id": county.set_1.ram, "reason": format!("bent {n}") }),
        ));
    }
    coordinator.apply(more).await;
    for path in followed {
        queries_of(world, path).await;
    }
    let mut large = Vec::new();
    for path in &paths {
        large.push(if path.ends_with("csv") {
            csv(world).await
        } else {
            queries_of(world, path).await
        });
    }
    large.extend(quiet_polls(world).await);
    assert!(small.iter().sum::<usize>() > 5, "the queries were counted: {small:?}");
    assert_eq!(small, large, "{paths:?}");
}

async fn csv(world: &World) -> usize {
    let crew = world.crew();
    let before = QUERIES.load(Ordering::SeqCst);
    assert!(crew.get("/v1/register.csv").await.done());
    QUERIES.load(Ordering::SeqCst) - before
}

#[test]
fn what_is_read_takes_a_fixed_number_of_queries_on_sqlite() {
    alone("sync::queries::what_is_read_takes_a_fixed_number_of_queries_on_sqlite", || {
        on(Engine::Sqlite, async |world: &World| counted(world).await)
    });
}

#[test]
fn what_is_read_takes_a_fixed_number_of_queries_on_postgres() {
    alone("sync::queries::what_is_read_takes_a_fixed_number_of_queries_on_postgres", || {
        on(Engine::Postgres, async |world: &World| counted(world).await)
    });
}
