//! What a feed of some places holds of pieces that are away, what a shop's feed holds, and that no id in a feed stays without a name.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use uuid::Uuid;

use super::replica::{Replica, lists};
use crate::world::{Client, World, command, on_both, on_rig, on_shelf};

/// A copy of some places, with what it was told as gone, and how often.
struct Copy {
    scope: String,
    replica: Replica,
    gone: BTreeMap<(String, String), usize>,
}

impl Copy {
    async fn of(client: &Client, scope: String) -> Self {
        let mut copy = Self {
            scope,
            replica: Replica::default(),
            gone: BTreeMap::new(),
        };
        copy.follow(client).await;
        copy
    }

    /// Follows in small pages to the end. Then it is equal to a fresh copy, and knows what everything in it is called.
    async fn follow(&mut self, client: &Client) {
        loop {
            let since = self.replica.next.as_ref().map(|token| format!("&since={token}")).unwrap_or_default();
            let page = client.find(&format!("/v1/changes?limit=7&scope={}{since}", self.scope)).await;
            for change in page["changes"].as_array().unwrap().iter().filter(|change| change["gone"].is_string()) {
                let key = |field: &str| change[field].as_str().unwrap().to_owned();
                *self.gone.entry((key("kind"), key("id"))).or_default() += 1;
            }
            if !self.replica.take(&page, 7).unwrap() {
                break;
            }
        }
        let mut fresh = Replica::default();
        fresh.follow_in(client, &self.scope, 2000).await;
        assert_eq!(self.replica.records, fresh.records, "{}", self.scope);
        let all = lists(client).await;
        assert_eq!(self.replica.unnamed(&all), Vec::<String>::new(), "{}", self.scope);
        assert_eq!(fresh.unnamed(&all), Vec::<String>::new(), "a fresh copy of {}", self.scope);
    }

    fn holds(&self, kind: &str, id: Uuid) -> bool {
        self.replica.records.contains_key(&(kind.to_owned(), id.to_string()))
    }

    fn stub(&self, kind: &str, id: Uuid) -> Option<&str> {
        self.replica.stubs.get(&(kind.to_owned(), id.to_string())).map(String::as_str)
    }

    fn told_gone(&self, kind: &str, id: Uuid) -> usize {
        self.gone.get(&(kind.to_owned(), id.to_string())).copied().unwrap_or_default()
    }
}

fn in_shop(world: &World) -> Value {
    json!({ "at": "shop", "shop": world.county().shop })
}

on_both!(what_is_at_the_shop_stays_in_the_feed_of_its_home, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let ram = county.set_1.ram;
    let mut home = Vec::new();
    for scope in [
        format!("rig:{}", county.engine_1),
        format!("station:{}", county.station_1),
        format!("district:{}", county.north),
    ] {
        home.push(Copy::of(&crew, scope).await);
    }
    let mut shop = Copy::of(&crew, format!("shop:{}", county.shop)).await;
    let mut south = Copy::of(&crew, format!("station:{}", county.station_3)).await;
    assert!(!shop.holds("piece", ram));
    let defect: Uuid = crew.report(ram, "seeps", "out_of_service").await.record()["id"]
        .as_str()
        .unwrap()
        .parse()
        .unwrap();
    let ticket: Uuid = crew.open_ticket(ram, county.shop, "seeps", &[defect]).await.record()["id"]
        .as_str()
        .unwrap()
        .parse()
        .unwrap();
    shop.follow(&crew).await;
    assert!(shop.holds("ticket", ticket) && !shop.holds("piece", ram), "the shop sees what it is to expect");
    assert!(shop.stub("piece", ram).is_some());
    // On its way, there, with a vendor, lent, and missing: its home sees it all along.
    let away = [
        in_shop(world),
        json!({ "at": "vendor", "name": "Harbor Hydraulics" }),
        json!({ "at": "loan", "name": "Next county" }),
        on_rig(county.truck_3),
        in_shop(world),
    ];
    for place in away {
        coordinator.move_to(ram, place.clone()).await.ok();
        for copy in &mut home {
            copy.follow(&crew).await;
            assert!(copy.holds("piece", ram), "{} on the way to {place}", copy.scope);
        }
        coordinator.arrive(ram).await.ok();
        for copy in &mut home {
            copy.follow(&crew).await;
            for (kind, id) in [("piece", ram), ("piece_standing", ram), ("defect", defect), ("ticket", ticket)] {
                assert!(copy.holds(kind, id), "{}: {kind} at {place}", copy.scope);
            }
        }
        shop.follow(&crew).await;
        south.follow(&crew).await;
        assert_eq!(shop.holds("piece", ram), place["at"] == "shop", "{place}");
        assert_eq!(shop.holds("defect", defect), place["at"] == "shop", "{place}");
        assert_eq!(south.holds("piece", ram), place["at"] == "rig", "{place}");
    }
    assert_eq!(shop.told_gone("piece", ram), 1, "told as gone once");
    assert_eq!(south.told_gone("piece", ram), 1, "told as gone once");
    coordinator.bring(ram, on_rig(county.engine_1)).await.ok();
    shop.follow(&crew).await;
    assert!(!shop.holds("piece", ram) && shop.holds("ticket", ticket));
    assert_eq!(shop.told_gone("piece", ram), 2);
    for copy in &mut home {
        copy.follow(&crew).await;
        assert!(copy.holds("piece", ram));
        assert!(copy.gone.is_empty(), "{}: it never left, {:?}", copy.scope, copy.gone);
    }
});

