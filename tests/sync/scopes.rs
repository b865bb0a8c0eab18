//! A feed of some places: what is there, what comes, what leaves, and what is forgotten.

use std::collections::BTreeMap;

use chrono::TimeDelta;
use fullset::platform::{
    db::{Access, Db},
    door::{Keep, compact},
};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, on_both};

/// A copy of some places, followed in small pages.
struct Copy {
    scope: String,
    records: BTreeMap<(String, String), Value>,
    next: String,
}

impl Copy {
    async fn of(client: &Client, scope: String) -> Self {
        let mut copy = Self {
            scope,
            records: BTreeMap::new(),
            next: String::new(),
        };
        copy.follow(client).await;
        copy
    }

    /// Takes what is new; answers what was told as gone, and why.
    async fn follow(&mut self, client: &Client) -> Vec<(String, String)> {
        let mut gone = Vec::new();
        loop {
            let since = if self.next.is_empty() {
                String::new()
            } else {
                format!("&since={}", self.next)
            };
            let page = client.find(&format!("/v1/changes?limit=3&scope={}{since}", self.scope)).await;
            for change in page["changes"].as_array().unwrap() {
                let key = (text(change, "kind"), text(change, "id"));
                match change["gone"].as_str() {
                    None => drop(self.records.insert(key, change["record"].clone())),
                    Some(why) => {
                        self.records.remove(&key);
                        gone.push((key.1, why.to_owned()));
                    }
                }
            }
            self.next = text(&page, "next");
            if page["more"] == false {
                return gone;
            }
        }
    }

    fn holds(&self, kind: &str, id: Uuid) -> bool {
        self.records.contains_key(&(kind.to_owned(), id.to_string()))
    }
}

fn text(value: &Value, field: &str) -> String {
    value[field].as_str().unwrap_or_else(|| panic!("no {field} in {value}")).to_owned()
}

/// From here on the piece belongs to its place alone.
async fn homeless(client: &Client, piece: Uuid) {
    client.edit(&format!("/v1/pieces/{piece}"), json!({ "home": null })).await.ok();
}

/// A fresh copy holds the same.
async fn equals_a_fresh_one(copy: &Copy, client: &Client) {
    let fresh = Copy::of(client, copy.scope.clone()).await;
    assert_eq!(copy.records, fresh.records);
}

on_both!(a_station_holds_its_own_and_what_everybody_needs, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let copy = Copy::of(&crew, format!("station:{}", county.station_1)).await;
    for (kind, id, there) in [
        ("rig", county.engine_1, true),
        ("rig_standing", county.engine_1, true),
        ("piece_standing", county.set_1.ram, true),
        ("piece", county.set_1.ram, true),
        ("piece", county.twin_cutter, true),
        ("model", county.models.pack, true),
        ("station", county.station_3, true),
        ("shop", county.shop, true),
        ("rig", county.engine_2, false),
        ("piece", county.set_2.ram, false),
        ("rig_standing", county.engine_2, false),
        ("piece_standing", county.set_2.ram, false),
        ("piece", county.spare_hose, false),
    ] {
        assert_eq!(copy.holds(kind, id), there, "{kind} {id}");
    }
    // What the lists say of the station is what the feed holds of it.
    for (kind, path) in [
        ("piece", "pieces"),
        ("rig", "rigs"),
        ("rig_standing", "rig-standings"),
        ("piece_standing", "piece-standings"),
    ] {
        let listed = crew.list(&format!("/v1/{path}?station={}", county.station_1)).await.len();
        let held = copy.records.keys().filter(|(of, _)| of == kind).count();
        assert_eq!(held, listed, "{kind}");
    }
});

