//! Reliability: the published examples rebuilt as history through the API, and what counts and what does not.

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, World,
    acts::{id_of, rev_of, tested},
    command,
    county::piece,
    on_both, on_rig, on_shelf,
};

fn published() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/published/data/reliability.json");
    serde_json::from_str(&std::fs::read_to_string(path).expect("the published data")).expect("JSON")
}

#[track_caller]
fn close(found: &Value, wanted: f64) {
    let found = found.as_f64().unwrap_or_else(|| panic!("no number: {found}"));
    assert!((found - wanted).abs() <= 1e-8 * wanted.abs().max(1e-3), "{found} is not {wanted}");
}

fn hours(hours: f64) -> TimeDelta {
    TimeDelta::microseconds((hours * 3.6e9).round() as i64)
}

/// A model with one piece, which nothing else is of.
async fn one_piece(world: &World) -> (Uuid, Uuid) {
    let (model, id) = (Uuid::now_v7(), Uuid::now_v7());
    let hookup = json!({ "coupling": "flat-face single", "fluid": "mineral oil" });
    let body = json!({ "id": model, "name": "Dorvan C90", "kind": "cutter", "hookup": hookup, "ratings": {} });
    let add = piece(id, "X-CUT", model, on_shelf(world.county().station_1));
    world.coordinator().apply(vec![command("model.add", body), add]).await;
    (model, id)
}

async fn back(client: &Client, piece: Uuid) {
    let rev = rev_of(&client.piece(piece).await);
    client.put_back(piece, rev, "mended").await.ok();
}

/// Fails for no time at each of these hours after now; by several people, since nobody may sign in too often.
async fn fail_at(world: &World, piece: Uuid, at: &[f64]) -> DateTime<Utc> {
    let start = world.clock.now();
    let people = ["coordinator", "admin", "shop"].map(|name| world.member(name));
    for (hour, client) in at.iter().zip(people.iter().cycle()) {
        world.clock.set(start + hours(*hour));
        client.take_out(piece, "stiff").await.ok();
        back(client, piece).await;
    }
    start
}

/// The one row of a model.
async fn row(client: &Client, model: Uuid, more: &str) -> Value {
    let answer = client.find(&format!("/v1/reliability?by=model&model={model}{more}")).await;
    assert_eq!(answer["rows"].as_array().map(Vec::len), Some(1), "{answer}");
    assert_eq!(answer["rows"][0]["key"], json!(model));
    answer["rows"][0].clone()
}

on_both!(two_failures_in_800_hours_have_the_published_bounds, async |world: &World| {
    let (model, piece) = one_piece(world).await;
    let start = fail_at(world, piece, &[100.0, 700.0]).await;
    world.clock.set(start + hours(800.0));
    let row = row(&world.crew(), model, "").await;
    let (rates, ci) = (&row["rates"], &published()["mtbf_ci"]);
    assert_eq!((&rates["failures"], &rates["planned"], &row["pieces"]), (&json!(2), &json!(0), &json!(1)));
    assert_eq!((&row["name"], &row["kind"]), (&json!("Dorvan C90"), &json!("cutter")));
    for (field, name) in [("mtbf_days", "mtbf"), ("mtbf_days_lower", "lower"), ("mtbf_days_upper", "upper")] {
        close(&rates[field], ci[name].as_f64().unwrap() / 24.0);
    }
    close(&rates["piece_years"], 800.0 / 24.0 / 365.0);
});

on_both!(a_trend_and_a_power_law_are_told_as_published, async |world: &World| {
    let (model, piece) = one_piece(world).await;
    let data = published();
    let times: Vec<f64> = data["trend"]["times"].as_array().unwrap().iter().map(|time| time.as_f64().unwrap()).collect();
    let start = fail_at(world, piece, &times).await;
    world.clock.set(start + hours(data["trend"]["T_end"].as_f64().unwrap()));
    let row = row(&world.crew(), model, "&confidence=0.8").await;
    let (trend, law) = (&row["trend"], &row["power_law"]);
    close(&trend["laplace"], data["trend"]["laplace_U"].as_f64().unwrap());
    close(&trend["military_handbook"], data["trend"]["milhdbk_chi2"].as_f64().unwrap());
    assert_eq!(trend["verdict"], "improving");
    close(&law["beta"], data["powerlaw_nist"]["b_mle"].as_f64().unwrap());
    close(&law["mtbf_days_unbiased"], data["powerlaw_nist"]["mtbf_end"].as_f64().unwrap() / 24.0);
});

