//! From where a try to sign in comes: what a stranger says of it counts for nothing, unless a proxy that is trusted passes it on.

use fullset::{app::Settings, platform::http::Proxies};
use serde_json::json;

use crate::world::{Client, Reply, Server, World, on_both};

/// A wrong password for somebody's email, with what the request says of its way.
async fn wrong(world: &World, server: &Server, whom: &Client, says: &[(&str, String)]) -> u16 {
    let body = json!({ "email": whom.person.email, "password": "no word of mine" });
    let mut request = world.http.post(format!("{}/v1/session", server.base)).json(&body);
    for (name, value) in says {
        request = request.header(*name, value);
    }
    let reply = Reply::of(format!("a try of {}", whom.person.email), request).await;
    if reply.status == 429 {
        assert!(reply.headers.contains_key("retry-after"), "{}", reply.asked);
    }
    reply.status
}

/// Every header that some program takes for the address of who asks.
fn claims(address: &str) -> Vec<(&'static str, String)> {
    vec![
        ("x-forwarded-for", address.to_owned()),
        ("x-real-ip", address.to_owned()),
        ("forwarded", format!("for={address}")),
        ("cf-connecting-ip", address.to_owned()),
        ("true-client-ip", address.to_owned()),
        ("x-client-ip", address.to_owned()),
    ]
}

on_both!(who_claims_another_address_at_each_try_has_no_more_tries, async |world: &World| {
    let whom = world.crew();
    let mut told = Vec::new();
    for n in 1..=8 {
        told.push(wrong(world, &world.server, &whom, &claims(&format!("203.0.113.{n}"))).await);
    }
    assert_eq!(
        told,
        [401, 401, 401, 401, 401, 429, 429, 429],
        "five are free of one network, whatever it calls itself"
    );
    // Nor is it told to the member as the address of a sign-in.
    let other = world.officer();
    let body = json!({ "email": other.person.email, "password": other.person.password });
    let mut request = world.http.post(format!("{}/v1/session", world.server.base)).json(&body);
    for (name, value) in claims("203.0.113.77") {
        request = request.header(name, value);
    }
    Reply::of("a sign-in".into(), request).await.ok();
    let text = other.get("/v1/session/sign-ins").await.text;
    assert!(text.contains("127.0.0.1") && !text.contains("203.0.113"), "{text}");
});

on_both!(
    what_a_trusted_proxy_says_counts_and_what_was_claimed_before_it_does_not,
    async |world: &World| {
        let trusted = Proxies::read(&["127.0.0.1".to_owned()]).expect("an address");
        let server = Server::with(&world.location, &world.clock, |settings| Settings { proxies: trusted, ..settings }).await;
        let (each, one) = (world.crew(), world.officer());
        for n in 1..=8 {
            let says = [("x-forwarded-for", format!("203.0.113.{n}"))];
            assert_eq!(
                wrong(world, &server, &each, &says).await,
                401,
                "networks are told apart by what the proxy saw: {n}"
            );
        }
        let mut told = Vec::new();
        for n in 1..=7 {
            // The proxy appends whom it saw to what the stranger wrote, in the same line or in one of its own.
            let says = match n % 2 {
                0 => vec![("x-forwarded-for", format!("203.0.113.{n}, 198.51.100.7"))],
                _ => vec![("x-forwarded-for", format!("203.0.113.{n}")), ("x-forwarded-for", "198.51.100.7".to_owned())],
            };
            told.push(wrong(world, &server, &one, &says).await);
        }
        assert_eq!(told, [401, 401, 401, 401, 401, 429, 429], "the last that is no proxy is who asks");
        server.stop().await;
    }
);
