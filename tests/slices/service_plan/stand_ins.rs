//! Which reserve sets count, and limits of single weeks.

use serde_json::{Value, json};
use uuid::Uuid;

use super::year::{ask, day, district, due, of, sound, work};
use crate::world::{World, command, county::piece, on_both, on_shelf};

fn visit_of(answer: &Value, set: Uuid) -> &Value {
    of(&answer["visits"], "set", set)
}

on_both!(a_reserve_set_that_restores_no_rig_of_its_district_sends_no_rig_away, async |world: &World| {
    // The only full rig, which the district cannot spare; on its shelf an old hose of hydraulics, where the rig has battery tools.
    let made = district(world, "East", 1, &[day("2027-01-06")], &[]).await;
    let station = made.station;
    let (hose, old) = (Uuid::now_v7(), Uuid::now_v7());
    let mut add = piece(hose, "OLD-HOSE", world.county().models.hose, on_shelf(station));
    add["body"]["made_on"] = json!("2001-05-01");
    let set = command(
        "tool_set.add",
        json!({ "id": old, "name": "Old set", "home": on_shelf(station), "pieces": [hose] }),
    );
    world.coordinator().apply(vec![add, set]).await;
    let asked = ask(world, 20, 40.0);
    let found = due(&world.crew(), &asked).await;
    let east = of(&found["districts"], "id", made.id);
    assert_eq!((&east["stand_ins"], &east["most_away"]), (&json!(0), &json!(0)), "{east}");
    let reserve = of(&east["reserves"], "set", old);
    assert_eq!(reserve["for_sets"], json!([]), "{reserve}");
    assert!(reserve["words"].as_str().unwrap().contains("counts for nothing"), "{reserve}");
    let answer = work(&world.crew(), &asked).await;
    assert_ne!(answer["plan"]["verdict"], "planned", "{}", answer["plan"]["words"]);
    assert!(answer["visits"].as_array().unwrap().iter().all(|visit| visit["set"] != json!(made.sets[0].id)));
});

on_both!(the_plan_says_which_reserve_set_stands_in, async |world: &World| {
    let made = district(world, "East", 1, &[day("2027-01-06")], &[day("2027-01-06")]).await;
    let answer = work(&world.crew(), &ask(world, 20, 40.0)).await;
    let [own, reserve] = [&made.sets[0], &made.sets[1]].map(|set| visit_of(&answer, set.id));
    assert_eq!(own["stand_in"], json!(made.sets[1].id), "{answer}");
    assert_eq!(reserve["stand_in"], Value::Null);
    assert_ne!(own["period"], reserve["period"], "what is away stands in nowhere");
    sound(&answer, &[made]);
});

on_both!(one_impossible_district_holds_up_no_other, async |world: &World| {
    let stuck = district(world, "East", 1, &[day("2027-01-06")], &[]).await;
    let free = district(world, "West", 1, &[day("2027-01-06"), day("2027-01-06")], &[]).await;
    let answer = work(&world.crew(), &ask(world, 20, 40.0)).await;
    assert_eq!(answer["plan"]["verdict"], "partly", "{answer}");
    assert_eq!(answer["plan"]["unplanned"], json!([stuck.sets[0].id]));
    assert_eq!(answer["visits"].as_array().unwrap().len(), 2);
    assert_ne!(visit_of(&answer, free.sets[0].id)["period"], visit_of(&answer, free.sets[1].id)["period"]);
});

on_both!(limits_of_single_weeks_hold, async |world: &World| {
    let made = district(world, "East", 0, &[day("2027-01-06"); 2], &[]).await;
    let mut asked = ask(world, 20, 40.0);
    (asked["early_days"], asked["late_days"]) = (json!(7), json!(7));
    // The window is of the weeks 3 to 5: nobody away in 3, no hours in 4.
    asked["caps"] = json!([{ "district": made.id, "periods": [{ "period": 3, "most_away": 0 }] }]);
    asked["shops"][0]["periods"] = json!([{ "period": 4, "hours": 0 }, { "period": 5, "hours": 8 }]);
    let answer = work(&world.crew(), &asked).await;
    let periods: Vec<&Value> = made.sets.iter().map(|set| &visit_of(&answer, set.id)["period"]).collect();
    assert_eq!(periods, [&json!(5), &json!(5)], "{}", answer["plan"]["words"]);
    let east = of(&answer["districts"], "id", made.id);
    assert_eq!((&east["by_period"][2], &east["by_period"][3]), (&json!(2), &json!(0)));
    asked["shops"][0]["periods"][1]["hours"] = json!(4);
    assert_eq!(work(&world.crew(), &asked).await["plan"]["verdict"], "impossible");
    for (field, part) in [
        (
            "body.shops[0].periods[1].period",
            json!({ "shops": [{ "shop": world.county().shop, "hours": 8, "periods": [{ "period": 4, "hours": 1 }, { "period": 4, "hours": 2 }] }] }),
        ),
        (
            "body.shops[0].periods[0].period",
            json!({ "shops": [{ "shop": world.county().shop, "hours": 8, "periods": [{ "period": 20, "hours": 1 }] }] }),
        ),
        (
            "body.caps[0].periods[0].period",
            json!({ "caps": [{ "district": made.id, "periods": [{ "period": 20, "most_away": 1 }] }] }),
        ),
        ("body.hours[0].early_days", json!({ "hours": [{ "set": made.sets[0].id, "early_days": 4000 }] })),
    ] {
        let mut wrong = ask(world, 20, 40.0);
        for (name, value) in part.as_object().unwrap() {
            wrong[name.as_str()] = value.clone();
        }
        let refused = world.crew().post("/v1/service-plans/due", wrong).await;
        assert_eq!(refused.refused(422, "field-invalid")["field"], field);
    }
});
