//! Both databases have the same tables, and the same migrations by name; diesel sees the tables as they are.

use std::{collections::BTreeSet, path::Path};

use fullset::platform::db::Location;
use serde_json::json;
use uuid::Uuid;

use crate::world::{Engine, World, command, on, on_both, soon, sql};

const MIGRATIONS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../migrations");

/// Of every table each column, with whether it may be empty and whether it is part of the key.
pub fn columns(engine: Engine, location: &Location) -> BTreeSet<String> {
    let query = match engine {
        Engine::Sqlite => {
            "SELECT m.name || '.' || c.name || CASE WHEN c.\"notnull\" = 1 THEN ' needed' ELSE ' maybe' END || CASE WHEN c.pk > 0 THEN ' key ' || c.pk ELSE '' END AS t
             FROM sqlite_schema m, pragma_table_info(m.name) c WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%'"
        }
        Engine::Postgres => {
            "SELECT c.table_name || '.' || c.column_name || CASE WHEN c.is_nullable = 'NO' THEN ' needed' ELSE ' maybe' END
                    || coalesce((SELECT ' key ' || k.ordinal_position FROM information_schema.table_constraints t
                                 JOIN information_schema.key_column_usage k USING (constraint_schema, constraint_name)
                                 WHERE t.constraint_type = 'PRIMARY KEY' AND k.table_name = c.table_name AND k.column_name = c.column_name), '') AS t
             FROM information_schema.columns c JOIN information_schema.tables b USING (table_schema, table_name)
             WHERE c.table_schema = 'public' AND b.table_type = 'BASE TABLE'"
        }
    };
    sql::texts(location, query)
        .into_iter()
        .filter(|column| !column.starts_with("__diesel"))
        .collect()
}

/// The indexes by name, each with whether it is unique.
pub fn indexes(engine: Engine, location: &Location) -> BTreeSet<String> {
    let query = match engine {
        Engine::Sqlite => "SELECT i.name || CASE WHEN i.\"unique\" = 1 THEN ' unique' ELSE '' END AS t FROM sqlite_schema m, pragma_index_list(m.name) i WHERE m.type = 'table' AND i.origin = 'c'",
        Engine::Postgres => {
            "SELECT c.relname || CASE WHEN i.indisunique THEN ' unique' ELSE '' END AS t FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
             JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = 'public' AND NOT EXISTS (SELECT FROM pg_constraint k WHERE k.conindid = i.indexrelid)"
        }
    };
    sql::texts(location, query).into_iter().collect()
}

fn on_each<T: Send + 'static>(look: fn(Engine, &Location) -> T) -> [T; 2] {
    [Engine::Sqlite, Engine::Postgres].map(|engine| {
        let (tell, told) = std::sync::mpsc::channel();
        on(engine, async |world: &World| {
            tell.send(look(world.engine, &world.location)).expect("somebody listens")
        });
        told.recv().expect("it was told")
    })
}

#[test]
fn both_databases_have_the_same_columns() {
    let [sqlite, postgres] = on_each(columns);
    assert!(sqlite.len() > 50, "{sqlite:?}");
    assert_eq!(sqlite, postgres);
}

#[test]
fn both_databases_have_the_same_indexes() {
    let [sqlite, postgres] = on_each(indexes);
    assert!(sqlite.len() > 5, "{sqlite:?}");
    assert_eq!(sqlite, postgres);
}

/// A register has just been read in, and nobody has told PostgreSQL how large its tables are now.
#[test]
fn a_record_is_looked_up_by_its_key_in_a_table_that_has_just_grown() {
    const GROWN: &str = "
        CREATE FUNCTION plan(query text) RETURNS SETOF text LANGUAGE plpgsql AS $$ BEGIN RETURN QUERY EXECUTE 'EXPLAIN ' || query; END $$;
        INSERT INTO record (agency, kind, id, rev, gone, label, state, body)
        SELECT a.id, 'piece', gen_random_uuid(), n, false, 'S-' || n, 'in_service', '{}'
        FROM generate_series(1, 20000) n, (SELECT id FROM agency LIMIT 1) a";
    const BY_KEY: &str = "SELECT plan('SELECT * FROM record
        WHERE agency = (SELECT id FROM agency LIMIT 1) AND kind = ''piece'' AND id = ''01a22818-da7f-7411-8db2-b79297688957'' ') AS t";
    on(Engine::Postgres, async |world: &World| {
        sql::run(&world.location, GROWN);
        let plan = sql::texts(&world.location, BY_KEY).join("\n");
        assert!(plan.contains("using record_pkey"), "{plan}");
    });
}

