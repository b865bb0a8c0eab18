//! A database that an earlier schema left opens with this one: its records, their history and the past are read, its journal
//! holds, and it is written to.
//!
//! `kept/` has a database of each schema since the first, by the name of its last migration, for both databases, with what the
//! service answered then. `FULLSET_KEEP_SCHEMA=1` keeps one of the schema of now (`make kept`); it is done once for each
//! schema that is released, and not again.

use std::path::{Path, PathBuf};

use chrono::{DateTime, TimeDelta, Utc};
use fullset::{
    platform::{
        db::{Access, Db, Location},
        door,
    },
    slices::{api_keys, members},
};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};

use crate::{
    schema::{columns, indexes, migrations},
    world::{Engine, Ground, World, cluster, county::Set, ground, on, on_rig, run, sql},
};

const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/upgrade/kept");

/// What was told of a kept database when it was kept.
#[derive(Serialize, Deserialize)]
struct Kept {
    /// The instant at which it was left.
    at: DateTime<Utc>,
    /// Who and what is in it. The passwords open nothing else.
    ground: Ground,
    /// What the service answered, by address: what is true of it in every version.
    answers: Map<String, Value>,
    /// Entries of the journal.
    entries: i64,
}

/// What of an answer stays true whatever its shape becomes.
fn facts(value: &Value) -> Value {
    const FIELDS: [&str; 14] = [
        "items",
        "id",
        "rev",
        "revision",
        "tag",
        "name",
        "serial",
        "state",
        "place",
        "rig",
        "station",
        "record",
        "level",
        "districts",
    ];
    match value {
        Value::Array(items) => items.iter().map(facts).collect(),
        Value::Object(fields) => fields
            .iter()
            .filter(|(name, _)| FIELDS.contains(&name.as_str()))
            .map(|(name, value)| (name.clone(), facts(value)))
            .collect(),
        other => other.clone(),
    }
}

fn word(engine: Engine) -> &'static str {
    match engine {
        Engine::Sqlite => "sqlite",
        Engine::Postgres => "postgres.sql",
    }
}

fn file(schema: &str, engine: Engine, ending: &str) -> PathBuf {
    Path::new(KEPT).join(format!("{schema}.{}{ending}", word(engine)))
}

/// What is asked of a kept database: what stands, what happened, and what stood at some revisions.
fn addresses(world: &World, revisions: &[i64]) -> Vec<String> {
    let Set { ram, pump, .. } = world.county().set_1;
    let rig = world.county().engine_1;
    let mut all: Vec<String> = [ram, pump].iter().map(|piece| format!("/v1/pieces/{piece}/history")).collect();
    for revision in revisions {
        all.push(format!("/v1/board?revision={revision}"));
        all.push(format!("/v1/pieces/{ram}?revision={revision}"));
        all.push(format!("/v1/rigs/{rig}?revision={revision}"));
        all.push(format!("/v1/rigs/{rig}/sheet?revision={revision}"));
    }
    for list in ["pieces", "rigs", "stations", "models", "defects", "members"] {
        all.push(format!("/v1/{list}?limit=500"));
    }
    all
}

/// Makes a history in a fresh world, and keeps it.
async fn keep(world: &World, schema: &str) {
    let (county, chief) = (world.county(), world.member("chief"));
    let mut revisions = vec![chief.revision().await];
    for step in 0..4 {
        world.pass(TimeDelta::minutes(20));
        match step {
            0 => drop(chief.take_out(county.set_1.ram, "bent").await.ok()),
            1 => drop(chief.bring(county.twin_cutter, on_rig(county.engine_1)).await.ok()),
            2 => drop(chief.report(county.set_1.pump, "hard to start", "usable").await.ok()),
            _ => {
                let rev = chief.rev(&format!("/v1/pieces/{}", county.set_1.ram)).await;
                drop(world.shop().put_back(county.set_1.ram, rev, "straightened").await.ok());
            }
        }
        revisions.push(chief.revision().await);
    }
    let mut answers = Map::new();
    for address in addresses(world, &revisions) {
        answers.insert(address.clone(), facts(&chief.find(&address).await));
    }
    // The second agency is as large and adds nothing.
    world.forget_agency(world.ground.vale.id);
    let mut ground = world.ground.clone();
    for person in [&mut ground.harrow, &mut ground.vale, &mut ground.bare]
        .into_iter()
        .flat_map(|agency| agency.people.values_mut())
    {
        person.access = String::new();
    }
    let kept = Kept {
        at: world.clock.now(),
        ground,
        answers,
        entries: sql::number(&world.location, "SELECT count(*) AS n FROM journal"),
    };
    std::fs::create_dir_all(KEPT).expect("the folder can be made");
    let text = serde_json::to_string_pretty(&kept).expect("plain data");
    std::fs::write(file(schema, world.engine, ".json"), text).expect("the folder can be written to");
    let to = file(schema, world.engine, "");
    let _ = std::fs::remove_file(&to);
    match &world.location {
        Location::Sqlite(_) => sql::run(&world.location, &format!("VACUUM INTO '{}'", to.display())),
        Location::Postgres(url) => std::fs::write(&to, cluster::dump(url)).expect("the folder can be written to"),
    }
}