on_both!(without_a_failure_there_is_a_lower_bound_only, async |world: &World| {
    let (model, _) = one_piece(world).await;
    world.pass(hours(800.0));
    let rates = row(&world.crew(), model, "").await["rates"].clone();
    assert_eq!((&rates["mtbf_days"], &rates["mtbf_days_upper"]), (&json!(null), &json!(null)));
    close(
        &rates["mtbf_days_lower"],
        published()["mtbf_ci"]["zero_fail"]["alpha_05"].as_f64().unwrap() / 24.0,
    );
    assert!(rates["words"].as_str().unwrap().contains("too few data"), "{rates}");
});

on_both!(planned_service_is_no_failure_unless_something_is_found, async |world: &World| {
    let (model, piece) = one_piece(world).await;
    let (crew, coordinator) = (world.crew(), world.coordinator());
    let service = json!({ "reason": "annual service", "planned": true });
    let path = format!("/v1/pieces/{piece}/take-out");
    world.pass(TimeDelta::days(10));
    crew.post(&path, service.clone()).await.ok();
    world.pass(TimeDelta::days(4));
    back(&coordinator, piece).await;
    world.pass(TimeDelta::days(6));
    crew.take_out(piece, "leaks").await.ok();
    world.pass(TimeDelta::days(3));
    // Told again while it is out: the same stop.
    crew.take_out(piece, "leaks at the handle").await.ok();
    world.pass(TimeDelta::days(5));
    back(&coordinator, piece).await;
    world.pass(TimeDelta::days(2));
    let row_1 = row(&crew, model, "").await;
    assert_eq!((&row_1["rates"]["failures"], &row_1["rates"]["planned"]), (&json!(1), &json!(1)));
    close(&row_1["rates"]["mtbf_days"], 30.0 - 12.0);
    close(&row_1["repairs"]["mean_days"], 8.0);
    close(&row_1["repairs"]["availability"], 18.0 / 26.0);
    let stops = crew.find(&format!("/v1/reliability/stops?by=model&key={model}")).await;
    let items = stops["items"].as_array().unwrap();
    assert_eq!(items.len(), 2, "{stops}");
    assert_eq!(
        (&items[0]["reason"], &items[0]["planned"], &items[0]["days"]),
        (&json!("leaks at the handle"), &json!(false), &json!(8.0))
    );
    assert_eq!(
        (&items[1]["reason"], &items[1]["planned"], &items[1]["days"]),
        (&json!("annual service"), &json!(true), &json!(4.0))
    );
    assert_eq!(
        (&items[0]["tag"], &items[0]["model_name"], &items[0]["by"]),
        (&json!("X-CUT"), &json!("Dorvan C90"), &crew.person.told())
    );
    crew.post(&path, service).await.ok();
    world.pass(TimeDelta::days(1));
    crew.report(piece, "blade cracked", "out_of_service").await.ok();
    let row_2 = row(&crew, model, "").await;
    assert_eq!((&row_2["rates"]["failures"], &row_2["rates"]["planned"]), (&json!(2), &json!(1)));
    assert_eq!((&row_2["repairs"]["ended"], &row_2["repairs"]["open"]), (&json!(1), &json!(1)));
});

on_both!(a_stop_from_before_the_first_day_is_cut_with_its_time, async |world: &World| {
    let (model, piece) = one_piece(world).await;
    let (crew, coordinator) = (world.crew(), world.coordinator());
    let at = |day: &str, hour: u32| format!("{day}T{hour:02}:00:00Z").parse::<DateTime<Utc>>().unwrap();
    world.clock.set(at("2026-12-08", 7));
    crew.take_out(piece, "leaks").await.ok();
    world.clock.set(at("2026-12-12", 7));
    back(&coordinator, piece).await;
    world.clock.set(at("2026-12-20", 7));
    crew.take_out(piece, "leaks again").await.ok();
    world.clock.set(at("2026-12-22", 7));
    back(&coordinator, piece).await;
    world.clock.set(at("2026-12-31", 7));
    let all = row(&crew, model, "").await;
    assert_eq!(all["rates"]["failures"], 2);
    // Midnight in Denver is at 7: from the 12th to the end of the 25th, two days out.
    let cut = row(&crew, model, "&from=2026-12-10&until=2026-12-25").await;
    assert_eq!(cut["rates"]["failures"], 1);
    close(&cut["rates"]["mtbf_days"], 14.0 - 2.0);
    let stops = crew
        .find(&format!("/v1/reliability/stops?model={model}&from=2026-12-10&until=2026-12-25"))
        .await;
    assert_eq!(
        (stops["items"].as_array().unwrap().len(), &stops["items"][0]["reason"]),
        (1, &json!("leaks again"))
    );
    let answer = crew.find(&format!("/v1/reliability?model={model}&from=2026-12-10&until=2026-12-25")).await;
    assert_eq!((&answer["from"], &answer["until"]), (&json!("2026-12-10"), &json!("2026-12-25")));
    // A retired piece is watched until then.
    coordinator.retire(piece, "worn").await.ok();
    world.pass(TimeDelta::days(100));
    let retired = row(&crew, model, "").await;
    assert_eq!(
        (&retired["rates"]["failures"], &retired["rates"]["piece_years"]),
        (&json!(2), &all["rates"]["piece_years"])
    );
});

