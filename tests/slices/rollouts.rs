//! A new set takes an old one's place, rig by rig. The clock stands at 2026-11-25, a Wednesday; its week began on 2026-11-23.

use std::collections::BTreeSet;

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, Reply, World,
    acts::{id_of, paper, tested},
    command,
    county::piece,
    in_shop, on_both, on_rig, on_shelf,
};

/// A new set of the old couplings that holds another fluid, and what it needs.
struct Rollout {
    id: Uuid,
    /// Its place for Engine 1.
    rig: Uuid,
    pump: Uuid,
    cutter: Uuid,
    hose: Uuid,
    models: [Uuid; 3],
    /// Joins the twin-line family, of which the rollout has nothing.
    adapter: Uuid,
}

const WEEK: &str = "2026-11-23";

impl Rollout {
    /// The models, three pieces on the shelf of station 1, an adapter; nothing is started.
    async fn set(world: &World) -> Self {
        let fresh = Uuid::now_v7;
        let (county, admin) = (world.county(), world.admin());
        let all = Self {
            id: fresh(),
            rig: fresh(),
            pump: fresh(),
            cutter: fresh(),
            hose: fresh(),
            models: [fresh(), fresh(), fresh()],
            adapter: fresh(),
        };
        let hookup = json!({ "coupling": "flat-face single", "fluid": "phosphate ester", "pressure": { "value": 10400, "unit": "psi" } });
        let mut acts = Vec::new();
        for (id, name, kind, family) in [
            (all.models[0], "Vantor P4", "power_unit", json!("Vantor 4")),
            (all.models[1], "Vantor C4", "cutter", json!("Vantor 4")),
            (all.models[2], "Vantor H4", "hose", Value::Null),
        ] {
            acts.push(command(
                "model.add",
                json!({ "id": id, "name": name, "kind": kind, "family": family, "hookup": hookup }),
            ));
        }
        let bridge = json!({ "coupling": "twin-line", "tool_coupling": "flat-face single" });
        acts.push(command(
            "model.add",
            json!({ "id": all.adapter, "name": "Bridge TF", "kind": "adapter", "hookup": bridge }),
        ));
        for (id, tag, model) in [
            (all.pump, "N-PUMP", all.models[0]),
            (all.cutter, "N-CUT", all.models[1]),
            (all.hose, "N-HOSE", all.models[2]),
        ] {
            acts.push(piece(id, tag, model, on_shelf(county.station_1)));
        }
        admin.apply(acts).await;
        all
    }

    fn body(&self, world: &World) -> Value {
        let m = world.county().models;
        json!({
            "id": self.id, "name": "The new engines' sets", "models": self.models, "replaces": [m.pump, m.cutter, m.spreader, m.ram, m.hose],
            "minimums": [{ "shift": "A shift", "members": 2 }, { "shift": "B shift", "members": 1 }], "banned_adapters": [self.adapter], "most_a_week": 1,
        })
    }

    fn plan(&self, world: &World, week: Value, pieces: &[Uuid]) -> Value {
        json!({ "id": self.rig, "rollout": self.id, "rig": world.county().engine_1, "week": week, "pieces": pieces })
    }

    /// Started, and Engine 1 planned for this week with all three pieces.
    async fn begin(&self, world: &World) {
        let coordinator = world.coordinator();
        coordinator.post("/v1/rollouts", self.body(world)).await.ok();
        let plan = self.plan(world, json!(WEEK), &[self.pump, self.cutter, self.hose]);
        coordinator.post("/v1/rollout-rigs", plan).await.ok();
    }

    /// Everything that Engine 1 needs, but the sign-offs.
    async fn prepare(&self, world: &World) {
        self.begin(world).await;
        let (coordinator, officer) = (world.coordinator(), world.officer());
        for id in [self.pump, self.cutter, self.hose] {
            accept(&world.shop(), id).await;
        }
        for model in [self.models[0], self.models[1]] {
            card(&coordinator, model).await;
        }
        for what in ["marked", "stowed"] {
            self.confirm(&officer, what).await.ok();
        }
        self.shifts(world).await;
    }

