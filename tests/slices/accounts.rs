//! The own account: password and sign-ins; and what admins see and end.

use chrono::TimeDelta;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, device::Device, on_both, people::PASSWORD, soon, sql};

pub const NEW: &str = "another-three-words";

/// Somebody at a browser or a program, without the client's own keeping of tokens.
pub async fn ask(world: &World, method: Method, path: &str, token: Option<&str>, body: Value) -> Reply {
    let mut request = world.http.request(method.clone(), format!("{}{path}", world.server.base));
    if let Some(token) = token {
        request = request.bearer_auth(token);
    }
    if !body.is_null() {
        request = request.json(&body);
    }
    Reply::of(format!("{method} {path} {body}"), request).await
}

pub async fn post(world: &World, path: &str, token: Option<&str>, body: Value) -> Reply {
    ask(world, Method::POST, path, token, body).await
}

/// A sign-in anew.
pub async fn signed_in(member: &Client) -> (String, String) {
    let session = member.sign_in().await.ok();
    let text = |name: &str| session[name].as_str().expect("a token").to_owned();
    (text("access_token"), text("refresh_token"))
}

pub async fn refreshed(world: &World, token: &str) -> Reply {
    post(world, "/v1/session/refresh", None, json!({ "refresh_token": token })).await
}

/// The events that an admin reads, newest first: what, to whom, by whom.
pub async fn events(admin: &Client, query: &str) -> Vec<(String, Value, Value)> {
    let page = admin.get(&format!("/v1/access-events{query}")).await.ok();
    let items = page["items"].as_array().expect("items").iter();
    items
        .map(|event| {
            (
                event["what"].as_str().unwrap().to_owned(),
                event["member"]["id"].clone(),
                event["by"]["name"].clone(),
            )
        })
        .collect()
}

pub async fn noted(admin: &Client, what: &str, member: Uuid) {
    soon(what, async || {
        let all = events(admin, "").await;
        all.iter().any(|(told, to, _)| told == what && *to == json!(member)).then_some(())
    })
    .await;
}

on_both!(a_member_changes_the_own_password_and_stays_signed_in_here_alone, async |world: &World| {
    let (crew, admin) = (world.crew(), world.admin());
    let (here, here_refresh) = signed_in(&crew).await;
    let (there, there_refresh) = signed_in(&crew).await;
    let phone = Device::enrol(world, &crew, None).await;
    let change = async |present: &str, password: &str| {
        let body = json!({ "present": present, "password": password });
        post(world, "/v1/session/password", Some(&here), body).await
    };
    change("not-the-password", NEW).await.refused(403, "password-wrong");
    assert_eq!(change(PASSWORD, "short").await.refused(422, "field-invalid")["field"], "body.password");
    let own = format!("{}-2026", crew.person.email.split('@').next().unwrap());
    assert_eq!(change(PASSWORD, &own).await.refused(422, "field-invalid")["field"], "body.password");
    assert_eq!(change(PASSWORD, NEW).await.status, 204);
    ask(world, Method::GET, "/v1/session", Some(&here), Value::Null).await.ok();
    refreshed(world, &here_refresh).await.ok();
    ask(world, Method::GET, "/v1/session", Some(&there), Value::Null)
        .await
        .refused(401, "session-ended");
    refreshed(world, &there_refresh).await.refused(401, "session-ended");
    phone.get("/v1/session").await.refused(401, "session-ended");
    crew.sign_in().await.refused(401, "sign-in-failed");
    let mut renewed = crew.clone();
    renewed.person.password = NEW.into();
    renewed.sign_in().await.ok();
    noted(&admin, "password_wrong", crew.person.id).await;
    noted(&admin, "password_changed", crew.person.id).await;
    let history = admin.find(&format!("/v1/members/{}/history", crew.person.id)).await;
    assert_eq!(history["items"][0]["kind"], "member.change_password");
    for words in [NEW, PASSWORD, "argon2", "not-the-password"] {
        for (table, column) in [("journal", "body"), ("record", "body"), ("access_event", "what")] {
            let query = format!("SELECT count(*) AS n FROM {table} WHERE CAST({column} AS TEXT) LIKE '%{words}%'");
            assert_eq!(sql::number(&world.location, &query), 0, "{words} in {table}.{column}");
        }
    }
});

on_both!(wrong_present_passwords_are_tries_to_sign_in, async |world: &World| {
    let crew = world.crew();
    let (token, _) = signed_in(&crew).await;
    let body = json!({ "present": "not-the-password", "password": NEW });
    for _ in 0..5 {
        post(world, "/v1/session/password", Some(&token), body.clone())
            .await
            .refused(403, "password-wrong");
    }
    post(world, "/v1/session/password", Some(&token), body).await.refused(429, "slow-down");
    crew.sign_in().await.refused(429, "slow-down");
    let body = json!({ "password": "not-the-password" });
    post(world, "/v1/session/second-factor", Some(&token), body).await.refused(429, "slow-down");
});

