//! How far a member reaches: a station, a district, or the whole agency.

use serde_json::{Value, json};

use crate::world::{
    Client, World,
    acts::{id_of, rev_of},
    in_shop, on_both, on_rig, on_shelf,
};

on_both!(a_crew_reports_and_takes_out_anywhere_and_decides_at_home, async |world: &World| {
    let (county, crew) = (world.county(), world.member("crew_1"));
    // Crews are detailed to other houses: who sees a cut hose says so.
    let cut = crew
        .report_as(county.set_2.hose, "cut to the braid", "cut_or_blister", "out_of_service")
        .await
        .record();
    assert_eq!(crew.piece(county.set_2.hose).await["state"], "out_of_service");
    assert_eq!(cut["reported_by"], crew.person.told());
    let seeps = id_of(&crew.report_as(county.set_2.pump, "frame dented", "deformation", "usable").await.record());
    let worse = json!({ "text": "it fell off", "class": "drop_or_overload" });
    crew.post(&format!("/v1/defects/{seeps}/note"), worse).await.ok();
    assert_eq!(crew.piece(county.set_2.pump).await["state"], "out_of_service");
    crew.take_out(county.set_2.ram, "bent").await.ok();
    let used = json!({ "id": uuid::Uuid::now_v7(), "rig": county.engine_2, "pieces": [county.set_2.cutter] });
    crew.post("/v1/uses", used).await.ok();
    crew.post(&format!("/v1/rigs/{}/take-out", county.engine_2), json!({ "reason": "flat tyre" }))
        .await
        .ok();
    // What raises a level or moves a piece stays with those who have it.
    crew.swap(county.engine_2, county.twin_cutter, "cutter").await.refused(403, "out-of-reach");
    let officer = world.member("officer_1");
    let rev = rev_of(&officer.piece(county.set_2.ram).await);
    officer.put_back(county.set_2.ram, rev, "fine").await.refused(403, "out-of-reach");
    officer.close(seeps, "fine").await.refused(403, "out-of-reach");
    officer
        .move_to(county.set_2.cutter, on_shelf(county.station_1))
        .await
        .refused(403, "out-of-reach");
    let rig = format!("/v1/rigs/{}", county.engine_2);
    let rev = officer.rev(&rig).await;
    officer.post_on(&format!("{rig}/put-back"), rev, json!({})).await.refused(403, "out-of-reach");
});

on_both!(a_crew_may_fetch_a_reserve_from_another_station_for_its_own_rig, async |world: &World| {
    let (county, crew) = (world.county(), world.member("crew_1"));
    crew.swap(county.engine_1, county.spare_cutter, "cutter").await.ok();
});

on_both!(what_belongs_to_no_station_is_within_everybodys_reach, async |world: &World| {
    let (county, crew) = (world.county(), world.member("crew_1"));
    world.coordinator().bring(county.set_2.ram, in_shop(county.shop)).await.ok();
    crew.take_out(county.set_2.ram, "fell off the bench").await.ok();
});

on_both!(a_district_chief_acts_in_the_own_district_only, async |world: &World| {
    let (county, chief) = (world.county(), world.member("chief_north"));
    for (rig, allowed) in [(county.engine_1, true), (county.engine_2, true), (county.truck_3, false)] {
        let path = format!("/v1/rigs/{rig}");
        let out = chief.post(&format!("{path}/take-out"), json!({ "reason": "at a drill" })).await;
        let rev = rev_of(&out.record());
        let back = chief.post_on(&format!("{path}/put-back"), rev, json!({})).await;
        if allowed {
            back.ok();
        } else {
            back.refused(403, "out-of-reach");
        }
    }
});

on_both!(a_member_sees_the_whole_agency_whatever_the_reach, async |world: &World| {
    let (county, crew) = (world.county(), world.member("crew_1"));
    assert_eq!(crew.piece(county.set_2.ram).await["tag"], "E2-RAM");
    assert_eq!(crew.on_board(county.truck_3).await.level, "limited");
});

on_both!(crew_reports_and_officers_decide, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.member("crew_1"), world.member("officer_1"));
    let rev = rev_of(&crew.take_out(county.set_1.ram, "bent").await.record());
    crew.put_back(county.set_1.ram, rev, "straightened").await.refused(403, "not-allowed");
    let defect = id_of(&crew.report_as(county.set_1.pump, "frame dented", "deformation", "usable").await.record());
    crew.close(defect, "oiled").await.refused(403, "not-allowed");
    crew.move_to(county.set_1.ram, on_shelf(county.station_1)).await.refused(403, "not-allowed");
    officer.put_back(county.set_1.ram, rev, "straightened").await.refused(409, "evidence-missing");
    world.shop().put_back(county.set_1.ram, rev, "straightened").await.ok();
    officer.close(defect, "oiled").await.ok();
});

on_both!(
    a_piece_that_was_moved_away_is_out_of_reach_and_one_that_came_is_within,
    async |world: &World| {
        let (county, crew, officer) = (world.county(), world.member("crew_1"), world.member("officer_1"));
        world.officer().bring(county.set_1.ram, on_shelf(county.station_2)).await.ok();
        crew.swap(county.engine_2, county.spare_cutter, "cutter").await.refused(403, "out-of-reach");
        let lies_there = officer.move_to(county.set_1.ram, on_shelf(county.station_1)).await;
        lies_there.refused(403, "out-of-reach");
        world.officer().bring(county.spare_cutter, on_shelf(county.station_1)).await.ok();
        officer.bring(county.spare_cutter, on_rig(county.engine_1)).await.ok();
    }
);

/// The records of a kind that another agency has, as a member of this one is shown them.
async fn seen(member: &Client, path: &str, theirs: &[Value]) -> usize {
    let own = member.list(path).await;
    assert!(!own.is_empty(), "{path}: nothing to tell apart");
    own.iter().filter(|record| theirs.iter().any(|other| other["id"] == record["id"])).count()
}

on_both!(nothing_is_visible_across_agencies, async |world: &World| {
    let (ours, theirs) = (world.crew(), world.member_of(&world.ground.vale, "crew"));
    for path in [
        "districts",
        "stations",
        "shops",
        "models",
        "rig-classes",
        "rigs",
        "pieces",
        "members",
        "rig-standings",
        "piece-standings",
    ] {
        let path = format!("/v1/{path}");
        let other = theirs.list(&path).await;
        assert_eq!(seen(&ours, &path, &other).await, 0, "{path}");
    }
    let their_rig = world.ground.vale.county.engine_1;
    ours.get(&format!("/v1/pieces?rig={their_rig}")).await.refused(400, "query-invalid");
    assert_ne!(ours.find("/v1/agency").await["id"], theirs.find("/v1/agency").await["id"]);
    ours.get(&format!("/v1/rigs/{their_rig}/remedies")).await.refused(404, "not-found");
    ours.swap(their_rig, world.county().spare_cutter, "cutter").await.refused(422, "field-invalid");
});
