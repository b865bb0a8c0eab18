//! The published levelling data from the register to the answer: months of 30 days, a window of its own for each set, the cap as a person says it.

use chrono::{Days, TimeDelta};
use serde_json::{Value, json};

use super::year::{ask, day, district, work};
use crate::world::{World, on_both};

fn case(id: &str) -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/published/data/levelling_instances.json");
    let file: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let cases = file["cases"].as_array().unwrap();
    cases.iter().find(|case| case["id"] == id).unwrap().clone()
}

async fn levelled(world: &World, id: &str) {
    let case = case(id);
    // A set that is due in the last month had its service a year before that, and no service lies ahead.
    world.pass(TimeDelta::days(7));
    let n = |value: &Value| value.as_u64().unwrap();
    let first = day("2026-12-07");
    let mut asked = ask(world, u32::try_from(n(&case["months"])).unwrap(), 10_000.0);
    (asked["period_days"], asked["late_days"]) = (json!(30), json!(0));
    let jobs = case["jobs"].as_array().unwrap();
    let mut names: Vec<&str> = jobs.iter().map(|job| job["district"].as_str().unwrap()).collect();
    names.sort_unstable();
    names.dedup();
    let (mut caps, mut own) = (Vec::new(), Vec::new());
    for name in names {
        let mine: Vec<&Value> = jobs.iter().filter(|job| job["district"] == name).collect();
        let due: Vec<_> = mine.iter().map(|job| first + Days::new(30 * n(&job["latest"]) + 29)).collect();
        let made = district(world, name, 0, &due, &[]).await;
        caps.push(json!({ "district": made.id, "most_away": case["max_per_district_per_month"] }));
        for (set, job) in made.sets.iter().zip(mine) {
            let early = 30 * (n(&job["latest"]) - n(&job["earliest"])) + 29;
            own.push(json!({ "set": set.id, "hours": job["hours"], "early_days": early }));
        }
    }
    (asked["caps"], asked["hours"]) = (json!(caps), json!(own));
    let answer = work(&world.crew(), &asked).await;
    let plan = &answer["plan"];
    if case["feasible"] == true {
        assert_eq!((&plan["verdict"], &plan["lateness"]), (&json!("planned"), &json!(0)), "{id}: {plan}");
        let peak = |value: &Value| value.as_f64().unwrap();
        assert!((peak(&plan["peak_hours"]) - peak(&case["min_peak_hours"])).abs() < 1e-9, "{id}: {plan}");
    } else {
        assert_ne!(plan["verdict"], "planned", "{id}: {plan}");
        assert!(plan["obstacles"].as_array().unwrap().iter().all(|obstacle| obstacle["kind"] == "slots_short"));
    }
}

on_both!(levelled_years_that_are_possible, async |world: &World| levelled(world, "lvl-3").await);
on_both!(levelled_years_with_wide_windows, async |world: &World| levelled(world, "lvl-14").await);
on_both!(levelled_years_that_are_not_possible, async |world: &World| levelled(world, "lvl-12").await);
