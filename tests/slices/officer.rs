//! What a rescue officer would call wrong: each scene was seen answered on the unsafe side once, or with a false alarm. Common
//! practice, no source, unless one is named. Every scene holds under both templates of grades that ship.

mod kit;

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, acts::rev_of, client::command, on_both, on_rig, on_shelf};
use kit::{TWIN, Thing, add, choose, dry, rig, standing, verdict, wet, whole};

const TEMPLATES: [&str; 2] = ["en", "nfpa"];

on_both!(until_the_grades_are_chosen_nothing_is_judged, async |world: &World| {
    let coordinator = world.member_of(&world.ground.bare, "coordinator");
    let [district, station, rig] = [(); 3].map(|()| Uuid::now_v7());
    coordinator
        .apply(vec![
            command("district.add", json!({ "id": district, "name": "One", "min_full": 1 })),
            command(
                "station.add",
                json!({ "id": station, "name": "Station 1", "number": "1", "district": district }),
            ),
            command("rig.add", json!({ "id": rig, "name": "Engine 1", "station": station })),
        ])
        .await;
    let board = coordinator.find("/v1/board").await;
    assert_eq!(
        (&board["grades_set"], &board["totals"]["not_judged"], &board["totals"]["none"]),
        (&json!(false), &json!(1), &json!(0)),
        "{board}"
    );
    assert_eq!(standing(&coordinator, rig).await["level"], "not_judged");
    let found = coordinator.find("/v1/grade-templates").await;
    // The first choice overrules nobody: it needs neither a revision nor a reason.
    coordinator
        .post("/v1/agency/grade", json!({ "grades": found["items"][0]["grades"] }))
        .await
        .ok();
    let board = coordinator.find("/v1/board").await;
    assert_eq!((&board["grades_set"], &board["totals"]["none"]), (&json!(true), &json!(1)), "{board}");
});

on_both!(a_whole_set_is_full_and_confirmed, async |world: &World| {
    let (rig, _) = rig(world, &whole()).await;
    for template in TEMPLATES {
        choose(world, template).await;
        let found = standing(&world.crew(), rig).await;
        assert_eq!(
            (&found["level"], &found["confirmed"], &found["completeness"]),
            (&json!("full"), &json!(true), &json!("no_list")),
            "{found}"
        );
    }
});

on_both!(may_i_use_it_is_never_a_yes_for_what_the_records_speak_against, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let (rig, ids) = rig(world, &whole()).await;
    let (old, unknown, ram, cutter) = (ids[1], ids[2], ids[5], ids[3]);
    let shelf = {
        let mut all = Vec::new();
        let id = add(&mut all, wet("hose"), on_shelf(county.station_1));
        coordinator.apply(all).await;
        id
    };
    for hose in [old, shelf] {
        let dates = json!({ "made_on": "2009-05-01", "in_service_since": "2009-06-01" });
        coordinator.edit(&format!("/v1/pieces/{hose}"), dates).await.ok();
        assert_eq!(verdict(&crew, hose).await, ("no".into(), "life-ended".into()));
    }
    coordinator.edit(&format!("/v1/pieces/{unknown}"), json!({ "made_on": null })).await.ok();
    assert_eq!(verdict(&crew, unknown).await, ("cannot_be_confirmed".into(), "age-unknown".into()));
    // 38 days past the end of its year, with a grace of 30.
    coordinator
        .edit(&format!("/v1/pieces/{ram}"), json!({ "last_service_on": "2025-10-18" }))
        .await
        .ok();
    assert_eq!(verdict(&crew, ram).await, ("no".into(), "check-overdue".into()));
    let mut all = Vec::new();
    // Put aboard before anybody knew that the two families mate.
    let ester = Thing {
        fluid: "phosphate ester",
        coupling: TWIN,
        far: TWIN,
        ..wet("cutter")
    };
    let stray = add(&mut all, ester, on_rig(rig));
    coordinator.apply(all).await;
    let mates = json!({ "mates_with": [county.couplings.flat_face], "reason": "tried in the shop" });
    coordinator.edit(&format!("/v1/couplings/{}", county.couplings.twin_line), mates).await.ok();
    coordinator
        .edit(
            &format!("/v1/pieces/{unknown}"),
            json!({ "made_on": "2022-05-01", "reason": "the label was found" }),
        )
        .await
        .ok();
    assert_eq!(verdict(&crew, stray).await, ("not_on_this_rig".into(), "cannot-run-here".into()));
    assert_eq!(verdict(&crew, cutter).await.0, "yes");
});

