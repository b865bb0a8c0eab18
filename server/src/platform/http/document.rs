//! The OpenAPI document as it is served: the operations and schemas of the routes, and what holds for all of them.

use std::collections::HashMap;

use serde_json::{Value, json};
use utoipa::openapi::{
    ComponentsBuilder, InfoBuilder, LicenseBuilder, OpenApiBuilder, Paths, ServerBuilder,
    security::{ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityScheme},
    tag::TagBuilder,
};

use super::{Schemas, unions};
use crate::platform::{
    door::Registry,
    error::{Fault, ProblemCode},
};

/// What the document says beside the routes.
#[derive(Debug, Clone, Copy)]
pub struct Preface {
    /// Each tag with a sentence.
    pub tags: &'static [(&'static str, &'static str)],
    /// JSON: by operation id an example of `request` and of `answer` with its `status`.
    pub examples: &'static str,
}

/// Writes the document.
pub(super) fn write(preface: Preface, paths: Paths, mut schemas: Schemas, registry: &Registry) -> Result<Value, Fault> {
    unions::bodies(registry, &mut schemas);
    let mut components = ComponentsBuilder::new()
        .security_scheme(
            "bearer",
            SecurityScheme::Http(
                HttpBuilder::new()
                    .scheme(HttpAuthScheme::Bearer)
                    .bearer_format("JWT")
                    .description(Some("The `access_token` of `POST /v1/session`, for a quarter of an hour"))
                    .build(),
            ),
        )
        .security_scheme(
            "browser",
            SecurityScheme::ApiKey(ApiKey::Cookie(ApiKeyValue::with_description(
                super::cookies::ACCESS_COOKIE,
                "Set by `POST /v1/session` with `browser`; over TLS its name begins with `__Host-`. A browser writes only from the service's own \
                 pages",
            ))),
        );
    let mut named = HashMap::new();
    for (name, schema) in schemas {
        let before = named.insert(name.clone(), schema.clone());
        debug_assert!(
            before.is_none_or(|before| before == schema),
            "two types of the document are called {name}: rename one of them"
        );
        components = components.schema(name, schema);
    }
    let tags = preface
        .tags
        .iter()
        .map(|(name, words)| TagBuilder::new().name(*name).description(Some(*words)).build());
    let license = LicenseBuilder::new().name("Apache-2.0").identifier(Some("Apache-2.0")).build();
    let info = InfoBuilder::new()
        .title("Fullset")
        .version(env!("CARGO_PKG_VERSION"))
        .description(Some(description(registry)))
        .license(Some(license));
    let document = OpenApiBuilder::new()
        .info(info)
        .servers(Some([ServerBuilder::new()
            .url("/")
            .description(Some("The service that serves this document"))
            .build()]))
        .tags(Some(tags.collect::<Vec<_>>()))
        .paths(paths)
        .components(Some(components.build()))
        .build();
    let mut document = serde_json::to_value(document)?;
    if let Some(schemas) = document.pointer_mut("/components/schemas").and_then(Value::as_object_mut) {
        unions::name_variants(schemas);
        unions::name_records(registry, schemas);
        unions::name_commands(registry, schemas);
    }
    unions::let_null_be(&mut document);
    add_shared_headers(&mut document);
    show(&mut document, &serde_json::from_str(preface.examples)?);
    Ok(document)
}

