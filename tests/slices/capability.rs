//! Capability: computed from what is aboard, by the agency's policy, and again when time runs out.

use crate::world::{
    Reply, World,
    acts::{Line, id_of},
    county::{grades, piece},
    on_both, on_rig, soon, sql,
};
use chrono::{DateTime, TimeZone as _, Utc};
use serde_json::{Value, json};

/// An engine whose second hose does not count is limited: one tool at a time. What its list lacks names the hose.
#[track_caller]
fn has_one_hose(line: &Line, tag: &str, why: &str) {
    let hose = format!("hose {tag}-HOSE2: {why}");
    let fell_out = line.words.len() == 1 && line.words[0].starts_with(&format!("1 tool can run at once, 2 needed ({hose}"));
    assert!(line.level == "limited" && fell_out, "{line:?}");
    let lacks = line.lacks.len() == 1 && line.lacks[0].starts_with("Second hose: ");
    assert!(lacks && line.lacks[0].contains(&hose), "{line:?}");
}

/// Changes one field of the policy; answers what was said to it.
async fn ask_for(world: &World, field: &str, value: Value, reason: Option<&str>) -> Reply {
    let admin = world.admin();
    let agency = admin.find("/v1/agency").await;
    let mut policy = agency["policy"].clone();
    policy[field] = value;
    let body = json!({ "policy": policy, "reason": reason });
    admin.patch_on("/v1/agency", agency["rev"].as_i64().unwrap(), body).await
}

/// Changes one field of the policy for a reason.
async fn decide(world: &World, field: &str, value: Value) {
    ask_for(world, field, value, Some("decided by the chiefs on Monday")).await.ok();
}

/// Chooses other grades.
async fn grade(world: &World, grades: Value) {
    let coordinator = world.coordinator();
    let rev = coordinator.rev("/v1/agency").await;
    let body = json!({ "grades": grades, "reason": "the new standard of the county" });
    coordinator.post_on("/v1/agency/grade", rev, body).await.ok();
}

on_both!(
    losing_the_cutter_leaves_the_rig_limited_and_losing_the_spreader_too_leaves_nothing,
    async |world: &World| {
        let (county, crew) = (world.county(), world.crew());
        let line = crew.on_board(county.engine_1).await;
        line.is("full", &[]);
        assert_eq!(line.margin, Some(0), "every piece of a bare set is needed");
        crew.take_out(county.set_1.cutter, "stiff").await.ok();
        crew.on_board(county.engine_1)
            .await
            .is("limited", &["cutter E1-CUT: out of service since 2026-11-25 07:00, “stiff”"]);
        crew.take_out(county.set_1.spreader, "tips cracked").await.ok();
        let words = [
            "1 tool can run at once, 2 needed",
            "spreader E1-SPR: out of service since 2026-11-25 07:00, “tips cracked”",
            "cutter E1-CUT: out of service since 2026-11-25 07:00, “stiff”",
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
    line.is("limited", &[]);
    assert_eq!(line.margin, Some(0));
});

on_both!(a_cutter_of_another_family_is_a_paperweight, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    let refused = crew.swap(county.engine_1, county.twin_cutter, "cutter").await.refused(409, "rule-broken");
    assert_eq!(
        refused["detail"],
        "R-TWIN does not serve there: cutter R-TWIN: coupling twin-line does not mate with flat-face single"
    );
    // Somebody puts it aboard all the same.
    world.coordinator().bring(county.twin_cutter, on_rig(county.engine_1)).await.ok();
    let words = [
        "cutter E1-CUT: out of service since 2026-11-25 07:00, “stiff”",
        "cutter R-TWIN: coupling twin-line does not mate with flat-face single",
    ];
    crew.on_board(county.engine_1).await.is("limited", &words);
    let piece = crew.find(&format!("/v1/piece-standings/{}", county.twin_cutter)).await;
    assert_eq!(
        (&piece["verdict"], &piece["rig"], &piece["reasons"][0]["words"]),
        (&json!("not_on_this_rig"), &json!(county.engine_1), &json!(words[1]))
    );
});

