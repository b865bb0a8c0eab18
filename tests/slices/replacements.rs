//! What has to be replaced in ten years: counted apart from the service's own code, priced, and what is not known kept out of sums.

use std::collections::BTreeMap;

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use super::checks::in_force;
use crate::world::{Client, World, county::piece, on_both, on_rig};

async fn replacements(client: &Client, query: &str) -> Value {
    client.find(&format!("/v1/replacements{query}")).await
}

async fn price(client: &Client, model: Uuid, price: Value) -> crate::world::Reply {
    let rev = client.rev(&format!("/v1/models/{model}")).await;
    client
        .post_on(&format!("/v1/models/{model}/price"), rev, json!({ "id": model, "price": price }))
        .await
}

/// Year to pieces, of the years in which something is to be replaced.
fn pieces_by_year(found: &Value) -> BTreeMap<i64, u64> {
    let years = found["years"].as_array().unwrap().iter();
    years
        .map(|year| (year["year"].as_i64().unwrap(), year["pieces"].as_u64().unwrap()))
        .filter(|(_, pieces)| *pieces > 0)
        .collect()
}

on_both!(hoses_stand_in_the_year_of_their_end_at_the_price_entered, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let hose = county.models.hose;
    // Counted from the register by hand: ten years after the year of make (DGUV Grundsatz 305-002, 13.2.5, note).
    let mut expected: BTreeMap<i64, u64> = BTreeMap::new();
    for piece in coordinator.list("/v1/pieces").await {
        if let ("hose", Some(made)) = (piece["kind"].as_str().unwrap(), piece["made_on"].as_str()) {
            *expected.entry(made[..4].parse::<i64>().unwrap() + 10).or_default() += 1;
        }
    }
    let found = replacements(&coordinator, "").await;
    assert_eq!(pieces_by_year(&found), expected);
    assert!(expected.contains_key(&2026) && expected.len() > 1, "{expected:?}");
    let years: Vec<i64> = found["years"].as_array().unwrap().iter().map(|year| year["year"].as_i64().unwrap()).collect();
    assert_eq!(years, (2026..2036).collect::<Vec<i64>>());
    let all: u64 = expected.values().sum();
    // Without a price nothing is in a sum, and that is said.
    let last = |found: &Value| found["years"][9]["so_far"].clone();
    let unpriced = |found: &Value| {
        found["years"]
            .as_array()
            .unwrap()
            .iter()
            .map(|year| year["unpriced"].as_u64().unwrap())
            .sum::<u64>()
    };
    assert_eq!((last(&found), unpriced(&found), &found["oldest_price"]), (json!(0.0), all, &json!(null)));
    let models: Vec<&Value> = found["unpriced_models"].as_array().unwrap().iter().collect();
    assert!(models.contains(&&json!(hose)), "{found}");
    price(
        &coordinator,
        hose,
        json!({ "amount": 412.505, "priced_on": "2026-10-01", "source": "offer of 1 October" }),
    )
    .await
    .ok();
    let found = replacements(&coordinator, "").await;
    let of_hose: u64 = lines(&found, hose).iter().map(|line| line["pieces"].as_u64().unwrap()).sum();
    assert!(of_hose > 0);
    let cents = of_hose * 41_251;
    assert_eq!(last(&found).to_string(), format!("{}.{}", cents / 100, cents % 100).trim_end_matches('0'));
    assert_eq!((&found["oldest_price"], unpriced(&found)), (&json!("2026-10-01"), all - of_hose));
    // What one more costs in the reserves is the same price, and none where no model of the family has one.
    let reserves = coordinator.find("/v1/reserves").await;
    for family in reserves["families"].as_array().unwrap() {
        let amount = &family["price"]["amount"];
        let expected = if family["kind"] == "hose" { json!(412.51) } else { json!(null) };
        assert_eq!(amount, &expected, "{family}");
    }
    // Another edit of the model leaves its price.
    coordinator.edit(&format!("/v1/models/{hose}"), json!({ "family": null })).await.ok();
    assert_eq!(coordinator.find(&format!("/v1/models/{hose}")).await["price"]["amount"], 412.51);
    // A district's own.
    let mut apart: Vec<u64> = Vec::new();
    for district in [county.north, county.south] {
        let of_district = replacements(&coordinator, &format!("?district={district}")).await;
        apart.push(pieces_by_year(&of_district).values().sum());
    }
    assert_eq!(apart.iter().sum::<u64>(), all);
    assert!(apart.iter().all(|sum| *sum > 0), "{apart:?}");
    // What nobody knows stands in no year; what is lent is not the agency's to buy.
    coordinator
        .edit(
            &format!("/v1/pieces/{}", county.set_2.second_hose),
            json!({ "made_on": null, "reason": "the label is torn off" }),
        )
        .await
        .ok();
    let found = replacements(&coordinator, "").await;
    assert_eq!(pieces_by_year(&found).values().sum::<u64>(), all - 1);
    assert_eq!(found["unknown"][0]["words"], "date of make not known: 1 hose");
});

fn lines(found: &Value, model: Uuid) -> Vec<Value> {
    let all = found["lines"].as_array().unwrap().iter();
    all.filter(|line| line["model"] == json!(model)).cloned().collect()
}

