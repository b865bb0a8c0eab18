//! Every list of a body says how long it may be, and one more is refused by its name: a list without end holds the writer, and goes into the feed.

use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::{Document, Operation, access::stage, decided_on, document::misfits};
use crate::world::{Engine, Reply, World, on, on_both};

/// A step from a body down to one of its lists.
#[derive(Debug, Clone, PartialEq)]
enum Step {
    /// A field of an object.
    Field(String),
    /// An entry of a list.
    Entry,
    /// What an object may have under any name.
    Named,
    /// One of the choices of a union, or one of the parts that make an object up.
    Choice(&'static str, usize),
}

/// A list of a body, and how long it may be.
struct List {
    steps: Vec<Step>,
    most: Option<usize>,
}

/// What is said of a command's body is looked at where the command has an address of its own.
const COMMAND: &str = "#/components/schemas/Command";

/// Lists of a measured step of a check plan: what is made up for them here measures nothing, and is refused for that first. `care` holds
/// them to their most.
const OF_A_MEASURE: [&str; 2] = ["body.plan.steps[0].ask.limits", "body.plan.steps[0].ask.units"];
/// Addresses that take a body and are no commands, and read its lists before all else.
const BESIDE: [&str; 4] = ["work_out_service_plan", "list_sets_due", "size_reserves", "work_out_effects"];

/// Every list under a schema. A schema within itself is not gone into again.
fn lists(document: &Document, schema: &Value, steps: &[Step], above: &[String], found: &mut Vec<List>) {
    let mut above = above.to_vec();
    if let Some(name) = schema["$ref"].as_str() {
        if above.iter().any(|other| other == name) || name == COMMAND {
            return;
        }
        above.push(name.to_owned());
    }
    let schema = document.resolve(schema);
    let under = |step: Step| [steps, &[step]].concat();
    for word in ["oneOf", "anyOf", "allOf"] {
        for (n, choice) in schema[word].as_array().into_iter().flatten().enumerate() {
            lists(document, choice, &under(Step::Choice(word, n)), &above, found);
        }
    }
    if schema["items"].is_object() {
        let most = schema["maxItems"].as_u64().and_then(|most| usize::try_from(most).ok());
        found.push(List { steps: steps.to_vec(), most });
        lists(document, &schema["items"], &under(Step::Entry), &above, found);
    }
    for (name, field) in schema["properties"].as_object().into_iter().flatten() {
        lists(document, field, &under(Step::Field(name.clone())), &above, found);
    }
    if schema["additionalProperties"].is_object() {
        lists(document, &schema["additionalProperties"], &under(Step::Named), &above, found);
    }
}

/// A list as a problem names it: `body.complement.slots[0].kinds`.
fn named(steps: &[Step]) -> String {
    steps.iter().fold("body".to_owned(), |path, step| match step {
        Step::Field(name) => format!("{path}.{name}"),
        Step::Entry => format!("{path}[0]"),
        Step::Named => format!("{path}.*"),
        Step::Choice(..) => path,
    })
}

/// The least that fits a schema.
fn made(document: &Document, schema: &Value) -> Value {
    let schema = document.resolve(schema);
    if let Some(word) = schema.get("const") {
        return word.clone();
    }
    if let Some(first) = ["enum", "examples"]
        .iter()
        .find_map(|word| schema[*word].get(0))
        .or_else(|| schema.get("example"))
    {
        return first.clone();
    }
    for word in ["oneOf", "anyOf"] {
        if let Some(choice) = schema[word].as_array().and_then(|all| all.iter().find(|choice| choice["type"] != "null")) {
            return made(document, choice);
        }
    }
    let is = |kind: &str| schema["type"] == kind || schema["type"].as_array().is_some_and(|kinds| kinds.contains(&json!(kind)));
    if is("object") || schema["properties"].is_object() {
        let needed = schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str);
        let fields: Map<String, Value> = needed.map(|name| (name.to_owned(), made(document, &schema["properties"][name]))).collect();
        return fields.into();
    }
    if is("array") {
        let least = schema["minItems"].as_u64().unwrap_or_default();
        // No two of them are the same word.
        let entry = |n: u64| match made(document, &schema["items"]) {
            Value::String(word) if n > 0 => json!(format!("{word} {n}")),
            entry => entry,
        };
        return (0..least).map(entry).collect();
    }
    if is("string") {
        return text(schema);
    }
    if is("number") || is("integer") {
        let bound = |word: &str, counts: fn(f64) -> bool| schema.get(word).filter(|bound| bound.as_f64().is_some_and(counts)).cloned();
        let least = bound("minimum", |least| least > 0.0);
        return least.or_else(|| bound("maximum", |most| most < 1.0)).unwrap_or_else(|| json!(1));
    }
    if is("boolean") { json!(true) } else { Value::Null }
}

