//! Addresses and queries that make no sense are refused in the same form as everything else, and never break the service.

use serde_json::json;
use uuid::Uuid;

use super::{Document, access::stage, bodies::speaks_of_types};
use crate::world::{World, on_both};

const GARBAGE: [&str; 9] = [
    "x",
    "%00",
    "..%2f..%2fetc",
    "'%20OR%201=1--",
    "%F0%9F%9A%92",
    "00000000-0000-0000-0000-000000000000",
    "%ff%fe",
    "-1",
    "018f0000-0000-7000-8000-00000000000g",
];

on_both!(a_path_with_a_garbage_id_is_not_found, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin, stage) = (document.codes(), world.admin(), stage(world, world.agency()).await);
    let before = (admin.revision().await, world.journal_length());
    let long = "7".repeat(3000);
    for operation in document.operations.iter().filter(|operation| operation.has_target()) {
        for id in GARBAGE.into_iter().chain([long.as_str()]) {
            let path = operation.path.replace("{id}", id);
            let body = operation.is_act().then(|| stage.sample(&operation.id).body);
            let reply = admin
                .ask(operation.method.clone(), &path, body.as_ref(), &[("If-Match", "\"1\"".to_owned())])
                .await;
            assert_eq!(reply.status, 404, "{}: {}", reply.asked, reply.text);
            operation.refusal(&codes, reply);
        }
    }
    assert_eq!((admin.revision().await, world.journal_length()), before);
});

on_both!(a_query_that_cannot_be_used_is_refused, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin) = (document.codes(), world.admin());
    let mut asked = 0;
    for operation in document.operations.iter().filter(|operation| operation.method == "GET") {
        if !operation.parameters.iter().any(|parameter| parameter.place == "query") {
            continue;
        }
        let path = operation.at(Some(world.county().engine_1));
        let path = if operation.has_target() {
            // Where the ground has none of the kind, any id will do: the query is read before the record is looked for.
            first(world, operation.list())
                .await
                .map_or_else(|| path.clone(), |id| path.replace(&world.county().engine_1.to_string(), &id))
        } else {
            path
        };
        let query = |pair: String| format!("{path}?{pair}");
        for parameter in operation.parameters.iter().filter(|parameter| parameter.place == "query") {
            let wrong: &[&str] = match (parameter.name.as_str(), parameter.schema["format"].as_str()) {
                ("limit", _) => &["0", "-1", "x", "1e9", "99999999999999999999", "2001", "1.5", "%00"],
                // The last is "a", NUL, "b", the break and an id, as a page's key would be.
                ("after", _) => &["x", "%00", "AAAA", "eAF4", "YQBiATAxOGYwMDAwLTAwMDAtNzAwMC04MDAwLTAwMDAwMDAwMDAwMA"],
                (_, Some("date-time")) => &["x", "%00", "-4800-01-01T00:00:00Z", "0000-01-01T00:00:00Z", "%2B10000-01-01T00:00:00Z"],
                ("wait", _) => &["-1", "61", "x", "1.5", "%00"],
                ("scope", _) => &["x", "%00", "everything"],
                (_, Some("uuid")) => &["x", "%00", "1"],
                _ => continue,
            };
            for value in wrong {
                let reply = admin.get(&query(format!("{}={value}", parameter.name))).await;
                assert_eq!(reply.status, 400, "{}: {} {}", reply.asked, reply.status, reply.text);
                let sent = reply.asked.clone();
                let problem = operation.refusal(&codes, reply);
                assert_eq!(problem["code"], "query-invalid");
                assert_eq!(problem["field"], parameter.name, "{sent}: {problem}");
                assert!(!speaks_of_types(&problem), "{sent}: {problem}");
                asked += 1;
            }
        }
        let reply = admin.get(&query("nonsense=1".into())).await;
        assert_eq!(
            reply.status, 400,
            "{}: an unknown parameter is not passed over in silence: {}",
            reply.asked, reply.status
        );
        operation.refusal(&codes, reply);
    }
    assert!(asked > 100, "{asked}");
});

