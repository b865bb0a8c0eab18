//! Signing in, staying signed in, and being shut out: by token for programs, by cookie for browsers.

use chrono::TimeDelta;
use reqwest::{Method, header};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Reply, World, on_both, sql};

async fn post(world: &World, path: &str, headers: &[(&str, &str)], body: &Value) -> Reply {
    request(world, Method::POST, path, headers, Some(body)).await
}

async fn request(world: &World, method: Method, path: &str, headers: &[(&str, &str)], body: Option<&Value>) -> Reply {
    let mut request = world.http.request(method.clone(), format!("{}{path}", world.server.base));
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    if let Some(body) = body {
        request = request.json(body);
    }
    Reply::of(format!("{method} {path} {headers:?}"), request).await
}

async fn refresh(world: &World, token: &Value) -> Reply {
    post(world, "/v1/session/refresh", &[], &json!({ "refresh_token": token })).await
}

on_both!(a_wrong_password_and_an_unknown_email_are_refused_alike, async |world: &World| {
    let wrong = json!({ "email": world.crew().person.email, "password": "not-the-password" });
    let unknown = json!({ "email": "nobody@harrow.example", "password": "not-the-password" });
    let mut wrong = post(world, "/v1/session", &[], &wrong).await.refused(401, "sign-in-failed");
    let mut unknown = post(world, "/v1/session", &[], &unknown).await.refused(401, "sign-in-failed");
    for problem in [&mut wrong, &mut unknown] {
        problem["request_id"].take();
    }
    assert_eq!(wrong, unknown, "the answer does not tell which emails exist");
});

on_both!(guessing_is_slowed_down, async |world: &World| {
    let wrong = json!({ "email": world.crew().person.email, "password": "not-the-password" });
    for _ in 0..5 {
        post(world, "/v1/session", &[], &wrong).await.refused(401, "sign-in-failed");
    }
    let slowed = post(world, "/v1/session", &[], &wrong).await;
    let wait = slowed
        .headers
        .get(header::RETRY_AFTER)
        .and_then(|value| value.to_str().ok()?.parse::<u32>().ok());
    slowed.refused(429, "slow-down");
    assert!(wait.is_some_and(|seconds| seconds > 0));
    world.officer().sign_in().await.ok();
});

on_both!(an_access_token_serves_fifteen_minutes_and_is_refreshed, async |world: &World| {
    let session = world.crew().sign_in().await.ok();
    assert_eq!(session["expires_in"], 900);
    let bearer = format!("Bearer {}", session["access_token"].as_str().unwrap());
    let ask = async || request(world, Method::GET, "/v1/session", &[("authorization", &bearer)], None).await;
    world.pass(TimeDelta::minutes(15) - TimeDelta::seconds(1));
    ask().await.ok();
    world.pass(TimeDelta::seconds(1));
    ask().await.refused(401, "sign-in-needed");
    let renewed = refresh(world, &session["refresh_token"]).await.ok();
    let bearer = format!("Bearer {}", renewed["access_token"].as_str().unwrap());
    request(world, Method::GET, "/v1/session", &[("authorization", &bearer)], None).await.ok();
});

on_both!(a_lost_reply_never_ends_a_sign_in, async |world: &World| {
    let first = world.crew().sign_in().await.ok()["refresh_token"].clone();
    let second = refresh(world, &first).await.ok()["refresh_token"].clone();
    for wait in [TimeDelta::zero(), TimeDelta::seconds(11), TimeDelta::days(20)] {
        world.pass(wait);
        let again = refresh(world, &first).await.ok();
        assert_eq!(again["refresh_token"], second, "a spent token has one successor");
        let bearer = format!("Bearer {}", again["access_token"].as_str().unwrap());
        request(world, Method::GET, "/v1/session", &[("authorization", &bearer)], None).await.ok();
    }
    let third = refresh(world, &second).await.ok()["refresh_token"].clone();
    assert_eq!(refresh(world, &second).await.ok()["refresh_token"], third);
    let living = "SELECT count(*) AS n FROM refresh_token WHERE spent_at IS NULL AND family IN (SELECT family FROM refresh_token WHERE spent_at IS NOT NULL)";
    assert_eq!(sql::number(&world.location, living), 1);
});

on_both!(a_token_from_before_the_one_in_use_ends_the_whole_sign_in, async |world: &World| {
    let first = world.crew().sign_in().await.ok()["refresh_token"].clone();
    let second = refresh(world, &first).await.ok()["refresh_token"].clone();
    let third = refresh(world, &second).await.ok()["refresh_token"].clone();
    refresh(world, &first).await.refused(401, "session-ended");
    refresh(world, &third).await.refused(401, "session-ended");
    refresh(world, &second).await.refused(401, "session-ended");
    world.crew().sign_in().await.ok();
});

