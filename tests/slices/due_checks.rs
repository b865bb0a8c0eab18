//! Which checks are due, overdue and missed; and plans that count uses and running hours.

use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

use super::checks::{in_force, sound, weekly};
use crate::world::{Client, World, acts::rev_of, command, county::piece, on_both, on_rig};

/// An instant as the service writes it.
fn written(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(SecondsFormat::Micros, true)
}

async fn page(client: &Client, query: &str) -> Value {
    client.find(&format!("/v1/checks/due{query}")).await
}

/// The one check of a piece.
async fn check_of(client: &Client, piece: Uuid) -> Value {
    let page = page(client, &format!("?piece={piece}")).await;
    page["items"][0]["checks"][0].clone()
}

fn days(check: &Value) -> Vec<&str> {
    check["missed"].as_array().unwrap().iter().map(|one| one["day"].as_str().unwrap()).collect()
}

async fn pass(client: &Client, plan: Uuid, piece: Uuid, answers: Value) {
    let body = json!({ "plan": plan, "version": 1, "piece": piece, "answers": answers });
    assert_eq!(client.post("/v1/checks", body).await.record()["outcome"], "passed");
}

on_both!(a_missed_check_is_missed_and_the_next_one_keeps_its_day, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let cutter = county.set_1.cutter;
    let plan = in_force(world, weekly()).await;
    // It is Wednesday, 25 November, 07:00 in Denver; the plan asks on Mondays at 07:00, when the duty day begins, with a week of grace.
    let first = check_of(&crew, cutter).await;
    let told = |check: &Value| (check["state"].clone(), check["due_on"].clone(), check["missed_count"].clone());
    assert_eq!(told(&first), (json!("good"), json!("2026-11-30"), json!(0)));
    assert_eq!(
        (&first["last_passed_at"], &first["due_at"], &first["drops_at"]),
        (&json!(null), &json!("2026-11-30T14:00:00.000000Z"), &json!("2026-12-07T14:00:00.000000Z"))
    );
    assert_eq!(
        (&first["rhythm"], &first["signer"], &first["signed_by"]),
        (&json!("weekly"), &json!("member"), &json!("a member who is signed off on it"))
    );
    world.pass(TimeDelta::days(5));
    assert_eq!(told(&check_of(&crew, cutter).await), (json!("due"), json!("2026-11-30"), json!(0)));
    world.pass(TimeDelta::days(1));
    assert_eq!(told(&check_of(&crew, cutter).await), (json!("overdue"), json!("2026-11-30"), json!(0)));
    // A week on it can be made up for no more, and the piece has dropped out.
    world.pass(TimeDelta::days(6));
    let gone = check_of(&crew, cutter).await;
    assert_eq!(told(&gone), (json!("dropped"), json!("2026-11-30"), json!(1)));
    assert_eq!(gone["missed"], json!([{ "day": "2026-11-30", "due_at": "2026-11-30T14:00:00.000000Z" }]));
    pass(&crew, plan, cutter, sound()).await;
    let done = check_of(&crew, cutter).await;
    assert_eq!(told(&done), (json!("good"), json!("2026-12-14"), json!(1)));
    assert_eq!(done["last_passed_at"], "2026-12-07T14:00:00.000000Z");
    // 14 December done late, on Wednesday; 21 December not at all; 28 December open.
    world.pass(TimeDelta::days(9));
    assert_eq!(check_of(&crew, cutter).await["state"], "overdue");
    pass(&crew, plan, cutter, sound()).await;
    world.pass(TimeDelta::days(14));
    let later = check_of(&crew, cutter).await;
    assert_eq!((&later["due_on"], days(&later)), (&json!("2026-12-21"), vec!["2026-12-21", "2026-11-30"]));
    let lately = page(&crew, &format!("?piece={cutter}&missed_from=2026-12-01")).await;
    assert_eq!(days(&lately["items"][0]["checks"][0]), ["2026-12-21"]);
    // What was not on the register then has missed nothing, and owes the next one.
    let young = Uuid::now_v7();
    world
        .coordinator()
        .apply(vec![piece(young, "E1-CUT-2", county.models.cutter, on_rig(county.engine_1))])
        .await;
    let check = check_of(&crew, young).await;
    assert_eq!(told(&check), (json!("good"), json!("2027-01-04"), json!(0)));
    // Nor is told what was missed by another rhythm: from now on it asks each day.
    let path = format!("/v1/check-plans/{plan}");
    let mut daily = weekly();
    daily["rhythm"] = json!({ "every": "shift" });
    let rev = rev_of(&crew.find(&path).await);
    let edit = json!({ "plan": daily, "reason": "asked for by the chief" });
    world.coordinator().patch_on(&path, rev, edit).await.ok();
    assert_eq!(check_of(&crew, cutter).await["missed_count"], 0);
    world.pass(TimeDelta::days(2));
    // Asked for from 30 December, 07:00, on: the hour at which it was changed.
    assert_eq!(days(&check_of(&world.officer(), cutter).await), ["2026-12-31", "2026-12-30"]);
});

