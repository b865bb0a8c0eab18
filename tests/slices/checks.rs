//! Check plans and checks: what is due when, who may sign, what a pass proves, what a failure becomes.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, acts::rev_of, command, on_both, soon};

/// A weekly look at cutters, on Mondays at the start of the duty day.
pub fn weekly() -> Value {
    json!({
        "name": "Weekly check: cutter", "version": 1, "covers": { "kinds": ["cutter"] },
        "rhythm": { "every": "calendar", "rule": "FREQ=WEEKLY;BYDAY=MO", "start": "2026-01-05T07:00:00" },
        "steps": [
            { "id": "blades", "title": "Blades whole", "ask": { "kind": "yes_no", "sound": true }, "source": { "kind": "practice" }, "fails_as": "deformation" },
            { "id": "leak", "title": "Leak at the end stop", "ask": { "kind": "yes_no", "sound": false }, "source": { "kind": "practice" }, "fails_as": "leak" },
        ],
        "signer": "member", "grace_days": 7, "proves": ["checked"],
    })
}

/// A yearly measurement of spreaders: at least 90 % of the rated force (CHECKS A4: DGUV Grundsatz 305-002, 13.3.3).
fn yearly() -> Value {
    let force = json!({
        "kind": "number", "measure": "spreading_force", "units": ["kN"],
        "limits": [{ "kind": "share_of_rating", "bound": "at_least", "percent": 90, "of": "spreading_force" }],
    });
    json!({
        "name": "Annual service: spreader", "version": 1, "covers": { "kinds": ["spreader"] }, "rhythm": { "every": "months", "months": 12 },
        "steps": [
            { "id": "force", "title": "Spreading force", "ask": force, "fails_as": "pressure",
              "source": { "kind": "published", "text": "DGUV Grundsatz 305-002, 13.3.3" } },
        ],
        "signer": "technician", "grace_days": 30, "proves": ["checked", "serviced"],
    })
}

pub async fn in_force(world: &World, plan: Value) -> Uuid {
    let id = Uuid::now_v7();
    world.coordinator().post("/v1/check-plans", json!({ "id": id, "plan": plan })).await.ok();
    id
}

pub fn sound() -> Value {
    json!([{ "step": "blades", "said": { "kind": "yes_no", "yes": true } }, { "step": "leak", "said": { "kind": "yes_no", "yes": false } }])
}

fn leaks() -> Value {
    json!([{ "step": "blades", "said": { "kind": "yes_no", "yes": true } }, { "step": "leak", "said": { "kind": "yes_no", "yes": true } }])
}

async fn check(client: &Client, plan: Uuid, piece: Uuid, answers: Value) -> crate::world::Reply {
    client
        .post("/v1/checks", json!({ "plan": plan, "version": 1, "piece": piece, "answers": answers }))
        .await
}

async fn standing(client: &Client, piece: Uuid) -> Value {
    client.find(&format!("/v1/piece-standings/{piece}")).await
}

fn due(standing: &Value) -> &Value {
    &standing["due"][0]["due"]
}

