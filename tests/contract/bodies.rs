//! Bad bodies: refused with a code from the table and the path of the field, and nothing is written.

use reqwest::{Method, header};
use serde_json::{Value, json};

use super::{Document, Operation, access::stage, decided_on};
use crate::world::{Client, Reply, World, on_both};

pub async fn send_raw(client: &Client, method: &Method, path: &str, headers: &[(&str, String)], media: &str, body: Vec<u8>) -> Reply {
    let shown = String::from_utf8_lossy(&body).chars().take(300).collect::<String>();
    let mut request = client.request(method.clone(), path).await.header(header::CONTENT_TYPE, media).body(body);
    for (name, value) in headers {
        request = request.header(*name, value);
    }
    Reply::of(format!("{method} {path} {shown}"), request).await
}

/// Every leaf of a body: its JSON pointer, and its value.
fn leaves(value: &Value, at: &str, found: &mut Vec<(String, Value)>) {
    match value {
        Value::Object(fields) if !fields.is_empty() => fields.iter().for_each(|(name, value)| leaves(value, &format!("{at}/{name}"), found)),
        Value::Array(items) if !items.is_empty() => items.iter().enumerate().for_each(|(n, value)| leaves(value, &format!("{at}/{n}"), found)),
        leaf => found.push((at.to_owned(), leaf.clone())),
    }
}

/// A JSON pointer's first field, as a problem names it.
fn field_of(pointer: &str) -> String {
    format!("body.{}", pointer.split('/').nth(1).expect("a leaf has a field"))
}

/// The body with one leaf replaced by raw JSON text.
fn with(body: &Value, pointer: &str, raw: &str) -> Vec<u8> {
    let mut body = body.clone();
    *body.pointer_mut(pointer).expect("a leaf") = json!("@@");
    body.to_string().replace("\"@@\"", raw).into_bytes()
}

/// Bodies that are wrong in one field, each with that field.
fn wrong_in_a_field(document: &Document, operation: &Operation, body: &Value) -> Vec<(String, Vec<u8>)> {
    let schema = document.resolve(operation.body.as_ref().expect("an act has a body"));
    let mut all = Vec::new();
    for needed in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
        if needed == "id" && operation.has_target() {
            continue;
        }
        let mut without = body.clone();
        assert!(
            without.as_object_mut().unwrap().remove(needed).is_some(),
            "{}: the sample lacks {needed}",
            operation.id
        );
        all.push(("body".to_owned(), without.to_string().into_bytes()));
    }
    let mut more = body.clone();
    more["zz"] = json!(1);
    all.push(("body".to_owned(), more.to_string().into_bytes()));
    let mut found = Vec::new();
    leaves(body, "", &mut found);
    for (pointer, leaf) in found.into_iter().filter(|(pointer, _)| !pointer.is_empty()) {
        let wrong: &[&str] = match &leaf {
            Value::String(text) if text.parse::<uuid::Uuid>().is_ok() => &["7", "\"x\"", "{\"zz\":1}", "true"],
            Value::String(_) => &["7", "{\"zz\":1}", "[]", "true"],
            Value::Number(_) => &["\"x\"", "{\"zz\":1}", "true"],
            Value::Bool(_) => &["\"x\"", "7", "{\"zz\":1}"],
            _ => &["7", "\"x\"", "true"],
        };
        all.extend(wrong.iter().map(|raw| (field_of(&pointer), with(body, &pointer, raw))));
    }
    all
}

/// Bodies that are no JSON of the right shape at all.
fn unreadable(body: &Value) -> Vec<Vec<u8>> {
    let whole = body.to_string().into_bytes();
    let mut cut = whole.clone();
    cut.truncate(whole.len() - 1);
    let mut doubled = whole.clone();
    doubled.extend(&whole);
    vec![cut, doubled, b"{".to_vec(), b"nonsense".to_vec(), b"\xff\xfe{}".to_vec(), b"<xml/>".to_vec()]
}

