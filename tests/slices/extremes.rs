//! Dates and measures that nobody means: refused, or borne. None of them may make the board or a rig unreadable.

use serde_json::{Value, json};

use crate::world::{World, acts::rev_of, command, on_both, process};

/// The board, the rig, its feed and the next command on it must all still work.
async fn all_is_well(world: &World, what: &str) {
    let (crew, county) = (world.crew(), world.county());
    for path in [
        "/v1/board",
        &format!("/v1/rig-standings/{}", county.truck_3),
        "/v1/rig-standings",
        "/v1/piece-standings",
        "/v1/changes?limit=2000",
        &format!("/v1/rigs/{}/remedies", county.truck_3),
    ] {
        let reply = crew.get(path).await;
        assert!(reply.done(), "after {what}: {}: {} {}", reply.asked, reply.status, reply.text);
    }
    for rig in [county.truck_3, county.engine_1] {
        let reply = crew
            .post(&format!("/v1/rigs/{rig}/take-out"), json!({ "reason": format!("at a drill, after {what}") }))
            .await;
        assert!(reply.done(), "after {what}: {}: {} {}", reply.asked, reply.status, reply.text);
        let rev = rev_of(&reply.record());
        world.officer().post_on(&format!("/v1/rigs/{rig}/put-back"), rev, json!({})).await.ok();
    }
}

const DAYS: [&str; 8] = [
    "0000-01-01",
    "0001-01-01",
    "-0001-01-01",
    "-9999-01-01",
    "9999-12-31",
    "+10000-01-01",
    "+262142-12-31",
    "-262143-01-01",
];

on_both!(a_day_at_the_end_of_the_calendar_breaks_nothing, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/pieces/{}", county.combi_3);
    for field in ["last_service_on", "in_service_since", "made_on"] {
        for day in DAYS {
            let mut body = json!({ "last_service_on": null });
            body[field] = json!(day);
            let reply = coordinator.edit(&path, body).await;
            assert!(reply.status < 500, "{}: {} {}", reply.asked, reply.status, reply.text);
            all_is_well(world, &format!("{field} {day}")).await;
        }
    }
    assert!(process::verify(&world.location).0);
});

on_both!(a_hose_made_at_the_end_of_the_calendar_breaks_nothing, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/pieces/{}", county.set_1.hose);
    for day in DAYS {
        let reply = coordinator.edit(&path, json!({ "made_on": day })).await;
        assert!(reply.status < 500, "{}: {} {}", reply.asked, reply.status, reply.text);
        all_is_well(world, &format!("made_on {day}")).await;
    }
});

on_both!(a_due_date_at_the_end_of_the_calendar_breaks_nothing, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    for day in DAYS {
        let reply = coordinator
            .bring(county.spare_hose, json!({ "at": "vendor", "name": format!("Hose works {day}"), "due_on": day }))
            .await;
        assert!(reply.status < 500, "{}: {} {}", reply.asked, reply.status, reply.text);
        assert!(coordinator.get("/v1/register.csv").await.done(), "after due_on {day}");
        coordinator.find(&format!("/v1/pieces/{}", county.spare_hose)).await;
    }
});

/// Sends a model's or a class's edit, and looks whether the county can still be read.
async fn measured(world: &World, path: &str, body: Value) {
    let reply = world.coordinator().edit(path, body).await;
    assert!(reply.status < 500, "{}: {} {}", reply.asked, reply.status, reply.text);
    let asked = reply.asked.chars().take(200).collect::<String>();
    all_is_well(world, &asked).await;
}

on_both!(a_pressure_beyond_all_measure_breaks_nothing, async |world: &World| {
    let models = world.county().models;
    for value in [1e308, 1e26, 5e-324] {
        let hookup = json!({ "coupling": "flat-face single", "fluid": "mineral oil", "pressure": { "value": value, "unit": "psi" } });
        for model in [models.pump, models.cutter, models.hose] {
            measured(world, &format!("/v1/models/{model}"), json!({ "hookup": hookup })).await;
        }
    }
});

on_both!(a_minimum_beyond_all_measure_breaks_nothing, async |world: &World| {
    let class = format!("/v1/rig-classes/{}", world.county().engine_class);
    for value in [1e308, 1e26, 0.0, -1.0, 5e-324] {
        let mut complement = crate::world::county::engine_complement();
        complement["slots"][3]["minimums"]["cutter_opening"]["value"] = json!(value);
        measured(world, &class, json!({ "complement": complement })).await;
    }
});

on_both!(a_rating_beyond_all_measure_breaks_nothing, async |world: &World| {
    let model = format!("/v1/models/{}", world.county().models.cutter);
    for value in [1e308, 0.0, -1e308, 5e-324] {
        let ratings = json!({ "cutter_opening": { "value": value, "unit": "in", "standard": "NFPA 1936", "edition": "2015" } });
        measured(world, &model, json!({ "ratings": ratings })).await;
    }
});

on_both!(a_least_number_of_rigs_beyond_all_measure_breaks_nothing, async |world: &World| {
    let district = format!("/v1/districts/{}", world.county().north);
    for min_full in [0, u32::MAX] {
        measured(world, &district, json!({ "min_full": min_full })).await;
    }
});

on_both!(a_rig_that_carries_more_than_is_looked_at_breaks_nothing, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let m = &county.models;
    let models = [m.pump, m.hose, m.combi, m.pack, m.cutter, m.spreader, m.ram, m.twin_cutter];
    let aboard = (0..140).map(|n| {
        crate::world::county::piece(
            uuid::Uuid::now_v7(),
            &format!("M-{n:03}"),
            models[n % models.len()],
            crate::world::on_rig(county.engine_1),
        )
    });
    coordinator.apply(aboard.collect()).await;
    all_is_well(world, "140 pieces").await;
    let rev = rev_of(&coordinator.piece(county.set_1.ram).await);
    let out = command("piece.take_out", json!({ "id": county.set_1.ram, "reason": "bent" }));
    let taken = tokio::time::timeout(std::time::Duration::from_secs(10), coordinator.apply(vec![out])).await;
    assert!(
        taken.is_ok_and(|revision| revision > rev),
        "a command on a laden rig takes too long: everybody else waits for it"
    );
});
