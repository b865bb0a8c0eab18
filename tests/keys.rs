//! The keys that sign access tokens: sealed at rest where a key for that is given, changed and revoked while the service runs.

use std::process::{Command, Stdio};

use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use serde_json::{Value, json};

use crate::world::{
    Reply, World, on_both,
    process::{Process, binary, url},
    soon, sql,
};

const KEY: &str = "0707070707070707070707070707070707070707070707070707070707070707";
const OTHER: &str = "CAgICAgICAgICAgICAgICAgICAgICAgICAgICAgICAg=";

fn keys(world: &World, arguments: &[&str], key: Option<&str>) -> (bool, String) {
    let mut command = Command::new(binary());
    command.arg("keys").args(arguments).args(["--database", &url(&world.location)]);
    if let Some(key) = key {
        command.env("FULLSET_KEY", key);
    }
    let said = command.output().expect("the service starts");
    let words = if said.status.success() { said.stdout } else { said.stderr };
    (said.status.success(), String::from_utf8_lossy(&words).into_owned())
}

/// A start that must fail; answers why.
fn refused_start(world: &World, key: Option<&str>) -> String {
    let mut command = Command::new("timeout");
    command
        .arg("20")
        .arg(binary())
        .args(["serve", "--listen", "127.0.0.1:0", "--database", &url(&world.location)])
        .args(["--photos", &crate::world::photos_of(&world.location).display().to_string()])
        .stdin(Stdio::null());
    if let Some(key) = key {
        command.env("FULLSET_KEY", key);
    }
    let said = command.output().expect("the service starts");
    assert_eq!(said.status.code(), Some(1), "{}", String::from_utf8_lossy(&said.stdout));
    String::from_utf8_lossy(&said.stderr).into_owned()
}

fn serve(world: &World, key: &str) -> Process {
    let photos = crate::world::photos_of(&world.location).display().to_string();
    Process::serve_with(&world.location, &photos, &[("FULLSET_KEY", key)])
}

fn kept(world: &World) -> Vec<String> {
    sql::texts(&world.location, "SELECT secret_pem AS t FROM signing_key")
}

async fn sign_in(world: &World, base: &str) -> String {
    let person = world.crew().person;
    let body = json!({ "email": person.email, "password": person.password });
    let session = Reply::of("sign in".into(), world.http.post(format!("{base}/v1/session")).json(&body))
        .await
        .ok();
    session["access_token"].as_str().expect("a token").to_owned()
}

async fn asks(world: &World, base: &str, token: &str) -> u16 {
    let request = world.http.get(format!("{base}/v1/changes?limit=1")).bearer_auth(token);
    Reply::of("a question".into(), request).await.status
}

on_both!(signing_keys_are_sealed_at_the_start_with_a_key_and_open_with_no_other, async |world: &World| {
    assert!(kept(world).iter().all(|pem| pem.contains("PRIVATE KEY")), "in the clear at first");
    let service = serve(world, KEY);
    let token = sign_in(world, &service.base).await;
    assert_eq!(asks(world, &service.base, &token).await, 200);
    assert!(kept(world).iter().all(|text| text.starts_with("sealed:") && !text.contains("PRIVATE")));
    service.kill();
    let said = refused_start(world, None);
    assert!(said.contains("sealed") && said.contains("FULLSET_KEY"), "{said}");
    let said = refused_start(world, Some(OTHER));
    assert!(said.contains("cannot be opened with this sealing key"), "{said}");
    let said = refused_start(world, Some("password"));
    assert!(said.contains("openssl rand -hex 32"), "{said}");
    // What was signed before the sealing is still read with the key.
    let service = serve(world, KEY);
    assert_eq!(asks(world, &service.base, &token).await, 200);
    service.kill();
    // The key is lost: the keys go, and all begin anew.
    let (done, said) = keys(world, &["revoke", "--all"], None);
    assert!(done, "{said}");
    let service = serve(world, OTHER);
    assert_eq!(asks(world, &service.base, &token).await, 401);
    let token = sign_in(world, &service.base).await;
    assert_eq!(asks(world, &service.base, &token).await, 200);
});

on_both!(keys_are_made_and_revoked_while_the_service_runs, async |world: &World| {
    let service = serve(world, KEY);
    let token = sign_in(world, &service.base).await;
    let (done, first) = keys(world, &["list"], None);
    assert!(done && first.lines().all(|line| line.ends_with("sealed")), "{first}");
    let (done, said) = keys(world, &["rotate"], None);
    assert!(!done && said.contains("FULLSET_KEY"), "{said}");
    assert!(keys(world, &["rotate"], Some(KEY)).0);
    assert!(!keys(world, &["rotate"], Some(OTHER)).0, "not with a key that opens none of them");
    let (_, both) = keys(world, &["list"], None);
    assert_eq!(both.lines().count(), first.lines().count() + 1);
    assert_eq!(asks(world, &service.base, &token).await, 200, "old keys still read");
    let header: Value = serde_json::from_slice(&URL_SAFE_NO_PAD.decode(token.split('.').next().unwrap()).unwrap()).unwrap();
    let kid = header["kid"].as_str().expect("a kid");
    assert!(both.contains(kid));
    assert!(keys(world, &["revoke", kid], None).0);
    assert!(!keys(world, &["revoke", kid], None).0, "it is gone");
    soon("what the revoked key signed is refused", async || {
        (asks(world, &service.base, &token).await == 401).then_some(())
    })
    .await;
    let token = sign_in(world, &service.base).await;
    assert_eq!(asks(world, &service.base, &token).await, 200);
});

on_both!(a_token_says_who_issued_it_and_what_for_and_is_refused_without, async |world: &World| {
    let token = world.crew().sign_in().await.ok()["access_token"].as_str().expect("a token").to_owned();
    let claims: Value = serde_json::from_slice(&URL_SAFE_NO_PAD.decode(token.split('.').nth(1).unwrap()).unwrap()).unwrap();
    assert_eq!((&claims["iss"], &claims["aud"]), (&json!("urn:fullset"), &json!("urn:fullset:api")));
    // The same claims signed by the same key, one of the two another or left out.
    let base = &world.server.base;
    let kid: Value = serde_json::from_slice(&URL_SAFE_NO_PAD.decode(token.split('.').next().unwrap()).unwrap()).unwrap();
    let kid = kid["kid"].as_str().expect("a kid");
    let pem = sql::texts(&world.location, &format!("SELECT secret_pem AS t FROM signing_key WHERE kid = '{kid}'")).remove(0);
    let der: Vec<u8> = base64::engine::general_purpose::STANDARD
        .decode(pem.lines().filter(|line| !line.starts_with('-')).collect::<String>())
        .expect("base64");
    let signs = aws_lc_rs::signature::Ed25519KeyPair::from_pkcs8(&der).expect("a key");
    let signed = |claims: &Value| {
        let text = format!("{}.{}", token.split('.').next().unwrap(), URL_SAFE_NO_PAD.encode(claims.to_string()));
        let signature = URL_SAFE_NO_PAD.encode(signs.sign(text.as_bytes()));
        format!("{text}.{signature}")
    };
    assert_eq!(asks(world, base, &signed(&claims)).await, 200, "this test signs as the service does");
    for name in ["iss", "aud"] {
        let mut other = claims.clone();
        other[name] = json!("urn:elsewhere");
        assert_eq!(asks(world, base, &signed(&other)).await, 401, "another {name}");
        other.as_object_mut().expect("claims").remove(name);
        assert_eq!(asks(world, base, &signed(&other)).await, 401, "no {name}");
    }
});