/// JSON of the wrong shape: refused, as whatever it is taken for.
const MISSHAPEN: [&str; 6] = ["[]", "7", "\"x\"", "null", "[{}]", "[[[[[[[[[[[[[[[[[[[["];

/// Words by which a reader of JSON tells what it was made of.
const OF_TYPES: [&str; 20] = [
    "u8",
    "u16",
    "u32",
    "u64",
    "usize",
    "i8",
    "i16",
    "i32",
    "i64",
    "f32",
    "f64",
    "struct",
    "enum",
    "variant",
    "tuple",
    "untagged",
    "newtype",
    "sequence",
    "borrowed",
    "deserialize",
];

/// Whether a refusal speaks to a programmer of this service alone.
pub fn speaks_of_types(problem: &Value) -> bool {
    let detail = problem["detail"].as_str().expect("a refusal says what to do");
    let mut words = detail.split(|sign: char| !sign.is_alphanumeric());
    words.any(|word| OF_TYPES.contains(&word)) || detail.contains(", expected ")
}

on_both!(
    a_body_that_is_wrong_in_a_field_is_refused_with_the_field_and_writes_nothing,
    async |world: &World| {
        let document = Document::of(world).await;
        let (codes, admin, stage) = (document.codes(), world.admin(), stage(world, world.agency()).await);
        let before = (admin.revision().await, world.journal_length());
        let (mut sent, mut wrong) = (0, Vec::new());
        for operation in document.acts() {
            let sample = stage.sample(&operation.id);
            let path = operation.at(sample.target);
            let decided = decided_on(&admin, operation, sample.target).await;
            for (field, body) in wrong_in_a_field(&document, operation, &sample.body) {
                let reply = send_raw(&admin, &operation.method, &path, &decided, "application/json", body).await;
                let asked = reply.asked.clone();
                let problem = operation.refusal(&codes, reply);
                let named = problem["field"].as_str().is_some_and(|named| named.starts_with(&field));
                if problem["code"] != "field-invalid" || !named || speaks_of_types(&problem) {
                    wrong.push(format!("{asked}: {field} is at fault, told was {problem}"));
                }
                sent += 1;
            }
            assert_eq!(
                (admin.revision().await, world.journal_length()),
                before,
                "{}: something was written",
                operation.id
            );
        }
        assert!(sent > 500, "{sent}");
        assert!(wrong.is_empty(), "{} of {sent}: {wrong:#?}", wrong.len());
    }
);

on_both!(a_body_that_is_not_json_is_refused_and_writes_nothing, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin, stage) = (document.codes(), world.admin(), stage(world, world.agency()).await);
    let before = (admin.revision().await, world.journal_length());
    for operation in document.acts() {
        let sample = stage.sample(&operation.id);
        let path = operation.at(sample.target);
        let decided = decided_on(&admin, operation, sample.target).await;
        for body in unreadable(&sample.body) {
            let media = if body.starts_with(b"<") { "application/xml" } else { "application/json" };
            let reply = send_raw(&admin, &operation.method, &path, &decided, media, body).await;
            let asked = reply.asked.clone();
            assert_eq!(operation.refusal(&codes, reply)["code"], "body-unreadable", "{asked}");
        }
        let deep = ["[".repeat(5000), "{\"a\":".repeat(5000)].map(String::into_bytes);
        let crooked = [b"{\"id\":\"\xff\"}".to_vec(), b"{\"\xff\":1}".to_vec()];
        for body in MISSHAPEN.map(|text| text.as_bytes().to_vec()).into_iter().chain(deep).chain(crooked) {
            let reply = send_raw(&admin, &operation.method, &path, &decided, "application/json", body).await;
            operation.refusal(&codes, reply);
        }
        let large = format!("{{\"zz\":\"{}\"}}", "x".repeat(2 * 1024 * 1024));
        let reply = send_raw(&admin, &operation.method, &path, &decided, "application/json", large.into_bytes()).await;
        assert_eq!(operation.refusal(&codes, reply)["code"], "body-too-large", "{}", operation.id);
        assert_eq!(
            (admin.revision().await, world.journal_length()),
            before,
            "{}: something was written",
            operation.id
        );
    }
});

