//! Whose word counts is decided when a command is applied, not when it was sent.

use std::time::Duration;

use futures_util::future::join_all;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, command, device::Device, on_both, sql};

const REPORTS: usize = 60;

fn report(piece: Uuid) -> Value {
    let body = json!({ "id": Uuid::now_v7(), "piece": piece, "what": "seeps", "class": "deformation", "severity": "out_of_service" });
    command("defect.report", body)
}

/// One of the pieces on the engines; a piece keeps a hundred reports of one class.
fn aboard(world: &World, at: usize) -> Uuid {
    let (one, two) = (&world.county().set_1, &world.county().set_2);
    let pieces = [
        one.pump,
        one.cutter,
        one.spreader,
        one.ram,
        one.hose,
        two.pump,
        two.cutter,
        two.spreader,
        two.ram,
        two.hose,
    ];
    pieces[at % pieces.len()]
}

/// How many of a member's commands the journal has, and how many of them after the last change of that member.
fn told(world: &World, member: &Client) -> (i64, i64) {
    let id = world.id(member.person.id);
    let of = format!("FROM journal j WHERE j.actor = {id}");
    let change = format!("(SELECT max(rev) FROM record WHERE kind = 'member' AND id = {id})");
    (
        sql::number(&world.location, &format!("SELECT count(*) AS n {of}")),
        sql::number(&world.location, &format!("SELECT count(*) AS n {of} AND j.rev > {change}")),
    )
}

/// Many reports of a member at once, and among them an act that takes the member's authority away; answers how many were refused.
async fn race(world: &World, member: &Client, takes_away: impl Future<Output = ()>) -> usize {
    let reports = async |wait: u64| {
        let all = (0..REPORTS / 2).map(|at| async move {
            tokio::time::sleep(Duration::from_micros(wait * at as u64)).await;
            let reply = member.send(vec![report(aboard(world, at))]).await;
            match reply.status {
                200 => assert_eq!(reply.json["answers"][0]["outcome"], "applied", "{}", reply.text),
                _ => drop(reply.refused(401, "session-ended")),
            }
        });
        join_all(all).await;
    };
    let before = told(world, member).0;
    tokio::join!(reports(20), takes_away, reports(400));
    REPORTS - usize::try_from(told(world, member).0 - before).unwrap()
}

on_both!(nothing_of_a_member_counts_after_the_member_was_let_go, async |world: &World| {
    let admin = world.admin();
    let mut refused = 0;
    for name in [
        "crew",
        "officer",
        "chief",
        "shop",
        "coordinator",
        "crew_1",
        "crew_2",
        "officer_1",
        "chief_north",
    ] {
        let member = world.member(name);
        let path = format!("/v1/members/{}", member.person.id);
        let rev = admin.rev(&path).await;
        refused += race(world, &member, async {
            drop(admin.patch_on(&path, rev, json!({ "active": false })).await.ok())
        })
        .await;
        assert_eq!(told(world, &member).1, 0, "{name}: something was done after the member was let go");
    }
    assert!(refused > 0, "nothing was in flight, so this shows nothing");
});

on_both!(nothing_counts_after_role_reach_or_password_have_changed, async |world: &World| {
    let (admin, county) = (world.admin(), world.county());
    for (name, change) in [
        ("officer", json!({ "role": "crew" })),
        ("chief", json!({ "district": county.south })),
        ("crew_1", json!({ "station": county.station_2 })),
        ("crew_2", json!({ "password": "four-unrelated-new-words" })),
    ] {
        let member = world.member(name);
        let path = format!("/v1/members/{}", member.person.id);
        let rev = admin.rev(&path).await;
        race(world, &member, async { drop(admin.patch_on(&path, rev, change).await.ok()) }).await;
        assert_eq!(told(world, &member).1, 0, "{name}");
    }
});

on_both!(nothing_of_a_device_counts_after_it_was_revoked, async |world: &World| {
    let crew = world.member("crew_1");
    let phone = Device::enrol(world, &crew, None).await;
    let reports = join_all((0..REPORTS).map(|at| {
        let phone = &phone;
        async move {
            tokio::time::sleep(Duration::from_micros(50 * at as u64)).await;
            let body = json!({ "sent_at": "2026-11-25T14:00:00.000000Z", "commands": [report(world.county().set_1.pump)] });
            phone.post("/v1/commands", &body).await
        }
    }));
    let path = format!("/v1/devices/{}/revoke", phone.id);
    let revoke = crew.post(&path, json!({}));
    let (replies, revoked) = tokio::join!(reports, revoke);
    let last = revoked.ok()["revision"].as_i64().unwrap();
    for reply in replies {
        if reply.status == 200 {
            let revision = reply.ok()["answers"][0]["revision"].as_i64().unwrap();
            assert!(revision < last, "{revision} after {last}");
        } else {
            reply.refused(401, "device-revoked");
        }
    }
});

