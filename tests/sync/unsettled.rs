//! The feed names the answers that the service does not stand by now, so that no phone goes on showing them.

use std::collections::BTreeSet;

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, command, county::piece, on_both, on_rig, on_shelf, soon, sql};

/// The answers that a page of the feed names, by the ids of what they are about, and whether there are more.
async fn named(client: &Client, scope: &str) -> (BTreeSet<String>, bool) {
    let page = client.find(&format!("/v1/changes?limit=1&scope={scope}")).await;
    let unsettled = &page["unsettled"];
    let records = unsettled["records"].as_array().unwrap_or_else(|| panic!("the page says nothing of it: {page}"));
    let ids = records.iter().map(|one| one["id"].as_str().expect("an id").to_owned()).collect();
    (ids, unsettled["more"].as_bool().expect("more or not"))
}

/// A lapse as the clock leaves it that has not come to it, and cannot.
fn waits(world: &World, kind: &str, id: Uuid) {
    let [at, try_at] = ["2026-11-25T13:00:00Z", "2030-01-01T00:00:00Z"].map(|at| sql::instant(&world.location, at));
    let set = format!("SET pending = (1 = 1), at = {at}, try_at = {try_at}");
    sql::run(&world.location, &format!("UPDATE lapse {set} WHERE kind = '{kind}' AND id = {}", world.id(id)));
}

on_both!(a_rig_that_waits_to_be_judged_anew_is_named_in_its_own_scopes, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    assert_eq!(named(&crew, "agency").await, (BTreeSet::new(), false));
    waits(world, "rig", county.engine_2);
    // A command elsewhere: what a page says is kept until the next revision.
    crew.take_out(county.combi_3, "stiff").await.ok();
    let engine = BTreeSet::from([county.engine_2.to_string()]);
    let here = [
        "agency".to_owned(),
        format!("district:{}", county.north),
        format!("station:{}", county.station_2),
        format!("rig:{}", county.engine_2),
    ];
    for scope in here {
        assert_eq!(named(&crew, &scope).await, (engine.clone(), false), "{scope}");
    }
    for scope in [format!("station:{}", county.station_1), format!("district:{}", county.south)] {
        assert_eq!(named(&crew, &scope).await.0, BTreeSet::new(), "{scope}");
    }
    let page = crew.find("/v1/changes?limit=1").await;
    assert_eq!(
        page["unsettled"]["records"][0],
        json!({ "kind": "rig", "id": county.engine_2, "pending": true })
    );
    // The answers about the pieces aboard do not count either, wherever they are read.
    let cutter = format!("/v1/piece-standings/{}", county.set_2.cutter);
    let said = crew.find(&cutter).await;
    assert_eq!((&said["known"], &said["pending"]), (&json!(false), &json!(true)));
    let listed = crew.list("/v1/piece-standings").await;
    let marked = listed.iter().filter(|one| one["known"] == json!(false));
    assert!(marked.clone().all(|one| one["rig"] == json!(county.engine_2)));
    assert_eq!(marked.count(), 6);
    // Whatever touches the rig settles it.
    crew.take_out(county.set_2.ram, "bent").await.ok();
    assert_eq!(named(&crew, "agency").await.0, BTreeSet::new());
    assert_eq!(crew.find(&cutter).await["known"], json!(true));
});

on_both!(an_answer_that_ran_out_and_could_not_be_settled_is_named_too, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let [at, try_at] = ["2026-11-25T13:00:00Z", "2030-01-01T00:00:00Z"].map(|at| sql::instant(&world.location, at));
    let set = format!("SET at = {at}, try_at = {try_at}");
    sql::run(
        &world.location,
        &format!("UPDATE lapse {set} WHERE kind = 'piece' AND id = {}", world.id(county.spare_hose)),
    );
    let page = crew.find("/v1/changes?limit=1").await;
    let hose: Value = json!([{ "kind": "piece", "id": county.spare_hose, "pending": false }]);
    assert_eq!(page["unsettled"], json!({ "more": false, "records": hose }));
});

on_both!(
    after_a_change_for_all_rigs_each_page_tells_what_waits_until_nothing_does,
    async |world: &World| {
        let (county, coordinator, admin) = (world.county(), world.coordinator(), world.admin());
        // The clock comes to nothing while this writer is asked: pieces on the shelf and rigs, more than a page names.
        let mut more = Vec::new();
        for n in 0..260 {
            let (id, place) = (Uuid::now_v7(), Uuid::now_v7());
            if n % 2 == 0 {
                let body = json!({ "id": place, "name": format!("Squad {n}"), "station": county.station_3, "rig_class": county.truck_class });
                more.push(command("rig.add", body));
                more.push(piece(id, &format!("X-{n}"), county.models.combi, on_rig(place)));
            } else {
                more.push(piece(id, &format!("X-{n}"), county.models.combi, on_shelf(county.station_3)));
            }
        }
        coordinator.apply(more).await;
        world.pass(TimeDelta::minutes(1));
        let agency = admin.find("/v1/agency").await;
        let mut policy = agency["policy"].clone();
        policy["batteries"] = json!("as_pieces");
        let rev = agency["rev"].as_i64().expect("a revision");
        admin.patch_on("/v1/agency", rev, json!({ "policy": policy })).await.ok();
        // Each page is as true as the board of its instant: what is not named has been judged by the new policy.
        soon("all are judged anew", async || {
            let page = coordinator.find("/v1/changes?limit=2000").await;
            let (unsettled, mut checked) = (&page["unsettled"], 0);
            let names: BTreeSet<&str> = unsettled["records"]
                .as_array()
                .expect("records")
                .iter()
                .filter_map(|one| one["id"].as_str())
                .collect();
            assert!(names.len() <= 200);
            for change in page["changes"]
                .as_array()
                .expect("changes")
                .iter()
                .filter(|change| change["kind"] == "rig_standing")
            {
                let (id, record) = (change["id"].as_str().expect("an id"), &change["record"]);
                let squad = record["rig_name"].as_str().is_some_and(|name| name.starts_with("Squad"));
                if squad && unsettled["more"] == false && !names.contains(id) {
                    assert_eq!(record["level"], "none", "{record}");
                    checked += 1;
                }
            }
            (unsettled["more"] == false && names.is_empty()).then(|| assert_eq!(checked, 130))
        })
        .await;
    }
);
