//! What a limit takes away from a piece, and what a piece that was returned without a limit on record says of itself.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, World,
    acts::{id_of, rev_of, tight},
    on_both,
};

async fn verdict(client: &Client, piece: Uuid) -> Value {
    client.find(&format!("/v1/piece-standings/{piece}")).await
}

/// A defect that leaves the piece usable, without these ratings.
async fn report(client: &Client, piece: Uuid, without: Value) -> crate::world::Reply {
    let body = json!({
        "id": Uuid::now_v7(), "piece": piece, "what": "one blade does not open all the way", "class": "other", "severity": "usable",
        "limit": { "without": without },
    });
    client.post("/v1/defects", body).await
}

on_both!(a_limit_takes_ratings_away_and_they_meet_nothing, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let cutter = county.set_1.cutter;
    officer.on_board(county.engine_1).await.is("full", &[]);
    let defect = report(&officer, cutter, json!(["cutter_opening", "cutter_opening"])).await.record();
    assert_eq!(defect["limit"]["without"], json!(["cutter_opening"]));
    assert_eq!(officer.piece(cutter).await["limits"][0]["without"], json!(["cutter_opening"]));
    let line = officer.on_board(county.engine_1).await;
    assert_eq!(line.level, "limited", "a cutter whose opening does not count is no cutter of full: {line:?}");
    assert!(line.words[0].contains("E1-CUT: cutter opening does not count while this stands"), "{line:?}");
    let may = verdict(&officer, cutter).await;
    assert_eq!((&may["verdict"], &may["reasons"][0]["code"]), (&json!("yes_with_limit"), &json!("open-defect")));
    let words = may["reasons"][0]["words"].as_str().unwrap();
    assert!(
        words.contains("; its cutter opening does not count; to be repaired by 2026-12-06 00:00"),
        "{words}"
    );
    let rig = officer.capability(county.engine_1).await;
    assert_eq!(
        (&rig["holds_until"], &rig["holds_until_why"]),
        (&json!("2026-12-06T07:00:00.000000Z"), &json!("defect of cutter E1-CUT to be repaired by then"))
    );
    let spreader = verdict(&officer, county.set_1.spreader).await;
    assert_eq!(
        spreader["holds_until_why"], "annual service of spreader E1-SPR due",
        "it runs without the cutter"
    );
    let spare = verdict(&officer, county.spare_cutter).await;
    assert_eq!(
        (&spare["holds_until"], &spare["holds_until_why"]),
        (&json!("2027-06-01T06:00:00.000000Z"), &json!("annual service of cutter R-CUT due"))
    );
    // Closed on its evidence, the piece has its ratings again.
    world.shop().close(id_of(&defect), "adjusted, opens all the way").await.ok();
    officer.on_board(county.engine_1).await.is("full", &[]);
    assert_eq!(verdict(&officer, cutter).await["verdict"], "yes");
});

on_both!(a_later_note_takes_more_away_and_gives_nothing_back, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let cutter = county.set_1.cutter;
    let defect = id_of(&report(&officer, cutter, json!(["mass"])).await.record());
    officer.on_board(county.engine_1).await.is("full", &[]);
    let note = format!("/v1/defects/{defect}/note");
    let worse = json!({ "text": "opens half way now", "limit": { "without": ["cutter_opening"] } });
    let noted = crew.post(&note, worse).await.record();
    assert_eq!(noted["limit"]["without"], json!(["mass", "cutter_opening"]));
    assert_eq!(officer.on_board(county.engine_1).await.level, "limited");
    crew.post(&note, json!({ "text": "still so" })).await.ok();
    assert_eq!(
        officer.piece(cutter).await["limits"][0]["without"],
        json!(["mass", "cutter_opening"]),
        "a note that names nothing gives nothing back"
    );
    // Put off, and called something else: the ratings stay away.
    let path = format!("/v1/defects/{defect}");
    let rev = officer.rev(&path).await;
    let put_off = officer
        .post_on(&format!("{path}/extend"), rev, json!({ "reason": "blade comes Monday" }))
        .await
        .record();
    assert_eq!(put_off["limit"]["without"], json!(["mass", "cutter_opening"]));
    let leak = crew.post(&note, json!({ "text": "it weeps", "class": "leak" })).await.record();
    assert_eq!(leak["limit"]["without"], json!(["mass", "cutter_opening"]));
    assert_eq!(officer.on_board(county.engine_1).await.level, "limited");
});

