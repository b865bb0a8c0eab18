//! Availability: shares of each month at each level, and the intervals behind them.

use chrono::{DateTime, TimeDelta, TimeZone as _, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, acts::rev_of, in_shop, on_both, on_shelf};

pub fn at(month: u32, day: u32, hour: u32) -> DateTime<Utc> {
    let year = if month < 11 { 2027 } else { 2026 };
    Utc.with_ymd_and_hms(year, month, day, hour, 0, 0).unwrap()
}

pub async fn back(client: &Client, piece: Uuid) {
    let rev = rev_of(&client.piece(piece).await);
    client.put_back(piece, rev, "back").await.ok();
}

pub async fn out_for_service(client: &Client, path: String) -> Value {
    client
        .post(&format!("{path}/take-out"), json!({ "reason": "annual service", "planned": true }))
        .await
        .record()
}

/// The one row of an answer.
async fn row(client: &Client, query: &str) -> Value {
    let answer = client.find(&format!("/v1/availability?{query}")).await;
    assert_eq!(answer["rows"].as_array().map(Vec::len), Some(1), "{answer}");
    answer["rows"][0].clone()
}

#[track_caller]
fn hours(shares: &Value, level: &str) -> i64 {
    let known = shares["known_seconds"].as_i64().unwrap();
    let share = shares[level].as_f64().unwrap_or_else(|| panic!("no share of {level} in {shares}"));
    (share * known as f64 / 3600.0).round() as i64
}

async fn first_known(client: &Client, rig: Uuid) -> DateTime<Utc> {
    let standing = client.find(&format!("/v1/rigs/{rig}/standing")).await;
    standing["items"].as_array().unwrap().last().unwrap()["from"].as_str().unwrap().parse().unwrap()
}

on_both!(shares_of_a_month_are_the_hours_at_each_level_over_the_known_hours, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let known_from = first_known(&officer, county.engine_1).await;
    world.clock.set(at(11, 26, 0));
    officer.take_out(county.set_1.ram, "bent").await.ok();
    world.clock.set(at(11, 27, 6));
    officer.take_out(county.set_1.pump, "does not start").await.ok();
    world.clock.set(at(11, 27, 16));
    back(&world.shop(), county.set_1.pump).await;
    // Over the end of the month, which is at midnight in Denver.
    world.clock.set(at(12, 1, 9));
    back(&world.shop(), county.set_1.ram).await;
    world.clock.set(at(12, 2, 7));
    let row = row(&officer, &format!("by=rig&of={}&from=2026-10&until=2026-12", county.engine_1)).await;
    assert_eq!(row["name"], "Engine 1");
    let months = row["months"].as_array().unwrap();
    assert_eq!(
        (&months[0]["known_seconds"], &months[0]["full"]),
        (&json!(0), &json!(null)),
        "October is not known"
    );
    assert_eq!(months[0]["seconds"], 744 * 3600);
    let known = (at(12, 1, 7) - known_from).num_seconds();
    assert_eq!((months[1]["known_seconds"].as_i64(), &months[1]["seconds"]), (Some(known), &json!(721 * 3600)));
    let november = &months[1];
    // From the 26th at 0 to the 1st at 7: 127 hours below full, 10 of them at none.
    assert_eq!((hours(november, "limited"), hours(november, "none"), hours(november, "planned")), (117, 10, 0));
    assert_eq!(hours(november, "full"), (known as f64 / 3600.0).round() as i64 - 127);
    let december = &months[2];
    assert_eq!(december["seconds"], 24 * 3600, "up to now");
    assert_eq!((hours(december, "limited"), hours(december, "full")), (2, 22));
    assert_eq!((hours(&row["total"], "limited"), hours(&row["total"], "none")), (119, 10));
});

