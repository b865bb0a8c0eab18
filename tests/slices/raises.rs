//! Every act that raises an answer is a release: it is shown before it is done, says why, and is not done by typing where evidence is
//! asked. Each scene was seen done without a word once. Common practice, no source, unless one is named.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, World,
    acts::{id_of, rev_of},
    command,
    county::{engine_complement, grades, piece},
    expecting, on_both, on_rig, on_shelf,
};

fn opening(inches: f64) -> Value {
    json!({ "cutter_opening": { "value": inches, "unit": "in", "standard": "NFPA 1936", "edition": "2015" } })
}

fn wet(fluid: &str) -> Value {
    json!({ "coupling": "flat-face single", "fluid": fluid, "pressure": { "value": 10400, "unit": "psi" } })
}

/// Adds a cutter model; answers its id.
async fn cutter_model(world: &World, name: &str, hookup: Value, inches: f64) -> Uuid {
    let id = Uuid::now_v7();
    let body = json!({ "id": id, "name": name, "kind": "cutter", "hookup": hookup, "ratings": opening(inches) });
    world.coordinator().post("/v1/models", body).await.ok();
    id
}

/// The edit is refused until it says why, and then done; the refusal names this.
async fn says_why(client: &Client, path: &str, body: Value, named: &[&str]) {
    let revision = client.revision().await;
    let problem = client.edit(path, body.clone()).await.refused(422, "reason-needed");
    assert_eq!(problem["field"], "body.reason");
    let detail = problem["detail"].as_str().unwrap();
    for words in named {
        assert!(detail.contains(words), "'{words}' is not in: {detail}");
    }
    let with = |reason: &str| {
        let mut body = body.clone();
        body["reason"] = json!(reason);
        body
    };
    client.edit(path, with(" ")).await.refused(422, "field-invalid");
    assert_eq!(client.revision().await, revision, "nothing was done");
    client.edit(path, with("read off the plate on Monday")).await.ok();
    let history = client.find(&format!("{path}/history")).await;
    assert_eq!(history["items"][0]["body"]["reason"], "read off the plate on Monday", "{history}");
}

on_both!(a_piece_that_becomes_another_model_raises_its_rig_for_a_reason_only, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let small = cutter_model(world, "Dorvan C50", wet("mineral oil"), 5.0).await;
    let path = format!("/v1/pieces/{}", county.set_1.cutter);
    // What lowers an answer needs none.
    coordinator.edit(&path, json!({ "model": small })).await.ok();
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "limited");
    says_why(
        &coordinator,
        &path,
        json!({ "model": county.models.cutter }),
        &["This raises 1 rig: Engine 1 (limited to full)", "Write why"],
    )
    .await;
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "full");
});

on_both!(a_rating_that_is_typed_in_raises_every_rig_for_a_reason_only, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/models/{}", county.models.cutter);
    coordinator.edit(&path, json!({ "ratings": opening(5.0) })).await.ok();
    coordinator.edit(&path, json!({ "name": "Dorvan C50" })).await.ok();
    let named = ["This raises 2 rigs: ", "Engine 1 (limited to full)", "Engine 2 (limited to full)"];
    says_why(&coordinator, &path, json!({ "ratings": opening(8.1) }), &named).await;
});

on_both!(couplings_that_are_said_to_mate_raise_a_rig_for_a_reason_only, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.take_out(county.set_1.cutter, "blade chipped").await.ok();
    coordinator.bring(county.twin_cutter, on_rig(county.engine_1)).await.ok();
    let path = format!("/v1/couplings/{}", county.couplings.twin_line);
    let named = ["Engine 1 (limited to full)", "1 piece: R-TWIN (not on this rig to cannot be confirmed)"];
    says_why(&coordinator, &path, json!({ "mates_with": [county.couplings.flat_face] }), &named).await;
});

