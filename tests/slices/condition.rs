//! What becomes of a piece beside its repair: retired, missing and found, quarantined after a mix of fluids, used and checked.

use chrono::TimeDelta;
use serde_json::json;
use uuid::Uuid;

use crate::world::{
    World,
    acts::{id_of, rev_of},
    in_shop, on_both,
};

on_both!(retiring_a_piece_says_how_it_was_made_unusable_and_closes_its_defects, async |world: &World| {
    let (hose, coordinator) = (world.county().set_1.hose, world.coordinator());
    let defect = id_of(
        &world
            .crew()
            .report_as(hose, "cut to the braid", "cut_or_blister", "out_of_service")
            .await
            .record(),
    );
    let rev = rev_of(&coordinator.piece(hose).await);
    let path = format!("/v1/pieces/{hose}/retire");
    coordinator.post_on(&path, rev, json!({ "reason": "cut" })).await.refused(422, "field-invalid");
    let piece = coordinator
        .post_on(&path, rev, json!({ "reason": "cut to the braid", "disposal": "cut in three" }))
        .await
        .record();
    assert_eq!(
        (&piece["state"], &piece["disposal"], &piece["holds"]),
        (&json!("retired"), &json!("cut in three"), &json!([]))
    );
    let closed = coordinator.find(&format!("/v1/defects/{defect}")).await;
    assert_eq!(
        (&closed["state"], &closed["resolution"]),
        (&json!("closed"), &json!("Retired: “cut to the braid”"))
    );
});

on_both!(a_missing_piece_keeps_its_last_place_and_is_checked_when_it_is_found, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let ram = county.set_1.ram;
    let piece = crew
        .post(
            &format!("/v1/pieces/{ram}/report-missing"),
            json!({ "note": "not in its compartment after the drill" }),
        )
        .await
        .record();
    assert_eq!((&piece["state"], &piece["place"]), (&json!("missing"), &crate::world::on_rig(county.engine_1)));
    assert_eq!(crew.list("/v1/pieces?state=missing").await.len(), 1);
    officer
        .on_board(county.engine_1)
        .await
        .is("limited", &["ram E1-RAM: missing since 2026-11-25 07:00"]);
    let may = crew.find(&format!("/v1/piece-standings/{ram}")).await;
    assert_eq!((&may["verdict"], &may["reasons"][0]["code"]), (&json!("no"), &json!("missing")));
    let rev = rev_of(&officer.piece(ram).await);
    officer.put_back(ram, rev, "must be somewhere").await.refused(409, "rule-broken");
    officer.move_to(ram, in_shop(county.shop)).await.refused(409, "rule-broken");
    crew.post(&format!("/v1/pieces/{ram}/report-missing"), json!({ "note": "again" }))
        .await
        .refused(409, "rule-broken");
    crew.take_out(ram, "and bent, I heard").await.ok();
    assert_eq!(crew.piece(ram).await["state"], "missing");
    let found = json!({ "place": in_shop(county.shop), "note": "in the drill trailer" });
    let piece = crew.post(&format!("/v1/pieces/{ram}/found"), found).await.record();
    assert_eq!(
        (&piece["state"], &piece["state_reason"], &piece["place"]),
        (
            &json!("out_of_service"),
            &json!("found on 2026-11-25, to be checked: “in the drill trailer”"),
            &in_shop(county.shop)
        )
    );
    let rev = rev_of(&piece);
    world.shop().put_back(ram, rev, "looked over, ran it").await.ok();
});

on_both!(mixed_fluids_take_out_every_wet_piece_aboard, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    crew.report_as(county.set_1.cutter, "red fluid at the coupling", "fluid_mix", "out_of_service")
        .await
        .ok();
    let set = county.set_1;
    for piece in [set.pump, set.cutter, set.spreader, set.ram, set.hose, set.second_hose] {
        let record = crew.piece(piece).await;
        assert_eq!(
            (&record["state"], &record["unanswered"][0]["class"]),
            (&json!("out_of_service"), &json!("fluid_mix")),
            "{record}"
        );
        assert_eq!(crew.list(&format!("/v1/defects?parent={piece}&state=open")).await.len(), 1);
    }
    assert_eq!(crew.piece(county.set_2.cutter).await["state"], "in_service", "aboard another rig");
    crew.report_as(county.set_1.pump, "still red", "fluid_mix", "out_of_service").await.ok();
    assert_eq!(
        crew.list(&format!("/v1/defects?parent={}&state=open", set.ram)).await.len(),
        1,
        "once is enough"
    );
    let ram = id_of(&crew.list(&format!("/v1/defects?parent={}", set.ram)).await[0]);
    let problem = world.officer().close(ram, "wiped").await.refused(409, "evidence-missing");
    assert!(problem["missing"].to_string().contains("flushed"), "{problem}");
    world
        .member("crew_1")
        .report_as(county.combi_3, "wet", "fluid_mix", "out_of_service")
        .await
        .ok();
});

on_both!(
    a_used_piece_is_checked_again_and_an_old_entry_never_overwrites_a_newer_one,
    async |world: &World| {
        let (county, crew) = (world.county(), world.crew());
        let (cutter, hose) = (county.set_1.cutter, county.set_1.hose);
        world.pass(TimeDelta::hours(6));
        let record = async |hours: i64| {
            let body = json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "pieces": [cutter, hose] });
            let mut used = crate::world::command("use.record", body.clone());
            used["at"] = json!(world.clock.now() - TimeDelta::hours(hours));
            crew.apply(vec![used]).await;
            id_of(&body)
        };
        let recent = record(1).await;
        record(4).await;
        assert_eq!(crew.piece(cutter).await["used_at"], "2026-11-25T19:00:00.000000Z", "the later of the two");
        let path = format!("/v1/uses/{recent}/check");
        let stranger = crew
            .post(&path, json!({ "pieces": [cutter, county.set_1.ram] }))
            .await
            .refused(422, "field-invalid");
        assert_eq!(stranger["field"], "body.pieces[1]");
        let checked = crew.post(&path, json!({ "pieces": [cutter], "note": "wiped, nothing found" })).await.record();
        assert_eq!(checked["checks"][0]["pieces"], json!([cutter]));
        let piece = crew.piece(cutter).await;
        assert_eq!(
            (&piece["checked_at"], &piece["checked_by"]),
            (&json!("2026-11-25T20:00:00.000000Z"), &crew.person.told())
        );
        assert_eq!(crew.piece(hose).await["checked_at"], json!(null));
        crew.post(&path, json!({})).await.ok();
        assert_eq!(crew.piece(hose).await["checked_at"], "2026-11-25T20:00:00.000000Z");
    }
);
