//! The service is killed (SIGKILL) again and again while several write without pause: what was acknowledged is there, once. On SQLite with one
//! process, on PostgreSQL with one and with two.
//!
//! | file | holds |
//! | --- | --- |
//! | `writers.rs` | who writes, sends again what was not acknowledged, and keeps what was |
//! | `check.rs` | what must hold in the end |
//!
//! `FULLSET_TEST_KILLS=1000` has so many kills in all (60 unless told). The moments of the kills and what is written come from
//! `FULLSET_TEST_SEED` (1 unless told); how both meet does not, so a fault may take some runs to come again.

pub mod check;
pub mod writers;

use std::{
    process::Stdio,
    sync::{Arc, atomic::Ordering},
    time::{Duration, Instant},
};

use fullset::platform::{clock::Clock, db::Location};

use crate::world::{
    Client, Engine, Ground, Rng, ground, photos_of,
    process::{Process, command, verify},
    rng::told,
};
use writers::{Line, Writer};

/// Kills of `make test`, over the three set-ups.
const KILLS: u64 = 60;
/// One kill in so many is followed by another while the service starts.
const AT_THE_START: usize = 5;
/// Nobody is held back for writing much.
const UNBOUNDED: [(&str, &str); 1] = [("FULLSET_WRITES_A_MINUTE", "0")];

fn serve(location: &Location) -> Process {
    Process::serve_with(location, &photos_of(location).display().to_string(), &UNBOUNDED)
}

/// Starts a service and kills it before it answers, or hardly after.
async fn killed_at_the_start(location: &Location, rng: &mut Rng) {
    let mut starting = command("serve", location)
        .args(["--listen", "127.0.0.1:0", "--photos", &photos_of(location).display().to_string()])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the service starts");
    tokio::time::sleep(Duration::from_millis(u64::try_from(rng.roll(150)).expect("small"))).await;
    starting.kill().expect("it is ours");
    starting.wait().expect("it is ours");
}

/// Kills and starts again; answers how many kills there were besides, while the service started.
async fn kill_all_day(location: &Location, line: &Line, servers: &mut [Process], kills: u64, rng: &mut Rng) -> u64 {
    let mut besides = 0;
    for _ in 0..kills {
        line.is_busy().await;
        tokio::time::sleep(Duration::from_millis(u64::try_from(rng.roll(300)).expect("small"))).await;
        let which = rng.roll(servers.len());
        servers[which].end();
        line.is_down(which);
        if rng.roll(AT_THE_START) == 0 {
            killed_at_the_start(location, rng).await;
            besides += 1;
        }
        servers[which] = tokio::task::block_in_place(|| serve(location));
        line.is_up(which, &servers[which].base);
    }
    besides
}

/// Has so many kills happen; answers what was seen, or what is wrong.
async fn run(engine: Engine, processes: usize, kills: u64, seed: u64) -> Result<String, Vec<String>> {
    let begun = Instant::now();
    let mut rng = Rng::new(seed);
    let agency = Ground::on(engine).await.harrow;
    let location = Ground::copy(engine);
    let mut servers: Vec<Process> = (0..processes).map(|_| serve(&location)).collect();
    let line = Arc::new(Line::new(&agency.people["coordinator"], processes, || 0));
    for (which, server) in servers.iter().enumerate() {
        line.is_up(which, &server.base);
    }
    let client = |server: &Process| Client::new(&server.base, &line.http, &Clock::system(), &agency.people["coordinator"]);
    let before = check::Before::of(&client(&servers[0])).await;
    let writing: Vec<_> = Writer::each(&agency.county, &mut rng)
        .into_iter()
        .map(|writer| tokio::spawn(writer.write(Arc::clone(&line))))
        .collect();

    let besides = kill_all_day(&location, &line, &mut servers, kills, &mut rng).await;

    line.is_over();
    let (mut writers, mut faults) = (Vec::new(), Vec::new());
    for writer in writing {
        match writer.await {
            Ok(writer) => writers.push(writer),
            Err(error) => faults.push(format!("a writer gave up: {error}")),
        }
    }
    // What was acknowledged last is asked of a service that was killed right after it, too.
    servers.clear();
    let last = serve(&location);
    faults.extend(check::all(&location, &agency, &client(&last), &before, &writers).await);
    drop(last);
    let (holds, words) = tokio::task::block_in_place(|| verify(&location));
    if !holds {
        faults.push(format!("fullset verify: {words}"));
    }
    ground::forget(&location);

    let hit = line.broken_off();
    if hit * 2 < usize::try_from(kills).expect("small") {
        faults.push(format!("only {hit} of {kills} kills hit while commands were under way: this shows too little"));
    }
    let seen = format!(
        "{kills} kills ({hit} while commands were under way) and {besides} while the service started: {} commands acknowledged; of those sent again \
         {} had been applied and {} had not; {:.1} s",
        writers.iter().map(|writer| writer.acknowledged.len()).sum::<usize>(),
        line.were_there.load(Ordering::Relaxed),
        line.were_not_there.load(Ordering::Relaxed),
        begun.elapsed().as_secs_f64(),
    );
    if faults.is_empty() { Ok(seen) } else { Err(faults) }
}

fn kills(engine: Engine, processes: usize) {
    let (seed, all) = (told("FULLSET_TEST_SEED").unwrap_or(1), told("FULLSET_TEST_KILLS").unwrap_or(KILLS));
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("threads start");
    let set_up = format!("{engine:?}, {processes} at once");
    // Shown where anything below fails.
    println!("again: FULLSET_TEST_SEED={seed} FULLSET_TEST_KILLS={all} cargo test -p fullset-tests kills::");
    match runtime.block_on(run(engine, processes, all.div_ceil(3), seed)) {
        Ok(seen) => println!("{set_up}, seed {seed}: {seen}"),
        Err(faults) => panic!(
            "{set_up}, seed {seed}: {} faults:\n{}",
            faults.len(),
            faults.into_iter().take(20).collect::<Vec<_>>().join("\n"),
        ),
    }
}

#[test]
fn nothing_is_lost_or_doubled_on_sqlite() {
    kills(Engine::Sqlite, 1);
}

#[test]
fn nothing_is_lost_or_doubled_on_postgres() {
    kills(Engine::Postgres, 1);
}

#[test]
fn nothing_is_lost_or_doubled_on_two_processes() {
    kills(Engine::Postgres, 2);
}