on_both!(a_price_is_entered_by_who_plans_and_can_be_read_one_way, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let model = county.models.hose;
    let offer = |amount: f64, on: &str, source: &str| json!({ "amount": amount, "priced_on": on, "source": source });
    for (wrong, field) in [
        (offer(0.0, "2026-10-01", "offer"), "body.price.amount"),
        (offer(-5.0, "2026-10-01", "offer"), "body.price.amount"),
        (offer(0.004, "2026-10-01", "offer"), "body.price.amount"),
        (offer(10_000_000.01, "2026-10-01", "offer"), "body.price.amount"),
        (offer(400.0, "2026-11-26", "offer"), "body.price.priced_on"),
        (offer(400.0, "2026-10-01", "  "), "body.price.source"),
    ] {
        let problem = price(&coordinator, model, wrong.clone()).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], field, "{wrong}: {problem}");
    }
    price(&world.crew(), model, offer(400.0, "2026-10-01", "offer"))
        .await
        .refused(403, "not-allowed");
    let before = coordinator.rev(&format!("/v1/models/{model}")).await;
    price(&coordinator, model, offer(400.0, "2026-10-01", "offer")).await.ok();
    // Somebody else's price in between is not overwritten unseen.
    coordinator
        .post_on(&format!("/v1/models/{model}/price"), before, json!({ "id": model, "price": null }))
        .await
        .refused(409, "stale");
    price(&coordinator, model, json!(null)).await.ok();
    assert_eq!(coordinator.find(&format!("/v1/models/{model}")).await["price"], json!(null));
});

on_both!(packs_are_bought_again_and_parts_are_counted_without_a_price, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let pack = Uuid::now_v7();
    coordinator
        .apply(vec![piece(pack, "T3-PACK", county.models.pack, on_rig(county.truck_3))])
        .await;
    let life = json!([{ "part": "whole", "years": 4, "source": "Orvane pack manual, p. 8" }]);
    coordinator
        .edit(&format!("/v1/models/{}", county.models.pack), json!({ "service_lives": life }))
        .await
        .ok();
    let dated = json!({ "made_on": "2023-05-01", "in_service_since": "2023-06-01", "reason": "read on the label" });
    coordinator.edit(&format!("/v1/pieces/{pack}"), dated).await.ok();
    price(
        &coordinator,
        county.models.pack,
        json!({ "amount": 900, "priced_on": "2026-11-25", "source": "contract" }),
    )
    .await
    .ok();
    let found = replacements(&coordinator, "").await;
    let packs: Vec<(Value, Value, Value)> = lines(&found, county.models.pack)
        .iter()
        .filter(|line| line["pieces"] == 1)
        .map(|line| (line["year"].clone(), line["again"].clone(), line["amount"].clone()))
        .collect();
    for expected in [(2027, false), (2031, true), (2035, true)] {
        assert!(
            packs.contains(&(json!(expected.0), json!(expected.1), json!(900.0))),
            "{expected:?} in {packs:?}"
        );
    }
    let whip = json!([{ "part": "whip_hose", "source": "Orvane manual, p. 31" }]);
    coordinator
        .edit(&format!("/v1/models/{}", county.models.combi), json!({ "service_lives": whip }))
        .await
        .ok();
    let parts = json!({ "parts": [{ "part": "whip_hose", "made_on": "2010-12" }], "reason": "read on the whip hose" });
    coordinator.edit(&format!("/v1/pieces/{}", county.combi_3), parts).await.ok();
    let found = replacements(&coordinator, "").await;
    assert_eq!((&found["overdue"]["parts"], &found["overdue"]["pieces"]), (&json!(1), &json!(0)), "{found}");
    let whip = &lines(&found, county.models.combi)[0];
    assert_eq!(
        (&whip["year"], &whip["part"], &whip["amount"]),
        (&json!(null), &json!("whip_hose"), &json!(null))
    );
});

/// A measurement every half year, at most fifteen seconds.
fn opening_time() -> Value {
    let ask = json!({
        "kind": "number", "measure": "opening_time", "units": ["s"],
        "limits": [{ "kind": "fixed", "max": { "value": 15.0, "unit": "s" } }],
    });
    json!({
        "name": "Opening time", "version": 1, "covers": { "kinds": ["spreader"] }, "rhythm": { "every": "months", "months": 6 },
        "steps": [{ "id": "open", "title": "Opening time", "ask": ask, "fails_as": "pressure", "source": { "kind": "practice" } }],
        "signer": "member", "grace_days": 30, "proves": ["checked"],
    })
}

on_both!(a_spreader_that_opens_slower_stands_in_the_year_of_its_limit, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let plan = in_force(world, opening_time()).await;
    let spreader = county.set_1.spreader;
    let record = async |seconds: f64| {
        let answers = json!([{ "step": "open", "said": { "kind": "number", "value": { "value": seconds, "unit": "s" } } }]);
        let body = json!({ "plan": plan, "version": 1, "piece": spreader, "answers": answers });
        world.crew().post("/v1/checks", body).await.ok();
    };
    for seconds in [9.0, 9.5, 10.0] {
        record(seconds).await;
        world.pass(TimeDelta::days(182));
    }
    let found = replacements(&world.coordinator(), "").await;
    assert_eq!(found["worn"], json!([]), "three readings are no line");
    record(10.5).await;
    // Half a second in 182 days: from 9 s it passes 15 s after 12 times 182 days, on 18 November 2032.
    let found = replacements(&coordinator, "").await;
    let worn = &found["worn"][0];
    assert_eq!((&worn["piece"], &worn["step"]), (&json!(spreader), &json!("Opening time")));
    assert_eq!(worn["reaches_on"], "2032-11-18", "{worn}");
    assert_eq!(worn["words"], "10.5 s last, 1 s more in a year, by 4 readings since 2026-11-25");
    let line = &lines(&found, county.models.spreader)[0];
    assert_eq!((&line["year"], &line["cause"], &line["pieces"]), (&json!(2032), &json!("readings"), &json!(1)));
});