on_both!(nothing_counts_after_the_member_has_signed_out, async |world: &World| {
    let crew = world.member("crew_1");
    let out = async { crew.ask(Method::DELETE, "/v1/session", None, &[]).await.status };
    let reports = join_all((0..REPORTS).map(|_| crew.send(vec![report(world.county().set_1.pump)])));
    let (replies, out) = tokio::join!(reports, out);
    assert_eq!(out, 204);
    for reply in replies {
        if reply.status != 200 {
            reply.refused(401, "session-ended");
        }
    }
    let before = world.journal_length();
    crew.send(vec![report(world.county().set_1.pump)]).await.refused(401, "session-ended");
    assert_eq!(world.journal_length(), before);
});

on_both!(what_was_applied_before_is_answered_again_at_the_next_sign_in, async |world: &World| {
    let (admin, crew) = (world.admin(), world.member("crew_1"));
    let phone = Device::enrol(world, &crew, None).await;
    // The device revokes itself in the middle of a batch: what came before counts, what came after does not.
    let first = report(world.county().set_1.pump);
    let last = report(world.county().set_1.pump);
    let revoke = command("device.revoke", json!({ "id": phone.id }));
    let body = json!({ "sent_at": "2026-11-25T14:00:00.000000Z", "commands": [&first, revoke, &last] });
    phone.post("/v1/commands", &body).await.refused(401, "device-revoked");
    let again = crew.send(vec![first.clone(), last]).await.ok();
    let outcomes: Vec<&str> = again["answers"]
        .as_array()
        .unwrap()
        .iter()
        .map(|answer| answer["outcome"].as_str().unwrap())
        .collect();
    assert_eq!(outcomes, ["repeated", "applied"]);
    let path = format!("/v1/members/{}", crew.person.id);
    admin.edit(&path, json!({ "active": false })).await.ok();
    crew.send(vec![first]).await.refused(401, "session-ended");
});

on_both!(what_another_process_decides_counts_at_the_next_command, async |world: &World| {
    if world.engine == crate::world::Engine::Sqlite {
        return;
    }
    let other = crate::world::Server::start(&world.location, &world.clock).await;
    for name in ["crew", "crew_1", "crew_2", "officer_1"] {
        let (here, there) = (world.member(name), world.member_at(&other, world.agency(), "admin"));
        here.send(vec![report(world.county().set_1.pump)]).await.ok();
        let path = format!("/v1/members/{}", here.person.id);
        there.edit(&path, json!({ "password": "four-unrelated-new-words" })).await.ok();
        here.send(vec![report(world.county().set_1.pump)]).await.refused(401, "session-ended");
    }
    other.stop().await;
});

on_both!(the_last_admin_of_the_whole_agency_stays, async |world: &World| {
    let (admin, county) = (world.admin(), world.county());
    let own = format!("/v1/members/{}", admin.person.id);
    // One more of the whole agency, one of a district: the second one is none that could stand in for the first.
    for (name, district) in [("Second", Value::Null), ("Bounded", json!(county.north))] {
        let body = json!({
            "id": Uuid::now_v7(), "name": name, "email": format!("{}@harrow.example", name.to_lowercase()), "role": "admin",
            "password": crate::world::people::PASSWORD, "district": district,
        });
        admin.post("/v1/members", body).await.ok();
    }
    let members = admin.list("/v1/members").await;
    let second = members.iter().find(|member| member["name"] == "Second").unwrap();
    let other = Client::new(
        &world.server.base,
        &world.http,
        &world.clock,
        &crate::world::people::Person {
            id: second["id"].as_str().unwrap().parse().unwrap(),
            email: second["email"].as_str().unwrap().to_owned(),
            access: String::new(),
            ..admin.person.clone()
        },
    );
    other.access().await;
    // Both let the other one go at the same moment: one of them stays.
    let theirs = format!("/v1/members/{}", other.person.id);
    let (ours_rev, theirs_rev) = (admin.rev(&own).await, admin.rev(&theirs).await);
    let (one, two) = tokio::join!(
        admin.patch_on(&theirs, theirs_rev, json!({ "active": false })),
        other.patch_on(&own, ours_rev, json!({ "active": false }))
    );
    assert_eq!(
        [one.status, two.status].iter().filter(|status| **status == 200).count(),
        1,
        "{} {}",
        one.text,
        two.text
    );
    let (left, gone) = if one.status == 200 { (&admin, two) } else { (&other, one) };
    gone.refused(401, "session-ended");
    // The one who is left is not bounded, let go or made less, whoever asks.
    let path = format!("/v1/members/{}", left.person.id);
    for change in [
        json!({ "district": county.north }),
        json!({ "station": county.station_1 }),
        json!({ "active": false }),
        json!({ "role": "coordinator" }),
    ] {
        left.edit(&path, change).await.refused(409, "rule-broken");
    }
    left.edit(&path, json!({ "name": "Last One" })).await.ok();
});
