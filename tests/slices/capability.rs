//! Capability: computed from what is aboard, by the agency's policy, and again when time runs out.

use chrono::{TimeZone as _, Utc};
use serde_json::{Value, json};

use crate::world::{World, acts::id_of, county::piece, on_both, on_rig, soon, sql};

/// What the board says of an engine whose second hose does not count.
fn one_hose(tag: &str, why: &str) -> [String; 4] {
    [
        "1 tool can run at once, 2 needed".to_owned(),
        format!("hose {tag}-HOSE1: needed for Hose"),
        format!("hose {tag}-HOSE2: {why}"),
        format!("Hose and Second hose compete for hose {tag}-HOSE1"),
    ]
}

/// Changes one field of the policy.
async fn decide(world: &World, field: &str, value: Value) {
    let admin = world.admin();
    let agency = admin.find(&format!("/v1/agencies/{}", world.agency().id)).await;
    let mut policy = agency["policy"].clone();
    policy[field] = value;
    admin
        .patch_on("/v1/agency", agency["rev"].as_i64().unwrap(), json!({ "policy": policy }))
        .await
        .ok();
}

on_both!(
    losing_a_core_piece_leaves_nothing_and_a_required_one_leaves_the_rig_limited,
    async |world: &World| {
        let (county, crew) = (world.county(), world.crew());
        let line = crew.on_board(county.engine_1).await;
        line.is("full", &[]);
        assert_eq!(line.margin, Some(0), "every piece of a bare set is needed");
        crew.take_out(county.set_1.cutter, "stiff").await.ok();
        crew.on_board(county.engine_1)
            .await
            .is("limited", &["cutter E1-CUT: out of service since 2026-11-25 07:00, stiff"]);
        crew.take_out(county.set_1.spreader, "tips cracked").await.ok();
        let words = [
            "1 tool can run at once, 2 needed",
            "spreader E1-SPR: out of service since 2026-11-25 07:00, tips cracked",
            "cutter E1-CUT: out of service since 2026-11-25 07:00, stiff",
        ];
        crew.on_board(county.engine_1).await.is("none", &words);
    }
);

on_both!(a_spare_aboard_gives_margin, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let second = |tag: &str, model| piece(uuid::Uuid::now_v7(), tag, model, on_rig(county.truck_3));
    coordinator.apply(vec![second("T3-COMBI-2", county.models.combi)]).await;
    assert_eq!(coordinator.on_board(county.truck_3).await.margin, Some(1));
    coordinator.take_out(county.combi_3, "stiff").await.ok();
    let line = coordinator.on_board(county.truck_3).await;
    line.is("full", &[]);
    assert_eq!(line.margin, Some(0));
});

on_both!(a_cutter_of_another_family_is_a_paperweight, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    crew.swap(county.engine_1, county.twin_cutter, "cutter").await.ok();
    let words = [
        "cutter E1-CUT: out of service since 2026-11-25 07:00, stiff",
        "cutter R-TWIN: coupling twin-line does not mate with flat-face single",
    ];
    crew.on_board(county.engine_1).await.is("limited", &words);
});

on_both!(the_answer_names_the_code_and_the_piece_behind_each_word, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    let capability = crew.capability(county.engine_1).await;
    let gap = &capability["gaps"][0];
    assert_eq!((&gap["slot"], &gap["need"]), (&json!("cutter"), &json!("required")));
    let near = &gap["near"][0];
    assert_eq!(
        (&near["piece"], &near["code"], &near["since"]),
        (&json!(county.set_1.cutter), &json!("out-of-service"), &json!("2026-11-25T14:00:00.000000Z"))
    );
    assert_eq!(
        capability["restore"].as_array().unwrap().len(),
        1,
        "one act makes the rig full again: {capability}"
    );
    assert_eq!(capability["restore"][0]["slot"], "cutter");
});

on_both!(a_rig_out_of_service_has_no_capability_until_it_is_put_back, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let path = format!("/v1/rigs/{}", county.engine_1);
    crew.post(&format!("{path}/take-out"), json!({ "reason": "flat tyre" })).await.ok();
    crew.on_board(county.engine_1)
        .await
        .is("none", &["rig out of service since 2026-11-25 07:00, flat tyre"]);
    crew.post(&format!("{path}/put-back"), json!({})).await.refused(403, "not-allowed");
    officer.post(&format!("{path}/put-back"), json!({})).await.refused(428, "revision-needed");
    let rev = officer.rev(&path).await;
    officer.post_on(&format!("{path}/put-back"), rev, json!({ "note": "tyre changed" })).await.ok();
    officer.on_board(county.engine_1).await.is("full", &[]);
});

on_both!(
    an_hour_that_passes_lowers_the_level_by_itself_and_the_journal_names_the_clock,
    async |world: &World| {
        let (county, crew) = (world.county(), world.crew());
        let line = crew.on_board(county.engine_2).await;
        line.is("full", &[]);
        assert_eq!(line.holds_until.as_deref(), Some("2026-12-01T07:00:00Z"), "midnight in Denver");
        world.clock.set(Utc.with_ymd_and_hms(2026, 12, 1, 7, 0, 0).unwrap());
        let line = soon("Engine 2 is no longer full", async || {
            let line = crew.on_board(county.engine_2).await;
            (line.level != "full").then_some(line)
        })
        .await;
        line.is("limited", &one_hose("E2", "service life ended 2026-12-01 00:00").each_ref().map(String::as_str));
        assert_eq!(line.since, "2026-12-01T07:00:00Z");
        let own = format!("agency = {} AND kind = 'clock.settle'", world.id(world.agency().id));
        assert_eq!(
            sql::texts(&world.location, &format!("SELECT actor_name AS t FROM journal WHERE {own}")),
            ["the clock"]
        );
    }
);