on_both!(what_moves_leaves_the_one_and_reaches_the_other, async |world: &World| {
    let (county, chief) = (world.county(), world.coordinator());
    let crew = world.crew();
    homeless(&chief, county.set_1.ram).await;
    let mut here = Copy::of(&crew, format!("station:{}", county.station_1)).await;
    let mut there = Copy::of(&crew, format!("station:{}", county.station_2)).await;
    let mut rig = Copy::of(&crew, format!("rig:{}", county.engine_1)).await;
    let mut both = Copy::of(&crew, format!("station:{},station:{}", county.station_2, county.station_1)).await;
    let ram = county.set_1.ram;
    chief.bring(ram, json!({ "at": "shelf", "station": county.station_2 })).await.ok();
    let left = (ram.to_string(), "out_of_scope".to_owned());
    assert!(here.follow(&crew).await.contains(&left));
    assert!(rig.follow(&crew).await.contains(&left));
    assert!(there.follow(&crew).await.is_empty());
    assert!(both.follow(&crew).await.is_empty(), "it left one place of the feed for another");
    assert!(!here.holds("piece", ram) && there.holds("piece", ram) && both.holds("piece", ram));
    for copy in [&here, &there, &rig, &both] {
        equals_a_fresh_one(copy, &crew).await;
    }
    // There and back between two looks: nothing has left.
    chief.bring(ram, json!({ "at": "shelf", "station": county.station_1 })).await.ok();
    here.follow(&crew).await;
    chief.bring(ram, json!({ "at": "shelf", "station": county.station_3 })).await.ok();
    chief.bring(ram, json!({ "at": "shelf", "station": county.station_1 })).await.ok();
    assert!(here.follow(&crew).await.is_empty());
    assert!(here.holds("piece", ram));
    equals_a_fresh_one(&here, &crew).await;
});

on_both!(a_rig_that_changes_station_takes_all_with_it, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let mut here = Copy::of(&crew, format!("station:{}", county.station_1)).await;
    let mut south = Copy::of(&crew, format!("district:{}", county.south)).await;
    coordinator
        .edit(&format!("/v1/rigs/{}", county.engine_1), json!({ "station": county.station_3 }))
        .await
        .ok();
    let gone = here.follow(&crew).await;
    assert!(gone.iter().any(|(id, _)| *id == county.set_1.pump.to_string()), "{gone:?}");
    south.follow(&crew).await;
    assert!(south.holds("piece", county.set_1.pump) && south.holds("piece_standing", county.set_1.pump) && south.holds("rig_standing", county.engine_1));
    equals_a_fresh_one(&here, &crew).await;
    equals_a_fresh_one(&south, &crew).await;
});

on_both!(a_token_is_good_for_its_own_scope_alone, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let copy = Copy::of(&crew, format!("station:{},rig:{}", county.station_1, county.engine_2)).await;
    let with = |scope: String, token: &str| format!("/v1/changes?scope={scope}&since={token}");
    // The order of the places says nothing.
    crew.find(&with(format!("rig:{},station:{}", county.engine_2, county.station_1), &copy.next))
        .await;
    for scope in ["agency".to_owned(), format!("station:{}", county.station_1)] {
        crew.get(&with(scope, &copy.next)).await.refused(410, "resync-required");
    }
    let (said, seal) = copy.next.split_once('.').unwrap();
    let forged = [
        format!("{said}."),
        format!("{said}.{}", seal.chars().rev().collect::<String>()),
        format!("e30.{seal}"),
        "x".into(),
    ];
    for token in forged {
        crew.get(&with(copy.scope.clone(), &token)).await.refused(410, "resync-required");
    }
    for scope in ["galaxy", "station:7", "station", ""] {
        crew.get(&format!("/v1/changes?scope={scope}")).await.refused(400, "query-invalid");
    }
    let nowhere = Uuid::now_v7();
    let problem = crew
        .get(&format!("/v1/changes?scope=rig:{},station:{nowhere}", county.engine_1))
        .await
        .refused(410, "scope-gone");
    let named: Vec<&Value> = problem["errors"].as_array().unwrap().iter().map(|fault| &fault["field"]).collect();
    assert_eq!((named, &problem["field"]), (vec![&json!(format!("station:{nowhere}"))], &json!("scope")));
});

on_both!(a_feed_whose_place_is_deleted_ends_in_a_stated_way, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let file = "Asset tag,Kind,Model,Assigned to,Station,District\nI-1,hand pump,Dorvan HP,Station 9 reserve,Station 9,North\n";
    let import = coordinator.import("", file.into(), &[]).await.ok();
    let stations = coordinator.list("/v1/stations?q=Station 9").await;
    let station = text(&stations[0], "id");
    let both = Copy::of(&crew, format!("station:{station},rig:{}", county.engine_1)).await;
    coordinator.post(&format!("/v1/imports/{}/undo", text(&import, "id")), json!({})).await.ok();
    for since in [String::new(), format!("&since={}", both.next)] {
        let problem = crew.get(&format!("/v1/changes?scope={}{since}", both.scope)).await.refused(410, "scope-gone");
        assert_eq!(problem["errors"][0]["field"], json!(format!("station:{station}")));
    }
    // What is left of the scope is followed from the start, and holds nothing of the place.
    let rest = Copy::of(&crew, format!("rig:{}", county.engine_1)).await;
    assert!(rest.holds("rig", county.engine_1) && !rest.records.contains_key(&("station".to_owned(), station)));
});