on_both!(a_class_that_asks_for_less_says_why, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/rig-classes/{}", county.engine_class);
    let mut shorter = engine_complement();
    shorter["slots"].as_array_mut().unwrap().truncate(5);
    let named = ["no longer asks Rescue engine for Second hose"];
    says_why(&coordinator, &path, json!({ "complement": shorter }), &named).await;
    let named = ["expects less of Rescue engine: limited instead of full"];
    says_why(&coordinator, &path, json!({ "expects": "limited" }), &named).await;
    coordinator
        .edit(&path, json!({ "expects": "full", "complement": engine_complement() }))
        .await
        .ok();
    // A list that becomes whole because less is asked is named too.
    coordinator.bring(county.set_1.second_hose, on_shelf(county.station_1)).await.ok();
    says_why(
        &coordinator,
        &path,
        json!({ "complement": shorter }),
        &["Engine 1 (list incomplete to complete)"],
    )
    .await;
});

on_both!(a_rig_that_leaves_the_count_says_why, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/rigs/{}", county.engine_2);
    let named = ["takes Engine 2 off the front line and out of the board's counts"];
    says_why(&coordinator, &path, json!({ "duty": "ready_reserve" }), &named).await;
    coordinator.edit(&path, json!({ "duty": "front_line" })).await.ok();
    let named = ["asks less of Engine 2: Light truck instead of Rescue engine"];
    says_why(&coordinator, &path, json!({ "rig_class": county.truck_class }), &named).await;
    says_why(&coordinator, &path, json!({ "rig_class": null }), &["asks nothing of Engine 2 any more"]).await;
    coordinator.edit(&path, json!({ "name": "Engine 22" })).await.ok();
});

on_both!(the_effects_tell_the_boards_numbers_before_and_after, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let class = coordinator.find(&format!("/v1/rig-classes/{}", county.engine_class)).await;
    let lower = expecting(
        command("rig_class.edit", json!({ "id": county.engine_class, "expects": "limited" })),
        rev_of(&class),
    );
    let revision = coordinator.revision().await;
    let effects = coordinator.post("/v1/effects", json!({ "commands": [lower] })).await.ok();
    assert_eq!(coordinator.revision().await, revision);
    assert_eq!(
        (&effects["board_before"]["headline"], &effects["board_after"]["headline"]),
        (
            &json!({ "expected": 2, "able": 2, "confirmed": 2 }),
            &json!({ "expected": 0, "able": 0, "confirmed": 0 })
        ),
        "{effects}"
    );
    // What lacks its reason is shown all the same, and that it lacks it.
    assert_eq!(effects["problem"]["code"], "reason-needed");
    assert_eq!(
        effects["words"],
        json!(["Rigs that can do a full extrication: 2 of 2 now, 0 of 0 after"]),
        "{effects}"
    );
    let rig = coordinator.find(&format!("/v1/rigs/{}", county.engine_1)).await;
    let aside = command("rig.edit", json!({ "id": county.engine_1, "duty": "stripped_reserve", "reason": "no crew" }));
    let effects = coordinator
        .post("/v1/effects", json!({ "commands": [expecting(aside, rev_of(&rig))] }))
        .await
        .ok();
    assert_eq!(
        (
            &effects["problem"],
            &effects["board_before"]["totals"]["full"],
            &effects["board_after"]["totals"]["full"]
        ),
        (&json!(null), &json!(2), &json!(1))
    );
    assert_eq!(effects["board_after"]["apart"]["stripped_reserve"], 1);
    let words = effects["words"].to_string();
    assert!(words.contains("Front-line rigs: 3 now, 2 after"), "{words}");
    assert!(words.contains("Districts short of full rigs: 1 now, 2 after"), "{words}");
});

on_both!(a_later_service_is_not_typed_in, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let path = format!("/v1/pieces/{}", county.set_1.ram);
    coordinator.edit(&path, json!({ "last_service_on": "2025-06-01" })).await.ok();
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "limited", "overdue beyond the grace");
    for reason in [json!(null), json!("it was done")] {
        let problem = coordinator
            .edit(&path, json!({ "last_service_on": "2026-11-01", "reason": reason }))
            .await
            .refused(409, "rule-broken");
        assert_eq!(problem["field"], "body.last_service_on");
        assert!(problem["hint"].as_str().unwrap().contains("piece.serviced"), "{problem}");
    }
    // Unknown is free, and a day of which nobody knew is read off a card for a reason.
    coordinator.edit(&path, json!({ "last_service_on": null })).await.ok();
    let named = ["puts a service of E1-RAM on record of which nobody knew"];
    says_why(&coordinator, &path, json!({ "last_service_on": "2026-11-01" }), &named).await;
});

