//! What comes aboard a rig is not confirmed there until somebody has tried it on that rig.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, acts::id_of, command, county::piece, on_both, on_rig, on_shelf};

async fn try_out(client: &Client, pieces: &[Uuid]) -> Reply {
    client.post("/v1/pieces/try-out", json!({ "pieces": pieces })).await
}

/// Whether the rig is confirmed, and why not.
async fn confirmed(client: &Client, rig: Uuid) -> (bool, Vec<String>) {
    let standing = client.capability(rig).await;
    let doubts = standing["doubts"].as_array().unwrap().iter();
    let said = doubts.map(|one| format!("{} {}", one["code"].as_str().unwrap(), one["words"].as_str().unwrap()));
    (standing["confirmed"].as_bool().unwrap(), said.collect())
}

async fn verdict(client: &Client, piece: Uuid) -> (Value, Value) {
    let found = client.find(&format!("/v1/piece-standings/{piece}")).await;
    (found["verdict"].clone(), found["reasons"][0]["code"].clone())
}

const OWED: &str = "not-tried cutter R-CUT: came aboard 2026-11-25 07:00, not tried on this rig since";

on_both!(a_stand_in_counts_and_is_counted_on_once_it_was_tried_on_this_rig, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let (rig, cutter) = (county.engine_1, county.spare_cutter);
    assert_eq!(crew.piece(county.set_1.cutter).await["aboard_since"], json!(null), "registered where it sits");
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    crew.swap(rig, cutter, "cutter").await.ok();
    let aboard = crew.piece(cutter).await;
    assert_eq!(
        (&aboard["aboard_since"], &aboard["tried"]),
        (&json!("2026-11-25T14:00:00.000000Z"), &json!(null))
    );
    assert_eq!(crew.capability(rig).await["level"], "full");
    assert_eq!(confirmed(&crew, rig).await, (false, vec![OWED.to_owned()]));
    assert_eq!(verdict(&crew, cutter).await, (json!("cannot_be_confirmed"), json!("not-tried")));
    world.pass(TimeDelta::minutes(10));
    let body = json!({ "pieces": [cutter], "note": "  opened and closed twice, dry " });
    crew.post("/v1/pieces/try-out", body).await.ok();
    let tried = crew.piece(cutter).await["tried"].clone();
    assert_eq!(
        tried,
        json!({ "at": "2026-11-25T14:10:00.000000Z", "by": crew.person.told(), "note": "opened and closed twice, dry" })
    );
    assert_eq!(confirmed(&crew, rig).await, (true, Vec::new()));
    assert_eq!(verdict(&crew, cutter).await, (json!("yes"), json!(null)));
});

on_both!(the_original_that_comes_back_from_the_shop_is_tried_again, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let (rig, cutter) = (county.engine_1, county.set_1.cutter);
    officer.bring(cutter, on_shelf(county.station_1)).await.ok();
    world.pass(TimeDelta::hours(1));
    officer.move_to(cutter, on_rig(rig)).await.ok();
    assert_eq!(officer.piece(cutter).await["aboard_since"], json!(null), "it is on its way");
    officer.arrive(cutter).await.ok();
    assert_eq!(officer.piece(cutter).await["aboard_since"], "2026-11-25T15:00:00.000000Z");
    assert_eq!(confirmed(&officer, rig).await.1.len(), 1);
    try_out(&officer, &[cutter]).await.ok();
    assert!(confirmed(&officer, rig).await.0);
    // Tried on this rig, it is not tried on another.
    officer.bring(cutter, on_rig(county.engine_2)).await.ok();
    assert_eq!(officer.piece(cutter).await["tried"], json!(null));
    assert_eq!(verdict(&officer, cutter).await.1, "not-tried");
});

on_both!(an_exchange_of_rigs_brings_everything_aboard_anew, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let set = &county.set_1;
    let reserve = Uuid::now_v7();
    let rig = json!({ "id": reserve, "name": "Reserve 1", "station": county.station_1, "rig_class": county.engine_class, "duty": "ready_reserve" });
    coordinator.apply(vec![command("rig.add", rig)]).await;
    let rev = coordinator.rev(&format!("/v1/rigs/{}", county.engine_1)).await;
    let body = json!({ "to": reserve, "reason": "brakes" });
    coordinator.post_on(&format!("/v1/rigs/{}/exchange", county.engine_1), rev, body).await.ok();
    let (is, doubts) = confirmed(&coordinator, reserve).await;
    assert!(!is && !doubts.is_empty() && doubts.iter().all(|one| one.starts_with("not-tried")), "{doubts:?}");
    let all = [set.pump, set.cutter, set.spreader, set.ram, set.hose, set.second_hose];
    try_out(&coordinator, &all).await.ok();
    assert!(confirmed(&coordinator, reserve).await.0);
});