on_both!(a_weekly_check_falls_due_is_missed_lowers_and_is_passed, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let cutter = county.set_1.cutter;
    let plan = in_force(world, weekly()).await;
    // It is Wednesday. The first is due on Monday at seven in Denver, and until then nothing is owed.
    let before = soon("judged by the plan", async || {
        Some(standing(&crew, cutter).await).filter(|one| due(one)["state"] == "at")
    })
    .await;
    assert_eq!(
        (&before["verdict"], &due(&before)["at"]),
        (&json!("yes"), &json!("2026-11-30T14:00:00.000000Z"))
    );
    assert_eq!(crew.capability(county.engine_1).await["confirmed"], true);
    world.pass(TimeDelta::days(5));
    let late = soon("overdue", async || Some(standing(&crew, cutter).await).filter(|one| one["verdict"] != "yes")).await;
    assert_eq!(
        (&late["verdict"], &late["reasons"][0]["code"]),
        (&json!("cannot_be_confirmed"), &json!("overdue-in-grace"))
    );
    let words = late["reasons"][0]["words"].as_str().unwrap();
    assert!(
        words.contains("Weekly check: cutter") && words.contains("inside its grace of 7 days"),
        "{words}"
    );
    let rig = crew.capability(county.engine_1).await;
    assert_eq!((&rig["level"], &rig["confirmed"]), (&json!("full"), &json!(false)));
    // Beyond its grace the piece counts for nothing.
    world.pass(TimeDelta::days(7));
    let beyond = soon("beyond its grace", async || {
        Some(standing(&crew, cutter).await).filter(|one| one["verdict"] == "no")
    })
    .await;
    assert_eq!(beyond["reasons"][0]["code"], "check-overdue");
    assert_ne!(crew.capability(county.engine_1).await["level"], "full");
    let done = check(&crew, plan, cutter, sound()).await.record();
    assert_eq!(
        (&done["outcome"], &done["counts"], &done["signed_off"]),
        (&json!("passed"), &json!(true), &json!(null))
    );
    let after = standing(&crew, cutter).await;
    // Done on Monday after the hour: it answers for that Monday, and the next is a week on.
    assert_eq!((&after["verdict"], &due(&after)["at"]), (&json!("yes"), &json!("2026-12-14T14:00:00.000000Z")));
    assert_eq!(crew.capability(county.engine_1).await["confirmed"], true);
});

on_both!(a_failed_step_is_a_defect_and_the_same_again_is_seen_again, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let cutter = county.set_1.cutter;
    let plan = in_force(world, weekly()).await;
    let done = check(&crew, plan, cutter, leaks()).await.record();
    assert_eq!(done["outcome"], "failed");
    assert_eq!(done["words"], "Not passed: Leak at the end stop: yes, and must be no");
    let defect = crew.find(&format!("/v1/defects/{}", done["steps"][1]["defect"].as_str().unwrap())).await;
    assert_eq!((&defect["class"], &defect["severity"]), (&json!("leak"), &json!("out_of_service")));
    assert_eq!(crew.piece(cutter).await["state"], "out_of_service");
    // What is wrong at another station anybody may say; that all is well only who is there.
    let next_door = world.member("crew_1");
    check(&next_door, plan, county.set_2.cutter, sound()).await.refused(403, "out-of-reach");
    check(&next_door, plan, county.set_2.cutter, leaks()).await.ok();
    assert_eq!(crew.piece(county.set_2.cutter).await["state"], "out_of_service");
    // A passed check ends nothing.
    world.pass(TimeDelta::minutes(5));
    check(&crew, plan, cutter, leaks()).await.ok();
    let open = crew.list("/v1/defects?state=open").await;
    assert_eq!(open.len(), 2, "{open:?}");
    let again = open.iter().find(|one| one["id"] == defect["id"]).unwrap();
    assert_eq!(again["seen_again"], 1);
    world.pass(TimeDelta::minutes(5));
    check(&crew, plan, cutter, sound()).await.ok();
    assert_eq!(crew.piece(cutter).await["state"], "out_of_service");
    assert_eq!(crew.list("/v1/defects?state=open").await.len(), 2);
    // Nor does it forget: what fails again is the same defect, as long as that is open.
    world.pass(TimeDelta::minutes(5));
    check(&crew, plan, cutter, leaks()).await.ok();
    let open = crew.list("/v1/defects?state=open").await;
    let again = open.iter().find(|one| one["id"] == defect["id"]).unwrap();
    assert_eq!((open.len(), &again["seen_again"]), (2, &json!(2)));
    let history = crew.find(&format!("/v1/checks/{}/history", done["id"].as_str().unwrap())).await;
    assert_eq!(history["items"].as_array().unwrap().len(), 4, "{history}");
});