on_both!(a_number_beyond_all_measure_is_refused_or_kept_whole, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin, stage) = (document.codes(), world.admin(), stage(world, world.agency()).await);
    let mut sent = 0;
    for operation in document.acts() {
        let mut found = Vec::new();
        leaves(&stage.sample(&operation.id).body, "", &mut found);
        for (pointer, _) in found.into_iter().filter(|(_, leaf)| leaf.is_number()) {
            for raw in ["1e400", "-1e400", "NaN", "Infinity", "99999999999999999999999999", "1e308", "-1"] {
                let sample = stage.sample(&operation.id);
                let decided = decided_on(&admin, operation, sample.target).await;
                let body = with(&sample.body, &pointer, raw);
                let reply = send_raw(&admin, &operation.method, &operation.at(sample.target), &decided, "application/json", body).await;
                assert!(reply.status < 500, "{}: {} {}", reply.asked, reply.status, reply.text);
                sent += 1;
                if !reply.done() {
                    let asked = reply.asked.clone();
                    let code = operation.refusal(&codes, reply)["code"].clone();
                    assert!(
                        ["field-invalid", "body-unreadable", "rule-broken", "already-there", "stale"]
                            .iter()
                            .any(|known| code == *known),
                        "{asked}: {code}"
                    );
                    continue;
                }
                assert!(
                    ["99999999999999999999999999", "1e308", "-1"].contains(&raw),
                    "{}: this is no number",
                    reply.asked
                );
                let id = reply.json["record"]["id"].as_str().expect("an id").to_owned();
                assert_eq!(admin.find(&format!("{}/{id}", operation.list())).await, reply.json["record"], "{}", reply.asked);
            }
        }
    }
    admin.find("/v1/board").await;
    assert!(sent > 30, "{sent}");
});

on_both!(a_text_that_no_database_keeps_or_no_person_reads_is_refused, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin, stage) = (document.codes(), world.admin(), stage(world, world.agency()).await);
    let before = (admin.revision().await, world.journal_length());
    let long = json!("x".repeat(20_000)).to_string();
    let mut kept = Vec::new();
    for operation in document.acts() {
        let mut found = Vec::new();
        leaves(&stage.sample(&operation.id).body, "", &mut found);
        for (pointer, _) in found.into_iter().filter(|(pointer, leaf)| leaf.is_string() && pointer != "/password") {
            for raw in ["\"\\u0000\"", "\"a\\u0000b\"", "\"\\ud800\"", long.as_str()] {
                let sample = stage.sample(&operation.id);
                let decided = decided_on(&admin, operation, sample.target).await;
                let body = with(&sample.body, &pointer, raw);
                let reply = send_raw(&admin, &operation.method, &operation.at(sample.target), &decided, "application/json", body).await;
                assert!(reply.status < 500, "{}: {} {}", reply.asked, reply.status, reply.text);
                if reply.done() {
                    kept.push(format!("{} {pointer} {}", operation.id, raw.chars().take(12).collect::<String>()));
                } else {
                    operation.refusal(&codes, reply);
                }
            }
        }
    }
    assert!(kept.is_empty(), "kept as they were: {kept:#?}");
    assert_eq!((admin.revision().await, world.journal_length()), before, "something was written");
});

