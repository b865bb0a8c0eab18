//! What `/openapi.json` promises is held to for every operation that it lists: a new one is tested by being there.

mod access;
mod answers;
mod beside;
mod bodies;
mod document;
mod expects;
mod lists;
mod manners;
mod examples;
mod kinds;
mod may;
mod more;
mod mutations;
mod others;
mod paths;
mod repeats;
mod rollouts;
mod samples;
pub mod stage;
mod trials;

use std::collections::BTreeMap;

use reqwest::Method;
use serde_json::Value;
use uuid::Uuid;

use crate::world::{Client, Reply, World, acts::rev_of};

/// What is found only while it is worked on, and on this ground nothing is: `slices/import_progress.rs` looks at it.
pub const PASSING: [&str; 1] = ["show_import_progress"];

/// A parameter of an operation.
#[derive(Debug, Clone)]
pub struct Parameter {
    pub name: String,
    pub place: String,
    pub schema: Value,
}

/// One operation of the document.
#[derive(Debug, Clone)]
pub struct Operation {
    pub id: String,
    /// What it says of itself.
    pub about: String,
    pub method: Method,
    pub path: String,
    pub secured: bool,
    pub parameters: Vec<Parameter>,
    pub body: Option<Value>,
    pub answers: Vec<String>,
    kind: Option<String>,
}

/// The document that the service serves.
pub struct Document {
    pub json: Value,
    pub operations: Vec<Operation>,
}

impl Document {
    pub async fn of(world: &World) -> Self {
        let json = world.nobody("GET", "/openapi.json").await.ok();
        let kinds = kinds(&json);
        let mut operations = Vec::new();
        for (path, item) in json["paths"].as_object().expect("paths") {
            for (method, operation) in item.as_object().expect("operations") {
                operations.push(Operation::read(path, method, operation, &kinds));
            }
        }
        assert!(operations.len() > 50, "the document lists the service's operations");
        Self { json, operations }
    }

    /// The operations that send a command.
    pub fn acts(&self) -> impl Iterator<Item = &Operation> {
        self.operations.iter().filter(|operation| operation.is_act())
    }

    /// The table of error codes: code and status.
    pub fn codes(&self) -> BTreeMap<String, u16> {
        let text = self.json["info"]["description"].as_str().expect("a description");
        let rows = text.lines().filter_map(|line| {
            let mut cells = line.split('|').map(|cell| cell.trim().trim_matches('`')).skip(1);
            Some((cells.next()?.to_owned(), cells.next()?.parse().ok()?))
        });
        let codes: BTreeMap<String, u16> = rows.collect();
        assert!(codes.len() > 20, "the description holds the table of codes");
        codes
    }

    /// Follows a `$ref`.
    pub fn resolve<'d>(&'d self, schema: &'d Value) -> &'d Value {
        match schema["$ref"].as_str() {
            Some(name) => {
                let name = name.rsplit('/').next().expect("a name");
                self.resolve(self.json["components"]["schemas"].get(name).unwrap_or_else(|| panic!("no schema {name}")))
            }
            None => schema,
        }
    }
}

/// The command kinds that the description lists.
fn kinds(json: &Value) -> Vec<String> {
    let text = json["info"]["description"].as_str().expect("a description");
    let first = text.lines().filter_map(|line| Some(line.split('|').nth(1)?.trim().trim_matches('`')));
    first.filter(|cell| cell.contains('.')).map(str::to_owned).collect()
}

impl Operation {
    fn read(path: &str, method: &str, operation: &Value, kinds: &[String]) -> Self {
        let parameters = operation["parameters"].as_array().into_iter().flatten().map(|parameter| Parameter {
            name: parameter["name"].as_str().expect("a name").to_owned(),
            place: parameter["in"].as_str().expect("a place").to_owned(),
            schema: parameter["schema"].clone(),
        });
        let id = operation["operationId"].as_str().expect("an id");
        Self {
            kind: kinds.iter().find(|kind| kind.replace('.', "_") == id).cloned(),
            id: id.to_owned(),
            about: operation["description"].as_str().unwrap_or_default().to_owned(),
            method: method.to_uppercase().parse().expect("a method"),
            path: path.to_owned(),
            secured: operation["security"].as_array().is_some_and(|security| !security.is_empty()),
            parameters: parameters.collect(),
            body: operation["requestBody"]["content"]
                .get("application/json")
                .map(|content| content["schema"].clone()),
            answers: operation["responses"].as_object().expect("responses").keys().cloned().collect(),
        }
    }

    /// Whether it sends a command.
    pub fn is_act(&self) -> bool {
        self.parameters.iter().any(|parameter| parameter.name == "Idempotency-Key") && self.body.is_some()
    }

    /// The kind of its command: `piece_take_out` sends `piece.take_out`, `service_plan_save` sends `service_plan.save`.
    pub fn kind(&self) -> String {
        self.kind
            .clone()
            .unwrap_or_else(|| panic!("the description lists no command kind for {}", self.id))
    }

    /// Whether its path names a record.
    pub fn has_target(&self) -> bool {
        self.path.contains("{id}")
    }

    /// Its path with the record filled in.
    pub fn at(&self, target: Option<Uuid>) -> String {
        match target {
            Some(id) => self.path.replace("{id}", &id.to_string()),
            None => self.path.clone(),
        }
    }

    /// The path of the list that its record is in.
    pub fn list(&self) -> &str {
        self.path.split("/{id}").next().expect("a path")
    }

    /// A refusal must be in the table of codes, in the form of a problem, and foreseen by the document.
    #[track_caller]
    pub fn refusal(&self, codes: &BTreeMap<String, u16>, reply: Reply) -> Value {
        let (asked, status) = (reply.asked.clone(), reply.status);
        assert!((400..500).contains(&status), "{asked}: {status} {}", reply.text);
        let problem = reply.problem();
        let code = problem["code"].as_str().expect("a code");
        assert_eq!(codes.get(code), Some(&status), "{asked}: the code {code} is not in the table with this status");
        assert!(
            self.answers.contains(&status.to_string()),
            "{asked}: the document does not say that {} may answer {status}",
            self.id
        );
        problem
    }
}

/// The revision that an act on the target is decided on, as a header.
pub async fn decided_on(client: &Client, operation: &Operation, target: Option<Uuid>) -> Vec<(&'static str, String)> {
    let path = match target {
        Some(id) => format!("{}/{id}", operation.list()),
        None if ["agency_edit", "agency_grade", "agency_release_rule"].contains(&operation.id.as_str()) => "/v1/agency".to_owned(),
        None => return Vec::new(),
    };
    let found = client.get(&path).await;
    // Some acts take away what they act on: a draft that was approved.
    if found.status == 404 {
        return Vec::new();
    }
    vec![("If-Match", format!("\"{}\"", rev_of(&found.ok())))]
}