on_both!(the_answer_names_the_code_and_the_piece_behind_each_word, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    let capability = crew.capability(county.engine_1).await;
    let gaps = capability["gaps"].as_array().unwrap();
    let told: Vec<_> = gaps.iter().map(|gap| (&gap["in"], &gap["id"], &gap["required"])).collect();
    assert_eq!(
        told,
        [(&json!("need"), &json!("cut"), &json!(true)), (&json!("slot"), &json!("cutter"), &json!(true))]
    );
    for gap in gaps {
        let near = &gap["near"][0];
        assert_eq!(
            (&near["piece"], &near["code"], &near["since"]),
            (&json!(county.set_1.cutter), &json!("out-of-service"), &json!("2026-11-25T14:00:00.000000Z"))
        );
    }
    assert_eq!(
        (&capability["target"], &capability["completeness"], &capability["confirmed_level"]),
        (&json!("full"), &json!("incomplete"), &json!("limited"))
    );
    assert_eq!(
        capability["restore"].as_array().unwrap().len(),
        1,
        "one act makes the rig full again: {capability}"
    );
    assert_eq!(capability["restore"][0]["need"], "cut");
});

on_both!(a_rig_out_of_service_has_no_capability_until_it_is_put_back, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let path = format!("/v1/rigs/{}", county.engine_1);
    crew.post(&format!("{path}/take-out"), json!({ "reason": "flat tyre" })).await.ok();
    crew.on_board(county.engine_1)
        .await
        .is("none", &["rig out of service since 2026-11-25 07:00, “flat tyre”"]);
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
        assert_eq!(line.holds_until.as_deref(), Some("2026-12-01T07:00:00.000000Z"), "midnight in Denver");
        world.clock.set(Utc.with_ymd_and_hms(2026, 12, 1, 7, 0, 0).unwrap());
        let line = soon("Engine 2 is no longer full", async || {
            let line = crew.on_board(county.engine_2).await;
            (line.level != "full").then_some(line)
        })
        .await;
        has_one_hose(&line, "E2", "service life ended 2026-12-01 00:00");
        assert_eq!(line.since, "2026-12-01T07:00:00.000000Z");
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
        assert!(line.level == "none" && line.lacks.iter().any(|lack| lack.contains(&ended)), "{line:?}");
    }
    let refused = ask_for(world, "hose_life_years", json!(10), None).await.refused(422, "reason-needed");
    assert_eq!(refused["field"], "body.reason", "a looser rule needs a reason");
    decide(world, "hose_life_years", json!(10)).await;
    crew.on_board(county.engine_1).await.is("full", &[]);
});

on_both!(whether_an_overdue_service_counts_is_the_agencys_decision_and_is_said, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    coordinator
        .edit(&format!("/v1/pieces/{}", county.set_1.ram), json!({ "last_service_on": "2025-06-01" }))
        .await
        .ok();
    let overdue = "ram E1-RAM: annual service overdue since 2026-06-01 00:00, ";
    // Whatever the level, an overdue service is no confirmation, and what spared the level is said.
    let spared = async |words: &str| {
        coordinator.on_board(county.engine_1).await.is("full", &[]);
        let standing = coordinator.capability(county.engine_1).await;
        assert_eq!(standing["remarks"][0], json!(format!("{overdue}{words}")));
        assert_eq!((&standing["confirmed"], &standing["confirmed_level"]), (&json!(false), &json!("limited")));
        assert_eq!(standing["doubts"][0]["words"], standing["remarks"][0]);
        assert_eq!(
            (&standing["doubts"][0]["piece"], &standing["doubts"][0]["code"]),
            (&json!(county.set_1.ram), &json!("overdue-in-grace"))
        );
        let piece = coordinator.find(&format!("/v1/piece-standings/{}", county.set_1.ram)).await;
        assert_eq!(piece["verdict"], "cannot_be_confirmed");
    };
    let beyond = format!("{overdue}beyond the agency's grace of 30 days");
    coordinator.on_board(county.engine_1).await.is("limited", &[&beyond]);
    decide(world, "overdue_grace_days", json!(365)).await;
    spared("inside the agency's grace of 365 days").await;
    decide(world, "overdue_grace_days", json!(null)).await;
    spared("which by the agency's policy never lowers a level").await;
});

