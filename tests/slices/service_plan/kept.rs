//! Plans that are kept: drafts, published ones, withdrawn ones, and their calendar.

use chrono::NaiveDate;
use icalendar::{Calendar, CalendarComponent, Component as _, DatePerhapsTime, Event, EventLike as _};
use serde_json::{Value, json};
use uuid::Uuid;

use super::year::{District, ask, day, district, work};
use crate::world::{Client, World, acts::rev_of, on_both};

/// The body of `service_plan.save` for what was worked out.
fn body(name: &str, asked: &Value, answer: &Value) -> Value {
    json!({
        "id": Uuid::now_v7(), "name": name, "asked": asked, "visits": answer["visits"], "lateness": answer["plan"]["lateness"],
        "peak_hours": answer["plan"]["peak_hours"], "proved": answer["plan"]["proved"],
    })
}

/// A small year, worked out.
async fn worked_out(world: &World) -> (District, Value, Value) {
    let made = district(world, "East", 1, &[day("2027-01-06"), day("2027-01-13"), day("2027-02-10")], &[]).await;
    let asked = ask(world, 20, 12.5);
    let answer = work(&world.crew(), &asked).await;
    (made, asked, answer)
}

async fn saved(world: &World, name: &str) -> (Value, Value) {
    let (_, asked, answer) = worked_out(world).await;
    let plan = world.coordinator().post("/v1/service-plans", body(name, &asked, &answer)).await.record();
    (plan, answer)
}

async fn step(client: &Client, plan: &Value, step: &str) -> crate::world::Reply {
    client
        .post(&format!("/v1/service-plans/{}/{step}", plan["id"].as_str().unwrap()), json!({}))
        .await
}

on_both!(a_plan_is_kept_as_a_draft_with_what_it_was_worked_out_from, async |world: &World| {
    let (_, asked, answer) = worked_out(world).await;
    let shop = world.shop();
    let plan = shop.post("/v1/service-plans", body("Winter", &asked, &answer)).await.record();
    assert_eq!((&plan["state"], &plan["visits"]), (&json!("draft"), &answer["visits"]));
    assert_eq!(
        (&plan["first_day"], &plan["period_days"], &plan["periods"]),
        (&json!("2026-12-07"), &json!(7), &json!(20))
    );
    assert_eq!(
        (&plan["lateness"], &plan["peak_hours"], &plan["proved"]),
        (&json!(0), &json!(4.0), &json!(true))
    );
    let again = work(&world.crew(), &plan["asked"]).await;
    assert_eq!(again["visits"], answer["visits"], "what is kept can be worked out again");
    assert_eq!(shop.list("/v1/service-plans?state=draft").await, [plan]);
});

on_both!(a_draft_is_changed_on_what_was_seen_and_a_plan_that_holds_is_not, async |world: &World| {
    let (plan, _) = saved(world, "Winter").await;
    let path = format!("/v1/service-plans/{}", plan["id"].as_str().unwrap());
    let coordinator = world.coordinator();
    let mut visits = plan["visits"].clone();
    visits[0]["period"] = json!(visits[1]["period"].as_i64().unwrap());
    let moved = json!({ "visits": visits, "note": "moved by hand" });
    coordinator
        .ask(reqwest::Method::PATCH, &path, Some(&moved), &[])
        .await
        .refused(428, "revision-needed");
    let edited = coordinator.patch_on(&path, rev_of(&plan), moved).await.record();
    assert_eq!(
        (&edited["peak_hours"], &edited["proved"], &edited["note"]),
        (&json!(8.0), &json!(false), &json!("moved by hand"))
    );
    coordinator
        .patch_on(&path, rev_of(&plan), json!({ "name": "Spring" }))
        .await
        .refused(409, "stale");
    step(&coordinator, &plan, "publish").await.ok();
    coordinator.edit(&path, json!({ "name": "Spring" })).await.refused(409, "rule-broken");
});

on_both!(a_draft_that_claims_what_its_visits_do_not_show_is_refused, async |world: &World| {
    let (made, asked, answer) = worked_out(world).await;
    let coordinator = world.coordinator();
    let with = |field: &str, value: Value| {
        let mut body = body("Winter", &asked, &answer);
        *body.pointer_mut(field).unwrap() = value;
        body
    };
    let twice = json!(
        answer["visits"]
            .as_array()
            .unwrap()
            .iter()
            .chain(&answer["visits"].as_array().unwrap()[..1])
            .collect::<Vec<_>>()
    );
    for (field, body) in [
        ("body.lateness", with("/lateness", json!(3))),
        ("body.peak_hours", with("/peak_hours", json!(3.5))),
        ("body.visits[3].set", with("/visits", twice)),
        ("body.visits[1].set", with("/visits/1/set", json!(Uuid::now_v7()))),
        ("body.visits[1].shop", with("/visits/1/shop", json!(Uuid::now_v7()))),
        ("body.visits[1].district", with("/visits/1/district", json!(Uuid::now_v7()))),
        ("body.visits[1].period", with("/visits/1/period", json!(20))),
        ("body.visits[1].hours", with("/visits/1/hours", json!(-4))),
        ("body.visits[1].late", with("/visits/1/late", json!(19))),
        ("body.asked.shops[0].shop", with("/asked/shops/0/shop", json!(Uuid::now_v7()))),
        ("body.name", with("/name", json!(" "))),
    ] {
        let problem = coordinator.post("/v1/service-plans", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], field, "{problem}");
    }
    let mut renamed = body("Winter", &asked, &answer);
    renamed["visits"][0]["name"] = json!("Somebody else's set");
    let plan = coordinator.post("/v1/service-plans", renamed).await.record();
    assert_eq!(
        plan["visits"][0]["name"],
        "East set 0",
        "a set is called what it is called: {}",
        made.sets.len()
    );
});

