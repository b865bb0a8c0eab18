//! The command line, as whoever runs the service uses it: by the real binary, on both databases.

use std::{
    io::Write as _,
    process::{Command, Output, Stdio},
};

use serde_json::{Value, json};

use crate::world::{
    Reply, World, on_both,
    process::{Process, binary, url, verify},
};

/// Runs a command with text on its standard input.
fn run(world: &World, arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(binary())
        .args(arguments)
        .args(["--database", &url(&world.location)])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the service starts");
    child.stdin.take().expect("a pipe").write_all(input.as_bytes()).expect("it reads");
    child.wait_with_output().expect("it ends")
}

#[track_caller]
fn done(said: &Output) -> String {
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    String::from_utf8_lossy(&said.stdout).into_owned()
}

#[track_caller]
fn failed(said: &Output) -> String {
    assert!(!said.status.success(), "{}", String::from_utf8_lossy(&said.stdout));
    String::from_utf8_lossy(&said.stderr).into_owned()
}

const SETUP: [&str; 6] = ["setup", "--agency", "Tallow County Fire", "--admin", "admin@tallow.example", "--password-stdin"];

on_both!(setup_founds_an_agency_whose_admin_signs_in, async |world: &World| {
    done(&run(world, &SETUP, "three-quiet-words\n"));
    let service = Process::serve(&world.location);
    let body = json!({ "email": "admin@tallow.example", "password": "three-quiet-words" });
    let session = Reply::of("sign in".into(), world.http.post(format!("{}/v1/session", service.base)).json(&body))
        .await
        .ok();
    assert_eq!(
        (&session["agency"]["name"], &session["member"]["role"]),
        (&json!("Tallow County Fire"), &json!("admin"))
    );
    assert!(failed(&run(world, &SETUP, "three-quiet-words\n")).contains("is there already; nothing was changed"));
    assert!(verify(&world.location).0);
});

on_both!(setup_without_a_password_worth_the_name_founds_nothing, async |world: &World| {
    for password in ["", "short"] {
        failed(&run(world, &SETUP, password));
    }
    done(&run(world, &SETUP, "three-quiet-words"));
});

on_both!(a_member_added_on_the_command_line_signs_in_while_the_service_runs, async |world: &World| {
    let add = [
        "member",
        "add",
        "--agency",
        "vale",
        "--name",
        "Sam Sample",
        "--email",
        "sam@vale.example",
        "--role",
        "crew",
        "--password-stdin",
    ];
    let running = world.member_of(&world.ground.vale, "admin");
    done(&run(world, &add, "three-quiet-words"));
    let listed = running.list("/v1/members?q=Sam").await;
    assert_eq!((listed.len(), &listed[0]["role"]), (1, &json!("crew")));
    failed(&run(world, &add, "three-quiet-words"));
});

on_both!(a_command_that_could_mean_several_agencies_asks_which, async |world: &World| {
    let said = failed(&run(world, &["export", "register"], ""));
    assert!(said.contains("--agency") && said.contains("harrow") && said.contains("vale"), "{said}");
    failed(&run(world, &["export", "register", "--agency", "nowhere"], ""));
});

on_both!(the_register_is_read_in_and_written_out_on_the_command_line, async |world: &World| {
    let folder = tempfile::tempdir().expect("a folder");
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/published/data/register/messy.csv");
    let report: Value = serde_json::from_str(&done(&run(world, &["import", "register", file, "--agency", "bare", "--dry-run", "--json"], ""))).expect("JSON");
    assert_eq!((&report["accepted"], report["refused"].as_array().unwrap().len()), (&json!(295), 9));
    let coordinator = world.member_of(&world.ground.bare, "coordinator");
    assert_eq!(coordinator.list("/v1/pieces").await.len(), 0);
    let said = done(&run(world, &["import", "register", file, "--agency", "bare"], ""));
    assert!(said.contains("295 pieces") && said.contains("9 rows"), "{said}");
    let pieces = coordinator.list("/v1/pieces").await;
    let nobody = json!({ "id": null, "name": "command line" });
    assert_eq!((pieces.len(), &pieces[0]["state_by"]), (295, &nobody));
    assert_eq!(coordinator.list("/v1/imports").await[0]["by"], nobody);
    let out = folder.path().join("register.csv");
    done(&run(
        world,
        &["export", "register", "--agency", "bare", "--output", &out.display().to_string()],
        "",
    ));
    let written = std::fs::read_to_string(out).expect("the file");
    assert_eq!(written, coordinator.get("/v1/register.csv").await.text);
});

on_both!(migrating_an_up_to_date_database_changes_nothing, async |world: &World| {
    assert!(done(&run(world, &["migrate"], "")).contains("up to date"));
});

#[test]
fn a_database_that_is_none_is_refused_in_words() {
    for database in ["mysql://x", "sqlite:", "sqlite::memory:", "nonsense"] {
        let said = Command::new(binary())
            .args(["verify", "--database", database])
            .output()
            .expect("the service starts");
        assert!(failed(&said).contains("database"), "{database}");
    }
    let nowhere = Command::new(binary())
        .args(["verify", "--database", "sqlite:/nowhere/at/all.sqlite"])
        .output()
        .expect("the service starts");
    assert!(failed(&nowhere).contains("cannot be opened"));
}

#[test]
fn the_command_line_prints_the_document_that_the_service_serves() {
    let said = Command::new(binary()).arg("openapi").output().expect("the service starts");
    let printed: Value = serde_json::from_str(&done(&said)).expect("JSON");
    crate::world::on(crate::world::Engine::Sqlite, async |world: &World| {
        assert_eq!(
            world.nobody("GET", "/openapi.json").await.ok(),
            printed,
            "the binary is older than the code: run `cargo build -p fullset`"
        );
    });
}
