//! How a shift is judged, what stays of the old set, and that a rig stands in one rollout at a time.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use super::kit::{Rollout, WEEK, sign_off};
use crate::world::{World, acts::id_of, command, county::piece, on_both, on_rig};

/// Adds a shift of station 1 and answers its address.
async fn shift(world: &World, name: &str, members: &[Uuid]) -> String {
    let body = json!({ "id": Uuid::now_v7(), "station": world.county().station_1, "name": name, "members": members });
    let added = world.officer().post("/v1/shifts", body).await.record();
    format!("/v1/shifts/{}", id_of(&added))
}

async fn trained(world: &World, rollout: &Rollout) -> Vec<String> {
    let all = rollout.held(world).await;
    all.into_iter().filter(|(stage, _)| stage == "trained").map(|(_, words)| words).collect()
}

async fn shifts(world: &World, rollout: &Rollout) -> Value {
    let progress = world.officer().find(&format!("/v1/rollouts/{}/progress", rollout.id)).await;
    progress["stations"][0]["shifts"].clone()
}

on_both!(one_person_on_two_rosters_of_a_station_counts_for_neither, async |world: &World| {
    let (crew, officer, b, chief) = (world.crew(), world.officer(), world.member("crew_1"), world.member("chief"));
    let rollout = Rollout::set(world).await;
    rollout.begin(world).await;
    shift(world, "A shift", &[crew.person.id, officer.person.id]).await;
    let second = shift(world, "B shift", &[crew.person.id]).await;
    for member in [&crew, &officer, &b] {
        sign_off(&chief, member.person.id, json!("Vantor 4"), "2027-11-30").await;
    }
    let name = crew.person.told()["name"].as_str().unwrap().to_owned();
    let twice = format!("{name} is on A shift and B shift: a member counts for one shift only; mend the rosters");
    let short = "A shift of Station 1: 1 of at least 2 are signed off on the new set";
    assert_eq!(
        trained(world, &rollout).await,
        [short, &twice, "B shift of Station 1: 0 of at least 1 are signed off on the new set"]
    );
    let told = shifts(world, &rollout).await;
    assert_eq!(
        (
            &told[1]["roster"],
            &told[1]["signed"],
            &told[1]["waiting"],
            &told[1]["twice"],
            &told[1]["missing"]
        ),
        (&json!(1), &json!(0), &json!([crew.person.told()]), &json!([twice]), &json!([])),
        "{told}"
    );
    // Where another meets the minimum, it holds the shift that lacks one alone.
    officer.edit(&second, json!({ "members": [crew.person.id, b.person.id] })).await.ok();
    assert_eq!(trained(world, &rollout).await, [short, &twice]);
    officer.edit(&second, json!({ "members": [b.person.id] })).await.ok();
    assert_eq!(trained(world, &rollout).await, [""; 0]);
});

on_both!(who_is_not_signed_off_is_told_with_what_is_missing, async |world: &World| {
    let (crew, chief) = (world.crew(), world.member("chief"));
    let rollout = Rollout::set(world).await;
    rollout.begin(world).await;
    shift(world, "A shift", &[crew.person.id]).await;
    let name = crew.person.told()["name"].as_str().unwrap().to_owned();
    let missing = async || shifts(world, &rollout).await[0]["missing"].clone();
    assert_eq!(missing().await, json!([format!("{name}: power unit and cutter of Vantor 4 missing")]));
    let half = json!({ "kinds": ["cutter"], "family": "vantor 4", "until": "2026-11-25" });
    chief.post(&format!("/v1/members/{}/sign-offs", crew.person.id), half).await.ok();
    assert_eq!(missing().await, json!([format!("{name}: power unit of Vantor 4 missing")]));
    world.pass(TimeDelta::days(1));
    assert_eq!(
        missing().await,
        json!([format!("{name}: power unit of Vantor 4 missing; cutter of Vantor 4 ran out on 2026-11-25")])
    );
});

on_both!(
    a_shift_that_the_station_does_not_have_holds_nothing_up_once_somebody_says_so,
    async |world: &World| {
        let (county, crew, officer, chief) = (world.county(), world.crew(), world.officer(), world.member("chief"));
        let rollout = Rollout::set(world).await;
        rollout.begin(world).await;
        let first = shift(world, "A shift", &[crew.person.id, officer.person.id]).await;
        for member in [&crew, &officer] {
            sign_off(&chief, member.person.id, json!("Vantor 4"), "2027-11-30").await;
        }
        assert_eq!(
            trained(world, &rollout).await,
            ["B shift of Station 1: who belongs to it is not known; enter its roster"]
        );
        let none = json!({ "id": Uuid::now_v7(), "station": county.station_1, "name": "b SHIFT", "exists": false });
        officer.post("/v1/shifts", none).await.ok();
        assert_eq!(trained(world, &rollout).await, [""; 0]);
        let told = shifts(world, &rollout).await;
        assert_eq!(
            (&told[1]["exists"], &told[1]["minimum"], &told[1]["roster"], &told[1]["signed"]),
            (&json!(false), &json!(1), &Value::Null, &Value::Null),
            "{told}"
        );
        // That it has none of them is no leave to change over.
        officer.edit(&first, json!({ "exists": false })).await.ok();
        assert_eq!(
            trained(world, &rollout).await,
            ["Station 1: no shift that it has is on record; enter the roster of each"]
        );
    }
);