on_both!(a_tablet_and_a_password_that_was_changed_meanwhile_change_none, async |world: &World| {
    let (crew, admin) = (world.crew(), world.admin());
    let tablet = Device::enrol(world, &admin, Some(world.county().station_1)).await;
    let body = json!({ "present": PASSWORD, "password": NEW });
    tablet.post("/v1/session/password", &body).await.refused(403, "not-allowed");
    let own = format!("/v1/members/{}", admin.person.id);
    admin.edit(&own, json!({ "password": NEW })).await.refused(409, "rule-broken");
    let (token, _) = signed_in(&crew).await;
    let asked = post(world, "/v1/session/password", Some(&token), body);
    let path = format!("/v1/members/{}", crew.person.id);
    let rev = admin.rev(&path).await;
    let reset = admin.patch_on(&path, rev, json!({ "password": "four-unrelated-new-words" }));
    let (asked, reset) = tokio::join!(asked, reset);
    // Whichever was first: what the admin has set is never changed back by what was proved before it.
    match asked.status {
        204 => assert!([200, 409].contains(&reset.status), "{}", reset.text),
        _ => assert!([401, 403, 409].contains(&asked.status), "{} {}", asked.status, asked.text),
    }
    if reset.done() && asked.status != 204 {
        let mut renewed = crew.clone();
        renewed.person.password = "four-unrelated-new-words".into();
        renewed.sign_in().await.ok();
    }
});

on_both!(a_member_sees_and_ends_the_own_sign_ins, async |world: &World| {
    let crew = world.crew();
    let (here, here_refresh) = signed_in(&crew).await;
    world.pass(TimeDelta::minutes(5));
    let (there, there_refresh) = signed_in(&crew).await;
    let phone = Device::enrol(world, &crew, None).await;
    let (third, _) = signed_in(&crew).await;
    let list = async |token: &str| {
        let all = ask(world, Method::GET, "/v1/session/sign-ins", Some(token), Value::Null).await.ok();
        all["items"].as_array().unwrap().clone()
    };
    let all = list(&here).await;
    let this: Vec<&Value> = all.iter().filter(|one| one["this"] == true).collect();
    assert_eq!(this.len(), 1, "{all:?}");
    assert_eq!(this[0]["network"], "127.0.0.1");
    assert_eq!(this[0]["since"], "2026-11-25T14:00:00.000000Z");
    assert_eq!(this[0]["ends_at"], "2027-02-23T14:00:00.000000Z", "90 days");
    let device = all.iter().find(|one| one["device"] == "Bay 2").expect("the phone");
    assert!(device["ends_at"].is_null(), "a phone lasts until it is revoked: {device}");
    world.pass(TimeDelta::minutes(3));
    let renewed = refreshed(world, &here_refresh).await.ok();
    let here = renewed["access_token"].as_str().unwrap();
    let seen = list(here).await;
    assert_eq!(seen[0]["last_seen_at"], "2026-11-25T14:08:00.000000Z", "the one that was seen last is first");
    // One of them.
    let there_id = list(&there).await.into_iter().find(|one| one["this"] == true).unwrap()["id"].clone();
    let end = async |token: &str, body: Value| post(world, "/v1/session/end", Some(token), body).await;
    assert_eq!(end(here, json!({ "sign_in": there_id })).await.status, 204);
    ask(world, Method::GET, "/v1/session", Some(&there), Value::Null)
        .await
        .refused(401, "session-ended");
    refreshed(world, &there_refresh).await.refused(401, "session-ended");
    ask(world, Method::GET, "/v1/session", Some(&third), Value::Null).await.ok();
    end(here, json!({ "sign_in": there_id })).await.refused(404, "not-found");
    // Nobody ends another's.
    let officer = world.officer();
    let (theirs, _) = signed_in(&officer).await;
    let id = list(&theirs).await.into_iter().find(|one| one["this"] == true).unwrap()["id"].clone();
    end(here, json!({ "sign_in": id })).await.refused(404, "not-found");
    ask(world, Method::GET, "/v1/session", Some(&theirs), Value::Null).await.ok();
    // All others.
    assert_eq!(end(here, json!({})).await.status, 204);
    ask(world, Method::GET, "/v1/session", Some(&third), Value::Null)
        .await
        .refused(401, "session-ended");
    phone.get("/v1/session").await.refused(401, "session-ended");
    assert_eq!(list(here).await.len(), 1);
    let tablet = Device::enrol(world, &world.admin(), Some(world.county().station_1)).await;
    assert_eq!(tablet.get("/v1/session/sign-ins").await.ok()["items"], json!([]));
});

