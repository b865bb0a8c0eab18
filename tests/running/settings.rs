//! Settings from the command line, the environment and a file, and their table.

use std::process::{Command, Output};

use super::kit::Running;
use crate::world::{
    Engine, World, on,
    process::{binary, url},
};

/// A folder with a settings file in it that names a database which is not there.
fn with_file(text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("settings");
    std::fs::write(&file, text).expect("written");
    let file = file.display().to_string();
    (folder, file)
}

/// Runs a command that fails, and answers what it said: a database that is not there is named by its path.
#[track_caller]
fn refused(arguments: &[&str], environment: &[(&str, &str)]) -> String {
    let said = said(arguments, environment);
    assert!(!said.status.success(), "{}", String::from_utf8_lossy(&said.stdout));
    String::from_utf8_lossy(&said.stderr).into_owned()
}

fn said(arguments: &[&str], environment: &[(&str, &str)]) -> Output {
    let mut command = Command::new(binary());
    command.args(arguments).envs(environment.iter().copied());
    command.output().expect("the service starts")
}

#[test]
fn the_command_line_counts_before_the_environment_and_that_before_the_file() {
    let (_folder, file) = with_file("# where the data is\nFULLSET_DATABASE='sqlite:/nowhere/file.sqlite'\n");
    let variable = ("FULLSET_DATABASE", "sqlite:/nowhere/variable.sqlite");
    let named = ("FULLSET_SETTINGS", file.as_str());
    for (arguments, environment, wanted) in [
        (vec!["migrate", "--settings", &file], vec![], "file"),
        (vec!["--settings", &file, "migrate"], vec![], "file"),
        (vec!["migrate"], vec![named], "file"),
        (vec!["migrate"], vec![variable], "variable"),
        (vec!["migrate"], vec![named, variable], "variable"),
        (vec!["migrate", "--database", "sqlite:/nowhere/said.sqlite"], vec![named, variable], "said"),
        (vec!["--database", "sqlite:/nowhere/said.sqlite", "migrate"], vec![named, variable], "said"),
        (vec!["--database=sqlite:/nowhere/said.sqlite", "export", "register"], vec![named], "said"),
    ] {
        let words = refused(&arguments, &environment);
        assert!(words.contains(&format!("/nowhere/{wanted}.sqlite")), "{arguments:?} {environment:?}: {words}");
    }
}

#[test]
fn what_a_settings_file_cannot_mean_is_said_with_its_line() {
    for (text, words) in [
        (
            "FULLSET_LISTEN=127.0.0.1:0\nFULLSET_DATABSE=sqlite:x\n",
            "line 2: there is no setting FULLSET_DATABSE; the nearest is FULLSET_DATABASE",
        ),
        ("FULLSET_READERS=\n", "line 1: FULLSET_READERS has no value"),
        ("listen 127.0.0.1\n", "line 1: write NAME=value"),
    ] {
        let (_folder, file) = with_file(text);
        let told = refused(&["migrate", "--settings", &file], &[]);
        assert!(told.contains(words), "{told}");
    }
    let told = refused(&["migrate", "--database", "sqlite:/nowhere/x.sqlite"], &[("FULLSET_REDERS", "9")]);
    assert!(told.contains("there is no setting FULLSET_REDERS; the nearest is FULLSET_READERS"), "{told}");
    assert!(refused(&["migrate", "--settings", "/nowhere/settings"], &[]).contains("cannot be read"));
    let (_folder, file) = with_file("FULLSET_READERS=many\n");
    let told = refused(&["serve", "--settings", &file], &[]);
    assert!(told.contains("--readers") && told.contains("many"), "{told}");
}

#[test]
fn the_table_of_settings_is_the_one_of_the_program() {
    let printed = said(&["settings"], &[]);
    let kept = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../server/docs/settings.md")).expect("the table");
    assert_eq!(
        String::from_utf8_lossy(&printed.stdout),
        kept,
        "after a change of a setting: fullset settings > server/docs/settings.md"
    );
    assert!(
        kept.contains("| `--database DATABASE` | `FULLSET_DATABASE` | `sqlite:fullset.sqlite` |"),
        "{kept}"
    );
}

#[test]
fn browsers_are_told_to_stay_with_tls_where_that_is_said_and_there_is_tls() {
    on(Engine::Sqlite, async |world: &World| {
        let database = format!("--database={}", url(&world.location));
        let told = refused(&["serve", "--listen", "127.0.0.1:0", "--hsts-days", "365", &database], &[]);
        assert!(told.contains("give a certificate, or say --behind-tls"), "{told}");
        for (more, wanted) in [(vec![], None), (vec!["--hsts-days", "400"], Some("max-age=34560000"))] {
            let service = Running::start(&world.location, &[&["--behind-tls"][..], more.as_slice()].concat());
            for path in ["/", "/livez", "/v1", "/v1/nowhere"] {
                let answer = world.http.get(format!("{}{path}", service.base)).send().await.expect("an answer");
                let said = answer.headers().get("strict-transport-security").map(|value| value.to_str().expect("text"));
                assert_eq!(said, wanted, "{path}");
            }
            service.stop().await;
        }
    });
}