on_both!(one_combination_tool_is_limited_and_never_full, async |world: &World| {
    let (rig, _) = rig(world, &[dry("combination_tool")]).await;
    for template in TEMPLATES {
        choose(world, template).await;
        let found = standing(&world.crew(), rig).await;
        // CHECKS A3: a vehicle without a standard load. Its packs are on no record, so it is not confirmed.
        assert_eq!((&found["level"], &found["confirmed"]), (&json!("limited"), &json!(false)), "{found}");
        assert_eq!(found["doubts"][0]["code"], "pack-not-on-record");
    }
});

on_both!(what_still_runs_below_limited_is_said, async |world: &World| {
    let things = [
        wet("power_unit"),
        wet("hose"),
        wet("spreader"),
        Thing {
            coupling: TWIN,
            far: TWIN,
            ..wet("cutter")
        },
    ];
    let (rig, ids) = rig(world, &things).await;
    for template in TEMPLATES {
        choose(world, template).await;
        let found = standing(&world.crew(), rig).await;
        assert_eq!(found["level"], "none");
        assert_eq!(found["still_runs"], json!([format!("spreader spreader-{} runs", ids[2])]), "{found}");
    }
});

on_both!(a_dead_pump_and_a_working_battery_combination_tool_is_limited, async |world: &World| {
    let mut things = whole();
    things.push(dry("combination_tool"));
    let (rig, ids) = rig(world, &things).await;
    world.crew().take_out(ids[0], "does not start").await.ok();
    for template in TEMPLATES {
        choose(world, template).await;
        assert_eq!(standing(&world.crew(), rig).await["level"], "limited");
    }
});

on_both!(
    overdue_inside_the_grace_is_said_on_rig_and_piece_and_takes_the_confirmation_away,
    async |world: &World| {
        let (rig, ids) = rig(world, &whole()).await;
        world
            .coordinator()
            .edit(&format!("/v1/pieces/{}", ids[5]), json!({ "last_service_on": "2025-11-10" }))
            .await
            .ok();
        for template in TEMPLATES {
            choose(world, template).await;
            let found = standing(&world.crew(), rig).await;
            assert_eq!((&found["level"], &found["confirmed"]), (&json!("full"), &json!(false)));
            let words = found["doubts"][0]["words"].as_str().unwrap();
            assert!(
                words.contains("annual service overdue since 2026-11-10 00:00, inside the agency's grace of 30 days"),
                "{words}"
            );
            assert!(found["remarks"].to_string().contains("inside the agency's grace"), "{found}");
        }
        assert_eq!(verdict(&world.crew(), ids[5]).await, ("cannot_be_confirmed".into(), "overdue-in-grace".into()));
    }
);

on_both!(
    a_pump_below_the_pressure_that_the_tools_are_rated_at_drives_none_of_them,
    async |world: &World| {
        let mut things = whole();
        things[0].psi = 5_000;
        let (rig, _) = rig(world, &things).await;
        for template in TEMPLATES {
            choose(world, template).await;
            let found = standing(&world.crew(), rig).await;
            assert_eq!(found["level"], "none", "{found}");
            assert!(found["gaps"].to_string().contains("pressure-too-low"), "{found}");
        }
    }
);

on_both!(an_adapter_feeds_nothing_alone_and_joins_a_line, async |world: &World| {
    let adapter = Thing { far: TWIN, ..wet("adapter") };
    let far = |kind| Thing {
        coupling: TWIN,
        far: TWIN,
        ..wet(kind)
    };
    let (alone, _) = rig(world, &[wet("power_unit"), adapter, far("cutter"), far("spreader"), far("ram")]).await;
    let (chain, _) = rig(world, &[wet("power_unit"), adapter, far("hose"), far("cutter"), far("spreader"), far("ram")]).await;
    for template in TEMPLATES {
        choose(world, template).await;
        assert_eq!(standing(&world.crew(), alone).await["level"], "none");
        let found = standing(&world.crew(), chain).await;
        assert_eq!(found["level"], "full", "{found}");
        let via = &found["needs"][0]["pieces"][0]["via"];
        assert_eq!((&via["by"], via["parts"].as_array().map(Vec::len)), (&json!("line"), Some(2)), "{via}");
    }
    let admin = world.admin();
    let agency = admin.find("/v1/agency").await;
    let mut policy = agency["policy"].clone();
    policy["adapters"] = json!(false);
    admin.patch_on("/v1/agency", rev_of(&agency), json!({ "policy": policy })).await.ok();
    assert_eq!(standing(&world.crew(), chain).await["level"], "none", "the agency forbids adapters");
});

