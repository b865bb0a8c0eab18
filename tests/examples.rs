//! The examples of `openapi/sync.md`, run in their order as they stand there, against a fresh service: what is shown is true.
//!
//! A block of the kind `http` that begins with a method is a request; the next one, which begins with `HTTP/1.1`, is its answer.
//! `<word>` stands for a value: of the county, or of an earlier answer. The first answer that shows it gives it its value, each
//! later one must hold the same. An answer must hold what is shown, and may hold more; a list that ends in `"..."` may be longer.
//! `http pending` marks a request that this version does not answer as shown: that has to be so, or the mark is out of date.

use std::{collections::BTreeMap, time::Duration};

use serde_json::{Value, json};

use crate::world::{World, on_both};

const PAGE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/sync.md");

/// A request or an answer as the page shows it.
#[derive(Debug, Default)]
struct Block {
    line: usize,
    pending: bool,
    first: String,
    headers: Vec<(String, String)>,
    body: String,
}

fn blocks(page: &str) -> Vec<Block> {
    let mut found = Vec::new();
    let mut lines = page.lines().enumerate();
    while let Some((at, line)) = lines.next() {
        let Some(kind) = line.strip_prefix("```http") else { continue };
        let text: Vec<&str> = lines.by_ref().map(|(_, line)| line).take_while(|line| *line != "```").collect();
        let end = text.iter().position(|line| line.is_empty()).unwrap_or(text.len());
        found.push(Block {
            line: at + 1,
            pending: kind.trim() == "pending",
            first: text[0].to_owned(),
            headers: text[1..end]
                .iter()
                .map(|line| line.split_once(": ").expect("a header"))
                .map(|(name, value)| (name.to_owned(), value.to_owned()))
                .collect(),
            body: text[end..].join("\n").trim().to_owned(),
        });
    }
    found
}

/// The values that the words stand for.
type Words = BTreeMap<String, Value>;

