//! `fullset verify` finds members and keys of programs whose records were rewritten beside the journal, whatever else was rewritten with
//! them; and finds nothing where nobody did.

use chrono::{SecondsFormat, TimeDelta};
use fullset::{
    app,
    platform::{
        db::{Access, Db},
        door::{Keep, compact},
    },
    slices::members::TOLD_BY,
};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Empty, back_up, done, restore, shelf};
use crate::{
    slices::{
        accounts::{NEW, post},
        calendar_feeds::secret,
    },
    world::{Client, Engine, World, acts::id_of, on_both, people::Person, process, process::verify, sql},
};

const OTHER: &str = "018f0000-0000-7000-8000-0000000000aa";

/// Writes one field of the bodies that a condition chooses, in a table.
fn rewrite(world: &World, table: &str, field: &str, value: &Value, chosen: &str) {
    let value = value.to_string().replace('\'', "''");
    let body = match world.engine {
        Engine::Sqlite => format!("json_set(body, '$.{field}', json('{value}'))"),
        Engine::Postgres => format!("jsonb_set(body::jsonb, '{{{field}}}', '{value}')::json"),
    };
    sql::run(&world.location, &format!("UPDATE {table} SET body = {body} WHERE {chosen}"));
}

#[track_caller]
fn is_found(world: &World, says: &str, id: Uuid) -> String {
    let (holds, said) = verify(&world.location);
    assert!(!holds && said.contains(says) && said.contains(&id.to_string()), "{says}: {said}");
    said
}

#[track_caller]
fn is_sound(world: &World) -> String {
    let (holds, said) = verify(&world.location);
    assert!(holds && said.contains("against the journal's commands"), "{said}");
    said
}

fn member(client: &Client) -> String {
    format!("/v1/members/{}", client.person.id)
}

/// Makes a key for a program; answers its id.
async fn key(world: &World, maker: &Client, seed: u8, scope: Value) -> Uuid {
    let until = (world.clock.now() + TimeDelta::days(30)).to_rfc3339_opts(SecondsFormat::Micros, true);
    let body = json!({ "id": Uuid::now_v7(), "name": "Dispatch board", "scope": scope, "expires_at": until, "secret_sha256": secret(seed).1 });
    id_of(&maker.post("/v1/api-keys", body).await.record())
}

#[test]
fn each_command_about_members_is_compared_or_changes_nothing_of_that() {
    const CHANGES_NOTHING: [&str; 6] = [
        "member.change_password",
        "member.drop_second_factor",
        "member.link",
        "member.sign_out",
        "member.unlock_pin",
        "member.use_link",
    ];
    let registry = app::registry();
    let all: Vec<&str> = registry.kinds().map(|(name, _)| name).filter(|name| name.starts_with("member.")).collect();
    for kind in &all {
        assert!(
            TOLD_BY.contains(kind) != CHANGES_NOTHING.contains(kind),
            "{kind}: does it change what verify compares?"
        );
    }
    assert_eq!(all.len(), TOLD_BY.len() + CHANGES_NOTHING.len(), "{all:?}");
}

on_both!(a_crew_member_who_was_made_an_admin_beside_the_journal_is_found, async |world: &World| {
    let (admin, crew) = (world.admin(), world.crew());
    admin.edit(&member(&crew), json!({ "name": "Crew Renamed" })).await.ok();
    is_sound(world);
    let id = crew.person.id;
    let own = format!("kind = 'member' AND id = {}", world.id(id));
    let says = "it is not what the journal's commands make of it: role";
    let make = |table: &str, role: &str| rewrite(world, table, "role", &json!(role), &own);
    // In the record alone.
    make("record", "admin");
    is_found(world, says, id);
    // In the record and in all that is kept of the past.
    make("replaced", "admin");
    let said = is_found(world, says, id);
    assert!(said.matches(says).count() > 1, "each state is told: {said}");
    // In the past alone.
    make("record", "crew");
    is_found(world, says, id);
    make("replaced", "crew");
    is_sound(world);
    // What is forgotten of the past hides nothing of the present.
    let mut db = Db::open(&world.location, Access::Write).expect("the database opens");
    let keep = Keep {
        deleted: TimeDelta::zero(),
        past: Some(TimeDelta::zero()),
    };
    let forgotten = compact(&mut db, world.clock.now() + TimeDelta::days(1), keep).expect("forgotten");
    drop(db);
    assert!(forgotten.states > 0);
    let said = is_sound(world);
    assert!(
        said.contains("Not compared: ") && said.contains("earlier states of them, which are kept no more"),
        "{said}"
    );
    make("record", "admin");
    is_found(world, says, id);
    make("record", "crew");
    is_sound(world);
});