/// A text that fits a schema.
fn text(schema: &Value) -> Value {
    match (schema["format"].as_str(), schema["pattern"].as_str()) {
        (Some("uuid"), _) => json!(Uuid::now_v7()),
        (Some("date"), _) => json!("2026-12-07"),
        (Some("date-time"), _) => json!("2026-12-07T00:00:00.000000Z"),
        (_, Some(pattern)) if pattern.contains("[0-9a-f]{64}") => json!("5a".repeat(32)),
        (_, Some(pattern)) if pattern.contains(r"T\d{2}") => json!("2026-12-07T07:00:00"),
        (_, Some(pattern)) if pattern.starts_with(r"^\d{2}:") => json!("07:00:00"),
        (_, Some(pattern)) if pattern.starts_with(r"^\d{4}") => json!("2026-12-07"),
        _ => json!("word"),
    }
}

/// A body in which the list at some steps has so many entries; the rest is the sample's, where that goes there, and else the least that fits.
fn filled(document: &Document, schema: &Value, steps: &[Step], count: usize, sample: Option<&Value>) -> Value {
    let schema = document.resolve(schema);
    let sample = sample.filter(|sample| !sample.is_null());
    let Some((step, rest)) = steps.split_first() else {
        let entry = sample.and_then(|sample| sample.get(0)).cloned();
        let entry = entry.unwrap_or_else(|| made(document, &schema["items"]));
        return Value::Array(vec![entry; count]);
    };
    let whole = || sample.cloned().unwrap_or_else(|| made(document, schema));
    match step {
        Step::Field(name) => {
            let mut body = whole();
            body[name] = filled(document, &schema["properties"][name], rest, count, sample.and_then(|sample| sample.get(name)));
            body
        }
        Step::Entry => {
            let entry = filled(document, &schema["items"], rest, count, sample.and_then(|sample| sample.get(0)));
            // What has to be two at least has the second one as the first.
            let mut all = sample.and_then(Value::as_array).cloned().unwrap_or_default();
            all.splice(..all.len().min(1), [entry.clone()]);
            let least = schema["minItems"].as_u64().and_then(|least| usize::try_from(least).ok()).unwrap_or_default();
            while all.len() < least {
                all.push(entry.clone());
            }
            all.into()
        }
        Step::Named => json!({ "word": filled(document, &schema["additionalProperties"], rest, count, None) }),
        Step::Choice(word, n) => {
            let choice = &schema[*word][*n];
            let fits = sample.filter(|sample| misfits(document, choice, sample, "").is_empty());
            filled(document, choice, rest, count, fits)
        }
    }
}

fn lists_of(document: &Document, operation: &Operation) -> Vec<List> {
    let mut found = Vec::new();
    if let Some(body) = &operation.body {
        lists(document, body, &[], &[], &mut found);
    }
    found
}

#[test]
fn every_list_of_a_body_says_how_long_it_may_be() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let (mut seen, mut endless) = (0, Vec::new());
        for operation in &document.operations {
            for list in lists_of(&document, operation) {
                seen += 1;
                if list.most.is_none() {
                    endless.push(format!("{}: {}", operation.id, named(&list.steps)));
                }
            }
        }
        assert!(seen > 90, "{seen}");
        assert_eq!(endless, Vec::<String>::new(), "state `max_items`, and hold the list to it in `prepare`");
    });
}