on_both!(two_published_plans_do_not_hold_the_same_set_on_the_same_days, async |world: &World| {
    let (made, asked, answer) = worked_out(world).await;
    let coordinator = world.coordinator();
    let mut plans = Vec::new();
    for name in ["Winter", "Winter again"] {
        plans.push(coordinator.post("/v1/service-plans", body(name, &asked, &answer)).await.record());
    }
    let published = step(&coordinator, &plans[0], "publish").await.record();
    assert_eq!(
        (&published["state"], &published["published_by"]),
        (&json!("published"), &coordinator.person.told())
    );
    assert!(published["published_at"].is_string());
    step(&coordinator, &plans[0], "publish").await.refused(409, "rule-broken");
    let refused = step(&coordinator, &plans[1], "publish").await.refused(409, "rule-broken");
    let detail = refused["detail"].as_str().unwrap();
    for named in ["Winter is published", "East set 0, East set 1, East set 2", "2026-12-07", "2027-04-25"] {
        assert!(detail.contains(named), "{named}: {detail}");
    }
    // Another plan of the same days that visits another set, and one of the same set on other days, may hold beside it.
    let other = district(world, "West", 0, &[day("2027-01-06")], &[]).await;
    let mut beside = body("West", &asked, &answer);
    let mut visit = answer["visits"][0].clone();
    visit["set"] = json!(other.sets[0].id);
    beside["visits"] = json!([visit]);
    let beside = coordinator.post("/v1/service-plans", beside).await.record();
    step(&coordinator, &beside, "publish").await.ok();
    let mut later = body("Summer", &asked, &answer);
    later["asked"]["first_day"] = json!("2027-04-26");
    let later = coordinator.post("/v1/service-plans", later).await.record();
    step(&coordinator, &later, "publish").await.ok();
    let withdrawn = step(&coordinator, &plans[0], "withdraw").await.record();
    assert_eq!(withdrawn["state"], "withdrawn");
    step(&coordinator, &plans[0], "withdraw").await.refused(409, "rule-broken");
    step(&coordinator, &plans[0], "publish").await.refused(409, "rule-broken");
    step(&coordinator, &plans[1], "publish").await.ok();
    assert_eq!(coordinator.list("/v1/service-plans?state=published").await.len(), 3, "{}", made.sets.len());
});

on_both!(a_plan_of_yesterday_is_not_published_over_what_was_changed_since, async |world: &World| {
    let (plan, _) = saved(world, "Winter").await;
    let path = format!("/v1/service-plans/{}", plan["id"].as_str().unwrap());
    let coordinator = world.coordinator();
    coordinator.edit(&path, json!({ "name": "Spring" })).await.ok();
    coordinator
        .post_on(&format!("{path}/publish"), rev_of(&plan), json!({}))
        .await
        .refused(409, "stale");
    let empty = json!({ "visits": [] });
    coordinator.edit(&path, empty).await.ok();
    step(&coordinator, &plan, "publish").await.refused(409, "rule-broken");
});

/// The events of a file, read by the library that wrote it.
fn events(text: &str) -> Vec<Event> {
    let calendar: Calendar = text.parse().expect("the file can be read");
    let events = calendar.components.into_iter().map(|component| match component {
        CalendarComponent::Event(event) => event,
        other => panic!("no event: {other:?}"),
    });
    events.collect()
}

fn date(found: Option<DatePerhapsTime>) -> NaiveDate {
    match found {
        Some(DatePerhapsTime::Date(day)) => day,
        other => panic!("no day: {other:?}"),
    }
}

