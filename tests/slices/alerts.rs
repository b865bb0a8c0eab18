//! Telling dispatch: who is told of which change, signed and acknowledged.

mod failing;
mod kit;
mod lost;
mod mailed;
mod own_phones;
pub mod pushed;

use chrono::{DateTime, TimeDelta, TimeZone as _, Utc};
use serde_json::json;
use uuid::Uuid;

use crate::{
    contract::stage::receiver,
    world::{World, command, on_both},
};
use kit::{Dispatch, at, only, sorted, verify};

on_both!(a_code_that_is_none_is_refused_alike_and_not_for_ever, async |world: &World| {
    let given = async |code: &str| {
        let body = json!({ "code": code, "by": "Desk 3" });
        let request = world.http.post(format!("{}/v1/acknowledgements", world.server.base)).json(&body);
        crate::world::Reply::of("acknowledge".into(), request).await
    };
    for code in ["", "a\0b", "not a code", &"a".repeat(101), &"A".repeat(43)] {
        given(code).await.refused(403, "code-unknown");
    }
    for _ in 0..55 {
        given("x").await.refused(403, "code-unknown");
    }
    // One more comes free each second: a slow machine has some more tries before it is held up.
    for _ in 0..200 {
        let answer = given("x").await;
        if answer.status == 429 {
            assert!(answer.headers.contains_key("retry-after"));
            answer.refused(429, "slow-down");
            return;
        }
        answer.refused(403, "code-unknown");
    }
    panic!("nobody is held up");
});

on_both!(a_rig_that_falls_is_told_signed_and_without_anybodys_words, async |world: &World| {
    let dispatch = Dispatch::open(world).await;
    let (county, crew) = (world.county(), world.crew());
    let ram = county.set_1.ram;
    crew.take_out(ram, "bent by J. Miller").await.ok();
    // North needs two full rigs and has two: it is short as well.
    let messages = dispatch.messages(2).await;
    for message in &messages {
        verify(&dispatch.secret, message, world.clock.now());
        assert!(!message.body.contains("Miller") && !message.body.contains("Crew"), "{}", message.body);
    }
    let rig = only(&messages, "fullset.rig.falls");
    let event = &rig.json;
    assert_eq!(
        (&event["specversion"], &event["datacontenttype"], &event["subject"]),
        (&json!("1.0"), &json!("application/json"), &json!(format!("rig/{}", county.engine_1)))
    );
    assert_eq!(event["source"], json!(format!("urn:fullset:agency:{}", world.agency().id)));
    assert_eq!(event["id"], json!(rig.id), "one id for the event and the message");
    let data = &event["data"];
    assert_eq!(
        (&data["name"], &data["before"], &data["after"]),
        (&json!("Engine 1"), &json!("full"), &json!("limited"))
    );
    assert_eq!(
        (&data["expected"], &data["reason"]),
        (
            &json!("full"),
            &json!("Missing, or not to be used: Ram. Limited by the records, and confirmed.")
        )
    );
    assert_eq!(data["confirmed"], json!(true));
    assert_eq!(at(&data["since"]), world.clock.now());
    let short = &only(&messages, "fullset.district.short").json["data"];
    assert_eq!((&short["name"], &short["full"], &short["min_full"]), (&json!("North"), &json!(1), &json!(2)));
    assert_eq!(
        (&short["confirmed_full"], &short["confirmed"], &short["reason"]),
        (&json!(1), &json!(null), &json!("1 of 2 full by the records, and confirmed."))
    );
    // Taken is not acknowledged.
    let told = dispatch.told(&rig.id, "taken").await;
    assert_eq!((&told["acknowledged"], &told["name"]), (&json!(null), &json!("Dispatch")));
    let open = crew.list("/v1/alerts?state=open").await;
    assert_eq!(open.len(), 2);
    // And back again.
    world.pass(TimeDelta::minutes(5));
    let officer = world.officer();
    let rev = officer.rev(&format!("/v1/pieces/{ram}")).await;
    world.shop().put_back(ram, rev, "straightened").await.ok();
    let messages = dispatch.messages(4).await;
    let rises = &only(&messages, "fullset.rig.rises").json;
    assert_eq!((&rises["data"]["before"], &rises["data"]["after"]), (&json!("limited"), &json!("full")));
    assert!(rises["data"]["revision"].as_i64() > event["data"]["revision"].as_i64());
    only(&messages, "fullset.district.enough");
    dispatch.close().await;
});