on_both!(a_rig_stands_in_one_rollout_until_it_has_changed_over, async |world: &World| {
    let coordinator = world.coordinator();
    let rollout = Rollout::set(world).await;
    rollout.begin(world).await;
    let mut body = rollout.body(world);
    let other = Uuid::now_v7();
    body["id"] = json!(other);
    body["name"] = json!("The same again");
    coordinator.post("/v1/rollouts", body).await.ok();
    let plan = json!({ "id": Uuid::now_v7(), "rollout": other, "rig": world.county().engine_1, "week": WEEK, "pieces": [] });
    let refused = coordinator.post("/v1/rollout-rigs", plan.clone()).await.refused(409, "rule-broken");
    assert_eq!(
        refused["detail"],
        "Engine 1 is planned in the rollout The new engines' sets and has not changed over there; take it out of that one first"
    );
    let path = format!("/v1/rollout-rigs/{}", rollout.rig);
    coordinator.post_on(&format!("{path}/drop"), coordinator.rev(&path).await, json!({})).await.ok();
    coordinator.post("/v1/rollout-rigs", plan).await.ok();
});

on_both!(what_belongs_with_the_old_set_and_stays_aboard_is_named, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let set = Rollout::set(world).await;
    let [tool, pack, charger, rollout] = std::array::from_fn(|_| Uuid::now_v7());
    let model = |id: Uuid, name: &str, kind: &str, hookup: Value| command("model.add", json!({ "id": id, "name": name, "kind": kind, "hookup": hookup }));
    let aboard = |tag: &str, model: Uuid| piece(Uuid::now_v7(), tag, model, on_rig(county.engine_1));
    let acts = vec![
        model(tool, "Oldcell C", "cutter", json!({ "battery": "18V cell" })),
        model(pack, "Oldcell pack", "battery", json!({ "battery": "18V CELL" })),
        model(charger, "Oldcell charger", "charger", json!({})),
        aboard("OC-CUT", tool),
        aboard("OC-P2", pack),
        aboard("OC-P1", pack),
        aboard("OC-CHG", charger),
    ];
    world.admin().apply(acts).await;
    let mut body = set.body(world);
    body["id"] = json!(rollout);
    body["models"] = json!([set.models[1]]);
    body["replaces"] = json!([tool]);
    coordinator.post("/v1/rollouts", body.clone()).await.ok();
    let first = Uuid::now_v7();
    let plan = json!({ "id": first, "rollout": rollout, "rig": county.engine_1, "week": WEEK, "pieces": [] });
    coordinator.post("/v1/rollout-rigs", plan).await.ok();
    let progress = coordinator.find(&format!("/v1/rollouts/{rollout}/progress")).await;
    let rig = &progress["weeks"][0]["rigs"][0];
    assert_eq!(rig["old"].as_array().unwrap().len(), 1, "{rig}");
    assert_eq!(
        rig["stays"],
        json!([
            "Oldcell charger (OC-CHG) stays aboard: its battery system is not on record, so that nobody knows whether it belongs to what leaves",
            "Oldcell pack (OC-P1, OC-P2) stays aboard: it is of the battery system of what leaves, 18V CELL",
        ])
    );
    // What leaves as well does not stay.
    let other = Uuid::now_v7();
    body["id"] = json!(other);
    body["name"] = json!("With its packs");
    body["replaces"] = json!([tool, pack, charger]);
    coordinator.post("/v1/rollouts", body).await.ok();
    let path = format!("/v1/rollout-rigs/{first}");
    coordinator.post_on(&format!("{path}/drop"), coordinator.rev(&path).await, json!({})).await.ok();
    let plan = json!({ "id": Uuid::now_v7(), "rollout": other, "rig": county.engine_1, "week": WEEK, "pieces": [] });
    coordinator.post("/v1/rollout-rigs", plan).await.ok();
    let progress = coordinator.find(&format!("/v1/rollouts/{other}/progress")).await;
    assert_eq!(progress["weeks"][0]["rigs"][0]["stays"], json!([]), "{progress}");
});
