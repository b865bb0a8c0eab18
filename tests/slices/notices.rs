//! Safety notices: what one stops, limits or asks for, which pieces it is about, and when it is done with.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, acts::rev_of, county::piece, on_both, on_shelf, soon};

async fn model_of(client: &Client, piece: Uuid) -> Value {
    client.piece(piece).await["model"].clone()
}

fn notice(id: Uuid, models: &[&Value], action: Value, serials: Value) -> Value {
    json!({
        "id": id, "number": format!("24-{id}"), "title": "Handle may stick", "text": "Stop using the tool.", "issuer": "The maker", "dated": "2026-11-24",
        "action": action, "covers": { "models": models, "serials": serials },
    })
}

async fn standing(client: &Client, piece: Uuid) -> Value {
    client.find(&format!("/v1/piece-standings/{piece}")).await
}

on_both!(
    a_stop_use_notice_lowers_levels_at_once_and_only_a_person_of_the_shop_lifts_it,
    async |world: &World| {
        let (county, coordinator, shop, crew) = (world.county(), world.coordinator(), world.shop(), world.crew());
        let (first, second) = (county.set_1.cutter, county.set_2.cutter);
        let model = model_of(&crew, first).await;
        let id = Uuid::now_v7();
        let body = notice(id, &[&model], json!({ "do": "stop_use" }), json!([]));
        crew.post("/v1/notices", body.clone()).await.refused(403, "not-allowed");
        coordinator.post("/v1/notices", body).await.ok();
        let now = standing(&crew, first).await;
        assert_eq!((&now["verdict"], &now["reasons"][0]["code"]), (&json!("no"), &json!("stop-use")), "{now}");
        assert!(now["reasons"][0]["words"].as_str().unwrap().contains("Handle may stick"), "{now}");
        assert_ne!(crew.capability(county.engine_1).await["level"], "full");
        // What comes later is affected as well.
        let later = Uuid::now_v7();
        coordinator
            .apply(vec![piece(
                later,
                "LATE-1",
                model.as_str().unwrap().parse().unwrap(),
                on_shelf(county.station_1),
            )])
            .await;
        assert_eq!(standing(&crew, later).await["verdict"], "no");
        // Looking for it ends nothing; a piece that was not found stays open.
        let path = |what: &str| format!("/v1/notices/{id}/{what}");
        crew.post(&path("seek"), json!({ "piece": first, "found": true })).await.ok();
        crew.post(&path("seek"), json!({ "piece": second, "found": false, "note": "not in the compartment" }))
            .await
            .ok();
        assert_eq!(standing(&crew, first).await["verdict"], "no");
        let progress = crew.find(&path("pieces")).await;
        assert_eq!((&progress["open"], &progress["not_found"]), (&progress["pieces"], &json!(1)), "{progress}");
        // The shop's word, on evidence, and nobody else's.
        let done = json!({ "piece": first, "not_affected": false, "evidence": "handle exchanged, paper 118" });
        crew.post(&path("clear"), done.clone()).await.refused(403, "not-allowed");
        world.officer().post(&path("clear"), done.clone()).await.refused(403, "not-allowed");
        shop.post(&path("clear"), json!({ "piece": first, "not_affected": false, "evidence": " " }))
            .await
            .refused(422, "field-invalid");
        shop.post(&path("clear"), done).await.ok();
        assert_ne!(standing(&crew, first).await["verdict"], "no");
        crew.post(&path("seek"), json!({ "piece": first, "found": false }))
            .await
            .refused(409, "rule-broken");
        let ram = county.set_1.ram;
        crew.post(&path("seek"), json!({ "piece": ram, "found": true }))
            .await
            .refused(409, "rule-broken");
        let left = crew.find(&path("pieces")).await;
        assert_eq!(left["open"].as_u64().unwrap() + 1, progress["open"].as_u64().unwrap());
        // Withdrawn, it holds nothing any more.
        let rev = rev_of(&coordinator.find(&format!("/v1/notices/{id}")).await);
        shop.post_on(&path("withdraw"), rev, json!({ "reason": "taken back" }))
            .await
            .refused(403, "not-allowed");
        coordinator
            .post_on(&path("withdraw"), rev, json!({ "reason": "the maker took it back" }))
            .await
            .ok();
        assert_ne!(standing(&crew, second).await["verdict"], "no");
    }
);