on_both!(whatever_of_a_member_was_rewritten_is_named, async |world: &World| {
    let id = world.crew().person.id;
    let own = format!("kind = 'member' AND id = {}", world.id(id));
    sql::run(
        &world.location,
        &format!("CREATE TABLE kept AS SELECT * FROM record WHERE {own}; CREATE TABLE kept_past AS SELECT * FROM replaced WHERE {own}"),
    );
    let put_back = format!("UPDATE record SET body = (SELECT body FROM kept) WHERE {own}");
    let by = json!({ "id": null, "name": "nobody" });
    for (field, value, says) in [
        ("name", json!("Another"), "make of it: name"),
        ("email", json!("another@harrow.example"), "make of it: email"),
        ("role", json!("coordinator"), "make of it: role"),
        ("station", json!(OTHER), "make of it: reach"),
        ("district", json!(OTHER), "make of it: reach"),
        ("active", json!(false), "make of it: whether it was let go"),
        ("has_pin", json!(true), "make of it: whether it has a PIN"),
        (
            "sign_offs",
            json!([{
                "kind": "cutter", "family": null, "until": "2030-01-31", "on": "2026-11-20", "by": by, "practised_on": null, "practise_by": "2027-11-20",
            }]),
            "make of it: sign-offs",
        ),
        (
            "certificate",
            json!({ "paper": "Level 3", "until": "2030-01-31", "by": by }),
            "make of it: certificate",
        ),
    ] {
        rewrite(world, "record", field, &value, &own);
        is_found(world, says, id);
        sql::run(&world.location, &put_back);
    }
    // Somebody of whom the journal knows nothing, and somebody whom it has and who is gone with all its past.
    let other: Uuid = OTHER.parse().unwrap();
    let columns = "agency, kind, id, rev, gone, label, uniq, state, body";
    sql::run(
        &world.location,
        &format!(
            "INSERT INTO record ({columns}) SELECT agency, kind, {}, rev, gone, label, 'another@harrow.example', state, body FROM record WHERE {own}",
            world.id(other)
        ),
    );
    is_found(world, "it is there, and no command of the journal had made it", other);
    sql::run(
        &world.location,
        &format!("DELETE FROM record WHERE kind = 'member' AND id = {}", world.id(other)),
    );
    is_sound(world);
    sql::run(&world.location, &format!("DELETE FROM record WHERE {own}; DELETE FROM replaced WHERE {own}"));
    is_found(world, "a command of the journal made it, and it is not there", id);
    sql::run(
        &world.location,
        "INSERT INTO record SELECT * FROM kept; INSERT INTO replaced SELECT * FROM kept_past",
    );
    is_sound(world);
});

on_both!(a_key_of_a_program_that_was_widened_is_found, async |world: &World| {
    let admin = world.admin();
    let second = Person::new("harrow", "Ada Second", "admin");
    admin.post("/v1/members", second.body()).await.ok();
    let second = Client::new(&world.server.base, &world.http, &world.clock, &second);
    let reads = key(world, &admin, 1, json!({ "of": "read" })).await;
    let sends = key(world, &admin, 2, json!({ "of": "commands", "kinds": ["piece.take_out", "defect.report"] })).await;
    let revoked = key(world, &admin, 3, json!({ "of": "read" })).await;
    let theirs = key(world, &second, 4, json!({ "of": "read" })).await;
    sql::run(&world.location, "CREATE TABLE kept_key AS SELECT * FROM api_key_secret");
    admin.post(&format!("/v1/api-keys/{revoked}/revoke"), json!({})).await.ok();
    admin.edit(&member(&second), json!({ "active": false })).await.ok();
    is_sound(world);
    let all = json!({ "of": "role", "role": "coordinator" });
    let of = |id: Uuid| format!("kind = 'api_key' AND id = {}", world.id(id));
    // As it is shown.
    let says = "it is not what the journal's commands make of it: what it may do";
    rewrite(world, "record", "scope", &all, &of(reads));
    is_found(world, says, reads);
    rewrite(world, "record", "scope", &json!({ "of": "read" }), &of(reads));
    for table in ["record", "replaced"] {
        rewrite(world, table, "scope", &all, &of(revoked));
    }
    assert!(is_found(world, says, revoked).matches(says).count() > 1);
    for table in ["record", "replaced"] {
        rewrite(world, table, "scope", &json!({ "of": "read" }), &of(revoked));
    }
    rewrite(world, "record", "state", &json!("active"), &of(revoked));
    is_found(world, "make of it: whether it was revoked", revoked);
    rewrite(world, "record", "state", &json!("revoked"), &of(revoked));
    is_sound(world);
    // As it answers.
    let later = sql::instant(&world.location, "2190-01-01T00:00:00Z");
    let bytes = match world.engine {
        Engine::Sqlite => "x'00'",
        Engine::Postgres => "'\\x00'",
    };
    let crew = world.id(world.crew().person.id);
    let row = |id: Uuid| format!("api_key = {}", world.id(id));
    for (id, set, says) in [
        (sends, "kinds = NULL".to_owned(), "what it may do"),
        (sends, "role = 'admin'".to_owned(), "what it may do"),
        (reads, format!("expires_at = {later}"), "end"),
        (reads, format!("hash = {bytes}"), "secret"),
        (reads, format!("maker = {crew}"), "maker"),
    ] {
        sql::run(&world.location, &format!("UPDATE api_key_secret SET {set} WHERE {}", row(id)));
        is_found(world, &format!("it does not answer by what the journal's command made it: {says}"), id);
        sql::run(
            &world.location,
            &format!(
                "DELETE FROM api_key_secret WHERE {0}; INSERT INTO api_key_secret SELECT * FROM kept_key WHERE {0}",
                row(id)
            ),
        );
    }
    is_sound(world);
    // What has ended, put back.
    for (id, says) in [
        (revoked, "it was revoked, and it still answers"),
        (theirs, "its maker was let go or got another role or reach since, and it still answers"),
    ] {
        sql::run(&world.location, &format!("INSERT INTO api_key_secret SELECT * FROM kept_key WHERE {}", row(id)));
        is_found(world, says, id);
        sql::run(&world.location, &format!("DELETE FROM api_key_secret WHERE {}", row(id)));
    }
    is_sound(world);
});