/// Why a list that is one too long was not refused as it should be; none where it was.
fn not_refused(operation: &Operation, reply: &Reply, field: &str) -> Option<String> {
    let (code, told) = (&reply.json["code"], &reply.json["field"]);
    let foreseen = operation.answers.contains(&reply.status.to_string());
    if reply.status == 422 && code == "field-invalid" && told == field && foreseen {
        return None;
    }
    Some(format!(
        "{}: {field} is one too long, and the answer was {} {code} {told}: {}",
        operation.id, reply.status, reply.json["detail"]
    ))
}

on_both!(
    one_more_than_a_list_may_have_is_refused_by_its_name_and_writes_nothing,
    async |world: &World| {
        let document = Document::of(world).await;
        let (admin, stage) = (world.admin(), stage(world, world.agency()).await);
        let before = (admin.revision().await, world.journal_length());
        let (mut sent, mut wrong) = (0, Vec::new());
        let beside = |operation: &&Operation| operation.is_act() || BESIDE.contains(&operation.id.as_str());
        for operation in document.operations.iter().filter(beside) {
            for list in lists_of(&document, operation) {
                let Some(most) = list.most.filter(|_| !OF_A_MEASURE.contains(&named(&list.steps).as_str())) else {
                    continue;
                };
                let sample = operation.is_act().then(|| stage.sample(&operation.id));
                let (target, body) = sample.map_or((None, None), |sample| (sample.target, Some(sample.body)));
                let decided = if operation.is_act() {
                    decided_on(&admin, operation, target).await
                } else {
                    Vec::new()
                };
                let schema = operation.body.as_ref().expect("a body with a list");
                let mut body = filled(&document, schema, &list.steps, most + 1, body.as_ref());
                if operation.has_target() {
                    body.as_object_mut().expect("a body is an object").remove("id");
                }
                let reply = admin.ask(operation.method.clone(), &operation.at(target), Some(&body), &decided).await;
                wrong.extend(not_refused(operation, &reply, &named(&list.steps)));
                sent += 1;
            }
        }
        assert!(sent > 90, "{sent}");
        assert!(wrong.is_empty(), "{} of {sent}: {wrong:#?}", wrong.len());
        assert_eq!((admin.revision().await, world.journal_length()), before, "something was written");
    }
);

#[test]
fn a_list_anywhere_in_a_body_is_found_and_filled() {
    let document = Document {
        json: json!({ "components": { "schemas": { "Way": { "oneOf": [
            { "type": "object", "required": ["of"], "properties": { "of": { "const": "all" } } },
            { "type": "object", "required": ["of", "kinds"], "properties": {
                "of": { "const": "some" },
                "kinds": { "type": "array", "maxItems": 2, "items": { "enum": ["ram", "hose"] } },
            } },
        ] } } } }),
        operations: Vec::new(),
    };
    let ways = json!({ "type": "array", "items": { "$ref": "#/components/schemas/Way" } });
    let schema = json!({ "type": "object", "required": ["name", "ways"], "properties": { "name": { "type": "string" }, "ways": ways } });
    let mut found = Vec::new();
    lists(&document, &schema, &[], &[], &mut found);
    let told: Vec<_> = found.iter().map(|list| (named(&list.steps), list.most)).collect();
    assert_eq!(told, [("body.ways".to_owned(), None), ("body.ways[0].kinds".to_owned(), Some(2))]);
    let steps = &found[1].steps;
    let some = |kind: &str| json!({ "of": "some", "kinds": [kind, kind, kind] });
    assert_eq!(filled(&document, &schema, steps, 3, None), json!({ "name": "word", "ways": [some("ram")] }));
    let sample = json!({ "name": "a", "ways": [{ "of": "some", "kinds": ["hose"] }, { "of": "all" }] });
    assert_eq!(
        filled(&document, &schema, steps, 3, Some(&sample)),
        json!({ "name": "a", "ways": [some("hose"), { "of": "all" }] })
    );
}
