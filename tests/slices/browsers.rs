//! Browsers that sign in again, over TLS, and what is left of sign-ins afterwards.

use chrono::TimeDelta;
use fullset::{
    app::Settings,
    platform::{
        db::{Access, Db},
        door::{Forgotten, Keep, compact},
    },
};
use reqwest::{Method, header};
use serde_json::{Value, json};

use super::sessions::{browser_of, post, refresh, request};
use crate::world::{Reply, Server, World, device::Device, on_both, sql};

async fn refreshed(world: &World, cookies: &str) -> Reply {
    let own = world.server.base.clone();
    post(world, "/v1/session/refresh", &[("cookie", cookies), ("origin", &own)], &json!({})).await
}

on_both!(signing_in_again_in_one_browser_ends_the_members_own_sign_in_before, async |world: &World| {
    let first = browser_of(world, "coordinator", "").await;
    let elsewhere = browser_of(world, "coordinator", "").await;
    let second = browser_of(world, "coordinator", &first).await;
    refreshed(world, &first).await.refused(401, "session-ended");
    request(world, Method::GET, "/v1/session", &[("cookie", &first)], None)
        .await
        .refused(401, "session-ended");
    refreshed(world, &elsewhere).await.ok();
    // Somebody else's is left alone: who signs in acts in no other name.
    let others = browser_of(world, "crew", &second).await;
    refreshed(world, &second).await.ok();
    refreshed(world, &others).await.ok();
    // A cookie that is nobody's stands in nobody's way.
    browser_of(world, "shop", "fullset_refresh=nonsense").await;
});

on_both!(a_wrong_password_ends_nothing, async |world: &World| {
    let first = browser_of(world, "coordinator", "").await;
    let (own, email) = (world.server.base.clone(), world.coordinator().person.email);
    let wrong = json!({ "email": email, "password": "not-the-password", "browser": true });
    post(world, "/v1/session", &[("origin", &own), ("cookie", &first)], &wrong)
        .await
        .refused(401, "sign-in-failed");
    refreshed(world, &first).await.ok();
});

/// The cookies that an answer sets, whole.
fn set(reply: &Reply) -> Vec<String> {
    let all = reply.headers.get_all(header::SET_COOKIE).iter();
    all.map(|value| value.to_str().expect("text").to_owned()).collect()
}

on_both!(over_tls_cookies_are_of_this_host_alone, async |world: &World| {
    let behind_tls = Server::with(&world.location, &world.clock, |settings| Settings { plain_http: false, ..settings }).await;
    let person = world.member("coordinator").person;
    let own = behind_tls.base.replace("http://", "https://");
    let ask = async |method: Method, cookies: &str, body: Option<Value>| {
        let mut asked = world.http.request(method.clone(), format!("{}/v1/session", behind_tls.base));
        asked = asked.header("origin", &own).header("cookie", cookies);
        if let Some(body) = &body {
            asked = asked.json(body);
        }
        Reply::of(format!("{method} session"), asked).await
    };
    let given = json!({ "email": person.email, "password": person.password, "browser": true });
    let signed_in = ask(Method::POST, "", Some(given)).await;
    let cookies = set(&signed_in);
    assert_eq!(cookies.len(), 2, "{}", signed_in.text);
    for cookie in &cookies {
        assert!(cookie.starts_with("__Host-fullset_"), "{cookie}");
        assert!(
            cookie.contains("; Secure") && cookie.contains("; Path=/;") && !cookie.contains("Domain"),
            "{cookie}"
        );
    }
    let pairs: Vec<&str> = cookies.iter().filter_map(|cookie| cookie.split(';').next()).collect();
    ask(Method::GET, &pairs.join("; "), None).await.ok();
    // A neighbour may set a cookie of the plain name for the whole domain: it is not looked at.
    let plain = pairs.join("; ").replace("__Host-", "");
    ask(Method::GET, &plain, None).await.refused(401, "sign-in-needed");
    let out = set(&ask(Method::DELETE, &pairs.join("; "), None).await);
    let gone = |cookie: &String| cookie.starts_with("__Host-fullset_") && cookie.contains("Max-Age=0") && cookie.contains("; Secure");
    assert!(out.len() == 2 && out.iter().all(gone), "{out:?}");
    behind_tls.stop().await;
});

fn tokens(world: &World) -> i64 {
    sql::number(&world.location, "SELECT count(*) AS n FROM refresh_token")
}

fn forget(world: &World) -> Forgotten {
    let mut db = Db::open(&world.location, Access::Write).expect("the database");
    compact(&mut db, world.clock.now(), Keep::default()).expect("forgotten")
}

on_both!(tokens_that_nothing_needs_are_forgotten_and_no_others, async |world: &World| {
    sql::run(&world.location, "DELETE FROM refresh_token");
    let next = async |token: &Value| refresh(world, token).await.ok()["refresh_token"].clone();
    let old = world.crew().sign_in().await.ok()["refresh_token"].clone();
    let left = world.officer().sign_in().await.ok()["refresh_token"].clone();
    world.pass(TimeDelta::days(20));
    let second = next(&old).await;
    let ended = world.shop().sign_in().await.ok();
    let third = next(&second).await;
    let out = format!("Bearer {}", ended["access_token"].as_str().expect("a token"));
    request(world, Method::DELETE, "/v1/session", &[("authorization", &out)], None).await;
    assert_eq!((tokens(world), forget(world).tokens), (5, 0), "nothing has run out");

    // The two that began first have run out; what the living sign-in spent last still shows who comes with a copy.
    world.pass(TimeDelta::days(12));
    assert_eq!(forget(world).tokens, 2);
    let session = refresh(world, &third).await.ok();
    let fourth = session["refresh_token"].clone();
    assert_eq!(next(&third).await, fourth, "an answer that was lost is given again");
    refresh(world, &left).await.refused(401, "session-ended");
    refresh(world, &old).await.refused(401, "session-ended");
    let bearer = format!("Bearer {}", session["access_token"].as_str().expect("a token"));
    let own = request(world, Method::GET, "/v1/session/sign-ins", &[("authorization", &bearer)], None)
        .await
        .ok();
    assert_eq!(own["items"].as_array().map(Vec::len), Some(1), "{own}");

    world.pass(TimeDelta::days(60));
    assert_eq!(forget(world).tokens, 4);
    assert_eq!(tokens(world), 0);
    refresh(world, &fourth).await.refused(401, "session-ended");
    refresh(world, &ended["refresh_token"]).await.refused(401, "session-ended");
});

on_both!(a_revoked_device_is_told_so_however_late_it_asks, async |world: &World| {
    let crew = world.member("crew_1");
    let mut phone = Device::enrol(world, &crew, None).await;
    let of_it = format!("SELECT count(*) AS n FROM refresh_token WHERE device = {}", world.id(phone.id));
    for _ in 0..3 {
        world.pass(TimeDelta::days(10));
        phone = phone.with(phone.refresh().await.ok());
    }
    world.pass(TimeDelta::days(200));
    forget(world);
    assert_eq!(sql::number(&world.location, &of_it), 2, "the last token, and the one before");
    crew.post(&format!("/v1/devices/{}/revoke", phone.id), json!({})).await.ok();
    forget(world);
    phone.refresh().await.refused(401, "device-revoked");
});