on_both!(
    an_unknown_age_is_not_young_unless_it_is_allowed_until_a_day_for_a_reason,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        coordinator
            .edit(&format!("/v1/pieces/{}", county.set_1.second_hose), json!({ "made_on": null }))
            .await
            .ok();
        has_one_hose(&coordinator.on_board(county.engine_1).await, "E1", "age unknown");
        let unreasoned = json!({ "until": "2026-12-05", "reason": " " });
        let refused = ask_for(world, "unknown_hose_age", unreasoned, Some("a year"))
            .await
            .refused(422, "field-invalid");
        assert_eq!(refused["field"], "body.policy.unknown_hose_age.reason");
        let allowed = json!({ "until": "2026-12-05", "reason": "the maker was asked for the dates" });
        decide(world, "unknown_hose_age", allowed).await;
        let line = coordinator.on_board(county.engine_1).await;
        line.is("full", &[]);
        let ends = Utc.with_ymd_and_hms(2026, 12, 6, 7, 0, 0).unwrap();
        assert_eq!(line.holds_until.map(|until| until.parse::<DateTime<Utc>>().unwrap()), Some(ends));
        let standing = coordinator.capability(county.engine_1).await;
        let why = "hose E1-HOSE2: age unknown, allowed until 2026-12-06 00:00: “the maker was asked for the dates”";
        assert_eq!((&standing["confirmed"], &standing["remarks"][0]), (&json!(false), &json!(why)));
        assert_eq!(
            (&standing["doubts"][0]["code"], &standing["doubts"][0]["words"]),
            (&json!("age-allowed"), &json!(why))
        );
        world.clock.set(ends);
        let line = coordinator.on_board(county.engine_1).await;
        has_one_hose(&line, "E1", "age unknown; it was allowed until 2026-12-06 00:00");
        assert_eq!(line.since, "2026-12-06T07:00:00.000000Z");
    }
);

on_both!(packs_count_where_the_agency_tracks_them, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let driven_by = async || coordinator.capability(county.truck_3).await["needs"][0]["pieces"][0]["via"].clone();
    // No pack of the family is on record in the agency: the tool counts with its own, and that is no confirmation.
    coordinator.on_board(county.truck_3).await.is("limited", &[]);
    assert_eq!(driven_by().await, json!({ "by": "own_pack" }));
    let doubt = coordinator.capability(county.truck_3).await["doubts"][0].clone();
    assert_eq!((&doubt["piece"], &doubt["code"]), (&json!(county.combi_3), &json!("pack-not-on-record")));
    decide(world, "batteries", json!("as_pieces")).await;
    let without = coordinator.on_board(county.truck_3).await;
    let lacking = "combination tool T3-COMBI: no usable battery pack of its family aboard".to_owned();
    assert!(without.level == "none" && without.words.contains(&lacking), "{without:?}");
    let pack = uuid::Uuid::now_v7();
    coordinator
        .apply(vec![piece(pack, "T3-PACK", county.models.pack, on_rig(county.truck_3))])
        .await;
    coordinator.on_board(county.truck_3).await.is("limited", &[]);
    assert_eq!(driven_by().await, json!({ "by": "pack", "pack": pack }));
    // Where packs of the family are on record somewhere, the tool runs on those aboard.
    decide(world, "batteries", json!("where_on_record")).await;
    coordinator.on_board(county.truck_3).await.is("limited", &[]);
    coordinator.take_out(pack, "swollen").await.ok();
    let without = coordinator.on_board(county.truck_3).await;
    assert!(without.level == "none" && without.words.contains(&lacking), "{without:?}");
    decide(world, "batteries", json!("with_tool")).await;
    coordinator.on_board(county.truck_3).await.is("limited", &[]);
    assert_eq!(driven_by().await, json!({ "by": "own_pack" }));
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
            .is("limited", &["cutter E1-CUT: allowed for 10,350 psi, the source runs at 10,400 psi"]);
    }
);

