//! The days of `tests/published/data/swap_instances.json` (full enumeration of all plans) as registers: what the service plans
//! for them covers as much with as few moves. Minutes are left aside: the file takes right-angle roads between donors and
//! rigs, the service the great circle. A gap may be of two pieces of a kind: so full means two cutters, two spreaders and two rams, and a
//! rig carries two of each but what the file takes away. A second pump is no need of any grade: where the file takes two away, its
//! word stands for a combination tool, of which each rig then needs two as well.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Engine, World, command, county::piece, on, on_shelf};

const TOOLS: [(&str, &str); 3] = [("cutter", "cutter"), ("spreader", "spreader"), ("ram", "ram")];

/// What each word of the file stands for, and how many of it a whole rig carries.
fn kinds(case: &Value) -> Vec<(&'static str, &'static str, usize)> {
    let powers = |rig: &Value| list(&rig["gaps"]).iter().filter(|gap| *gap == "power").count();
    let power = if list(&case["rigs"]).iter().any(|rig| powers(rig) > 1) {
        ("power", "combination_tool", 2)
    } else {
        ("power", "power_unit", 1)
    };
    TOOLS.into_iter().map(|(word, kind)| (word, kind, 2)).chain([power]).collect()
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().unwrap()
}

fn at(value: &Value, axis: &str) -> f64 {
    value[axis].as_f64().unwrap()
}

/// Right-angle miles and the published curve (`travel_time.json`), as the file was made.
fn minutes(a: &Value, b: &Value) -> f64 {
    let miles = (at(a, "x") - at(b, "x")).abs() + (at(a, "y") - at(b, "y")).abs();
    if miles <= 0.38 { 2.10 * miles.sqrt() } else { 0.65 + 1.70 * miles }
}

fn published() -> Vec<Value> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/published/data/swap_instances.json");
    let file: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    list(&file["cases"]).clone()
}

/// The model of a kind on a coupling family.
fn model(kind: &str, coupling: &str, models: &mut Vec<(String, Uuid)>, all: &mut Vec<Value>) -> Uuid {
    let name = format!("{kind} {coupling}");
    if let Some((_, id)) = models.iter().find(|(known, _)| *known == name) {
        return *id;
    }
    let id = Uuid::now_v7();
    let hookup = json!({ "coupling": coupling, "fluid": "mineral oil", "pressure": { "value": 700, "unit": "bar" }, "circuits": if kind == "power_unit" { Some(1) } else { None } });
    all.push(command("model.add", json!({ "id": id, "name": name, "kind": kind, "hookup": hookup })));
    models.push((name, id));
    id
}

/// So many tools of each kind, one of them at a time.
fn grades(kinds: &[(&str, &str, usize)]) -> Value {
    let need =
        |kind: &str, n: usize| json!({ "id": format!("{kind}-{n}"), "name": format!("{kind} {n}"), "alternatives": [{ "parts": [{ "kinds": [kind] }] }] });
    let tools = kinds.iter().filter(|(_, kind, _)| *kind != "power_unit");
    let needs: Vec<Value> = tools.flat_map(|(_, kind, whole)| (1..=*whole).map(move |n| need(kind, n))).collect();
    json!({
        "limited": { "needs": [need("cutter", 1)], "tools_at_once": 1 },
        "full": { "needs": needs, "tools_at_once": 1 },
    })
}