on_both!(the_agency_and_a_district_add_their_rigs_up, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    world.clock.set(at(12, 10, 7));
    officer.take_out(county.combi_3, "stiff").await.ok();
    world.clock.set(at(12, 11, 7));
    let answer = officer.find("/v1/availability?by=district&from=2026-12").await;
    assert_eq!((&answer["months"], &answer["time_zone"]), (&json!(["2026-12"]), &json!("America/Denver")));
    let names: Vec<&str> = answer["rows"].as_array().unwrap().iter().map(|row| row["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["North", "South"]);
    let (north, south) = (&answer["rows"][0]["total"], &answer["rows"][1]["total"]);
    assert_eq!((&north["seconds"], &south["seconds"]), (&json!(2 * 240 * 3600), &json!(240 * 3600)));
    // The light truck is limited, as its class asks: it is in no hour at full.
    assert_eq!(
        (hours(south, "none"), hours(south, "limited"), &south["limited"], &south["full"]),
        (24, 216, &json!(0.9), &json!(0.0))
    );
    // Engine 2 lost its second hose at the month's begin, by age.
    assert_eq!((hours(north, "full"), hours(north, "limited"), &north["full"]), (240, 240, &json!(0.5)));
    let agency = row(&officer, "from=2026-12").await;
    assert_eq!(
        (&agency["id"], &agency["total"]["seconds"]),
        (&json!(world.agency().id), &json!(3 * 240 * 3600))
    );
    assert_eq!(hours(&agency["total"], "none"), 24);
    let rigs = officer.find(&format!("/v1/availability?by=rig&district={}&from=2026-12", county.north)).await;
    let names: Vec<&str> = rigs["rows"].as_array().unwrap().iter().map(|row| row["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["Engine 1", "Engine 2"]);
    let theirs = world.member_of(&world.ground.vale, "crew").find("/v1/availability?from=2026-12").await;
    assert_eq!(hours(&theirs["rows"][0]["total"], "none"), 0, "another agency's figures are its own");
});

on_both!(a_month_in_which_the_clocks_change_is_counted_by_the_hours_it_has, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    world.clock.set(at(3, 14, 6)); // 23:00 on the 13th in Denver.
    officer.take_out(county.combi_3, "stiff").await.ok();
    world.clock.set(at(3, 15, 5)); // 23:00 on the 14th, a day of 23 hours.
    back(&world.coordinator(), county.combi_3).await;
    world.clock.set(at(4, 2, 0));
    let march = row(&officer, &format!("by=rig&of={}&from=2027-03&until=2027-03", county.truck_3)).await["months"][0].clone();
    assert_eq!((&march["known_seconds"], &march["seconds"]), (&json!(743 * 3600), &json!(743 * 3600)));
    assert_eq!((hours(&march, "none"), hours(&march, "limited"), hours(&march, "full")), (23, 720, 0));
});

on_both!(
    a_rig_that_changes_district_in_mid_month_counts_in_each_for_its_time_there,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        world.clock.set(at(12, 11, 7));
        coordinator
            .edit(&format!("/v1/rigs/{}", county.truck_3), json!({ "station": county.station_1 }))
            .await
            .ok();
        world.clock.set(at(12, 13, 7));
        coordinator.take_out(county.combi_3, "stiff").await.ok();
        world.clock.set(at(12, 21, 7));
        let answer = coordinator.find("/v1/availability?by=district&from=2026-12").await;
        let (north, south) = (&answer["rows"][0]["total"], &answer["rows"][1]["total"]);
        // Ten days in the south, all limited; ten in the north, two of them limited. Two engines stood in the north all the time.
        assert_eq!((&south["known_seconds"], &south["seconds"]), (&json!(240 * 3600), &json!(240 * 3600)));
        assert_eq!(hours(south, "limited"), 240);
        assert_eq!(north["known_seconds"], (2 * 480 + 240) * 3600);
        assert_eq!(north["seconds"], (2 * 480 + 240) * 3600, "the time it stood elsewhere is not missing");
        // Engine 2 is limited all the time: it lost its second hose at the month's begin, by age.
        assert_eq!((hours(north, "none"), hours(north, "limited"), hours(north, "full")), (192, 48 + 480, 480));
        let there = row(&coordinator, &format!("by=rig&of={}&district={}&from=2026-12", county.truck_3, county.south)).await;
        assert_eq!(hours(&there["total"], "limited"), 240);
    }
);

on_both!(planned_service_is_told_apart_until_something_else_is_found, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let rig = format!("/v1/rigs/{}", county.engine_1);
    let known_from = first_known(&officer, county.engine_1).await;
    world.clock.set(at(11, 26, 0));
    let piece = out_for_service(&crew, format!("/v1/pieces/{}", county.set_1.cutter)).await;
    assert_eq!(piece["planned"], true);
    let level = crew.capability(county.engine_1).await;
    assert_eq!((&level["level"], &level["planned"]), (&json!("limited"), &json!(true)));
    world.clock.set(at(11, 26, 10));
    // A second piece, which failed: with the cutter back the rig would not be full.
    crew.take_out(county.set_1.ram, "bent").await.ok();
    world.clock.set(at(11, 26, 15));
    back(&world.coordinator(), county.set_1.ram).await;
    world.clock.set(at(11, 26, 20));
    crew.report(county.set_1.cutter, "blade cracked", "out_of_service").await.ok();
    assert_eq!(crew.piece(county.set_1.cutter).await["planned"], false);
    world.clock.set(at(11, 27, 0));
    let level = crew.capability(county.engine_1).await;
    assert_eq!(
        (&level["planned"], &level["since"]),
        (&json!(false), &json!("2026-11-26T00:00:00.000000Z")),
        "the level is as old as it was"
    );
    let standing = crew.find(&format!("{rig}/standing?from=2026-11-25T23:59:59Z")).await;
    let items = standing["items"].as_array().unwrap();
    let told: Vec<(&str, &str, bool)> = items
        .iter()
        .map(|item| {
            (
                item["from"].as_str().unwrap(),
                item["level"].as_str().unwrap(),
                item["planned"].as_bool().unwrap(),
            )
        })
        .collect();
    assert_eq!(
        told[..4],
        [
            ("2026-11-26T20:00:00.000000Z", "limited", false),
            ("2026-11-26T15:00:00.000000Z", "limited", true),
            ("2026-11-26T10:00:00.000000Z", "limited", false),
            ("2026-11-26T00:00:00.000000Z", "limited", true),
        ]
    );
    assert_eq!((items.len(), &items[4]["level"], &items[0]["until"]), (5, &json!("full"), &json!(null)));
    assert_eq!((&items[0]["kind"], &items[0]["by"]), (&json!("defect.report"), &crew.person.told()));
    assert!(items[0]["words"].as_str().unwrap().ends_with("“blade cracked”"), "{}", items[0]);
    let total = row(&crew, &format!("by=rig&of={}&from=2026-11", county.engine_1)).await["total"].clone();
    assert_eq!((hours(&total, "planned"), hours(&total, "limited"), hours(&total, "none")), (15, 9, 0));
    assert_eq!(total["known_seconds"], (at(11, 27, 0) - known_from).num_seconds());
});

