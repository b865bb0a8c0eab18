//! Reserves: families and their spares from the record, and the published sizes.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, acts::rev_of, on_both, on_rig, on_shelf, soon};

fn published() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/published/data/reliability.json");
    serde_json::from_str(&std::fs::read_to_string(path).expect("the published data")).expect("JSON")
}

#[track_caller]
fn close(found: &Value, wanted: f64) {
    let found = found.as_f64().unwrap_or_else(|| panic!("no number: {found}"));
    assert!((found - wanted).abs() < 1e-9, "{found} is not {wanted}");
}

#[track_caller]
fn family(reserves: &Value, key: &str) -> Value {
    let families = reserves["families"].as_array().unwrap();
    let found = families.iter().find(|family| family["key"] == key);
    found.unwrap_or_else(|| panic!("no family {key} in {families:#?}")).clone()
}

const CUTTERS: &str = "cutter, flat-face single, mineral oil";

on_both!(each_family_is_its_own_stock_sized_by_its_own_record, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    world.pass(TimeDelta::days(90));
    officer.take_out(county.set_1.cutter, "leaks").await.ok();
    world.pass(TimeDelta::days(10));
    let rev = rev_of(&officer.piece(county.set_1.cutter).await);
    world.shop().put_back(county.set_1.cutter, rev, "resealed").await.ok();
    world.pass(TimeDelta::days(100));
    // Planned service is no failure, and a failed spare is none of the fleet's.
    let service = json!({ "reason": "annual service", "planned": true });
    officer.post(&format!("/v1/pieces/{}/take-out", county.set_2.cutter), service).await.ok();
    world.pass(TimeDelta::days(5));
    let rev = rev_of(&officer.piece(county.set_2.cutter).await);
    officer.put_back(county.set_2.cutter, rev, "serviced").await.ok();
    world.pass(TimeDelta::days(160));
    let reserves = officer.find("/v1/reserves").await;
    let cutters = family(&reserves, CUTTERS);
    assert_eq!(
        (&cutters["fleet"], &cutters["spares"], &cutters["failures"], &cutters["repairs"]),
        (&json!(2), &json!(1), &json!(1), &json!(1))
    );
    assert_eq!(
        cutters["spare_pieces"],
        json!([{ "piece": county.spare_cutter, "tag": "R-CUT", "place": on_shelf(county.station_2), "ready": true, "why_not": null }])
    );
    // Two cutters for 365 days, less ten and five.
    close(&cutters["piece_years"], 715.0 / 365.0);
    close(&cutters["per_piece_year"], 365.0 / 715.0);
    close(&cutters["days_away"], 10.0);
    let mean: f64 = 2.0 * 10.0 / 715.0;
    close(&cutters["mean_away"], mean);
    close(&cutters["now"]["fill_rate"], (-mean).exp());
    close(&cutters["now"]["ready_rate"], (-mean).exp() * (1.0 + mean));
    assert!(cutters["per_piece_year_lower"].as_f64() < Some(365.0 / 715.0) && cutters["per_piece_year_upper"].as_f64() > Some(365.0 / 715.0));
    // The cutter of the other coupling helps nobody.
    let twin = family(&reserves, "cutter, twin-line, mineral oil");
    assert_eq!((&twin["fleet"], &twin["spares"], &twin["now"]), (&json!(0), &json!(1), &json!(null)));
    let combi = family(&reserves, "combination tool, 28v family");
    assert_eq!(
        (&combi["fleet"], &combi["days_away"], &combi["mean_away"], &combi["per_piece_year_lower"]),
        (&json!(1), &json!(null), &json!(null), &json!(0.0))
    );
    assert!(combi["words"].as_str().unwrap().contains("No failure in 1.0 piece-years: at most"), "{combi}");
    let ids: std::collections::BTreeSet<&str> = reserves["families"]
        .as_array()
        .unwrap()
        .iter()
        .map(|family| family["id"].as_str().unwrap())
        .collect();
    assert_eq!(ids.len(), reserves["families"].as_array().unwrap().len());
    assert_eq!(family(&officer.find("/v1/reserves").await, CUTTERS)["id"], cutters["id"]);
    // Before it happened there was no failure.
    let before = officer.find("/v1/reserves?until=2026-12-31").await;
    assert_eq!((&family(&before, CUTTERS)["failures"], &before["until"]), (&json!(0), &json!("2026-12-31")));
});

on_both!(a_spare_counts_while_it_stands_in_and_not_while_it_is_out_of_service, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let spares = async || family(&coordinator.find("/v1/reserves").await, CUTTERS)["spare_pieces"].clone();
    coordinator.take_out(county.set_1.cutter, "leaks").await.ok();
    coordinator.swap(county.engine_1, county.spare_cutter, "cutter").await.ok();
    let standing_in = spares().await;
    assert_eq!((standing_in.as_array().unwrap().len(), &standing_in[0]["place"]), (1, &on_rig(county.engine_1)));
    coordinator.take_out(county.spare_cutter, "leaks too").await.ok();
    assert_eq!(spares().await, json!([]));
});

