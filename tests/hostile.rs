//! Callers who mean harm, against the service in a process of its own: whoever is honest is answered meanwhile, and what the service
//! holds stays within bounds. A sample of each attack here; whole, with its figures, by `make hostile` (FULLSET_TEST_ATTACK=whole).

mod limits;
mod readers;

use std::{
    cell::Cell,
    path::Path,
    time::{Duration, Instant},
};

use fullset::platform::{clock::Clock, db::Location};
use futures_util::{StreamExt as _, future::join_all, stream};
use reqwest::Method;
use serde_json::json;
use tokio::{io::AsyncWriteExt as _, net::TcpStream};
use uuid::Uuid;

use crate::world::{Client, Engine, Ground, command, ground::forget, process::Process};

/// How much of an attack is made: a sample of it, or all.
fn part(sample: usize, whole: usize) -> usize {
    match std::env::var("FULLSET_TEST_ATTACK").as_deref() {
        Ok("whole") => whole,
        _ => sample,
    }
}

/// How long an honest caller may wait for one round of what it asks, on a machine that does much besides; and how many times as long as
/// with nobody else there, for a machine that is slow in all it does.
const LONGEST: Duration = Duration::from_secs(5);
const TIMES_IDLE: u32 = 20;

/// The service that is attacked, and an honest member of it.
struct Victim {
    location: Location,
    process: Process,
    http: reqwest::Client,
    admin: Client,
    honest: Client,
    /// A member whose tablet was stolen.
    attacker: Client,
    /// What an honest member reads.
    piece: Uuid,
}

/// What was seen during an attack.
#[derive(Debug)]
struct Seen {
    /// Kilobytes before it, and the most while it went on.
    idle: u64,
    most: u64,
    /// The longest that an honest caller waited, before it and while it went on.
    wait_idle: Duration,
    wait: Duration,
}

impl Victim {
    async fn new() -> Self {
        let ground = Ground::on(Engine::Sqlite).await;
        let location = Ground::copy(Engine::Sqlite);
        let process = Process::serve(&location);
        let (http, people) = (reqwest::Client::new(), &ground.harrow.people);
        let member = |name: &str| Client::new(&process.base, &http, &Clock::system(), &people[name]);
        let victim = Self {
            admin: member("admin"),
            honest: member("crew"),
            attacker: member("coordinator"),
            piece: ground.harrow.county.set_1.ram,
            location,
            process,
            http,
        };
        victim.honest.piece(victim.piece).await;
        victim.admin.piece(victim.piece).await;
        victim
    }

    fn url(&self, path: &str) -> String {
        format!("{}{path}", self.process.base)
    }

    /// A line of the kernel's about the process, in kilobytes.
    fn kilobytes(&self, line: &str) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.process.id())).expect("it lives");
        let found = status.lines().find_map(|status| status.strip_prefix(line));
        found.and_then(|rest| rest.split_whitespace().next()?.parse().ok()).expect("a number of kB")
    }

    /// One round of what an honest member reads and of what watches over the service asks; how long it took.
    async fn round(&self) -> Duration {
        let began = Instant::now();
        self.honest.piece(self.piece).await;
        for path in ["/livez", "/healthz", "/readyz"] {
            let answer = self.http.get(self.url(path)).send().await.expect("an answer");
            assert_eq!(answer.status(), 200, "{path}");
        }
        began.elapsed()
    }

    /// Does what a hostile caller does, while an honest one goes on asking.
    async fn during(&self, attack: impl Future<Output = ()>) -> Seen {
        let mut wait_idle = Duration::ZERO;
        for _ in 0..5 {
            wait_idle = wait_idle.max(self.round().await);
        }
        let idle = self.kilobytes("VmRSS:");
        // Forgets the most that was held until now.
        std::fs::write(format!("/proc/{}/clear_refs", self.process.id()), "5").expect("one's own process");
        let (mut wait, goes_on) = (Duration::ZERO, Cell::new(true));
        let attack = async {
            attack.await;
            goes_on.set(false);
        };
        // The round that is under way when the attack ends is waited for: it may be the one that was held up.
        let honest = async {
            while goes_on.get() {
                wait = wait.max(self.round().await);
                tokio::time::sleep(Duration::from_millis(20)).await;
            }
        };
        tokio::join!(attack, honest);
        Seen {
            idle,
            most: self.kilobytes("VmHWM:"),
            wait_idle,
            wait,
        }
    }

    /// Requests, so many at once, and how each was answered; none where the connection was closed on it.
    async fn ask(&self, at_once: usize, requests: Vec<reqwest::RequestBuilder>) -> Vec<Option<u16>> {
        let answers = stream::iter(requests).map(async |request| request.send().await.ok().map(|answer| answer.status().as_u16()));
        answers.buffer_unordered(at_once).collect().await
    }

    fn sign_in(&self, email: &str, password: &str) -> reqwest::RequestBuilder {
        self.http.post(self.url("/v1/session")).json(&json!({ "email": email, "password": password }))
    }

    /// Connections that send a beginning and then a byte a second, for so long.
    async fn trickle(&self, connections: usize, beginning: &str, seconds: usize) {
        let address = self.process.base.trim_start_matches("http://").to_owned();
        let one = async || {
            let Ok(mut stream) = TcpStream::connect(&address).await else { return };
            let mut open = stream.write_all(beginning.as_bytes()).await.is_ok();
            for _ in 0..seconds {
                tokio::time::sleep(Duration::from_secs(1)).await;
                open = open && stream.write_all(b"a").await.is_ok();
            }
        };
        join_all((0..connections).map(|_| one())).await;
    }

    fn end(self) {
        let Self { location, process, .. } = self;
        process.kill();
        forget(&location);
    }
}

