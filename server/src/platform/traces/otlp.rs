//! Spans as OTLP has them in JSON (OpenTelemetry Protocol 1.x, "JSON Protobuf Encoding"): ids as hexadecimal digits, whole numbers of 64
//! bits as text, words of lists as their numbers.

use serde_json::{Value, json};

use super::{Attribute, Context, Span, SpanKind};
use crate::platform::hex;

/// The version that is told.
const VERSION: &str = env!("CARGO_PKG_VERSION");

/// A request to a collector. `instance` tells one process from the others.
pub(super) fn request(instance: &str, spans: &[Span]) -> Value {
    let of = [
        ("service.name", Attribute::Word("fullset".to_owned())),
        ("service.version", Attribute::Word(VERSION.to_owned())),
        ("service.instance.id", Attribute::Word(instance.to_owned())),
    ];
    json!({
        "resourceSpans": [{
            "resource": { "attributes": of.iter().map(attribute).collect::<Vec<_>>() },
            "scopeSpans": [{
                "scope": { "name": "fullset", "version": VERSION },
                "spans": spans.iter().map(span).collect::<Vec<_>>(),
            }],
        }],
    })
}

fn attribute((key, value): &(&'static str, Attribute)) -> Value {
    let value = match value {
        Attribute::Word(word) => json!({ "stringValue": word }),
        Attribute::Number(number) => json!({ "intValue": number.to_string() }),
    };
    json!({ "key": key, "value": value })
}

fn ids(context: &Context) -> [(&'static str, Value); 2] {
    [
        ("traceId", context.trace_digits().into()),
        ("spanId", hex::digits(&context.span.to_be_bytes()).into()),
    ]
}

fn object(fields: impl IntoIterator<Item = (&'static str, Value)>) -> Value {
    fields.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

fn span(span: &Span) -> Value {
    let kind = match span.kind {
        SpanKind::Internal => 1,
        SpanKind::Server => 2,
    };
    let always = [
        ("name", span.name.as_str().into()),
        ("kind", kind.into()),
        ("startTimeUnixNano", span.began.to_string().into()),
        ("endTimeUnixNano", span.ended.to_string().into()),
        ("attributes", span.attributes.iter().map(attribute).collect()),
    ];
    let parent = span.parent.map(|parent| ("parentSpanId", hex::digits(&parent.to_be_bytes()).into()));
    let links = (!span.links.is_empty()).then(|| ("links", span.links.iter().map(|link| object(ids(link))).collect()));
    let status = span.failed.then(|| ("status", json!({ "code": 2 })));
    object(ids(&span.context).into_iter().chain(always).chain(parent).chain(links).chain(status))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By the example of a trace in JSON of the OTLP specification's repository (`examples/trace.json`; from memory).
    #[test]
    fn a_span_is_written_as_the_protocol_says() {
        let context = Context {
            trace: 0x5b8e_fff7_9803_8103_d269_b633_813f_c60c,
            span: 0xeee1_9b7e_c3c1_b174,
        };
        let other = Context { trace: 1, span: 0x10 };
        let done = Span {
            context,
            parent: Some(0xeee1_9b7e_c3c1_b173),
            links: vec![other],
            name: "GET /v1/pieces/{id}".into(),
            kind: SpanKind::Server,
            began: 1_544_712_660_000_000_000,
            ended: 1_544_712_661_000_000_000,
            attributes: vec![
                ("http.request.method", Attribute::Word("GET".into())),
                ("http.response.status_code", Attribute::Number(500)),
            ],
            failed: true,
        };
        let sent = request("one", &[done]);
        assert_eq!(
            sent["resourceSpans"][0]["scopeSpans"][0]["spans"],
            json!([{
                "traceId": "5b8efff798038103d269b633813fc60c",
                "spanId": "eee19b7ec3c1b174",
                "parentSpanId": "eee19b7ec3c1b173",
                "name": "GET /v1/pieces/{id}",
                "kind": 2,
                "startTimeUnixNano": "1544712660000000000",
                "endTimeUnixNano": "1544712661000000000",
                "attributes": [
                    { "key": "http.request.method", "value": { "stringValue": "GET" } },
                    { "key": "http.response.status_code", "value": { "intValue": "500" } },
                ],
                "links": [{ "traceId": "00000000000000000000000000000001", "spanId": "0000000000000010" }],
                "status": { "code": 2 },
            }])
        );
        let resource = &sent["resourceSpans"][0]["resource"]["attributes"];
        assert_eq!(resource[0], json!({ "key": "service.name", "value": { "stringValue": "fullset" } }));
    }
}