on_both!(a_stand_in_that_nobody_has_tried_is_told_as_full_by_the_records_alone, async |world: &World| {
    let dispatch = Dispatch::open(world).await;
    let (county, crew) = (world.county(), world.crew());
    crew.take_out(county.set_1.cutter, "stiff").await.ok();
    dispatch.messages(2).await;
    crew.swap(county.engine_1, county.spare_cutter, "cutter").await.ok();
    assert_eq!(crew.capability(county.engine_1).await["confirmed"], json!(false));
    let messages = dispatch.messages(4).await;
    let rises = &only(&messages, "fullset.rig.rises").json["data"];
    assert_eq!((&rises["after"], &rises["confirmed"]), (&json!("full"), &json!(false)));
    assert_eq!(
        rises["reason"], "Full by the records, not confirmed: R-CUT was not tried on this rig.",
        "what records say is not told as tried"
    );
    let enough = &only(&messages, "fullset.district.enough").json["data"];
    assert_eq!(
        (&enough["full"], &enough["confirmed_full"], &enough["min_full"]),
        (&json!(2), &json!(1), &json!(2))
    );
    assert_eq!(enough["reason"], "2 of 2 full by the records, 1 of them confirmed.");
    // Nor is it in what members read of it.
    let alerts = crew.list("/v1/alerts").await;
    let told = alerts.iter().find(|alert| alert["change"] == "rig_rises").unwrap();
    assert_eq!((&told["confirmed"], &told["reason"]), (&json!(false), &rises["reason"]));
    dispatch.close().await;
});

on_both!(
    it_is_acknowledged_by_the_answer_by_the_code_or_by_a_member_and_only_once,
    async |world: &World| {
        let dispatch = Dispatch::open(world).await;
        let (county, crew, officer) = (world.county(), world.crew(), world.officer());
        dispatch.answers(200, json!({ "acknowledged_by": "Desk 3" })).await;
        crew.take_out(county.set_1.ram, "bent").await.ok();
        let first = dispatch.messages(2).await;
        let told = dispatch.told(&only(&first, "fullset.rig.falls").id, "taken").await;
        let by = &told["acknowledged"];
        assert_eq!(
            (&by["by"]["name"], &by["by"]["id"], &by["through"]),
            (&json!("Desk 3"), &json!(null), &json!("answer"))
        );
        // A yes without a name says nothing.
        dispatch.answers(200, json!("ok")).await;
        crew.take_out(county.set_2.ram, "bent").await.ok();
        let second = only(&dispatch.messages(3).await[2..], "fullset.rig.falls").clone();
        dispatch.told(&second.id, "taken").await;
        let address = second.json["data"]["acknowledge"]["path"].as_str().unwrap();
        let code = |code: &str, by: &str| json!({ "code": code, "by": by });
        let given = second.json["data"]["acknowledge"]["code"].as_str().unwrap();
        let send = async |body| dispatch.nobody(address, body).await;
        send(code("0000", "Desk 4")).await.refused(403, "code-unknown");
        send(code(given, " ")).await.refused(422, "field-invalid");
        send(code(given, "Desk 4")).await.ok();
        send(code(given, "Desk 4")).await.ok();
        send(code(given, "Desk 5")).await.refused(403, "code-unknown");
        let told = dispatch.told(&second.id, "taken").await;
        assert_eq!(
            (&told["acknowledged"]["by"]["name"], &told["acknowledged"]["through"]),
            (&json!("Desk 4"), &json!("code"))
        );
        assert!(crew.list("/v1/alerts?state=open").await.is_empty());
        // A member, within reach; the first word counts.
        crew.post(&format!("/v1/rigs/{}/take-out", county.engine_1), json!({ "reason": "brakes" }))
            .await
            .ok();
        let third = only(&dispatch.messages(4).await[3..], "fullset.rig.falls").clone();
        assert_eq!(
            (&third.json["data"]["after"], &third.json["data"]["reason"]),
            (&json!("out_of_service"), &json!("The rig was taken out of service."))
        );
        dispatch.told(&third.id, "taken").await;
        let path = format!("/v1/alerts/{}/acknowledge", third.id);
        crew.post(&path, json!({})).await.refused(403, "not-allowed");
        officer.post(&path, json!({ "receiver": Uuid::now_v7() })).await.refused(422, "field-invalid");
        officer.post(&path, json!({ "note": "told over the radio" })).await.ok();
        officer.post(&path, json!({})).await.refused(409, "rule-broken");
        let told = dispatch.told(&third.id, "taken").await;
        assert_eq!(
            (&told["acknowledged"]["through"], &told["acknowledged"]["note"]),
            (&json!("member"), &json!("told over the radio"))
        );
        // What nobody has acknowledged stands first.
        crew.post(&format!("/v1/rigs/{}/take-out", county.engine_2), json!({ "reason": "brakes" }))
            .await
            .ok();
        let states: Vec<String> = crew
            .list("/v1/alerts")
            .await
            .iter()
            .map(|alert| if alert["told"][0]["acknowledged"].is_null() { "open" } else { "closed" }.into())
            .collect();
        assert_eq!(states.first().map(String::as_str), Some("open"), "{states:?}");
        assert_eq!(states.iter().filter(|state| *state == "open").count(), 1, "{states:?}");
        dispatch.close().await;
    }
);

