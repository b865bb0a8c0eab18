//! Defects: usable or out of service, seen again, closed by a person. A hold ends only with what made it.

use chrono::TimeDelta;
use serde_json::json;

use crate::world::{
    World,
    acts::{id_of, rev_of},
    on_both,
};

on_both!(a_usable_defect_lowers_nothing, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let defect = crew.report_as(county.set_1.pump, "seeps a little", "deformation", "usable").await.record();
    assert_eq!((&defect["state"], &defect["reported_by"]), (&json!("open"), &crew.person.told()));
    assert_eq!(crew.piece(county.set_1.pump).await["state"], "in_service");
    crew.on_board(county.engine_1).await.is("full", &[]);
    // But nobody has confirmed that it is in order.
    assert_eq!(crew.capability(county.engine_1).await["confirmed"], false);
    let may = crew.find(&format!("/v1/piece-standings/{}", county.set_1.pump)).await;
    assert_eq!((&may["verdict"], &may["reasons"][0]["code"]), (&json!("yes_with_limit"), &json!("open-defect")));
});

on_both!(a_defect_that_is_not_repaired_in_time_takes_the_piece_out_by_the_clock, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let ram = county.set_1.ram;
    officer.report_as(ram, "weeps at the gland", "leak", "usable").await.ok();
    let line = officer.on_board(county.engine_1).await;
    assert_eq!(
        (line.level.as_str(), line.holds_until.as_deref()),
        ("full", Some("2026-11-29T07:00:00.000000Z"))
    );
    // To the last moment of 28 November in the agency's zone it may be used, then no more.
    world.pass(TimeDelta::hours(89) - TimeDelta::seconds(1));
    officer.on_board(county.engine_1).await.is("full", &[]);
    world.pass(TimeDelta::seconds(1));
    let line = officer.on_board(county.engine_1).await;
    assert_eq!((line.level.as_str(), line.since.as_str()), ("limited", "2026-11-29T07:00:00.000000Z"));
    assert!(
        line.words[0].starts_with("ram E1-RAM: had to be repaired by 2026-11-29 00:00"),
        "{:?}",
        line.words
    );
    assert_eq!(officer.piece(ram).await["state"], "in_service", "nobody has taken it out");
    let may = officer.find(&format!("/v1/piece-standings/{ram}")).await;
    assert_eq!((&may["verdict"], &may["reasons"][0]["code"]), (&json!("no"), &json!("repair-by-past")));
});

on_both!(a_seep_that_is_seen_again_joins_the_open_defect, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let defect = id_of(&crew.report_as(county.set_1.pump, "seeps a little", "deformation", "usable").await.record());
    world.pass(TimeDelta::days(7));
    let noted = crew.post(&format!("/v1/defects/{defect}/note"), json!({ "text": "seeps more" })).await.record();
    assert_eq!(noted["seen_again"], json!(1));
    let notes = crew.list(&format!("/v1/defect-notes?parent={}", county.set_1.pump)).await;
    let (id, rev) = (&notes[0]["id"], &noted["rev"]);
    let expected = json!([{ "id": id, "defect": defect, "piece": county.set_1.pump, "at": "2026-12-02T14:00:00.000000Z", "by": crew.person.told(),
        "text": "seeps more", "class": null, "severity": null, "photos": [], "state": "open", "rev": rev }]);
    assert_eq!(json!(notes), expected);
    assert_eq!(crew.list(&format!("/v1/defects?parent={}", county.set_1.pump)).await.len(), 1);
});

