//! What the hard cases leave to each client: how a batch that is refused whole goes on, the live stream, photos.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, reason = "a test fails where it is wrong")]

mod scripted;

use std::time::Duration;

use chrono::{TimeDelta, Utc};
use fullset_client::{Client, Command, Error, Outbox, Outcome, Patience, Session};
use scripted::{Exchange, Scripted};
use serde_json::{Value, json};

const QUICK: Patience = Patience {
    tries: 4,
    first: Duration::from_millis(1),
    longest: Duration::from_millis(4),
};

async fn signed_in(service: &Scripted) -> Client {
    let client = Client::new(&service.base).unwrap();
    let session = Session {
        access_token: "a1".into(),
        refresh_token: "r1".into(),
        expires_at: Utc::now() + TimeDelta::minutes(14),
        who: Value::Null,
    };
    client.resume(Some(session)).await;
    client
}

fn exchange(method: &str, path: &str, more: Value, answer: Value) -> Exchange {
    let mut asked = json!({ "method": method, "path": path });
    asked.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    Exchange { asked, answer }
}

fn problem(status: u16, code: &str) -> Value {
    json!({ "status": status, "body": { "status": status, "code": code, "detail": "no" } })
}

fn applied(commands: &[&Command]) -> Value {
    let answers: Vec<Value> = commands.iter().map(|command| json!({ "id": command.id, "outcome": "applied" })).collect();
    json!({ "status": 200, "body": { "revision": 1, "answers": answers } })
}

fn batch(commands: &[&Command]) -> Value {
    let ids: Vec<Value> = commands.iter().map(|command| json!({ "id": command.id })).collect();
    json!({ "body": { "commands": ids } })
}

#[tokio::test]
async fn one_command_that_spoils_a_batch_keeps_nobody_waiting() {
    let service = Scripted::start().await;
    let client = signed_in(&service).await;
    let notes: Vec<Command> = (0..4).map(|n| Command::new("defect.note", &json!({ "text": n })).unwrap()).collect();
    let [a, b, c, d] = notes.iter().collect::<Vec<_>>().try_into().unwrap();
    let post = |commands: &[&Command], answer: Value| service.expects(exchange("POST", "/v1/commands", batch(commands), answer));
    post(&[a, b, c, d], problem(422, "field-invalid"));
    post(&[a, b], applied(&[a, b]));
    post(&[c, d], problem(422, "field-invalid"));
    post(&[c], problem(422, "field-invalid"));
    post(&[d], applied(&[d]));
    let mut outbox = Outbox {
        waiting: notes.clone(),
        undone: Vec::new(),
    };
    client.drain(&mut outbox, QUICK).await.unwrap();
    service.was_asked_all("halves");
    assert!(outbox.waiting.is_empty());
    assert_eq!(
        (outbox.undone.len(), outbox.undone[0].command.id, outbox.undone[0].answer.outcome),
        (1, c.id, Outcome::Refused)
    );
}

#[tokio::test]
async fn answers_that_are_not_those_of_the_commands_settle_nothing() {
    let service = Scripted::start().await;
    let client = signed_in(&service).await;
    let notes: Vec<Command> = (0..2).map(|n| Command::new("defect.note", &json!({ "text": n })).unwrap()).collect();
    let [a, b] = notes.iter().collect::<Vec<_>>().try_into().unwrap();
    for wrong in [vec![b, a], vec![a], vec![a, b, a]] {
        service.expects(exchange("POST", "/v1/commands", batch(&[a, b]), applied(&wrong)));
        let mut outbox = Outbox {
            waiting: notes.clone(),
            undone: Vec::new(),
        };
        let ended = client.drain(&mut outbox, QUICK).await;
        assert!(matches!(ended, Err(Error::NotUnderstood { .. })), "{ended:?}");
        assert_eq!((outbox.waiting.len(), outbox.undone.len()), (2, 0));
    }
}