async fn comes_out(world: &World, case: &Value) {
    let (county, coordinator) = (world.county(), world.coordinator());
    let (mut all, mut models, kinds) = (Vec::new(), Vec::new(), kinds(case));
    let families = list(&case["rigs"])
        .iter()
        .chain(list(&case["reserves"]))
        .map(|one| one["coupling"].as_str().unwrap());
    for family in families.collect::<std::collections::BTreeSet<_>>() {
        all.push(command("coupling.add", json!({ "id": Uuid::now_v7(), "name": family })));
    }
    let slot = json!({ "id": "power", "name": "Power unit", "kinds": ["power_unit"], "required": true });
    let class = Uuid::now_v7();
    all.push(command(
        "rig_class.add",
        json!({ "id": class, "name": "Class of the file", "complement": { "slots": [slot] }, "expects": "full" }),
    ));
    let mut stations = Vec::new();
    let mut station = |name: String, spot: &Value, all: &mut Vec<Value>| {
        let id = Uuid::now_v7();
        // A mile is about this many degrees near the equator.
        let (lat, lon) = (at(spot, "y") / 69.0, at(spot, "x") / 69.0);
        all.push(command(
            "station.add",
            json!({ "id": id, "name": name, "district": county.north, "lat": lat, "lon": lon }),
        ));
        stations.push(id);
        id
    };
    let mut numbered = 0;
    for (n, rig) in list(&case["rigs"]).iter().enumerate() {
        let (id, coupling) = (Uuid::now_v7(), rig["coupling"].as_str().unwrap());
        let home = station(format!("House {n}"), rig, &mut all);
        let gaps: Vec<&str> = list(&rig["gaps"]).iter().map(|gap| gap.as_str().unwrap()).collect();
        let mut aboard = vec!["hose"];
        if kinds.iter().all(|(_, kind, _)| *kind != "power_unit") {
            aboard.push("power_unit");
        }
        for (word, kind, whole) in &kinds {
            let missing = gaps.iter().filter(|gap| *gap == word).count();
            aboard.extend((missing..*whole).map(|_| *kind));
        }
        all.push(command(
            "rig.add",
            json!({ "id": id, "name": format!("R{n}"), "station": home, "rig_class": class }),
        ));
        for kind in aboard {
            let of = model(kind, coupling, &mut models, &mut all);
            numbered += 1;
            let tool = Uuid::now_v7();
            all.push(piece(tool, &format!("P-{numbered}"), of, on_shelf(home)));
            // Only reserves give in the file: what stands in on a rig is given to no other.
            all.push(command(
                "swap.start",
                json!({ "id": Uuid::now_v7(), "rig": id, "piece": tool, "despite": "the file has it there" }),
            ));
        }
    }
    let rigs = list(&case["rigs"]).len();
    for (n, reserve) in list(&case["reserves"]).iter().enumerate() {
        let home = station(format!("Shelf {n}"), reserve, &mut all);
        let (_, kind, _) = kinds.iter().find(|(word, ..)| reserve["kind"] == *word).unwrap();
        let of = model(kind, reserve["coupling"].as_str().unwrap(), &mut models, &mut all);
        all.push(piece(Uuid::now_v7(), &format!("V-{n}"), of, on_shelf(home)));
    }
    let zones: Vec<Value> = list(&case["demand"])
        .iter()
        .enumerate()
        .map(|(n, zone)| json!({ "id": Uuid::now_v7(), "name": format!("Zone {n}"), "lat": -80.0, "lon": 0.0, "weight": zone["w"] }))
        .collect();
    let times: Vec<Vec<f64>> = list(&case["demand"])
        .iter()
        .map(|zone| list(&case["rigs"]).iter().map(|rig| minutes(rig, zone)).collect())
        .collect();
    let times = json!({ "source": "the file", "stations": &stations[..rigs], "minutes": times });
    all.push(command(
        "demand.set",
        json!({ "id": world.agency().id, "target_minutes": case["limit_minutes"], "zones": zones, "times": times }),
    ));
    let agency = "/v1/agency".to_owned();
    let rev = coordinator.rev(&agency).await;
    let grades = json!({ "grades": grades(&kinds), "reason": "the file asks for two of each" });
    coordinator.post_on("/v1/agency/grade", rev, grades).await.ok();
    coordinator.apply(all).await;
    let found = coordinator.find("/v1/swap-plan").await;
    let told = |what: &str| found[what].as_f64().unwrap();
    let asked = |what: &str| case[what].as_f64().unwrap();
    assert_eq!(told("before"), asked("covered_before"), "{}", case["id"]);
    assert_eq!(told("after"), asked("covered_best"), "{}: {}", case["id"], found["words"]);
    assert_eq!(list(&found["moves"]).len() as f64, asked("moves"), "{}: {}", case["id"], found["words"]);
    assert!(told("bound") >= told("after"), "{}", case["id"]);
}

fn all_of_them(engine: Engine) {
    let cases = published();
    assert!(cases.len() >= 14, "the file holds its days");
    for case in &cases {
        on(engine, async |world| comes_out(world, case).await);
    }
}

#[test]
fn the_published_days_come_out_of_the_service_on_sqlite() {
    all_of_them(Engine::Sqlite);
}

#[test]
fn the_published_days_come_out_of_the_service_on_postgres() {
    all_of_them(Engine::Postgres);
}
