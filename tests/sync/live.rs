//! The live stream: server-sent events that tell of each new revision, within a second.

use std::time::Duration;

use futures_util::{Stream, StreamExt as _};
use reqwest::Method;
use serde_json::json;
use uuid::Uuid;

use crate::world::{Client, World, on_both};

/// An open stream.
pub struct Live<S> {
    stream: S,
    text: String,
}

/// Opens a member's stream.
pub async fn open(client: &Client) -> Live<impl Stream<Item = String> + Unpin> {
    open_at(client, "").await
}

/// Opens a member's stream with a query.
pub async fn open_at(client: &Client, query: &str) -> Live<impl Stream<Item = String> + Unpin + use<>> {
    let answer = client
        .request(Method::GET, &format!("/v1/changes/live{query}"))
        .await
        .send()
        .await
        .expect("the stream opens");
    assert_eq!(answer.status(), 200);
    assert_eq!(answer.headers()["content-type"], "text/event-stream");
    let chunks = answer
        .bytes_stream()
        .map(|chunk| String::from_utf8_lossy(&chunk.expect("the stream goes on")).into_owned());
    Live {
        stream: Box::pin(chunks),
        text: String::new(),
    }
}

impl<S: Stream<Item = String> + Unpin> Live<S> {
    /// The next revision told, within a second.
    pub async fn next(&mut self) -> i64 {
        tokio::time::timeout(Duration::from_secs(1), self.event())
            .await
            .expect("nothing was told within a second")
    }

    /// The next event's data, within a second.
    pub async fn next_event(&mut self) -> serde_json::Value {
        tokio::time::timeout(Duration::from_secs(1), self.data())
            .await
            .expect("nothing was told within a second")
    }

    async fn event(&mut self) -> i64 {
        self.data().await["revision"].as_i64().expect("a revision")
    }

    async fn data(&mut self) -> serde_json::Value {
        loop {
            if let Some((event, rest)) = self.text.split_once("\n\n").map(|(event, rest)| (event.to_owned(), rest.to_owned())) {
                self.text = rest;
                if let Some(data) = event.lines().find_map(|line| line.strip_prefix("data: ")) {
                    assert!(event.contains("event: revision"), "{event}");
                    return serde_json::from_str(data).expect("JSON");
                }
                continue;
            }
            self.text += &self.stream.next().await.expect("the stream is open");
        }
    }

    /// Reads until this revision has been told; each one within a second of the one before.
    pub async fn until(&mut self, revision: i64) {
        let mut last = -1;
        while last < revision {
            let told = self.next().await;
            assert!(told > last, "{told} after {last}: revisions are told in order");
            last = told;
        }
    }
}

on_both!(
    the_stream_tells_where_the_agency_is_and_then_of_every_change_within_a_second,
    async |world: &World| {
        let crew = world.crew();
        let mut live = open(&crew).await;
        live.until(crew.revision().await).await;
        for n in 0..5 {
            let answer = crew.take_out(world.county().set_1.ram, &format!("bent {n}")).await.ok();
            live.until(answer["revision"].as_i64().unwrap()).await;
        }
    }
);

on_both!(a_refused_command_tells_nothing_and_neither_does_another_agency, async |world: &World| {
    let crew = world.crew();
    let mut live = open(&crew).await;
    live.until(crew.revision().await).await;
    crew.swap(world.county().engine_1, Uuid::now_v7(), "cutter").await.refused(422, "field-invalid");
    let neighbour = world.member_of(&world.ground.vale, "admin");
    for n in 0..20 {
        neighbour
            .post("/v1/districts", json!({ "id": Uuid::now_v7(), "name": format!("West {n}") }))
            .await
            .ok();
    }
    let own = crew.take_out(world.county().set_1.ram, "bent").await.ok();
    assert_eq!(
        live.next().await,
        own["revision"].as_i64().unwrap(),
        "the next thing told is the agency's own next change"
    );
});

on_both!(many_streams_hear_the_same, async |world: &World| {
    let crew = world.crew();
    let mut streams = Vec::new();
    for _ in 0..12 {
        streams.push(open(&crew).await);
    }
    let revision = crew.take_out(world.county().set_1.ram, "bent").await.ok()["revision"].as_i64().unwrap();
    for live in &mut streams {
        live.until(revision).await;
    }
});