fn on_victim(name: &str, test: impl AsyncFnOnce(&Victim) -> Seen) {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("threads start");
    runtime.block_on(async {
        let victim = Victim::new().await;
        let seen = test(&victim).await;
        eprintln!(
            "{name}: {} MB before, {} MB at most, an honest caller waited {} ms at most, {} ms before",
            seen.idle / 1024,
            seen.most / 1024,
            seen.wait.as_millis(),
            seen.wait_idle.as_millis()
        );
        // A build without optimisation, whose caches fill while it is attacked, idles at some tens of megabytes.
        assert!(seen.most <= 2 * seen.idle + 64 * 1024, "{name}: {seen:?}");
        assert!(seen.wait <= LONGEST.max(seen.wait_idle * TIMES_IDLE), "{name}: {seen:?}");
        victim.end();
    });
}

#[test]
fn packed_bodies_are_not_unfolded() {
    on_victim("packed bodies", async |victim| {
        let body = vec![0x1f_u8; part(1_000_000, 8_500_000)];
        let request = || {
            let packed = victim.http.post(victim.url("/v1/session")).header("Content-Encoding", "gzip");
            packed.header("Content-Type", "application/json").body(body.clone())
        };
        victim
            .during(async {
                let answers = victim.ask(4, (0..part(8, 40)).map(|_| request()).collect()).await;
                assert!(answers.iter().flatten().all(|status| *status == 415), "{answers:?}");
            })
            .await
    });
}

#[test]
fn endless_emails_are_not_kept() {
    on_victim("endless emails", async |victim| {
        let email = |n: usize| format!("{n}{}@harrow.example", "e".repeat(1_900_000));
        victim
            .during(async {
                let answers = victim.ask(4, (0..part(8, 200)).map(|n| victim.sign_in(&email(n), "wrong")).collect()).await;
                assert!(answers.iter().flatten().all(|status| [413, 422].contains(status)), "{answers:?}");
            })
            .await
    });
}

#[test]
fn tokens_of_unknown_keys_cost_nothing() {
    on_victim("tokens of unknown keys", async |victim| {
        let forged = |n: usize| {
            let part = |text: String| base64::Engine::encode(&base64::engine::general_purpose::URL_SAFE_NO_PAD, text);
            let head = part(json!({ "alg": "ES256", "typ": "JWT", "kid": Uuid::from_u128(n as u128) }).to_string());
            format!(
                "{head}.{}.{}",
                part(json!({ "sub": Uuid::from_u128(1), "exp": 4_000_000_000_u64 }).to_string()),
                part("s".repeat(64))
            )
        };
        victim
            .during(async {
                let request = |n| victim.http.get(victim.url("/v1/pieces")).bearer_auth(forged(n));
                let answers = victim.ask(32, (0..part(500, 20_000)).map(request).collect()).await;
                assert!(answers.iter().all(|status| *status == Some(401)), "{answers:?}");
            })
            .await
    });
}

