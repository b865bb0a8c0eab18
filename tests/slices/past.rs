//! The past: the board, a rig and a piece as they stood, and what was known then.

use chrono::TimeDelta;
use serde_json::{Value, json};

use crate::world::{World, on_both, on_rig};

/// Without what says when it was read: the board of the past is told with the instant that was asked of.
fn bare(mut board: Value) -> Value {
    board.as_object_mut().unwrap().remove("at");
    board
}

on_both!(the_board_of_every_past_revision_is_the_board_that_was_served_then, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let mut served = vec![coordinator.find("/v1/board").await];
    let rig = uuid::Uuid::now_v7();
    let file = "Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\n";
    for step in 0..9 {
        world.pass(TimeDelta::minutes(7));
        match step {
            0 => drop(coordinator.take_out(county.set_1.ram, "bent").await.ok()),
            1 => drop(coordinator.take_out(county.set_2.pump, "does not start").await.ok()),
            2 => drop(coordinator.bring(county.twin_cutter, on_rig(county.engine_1)).await.ok()),
            3 => {
                let body = json!({ "id": rig, "name": "Squad 9", "station": county.station_3, "rig_class": county.engine_class });
                drop(coordinator.post("/v1/rigs", body).await.ok());
            }
            4 => drop(
                coordinator
                    .edit(&format!("/v1/districts/{}", county.south), json!({ "min_full": 2 }))
                    .await
                    .ok(),
            ),
            5 => drop(
                coordinator
                    .edit(&format!("/v1/rigs/{}", county.engine_2), json!({ "station": county.station_3 }))
                    .await
                    .ok(),
            ),
            6 => {
                let rev = coordinator.rev(&format!("/v1/pieces/{}", county.set_1.ram)).await;
                drop(world.shop().put_back(county.set_1.ram, rev, "straightened").await.ok());
            }
            7 => {
                // What an import brings in and its undoing deletes was there in between.
                let import = coordinator.import("", file.into(), &[]).await.ok()["id"].as_str().unwrap().to_owned();
                served.push(coordinator.find("/v1/board").await);
                drop(coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok());
            }
            _ => drop(coordinator.edit(&format!("/v1/rigs/{rig}"), json!({ "name": "Squad 10" })).await.ok()),
        }
        served.push(coordinator.find("/v1/board").await);
    }
    assert!(served.len() > 9);
    for board in served {
        let revision = board["revision"].as_i64().unwrap();
        let then = coordinator.find(&format!("/v1/board?revision={revision}")).await;
        assert_eq!(bare(then), bare(board.clone()), "revision {revision}");
        let at = board["at"].as_str().unwrap();
        let by_time = coordinator.find(&format!("/v1/board?at={at}")).await;
        assert_eq!(by_time["at"], board["at"]);
        assert!(by_time["revision"].as_i64().unwrap() >= revision);
    }
});

on_both!(a_piece_and_a_rig_are_told_as_they_stood, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let piece = format!("/v1/pieces/{}", county.set_1.ram);
    let before = crew.find(&piece).await;
    let (then, revision) = (world.clock.now(), crew.revision().await);
    world.pass(TimeDelta::hours(2));
    crew.take_out(county.set_1.ram, "bent").await.ok();
    assert_eq!(crew.find(&format!("{piece}?at={}", then.format("%Y-%m-%dT%H:%M:%SZ"))).await, before);
    assert_eq!(crew.find(&piece).await["state"], "out_of_service");
    let level = crew.find(&format!("/v1/rig-standings/{}?revision={revision}", county.engine_1)).await;
    assert_eq!(level["level"], "full");
    // Before it was there, and before there was anything.
    crew.get(&format!("{piece}?revision=1")).await.refused(404, "not-found");
    crew.get(&format!("{piece}?at=2001-01-01T00:00:00Z")).await.refused(404, "not-found");
    assert_eq!(crew.find("/v1/board?at=2001-01-01T00:00:00Z").await["districts"], json!([]));
    for wrong in [
        "at=2101-01-01T00:00:00Z",
        "revision=999999",
        "at=yesterday",
        "revision=1&at=2001-01-01T00:00:00Z",
    ] {
        crew.get(&format!("/v1/board?{wrong}")).await.refused(400, "query-invalid");
    }
});

on_both!(the_sheet_of_a_minute_says_what_was_aboard_and_who_knew_what, async |world: &World| {
    let (county, crew, coordinator) = (world.county(), world.crew(), world.coordinator());
    let rig = format!("/v1/rigs/{}/sheet", county.engine_1);
    world.officer().report(county.set_1.cutter, "nick in the lower blade", "usable").await.ok();
    world.pass(TimeDelta::minutes(5));
    let minute = world.clock.now().format("%Y-%m-%dT%H:%M:%SZ").to_string();
    world.pass(TimeDelta::minutes(5));
    crew.take_out(county.set_1.ram, "bent").await.ok();
    coordinator
        .bring(county.set_1.spreader, json!({ "at": "shelf", "station": county.station_2 }))
        .await
        .ok();
    let sheet = crew.find(&format!("{rig}?at={minute}")).await;
    assert_eq!((&sheet["station"], &sheet["capability"]["level"]), (&json!("Station 1"), &json!("full")));
    let aboard = sheet["aboard"].as_array().unwrap();
    let tags: Vec<&str> = aboard.iter().map(|line| line["piece"]["tag"].as_str().unwrap()).collect();
    let now = crew.find(&rig).await;
    assert_eq!(
        aboard.len(),
        now["aboard"].as_array().unwrap().len() + 1,
        "the spreader has left since: {tags:?}"
    );
    assert!(aboard.iter().all(|line| line["piece"]["state"] == "in_service" && line["model"] != ""));
    let cutter = aboard.iter().find(|line| line["piece"]["id"] == county.set_1.cutter.to_string()).unwrap();
    assert_eq!(cutter["defects"][0]["what"], "nick in the lower blade");
    // Who knew, and what has changed since with whom.
    let words = |items: &Value| items.as_array().unwrap().iter().map(|item| item["words"].to_string()).collect::<Vec<_>>();
    assert!(words(&sheet["before"])[0].contains("nick in the lower blade"), "{:?}", words(&sheet["before"]));
    assert_eq!(sheet["before"][0]["by"]["role"], "officer");
    let since = words(&sheet["since"]);
    assert!(since.iter().any(|said| said.contains("bent")) && since.len() == 2, "{since:?}");
    crew.get(&format!("{rig}?at=2001-01-01T00:00:00Z")).await.refused(404, "not-found");
    world.member_of(&world.ground.vale, "crew").get(&rig).await.refused(404, "not-found");
});