on_both!(a_limit_names_ratings_of_the_kind_and_not_too_many, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let ram = county.set_1.ram;
    let problem = report(&officer, ram, json!(["cutter_opening"])).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.limit.without");
    assert!(
        problem["detail"]
            .as_str()
            .unwrap()
            .starts_with("A ram has no cutter opening; it has: push force"),
        "{problem}"
    );
    report(&officer, ram, json!(["pushes_well"])).await.refused(422, "field-invalid");
    let nine = json!([
        "push_force",
        "push_force_2",
        "push_force_3",
        "ram_stages",
        "pull_force",
        "retracted_length",
        "extended_length",
        "stroke",
        "mass"
    ]);
    report(&officer, ram, nine).await.refused(422, "field-invalid");
    let out = json!({
        "id": Uuid::now_v7(), "piece": ram, "what": "bent", "class": "deformation", "severity": "out_of_service",
        "limit": { "without": ["push_force"] },
    });
    let problem = officer.post("/v1/defects", out).await.refused(422, "field-invalid");
    assert_eq!(
        problem["detail"],
        "A piece that is out of service does nothing; a limit is for one that can still be used"
    );
    assert_eq!(officer.piece(ram).await["limits"], json!([]));
});

on_both!(a_piece_returned_without_a_limit_on_record_says_so, async |world: &World| {
    let (county, crew, officer, shop) = (world.county(), world.crew(), world.officer(), world.shop());
    let ram = county.set_1.ram;
    let defect = id_of(
        &crew
            .report_as(ram, "fell off the tailboard", "drop_or_overload", "out_of_service")
            .await
            .record(),
    );
    let asked = officer.find(&format!("/v1/pieces/{ram}/release")).await["release"].clone();
    let unlimited = asked["readings"].as_array().unwrap().iter().filter(|one| one["limit_on_record"] == false);
    assert_eq!(unlimited.map(|one| one["measure"].clone()).collect::<Vec<_>>(), [json!("push_force")]);
    assert_eq!((&asked["signs"], &asked["manual"]), (&json!("technician"), &json!(true)));
    let mut evidence = json!({ "readings": tight(10_400.0) });
    let told = async |client: &Client, evidence: &Value| {
        let problem = client.close_on(defect, "load tested", evidence.clone()).await.refused(409, "evidence-missing");
        let all = problem["missing"].as_array().unwrap().iter();
        all.map(|one| one["what"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    // The shop's role, the reading and the manual's passage: all three.
    assert_eq!(told(&officer, &evidence).await, ["signature", "manual", "reading"]);
    let force = json!({ "measure": "push_force", "value": { "value": 100, "unit": "kN" } });
    evidence["readings"].as_array_mut().unwrap().push(force);
    assert_eq!(told(&shop, &evidence).await, ["manual"]);
    evidence["manual"] = json!("load test, page 12");
    assert_eq!(told(&officer, &evidence).await, ["signature"]);
    shop.close_on(defect, "load tested", evidence.clone()).await.ok();
    let rev = rev_of(&officer.piece(ram).await);
    shop.put_back_on(ram, rev, "back on the rig", json!({ "readings": tight(10_400.0) })).await.ok();
    assert_eq!(shop.piece(ram).await["released"]["without_limit"], json!(["push_force"]));
    let may = verdict(&crew, ram).await;
    assert_eq!(
        (&may["verdict"], &may["reasons"][0]["code"]),
        (&json!("cannot_be_confirmed"), &json!("limit-not-on-record"))
    );
    assert_eq!(
        may["reasons"][0]["words"],
        "ram E1-RAM: limit not on record for pushing force; returned 2026-11-25 07:00 by the manual, load test, page 12"
    );
    let rig = crew.capability(county.engine_1).await;
    assert_eq!((&rig["level"], &rig["confirmed"]), (&json!("full"), &json!(false)));
    assert!(rig["doubts"].to_string().contains("limit-not-on-record"), "{rig}");
    // A service of before says nothing of it; a passed annual service of today does.
    let serviced = async |on: &str| {
        let body = json!({ "id": ram, "on": on, "by_whom": "Fleet shop", "evidence": { "readings": tight(10_400.0) } });
        shop.post(&format!("/v1/pieces/{ram}/serviced"), body).await.ok();
        verdict(&crew, ram).await["verdict"].clone()
    };
    assert_eq!(serviced("2026-11-20").await, "cannot_be_confirmed");
    assert_eq!(serviced("2026-11-25").await, "yes");
});
