//! The sender's clock is never trusted: its skew is measured, its times are corrected, and kept as they came.

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{World, acts::id_of, begins, command, on_both, process, sql};

/// Sends one report whose sender's clock shows `sent_at`, of something done at `at` by the same clock.
async fn report(world: &World, sent_at: Value, at: Value) -> Uuid {
    let id = Uuid::now_v7();
    let mut report = command(
        "defect.report",
        json!({ "id": id, "piece": world.county().set_1.pump, "what": "seeps", "class": "deformation", "severity": "usable" }),
    );
    if !at.is_null() {
        report["at"] = at;
    }
    let batch = world
        .crew()
        .post("/v1/commands", json!({ "sent_at": sent_at, "commands": [report] }))
        .await
        .ok();
    assert_eq!(batch["answers"][0]["outcome"], "applied", "{batch}");
    id
}

async fn seen_at(world: &World, defect: Uuid) -> DateTime<Utc> {
    world.crew().find(&format!("/v1/defects/{defect}")).await["seen_at"]
        .as_str()
        .unwrap()
        .parse()
        .unwrap()
}

/// The raw time and the measured skew, as the journal keeps them of the last command.
fn kept(world: &World) -> (String, i64) {
    let of = format!("FROM journal WHERE agency = {} ORDER BY rev DESC LIMIT 1", world.id(world.agency().id));
    let raw = sql::instant_text(&world.location, "at_raw");
    let raw = sql::texts(&world.location, &format!("SELECT {raw} AS t {of}"));
    (raw[0].clone(), sql::number(&world.location, &format!("SELECT skew_us AS n {of}")))
}

on_both!(a_clock_that_runs_ahead_is_put_right_and_what_it_said_is_kept, async |world: &World| {
    let phone = begins() + TimeDelta::hours(1);
    let defect = report(world, json!(phone), json!(phone - TimeDelta::minutes(10))).await;
    assert_eq!(seen_at(world, defect).await, begins() - TimeDelta::minutes(10));
    assert_eq!(kept(world), ("2026-11-25T14:50:00.000000Z".into(), -3_600_000_000));
});

on_both!(a_clock_that_runs_behind_is_put_right, async |world: &World| {
    let phone = begins() - TimeDelta::days(400);
    let defect = report(world, json!(phone), json!(phone - TimeDelta::hours(2))).await;
    assert_eq!(seen_at(world, defect).await, begins() - TimeDelta::hours(2));
    assert_eq!(kept(world).1, 400 * 86_400 * 1_000_000);
});

on_both!(an_act_without_a_time_was_done_when_it_was_sent, async |world: &World| {
    let defect = report(world, json!(begins() + TimeDelta::hours(5)), json!(null)).await;
    assert_eq!(seen_at(world, defect).await, begins());
});

on_both!(no_time_is_ever_in_the_services_future, async |world: &World| {
    let defect = report(world, json!(begins()), json!(begins() + TimeDelta::hours(3))).await;
    assert_eq!(seen_at(world, defect).await, begins());
    assert_eq!(kept(world).0, "2026-11-25T17:00:00.000000Z", "what the phone said is kept all the same");
});

on_both!(history_shows_the_corrected_time_and_the_time_of_arrival, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let mut out = command("piece.take_out", json!({ "id": county.set_1.ram, "reason": "bent" }));
    out["at"] = json!(begins() + TimeDelta::minutes(20));
    world.pass(TimeDelta::hours(1));
    // The phone runs half an hour ahead and was without a signal for 70 minutes.
    let sent_at = begins() + TimeDelta::minutes(90);
    crew.post("/v1/commands", json!({ "sent_at": sent_at, "commands": [out] })).await.ok();
    let item = crew.find(&format!("/v1/pieces/{}/history", county.set_1.ram)).await["items"][0].take();
    assert_eq!(
        (&item["at"], &item["received_at"]),
        (&json!("2026-11-25T13:50:00.000000Z"), &json!("2026-11-25T15:00:00.000000Z"))
    );
    assert_eq!(item["record"]["state_since"], "2026-11-25T13:50:00.000000Z");
});

on_both!(times_are_kept_to_the_microsecond_on_both_databases, async |world: &World| {
    let defect = report(world, json!("2026-11-25T14:00:00.000000Z"), json!("2026-11-25T13:00:00.123456789Z")).await;
    assert_eq!(
        world.crew().find(&format!("/v1/defects/{defect}")).await["seen_at"],
        "2026-11-25T13:00:00.123456Z"
    );
    assert_eq!(kept(world).0, "2026-11-25T13:00:00.123456Z");
});

on_both!(a_time_with_an_offset_is_the_same_instant, async |world: &World| {
    let defect = report(world, json!("2026-11-25T07:00:00-07:00"), json!("2026-11-25T06:30:00-07:00")).await;
    assert_eq!(seen_at(world, defect).await, begins() - TimeDelta::minutes(30));
});

on_both!(a_clock_gone_wild_breaks_neither_the_service_nor_the_journal, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let wild = [
        "0001-01-01T00:00:00.000000Z",
        "9999-12-31T23:59:59.000000Z",
        "+10000-01-01T00:00:00Z",
        "-9999-01-01T00:00:00Z",
        "+262142-12-31T23:59:59Z",
        "-262143-01-01T00:00:00Z",
    ];
    for at in wild {
        for (sent_at, at) in [(json!(begins()), at), (json!(at), "2026-11-25T13:00:00.000000Z"), (json!(at), at)] {
            let mut report = command(
                "defect.report",
                json!({ "id": Uuid::now_v7(), "piece": county.set_1.pump, "what": format!("seeps, said {at}"), "class": "deformation", "severity": "usable" }),
            );
            report["at"] = json!(at);
            let mut good = report.clone();
            good["id"] = json!(Uuid::now_v7());
            good["body"]["id"] = json!(Uuid::now_v7());
            good.as_object_mut().unwrap().remove("at");
            let reply = crew.post("/v1/commands", json!({ "sent_at": sent_at, "commands": [report, good] })).await;
            assert!(reply.status < 500, "{}: {} {}", reply.asked, reply.status, reply.text);
        }
    }
    let now = begins();
    for defect in crew.list("/v1/defects").await {
        let seen: DateTime<Utc> = defect["seen_at"].as_str().unwrap().parse().unwrap();
        assert!(seen <= now, "{} is in the future: {defect}", id_of(&defect));
    }
    crew.find(&format!("/v1/pieces/{}/history", county.set_1.ram)).await;
    let (holds, said) = process::verify(&world.location);
    assert!(holds, "{said}");
});
