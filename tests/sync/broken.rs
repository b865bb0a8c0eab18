//! A record that cannot be read: who needs it is refused, alone. A rig that cannot be judged for it is shown as not known, and
//! what happens aboard is taken all the same.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, command, on_both, soon, sql};

fn ends(batch: &Value) -> Vec<(&str, &str)> {
    let answers = batch["answers"].as_array().expect("answers");
    answers
        .iter()
        .map(|answer| (answer["outcome"].as_str().unwrap_or(""), answer["problem"]["code"].as_str().unwrap_or("")))
        .collect()
}

on_both!(
    a_record_that_cannot_be_read_refuses_one_command_and_keeps_no_report_out,
    async |world: &World| {
        let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
        let hose = county.set_2.second_hose;
        let row = format!("kind = 'piece' AND id = {}", world.id(hose));
        let body = sql::texts(&world.location, &format!("SELECT CAST(body AS text) AS t FROM record WHERE {row}"));
        sql::run(&world.location, &format!("UPDATE record SET body = '{{\"broken\":true}}' WHERE {row}"));

        let district = |name: &str| command("district.add", json!({ "id": Uuid::now_v7(), "name": name }));
        let batch = vec![
            district("East"),
            command("piece.take_out", json!({ "id": hose, "reason": "leaks" })),
            command("piece.take_out", json!({ "id": county.set_2.cutter, "reason": "bent" })),
            district("West"),
        ];
        let told = coordinator.send(batch).await.ok();
        let (done, failed) = (("applied", ""), ("refused", "internal"));
        assert_eq!(ends(&told), [done, failed, done, done], "{told}");

        // The cutter is out; how the rig stands without it nobody can say, and nobody is told what was true before.
        let cutter = crew.find(&format!("/v1/pieces/{}", county.set_2.cutter)).await;
        assert_eq!(cutter["state"], "out_of_service");
        let standing = crew.find(&format!("/v1/rig-standings/{}", county.engine_2)).await;
        assert_eq!(standing["known"], json!(false), "{standing}");
        let readiness = world.nobody("GET", "/readyz").await.ok();
        assert_eq!(readiness["ready"], json!(true));
        assert_eq!(readiness["writer"]["alive"], json!(true));
        assert!(readiness["writer"]["failed"].as_u64() >= Some(1), "{readiness}");
        assert_eq!(readiness["tasks"]["clock"], json!({ "running": true, "failures": 0 }));

        // Once it can be read again, the clock judges the rig.
        sql::run(
            &world.location,
            &format!("UPDATE record SET body = '{}' WHERE {row}", body[0].replace('\'', "''")),
        );
        world.pass(chrono::TimeDelta::minutes(10));
        let crew = world.crew();
        let standing = soon("the rig is judged", async || {
            let standing = crew.find(&format!("/v1/rig-standings/{}", county.engine_2)).await;
            (standing["known"] != json!(false)).then_some(standing)
        })
        .await;
        assert_eq!(standing["level"], "limited", "without the cutter: {standing}");
    }
);
