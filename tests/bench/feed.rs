//! The feed and batches as many phones use them, against the service in a process of its own, so that its memory is its own.

use std::{
    io::{BufRead as _, BufReader},
    net::{SocketAddr, TcpListener},
    path::Path,
    process::{Child, Command, Stdio},
    sync::Arc,
    time::{Duration, Instant},
};

use fullset::{
    app::{self, Settings},
    platform::db::Location,
};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    Line,
    fleet::{self, Fleet, command},
    goal, load,
    yardsticks::Bare,
};

const TIME: Duration = Duration::from_secs(5);
/// What a station keeps on a phone, and what a large agency has.
const FEW: usize = 5_000;
const MANY: usize = 50_000;
/// The largest pages.
const WALK: &str = "/v1/changes?scope=agency&limit=2000";

/// The argument that makes this program the service.
pub const SERVE: &str = "--serve";

/// Is the service on a database, until it is ended.
pub fn serve(url: &str) {
    let location = url.parse().expect("the address of a database");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let address = listener.local_addr().expect("an address");
        let running = app::start(listener, Settings::new(location)).await.expect("a service");
        println!("{address}");
        running.server.await.expect("the service ends well");
    });
}

pub struct Service {
    child: Child,
    pub address: SocketAddr,
}

impl Service {
    pub fn start(url: &str) -> Self {
        let own = std::env::current_exe().expect("a program knows its own path");
        let mut child = Command::new(own)
            .arg(SERVE)
            .arg(url)
            // As `server/docs/running/` has it run.
            .envs([("MALLOC_ARENA_MAX", "2"), ("MALLOC_TRIM_THRESHOLD_", "131072")])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the service starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("a pipe"))
            .read_line(&mut line)
            .expect("the service speaks");
        let address = line.trim().parse().expect("an address");
        Self { child, address }
    }

    /// A line of what the system says of the process's memory, in megabytes.
    pub fn memory(&self, name: &str) -> f64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).expect("Linux");
        let line = status.lines().find(|line| line.starts_with(name)).expect("the line");
        let kilobytes: f64 = line.split_whitespace().nth(1).expect("a number").parse().expect("a number");
        kilobytes * 1024.0 / 1e6
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Every page of a snapshot: what was asked, how many changes came, and the token to go on from.
async fn walk(client: &mut load::Client, token: &str) -> (Vec<String>, usize, String) {
    let (mut asked, mut count, mut since) = (Vec::new(), 0, String::new());
    loop {
        let path = format!("{WALK}{since}");
        let (status, body) = client.ask(&load::request("GET", &path, token, "")).await;
        assert_eq!(status, 200, "{}", String::from_utf8_lossy(&body));
        let page: Value = serde_json::from_slice(&body).expect("a page");
        asked.push(path);
        count += page["changes"].as_array().expect("changes").len();
        let next = page["next"].as_str().expect("a token").to_owned();
        if page["more"] != true {
            return (asked, count, next);
        }
        since = format!("&since={next}");
    }
}

/// Asks for pages one after the other; answers seconds and bytes on the wire.
async fn fetch(client: &mut load::Client, requests: &[Vec<u8>]) -> (f64, usize) {
    let (start, before) = (Instant::now(), client.received);
    for request in requests {
        let (status, _) = client.ask(request).await;
        assert_eq!(status, 200);
    }
    (start.elapsed().as_secs_f64(), client.received - before)
}

/// The feed's token as of now.
pub async fn newest(client: &mut load::Client, token: &str) -> String {
    walk(client, token).await.2
}

async fn snapshot(client: &mut load::Client, token: &str, touch: &[Value]) {
    let pages = walk(client, token).await.0;
    let plain: Vec<Vec<u8>> = pages.iter().map(|path| load::request("GET", path, token, "")).collect();
    let zipped: Vec<Vec<u8>> = pages.iter().map(|path| load::zipped(path, token)).collect();
    // A write between, or the pages might still be at hand; the walk's tokens stay good, for they lie before it.
    fleet::send(client, token, touch).await;
    let (first, _) = fetch(client, &plain).await;
    for (how, requests, most) in [("plain", &plain, None), ("gzip", &zipped, Some("<= 0.4 MB"))] {
        let mut taken = Vec::new();
        let mut bytes = 0;
        for _ in 0..21 {
            let (seconds, wire) = fetch(client, requests).await;
            taken.push(seconds);
            bytes = wire;
        }
        taken.sort_by(f64::total_cmp);
        let what = format!("snapshot of {FEW} records in {} pages, {how}", pages.len());
        goal(&what, &format!("{:.4} s", taken[10]), Some("<= 0.05 s"));
        goal("  on the wire", &format!("{:.3} MB", bytes as f64 / 1e6), most);
    }
    goal("  the first after a write, plain", &format!("{first:.4} s"), Some("<= 0.05 s"));
}

/// Batches of 50 by 8 clients; answers commands and records a second.
pub async fn batches(address: SocketAddr, token: &str, commands: &[Value]) -> (f64, f64) {
    let requests: Vec<Vec<u8>> = commands
        .chunks(50)
        .map(|chunk| load::request("POST", "/v1/commands", token, &fleet::batch(chunk)))
        .collect();
    let (took, answers) = load::send(address, 8, requests).await;
    let (mut applied, mut records) = (0, 0);
    for answer in answers {
        let (commands, wrote) = fleet::applied(&answer);
        applied += commands;
        records += wrote;
    }
    assert_eq!(applied, commands.len(), "every command was applied");
    (applied as f64 / took.as_secs_f64(), records as f64 / took.as_secs_f64())
}