on_both!(closing_a_defect_does_not_return_the_piece, async |world: &World| {
    let (county, crew, shop) = (world.county(), world.crew(), world.shop());
    let cutter = county.set_1.cutter;
    let defect = id_of(&crew.report(cutter, "blade chipped", "out_of_service").await.record());
    let closed = shop.close(defect, "blade turned").await.record();
    assert_eq!((&closed["state"], &closed["closed_by"]), (&json!("closed"), &shop.person.told()));
    let piece = shop.piece(cutter).await;
    assert_eq!(
        (piece["state"].as_str(), &piece["holds"]),
        (Some("out_of_service"), &json!([])),
        "a person returns it, nothing else does"
    );
    shop.put_back(cutter, rev_of(&piece), "blade turned, cut a bar").await.ok();
    shop.on_board(county.engine_1).await.is("full", &[]);
    shop.close(defect, "again").await.refused(409, "rule-broken");
});

on_both!(every_open_defect_holds_the_piece_by_itself, async |world: &World| {
    let (cutter, crew, shop) = (world.county().set_1.cutter, world.crew(), world.shop());
    let chipped = id_of(&crew.report(cutter, "blade chipped", "out_of_service").await.record());
    let leaking = id_of(&crew.report(cutter, "leaks", "out_of_service").await.record());
    shop.close(chipped, "blade turned").await.ok();
    let piece = shop.piece(cutter).await;
    assert_eq!(piece["holds"], json!([{ "by": "defect", "id": leaking }]));
    shop.put_back(cutter, rev_of(&piece), "blade turned").await.refused(409, "rule-broken");
    shop.close(leaking, "resealed").await.ok();
    let rev = rev_of(&shop.piece(cutter).await);
    shop.put_back(cutter, rev, "both done").await.ok();
});

on_both!(a_defect_names_a_piece_of_the_own_agency, async |world: &World| {
    let theirs = world.ground.vale.county.set_1.cutter;
    let problem = world.crew().report(theirs, "not ours", "usable").await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.piece");
});

on_both!(a_defect_says_where_it_was_seen_wherever_the_piece_goes, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let defect = officer.report_as(county.set_1.pump, "seeps", "deformation", "usable").await.record();
    officer.bring(county.set_1.pump, crate::world::on_shelf(county.station_3)).await.ok();
    let later = officer.find(&format!("/v1/defects/{}", id_of(&defect))).await;
    assert_eq!(later["place"], crate::world::on_rig(county.engine_1));
});

on_both!(a_defect_and_what_was_seen_again_name_their_photos, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let photos: Vec<String> = (0..9).map(|n| format!("{n:x}").repeat(64)).collect();
    let report = |photos: serde_json::Value| json!({ "id": uuid::Uuid::now_v7(), "piece": county.set_1.pump, "what": "seeps", "class": "deformation", "severity": "usable", "photos": photos });
    let defect = crew.post("/v1/defects", report(json!(photos[..8]))).await.record();
    assert_eq!(defect["photos"], json!(photos[..8]), "whether they are here yet does not matter");
    let note = format!("/v1/defects/{}/note", id_of(&defect));
    let noted = crew.post(&note, json!({ "text": "seeps more", "photos": [photos[8]] })).await.record();
    assert_eq!(noted["photos"], json!(photos[..8]));
    world.pass(TimeDelta::minutes(1));
    crew.post(&note, json!({ "text": "no picture" })).await.ok();
    let notes = crew.list(&format!("/v1/defect-notes?parent={}", county.set_1.pump)).await;
    let kept: Vec<_> = notes.iter().map(|note| &note["photos"]).collect();
    assert_eq!(kept, [&json!([photos[8]]), &json!([])]);
    for (bad, field) in [
        (json!(photos), "body.photos"),
        (json!([photos[0], photos[1], photos[0]]), "body.photos[2]"),
        (json!([photos[0], "x"]), "body.photos[1]"),
        (json!([photos[0], "A".repeat(64)]), "body.photos[1]"),
    ] {
        let told = crew.post("/v1/defects", report(bad.clone())).await.refused(422, "field-invalid");
        assert_eq!(told["field"], field);
        let told = crew.post(&note, json!({ "text": "again", "photos": bad })).await.refused(422, "field-invalid");
        assert_eq!(told["field"], field);
    }
});