    /// A shift: officer and crew; B shift: the shop's member.
    async fn shifts(&self, world: &World) {
        let officer = world.officer();
        for (name, members) in [
            ("A shift", vec![world.crew().person.id, officer.person.id]),
            ("B shift", vec![world.member("crew_1").person.id]),
        ] {
            let body = json!({ "id": Uuid::now_v7(), "station": world.county().station_1, "name": name, "members": members });
            officer.post("/v1/shifts", body).await.ok();
        }
    }

    async fn confirm(&self, client: &Client, what: &str) -> Reply {
        let body = json!({ "what": what, "words": "left side, second compartment" });
        client.post(&format!("/v1/rollout-rigs/{}/confirm", self.rig), body).await
    }

    async fn change_over(&self, client: &Client, world: &World) -> Reply {
        let path = format!("/v1/rollout-rigs/{}", self.rig);
        let rev = client.rev(&path).await;
        let body = json!({ "old_to": in_shop(world.county().shop), "words": "at the noon relief" });
        client.post_on(&format!("{path}/change-over"), rev, body).await
    }

    /// The stages that hold the changeover up, with what is said of them.
    async fn held(&self, world: &World) -> Vec<(String, String)> {
        let refused = self.change_over(&world.officer(), world).await.refused(409, "rule-broken");
        let errors = refused["errors"].as_array().unwrap_or_else(|| panic!("{refused}")).iter();
        let word = |value: &Value| value.as_str().unwrap().to_owned();
        let all: Vec<_> = errors.map(|one| (word(&one["field"]).replace("stages.", ""), word(&one["detail"]))).collect();
        for (_, words) in &all {
            assert!(refused["detail"].as_str().unwrap().contains(words), "{refused}");
        }
        all
    }

    async fn holds(&self, world: &World) -> BTreeSet<String> {
        self.held(world).await.into_iter().map(|(stage, _)| stage).collect()
    }
}

async fn accept(shop: &Client, id: Uuid) {
    let mut evidence = tested();
    evidence["makers_service"] = paper("2026-11-25");
    let body = json!({ "id": id, "on": "2026-11-25", "by_whom": "the maker", "evidence": evidence });
    shop.post(&format!("/v1/pieces/{id}/serviced"), body).await.ok();
}

async fn card(coordinator: &Client, model: Uuid) {
    let text = json!({
        "stowed": "", "start": "1. Hose on", "levers": "", "controls": "", "differs": "The valve is on the left", "shut_down": "", "restow": "",
        "care": "", "cautions": "", "replaces": null, "pictures": [],
    });
    let draft = json!({ "id": Uuid::now_v7(), "subject": { "of": "model", "model": model }, "from_version": 0, "text": text });
    let path = format!("/v1/card-drafts/{}", id_of(&coordinator.post("/v1/card-drafts", draft).await.record()));
    coordinator
        .post_on(&format!("{path}/approve"), coordinator.rev(&path).await, json!({}))
        .await
        .ok();
}

/// Signs a member off on the new family, or with none on the kinds alone.
async fn sign_off(by: &Client, member: Uuid, family: Value, until: &str) {
    let body = json!({ "kinds": ["power_unit", "cutter"], "family": family, "until": until });
    by.post(&format!("/v1/members/{member}/sign-offs"), body).await.ok();
}

fn set<const N: usize>(words: [&str; N]) -> BTreeSet<String> {
    words.map(str::to_owned).into()
}

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
    let body = json!({ "id": Uuid::now_v7(), "station": county.station_1, "name": "D shift", "members": [b] });
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
        json!({ "shift": "A shift", "minimum": 2, "roster": 1, "signed": 1, "waiting": [] }),
        "{progress}"
    );
    assert_eq!((&shifts[2]["shift"], &shifts[2]["minimum"]), (&json!("D shift"), &Value::Null));
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
        officer.post(&format!("/v1/pieces/{id}/try-out"), json!({})).await.ok();
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
        let (county, coordinator) = (world.county(), world.coordinator());
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

        // Nobody knows what the hose holds: then nobody knows what would come of it.
        let hose = format!("/v1/models/{}", county.models.hose);
        let unknown = json!({ "hookup": { "coupling": "flat-face single", "pressure": { "value": 10400, "unit": "psi" } } });
        coordinator.edit(&hose, unknown).await;
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