on_both!(the_calendar_has_an_all_day_event_for_each_visit, async |world: &World| {
    let (made, asked, answer) = worked_out(world).await;
    let coordinator = world.coordinator();
    let tricky = r"Set; of East, \n and a name so long that no calendar takes it on one line: Übungssatz für Zug 3 – ✓ and on and on";
    coordinator
        .edit(&format!("/v1/tool-sets/{}", made.sets[0].id), json!({ "name": tricky }))
        .await
        .ok();
    let plan = coordinator.post("/v1/service-plans", body("Winter, 2027", &asked, &answer)).await.record();
    let path = format!("/v1/service-plans/{}/calendar.ics", plan["id"].as_str().unwrap());
    let reply = world.crew().get(&path).await;
    assert_eq!(
        (reply.status, &reply.headers["content-type"]),
        (200, &"text/calendar; charset=utf-8".parse().unwrap())
    );
    let text = reply.text;

    // RFC 5545, 3.1: lines end in CRLF and have 75 octets at most; a line that goes on begins with a space.
    assert!(text.ends_with("END:VCALENDAR\r\n"), "{text}");
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
    assert_eq!(text.matches('\r').count(), text.matches("\r\n").count());
    let longest = text.split("\r\n").map(str::len).max().unwrap();
    assert!((60..=75).contains(&longest), "{longest}");
    let unfolded = text.replace("\r\n ", "");
    let lines: Vec<&str> = unfolded.split("\r\n").collect();
    assert_eq!(lines[0], "BEGIN:VCALENDAR");
    for line in [
        "VERSION:2.0",
        "PRODID:-//Fullset//Service plan//EN",
        r"X-WR-CALNAME:Winter\, 2027",
        "STATUS:TENTATIVE",
    ] {
        assert!(lines.contains(&line), "{line} is not in {unfolded}");
    }
    // 3.3.11: comma, semicolon and backslash are escaped in texts.
    let summary = format!(
        "SUMMARY:Annual service: {}",
        tricky.replace('\\', r"\\").replace(';', r"\;").replace(',', r"\,")
    );
    assert!(lines.contains(&summary.as_str()), "{summary} is not in {unfolded}");

    // 3.6.1: each event has its UID and stamp, and the end of an all-day event is the day after its last.
    let found = events(&text);
    let visits = plan["visits"].as_array().unwrap();
    assert_eq!(found.len(), visits.len());
    for visit in visits {
        let uid = format!("{}.{}@fullset", plan["id"].as_str().unwrap(), visit["set"].as_str().unwrap());
        let event = found.iter().find(|event| event.get_uid() == Some(&uid)).unwrap_or_else(|| panic!("no {uid}"));
        let period = usize::try_from(visit["period"].as_i64().unwrap()).unwrap();
        let (first, last) = (&answer["periods"][period]["first_day"], &answer["periods"][period]["last_day"]);
        assert_eq!(json!(date(event.get_start())), *first);
        assert_eq!(json!(date(event.get_end()).pred_opt().unwrap()), *last);
        assert_eq!(event.get_timestamp(), Some(crate::world::begins()), "when the record last changed");
        assert_eq!(event.get_sequence(), Some(u32::try_from(rev_of(&plan)).unwrap()));
        assert_eq!(
            event.get_summary(),
            Some(format!("Annual service: {}", visit["name"].as_str().unwrap()).as_str())
        );
        assert_eq!(event.get_location(), Some("Fleet shop"));
        assert!(event.get_description().unwrap().starts_with("4 hours at Fleet shop\nDue on "), "{event:?}");
    }
    assert!(
        unfolded.contains("DTSTART;VALUE=DATE:2027") && unfolded.contains("DTEND;VALUE=DATE:2027"),
        "{unfolded}"
    );
    world.pass(chrono::TimeDelta::minutes(5));
    assert_eq!(world.crew().get(&path).await.text, text, "nothing has changed, so the file has not either");
});

on_both!(an_event_keeps_its_uid_when_the_plan_changes, async |world: &World| {
    let (plan, _) = saved(world, "Winter").await;
    let path = format!("/v1/service-plans/{}", plan["id"].as_str().unwrap());
    let (coordinator, crew) = (world.coordinator(), world.crew());
    let file = async || events(&crew.get(&format!("{path}/calendar.ics")).await.text);
    let uids = |events: &[Event]| events.iter().map(|event| event.get_uid().unwrap().to_owned()).collect::<Vec<_>>();
    let before = file().await;
    world.pass(chrono::TimeDelta::minutes(1));
    let mut visits = plan["visits"].clone();
    visits[0]["period"] = json!(19);
    visits[0]["late"] = json!(1);
    coordinator.edit(&path, json!({ "visits": visits })).await.ok();
    step(&coordinator, &plan, "publish").await.ok();
    let after = file().await;
    assert_eq!(uids(&before), uids(&after));
    assert!(after[0].get_sequence() > before[0].get_sequence() && after[0].get_timestamp() > before[0].get_timestamp());
    assert_eq!(date(after[0].get_start()), day("2027-04-19"));
    assert_eq!(after[0].property_value("STATUS"), Some("CONFIRMED"));
    assert!(after[0].get_description().unwrap().contains("\n1 period late\n"));
    step(&coordinator, &plan, "withdraw").await.ok();
    assert_eq!(file().await[0].property_value("STATUS"), Some("CANCELLED"));
});
