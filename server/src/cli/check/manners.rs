//! How a server signs in and refuses. Nothing is written.

use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    CaseResult, cases, must,
    probe::{Probe, Reply, text},
};

cases! { false:
    "sign-in", "access_token, refresh_token, expires_in, member, agency and may; a refresh spends the token for the next pair, which serves", sign_in;
    "sign-in-refused", "401 sign-in-failed for a wrong password, 401 sign-in-needed without a token or with nonsense for one", sign_in_refused;
    "problems", "every refusal is application/problem+json with type, title, status, detail and code", problems;
    "unreadable-body", "400 body-unreadable for what is no JSON, 422 field-invalid with the field's path for what does not fit", unreadable_body;
    "unknown-query", "400 query-invalid for a query parameter that is not there, a limit out of bounds, a scope that is none", unknown_query;
    "client-too-old", "426 client-too-old on changes and commands for a protocol that is older than any; without the header none is too old", too_old;
}

async fn sign_in(probe: &Probe) -> CaseResult {
    let session = &probe.session;
    for field in ["access_token", "refresh_token"] {
        must!(!text(&session[field]).is_empty(), "no {field}");
    }
    must!(
        session["expires_in"].as_i64().is_some_and(|seconds| seconds > 0),
        "expires_in is {}",
        session["expires_in"]
    );
    must!(
        session["member"].is_object() && session["agency"].is_object() && session["may"].is_array(),
        "no member, agency or may"
    );
    // A sign-in of its own: the one that the other cases use is not spent.
    let own = probe.sign_in(&probe.password).await?.good()?;
    let spend = json!({ "refresh_token": own["refresh_token"] });
    let fresh = Reply::of(probe.plain(Method::POST, "/v1/session/refresh").json(&spend)).await?.good()?;
    must!(fresh["refresh_token"] != own["refresh_token"], "the refresh token was not spent");
    let served = probe.plain(Method::GET, "/v1/changes?limit=1").bearer_auth(text(&fresh["access_token"]));
    Reply::of(served).await?.good().map(drop)
}

async fn sign_in_refused(probe: &Probe) -> CaseResult {
    probe.sign_in("not the password").await?.problem(401, "sign-in-failed")?;
    for path in ["/v1/changes", "/v1/session"] {
        Reply::of(probe.plain(Method::GET, path)).await?.problem(401, "sign-in-needed")?;
        Reply::of(probe.plain(Method::GET, path).bearer_auth("nonsense"))
            .await?
            .problem(401, "sign-in-needed")?;
    }
    let empty = json!({ "sent_at": "2026-11-25T14:00:00Z", "commands": [] });
    Reply::of(probe.plain(Method::POST, "/v1/commands").json(&empty))
        .await?
        .problem(401, "sign-in-needed")
}

async fn problems(probe: &Probe) -> CaseResult {
    probe.get("/v1/no-such-address").await?.problem(404, "path-unknown")?;
    probe.get(&format!("/v1/pieces/{}", Uuid::now_v7())).await?.problem(404, "not-found")?;
    probe.get("/v1/pieces/no-id").await?.problem(404, "not-found")
}

async fn unreadable_body(probe: &Probe) -> CaseResult {
    let raw = |text: &'static str| {
        probe
            .request(Method::POST, "/v1/commands")
            .header("Content-Type", "application/json")
            .body(text)
    };
    Reply::of(raw("{ \"sent_at\":")).await?.problem(400, "body-unreadable")?;
    let reply = Reply::of(raw(r#"{ "sent_at": "2026-11-25T14:00:00Z", "commands": [{ "id": 7 }] }"#)).await?;
    let field = reply.json["field"].clone();
    reply.problem(422, "field-invalid")?;
    must!(text(&field).contains("commands"), "the problem's field is {field}");
    Ok(())
}

async fn unknown_query(probe: &Probe) -> CaseResult {
    for query in ["nonsense=1", "limit=0", "limit=2001", "limit=many", "scope=planet", "scope=station:no-id"] {
        probe
            .get(&format!("/v1/changes?{query}"))
            .await?
            .problem(400, "query-invalid")
            .map_err(|found| format!("?{query}: {found}"))?;
    }
    let whole: Value = probe.get("/v1/changes?limit=1&scope=agency").await?.good()?;
    must!(whole["changes"].is_array(), "scope=agency was not answered with changes");
    Ok(())
}

async fn too_old(probe: &Probe) -> CaseResult {
    let by = |method: Method, path: &str| {
        let request = probe.http.request(method, format!("{}{path}", probe.base));
        request.bearer_auth(text(&probe.session["access_token"]))
    };
    let empty = json!({ "sent_at": "2026-11-25T14:00:00Z", "commands": [] });
    for (method, path) in [(Method::GET, "/v1/changes?limit=1"), (Method::POST, "/v1/commands")] {
        let ask = || {
            if method == Method::GET {
                by(method.clone(), path)
            } else {
                by(method.clone(), path).json(&empty)
            }
        };
        Reply::of(ask().header("Fullset-Protocol", "0")).await?.problem(426, "client-too-old")?;
        Reply::of(ask()).await?.good()?;
    }
    Ok(())
}
