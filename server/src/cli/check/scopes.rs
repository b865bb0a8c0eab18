//! Feeds of a part of the agency, on the test records.

use serde_json::{Value, json};

use super::{
    CaseResult, cases,
    feed::Copy,
    must,
    probe::{Probe, command, expecting, text},
};

cases! { true:
    "token-of-another-scope", "410 resync-required; the order in which a scope is named makes no other", token_of_another_scope;
    "out-of-scope", "a record that moves to another station is told there, stays here while its home is here, and then comes as gone: out_of_scope", out_of_scope;
}

async fn token_of_another_scope(probe: &Probe) -> CaseResult {
    let ground = probe.ground()?;
    let (one, other) = (text(&ground.station), text(&ground.elsewhere));
    let mut copy = Copy {
        scope: format!("&scope=station:{one},station:{other}"),
        ..Copy::default()
    };
    copy.follow(probe, 2000).await?;
    let since = copy.token.unwrap_or_default();
    let ask = async |scope: &str| probe.get(&format!("/v1/changes?limit=1&scope={scope}&since={since}")).await;
    ask(&format!("station:{other},station:{one}")).await?.good()?;
    for scope in [format!("station:{one}"), "agency".to_owned()] {
        ask(&scope)
            .await?
            .problem(410, "resync-required")
            .map_err(|found| format!("as {scope}: {found}"))?;
    }
    Ok(())
}

async fn out_of_scope(probe: &Probe) -> CaseResult {
    let ground = probe.ground()?;
    let of = |station: &Value| Copy {
        scope: format!("&scope=station:{}", text(station)),
        ..Copy::default()
    };
    let (mut here, mut there) = (of(&ground.station), of(&ground.elsewhere));
    let key = ("piece".to_owned(), text(&ground.piece).to_owned());
    for copy in [&mut here, &mut there] {
        copy.follow(probe, 2000).await?;
    }
    must!(here.records.contains_key(&key), "the station's own piece is not in its scope");
    must!(!there.records.contains_key(&key), "another station's piece is in the scope");
    let token = here.token.clone().unwrap_or_default();
    let seen = probe.record("pieces", &ground.piece).await?["rev"].clone();
    let body = json!({ "id": ground.piece, "to": { "at": "shelf", "station": ground.elsewhere }, "arrived": true });
    probe.apply(expecting(command("piece.move", body), &seen)).await?;
    for copy in [&mut here, &mut there] {
        copy.follow(probe, 2000).await?;
    }
    must!(here.records.contains_key(&key), "the piece has its home here, and was told as gone");
    must!(there.records.contains_key(&key), "the piece has come, and was not told");
    let seen = probe.record("pieces", &ground.piece).await?["rev"].clone();
    let body = json!({ "id": ground.piece, "home": { "at": "shelf", "station": ground.elsewhere } });
    probe.apply(expecting(command("piece.edit", body), &seen)).await?;
    for copy in [&mut here, &mut there] {
        copy.follow(probe, 2000).await?;
    }
    must!(!here.records.contains_key(&key), "the piece has left, and was not told as gone");
    must!(there.records.contains_key(&key), "the piece has come, and was not told");
    let page = probe
        .get(&format!("/v1/changes?limit=2000&scope=station:{}&since={token}", text(&ground.station)))
        .await?
        .good()?;
    let told = page["changes"]
        .as_array()
        .into_iter()
        .flatten()
        .find(|change| change["id"] == ground.piece && change["kind"] == "piece");
    must!(
        told.is_some_and(|change| change["gone"] == "out_of_scope"),
        "the feed tells of the piece {told:?}"
    );
    Ok(())
}
