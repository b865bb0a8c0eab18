//! The command line, as whoever runs the service uses it: by the real binary, on both databases.

use std::{
    io::Write as _,
    process::{Command, Output, Stdio},
};

use serde_json::{Value, json};

use crate::world::{
    Reply, World, on_both,
    process::{Process, binary, url, verify},
    sql,
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

on_both!(setup_that_cannot_make_its_admin_founds_nothing, async |world: &World| {
    let agencies = || sql::number(&world.location, "SELECT count(*) AS n FROM agency");
    let before = agencies();
    let elsewhere = world.crew().person.email;
    let long = "x".repeat(201);
    for (agency, admin, password) in [
        ("Tallow County Fire", "nobody", "three-quiet-words"),
        ("Tallow County Fire", elsewhere.as_str(), "three-quiet-words"),
        ("Tallow County Fire", "admin@tallow.example", "tallow-county-2026"),
        (long.as_str(), "admin@tallow.example", "three-quiet-words"),
    ] {
        let setup = ["setup", "--agency", agency, "--admin", admin, "--password-stdin"];
        failed(&run(world, &setup, password));
        assert_eq!(agencies(), before, "{agency} {admin}");
    }
    done(&run(world, &SETUP, "three-quiet-words"));
});

#[test]
fn a_mistyped_path_makes_no_database() {
    let folder = tempfile::tempdir().expect("a folder");
    let slip = folder.path().join("fulset.sqlite");
    let database = format!("sqlite:{}", slip.display());
    let commands: [&[&str]; 10] = [
        &["verify"],
        &["migrate"],
        &["compact"],
        &["backup", "/nowhere/at/all"],
        &["restore", "--in-place"],
        &["keys", "list"],
        &["keys", "rotate"],
        &["export", "register"],
        &[
            "member",
            "add",
            "--name",
            "S",
            "--email",
            "s@harrow.example",
            "--role",
            "crew",
            "--password-stdin",
        ],
        &["serve", "--listen", "127.0.0.1:0"],
    ];
    for command in commands {
        let said = Command::new(binary())
            .args(command)
            .args(["--database", &database])
            .stdin(Stdio::null())
            .output()
            .expect("the service starts");
        let words = failed(&said);
        assert!(words.contains("there is no database at"), "{command:?}: {words}");
        assert!(!slip.exists(), "{command:?}");
    }
}

#[test]
fn files_are_their_owners_alone_whatever_the_umask() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("own.sqlite");
    let database = format!("sqlite:{}", file.display());
    let script = format!(
        "umask 000; echo three-quiet-words | '{0}' setup --agency Tallow --admin admin@elsewhere.example --password-stdin --database '{1}' && \
         timeout 3 '{0}' serve --listen 127.0.0.1:0 --database '{1}'",
        binary().display(),
        database
    );
    let said = Command::new("sh").args(["-c", &script]).output().expect("a shell");
    assert!(
        String::from_utf8_lossy(&said.stdout).contains("answers at"),
        "{}",
        String::from_utf8_lossy(&said.stderr)
    );
    let mut seen = 0;
    for entry in std::fs::read_dir(folder.path()).expect("the folder").flatten() {
        let mode = entry.metadata().expect("its mode").permissions().mode() & 0o777;
        assert_eq!(mode & 0o077, 0, "{:?} {mode:o}", entry.file_name());
        seen += 1;
    }
    assert!(seen >= 2, "the database and the folder of photos");
}

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