on_both!(a_home_that_moves_takes_what_is_away_along, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let ram = county.set_1.ram;
    crew.report(ram, "seeps", "out_of_service").await.ok();
    coordinator.bring(ram, in_shop(world)).await.ok();
    let mut one = Copy::of(&crew, format!("station:{}", county.station_1)).await;
    let mut three = Copy::of(&crew, format!("station:{}", county.station_3)).await;
    let mut south = Copy::of(&crew, format!("district:{}", county.south)).await;
    assert!(one.holds("piece", ram) && !three.holds("piece", ram));
    let rig = format!("/v1/rigs/{}", county.engine_1);
    coordinator.edit(&rig, json!({ "station": county.station_3 })).await.ok();
    for copy in [&mut one, &mut three, &mut south] {
        copy.follow(&crew).await;
    }
    assert!(!one.holds("piece", ram) && three.holds("piece", ram) && south.holds("piece_standing", ram));
    assert_eq!(one.told_gone("piece", ram), 1);
    // The station goes to another district, and the home with it.
    let station = format!("/v1/stations/{}", county.station_3);
    coordinator.edit(&station, json!({ "district": county.north })).await.ok();
    south.follow(&crew).await;
    three.follow(&crew).await;
    assert!(!south.holds("piece", ram) && three.holds("piece", ram));
    // Another home is another feed.
    let path = format!("/v1/pieces/{ram}");
    coordinator.edit(&path, json!({ "home": on_shelf(county.station_2) })).await.ok();
    let mut two = Copy::of(&crew, format!("station:{}", county.station_2)).await;
    three.follow(&crew).await;
    assert!(two.holds("piece", ram) && !three.holds("piece", ram));
    // What is out of the register has no home.
    coordinator.retire(ram, "cracked").await.ok();
    two.follow(&crew).await;
    assert!(!two.holds("piece", ram));
});

on_both!(what_a_feed_names_has_a_name_in_it, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let ram = county.set_1.ram;
    // Lent to a rig elsewhere: its home reads where it is, and the borrower where it is from.
    coordinator.bring(ram, on_rig(county.truck_3)).await.ok();
    let mut home = Copy::of(&crew, format!("station:{}", county.station_1)).await;
    let borrower = Copy::of(&crew, format!("rig:{}", county.truck_3)).await;
    let name = async |rig: Uuid| crew.find(&format!("/v1/rigs/{rig}")).await["name"].as_str().unwrap().to_owned();
    assert_eq!(home.stub("rig", county.truck_3), Some(name(county.truck_3).await.as_str()));
    assert_eq!(borrower.stub("rig", county.engine_1), Some(name(county.engine_1).await.as_str()));
    assert!(home.stub("rig", county.engine_2).is_none(), "nothing names it");
    let agency = crew.find("/v1/changes?limit=2000").await;
    assert_eq!(agency["stubs"], json!([]), "the agency's feed holds everything");
    // A new name is told, though nothing that the feed holds has changed.
    let rig = format!("/v1/rigs/{}", county.truck_3);
    coordinator.edit(&rig, json!({ "name": "Heavy rescue 3" })).await.ok();
    home.follow(&crew).await;
    assert_eq!(home.stub("rig", county.truck_3), Some("Heavy rescue 3"));
    // What was written down here stays here, and names a piece that has left for good.
    let (cutter, used) = (county.set_1.cutter, Uuid::now_v7());
    let body = json!({ "id": used, "rig": county.engine_1, "pieces": [cutter], "what": "two cars" });
    crew.apply(vec![command("use.record", body)]).await;
    home.follow(&crew).await;
    let path = format!("/v1/pieces/{cutter}");
    coordinator.edit(&path, json!({ "home": on_shelf(county.station_3) })).await.ok();
    coordinator.bring(cutter, on_shelf(county.station_3)).await.ok();
    home.follow(&crew).await;
    assert!(home.holds("use", used) && !home.holds("piece", cutter));
    assert!(home.stub("piece", cutter).is_some());
});

on_both!(a_shop_that_is_not_there_is_no_scope, async |world: &World| {
    let crew = world.crew();
    let nowhere = Uuid::now_v7();
    let problem = crew.get(&format!("/v1/changes?scope=shop:{nowhere}")).await.refused(410, "scope-gone");
    assert_eq!(problem["errors"][0]["field"], json!(format!("shop:{nowhere}")));
    // A station is no shop.
    let station = world.county().station_1;
    crew.get(&format!("/v1/changes?scope=shop:{station}")).await.refused(410, "scope-gone");
});
