//! The world of a test: a service on a fresh database with the county in it, a clock that the test moves, and people.
//!
//! `on_both!(a_sentence, async |world: &World| { ... });` makes two tests of it, one on each database.

pub mod acts;
pub mod client;
pub mod cluster;
pub mod county;
pub mod device;
pub mod ground;
pub mod people;
pub mod process;
pub mod rng;
pub mod run;
pub mod sql;

use std::{future::Future, net::TcpListener, panic::AssertUnwindSafe, path::PathBuf, pin::Pin, time::Duration};

use chrono::{DateTime, TimeDelta, TimeZone as _, Utc};
use fullset::{
    app::{self, Settings},
    platform::{
        auth::RelyingParty,
        backup::{LEFT_OUT, TABLES},
        clock::Clock,
        db::Location,
        http::CorsOrigins,
    },
    slices::{photos::PhotoPlace, receivers::Outward},
};
use futures_util::FutureExt as _;
use uuid::Uuid;

pub use client::{Client, Reply, command, expecting};
pub use county::{County, in_shop, on_rig, on_shelf, on_the_way};
pub use ground::{Agency, Ground};
pub use rng::Rng;

/// Which database is under test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    Sqlite,
    Postgres,
}

/// The address that people open the service under, as it is told.
pub const PUBLIC: &str = "https://fullset.harrow.example";

/// When every test begins.
pub fn begins() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, 11, 25, 14, 0, 0).unwrap()
}