on_both!(a_rollout_that_cannot_be_is_refused_with_the_field, async |world: &World| {
    let (county, coordinator, officer) = (world.county(), world.coordinator(), world.officer());
    let rollout = Rollout::set(world).await;
    officer.post("/v1/rollouts", rollout.body(world)).await.refused(403, "not-allowed");
    let m = county.models;
    for (field, value, at) in [
        ("name", json!(" "), "body.name"),
        ("models", json!([]), "body.models"),
        ("models", json!([m.twin_cutter]), "body.models[0]"),
        ("models", json!([rollout.models[1], rollout.models[1]]), "body.models[1]"),
        ("models", json!([Uuid::now_v7()]), "body.models[0]"),
        ("replaces", json!([]), "body.replaces"),
        ("replaces", json!([m.pump, rollout.models[0]]), "body.replaces[1]"),
        ("minimums", json!([]), "body.minimums"),
        ("minimums", json!([{ "shift": "A", "members": 0 }]), "body.minimums[0].members"),
        ("minimums", json!([{ "shift": "A", "members": 21 }]), "body.minimums[0].members"),
        (
            "minimums",
            json!([{ "shift": "A", "members": 1 }, { "shift": "a", "members": 1 }]),
            "body.minimums[1].shift",
        ),
        ("banned_adapters", json!([m.hose]), "body.banned_adapters[0]"),
        ("most_a_week", json!(0), "body.most_a_week"),
        ("most_a_week", json!(501), "body.most_a_week"),
    ] {
        let mut body = rollout.body(world);
        body[field] = value;
        let refused = coordinator.post("/v1/rollouts", body).await.refused(422, "field-invalid");
        assert_eq!(refused["field"], at, "{refused}");
    }
    coordinator.post("/v1/rollouts", rollout.body(world)).await.ok();
    for (week, pieces, at) in [
        (json!("2026-11-24"), vec![], "body.week"),
        (json!("2026-11-16"), vec![], "body.week"),
        (json!(WEEK), vec![rollout.hose, rollout.hose], "body.pieces[1]"),
        (json!(WEEK), vec![county.spare_cutter], "body.pieces[0]"),
        (json!(WEEK), vec![Uuid::now_v7()], "body.pieces[0]"),
        (json!(WEEK), vec![rollout.hose; 61], "body.pieces"),
    ] {
        let refused = coordinator
            .post("/v1/rollout-rigs", rollout.plan(world, week, &pieces))
            .await
            .refused(422, "field-invalid");
        assert_eq!(refused["field"], at, "{refused}");
    }
    let plan = rollout.plan(world, json!(WEEK), &[rollout.hose]);
    officer.post("/v1/rollout-rigs", plan.clone()).await.refused(403, "not-allowed");
    coordinator.post("/v1/rollout-rigs", plan).await.ok();
    // One rig a week, each rig once, each piece for one rig.
    let other = |rig: Uuid, week: &str, pieces: &[Uuid]| json!({ "id": Uuid::now_v7(), "rollout": rollout.id, "rig": rig, "week": week, "pieces": pieces });
    coordinator
        .post("/v1/rollout-rigs", other(county.engine_1, "2026-11-30", &[]))
        .await
        .refused(409, "rule-broken");
    let full = coordinator
        .post("/v1/rollout-rigs", other(county.engine_2, WEEK, &[]))
        .await
        .refused(409, "rule-broken");
    assert!(full["detail"].as_str().unwrap().contains("Engine 1"), "{full}");
    let taken = coordinator
        .post("/v1/rollout-rigs", other(county.engine_2, "2026-11-30", &[rollout.hose]))
        .await
        .refused(422, "field-invalid");
    assert_eq!(taken["field"], "body.pieces[0]");
});