#[test]
fn many_sign_ins_at_once_wait_in_a_line() {
    on_victim("sign-ins at once", async |victim| {
        victim
            .during(async {
                let request = |n| victim.sign_in(&format!("nobody{n}@harrow.example"), "some long wrong password");
                let count = part(80, 300);
                let answers = victim.ask(count, (0..count).map(request).collect()).await;
                assert!(answers.iter().flatten().all(|status| [401, 429, 503].contains(status)), "{answers:?}");
            })
            .await
    });
}

#[test]
fn an_admin_who_adds_many_members_holds_nobody_up() {
    on_victim("members added at once", async |victim| {
        let access = victim.admin.access().await;
        victim
            .during(async {
                let request = |n| {
                    let body = json!({ "id": Uuid::now_v7(), "name": format!("New {n}"), "email": format!("new{n}@harrow.example"),
                        "role": "crew", "password": "some long password of theirs" });
                    victim.http.request(Method::POST, victim.url("/v1/members")).bearer_auth(&access).json(&body)
                };
                let count = part(10, 60);
                let answers = victim.ask(count, (0..count).map(request).collect()).await;
                assert!(answers.iter().flatten().all(|status| [201, 429, 503].contains(status)), "{answers:?}");
            })
            .await
    });
}

#[test]
fn plans_and_readings_without_end_hold_nobody_up() {
    on_victim("plans and readings at once", async |victim| {
        let access = victim.attacker.access().await;
        victim
            .during(async {
                let paths = [
                    "/v1/swap-plan",
                    "/v1/coverage/reserve-sites",
                    "/v1/coverage",
                    "/v1/reliability",
                    "/v1/reserves",
                    "/v1/register.csv",
                ];
                let count = part(300, 900);
                let request = |n: usize| victim.http.get(victim.url(paths[n % paths.len()])).bearer_auth(&access);
                let answers = victim.ask(count, (0..count).map(request).collect()).await;
                // Answered, or told to come again.
                assert!(answers.iter().flatten().all(|status| *status < 500), "{answers:?}");
            })
            .await
    });
}

#[test]
fn slow_heads_do_not_keep_others_out() {
    on_victim("slow heads", async |victim| {
        let connections = part(300, 990);
        victim
            .during(victim.trickle(connections, "GET /livez HTTP/1.1\r\nHost: rescue\r\nX-Slow: ", part(4, 30)))
            .await
    });
}

#[test]
fn slow_bodies_do_not_keep_others_out() {
    on_victim("slow bodies", async |victim| {
        let connections = part(300, 990);
        let beginning = "POST /v1/session HTTP/1.1\r\nHost: rescue\r\nContent-Type: application/json\r\nContent-Length: 100000\r\n\r\n{";
        victim.during(victim.trickle(connections, beginning, part(4, 30))).await
    });
}

#[test]
fn notes_without_end_neither_fill_the_disk_nor_the_answers() {
    on_victim("notes", async |victim| {
        let defect = Uuid::now_v7();
        let body = json!({ "id": defect, "piece": victim.piece, "what": "weeps", "class": "leak", "severity": "out_of_service" });
        victim.honest.post("/v1/defects", body).await.ok();
        let count = part(120, 960);
        let size = || {
            let Location::Sqlite(path) = &victim.location else { panic!("a file") };
            let wal = format!("{}-wal", path.display());
            [path.as_path(), Path::new(&wal)]
                .iter()
                .filter_map(|file| std::fs::metadata(file).ok())
                .map(|file| file.len())
                .sum::<u64>()
        };
        let before = size();
        let seen = victim
            .during(async {
                let notes: Vec<_> = (0..count)
                    .map(|n| command("defect.note", json!({ "id": defect, "text": format!("{n} {}", "w".repeat(3_900)) })))
                    .collect();
                for notes in notes.chunks(60) {
                    victim.honest.send(notes.to_vec()).await.ok();
                }
            })
            .await;
        let (grown, answer) = (size() - before, victim.honest.get(&format!("/v1/defects/{defect}")).await.text.len());
        eprintln!("notes: {count} of 4 kB, {} kB more on disk, the defect weighs {answer} bytes", grown / 1024);
        assert!(grown < 20 * 1024 * 1024 && answer < 8 * 1024, "{grown} bytes more, {answer} in an answer");
        seen
    });
}