on_both!(a_policy_out_of_range_is_refused_with_its_field, async |world: &World| {
    let admin = world.admin();
    let agency = admin.find("/v1/agency").await;
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

/// A cutter opening that no cutter of the county has.
fn nine_inches() -> Value {
    json!({ "value": 9.0, "unit": "in", "standard": "NFPA 1936", "edition": "2015" })
}

const TOO_SMALL: &str = "cutter E1-CUT: cutter opening 8.1 in, 9 in needed (0.9 in short)";

on_both!(a_stricter_list_makes_a_rig_incomplete_and_not_less_than_full, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let mut complement = crate::world::county::engine_complement();
    complement["slots"][3]["minimums"] = json!({ "cutter_opening": nine_inches() });
    coordinator
        .edit(&format!("/v1/rig-classes/{}", county.engine_class), json!({ "complement": complement }))
        .await
        .ok();
    let line = coordinator.on_board(county.engine_1).await;
    line.is("full", &[]);
    assert_eq!(line.lacks, [format!("Cutter: {TOO_SMALL}")]);
    let standing = coordinator.capability(county.engine_1).await;
    assert_eq!((&standing["completeness"], &standing["confirmed"]), (&json!("incomplete"), &json!(true)));
});

on_both!(a_stricter_grade_is_counted_at_once_on_every_rig, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let mut stricter = grades();
    stricter["full"]["needs"][1]["alternatives"][0]["parts"][0]["minimums"]["cutter_opening"] = nine_inches();
    grade(world, stricter).await;
    coordinator.on_board(county.engine_1).await.is("limited", &[TOO_SMALL]);
    assert_eq!(coordinator.district_on_board(county.north).await, (0, 2, 0, true));
    // A figure of another standard answers no minimum.
    let mut other = grades();
    other["full"]["needs"][1]["alternatives"][0]["parts"][0]["minimums"]["cutter_opening"]["standard"] = json!("EN 13204");
    grade(world, other).await;
    let near = coordinator.capability(county.engine_1).await["gaps"][0]["near"][0].clone();
    assert_eq!(
        (&near["piece"], &near["code"]),
        (&json!(county.set_1.cutter), &json!("rated-by-another-standard"))
    );
    grade(world, grades()).await;
    coordinator.on_board(county.engine_1).await.is("full", &[]);
});

on_both!(heavy_counts_wherever_full_counts, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let mut three = grades();
    three["heavy"] = three["full"].clone();
    let more = json!({ "id": "more", "name": "Combination tool", "alternatives": [{ "parts": [{ "kinds": ["combination_tool"] }] }] });
    three["heavy"]["needs"].as_array_mut().unwrap().push(more);
    grade(world, three).await;
    coordinator.on_board(county.engine_1).await.is("full", &[]);
    coordinator.bring(county.combi_3, on_rig(county.engine_1)).await.ok();
    coordinator.on_board(county.engine_1).await.is("heavy", &[]);
    let board = coordinator.find("/v1/board").await;
    let (north, south) = (&board["districts"][0], &board["districts"][1]);
    assert_eq!(
        (&north["totals"]["heavy"], &north["totals"]["full"], &north["short"], &north["headline"]["able"]),
        (&json!(1), &json!(1), &json!(false), &json!(2))
    );
    assert_eq!(
        (&south["totals"]["none"], &south["short"]),
        (&json!(1), &json!(true)),
        "the truck gave its only tool"
    );
});

on_both!(
    another_class_asks_for_another_list_and_level_and_takes_no_capability_away,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        let path = format!("/v1/rigs/{}", county.engine_1);
        let truck = json!({ "rig_class": county.truck_class, "reason": "it runs as a truck" });
        let edited = coordinator.edit(&path, truck).await.record();
        assert_eq!(id_of(&edited), county.engine_1);
        let line = coordinator.on_board(county.engine_1).await;
        line.is("full", &[]);
        assert_eq!(line.lacks, ["Combination tool: no combination tool aboard"]);
        assert_eq!(coordinator.capability(county.engine_1).await["expects"], "limited");
        assert_eq!(coordinator.find("/v1/board").await["headline"]["expected"], 1);
        let none = json!({ "rig_class": null, "reason": "no class fits it" });
        coordinator.edit(&path, none).await.ok();
        let line = coordinator.on_board(county.engine_1).await;
        line.is("full", &[]);
        assert!(line.lacks.is_empty(), "{line:?}");
        let standing = coordinator.capability(county.engine_1).await;
        assert_eq!((&standing["expects"], &standing["completeness"]), (&json!(null), &json!("no_list")));
        assert_eq!(coordinator.find("/v1/board").await["headline"]["expected"], 1);
        assert!(!coordinator.district_on_board(county.north).await.3, "two full rigs are two full rigs");
    }
);
