//! Coverage: what full rigs reach, what hangs on one of them, and where reserve sets bring most.

use chrono::TimeDelta;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, command, county::piece, on_both, on_rig};

/// Sets zones far from every station, with the minutes from each station to each zone; answers the zones' ids.
pub async fn set_demand(world: &World, weights: &[f64], target: f64, stations: &[Uuid], minutes: Value) -> Vec<Uuid> {
    let coordinator = world.coordinator();
    let ids: Vec<Uuid> = weights.iter().map(|_| Uuid::now_v7()).collect();
    let zones: Vec<Value> = ids
        .iter()
        .zip(weights)
        .enumerate()
        .map(|(at, (id, weight))| json!({ "id": id, "name": format!("Zone {at}"), "lat": 10.0, "lon": 10.0, "weight": weight }))
        .collect();
    let times = json!({ "source": "the test", "stations": stations, "minutes": minutes });
    let body = json!({ "target_minutes": target, "zones": zones, "times": times });
    let path = format!("/v1/demand/{}", world.agency().id);
    if coordinator.list("/v1/demand").await.is_empty() {
        coordinator.ask(Method::PATCH, &path, Some(&body), &[]).await.ok();
    } else {
        coordinator.edit(&path, body).await.ok();
    }
    ids
}

/// One more engine with a full hose-fed set; answers the engine and its ram.
pub async fn full_engine(world: &World, name: &str, station: Uuid) -> (Uuid, Uuid) {
    let (county, rig, ram) = (world.county(), Uuid::now_v7(), Uuid::now_v7());
    let m = &county.models;
    let mut all = vec![command(
        "rig.add",
        json!({ "id": rig, "name": name, "station": station, "rig_class": county.engine_class }),
    )];
    for (id, what, model) in [
        (Uuid::now_v7(), "PUMP", m.pump),
        (Uuid::now_v7(), "CUT", m.cutter),
        (Uuid::now_v7(), "SPR", m.spreader),
        (ram, "RAM", m.ram),
        (Uuid::now_v7(), "HOSE1", m.hose),
        (Uuid::now_v7(), "HOSE2", m.hose),
    ] {
        all.push(piece(id, &format!("{name} {what}"), model, on_rig(rig)));
    }
    world.coordinator().apply(all).await;
    (rig, ram)
}

fn share(view: &Value, what: &str) -> f64 {
    view[what].as_f64().unwrap()
}

async fn coverage(client: &Client, query: &str) -> Value {
    client.find(&format!("/v1/coverage{query}")).await
}

on_both!(without_zones_it_says_what_to_do, async |world: &World| {
    let view = coverage(&world.crew(), "").await;
    assert_eq!((view["zones"].as_array().unwrap().len(), share(&view, "total")), (0, 0.0));
    assert!(view["words"].as_str().unwrap().contains("bring them in"), "{view}");
    world.crew().find("/v1/coverage/reserve-sites").await;
});

on_both!(a_rig_that_drops_loses_what_it_alone_reached_now_and_then, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let stations = [county.station_1, county.station_2, county.station_3];
    // By hand: engine 1 reaches zones 0 and 1, engine 2 zone 1, the rigs of station 3 zone 2; nobody zone 3 within 8 minutes.
    let minutes = json!([[4, 9, 30], [5, 6, 30], [30, 30, 8], [8.01, 20, 30]]);
    let zones = set_demand(world, &[10.0, 20.0, 30.0, 40.0], 8.0, &stations, minutes).await;
    // The light truck at station 3 is limited: it covers nothing, whatever its class asks of it.
    let limited = coverage(&coordinator, "").await;
    assert_eq!((share(&limited, "first"), share(&limited, "second")), (30.0, 20.0));
    assert_eq!(
        (&limited["gains"][0]["rig"], &limited["gains"][0]["zones"]),
        (&json!(county.truck_3), &json!([zones[2]]))
    );
    let (engine_3, _) = full_engine(world, "Engine 3", county.station_3).await;
    let before = coverage(&coordinator, "").await;
    assert_eq!(
        (share(&before, "total"), share(&before, "first"), share(&before, "second")),
        (100.0, 60.0, 20.0)
    );
    assert_eq!(before["zones"][1]["first"], json!(county.engine_1));
    assert_eq!(before["zones"][1]["second"], json!(county.engine_2));
    assert_eq!(
        (before["zones"][3]["first"].clone(), before["zones"][3]["nearest_minutes"].as_f64()),
        (Value::Null, Some(8.01))
    );
    let losses: Vec<(Value, f64)> = before["losses"]
        .as_array()
        .unwrap()
        .iter()
        .map(|loss| (loss["rig"].clone(), loss["weight"].as_f64().unwrap()))
        .collect();
    assert_eq!(losses, [(json!(engine_3), 30.0), (json!(county.engine_1), 10.0), (json!(county.engine_2), 0.0)]);
    let north = &before["districts"][0];
    assert_eq!(
        (north["name"].as_str(), north["weight"].as_f64(), north["first"].as_f64()),
        (Some("North"), Some(70.0), Some(30.0))
    );
    let revision = before["revision"].clone();
    world.pass(TimeDelta::minutes(5));
    coordinator.take_out(county.set_1.ram, "bent").await.ok();
    let after = coverage(&coordinator, "").await;
    assert_eq!((share(&after, "first"), share(&after, "second")), (50.0, 0.0));
    assert_eq!(after["gains"][0]["rig"], json!(county.engine_1));
    assert_eq!(after["gains"][0]["zones"], json!([zones[0]]));
    let mut then = coverage(&coordinator, &format!("?revision={revision}")).await;
    then["at"] = before["at"].clone();
    assert_eq!(then, before);
    // A longer limit never covers less.
    assert_eq!(share(&coverage(&coordinator, "?target_minutes=8.01&detour=1").await, "total"), 100.0);
    let mut last = 0.0;
    for target in [0, 4, 5, 6, 8, 9, 20, 30] {
        let first = share(&coverage(&coordinator, &format!("?target_minutes={target}")).await, "first");
        assert!(first >= last, "{target} minutes cover {first}, fewer covered {last}");
        last = first;
    }
    assert_eq!(last, 100.0);
});