/// What a batch of new pieces asks of a register of 20,000: by PostgreSQL's own count of the rows that its indexes and scans gave out.
#[test]
fn a_batch_of_new_pieces_reads_no_more_of_a_register_that_is_large() {
    const GROWN: &str = "INSERT INTO record (agency, kind, id, rev, gone, label, uniq, state, body)
        SELECT a.id, 'piece', gen_random_uuid(), n, false, 'S-' || n, 's-' || n, 'in_service', '{}'
        FROM generate_series(1, 20000) n, (SELECT id FROM agency LIMIT 1) a";
    const COUNTED: &str = "SELECT n_tup_ins || ' ' || seq_tup_read + coalesce(idx_tup_fetch, 0) AS t FROM pg_stat_user_tables WHERE relname = 'record'";
    on(Engine::Postgres, async |world: &World| {
        let counted = || {
            let told = sql::texts(&world.location, COUNTED).remove(0);
            let (written, read) = told.split_once(' ').expect("two numbers");
            [written, read].map(|number| number.parse::<u64>().expect("a number"))
        };
        sql::run(&world.location, GROWN);
        let coordinator = world.coordinator();
        let first = async |path: &str| coordinator.list(path).await.remove(0)["id"].clone();
        let (model, station) = (first("/v1/models").await, first("/v1/stations").await);
        let [_, before] = soon("the growth is counted", async || Some(counted()).filter(|[written, _]| *written >= 20_000)).await;
        let add = |n: usize| {
            let body = json!({ "id": Uuid::now_v7(), "tag": format!("B-{n}"), "model": model, "place": { "at": "shelf", "station": station } });
            command("piece.add", body)
        };
        let answers = coordinator.send((0..50).map(add).collect()).await.ok()["answers"].take();
        assert!(answers.as_array().unwrap().iter().all(|answer| answer["outcome"] == "applied"), "{answers}");
        let [_, after] = soon("the batch is counted", async || Some(counted()).filter(|[written, _]| *written >= 20_050)).await;
        assert!(after - before < 5_000, "{} rows were read", after - before);
    });
}

#[test]
fn every_table_begins_its_key_with_the_agency_or_belongs_to_none() {
    let [sqlite, _] = on_each(columns);
    let keys: BTreeSet<&str> = sqlite
        .iter()
        .filter(|column| column.ends_with(" key 1"))
        .map(|column| column.split(' ').next().unwrap())
        .collect();
    let of_no_agency = BTreeSet::from(["agency.id", "push_key.kid", "refresh_token.token_hash", "signing_key.kid"]);
    let others: BTreeSet<&str> = keys.into_iter().filter(|key| !key.ends_with(".agency")).collect();
    assert_eq!(others, of_no_agency);
}

macro_rules! seen_by_diesel {
    ($($table:ident),*) => {
        [$((stringify!($table), diesel::debug_query::<diesel::sqlite::Sqlite, _>(&{
            use diesel::{QueryDsl as _, Table as _};
            use fullset::platform::db::schema::$table::table;
            table.select(table::all_columns())
        }).to_string())),*]
    };
}

#[test]
fn diesel_sees_the_tables_as_they_are() {
    let [sqlite, _] = on_each(columns);
    let there: BTreeSet<String> = sqlite.iter().map(|column| column.split(' ').next().unwrap().to_owned()).collect();
    let mut seen = BTreeSet::new();
    for (table, query) in seen_by_diesel!(
        agency,
        record,
        departure,
        replaced,
        journal,
        standing,
        lapse,
        credential,
        refresh_token,
        signing_key,
        photo,
        photo_part,
        enrolment,
        pin,
        piece_run,
        trial_sheet,
        calendar_secret,
        receiver_secret,
        telling,
        sign_in,
        access_link,
        second_factor,
        recovery_code,
        access_event,
        passkey,
        passkey_answered,
        push_subscription,
        push_key,
        trial_sheet,
        api_key_secret
    ) {
        let columns = query
            .split("SELECT ")
            .nth(1)
            .and_then(|rest| rest.split(" FROM ").next())
            .expect("a selection")
            .replace('`', "");
        seen.extend(columns.split(", ").map(str::to_owned));
        assert!(columns.starts_with(table), "{query}");
    }
    assert_eq!(seen, there);
}

/// The migrations of a database by name, in order.
pub fn migrations(of: &str) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(Path::new(MIGRATIONS).join(of))
        .unwrap_or_else(|error| panic!("migrations/{of}: {error}"))
        .map(|entry| entry.expect("an entry").file_name().into_string().expect("a name"))
        .collect();
    names.sort();
    names
}

#[test]
fn both_databases_have_the_same_migrations_and_each_can_be_undone() {
    let names = migrations("sqlite");
    assert!(!names.is_empty());
    assert_eq!(names, migrations("postgres"));
    for name in names {
        for of in ["sqlite", "postgres"] {
            for file in ["up.sql", "down.sql"] {
                assert!(
                    Path::new(MIGRATIONS).join(of).join(&name).join(file).exists(),
                    "migrations/{of}/{name}/{file} is missing"
                );
            }
        }
    }
}

on_both!(a_database_of_another_version_is_refused_and_left_as_it_is, async |world: &World| {
    sql::run(
        &world.location,
        "INSERT INTO __diesel_schema_migrations (version, run_on) VALUES ('0001', '2026-01-01 00:00:00')",
    );
    let mut db = fullset::platform::db::Db::open(&world.location, fullset::platform::db::Access::Write).expect("it opens");
    let words = db.migrate().expect_err("it is not ours").to_string();
    assert!(words.contains("0001") && words.contains("another version"), "{words}");
});