/// Runs a command of the command line that reads a password.
fn with_password(world: &World, arguments: &[&str]) {
    use std::io::Write as _;
    let mut child = std::process::Command::new(process::binary())
        .args(arguments)
        .args(["--password-stdin", "--database", &process::url(&world.location)])
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("the service starts");
    child.stdin.take().expect("a pipe").write_all(b"three-quiet-words").expect("it reads");
    done(&child.wait_with_output().expect("it ends"));
}

on_both!(what_members_did_by_the_service_is_sound_here_and_restored, async |world: &World| {
    let (admin, officer, crew, county) = (world.admin(), world.officer(), world.crew(), world.county());
    let id = Uuid::now_v7();
    let invited = json!({
        "id": id, "name": "  Ida Invited ", "email": " Ida.Invited@Harrow.example", "role": "crew", "station": county.station_1,
        "secret_sha256": secret(21).1,
    });
    admin.post("/v1/invitations", invited).await.ok();
    post(world, "/v1/links/use", None, json!({ "secret": secret(21).0, "password": NEW }))
        .await
        .ok();
    let path = format!("/v1/members/{id}");
    for edit in [
        json!({ "name": " Ida Officer ", "role": "officer" }),
        json!({ "station": null }),
        json!({ "district": county.north }),
        json!({ "active": false }),
        json!({ "active": true, "district": null, "password": "another-quiet-word" }),
    ] {
        admin.edit(&path, edit).await.ok();
    }
    admin.post(&format!("{path}/link"), json!({ "secret_sha256": secret(22).1 })).await.ok();
    crew.post("/v1/pin", json!({ "pin": "482915" })).await.ok();
    let path = member(&crew);
    let gear = |until: &str| json!({ "kinds": ["spreader", "cutter", "cutter"], "family": null, "until": until });
    officer.post(&format!("{path}/sign-offs"), gear("2027-01-31")).await.ok();
    let family = json!({ "kinds": ["cutter"], "family": " Kestrel 90 ", "until": "2027-06-30" });
    officer.post(&format!("{path}/sign-offs"), family).await.ok();
    let practised = json!({ "kinds": ["cutter"], "family": "kestrel 90", "on": "2026-11-24" });
    officer.post(&format!("{path}/practice"), practised).await.ok();
    officer.post(&format!("{path}/sign-offs"), gear("2028-01-31")).await.ok();
    let paper = json!({ "paper": " Level 2, no. 118 ", "until": "2028-01-31" });
    admin.post(&format!("{path}/certificate"), paper).await.ok();
    let made = key(
        world,
        &admin,
        23,
        json!({ "of": "commands", "kinds": ["piece.take_out", "defect.report", "piece.take_out"] }),
    )
    .await;
    key(world, &admin, 24, json!({ "of": "role", "role": "crew" })).await;
    admin.post(&format!("/v1/api-keys/{made}/revoke"), json!({})).await.ok();
    let (role, station) = (json!({ "role": "officer" }), json!({ "station": county.station_2 }));
    admin.edit(&path, role).await.ok();
    admin.edit(&path, station).await.ok();
    let file = "Asset tag,Kind,Model,Serial,Assigned to,Date of make,In service since,Last annual service\n\
        F-1,cutter,Dorvan C81,N-1,Station 1 reserve,2022-05-01,2022-06-01,2026-06-01\n";
    world.coordinator().import("", file.into(), &[]).await.ok();
    let add = [
        "member",
        "add",
        "--agency",
        "vale",
        "--name",
        " Sam Sample ",
        "--email",
        "Sam@vale.example",
        "--role",
        "chief",
    ];
    with_password(world, &add);
    with_password(world, &["setup", "--agency", "Tallow County Fire", "--admin", "admin@tallow.example"]);
    let said = is_sound(world);
    assert!(!said.contains("kept no more") && !said.contains("does not read"), "{said}");
    let (_folder, place) = shelf();
    back_up(world, &place);
    for engine in [Engine::Sqlite, Engine::Postgres] {
        let restored = Empty::on(engine);
        let said = restore(&restored.0, &place);
        assert!(said.contains("against the journal's commands"), "{said}");
        let (holds, said) = verify(&restored.0);
        assert!(holds && said.contains("passwords, PINs, second factors and passkeys"), "{said}");
    }
});
