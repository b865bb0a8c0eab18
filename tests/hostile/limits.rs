//! What is told to who sends too slowly, or too much.

use std::time::Duration;

use fullset::{
    app::Settings,
    platform::{door::WriteLimits, http::BodyLimits},
};
use futures_util::{StreamExt as _, stream};
use serde_json::json;
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
};

use crate::world::{Engine, Server, World, command, on};

/// A connection that sends this and then a byte each tenth of a second; what it is answered until it is closed, or for ten seconds.
async fn trickled(base: &str, beginning: &str) -> String {
    let mut stream = TcpStream::connect(base.trim_start_matches("http://")).await.expect("a connection");
    stream.write_all(beginning.as_bytes()).await.expect("sent");
    let (mut reader, mut writer) = stream.split();
    let mut said = Vec::new();
    let slowly = async {
        while writer.write_all(b"a").await.is_ok() {
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        // What was closed on the way in may still be read.
        std::future::pending::<()>().await;
    };
    tokio::select! {
        () = slowly => {}
        _ = reader.read_to_end(&mut said) => {}
        () = tokio::time::sleep(Duration::from_secs(10)) => panic!("the connection is still open: {}", String::from_utf8_lossy(&said)),
    }
    String::from_utf8_lossy(&said).into_owned()
}

#[test]
fn a_body_that_comes_too_slowly_is_told_so_and_its_connection_is_closed() {
    on(Engine::Sqlite, async |world: &World| {
        let bodies = BodyLimits {
            grace: Duration::from_secs(1),
            slowest: 1_000,
            under_way: 100_000,
        };
        let server = Server::with(&world.location, &world.clock, |settings| Settings { bodies, ..settings }).await;
        let head = "Host: rescue\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{";
        let answer = trickled(&server.base, &format!("POST /v1/session HTTP/1.1\r\n{head}")).await;
        assert!(answer.starts_with("HTTP/1.1 408") && answer.contains("\"body-slow\""), "{answer}");
        // One that is faster than the slowest may take longer than the grace.
        let crew = world.member_at(&server, world.agency(), "crew");
        let (text, tail) = (format!("{{\"pad\":\"{}\",", "x".repeat(4_000)), "\"more\":1}");
        let whole = [vec![text.into_bytes()], tail.bytes().map(|byte| vec![byte]).collect()].concat();
        let chunks = stream::iter(whole).then(async |chunk| {
            tokio::time::sleep(Duration::from_millis(150)).await;
            Ok::<_, std::io::Error>(chunk)
        });
        let request = world.http.post(format!("{}/v1/defects", server.base)).bearer_auth(crew.access().await);
        let answer = request
            .header("Content-Type", "application/json")
            .body(reqwest::Body::wrap_stream(chunks))
            .send()
            .await
            .unwrap();
        assert_eq!(answer.status(), 422, "it came whole");
        // More than may be on its way at once is asked for again.
        let big = world
            .http
            .post(format!("{}/v1/defects", server.base))
            .bearer_auth(crew.access().await)
            .body(vec![b'x'; 150_000]);
        let answer = big.send().await.unwrap();
        assert_eq!((answer.status().as_u16(), answer.headers().contains_key("retry-after")), (503, true));
        crew.piece(world.county().set_1.ram).await;
        server.stop().await;
    });
}

#[test]
fn a_head_that_comes_too_slowly_is_told_so_and_its_connection_is_closed() {
    on(Engine::Sqlite, async |world: &World| {
        // Within the ten seconds that are waited here; five are stated.
        let answer = trickled(&world.server.base, "GET /livez HTTP/1.1\r\nHost: rescue\r\nX-Slow: ").await;
        assert!(answer.is_empty() || answer.starts_with("HTTP/1.1 408"), "{answer}");
    });
}

#[test]
fn nobody_writes_without_end() {
    on(Engine::Sqlite, async |world: &World| {
        let writes = Some(WriteLimits {
            commands_at_once: 10,
            commands_a_minute: 60,
            kilobytes_at_once: 64,
            kilobytes_a_minute: 60,
        });
        let server = Server::with(&world.location, &world.clock, |settings| Settings { writes, ..settings }).await;
        let (crew, officer) = (
            world.member_at(&server, world.agency(), "crew"),
            world.member_at(&server, world.agency(), "officer"),
        );
        let take_out = |count: usize, reason: &str| -> Vec<_> {
            (0..count)
                .map(|_| command("piece.take_out", json!({ "id": world.county().set_1.ram, "reason": reason })))
                .collect()
        };
        crew.apply(take_out(10, "bent")).await;
        let before = world.journal_length();
        let waiting = take_out(2, "bent again");
        let refused = crew.send(waiting.clone()).await;
        assert!(refused.headers.contains_key("retry-after"));
        refused.refused(429, "slow-down");
        assert_eq!(world.journal_length(), before, "nothing of it was taken");
        officer.apply(take_out(10, "bent")).await;
        officer.post("/v1/uses", json!({})).await.refused(429, "slow-down");
        tokio::time::sleep(Duration::from_millis(2_100)).await;
        crew.apply(waiting).await;
        let shop = world.member_at(&server, world.agency(), "shop");
        shop.apply(take_out(1, &"b".repeat(3_900))).await;
        let long = (0..9)
            .map(|_| {
                command(
                    "piece.take_out",
                    json!({ "id": world.county().set_1.ram, "reason": "b", "pad": "x".repeat(9_000) }),
                )
            })
            .collect();
        shop.send(long).await.refused(429, "slow-down");
        server.stop().await;
    });
}
