//! Service plans: which sets are due, one period for each, and no district stripped. The plans are looked at from outside, by what is
//! answered; how good they are is held to outside values in calc.

mod kept;
mod levelling;
mod refused;
mod stand_ins;
mod stream;
mod year;

use chrono::{Days, NaiveDate};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, command, county::piece, on_both, on_rig, on_shelf};
use year::{District, ask, day, district, due, of, sound, tool, work};

on_both!(a_set_is_due_when_the_first_of_its_pieces_is, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let set = Uuid::now_v7();
    let pieces = [county.set_1.cutter, county.set_1.ram, county.set_1.hose];
    let make = json!({ "id": set, "name": "Set of Engine 1", "home": on_rig(county.engine_1), "pieces": pieces });
    coordinator.post("/v1/tool-sets", make).await.ok();
    let edited = json!({ "last_service_on": "2026-03-02" });
    coordinator.edit(&format!("/v1/pieces/{}", county.set_1.ram), edited).await.ok();
    let found = due(&world.crew(), &ask(world, 52, 40.0)).await;
    let line = of(&found["sets"], "set", set);
    assert_eq!(line["due_on"], "2027-03-02", "a year after the ram's last service");
    assert_eq!(
        (&line["district"], &line["home_words"], &line["pieces"], &line["hours"], &line["overdue"]),
        (&json!(county.north), &json!("Engine 1, Station 1"), &json!(3), &json!(4.0), &json!(false))
    );
    // 2 March 2027 is a Tuesday in the thirteenth week; 28 days before and after are Tuesdays too.
    assert_eq!((&line["earliest"], &line["due_period"], &line["latest"]), (&json!(8), &json!(12), &json!(16)));
    assert_eq!(found["periods"][12]["first_day"], "2027-03-01");
    assert_eq!(found["periods"][12]["last_day"], "2027-03-07");
    assert!(line["words"].as_str().unwrap().contains("E1-RAM"), "{line}");
    let north = of(&found["districts"], "id", county.north);
    assert_eq!(
        (&north["full"], &north["minimum"], &north["stand_ins"], &north["most_away"]),
        (&json!(2), &json!(2), &json!(0), &json!(0))
    );
    coordinator.retire(county.set_1.ram, "bent for good").await.ok();
    let found = due(&world.crew(), &ask(world, 52, 40.0)).await;
    assert_eq!(of(&found["sets"], "set", set)["due_on"], "2027-06-01", "a retired piece is due no more");
    assert_eq!(of(&found["sets"], "set", set)["pieces"], 2);
});

on_both!(an_overdue_set_is_due_at_once_and_late_from_then_on, async |world: &World| {
    let made = district(world, "East", 0, &[day("2026-02-01"), day("2026-12-03")], &[]).await;
    let found = due(&world.crew(), &ask(world, 20, 40.0)).await;
    for set in &made.sets {
        let line = of(&found["sets"], "set", set.id);
        assert_eq!(
            (&line["overdue"], &line["earliest"], &line["due_period"], &line["latest"]),
            (&json!(true), &json!(0), &json!(0), &json!(4)),
            "28 days after the plan's first day"
        );
    }
    world.clock.set("2026-12-23T12:00:00Z".parse().unwrap());
    let found = due(&world.crew(), &ask(world, 20, 40.0)).await;
    let line = of(&found["sets"], "set", made.sets[0].id);
    assert_eq!(
        (&line["earliest"], &line["due_period"], &line["latest"]),
        (&json!(2), &json!(2), &json!(6)),
        "nothing is served in a week that is over"
    );
});