/// Makes a test on each database out of one.
macro_rules! on_both {
    ($(#[$doc:meta])* $name:ident, $test:expr) => {
        $(#[$doc])*
        mod $name {
            #[allow(unused_imports)]
            use super::*;

            #[test]
            fn on_sqlite() {
                $crate::world::on($crate::world::Engine::Sqlite, $test);
            }

            #[test]
            fn on_postgres() {
                $crate::world::on($crate::world::Engine::Postgres, $test);
            }
        }
    };
}
pub(crate) use on_both;

/// Runs a test in a world of its own, and clears up after it however it ends.
pub fn on(engine: Engine, test: impl AsyncFnOnce(&World)) {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("threads start");
    runtime.block_on(async {
        let world = World::fresh(engine).await;
        let outcome = AssertUnwindSafe(test(&world)).catch_unwind().await;
        world.end().await;
        if let Err(panic) = outcome {
            std::panic::resume_unwind(panic);
        }
    });
}

/// The service, answering.
pub struct Server {
    pub base: String,
    stop: Pin<Box<dyn Future<Output = ()>>>,
    task: tokio::task::JoinHandle<std::io::Result<()>>,
}

impl Server {
    /// Starts the service on a free port. It tells nobody of changes.
    pub async fn start(location: &Location, clock: &Clock) -> Self {
        Self::telling(location, clock, Outward::Off).await
    }

    /// Starts the service on a free port, with this setting of where messages about changes go.
    pub async fn telling(location: &Location, clock: &Clock, outward: Outward) -> Self {
        Self::with(location, clock, |settings| Settings { outward, ..settings }).await
    }

    /// Starts the service on a free port, with other settings than tests usually have. It tells nobody of changes, unless they say so.
    pub async fn with(location: &Location, clock: &Clock, change: impl FnOnce(Settings) -> Settings) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let base = format!("http://{}", listener.local_addr().expect("an address"));
        let settings = Settings {
            clock: clock.clone(),
            photos: PhotoPlace::Folder(photos_of(location)),
            cors: CorsOrigins::read(vec!["https://map.example".into()]).expect("an origin"),
            party: Some(RelyingParty::read(PUBLIC).expect("an address")),
            readers: 4,
            workers: 2,
            outward: Outward::Off,
            ..Settings::new(location.clone())
        };
        let running = app::start(listener, change(settings)).await;
        let running = running.unwrap_or_else(|fault| {
            let cause = fault.downcast_ref::<fullset::platform::error::Fault>().map(|fault| &fault.cause);
            panic!("the service starts: {fault}: {cause:?}")
        });
        let handle = running.handle.clone();
        let task = tokio::spawn(running.server);
        Self {
            base,
            stop: Box::pin(async move { handle.stop(false).await }),
            task,
        }
    }

    /// Stops it.
    pub async fn stop(self) {
        self.stop.await;
        self.task.await.expect("the service did not panic").expect("the service ended well");
    }
}

/// The folder of a database's photos.
pub fn photos_of(location: &Location) -> PathBuf {
    match location {
        Location::Sqlite(path) => format!("{}.photos", path.display()).into(),
        Location::Postgres(url) => run::dir().join(format!("{}.photos", url.rsplit('/').next().expect("a database's name"))),
    }
}

/// A test's world.
pub struct World {
    pub engine: Engine,
    pub location: Location,
    pub clock: Clock,
    pub server: Server,
    pub http: reqwest::Client,
    pub ground: Ground,
}

impl World {
    async fn fresh(engine: Engine) -> Self {
        let ground = Ground::on(engine).await;
        Self::opened(engine, Ground::copy(engine), begins(), ground).await
    }

    /// The service on a database that is there, at an instant.
    pub async fn opened(engine: Engine, location: Location, at: DateTime<Utc>, ground: Ground) -> Self {
        let clock = Clock::manual(at);
        let server = Server::start(&location, &clock).await;
        Self {
            engine,
            location,
            clock,
            server,
            http: reqwest::Client::new(),
            ground,
        }
    }

    /// Stops its service and takes its database away.
    pub async fn end(self) {
        self.server.stop().await;
        ground::forget(&self.location);
    }

    /// The agency that the test is about.
    pub fn agency(&self) -> &Agency {
        &self.ground.harrow
    }

    /// Its county.
    pub fn county(&self) -> &County {
        &self.ground.harrow.county
    }

    /// A member: `admin`, `coordinator`, `chief`, `shop`, `officer` or `crew` of the whole agency; `crew_1`, `crew_2` and
    /// `officer_1` of a station; `chief_north` of a district.
    pub fn member(&self, name: &str) -> Client {
        self.member_of(&self.ground.harrow, name)
    }

    /// A member of any agency.
    pub fn member_of(&self, agency: &Agency, name: &str) -> Client {
        self.member_at(&self.server, agency, name)
    }

    /// A member at any server.
    pub fn member_at(&self, server: &Server, agency: &Agency, name: &str) -> Client {
        Client::new(
            &server.base,
            &self.http,
            &self.clock,
            agency.people.get(name).unwrap_or_else(|| panic!("nobody is called {name}")),
        )
    }

    pub fn admin(&self) -> Client {
        self.member("admin")
    }

    pub fn coordinator(&self) -> Client {
        self.member("coordinator")
    }

    pub fn shop(&self) -> Client {
        self.member("shop")
    }

    pub fn officer(&self) -> Client {
        self.member("officer")
    }

    pub fn crew(&self) -> Client {
        self.member("crew")
    }

    /// Moves the clock on.
    pub fn pass(&self, time: TimeDelta) {
        self.clock.set(self.clock.now() + time);
    }

    /// Asks without a token.
    pub async fn nobody(&self, method: &str, path: &str) -> Reply {
        let request = self.http.request(method.parse().expect("a method"), format!("{}{path}", self.server.base));
        Reply::of(format!("nobody {method} {path}"), request).await
    }

    /// How many entries the journal of the agency under test has.
    pub fn journal_length(&self) -> i64 {
        sql::number(
            &self.location,
            &format!("SELECT count(*) AS n FROM journal WHERE agency = {}", self.id(self.agency().id)),
        )
    }

    /// Takes an agency away, from every table.
    pub fn forget_agency(&self, id: Uuid) {
        let left_out = LEFT_OUT
            .iter()
            .map(|(table, _)| *table)
            .filter(|table| !["signing_key", "push_key"].contains(table));
        for table in left_out.chain(TABLES.iter().rev().copied()) {
            let column = if table == "agency" { "id" } else { "agency" };
            sql::run(&self.location, &format!("DELETE FROM {table} WHERE {column} = {}", self.id(id)));
        }
    }

    /// An id as the database's SQL writes it.
    pub fn id(&self, id: Uuid) -> String {
        sql::id(&self.location, id)
    }
}

/// Asks again until the answer is there, or fails at the deadline. For what the service does by itself.
pub async fn soon<T>(what: &str, mut ask: impl AsyncFnMut() -> Option<T>) -> T {
    let deadline = tokio::time::Instant::now() + Duration::from_secs(15);
    loop {
        if let Some(found) = ask().await {
            return found;
        }
        assert!(tokio::time::Instant::now() < deadline, "it has not happened: {what}");
        tokio::time::sleep(Duration::from_millis(25)).await;
    }
}
