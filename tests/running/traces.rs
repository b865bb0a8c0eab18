//! Traces: spans arrive at a collector, and one that is slow, down or refuses costs spans and nothing else.

use std::time::{Duration, Instant};

use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;
use wiremock::{
    Mock, MockServer, ResponseTemplate,
    matchers::{header, method, path},
};

use super::{
    kit::{Running, free_address},
    metrics,
};
use crate::world::{Client, Engine, World, on, on_both, soon};

const TRACE: &str = "4bf92f3577b34da6a3ce929d0e0e4736";
const CALLER: &str = "00f067aa0ba902b7";

async fn collector(answer: ResponseTemplate) -> MockServer {
    let server = MockServer::start().await;
    let taken = Mock::given(method("POST"))
        .and(path("/v1/traces"))
        .and(header("content-type", "application/json"));
    taken.respond_with(answer).mount(&server).await;
    server
}

/// The spans that have arrived.
async fn spans(collector: &MockServer) -> Vec<Value> {
    let requests = collector.received_requests().await.expect("they are kept");
    let all = requests.iter().flat_map(|request| {
        let body: Value = serde_json::from_slice(&request.body).expect("JSON");
        body["resourceSpans"][0]["scopeSpans"][0]["spans"].as_array().expect("spans").clone()
    });
    all.collect()
}

async fn dropped(world: &World, address: &str) -> f64 {
    metrics::told(world, address).await.0["fullset_spans_dropped_total"]
}

async fn ask(client: &Client, method: Method, path: &str, flags: &str, body: Option<Value>) -> u16 {
    let request = client.request(method, path).await.header("traceparent", format!("00-{TRACE}-{CALLER}-{flags}"));
    let request = match body {
        Some(body) => request.json(&body),
        None => request,
    };
    request.send().await.expect("an answer").status().as_u16()
}

on_both!(
    a_request_and_the_group_that_it_waited_for_are_spans_of_the_callers_trace,
    async |world: &World| {
        let collector = collector(ResponseTemplate::new(200).set_body_json(json!({}))).await;
        let address = free_address();
        let service = Running::start(&world.location, &["--otlp-endpoint", &collector.uri(), "--metrics", &address]);
        let (crew, pump) = (service.member(world, "crew"), world.county().set_1.pump);
        crew.access().await;
        let report = json!({ "id": Uuid::now_v7(), "piece": pump, "what": "seeps at the valve", "class": "deformation", "severity": "usable" });
        assert_eq!(ask(&crew, Method::POST, "/v1/defects", "01", Some(report)).await, 201);
        assert_eq!(ask(&crew, Method::GET, &format!("/v1/pieces/{}", Uuid::now_v7()), "01", None).await, 404);
        // Whoever calls keeps no trace of this one.
        assert_eq!(ask(&crew, Method::GET, "/v1/rigs", "00", None).await, 200);
        assert_eq!(crew.get("/v1/stations").await.status, 200);
        let all = soon("four spans", async || {
            let all = spans(&collector).await;
            all.iter().any(|span| span["name"] == "GET /v1/stations").then_some(all)
        })
        .await;
        let named = |name: &str| all.iter().find(|span| span["name"] == name).unwrap_or_else(|| panic!("no {name} in {all:#?}"));
        let told = |span: &Value, key: &str| {
            let found = span["attributes"].as_array().expect("attributes").iter().find(|one| one["key"] == key);
            found.map_or(Value::Null, |one| one["value"].clone())
        };
        let post = named("POST /v1/defects");
        assert_eq!(
            (&post["traceId"], &post["parentSpanId"], &post["kind"]),
            (&json!(TRACE), &json!(CALLER), &json!(2))
        );
        assert_eq!(told(post, "http.response.status_code"), json!({ "intValue": "201" }));
        assert_eq!(told(post, "http.route"), json!({ "stringValue": "/v1/defects" }));
        let number = |span: &Value, key: &str| -> u64 { span[key].as_str().expect("text").parse().expect("a number") };
        let group = all
            .iter()
            .find(|span| span["name"] == "writer group" && span["traceId"] == TRACE)
            .expect("the group");
        assert_eq!((&group["parentSpanId"], &group["kind"]), (&post["spanId"], &json!(1)));
        assert_eq!(told(group, "fullset.commands"), json!({ "intValue": "1" }));
        assert!(number(post, "startTimeUnixNano") <= number(group, "startTimeUnixNano"));
        assert!(number(group, "startTimeUnixNano") <= number(group, "endTimeUnixNano") && group["spanId"] != post["spanId"]);
        let missing = named("GET /v1/pieces/{id}");
        assert_eq!(told(missing, "error.type"), json!({ "stringValue": "not-found" }));
        assert!(missing["status"].is_null(), "what a caller got wrong is no failure of the service: {missing}");
        let own = named("GET /v1/stations");
        assert!(own["traceId"] != TRACE && own["traceId"].as_str().expect("an id").len() == 32 && own["parentSpanId"].is_null());
        assert!(all.iter().all(|span| span["name"] != "GET /v1/rigs"));
        let text = serde_json::to_string(&all).expect("JSON");
        let (id, piece) = (crew.person.id.to_string(), pump.to_string());
        for secret in [crew.person.email.as_str(), &crew.person.name, &id, &piece, "127.0.0.1", "seeps"] {
            assert!(!text.contains(secret), "{secret} in {text}");
        }
        soon("all are counted", async || {
            let samples = metrics::told(world, &address).await.0;
            (samples["fullset_spans_sent_total"] >= 4.0 && samples["fullset_spans_dropped_total"] == 0.0).then_some(())
        })
        .await;
        service.stop().await;
    }
);