on_both!(who_was_away_longer_than_deletions_are_kept_takes_a_new_snapshot, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let file = "Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\n";
    let import = coordinator.import("", file.into(), &[]).await.ok()["id"].as_str().unwrap().to_owned();
    let scope = format!("station:{}", county.station_1);
    let old = Copy::of(&crew, scope.clone()).await;
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    let fresh = Copy::of(&crew, scope.clone()).await;
    world.pass(TimeDelta::days(91));
    coordinator.take_out(county.set_1.ram, "bent").await.ok();
    let mut db = Db::open(&world.location, Access::Write).unwrap();
    let forgotten = compact(&mut db, world.clock.now(), Keep::default()).unwrap();
    assert_eq!((forgotten.deleted, forgotten.states), (3, 0), "a piece, its standing and its model");
    assert_eq!(compact(&mut db, world.clock.now(), Keep::default()).unwrap().deleted, 0);
    let ask = |token: &str| format!("/v1/changes?scope={scope}&since={token}");
    crew.get(&ask(&old.next)).await.refused(410, "resync-required");
    // Who had heard of it goes on without one.
    let mut fresh = fresh;
    fresh.follow(&crew).await;
    equals_a_fresh_one(&fresh, &crew).await;
    // States that have been replaced go only when that is asked for, and the last one of each record stays.
    world.pass(TimeDelta::days(1));
    let keep = Keep {
        past: Some(TimeDelta::zero()),
        ..Keep::default()
    };
    assert!(compact(&mut db, world.clock.now(), keep).unwrap().states > 0);
    equals_a_fresh_one(&fresh, &crew).await;
    let history = crew.find(&format!("/v1/pieces/{}/history", county.set_1.ram)).await;
    assert!(!history["items"].as_array().unwrap().is_empty());
});

on_both!(a_client_that_is_too_old_is_told_so, async |world: &World| {
    let crew = world.crew();
    let header = |number: &str| [("Fullset-Protocol", number.to_owned())];
    let get = async |number: &str| crew.ask(reqwest::Method::GET, "/v1/changes", None, &header(number)).await;
    get("0").await.refused(426, "client-too-old");
    get("old").await.refused(400, "query-invalid");
    get("1").await.ok();
    get("2").await.ok();
    let batch = json!({ "sent_at": world.clock.now(), "commands": [] });
    crew.ask(reqwest::Method::POST, "/v1/commands", Some(&batch), &header("0"))
        .await
        .refused(426, "client-too-old");
});

on_both!(
    an_open_defect_goes_with_its_piece_and_a_member_is_in_the_district_of_the_station,
    async |world: &World| {
        let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
        let ram = county.set_1.ram;
        homeless(&coordinator, ram).await;
        crew.report(ram, "seeps", "out_of_service").await.ok();
        let mut there = Copy::of(&crew, format!("station:{}", county.station_3)).await;
        let mut here = Copy::of(&crew, format!("station:{}", county.station_1)).await;
        coordinator.bring(ram, json!({ "at": "shelf", "station": county.station_3 })).await.ok();
        there.follow(&crew).await;
        assert!(
            there.records.keys().any(|(kind, _)| kind == "defect"),
            "who gets the piece sees what is wrong with it"
        );
        let gone = here.follow(&crew).await;
        assert_eq!(gone.len(), 3, "the piece, its standing and its defect: {gone:?}");
        equals_a_fresh_one(&there, &crew).await;
        let member = Uuid::now_v7();
        let body = json!({ "id": member, "name": "Ansa Three", "email": "ansa.three@vale.example", "role": "crew", "station": county.station_3 });
        world.member("admin").post("/v1/members", body).await.ok();
        let south = Copy::of(&crew, format!("district:{}", county.south)).await;
        assert!(south.holds("member", member));
    }
);