on_both!(a_piece_that_was_moved_is_counted_once, async |world: &World| {
    let (model, piece) = one_piece(world).await;
    let (county, coordinator) = (world.county(), world.coordinator());
    world.pass(TimeDelta::days(10));
    coordinator.bring(piece, on_rig(county.engine_1)).await.ok();
    world.pass(TimeDelta::days(5));
    coordinator.take_out(piece, "leaks").await.ok();
    coordinator.bring(piece, on_shelf(county.station_2)).await.ok();
    world.pass(TimeDelta::days(5));
    let row = row(&coordinator, model, "").await;
    assert_eq!(
        (&row["pieces"], &row["rates"]["failures"], &row["repairs"]["open"]),
        (&json!(1), &json!(1), &json!(1))
    );
    close(&row["rates"]["mtbf_days"], 15.0);
});

on_both!(a_failure_is_one_of_a_part_by_its_closed_ticket, async |world: &World| {
    let (county, shop) = (world.county(), world.shop());
    let cutter = county.set_1.cutter;
    world.pass(TimeDelta::days(20));
    world.crew().take_out(cutter, "leaks").await.ok();
    let ticket = id_of(&world.crew().open_ticket(cutter, county.shop, "leaks", &[]).await.record());
    shop.step(ticket, "accept", json!({})).await.ok();
    for (kind, what) in [("part", "  Seal   Kit "), ("part", "seal kit"), ("labour", "resealing")] {
        shop.step(ticket, "line", json!({ "line": { "kind": kind, "what": what, "quantity": 1, "minutes": 30 } }))
            .await
            .ok();
    }
    let by_part = async || shop.find("/v1/reliability?by=part").await["rows"].clone();
    assert_eq!(by_part().await, json!([]), "the ticket is still open");
    world.pass(TimeDelta::days(2));
    shop.step(
        ticket,
        "test",
        json!({ "passed": true, "readings": tested()["readings"], "manual": "service manual, 7.2", "note": "resealed" }),
    )
    .await
    .ok();
    shop.step(ticket, "return", json!({ "to": on_rig(county.engine_1), "arrived": true }))
        .await
        .ok();
    // A failure of another kind takes the cutter out of use, and is none of the part.
    world.crew().take_out(county.set_2.cutter, "blade cracked").await.ok();
    world.pass(TimeDelta::days(8));
    let rows = by_part().await;
    let row = &rows[0];
    assert_eq!(
        (rows.as_array().unwrap().len(), &row["key"], &row["kind"]),
        (1, &json!("seal kit"), &json!("cutter"))
    );
    assert_eq!(
        (&row["pieces"], &row["rates"]["failures"], &row["rates"]["planned"]),
        (&json!(3), &json!(1), &json!(0)),
        "the two engines' and the spare one"
    );
    // Three cutters for thirty days, less two days and eight.
    close(&row["rates"]["piece_years"], 80.0 / 365.0);
    let stops = shop.find("/v1/reliability/stops?by=part&key=seal%20kit").await;
    assert_eq!((stops["items"].as_array().unwrap().len(), &stops["items"][0]["ticket"]), (1, &json!(ticket)));
    assert_eq!(shop.find("/v1/reliability/stops?kind=cutter").await["items"].as_array().unwrap().len(), 2);
    assert_eq!(shop.find("/v1/reliability/stops?by=part&key=anvil").await["items"], json!([]));
});