/// What holds for every endpoint.
fn description(registry: &Registry) -> String {
    let codes: Vec<String> = ProblemCode::ALL
        .iter()
        .map(|code| format!("| `{code}` | {} | {} |", code.status(), code.title()))
        .collect();
    let kinds: Vec<String> = registry.kinds().map(|(name, kind)| format!("| `{name}` | {} |", kind.summary)).collect();
    format!(
        "Fullset keeps one true picture of every hydraulic rescue tool of a fire agency.\n\n\
         Capability is a planning aid: it is no dispatch order and does not replace the officer's own check. \
         The maker's manual and local orders come before anything answered here.\n\n\
         Every write is a command. It has an address of its own, or goes with others to `POST /v1/commands`; what it does is the same.\n\n\
         Instants are answered as RFC 3339 says, always in UTC with `Z` and six digits after the second, such as \
         `2026-11-25T14:00:00.000000Z`: the order of texts is that of instants. Days are `YYYY-MM-DD`, in the agency's time zone. Ids are UUIDs; those of new records are of version 7 \
         and made by the client.\n\n\
         A later server may answer fields, words and record kinds that are not in this document: a client passes over fields, keeps \
         and shows words, and takes an unknown problem code by its status. In requests, fields that are not known are refused.\n\n\
         ## Error codes\n\n| code | status | meaning |\n| --- | --- | --- |\n{}\n\n\
         ## Command kinds\n\n| kind | what it does |\n| --- | --- |\n{}\n",
        codes.join("\n"),
        kinds.join("\n")
    )
}

/// Headers that many answers have: the id of the request, the tag of a 304, and that a preference was followed.
fn add_shared_headers(document: &mut Value) {
    let header = |words: &str| json!({ "description": words, "schema": { "type": "string" } });
    if let Some(components) = document.get_mut("components").and_then(Value::as_object_mut) {
        components.insert(
            "headers".into(),
            json!({
                "RequestId": header("The id of the request: the one that it came with, or a new one. The log has it too"),
                "Unchanged": header("The tag of what the caller has already"),
                "PreferenceApplied": header("`return=minimal`, where that was preferred"),
            }),
        );
    }
    let paths = document.get_mut("paths").and_then(Value::as_object_mut);
    let operations = paths.into_iter().flat_map(|paths| paths.values_mut()).filter_map(Value::as_object_mut);
    for operation in operations.flat_map(|item| item.values_mut()) {
        let mut parameters = operation.get("parameters").and_then(Value::as_array).into_iter().flatten();
        let prefers = parameters.any(|parameter| parameter.get("name").is_some_and(|name| name == "Prefer"));
        let responses = operation.get_mut("responses").and_then(Value::as_object_mut);
        for (status, response) in responses.into_iter().flat_map(|responses| responses.iter_mut()) {
            let headers = response.as_object_mut().map(|response| response.entry("headers").or_insert_with(|| json!({})));
            let Some(headers) = headers.and_then(Value::as_object_mut) else { continue };
            let mut name = |header: &str, shared: &str| headers.insert(header.to_owned(), json!({ "$ref": format!("#/components/headers/{shared}") }));
            name("X-Request-Id", "RequestId");
            if status == "304" {
                name("ETag", "Unchanged");
            }
            if prefers && status.starts_with('2') {
                name("Preference-Applied", "PreferenceApplied");
            }
        }
    }
}

/// Puts the examples beside the bodies that they are of.
fn show(document: &mut Value, examples: &Value) {
    let Some(paths) = document.get_mut("paths").and_then(Value::as_object_mut) else {
        return;
    };
    let operations = paths.values_mut().filter_map(Value::as_object_mut).flat_map(|item| item.values_mut());
    for operation in operations {
        let Some(example) = operation.get("operationId").and_then(Value::as_str).and_then(|id| examples.get(id)) else {
            continue;
        };
        let status = example.get("status").and_then(Value::as_str).unwrap_or("200");
        for (place, value) in [
            ("/requestBody/content".to_owned(), example.get("request")),
            (format!("/responses/{status}/content"), example.get("answer")),
        ] {
            let content = operation
                .pointer_mut(&place)
                .and_then(Value::as_object_mut)
                .and_then(|content| content.values_mut().next());
            if let (Some(content), Some(value)) = (content.and_then(Value::as_object_mut), value) {
                content.insert("examples".into(), json!({ "recorded": { "value": value } }));
            }
        }
    }
}