/// A cutter of the other fluid, on a shelf of station 1.
async fn ester(world: &World) -> (Uuid, Uuid) {
    let model = cutter_model(world, "Kessim PE", wet("phosphate ester"), 8.1).await;
    let tool = Uuid::now_v7();
    world
        .coordinator()
        .apply(vec![piece(tool, "R-PE", model, on_shelf(world.county().station_1))])
        .await;
    (model, tool)
}

on_both!(nothing_comes_aboard_that_would_mix_fluids_by_any_door, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let (model, tool) = ester(world).await;
    let aboard = on_rig(county.engine_1);
    let mixed = |problem: Value| {
        assert!(problem["detail"].as_str().unwrap().contains("Fluids are never mixed"), "{problem}");
        assert!(problem["hint"].as_str().unwrap().contains("report it as a fluid mix"), "{problem}");
    };
    mixed(coordinator.move_to(tool, aboard.clone()).await.refused(409, "rule-broken"));
    mixed(coordinator.bring(tool, aboard.clone()).await.refused(409, "rule-broken"));
    let added = piece(Uuid::now_v7(), "R-PE2", model, aboard.clone())["body"].clone();
    mixed(coordinator.post("/v1/pieces", added).await.refused(409, "rule-broken"));
    coordinator
        .post(&format!("/v1/pieces/{tool}/report-missing"), json!({ "note": "gone" }))
        .await
        .ok();
    let found = json!({ "place": aboard, "note": "in the wrong locker" });
    mixed(coordinator.post(&format!("/v1/pieces/{tool}/found"), found).await.refused(409, "rule-broken"));
    // A reserve rig that carries the other fluid does not get the tools of a front-line rig.
    let reserve = Uuid::now_v7();
    let rig = json!({ "id": reserve, "name": "Engine 90", "station": county.station_1, "duty": "ready_reserve" });
    coordinator.post("/v1/rigs", rig).await.ok();
    let own = piece(Uuid::now_v7(), "E90-CUT", model, on_rig(reserve))["body"].clone();
    coordinator.post("/v1/pieces", own).await.ok();
    let rev = rev_of(&coordinator.find(&format!("/v1/rigs/{}", county.engine_1)).await);
    let exchange = json!({ "to": reserve, "reason": "brakes" });
    let path = format!("/v1/rigs/{}/exchange", county.engine_1);
    mixed(coordinator.post_on(&path, rev, exchange).await.refused(409, "rule-broken"));
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "full");
});

on_both!(the_fluid_on_record_is_changed_by_flushing_and_not_by_typing, async |world: &World| {
    let (county, coordinator, shop) = (world.county(), world.coordinator(), world.shop());
    let (model, _) = ester(world).await;
    let cutter = format!("/v1/pieces/{}", county.spare_cutter);
    let typed = json!({ "model": model, "reason": "the label says so" });
    let problem = coordinator.edit(&cutter, typed).await.refused(409, "rule-broken");
    assert!(problem["hint"].as_str().unwrap().contains("piece.refill"), "{problem}");
    for fluid in [json!("phosphate ester"), json!(null)] {
        let mut hookup = wet("mineral oil");
        hookup["fluid"] = fluid;
        let path = format!("/v1/models/{}", county.models.cutter);
        let body = json!({ "hookup": hookup, "reason": "the label says so" });
        let problem = coordinator.edit(&path, body).await.refused(409, "rule-broken");
        assert_eq!(problem["field"], "body.hookup.fluid");
    }
    let refill = async |client: &Client, piece: Uuid| {
        let rev = rev_of(&client.piece(piece).await);
        let body = json!({ "model": model, "reason": "flushed by the maker's manual, 4.1" });
        client.post_on(&format!("/v1/pieces/{piece}/refill"), rev, body).await
    };
    refill(&shop, county.spare_cutter).await.refused(409, "rule-broken");
    shop.take_out(county.spare_cutter, "to be flushed").await.ok();
    refill(&coordinator, county.spare_cutter).await.refused(409, "rule-broken");
    refill(&world.officer(), county.spare_cutter).await.refused(403, "not-allowed");
    let filled = refill(&shop, county.spare_cutter).await.record();
    assert_eq!((&filled["model"], &filled["state"]), (&json!(model), &json!("out_of_service")));
    // Flushed or not, it does not stay where the other fluid is.
    shop.take_out(county.set_1.cutter, "to be flushed").await.ok();
    refill(&shop, county.set_1.cutter).await.refused(409, "rule-broken");
});