on_both!(a_repair_that_still_lasts_counts_and_so_do_slots_that_waited, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let cutters = async || family(&officer.find("/v1/reserves").await, CUTTERS);
    world.pass(TimeDelta::days(90));
    officer.take_out(county.set_1.cutter, "leaks").await.ok();
    world.pass(TimeDelta::days(10));
    let waiting = cutters().await;
    assert_eq!(
        (&waiting["failures"], &waiting["repairs"], &waiting["open_repairs"]),
        (&json!(1), &json!(0), &json!(1))
    );
    // Nothing is sized by a repair that has not ended, and what waits is said.
    assert_eq!(
        (&waiting["days_away"], &waiting["mean_away"], &waiting["now"]),
        (&json!(null), &json!(null), &json!(null))
    );
    close(&waiting["longest_open_days"], 10.0);
    assert_eq!(waiting["waits"], json!({ "count": 1, "longest_days": 10.0, "now": 1 }));
    assert!(
        waiting["words"]
            .as_str()
            .unwrap()
            .contains("One slot waits now. A slot waited once, for 10 days."),
        "{waiting}"
    );
    assert_eq!((&waiting["spares"], &waiting["on_hand"]), (&json!(1), &json!(1)));

    let swap = json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "piece": county.spare_cutter, "slot": "cutter",
        "stands_in_for": county.set_1.cutter, "on_the_way": false });
    officer.post("/v1/swaps", swap).await.ok();
    let standing_in = cutters().await;
    assert_eq!(
        (&standing_in["spares"], &standing_in["on_hand"], &standing_in["waits"]["now"]),
        (&json!(1), &json!(0), &json!(0))
    );
    assert_eq!(standing_in["spare_pieces"][0]["why_not"], "stands in aboard a rig");
    world.pass(TimeDelta::days(5));
    officer.take_out(county.set_2.cutter, "blade chipped").await.ok();
    world.pass(TimeDelta::days(2));
    let rev = rev_of(&officer.piece(county.set_2.cutter).await);
    world.shop().put_back(county.set_2.cutter, rev, "new blade").await.ok();
    let after = cutters().await;
    assert_eq!((&after["repairs"], &after["open_repairs"]), (&json!(1), &json!(1)));
    // Seventeen days so far and two: not the two alone, which would say that all is well.
    close(&after["days_away"], 19.0);
    // 2 x 19 / chi-square(0.05; 2 degrees), and that is -2 ln 0.95.
    close(&after["days_away_upper"], 19.0 / -(0.95_f64.ln()));
    assert_eq!(after["waits"], json!({ "count": 2, "longest_days": 10.0, "now": 0 }));
});

on_both!(a_spare_that_must_not_be_used_is_not_on_hand, async |world: &World| {
    let coordinator = world.coordinator();
    let cutters = async || family(&coordinator.find("/v1/reserves").await, CUTTERS);
    assert_eq!(cutters().await["on_hand"], 1);
    // Its annual service comes due, and the days of grace pass: nobody takes it out, and it cannot go aboard all the same.
    world.pass(TimeDelta::days(800));
    let late = soon("it is judged anew", async || Some(cutters().await).filter(|late| late["on_hand"] == 0)).await;
    assert_eq!(late["spares"], 1, "{late}");
    let judged = soon("the reason stands", async || {
        let words = cutters().await["spare_pieces"][0]["why_not"].as_str().map(str::to_owned);
        words.filter(|words| words != "is being judged")
    });
    assert!(judged.await.contains("annual service"));
});

on_both!(enough_is_said_only_where_the_bounds_reach_the_target_too, async |world: &World| {
    let sized = async |spares: usize, upper: Value| {
        let mut one = json!({ "id": Uuid::now_v7(), "name": "cutters", "fleet": 12, "spares": spares, "price": 100,
            "per_piece_year": 0.5, "days_away": 20.0 });
        one.as_object_mut().unwrap().extend(upper.as_object().unwrap().clone());
        world.crew().post("/v1/reserves/sizing", json!({ "budget": 0, "families": [one] })).await
    };
    let reach = async |spares: usize, upper: Value| sized(spares, upper).await.ok()["families"][0]["reach_ready"].clone();
    let upper = || json!({ "per_piece_year_upper": 2.0, "days_away_upper": 60.0 });
    // 0.33 away on average asks for one spare; 3.95 away on average, where both bounds are true, for seven.
    assert_eq!(reach(0, upper()).await, "too_few");
    assert_eq!(reach(1, upper()).await, "by_the_mean");
    assert_eq!(reach(6, upper()).await, "by_the_mean");
    assert_eq!(reach(7, upper()).await, "enough");
    for unknown in [json!({}), json!({ "per_piece_year_upper": 2.0 }), json!({ "days_away_upper": 60.0 })] {
        assert_eq!(reach(60, unknown).await, "by_the_mean");
    }
    for (wrong, field) in [
        (json!({ "per_piece_year_upper": 0.4 }), "body.families[0].per_piece_year_upper"),
        (json!({ "days_away_upper": 19.0 }), "body.families[0].days_away_upper"),
    ] {
        let refused = sized(1, wrong).await.problem();
        assert_eq!((&refused["code"], &refused["field"]), (&json!("field-invalid"), &json!(field)));
    }
});

