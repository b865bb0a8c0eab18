//! What all phones of a run share: the servers, which are killed and started again, the air between, and what was seen.

use std::{
    collections::BTreeMap,
    sync::{
        Arc, Mutex, PoisonError, RwLock,
        atomic::{AtomicBool, AtomicI64, AtomicUsize, Ordering},
    },
    time::Duration,
};

use fullset::platform::{clock::Clock, db::Location};
use serde_json::{Value, json};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use uuid::Uuid;

use super::{
    broken::Broken,
    plan::{Order, Plan},
};
use crate::{
    sync::{belongs::Scope, model::Act},
    world::{
        Agency, Client, command,
        county::piece,
        on_shelf,
        process::{self, Process},
        sql,
    },
};

/// One command with what became of it.
#[derive(Debug, Clone)]
pub struct Told {
    pub act: Arc<Act>,
    pub outcome: String,
    pub code: String,
    pub revision: Option<i64>,
    /// For a conflict: the record as it stood.
    pub current: Value,
    /// It was decided at this revision or later...
    pub low: i64,
    /// ...and, with one server, at this one or earlier.
    pub high: Option<i64>,
}

/// A record on a page: kind, id, revision.
pub type Key = (String, String, i64);

/// What was read from pages.
#[derive(Debug, Default)]
pub struct Pages {
    /// Each state of a record that was ever told.
    pub told: BTreeMap<Key, Value>,
    /// For each page its revision and which states it told.
    pub seen: Vec<(i64, Vec<Key>)>,
}

/// How often things happened, by name.
pub type Counts = BTreeMap<&'static str, usize>;

/// A run's fleet.
pub struct Fleet {
    pub location: Location,
    agency: Uuid,
    pub scopes: Vec<Scope>,
    pub broken: Option<Broken>,
    pub told: Mutex<Vec<Told>>,
    pub pages: Mutex<Pages>,
    http: reqwest::Client,
    tokens: BTreeMap<String, String>,
    servers: Vec<Mutex<Option<Process>>>,
    bases: Vec<RwLock<String>>,
    orders: Vec<(usize, Order)>,
    send: Mutex<Option<UnboundedSender<Order>>>,
    requests: AtomicUsize,
    latest: AtomicI64,
    /// Feed tokens from before this revision need not be followed.
    horizon: AtomicI64,
    /// Whether states that were replaced have been forgotten.
    pub forgets_states: AtomicBool,
    counts: Mutex<Counts>,
    faults: Mutex<Vec<String>>,
}