on_both!(a_fluid_of_which_nobody_knew_is_read_off_the_plate_for_a_reason, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let model = cutter_model(world, "Kessim U", json!({ "coupling": "flat-face single" }), 8.1).await;
    let tool = Uuid::now_v7();
    coordinator.apply(vec![piece(tool, "R-U", model, on_rig(county.engine_1))]).await;
    let path = format!("/v1/models/{model}");
    let body = json!({ "hookup": wet("phosphate ester"), "reason": "read off the plate" });
    let problem = coordinator.edit(&path, body).await.refused(409, "rule-broken");
    assert!(problem["detail"].as_str().unwrap().contains("Fluids are never mixed"), "{problem}");
    coordinator.bring(tool, on_shelf(county.station_1)).await.ok();
    says_why(
        &coordinator,
        &path,
        json!({ "hookup": wet("phosphate ester") }),
        &["says which fluid R-U holds"],
    )
    .await;
});

on_both!(one_serial_number_is_one_piece, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let again = |serial: &str, model: Uuid| json!({ "id": Uuid::now_v7(), "tag": format!("X-{}", Uuid::now_v7()), "model": model, "serial": serial, "place": on_shelf(county.station_1) });
    let problem = coordinator
        .post("/v1/pieces", again(" s-e1-cut", county.models.cutter))
        .await
        .refused(409, "already-there");
    assert_eq!(problem["field"], "body.serial");
    assert!(problem["detail"].as_str().unwrap().starts_with("E1-CUT has the serial number"), "{problem}");
    let other = coordinator.post("/v1/pieces", again("S-E1-CUT", county.models.twin_cutter)).await.record();
    let path = format!("/v1/pieces/{}", id_of(&other));
    coordinator
        .edit(&path, json!({ "model": county.models.cutter, "reason": "the plate" }))
        .await
        .refused(409, "already-there");
    let spare = format!("/v1/pieces/{}", county.spare_cutter);
    coordinator.edit(&spare, json!({ "serial": "S-E1-CUT" })).await.refused(409, "already-there");
    // Of a piece that has left the register the plate may come back.
    coordinator.retire(county.set_1.cutter, "bent").await.ok();
    coordinator.edit(&spare, json!({ "serial": "S-E1-CUT" })).await.ok();
});

on_both!(a_register_file_names_no_piece_twice_and_shows_which_rigs_gain, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.bring(county.set_1.cutter, on_shelf(county.station_1)).await.ok();
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "limited");
    let file = "Asset tag,Kind,Model,Serial,Assigned to,Date of make,In service since,Last annual service\n\
        F-1,cutter,Dorvan C81,N-1,Engine 1,2022-05-01,2022-06-01,2026-06-01\n\
        F-2,cutter,Dorvan C81,n-1,Engine 1,2022-05-01,2022-06-01,2026-06-01\n\
        F-3,cutter,Dorvan C81,S-R-CUT,Engine 1,2022-05-01,2022-06-01,2026-06-01\n\
        F-4,cutter,Kessim TC,N-1,Station 1 reserve,2022-05-01,2022-06-01,2026-06-01\n\
        F-5,ram,,S-E2-RAM,Station 1 reserve,2022-05-01,2022-06-01,2026-06-01\n";
    let revision = coordinator.revision().await;
    let shown = coordinator.import("?dry_run=true", file.into(), &[]).await.ok();
    let refused: Vec<(u64, &str)> = shown["refused"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| (row["line"].as_u64().unwrap(), row["code"].as_str().unwrap()))
        .collect();
    let twice = "duplicate-serial";
    assert_eq!(refused, [(3, twice), (4, twice), (6, twice)], "{shown}");
    assert!(shown["refused"][1]["reason"].as_str().unwrap().contains("R-CUT"), "{shown}");
    let effects = &shown["effects"];
    let gain = &effects["rigs"][0];
    assert_eq!(
        (&gain["name"], &gain["before"], &gain["after"]),
        (&json!("Engine 1"), &json!("limited"), &json!("full")),
        "{effects}"
    );
    assert_eq!(effects["words"][0], "Engine 1 goes from limited to full");
    assert_eq!(coordinator.revision().await, revision, "nothing was done");
    coordinator.import("", file.into(), &[]).await.ok();
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "full");
});