on_both!(a_fault_that_was_found_is_kept_whoever_found_it, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let mut plan = weekly();
    plan["signer"] = json!("technician");
    let plan = in_force(world, plan).await;
    let cutter = county.set_1.cutter;
    check(&crew, plan, cutter, sound()).await.refused(409, "rule-broken");
    let some = json!([sound()[0]]);
    check(&crew, plan, cutter, some).await.refused(409, "rule-broken");
    let found = check(&crew, plan, cutter, leaks()).await.record();
    assert_eq!(found["outcome"], "failed", "{found}");
    assert!(found["steps"][1]["defect"].is_string(), "{found}");
    assert_eq!(crew.piece(cutter).await["state"], "out_of_service");
    let defects = crew.list(&format!("/v1/defects?parent={cutter}")).await;
    assert_eq!(defects.len(), 1, "{defects:?}");
});

on_both!(a_reading_at_the_bound_passes_and_one_below_it_does_not, async |world: &World| {
    let (county, admin, shop) = (world.county(), world.admin(), world.shop());
    let (first, second) = (county.set_1.spreader, county.set_2.spreader);
    let plan = in_force(world, yearly()).await;
    let reading = |kilonewton: f64| json!([{ "step": "force", "said": { "kind": "number", "value": { "value": kilonewton, "unit": "kN" } } }]);
    // A technician without a certificate on file does not sign, and nor does who is none.
    check(&shop, plan, first, reading(60.0)).await.refused(409, "rule-broken");
    let member = shop.person.id;
    let certificate = |until: &str| json!({ "paper": "Course 118", "until": until });
    shop.post(&format!("/v1/members/{member}/certificate"), certificate("2027-01-31"))
        .await
        .refused(403, "not-allowed");
    admin.post(&format!("/v1/members/{member}/certificate"), certificate("2026-11-24")).await.ok();
    check(&shop, plan, first, reading(60.0)).await.refused(409, "rule-broken");
    admin.post(&format!("/v1/members/{member}/certificate"), certificate("2026-11-25")).await.ok();
    check(&world.officer(), plan, first, reading(60.0)).await.refused(409, "rule-broken");
    let rated = admin.find(&format!("/v1/models/{}", admin.piece(first).await["model"].as_str().unwrap())).await;
    let rated = rated["ratings"]["spreading_force"]["value"]["value"].as_f64();
    let Some(rated) = rated else {
        // What is not on the plate cannot be held to: no pass, and no defect.
        let unknown = check(&shop, plan, first, reading(60.0)).await.record();
        assert_eq!(unknown["outcome"], "unknown", "{unknown}");
        return;
    };
    let passed = check(&shop, plan, first, reading(rated * 0.9)).await.record();
    assert_eq!(passed["outcome"], "passed", "{passed}");
    assert_eq!(shop.piece(first).await["last_service_on"], "2026-11-25");
    let failed = check(&shop, plan, second, reading(rated * 0.9 - 0.1)).await.ok();
    assert!(failed.to_string().contains(r#""outcome":"failed""#), "{failed}");
    assert_eq!(shop.piece(second).await["state"], "out_of_service");
});

on_both!(
    a_plan_that_asks_less_needs_a_reason_and_old_versions_prove_nothing_late,
    async |world: &World| {
        let (county, crew, coordinator) = (world.county(), world.crew(), world.coordinator());
        let cutter = county.set_1.cutter;
        let plan = in_force(world, weekly()).await;
        let path = format!("/v1/check-plans/{plan}");
        let mut less = weekly();
        less["steps"].as_array_mut().unwrap().pop();
        let rev = rev_of(&coordinator.find(&path).await);
        coordinator.patch_on(&path, rev, json!({ "plan": less })).await.refused(422, "reason-needed");
        world.pass(TimeDelta::hours(1));
        coordinator
            .patch_on(&path, rev, json!({ "plan": less, "reason": "no pump at hand" }))
            .await
            .ok();
        let kept = coordinator.find(&path).await;
        assert_eq!((&kept["plan"]["version"], &kept["earlier"][0]["asked"]["version"]), (&json!(2), &json!(1)));
        // Done before the change, sent after it: by the plan of then.
        let mut earlier = command("check.record", json!({ "plan": plan, "version": 1, "piece": cutter, "answers": sound() }));
        earlier["at"] = json!(world.clock.now() - TimeDelta::minutes(90));
        crew.apply(vec![earlier]).await;
        let done = &crew.list("/v1/checks").await[0];
        assert_eq!((&done["version"], &done["counts"]), (&json!(1), &json!(true)));
        assert_eq!(crew.piece(cutter).await["passes"].as_array().unwrap().len(), 1);
        // Done after it, by the plan of before: kept, and proves nothing.
        let late = check(&coordinator, plan, county.set_2.cutter, sound()).await.record();
        assert_eq!((&late["outcome"], &late["counts"]), (&json!("passed"), &json!(false)));
        assert_eq!(crew.piece(county.set_2.cutter).await["passes"], json!([]));
    }
);

on_both!(a_check_that_arrives_late_replaces_no_later_one, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let cutter = county.set_1.cutter;
    let plan = in_force(world, weekly()).await;
    world.pass(TimeDelta::hours(2));
    check(&crew, plan, cutter, sound()).await.ok();
    let mut late = command("check.record", json!({ "plan": plan, "version": 1, "piece": cutter, "answers": leaks() }));
    late["at"] = json!(world.clock.now() - TimeDelta::hours(1));
    crew.apply(vec![late]).await;
    let kept = &crew.list("/v1/checks").await[0];
    assert_eq!(kept["outcome"], "passed");
    // What was seen was seen: a person must look at it before the piece counts.
    assert_eq!(crew.piece(cutter).await["state"], "out_of_service");
});

on_both!(a_check_that_does_not_fit_is_refused_with_what_to_do, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let (cutter, ram) = (county.set_1.cutter, county.set_1.ram);
    let plan = in_force(world, weekly()).await;
    check(&crew, plan, ram, sound()).await.refused(409, "rule-broken");
    check(&crew, plan, cutter, json!([])).await.refused(422, "field-invalid");
    check(&crew, plan, cutter, json!([{ "step": "tips", "said": { "kind": "yes_no", "yes": true } }]))
        .await
        .refused(422, "field-invalid");
    let half = check(&crew, plan, cutter, json!([{ "step": "blades", "said": { "kind": "yes_no", "yes": true } }]))
        .await
        .record();
    assert_eq!(half["outcome"], "not_complete");
    assert_eq!(crew.piece(cutter).await["passes"], json!([]));
    let unknown = json!({ "plan": plan, "version": 9, "piece": cutter, "answers": sound() });
    crew.post("/v1/checks", unknown).await.refused(409, "rule-broken");
    crew.post("/v1/check-plans", json!({ "id": Uuid::now_v7(), "plan": weekly() }))
        .await
        .refused(403, "not-allowed");
    world
        .coordinator()
        .post("/v1/check-plans", json!({ "id": Uuid::now_v7(), "plan": weekly() }))
        .await
        .refused(409, "already-there");
});

