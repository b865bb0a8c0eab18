//! How clients go on with a service that was put back: nothing is missed in silence, nothing is done twice.

use chrono::{TimeDelta, Utc};
use fullset::platform::clock::Clock;
use serde_json::{Value, json};

use super::{Empty, back_up, done, fullset, restore, shelf};
use crate::{
    sync::Replica,
    world::{Client, Reply, Server, World, command, expecting, on_both},
};

/// A clock behind everything that was written, by the world's or by the machine's own.
fn later(world: &World) -> Clock {
    Clock::manual(Utc::now().max(world.clock.now()) + TimeDelta::minutes(1))
}

on_both!(clients_notice_that_they_know_more_than_the_service, async |world: &World| {
    let (crew, ram) = (world.crew(), world.county().set_1.ram);
    let mut behind = Replica::default();
    behind.follow(&crew, 500).await;
    let known = command("piece.take_out", json!({ "id": ram, "reason": "bent" }));
    crew.apply(vec![known.clone()]).await;
    let (_folder, place) = shelf();
    tokio::task::block_in_place(|| back_up(world, &place));
    // What comes now is lost; two clients have seen it.
    let lost = command("piece.take_out", json!({ "id": ram, "reason": "bent further" }));
    let lost_rev = crew.apply(vec![lost.clone()]).await;
    let mut ahead = Replica::default();
    ahead.follow(&crew, 500).await;
    let refresh = crew.sign_in().await.ok()["refresh_token"].clone();
    let restored = Empty::on(world.engine);
    tokio::task::block_in_place(|| restore(&restored.0, &place));
    let clock = later(world);
    let server = Server::start(&restored.0, &clock).await;
    let person = &crew.person;
    // Every sign-in is over, and the access token of before opens nothing.
    let old = world.http.get(format!("{}/v1/changes", server.base)).bearer_auth(crew.access().await);
    Reply::of("an old access token".into(), old).await.refused(401, "sign-in-needed");
    let spend = world
        .http
        .post(format!("{}/v1/session/refresh", server.base))
        .json(&json!({ "refresh_token": refresh }));
    let refused = Reply::of("an old refresh token".into(), spend).await;
    assert_eq!(refused.status, 401, "{}", refused.text);
    let crew = Client::new(&server.base, &world.http, &clock, person);
    // A token of the life before that lies behind the backup is refused; one from before it is followed.
    let token = ahead.next.clone().expect("a token");
    crew.get(&format!("/v1/changes?since={token}")).await.refused(410, "resync-required");
    behind.follow(&crew, 500).await;
    let mut fresh = Replica::default();
    fresh.follow(&crew, 500).await;
    assert_eq!(behind.records, fresh.records, "who was behind has missed nothing");
    assert_eq!(fresh.records[&("piece".to_owned(), ram.to_string())]["state_reason"], json!("bent"));
    // What was lost and still waits in an outbox is done, what was kept is not done again.
    let answers = crew.send(vec![known, lost]).await.ok();
    let outcomes: Vec<&Value> = answers["answers"]
        .as_array()
        .expect("answers")
        .iter()
        .map(|answer| &answer["outcome"])
        .collect();
    assert_eq!(outcomes, [&json!("repeated"), &json!("applied")]);
    let again = answers["revision"].as_i64().expect("a revision");
    assert!(
        again > lost_rev + 900_000,
        "a revision of the life before is never one of this: {again} {lost_rev}"
    );
    // The token is refused still, now that the service has come further than it was then.
    crew.get(&format!("/v1/changes?since={token}")).await.refused(410, "resync-required");
    // What was decided on a revision that was lost is a conflict, whatever the record's revision is now.
    let officer = Client::new(&server.base, &world.http, &clock, &world.officer().person);
    let back = json!({ "id": ram, "note": "straight", "evidence": { "readings": [{ "measure": "sound_to_look", "yes": true }] } });
    let stale = officer.send(vec![expecting(command("piece.return", back), lost_rev)]).await.ok();
    assert_eq!(stale["answers"][0]["outcome"], json!("conflict"), "{stale}");
    // History reads over the seam.
    let told = crew.find(&format!("/v1/pieces/{ram}/history")).await;
    assert_eq!(told["items"][0]["revision"], json!(again));
    assert!(told["items"].as_array().expect("items").len() >= 2);
    server.stop().await;
});

on_both!(a_move_to_another_machine_keeps_everybody_signed_in, async |world: &World| {
    let crew = world.crew();
    let session = crew.sign_in().await.ok();
    let mut phone = Replica::default();
    phone.follow(&crew, 500).await;
    let (_folder, place) = shelf();
    let restored = Empty::on(world.engine);
    tokio::task::block_in_place(|| {
        back_up(world, &place);
        let place = place.display().to_string();
        done(&fullset(&restored.0, "restore", &[&place, "--keep-sign-ins"]));
    });
    // A refresh token serves thirty days of the world.
    let clock = Clock::manual(world.clock.now() + TimeDelta::minutes(1));
    let server = Server::start(&restored.0, &clock).await;
    let spend = world
        .http
        .post(format!("{}/v1/session/refresh", server.base))
        .json(&json!({ "refresh_token": session["refresh_token"] }));
    let next = Reply::of("the refresh token".into(), spend).await.ok();
    let since = phone.next.clone().expect("a token");
    let ask = world
        .http
        .get(format!("{}/v1/changes?since={since}", server.base))
        .bearer_auth(next["access_token"].as_str().expect("a token"));
    Reply::of("the feed goes on".into(), ask).await.ok();
    server.stop().await;
});

on_both!(a_database_put_back_by_other_means_begins_a_new_life, async |world: &World| {
    let (crew, ram) = (world.crew(), world.county().set_1.ram);
    let rev = crew.take_out(ram, "bent").await.ok()["revision"].as_i64().expect("a revision");
    let said = tokio::task::block_in_place(|| done(&fullset(&world.location, "restore", &["--in-place"])));
    assert!(said.contains("3 agencies begin a new life"), "{said}");
    let clock = later(world);
    let server = Server::start(&world.location, &clock).await;
    let crew = Client::new(&server.base, &world.http, &clock, &crew.person);
    let next = crew
        .apply(vec![command("piece.take_out", json!({ "id": ram, "reason": "bent further" }))])
        .await;
    assert!(next > rev + 1_000_000, "{next}");
    server.stop().await;
});
