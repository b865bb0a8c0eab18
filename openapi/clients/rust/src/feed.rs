//! The feed: its pages, and the copy that follows it.

use std::collections::BTreeMap;

use reqwest::Url;
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::Value;
use uuid::Uuid;

use crate::{Client, Error, Live, Patience, Problem};

/// Records asked for in a page.
const PAGE: usize = 1000;
/// How often one pull starts again before it takes the service's word for a fault.
const FRESH_STARTS: u32 = 3;

/// Why a record is gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GoneReason {
    /// It was deleted.
    Deleted,
    /// It belongs to another station, rig or district now.
    OutOfScope,
    /// A word that this program does not know: it is gone all the same.
    #[serde(other)]
    Unknown,
}

/// A record at its latest state, or gone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// The record's kind.
    pub kind: String,
    /// Its id.
    pub id: Uuid,
    /// The revision of its last change.
    pub rev: i64,
    /// The record, whole, with the fields that this program does not know.
    #[serde(default)]
    pub record: Option<Value>,
    /// Set when it is gone.
    #[serde(default)]
    pub gone: Option<GoneReason>,
}

/// One page of changes: a state that existed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Page {
    /// The agency's revision when the page was read.
    pub revision: i64,
    /// The token to go on from; opaque.
    pub next: String,
    /// Whether there is more now.
    pub more: bool,
    /// The changes, in the order of their revisions.
    pub changes: Vec<Change>,
    /// The answers of the scope that do not count now.
    #[serde(default)]
    pub unsettled: Unsettled,
    /// What records of the scope name by id and the scope does not hold.
    #[serde(default)]
    pub stubs: Vec<Stub>,
}

/// What a record outside of the scope is called.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stub {
    /// Its kind.
    pub kind: String,
    /// Its id.
    pub id: Uuid,
    /// Its tag or its name; of what has neither, the instant that it is of.
    pub name: String,
}

/// Answers that do not count now: they ran out and could not be settled, or wait to be judged anew.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Unsettled {
    /// Whether there are more than are named: then no answer counts.
    pub more: bool,
    /// Whose answers they are.
    pub records: Vec<UnsettledAnswer>,
}

/// A rig or a piece whose answer does not count now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct UnsettledAnswer {
    /// `rig` or `piece`.
    pub kind: String,
    /// Its id.
    pub id: Uuid,
    /// Whether it waits to be judged anew.
    pub pending: bool,
}

/// A copy of the records of a scope. Plain data: the caller stores it whole, the token together with the records.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Replica {
    /// What it is a copy of: `agency`, or a list such as `station:<id>,rig:<id>`.
    pub scope: String,
    /// Where it goes on; none before the first page.
    pub token: Option<String>,
    /// The agency's revision that it has been brought to.
    pub revision: i64,
    /// Whether it has been read to the end at least once: before that, what it lacks may exist all the same.
    pub whole: bool,
    /// The answers that did not count when the last page was read.
    #[serde(default)]
    pub unsettled: Unsettled,
    /// Kind by kind, the records by id. A rig's standing has the rig's id, a piece's standing the piece's: the key is kind *and* id.
    pub records: BTreeMap<String, BTreeMap<Uuid, Value>>,
    /// Kind by kind and by id, what records outside of the scope are called that records of the scope may name.
    #[serde(default)]
    pub stubs: BTreeMap<String, BTreeMap<Uuid, String>>,
    /// A new copy in the making, after the service asked for one: until it is whole, the old one is better than nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub anew: Option<Box<Self>>,
}

impl Replica {
    /// An empty copy of a scope.
    pub fn of(scope: &str) -> Self {
        Self {
            scope: scope.to_owned(),
            ..Self::default()
        }
    }

    /// The token that the next page is asked with.
    pub fn since(&self) -> Option<&str> {
        self.anew.as_deref().unwrap_or(self).token.as_deref()
    }

    /// Whether the server stood by the answer about a rig (`rig_standing`) or a piece (`piece_standing`) when the last page was read.
    /// Its `holds_until` is looked at besides.
    pub fn counts(&self, kind: &str, id: Uuid) -> bool {
        let named = |kind: &str, id: Uuid| self.unsettled.records.iter().any(|one| one.kind == kind && one.id == id);
        let rig = self.records.get(kind).and_then(|records| records.get(&id)).and_then(|record| record.get("rig"));
        let rig = rig.and_then(Value::as_str).and_then(|rig| rig.parse().ok());
        !(self.unsettled.more || named(kind.trim_end_matches("_standing"), id) || rig.is_some_and(|rig| named("rig", rig)))
    }

    /// Takes a page that was asked with [`Replica::since`]. Taken twice, it does no harm.
    pub fn take(&mut self, page: Page) {
        let Some(anew) = &mut self.anew else { return self.take_own(page) };
        anew.take_own(page);
        if anew.whole {
            *self = std::mem::take(&mut **anew);
        }
    }