on_both!(every_plan_to_begin_with_can_be_put_in_force, async |world: &World| {
    let coordinator = world.coordinator();
    let starters = coordinator.find("/v1/check-plans/starters").await;
    let starters = starters["items"].as_array().unwrap();
    let commands: Vec<Value> = starters
        .iter()
        .map(|starter| command("check_plan.add", json!({ "id": Uuid::now_v7(), "plan": starter["plan"] })))
        .collect();
    assert!((30..=60).contains(&commands.len()), "{}", commands.len());
    coordinator.apply(commands).await;
    let sent = world.crew().list("/v1/check-plans").await;
    assert_eq!(sent.len(), starters.len());
});

on_both!(who_is_not_signed_off_does_not_sign_and_nobody_signs_himself_off, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let plan = in_force(world, weekly()).await;
    let path = format!("/v1/members/{}/sign-offs", crew.person.id);
    let until = |day: &str| json!({ "kinds": ["cutter"], "until": day });
    crew.post(&path, until("2027-11-30")).await.refused(403, "not-allowed");
    officer
        .post(&format!("/v1/members/{}/sign-offs", officer.person.id), until("2027-11-30"))
        .await
        .refused(409, "rule-broken");
    // Nobody keeps sign-offs of this member: it may sign, and the check says that nobody knows.
    let unknown = check(&crew, plan, county.set_1.cutter, sound()).await.record();
    assert_eq!(unknown["signed_off"], Value::Null);
    // Where some are kept, what is not among them is not signed off.
    officer.post(&path, json!({ "kinds": ["spreader"], "until": "2027-11-30" })).await.ok();
    let told = check(&crew, plan, county.set_1.cutter, sound()).await.refused(409, "rule-broken");
    assert!(told["detail"].as_str().unwrap().contains("signed off on such gear"), "{told}");
    officer.post(&path, until("2027-11-30")).await.ok();
    let done = check(&crew, plan, county.set_1.cutter, sound()).await.record();
    assert_eq!(done["signed_off"], true);
    officer.post(&path, until("2026-11-24")).await.ok();
    check(&crew, plan, county.set_1.cutter, sound()).await.refused(409, "rule-broken");
});

