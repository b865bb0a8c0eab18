//! Time that passes by itself: settled at its own instants, however late the service comes to look.

mod down;
mod order;

use chrono::{DateTime, TimeZone as _, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, command, county::piece, on_both, on_rig, soon, sql};

/// Midnight in Denver at the start of a day in November or December 2026, or in January 2027.
fn midnight(month: u32, day: u32) -> DateTime<Utc> {
    Utc.with_ymd_and_hms(if month == 1 { 2027 } else { 2026 }, month, day, 7, 0, 0).unwrap()
}

/// A rig's line on a board.
fn line(board: &Value, rig: Uuid) -> Value {
    let districts = board["districts"].as_array().unwrap().iter();
    let mut rigs = districts.flat_map(|district| district["rigs"].as_array().unwrap());
    rigs.find(|line| line["id"] == json!(rig)).expect("the rig is on the board").clone()
}

fn level(board: &Value, rig: Uuid) -> String {
    line(board, rig)["level"].as_str().unwrap().to_owned()
}

on_both!(no_read_shows_an_answer_past_its_end_without_waiting_for_the_clock, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.access().await;
    let readers = async |at: DateTime<Utc>| {
        world.clock.set(at);
        let path = format!("/v1/rig-standings/{}", county.engine_2);
        [
            level(&crew.find("/v1/board").await, county.engine_2),
            crew.find(&path).await["level"].as_str().unwrap().to_owned(),
        ]
    };
    assert_eq!(readers(midnight(12, 1) - chrono::TimeDelta::microseconds(1)).await, ["full", "full"]);
    assert_eq!(readers(midnight(12, 1)).await, ["limited", "limited"]);
    let now = midnight(12, 1).to_rfc3339_opts(chrono::SecondsFormat::Micros, true);
    let shown = line(&crew.find("/v1/board").await, county.engine_2);
    assert_eq!((&shown["known"], &shown["pending"]), (&json!(true), &json!(false)));
    assert_eq!(shown["since"].as_str().unwrap().parse::<DateTime<Utc>>().unwrap(), midnight(12, 1), "{now}");
});

on_both!(every_kind_of_read_settles_first, async |world: &World| {
    let county = world.county();
    let one = county.engine_2;
    let paths = [
        "/v1/board".to_owned(),
        "/v1/rig-standings".to_owned(),
        format!("/v1/rig-standings/{one}"),
        "/v1/piece-standings".to_owned(),
        format!("/v1/piece-standings/{}", county.set_2.second_hose),
        format!("/v1/rigs/{one}/sheet"),
        format!("/v1/rigs/{one}/remedies"),
        format!("/v1/rigs/{one}/standing"),
        "/v1/board/changes".to_owned(),
        "/v1/availability".to_owned(),
        "/v1/coverage".to_owned(),
        "/v1/swap-plan".to_owned(),
        "/v1/bench-order".to_owned(),
    ];
    let settled = || {
        let own = format!("agency = {} AND kind = 'clock.settle'", world.id(world.agency().id));
        sql::number(&world.location, &format!("SELECT count(*) AS n FROM journal WHERE {own}"))
    };
    // The rig is made to run out a minute from now, again and again: each read by itself has it settled.
    for path in paths {
        let crew = world.crew();
        world.pass(chrono::TimeDelta::seconds(1));
        crew.access().await;
        let before = settled();
        let now = sql::instant(&world.location, &world.clock.now().to_rfc3339());
        let due = format!("SET at = {now}, try_at = {now} WHERE kind = 'rig' AND id = {}", world.id(one));
        sql::run(&world.location, &format!("UPDATE lapse {due}"));
        crew.get(&path).await.ok();
        assert!(settled() > before, "{path}");
    }
});

on_both!(
    an_answer_that_waits_to_be_judged_anew_says_so_and_is_counted_in_no_level,
    async |world: &World| {
        let (county, crew) = (world.county(), world.crew());
        let before = crew.find("/v1/board").await["totals"].clone();
        let now = world.clock.now().to_rfc3339_opts(chrono::SecondsFormat::Micros, true);
        // As a slice leaves it that the clock has not come to, and cannot.
        let [at, try_at] = ["2026-11-25T13:00:00Z", "2030-01-01T00:00:00Z"].map(|at| sql::instant(&world.location, at));
        let waits = format!("SET pending = (1 = 1), at = {at}, try_at = {try_at}");
        let rig = format!("WHERE kind = 'rig' AND id = {}", world.id(county.engine_2));
        sql::run(&world.location, &format!("UPDATE lapse {waits} {rig}"));
        let board = crew.find("/v1/board").await;
        let shown = line(&board, county.engine_2);
        assert_eq!((&shown["known"], &shown["pending"]), (&json!(false), &json!(true)), "{now}");
        assert_eq!(shown["words"][0], "not known yet: the rules have changed and the rig is being judged anew");
        assert_eq!(board["totals"]["full"].as_i64().unwrap(), before["full"].as_i64().unwrap() - 1);
        assert_eq!((&before["not_known"], &board["totals"]["not_known"]), (&json!(0), &json!(1)));
        let capability = crew.capability(county.engine_2).await;
        assert_eq!((&capability["known"], &capability["pending"]), (&json!(false), &json!(true)));
        let listed = crew.list("/v1/rig-standings").await;
        assert_eq!(listed.iter().filter(|one| one["pending"] == json!(true)).count(), 1);
        // Whatever touches the rig settles it.
        crew.take_out(county.set_2.ram, "bent").await.ok();
        let shown = line(&crew.find("/v1/board").await, county.engine_2);
        assert_eq!(
            (&shown["known"], &shown["pending"], &shown["level"]),
            (&json!(true), &json!(false), &json!("limited"))
        );
    }
);

