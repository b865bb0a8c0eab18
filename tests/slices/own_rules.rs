//! What an agency decides otherwise than the shipped table of releases: stricter as it likes, looser for a reason that the piece shows.

use chrono::TimeDelta;
use serde_json::{Value, json};

use crate::world::{
    Client, Reply, World,
    acts::{id_of, looked_over, rev_of, tight},
    on_both,
};

async fn decide(client: &Client, kind: &str, class: &str, rule: Value, reason: Option<&str>) -> Reply {
    let body = json!({ "kind": kind, "class": class, "rule": rule, "reason": reason });
    client.post("/v1/agency/release-rule", body).await
}

/// The row of the table.
async fn row(client: &Client, kind: &str, class: &str) -> Value {
    let found = client.find("/v1/defect-rules").await;
    let rows = found["items"].as_array().unwrap().iter();
    rows.into_iter().find(|one| one["kind"] == kind && one["class"] == class).unwrap().clone()
}

on_both!(a_stricter_rule_holds_and_is_shown_beside_the_shipped_one, async |world: &World| {
    let (county, officer, coordinator) = (world.county(), world.officer(), world.coordinator());
    let ram = county.set_1.ram;
    decide(&officer, "ram", "leak", json!({ "usable_by": "nobody" }), None)
        .await
        .refused(403, "not-allowed");
    let shipped = row(&officer, "ram", "leak").await;
    assert_eq!((&shipped["usable_by"], &shipped["own"]), (&json!("officer"), &json!(null)));
    decide(&coordinator, "ram", "leak", json!({ "usable_by": "nobody", "readings": ["push_force"] }), None)
        .await
        .ok();
    let held = row(&officer, "ram", "leak").await;
    assert_eq!(
        (&held["usable_by"], &held["limit"], &held["shipped"]["usable_by"], &held["shipped"]["limit"]),
        (&json!("nobody"), &json!(null), &json!("officer"), &shipped["limit"])
    );
    assert_eq!(
        (&held["own"]["by"], &held["own"]["since"]),
        (&coordinator.person.told(), &json!("2026-11-25T14:00:00.000000Z"))
    );
    assert!(held["readings"].to_string().contains("push_force"), "{held}");
    let problem = officer.report_as(ram, "weeps", "leak", "usable").await.refused(409, "rule-broken");
    assert_eq!(problem["detail"], "A ram leaking is never usable: the agency has decided so");
    officer.report_as(ram, "weeps", "leak", "out_of_service").await.ok();
    let asked = officer.find(&format!("/v1/pieces/{ram}/release")).await;
    assert!(asked["release"]["readings"].to_string().contains("push_force"), "{asked}");
    // Cleared, it is looser than it was: on what was seen, and with a reason.
    decide(&coordinator, "ram", "leak", json!(null), None).await.refused(428, "revision-needed");
    let path = "/v1/agency".to_owned();
    let rev = coordinator.rev(&path).await;
    let clear = async |reason: Value| {
        let body = json!({ "kind": "ram", "class": "leak", "rule": null, "reason": reason });
        coordinator.post_on("/v1/agency/release-rule", rev, body).await
    };
    assert_eq!(clear(json!(null)).await.refused(422, "field-invalid")["field"], "body.reason");
    clear(json!("seals hold now")).await.ok();
    assert_eq!(row(&officer, "ram", "leak").await, shipped);
    assert_eq!(coordinator.find(&path).await["release_rules"], json!([]));
});

