//! The document itself: whole, true to the code, and the one that is committed.

use std::{collections::BTreeSet, path::Path};

use serde_json::{Value, json};

use super::{Document, access::stage, examples::odd_instants};
use crate::world::{Engine, World, on};

const COMMITTED: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/openapi.json");

#[test]
fn the_committed_document_is_the_one_that_is_served() {
    let committed = std::fs::read_to_string(Path::new(COMMITTED)).expect("openapi/openapi.json is committed: `make openapi` writes it");
    let committed: Value = serde_json::from_str(&committed).expect("it is JSON");
    on(Engine::Sqlite, async |world: &World| {
        let served = Document::of(world).await.json;
        for part in ["info", "paths", "components"] {
            let (served, committed) = (served[part].as_object().unwrap(), committed[part].as_object().unwrap());
            let differing: Vec<&String> = served
                .keys()
                .chain(committed.keys())
                .filter(|key| served.get(*key) != committed.get(*key))
                .collect();
            assert!(
                differing.is_empty(),
                "openapi/openapi.json is not what the code says, so the dashboard's client is not either: run `make openapi`. In {part}: {differing:?}"
            );
        }
        assert_eq!(served, committed);
    });
}

#[test]
fn every_reference_leads_somewhere() {
    fn walk(value: &Value, found: &mut BTreeSet<String>) {
        match value {
            Value::Object(fields) => {
                found.extend(fields.get("$ref").and_then(Value::as_str).map(str::to_owned));
                fields.values().for_each(|value| walk(value, found));
            }
            Value::Array(items) => items.iter().for_each(|value| walk(value, found)),
            _ => {}
        }
    }
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let mut references = BTreeSet::new();
        walk(&document.json, &mut references);
        assert!(references.len() > 50);
        for reference in references {
            let pointer = reference.strip_prefix('#').expect("a local reference");
            assert!(document.json.pointer(pointer).is_some(), "{reference} leads nowhere");
        }
    });
}

#[test]
fn operation_ids_are_unique_and_say_their_verb() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let ids: BTreeSet<&str> = document.operations.iter().map(|operation| operation.id.as_str()).collect();
        assert_eq!(ids.len(), document.operations.len(), "an operation id is used twice");
        let acts = document.acts().count();
        assert!(acts > 35, "{acts}");
    });
}

#[test]
fn every_command_kind_but_the_services_own_has_an_address() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let may = world.admin().get("/v1/session").await.ok()["may"].take();
        let addressed: BTreeSet<String> = document.acts().map(super::Operation::kind).collect();
        for kind in may.as_array().unwrap() {
            let kind = kind.as_str().unwrap();
            let by_file = kind == "import.add";
            assert!(by_file || addressed.contains(kind), "{kind} has no address of its own");
        }
    });
}

#[test]
fn an_act_that_takes_a_revision_says_so() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let stage = stage(world, world.agency()).await;
        for operation in document.acts() {
            let sample = stage.sample(&operation.id);
            let reply = world
                .admin()
                .ask(operation.method.clone(), &operation.at(sample.target), Some(&sample.body), &[])
                .await;
            if reply.status == 428 {
                let told = operation.parameters.iter().any(|parameter| parameter.name == "If-Match");
                assert!(told, "{} needs If-Match, and the document does not list it", operation.id);
                assert_eq!(reply.json["code"], json!("revision-needed"));
            }
        }
    });
}

#[test]
fn every_list_record_fits_its_schema() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        stage(world, world.agency()).await;
        let mut checked = 0;
        for operation in document.operations.iter().filter(|operation| operation.id.starts_with("find_")) {
            let answer = &document.json["paths"][&operation.path]["get"]["responses"]["200"]["content"]["application/json"]["schema"];
            let records = if operation.has_target() {
                world.admin().list(operation.list()).await
            } else {
                vec![world.admin().find(&operation.path).await]
            };
            for record in records {
                let mut faults = misfits(&document, answer, &record, &operation.id);
                odd_instants(&record, &mut faults);
                assert!(faults.is_empty(), "{faults:#?}\n{record}");
                checked += 1;
            }
        }
        assert!(checked > 60, "{checked}");
    });
}

