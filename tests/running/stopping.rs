//! Telling the service to stop, and not telling it to.

use std::{
    collections::BTreeSet,
    io::{BufRead as _, BufReader},
    process::{Command, Stdio},
    time::{Duration, Instant},
};

use chrono::Utc;
use futures_util::{StreamExt as _, future::join_all};
use serde_json::{Value, json};
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
    task::JoinHandle,
};
use uuid::Uuid;

use super::kit::Running;
use crate::world::{
    Client, Engine, World, command, on, on_both,
    process::{binary, url},
    soon, sql,
};

/// A request whose body does not come all at once.
struct SlowBody {
    connection: TcpStream,
    rest: String,
}

impl SlowBody {
    /// Sends the head and half of a report.
    async fn of(service: &Running, access: &str, report: &Value) -> Self {
        let body = report.to_string();
        let (first, rest) = body.split_at(body.len() / 2);
        let address = service.base.trim_start_matches("http://");
        let mut connection = TcpStream::connect(address).await.expect("it takes connections");
        let head = format!(
            "POST /v1/defects HTTP/1.1\r\nhost: x\r\nauthorization: Bearer {access}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{first}",
            body.len()
        );
        connection.write_all(head.as_bytes()).await.expect("sent");
        Self {
            connection,
            rest: rest.to_owned(),
        }
    }

    /// Sends the rest; answers what the service said.
    async fn finish(mut self) -> String {
        self.connection.write_all(self.rest.as_bytes()).await.expect("the rest is taken");
        let mut answer = Vec::new();
        self.connection.read_to_end(&mut answer).await.expect("an answer");
        String::from_utf8_lossy(&answer).into_owned()
    }
}

/// Members who write until they are not answered any more; each tells what was acknowledged.
fn writers(crew: &Client, piece: Uuid) -> Vec<JoinHandle<BTreeSet<String>>> {
    let writer = |_| {
        let crew = crew.clone();
        tokio::spawn(async move {
            let mut acknowledged = BTreeSet::new();
            loop {
                let acts: Vec<Value> = (0..20)
                    .map(|n| command("piece.take_out", json!({ "id": piece, "reason": format!("bent {n}") })))
                    .collect();
                let sent = crew
                    .request(reqwest::Method::POST, "/v1/commands")
                    .await
                    .json(&json!({ "sent_at": Utc::now(), "commands": acts }))
                    .send()
                    .await;
                let Ok(answer) = sent else { return acknowledged };
                let Ok(batch) = answer.json::<Value>().await else { return acknowledged };
                let Some(answers) = batch["answers"].as_array() else { return acknowledged };
                acknowledged.extend(answers.iter().map(|answer| answer["id"].as_str().expect("an id").replace('-', "")));
            }
        })
    };
    (0..8).map(writer).collect()
}