on_both!(what_stays_usable_under_a_looser_rule_shows_it, async |world: &World| {
    let (county, crew, officer, coordinator) = (world.county(), world.crew(), world.officer(), world.coordinator());
    let (ram, other) = (county.set_1.ram, county.set_2.ram);
    let crew_may = json!({ "usable_by": "crew" });
    let problem = decide(&coordinator, "ram", "leak", crew_may.clone(), None).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.reason");
    assert!(
        problem["detail"]
            .as_str()
            .unwrap()
            .contains("looser than the table: who may say that it can still be used"),
        "{problem}"
    );
    decide(&coordinator, "ram", "leak", crew_may, Some("no officer rides at night")).await.ok();
    let defect = crew.report_as(ram, "weeps", "leak", "usable").await.record();
    assert_eq!(defect["limit"]["own_rule"], "no officer rides at night");
    let may = crew.find(&format!("/v1/piece-standings/{ram}")).await;
    assert_eq!(may["verdict"], "yes_with_limit");
    let words = may["reasons"][0]["words"].as_str().unwrap();
    assert!(
        words.contains("kept in use under the agency's own rule: “no officer rides at night”"),
        "{words}"
    );
    // An officer may say so by the shipped rule, and then nothing is shown.
    let by_officer = officer.report_as(other, "weeps", "leak", "usable").await.record();
    assert_eq!(by_officer["limit"]["own_rule"], json!(null));
    assert_eq!(officer.piece(ram).await["limits"][0]["own_rule"], "no officer rides at night");
});

on_both!(what_was_returned_under_a_looser_rule_shows_it, async |world: &World| {
    let (county, crew, officer, shop) = (world.county(), world.crew(), world.officer(), world.shop());
    let ram = county.set_1.ram;
    let officer_signs = json!({ "signs": "officer" });
    decide(&world.coordinator(), "ram", "leak", officer_signs, Some("the shop is 90 miles off"))
        .await
        .ok();
    let mend = async |client: &Client| {
        let defect = id_of(&crew.report_as(ram, "leaks", "leak", "out_of_service").await.record());
        let closed = client.close_on(defect, "new seal", json!({ "readings": tight(10_400.0) })).await;
        closed.ok();
        let rev = rev_of(&client.piece(ram).await);
        client.put_back_on(ram, rev, "runs dry", looked_over()).await.ok();
        let may = crew.find(&format!("/v1/piece-standings/{ram}")).await;
        (client.piece(ram).await["released"]["own_rule"].clone(), may)
    };
    let (own_rule, may) = mend(&officer).await;
    assert_eq!(own_rule, json!(["the shop is 90 miles off"]));
    assert_eq!(
        (&may["verdict"], &may["reasons"][0]["code"]),
        (&json!("cannot_be_confirmed"), &json!("own-rule"))
    );
    assert_eq!(
        may["reasons"][0]["words"],
        "ram E1-RAM: returned under the agency's own rule: “the shop is 90 miles off”"
    );
    assert_eq!(crew.capability(county.engine_1).await["confirmed"], false);
    world.pass(TimeDelta::minutes(10));
    // The technician's word is what the shipped rule asks for: nothing is told.
    let (own_rule, may) = mend(&shop).await;
    assert_eq!((own_rule, &may["verdict"]), (json!([]), &json!("yes")));
});

on_both!(what_is_forbidden_outright_no_agency_allows, async |world: &World| {
    let coordinator = world.coordinator();
    let usable = json!({ "usable_by": "officer", "limit": "Low pressure only.", "within": "three_days" });
    for (kind, class) in [
        ("hose", "cut_or_blister"),
        ("hose", "kink"),
        ("hose", "leak"),
        ("cutter", "control_does_not_return"),
        ("spreader", "drop_or_overload"),
        ("power_unit", "fire"),
    ] {
        let problem = decide(&coordinator, kind, class, usable.clone(), Some("we always did")).await;
        let problem = problem.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.rule.usable_by", "{kind} {class}");
        assert!(problem["detail"].as_str().unwrap().ends_with("no rule of an agency changes that"), "{problem}");
    }
    let officer = json!({ "signs": "officer" });
    for (kind, class) in [("hose", "cut_or_blister"), ("spreader", "drop_or_overload"), ("battery", "flood")] {
        let problem = decide(&coordinator, kind, class, officer.clone(), Some("we always did")).await;
        assert_eq!(problem.refused(422, "field-invalid")["field"], "body.rule.signs", "{kind} {class}");
    }
    decide(&coordinator, "hose", "electrical", officer, Some("x"))
        .await
        .refused(422, "field-invalid");
    decide(&coordinator, "ram", "leak", json!({}), Some("x")).await.refused(422, "field-invalid");
    let path = "/v1/agency".to_owned();
    assert_eq!(coordinator.find(&path).await["release_rules"], json!([]));
});