on_both!(what_is_not_planned_is_named_with_the_reason, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let later = district(world, "East", 0, &[day("2027-11-01"), day("2027-11-08")], &[]).await;
    let [dateless, half, chains] = [Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7()];
    let mut all = Vec::new();
    let mut undated = |tag: &str| {
        let id = Uuid::now_v7();
        let mut add = piece(id, tag, county.models.cutter, on_shelf(county.station_1));
        for field in ["in_service_since", "last_service_on"] {
            add["body"].as_object_mut().unwrap().remove(field);
        }
        all.push(add);
        id
    };
    let (first, second, _loose) = (undated("U-1"), undated("U-2"), undated("U-3"));
    let (dated, chain_model, chain) = (Uuid::now_v7(), Uuid::now_v7(), Uuid::now_v7());
    all.push(tool(world, dated, "K-1", on_shelf(county.station_1), day("2027-01-04")));
    let model = json!({ "id": chain_model, "name": "Chain set", "kind": "accessory", "gear": "chains", "hookup": {}, "ratings": {} });
    all.push(command("model.add", model));
    all.push(piece(chain, "CH-1", chain_model, on_shelf(county.station_1)));
    for (id, name, pieces) in [
        (dateless, "Undated", vec![first]),
        (half, "Half dated", vec![second, dated]),
        (chains, "Chains", vec![chain]),
    ] {
        all.push(command("tool_set.add", json!({ "id": id, "name": name, "pieces": pieces })));
    }
    coordinator.apply(all).await;
    let found = due(&world.crew(), &ask(world, 20, 40.0)).await;
    let words = |id: Uuid| of(&found["left_out"], "set", id)["words"].as_str().unwrap().to_owned();
    assert!(words(dateless).contains("Nobody knows when 1 of its pieces (U-1) is due"), "{found}");
    assert!(words(half).contains("U-2") && words(half).contains("planned by its other pieces"), "{found}");
    assert_eq!(of(&found["sets"], "set", half)["due_on"], "2027-01-04");
    assert_eq!(words(chains), "None of its pieces has an annual service.");
    let counted: Vec<(&str, &str)> = found["left_out"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|line| line["set"].is_null())
        .map(|line| (line["name"].as_str().unwrap(), line["words"].as_str().unwrap()))
        .collect();
    assert_eq!(counted[0].0, "2 sets", "those of the East: {counted:?}");
    assert!(counted[0].1.contains("after the plan's end"), "{counted:?}");
    // Of the ground: twelve of the engines' sets, the truck's tool, two cutters and a hose in reserve; and U-3.
    assert_eq!(counted[1].0, "17 pieces", "{counted:?}");
    assert!(counted[1].1.contains("Of 1 piece among them nobody knows"), "{counted:?}");
    let planned: Vec<&Value> = found["sets"].as_array().unwrap().iter().map(|line| &line["set"]).collect();
    assert_eq!(planned, [&json!(half)], "{}", later.sets.len());
});

/// Days spread over a year, the same for the same seed.
fn spread(seed: u64, n: usize) -> Vec<NaiveDate> {
    let mut state = seed.wrapping_mul(2).wrapping_add(1);
    (0..n)
        .map(|_| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            day("2026-12-07") + Days::new((state >> 33) % 350)
        })
        .collect()
}

async fn county_year(world: &World) -> Vec<District> {
    vec![
        district(world, "East", 9, &spread(1, 10), &spread(2, 1)).await,
        district(world, "West", 11, &spread(3, 12), &[]).await,
        // Two can be spared only because two sets stand in.
        district(world, "Hills", 8, &spread(4, 8), &spread(5, 2)).await,
        // Nothing is left to chance: all due in the same fortnight.
        district(world, "Lake", 4, &[day("2027-05-03"); 6], &[]).await,
    ]
}

on_both!(a_county_year_keeps_every_district_at_its_minimum_in_each_week, async |world: &World| {
    let districts = county_year(world).await;
    let answer = work(&world.crew(), &ask(world, 52, 12.0)).await;
    sound(&answer, &districts);
    assert_eq!(answer["visits"].as_array().unwrap().len(), 39);
    assert_eq!(answer["plan"]["lateness"], 0, "{}", answer["plan"]["words"]);
    let hills = of(&answer["districts"], "id", districts[2].id);
    assert_eq!((&hills["stand_ins"], &hills["most_away"]), (&json!(2), &json!(2)));
    for set in &districts[2].sets {
        assert_eq!(
            of(&answer["sets"], "set", set.id)["takes_place"],
            true,
            "a stand-in that is away stands in nowhere"
        );
    }
});

