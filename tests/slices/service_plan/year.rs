//! A year of services for the tests: rigs that a set of battery tools makes full, as many as are asked for, in districts of their
//! own.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, command, county::piece, on_rig, on_shelf};

/// A day by its ISO text.
pub fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

/// A set of the year: a spreader, a cutter and a ram, each with its own pack.
#[derive(Debug, Clone)]
pub struct Set {
    pub id: Uuid,
    /// One of its tools, without which its rig is not full.
    pub tool: Uuid,
    pub reserve: bool,
}

/// A district of the year.
#[derive(Debug, Clone)]
pub struct District {
    pub id: Uuid,
    pub station: Uuid,
    pub sets: Vec<Set>,
}

/// `piece.add` for a light truck's battery tool that was served so that it is due on a day.
pub fn tool(world: &World, id: Uuid, tag: &str, place: Value, due_on: NaiveDate) -> Value {
    of_model(world.county().models.combi, id, tag, place, due_on)
}

fn of_model(model: Uuid, id: Uuid, tag: &str, place: Value, due_on: NaiveDate) -> Value {
    let mut add = piece(id, tag, model, place);
    add["body"]["last_service_on"] = json!(due_on - Days::new(365));
    add
}

/// `model.add` for the battery tools of a district's sets: a spreader, a cutter and a ram, as the county's full grade asks.
fn models(name: &str) -> ([Uuid; 3], Vec<Value>) {
    let rated = |value: f64| json!({ "value": value, "unit": "in", "standard": "NFPA 1936", "edition": "2015" });
    let ids = [Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7()];
    let kinds = [
        ("spreader", json!({ "spreading_distance": rated(24.0) })),
        ("cutter", json!({ "cutter_opening": rated(8.0) })),
        ("ram", json!({ "extended_length": { "value": 52.0, "unit": "in" } })),
    ];
    let add = |(id, (kind, ratings)): (&Uuid, (&str, Value))| {
        let body = json!({ "id": id, "name": format!("{name} {kind}"), "kind": kind, "hookup": { "battery": "28V family" }, "ratings": ratings });
        command("model.add", body)
    };
    (ids, ids.iter().zip(kinds).map(add).collect())
}

/// Makes a district with a full rig for each day in `due_on`, and a reserve set for each in `reserve`.
pub async fn district(world: &World, name: &str, min_full: u32, due_on: &[NaiveDate], reserve: &[NaiveDate]) -> District {
    let (id, station) = (Uuid::now_v7(), Uuid::now_v7());
    let mut all = vec![
        command("district.add", json!({ "id": id, "name": name, "min_full": min_full })),
        command("station.add", json!({ "id": station, "name": format!("{name} house"), "district": id })),
    ];
    let (models, add) = models(name);
    all.extend(add);
    let mut sets = Vec::new();
    for (n, (due_on, reserve)) in due_on.iter().map(|day| (day, false)).chain(reserve.iter().map(|day| (day, true))).enumerate() {
        let (rig, set, tools) = (Uuid::now_v7(), Uuid::now_v7(), models.map(|model| (Uuid::now_v7(), model)));
        let place = if reserve { on_shelf(station) } else { on_rig(rig) };
        if !reserve {
            let class = world.county().engine_class;
            all.push(command(
                "rig.add",
                json!({ "id": rig, "name": format!("{name} rig {n}"), "station": station, "rig_class": class }),
            ));
        }
        for (at, (id, model)) in tools.iter().enumerate() {
            all.push(of_model(*model, *id, &format!("{name}-{n}-{at}"), place.clone(), *due_on));
        }
        all.push(command(
            "tool_set.add",
            json!({ "id": set, "name": format!("{name} set {n}"), "home": place, "pieces": tools.map(|(id, _)| id) }),
        ));
        sets.push(Set {
            id: set,
            tool: tools[0].0,
            reserve,
        });
    }
    for part in all.chunks(400) {
        world.coordinator().apply(part.to_vec()).await;
    }
    District { id, station, sets }
}

/// A plan of weeks from Monday, 7 December 2026.
pub fn ask(world: &World, periods: u32, hours: f64) -> Value {
    json!({ "first_day": "2026-12-07", "periods": periods, "shops": [{ "shop": world.county().shop, "hours": hours }] })
}

/// What is due.
pub async fn due(client: &Client, ask: &Value) -> Value {
    client.post("/v1/service-plans/due", ask.clone()).await.ok()
}