fn lock<T>(of: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What phones follow: the agency, and places alone and together.
fn scopes(agency: &Agency) -> Vec<Scope> {
    let county = &agency.county;
    let (district, station, rig, shop) = (|id| ("district", id), |id| ("station", id), |id| ("rig", id), |id| ("shop", id));
    [
        vec![],
        vec![],
        vec![district(county.north)],
        vec![district(county.south)],
        vec![station(county.station_1)],
        vec![station(county.station_2)],
        vec![station(county.station_3)],
        vec![rig(county.engine_1)],
        vec![rig(county.truck_3)],
        vec![station(county.station_1), station(county.station_3)],
        vec![district(county.south), rig(county.engine_1)],
        vec![rig(county.engine_1), rig(county.engine_2), station(county.station_2)],
        vec![shop(county.shop)],
        vec![shop(county.shop), station(county.station_1)],
    ]
    .map(Scope)
    .into()
}

/// More rigs and reserves than the county of other tests has, so that a fleet has something to do.
fn furniture(agency: &Agency) -> Vec<Value> {
    let county = &agency.county;
    let mut all = Vec::new();
    for (n, station) in [county.station_1, county.station_2, county.station_3].into_iter().enumerate() {
        let rig = json!({ "id": Uuid::now_v7(), "name": format!("Reserve {n}"), "station": station, "rig_class": county.engine_class });
        all.push(command("rig.add", rig));
        for of in 0..5 {
            let model = [county.models.cutter, county.models.hose, county.models.ram, county.models.spreader][of % 4];
            all.push(piece(Uuid::now_v7(), &format!("F-{n}-{of}"), model, on_shelf(station)));
        }
    }
    all
}

impl Fleet {
    /// Starts the servers and furnishes the county.
    pub async fn start(plan: &Plan, location: &Location, agency: &Agency) -> (Arc<Self>, UnboundedReceiver<Order>) {
        let servers: Vec<Process> = (0..plan.set_up.servers()).map(|_| Process::serve(location)).collect();
        let bases = servers.iter().map(|server| RwLock::new(server.base.clone())).collect();
        let (send, receive) = unbounded_channel();
        // Nothing takes so long: a request that does is a service that hangs.
        let http = reqwest::Client::builder().timeout(Duration::from_secs(60)).build().expect("a client");
        let mut tokens = BTreeMap::new();
        for role in ["crew", "officer", "coordinator"] {
            let client = Client::new(&servers[0].base, &http, &Clock::system(), &agency.people[role]);
            tokens.insert(role.to_owned(), client.access().await);
            if role == "coordinator" {
                client.apply(furniture(agency)).await;
            }
        }
        let fleet = Self {
            location: location.clone(),
            scopes: scopes(agency),
            broken: plan.broken,
            told: Mutex::default(),
            pages: Mutex::default(),
            http,
            tokens,
            servers: servers.into_iter().map(|server| Mutex::new(Some(server))).collect(),
            bases,
            orders: plan.orders.clone(),
            send: Mutex::new(Some(send)),
            requests: AtomicUsize::new(0),
            latest: AtomicI64::new(0),
            horizon: AtomicI64::new(0),
            forgets_states: AtomicBool::new(false),
            agency: agency.id,
            counts: Mutex::default(),
            faults: Mutex::default(),
        };
        (Arc::new(fleet), receive)
    }

    /// A member's program at a server.
    pub fn client(&self, agency: &Agency, name: &str) -> Client {
        Client::new(&self.base(0), &self.http, &Clock::system(), &agency.people[name])
    }

    fn base(&self, server: usize) -> String {
        self.bases[server % self.bases.len()].read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Carries out what befalls the service, until told that it is over.
    pub async fn fate(self: Arc<Self>, mut orders: UnboundedReceiver<Order>) {
        while let Some(order) = orders.recv().await {
            let fleet = Arc::clone(&self);
            let done = tokio::task::spawn_blocking(move || match order {
                Order::Kill(server) => fleet.kill(server),
                Order::Compact { deleted, past } => fleet.compact(deleted, past),
            });
            done.await.expect("a server starts again");
        }
    }

    fn kill(&self, server: usize) {
        let mut place = lock(&self.servers[server]);
        if let Some(server) = place.take() {
            server.kill();
        }
        let new = Process::serve(&self.location);
        *self.bases[server].write().unwrap_or_else(PoisonError::into_inner) = new.base.clone();
        *place = Some(new);
        self.count("kills");
    }

    /// Whether the service may have forgotten what came before a revision.
    pub fn has_forgotten(&self, revision: i64) -> bool {
        revision < self.horizon.load(Ordering::SeqCst)
    }

    /// How many servers there are.
    pub fn servers(&self) -> usize {
        self.servers.len()
    }

    /// Has what is older than this instant forgotten: what tells that a record is gone, replaced states, or both.
    fn compact(&self, deleted: bool, past: bool) {
        let before = self.horizon.swap(i64::MAX, Ordering::SeqCst);
        let mut said = process::command("compact", &self.location);
        said.args(deleted.then_some(["--keep-deleted-days", "0"]).into_iter().flatten());
        said.args(past.then_some(["--keep-past-days", "0"]).into_iter().flatten());
        let said = said.output().expect("the service starts");
        if !said.status.success() {
            self.fault(format!("compaction failed: {}", String::from_utf8_lossy(&said.stderr)));
        }
        let own = sql::id(&self.location, self.agency);
        let horizon = sql::number(&self.location, &format!("SELECT horizon AS n FROM agency WHERE id = {own}"));
        if horizon < before || (deleted && horizon == 0) {
            self.fault(format!("the horizon went from {before} to {horizon}"));
        }
        self.horizon.store(horizon, Ordering::SeqCst);
        if deleted {
            self.count("compactions");
        }
        if past {
            self.count("compactions of states");
            self.forgets_states.store(true, Ordering::SeqCst);
        }
    }

    /// Counts a request, and sets off what was planned for this one.
    fn passes(&self) {
        let number = self.requests.fetch_add(1, Ordering::SeqCst);
        for (_, order) in self.orders.iter().filter(|(at, _)| *at == number) {
            if let Some(send) = &*lock(&self.send) {
                send.send(*order).expect("fate listens until it is over");
            }
        }
    }

    /// From now on nothing befalls the service any more.
    pub fn is_over(&self) {
        drop(lock(&self.send).take());
    }

    async fn answer(&self, request: reqwest::RequestBuilder) -> Option<(u16, Value)> {
        self.passes();
        let answer = match request.send().await {
            Ok(answer) => answer,
            Err(error) => {
                if error.is_timeout() {
                    self.fault(format!("no answer, and no end of the connection: {error}"));
                }
                return None;
            }
        };
        let status = answer.status().as_u16();
        let text = answer.bytes().await.ok()?;
        match serde_json::from_slice(&text) {
            Ok(value) => Some((status, value)),
            Err(error) => {
                self.fault(format!("{status} without JSON: {error}"));
                None
            }
        }
    }

    /// Asks a server; nothing when no answer came.
    pub async fn get(&self, server: usize, role: &str, path: &str) -> Option<(u16, Value)> {
        let request = self.http.get(format!("{}{path}", self.base(server))).bearer_auth(&self.tokens[role]);
        self.answer(request).await
    }

    /// Sends a batch to a server; nothing when no answer came, or none that counts.
    pub async fn post(&self, server: usize, role: &str, body: &Value) -> Option<Value> {
        let request = self
            .http
            .post(format!("{}/v1/commands", self.base(server)))
            .bearer_auth(&self.tokens[role])
            .json(body);
        match self.answer(request).await? {
            (200, answer) => Some(answer),
            // Busy, or too many at once in one name: it is sent again.
            (429 | 503, _) => None,
            (status, answer) => {
                self.fault(format!("a batch was answered {status} {answer}"));
                None
            }
        }
    }

    /// The highest revision that anybody has heard of.
    pub fn latest(&self) -> i64 {
        self.latest.load(Ordering::SeqCst)
    }

    /// Somebody has heard of a revision.
    pub fn heard(&self, revision: i64) {
        self.latest.fetch_max(revision, Ordering::SeqCst);
    }

    pub fn tell(&self, told: Told) {
        lock(&self.told).push(told);
    }

    /// Remembers what a page told, for the check that it was a state that existed.
    pub fn saw(&self, page: &Value) {
        let mut pages = lock(&self.pages);
        let mut keys = Vec::new();
        for change in page["changes"].as_array().into_iter().flatten() {
            self.count(match change["gone"].as_str() {
                None => "records read",
                Some("deleted") => "gone: deleted",
                Some(_) => "gone: out of scope",
            });
            let word = |field: &str| change[field].as_str().unwrap_or_default().to_owned();
            let key = (word("kind"), word("id"), change["rev"].as_i64().unwrap_or_default());
            if change["gone"].is_null() {
                let known = pages.told.entry(key.clone()).or_insert_with(|| change["record"].clone());
                if *known != change["record"] {
                    self.fault(format!("two states at one revision: {known} and {}", change["record"]));
                }
                keys.push(key);
            }
        }
        let revision = page["revision"].as_i64().unwrap_or_default();
        self.heard(revision);
        pages.seen.push((revision, keys));
    }

    pub fn count(&self, what: &'static str) {
        *lock(&self.counts).entry(what).or_default() += 1;
    }

    pub fn counts(&self) -> Counts {
        lock(&self.counts).clone()
    }

    pub fn fault(&self, words: String) {
        lock(&self.faults).push(words);
    }

    pub fn faults(&self) -> Vec<String> {
        lock(&self.faults).clone()
    }
}