on_both!(a_shorter_hose_life_is_counted_at_once_on_every_rig, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    decide(world, "hose_life_years", json!(4)).await;
    for (rig, tag) in [(county.engine_1, "E1-HOSE1"), (county.engine_2, "E2-HOSE1")] {
        let line = crew.on_board(rig).await;
        let ended = format!("hose {tag}: service life ended 2026-05-01 00:00");
        assert!(line.level == "none" && line.words.contains(&ended), "{line:?}");
    }
    decide(world, "hose_life_years", json!(10)).await;
    crew.on_board(county.engine_1).await.is("full", &[]);
});

on_both!(whether_an_overdue_service_counts_is_the_agencys_decision_and_is_said, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .edit(&format!("/v1/pieces/{}", county.set_1.ram), json!({ "last_service_on": "2025-06-01" }))
        .await
        .ok();
    let overdue = "ram E1-RAM: annual service overdue since 2026-06-01 00:00";
    let remarked = async |words: &str| {
        coordinator.on_board(county.engine_1).await.is("full", &[]);
        assert_eq!(coordinator.capability(county.engine_1).await["remarks"], json!([format!("{overdue}, {words}")]));
    };
    remarked("still counted until 2027-06-01 00:00").await;
    decide(world, "overdue_grace_days", json!(30)).await;
    coordinator.on_board(county.engine_1).await.is("limited", &[overdue]);
    decide(world, "overdue_grace_days", json!(null)).await;
    remarked("counted all the same by the agency's policy").await;
});

on_both!(an_unknown_age_is_not_young_where_the_agency_says_so, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .edit(&format!("/v1/pieces/{}", county.set_1.second_hose), json!({ "made_on": null }))
        .await
        .ok();
    coordinator.on_board(county.engine_1).await.is("full", &[]);
    decide(world, "unknown_age", json!("not_usable")).await;
    coordinator
        .on_board(county.engine_1)
        .await
        .is("limited", &one_hose("E1", "age unknown").each_ref().map(String::as_str));
});

on_both!(packs_count_where_the_agency_tracks_them, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator.on_board(county.truck_3).await.is("full", &[]);
    decide(world, "batteries", json!("as_pieces")).await;
    coordinator
        .on_board(county.truck_3)
        .await
        .is("none", &["combination tool T3-COMBI: no usable battery of its family aboard"]);
    coordinator
        .apply(vec![piece(uuid::Uuid::now_v7(), "T3-PACK", county.models.pack, on_rig(county.truck_3))])
        .await;
    coordinator.on_board(county.truck_3).await.is("full", &[]);
});

on_both!(
    a_rating_just_below_the_pumps_pressure_is_within_the_agencys_tolerance_or_not,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        let hookup = json!({ "coupling": "flat-face single", "fluid": "mineral oil", "pressure": { "value": 10350, "unit": "psi" } });
        coordinator
            .edit(&format!("/v1/models/{}", county.models.cutter), json!({ "hookup": hookup }))
            .await
            .ok();
        coordinator.on_board(county.engine_1).await.is("full", &[]);
        decide(world, "pressure_tolerance", json!(0.0)).await;
        coordinator
            .on_board(county.engine_1)
            .await
            .is("limited", &["cutter E1-CUT: rated 10,350 psi, the source runs at 10,400 psi"]);
    }
);

on_both!(a_policy_out_of_range_is_refused_with_its_field, async |world: &World| {
    let admin = world.admin();
    let agency = admin.find(&format!("/v1/agencies/{}", world.agency().id)).await;
    for (field, value) in [
        ("hose_life_years", json!(0)),
        ("annual_check_days", json!(4000)),
        ("pressure_tolerance", json!(0.021)),
        ("overdue_grace_days", json!(9999)),
    ] {
        let mut policy = agency["policy"].clone();
        policy[field] = value;
        let problem = admin
            .patch_on("/v1/agency", agency["rev"].as_i64().unwrap(), json!({ "policy": policy }))
            .await
            .refused(422, "field-invalid");
        assert_eq!(problem["field"], json!(format!("body.policy.{field}")));
    }
});

on_both!(a_stricter_complement_is_counted_at_once, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let mut complement = crate::world::county::engine_complement();
    complement["slots"][3]["minimums"]["cutter_opening"]["value"] = json!(9.0);
    coordinator
        .edit(&format!("/v1/rig-classes/{}", county.engine_class), json!({ "complement": complement }))
        .await
        .ok();
    coordinator
        .on_board(county.engine_1)
        .await
        .is("limited", &["cutter E1-CUT: cutter opening 8.1 in, 9 in needed (0.9 in short)"]);
});

on_both!(a_district_that_loses_a_rig_to_another_class_is_judged_by_that_class, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let edited = coordinator
        .edit(&format!("/v1/rigs/{}", county.engine_1), json!({ "rig_class": county.truck_class }))
        .await
        .record();
    assert_eq!(id_of(&edited), county.engine_1);
    coordinator.on_board(county.engine_1).await.is("none", &["no combination tool aboard"]);
    coordinator
        .edit(&format!("/v1/rigs/{}", county.engine_1), json!({ "rig_class": null }))
        .await
        .ok();
    let line = coordinator.on_board(county.engine_1).await;
    line.is("none", &["no complement is set for this rig's class"]);
});