on_both!(a_stand_in_that_is_out_of_service_counts_for_nothing, async |world: &World| {
    let made = district(world, "East", 2, &[day("2027-01-04"), day("2027-01-04")], &[day("2027-01-04")]).await;
    let stand_ins = |found: &Value| of(&found["districts"], "id", made.id)["stand_ins"].clone();
    assert_eq!(stand_ins(&due(&world.crew(), &ask(world, 20, 40.0)).await), 1);
    world.officer().take_out(made.sets[2].tool, "stiff").await.ok();
    let found = due(&world.crew(), &ask(world, 20, 40.0)).await;
    assert_eq!(stand_ins(&found), 0);
    let reserve = of(&found["sets"], "set", made.sets[2].id);
    assert_eq!(reserve["takes_place"], false, "it may go at any time: {reserve}");
});

on_both!(
    an_impossible_year_names_district_and_weeks_and_what_would_make_it_possible,
    async |world: &World| {
        // One of five can be spared; all five are due in the week of 4 January, and no window is longer than three weeks.
        let made = district(world, "East", 4, &[day("2027-01-06"); 5], &[]).await;
        let mut asked = ask(world, 20, 40.0);
        asked["early_days"] = json!(7);
        asked["late_days"] = json!(7);
        let answer = work(&world.crew(), &asked).await;
        let plan = &answer["plan"];
        let left = plan["unplanned"].as_array().unwrap().len();
        assert_eq!((&plan["verdict"], left), (&json!("partly"), 2), "three weeks hold three of the five");
        assert_eq!(answer["visits"].as_array().unwrap().len(), 3);
        let obstacle = &plan["obstacles"][0];
        assert_eq!(
            (&obstacle["kind"], &obstacle["districts"], &obstacle["periods"]),
            (&json!("slots_short"), &json!([made.id]), &json!([3, 4, 5]))
        );
        let words = obstacle["words"].as_str().unwrap();
        for named in ["East", "the week of 2026-12-28", "the week of 2027-01-11", "East set 4"] {
            assert!(words.contains(named), "{named}: {words}");
        }
        let reliefs = plan["reliefs"].as_array().unwrap();
        let more: f64 = reliefs.iter().map(|relief| relief["more"].as_f64().unwrap()).fold(0.0, f64::max);
        assert!(
            !reliefs.is_empty() && reliefs.iter().all(|relief| relief["district"] == json!(made.id)),
            "{reliefs:?}"
        );
        assert!((more - 1.0).abs() < 1e-9, "one more in each of two weeks does, so a limit of 2: {reliefs:?}");
        assert!(reliefs[0]["words"].as_str().unwrap().contains("for East in the week of"), "{reliefs:?}");
        asked["caps"] = json!([{ "district": made.id, "most_away": 1.0 + more }]);
        asked["caps"][0]["most_away"] = json!(asked["caps"][0]["most_away"].as_f64().unwrap() as u32);
        let eased = work(&world.crew(), &asked).await;
        assert_eq!(eased["plan"]["verdict"], "planned", "{}", eased["plan"]["words"]);
        assert_eq!(eased["visits"].as_array().unwrap().len(), 5);
    }
);