fn say_batches(what: &str, (commands, records): (f64, f64), bare: &Bare, goal: Option<f64>) {
    Line {
        against: Some(("bare SQLite, 32 rows a commit", bare.grouped)),
        ..Line::new(format!("{what}, commands"), commands)
    }
    .say();
    Line {
        against: Some(("bare SQLite, 32 rows a commit", bare.grouped)),
        goal,
        ..Line::new("  the same, records".into(), records)
    }
    .say();
}

/// Polls by 32 clients, beside bare actix.
async fn polls(address: SocketAddr, what: &str, request: Vec<u8>, bare: &Bare, goal: Option<f64>) {
    let per_second = load::run(address, 32, TIME, move |_, _| request.clone()).await;
    Line {
        against: Some(("bare actix, 32 clients", bare.actix_32)),
        goal,
        ..Line::new(what.into(), per_second)
    }
    .say();
}

pub fn measure(folder: &Path, bare: &Bare) {
    let path = folder.join("feed.sqlite");
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().expect("threads");
    runtime.block_on(async move {
        fleet::found(&Location::Sqlite(path.clone())).await;
        let service = Service::start(&format!("sqlite:{}", path.display()));
        let address = service.address;
        let mut client = load::Client::connect(address).await;
        let token = fleet::sign_in(&mut client).await;
        goal("resident memory at the start", &format!("{:.0} MB", service.memory("VmRSS:")), None);

        let mut fleet = fleet::build(&mut client, &token, 400).await;
        let count = walk(&mut client, &token).await.1;
        let mut shelved = 0..;
        let mut add = |fleet: &mut Fleet, how_many: usize| -> Vec<Value> {
            let added: Vec<(Uuid, Value)> = shelved.by_ref().take(how_many).map(|n| fleet.shelved(n)).collect();
            fleet.pieces.extend(added.iter().map(|(id, _)| *id));
            added.into_iter().map(|(_, command)| command).collect()
        };
        // One is kept back, to be the write between.
        for commands in add(&mut fleet, FEW - count - 1).chunks(500) {
            fleet::send(&mut client, &token, commands).await;
        }
        let one = add(&mut fleet, 1);
        snapshot(&mut client, &token, &one).await;

        let commands = add(&mut fleet, MANY - FEW);
        let rates = batches(address, &token, &commands).await;
        say_batches("batches of 50 piece.add on shelves, 8 clients", rates, bare, Some(40_000.0));
        let (pages, count, since) = walk(&mut client, &token).await;
        assert_eq!(count, MANY);
        let zipped: Vec<Vec<u8>> = pages.iter().map(|path| load::zipped(path, &token)).collect();
        let (seconds, wire) = fetch(&mut client, &zipped).await;
        let what = format!("snapshot of {MANY} records in {} pages, gzip", pages.len());
        goal(&what, &format!("{seconds:.3} s"), None);
        goal("  on the wire", &format!("{:.2} MB", wire as f64 / 1e6), None);
        let (all, own) = (service.memory("VmRSS:"), service.memory("RssAnon:"));
        goal(
            &format!("resident memory at {MANY} records after it"),
            &format!("{all:.0} MB"),
            Some("<= 120 MB"),
        );
        goal("  of it not mapped from a file", &format!("{own:.0} MB"), None);

        let since_then = format!("/v1/changes?scope=agency&since={since}");
        let poll = load::request("GET", &since_then, &token, "");
        polls(address, "poll that finds nothing new, 32 clients", poll, bare, Some(40_000.0)).await;
        let taken: Vec<Value> = (0..20)
            .map(|n| command("piece.take_out", json!({ "id": fleet.pieces[FEW + n * 7], "reason": "cover cut to the braid" })))
            .collect();
        fleet::send(&mut client, &token, &taken).await;
        let (_, page) = client.ask(&load::request("GET", &since_then, &token, "")).await;
        let page: Value = serde_json::from_slice(&page).expect("a page");
        assert_eq!(page["changes"].as_array().map(Vec::len), Some(20), "{page}");
        let delta = load::request("GET", &since_then, &token, "");
        polls(
            address,
            &format!("delta of 20 changes among {MANY}, 32 clients"),
            delta.clone(),
            bare,
            Some(15_000.0),
        )
        .await;

        let writing = tokio::spawn(write_on(address, Arc::clone(&token), fleet.pieces[FEW]));
        polls(address, "  the same while one client writes without a pause", delta, bare, None).await;
        writing.abort();
        let reports: Vec<Value> = fleet.pieces[..4000].iter().map(|piece| report(*piece, "out_of_service")).collect();
        let rates = batches(address, &token, &reports).await;
        say_batches("batches of 50 defect.report that take a rig's piece out", rates, bare, None);
        let (now, peak) = (service.memory("VmRSS:"), service.memory("VmHWM:"));
        goal("resident memory at the end; its peak", &format!("{now:.0} MB; {peak:.0} MB"), None);
    });
}

fn report(piece: Uuid, severity: &str) -> Value {
    command(
        "defect.report",
        json!({ "id": Uuid::now_v7(), "piece": piece, "what": "seeps at the swivel", "class": "other", "severity": severity }),
    )
}

/// Writes without end.
async fn write_on(address: SocketAddr, token: Arc<str>, piece: Uuid) {
    let mut client = load::Client::connect(address).await;
    loop {
        fleet::send(&mut client, &token, &[report(piece, "usable")]).await;
    }
}