on_both!(what_asks_for_less_needs_a_reason_and_a_new_choice_voids_what_was_said, async |world: &World| {
    let (county, coordinator, officer) = (world.county(), world.coordinator(), world.officer());
    let rollout = Rollout::set(world).await;
    rollout.begin(world).await;
    let path = format!("/v1/rollouts/{}", rollout.id);
    let less = json!({ "minimums": [{ "shift": "A shift", "members": 1 }] });
    let refused = coordinator.edit(&path, less.clone()).await.refused(422, "reason-needed");
    assert!(refused["detail"].as_str().unwrap().contains("asks 1 instead of 2 of A shift"), "{refused}");
    coordinator.edit(&path, json!({ "banned_adapters": [] })).await.refused(422, "reason-needed");
    coordinator
        .edit(
            &path,
            json!({ "minimums": [{ "shift": "A SHIFT", "members": 3 }, { "shift": "B shift", "members": 1 }] }),
        )
        .await
        .ok();
    let mut said = less;
    said["reason"] = json!("B shift was given up");
    coordinator.edit(&path, said).await.ok();

    world
        .member("officer_1")
        .post(
            &format!("/v1/rollout-rigs/{}/confirm", rollout.rig),
            json!({ "what": "marked", "words": "etched" }),
        )
        .await
        .ok();
    rollout.confirm(&world.crew(), "marked").await.refused(403, "not-allowed");
    let rig = format!("/v1/rollout-rigs/{}", rollout.rig);
    coordinator.edit(&rig, json!({ "week": "2026-11-30" })).await.ok();
    assert_eq!(officer.find(&rig).await["marked"]["words"], "etched", "another week is the same pieces");
    coordinator.edit(&rig, json!({ "pieces": [rollout.pump, rollout.cutter] })).await.ok();
    assert_eq!(officer.find(&rig).await["marked"], Value::Null);
    // What is let go is free again.
    officer.bring(rollout.hose, on_rig(county.truck_3)).await.ok();

    let close = coordinator
        .post_on(&format!("{path}/close"), coordinator.rev(&path).await, json!({ "note": "done" }))
        .await
        .refused(409, "rule-broken");
    assert!(close["detail"].as_str().unwrap().starts_with("Engine 1 did not change over yet"), "{close}");
    coordinator.post(&format!("{rig}/drop"), json!({})).await.refused(428, "revision-needed");
    coordinator.post_on(&format!("{rig}/drop"), coordinator.rev(&rig).await, json!({})).await.ok();
    assert_eq!(officer.piece(rollout.pump).await["kept_for"], Value::Null);
    coordinator
        .post_on(&format!("{path}/close"), coordinator.rev(&path).await, json!({ "note": "given up" }))
        .await
        .ok();
    let closed = coordinator.edit(&path, json!({ "note": "more" })).await.refused(409, "rule-broken");
    assert!(closed["detail"].as_str().unwrap().contains("closed"), "{closed}");
    coordinator
        .post("/v1/rollout-rigs", rollout.plan(world, Value::Null, &[]))
        .await
        .refused(409, "already-there");
});

on_both!(a_rig_out_of_reach_is_neither_spoken_for_nor_changed_over, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let rollout = Rollout::set(world).await;
    coordinator.post("/v1/rollouts", rollout.body(world)).await.ok();
    let id = Uuid::now_v7();
    let plan = json!({ "id": id, "rollout": rollout.id, "rig": county.engine_2, "week": WEEK, "pieces": [rollout.hose] });
    coordinator.post("/v1/rollout-rigs", plan).await.ok();
    let officer = world.member("officer_1");
    let path = format!("/v1/rollout-rigs/{id}");
    officer
        .post(&format!("{path}/confirm"), json!({ "what": "marked", "words": "etched" }))
        .await
        .refused(403, "out-of-reach");
    let rev = officer.rev(&path).await;
    let body = json!({ "old_to": in_shop(county.shop) });
    officer
        .post_on(&format!("{path}/change-over"), rev, body.clone())
        .await
        .refused(403, "out-of-reach");
    world.officer().post(&format!("{path}/change-over"), body).await.refused(428, "revision-needed");
    let rig = json!({ "old_to": on_rig(county.truck_3) });
    let refused = world
        .officer()
        .post_on(&format!("{path}/change-over"), rev, rig)
        .await
        .refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.old_to.at");
});