on_both!(a_bad_batch_is_refused_whole, async |world: &World| {
    let document = Document::of(world).await;
    let codes = document.codes();
    let operation = document.operations.iter().find(|operation| operation.id == "send_commands").unwrap();
    let admin = world.admin();
    let before = (admin.revision().await, world.journal_length());
    let good = json!({ "id": uuid::Uuid::now_v7(), "kind": "district.add", "body": { "id": uuid::Uuid::now_v7(), "name": "West" } });
    let at = world.clock.now();
    let mut unknown = good.clone();
    unknown["zz"] = json!(1);
    let mut nameless = good.clone();
    nameless.as_object_mut().unwrap().remove("kind");
    for (body, field) in [
        (json!({ "commands": [good.clone()] }), "body"),
        (json!({ "sent_at": at }), "body"),
        (json!({ "sent_at": "yesterday", "commands": [good.clone()] }), "body.sent_at"),
        (json!({ "sent_at": at, "commands": {} }), "body.commands"),
        (json!({ "sent_at": at, "commands": [good.clone(), 7] }), "body.commands[1]"),
        (json!({ "sent_at": at, "commands": [good.clone(), unknown] }), "body.commands[1]"),
        (json!({ "sent_at": at, "commands": [good.clone(), nameless] }), "body.commands[1]"),
        (
            json!({ "sent_at": at, "commands": [{ "id": "x", "kind": "district.add", "body": {} }] }),
            "body.commands[0].id",
        ),
    ] {
        let reply = admin.post("/v1/commands", body).await;
        let asked = reply.asked.clone();
        let problem = operation.refusal(&codes, reply);
        assert!(problem["field"].as_str().is_some_and(|named| named.starts_with(field)), "{asked}: {problem}");
    }
    let large = vec![b' '; 3 * 1024 * 1024];
    for body in unreadable(&json!({ "sent_at": at, "commands": [good] })).into_iter().chain([large]) {
        let reply = send_raw(&admin, &Method::POST, "/v1/commands", &[], "application/json", body).await;
        operation.refusal(&codes, reply);
    }
    assert_eq!((admin.revision().await, world.journal_length()), before);
});

on_both!(a_bad_sign_in_is_refused_with_its_field, async |world: &World| {
    let document = Document::of(world).await;
    let codes = document.codes();
    for (path, body, field) in [
        ("/v1/session", json!({}), "body"),
        ("/v1/session", json!({ "email": "a@b.example" }), "body"),
        ("/v1/session", json!({ "email": 7, "password": "x" }), "body.email"),
        ("/v1/session", json!({ "email": "a@b.example", "password": "x", "zz": 1 }), "body"),
        ("/v1/session/refresh", json!({ "refresh_token": 7 }), "body.refresh_token"),
        ("/v1/session/refresh", json!([]), "body"),
        ("/v1/enrolments/redeem", json!({ "code": "7KQ4-M2XP" }), "body"),
        ("/v1/enrolments/redeem", json!({ "code": 7, "device": {} }), "body.code"),
        ("/v1/acknowledgements", json!({ "code": "x" }), "body"),
        ("/v1/acknowledgements", json!({ "code": "x", "by": "" }), "body.by"),
        ("/v1/acknowledgements", json!({ "code": 7, "by": "Desk 3" }), "body.code"),
        (
            "/v1/enrolments/redeem",
            json!({ "code": "7KQ4-M2XP", "device": { "id": "x" } }),
            "body.device.id",
        ),
    ] {
        let operation = document
            .operations
            .iter()
            .find(|operation| operation.path == path && operation.method == "POST")
            .unwrap();
        let large = world.http.post(format!("{}{path}", world.server.base)).body(vec![b' '; 3 * 1024 * 1024]);
        assert_eq!(
            operation.refusal(&codes, Reply::of(format!("{path} large"), large).await)["code"],
            "body-too-large"
        );
        let request = world.http.post(format!("{}{path}", world.server.base)).json(&body);
        let problem = operation.refusal(&codes, Reply::of(format!("{path} {body}"), request).await);
        assert!(
            problem["field"].as_str().is_some_and(|named| named.starts_with(field)),
            "{path} {body}: {problem}"
        );
    }
});