#[tokio::test]
async fn an_access_token_that_is_about_to_run_out_is_renewed_before_it_is_used() {
    let service = Scripted::start().await;
    let client = signed_in(&service)
        .await
        .with_clock(|| Utc::now() + TimeDelta::minutes(13) + TimeDelta::seconds(30));
    let fresh = json!({ "status": 200, "body": { "access_token": "a2", "refresh_token": "r2", "expires_in": 900, "may": ["x"] } });
    service.expects(exchange("POST", "/v1/session/refresh", json!({ "body": { "refresh_token": "r1" } }), fresh));
    let asked = json!({ "headers": { "authorization": "Bearer a2" } });
    service.expects(exchange("GET", "/v1/board", asked, json!({ "status": 200, "body": { "districts": [] } })));
    client.get::<Value>("/v1/board").await.unwrap();
    service.was_asked_all("renewed");
    let session = client.session().await.unwrap();
    assert_eq!((session.refresh_token.as_str(), &session.who["may"]), ("r2", &json!(["x"])));
    assert!(!format!("{session:?}").contains("r2"), "secrets stay out of logs");
}

#[tokio::test]
async fn a_live_stream_that_ends_or_fails_is_opened_again_and_tells_nothing_twice() {
    let service = Scripted::start().await;
    let client = signed_in(&service).await;
    let stream = |text: &str| json!({ "status": 200, "headers": { "content-type": "text/event-stream" }, "text": text });
    let event = |n: i64| format!("event: revision\nid: {n}\ndata: {{\"revision\":{n}}}\n\n");
    for answer in [
        stream(&format!(": alive\n\n{}: alive\r\n\r\n{}", event(3), event(5))),
        stream(&format!("{}event: weather\ndata: {{\"revision\":99}}\n\n{}data: cut o", event(5), event(8))),
        json!("none"),
        json!({ "status": 503, "text": "" }),
        stream(&format!("{}{}", event(8), event(9))),
        problem(426, "client-too-old"),
    ] {
        service.expects(exchange(
            "GET",
            "/v1/changes/live",
            json!({ "headers": { "authorization": "Bearer a1" } }),
            answer,
        ));
    }
    let mut live = client.live("", QUICK);
    for told in [3, 5, 8, 9] {
        assert_eq!(live.next().await.unwrap(), told);
    }
    let ended = live.next().await;
    assert!(matches!(ended, Err(Error::TooOld(_))), "{ended:?}");
    service.was_asked_all("live");
}

#[tokio::test]
async fn a_photo_goes_on_from_where_the_service_stands() {
    let service = Scripted::start().await;
    let client = signed_in(&service).await;
    let photo = vec![7_u8; 500_000];
    let at = |offset: u64, status: u16| json!({ "status": status, "headers": { "upload-offset": offset.to_string() } });
    let part = |range: &str| json!({ "headers": { "content-range": range, "content-type": "image/jpeg" } });
    let path = format!("/v1/photos/{}", sha256(&photo));
    service.expects(exchange("HEAD", &path, json!({}), at(1000, 404)));
    service.expects(exchange("PUT", &path, part("bytes 1000-263143/500000"), at(263_144, 202)));
    service.expects(exchange("PUT", &path, part("bytes 263144-499999/500000"), json!("none")));
    service.expects(exchange("PUT", &path, part("bytes 263144-499999/500000"), problem(409, "upload-offset")));
    service.expects(exchange("HEAD", &path, json!({}), at(400_000, 404)));
    service.expects(exchange("PUT", &path, part("bytes 400000-499999/500000"), json!({ "status": 201 })));
    let sent = client.put_photo(&photo, "image/jpeg", QUICK).await.unwrap();
    service.was_asked_all("photo");
    assert_eq!(path, format!("/v1/photos/{sent}"));

    service.expects(exchange("HEAD", &path, json!({}), at(500_000, 200)));
    client.put_photo(&photo, "image/jpeg", QUICK).await.unwrap();
    service.was_asked_all("a photo that is there already");
}

/// By the system's own tool, so that the client's idea of a name is not held against itself.
fn sha256(bytes: &[u8]) -> String {
    use std::io::Write as _;
    let mut child = std::process::Command::new("sha256sum")
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(bytes).unwrap();
    String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap()[..64].to_owned()
}
