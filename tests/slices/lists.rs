//! Lists come in pages and by filters; history comes newest first.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::world::{World, acts::id_of, command, on_both};

fn labels(items: &[Value]) -> Vec<String> {
    items.iter().map(|item| item["tag"].as_str().expect("a tag").to_owned()).collect()
}

on_both!(small_pages_show_every_record_once_and_in_the_same_order, async |world: &World| {
    let crew = world.crew();
    let whole = crew.find("/v1/pieces?limit=500").await;
    assert!(whole.get("next").is_none(), "{whole}");
    let whole = whole["items"].as_array().unwrap().clone();
    assert_eq!(whole.len(), 16);
    let mut paged = Vec::new();
    let mut after = String::new();
    loop {
        let page = crew.find(&format!("/v1/pieces?limit=3{after}")).await;
        let items = page["items"].as_array().unwrap();
        assert!((1..=3).contains(&items.len()));
        paged.extend(items.iter().cloned());
        match page["next"].as_str() {
            Some(next) => after = format!("&after={next}"),
            None => break,
        }
    }
    assert_eq!(paged, whole);
    let mut sorted = labels(&whole);
    sorted.sort();
    assert_eq!(labels(&whole), sorted);
});

on_both!(records_of_the_same_label_are_all_listed, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    // Reported at the same instant: their labels, the times, are the same.
    let reports = (0..7).map(|n| {
        command(
            "defect.report",
            json!({ "id": uuid::Uuid::now_v7(), "piece": county.set_1.pump, "what": format!("mark {n}"), "class": "deformation", "severity": "usable" }),
        )
    });
    crew.apply(reports.collect()).await;
    let mut seen = BTreeSet::new();
    let mut after = String::new();
    loop {
        let page = crew.find(&format!("/v1/defects?limit=2{after}")).await;
        for item in page["items"].as_array().unwrap() {
            assert!(seen.insert(id_of(item)), "listed twice: {item}");
        }
        match page["next"].as_str() {
            Some(next) => after = format!("&after={next}"),
            None => break,
        }
    }
    assert_eq!(seen.len(), 7);
});

on_both!(a_list_is_narrowed_by_place_state_parent_and_start_of_label, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.ram, "bent").await.ok();
    let tags = async |filter: &str| labels(&crew.list(&format!("/v1/pieces?{filter}")).await);
    assert_eq!(tags(&format!("rig={}&state=out_of_service", county.engine_1)).await, ["E1-RAM"]);
    assert_eq!(tags(&format!("parent={}", county.models.ram)).await, ["E1-RAM", "E2-RAM"]);
    assert_eq!(tags("q=R-").await, ["R-CUT", "R-HOSE", "R-TWIN"]);
    assert_eq!(tags(&format!("q=R-&district={}", county.north)).await, ["R-CUT", "R-TWIN"]);
    assert_eq!(tags("state=retired").await, Vec::<String>::new());
    assert_eq!(tags("q=%25").await, Vec::<String>::new(), "a per cent sign is just a sign");
    assert_eq!(tags("q=E_-").await, Vec::<String>::new(), "an underscore too");
});

on_both!(a_search_does_not_mind_capital_letters, async |world: &World| {
    let crew = world.crew();
    assert_eq!(labels(&crew.list("/v1/pieces?q=r-cut").await), ["R-CUT"]);
});

on_both!(a_search_finds_letters_of_every_alphabet_as_they_were_typed, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let tag = |tag: &str| crate::world::county::piece(uuid::Uuid::now_v7(), tag, county.models.ram, crate::world::on_shelf(county.station_1));
    coordinator.apply(vec![tag("ÄX-1"), tag("Ñu-2"), tag("ラム-3")]).await;
    for (typed, found) in [("%C3%84X", "ÄX-1"), ("%C3%91", "Ñu-2"), ("%E3%83%A9", "ラム-3")] {
        assert_eq!(labels(&coordinator.list(&format!("/v1/pieces?q={typed}")).await), [found]);
    }
});

on_both!(history_is_told_newest_first_page_by_page, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let reasons = (0..60).map(|n| command("piece.take_out", json!({ "id": county.set_1.ram, "reason": format!("bent {n}") })));
    crew.apply(reasons.collect()).await;
    let path = format!("/v1/pieces/{}/history", county.set_1.ram);
    let first = crew.find(&path).await;
    assert_eq!(first["items"].as_array().unwrap().len(), 50);
    assert_eq!(first["items"][0]["body"]["reason"], "bent 59");
    assert_eq!(first["items"][0]["words"], "Taken out of service: “bent 59”");
    let rest = crew.find(&format!("{path}?after={}", first["next"].as_str().unwrap())).await;
    let rest = rest["items"].as_array().unwrap();
    assert_eq!(rest.len(), 11);
    assert_eq!((&rest[9]["record"]["state_reason"], &rest[10]["kind"]), (&json!("bent 0"), &json!("piece.add")));
});

on_both!(history_shows_the_record_as_each_command_left_it, async |world: &World| {
    let (county, crew, shop) = (world.county(), world.crew(), world.shop());
    let out = crew.take_out(county.set_1.ram, "bent").await.record();
    shop.put_back(county.set_1.ram, out["rev"].as_i64().unwrap(), "straightened").await.ok();
    let history = crew.find(&format!("/v1/pieces/{}/history", county.set_1.ram)).await;
    let told: Vec<(&str, &str)> = history["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|item| (item["kind"].as_str().unwrap(), item["record"]["state"].as_str().unwrap()))
        .collect();
    assert_eq!(
        told,
        [
            ("piece.return", "in_service"),
            ("piece.take_out", "out_of_service"),
            ("piece.add", "in_service")
        ]
    );
    assert_eq!(history["items"][0]["by"]["name"], json!(shop.person.name));
});