on_both!(a_reserve_rig_covers_nothing_until_it_is_in_the_front_line, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let stations = [county.station_1, county.station_2, county.station_3];
    set_demand(world, &[10.0, 20.0], 8.0, &stations, json!([[4, 30, 30], [30, 30, 8]])).await;
    let (engine_3, _) = full_engine(world, "Engine 3", county.station_3).await;
    let path = format!("/v1/rigs/{engine_3}");
    assert_eq!(share(&coverage(&coordinator, "").await, "first"), 30.0);
    coordinator.edit(&path, json!({ "duty": "ready_reserve", "reason": "no crew" })).await.ok();
    let view = coverage(&coordinator, "").await;
    assert_eq!((share(&view, "first"), view["losses"].as_array().unwrap().len()), (10.0, 2));
    let left_out = &view["left_out"][0];
    assert_eq!((&left_out["rig"], &left_out["name"]), (&json!(engine_3), &json!("Engine 3")));
    assert!(left_out["words"].as_str().unwrap().contains("reserve"), "{left_out}");
    coordinator.edit(&path, json!({ "duty": "front_line" })).await.ok();
    assert_eq!(share(&coverage(&coordinator, "").await, "first"), 30.0);
});

on_both!(a_rig_whose_station_is_not_on_the_map_is_named, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/stations/{}", county.station_3);
    coordinator.edit(&path, json!({ "lat": null, "lon": null })).await.ok();
    let view = coverage(&coordinator, "").await;
    assert_eq!(view["left_out"][0]["name"], "Truck 3");
});

on_both!(queries_that_cannot_be_are_refused, async |world: &World| {
    let crew = world.crew();
    set_demand(world, &[1.0], 8.0, &[], json!([[]])).await;
    for query in [
        "?detour=0.5",
        "?target_minutes=-1",
        "?target_minutes=NaN",
        "?at=2126-01-01T00:00:00Z",
        "?what=1",
    ] {
        crew.get(&format!("/v1/coverage{query}")).await.refused(400, "query-invalid");
    }
    for query in ["?sets=0", "?sets=21", "?detour=99"] {
        crew.get(&format!("/v1/coverage/reserve-sites{query}")).await.refused(400, "query-invalid");
    }
});

/// `tests/published/data/mclp_instances.json`: maximal covering optima by CBC, each checked by full enumeration.
fn published() -> Vec<Value> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/published/data/mclp_instances.json");
    let file: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    file["instances"].as_array().unwrap().clone()
}

on_both!(the_published_covering_optima_come_out_of_the_service, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    // Only the stations of the instance count: the rigs of the county are out.
    for rig in [county.engine_1, county.engine_2, county.truck_3] {
        coordinator
            .post(&format!("/v1/rigs/{rig}/take-out"), json!({ "reason": "not of this matter" }))
            .await
            .ok();
    }
    for instance in published() {
        let sites: Vec<Uuid> = instance["sites"].as_array().unwrap().iter().map(|_| Uuid::now_v7()).collect();
        let add = |(at, id): (usize, &Uuid)| {
            let name = format!("Site {} {at}", instance["seed"]);
            command("station.add", json!({ "id": id, "name": name, "district": county.north }))
        };
        coordinator.apply(sites.iter().enumerate().map(add).collect()).await;
        let weights: Vec<f64> = instance["demand"].as_array().unwrap().iter().map(|zone| zone["w"].as_f64().unwrap()).collect();
        let limit = instance["limit_minutes"].as_f64().unwrap();
        set_demand(world, &weights, limit, &sites, instance["travel_minutes"].clone()).await;
        let results = instance["results"].as_array().unwrap();
        let found = coordinator.find(&format!("/v1/coverage/reserve-sites?sets={}", results.len())).await;
        for (result, best) in results.iter().zip(found["places"]["best"].as_array().unwrap()) {
            assert_eq!(
                best["value"].as_f64(),
                result["mclp_optimum"].as_f64(),
                "seed {}, p {}",
                instance["seed"],
                result["p"]
            );
            assert_eq!(best["proved"], true);
        }
        assert_eq!(found["places"]["coverable"].as_f64(), instance["coverable_weight"].as_f64());
        assert_eq!(found["places"]["enough"].as_i64(), instance["lscp_min_sites_for_coverable"].as_i64());
    }
});