#[test]
fn the_schema_of_now_is_kept_when_that_is_asked_for() {
    if std::env::var_os("FULLSET_KEEP_SCHEMA").is_none() {
        return;
    }
    let schema = migrations("sqlite").pop().expect("a migration");
    for engine in [Engine::Sqlite, Engine::Postgres] {
        let schema = schema.clone();
        on(engine, async move |world: &World| keep(world, &schema).await);
    }
}

/// A copy of a kept database.
fn copy(schema: &str, engine: Engine) -> Location {
    let name = format!("u{}", uuid::Uuid::new_v4().simple());
    let kept = file(schema, engine, "");
    match engine {
        Engine::Sqlite => {
            let path = run::dir().join(format!("{name}.sqlite"));
            std::fs::copy(kept, &path).expect("the kept database can be copied");
            Location::Sqlite(path)
        }
        Engine::Postgres => {
            cluster::command(&format!("CREATE DATABASE {name}"));
            let location = Location::Postgres(cluster::url(&name));
            sql::run(&location, &std::fs::read_to_string(kept).expect("the kept database can be read"));
            location
        }
    }
}

/// The schemas that are kept for a database.
fn schemas(engine: Engine) -> Vec<String> {
    let ending = format!(".{}", word(engine));
    let mut names: Vec<String> = std::fs::read_dir(KEPT)
        .expect("tests/upgrade/kept")
        .filter_map(|entry| Some(entry.ok()?.file_name().to_str()?.strip_suffix(&ending)?.to_owned()))
        .collect();
    names.sort();
    assert!(!names.is_empty(), "no database is kept for {engine:?}");
    names
}

async fn opens(schema: &str, engine: Engine) {
    let text = std::fs::read_to_string(file(schema, engine, ".json")).expect("what was told is kept too");
    let Kept { at, ground, answers, entries } = serde_json::from_str(&text).expect("what was kept");
    let world = World::opened(engine, copy(schema, engine), at, ground).await;
    let chief = world.member("chief");
    // Nothing of what was told is told otherwise.
    for (address, told) in &answers {
        assert_eq!(&facts(&chief.find(address).await), told, "{schema} on {engine:?}: {address}");
    }
    // It is written to, on records that the earlier version wrote.
    let ram = world.county().set_1.ram;
    chief.take_out(ram, "bent again").await.ok();
    let newest = &chief.find(&format!("/v1/pieces/{ram}/history")).await["items"][0];
    assert_eq!(
        (&newest["kind"], &newest["record"]["state"]),
        (&json!("piece.take_out"), &json!("out_of_service"))
    );
    let (_, told) = answers
        .iter()
        .find(|(address, _)| address.starts_with(&format!("/v1/pieces/{ram}?")))
        .expect("it was asked of");
    let then = chief.find(&format!("/v1/pieces/{ram}?revision={}", told["rev"])).await;
    assert_eq!(then["state"], told["state"]);
    let mut db = Db::open(&world.location, Access::Read).expect("the database opens");
    let held = door::verify(&mut db, |_| ()).expect("the journal can be read").expect("the journal holds");
    assert!(held > entries, "{held} entries, {entries} were kept");
    // Members and keys are what the commands of the earlier version made of them.
    for agency in door::agencies(&mut db).expect("the agencies") {
        let told = members::MembersTold::read(&mut db, agency).expect("the journal can be read");
        for compared in [members::as_told(&mut db, agency, &told), api_keys::as_told(&mut db, agency, &told)] {
            let compared = compared.expect("they can be compared");
            assert!(compared.findings.is_empty() && compared.unread == 0, "{schema} on {engine:?}: {compared:?}");
        }
    }
    drop(db);
    // Its tables are those of a fresh database. A migration whose database is kept is not changed any more: what changes is another.
    let fresh = Ground::copy(engine);
    assert_eq!(columns(engine, &world.location), columns(engine, &fresh), "{schema}: make another migration");
    assert_eq!(indexes(engine, &world.location), indexes(engine, &fresh), "{schema}: make another migration");
    ground::forget(&fresh);
    world.end().await;
}

#[test]
fn a_database_of_each_kept_schema_opens_on_sqlite() {
    on(Engine::Sqlite, async |_: &World| {
        for schema in schemas(Engine::Sqlite) {
            opens(&schema, Engine::Sqlite).await;
        }
    });
}

#[test]
fn a_database_of_each_kept_schema_opens_on_postgres() {
    on(Engine::Postgres, async |_: &World| {
        for schema in schemas(Engine::Postgres) {
            opens(&schema, Engine::Postgres).await;
        }
    });
}