on_both!(
    what_somebody_looked_for_and_did_not_find_counts_nowhere_until_it_is_found,
    async |world: &World| {
        let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
        let cutter = county.set_1.cutter;
        let model = model_of(&crew, cutter).await;
        let id = Uuid::now_v7();
        let by = json!({ "do": "inspect_by", "by": "2026-12-20" });
        coordinator.post("/v1/notices", notice(id, &[&model], by, json!([]))).await.ok();
        let seek = async |found: bool| {
            crew.post(&format!("/v1/notices/{id}/seek"), json!({ "piece": cutter, "found": found }))
                .await
                .ok();
            standing(&crew, cutter).await
        };
        let before = standing(&crew, cutter).await["verdict"].clone();
        assert_ne!(before, "no");
        assert_eq!(crew.capability(county.engine_1).await["level"], "full");
        let now = seek(false).await;
        assert_eq!((&now["verdict"], &now["reasons"][0]["code"]), (&json!("no"), &json!("missing")), "{now}");
        assert_ne!(crew.capability(county.engine_1).await["level"], "full", "nobody can take it in hand");
        assert_eq!(seek(true).await["verdict"], before);
        assert_eq!(crew.capability(county.engine_1).await["level"], "full");
    }
);

on_both!(
    a_range_of_serial_numbers_spares_what_is_outside_and_nothing_that_is_unknown,
    async |world: &World| {
        let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
        let model = model_of(&crew, county.set_1.spreader).await;
        let model_id: Uuid = model.as_str().unwrap().parse().unwrap();
        let mut pieces = Vec::new();
        for (tag, serial) in [("IN", Some("KX-1500")), ("OUT", Some("KX-2000")), ("NONE", None)] {
            let id = Uuid::now_v7();
            let mut add = piece(id, tag, model_id, on_shelf(county.station_1));
            add["body"]["serial"] = json!(serial);
            pieces.push((id, add));
        }
        coordinator.apply(pieces.iter().map(|(_, add)| add.clone()).collect()).await;
        let range = json!([{ "from": "KX-1000", "to": "KX-1999" }]);
        let bad = json!([{ "from": "KX-1000", "to": "KY-1999" }]);
        coordinator
            .post("/v1/notices", notice(Uuid::now_v7(), &[&model], json!({ "do": "stop_use" }), bad))
            .await
            .refused(422, "field-invalid");
        coordinator
            .post("/v1/notices", notice(Uuid::now_v7(), &[&model], json!({ "do": "stop_use" }), range))
            .await
            .ok();
        let verdicts = async |n: usize| standing(&crew, pieces[n].0).await["verdict"].clone();
        assert_eq!(verdicts(0).await, "no");
        assert_ne!(verdicts(1).await, "no");
        assert_eq!(verdicts(2).await, "no");
        let words = standing(&crew, pieces[2].0).await["reasons"][0]["words"].to_string();
        assert!(words.contains("serial number is not on record"), "{words}");
    }
);

on_both!(a_limit_goes_with_the_piece_and_an_inspection_falls_due, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let cutter = county.set_1.cutter;
    let model = model_of(&crew, cutter).await;
    let words = "Not on hardened steel";
    let limit = notice(Uuid::now_v7(), &[&model], json!({ "do": "limit", "words": words }), json!([]));
    coordinator.post("/v1/notices", limit).await.ok();
    let limited = standing(&crew, cutter).await;
    assert_eq!(limited["verdict"], "yes_with_limit", "{limited}");
    assert!(limited["reasons"].to_string().contains(words), "{limited}");
    let spreader = model_of(&crew, county.set_1.spreader).await;
    let inspect = notice(Uuid::now_v7(), &[&spreader], json!({ "do": "inspect_by", "by": "2026-11-26" }), json!([]));
    coordinator.post("/v1/notices", inspect).await.ok();
    assert_eq!(standing(&crew, county.set_1.spreader).await["verdict"], "yes");
    // The whole day counts: the 26th ends at seven in the morning UTC of the 27th in Denver.
    world.pass(chrono::TimeDelta::hours(42));
    let late = soon("overdue", async || {
        Some(standing(&crew, county.set_1.spreader).await).filter(|one| one["verdict"] == "no")
    })
    .await;
    assert_eq!(late["reasons"][0]["code"], "check-overdue");
});

