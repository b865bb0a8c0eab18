//! The access log: a line for each answered request, without secrets, opened anew when it was taken away.

use std::{fs, path::Path};

use serde_json::{Value, json};

use super::kit::Running;
use crate::world::{Engine, World, on, soon};

fn lines(file: &Path) -> Vec<Value> {
    let text = fs::read_to_string(file).unwrap_or_default();
    text.lines()
        .map(|line| serde_json::from_str(line).unwrap_or_else(|error| panic!("{error}: {line}")))
        .collect()
}

#[test]
fn each_answered_request_is_a_line_that_holds_no_secret() {
    on(Engine::Sqlite, async |world: &World| {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("access.log");
        let service = Running::start(&world.location, &["--access-log", &file.display().to_string(), "--behind-proxy", "127.0.0.1"]);
        let (crew, secret, piece) = (service.member(world, "crew"), "s".repeat(43), world.county().set_1.ram);
        let get = |path: &str| world.http.get(format!("{}{path}", service.base));
        let forwarded = get("/livez").header("x-request-id", "watcher-7").header("x-forwarded-for", "203.0.113.9");
        forwarded.send().await.expect("an answer");
        let body = crew.get(&format!("/v1/pieces/{piece}")).await;
        assert_eq!(body.status, 200);
        get(&format!("/v1/calendars/{secret}/checks.ics")).send().await.expect("an answer");
        get(&format!("/v1/nowhere/{secret}?token={secret}")).send().await.expect("an answer");
        get("/v1/pieces").send().await.expect("an answer");
        service.stop().await;

        let lines = lines(&file);
        let with = |route: Value| {
            lines
                .iter()
                .find(|line| line["route"] == route)
                .unwrap_or_else(|| panic!("no {route} in {lines:#?}"))
        };
        let alive = with(json!("/livez"));
        assert_eq!(
            (
                &alive["method"],
                &alive["status"],
                &alive["bytes"],
                &alive["request_id"],
                &alive["member"],
                &alive["address"]
            ),
            (&json!("GET"), &json!(200), &json!(5), &json!("watcher-7"), &Value::Null, &json!("203.0.113.9"))
        );
        let read = with(json!("/v1/pieces/{id}"));
        assert_eq!((&read["member"], &read["address"]), (&json!(crew.person.id), &json!("127.0.0.1")));
        assert_eq!(read["bytes"], json!(body.text.len()));
        assert_eq!(read["request_id"].as_str(), body.headers["x-request-id"].to_str().ok());
        let ended = chrono::DateTime::parse_from_rfc3339(read["time"].as_str().expect("a time")).expect("an instant");
        assert!((chrono::Utc::now() - ended.to_utc()).num_seconds() < 60 && read["ms"].is_u64());
        assert_eq!(with(json!("/v1/calendars/{secret}/checks.ics"))["status"], json!(404));
        let unknown = with(Value::Null);
        assert_eq!((&unknown["path"], &unknown["status"]), (&json!("/v1/nowhere/..."), &json!(404)));
        assert_eq!(
            (&with(json!("/v1/pieces"))["status"], &with(json!("/v1/pieces"))["member"]),
            (&json!(401), &Value::Null)
        );
        let text = fs::read_to_string(&file).expect("the log");
        assert!(!text.contains(&secret) && !text.contains(&crew.access().await), "{text}");
        use std::os::unix::fs::PermissionsExt as _;
        assert_eq!(fs::metadata(&file).expect("the log").permissions().mode() & 0o077, 0);
    });
}

#[test]
fn a_log_that_was_taken_away_is_opened_anew_on_sighup_which_ends_nothing() {
    on(Engine::Sqlite, async |world: &World| {
        let folder = tempfile::tempdir().expect("a folder");
        let (file, old) = (folder.path().join("access.log"), folder.path().join("access.log.1"));
        let mut service = Running::start(&world.location, &["--access-log", &file.display().to_string()]);
        let ask = async |id: &str| {
            let request = world.http.get(format!("{}/livez", service.base)).header("x-request-id", id);
            assert_eq!(request.send().await.expect("an answer").status(), 200);
        };
        let has = |file: &Path, id: &str| lines(file).iter().any(|line| line["request_id"] == json!(id));
        ask("before").await;
        soon("the first line", async || has(&file, "before").then_some(())).await;
        fs::rename(&file, &old).expect("moved");
        ask("between").await;
        soon("the line in what was moved", async || has(&old, "between").then_some(())).await;
        service.signal("-HUP");
        soon("a new file", async || file.exists().then_some(())).await;
        ask("after").await;
        soon("the line in the new file", async || has(&file, "after").then_some(())).await;
        assert!(!has(&old, "after") && !has(&file, "between"));
        assert!(service.lives());
        service.stop().await;
    });
}

#[test]
fn the_log_goes_to_standard_output_where_that_is_asked() {
    on(Engine::Sqlite, async |world: &World| {
        let service = Running::start(&world.location, &["--access-log", "-"]);
        world.http.get(format!("{}/livez", service.base)).send().await.expect("an answer");
        let line: Value = serde_json::from_str(&service.says()).expect("JSON");
        assert_eq!((&line["route"], &line["status"]), (&json!("/livez"), &json!(200)));
        service.stop().await;
    });
}