on_both!(planned_is_cleared_when_the_piece_or_the_rig_is_back, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let (piece, rig) = (county.set_1.ram, format!("/v1/rigs/{}", county.engine_1));
    out_for_service(&crew, format!("/v1/pieces/{piece}")).await;
    // A rig out with its piece: both are back for full.
    let out = out_for_service(&crew, rig.clone()).await;
    assert_eq!(out["planned"], true);
    let level = crew.capability(county.engine_1).await;
    assert_eq!((&level["level"], &level["planned"]), (&json!("none"), &json!(true)));
    // What is out already for another reason is not out for planned service.
    crew.take_out(county.set_2.ram, "bent").await.ok();
    assert_eq!(out_for_service(&crew, format!("/v1/pieces/{}", county.set_2.ram)).await["planned"], false);
    crew.post(&format!("{rig}/take-out"), json!({ "reason": "will not start" })).await.ok();
    assert_eq!(crew.find(&rig).await["planned"], false);
    assert_eq!(crew.capability(county.engine_1).await["planned"], false);
    let rev = officer.rev(&rig).await;
    officer.post_on(&format!("{rig}/put-back"), rev, json!({})).await.ok();
    assert_eq!(crew.capability(county.engine_1).await["planned"], true, "the ram is still out for service");
    back(&world.coordinator(), piece).await;
    let level = crew.capability(county.engine_1).await;
    assert_eq!(
        (&level["level"], &level["planned"], &crew.piece(piece).await["planned"]),
        (&json!("full"), &json!(false), &json!(false))
    );
    out_for_service(&crew, format!("/v1/pieces/{piece}")).await;
    let retired = world.coordinator().retire(piece, "worn").await.record();
    assert_eq!(retired["planned"], false);
    assert_eq!(crew.capability(county.engine_1).await["planned"], false, "a retired piece does not come back");
});

on_both!(a_piece_at_the_shop_for_planned_service_is_still_awaited, async |world: &World| {
    let (county, crew, coordinator) = (world.county(), world.crew(), world.coordinator());
    let ram = county.set_1.ram;
    let planned = async || {
        let level = crew.capability(county.engine_1).await;
        assert_eq!(level["level"], "limited");
        level["planned"].as_bool().unwrap()
    };
    out_for_service(&crew, format!("/v1/pieces/{ram}")).await;
    coordinator.bring(ram, in_shop(county.shop)).await.ok();
    assert!(planned().await, "with it back the rig is full");
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    assert!(!planned().await, "the cutter failed");
    back(&coordinator, county.set_1.cutter).await;
    assert!(planned().await);
    world.shop().report(ram, "seal gone", "out_of_service").await.ok();
    assert!(!planned().await, "something was found at the shop");
    // What is fetched from the rig in good order and goes out at the shop is awaited too.
    let hose = county.set_2.second_hose;
    coordinator.bring(hose, in_shop(county.shop)).await.ok();
    assert_eq!(crew.capability(county.engine_2).await["planned"], false);
    out_for_service(&crew, format!("/v1/pieces/{hose}")).await;
    assert_eq!(crew.capability(county.engine_2).await["planned"], true);
    coordinator
        .edit(&format!("/v1/pieces/{hose}"), json!({ "home": on_shelf(county.station_1) }))
        .await
        .ok();
    assert_eq!(crew.capability(county.engine_2).await["planned"], false, "it belongs elsewhere now");
});

