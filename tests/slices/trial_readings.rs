//! What is read off scale, watch and gauge in a field trial. Mean and deviation are by Python 3.11.7's `statistics`.

use serde_json::json;
use uuid::Uuid;

use super::field_trials::{open, result};
use crate::world::{Client, World, acts::id_of, on_both};

on_both!(readings_have_mean_and_spread_and_a_slip_is_struck_out, async |world: &World| {
    let (crew, officer, coordinator) = (world.crew(), world.officer(), world.coordinator());
    let id = open(world, &[&crew]).await;
    let read = async |client: &Client, measurement: u8, value: f64, unit: &str| {
        let value = json!({ "value": value, "unit": unit });
        let body = json!({ "id": Uuid::now_v7(), "trial": id, "candidate": 1, "measurement": measurement, "value": value });
        client.post("/v1/trial-readings", body).await
    };
    for (value, unit) in [(19.3, "kg"), (42.5, "lb"), (43.0, "lb")] {
        read(&crew, 1, value, unit).await.ok();
    }
    let slip = id_of(&read(&crew, 1, 91.0, "kg").await.record());
    let measured = async || result(&crew, id).await["candidates"][0]["measurements"][0].clone();
    assert_eq!(measured().await["measured"]["count"], 4);
    // What is no reading of it is refused with the field and what to write.
    for (measurement, value, unit, words) in [
        (2, 62.5, "ft.lbf", "torque"),
        (2, 62.5, "N", "not possible"),
        (1, 4.1, "s", "not a mass"),
        (1, 194_000.0, "kg", "not possible"),
    ] {
        let refused = read(&crew, measurement, value, unit).await.refused(422, "field-invalid");
        assert!(refused["detail"].as_str().unwrap().contains(words), "{refused}");
        assert_eq!(refused["field"], "body.value");
    }
    assert_eq!(read(&crew, 3, 1.0, "kg").await.refused(422, "field-invalid")["field"], "body.measurement");
    read(&officer, 1, 19.0, "kg").await.refused(409, "rule-broken");
    // Struck by who took it, with a reason, once; it stays on record.
    let strike = async |client: &Client, reason: &str| client.post(&format!("/v1/trial-readings/{slip}/strike"), json!({ "reason": reason })).await;
    strike(&officer, "I think so").await.refused(409, "rule-broken");
    strike(&crew, " ").await.refused(422, "field-invalid");
    strike(&crew, "read 91 for 19").await.ok();
    strike(&coordinator, "again").await.refused(409, "rule-broken");
    let found = measured().await;
    assert_eq!(found["readings"].as_array().unwrap().len(), 4);
    // Python: mean and stdev of [19.3, 42.5 * 0.45359237, 43.0 * 0.45359237].
    let near = |field: &str, wanted: f64| (found["measured"][field].as_f64().unwrap() - wanted).abs() < 1e-9;
    assert!(near("mean", 19.360_715_878_333_334) && near("deviation", 0.124_995_763_104_112_44), "{found}");
    assert_eq!((&found["measured"]["count"], &found["unit"]), (&json!(3), &json!("kg")));
    // Five that count are the most of one member.
    read(&crew, 1, 19.4, "kg").await.ok();
    read(&crew, 1, 19.4, "kg").await.ok();
    let refused = read(&crew, 1, 19.4, "kg").await.refused(409, "rule-broken");
    assert!(refused["detail"].as_str().unwrap().contains("5 are the most"), "{refused}");
});