on_both!(each_shift_of_each_station_says_that_it_has_read_it, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let model = model_of(&crew, county.set_1.cutter).await;
    let id = Uuid::now_v7();
    coordinator
        .post("/v1/notices", notice(id, &[&model], json!({ "do": "stop_use" }), json!([])))
        .await
        .ok();
    let rev = coordinator.rev(&format!("/v1/notices/{id}")).await;
    let path = format!("/v1/notices/{id}/read");
    let read = |shift: &str| json!({ "station": county.station_1, "shift": shift });
    let first = crew.post(&path, read(" A shift ")).await.record();
    assert_eq!(
        (&first["shift"], &first["by"]["name"], &first["station"]),
        (&json!("A shift"), &json!(crew.person.name), &json!(county.station_1))
    );
    // The same shift again is the same receipt; another shift has its own.
    world.pass(chrono::TimeDelta::hours(1));
    let again = crew.post(&path, read("a Shift")).await.record();
    assert_eq!(again["id"], first["id"]);
    assert!(again["at"].as_str() > first["at"].as_str());
    crew.post(&path, read("B shift")).await.ok();
    let receipts = crew.list("/v1/notice-readings").await;
    assert_eq!(receipts.len(), 2, "{receipts:?}");
    // A receipt decides nothing: the pieces stand as they did, and the notice has not changed.
    assert_eq!(standing(&crew, county.set_1.cutter).await["verdict"], "no");
    assert_eq!(coordinator.rev(&format!("/v1/notices/{id}")).await, rev);
    for shift in ["", " ", "an hour's worth of words that name no shift at all"] {
        crew.post(&path, read(shift)).await.refused(422, "field-invalid");
    }
    let withdrawn = json!({ "reason": "the maker took it back" });
    coordinator.post_on(&format!("/v1/notices/{id}/withdraw"), rev, withdrawn).await.ok();
    crew.post(&path, read("C shift")).await.refused(409, "rule-broken");
});

on_both!(what_was_found_and_done_stands_with_its_photos, async |world: &World| {
    let (county, coordinator, crew, shop) = (world.county(), world.coordinator(), world.crew(), world.shop());
    let cutter = county.set_1.cutter;
    let model = model_of(&crew, cutter).await;
    let id = Uuid::now_v7();
    coordinator
        .post("/v1/notices", notice(id, &[&model], json!({ "do": "stop_use" }), json!([])))
        .await
        .ok();
    let photo = "ab".repeat(32);
    let path = |what: &str| format!("/v1/notices/{id}/{what}");
    let twice = json!({ "piece": cutter, "found": true, "photos": [photo, photo] });
    crew.post(&path("seek"), twice).await.refused(422, "field-invalid");
    crew.post(&path("seek"), json!({ "piece": cutter, "found": true, "photos": [photo] }))
        .await
        .ok();
    let mark = async || crew.piece(cutter).await["notices"][0].take();
    assert_eq!((&mark().await["state"], &mark().await["photos"]), (&json!("found"), &json!([photo])));
    let other = "cd".repeat(32);
    let done = json!({ "piece": cutter, "not_affected": false, "evidence": "handle exchanged, paper 118", "photos": [other] });
    shop.post(&path("clear"), done).await.ok();
    let item = crew.find(&path("pieces")).await["items"]
        .as_array()
        .unwrap()
        .iter()
        .find(|item| item["piece"] == json!(cutter))
        .cloned();
    assert_eq!(item.unwrap()["mark"]["photos"], json!([other]));
});