on_both!(the_board_tells_what_changed_since_an_instant, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.ram, "bent").await.ok();
    world.pass(TimeDelta::hours(1));
    let (then, revision) = (world.clock.now(), crew.revision().await);
    world.pass(TimeDelta::hours(1));
    crew.take_out(county.set_1.pump, "does not start").await.ok();
    world.pass(TimeDelta::hours(1));
    crew.report(county.combi_3, "leaks", "out_of_service").await.ok();
    let noon = world.clock.now();
    world.pass(TimeDelta::hours(1));
    back(&world.coordinator(), county.set_1.pump).await;
    let told = |answer: &Value| -> Vec<(String, String, String)> {
        let text = |value: &Value| value.as_str().unwrap_or("new").to_owned();
        answer["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(|item| (text(&item["rig_name"]), text(&item["from"]), text(&item["to"])))
            .collect()
    };
    let step = |rig: &str, from: &str, to: &str| (rig.to_owned(), from.to_owned(), to.to_owned());
    let all = vec![
        step("Engine 1", "none", "limited"),
        step("Truck 3", "limited", "none"),
        step("Engine 1", "limited", "none"),
    ];
    let by_time = crew.find(&format!("/v1/board/changes?at={}", then.format("%Y-%m-%dT%H:%M:%SZ"))).await;
    assert_eq!(told(&by_time), all);
    let newest = &by_time["items"][1];
    assert_eq!(
        (&newest["station_name"], &newest["kind"], &newest["planned"]),
        (&json!("Station 3"), &json!("defect.report"), &json!(false))
    );
    assert!(newest["words"].as_str().unwrap().contains("leaks"));
    assert_eq!(told(&crew.find(&format!("/v1/board/changes?revision={revision}")).await), all);
    let until = noon.format("%Y-%m-%dT%H:%M:%SZ");
    assert_eq!(
        told(&crew.find(&format!("/v1/board/changes?revision={revision}&until={until}")).await),
        all[1..]
    );
    let south = crew.find(&format!("/v1/board/changes?revision={revision}&district={}", county.south)).await;
    assert_eq!(told(&south), all[1..2]);
    // Since a day ago, unless said: the ram too.
    let day = told(&crew.find("/v1/board/changes").await);
    assert_eq!((&day[..3], &day[3]), (&all[..], &step("Engine 1", "full", "limited")));
    assert_eq!(day.last(), Some(&step("Engine 1", "new", "none")));
    let rig = Uuid::now_v7();
    let body = json!({ "id": rig, "name": "Squad 9", "station": county.station_3, "rig_class": county.truck_class });
    world.coordinator().post("/v1/rigs", body).await.ok();
    let new = crew.find(&format!("/v1/board/changes?revision={revision}")).await["items"][0].clone();
    assert_eq!((&new["rig"], &new["from"], &new["to"]), (&json!(rig), &json!(null), &json!("none")));
});

on_both!(what_cannot_be_asked_is_refused_with_its_field, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    for (query, field) in [
        ("from=2026-13", "from"),
        ("until=soon", "until"),
        ("until=2027-01", "until"),
        ("from=2026-11&until=2026-10", "from"),
        ("from=1990-01", "from"),
    ] {
        let problem = crew.get(&format!("/v1/availability?{query}")).await.refused(400, "query-invalid");
        assert_eq!(problem["field"], field, "{query}");
    }
    crew.get("/v1/availability?by=piece").await.refused(400, "query-invalid");
    let nobody = Uuid::now_v7();
    for query in [
        format!("by=rig&of={nobody}"),
        format!("by=district&of={}", county.engine_1),
        format!("by=agency&of={nobody}"),
        format!("district={nobody}"),
    ] {
        crew.get(&format!("/v1/availability?{query}")).await.refused(404, "not-found");
    }
    let rig = format!("/v1/rigs/{}/standing", county.engine_1);
    crew.get(&format!("{rig}?from=2026-11-25T00:00:00Z&until=2026-11-24T00:00:00Z"))
        .await
        .refused(400, "query-invalid");
    crew.get(&format!("/v1/rigs/{nobody}/standing")).await.refused(404, "not-found");
    for query in [
        "until=2101-01-01T00:00:00Z",
        "until=2026-11-20T00:00:00Z",
        "at=2101-01-01T00:00:00Z",
        "revision=1&at=2026-11-25T00:00:00Z",
    ] {
        crew.get(&format!("/v1/board/changes?{query}")).await.refused(400, "query-invalid");
    }
});