/// Asks for more than the queue of spans holds, and writes; answers how long that took.
async fn asks(world: &World, service: &Running) -> Duration {
    let crew = service.member(world, "crew");
    crew.access().await;
    let began = Instant::now();
    for _ in 0..50 {
        let asked = (0..100).map(|_| world.http.get(format!("{}/livez", service.base)).send());
        for answer in futures_util::future::join_all(asked).await {
            assert_eq!(answer.expect("an answer").status(), 200);
        }
    }
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    began.elapsed()
}

#[test]
fn a_collector_that_is_down_slow_or_refuses_changes_no_answer() {
    on(Engine::Sqlite, async |world: &World| {
        let slow = collector(ResponseTemplate::new(200).set_delay(Duration::from_secs(600))).await;
        let refuses = collector(ResponseTemplate::new(400)).await;
        let some = collector(ResponseTemplate::new(200).set_body_json(json!({ "partialSuccess": { "rejectedSpans": "2" } }))).await;
        let down = format!("http://{}", free_address());
        let untraced = Running::start(&world.location, &[]);
        let alone = asks(world, &untraced).await;
        untraced.stop().await;
        for (endpoint, drops) in [(down, true), (refuses.uri(), true), (some.uri(), true), (slow.uri(), false)] {
            let address = free_address();
            let mut service = Running::start(&world.location, &["--otlp-endpoint", &endpoint, "--metrics", &address]);
            let took = asks(world, &service).await;
            // A request that waited for the collector would take ten seconds.
            assert!(took < alone * 3 + Duration::from_secs(5), "{endpoint}: {took:?}, and {alone:?} without traces");
            if drops {
                soon("spans are dropped", async || (dropped(world, &address).await > 0.0).then_some(())).await;
            }
            service.signal("-TERM");
            let (status, took) = service.ends().await;
            assert!(status.success() && took < Duration::from_secs(8), "{endpoint}: {status} after {took:?}");
        }
        assert!(!slow.received_requests().await.expect("kept").is_empty(), "it was asked");
    });
}

#[test]
fn a_collector_comes_back_and_takes_what_still_waits() {
    on(Engine::Sqlite, async |world: &World| {
        let collector = MockServer::start().await;
        let busy = Mock::given(method("POST")).respond_with(ResponseTemplate::new(503).insert_header("retry-after", "1"));
        busy.up_to_n_times(1).mount(&collector).await;
        Mock::given(method("POST")).respond_with(ResponseTemplate::new(200)).mount(&collector).await;
        let address = free_address();
        let service = Running::start(&world.location, &["--otlp-endpoint", &collector.uri(), "--metrics", &address]);
        world.http.get(format!("{}/livez", service.base)).send().await.expect("an answer");
        soon("it is sent again", async || {
            (collector.received_requests().await.expect("kept").len() >= 2).then_some(())
        })
        .await;
        let requests = collector.received_requests().await.expect("kept");
        assert_eq!(requests[0].body, requests[1].body, "the same spans");
        soon("it is counted", async || {
            let samples = metrics::told(world, &address).await.0;
            (samples["fullset_spans_sent_total"] >= 1.0 && samples["fullset_spans_dropped_total"] == 0.0).then_some(())
        })
        .await;
        // The last ones go with the service.
        world.http.get(format!("{}/readyz", service.base)).send().await.expect("an answer");
        service.stop().await;
        assert!(spans(&collector).await.iter().any(|span| span["name"] == "GET /readyz"));
    });
}
