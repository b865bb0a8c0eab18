//! What must hold when the kills are over.

use std::collections::{BTreeMap, BTreeSet};

use fullset::platform::db::Location;
use serde_json::Value;
use uuid::Uuid;

use super::writers::Writer;
use crate::world::{Agency, Client, sql};

/// How it stood before anybody wrote.
pub struct Before {
    revision: i64,
    districts: BTreeSet<String>,
}

impl Before {
    pub async fn of(client: &Client) -> Self {
        Self {
            revision: client.revision().await,
            districts: districts(client).await.into_keys().collect(),
        }
    }
}

async fn districts(client: &Client) -> BTreeMap<String, Value> {
    let all = client.list("/v1/districts").await;
    all.into_iter().map(|one| (one["id"].as_str().expect("an id").to_owned(), one)).collect()
}

/// An entry of the journal: revision, command, kind.
type Entry = (i64, Uuid, String);

/// The agency's journal after a revision, in its order.
pub fn journal(location: &Location, agency: Uuid, after: i64) -> Vec<Entry> {
    let (command, own) = (sql::hex(location, "command"), sql::id(location, agency));
    let query = format!("SELECT rev || ' ' || {command} || ' ' || kind AS t FROM journal WHERE agency = {own} AND rev > {after} ORDER BY rev");
    let entry = |line: String| -> Option<Entry> {
        let mut words = line.split(' ');
        Some((words.next()?.parse().ok()?, words.next()?.parse().ok()?, words.next()?.to_owned()))
    };
    let entries = sql::texts(location, &query).into_iter();
    entries.map(|line| entry(line.clone()).unwrap_or_else(|| panic!("no entry: {line}"))).collect()
}

/// What of the journal is not as it was acknowledged.
fn entries(journal: &[Entry], after: i64, writers: &[Writer]) -> Vec<String> {
    let mut faults = Vec::new();
    for ((revision, command, _), due) in journal.iter().zip(after + 1..) {
        if *revision != due {
            faults.push(format!("a hole in the journal: {due} is missing, {revision} ({command}) comes next"));
            break;
        }
    }
    let mut at: BTreeMap<Uuid, Vec<i64>> = BTreeMap::new();
    for (revision, command, _) in journal {
        at.entry(*command).or_default().push(*revision);
    }
    faults.extend(
        at.iter()
            .filter(|(_, at)| at.len() > 1)
            .map(|(command, at)| format!("{command} is doubled: {at:?}")),
    );
    let acknowledged: BTreeMap<Uuid, i64> = writers
        .iter()
        .flat_map(|writer| &writer.acknowledged)
        .map(|one| (one.id, one.revision))
        .collect();
    for (command, revision) in &acknowledged {
        match at.get(command) {
            Some(there) if there.as_slice() == [*revision] => {}
            there => faults.push(format!("{command} was acknowledged at {revision}, and the journal has it at {there:?}")),
        }
    }
    // Everybody went on until all of it was acknowledged.
    let unknown = journal
        .iter()
        .filter(|(_, command, kind)| kind != "clock.settle" && !acknowledged.contains_key(command));
    faults.extend(unknown.map(|entry| format!("nobody was told of {entry:?}")));
    faults
}

/// Everything that is wrong.
pub async fn all(location: &Location, agency: &Agency, client: &Client, before: &Before, writers: &[Writer]) -> Vec<String> {
    let mut faults = entries(&journal(location, agency.id, before.revision), before.revision, writers);
    let mut there = districts(client).await;
    there.retain(|id, _| !before.districts.contains(id));
    for writer in writers {
        for (id, known) in &writer.districts {
            match there.remove(&id.to_string()) {
                Some(found) if (found["name"].as_str(), found["rev"].as_i64()) == (Some(&known.name), Some(known.rev)) => {}
                found => faults.push(format!("district {id} is {found:?}, and was acknowledged as {known:?}")),
            }
        }
        if let Some(reason) = &writer.reason {
            let found = client.find(&format!("/v1/pieces/{}", writer.piece)).await;
            if found["state_reason"].as_str() != Some(reason) {
                faults.push(format!(
                    "piece {} is out for {}, and was acknowledged to be for {reason}",
                    writer.piece, found["state_reason"]
                ));
            }
        }
    }
    faults.extend(there.values().map(|district| format!("nobody was told of this district: {district}")));
    faults
}
