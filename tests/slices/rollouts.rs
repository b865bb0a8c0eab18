//! A new set takes an old one's place, rig by rig. The clock stands at 2026-11-25, a Wednesday; its week began on 2026-11-23.

mod judged;
mod kit;
mod refused;

use std::collections::BTreeSet;

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, acts::id_of, county::piece, in_shop, on_both, on_rig, on_shelf};
use kit::{Rollout, WEEK, accept, card, set, sign_off};

on_both!(every_stage_holds_the_changeover_up_until_it_stands, async |world: &World| {
    let (county, coordinator, officer) = (world.county(), world.coordinator(), world.officer());
    let rollout = Rollout::set(world).await;
    coordinator.post("/v1/rollouts", rollout.body(world)).await.ok();
    coordinator.post("/v1/rollout-rigs", rollout.plan(world, Value::Null, &[])).await.ok();
    let mut left = set(["planned", "received", "accepted", "marked", "stowed", "trained"]);
    assert_eq!(rollout.holds(world).await, left);

    let path = format!("/v1/rollout-rigs/{}", rollout.rig);
    coordinator.edit(&path, json!({ "week": "2026-11-30" })).await.ok();
    assert_eq!(rollout.holds(world).await, left, "a week that is still to come");
    coordinator.edit(&path, json!({ "week": WEEK })).await.ok();
    left.remove("planned");
    assert_eq!(rollout.holds(world).await, left);

    coordinator.edit(&path, json!({ "pieces": [rollout.pump, rollout.cutter] })).await.ok();
    let held = rollout.held(world).await;
    assert!(held.contains(&("received".into(), "no Vantor H4 is assigned to Engine 1".into())), "{held:?}");
    coordinator
        .edit(&path, json!({ "pieces": [rollout.pump, rollout.cutter, rollout.hose] }))
        .await
        .ok();
    left.remove("received");
    assert_eq!(rollout.holds(world).await, left);
    // What is under way is not here.
    officer.move_to(rollout.hose, on_shelf(county.station_2)).await.ok();
    let held = rollout.held(world).await;
    assert!(
        held.contains(&("received".into(), "N-HOSE is on its way, to be on the shelf of Station 2".into())),
        "{held:?}"
    );
    officer.arrive(rollout.hose).await.ok();

    for (id, tag) in [(rollout.pump, "N-PUMP"), (rollout.cutter, "N-CUT"), (rollout.hose, "N-HOSE")] {
        let held = rollout.held(world).await;
        assert!(
            held.contains(&("accepted".into(), format!("{tag} has no acceptance test with readings"))),
            "{held:?}"
        );
        accept(&world.shop(), id).await;
    }
    left.remove("accepted");
    assert_eq!(rollout.holds(world).await, left);
    rollout.confirm(&officer, "marked").await.ok();
    left.remove("marked");
    assert_eq!(rollout.holds(world).await, left);

    rollout.confirm(&officer, "stowed").await.ok();
    assert_eq!(rollout.holds(world).await, left, "there is no card");
    card(&coordinator, rollout.models[0]).await;
    let held = rollout.held(world).await;
    assert!(held.contains(&("stowed".into(), "Vantor C4 has no approved operating card".into())), "{held:?}");
    card(&coordinator, rollout.models[1]).await;
    left.remove("stowed");
    assert_eq!(rollout.holds(world).await, left);

    // A banned adapter that is aboard.
    let strange = Uuid::now_v7();
    world
        .admin()
        .apply(vec![piece(strange, "N-ADP", rollout.adapter, on_rig(county.engine_1))])
        .await;
    left.insert("apart".into());
    assert_eq!(rollout.holds(world).await, left);
    officer.bring(strange, on_shelf(county.station_1)).await.ok();
    left.remove("apart");
    assert_eq!(rollout.holds(world).await, left);
});

