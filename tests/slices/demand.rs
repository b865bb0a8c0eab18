//! Demand: zones and travel times, from files and by hand.

use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, on_both};

/// Sends a file of zones or times to be read.
pub async fn read(client: &Client, what: &str, file: &str) -> Reply {
    let request = client
        .request(Method::POST, &format!("/v1/demand/{what}-reading"))
        .await
        .header("Content-Type", "text/csv")
        .body(file.to_owned());
    Reply::of(format!("{what}-reading"), request).await
}

fn zone(name: &str, lat: f64, lon: f64, weight: f64) -> Value {
    json!({ "id": Uuid::now_v7(), "name": name, "lat": lat, "lon": lon, "weight": weight })
}

on_both!(a_file_is_read_first_then_set_and_what_was_before_can_be_set_again, async |world: &World| {
    let coordinator = world.coordinator();
    let path = format!("/v1/demand/{}", world.agency().id);
    let file = "Zone,Latitude,Longitude,Crashes\nMill Road,39.71,-105.0,12\nQuarry,39.76,-105.01,many\nLake,39.9,-105.1,3\n";
    let found = read(&coordinator, "zones", file).await.ok();
    assert_eq!(found["refused"], json!([{ "line": 3, "words": "'many' is no number for the weight" }]));
    assert!(coordinator.list("/v1/demand").await.is_empty(), "reading writes nothing");
    let zones = &found["zones"];
    coordinator
        .ask(Method::PATCH, &path, Some(&json!({ "zones": zones, "counts": "crashes a year" })), &[])
        .await
        .ok();
    let before = coordinator.find(&path).await;
    assert_eq!(before["zones"].as_array().unwrap().len(), 2);
    // The same name keeps its id, so that what points to a zone goes on pointing to it.
    let again = read(&coordinator, "zones", "name,lat,lon,weight\nmill road,39.72,-105.0,14\n").await.ok();
    assert_eq!(again["zones"][0]["id"], zones[0]["id"]);
    let unseen = coordinator.ask(Method::PATCH, &path, Some(&json!({ "zones": again["zones"] })), &[]).await;
    unseen.refused(428, "revision-needed");
    coordinator.edit(&path, json!({ "zones": again["zones"] })).await.ok();
    assert_eq!(coordinator.find(&path).await["zones"][0]["weight"], 14.0);
    let then = coordinator.find(&format!("{path}?revision={}", before["rev"])).await;
    assert_eq!(then, before);
    coordinator.edit(&path, json!({ "zones": then["zones"] })).await.ok();
    assert_eq!(coordinator.find(&path).await["zones"], before["zones"]);
});

on_both!(a_zone_that_cannot_be_is_refused_by_its_place_in_the_list, async |world: &World| {
    let coordinator = world.coordinator();
    let path = format!("/v1/demand/{}", world.agency().id);
    let good = zone("Mill Road", 39.7, -105.0, 12.0);
    for (bad, field) in [
        (zone("Turned", -105.0, 39.7, 1.0), "body.zones[1].lat"),
        (zone("Below", 39.7, -105.0, -1.0), "body.zones[1].weight"),
        (zone("mill road", 39.7, -105.0, 1.0), "body.zones[1].name"),
        (good.clone(), "body.zones[1].name"),
    ] {
        let body = json!({ "zones": [good, bad] });
        let told = coordinator.ask(Method::PATCH, &path, Some(&body), &[]).await.refused(422, "field-invalid");
        assert_eq!(told["field"], field, "{told}");
    }
    for body in [json!({ "detour": 0.9 }), json!({ "target_minutes": 0 })] {
        coordinator.ask(Method::PATCH, &path, Some(&body), &[]).await.refused(422, "field-invalid");
    }
    let other = coordinator
        .ask(Method::PATCH, &format!("/v1/demand/{}", Uuid::now_v7()), Some(&json!({ "detour": 1.2 })), &[])
        .await;
    other.refused(404, "not-found");
});

on_both!(times_that_were_given_go_before_the_curve_and_go_with_their_zones, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/demand/{}", world.agency().id);
    read(&coordinator, "times", "zone,1\nMill Road,3\n").await.refused(422, "zones-unreadable");
    let zones = json!([zone("Mill Road", 39.70, -105.0, 12.0), zone("Lake", 39.90, -105.1, 3.0)]);
    coordinator.ask(Method::PATCH, &path, Some(&json!({ "zones": zones })), &[]).await.ok();
    let file = "zone;Station 1;2;Station 9\nMill Road;7:30;3,5;1\nLake;;soon;2\nNowhere;1;2;3\n";
    let found = read(&coordinator, "times", file).await.ok();
    assert_eq!(found["times"]["stations"], json!([county.station_1, county.station_2]));
    assert_eq!(found["times"]["minutes"], json!([[7.5, 3.5], [null, null]]));
    let lines: Vec<i64> = found["refused"]
        .as_array()
        .unwrap()
        .iter()
        .map(|refused| refused["line"].as_i64().unwrap())
        .collect();
    assert_eq!(lines, [1, 3, 4]);
    coordinator.edit(&path, json!({ "times": found["times"] })).await.ok();
    let covered = coordinator.find("/v1/coverage").await;
    // Three stations and two zones: two times given, the other four by the curve.
    assert_eq!((covered["measured"].as_i64(), covered["by_curve"].as_i64()), (Some(2), Some(4)));
    assert_eq!(
        covered["zones"][0]["first"],
        json!(county.engine_2),
        "3.5 minutes given, though engine 1 stands in the zone"
    );
    coordinator.edit(&path, json!({ "zones": zones })).await.ok();
    assert_eq!(coordinator.find(&path).await["times"], Value::Null);
    assert_eq!(coordinator.find("/v1/coverage").await["zones"][0]["first"], json!(county.engine_1));
});

on_both!(only_who_plans_may_set_the_demand, async |world: &World| {
    let path = format!("/v1/demand/{}", world.agency().id);
    for client in [world.crew(), world.officer(), world.shop()] {
        client
            .ask(Method::PATCH, &path, Some(&json!({ "detour": 1.2 })), &[])
            .await
            .refused(403, "not-allowed");
    }
});