on_both!(an_accessory_fills_the_slot_that_names_it_and_no_other, async |world: &World| {
    let coordinator = world.coordinator();
    let covers = Thing {
        coupling: "",
        gear: "edge_covers",
        ..wet("accessory")
    };
    let (rig, ids) = rig(world, &[covers]).await;
    let class = Uuid::now_v7();
    let slot = |id: &str, gear: &str| json!({ "id": id, "name": id, "kinds": ["accessory"], "required": true, "gear": gear });
    let complement = json!({ "slots": [slot("covers", "edge_covers"), slot("struts", "struts")] });
    coordinator
        .apply(vec![command("rig_class.add", json!({ "id": class, "name": "Gear", "complement": complement }))])
        .await;
    coordinator.edit(&format!("/v1/rigs/{rig}"), json!({ "rig_class": class })).await.ok();
    let found = standing(&world.crew(), rig).await;
    assert_eq!(found["completeness"], "incomplete");
    assert_eq!(
        (&found["fillings"][0]["piece"], &found["fillings"][1]["piece"]),
        (&json!(ids[0]), &json!(null)),
        "{found}"
    );
    let unnamed = json!({ "slots": [{ "id": "any", "name": "Any", "kinds": ["accessory"], "required": true }] });
    coordinator
        .post("/v1/rig-classes", json!({ "id": Uuid::now_v7(), "name": "Vague", "complement": unnamed }))
        .await
        .refused(422, "field-invalid");
});

on_both!(a_pack_of_another_family_drives_nothing_and_fills_no_slot, async |world: &World| {
    let pack = |battery| Thing { battery, ..dry("battery") };
    let (foreign, _) = rig(world, &[dry("combination_tool"), pack("18V family")]).await;
    let (own, _) = rig(world, &[dry("combination_tool"), pack("28V family"), pack("28V family")]).await;
    for template in TEMPLATES {
        choose(world, template).await;
        let found = standing(&world.crew(), foreign).await;
        assert_eq!(found["level"], "none", "{found}");
        assert_eq!(standing(&world.crew(), own).await["level"], "limited");
    }
});

on_both!(
    a_swap_is_refused_for_what_would_not_serve_and_always_for_another_fluid,
    async |world: &World| {
        let (county, officer, crew) = (world.county(), world.officer(), world.crew());
        crew.take_out(county.set_1.cutter, "stiff").await.ok();
        let start = |piece: Uuid, more: Value| {
            let mut body = json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "piece": piece, "need": "cut" });
            body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
            body
        };
        let problem = crew.post("/v1/swaps", start(county.twin_cutter, json!({}))).await.refused(409, "rule-broken");
        assert!(problem["detail"].as_str().unwrap().contains("does not mate"), "{problem}");
        crew.post("/v1/swaps", start(county.twin_cutter, json!({ "despite": "ordered" })))
            .await
            .refused(403, "not-allowed");
        let mut all = Vec::new();
        let ester = add(
            &mut all,
            Thing {
                fluid: "phosphate ester",
                ..wet("cutter")
            },
            on_shelf(county.station_1),
        );
        world.coordinator().apply(all).await;
        let problem = officer
            .post("/v1/swaps", start(ester, json!({ "despite": "ordered" })))
            .await
            .refused(409, "rule-broken");
        assert!(problem["detail"].as_str().unwrap().contains("Fluids are never mixed"), "{problem}");
        // The reserve cutter is at station 2: it is on its way until somebody sees it arrive, and counts from then on.
        assert_eq!(crew.stand_ins(county.engine_1, "cut").await, ["R-CUT"]);
        crew.post("/v1/swaps", start(county.spare_cutter, json!({}))).await.ok();
        assert_eq!(standing(&crew, county.engine_1).await["level"], "limited");
        assert!(crew.stand_ins(county.engine_1, "cut").await.is_empty());
        let remedies = crew.find(&format!("/v1/rigs/{}/remedies", county.engine_1)).await;
        let first = &remedies["items"][0]["candidates"][0];
        assert_eq!(
            (&first["tag"], &first["on_its_way"], &first["ready"]),
            (&json!("R-CUT"), &json!(true), &json!(false)),
            "{remedies}"
        );
        crew.arrive(county.spare_cutter).await.ok();
        assert_eq!(standing(&crew, county.engine_1).await["level"], "full");
    }
);