/// Splits at the first `<word>`: what comes before, the word, what comes after.
fn word(text: &str) -> Option<(&str, &str, &str)> {
    let mut from = 0;
    while let Some(start) = text[from..].find('<').map(|at| at + from) {
        let rest = &text[start + 1..];
        let length = rest
            .find(|c: char| !(c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_'))
            .unwrap_or(rest.len());
        if length > 0 && rest[length..].starts_with('>') {
            return Some((&text[..start], &rest[..length], &rest[length + 1..]));
        }
        from = start + 1;
    }
    None
}

/// Puts values in the place of words.
fn filled(mut text: &str, words: &Words) -> String {
    let mut whole = String::new();
    while let Some((before, name, after)) = word(text) {
        let value = words.get(name).unwrap_or_else(|| panic!("nothing has given <{name}> a value yet"));
        whole += before;
        whole += &value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        text = after;
    }
    whole + text
}

/// An answer's JSON, in which a bare `<word>` stands for a number.
fn shown(mut text: &str) -> Value {
    let mut whole = String::new();
    while let Some((before, name, after)) = word(text) {
        let quoted = before.ends_with('"');
        let mark = if quoted { "" } else { "\"" };
        whole += &format!("{before}{mark}<{name}>{mark}");
        text = after;
    }
    whole += text;
    serde_json::from_str(&whole).unwrap_or_else(|error| panic!("{error} in {whole}"))
}

/// Where an answer does not hold what is shown; words get their values.
fn differs(shown: &Value, answer: &Value, at: &str, words: &mut Words) -> Option<String> {
    let unlike = || Some(format!("{at} is {answer}, shown is {shown}"));
    match (shown, answer) {
        (Value::String(text), _) if matches!(word(text), Some(("", _, ""))) => {
            let name = text.trim_matches(['<', '>']);
            if answer.is_null() || answer == &json!("") {
                return unlike();
            }
            let known = words.entry(name.to_owned()).or_insert_with(|| answer.clone());
            (known != answer).then(|| format!("{at} is {answer}, <{name}> was {known}"))
        }
        (Value::Object(shown), Value::Object(answer)) => shown
            .iter()
            .find_map(|(name, value)| differs(value, answer.get(name).unwrap_or(&Value::Null), &format!("{at}.{name}"), words)),
        (Value::Array(shown), Value::Array(answer)) => {
            let (shown, open) = match shown.split_last() {
                Some((last, rest)) if last == "..." => (rest, true),
                _ => (shown.as_slice(), false),
            };
            if answer.len() < shown.len() || (!open && answer.len() > shown.len()) {
                return unlike();
            }
            (shown.iter().zip(answer).enumerate()).find_map(|(n, (shown, answer))| differs(shown, answer, &format!("{at}[{n}]"), words))
        }
        (shown, answer) => (shown != answer).then(unlike).flatten(),
    }
}

/// Asks what a block shows, and holds the answer against the next.
async fn differs_from_the_page(world: &World, asked: &Block, told: &Block, words: &mut Words) -> Option<String> {
    let (method, path) = asked.first.split_once(' ').expect("a method and a path");
    let mut request = world
        .http
        .request(method.parse().expect("a method"), format!("{}{}", world.server.base, filled(path, words)));
    for (name, value) in &asked.headers {
        request = request.header(name, filled(value, words));
    }
    if !asked.body.is_empty() {
        let body = filled(&asked.body, words);
        serde_json::from_str::<Value>(&body).unwrap_or_else(|error| panic!("line {}: the body is no JSON: {error}\n{body}", asked.line));
        request = request.body(body);
    }
    let mut answer = request.send().await.expect("an answer");
    let status = format!("HTTP/1.1 {}", answer.status());
    if status != told.first {
        let said = tokio::time::timeout(Duration::from_secs(5), answer.text()).await;
        return Some(format!("{status} was answered, shown is {}: {said:?}", told.first));
    }
    for (name, value) in &told.headers {
        let found = answer.headers().get(name).and_then(|value| value.to_str().ok()).unwrap_or_default();
        if found != value {
            return Some(format!("the header {name} is {found}, shown is {value}"));
        }
    }
    if answer.headers().get("content-type").is_some_and(|media| media == "text/event-stream") {
        let (wanted, mut heard) = (filled(&told.body, words), String::new());
        let listening = async {
            while !heard.contains(&wanted) {
                let bytes = answer.chunk().await.expect("the stream goes on").expect("the stream is open");
                heard += &String::from_utf8_lossy(&bytes);
            }
        };
        let in_time = tokio::time::timeout(Duration::from_secs(5), listening).await.is_ok();
        return (!in_time).then(|| format!("the stream told {heard:?}, shown is {wanted:?}"));
    }
    let answer: Value = answer.json().await.expect("JSON");
    differs(&shown(&told.body), &answer, "answer", words)
}

on_both!(every_example_of_the_page_is_answered_as_it_is_shown, async |world: &World| {
    let (county, officer) = (world.county(), world.officer().person);
    let mut words: Words = [
        ("email", json!(officer.email)),
        ("password", json!(officer.password)),
        ("piece", json!(county.set_1.cutter)),
        ("ram", json!(county.set_1.ram)),
        ("rig", json!(county.engine_1)),
        ("station", json!(county.station_1)),
    ]
    .into_iter()
    .map(|(name, value)| (name.to_owned(), value))
    .collect();
    let page = std::fs::read_to_string(PAGE).expect("the page is there");
    let blocks = blocks(&page);
    assert!(
        blocks.len() >= 30 && blocks.len() % 2 == 0,
        "{} blocks: each request has its answer",
        blocks.len()
    );
    for pair in blocks.chunks(2) {
        let [asked, told] = pair else { unreachable!("they are even") };
        assert!(
            told.first.starts_with("HTTP/1.1 "),
            "line {}: an answer should follow, and {} does",
            told.line,
            told.first
        );
        if asked.pending {
            let found = differs_from_the_page(world, asked, told, &mut words.clone()).await;
            assert!(found.is_some(), "line {}: it is answered as shown: take the mark `pending` away", asked.line);
        } else if let Some(found) = differs_from_the_page(world, asked, told, &mut words).await {
            panic!("openapi/sync.md, line {}: {}: {found}", asked.line, asked.first);
        }
    }
});

#[test]
fn an_answer_that_is_not_as_shown_is_seen() {
    let mut words = Words::new();
    let example = shown(r#"{ "a": <n>, "b": ["<x>", "..."], "c": { "d": 1 } }"#);
    let good = json!({ "a": 3, "b": ["p", "q"], "c": { "d": 1, "e": 2 }, "f": 0 });
    assert_eq!(differs(&example, &good, "answer", &mut words), None);
    assert_eq!(words["n"], json!(3));
    for bad in [
        json!({ "a": 4, "b": ["p"], "c": { "d": 1 } }),
        json!({ "a": 3, "b": [], "c": { "d": 1 } }),
        json!({ "a": 3, "b": ["q"], "c": { "d": 1 } }),
        json!({ "a": 3, "b": ["p"], "c": { "d": 2 } }),
        json!({ "a": 3, "b": ["p"], "c": {} }),
        json!({ "b": ["p"], "c": { "d": 1 } }),
    ] {
        assert!(differs(&example, &bad, "answer", &mut words.clone()).is_some(), "{bad}");
    }
}
