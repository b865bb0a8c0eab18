//! Two processes on one PostgreSQL behind a plain TCP balancer. Each is replaced while requests flow: none of them fails, live streams go
//! on at the other, and the clock never stands.

use std::{
    sync::{
        Arc, Mutex,
        atomic::{AtomicBool, AtomicUsize, Ordering},
    },
    time::Duration,
};

use fullset::platform::clock::Clock;
use futures_util::{StreamExt as _, future::join_all};
use reqwest::{Method, RequestBuilder};
use serde_json::json;
use tokio::net::{TcpListener, TcpStream};
use uuid::Uuid;

use super::kit::{Running, free_address};
use crate::world::{Client, Engine, World, on, process::verify, soon, sql};

/// Passes connections on, in turn, to the addresses behind it that say that they are ready.
struct Balancer {
    base: String,
    behind: Vec<(String, AtomicBool)>,
    next: AtomicUsize,
}

impl Balancer {
    async fn start(addresses: &[String]) -> Arc<Self> {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a free port");
        let balancer = Arc::new(Self {
            base: format!("http://{}", listener.local_addr().expect("an address")),
            behind: addresses.iter().map(|address| (address.clone(), AtomicBool::new(true))).collect(),
            next: AtomicUsize::new(0),
        });
        for at in 0..addresses.len() {
            tokio::spawn(Arc::clone(&balancer).look(at));
        }
        let own = Arc::clone(&balancer);
        tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                tokio::spawn(Arc::clone(&own).pass(stream));
            }
        });
        balancer
    }

    /// Asks an address five times a second whether it is ready. One that takes its time stays what it was.
    async fn look(self: Arc<Self>, at: usize) {
        let http = reqwest::Client::builder()
            .timeout(Duration::from_secs(5))
            .pool_max_idle_per_host(0)
            .build()
            .expect("a client");
        let (address, ready) = &self.behind[at];
        loop {
            match http.get(format!("http://{address}/readyz")).send().await {
                Ok(answer) => ready.store(answer.status() == 200, Ordering::SeqCst),
                Err(error) if error.is_timeout() => {}
                Err(_) => ready.store(false, Ordering::SeqCst),
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        }
    }

    async fn pass(self: Arc<Self>, mut from: TcpStream) {
        for _ in 0..self.behind.len() * 2 {
            let (address, ready) = &self.behind[self.next.fetch_add(1, Ordering::SeqCst) % self.behind.len()];
            if !ready.load(Ordering::SeqCst) {
                continue;
            }
            if let Ok(mut to) = TcpStream::connect(address).await {
                let _ = tokio::io::copy_bidirectional(&mut from, &mut to).await;
                return;
            }
        }
    }
}

/// Seconds: several looks of the balancer, also where the machine has much to do.
const DRAIN: &str = "3";

/// What was asked through the balancer.
#[derive(Default)]
struct Asked {
    count: AtomicUsize,
    failed: Mutex<Vec<String>>,
    streams: AtomicUsize,
    told: AtomicUsize,
    enough: AtomicBool,
}

impl Asked {
    fn goes_on(&self) -> bool {
        !self.enough.load(Ordering::SeqCst)
    }

    async fn ask(&self, path: &str, request: RequestBuilder) {
        self.count.fetch_add(1, Ordering::SeqCst);
        let answer = match request.send().await {
            Ok(answer) if answer.status().is_success() => answer.bytes().await.map(drop).map_err(|error| format!("{path}: {error:?}")),
            Ok(answer) => Err(format!("{path}: {}", answer.status())),
            Err(error) => Err(format!("{path}: {error:?}")),
        };
        if let Err(words) = answer {
            self.failed.lock().expect("nobody panicked").push(words);
        }
    }

    /// Reads and writes, one after the other, until it is enough; answers the ids of the commands.
    async fn work(&self, client: &Client, piece: Uuid) -> Vec<Uuid> {
        let (mut sent, read, write) = (Vec::new(), format!("/v1/pieces/{piece}"), format!("/v1/pieces/{piece}/take-out"));
        while self.goes_on() {
            let id = Uuid::now_v7();
            let request = client.request(Method::POST, &write).await.header("idempotency-key", id.to_string());
            self.ask(&write, request.json(&json!({ "reason": format!("bent {}", sent.len()) }))).await;
            sent.push(id);
            for path in ["/v1/board", &read] {
                self.ask(path, client.request(Method::GET, path).await).await;
            }
            tokio::time::sleep(Duration::from_millis(40)).await;
        }
        sent
    }

