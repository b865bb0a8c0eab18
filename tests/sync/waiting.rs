//! A feed that waits for news, and a stream that tells of its own places alone.

use std::time::Duration;

use serde_json::{Value, json};
use tokio::time::{Instant, sleep, timeout};

use super::live::open_at;
use crate::world::{Client, World, on_both, soon};

/// The token behind everything that there is in a scope.
async fn token(client: &Client, scope: &str) -> String {
    let mut since = String::new();
    loop {
        let page = client.find(&format!("/v1/changes?limit=2000&scope={scope}{since}")).await;
        let next = page["next"].as_str().expect("a token").to_owned();
        if page["more"] == json!(false) {
            return next;
        }
        since = format!("&since={next}");
    }
}

async fn wait(client: &Client, scope: &str, since: &str, seconds: u32) -> Value {
    client.find(&format!("/v1/changes?scope={scope}&since={since}&wait={seconds}")).await
}

on_both!(a_feed_that_waits_answers_with_the_next_change, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let scope = format!("station:{}", county.station_1);
    let since = token(&crew, &scope).await;
    let waits = async {
        let begun = Instant::now();
        (wait(&crew, &scope, &since, 30).await, begun.elapsed())
    };
    let acts = async {
        sleep(Duration::from_millis(300)).await;
        // What happens elsewhere is no news here.
        crew.take_out(county.set_2.ram, "bent").await.ok();
        sleep(Duration::from_millis(300)).await;
        crew.take_out(county.set_1.ram, "bent").await.ok();
    };
    let ((page, took), ()) = tokio::join!(waits, acts);
    let first = &page["changes"][0];
    assert_eq!((&first["kind"], &first["id"]), (&json!("piece"), &json!(county.set_1.ram)), "{page}");
    assert!(took > Duration::from_millis(550) && took < Duration::from_secs(5), "{took:?}");
    let begun = Instant::now();
    let page = wait(&crew, &scope, &since, 30).await;
    assert!(
        !page["changes"].as_array().unwrap().is_empty() && begun.elapsed() < Duration::from_secs(2),
        "what is there is told at once"
    );
});

on_both!(a_wait_without_news_ends_in_time_and_bounds_are_said, async |world: &World| {
    let crew = world.crew();
    let since = token(&crew, "agency").await;
    let begun = Instant::now();
    let page = wait(&crew, "agency", &since, 1).await;
    assert_eq!(page["changes"], json!([]));
    assert!(begun.elapsed() > Duration::from_millis(900) && begun.elapsed() < Duration::from_secs(4));
    for odd in ["61", "-1", "x"] {
        crew.get(&format!("/v1/changes?wait={odd}")).await.refused(400, "query-invalid");
    }
    let begun = Instant::now();
    crew.find("/v1/changes?limit=1&wait=30").await;
    assert!(begun.elapsed() < Duration::from_secs(2), "a snapshot has something to tell");
});

on_both!(a_sign_in_that_ends_wakes_who_waits, async |world: &World| {
    let crew = world.crew();
    let path = format!("/v1/members/{}", crew.person.id);
    let rig = format!("rig:{}", world.county().truck_3);
    let since = token(&crew, &rig).await;
    let asks = async { timeout(Duration::from_secs(20), crew.get(&format!("/v1/changes?scope={rig}&since={since}&wait=60"))).await };
    let ends = async {
        sleep(Duration::from_millis(300)).await;
        world.admin().edit(&path, json!({ "active": false })).await.ok();
    };
    let (asked, ()) = tokio::join!(asks, ends);
    asked.expect("it does not wait to the end").refused(401, "session-ended");
});

