//! How much of the time a district has as many full rigs as it needs.

use serde_json::{Value, json};

use super::availability::{at, back, out_for_service};
use crate::world::{Client, World, on_both};

/// Hours met, short, not known, without a number.
fn at_minimum(shares: &Value) -> [i64; 4] {
    ["met_seconds", "short_seconds", "unknown_seconds", "unset_seconds"].map(|slot| shares[slot].as_i64().unwrap() / 3600)
}

async fn of_district(client: &Client, query: &str, name: &str) -> Value {
    let answer = client.find(&format!("/v1/availability/minimum?{query}")).await;
    let mut rows = answer["rows"].as_array().unwrap().iter();
    rows.find(|row| row["name"] == name).unwrap_or_else(|| panic!("no {name} in {answer}")).clone()
}

on_both!(a_district_is_short_while_too_few_of_its_rigs_are_full_at_once, async |world: &World| {
    let (county, officer, admin) = (world.county(), world.officer(), world.admin());
    let north = format!("/v1/districts/{}", county.north);
    // North has two engines that are full. From the first of December at 7 UTC, midnight in Denver, it is to have one of them.
    // A hose of Engine 2 would end on that day.
    let newer = json!({ "made_on": "2020-12", "in_service_since": "2021-02-01", "reason": "read on the label" });
    admin.edit(&format!("/v1/pieces/{}", county.set_2.second_hose), newer).await.ok();
    admin.edit(&north, json!({ "min_full": 0 })).await.ok();
    world.clock.set(at(12, 1, 7));
    admin.edit(&north, json!({ "min_full": 1 })).await.ok();
    world.clock.set(at(12, 2, 7));
    officer.take_out(county.set_1.ram, "bent").await.ok();
    world.clock.set(at(12, 3, 7));
    assert_eq!(
        at_minimum(&of_district(&officer, "from=2026-12", "North").await["total"]),
        [48, 0, 0, 0],
        "the other engine is full"
    );
    officer.take_out(county.set_2.ram, "bent too").await.ok();
    world.clock.set(at(12, 3, 17));
    back(&world.shop(), county.set_1.ram).await;
    world.clock.set(at(12, 4, 7));
    let row = of_district(&officer, "from=2026-12", "North").await;
    assert_eq!((at_minimum(&row["total"]), &row["minimum"]), ([62, 10, 0, 0], &json!(1)));
    assert_eq!(
        (&row["short_count"], &row["short"][0]["fewest"], &row["short"][0]["needed"]),
        (&json!(1), &json!(0), &json!(1))
    );
    assert_eq!(row["short"][0]["from"], "2026-12-03T07:00:00.000000Z");
    // Two are needed from now on: one is out, so it is short at once; and in November no number was set.
    admin.edit(&north, json!({ "min_full": 2 })).await.ok();
    world.clock.set(at(12, 4, 19));
    let row = of_district(&officer, "from=2026-11", "North").await;
    assert_eq!(at_minimum(&row["months"][1]), [62, 22, 0, 0]);
    let november = at_minimum(&row["months"][0]);
    assert_eq!((november[0], november[1], november[2]), (0, 0, 0), "{row}");
    // A rig down for planned service is not full; a rig that is out whole is not either.
    back(&world.shop(), county.set_2.ram).await;
    admin.edit(&north, json!({ "min_full": 2 })).await.ok();
    world.clock.set(at(12, 5, 7));
    assert_eq!(at_minimum(&of_district(&officer, "from=2026-12", "North").await["total"]), [74, 22, 0, 0]);
    out_for_service(&officer, format!("/v1/rigs/{}", county.engine_1)).await;
    world.clock.set(at(12, 5, 19));
    assert_eq!(at_minimum(&of_district(&officer, "from=2026-12", "North").await["total"]), [74, 34, 0, 0]);
    officer.get("/v1/availability/minimum?from=2026-13").await.refused(400, "query-invalid");
});