    /// Listens, and connects again where a stream ends, as a dashboard does.
    async fn listen(&self, client: &Client) {
        while self.goes_on() {
            let opened = client.request(Method::GET, "/v1/changes/live").await.send().await;
            let Ok(answer) = opened.and_then(reqwest::Response::error_for_status) else {
                self.failed.lock().expect("nobody panicked").push("a stream was refused".to_owned());
                continue;
            };
            self.streams.fetch_add(1, Ordering::SeqCst);
            let mut events = Box::pin(answer.bytes_stream());
            while let Ok(Some(Ok(event))) = tokio::time::timeout(Duration::from_secs(1), events.next()).await {
                self.told.fetch_add(usize::from(event.starts_with(b"event: revision")), Ordering::SeqCst);
                if !self.goes_on() {
                    return;
                }
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }
}

/// Has an answer run out now, and waits until a clock has settled it.
async fn clock_acts(world: &World) {
    let (agency, rig) = (world.id(world.agency().id), world.id(world.county().engine_1));
    let due = format!("SELECT count(*) AS n FROM lapse WHERE id = {rig} AND at <= now()");
    let put = format!(
        "INSERT INTO lapse (agency, kind, id, at, try_at, tries, pending) VALUES ({agency}, 'rig', {rig}, now(), now(), 0, false) \
         ON CONFLICT (agency, kind, id) DO UPDATE SET at = now(), try_at = now(), tries = 0, pending = false"
    );
    let settled = || sql::number(&world.location, "SELECT count(*) AS n FROM journal WHERE kind = 'clock.settle'");
    let before = settled();
    sql::run(&world.location, &put);
    soon("the clock settles what ran out", async || {
        (settled() > before && sql::number(&world.location, &due) == 0).then_some(())
    })
    .await;
}

#[test]
fn a_rolling_restart_fails_no_request() {
    on(Engine::Postgres, async |world: &World| {
        let addresses = [free_address(), free_address()];
        let start = |address: &String| Running::start(&world.location, &["--listen", address, "--drain", DRAIN]);
        let mut processes: Vec<Running> = addresses.iter().map(start).collect();
        let balancer = Balancer::start(&addresses).await;
        let through = |name: &str| Client::new(&balancer.base, &reqwest::Client::new(), &Clock::system(), &world.agency().people[name]);
        let clients: Vec<Client> = ["crew", "officer", "chief", "coordinator"].map(through).into();
        for client in &clients {
            client.access().await;
        }
        let asked = Asked::default();
        let county = world.county();
        let pieces = [county.set_1.ram, county.set_1.pump, county.set_2.ram, county.set_2.pump];
        let workers = join_all(clients.iter().zip(pieces).map(|(client, piece)| asked.work(client, piece)));
        let listener = asked.listen(&clients[0]);
        let restarts = async {
            tokio::time::sleep(Duration::from_millis(500)).await;
            for (at, address) in addresses.iter().enumerate() {
                let told = asked.told.load(Ordering::SeqCst);
                processes.remove(0).stop().await;
                clock_acts(world).await;
                soon("the stream tells on", async || (asked.told.load(Ordering::SeqCst) > told + 1).then_some(())).await;
                // Starting one waits, and who asks must not wait with it.
                let (location, address) = (world.location.clone(), address.clone());
                let started = tokio::task::spawn_blocking(move || Running::start(&location, &["--listen", &address, "--drain", DRAIN]));
                processes.push(started.await.expect("it starts"));
                soon("the balancer has it back", async || balancer.behind[at].1.load(Ordering::SeqCst).then_some(())).await;
                tokio::time::sleep(Duration::from_millis(500)).await;
            }
            asked.enough.store(true, Ordering::SeqCst);
        };
        let (sent, (), ()) = tokio::join!(workers, listener, restarts);
        let failed = asked.failed.lock().expect("nobody panicked").clone();
        let count = asked.count.load(Ordering::SeqCst);
        assert!(failed.is_empty(), "{} of {count}: {failed:#?}", failed.len());
        assert!(
            count > 100 && asked.streams.load(Ordering::SeqCst) >= 2,
            "{count} requests, {:?} streams",
            asked.streams
        );
        let journal = sql::texts(&world.location, "SELECT CAST(command AS text) AS t FROM journal WHERE kind = 'piece.take_out'");
        let mut sent: Vec<String> = sent.into_iter().flatten().map(|id| id.to_string()).collect();
        let mut kept: Vec<String> = journal.into_iter().filter(|id| sent.contains(id)).collect();
        sent.sort_unstable();
        kept.sort_unstable();
        assert_eq!(kept, sent, "each command is in the journal, once");
        for process in processes {
            process.stop().await;
        }
        assert!(verify(&world.location).0);
    });
}