on_both!(a_stream_tells_of_its_own_places_alone, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let mut here = open_at(&crew, &format!("?scope=station:{}", county.station_1)).await;
    let mut south = open_at(&crew, &format!("?scope=district:{},rig:{}", county.south, county.engine_2)).await;
    let now = crew.revision().await;
    here.until(now).await;
    south.until(now).await;
    let first = crew.take_out(county.set_1.ram, "bent").await.ok()["revision"].as_i64().unwrap();
    assert_eq!(here.next().await, first);
    let second = crew.take_out(county.set_2.ram, "bent").await.ok()["revision"].as_i64().unwrap();
    assert_eq!(south.next().await, second, "the change at station 1 was not told here");
    // What moves is told of where it was and where it goes.
    let moved = world
        .coordinator()
        .bring(county.set_1.ram, json!({ "at": "shelf", "station": county.station_3 }))
        .await
        .ok();
    let moved = moved["revision"].as_i64().unwrap();
    assert_eq!((here.next().await, south.next().await), (moved, moved));
    // What every feed holds is told everywhere.
    let named = json!({ "id": uuid::Uuid::now_v7(), "name": "West" });
    let told = world.admin().post("/v1/districts", named).await.ok()["revision"].as_i64().unwrap();
    assert_eq!((here.next().await, south.next().await), (told, told));
    crew.get("/v1/changes/live?scope=galaxy").await.refused(400, "query-invalid");
});

on_both!(one_sign_in_has_so_many_waiting_and_no_more, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let most = crew.find("/v1").await["limits"]["waiting"].as_u64().unwrap();
    let rig = format!("rig:{}", county.truck_3);
    let since = token(&crew, &rig).await;
    let path = format!("/v1/changes?scope={rig}&since={since}&wait=20");
    let waits = futures_util::future::join_all((0..most).map(|_| crew.get(&path)));
    let others = async {
        sleep(Duration::from_millis(500)).await;
        let refused = crew.get(&path).await;
        assert_eq!(refused.headers["retry-after"], "5");
        refused.refused(429, "slow-down");
        // Without waiting it is answered, and another sign-in has its own.
        crew.find(&format!("/v1/changes?scope={rig}&since={since}")).await;
        let officer = world.member("officer");
        assert_eq!(wait(&officer, &rig, &since, 1).await["changes"], json!([]));
        world
            .coordinator()
            .edit(&format!("/v1/rigs/{}", county.truck_3), json!({ "name": "Truck 33" }))
            .await
            .ok();
    };
    let (answers, ()) = tokio::join!(waits, others);
    for answer in answers {
        assert_ne!(answer.ok()["changes"], json!([]));
    }
    // Each has given its place back.
    let since = token(&crew, &rig).await;
    wait(&crew, &rig, &since, 1).await;
});

on_both!(one_member_has_so_many_streams_open_and_no_more, async |world: &World| {
    let crew = world.crew();
    let most = crew.find("/v1").await["limits"]["listening"].as_u64().unwrap();
    let mut streams = Vec::new();
    for _ in 0..most {
        streams.push(open_at(&crew, "").await);
    }
    let refused = crew.get("/v1/changes/live").await;
    assert_eq!(refused.headers["retry-after"], "30");
    refused.refused(429, "slow-down");
    // What waits is counted with them; what does not is answered, and so is everybody else.
    let since = token(&crew, "agency").await;
    crew.get(&format!("/v1/changes?since={since}&wait=1")).await.refused(429, "slow-down");
    open_at(&world.officer(), "").await;
    drop(streams);
    soon("the places are given back", async || {
        // Nobody notices before something is to be told.
        crew.take_out(world.county().set_1.ram, "bent").await.ok();
        let asked = crew.request(reqwest::Method::GET, "/v1/changes/live").await.send().await.expect("an answer");
        (asked.status() == 200).then_some(())
    })
    .await;
});

on_both!(a_stream_says_in_which_of_its_places, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let (one, three) = (format!("station:{}", county.station_1), format!("station:{}", county.station_3));
    let mut both = open_at(&crew, &format!("?scope={one},{three}")).await;
    both.until(crew.revision().await).await;
    crew.take_out(county.set_1.ram, "bent").await.ok();
    assert_eq!(both.next_event().await["scopes"], json!([one]));
    world
        .coordinator()
        .bring(county.set_1.ram, json!({ "at": "shelf", "station": county.station_3 }))
        .await
        .ok();
    assert_eq!(
        both.next_event().await["scopes"],
        json!([one, three]),
        "its home is at the one, it lies at the other"
    );
    let named = json!({ "id": uuid::Uuid::now_v7(), "name": "West" });
    world.admin().post("/v1/districts", named).await.ok();
    assert!(both.next_event().await.get("scopes").is_none(), "it may be any");
});
