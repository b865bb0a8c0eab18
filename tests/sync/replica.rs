//! A client's copy of its scope, kept as `openapi/sync.md` says, and what it must be equal to.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Value, json};

use crate::world::Client;

/// Records by kind and id.
pub type Records = BTreeMap<(String, String), Value>;

/// Every kind with the address that lists it.
pub const KINDS: [(&str, &str); 20] = [
    ("agency", "agency"),
    ("member", "members"),
    ("district", "districts"),
    ("station", "stations"),
    ("shop", "shops"),
    ("coupling", "couplings"),
    ("model", "models"),
    ("rig_class", "rig-classes"),
    ("rig", "rigs"),
    ("piece", "pieces"),
    ("tool_set", "tool-sets"),
    ("defect", "defects"),
    ("defect_note", "defect-notes"),
    ("swap", "swaps"),
    ("ticket", "tickets"),
    ("rig_standing", "rig-standings"),
    ("piece_standing", "piece-standings"),
    ("import", "imports"),
    ("use", "uses"),
    ("device", "devices"),
];

/// A client's copy.
#[derive(Debug, Default, Clone)]
pub struct Replica {
    pub records: Records,
    /// What records outside of the scope are called, by kind and id.
    pub stubs: BTreeMap<(String, String), String>,
    pub next: Option<String>,
    pub revision: i64,
}

/// The text of a field that must be there.
fn word<'a>(value: &'a Value, field: &str) -> Result<&'a str, String> {
    value[field].as_str().ok_or_else(|| format!("no {field} in {value}"))
}

impl Replica {
    /// Takes one page; answers whether there is more. A page that could not have been a state is told as a fault.
    pub fn take(&mut self, page: &Value, limit: usize) -> Result<bool, String> {
        let changes = page["changes"].as_array().ok_or_else(|| format!("no changes in {page}"))?;
        let revision = page["revision"].as_i64().ok_or("a page has a revision")?;
        if changes.len() > limit {
            return Err(format!("{} changes on a page of {limit}", changes.len()));
        }
        if revision < self.revision {
            return Err(format!("the feed went back from revision {} to {revision}", self.revision));
        }
        let mut seen = BTreeSet::new();
        let mut last = 0;
        for change in changes {
            let (kind, id) = (word(change, "kind")?, word(change, "id")?);
            let rev = change["rev"].as_i64().ok_or("a change has a rev")?;
            if !seen.insert((kind, id)) {
                return Err(format!("{kind} {id} is told twice on one page"));
            }
            if rev < last || rev > revision {
                return Err(format!("{kind} {id} is out of order: {rev} after {last}, at {revision}"));
            }
            last = rev;
            let key = (kind.to_owned(), id.to_owned());
            match change["gone"].as_str() {
                None => {
                    if change["record"]["rev"] != json!(rev) || change["record"]["id"] != json!(id) {
                        return Err(format!("a record carries its own id and revision: {change}"));
                    }
                    let before = self.records.insert(key, change["record"].clone());
                    if before.is_some_and(|before| before["rev"].as_i64() > Some(rev)) {
                        return Err(format!("{kind} {id} went back in time to {rev}"));
                    }
                }
                Some("deleted" | "out_of_scope") if change["record"].is_null() => drop(self.records.remove(&key)),
                Some(other) => return Err(format!("gone is '{other}' in {change}")),
            }
        }
        for stub in page["stubs"].as_array().ok_or_else(|| format!("no stubs in {page}"))? {
            let (kind, id) = (word(stub, "kind")?.to_owned(), word(stub, "id")?.to_owned());
            self.stubs.insert((kind, id), word(stub, "name")?.to_owned());
        }
        self.next = Some(word(page, "next")?.to_owned());
        self.revision = revision;
        page["more"].as_bool().ok_or_else(|| "a page says whether there is more".to_owned())
    }

    /// Reads one page of a scope; answers whether there is more.
    pub async fn step_in(&mut self, client: &Client, scope: &str, limit: usize) -> bool {
        let since = self.next.as_ref().map(|token| format!("&since={token}")).unwrap_or_default();
        let page = client.find(&format!("/v1/changes?scope={scope}&limit={limit}{since}")).await;
        self.take(&page, limit).unwrap_or_else(|fault| panic!("{fault}"))
    }

