//! `fullset doctor`: each thing that can be wrong with an installation is said in words, and nothing else.

use std::{collections::BTreeSet, fs, os::unix::fs::PermissionsExt as _, path::Path, process::Command};

use serde_json::Value;

use crate::world::{
    World, on_both, photos_of,
    process::{self, binary},
    sql,
};

const KEY: &str = "0707070707070707070707070707070707070707070707070707070707070707";

const LONG_AGO: &str = "2020-01-01T00:00:00Z";

/// What is wrong, by its words for programs, and all that was said.
fn asked(world: &World, more: &[&str]) -> (BTreeSet<String>, String) {
    let said = process::command("doctor", &world.location)
        .args(["--photos", &photos_of(&world.location).display().to_string(), "--json"])
        .args(more)
        .env("FULLSET_KEY", KEY)
        .output()
        .expect("the service starts");
    let text = String::from_utf8_lossy(&said.stdout).into_owned();
    let told: Value = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{error}: {text} {}", String::from_utf8_lossy(&said.stderr)));
    let wrong = told["wrong"].as_array().expect("a list");
    assert_eq!(said.status.code(), Some(i32::from(!wrong.is_empty())), "{text}");
    for one in wrong {
        assert!(
            one["wrong"].as_str().is_some_and(|words| !words.is_empty()) && one["mend"].as_str().is_some_and(|words| !words.is_empty()),
            "{one}"
        );
    }
    (wrong.iter().map(|one| one["about"].as_str().expect("a word").to_owned()).collect(), text)
}

fn words(all: &[&str]) -> BTreeSet<String> {
    all.iter().map(ToString::to_string).collect()
}

fn mode(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).expect("own file");
}

/// Makes the installation sound: all that is wrong with a test's world is put right.
fn soundly(world: &World) {
    if let fullset::platform::db::Location::Sqlite(path) = &world.location {
        for beside in ["", "-wal", "-shm"] {
            let file = format!("{}{beside}", path.display());
            if Path::new(&file).exists() {
                mode(Path::new(&file), 0o600);
            }
        }
    }
    // An agency that has just been founded has no grades: it goes.
    world.forget_agency(world.ground.bare.id);
    let photos = photos_of(&world.location).display().to_string();
    process::Process::serve_with(&world.location, &photos, &[("FULLSET_KEY", KEY)]).kill();
    // The world's time is its own; the machine's may be before it.
    let past = sql::instant(&world.location, LONG_AGO);
    sql::run(&world.location, &format!("UPDATE journal SET received_at = {past}"));
}

on_both!(a_sound_installation_has_nothing_wrong_and_each_fault_is_named, async |world: &World| {
    let (wrong, said) = asked(world, &[]);
    assert!(wrong.is_superset(&words(&["grades", "signing_keys"])), "{said}");
    assert!(said.contains("bare"), "the agency without grades is named: {said}");
    soundly(world);
    let (wrong, said) = asked(world, &[]);
    assert_eq!(wrong, words(&[]), "{said}");
    let plain = process::command("doctor", &world.location)
        .args(["--photos", &photos_of(&world.location).display().to_string()])
        .output()
        .expect("the service starts");
    assert!(
        String::from_utf8_lossy(&plain.stdout).starts_with("Nothing is wrong."),
        "{}",
        String::from_utf8_lossy(&plain.stdout)
    );
    let folder = photos_of(&world.location);
    mode(&folder, 0o755);
    assert_eq!(asked(world, &[]).0, words(&["files"]));
    mode(&folder, 0o700);
    let photo = crate::backups::send_photo(&world.crew()).await;
    assert_eq!(asked(world, &[]).0, words(&[]));
    fs::remove_file(folder.join(world.agency().id.to_string()).join(&photo[..2]).join(&photo)).expect("it goes");
    assert_eq!(asked(world, &[]).0, words(&["photos"]));
    sql::run(&world.location, "DELETE FROM photo");
    let own = format!("UPDATE journal SET received_at = {{}} WHERE agency = {}", world.id(world.agency().id));
    let received = |at: &str| sql::run(&world.location, &own.replace("{}", &sql::instant(&world.location, at)));
    received("2100-01-01T00:00:00Z");
    assert_eq!(asked(world, &[]).0, words(&["clock"]));
    received(LONG_AGO);
    assert_eq!(asked(world, &[]).0, words(&[]));
    sql::run(
        &world.location,
        "INSERT INTO __diesel_schema_migrations (version, run_on) VALUES ('9999', '2026-01-01 00:00:00')",
    );
    assert_eq!(asked(world, &[]).0, words(&["schema"]));
    sql::run(&world.location, "DELETE FROM __diesel_schema_migrations WHERE version = '9999'");
});

on_both!(backups_that_are_old_or_none_are_told, async |world: &World| {
    soundly(world);
    let shelf = tempfile::tempdir().expect("a folder");
    let place = shelf.path().display().to_string();
    assert_eq!(asked(world, &["--backups", &place]).0, words(&["backups"]), "there is none");
    assert_eq!(asked(world, &["--backups", "/nowhere/at/all"]).0, words(&["backups"]));
    let backup = shelf.path().join("today");
    crate::backups::back_up(world, &backup);
    assert_eq!(asked(world, &["--backups", &place]).0, words(&[]));
    let manifest = backup.join("manifest.json");
    let text = fs::read_to_string(&manifest).expect("a manifest");
    let taken = serde_json::from_str::<Value>(&text).expect("JSON")["taken_at"]
        .as_str()
        .expect("an instant")
        .to_owned();
    fs::write(&manifest, text.replace(&taken, "2020-01-01T00:00:00.000000Z")).expect("it is written");
    let (wrong, said) = asked(world, &["--backups", &place]);
    assert_eq!(wrong, words(&["backups"]));
    assert!(said.contains("days old"), "{said}");
});

on_both!(certificates_that_run_out_are_told, async |world: &World| {
    soundly(world);
    let folder = tempfile::tempdir().expect("a folder");
    let (certificate, key) = (folder.path().join("cert.pem"), folder.path().join("key.pem"));
    let lasting = |days: u64| {
        let pair = rcgen::KeyPair::generate().expect("a key");
        let mut params = rcgen::CertificateParams::new(["rescue.example".to_owned()]).expect("names");
        let now = std::time::SystemTime::now();
        params.not_before = (now - std::time::Duration::from_secs(86_400)).into();
        params.not_after = (now + std::time::Duration::from_secs(days * 86_400)).into();
        fs::write(&certificate, params.self_signed(&pair).expect("a certificate").pem()).expect("it is written");
        fs::write(&key, pair.serialize_pem()).expect("it is written");
        mode(&key, 0o600);
    };
    let (cert, keyfile) = (certificate.display().to_string(), key.display().to_string());
    let files = ["--tls-cert", &cert, "--tls-key", &keyfile];
    lasting(60);
    assert_eq!(asked(world, &files).0, words(&[]));
    mode(&key, 0o644);
    assert_eq!(asked(world, &files).0, words(&["tls"]));
    lasting(5);
    let (wrong, said) = asked(world, &files);
    assert_eq!(wrong, words(&["tls"]));
    assert!(said.contains("within 14 days"), "{said}");
    fs::remove_file(&certificate).expect("it goes");
    assert!(asked(world, &files).1.contains("cannot be read"));
});

#[test]
fn a_database_that_is_not_there_is_said() {
    let said = Command::new(binary())
        .args(["doctor", "--database", "sqlite:/nowhere/at/all.sqlite", "--photos", "/tmp"])
        .output()
        .expect("the service starts");
    assert_eq!(said.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&said.stdout).contains("look at --database"));
}