on_both!(no_rig_changes_over_before_each_shift_has_its_minimum, async |world: &World| {
    let (county, officer, chief) = (world.county(), world.officer(), world.member("chief"));
    let rollout = Rollout::set(world).await;
    rollout.begin(world).await;
    let trained = async || -> Vec<String> {
        let all = rollout.held(world).await;
        all.into_iter().filter(|(stage, _)| stage == "trained").map(|(_, words)| words).collect()
    };
    // A roster that is not on record is not an empty one.
    assert_eq!(
        trained().await,
        [
            "A shift of Station 1: who belongs to it is not known; enter its roster",
            "B shift of Station 1: who belongs to it is not known; enter its roster",
        ]
    );
    rollout.shifts(world).await;
    let (crew, b) = (world.crew().person.id, world.member("crew_1").person.id);
    let none = [
        "A shift of Station 1: 0 of at least 2 are signed off on the new set",
        "B shift of Station 1: 0 of at least 1 are signed off on the new set",
    ];
    assert_eq!(trained().await, none);
    // A sign-off on the kinds is one on what leaves.
    for member in [crew, officer.person.id, b] {
        sign_off(&chief, member, Value::Null, "2027-11-30").await;
    }
    assert_eq!(trained().await, none);
    sign_off(&chief, crew, json!("Vantor 4"), "2027-11-30").await;
    sign_off(&chief, b, json!("VANTOR 4"), "2026-11-25").await;
    // Half of the set is not the set.
    let half = json!({ "kinds": ["cutter"], "family": "Vantor 4", "until": "2027-11-30" });
    chief.post(&format!("/v1/members/{}/sign-offs", officer.person.id), half).await.ok();
    assert_eq!(trained().await, ["A shift of Station 1: 1 of at least 2 are signed off on the new set"]);
    sign_off(&chief, officer.person.id, json!("Vantor 4"), "2027-11-30").await;
    assert_eq!(trained().await, [""; 0]);

    // What runs out counts no more, from the day after.
    world.pass(TimeDelta::days(1));
    assert_eq!(trained().await, ["B shift of Station 1: 0 of at least 1 are signed off on the new set"]);
    sign_off(&chief, b, json!("Vantor 4"), "2027-11-30").await;
    // Nor does who has left, nor a shift that nobody has thought of.
    world.admin().edit(&format!("/v1/members/{crew}"), json!({ "active": false })).await.ok();
    let body = json!({ "id": Uuid::now_v7(), "station": county.station_1, "name": "D shift", "members": [] });
    officer.post("/v1/shifts", body).await.ok();
    assert_eq!(
        trained().await,
        [
            "A shift of Station 1: 1 of at least 2 are signed off on the new set",
            "D shift of Station 1: the rollout sets no minimum for it",
        ]
    );
    let progress = officer.find(&format!("/v1/rollouts/{}/progress", rollout.id)).await;
    let shifts = &progress["stations"][0]["shifts"];
    assert_eq!(
        shifts[0],
        json!({ "shift": "A shift", "exists": true, "minimum": 2, "roster": 1, "signed": 1, "waiting": [], "missing": [], "twice": [] }),
        "{progress}"
    );
    assert_eq!((&shifts[2]["shift"], &shifts[2]["minimum"]), (&json!("D shift"), &Value::Null));
});

on_both!(what_a_changeover_keeps_is_offered_to_no_other_rig, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let m = county.models;
    coordinator.take_out(county.set_1.cutter, "stiff").await.ok();
    let offered = async || {
        let plan = coordinator.find("/v1/swap-plan").await;
        let moved: Vec<String> = plan["moves"].as_array().unwrap().iter().map(|one| one["tag"].to_string()).collect();
        (coordinator.stand_ins(county.engine_1, "cut").await, moved)
    };
    let free = offered().await;
    assert_eq!(free, (vec!["R-CUT".to_owned()], vec!["\"R-CUT\"".to_owned()]));

    world
        .admin()
        .edit(&format!("/v1/models/{}", m.cutter), json!({ "family": "Dorvan 81" }))
        .await
        .ok();
    let (rollout, rig) = (Uuid::now_v7(), Uuid::now_v7());
    let body = json!({
        "id": rollout, "name": "One more cutter", "models": [m.cutter], "replaces": [m.ram],
        "minimums": [{ "shift": "A shift", "members": 1 }], "banned_adapters": [], "most_a_week": 1,
    });
    coordinator.post("/v1/rollouts", body).await.ok();
    let plan = json!({ "id": rig, "rollout": rollout, "rig": county.truck_3, "week": WEEK, "pieces": [county.spare_cutter] });
    coordinator.post("/v1/rollout-rigs", plan).await.ok();
    assert_eq!(offered().await, (vec![], vec![]));
    let allows = coordinator.piece(county.spare_cutter).await["allows"].clone();
    assert!(!allows.as_array().unwrap().contains(&json!("stand_in")), "{allows}");

    let path = format!("/v1/rollout-rigs/{rig}");
    coordinator.post_on(&format!("{path}/drop"), coordinator.rev(&path).await, json!({})).await.ok();
    assert_eq!(offered().await, free);
});