on_both!(
    a_shop_with_too_few_hours_is_named_and_the_hours_it_lacks_make_it_possible,
    async |world: &World| {
        district(world, "East", 0, &[day("2027-01-06"); 6], &[]).await;
        let mut asked = ask(world, 20, 4.0);
        asked["early_days"] = json!(7);
        asked["late_days"] = json!(7);
        let answer = work(&world.crew(), &asked).await;
        assert_eq!(answer["plan"]["verdict"], "impossible");
        let obstacle = &answer["plan"]["obstacles"][0];
        assert_eq!(
            (&obstacle["kind"], &obstacle["needs"], &obstacle["has"]),
            (&json!("hours_short"), &json!(24.0), &json!(12.0))
        );
        assert!(obstacle["words"].as_str().unwrap().contains("Fleet shop"), "{obstacle}");
        let reliefs = answer["plan"]["reliefs"].as_array().unwrap();
        let more = reliefs.iter().map(|relief| relief["more"].as_f64().unwrap()).fold(0.0, f64::max);
        asked["shops"][0]["hours"] = json!(4.0 + more);
        assert_eq!(work(&world.crew(), &asked).await["plan"]["verdict"], "planned");
    }
);

on_both!(what_is_settled_stays_where_it_is_when_the_year_is_planned_anew, async |world: &World| {
    let districts = county_year(world).await;
    let mut asked = ask(world, 52, 12.0);
    let first = work(&world.crew(), &asked).await;
    let [kept, moved] = [&first["visits"][7], &first["visits"][20]];
    let shop = world.county().shop;
    asked["pins"] = json!([
        { "set": kept["set"], "period": kept["period"], "shop": shop },
        { "set": moved["set"], "period": 51, "shop": shop },
    ]);
    let again = work(&world.crew(), &asked).await;
    sound(&again, &districts);
    for (visit, period) in [(kept, &kept["period"]), (moved, &json!(51))] {
        let id: Uuid = visit["set"].as_str().unwrap().parse().unwrap();
        let now = of(&again["visits"], "set", id);
        assert_eq!((&now["period"], &now["pinned"]), (period, &json!(true)));
    }
    let id: Uuid = moved["set"].as_str().unwrap().parse().unwrap();
    let words = of(&again["sets"], "set", id)["words"].as_str().unwrap();
    assert!(words.contains("settled outside of its window"), "{words}");
    assert!(again["plan"]["lateness"].as_i64().unwrap() > 0, "it is late there");
});

/// The least lateness and then the least peak of a year, by trying every plan there is.
fn by_trying_all(found: &Value) -> Option<(i64, f64)> {
    let number = |value: &Value| usize::try_from(value.as_i64().unwrap()).unwrap();
    let (sets, shops) = (found["sets"].as_array().unwrap(), found["shops"].as_array().unwrap());
    let spares = |set: &Value| {
        let district = found["districts"].as_array().unwrap().iter().find(|line| line["id"] == set["district"]);
        number(&district.unwrap()["most_away"])
    };
    fn next(at: usize, places: &mut Vec<(usize, usize)>, options: &[Vec<(usize, usize)>], seen: &mut impl FnMut(&[(usize, usize)])) {
        if at == options.len() {
            return seen(places);
        }
        for place in &options[at] {
            places.push(*place);
            next(at + 1, places, options, seen);
            places.pop();
        }
    }
    let window = |set: &Value| {
        let periods = number(&set["earliest"])..=number(&set["latest"]);
        periods.flat_map(|period| (0..shops.len()).map(move |shop| (period, shop))).collect()
    };
    let options: Vec<Vec<(usize, usize)>> = sets.iter().map(window).collect();
    let mut best: Option<(i64, f64)> = None;
    next(0, &mut Vec::new(), &options, &mut |places| {
        let (mut late, mut peak) = (0, 0.0_f64);
        for (set, (period, shop)) in sets.iter().zip(places) {
            let both = || sets.iter().zip(places);
            let away = both().filter(|(other, place)| other["district"] == set["district"] && place.0 == *period);
            if away.count() > spares(set) {
                return;
            }
            let there = both().filter(|(_, place)| **place == (*period, *shop));
            let load: f64 = there.map(|(other, _)| other["hours"].as_f64().unwrap()).sum();
            if load > shops[*shop]["hours"][*period].as_f64().unwrap() {
                return;
            }
            late += i64::try_from(period.saturating_sub(number(&set["due_period"]))).unwrap();
            peak = peak.max(load);
        }
        if best.is_none_or(|(known, load)| (late, peak) < (known, load)) {
            best = Some((late, peak));
        }
    });
    best
}