on_both!(due_checks_are_paged_and_narrowed_and_what_is_not_there_is_refused, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let plan = in_force(world, weekly()).await;
    let mut other = weekly();
    other["name"] = json!("Weekly check: pump");
    other["covers"] = json!({ "kinds": ["power_unit"] });
    let pumps = in_force(world, other).await;
    let tags = |page: &Value| -> Vec<String> {
        page["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["tag"].as_str().unwrap().to_owned())
            .collect()
    };
    let all = tags(&page(&crew, "").await);
    assert!(all.len() >= 6 && all.is_sorted(), "{all:?}");
    let (mut turned, mut after, mut pages) = (Vec::new(), String::new(), 0);
    loop {
        let page = page(&crew, &format!("?limit=3{after}")).await;
        turned.extend(tags(&page));
        pages += 1;
        match page["next"].as_str() {
            Some(next) => after = format!("&after={next}"),
            None => break,
        }
    }
    assert!(pages > 3, "pages are of pieces, also of those that no plan asks anything of");
    assert_eq!(turned, all);
    let of = async |query: String| tags(&page(&crew, &query).await);
    assert_eq!(of(format!("?rig={}", county.engine_1)).await, ["E1-CUT", "E1-PUMP"]);
    assert_eq!(of(format!("?rig={}&plan={plan}", county.engine_1)).await, ["E1-CUT"]);
    let at_1 = of(format!("?station={}", county.station_1)).await;
    assert!(at_1.contains(&"E1-CUT".to_owned()) && !at_1.contains(&"E2-CUT".to_owned()), "{at_1:?}");
    let north = of(format!("?district={}", county.north)).await;
    assert!(north.contains(&"E1-CUT".to_owned()) && north.contains(&"E2-CUT".to_owned()), "{north:?}");
    assert_eq!(of(format!("?shop={}", county.shop)).await, Vec::<String>::new());
    world.officer().bring(county.set_1.cutter, crate::world::in_shop(county.shop)).await.ok();
    assert_eq!(of(format!("?shop={}", county.shop)).await, ["E1-CUT"]);
    assert_eq!(crew.list(&format!("/v1/pieces?shop={}", county.shop)).await.len(), 1);
    assert_eq!(of("?state=overdue".into()).await, Vec::<String>::new());
    world.pass(TimeDelta::days(6));
    pass(&crew, pumps, county.set_1.pump, sound()).await;
    let late = of("?state=overdue".into()).await;
    assert!(late.contains(&"E2-PUMP".to_owned()) && !late.contains(&"E1-PUMP".to_owned()), "{late:?}");
    let theirs = world.ground.vale.county.engine_1;
    for (query, field) in [
        ("state=late".to_owned(), "state"),
        (format!("rig={theirs}"), "rig"),
        (format!("shop={}", Uuid::now_v7()), "shop"),
        (format!("plan={}", Uuid::now_v7()), "plan"),
        (format!("piece={}", world.ground.vale.county.set_1.cutter), "piece"),
        ("missed_from=2025-10-26".to_owned(), "missed_from"),
        ("missed_from=2026-12-02".to_owned(), "missed_from"),
        ("limit=501".to_owned(), "limit"),
    ] {
        let problem = crew.get(&format!("/v1/checks/due?{query}")).await.refused(400, "query-invalid");
        assert_eq!(problem["field"], field, "{query}");
    }
});

