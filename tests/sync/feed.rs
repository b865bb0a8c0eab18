//! The change feed: a client that follows `next` ends equal to the service, whatever happened in between.

use std::sync::atomic::{AtomicBool, Ordering};

use futures_util::future::join_all;
use serde_json::{Value, json};
use uuid::Uuid;

use super::replica::{Replica, difference, equals_the_lists};
use crate::world::{Engine, World, on_both, on_rig, on_shelf, sql};

on_both!(a_snapshot_in_small_pages_is_what_the_lists_show, async |world: &World| {
    let crew = world.crew();
    for limit in [1, 2, 7, 2000] {
        let mut replica = Replica::default();
        replica.follow(&crew, limit).await;
        assert_eq!(replica.revision, crew.revision().await);
        equals_the_lists(&replica, &crew).await;
    }
});

on_both!(after_the_snapshot_only_what_has_changed_is_told, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let mut replica = Replica::default();
    replica.follow(&crew, 500).await;
    let token = replica.next.clone().unwrap();
    let nothing = crew.find(&format!("/v1/changes?since={token}")).await;
    assert_eq!((&nothing["changes"], &nothing["more"]), (&json!([]), &json!(false)));
    crew.take_out(county.set_1.ram, "bent").await.ok();
    crew.take_out(county.set_1.ram, "bent badly").await.ok();
    let changes = crew.find(&format!("/v1/changes?since={token}")).await["changes"].take();
    let told: Vec<&str> = changes.as_array().unwrap().iter().map(|change| change["kind"].as_str().unwrap()).collect();
    assert_eq!(told, ["piece", "piece_standing", "rig_standing"], "each once, at its latest state");
    let again = crew.find(&format!("/v1/changes?since={token}")).await["changes"].take();
    assert_eq!(again, changes, "a token may be used again");
});

on_both!(records_of_one_revision_are_not_lost_between_pages, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let mut replica = Replica::default();
    replica.follow(&coordinator, 500).await;
    // One command that touches more records than a page holds.
    coordinator
        .edit(&format!("/v1/stations/{}", county.station_2), json!({ "district": county.south }))
        .await
        .ok();
    replica.follow(&coordinator, 2).await;
    equals_the_lists(&replica, &coordinator).await;
});

on_both!(a_token_that_is_not_ones_own_asks_for_a_new_snapshot, async |world: &World| {
    let crew = world.crew();
    let own = crew.find("/v1/changes?limit=1").await["next"].as_str().unwrap().to_owned();
    let foreign = world.member_of(&world.ground.vale, "crew").find("/v1/changes?limit=1").await["next"]
        .as_str()
        .unwrap()
        .to_owned();
    crew.get(&format!("/v1/changes?since={own}")).await.ok();
    let (text, seal) = own.split_once('.').unwrap();
    let swapped = format!("{}.{seal}", foreign.split_once('.').unwrap().0);
    for token in [foreign.as_str(), "nonsense", "a.b", "", ".", &format!("{text}."), &swapped, &own[1..], "%00"] {
        let problem = crew.get(&format!("/v1/changes?since={token}")).await.refused(410, "resync-required");
        assert_eq!(problem["field"], "since", "{token}");
    }
});

on_both!(a_token_from_ahead_of_a_restored_service_asks_for_a_new_snapshot, async |world: &World| {
    let crew = world.crew();
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    let mut replica = Replica::default();
    replica.follow(&crew, 500).await;
    // The database is put back to an older copy: the last entry is gone.
    let own = world.id(world.agency().id);
    let older = replica.revision - 1;
    crate::world::sql::run(&world.location, &format!("UPDATE agency SET rev = {older} WHERE id = {own}"));
    crew.get(&format!("/v1/changes?since={}", replica.next.unwrap()))
        .await
        .refused(410, "resync-required");
});

async fn import(world: &World) -> String {
    let file = "Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\nI-2,hand pump,Dorvan HP,Engine 1\n";
    world.coordinator().import("", file.into(), &[]).await.ok()["id"].as_str().unwrap().to_owned()
}

