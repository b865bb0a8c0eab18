//! Who is on a rig, until when, and what nobody aboard is signed off on. The hours are of the world's clock, 2026-11-25 14:00 UTC.

use chrono::TimeDelta;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, on_both};

async fn now(client: &Client, rig: Uuid) -> Value {
    let all = client.find("/v1/crews/now").await;
    let found = all["items"].as_array().unwrap().iter().find(|one| one["rig"] == json!(rig)).cloned();
    found.unwrap_or_else(|| panic!("{rig} among {all}"))
}

/// Says who is on a rig.
async fn name(client: &Client, rig: Uuid, body: &Value) -> Reply {
    client.ask(Method::PUT, &format!("/v1/crews/{rig}"), Some(body), &[]).await
}

fn kinds(crew: &Value) -> Vec<&str> {
    let unsigned = crew["unsigned"].as_array().unwrap();
    unsigned.iter().map(|one| one["kind"].as_str().unwrap()).collect()
}

on_both!(
    what_nobody_aboard_is_signed_off_on_stands_beside_the_level_and_lowers_nothing,
    async |world: &World| {
        let (county, crew, officer) = (world.county(), world.crew(), world.officer());
        let rig = county.engine_1;
        let before = now(&crew, rig).await;
        assert_eq!(
            (&before["known"], &before["until"], kinds(&before).len()),
            (&json!(false), &Value::Null, 0),
            "{before}"
        );

        let body = json!({ "members": [crew.person.id, officer.person.id], "until": "2026-11-26T15:00:00Z" });
        name(&crew, rig, &body).await.ok();
        let aboard = now(&crew, rig).await;
        assert_eq!((&aboard["known"], aboard["members"].as_array().unwrap().len()), (&json!(true), 2), "{aboard}");
        assert_eq!(kinds(&aboard), ["power_unit", "cutter", "spreader", "ram"]);
        assert!(
            aboard["unsigned"][1]["words"]
                .as_str()
                .unwrap()
                .starts_with("nobody aboard is signed off on the cutter "),
            "{aboard}"
        );
        assert_eq!(crew.capability(rig).await["level"], "full", "the set is there, whoever is aboard");

        // One of them is enough, up to and including the day.
        let signed = |until: &str| json!({ "kinds": ["power_unit", "cutter", "spreader", "ram"], "until": until });
        officer
            .post(&format!("/v1/members/{}/sign-offs", crew.person.id), signed("2026-11-25"))
            .await
            .ok();
        assert_eq!(kinds(&now(&crew, rig).await), [""; 0]);
        world.pass(TimeDelta::days(1));
        let later = now(&crew, rig).await;
        assert_eq!((kinds(&later).len(), &later["unsigned"][0]["ended"]), (4, &json!("2026-11-25")), "{later}");

        // Over is not known, and not the crew of yesterday.
        world.pass(TimeDelta::hours(2));
        let over = now(&crew, rig).await;
        assert_eq!((&over["known"], &over["members"], kinds(&over).len()), (&json!(false), &json!([]), 0), "{over}");
    }
);

on_both!(a_crew_that_cannot_be_is_refused_with_the_field, async |world: &World| {
    let (county, crew) = (world.county(), world.member("crew_1"));
    let rig = county.engine_1;
    let me = crew.person.id;
    for (body, field) in [
        (json!({ "members": [me, me], "until": "2026-11-26T07:00:00Z" }), "body.members[1]"),
        (json!({ "members": [Uuid::now_v7()], "until": "2026-11-26T07:00:00Z" }), "body.members[0]"),
        (json!({ "members": vec![me; 13], "until": "2026-11-26T07:00:00Z" }), "body.members"),
        (json!({ "members": [me], "until": "2026-11-25T13:00:00Z" }), "body.until"),
        (json!({ "members": [me], "until": "2026-12-25T13:00:00Z" }), "body.until"),
    ] {
        let refused = name(&crew, rig, &body).await.refused(422, "field-invalid");
        assert_eq!(refused["field"], field, "{refused}");
    }
    let good = json!({ "members": [me], "until": "2026-11-26T07:00:00Z" });
    name(&crew, county.engine_2, &good).await.refused(403, "out-of-reach");
    name(&crew, rig, &good).await.ok();
    // The next crew takes its place; the one before is its history.
    name(&crew, rig, &json!({ "members": [], "until": "2026-11-26T07:00:00Z" })).await.ok();
    let uncrewed = now(&crew, rig).await;
    assert_eq!(
        (&uncrewed["known"], kinds(&uncrewed).len()),
        (&json!(true), 0),
        "not crewed lacks no sign-off: {uncrewed}"
    );
    assert_eq!(crew.find(&format!("/v1/crews/{rig}/history")).await["items"].as_array().unwrap().len(), 2);
});

