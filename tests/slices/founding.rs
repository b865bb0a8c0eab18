use std::io::BufRead as _;

use fullset::platform::db::Location;
use serde_json::{Value, json};

use crate::world::{Reply, World, on_both, process};

fn founding(code: &str) -> Value {
    json!({
        "code": code, "agency": "Tallow County Fire", "time_zone": "America/Denver", "units": "us",
        "name": "Ada Admin", "email": "ada@tallow.example", "password": "three-quiet-words",
    })
}

on_both!(where_there_is_an_agency_none_is_founded, async |world: &World| {
    let base = &world.server.base;
    let state = Reply::of("founding".into(), world.http.get(format!("{base}/v1/founding"))).await.ok();
    assert_eq!(state, json!({ "needed": false }));
    let found = world.http.post(format!("{base}/v1/founding")).json(&founding("AAAA-AAAA"));
    Reply::of("found".into(), found).await.refused(409, "rule-broken");
});

/// A service on a database of its own that has no agency, and the code that it printed.
struct Empty {
    child: std::process::Child,
    base: String,
    code: String,
    location: Location,
    _dir: tempfile::TempDir,
}

impl Empty {
    fn serve() -> Self {
        let dir = tempfile::tempdir().expect("a folder");
        let location = Location::Sqlite(dir.path().join("new.sqlite"));
        let mut child = std::process::Command::new(process::binary())
            .args(["serve", "--listen", "127.0.0.1:0", "--new", "--database"])
            .arg(process::url(&location))
            .stdout(std::process::Stdio::piped())
            .spawn()
            .expect("the service starts");
        let mut lines = std::io::BufReader::new(child.stdout.take().expect("a pipe")).lines().map_while(Result::ok);
        let base = lines
            .next()
            .and_then(|line| line.rsplit(' ').next().map(str::to_owned))
            .expect("where it answers");
        let line = lines.find(|line| line.contains("with this code")).expect("the code");
        let code = line.rsplit(' ').next().expect("a word").to_owned();
        Self {
            child,
            base,
            code,
            location,
            _dir: dir,
        }
    }
}

impl Drop for Empty {
    fn drop(&mut self) {
        // It is there until here.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn the_first_agency_is_founded_from_a_page_with_the_printed_code() {
    let runtime = tokio::runtime::Runtime::new().expect("threads start");
    let empty = Empty::serve();
    runtime.block_on(async {
        let http = reqwest::Client::new();
        let state = async || Reply::of("founding".into(), http.get(format!("{}/v1/founding", empty.base))).await.ok();
        let found = async |body: &Value| Reply::of("found".into(), http.post(format!("{}/v1/founding", empty.base)).json(body)).await;
        assert_eq!(state().await, json!({ "needed": true }));
        found(&founding("23456789")).await.refused(403, "code-unknown");
        for (field, bad) in [
            ("email", "nobody"),
            ("password", "password1"),
            ("agency", " "),
            ("time_zone", "Mars/Olympus"),
            ("locale", "de-DE"),
        ] {
            let mut body = founding(&empty.code);
            body[field] = json!(bad);
            let problem = found(&body).await.refused(422, "field-invalid");
            assert_eq!(problem["field"], format!("body.{field}"), "{problem}");
        }
        assert_eq!(state().await, json!({ "needed": true }), "no half of an agency is left");
        // As somebody types what was read out.
        let mut typed = founding(&empty.code.to_lowercase().replace('-', " "));
        typed["locale"] = json!("en-CA");
        let founded = found(&typed).await;
        assert_eq!(founded.status, 201, "{}", founded.text);
        assert_eq!(state().await, json!({ "needed": false }));
        let body = json!({ "email": "ada@tallow.example", "password": "three-quiet-words" });
        let session = Reply::of("sign in".into(), http.post(format!("{}/v1/session", empty.base)).json(&body))
            .await
            .ok();
        assert_eq!(
            (&session["member"]["role"], &session["agency"]["name"]),
            (&json!("admin"), &json!("Tallow County Fire"))
        );
        assert_eq!(session["agency"]["locale"], "en-CA", "what was chosen, and not what is usual for its units");
    });
    let (holds, said) = process::verify(&empty.location);
    assert!(holds, "{said}");
}

on_both!(an_admin_chooses_how_screens_spell_and_no_rig_is_judged_anew, async |world: &World| {
    let (admin, officer) = (world.admin(), world.officer());
    let path = "/v1/agency";
    let rig = world.county().engine_1;
    let (before, judged) = (admin.find(path).await, officer.capability(rig).await);
    assert_eq!(before["locale"], "en-US", "usual for US customary units");
    for (who, name) in [(world.coordinator(), "coordinator"), (world.officer(), "officer"), (world.crew(), "crew")] {
        let problem = who.edit(path, json!({ "locale": "en-NZ" })).await.refused(403, "not-allowed");
        assert!(problem["detail"].as_str().is_some_and(|words| !words.is_empty()), "{name}: {problem}");
    }
    for bad in [json!("de-DE"), json!("en_US"), json!("en"), json!("EN-US"), json!(""), json!(1)] {
        let problem = admin.edit(path, json!({ "locale": bad })).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.locale", "{problem}");
        if bad.is_string() {
            let detail = problem["detail"].as_str().unwrap_or_default();
            for one in ["en-US", "en-CA", "en-GB", "en-IE", "en-AU", "en-NZ"] {
                assert!(detail.contains(one), "which there are: {problem}");
            }
        }
    }
    let old = before["rev"].as_i64().unwrap() - 1;
    admin.patch_on(path, old, json!({ "locale": "en-NZ" })).await.problem();
    assert_eq!(admin.find(path).await, before, "nothing of that counted");
    for chosen in ["en-CA", "en-GB", "en-IE", "en-AU", "en-NZ", "en-US"] {
        admin.edit(path, json!({ "locale": chosen })).await.ok();
        let after = admin.find(path).await;
        assert_eq!(after["locale"], chosen);
        assert_eq!(
            (&after["name"], &after["time_zone"], &after["units"], &after["policy"]),
            (&before["name"], &before["time_zone"], &before["units"], &before["policy"])
        );
    }
    admin.edit(path, json!({ "name": "Harrow Fire" })).await.ok();
    assert_eq!(officer.find(path).await["locale"], "en-US", "another edit leaves it");
    assert_eq!(officer.capability(rig).await, judged, "its revision too");
    admin.edit(path, json!({ "units": "si", "reason": "metric register" })).await.ok();
    assert_eq!(officer.find(path).await["locale"], "en-US", "units are another choice");
});
