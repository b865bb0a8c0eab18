//! What no plan can be worked out from is refused, with the path of the field.

use serde_json::{Value, json};
use uuid::Uuid;

use super::year::{District, ask, day, district};
use crate::world::{World, on_both};

/// Asks that are wrong in one field, each with that field.
fn wrong(world: &World, made: &District) -> Vec<(&'static str, Value)> {
    let (good, shop, set) = (ask(world, 20, 40.0), world.county().shop, made.sets[0].id);
    let pin = |set: Uuid, period: u32, shop: Uuid| json!({ "set": set, "period": period, "shop": shop });
    let with = |field: &str, value: Value| {
        let mut ask = good.clone();
        *ask.pointer_mut(field).unwrap_or_else(|| panic!("no {field}")) = value;
        ask
    };
    let more = |field: &str, value: Value| {
        let mut ask = good.clone();
        ask[field] = value;
        ask
    };
    let anybody = Uuid::now_v7();
    let pins = |list: Value| more("pins", list);
    let closed = {
        let mut ask = pins(json!([pin(set, 3, shop)]));
        ask["shops"][0]["closed"] = json!([2, 3]);
        ask
    };
    vec![
        ("body.first_day", with("/first_day", json!("1876-01-01"))),
        ("body.first_day", with("/first_day", json!("2026-01-05"))),
        ("body.first_day", with("/first_day", json!("soon"))),
        ("body.periods", with("/periods", json!(0))),
        ("body.periods", with("/periods", json!(129))),
        ("body.period_days", more("period_days", json!(0))),
        ("body.early_days", more("early_days", json!(4000))),
        ("body.late_days", more("late_days", json!(-1))),
        ("body.hours_per_set", more("hours_per_set", json!(0))),
        ("body.hours_per_set", more("hours_per_set", json!("four"))),
        ("body.hours[0].set", more("hours", json!([{ "set": anybody, "hours": 3 }]))),
        (
            "body.hours[1].set",
            more("hours", json!([{ "set": set, "hours": 3 }, { "set": set, "hours": 4 }])),
        ),
        ("body.hours[0].hours", more("hours", json!([{ "set": set, "hours": -3 }]))),
        ("body.shops[0].shop", with("/shops/0/shop", json!(anybody))),
        ("body.shops[0].hours", with("/shops/0/hours", json!(1e9))),
        (
            "body.shops[0].closed[1]",
            more("shops", json!([{ "shop": shop, "hours": 8, "closed": [3, 20] }])),
        ),
        (
            "body.shops[1].shop",
            more("shops", json!([{ "shop": shop, "hours": 8 }, { "shop": shop, "hours": 8 }])),
        ),
        ("body.caps[0].district", more("caps", json!([{ "district": anybody, "most_away": 1 }]))),
        (
            "body.caps[1].district",
            more(
                "caps",
                json!([{ "district": made.id, "most_away": 1 }, { "district": made.id, "most_away": 2 }]),
            ),
        ),
        ("body.caps[0].most_away", more("caps", json!([{ "district": made.id, "most_away": -1 }]))),
        ("body.pins[0].set", pins(json!([pin(anybody, 3, shop)]))),
        ("body.pins[1].set", pins(json!([pin(set, 3, shop), pin(set, 4, shop)]))),
        ("body.pins[0].period", pins(json!([pin(set, 20, shop)]))),
        ("body.pins[0].shop", pins(json!([pin(set, 3, anybody)]))),
        ("body.pins[0].period", closed),
        ("body.zz", more("zz", json!(1))),
    ]
}

on_both!(what_no_plan_can_be_worked_out_from_is_refused_with_its_field, async |world: &World| {
    let made = district(world, "East", 0, &[day("2027-01-06"); 2], &[]).await;
    let crew = world.crew();
    for path in ["/v1/service-plans/due", "/v1/service-plans/work"] {
        for (field, ask) in wrong(world, &made) {
            let reply = crew.post(path, ask).await;
            let asked = reply.asked.clone();
            let problem = reply.refused(422, "field-invalid");
            assert_eq!(problem["field"], field, "{asked}: {problem}");
        }
        crew.ask(reqwest::Method::POST, path, None, &[]).await.refused(400, "body-unreadable");
    }
    let mut nobody = ask(world, 20, 40.0);
    nobody["shops"] = json!([]);
    crew.post("/v1/service-plans/due", nobody.clone()).await.ok();
    assert_eq!(
        crew.post("/v1/service-plans/work", nobody).await.refused(422, "field-invalid")["field"],
        "body.shops"
    );
});

on_both!(a_shop_that_the_plan_does_not_name_takes_no_settled_set, async |world: &World| {
    let made = district(world, "East", 0, &[day("2027-01-06")], &[]).await;
    let other = Uuid::now_v7();
    world.coordinator().post("/v1/shops", json!({ "id": other, "name": "North shop" })).await.ok();
    let mut asked = ask(world, 20, 40.0);
    asked["pins"] = json!([{ "set": made.sets[0].id, "period": 3, "shop": other }]);
    let problem = world.crew().post("/v1/service-plans/due", asked).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.pins[0].shop");
    assert!(problem["detail"].as_str().unwrap().contains("not among the plan's"), "{problem}");
});