    fn take_own(&mut self, page: Page) {
        for change in page.changes {
            match (change.record, change.gone) {
                (Some(record), None) => {
                    self.records.entry(change.kind).or_default().insert(change.id, record);
                }
                _ => {
                    if let Some(records) = self.records.get_mut(&change.kind) {
                        records.remove(&change.id);
                    }
                }
            }
        }
        for stub in page.stubs {
            self.stubs.entry(stub.kind).or_default().insert(stub.id, stub.name);
        }
        self.token = Some(page.next);
        self.unsettled = page.unsettled;
        self.revision = page.revision;
        self.whole |= !page.more;
    }

    /// Starts again without a token, because the service cannot follow the one that was kept. The records stay to be looked
    /// at until the new copy is whole.
    pub fn start_again(&mut self) {
        if self.whole {
            self.anew = Some(Box::new(Self::of(&self.scope)));
        } else {
            *self = Self::of(&self.scope);
        }
    }

    /// Takes the places that a refusal says are not there out of the scope, and starts anew with the others. False when none is left:
    /// a person chooses another scope.
    pub fn leave_out(&mut self, problem: &Problem) -> bool {
        let gone = |place: &&str| problem.errors.iter().any(|fault| fault.field == *place);
        let left: Vec<&str> = self.scope.split(',').filter(|place| !gone(place)).collect();
        let left = left.join(",");
        if left.is_empty() || left == self.scope {
            return false;
        }
        self.scope = left;
        self.start_again();
        true
    }

    /// What a record outside of the scope is called, where a record of the scope may name it.
    pub fn stub(&self, kind: &str, id: Uuid) -> Option<&str> {
        self.stubs.get(kind)?.get(&id).map(String::as_str)
    }

    /// The records of a kind.
    pub fn kind(&self, kind: &str) -> impl Iterator<Item = (&Uuid, &Value)> {
        self.records.get(kind).into_iter().flatten()
    }

    /// One record as it came.
    pub fn get(&self, kind: &str, id: Uuid) -> Option<&Value> {
        self.records.get(kind)?.get(&id)
    }

    /// One record as a type of the caller's.
    pub fn read<T: DeserializeOwned>(&self, kind: &str, id: Uuid) -> Result<Option<T>, serde_json::Error> {
        self.get(kind, id).map(T::deserialize).transpose()
    }
}

impl Client {
    /// One page of what has changed since a token; without one, of everything. One try. For callers that store each page;
    /// [`Client::pull`] does the rest by itself.
    pub async fn page(&self, scope: &str, since: Option<&str>) -> Result<Page, Error> {
        self.page_within(scope, since, 0).await
    }

    /// The same, answered when there is something to tell or after so many seconds, 60 at most.
    async fn page_within(&self, scope: &str, since: Option<&str>, wait: u32) -> Result<Page, Error> {
        let mut query = vec![("limit", PAGE.to_string())];
        if !scope.is_empty() {
            query.push(("scope", scope.to_owned()));
        }
        if wait > 0 {
            query.push(("wait", wait.min(60).to_string()));
        }
        if let Some(since) = since {
            query.push(("since", since.to_owned()));
        }
        let path = Url::parse_with_params("http://none/v1/changes", &query).map_err(|error| Error::Unsendable(error.to_string()))?;
        let path = format!("{}?{}", path.path(), path.query().unwrap_or_default());
        self.get(&path).await
    }

    /// Brings a copy up to date: follows the feed to its end, and starts anew where the service cannot follow the token.
    /// `patience` counts for each page. Pages that were taken stay taken when this fails: store the replica either way.
    pub async fn pull(&self, replica: &mut Replica, patience: Patience) -> Result<(), Error> {
        let mut starts = 0;
        loop {
            let asked = patience.until_answered(async || self.page(&replica.scope, replica.since()).await).await;
            match asked {
                Ok(page) => {
                    let more = page.more;
                    replica.take(page);
                    if !more {
                        return Ok(());
                    }
                }
                Err(Error::Refused(problem)) if problem.code == "resync-required" && starts < FRESH_STARTS => {
                    starts += 1;
                    replica.start_again();
                }
                Err(error) => return Err(error),
            }
        }
    }

    /// Waits until a copy that was brought up to date has changed, so many seconds at most, and takes what is new. For programs
    /// that read no event stream.
    pub async fn wait(&self, replica: &mut Replica, seconds: u32, patience: Patience) -> Result<(), Error> {
        let page = patience
            .until_answered(async || self.page_within(&replica.scope, replica.since(), seconds).await)
            .await;
        match page {
            Ok(page) => replica.take(page),
            // What the token is worth is found out by the pull.
            Err(Error::Refused(problem)) if problem.code == "resync-required" => {}
            Err(error) => return Err(error),
        }
        self.pull(replica, patience).await
    }

    /// The stream that tells when there is something to pull in a scope.
    pub fn live(&self, scope: &str, patience: Patience) -> Live {
        Live::new(self.clone(), scope, patience)
    }
}
