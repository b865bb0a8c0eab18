//! The ground of every test: an agency with the county, its people signed in, and a second agency with a county just like
//! it, whose records must never be seen. It is made once in a run through the service itself; each test gets a copy.

use std::{collections::BTreeMap, sync::Arc};

use chrono::Utc;
use fullset::platform::{
    auth::Actor,
    clock::Clock,
    db::{Access, Db, Location},
    door::{self, Command, own_body},
    ids::AgencyId,
};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Engine, Server, begins, client::Client, cluster, county::County, people::Person, run, sql};

/// One agency on the ground.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Agency {
    pub id: Uuid,
    pub county: County,
    pub people: BTreeMap<String, Person>,
}

/// What tests start from.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Ground {
    /// The agency with the county.
    pub harrow: Agency,
    /// Another agency with a county just like it.
    pub vale: Agency,
    /// An agency that has just been founded.
    pub bare: Agency,
}

impl Ground {
    /// The ground on a database; made by the first test of the run that needs it.
    pub async fn on(engine: Engine) -> Self {
        let name = match engine {
            Engine::Sqlite => "ground-on-sqlite",
            Engine::Postgres => "ground-on-postgres",
        };
        let text = run::once_told(name, async || serde_json::to_string(&make(engine).await).expect("plain data")).await;
        serde_json::from_str(&text).expect("what was written")
    }

    /// A fresh copy of the ground's database.
    pub fn copy(engine: Engine) -> Location {
        let name = format!("w{}", Uuid::new_v4().simple());
        match engine {
            Engine::Sqlite => {
                let path = run::dir().join(format!("{name}.sqlite"));
                std::fs::copy(run::dir().join("ground.sqlite"), &path).expect("the ground can be copied");
                Location::Sqlite(path)
            }
            Engine::Postgres => {
                cluster::command(&format!("CREATE DATABASE {name} TEMPLATE ground STRATEGY file_copy"));
                Location::Postgres(cluster::url(&name))
            }
        }
    }
}

/// Takes a copy away.
pub fn forget(location: &Location) {
    // A test may have taken its photos away.
    let _ = std::fs::remove_dir_all(super::photos_of(location));
    match location {
        Location::Sqlite(path) => {
            for beside in ["", "-wal", "-shm"] {
                // Where the last connection is closed, only the file itself is left.
                let _ = std::fs::remove_file(format!("{}{beside}", path.display()));
            }
        }
        Location::Postgres(url) => {
            let name = url.rsplit('/').next().expect("a database's name");
            cluster::command(&format!("DROP DATABASE {name} WITH (FORCE)"));
        }
    }
}

async fn make(engine: Engine) -> Ground {
    let location = match engine {
        Engine::Sqlite => Location::Sqlite(run::dir().join("raw.sqlite")),
        Engine::Postgres => {
            cluster::command("CREATE DATABASE ground");
            Location::Postgres(cluster::url("ground"))
        }
    };
    let mut ground = Ground {
        harrow: agency("harrow", true),
        vale: agency("vale", true),
        bare: agency("bare", false),
    };
    let clock = Clock::manual(begins());
    for agency in [&ground.harrow, &ground.vale, &ground.bare] {
        found(&location, &clock, agency).await;
    }
    let server = Server::start(&location, &clock).await;
    let http = reqwest::Client::new();
    for (agency, furnished) in [(&mut ground.harrow, true), (&mut ground.vale, true), (&mut ground.bare, false)] {
        let admin = Client::new(&server.base, &http, &clock, &agency.people["admin"]);
        if furnished {
            admin.apply(agency.county.commands()).await;
        }
        let members = agency
            .people
            .iter()
            .filter(|(name, _)| *name != "admin")
            .map(|(_, person)| super::client::command("member.add", person.body()));
        admin.apply(members.collect()).await;
        for person in agency.people.values_mut() {
            let session = Client::new(&server.base, &http, &clock, person).sign_in().await.ok();
            person.access = session["access_token"].as_str().expect("a token").to_owned();
            person.issued = begins();
        }
    }
    server.stop().await;
    settle(engine, &location);
    ground
}

fn agency(name: &str, bounded: bool) -> Agency {
    let county = County::new();
    let mut people: BTreeMap<String, Person> = ["admin", "coordinator", "chief", "shop", "officer", "crew"]
        .into_iter()
        .map(|role| (role.to_owned(), Person::new(name, &format!("{role} all"), role)))
        .collect();
    if bounded {
        for (key, person) in [
            ("crew_1", Person::new(name, "Cruz One", "crew").at(county.station_1)),
            ("crew_2", Person::new(name, "Tove Two", "crew").at(county.station_2)),
            ("officer_1", Person::new(name, "Odal One", "officer").at(county.station_1)),
            ("chief_north", Person::new(name, "Nell North", "chief").over(county.north)),
        ] {
            people.insert(key.to_owned(), person);
        }
    }
    Agency {
        id: Uuid::now_v7(),
        county,
        people,
    }
}

/// Founds an agency as `fullset setup` does, but at the tests' own time.
async fn found(location: &Location, clock: &Clock, agency: &Agency) {
    Db::make(location).expect("a file can be made");
    let door = fullset::app::door(location, clock.clone()).expect("the door opens");
    let id = AgencyId(agency.id);
    let mut db = Db::open(location, Access::Write).expect("the database opens");
    door::found(&mut db, id, clock.now()).expect("an agency can be founded");
    let name = agency.people["admin"].email.split(['@', '.']).rev().nth(1).map(str::to_owned);
    let service = Actor::service(id, "setup");
    let admin = Actor {
        role: fullset::platform::auth::Role::Admin,
        ..service.clone()
    };
    let founding = json!({ "name": name, "time_zone": "America/Denver", "units": "us" });
    for (actor, kind, body) in [(service, "agency.found", founding), (admin, "member.add", agency.people["admin"].body())] {
        sent(&door, actor, kind, &body, clock.now()).await;
    }
}

async fn sent(door: &door::Door, actor: Actor, kind: &str, body: &Value, at: chrono::DateTime<Utc>) {
    let body = own_body(body).expect("plain data");
    let command = Command {
        id: Uuid::now_v7(),
        kind: kind.to_owned(),
        at: Some(at),
        expects: None,
        after: None,
        by: None,
        body,
    };
    let batch = door.send(Arc::new(actor), Some(at), vec![command]).await.expect("the door answers");
    assert!(batch.answers.iter().all(door::Answer::took_effect), "{kind}: {batch:?}");
}

/// Leaves the database so that it can be copied: closed, and with nothing beside it.
fn settle(engine: Engine, location: &Location) {
    match engine {
        Engine::Sqlite => {
            let copy = run::dir().join("ground.sqlite");
            sql::run(location, &format!("VACUUM INTO '{}'", copy.display()));
        }
        Engine::Postgres => {
            cluster::command("ALTER DATABASE ground ALLOW_CONNECTIONS false");
            cluster::command("SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = 'ground'");
        }
    }
}