on_both!(
    what_was_seen_stands_first_in_the_defect_and_is_said_of_steps_that_there_are,
    async |world: &World| {
        let (county, crew) = (world.county(), world.crew());
        let plan = in_force(world, weekly()).await;
        let record = async |findings: Value| {
            let body = json!({ "plan": plan, "version": 1, "piece": county.set_1.cutter, "answers": leaks(), "findings": findings });
            crew.post("/v1/checks", body).await
        };
        record(json!([{ "step": "tips", "words": "bent" }])).await.refused(422, "field-invalid");
        record(json!([{ "step": "leak", "words": "a" }, { "step": "leak", "words": "b" }]))
            .await
            .refused(422, "field-invalid");
        record(json!([{ "step": "leak", "words": "x".repeat(2_001) }]))
            .await
            .refused(422, "field-invalid");
        record(json!([{ "step": "leak", "photos": ["not a photo"] }]))
            .await
            .refused(422, "field-invalid");
        let photo = "ab".repeat(32);
        // What the rules of defects do not let a crew say is refused, and nothing of the check is taken.
        record(json!([{ "step": "leak", "usable": true }])).await.refused(409, "rule-broken");
        assert_eq!(crew.list("/v1/checks").await, Vec::<Value>::new());
        let done = record(json!([
            { "step": "blades", "words": "sound after all" },
            { "step": "leak", "words": "Drips at the swivel", "photos": [photo] },
        ]))
        .await
        .record();
        let defect = crew.find(&format!("/v1/defects/{}", done["steps"][1]["defect"].as_str().unwrap())).await;
        assert_eq!((&defect["seen_again"], &defect["photos"]), (&json!(0), &json!([photo])));
        assert_eq!(
            defect["what"],
            "Drips at the swivel (Weekly check: cutter: Leak at the end stop: yes, and must be no)"
        );
        assert_eq!(crew.list("/v1/defects?state=open").await.len(), 1);
    }
);

on_both!(a_look_after_use_answers_the_plan_after_use, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let cutter = county.set_1.cutter;
    let mut after_use = weekly();
    after_use["name"] = json!("After use: cutter");
    after_use["rhythm"] = json!({ "every": "use" });
    in_force(world, after_use).await;
    let used = Uuid::now_v7();
    crew.post("/v1/uses", json!({ "id": used, "rig": county.engine_1, "pieces": [cutter] }))
        .await
        .ok();
    let owed = soon("due by the plan", async || {
        Some(standing(&crew, cutter).await).filter(|one| due(one)["state"] == "at")
    })
    .await;
    assert_eq!(owed["verdict"], "cannot_be_confirmed");
    world.pass(TimeDelta::minutes(10));
    crew.post(&format!("/v1/uses/{used}/check"), json!({})).await.ok();
    let looked = standing(&crew, cutter).await;
    assert_eq!((&looked["verdict"], &due(&looked)["state"]), (&json!("yes"), &json!("not_yet")));
});

on_both!(what_falls_due_names_the_kind_of_the_piece_once, async |world: &World| {
    let (cutter, crew) = (world.county().set_1.cutter, world.crew());
    let plan = in_force(world, weekly()).await;
    check(&crew, plan, cutter, sound()).await.ok();
    assert_eq!(standing(&crew, cutter).await["holds_until_why"], "Weekly check of cutter E1-CUT due");
});