    /// Reads one page of the agency; answers whether there is more.
    pub async fn step(&mut self, client: &Client, limit: usize) -> bool {
        self.step_in(client, "agency", limit).await
    }

    /// Follows the feed of a scope to its end.
    pub async fn follow_in(&mut self, client: &Client, scope: &str, limit: usize) {
        while self.step_in(client, scope, limit).await {}
    }

    /// Follows the agency's feed to its end.
    pub async fn follow(&mut self, client: &Client, limit: usize) {
        self.follow_in(client, "agency", limit).await;
    }

    /// What a record of the copy names by id, and the copy knows neither the record nor what it is called now. `all`: what the
    /// service lists.
    pub fn unnamed(&self, all: &Records) -> Vec<String> {
        let mut by_id: BTreeMap<&str, Vec<(&str, &Value)>> = BTreeMap::new();
        for ((kind, id), record) in all.iter().filter(|((kind, _), _)| !kind.ends_with("_standing")) {
            by_id.entry(id).or_default().push((kind, record));
        }
        let mut unnamed = BTreeSet::new();
        for (key, record) in &self.records {
            let mut ids = Vec::new();
            ids_in(record, &mut ids);
            for (kind, named) in ids.iter().filter_map(|id| by_id.get(id)).flatten() {
                let of = ((*kind).to_owned(), named["id"].as_str().unwrap_or_default().to_owned());
                let name = ["tag", "name"].iter().find_map(|field| named[*field].as_str());
                let known = self.stubs.get(&of).filter(|stub| name.is_none_or(|name| name == *stub));
                if !self.records.contains_key(&of) && known.is_none() {
                    unnamed.insert(format!("{key:?} names {of:?}, {name:?}, known as {:?}", self.stubs.get(&of)));
                }
            }
        }
        unnamed.into_iter().collect()
    }

    /// The records of a kind, by id.
    pub fn of_kind<'a>(&'a self, kind: &'a str) -> impl Iterator<Item = &'a Value> {
        self.records
            .range((kind.to_owned(), String::new())..)
            .take_while(move |((of, _), _)| of == kind)
            .map(|(_, record)| record)
    }
}

/// Every text within a value that may be an id.
fn ids_in<'a>(value: &'a Value, found: &mut Vec<&'a str>) {
    match value {
        Value::String(text) if text.len() == 36 => found.push(text),
        Value::Array(items) => items.iter().for_each(|item| ids_in(item, found)),
        Value::Object(fields) => fields.values().for_each(|field| ids_in(field, found)),
        _ => {}
    }
}

/// All that the service lists.
pub async fn lists(client: &Client) -> Records {
    let mut all = Records::new();
    for (kind, path) in KINDS {
        let path = format!("/v1/{path}");
        let records = match kind {
            "agency" => vec![client.find(&path).await],
            _ => client.list(&path).await,
        };
        for record in records {
            let id = record["id"].as_str().expect("an id").to_owned();
            assert!(all.insert((kind.to_owned(), id), record).is_none(), "{kind} is listed twice");
        }
    }
    all
}

/// Where two copies differ, in a few words; nothing when they are equal.
pub fn difference(has: &Records, should: &Records) -> Option<String> {
    let name = |(kind, id): &(String, String)| format!("{kind} {id}");
    let missing: Vec<String> = should.keys().filter(|key| !has.contains_key(*key)).map(name).collect();
    let strange: Vec<String> = has.keys().filter(|key| !should.contains_key(*key)).map(name).collect();
    let other: Vec<String> = should
        .iter()
        .filter_map(|(key, record)| Some((key, record, has.get(key)?)))
        .filter(|(_, record, own)| record != own)
        .map(|(key, record, own)| format!("{} is {own}, not {record}", name(key)))
        .collect();
    (missing.len() + strange.len() + other.len() > 0).then(|| format!("missing {missing:?}, too many {strange:?}, different {other:?}"))
}

/// The replica of the agency holds what the service lists.
pub async fn equals_the_lists(replica: &Replica, client: &Client) {
    let known: BTreeSet<&str> = KINDS.iter().map(|(kind, _)| *kind).collect();
    let told: BTreeSet<&str> = replica.records.keys().map(|(kind, _)| kind.as_str()).collect();
    assert!(told.is_subset(&known), "kinds that no list was compared for: {told:?}");
    if let Some(difference) = difference(&replica.records, &lists(client).await) {
        panic!("{difference}");
    }
}