on_both!(tokens_spent_at_once_by_several_have_one_successor, async |world: &World| {
    let first = world.crew().sign_in().await.ok()["refresh_token"].clone();
    let all = futures_util::future::join_all((0..8).map(|_| refresh(world, &first))).await;
    let next: std::collections::BTreeSet<String> = all.into_iter().map(|reply| reply.ok()["refresh_token"].to_string()).collect();
    assert_eq!(next.len(), 1, "{next:?}");
});

on_both!(a_refresh_token_lasts_thirty_days, async |world: &World| {
    let token = world.crew().sign_in().await.ok()["refresh_token"].clone();
    world.pass(TimeDelta::days(30));
    refresh(world, &token).await.refused(401, "session-ended");
});

on_both!(a_made_up_token_is_refused, async |world: &World| {
    let good = world.crew().access().await;
    let mut parts: Vec<String> = good.split('.').map(str::to_owned).collect();
    let last = parts[2].pop().unwrap();
    parts[2].insert(0, last);
    let unsigned = format!("{}.{}.", parts[0], parts[1]);
    for token in [parts.join("."), unsigned, "nonsense".into(), "a.b.c".into(), String::new()] {
        let bearer = format!("Bearer {token}");
        request(world, Method::GET, "/v1/board", &[("authorization", &bearer)], None)
            .await
            .refused(401, "sign-in-needed");
    }
    refresh(world, &json!("nonsense")).await.refused(401, "session-ended");
});

/// Signs a browser in; answers its cookies as it would send them back.
async fn browser(world: &World) -> String {
    let person = world.coordinator().person;
    let reply = post(
        world,
        "/v1/session",
        &[],
        &json!({ "email": person.email, "password": person.password, "browser": true }),
    )
    .await;
    let cookies: Vec<String> = reply
        .headers
        .get_all(header::SET_COOKIE)
        .iter()
        .map(|value| value.to_str().unwrap().to_owned())
        .collect();
    assert_eq!(cookies.len(), 2, "{cookies:?}");
    for cookie in &cookies {
        assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    }
    let body = reply.ok();
    assert!(
        body["access_token"].is_null() && body["refresh_token"].is_null(),
        "scripts never see a browser's tokens: {body}"
    );
    let pairs: Vec<&str> = cookies.iter().map(|cookie| cookie.split(';').next().unwrap()).collect();
    pairs.join("; ")
}

on_both!(a_browser_writes_from_the_services_own_pages_only, async |world: &World| {
    let cookies = browser(world).await;
    let own = world.server.base.clone();
    request(world, Method::GET, "/v1/board", &[("cookie", &cookies)], None).await.ok();
    let district = || json!({ "id": Uuid::now_v7(), "name": "West" });
    post(world, "/v1/districts", &[("cookie", &cookies)], &district())
        .await
        .refused(403, "origin-refused");
    post(
        world,
        "/v1/districts",
        &[("cookie", &cookies), ("origin", "http://elsewhere.example")],
        &district(),
    )
    .await
    .refused(403, "origin-refused");
    post(world, "/v1/session/refresh", &[("cookie", &cookies), ("origin", "null")], &json!({}))
        .await
        .refused(403, "origin-refused");
    request(world, Method::DELETE, "/v1/session", &[("cookie", &cookies)], None)
        .await
        .refused(403, "origin-refused");
    post(world, "/v1/districts", &[("cookie", &cookies), ("origin", &own)], &district()).await.ok();
});

on_both!(a_browser_that_signs_out_is_out_on_every_copy_of_its_tokens, async |world: &World| {
    let cookies = browser(world).await;
    let own = world.server.base.clone();
    let headers = [("cookie", cookies.as_str()), ("origin", own.as_str())];
    post(world, "/v1/session/refresh", &headers, &json!({})).await.ok();
    let out = request(world, Method::DELETE, "/v1/session", &headers, None).await;
    assert_eq!(out.status, 204);
    let spent: Vec<&str> = out.headers.get_all(header::SET_COOKIE).iter().map(|value| value.to_str().unwrap()).collect();
    assert!(spent.iter().all(|cookie| cookie.contains("Max-Age=0")), "{spent:?}");
    post(world, "/v1/session/refresh", &headers, &json!({})).await.refused(401, "session-ended");
});

on_both!(a_program_that_signs_out_is_out_on_every_copy_of_its_tokens, async |world: &World| {
    let session = world.crew().sign_in().await.ok();
    let bearer = format!("Bearer {}", session["access_token"].as_str().unwrap());
    let out = request(world, Method::DELETE, "/v1/session", &[("authorization", &bearer)], None).await;
    assert_eq!(out.status, 204);
    refresh(world, &session["refresh_token"]).await.refused(401, "session-ended");
});

on_both!(the_session_names_the_member_the_agency_and_what_it_may_send, async |world: &World| {
    let crew = world.crew();
    let session = crew.get("/v1/session").await.ok();
    assert_eq!(
        (&session["member"]["id"], &session["agency"]["id"]),
        (&json!(crew.person.id), &json!(world.agency().id))
    );
    let may = session["may"].as_array().unwrap();
    assert!(may.contains(&json!("defect.report")) && !may.contains(&json!("piece.return")), "{may:?}");
});