on_both!(a_piece_that_grows_older_is_watched_in_each_band_for_its_time_there, async |world: &World| {
    let (model, piece) = one_piece(world).await;
    let (crew, coordinator) = (world.crew(), world.coordinator());
    // A year old at midnight before the 1st of December in Denver, 137 hours after the start.
    let young = json!({ "made_on": "2025-12-01", "in_service_since": "2025-12-01" });
    coordinator.edit(&format!("/v1/pieces/{piece}"), young).await.ok();
    world.pass(hours(100.0));
    crew.take_out(piece, "leaks").await.ok();
    world.pass(hours(12.0));
    back(&coordinator, piece).await;
    world.pass(hours(88.0));
    let answer = crew.find(&format!("/v1/reliability?by=age&model={model}")).await;
    let told: Vec<(&str, i64)> = answer["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| (row["key"].as_str().unwrap(), row["rates"]["failures"].as_i64().unwrap()))
        .collect();
    assert_eq!(told, [("0-1", 1), ("1-3", 0)]);
    close(&answer["rows"][0]["rates"]["piece_years"], (137.0 - 12.0) / 24.0 / 365.0);
    close(&answer["rows"][1]["rates"]["piece_years"], 63.0 / 24.0 / 365.0);
    assert!(
        answer["how"]
            .as_array()
            .unwrap()
            .iter()
            .any(|how| how.as_str().unwrap().contains("date of make"))
    );
    coordinator
        .edit(&format!("/v1/pieces/{piece}"), json!({ "made_on": null, "in_service_since": null }))
        .await
        .ok();
    let unknown = crew.find(&format!("/v1/reliability?by=age&model={model}")).await;
    assert_eq!(
        (&unknown["rows"][0]["key"], &unknown["rows"][0]["rates"]["failures"]),
        (&json!("unknown"), &json!(1)),
        "unknown is not young"
    );
});

on_both!(a_watch_begins_with_the_first_day_in_service, async |world: &World| {
    let (model, piece) = one_piece(world).await;
    let coordinator = world.coordinator();
    // It was on record before it went into service.
    world.clock.set("2026-12-05T07:00:00Z".parse().unwrap());
    coordinator
        .edit(&format!("/v1/pieces/{piece}"), json!({ "in_service_since": "2026-12-01" }))
        .await
        .ok();
    world.clock.set("2026-12-11T07:00:00Z".parse().unwrap());
    close(&row(&coordinator, model, "").await["rates"]["piece_years"], 10.0 / 365.0);
});

on_both!(another_agencys_pieces_are_not_counted, async |world: &World| {
    let county = world.county();
    world.pass(TimeDelta::days(1));
    world.crew().take_out(county.set_1.ram, "bent").await.ok();
    let stranger = world.member_of(&world.ground.vale, "crew");
    assert_eq!(stranger.find("/v1/reliability/stops").await["items"], json!([]));
    stranger
        .get(&format!("/v1/reliability?model={}", county.models.ram))
        .await
        .refused(404, "not-found");
    let own = world.crew().find("/v1/reliability?kind=ram").await;
    assert_eq!((own["rows"].as_array().unwrap().len(), &own["rows"][0]["key"]), (1, &json!("ram")));
});

on_both!(what_makes_no_sense_is_refused_with_its_field, async |world: &World| {
    let crew = world.crew();
    for (query, field) in [
        ("from=2026-12-01", "from"),
        ("from=2026-11-20&until=2026-11-10", "from"),
        ("from=1700-01-01", "from"),
        ("until=1700-01-01", "until"),
        ("until=2027-01-01", "until"),
        ("confidence=0", "confidence"),
        ("confidence=1", "confidence"),
        ("confidence=NaN", "confidence"),
        ("confidence=-0.5", "confidence"),
    ] {
        assert_eq!(
            crew.get(&format!("/v1/reliability?{query}")).await.refused(400, "query-invalid")["field"],
            field,
            "{query}"
        );
    }
    for query in ["by=colour", "kind=anvil", "from=yesterday", "confidence=much", "model=7", "from=2026-02-30"] {
        crew.get(&format!("/v1/reliability?{query}")).await.refused(400, "query-invalid");
    }
    crew.get("/v1/reliability/stops?until=2027-01-01").await.refused(400, "query-invalid");
    crew.get(&format!("/v1/reliability/stops?model={}", Uuid::now_v7()))
        .await
        .refused(404, "not-found");
});