on_both!(a_plan_by_uses_is_due_at_the_use_that_makes_it_full, async |world: &World| {
    let (county, crew, officer) = (world.county(), world.crew(), world.officer());
    let cutter = county.set_1.cutter;
    let mut by_uses = weekly();
    by_uses["rhythm"] = json!({ "every": "uses", "uses": 3 });
    let plan = in_force(world, by_uses).await;
    let due = async || crew.find(&format!("/v1/piece-standings/{cutter}")).await["due"][0]["due"].clone();
    assert_eq!(due().await["state"], "unknown", "it was never passed");
    world.pass(TimeDelta::hours(1));
    pass(&crew, plan, cutter, sound()).await;
    assert_eq!(due().await, json!({ "state": "not_yet", "why": "due after 3 uses: 0 uses so far" }));
    let used = async |hours_ago: i64| {
        let id = Uuid::now_v7();
        let mut one = command("use.record", json!({ "id": id, "rig": county.engine_1, "pieces": [cutter] }));
        one["at"] = json!(world.clock.now() - TimeDelta::hours(hours_ago));
        crew.apply(vec![one]).await;
        id
    };
    world.pass(TimeDelta::hours(10));
    // One was before the pass and is told late: it does not count.
    used(11).await;
    let slip = used(1).await;
    assert_eq!(due().await["why"], "due after 3 uses: 1 use so far");
    used(2).await;
    used(3).await;
    // Full by the one of an hour ago, whichever was told first.
    assert_eq!(due().await["at"], json!(written(world.clock.now() - TimeDelta::hours(1))));
    assert_eq!(check_of(&crew, cutter).await["state"], "due");
    // One of them was none.
    let path = format!("/v1/uses/{slip}");
    let none = json!({ "pieces": [], "minutes": null, "reason": "that was the spreader" });
    crew.post_on(&format!("{path}/correct"), 1, none.clone()).await.refused(403, "not-allowed");
    officer.post_on(&format!("{path}/correct"), 1, none.clone()).await.refused(409, "stale");
    let rev = officer.rev(&path).await;
    let corrected = officer.post_on(&format!("{path}/correct"), rev, none).await.record();
    assert_eq!(
        (&corrected["pieces"], &corrected["corrected"]["reason"]),
        (&json!([]), &json!("that was the spreader"))
    );
    assert_eq!(due().await["why"], "due after 3 uses: 2 uses so far");
    assert_eq!(crew.piece(cutter).await["used_at"], json!(written(world.clock.now() - TimeDelta::hours(2))));
    // And put right again, with another piece beside.
    let again = json!({ "pieces": [cutter, county.set_1.ram], "minutes": 20, "reason": "it was both" });
    let rev = officer.rev(&path).await;
    officer.post_on(&format!("{path}/correct"), rev, again).await.ok();
    assert_eq!(due().await["at"], json!(written(world.clock.now() - TimeDelta::hours(1))));
    assert_eq!(
        crew.piece(county.set_1.ram).await["used_at"],
        json!(written(world.clock.now() - TimeDelta::hours(1)))
    );
    // A pass begins the count anew.
    pass(&crew, plan, cutter, sound()).await;
    assert_eq!(due().await["why"], "due after 3 uses: 0 uses so far");
});

on_both!(running_hours_are_what_uses_and_the_hour_meter_say, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let pump = county.set_1.pump;
    let read = |name: &str, rhythm: Value| {
        let meter = json!({ "kind": "number", "measure": "hour_meter", "units": ["h"] });
        json!({
            "name": name, "version": 1, "covers": { "kinds": ["power_unit"] }, "rhythm": rhythm,
            "steps": [{ "id": "meter", "title": "Hour meter", "ask": meter, "source": { "kind": "practice" }, "fails_as": "other" }],
            "signer": "member", "grace_days": 0, "proves": ["checked"],
        })
    };
    let oil = in_force(world, read("Oil change", json!({ "every": "hours", "hours": 2 }))).await;
    let look = in_force(world, read("Look", json!({ "every": "use" }))).await;
    let shows = |hours: f64| json!([{ "step": "meter", "said": { "kind": "number", "value": { "value": hours, "unit": "h" } } }]);
    let due = async || {
        let standing = crew.find(&format!("/v1/piece-standings/{pump}")).await;
        let all = standing["due"].as_array().unwrap().clone();
        all.iter().find(|one| one["plan"] == json!(oil)).unwrap()["due"].clone()
    };
    let use_of = async |minutes: Value| {
        world.pass(TimeDelta::hours(3));
        let body = json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "pieces": [pump], "minutes": minutes });
        crew.post("/v1/uses", body).await.ok();
    };
    pass(&crew, oil, pump, shows(100.0)).await;
    assert_eq!(due().await["why"], "due after 2 running hours: 0 min so far");
    use_of(json!(30)).await;
    assert_eq!(due().await["why"], "due after 2 running hours: 30 min so far");
    use_of(json!(null)).await;
    let unknown = due().await;
    assert_eq!(unknown["state"], "unknown");
    assert!(
        unknown["why"]
            .as_str()
            .unwrap()
            .contains("1 of 2 uses since the last pass say no minutes (30 min are on record)"),
        "{unknown}"
    );
    assert_eq!(crew.find(&format!("/v1/piece-standings/{pump}")).await["verdict"], "cannot_be_confirmed");
    // The meter knows better.
    world.pass(TimeDelta::hours(1));
    pass(&crew, look, pump, shows(101.5)).await;
    assert_eq!(due().await["why"], "due after 2 running hours: 1 h 30 min so far");
    use_of(json!(30)).await;
    assert_eq!(due().await["at"], json!(written(world.clock.now())));
});