on_both!(no_plan_of_a_small_year_is_better_than_the_one_that_is_answered, async |world: &World| {
    let east = district(world, "East", 1, &[day("2026-12-08"), day("2026-12-09"), day("2026-12-16")], &[]).await;
    let west = district(world, "West", 1, &[day("2026-12-08"), day("2026-12-10")], &[]).await;
    let second = Uuid::now_v7();
    world.coordinator().post("/v1/shops", json!({ "id": second, "name": "North shop" })).await.ok();
    let mut asked = ask(world, 4, 9.0);
    asked["early_days"] = json!(7);
    asked["late_days"] = json!(14);
    asked["shops"][0]["closed"] = json!([1]);
    asked["shops"].as_array_mut().unwrap().push(json!({ "shop": second, "hours": 7 }));
    asked["hours"] = json!([
        { "set": east.sets[0].id, "hours": 7 }, { "set": east.sets[1].id, "hours": 5 }, { "set": west.sets[0].id, "hours": 6 },
    ]);
    let answer = work(&world.crew(), &asked).await;
    let (late, peak) = by_trying_all(&answer).expect("there is a plan");
    let plan = &answer["plan"];
    assert_eq!(
        (plan["lateness"].as_i64(), plan["peak_hours"].as_f64(), &plan["proved"]),
        (Some(late), Some(peak), &json!(true))
    );
    assert!(late > 0, "the districts' limits cost something: {}", plan["words"]);
    sound(&answer, &[east, west]);
});

on_both!(a_set_of_a_rig_that_is_not_full_may_go_at_any_time, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let [light, engine] = [Uuid::now_v7(), Uuid::now_v7()];
    let make = |id: Uuid, name: &str, rig: Uuid, pieces: Vec<Uuid>| json!({ "id": id, "name": name, "home": on_rig(rig), "pieces": pieces });
    coordinator
        .post("/v1/tool-sets", make(light, "Light set", county.truck_3, vec![county.combi_3]))
        .await
        .ok();
    let pieces = vec![county.set_1.cutter, county.set_1.ram];
    coordinator
        .post("/v1/tool-sets", make(engine, "Engine set", county.engine_1, pieces))
        .await
        .ok();
    let found = due(&world.crew(), &ask(world, 52, 40.0)).await;
    // The south has no full rig and can spare none; its light truck is limited with its set or none without it.
    assert_eq!(of(&found["districts"], "id", county.south)["most_away"], 0);
    let line = of(&found["sets"], "set", light);
    assert_eq!(line["takes_place"], false);
    assert!(line["words"].as_str().unwrap().contains("Its rig is not full now"), "{line}");
    assert_eq!(of(&found["sets"], "set", engine)["takes_place"], true);
    let answer = work(&world.crew(), &ask(world, 52, 40.0)).await;
    assert_eq!(
        answer["plan"]["verdict"], "partly",
        "the north wants both of its full engines, and holds up nobody else"
    );
    assert!(!answer["plan"]["obstacles"].to_string().contains("Light set"), "{answer}");
    // A full engine in reserve is no full rig of the north.
    let north = |found: &Value| of(&found["districts"], "id", county.north)["full"].clone();
    assert_eq!(north(&found), 2);
    coordinator
        .edit(
            &format!("/v1/rigs/{}", county.engine_2),
            json!({ "duty": "ready_reserve", "reason": "no crew" }),
        )
        .await
        .ok();
    assert_eq!(north(&due(&world.crew(), &ask(world, 52, 40.0)).await), 1);
});