async fn first(world: &World, list: &str) -> Option<String> {
    world.admin().find(&format!("{list}?limit=1")).await["items"][0]["id"]
        .as_str()
        .map(str::to_owned)
}

on_both!(a_text_query_finds_or_is_refused_whatever_it_holds, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin) = (document.codes(), world.admin());
    let mut broken = Vec::new();
    for operation in document
        .operations
        .iter()
        .filter(|operation| operation.id.starts_with("list_") && !operation.has_target())
    {
        for name in ["q", "state"]
            .into_iter()
            .filter(|name| operation.parameters.iter().any(|parameter| parameter.name == *name))
        {
            for text in [
                "%00",
                "a%00b",
                "%25%5F%5C",
                "%5C",
                "'%3B%20DROP%20TABLE%20record",
                "%F0%9F%9A%92",
                &"x".repeat(4000),
            ] {
                let reply = admin.get(&format!("{}?{name}={text}", operation.path)).await;
                if reply.done() {
                    assert_eq!(reply.json["items"], json!([]), "{}", reply.asked);
                } else if reply.status >= 500 {
                    broken.push(format!("{}: {}", reply.asked, reply.status));
                } else {
                    operation.refusal(&codes, reply);
                }
            }
        }
    }
    assert!(broken.is_empty(), "{broken:#?}");
});

on_both!(an_address_that_is_none_is_a_problem_too, async |world: &World| {
    let admin = world.admin();
    let codes = Document::of(world).await.codes();
    for (method, path) in [
        ("GET", "/v1/nothing"),
        ("POST", "/v1/board"),
        ("DELETE", "/v1/pieces"),
        ("PUT", "/v1/commands"),
        ("PATCH", "/v1/pieces"),
        ("GET", "/v1/"),
    ] {
        let reply = admin.ask(method.parse().unwrap(), path, None, &[]).await;
        assert!([404, 405].contains(&reply.status), "{}: {}", reply.asked, reply.status);
        let problem = reply.problem();
        assert!(codes.contains_key(problem["code"].as_str().unwrap()));
    }
});

on_both!(a_header_that_cannot_be_used_is_refused_and_named, async |world: &World| {
    let (admin, county) = (world.admin(), world.county());
    let before = admin.revision().await;
    let path = format!("/v1/pieces/{}/take-out", county.set_1.ram);
    for (name, value) in [
        ("Idempotency-Key", "17"),
        ("Idempotency-Key", ""),
        ("If-Match", "W/\"3\""),
        ("If-Match", "*"),
        ("If-Match", "\"x\""),
    ] {
        let reply = admin
            .ask(reqwest::Method::POST, &path, Some(&json!({ "reason": "bent" })), &[(name, value.to_owned())])
            .await;
        assert_eq!(reply.refused(400, "body-unreadable")["field"], name, "{value}");
    }
    assert_eq!(admin.revision().await, before);
});

on_both!(an_id_in_the_body_that_is_not_the_one_in_the_path_is_refused, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin, stage) = (document.codes(), world.admin(), stage(world, world.agency()).await);
    let before = admin.revision().await;
    for operation in document.acts().filter(|operation| operation.has_target()) {
        let sample = stage.sample(&operation.id);
        for id in [json!(Uuid::now_v7()), json!("x"), json!(7), json!(null)] {
            let mut body = sample.body.clone();
            body["id"] = id;
            let reply = admin
                .ask(
                    operation.method.clone(),
                    &operation.at(sample.target),
                    Some(&body),
                    &[("If-Match", "\"1\"".to_owned())],
                )
                .await;
            let problem = operation.refusal(&codes, reply);
            assert_eq!(
                (&problem["code"], &problem["field"]),
                (&json!("id-mismatch"), &json!("body.id")),
                "{}",
                operation.id
            );
        }
    }
    assert_eq!(admin.revision().await, before);
});