on_both!(a_new_family_takes_a_sign_off_of_its_own_and_practice_once_a_year, async |world: &World| {
    let (county, coordinator, officer, crew) = (world.county(), world.coordinator(), world.officer(), world.crew());
    let rig = county.engine_1;
    let body = json!({ "members": [crew.person.id], "until": "2026-11-26T15:00:00Z" });
    name(&crew, rig, &body).await.ok();
    let sign_offs = format!("/v1/members/{}/sign-offs", crew.person.id);
    let all = json!({ "kinds": ["power_unit", "cutter", "spreader", "ram"], "until": "2027-06-30" });
    officer.post(&sign_offs, all).await.ok();
    assert_eq!(kinds(&now(&crew, rig).await), [""; 0]);
    let level = crew.capability(rig).await["level"].clone();

    // The model comes to be of a family that is run differently: the old sign-off is none.
    let model = format!("/v1/models/{}", county.models.cutter);
    coordinator.edit(&model, json!({ "family": " Kestrel 90 " })).await.ok();
    let lacking = now(&crew, rig).await;
    assert_eq!((kinds(&lacking), &lacking["unsigned"][0]["family"]), (vec!["cutter"], &json!("Kestrel 90")));
    let words = lacking["unsigned"][0]["words"].as_str().unwrap();
    assert!(words.starts_with("nobody aboard is signed off on the Kestrel 90 cutter "), "{words}");
    assert_eq!(crew.capability(rig).await["level"], level, "no level hangs on it");
    let family = json!({ "kinds": ["cutter"], "family": "kestrel 90", "until": "2027-06-30" });
    crew.post(&sign_offs, family.clone()).await.refused(403, "not-allowed");
    officer.post(&sign_offs, family).await.ok();
    assert_eq!(kinds(&now(&crew, rig).await), [""; 0]);

    // Practice is noted by somebody else, of what the member is signed off on, on a day that has been.
    let practice = format!("/v1/members/{}/practice", crew.person.id);
    let on = |kinds: Value, family: Value, on: &str| json!({ "kinds": kinds, "family": family, "on": on });
    let refused = officer
        .post(&practice, on(json!(["hand_pump"]), Value::Null, "2026-11-25"))
        .await
        .refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.kinds");
    let refused = officer
        .post(&practice, on(json!(["cutter"]), json!("Kestrel 90"), "2026-11-26"))
        .await
        .refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.on");
    let own = format!("/v1/members/{}/practice", officer.person.id);
    officer
        .post(&own, on(json!(["cutter"]), Value::Null, "2026-11-25"))
        .await
        .refused(409, "rule-broken");
    world.pass(TimeDelta::days(40));
    officer.post(&practice, on(json!(["cutter"]), json!("KESTREL 90"), "2027-01-03")).await.ok();
    officer.post(&practice, on(json!(["cutter"]), json!("Kestrel 90"), "2026-12-24")).await.ok();
    let member = crew.find(&format!("/v1/members/{}", crew.person.id)).await;
    let told: Vec<[&Value; 4]> = member["sign_offs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| [&one["kind"], &one["family"], &one["practised_on"], &one["practise_by"]])
        .collect();
    assert_eq!(told[1], [&json!("cutter"), &Value::Null, &Value::Null, &json!("2027-11-25")], "{member}");
    assert_eq!(
        told[2],
        [&json!("cutter"), &json!("kestrel 90"), &json!("2027-01-03"), &json!("2028-01-03")],
        "{member}"
    );
    // Taken from the family again, the sign-off on the kind counts again.
    coordinator.edit(&model, json!({ "family": "" })).await.ok();
    assert_eq!(coordinator.find(&model).await["family"], Value::Null);
    let hose = format!("/v1/models/{}", county.models.hose);
    let rev = coordinator.rev(&hose).await;
    let refused = coordinator
        .patch_on(&hose, rev, json!({ "family": "Kestrel 90" }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.family");
});
