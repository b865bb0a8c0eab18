//! Each block of commands in the handbook, run as it stands there.

use std::{
    collections::BTreeMap,
    fs,
    os::unix::fs::PermissionsExt as _,
    path::Path,
    process::{Command, Stdio},
    time::{Duration, Instant},
};

use uuid::Uuid;

use super::{files::text, kit::free_address};
use crate::world::{cluster, process::binary};

/// What stands for `fullset`: `serve` goes on behind the block, once it answers.
const SERVES: &str = r#"#!/bin/bash
case " $* " in
*" serve "*) ;;
*) exec "$FULLSET_TEST_BINARY" "$@" ;;
esac
log=$(mktemp "$FULLSET_TEST_STARTED/XXXXXX")
"$FULLSET_TEST_BINARY" "$@" >"$log" 2>&1 </dev/null &
echo $! > "$log.pid"
for _ in $(seq 600); do
  grep -q 'Fullset answers at' "$log" && exit 0
  kill -0 $! 2>/dev/null || break
  sleep 0.1
done
cat "$log" >&2
exit 1
"#;

/// The handbook's sections that have commands: heading, and the commands.
fn sections(handbook: &str) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = Vec::new();
    let mut inside = false;
    for line in handbook.lines() {
        if let Some(heading) = line.strip_prefix("## ").filter(|_| !inside) {
            all.push((heading.to_owned(), String::new()));
        } else if line.starts_with("```") {
            assert!(inside || line == "```sh", "a block that no test runs: {line}");
            inside = !inside;
        } else if inside {
            let (_, commands) = all.last_mut().expect("a heading stands first");
            *commands += &format!("{line}\n");
        }
    }
    all.retain(|(_, commands)| !commands.is_empty());
    all
}

/// The commands with ports that are free here, and the database that is there.
fn here(commands: &str, ports: &mut BTreeMap<String, String>, database: &str) -> String {
    let mut written = String::new();
    let mut rest = commands;
    while let Some(at) = rest.find(":8").into_iter().chain(rest.find(":9")).min() {
        let port: String = rest[at + 1..].chars().take_while(char::is_ascii_digit).collect();
        written += &rest[..=at];
        rest = &rest[at + 1 + port.len()..];
        let free = || free_address().rsplit(':').next().expect("a port").to_owned();
        written += ports.entry(port).or_insert_with(free);
    }
    (written + rest).replace(
        "postgres://fullset@db.harrow.example/fullset?sslmode=verify-full&sslrootcert=authority.crt",
        database,
    )
}

/// Stops what a section has started, as systemd would.
fn stop(started: &Path) {
    for entry in fs::read_dir(started)
        .expect("the folder")
        .flatten()
        .filter(|entry| entry.path().extension().is_some())
    {
        let pid = fs::read_to_string(entry.path()).expect("a number").trim().to_owned();
        let signal = |name: &str| Command::new("kill").args([name, &pid]).stderr(Stdio::null()).status().expect("kill runs");
        // One that has ended, and that nobody has asked about yet, has no command line.
        let lives = || fs::read(format!("/proc/{pid}/cmdline")).is_ok_and(|line| !line.is_empty());
        signal("-TERM");
        let began = Instant::now();
        while lives() && began.elapsed() < Duration::from_secs(6) {
            std::thread::sleep(Duration::from_millis(50));
        }
        if lives() {
            signal("-KILL");
            panic!("it did not end within six seconds");
        }
        fs::remove_file(entry.path()).expect("removed");
    }
}

#[test]
fn every_command_of_the_handbook_does_what_it_is_there_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let (bin, started, place) = (folder.path().join("bin"), folder.path().join("started"), folder.path().join("place"));
    [&bin, &started, &place]
        .into_iter()
        .for_each(|folder| fs::create_dir(folder).expect("a folder"));
    fs::write(bin.join("fullset"), SERVES).expect("written");
    fs::set_permissions(bin.join("fullset"), fs::Permissions::from_mode(0o755)).expect("our own");
    let register = concat!(env!("CARGO_MANIFEST_DIR"), "/published/data/register/clean.csv");
    fs::copy(register, place.join("your-register.csv")).expect("copied");
    let name = format!("handbook_{}", Uuid::new_v4().simple());
    cluster::command(&format!("CREATE DATABASE {name}"));
    let database = cluster::url(&name);
    let (mut ports, mut run) = (BTreeMap::new(), 0);
    let path = format!("{}:{}", bin.display(), std::env::var("PATH").unwrap_or_default());
    for (heading, commands) in sections(&text("handbook.md")) {
        let said = Command::new("bash")
            .args(["-euo", "pipefail", "-c", &here(&commands, &mut ports, &database)])
            .current_dir(&place)
            .env("PATH", &path)
            .env("FULLSET_TEST_BINARY", binary())
            .env("FULLSET_TEST_STARTED", &started)
            .output()
            .expect("bash starts");
        stop(&started);
        let told = format!("{}{}", String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr));
        assert!(said.status.success(), "{heading}:\n{commands}\n{told}");
        run += 1;
    }
    assert!(run >= 8 && ports.len() >= 4, "{run} sections, {ports:?}");
    let log = fs::read_to_string(place.join("access.log")).expect("the access log");
    assert!(log.contains("\"route\":\"/readyz\""), "{log}");
    cluster::command(&format!("DROP DATABASE {name}"));
}

#[test]
fn what_is_read_as_a_block_is_one() {
    let found = sections("# A\n## B\nwords\n```sh\none\n```\n## C\n## D\n```sh\ntwo \\\n  three\n```\n");
    assert_eq!(found, [("B".to_owned(), "one\n".to_owned()), ("D".to_owned(), "two \\\n  three\n".to_owned())]);
    let ports = &mut BTreeMap::from([("8080".to_owned(), "1".to_owned()), ("9464".to_owned(), "2".to_owned())]);
    assert_eq!(here("a 127.0.0.1:8080/x:9464 b", ports, ""), "a 127.0.0.1:1/x:2 b");
}