on_both!(each_receiver_is_told_of_its_own_part_and_what_it_asked_for, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let add = async |name: &str, more: serde_json::Value| {
        let mut body = receiver(Uuid::now_v7(), name);
        body.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        coordinator.post("/v1/receivers", body).await
    };
    crew.post("/v1/receivers", receiver(Uuid::now_v7(), "Crew's own"))
        .await
        .refused(403, "not-allowed");
    add("All", json!({})).await.ok();
    add("South", json!({ "district": county.south })).await.ok();
    add("Station 1", json!({ "station": county.station_1 })).await.ok();
    add("Rises", json!({ "changes": ["rig_rises"] })).await.ok();
    add("Short", json!({ "changes": ["district_short"], "district": county.north })).await.ok();
    add("Elsewhere", json!({ "station": county.station_1, "district": county.south }))
        .await
        .refused(422, "field-invalid");
    add("Nothing", json!({ "changes": [] })).await.refused(422, "field-invalid");
    add("Weak", json!({ "secret": "whsec_c2hvcnQ=" })).await.refused(422, "field-invalid");
    add("ALL", json!({})).await.refused(409, "already-there");
    crew.take_out(county.set_1.ram, "bent").await.ok();
    let told: Vec<(String, Vec<String>)> = crew
        .list("/v1/alerts")
        .await
        .iter()
        .map(|alert| {
            let names = alert["told"].as_array().unwrap().iter().map(|told| told["name"].as_str().unwrap().to_owned());
            (alert["change"].as_str().unwrap().to_owned(), sorted(names))
        })
        .collect();
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(told.contains(&("rig_falls".into(), vec!["All".into(), "Station 1".into()])), "{told:?}");
    assert!(told.contains(&("district_short".into(), vec!["All".into(), "Short".into()])), "{told:?}");
    // The station's feed has the rig's alert, and no receiver; the south has neither.
    let kinds = async |scope: String| {
        let page = crew.find(&format!("/v1/changes?limit=2000&scope={scope}")).await;
        sorted(
            page["changes"]
                .as_array()
                .unwrap()
                .iter()
                .map(|change| change["kind"].as_str().unwrap().to_owned()),
        )
    };
    let of_station = kinds(format!("station:{}", county.station_1)).await;
    assert_eq!(of_station.iter().filter(|kind| *kind == "alert").count(), 1);
    assert!(!of_station.contains(&"receiver".to_owned()));
    assert!(!kinds(format!("district:{}", county.south)).await.contains(&"alert".to_owned()));
    // A secret is nowhere.
    let secret = "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";
    for path in ["/v1/receivers", "/v1/changes?limit=2000"] {
        assert!(!coordinator.get(path).await.text.contains(secret), "{path}");
    }
    let journal = crate::world::sql::number(
        &world.location,
        &format!("SELECT count(*) AS n FROM journal WHERE CAST(body AS TEXT) LIKE '%{secret}%'"),
    );
    assert_eq!(journal, 0);
});