on_both!(a_look_over_after_use_on_the_rig_counts_as_tried_there, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let (rig, cutter) = (county.engine_1, county.spare_cutter);
    crew.swap(rig, cutter, "cutter").await.ok();
    let body = json!({ "id": Uuid::now_v7(), "rig": rig, "pieces": [cutter] });
    let used = id_of(&crew.post("/v1/uses", body).await.record());
    world.pass(TimeDelta::minutes(5));
    crew.post(&format!("/v1/uses/{used}/check"), json!({})).await.ok();
    assert_eq!(crew.piece(cutter).await["tried"]["at"], "2026-11-25T14:05:00.000000Z");
    assert_eq!(verdict(&crew, cutter).await.0, "yes");
    // Looked over once more after it was moved on, it was not tried on the other rig by that.
    world.officer().bring(cutter, on_rig(county.engine_2)).await.ok();
    world.pass(TimeDelta::minutes(5));
    crew.post(&format!("/v1/uses/{used}/check"), json!({})).await.ok();
    assert_eq!(crew.piece(cutter).await["tried"], json!(null));
});

on_both!(a_trial_that_is_sent_later_was_when_it_was_and_an_older_one_is_refused, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let cutter = county.spare_cutter;
    let mut swap = command(
        "swap.start",
        json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "piece": cutter, "on_the_way": false }),
    );
    swap["at"] = json!(world.clock.now() - TimeDelta::hours(2));
    let mut tried = command("piece.try_out", json!({ "pieces": [cutter] }));
    tried["at"] = json!(world.clock.now() - TimeDelta::hours(1));
    crew.apply(vec![swap, tried]).await;
    assert_eq!(crew.piece(cutter).await["tried"]["at"], "2026-11-25T13:00:00.000000Z");
    assert_eq!(verdict(&crew, cutter).await.0, "yes");
    let mut early = command("piece.try_out", json!({ "pieces": [cutter] }));
    early["at"] = json!(world.clock.now() - TimeDelta::hours(3));
    let answer = crew.send(vec![early]).await.ok();
    assert!(answer.to_string().contains("came aboard after that"), "{answer}");
});

on_both!(what_cannot_have_been_tried_is_refused_with_what_to_do, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let set = &county.set_1;
    officer.take_out(set.ram, "bent").await.ok();
    crew.report_as(set.spreader, "oil at the handle", "leak", "out_of_service").await.ok();
    for (pieces, words) in [
        (vec![county.spare_cutter], "R-CUT is on no rig"),
        (vec![set.cutter, set.ram], "E1-RAM is out of service"),
        (vec![set.spreader], "E1-SPR is out of service"),
    ] {
        let problem = try_out(&crew, &pieces).await.refused(409, "rule-broken");
        assert!(problem["detail"].as_str().unwrap().contains(words), "{problem}");
        assert_eq!(problem["field"], format!("body.pieces[{}]", pieces.len() - 1));
    }
    for (pieces, field) in [
        (vec![], "body.pieces"),
        (vec![set.cutter; 25], "body.pieces"),
        (vec![set.cutter, set.cutter], "body.pieces[1]"),
        (vec![set.cutter, county.set_2.cutter], "body.pieces[1]"),
        (vec![Uuid::now_v7()], "body.pieces[0]"),
    ] {
        let problem = try_out(&world.coordinator(), &pieces).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], field, "{pieces:?}");
    }
    assert_eq!(
        crew.piece(set.cutter).await["tried"],
        json!(null),
        "nothing was kept of a list that was refused"
    );
});

on_both!(
    a_rig_without_its_pump_misses_the_pump_alone_and_its_tools_run_again_with_one,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        let spare = Uuid::now_v7();
        coordinator
            .apply(vec![piece(spare, "R-PUMP", county.models.pump, on_shelf(county.station_2))])
            .await;
        coordinator.bring(county.set_1.pump, json!({ "at": "shop", "shop": county.shop })).await.ok();
        let standing = coordinator.capability(county.engine_1).await;
        assert_eq!((&standing["level"], &standing["completeness"]), (&json!("none"), &json!("incomplete")));
        let gaps = standing["gaps"].as_array().unwrap();
        let open: Vec<&str> = gaps.iter().filter(|gap| gap["in"] == "slot").map(|gap| gap["id"].as_str().unwrap()).collect();
        assert_eq!(open, ["power"]);
        let needs: Vec<&Value> = gaps.iter().filter(|gap| gap["in"] == "need").collect();
        assert_eq!(needs.len(), 3);
        for need in needs {
            assert_eq!(
                need["runs_again"],
                json!({ "kinds": ["power_unit"], "family": "flat-face single, mineral oil",
                "words": "runs again with a power unit on flat-face single, mineral oil" })
            );
        }
        let remedies = coordinator.find(&format!("/v1/rigs/{}/remedies", county.engine_1)).await;
        for item in remedies["items"].as_array().unwrap() {
            let found = item["candidates"].as_array().unwrap().iter().find(|one| one["tag"] == "R-PUMP");
            assert_eq!(found.map(|one| &one["restores"]), Some(&json!("full")), "{item}");
        }
    }
);
