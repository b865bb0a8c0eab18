//! The journal: append-only, each entry chained to the one before. `fullset verify` finds what was tampered with.

use crate::world::{Engine, World, on_both, process::verify, sql};

/// Takes a few acts, so that there is something to tamper with; answers the agency's last revision.
async fn some_entries(world: &World) -> i64 {
    for n in 0..5 {
        world.crew().take_out(world.county().set_1.ram, &format!("bent {n}")).await.ok();
    }
    world.crew().revision().await
}

fn own(world: &World) -> String {
    format!("agency = {}", world.id(world.agency().id))
}

#[track_caller]
fn found(world: &World, entry: i64, why: &str) {
    let (holds, said) = verify(&world.location);
    assert!(!holds, "it was not noticed: {said}");
    assert!(
        said.contains(&world.agency().id.to_string()) && said.contains(&format!("from entry {entry} on")) && said.contains(why),
        "{said}"
    );
}

on_both!(an_untouched_journal_holds, async |world: &World| {
    some_entries(world).await;
    let all = sql::number(&world.location, "SELECT count(*) AS n FROM journal");
    let (holds, said) = verify(&world.location);
    assert!(
        holds && said.contains(&format!("The journal holds: {all} entries, each chained to the one before.")),
        "{said}"
    );
});

on_both!(a_change_to_any_column_of_an_entry_is_found, async |world: &World| {
    let entry = some_entries(world).await - 2;
    let at = format!("{} AND rev = {entry}", own(world));
    let later = sql::instant(&world.location, "2026-11-25T14:00:01Z");
    let later = later.as_str();
    let (hash, id) = match world.engine {
        Engine::Sqlite => ("x'00'", "x'018f00000000700080000000000000aa'"),
        Engine::Postgres => ("'\\x00'", "'018f0000-0000-7000-8000-0000000000aa'"),
    };
    let reason = "'{\"reason\":\"never was bent\"}'";
    for (column, value) in [
        ("command", id),
        ("kind", "'piece.retire'"),
        ("actor", "NULL"),
        ("actor_name", "'Somebody Else'"),
        ("actor_role", "'admin'"),
        ("at_raw", later),
        ("at", later),
        ("received_at", later),
        ("skew_us", "1"),
        ("body", reason),
        ("device", id),
        ("record_kind", "'rig'"),
        ("record", id),
        ("hash", hash),
    ] {
        sql::run(
            &world.location,
            &format!("CREATE TABLE kept AS SELECT {column} AS v FROM journal WHERE {at}; UPDATE journal SET {column} = {value} WHERE {at};"),
        );
        found(world, entry, "it was changed after it was written");
        sql::run(
            &world.location,
            &format!("UPDATE journal SET {column} = (SELECT v FROM kept) WHERE {at}; DROP TABLE kept;"),
        );
        assert!(verify(&world.location).0, "{column} was put back");
    }
});

on_both!(an_entry_that_was_taken_out_is_found, async |world: &World| {
    let entry = some_entries(world).await - 2;
    sql::run(&world.location, &format!("DELETE FROM journal WHERE {} AND rev = {entry}", own(world)));
    found(world, entry, "the entry is missing");
});

on_both!(a_last_entry_that_was_taken_off_is_found, async |world: &World| {
    let last = some_entries(world).await;
    sql::run(&world.location, &format!("DELETE FROM journal WHERE {} AND rev = {last}", own(world)));
    found(world, last, "entries are missing at the end");
});

on_both!(a_journal_that_was_emptied_is_found, async |world: &World| {
    sql::run(&world.location, &format!("DELETE FROM journal WHERE {}", own(world)));
    found(world, 1, "entries are missing at the end");
});

on_both!(entries_that_changed_places_are_found, async |world: &World| {
    let last = some_entries(world).await;
    let (one, two) = (last - 2, last - 1);
    let of = own(world);
    sql::run(
        &world.location,
        &format!(
            "UPDATE journal SET rev = -1 WHERE {of} AND rev = {one}; UPDATE journal SET rev = {one} WHERE {of} AND rev = {two}; \
             UPDATE journal SET rev = {two} WHERE {of} AND rev = -1;"
        ),
    );
    found(world, one, "it was changed after it was written");
});

on_both!(an_entry_of_another_agency_is_named_by_that_agency, async |world: &World| {
    let neighbour = &world.ground.vale;
    sql::run(
        &world.location,
        &format!("UPDATE journal SET actor_name = 'x' WHERE agency = {} AND rev = 3", world.id(neighbour.id)),
    );
    let (holds, said) = verify(&world.location);
    assert!(!holds && said.contains(&neighbour.id.to_string()) && said.contains("from entry 3 on"), "{said}");
});

on_both!(the_journal_keeps_every_applied_command_and_no_refused_one, async |world: &World| {
    let before = world.journal_length();
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.ram, "bent").await.ok();
    crew.swap(county.engine_1, county.set_2.ram, "ram").await.refused(403, "not-allowed");
    crew.take_out(uuid::Uuid::now_v7(), "bent").await.refused(404, "not-found");
    assert_eq!(world.journal_length(), before + 1);
    assert_eq!(crew.revision().await, world.journal_length(), "one entry for each revision");
});
