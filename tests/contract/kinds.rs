//! The command is a union of its kinds in the document, and what it says of each kind is how the service takes it.

use serde_json::{Value, json};

use super::{Document, Operation, access::stage, decided_on};
use crate::world::{Client, Engine, World, command, expecting, on};

/// The schema of a kind's command.
fn of_kind<'d>(document: &'d Document, kind: &str) -> &'d Value {
    let name = document.json["components"]["schemas"]["Command"]["discriminator"]["mapping"][kind].as_str();
    let pointer = name.unwrap_or_else(|| panic!("no command of the kind {kind}")).trim_start_matches('#');
    document.json.pointer(pointer).expect("the mapping leads somewhere")
}

async fn send(client: &Client, operation: &Operation, target: Option<uuid::Uuid>, body: &Value, expects: Option<i64>) -> Value {
    let mut body = body.clone();
    if let (Some(id), Some(fields)) = (target, body.as_object_mut()) {
        fields.insert("id".into(), json!(id));
    }
    let command = command(&operation.kind(), body);
    let command = match expects {
        Some(rev) => expecting(command, rev),
        None => command,
    };
    client.send(vec![command]).await.ok()["answers"][0].clone()
}

#[test]
fn every_kind_that_a_member_can_send_is_in_the_union_with_its_body() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let schemas = &document.json["components"]["schemas"];
        let mapping = schemas["Command"]["discriminator"]["mapping"].as_object().unwrap();
        let choices = schemas["Command"]["oneOf"].as_array().unwrap();
        let may = world.admin().get("/v1/session").await.ok()["may"].take();
        let may: Vec<&str> = may.as_array().unwrap().iter().map(|kind| kind.as_str().unwrap()).collect();
        assert_eq!(mapping.keys().map(String::as_str).collect::<Vec<_>>(), may);
        assert_eq!(choices.len(), may.len());
        for kind in may {
            let command = of_kind(&document, kind);
            assert_eq!(command["properties"]["kind"]["const"], json!(kind));
            assert!(document.resolve(&command["properties"]["body"])["properties"].is_object(), "{kind} has no body");
            assert!(schemas["CommandKind"]["enum"].as_array().unwrap().contains(&json!(kind)));
        }
        for operation in document.acts() {
            let body = operation.body.as_ref().expect("an act has a body");
            assert_eq!(&of_kind(&document, &operation.kind())["properties"]["body"], body, "{}", operation.id);
        }
    });
}

#[test]
fn every_kind_of_record_is_in_the_closed_list_wherever_a_kind_is_told() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let schemas = &document.json["components"]["schemas"];
        let about = world.admin().find("/v1").await;
        let known: Vec<&Value> = about["records"].as_array().unwrap().iter().map(|record| &record["kind"]).collect();
        let listed: Vec<&Value> = schemas["RecordKind"]["enum"].as_array().unwrap().iter().collect();
        assert_eq!(listed, known);
        for told in ["Change", "Stub", "RecordRef", "UnsettledAnswer", "KindOfRecord"] {
            let kind = &schemas[told]["properties"]["kind"];
            assert!(kind.to_string().contains("#/components/schemas/RecordKind"), "{told}: {kind}");
        }
    });
}

