//! Hundreds of simulated phones against the real service: they lose signal, lose replies, resend, reorder, skew their clocks
//! and change scope, while the service is killed at random. In the end every replica equals the service for its scope, and
//! the service equals a plain sequential model of the acknowledged commands.
//!
//! | file | holds |
//! | --- | --- |
//! | `plan.rs` | what happens, all from one seed |
//! | `fleet.rs` | the servers, the air between, what was seen |
//! | `phone.rs` | one phone: replica, outbox, clock, line |
//! | `mind.rs` | what the person with the phone does next |
//! | `check.rs` | what must hold in the end |
//! | `broken.rs` | that the check finds what is broken on purpose |
//!
//! The plan is the same for a seed; how the phones' requests meet is not, so a fault may take some runs to come again.
//! `FULLSET_TEST_SEED=17` runs one seed alone, `FULLSET_TEST_SEEDS=1000` that many from `FULLSET_TEST_FIRST_SEED` (0) on,
//! `FULLSET_TEST_PHONES=200` so many phones with each.

mod broken;
mod check;
mod fleet;
mod mind;
mod phone;
mod plan;

use std::{panic::catch_unwind, sync::Arc};

use futures_util::StreamExt as _;

use fleet::{Counts, Fleet};
use phone::Phone;
use plan::{Plan, SetUp};

use super::replica::{Records, lists};
use crate::world::{Ground, ground, rng::told};

/// Phones that act at once.
const AT_ONCE: usize = 24;
/// Seeds of `make test`, over the three set-ups.
const SEEDS: u64 = 16;

/// Runs a plan; answers how often things happened, or what is wrong.
fn run(plan: &Plan) -> Result<Counts, Vec<String>> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("threads start");
    runtime.block_on(async {
        let agency = Ground::on(plan.set_up.engine()).await.harrow;
        let location = Ground::copy(plan.set_up.engine());
        let (fleet, orders) = Fleet::start(plan, &location, &agency).await;
        let client = fleet.client(&agency, "officer");
        let (before, base): (Records, i64) = (lists(&client).await, client.revision().await);
        fleet.heard(base);
        let mut phones: Vec<Phone> = plan
            .phones
            .iter()
            .enumerate()
            .map(|(number, phone)| Phone::new(number, phone.clone(), fleet.scopes[phone.scope].clone()))
            .collect();

        let fate = tokio::spawn(Arc::clone(&fleet).fate(orders));
        let mut order = plan.order;
        for round in 0..plan.rounds {
            let mut all: Vec<&mut Phone> = phones.iter_mut().collect();
            order.shuffle(&mut all);
            futures_util::stream::iter(all)
                .for_each_concurrent(AT_ONCE, |phone| phone.live(&fleet, round))
                .await;
        }
        fleet.is_over();
        fate.await.expect("the service is up");

        futures_util::stream::iter(&mut phones)
            .for_each_concurrent(AT_ONCE, |phone| phone.flush(&fleet))
            .await;
        // The service's own clock may have written something in between.
        let client = fleet.client(&agency, "officer");
        for _ in 0..5 {
            futures_util::stream::iter(&mut phones)
                .for_each_concurrent(AT_ONCE, |phone| phone.catch_up(&fleet))
                .await;
            let revision = client.revision().await;
            if phones.iter().all(|phone| phone.replica().revision == revision) {
                break;
            }
        }
        let faults = check::all(&fleet, &agency, &phones, &before, base).await;
        let counts = fleet.counts();
        drop(fleet);
        ground::forget(&location);
        if faults.is_empty() { Ok(counts) } else { Err(faults) }
    })
}

/// How many phones a seed has: hundreds for one seed of each set-up in a hundred, fewer for the others, which take less time.
fn phones(seed: u64) -> usize {
    let few = if seed % 99 < 3 { 200 } else { 24 };
    told("FULLSET_TEST_PHONES").map_or(few, |given| usize::try_from(given).expect("a number of phones"))
}

/// What must have happened somewhere in the runs of a set-up, or they show less than they say.
const MUST: [&str; 15] = [
    "stubs",
    "applied",
    "repeated",
    "conflicts",
    "refused",
    "refused with the one before",
    "replies lost",
    "kills",
    "gone: deleted",
    "records read",
    "phones put back to a copy",
    "compactions",
    "gone: out of scope",
    "new scopes",
    "resyncs after compaction",
];

fn seeds(set_up: SetUp) {
    let all: Vec<u64> = match told("FULLSET_TEST_SEED") {
        Some(only) => vec![only],
        None => {
            let first = told("FULLSET_TEST_FIRST_SEED").unwrap_or(0);
            (first..first + told("FULLSET_TEST_SEEDS").unwrap_or(SEEDS)).collect()
        }
    };
    let (mut counts, mut runs, mut broken) = (Counts::new(), 0, Vec::new());
    for seed in all.into_iter().filter(|seed| SetUp::of(*seed) == set_up) {
        let begun = std::time::Instant::now();
        // A slip of the test itself names its seed as well.
        let ran = catch_unwind(|| run(&Plan::of(seed, phones(seed)))).unwrap_or_else(|_| Err(vec!["the test panicked, see above".to_owned()]));
        match ran {
            Ok(more) => more.into_iter().for_each(|(what, times)| *counts.entry(what).or_default() += times),
            Err(faults) => {
                eprintln!(
                    "seed {seed} on {set_up:?} with {} phones:\n{}",
                    phones(seed),
                    faults.iter().take(20).cloned().collect::<Vec<_>>().join("\n")
                );
                eprintln!(
                    "alone: FULLSET_TEST_SEED={seed} FULLSET_TEST_PHONES={} cargo test -p fullset-tests sync::phones::seeds_\n",
                    phones(seed)
                );
                broken.push(seed);
            }
        }
        runs += 1;
        println!("seed {seed} on {set_up:?}: {} phones, {:.1} s", phones(seed), begun.elapsed().as_secs_f64());
    }
    println!("{runs} seeds on {set_up:?}: {counts:?}");
    assert!(broken.is_empty(), "these seeds failed, see above: {broken:?}");
    for what in MUST.iter().filter(|_| runs > 5) {
        assert!(counts.contains_key(what), "nothing of this in {runs} runs: {what}: {counts:?}");
    }
}

#[test]
fn seeds_on_sqlite() {
    seeds(SetUp::Sqlite);
}

#[test]
fn seeds_on_postgres() {
    seeds(SetUp::Postgres);
}

#[test]
fn seeds_on_two_servers() {
    seeds(SetUp::TwoServers);
}