on_both!(a_sign_in_ends_after_ninety_days_and_a_phone_does_not, async |world: &World| {
    let crew = world.crew();
    let (_, mut token) = signed_in(&crew).await;
    let phone = Device::enrol(world, &crew, None).await;
    let mut phones = phone.session["refresh_token"].as_str().unwrap().to_owned();
    let next = |session: Value| session["refresh_token"].as_str().unwrap().to_owned();
    for _ in 0..4 {
        world.pass(TimeDelta::days(22));
        token = next(refreshed(world, &token).await.ok());
        phones = next(refreshed(world, &phones).await.ok());
    }
    world.pass(TimeDelta::days(2) - TimeDelta::seconds(1));
    token = next(refreshed(world, &token).await.ok());
    world.pass(TimeDelta::seconds(1));
    refreshed(world, &token).await.refused(401, "session-ended");
    refreshed(world, &phones).await.ok();
    crew.sign_in().await.ok();
});

on_both!(an_admin_within_reach_sees_and_ends_sign_ins, async |world: &World| {
    let (admin, crew) = (world.admin(), world.member("crew_1"));
    let (token, refresh) = signed_in(&crew).await;
    let path = format!("/v1/members/{}/access", crew.person.id);
    let access = admin.get(&path).await.ok();
    assert_eq!((&access["has_password"], &access["link"]), (&json!(true), &Value::Null));
    assert!(access["sign_ins"].as_array().unwrap().len() >= 2, "{access}");
    for name in ["coordinator", "officer_1", "crew_1"] {
        world.member(name).get(&path).await.refused(403, "not-allowed");
        world.member(name).get("/v1/access-events").await.refused(403, "not-allowed");
    }
    let vale = world.member_of(&world.ground.vale, "admin");
    vale.get(&path).await.refused(404, "not-found");
    let out = format!("/v1/members/{}/sign-out", crew.person.id);
    vale.post(&out, json!({})).await.refused(404, "not-found");
    let ids: Vec<&Value> = access["sign_ins"].as_array().unwrap().iter().map(|one| &one["id"]).collect();
    admin.post(&out, json!({ "sign_in": Uuid::now_v7() })).await.refused(409, "rule-broken");
    admin.post(&out, json!({ "sign_in": ids[0] })).await.ok();
    assert_eq!(admin.get(&path).await.ok()["sign_ins"].as_array().unwrap().len(), ids.len() - 1);
    admin.post(&out, json!({})).await.ok();
    assert_eq!(admin.get(&path).await.ok()["sign_ins"], json!([]));
    ask(world, Method::GET, "/v1/session", Some(&token), Value::Null)
        .await
        .refused(401, "session-ended");
    refreshed(world, &refresh).await.refused(401, "session-ended");
    let (_, to, by) = events(&admin, "").await.into_iter().find(|(what, ..)| what == "sign_ins_ended").unwrap();
    assert_eq!((to, by), (json!(crew.person.id), json!(admin.person.name)));
});

on_both!(events_are_paged_kept_for_a_time_and_hold_no_unknown_email, async |world: &World| {
    let (admin, crew) = (world.admin(), world.crew());
    for email in ["nobody@harrow.example", "somebody@elsewhere.example"] {
        let body = json!({ "email": email, "password": "not-the-password" });
        post(world, "/v1/session", None, body).await.refused(401, "sign-in-failed");
    }
    let wrong = json!({ "email": crew.person.email, "password": "not-the-password" });
    post(world, "/v1/session", None, wrong).await.refused(401, "sign-in-failed");
    noted(&admin, "password_wrong", crew.person.id).await;
    for _ in 0..3 {
        crew.sign_in().await.ok();
    }
    let unknown = "SELECT count(*) AS n FROM access_event WHERE member IS NULL";
    assert_eq!(sql::number(&world.location, unknown), 0);
    let all = events(&admin, "").await;
    let first = admin.get("/v1/access-events?limit=2").await.ok();
    let next = first["next"].as_str().unwrap();
    let second = events(&admin, &format!("?limit=2&after={next}")).await;
    assert_eq!(second, all[2..4], "pages follow one another");
    let of_crew = events(&admin, &format!("?member={}", crew.person.id)).await;
    assert!(
        of_crew.iter().all(|(_, to, _)| *to == json!(crew.person.id)) && of_crew.len() >= 4,
        "{of_crew:?}"
    );
    admin.get("/v1/access-events?limit=0").await.refused(400, "query-invalid");
    let vale = world.member_of(&world.ground.vale, "admin");
    assert!(events(&vale, "").await.iter().all(|(_, to, _)| *to != json!(crew.person.id)));
    world.pass(TimeDelta::days(181));
    crew.sign_in().await.ok();
    let left = events(&admin, "").await;
    assert!(left.len() <= 2, "181 days later those of before are gone: {left:?}");
});