on_both!(sigterm_ends_it_within_five_seconds_and_what_is_under_way_is_finished, async |world: &World| {
    let mut service = Running::start(&world.location, &["--writes-a-minute", "0"]);
    let crew = service.member(world, "crew");
    let access = crew.access().await;
    let mut streams = Vec::new();
    for _ in 0..12 {
        let answer = crew.request(reqwest::Method::GET, "/v1/changes/live").await.send().await.expect("a stream");
        streams.push(tokio::spawn(answer.bytes_stream().for_each(|_| async {})));
    }
    // Of a place in which nobody writes.
    let shop = format!("/v1/changes?scope=shop:{}", world.county().shop);
    let since = crew.find(&format!("{shop}&limit=2000")).await["next"].as_str().expect("a token").to_owned();
    let waiting: Vec<_> = (0..3)
        .map(|_| {
            let (crew, path) = (crew.clone(), format!("{shop}&since={since}&wait=60"));
            tokio::spawn(async move { crew.get(&path).await.status })
        })
        .collect();
    let defect = Uuid::now_v7();
    let report = |id| json!({ "id": id, "piece": world.county().set_1.pump, "what": "seeps", "class": "deformation", "severity": "usable" });
    let half = SlowBody::of(&service, &access, &report(defect)).await;
    // This one's other half never comes.
    let _never = SlowBody::of(&service, &access, &report(Uuid::now_v7())).await;
    let writing = writers(&crew, world.county().set_1.ram);
    tokio::time::sleep(Duration::from_millis(300)).await;

    service.signal("-TERM");
    let told = Instant::now();
    let finished = tokio::spawn(async move {
        tokio::time::sleep(Duration::from_millis(700)).await;
        half.finish().await
    });
    let asked = reqwest::Client::new();
    let ready = soon("/readyz says 503", async || {
        let answer = asked.get(format!("{}/readyz", service.base)).send().await.expect("it still answers");
        (answer.status() == 503).then_some(answer)
    })
    .await;
    assert_eq!(ready.headers()["connection"], "close", "the next request goes elsewhere");
    let ready: Value = ready.json().await.expect("JSON");
    assert_eq!((&ready["ready"], &ready["stopping"]), (&json!(false), &json!(true)));

    let (status, _) = service.ends().await;
    let took = told.elapsed();
    let log = service.logged();
    assert!(status.success(), "{status}: {log}");
    assert!(took < Duration::from_secs(5), "it took {took:?}: {log}");
    let answer = finished.await.expect("no panic");
    assert!(answer.starts_with("HTTP/1.1 201"), "{answer}");
    for status in join_all(waiting).await {
        assert_eq!(status.expect("no panic"), 200, "who waits is answered");
    }
    join_all(streams).await;
    let acknowledged: BTreeSet<String> = join_all(writing).await.into_iter().flat_map(|one| one.expect("no panic")).collect();
    assert!(acknowledged.len() > 100, "{} were written while it stopped: too few", acknowledged.len());
    let kept: BTreeSet<String> = sql::texts(&world.location, &format!("SELECT {} AS t FROM journal", sql::hex(&world.location, "command")))
        .into_iter()
        .collect();
    assert!(acknowledged.is_subset(&kept), "what was acknowledged is there");
    let again = Running::start(&world.location, &[]);
    assert_eq!(again.member(world, "crew").get(&format!("/v1/defects/{defect}")).await.status, 200);
    again.stop().await;
});

on_both!(sighup_never_ends_it, async |world: &World| {
    let folder = tempfile::tempdir().expect("a folder");
    let own = folder.path().join("tls").display().to_string();
    for arguments in [vec![], vec!["--tls-self-signed", own.as_str()]] {
        let mut service = Running::start(&world.location, &arguments);
        for _ in 0..3 {
            service.signal("-HUP");
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        assert!(service.lives(), "{arguments:?}: {}", service.logged());
        service.stop().await;
    }
});

/// Nobody reads the log, so that whatever writes to it hangs: requests, background tasks, and what says that the service stops.
#[test]
fn a_service_that_hangs_is_ended_by_the_thread_that_waits_for_that() {
    on(Engine::Sqlite, async |world: &World| {
        let mut hanging = Command::new(binary());
        hanging
            .args([
                "serve",
                "--listen",
                "127.0.0.1:0",
                "--alerts",
                "off",
                "--access-log",
                "off",
                "--drain",
                "0",
                "--database",
                &url(&world.location),
            ])
            .env("RUST_LOG", "info,actix_http=trace,actix_web=trace,actix_server=trace,mio=trace")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut service = hanging.spawn().expect("the service starts");
        let (_unread, out) = (service.stderr.take().expect("a pipe"), service.stdout.take().expect("a pipe"));
        let line = BufReader::new(out).lines().next().expect("it speaks").expect("a line");
        let base = line.rsplit(' ').next().expect("an address").to_owned();
        let ask = reqwest::Client::builder().timeout(Duration::from_secs(2)).build().expect("a client");
        let mut answered = 0;
        while ask.get(format!("{base}/livez")).send().await.is_ok() {
            answered += 1;
            assert!(answered < 20_000, "it does not hang");
        }
        let (id, told) = (service.id().to_string(), Instant::now());
        assert!(Command::new("kill").args(["-TERM", &id]).status().expect("kill runs").success());
        let ended = loop {
            if let Some(status) = service.try_wait().expect("it is ours") {
                break Some(status);
            }
            if told.elapsed() > Duration::from_secs(10) {
                service.kill().expect("it is ours");
                service.wait().expect("it is ours");
                break None;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        };
        let took = told.elapsed();
        assert_eq!(ended.and_then(|status| status.code()), Some(0), "after {took:?}");
        // No drain: 3.5 seconds, and a moment for its last words. Sooner would be another way of ending than the one that is tried here.
        assert!(
            took > Duration::from_millis(3_400) && took < Duration::from_secs(5),
            "it took {took:?}, after {answered} requests"
        );
    });
}