on_both!(reserves_are_sized_as_published, async |world: &World| {
    let data = published();
    let cases = data["reserve_sizing"].as_array().unwrap();
    for case in cases {
        let id = Uuid::now_v7();
        let asked = json!({ "id": id, "name": "sets", "fleet": case["sets"], "spares": 0, "price": 100,
            "per_piece_year": case["removals_per_set_year"], "days_away": case["mean_days_out"] });
        let answer = world
            .crew()
            .post(
                "/v1/reserves/sizing",
                json!({ "budget": 250, "target": case["target"], "up_to": 3, "families": [asked] }),
            )
            .await
            .ok();
        let sized = &answer["families"][0];
        close(&sized["mean_away"], case["pipeline_mean"].as_f64().unwrap());
        assert_eq!(
            (&sized["needed_fill"], &sized["needed_ready"]),
            (&case["s_fill_rate"], &case["s_ready_rate"]),
            "{case}"
        );
        assert_eq!((sized["stocks"].as_array().unwrap().len(), sized["finite"].as_array().unwrap().len()), (4, 4));
        close(&sized["stocks"][0]["shortage"], case["pipeline_mean"].as_f64().unwrap());
        let buy = answer["curve"]["buy"].as_array().unwrap();
        assert!(
            buy.len() == 2 && buy.iter().all(|bought| bought["family"] == json!(id)),
            "two for 250: {answer}"
        );
    }
    assert!(!cases.is_empty());
});

on_both!(
    numbers_that_cannot_be_are_refused_with_their_fields_and_nothing_is_written,
    async |world: &World| {
        let crew = world.crew();
        let before = (crew.revision().await, world.journal_length());
        let good =
            json!({ "id": Uuid::now_v7(), "name": "cutters", "fleet": 12, "spares": 1, "per_piece_year": 0.5, "days_away": 20, "price": 9000, "weight": 1 });
        let asked = json!({ "budget": 20000, "target": 0.95, "up_to": 12, "families": [good] });
        crew.post("/v1/reserves/sizing", asked.clone()).await.ok();
        for (pointer, value, field) in [
            ("/budget", json!(-1), "body.budget"),
            ("/target", json!(1), "body.target"),
            ("/target", json!(0), "body.target"),
            ("/up_to", json!(61), "body.up_to"),
            ("/up_to", json!(-1), "body.up_to"),
            ("/families/0/fleet", json!(2001), "body.families[0].fleet"),
            ("/families/0/fleet", json!(-1), "body.families[0].fleet"),
            ("/families/0/spares", json!(1001), "body.families[0].spares"),
            ("/families/0/per_piece_year", json!(-0.1), "body.families[0].per_piece_year"),
            ("/families/0/days_away", json!(5000), "body.families[0].days_away"),
            ("/families/0/price", json!(0), "body.families[0].price"),
            ("/families/0/price", json!("much"), "body.families[0].price"),
            ("/families/0/weight", json!(-1), "body.families[0].weight"),
            ("/families/0/name", json!(" "), "body.families[0].name"),
            ("/families/0/per_piece_year", json!(1000), "body.families[0].per_piece_year"),
        ] {
            let mut wrong = asked.clone();
            *wrong.pointer_mut(pointer).unwrap() = value;
            let problem = crew.post("/v1/reserves/sizing", wrong).await.refused(422, "field-invalid");
            assert_eq!(problem["field"], field, "{problem}");
        }
        let mut wrong = asked.clone();
        wrong["families"] = json!([asked["families"][0], asked["families"][0]]);
        wrong["budget"] = json!(-1);
        let problem = crew.post("/v1/reserves/sizing", wrong).await.refused(422, "field-invalid");
        let fields: Vec<&str> = problem["errors"]
            .as_array()
            .unwrap()
            .iter()
            .map(|fault| fault["field"].as_str().unwrap())
            .collect();
        assert_eq!(fields, ["body.budget", "body.families[1].id"]);
        crew.post("/v1/reserves/sizing", json!({ "budget": 1 })).await.refused(422, "field-invalid");
        crew.get("/v1/reserves?until=2027-01-01").await.refused(400, "query-invalid");
        assert_eq!((crew.revision().await, world.journal_length()), before);
    }
);