on_both!(what_counts_by_the_agencys_own_rule_alone_says_so, async |world: &World| {
    let (county, coordinator, admin) = (world.county(), world.coordinator(), world.admin());
    let ram = format!("/v1/pieces/{}", county.set_1.ram);
    coordinator.edit(&ram, json!({ "last_service_on": "2025-06-01" })).await.ok();
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "limited");
    let agency = admin.find("/v1/agency").await;
    let mut policy = agency["policy"].clone();
    policy["annual_check_days"] = json!(3650);
    let change = |reason: Value| json!({ "policy": policy, "reason": reason });
    let problem = admin
        .patch_on("/v1/agency", rev_of(&agency), change(json!(null)))
        .await
        .refused(422, "reason-needed");
    assert!(problem["detail"].as_str().unwrap().contains("the time between annual services"), "{problem}");
    let changed = admin.patch_on("/v1/agency", rev_of(&agency), change(json!("few calls"))).await.record();
    assert_eq!(
        changed["looser_rules"],
        json!([{ "rule": "annual_check_days", "words": "annual check every 3650 days", "reason": "few calls" }])
    );
    let words = "ram E1-RAM: counts by the agency's own rule (annual check every 3650 days: “few calls”)";
    let standing = coordinator.find(&format!("/v1/piece-standings/{}", county.set_1.ram)).await;
    assert_eq!(
        (&standing["verdict"], &standing["reasons"][0]["code"], &standing["reasons"][0]["words"]),
        (&json!("yes"), &json!("looser-rule"), &json!(words)),
        "{standing}"
    );
    let rig = coordinator.capability(county.engine_1).await;
    assert_eq!((&rig["level"], &rig["remarks"][0]), (&json!("full"), &json!(words)), "{rig}");
    // What is young enough by the shipped rule says nothing.
    let standing = coordinator.find(&format!("/v1/piece-standings/{}", county.set_1.cutter)).await;
    assert_eq!(standing["reasons"], json!([]));
});

on_both!(grades_that_any_tool_meets_say_why, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let newcomer = world.member_of(&world.ground.bare, "coordinator");
    let found = newcomer.find("/v1/grade-templates").await;
    let template = |name: &str| found["items"].as_array().unwrap().iter().find(|one| one["template"] == name).unwrap()["grades"].clone();
    let problem = newcomer
        .post("/v1/agency/grade", json!({ "grades": template("nfpa") }))
        .await
        .refused(422, "reason-needed");
    let detail = problem["detail"].as_str().unwrap();
    for words in [
        "lets any combination tool do for limited",
        "lets any spreader do for full (Spreader)",
        "lets any cutter do for full (Cutter)",
        "lets any ram do for full (Ram)",
    ] {
        assert!(detail.contains(words), "'{words}' is not in: {detail}");
    }
    // The published figures leave nothing open that the publication does not.
    newcomer.post("/v1/agency/grade", json!({ "grades": template("en") })).await.ok();
    // Grades that were chosen before need a reason whatever they ask.
    let rev = coordinator.rev("/v1/agency").await;
    let problem = coordinator
        .post_on("/v1/agency/grade", rev, json!({ "grades": template("en") }))
        .await
        .refused(422, "reason-needed");
    assert!(problem["detail"].as_str().unwrap().contains("chosen before"), "{problem}");
    let body = json!({ "grades": grades(), "reason": "our standard names no figure" });
    coordinator.post_on("/v1/agency/grade", rev, body).await.ok();
    assert_eq!(coordinator.on_board(county.engine_1).await.level, "full");
});
