//! The access log: a line for each answered request, without secrets, opened anew when it was taken away.

use std::{fs, path::Path, process::Command};

use serde_json::{Value, json};

use uuid::Uuid;

use super::kit::Running;
use crate::{
    slices::calendar_feeds::secret,
    world::{
        Engine, World, command,
        device::Device,
        on,
        process::{binary, url},
        soon,
    },
};

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
fn the_log_goes_to_standard_output_where_that_is_asked_or_no_terminal_listens() {
    on(Engine::Sqlite, async |world: &World| {
        // Nothing is said: what the tests listen by is a pipe.
        let unasked = || {
            let mut serve = Command::new(binary());
            serve.args(["serve", "--listen", "127.0.0.1:0", "--alerts", "off", "--database", &url(&world.location)]);
            serve
        };
        for asked in [true, false] {
            let service = match asked {
                true => Running::start(&world.location, &["--access-log", "-"]),
                false => Running::run(unasked()),
            };
            world.http.get(format!("{}/livez", service.base)).send().await.expect("an answer");
            let line: Value = serde_json::from_str(&service.says()).expect("JSON");
            assert_eq!((&line["route"], &line["status"]), (&json!("/livez"), &json!(200)));
            service.stop().await;
        }
    });
}

#[test]
fn a_line_names_tablet_and_program_and_what_was_refused_inside_a_batch() {
    on(Engine::Sqlite, async |world: &World| {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("access.log");
        let (crew, admin) = (world.crew(), world.admin());
        let tablet = Device::enrol(world, &world.officer(), Some(world.county().station_1)).await;
        let (secret, hash) = secret(7);
        let until = (world.clock.now() + chrono::TimeDelta::days(300)).to_rfc3339_opts(chrono::SecondsFormat::Micros, true);
        let wanted = json!({ "id": Uuid::now_v7(), "name": "Board", "scope": { "of": "read" }, "expires_at": until, "secret_sha256": hash });
        let key = admin.post("/v1/api-keys", wanted).await.record();
        let service = Running::start(&world.location, &["--access-log", &file.display().to_string()]);
        let http = |path: &str| world.http.get(format!("{}{path}", service.base));
        let pieces = http("/v1/pieces").bearer_auth(format!("fsk_{secret}")).send().await.expect("an answer");
        assert_eq!(pieces.status(), 200);
        let refreshed = world.http.post(format!("{}/v1/session/refresh", service.base));
        let token = json!({ "refresh_token": tablet.session["refresh_token"] });
        let session: Value = refreshed.json(&token).send().await.expect("an answer").json().await.expect("JSON");
        let access = session["access_token"].as_str().expect("a token");
        assert_eq!(http("/v1/rigs").bearer_auth(access).send().await.expect("an answer").status(), 200);
        let here = service.member(world, "crew");
        let shop = || command("shop.add", json!({ "id": Uuid::now_v7(), "name": "Mine" }));
        here.send(vec![shop(), command("no.such", json!({})), shop()]).await.ok();
        here.post("/v1/shops", json!({ "id": Uuid::now_v7(), "name": "Mine" }))
            .await
            .refused(403, "not-allowed");
        service.stop().await;
        let lines = lines(&file);
        let of = |route: &str| {
            lines
                .iter()
                .find(|line| line["route"] == route)
                .unwrap_or_else(|| panic!("no {route} in {lines:#?}"))
        };
        assert_eq!((&of("/v1/pieces")["key"], &of("/v1/pieces")["member"]), (&key["id"], &Value::Null));
        assert_eq!((&of("/v1/rigs")["device"], &of("/v1/rigs")["member"]), (&json!(tablet.id), &Value::Null));
        let batch = of("/v1/commands");
        assert_eq!(batch["refused"], json!({ "not-allowed": 2, "command-unknown": 1 }), "{batch}");
        assert_eq!((&batch["status"], &batch["member"]), (&json!(200), &json!(crew.person.id)));
        assert_eq!(of("/v1/shops")["refused"], json!({ "not-allowed": 1 }));
        assert!(of("/v1/rigs")["refused"].is_null() && batch["key"].is_null());
    });
}

#[test]
fn the_services_own_log_is_json_where_no_terminal_reads_it() {
    on(Engine::Sqlite, async |world: &World| {
        for (arguments, json) in [(vec![], true), (vec!["--log-format", "text"], false)] {
            let service = Running::start(&world.location, &arguments);
            let log = service.told_to_stop().await;
            let line = log.lines().find(|line| line.contains("told to stop")).unwrap_or_else(|| panic!("{log}"));
            assert_eq!(serde_json::from_str::<Value>(line).is_ok(), json, "{line}");
        }
    });
}