on_both!(what_is_deleted_is_told_as_gone, async |world: &World| {
    let coordinator = world.coordinator();
    let import = import(world).await;
    let mut replica = Replica::default();
    replica.follow(&coordinator, 500).await;
    assert!(replica.of_kind("piece").any(|piece| piece["tag"] == "I-1"));
    let token = replica.next.clone().unwrap();
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    let gone: Vec<Value> = coordinator.find(&format!("/v1/changes?since={token}")).await["changes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|change| change["gone"] == "deleted")
        .cloned()
        .collect();
    assert_eq!(gone.len(), 5, "two pieces with their standings, and their model: {gone:?}");
    replica.follow(&coordinator, 2).await;
    equals_the_lists(&replica, &coordinator).await;
});

on_both!(what_is_deleted_in_the_midst_of_a_snapshot_is_told_as_gone, async |world: &World| {
    let coordinator = world.coordinator();
    let import = import(world).await;
    // Something comes after the import, so that the snapshot is not over when its pieces have been read.
    for n in 0..3 {
        coordinator
            .post("/v1/districts", json!({ "id": Uuid::now_v7(), "name": format!("West {n}") }))
            .await
            .ok();
    }
    let mut replica = Replica::default();
    while replica.step(&coordinator, 1).await {
        if replica.of_kind("piece").any(|piece| piece["tag"] == "I-1") {
            break;
        }
    }
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    replica.follow(&coordinator, 4).await;
    equals_the_lists(&replica, &coordinator).await;
});

/// Moves a piece of its own about, and reports a defect now and then.
async fn moves_about(world: &World, piece: Uuid, turns: usize) {
    let (county, coordinator) = (world.county(), world.coordinator());
    // No piece is at the first one yet.
    let places = [
        on_shelf(county.station_2),
        on_shelf(county.station_1),
        on_rig(county.engine_2),
        on_shelf(county.station_3),
        on_rig(county.engine_1),
    ];
    for (turn, place) in places.iter().cycle().take(turns).enumerate() {
        coordinator.bring(piece, place.clone()).await.ok();
        if turn % 3 == 0 {
            coordinator.report(piece, &format!("mark {turn}"), "usable").await.ok();
        }
    }
}

on_both!(
    a_snapshot_in_pages_goes_over_into_changes_without_a_gap_while_others_write,
    async |world: &World| {
        let (county, crew) = (world.county(), world.crew());
        let scopes = [
            "agency".to_owned(),
            format!("station:{}", county.station_1),
            format!("district:{}", county.south),
            format!("rig:{},station:{}", county.engine_1, county.station_3),
        ];
        let pieces = [county.set_1.ram, county.set_2.ram, county.spare_hose, county.twin_cutter];
        let writing = AtomicBool::new(true);
        let writers = async {
            join_all(pieces.map(|piece| moves_about(world, piece, 15))).await;
            writing.store(false, Ordering::SeqCst);
        };
        let readers = join_all(scopes.iter().flat_map(|scope| [1, 4].map(|limit| (scope, limit))).map(|(scope, limit)| {
            let (crew, writing) = (&crew, &writing);
            async move {
                let mut replica = Replica::default();
                let mut pages = 0;
                while writing.load(Ordering::SeqCst) {
                    replica.step_in(crew, scope, limit).await;
                    pages += 1;
                }
                assert!(pages > 3, "it was read while others wrote");
                replica.follow_in(crew, scope, limit).await;
                (scope, replica)
            }
        }));
        let (replicas, ()) = tokio::join!(readers, writers);
        for (scope, replica) in replicas {
            let mut fresh = Replica::default();
            fresh.follow_in(&crew, scope, 2000).await;
            assert_eq!(difference(&replica.records, &fresh.records), None, "{scope}");
            if scope == "agency" {
                equals_the_lists(&replica, &crew).await;
            }
        }
    }
);

/// Makes what stands of the districts heavy, behind the service's back.
fn weigh_down(world: &World, bytes: usize) {
    weigh(world, "record", "kind = 'district'", bytes);
}

/// Makes the bodies of some rows of a table heavy.
fn weigh(world: &World, table: &str, which: &str, bytes: usize) {
    let body = match world.engine {
        Engine::Sqlite => format!("json_set(body, '$.pad', hex(zeroblob({})))", bytes / 2),
        Engine::Postgres => format!("jsonb_set(body::jsonb, '{{pad}}', to_jsonb(repeat('0', {bytes})))::json"),
    };
    let own = world.id(world.agency().id);
    sql::run(&world.location, &format!("UPDATE {table} SET body = {body} WHERE agency = {own} AND {which}"));
}

on_both!(a_page_ends_by_its_bytes_too_and_tells_everything, async |world: &World| {
    const HEAVY: usize = 900_000;
    const MOST: usize = 4 * 1024 * 1024 + 400_000;
    let crew = world.crew();
    for n in 0..10 {
        let named = json!({ "id": Uuid::now_v7(), "name": format!("West {n}") });
        world.coordinator().post("/v1/districts", named).await.ok();
    }
    let plain = crew.find("/v1/changes?limit=2000").await;
    let (mut expected, mut told) = (Vec::new(), Vec::new());
    for change in plain["changes"].as_array().unwrap() {
        expected.push(change["id"].clone());
    }
    weigh_down(world, HEAVY);
    let north = format!("district:{}", world.county().north);
    for (scope, all) in [("agency", true), (north.as_str(), false)] {
        let (mut since, mut pages, mut heavy) = (String::new(), 0, 0);
        told.clear();
        loop {
            let reply = crew.get(&format!("/v1/changes?limit=1999&scope={scope}{since}")).await;
            assert!(reply.text.len() < MOST, "a page of {} bytes", reply.text.len());
            let page = reply.ok();
            for change in page["changes"].as_array().unwrap() {
                heavy += usize::from(change["record"]["pad"].is_string());
                told.push(change["id"].clone());
            }
            pages += 1;
            if page["more"] == json!(false) {
                break;
            }
            since = format!("&since={}", page["next"].as_str().unwrap());
        }
        assert!(heavy == 12 && pages >= 3, "{heavy} heavy records in {pages} pages");
        if all {
            assert_eq!(told, expected);
        }
    }

    let (mut after, mut listed) = (String::new(), 0);
    loop {
        let reply = crew.get(&format!("/v1/districts?limit=500{after}")).await;
        assert!(reply.text.len() < MOST, "a list of {} bytes", reply.text.len());
        let page = reply.ok();
        listed += page["items"].as_array().unwrap().len();
        match page["next"].as_str() {
            Some(next) => after = format!("&after={next}"),
            None => break,
        }
    }
    assert_eq!(listed, 12);
});

on_both!(a_record_heavier_than_a_page_is_told_alone, async |world: &World| {
    weigh_down(world, 5_000_000);
    let crew = world.crew();
    let mut since = String::new();
    let mut heavy = 0;
    loop {
        let page = crew.find(&format!("/v1/changes?limit=2000{since}")).await;
        heavy += page["changes"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|change| change["record"]["pad"].is_string())
            .count();
        if page["more"] == json!(false) {
            break;
        }
        since = format!("&since={}", page["next"].as_str().unwrap());
    }
    assert_eq!(heavy, 2);
});

on_both!(a_history_ends_by_its_bytes_too_and_tells_everything, async |world: &World| {
    let (crew, ram) = (world.crew(), world.county().set_1.ram);
    for n in 0..9 {
        crew.take_out(ram, &format!("bent {n}")).await.ok();
    }
    let path = format!("/v1/pieces/{ram}/history");
    let revisions = |page: &Value| -> Vec<i64> {
        let items = page["items"].as_array().unwrap().iter();
        items.map(|item| item["revision"].as_i64().unwrap()).collect()
    };
    let whole = revisions(&crew.find(&path).await);
    // Heavy is what stood before; then what the commands said.
    let stood = format!("kind = 'piece' AND id = {}", world.id(ram));
    for (table, which) in [("replaced", stood.as_str()), ("journal", "kind = 'piece.take_out'")] {
        weigh(world, table, which, 900_000);
        let (mut told, mut pages, mut after) = (Vec::new(), 0, String::new());
        loop {
            let page = crew.get(&format!("{path}?limit=50{after}")).await;
            let most = 4_500_000 * if table == "journal" { 2 } else { 1 };
            assert!(page.text.len() < most, "{} bytes", page.text.len());
            let page = page.ok();
            told.extend(revisions(&page));
            pages += 1;
            match page["next"].as_str() {
                Some(next) => after = format!("&after={next}"),
                None => break,
            }
        }
        assert!(told == whole && pages >= 3, "{told:?} in {pages} pages, of {whole:?}");
    }
});