/// Works a plan out to its end; all lines before the last one are progress.
pub async fn work(client: &Client, ask: &Value) -> Value {
    let reply = client.post("/v1/service-plans/work", ask.clone()).await;
    assert!(reply.done(), "{}: {} {}", reply.asked, reply.status, reply.text);
    assert_eq!(reply.headers["content-type"], "application/x-ndjson");
    let mut lines: Vec<Value> = reply.text.lines().map(|line| serde_json::from_str(line).expect("each line is JSON")).collect();
    let last = lines.pop().expect("a last line");
    for line in &lines {
        let share = line["progress"]["share"].as_f64().unwrap_or_else(|| panic!("{line}"));
        assert!((0.0..=1.0).contains(&share) && !line["progress"]["words"].as_str().unwrap_or_default().is_empty());
    }
    assert!(last["answer"].is_object(), "{last}");
    last["answer"].clone()
}

/// A line of a list by the id in one of its fields.
#[track_caller]
pub fn of<'a>(list: &'a Value, field: &str, id: Uuid) -> &'a Value {
    let found = list.as_array().expect("a list").iter().find(|item| item[field] == json!(id));
    found.unwrap_or_else(|| panic!("no {field} {id} in {list}"))
}

fn id_of(line: &Value, field: &str) -> Uuid {
    line[field]
        .as_str()
        .and_then(|id| id.parse().ok())
        .unwrap_or_else(|| panic!("no {field} in {line}"))
}

fn whole(value: &Value) -> i64 {
    value.as_i64().unwrap_or_else(|| panic!("{value} is no whole number"))
}

/// Looks at a plan as somebody who knows the districts and nothing of how it was found: each set that is due once and within its window,
/// at a shop that has the hours, and in each period every district keeps its minimum of full rigs, stand-ins counted that are not away.
pub fn sound(answer: &Value, districts: &[District]) {
    assert_eq!(answer["plan"]["verdict"], "planned", "{}", answer["plan"]["words"]);
    let visits = answer["visits"].as_array().expect("visits");
    let sets = answer["sets"].as_array().expect("sets");
    assert_eq!(visits.len(), sets.len());
    let mut loads: BTreeMap<(Uuid, i64), f64> = BTreeMap::new();
    let mut late = 0;
    for set in sets {
        let mine: Vec<&Value> = visits.iter().filter(|visit| visit["set"] == set["set"]).collect();
        let [visit] = mine[..] else { panic!("{set} is visited {} times", mine.len()) };
        let period = whole(&visit["period"]);
        if visit["pinned"] == json!(false) {
            assert!((whole(&set["earliest"])..=whole(&set["latest"])).contains(&period), "{visit} outside of {set}");
        }
        assert_eq!(whole(&visit["late"]), (period - whole(&set["due_period"])).max(0), "{visit} {set}");
        late += whole(&visit["late"]);
        *loads.entry((id_of(visit, "shop"), period)).or_default() += visit["hours"].as_f64().expect("hours");
    }
    assert_eq!(whole(&answer["plan"]["lateness"]), late);
    for ((shop, period), load) in &loads {
        let has = of(&answer["shops"], "id", *shop)["hours"][usize::try_from(*period).unwrap()].as_f64().unwrap();
        assert!(*load <= has + 1e-6, "{load} hours in period {period}, where there are {has}");
    }
    let peak = loads.values().fold(0.0, |most: f64, load| most.max(*load));
    assert!((answer["plan"]["peak_hours"].as_f64().unwrap() - peak).abs() < 1e-6);
    for district in districts {
        let line = of(&answer["districts"], "id", district.id);
        for period in 0..i64::try_from(answer["periods"].as_array().expect("periods").len()).unwrap() {
            let away = |reserve: bool| {
                let mine = district.sets.iter().filter(|set| set.reserve == reserve);
                let away = mine.filter(|set| visits.iter().any(|visit| visit["set"] == json!(set.id) && whole(&visit["period"]) == period));
                i64::try_from(away.count()).unwrap()
            };
            let stand_ins = whole(&line["stand_ins"]) - away(true);
            let left = whole(&line["full"]) - away(false) + stand_ins.min(away(false));
            assert!(
                left >= whole(&line["minimum"]) || away(false) == 0,
                "{}: {left} full rigs in period {period}: {answer}",
                line["name"]
            );
        }
    }
}
