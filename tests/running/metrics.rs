//! `/metrics`, read by the parser of Prometheus' own client library.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use super::kit::{Running, free_address};
use crate::{
    outside::python,
    sync::live,
    world::{World, on_both, soon},
};

/// Reads metrics as Prometheus' library does: each sample's name with its labels in order, and its value; and each family's kind.
const READ: &str = "
import json, sys
from prometheus_client.parser import text_string_to_metric_families
samples, kinds = {}, {}
for family in text_string_to_metric_families(sys.stdin.read()):
    kinds[family.name] = family.type
    for sample in family.samples:
        key = sample.name + ''.join(' %s=%s' % pair for pair in sorted(sample.labels.items()))
        assert key not in samples, key
        samples[key] = sample.value
print(json.dumps([samples, kinds]))
";

pub type Samples = BTreeMap<String, f64>;

pub async fn told(world: &World, address: &str) -> (Samples, Value) {
    use std::io::Write as _;
    let answer = world.http.get(format!("http://{address}/metrics")).send().await.expect("an answer");
    assert_eq!(answer.headers()["content-type"], "text/plain; version=0.0.4; charset=utf-8");
    let text = answer.text().await.expect("text");
    let mut reader = python("python");
    reader
        .args(["-c", READ])
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped());
    let mut reader = reader.spawn().expect("Python starts");
    reader.stdin.take().expect("a pipe").write_all(text.as_bytes()).expect("it reads");
    let said = reader.wait_with_output().expect("it ends");
    assert!(said.status.success(), "{text}");
    serde_json::from_slice(&said.stdout).expect("JSON")
}

on_both!(metrics_are_told_at_an_address_of_their_own_as_prometheus_reads_them, async |world: &World| {
    let address = free_address();
    let service = Running::start(&world.location, &["--metrics", &address]);
    let crew = service.member(world, "crew");
    let stream = live::open(&crew).await;
    let answer = crew.take_out(world.county().set_1.ram, "bent").await.ok();
    crew.find("/v1/board").await;
    for _ in 0..2 {
        crew.get(&format!("/v1/pieces/{}", uuid::Uuid::now_v7())).await.refused(404, "not-found");
    }
    let nowhere = world.http.get(format!("{}/v1/pieces/no/such/thing", service.base));
    nowhere.send().await.expect("an answer");
    let (samples, kinds) = told(world, &address).await;
    let is = |key: &str, value: f64| assert_eq!(samples.get(key), Some(&value), "{key} in {samples:#?}");
    is("fullset_http_request_seconds_count method=GET route=/v1/pieces/{id} status=4xx", 2.0);
    is("fullset_http_request_seconds_count method=GET route=/v1/board status=2xx", 1.0);
    is("fullset_http_request_seconds_count method=GET route=elsewhere status=4xx", 1.0);
    is("fullset_http_request_seconds_bucket le=+Inf method=GET route=/v1/board status=2xx", 1.0);
    is("fullset_streams_open", 1.0);
    is("fullset_feeds_waiting", 0.0);
    is("fullset_http_requests_under_way", 0.0);
    is("fullset_http_body_bytes_under_way", 0.0);
    is(
        &format!("fullset_revision agency={}", world.agency().id),
        answer["revision"].as_f64().expect("a revision"),
    );
    is("fullset_database_up", 1.0);
    is("fullset_writer_up", 1.0);
    is("fullset_writer_waiting", 0.0);
    is("fullset_stopping", 0.0);
    for task in ["changes", "clock", "compaction", "keys", "photos"] {
        is(&format!("fullset_task_up task={task}"), 1.0);
        is(&format!("fullset_task_failures_total task={task}"), 0.0);
    }
    assert!(samples["fullset_writer_group_commands_count"] >= 1.0 && samples["process_resident_memory_bytes"] > 1e6);
    assert!(samples["fullset_pool_connections pool=readers state=idle"] >= 1.0, "{samples:#?}");
    assert_eq!(
        (&kinds["fullset_http_request_seconds"], &kinds["fullset_revision"]),
        (&json!("histogram"), &json!("gauge"))
    );
    let beside = world.http.get(format!("{}/metrics", service.base)).send().await.expect("an answer");
    let beside = beside.text().await.expect("text");
    assert!(!beside.contains("fullset_"), "the service's own address tells none: {beside}");

    drop(stream);
    soon("the stream is given up", async || {
        // Nobody notices before something is to be told.
        crew.take_out(world.county().set_1.ram, "bent").await.ok();
        (told(world, &address).await.0["fullset_streams_open"] == 0.0).then_some(())
    })
    .await;
    service.stop().await;
});

on_both!(what_is_refused_for_being_too_much_is_counted_by_its_reason, async |world: &World| {
    let address = free_address();
    let service = Running::start(&world.location, &["--metrics", &address]);
    let wrong = json!({ "email": world.crew().person.email, "password": "not the right words" });
    let mut last = 0;
    for _ in 0..40 {
        let tried = world
            .http
            .post(format!("{}/v1/session", service.base))
            .json(&wrong)
            .send()
            .await
            .expect("an answer");
        last = tried.status().as_u16();
        if last == 429 {
            break;
        }
    }
    assert_eq!(last, 429);
    let (samples, _) = told(world, &address).await;
    assert_eq!(
        samples.get("fullset_http_refused_total reason=slow-down status=429"),
        Some(&1.0),
        "{samples:#?}"
    );
    service.stop().await;
});