on_both!(
    a_changed_policy_reaches_every_rig_of_many_in_slices_dated_at_the_change,
    async |world: &World| {
        let (county, coordinator, admin) = (world.county(), world.coordinator(), world.admin());
        let mut more = Vec::new();
        let rigs: Vec<Uuid> = (0..130).map(|_| Uuid::now_v7()).collect();
        for (n, rig) in rigs.iter().enumerate() {
            let body = json!({ "id": rig, "name": format!("Squad {n}"), "station": county.station_3, "rig_class": county.truck_class });
            more.push(command("rig.add", body));
            more.push(piece(Uuid::now_v7(), &format!("X-{n}"), county.models.combi, on_rig(*rig)));
        }
        coordinator.apply(more).await;
        world.pass(chrono::TimeDelta::minutes(1));
        let changed_at = world.clock.now();
        let agency = admin.find("/v1/agency").await;
        let mut policy = agency["policy"].clone();
        policy["batteries"] = json!("as_pieces");
        let answer = admin
            .patch_on("/v1/agency", agency["rev"].as_i64().unwrap(), json!({ "policy": policy }))
            .await
            .ok();
        let touched = |kind: &str| answer["records"].as_array().unwrap().iter().filter(|one| one["kind"] == kind).count();
        let (judged, pieces) = (touched("rig_standing"), touched("piece_standing"));
        assert!((1..=24).contains(&judged), "{judged} rigs in the command itself");
        assert_eq!(pieces, judged, "each with its one tool");
        let board = soon("all rigs are judged anew", async || {
            let board = coordinator.find("/v1/board").await;
            (board["totals"]["not_known"] == 0).then_some(board)
        })
        .await;
        for rig in &rigs {
            let shown = line(&board, *rig);
            assert_eq!((&shown["level"], &shown["pending"]), (&json!("none"), &json!(false)));
            assert_eq!(shown["since"].as_str().unwrap().parse::<DateTime<Utc>>().unwrap(), changed_at);
        }
        let own = format!("agency = {} AND kind = 'clock.settle'", world.id(world.agency().id));
        let slices = sql::number(&world.location, &format!("SELECT count(*) AS n FROM journal WHERE {own}"));
        assert!((5..=6).contains(&slices), "{slices} slices of at most 24 for {} rigs", rigs.len() + 3);
        // Renaming the agency judges nobody anew.
        let agency = admin.find("/v1/agency").await;
        let renamed = admin
            .patch_on("/v1/agency", agency["rev"].as_i64().unwrap(), json!({ "name": "Harrow County" }))
            .await;
        assert_eq!(renamed.ok()["records"].as_array().unwrap().len(), 1);
    }
);

on_both!(no_client_makes_a_record_under_an_id_of_the_services_own, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    // Where the service would put the defect of a piece aboard with mixed fluids, once this one is reported.
    let cause = Uuid::now_v7();
    let taken = fullset::platform::door::own_id(&format!("fluid mix {cause} {}", county.set_1.ram));
    let report = |id: Uuid| json!({ "id": id, "piece": county.set_1.cutter, "what": "seeps", "class": "other", "severity": "out_of_service" });
    let problem = crew.post("/v1/defects", report(taken)).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.id");
    crew.post("/v1/defects", report(cause)).await.ok();
});

on_both!(no_client_can_use_an_id_of_the_services_own, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let before = crew.revision().await;
    let clocks_next = fullset::platform::door::own_id(&format!("clock.settle/{}/{}", world.agency().id, before + 1));
    for id in [clocks_next, Uuid::new_v4(), Uuid::nil(), Uuid::max()] {
        let mut taken = command("piece.take_out", json!({ "id": county.set_1.ram, "reason": "bent" }));
        taken["id"] = json!(id);
        let batch = crew.send(vec![taken]).await.ok();
        let problem = &batch["answers"][0]["problem"];
        assert_eq!((&problem["code"], &problem["field"]), (&json!("field-invalid"), &json!("id")), "{batch}");
        let path = format!("/v1/pieces/{}/take-out", county.set_1.ram);
        crew.ask(
            reqwest::Method::POST,
            &path,
            Some(&json!({ "reason": "bent" })),
            &[("Idempotency-Key", id.to_string())],
        )
        .await
        .refused(400, "body-unreadable");
    }
    assert_eq!(crew.revision().await, before);
    world.clock.set(midnight(12, 1));
    assert_eq!(
        level(&crew.find("/v1/board").await, county.engine_2),
        "limited",
        "the clock is not stopped by it"
    );
});