#[test]
fn a_kind_needs_a_revision_exactly_where_the_document_says_so() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let (admin, stage) = (world.admin(), stage(world, world.agency()).await);
        let (mut needed, mut free) = (0, 0);
        for operation in document.acts() {
            let kind = operation.kind();
            let schema = of_kind(&document, &kind);
            let (sample, says) = (stage.sample(&operation.id), &schema["properties"]["expects"]);
            let must = schema["required"].as_array().unwrap().contains(&json!("expects"));
            let old = if says.is_null() { None } else { Some(0) };
            if must {
                let answer = send(&admin, operation, sample.target, &sample.body, None).await;
                assert_eq!(answer["problem"]["code"], "revision-needed", "{kind} without `expects`: {answer}");
                needed += 1;
            }
            if let Some(old) = old {
                let answer = send(&admin, operation, sample.target, &sample.body, Some(old)).await;
                let first = kind == "demand.set";
                assert!(first || answer["outcome"] == "conflict", "{kind} on an old revision: {answer}");
            } else {
                let answer = send(&admin, operation, sample.target, &sample.body, Some(0)).await;
                assert_eq!(answer["outcome"], "applied", "{kind} looks at no revision: {answer}");
                free += 1;
            }
            let told = operation.parameters.iter().any(|parameter| parameter.name == "If-Match");
            assert_eq!(told, !says.is_null(), "{kind}: the address and the command do not say the same");
        }
        assert!(needed > 20 && free > 20, "{needed} {free}");
    });
}

#[test]
fn a_kind_that_needs_no_revision_is_taken_without_one() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let (admin, stage) = (world.admin(), stage(world, world.agency()).await);
        for operation in document.acts() {
            let kind = operation.kind();
            if of_kind(&document, &kind)["required"].as_array().unwrap().contains(&json!("expects")) {
                continue;
            }
            let sample = stage.sample(&operation.id);
            let again = of_kind(&document, &kind)["properties"]["expects"]["description"]
                .as_str()
                .is_some_and(|words| words.contains("changes what"));
            let revision = if again {
                decided_on(&admin, operation, sample.target).await
            } else {
                Vec::new()
            };
            let revision = revision.first().and_then(|(_, tag)| tag.trim_matches('"').parse().ok());
            let answer = send(&admin, operation, sample.target, &sample.body, revision).await;
            assert_eq!(answer["outcome"], "applied", "{kind}: {answer}");
        }
    });
}

/// Where a schema's fields say too little to be worth reading: no words, one or two, or what the name says already.
fn says_too_little(words: &str) -> bool {
    words.split_whitespace().count() < 3 || words.starts_with("Its id") || words.starts_with("Id of the ") && words.split_whitespace().count() < 5
}

#[test]
fn every_field_says_what_it_means() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let (mut seen, mut poor) = (0, Vec::new());
        for (name, schema) in document.json["components"]["schemas"].as_object().unwrap() {
            for (field, schema) in schema["properties"].as_object().into_iter().flatten() {
                // What is another schema alone is told there; a word of a union or a command's kind tells itself.
                let told = schema["description"].as_str();
                if told.is_none() && ["$ref", "const", "oneOf", "allOf", "anyOf"].iter().any(|key| schema.get(key).is_some()) {
                    continue;
                }
                seen += 1;
                if told.is_none_or(says_too_little) {
                    poor.push(format!("{name}.{field}: {}", told.unwrap_or("nothing")));
                }
            }
        }
        assert!(seen > 1500, "{seen}");
        assert_eq!(poor, Vec::<String>::new(), "{} of {seen}", poor.len());
    });
}

#[test]
fn every_tagged_union_has_named_variants_and_a_discriminator() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let schemas = document.json["components"]["schemas"].as_object().unwrap();
        let mut seen = Vec::new();
        for (name, schema) in schemas {
            let Some(choices) = schema["oneOf"].as_array() else { continue };
            let unnamed = choices.iter().filter(|choice| choice["properties"].is_object()).count();
            assert_eq!(unnamed, 0, "{name} has variants without names");
            let Some(tag) = schema["discriminator"]["propertyName"].as_str() else {
                continue;
            };
            for (word, pointer) in schema["discriminator"]["mapping"].as_object().unwrap() {
                let variant = document.json.pointer(pointer.as_str().unwrap().trim_start_matches('#')).unwrap();
                assert_eq!(variant["properties"][tag]["const"], json!(word), "{name}");
            }
            seen.push(name.as_str());
        }
        for needed in ["Command", "Place", "Destination", "Via"] {
            assert!(seen.contains(&needed), "{needed}: {seen:?}");
        }
    });
}
