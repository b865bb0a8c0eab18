//! The order of the shop's bench.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use super::coverage::{full_engine, set_demand};
use crate::world::{Client, World, acts::id_of, county::piece, on_both, on_shelf};

async fn break_and_send(client: &Client, world: &World, piece: Uuid) -> Uuid {
    world.pass(TimeDelta::minutes(3));
    client.take_out(piece, "broken").await.ok();
    id_of(&client.open_ticket(piece, world.county().shop, "broken", &[]).await.record())
}

async fn order(client: &Client) -> Vec<Value> {
    client.find("/v1/bench-order").await["items"].as_array().unwrap().clone()
}

fn standings(order: &[Value]) -> Vec<(Value, &str)> {
    order.iter().map(|one| (one["ticket"].clone(), one["standing"].as_str().unwrap())).collect()
}

on_both!(a_ticket_that_gives_a_district_its_only_full_rig_back_stands_first, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    assert!(order(&coordinator).await.is_empty());
    let spare = Uuid::now_v7();
    coordinator
        .apply(vec![piece(spare, "X-RAM", county.models.ram, on_shelf(county.station_1))])
        .await;
    let (_, ram_3) = full_engine(world, "Engine 3", county.station_3).await;
    // Oldest first, if nothing else counted.
    let shelf = break_and_send(&coordinator, world, spare).await;
    let engine = break_and_send(&coordinator, world, county.set_1.ram).await;
    let truck = break_and_send(&coordinator, world, county.combi_3).await;
    let only = break_and_send(&coordinator, world, ram_3).await;
    let found = order(&coordinator).await;
    assert_eq!(
        standings(&found),
        [
            (json!(only), "only_full_rig"),
            (json!(shelf), "only_full_rig"),
            (json!(engine), "under_minimum"),
            (json!(truck), "returns"),
        ],
        "the ram of the shelf would do for Engine 3 too, by a swap"
    );
    assert_eq!(found[0]["words"], "Gives South its only full rig back: Engine 3 from limited to full.");
    assert_eq!(
        found[1]["words"],
        "A reserve piece: aboard Engine 3 it would give South its only full rig back, from limited to full."
    );
    assert_eq!(found[2]["words"], "Engine 1 from limited to full; North has 1 full rig of at least 2.");
    assert_eq!(found[3]["words"], "Truck 3 from none to limited.", "a light truck that is back is no full rig");
});

on_both!(one_of_two_broken_pieces_brings_nothing_back_alone_and_says_so, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    break_and_send(&coordinator, world, county.set_1.ram).await;
    break_and_send(&coordinator, world, county.set_1.cutter).await;
    let found = order(&coordinator).await;
    assert!(
        found.iter().all(|one| one["words"] == "Engine 1 stays limited until one more piece is back."),
        "{found:?}"
    );
});

on_both!(demand_that_a_rig_is_nearest_to_decides_between_equals, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .edit(&format!("/v1/districts/{}", county.north), json!({ "min_full": 0 }))
        .await
        .ok();
    full_engine(world, "Engine 3", county.station_1).await;
    let first = break_and_send(&coordinator, world, county.set_1.ram).await;
    let second = break_and_send(&coordinator, world, county.set_2.ram).await;
    assert_eq!(standings(&order(&coordinator).await), [(json!(first), "returns"), (json!(second), "returns")]);
    let stations = [county.station_1, county.station_2, county.station_3];
    set_demand(world, &[10.0, 90.0], 8.0, &stations, json!([[2, 9, 30], [9, 2, 30]])).await;
    let found = order(&coordinator).await;
    assert_eq!(standings(&found), [(json!(second), "returns"), (json!(first), "returns")]);
    assert_eq!(
        (found[0]["returns"].as_f64(), found[1]["returns"].as_f64()),
        (Some(45.0), Some(5.0)),
        "half of each demand: limited to full"
    );
});

on_both!(a_reserve_rig_is_no_full_rig_of_its_district, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let (reserve, _) = full_engine(world, "Engine 9", county.station_1).await;
    coordinator
        .edit(&format!("/v1/rigs/{reserve}"), json!({ "duty": "ready_reserve", "reason": "no crew" }))
        .await
        .ok();
    let first = break_and_send(&coordinator, world, county.set_1.ram).await;
    let second = break_and_send(&coordinator, world, county.set_2.ram).await;
    assert_eq!(
        standings(&order(&coordinator).await),
        [(json!(first), "only_full_rig"), (json!(second), "only_full_rig")],
        "nobody rides out with the reserve engine"
    );
});

on_both!(a_stand_in_aboard_makes_the_repair_wait, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    break_and_send(&coordinator, world, county.set_1.cutter).await;
    coordinator.swap(county.engine_1, county.spare_cutter, "cutter").await.ok();
    assert_eq!(order(&coordinator).await[0]["words"], "Engine 1 is full without it.");
});

on_both!(a_reserve_piece_that_could_not_go_aboard_waits, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    // Of another coupling family, and without an annual service for three years: neither would make Engine 1 full.
    let (strange, overdue) = (Uuid::now_v7(), Uuid::now_v7());
    let mut late = piece(overdue, "X-CUT", county.models.cutter, on_shelf(county.station_1));
    late["body"]["last_service_on"] = json!("2023-11-01");
    coordinator
        .apply(vec![piece(strange, "X-TWIN", county.models.twin_cutter, on_shelf(county.station_1)), late])
        .await;
    break_and_send(&coordinator, world, county.set_1.cutter).await;
    let tickets = [
        break_and_send(&coordinator, world, strange).await,
        break_and_send(&coordinator, world, overdue).await,
    ];
    let found = order(&coordinator).await;
    for ticket in tickets {
        let one = found.iter().find(|one| one["ticket"] == json!(ticket)).unwrap();
        assert_eq!(
            (&one["standing"], &one["words"]),
            (&json!("waits"), &json!("Its piece goes to a shelf: no rig waits for it.")),
            "{found:?}"
        );
    }
});