on_both!(the_old_set_leaves_and_the_new_one_comes_in_one_act, async |world: &World| {
    let (county, coordinator, officer) = (world.county(), world.coordinator(), world.officer());
    let rollout = Rollout::set(world).await;
    rollout.prepare(world).await;
    // By no other door: not moved, not sent, not as a stand-in.
    let words = "is kept for a rig's changeover";
    let moved = officer.bring(rollout.cutter, on_rig(county.engine_1)).await.refused(409, "rule-broken");
    assert!(moved["detail"].as_str().unwrap().contains(words), "{moved}");
    let sent = officer.move_to(rollout.cutter, on_rig(county.truck_3)).await.refused(409, "rule-broken");
    assert!(sent["detail"].as_str().unwrap().contains(words), "{sent}");
    assert!(!officer.swap(county.truck_3, rollout.cutter, "cutter").await.done());

    assert_eq!(rollout.holds(world).await, set(["trained"]));
    let chief = world.member("chief");
    for member in [world.crew(), officer.clone(), world.member("crew_1")] {
        sign_off(&chief, member.person.id, json!("Vantor 4"), "2027-11-30").await;
    }
    let path = format!("/v1/rollouts/{}/progress", rollout.id);
    let before = officer.find(&path).await;
    let rig = &before["weeks"][0]["rigs"][0];
    assert_eq!(
        (&rig["ready"], &rig["name"], &before["changed_over"]),
        (&json!(true), &json!("Engine 1"), &json!(0)),
        "{before}"
    );
    assert_eq!(rig["old"].as_array().unwrap().len(), 6, "the whole old set is aboard: {rig}");
    let north = &before["weeks"][0]["districts"][0];
    assert_eq!(
        (&north["too_many"], &north["full"], &north["minimum"], &north["away"]),
        (&json!(true), &json!(2), &json!(2), &json!(1)),
        "{before}"
    );
    world
        .crew()
        .post(
            &format!("/v1/rollout-rigs/{}/change-over", rollout.rig),
            json!({ "old_to": in_shop(county.shop) }),
        )
        .await
        .refused(403, "not-allowed");
    let done = rollout.change_over(&officer, world).await.record();
    assert_eq!((&done["changed_over"]["by"], &done["allows"]), (&officer.person.told(), &json!([])), "{done}");
    assert_eq!(done["went"].as_array().unwrap().len(), 6);

    for id in [rollout.pump, rollout.cutter, rollout.hose] {
        let piece = officer.piece(id).await;
        assert_eq!(
            (&piece["place"], &piece["home"], &piece["kept_for"]),
            (&on_rig(county.engine_1), &on_rig(county.engine_1), &Value::Null),
            "{piece}"
        );
    }
    let old = officer.piece(county.set_1.cutter).await;
    assert_eq!((&old["place"]["at"], &old["home"]), (&json!("transit"), &in_shop(county.shop)), "{old}");

    // Aboard is not tried, and sent is not arrived.
    let after = officer.find(&path).await;
    let rig = &after["weeks"][0]["rigs"][0];
    let stage = |name: &str| rig["stages"].as_array().unwrap().iter().find(|one| one["stage"] == name).unwrap().clone();
    assert_eq!(stage("in_service")["held_by"][0], "N-PUMP was not tried on Engine 1 yet");
    assert!(
        stage("withdrawn")["held_by"]
            .to_string()
            .contains("E1-CUT of the old set is on its way, to be in Fleet shop"),
        "{rig}"
    );
    assert_eq!((&after["changed_over"], &rig["ready"]), (&json!(1), &json!(false)));
    for old in done["went"].as_array().unwrap() {
        world.shop().arrive(old["piece"].as_str().unwrap().parse().unwrap()).await.ok();
    }
    for id in [rollout.pump, rollout.cutter, rollout.hose] {
        officer.post("/v1/pieces/try-out", json!({ "pieces": [id] })).await.ok();
    }
    let end = officer.find(&path).await;
    let rig = &end["weeks"][0]["rigs"][0];
    assert!(rig["stages"].as_array().unwrap().iter().all(|stage| stage["done"] == true), "{rig}");
    assert_eq!(rig["old"][0]["place"], "in Fleet shop");
    rollout.change_over(&officer, world).await.refused(409, "rule-broken");

    // A piece of the old set that comes back aboard holds the last stage again; the other fluid keeps it off anyway.
    officer.bring(county.set_1.cutter, on_rig(county.engine_1)).await.refused(409, "rule-broken");
    let close = format!("/v1/rollouts/{}", rollout.id);
    coordinator
        .post_on(&format!("{close}/close"), coordinator.rev(&close).await, json!({ "note": "done" }))
        .await
        .ok();
    assert_eq!(coordinator.find(&close).await["allows"], json!([]));
});