on_both!(
    pieces_without_any_date_are_said_and_a_second_source_that_nothing_fits_fills_no_slot,
    async |world: &World| {
        let coordinator = world.coordinator();
        let mut things = whole();
        things.push(Thing {
            coupling: TWIN,
            far: TWIN,
            ..wet("power_unit")
        });
        let (rig, ids) = rig(world, &things).await;
        for id in &ids {
            let none = json!({ "made_on": if *id == ids[1] || *id == ids[2] { json!("2022-05-01") } else { json!(null) }, "in_service_since": null, "last_service_on": null });
            coordinator.edit(&format!("/v1/pieces/{id}"), none).await.ok();
        }
        for template in TEMPLATES {
            choose(world, template).await;
            let found = standing(&world.crew(), rig).await;
            assert_eq!((&found["level"], &found["confirmed"]), (&json!("full"), &json!(false)));
            assert!(found["doubts"].to_string().contains("check-date-unknown"), "{found}");
        }
        let class = Uuid::now_v7();
        let slot = |id: &str| json!({ "id": id, "name": id, "kinds": ["power_unit"], "required": true });
        let complement = json!({ "slots": [slot("first"), slot("second")] });
        coordinator
            .apply(vec![command(
                "rig_class.add",
                json!({ "id": class, "name": "Two pumps", "complement": complement }),
            )])
            .await;
        coordinator.edit(&format!("/v1/rigs/{rig}"), json!({ "rig_class": class })).await.ok();
        let found = standing(&world.crew(), rig).await;
        assert_eq!(
            (&found["completeness"], &found["fillings"][1]["piece"]),
            (&json!("incomplete"), &json!(null)),
            "{found}"
        );
    }
);

on_both!(
    reserve_rigs_and_rigs_that_are_out_stand_apart_and_are_exchanged_in_one_act,
    async |world: &World| {
        let (county, coordinator, officer) = (world.county(), world.coordinator(), world.officer());
        let reserve = Uuid::now_v7();
        let body = json!({ "id": reserve, "name": "Reserve 9", "station": county.station_2, "rig_class": county.engine_class, "duty": "stripped_reserve" });
        coordinator.apply(vec![command("rig.add", body)]).await;
        let board = officer.find("/v1/board").await;
        assert_eq!(
            (&board["apart"]["stripped_reserve"], &board["headline"]["expected"]),
            (&json!(1), &json!(2)),
            "{board}"
        );
        let path = format!("/v1/rigs/{}", county.engine_1);
        let taken = json!({ "reason": "brakes", "at": "mechanic" });
        officer.post(&format!("{path}/take-out"), taken).await.ok();
        let board = officer.find("/v1/board").await;
        assert_eq!(board["apart"]["out"], json!(1));
        assert_eq!((&board["headline"]["expected"], &board["headline"]["able"]), (&json!(1), &json!(1)), "{board}");
        let rev = officer.rev(&path).await;
        coordinator
            .post_on(
                &format!("{path}/exchange"),
                rev,
                json!({ "to": reserve, "reason": "stands in while the brakes are done" }),
            )
            .await
            .ok();
        let found = standing(&officer, reserve).await;
        assert_eq!((&found["level"], &found["completeness"]), (&json!("full"), &json!("complete")), "{found}");
        let board = officer.find("/v1/board").await;
        assert_eq!((&board["headline"]["expected"], &board["headline"]["able"]), (&json!(2), &json!(2)), "{board}");
    }
);

on_both!(effects_are_worked_out_before_an_act_and_nothing_is_done, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    let piece = officer.piece(county.set_1.cutter).await;
    let mut back = command(
        "piece.return",
        json!({ "id": county.set_1.cutter, "note": "nothing found", "evidence": { "note": "nothing found" } }),
    );
    back["expects"] = json!(rev_of(&piece));
    let before = officer.revision().await;
    let effects = officer.post("/v1/effects", json!({ "commands": [back] })).await.ok();
    assert_eq!(officer.revision().await, before);
    assert_eq!(standing(&officer, county.engine_1).await["level"], "limited");
    if effects["problem"].is_null() {
        assert_eq!(
            (&effects["words"][0], &effects["raises"]),
            (&json!("Engine 1 goes from limited to full"), &json!(true)),
            "{effects}"
        );
    } else {
        // What is missing is told before the act as it would be after.
        assert_eq!(effects["rigs"], json!([]), "{effects}");
        assert!(effects["problem"]["detail"].as_str().is_some_and(|detail| !detail.is_empty()), "{effects}");
    }
});
