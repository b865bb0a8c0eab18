//! Signing in, staying signed in, and being shut out: by token for programs, by cookie for browsers.

use chrono::TimeDelta;
use reqwest::{Method, header};
use serde_json::{Value, json};
use uuid::Uuid;

use super::accounts::events;
use crate::world::{Reply, World, on_both, sql};

pub async fn post(world: &World, path: &str, headers: &[(&str, &str)], body: &Value) -> Reply {
    request(world, Method::POST, path, headers, Some(body)).await
}

pub async fn request(world: &World, method: Method, path: &str, headers: &[(&str, &str)], body: Option<&Value>) -> Reply {
    let mut request = world.http.request(method.clone(), format!("{}{path}", world.server.base));
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    if let Some(body) = body {
        request = request.json(body);
    }
    Reply::of(format!("{method} {path} {headers:?}"), request).await
}

pub async fn refresh(world: &World, token: &Value) -> Reply {
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

fn wait_of(reply: &Reply) -> Option<i64> {
    reply.headers.get(header::RETRY_AFTER)?.to_str().ok()?.parse().ok()
}

on_both!(guessing_is_slowed_down_however_the_email_is_spelt, async |world: &World| {
    let email = world.crew().person.email;
    let spelt = [
        email.clone(),
        format!(" {email}"),
        format!("{email}\t"),
        email.to_uppercase(),
        format!("\u{a0}{email} "),
    ];
    let tried = |n: usize| json!({ "email": spelt[n % spelt.len()], "password": "not-the-password" });
    for n in 0..5 {
        post(world, "/v1/session", &[], &tried(n)).await.refused(401, "sign-in-failed");
    }
    let mut waits = Vec::new();
    for n in 0..3 {
        let slowed = post(world, "/v1/session", &[], &tried(n)).await;
        let wait = wait_of(&slowed).expect("the wait is told");
        slowed.refused(429, "slow-down");
        waits.push(wait);
        world.pass(TimeDelta::seconds(wait));
        post(world, "/v1/session", &[], &tried(n)).await.refused(401, "sign-in-failed");
    }
    assert!(waits.is_sorted() && waits[2] > waits[0], "the wait is the true one, and grows: {waits:?}");
    world.officer().sign_in().await.ok();
    world.pass(TimeDelta::minutes(16));
    world.crew().sign_in().await.ok();
});

on_both!(an_email_that_is_none_or_too_long_is_refused_before_it_is_counted, async |world: &World| {
    for email in [
        "nobody".to_owned(),
        "a\0b@harrow.example".into(),
        format!("{}@harrow.example", "a".repeat(1_900_000)),
    ] {
        let given = json!({ "email": email, "password": "not-the-password" });
        let problem = post(world, "/v1/session", &[], &given).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.email");
    }
});

on_both!(a_flood_of_sign_ins_is_answered_at_once_and_keeps_nobody_waiting, async |world: &World| {
    let given = |n: usize| json!({ "email": format!("nobody{}@harrow.example", n % 50), "password": "not-the-password" });
    let flood = futures_util::future::join_all((0..300).map(async |n| post(world, "/v1/session", &[], &given(n)).await));
    let others = async {
        let mut longest = std::time::Duration::ZERO;
        for path in ["/livez", "/livez", "/healthz", "/livez", "/healthz"] {
            let begun = std::time::Instant::now();
            assert_eq!(world.nobody("GET", path).await.status, 200);
            longest = longest.max(begun.elapsed());
        }
        longest
    };
    let (answers, longest) = futures_util::future::join(flood, others).await;
    assert!(longest < std::time::Duration::from_secs(3), "{longest:?}");
    for answer in &answers {
        assert!([401, 429, 503].contains(&answer.status), "{} {}", answer.status, answer.text);
        assert!(answer.status == 401 || wait_of(answer).is_some(), "{}", answer.text);
    }
    assert!(
        answers.iter().any(|answer| answer.status != 401),
        "there is an end to what is worked on at once"
    );
    world.pass(TimeDelta::minutes(2));
    // On a connection of its own: of the flood's, some were opened and never used, and the service closes those.
    let (person, path) = (world.crew().person, format!("{}/v1/session", world.server.base));
    let given = json!({ "email": person.email, "password": person.password });
    Reply::of("sign in".into(), reqwest::Client::new().post(path).json(&given)).await.ok();
});

on_both!(a_token_of_an_unknown_key_is_refused_without_the_database, async |world: &World| {
    use base64::Engine as _;
    let engine = base64::engine::general_purpose::URL_SAFE_NO_PAD;
    let good = world.crew().access().await;
    let tail = good.split_once('.').expect("three parts").1;
    let made_up = engine.encode(json!({ "alg": "EdDSA", "typ": "JWT", "kid": "made-up" }).to_string());
    let bearer = format!("Bearer {made_up}.{tail}");
    // Whoever asks the database now waits.
    let held = sql::Held::of(&world.location, "signing_key");
    let headers = [("authorization", bearer.as_str())];
    let asked = request(world, Method::GET, "/v1/board", &headers, None);
    let answer = tokio::time::timeout(std::time::Duration::from_secs(2), asked).await;
    drop(held);
    answer.expect("nobody waits for the database").refused(401, "sign-in-needed");
});

on_both!(a_made_up_refresh_token_waits_for_no_writer, async |world: &World| {
    // Whoever writes now waits.
    let held = sql::Held::of(&world.location, "signing_key");
    let asked = tokio::time::timeout(std::time::Duration::from_secs(2), refresh(world, &json!("nonsense"))).await;
    drop(held);
    asked.expect("nobody waits for the writer").refused(401, "session-ended");
});

on_both!(a_page_of_elsewhere_signs_nobody_in, async |world: &World| {
    let person = world.coordinator().person;
    let mut given = json!({ "email": person.email, "password": person.password });
    let from = async |origin: &str, given: &Value| post(world, "/v1/session", &[("origin", origin)], given).await;
    from("https://elsewhere.example", &given).await.refused(403, "origin-refused");
    from("https://map.example", &given).await.ok();
    from(&world.server.base, &given).await.ok();
    given["browser"] = json!(true);
    from("https://map.example", &given).await.refused(403, "origin-refused");
    post(world, "/v1/session", &[], &given).await.refused(403, "origin-refused");
    from(&world.server.base, &given).await.ok();
});

on_both!(a_host_that_a_stranger_forwards_is_not_believed, async |world: &World| {
    let cookies = browser(world).await;
    let district = json!({ "id": Uuid::now_v7(), "name": "West" });
    let forged = [
        ("cookie", cookies.as_str()),
        ("origin", "http://elsewhere.example"),
        ("x-forwarded-host", "elsewhere.example"),
    ];
    post(world, "/v1/districts", &forged, &district).await.refused(403, "origin-refused");
    let bearer = format!("Bearer {}", world.crew().access().await);
    let headers = [
        ("authorization", bearer.as_str()),
        ("x-forwarded-host", "elsewhere.example"),
        ("forwarded", "host=elsewhere.example"),
    ];
    let invited = post(world, "/v1/enrolments", &headers, &json!({ "kind": "phone" })).await.ok();
    assert!(invited["url"].as_str().unwrap().starts_with(&world.server.base), "{invited}");
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
    let told = events(&world.admin(), "").await;
    let twice: Vec<_> = told.iter().filter(|(what, ..)| what == "token_used_twice").collect();
    assert!(twice.len() == 1 && twice[0].1 == json!(world.crew().person.id), "{told:?}");
});

on_both!(tokens_spent_at_once_by_several_have_one_successor, async |world: &World| {
    let first = world.crew().sign_in().await.ok()["refresh_token"].clone();
    let all = futures_util::future::join_all((0..8).map(|_| refresh(world, &first))).await;
    let next: std::collections::BTreeSet<String> = all.into_iter().map(|reply| reply.ok()["refresh_token"].to_string()).collect();
    assert_eq!(next.len(), 1, "{next:?}");
});

on_both!(a_password_that_was_right_before_a_reset_signs_nobody_in_after_it, async |world: &World| {
    let (admin, crew) = (world.admin(), world.crew());
    let path = format!("/v1/members/{}", crew.person.id);
    let rev = admin.rev(&path).await;
    let old = json!({ "email": crew.person.email, "password": crew.person.password });
    // The reset stands first in the line of passwords; the others have read the old hash while they wait behind it.
    let (reset, entries) = tokio::join!(
        admin.patch_on(&path, rev, json!({ "password": "ladder-seven-morning-rain" })),
        futures_util::future::join_all((0..5).map(|_| post(world, "/v1/session", &[], &old)))
    );
    reset.ok();
    for entry in entries {
        if entry.status == 200 {
            refresh(world, &entry.ok()["refresh_token"]).await.refused(401, "session-ended");
        } else {
            assert!([401, 429].contains(&entry.status), "{} {}", entry.status, entry.text);
        }
    }
});

on_both!(a_sign_in_is_refreshed_sixty_times_at_once_and_then_seldom, async |world: &World| {
    let own = json!({ "email": world.crew().person.email, "password": world.crew().person.password });
    let mut token = post(world, "/v1/session", &[], &own).await.ok()["refresh_token"].take();
    for _ in 0..60 {
        token = refresh(world, &token).await.ok()["refresh_token"].take();
    }
    let slowed = refresh(world, &token).await;
    let wait = wait_of(&slowed);
    slowed.refused(429, "slow-down");
    assert!(wait.is_some_and(|wait| (1..=7).contains(&wait)), "{wait:?}");
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

/// Signs the coordinator in by a browser; answers its cookies as it would send them back.
async fn browser(world: &World) -> String {
    browser_of(world, "coordinator", "").await
}

/// Signs a member in by a browser that has these cookies; answers the new ones.
pub async fn browser_of(world: &World, member: &str, cookies: &str) -> String {
    let person = world.member(member).person;
    let own = world.server.base.clone();
    let reply = post(
        world,
        "/v1/session",
        &[("origin", &own), ("cookie", cookies)],
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
    assert_eq!(out.headers["clear-site-data"], "\"cache\"");
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

on_both!(a_hash_that_was_made_otherwise_is_made_anew_at_the_next_sign_in, async |world: &World| {
    // Of the same password, by argon2-cffi 25.1 with a memory of 8 MiB and one pass.
    let old = "$argon2id$v=19$m=8192,t=1,p=1$Evz8XpzL9qUhQwqITY5Y/A$+MR1qazGBZCJOzXh2UhkoJAYsNhUisZEPt3jrdnzWGM";
    let crew = world.crew();
    let own = format!("WHERE email = '{}'", crew.person.email);
    sql::run(&world.location, &format!("UPDATE credential SET password_hash = '{old}' {own}"));
    let hash = || sql::texts(&world.location, &format!("SELECT password_hash AS t FROM credential {own}")).remove(0);
    let mut wrong = crew.clone();
    wrong.person.password = "not-the-password".into();
    wrong.sign_in().await.refused(401, "sign-in-failed");
    assert_eq!(hash(), old, "a wrong password changes nothing");
    crew.sign_in().await.ok();
    let renewed = hash();
    assert!(renewed.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{renewed}");
    crew.sign_in().await.ok();
    assert_eq!(hash(), renewed, "once");
});