/// Where a value does not fit a schema: unknown or missing fields, wrong types, words that are not in the list.
pub fn misfits(document: &Document, schema: &Value, value: &Value, at: &str) -> Vec<String> {
    let schema = document.resolve(schema);
    for word in ["oneOf", "anyOf"] {
        if let Some(choices) = schema[word].as_array() {
            let tried: Vec<Vec<String>> = choices.iter().map(|choice| misfits(document, choice, value, at)).collect();
            return if tried.iter().any(Vec::is_empty) {
                Vec::new()
            } else {
                tried.into_iter().min_by_key(Vec::len).unwrap_or_default()
            };
        }
    }
    if let Some(parts) = schema["allOf"].as_array() {
        let known: BTreeSet<String> = parts
            .iter()
            .flat_map(|part| document.resolve(part)["properties"].as_object().into_iter().flatten())
            .map(|(name, _)| name.clone())
            .collect();
        let unknown = value
            .as_object()
            .into_iter()
            .flatten()
            .filter(|(name, _)| !known.contains(*name))
            .map(|(name, _)| format!("{at}.{name}: not in the schema"));
        let within = parts
            .iter()
            .flat_map(|part| misfits(document, part, value, at))
            .filter(|fault| !fault.ends_with("not in the schema"));
        return within.chain(unknown).collect();
    }
    let mut faults = Vec::new();
    if let Some(word) = schema.get("const")
        && word != value
    {
        faults.push(format!("{at}: {value} is not {word}"));
    }
    if let Some(words) = schema["enum"].as_array()
        && !words.contains(value)
    {
        faults.push(format!("{at}: {value} is not one of {words:?}"));
    }
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(several) => several.iter().filter_map(Value::as_str).collect(),
        _ => return faults,
    };
    let fits = |kind: &&str| match *kind {
        "null" => value.is_null(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        "array" => value.is_array(),
        _ => value.is_object(),
    };
    if !types.iter().any(fits) {
        faults.push(format!("{at}: {value} is not of type {types:?}"));
    }
    for (n, item) in value.as_array().into_iter().flatten().enumerate() {
        faults.extend(misfits(document, &schema["items"], item, &format!("{at}[{n}]")));
    }
    let Some(fields) = value.as_object() else { return faults };
    for needed in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
        if !fields.contains_key(needed) {
            faults.push(format!("{at}.{needed}: required and not there"));
        }
    }
    for (name, field) in fields {
        match (schema["properties"].get(name), &schema["additionalProperties"]) {
            (Some(property), _) => faults.extend(misfits(document, property, field, &format!("{at}.{name}"))),
            (None, Value::Object(_)) => faults.extend(misfits(document, &schema["additionalProperties"], field, &format!("{at}.{name}"))),
            (None, _) if schema["properties"].is_object() => faults.push(format!("{at}.{name}: not in the schema")),
            (None, _) => {}
        }
    }
    faults
}

#[test]
fn a_value_that_does_not_fit_its_schema_is_seen() {
    let schema =
        json!({ "type": "object", "required": ["a"], "properties": { "a": { "type": "integer" }, "b": { "oneOf": [{ "type": "null" }, { "enum": ["x"] }] } } });
    let document = Document {
        json: json!({}),
        operations: Vec::new(),
    };
    assert_eq!(misfits(&document, &schema, &json!({ "a": 1, "b": null }), "r"), Vec::<String>::new());
    for bad in [
        json!({}),
        json!({ "a": "1" }),
        json!({ "a": 1, "b": "y" }),
        json!({ "a": 1, "c": 2 }),
        json!([]),
    ] {
        assert!(!misfits(&document, &schema, &bad, "r").is_empty(), "{bad}");
    }
}
