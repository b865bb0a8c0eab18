//! Who asks for much at once waits for himself alone. What is read is held up here by a lock on PostgreSQL's table, for as long as the test
//! needs, so that nothing hangs on how fast the machine is.

use std::{
    cell::Cell,
    time::{Duration, Instant},
};

use futures_util::future::join_all;

use crate::world::{Client, Engine, Reply, World, on, soon, sql};

/// How long an honest caller may wait, on a machine that does much besides. A reader is waited for ten seconds where nobody bounds anything.
const LONGEST: Duration = Duration::from_secs(5);

/// Asks so many times at once; `refused` counts those that were told to come again.
async fn all_at_once(client: &Client, path: &str, count: usize, refused: &Cell<usize>) -> Vec<Reply> {
    join_all((0..count).map(|_| async {
        let reply = client.get(path).await;
        if reply.status == 429 {
            refused.set(refused.get() + 1);
        }
        reply
    }))
    .await
}

/// What was answered at last: so many were taken, and the others were told when to come again.
fn ended(replies: Vec<Reply>, taken: usize) {
    let (done, refused): (Vec<Reply>, Vec<Reply>) = replies.into_iter().partition(Reply::done);
    assert_eq!(done.len(), taken);
    for reply in refused {
        let after: u64 = reply.headers["retry-after"].to_str().unwrap().parse().unwrap();
        assert!((1..=10).contains(&after), "{after}");
        reply.refused(429, "slow-down");
    }
}

/// Whoever watches over the service is told that it fares well, and so is who asks whether the process lives.
async fn fares_well(world: &World) -> serde_json::Value {
    let began = Instant::now();
    for path in ["/livez", "/healthz"] {
        assert_eq!(world.nobody("GET", path).await.status, 200, "{path}");
    }
    let readiness = world.nobody("GET", "/readyz").await.ok();
    assert!(began.elapsed() < LONGEST, "{:?}", began.elapsed());
    readiness
}

/// How many readers are at work.
fn busy(readiness: &serde_json::Value) -> u64 {
    let count = |name: &str| readiness["readers"][name].as_u64().expect("a number");
    count("open") - count("idle")
}

#[test]
fn who_reads_without_end_takes_the_readers_from_nobody() {
    on(Engine::Postgres, async |world: &World| {
        let (crew, officer, ram) = (world.crew(), world.officer(), world.county().set_1.ram);
        let (path, refused) = (format!("/v1/pieces/{ram}/history"), Cell::new(0));
        let held = sql::Held::of(&world.location, "journal");
        let attack = all_at_once(&crew, &path, 300, &refused);
        let others = async {
            soon("the sender's line is full", async || (refused.get() == 44).then_some(())).await;
            assert!(
                busy(&fares_well(world).await) <= 3,
                "half of the four readers, and one for the service's own work"
            );
            let began = Instant::now();
            officer.piece(ram).await;
            assert!(began.elapsed() < LONGEST, "{:?}", began.elapsed());
            // Nobody's line is another's, and one that is full takes nothing more of its sender.
            crew.get(&format!("/v1/pieces/{ram}")).await.refused(429, "slow-down");
            drop(held);
        };
        let (replies, ()) = tokio::join!(attack, others);
        ended(replies, 256);
        crew.piece(ram).await;
    });
}

#[test]
fn who_has_plans_worked_out_without_end_holds_one_reader_and_little_memory() {
    on(Engine::Postgres, async |world: &World| {
        let (crew, refused) = (world.crew(), Cell::new(0));
        let held = sql::Held::of(&world.location, "record");
        let attack = all_at_once(&crew, "/v1/swap-plan", 40, &refused);
        let others = async {
            soon("the sender's line is full", async || (refused.get() == 24).then_some(())).await;
            // The turn comes first and then the reading: one at a time has a fleet in its hands.
            assert!(busy(&fares_well(world).await) <= 2, "one search, and one for the service's own work");
            drop(held);
        };
        let (replies, ()) = tokio::join!(attack, others);
        ended(replies, 16);
        crew.get("/v1/swap-plan").await.ok();
    });
}

#[test]
fn a_database_that_does_not_answer_is_told_in_time() {
    on(Engine::Postgres, async |world: &World| {
        let held = sql::Held::of(&world.location, "lapse");
        let began = Instant::now();
        let asked = (0..40).map(|n| async move { world.nobody("GET", ["/readyz", "/healthz"][n % 2]).await });
        let told = join_all(asked);
        let lives = async {
            let began = Instant::now();
            assert_eq!(world.nobody("GET", "/livez").await.status, 200);
            began.elapsed()
        };
        let (told, lived) = tokio::join!(told, lives);
        for reply in told {
            assert_eq!(reply.status, 503, "{}", reply.text);
        }
        // Two seconds for the question that was under way, and two for the one that all others waited for together.
        assert!(began.elapsed() < 2 * LONGEST && lived < LONGEST, "{:?}, {lived:?}", began.elapsed());
        drop(held);
        soon("it is ready again", async || (world.nobody("GET", "/readyz").await.status == 200).then_some(())).await;
    });
}