on_both!(
    what_could_join_the_two_sets_by_accident_is_named_and_never_called_safe,
    async |world: &World| {
        let coordinator = world.coordinator();
        let rollout = Rollout::set(world).await;
        rollout.begin(world).await;
        let path = format!("/v1/rollouts/{}/sets", rollout.id);
        let sets = coordinator.find(&path).await;
        let joints = sets["joints"].as_array().unwrap().clone();
        assert!(
            joints.iter().all(|joint| joint["verdict"] == "wrong"),
            "every pair mates and holds another fluid: {sets}"
        );
        let words: BTreeSet<&str> = joints.iter().map(|joint| joint["words"].as_str().unwrap()).collect();
        assert!(
            words.contains("the old Dorvan P2 mates with the new Vantor H4: made for phosphate ester, never to be mixed with mineral oil"),
            "{words:?}"
        );
        assert!(
            words.contains("the new Vantor H4 mates with the old Dorvan C81: made for mineral oil, never to be mixed with phosphate ester"),
            "{words:?}"
        );
        assert_eq!((sets["old"].as_array().unwrap().len(), sets["new"].as_array().unwrap().len()), (5, 3));
        assert_eq!(sets["adapters"][0]["banned"], true, "{sets}");
        assert!(sets["cautions"][0].as_str().unwrap().starts_with("Never join"), "{sets}");

        // Of a hose nobody knows anything: then nobody knows what it could be joined to.
        let extra = Uuid::now_v7();
        let bare = json!({ "id": extra, "name": "Nameless hose", "kind": "hose", "hookup": {} });
        coordinator.post("/v1/models", bare).await.ok();
        let mut body = rollout.body(world);
        body["id"] = json!(Uuid::now_v7());
        body["name"] = json!("Another");
        body["replaces"] = json!([extra]);
        let other = id_of(&coordinator.post("/v1/rollouts", body).await.record());
        let sets = coordinator.find(&format!("/v1/rollouts/{other}/sets")).await;
        let joints = sets["joints"].as_array().unwrap();
        assert!(!joints.is_empty());
        for joint in joints {
            assert_eq!(joint["verdict"], "unknown", "{joint}");
            assert!(joint["words"].as_str().unwrap().contains("may mate with"), "{joint}");
            assert!(joint["words"].as_str().unwrap().contains("coupling unknown"), "{joint}");
        }
    }
);
