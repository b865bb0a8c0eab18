//! The search tells how far it is, line by line, and stops when nobody listens.

use std::time::{Duration, Instant};

use futures_util::{Stream, StreamExt as _};
use reqwest::Method;
use serde_json::{Value, json};

use super::year::{ask, day, district};
use crate::world::{Client, World, on_both};

/// The lines of a plan that is being worked out.
struct Lines<S> {
    stream: S,
    text: String,
}

async fn open(client: &Client, ask: &Value) -> Lines<impl Stream<Item = String> + Unpin + use<>> {
    let request = client.request(Method::POST, "/v1/service-plans/work").await.json(ask);
    let answer = request.send().await.expect("the stream opens");
    assert_eq!(answer.status(), 200);
    let chunks = answer
        .bytes_stream()
        .map(|chunk| String::from_utf8_lossy(&chunk.expect("the stream goes on")).into_owned());
    Lines {
        stream: Box::pin(chunks),
        text: String::new(),
    }
}

impl<S: Stream<Item = String> + Unpin> Lines<S> {
    /// The next line, within some seconds.
    async fn next(&mut self) -> Value {
        let line = tokio::time::timeout(Duration::from_secs(10), async {
            loop {
                if let Some((line, rest)) = self.text.split_once('\n').map(|(line, rest)| (line.to_owned(), rest.to_owned())) {
                    self.text = rest;
                    return line;
                }
                self.text += &self.stream.next().await.expect("the stream is open");
            }
        });
        serde_json::from_str(&line.await.expect("a line in time")).expect("a line is JSON")
    }

    /// The next progress: how far, and in words.
    async fn progress(&mut self) -> (f64, String) {
        let line = self.next().await;
        let progress = line.get("progress").unwrap_or_else(|| panic!("no progress but {line}"));
        (progress["share"].as_f64().unwrap(), progress["words"].as_str().unwrap().to_owned())
    }
}

/// A year in which whole sets go together so badly that the search spends all its work.
async fn hard(world: &World) -> Value {
    let days: Vec<_> = (0..60).map(|n| day("2027-01-06") + chrono::Days::new(n * 5)).collect();
    let made = district(world, "East", 50, &days, &[]).await;
    let mut asked = ask(world, 52, 30.0);
    let odd = |n: usize| 5.0 + f64::from(u32::try_from(n * n * 37 % 101).unwrap()) / 13.0;
    asked["hours"] = made.sets.iter().enumerate().map(|(n, set)| json!({ "set": set.id, "hours": odd(n) })).collect();
    asked
}

on_both!(progress_comes_line_by_line_while_the_search_goes_on, async |world: &World| {
    let mut lines = open(&world.crew(), &hard(world).await).await;
    let began = Instant::now();
    let mut last = lines.progress().await.0;
    for _ in 0..8 {
        let (share, words) = lines.progress().await;
        assert!((last..1.0).contains(&share) && words.contains("peak"), "{share} {words}");
        last = share;
    }
    assert!(last > 0.0, "it goes on");
    assert!(began.elapsed() > Duration::from_millis(700), "no more than some ten a second");
});

on_both!(a_compressed_answer_holds_no_line_back, async |world: &World| {
    let asked = hard(world).await;
    let request = world.crew().request(Method::POST, "/v1/service-plans/work").await;
    let answer = request.header("Accept-Encoding", "gzip").json(&asked).send().await.unwrap();
    assert_eq!(answer.headers()["content-encoding"], "gzip");
    let mut chunks = answer.bytes_stream();
    for n in 0..6 {
        let chunk = tokio::time::timeout(Duration::from_secs(5), chunks.next()).await;
        chunk.unwrap_or_else(|_| panic!("chunk {n} is held back")).expect("it goes on").unwrap();
    }
});

on_both!(a_search_stops_when_its_connection_is_closed, async |world: &World| {
    let asked = hard(world).await;
    let (crew, officer) = (world.crew(), world.officer());
    let mut first = open(&crew, &asked).await;
    first.progress().await;
    let began = Instant::now();
    // One search for an agency at a time: the second one waits for as long as the first goes on.
    let mut second = open(&officer, &asked).await;
    for _ in 0..2 {
        let (share, words) = second.progress().await;
        assert!(share == 0.0 && words.contains("waiting in line"), "{share} {words}");
    }
    let mut share = 0.0;
    while let Ok((now, _)) = tokio::time::timeout(Duration::from_millis(50), first.progress()).await {
        share = now;
    }
    let rest = began.elapsed().mul_f64((1.0 - share) / share);
    drop(first);
    let closed = Instant::now();
    while second.progress().await.1.contains("waiting in line") {}
    assert!(
        closed.elapsed() < rest / 2,
        "with {share} of its work done the first search would have gone on for {rest:?}, and went on for {:?}",
        closed.elapsed()
    );
});

on_both!(one_that_waits_in_line_and_leaves_is_forgotten, async |world: &World| {
    let asked = hard(world).await;
    let mut first = open(&world.crew(), &asked).await;
    first.progress().await;
    let mut second = open(&world.officer(), &asked).await;
    second.progress().await;
    drop(second);
    drop(first);
    let quick = json!({ "first_day": "2026-12-07", "periods": 4, "shops": [{ "shop": world.county().shop, "hours": 8 }] });
    let mut third = open(&world.member("chief"), &quick).await;
    loop {
        let line = third.next().await;
        if line.get("answer").is_some() {
            break;
        }
    }
});