on_both!(nothing_is_told_of_what_is_undone_refused_or_only_tried_out, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    coordinator.post("/v1/receivers", receiver(Uuid::now_v7(), "Dispatch")).await.ok();
    let out = command("piece.take_out", json!({ "id": county.set_1.ram, "reason": "bent" }));
    crew.post("/v1/effects", json!({ "commands": [out] })).await.ok();
    assert!(crew.list("/v1/alerts").await.is_empty());
    let waiting = || crate::world::sql::number(&world.location, "SELECT count(*) AS n FROM telling");
    assert_eq!(waiting(), 0);
    // The same command twice tells once.
    crew.send(vec![out.clone(), out.clone()]).await.ok();
    crew.send(vec![out]).await.ok();
    assert_eq!((crew.list("/v1/alerts").await.len(), waiting()), (2, 2));
});

on_both!(what_runs_out_by_the_clock_is_told_with_its_own_instant, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    coordinator.post("/v1/receivers", receiver(Uuid::now_v7(), "Dispatch")).await.ok();
    // Engine 2's second hose reaches the end of its life at midnight in Denver.
    let midnight: DateTime<Utc> = Utc.with_ymd_and_hms(2026, 12, 1, 7, 0, 0).unwrap();
    world.clock.set(midnight + TimeDelta::hours(3));
    crew.find("/v1/board").await;
    let alerts = crew.list("/v1/alerts").await;
    let rig = alerts
        .iter()
        .find(|alert| alert["rig"] == json!(county.engine_2))
        .unwrap_or_else(|| panic!("{alerts:?}"));
    assert_eq!((at(&rig["at"]), &rig["change"]), (midnight, &json!("rig_falls")));
});

on_both!(a_shops_day_and_a_changed_minimum_are_told, async |world: &World| {
    let (county, coordinator, crew, shop) = (world.county(), world.coordinator(), world.crew(), world.shop());
    coordinator.post("/v1/receivers", receiver(Uuid::now_v7(), "Dispatch")).await.ok();
    let ram = county.set_1.ram;
    let alert = async || {
        let mut all = crew.list("/v1/alerts").await;
        all.sort_by_key(|alert| alert["revision"].as_i64());
        all.pop().unwrap()
    };
    crew.take_out(ram, "bent").await.ok();
    let falls = crew.list("/v1/alerts").await.into_iter().find(|alert| alert["change"] == "rig_falls").unwrap();
    assert_eq!(falls["expected_back"], json!(null), "no shop has said anything");
    let ticket = Uuid::now_v7();
    crew.post(
        "/v1/tickets",
        json!({ "id": ticket, "piece": ram, "shop": county.shop, "what": "bent", "defects": [] }),
    )
    .await
    .ok();
    shop.step(ticket, "accept", json!({})).await.ok();
    shop.step(ticket, "wait", json!({ "reason": "part", "for": "rod", "expected_on": "2026-12-04" }))
        .await
        .ok();
    // The rig goes out of service and comes back as it was: by then the shop has named a day for the ram.
    let rig = format!("/v1/rigs/{}", county.engine_1);
    crew.post(&format!("{rig}/take-out"), json!({ "reason": "brakes" })).await.ok();
    let out = alert().await;
    assert_eq!((&out["after"], &out["expected_back"]), (&json!("out_of_service"), &json!(null)));
    let officer = world.officer();
    let rev = officer.rev(&rig).await;
    officer.post_on(&format!("{rig}/put-back"), rev, json!({})).await.ok();
    let back = alert().await;
    assert_eq!(
        (&back["change"], &back["after"], &back["expected_back"]),
        (&json!("rig_rises"), &json!("limited"), &json!("2026-12-04")),
        "{back}"
    );
    let path = format!("/v1/districts/{}", county.south);
    coordinator.edit(&path, json!({ "min_full": 0 })).await.ok();
    let last = alert().await;
    assert_eq!(
        (&last["change"], &last["name"], &last["min_full"]),
        (&json!("district_enough"), &json!("South"), &json!(0)),
        "{last}"
    );
    coordinator.edit(&path, json!({ "name": "Deep South" })).await.ok();
    assert_eq!(alert().await["id"], last["id"], "a new name is no change");
});
