//! Links by which a member sets a password, and every way in which one must not.

use chrono::TimeDelta;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{
    accounts::{NEW, ask, events, post, signed_in},
    calendar_feeds::secret,
    second_factor::{code, set_up},
};
use crate::world::{Client, Reply, World, on_both, people::PASSWORD, people::Person, sql};

fn invitation(seed: u8, role: &str) -> Value {
    json!({ "id": Uuid::now_v7(), "name": "Ida Invited", "email": "ida.invited@harrow.example", "role": role, "secret_sha256": secret(seed).1 })
}

async fn link(admin: &Client, member: Uuid, seed: u8) -> Reply {
    admin
        .post(&format!("/v1/members/{member}/link"), json!({ "secret_sha256": secret(seed).1 }))
        .await
}

/// Uses a link; the limits of tries are another test's matter.
async fn using(world: &World, seed: u8) -> Reply {
    post(world, "/v1/links/use", None, json!({ "secret": secret(seed).0, "password": NEW })).await
}

async fn looking(world: &World, seed: u8) -> Reply {
    post(world, "/v1/links/look", None, json!({ "secret": secret(seed).0 })).await
}

on_both!(who_was_invited_chooses_a_password_once_and_is_signed_in, async |world: &World| {
    let admin = world.admin();
    let mut body = invitation(1, "officer");
    body["station"] = json!(world.county().station_1);
    let member = admin.post("/v1/invitations", body.clone()).await.record();
    assert_eq!((&member["role"], &member["active"]), (&json!("officer"), &json!(true)));
    let access = admin.get(&format!("/v1/members/{}/access", body["id"].as_str().unwrap())).await.ok();
    assert_eq!((&access["has_password"], &access["link"]["invites"]), (&json!(false), &json!(true)));
    assert_eq!(access["link"]["expires_at"], "2026-12-02T14:00:00.000000Z", "seven days");
    let looked = looking(world, 1).await.ok();
    assert_eq!(
        (&looked["name"], &looked["email"], &looked["invites"]),
        (&json!("Ida Invited"), &json!("ida.invited@harrow.example"), &json!(true))
    );
    let bad = json!({ "secret": secret(1).0, "password": "idainvited2026" });
    assert_eq!(
        post(world, "/v1/links/use", None, bad).await.refused(422, "field-invalid")["field"],
        "body.password"
    );
    let session = using(world, 1).await.ok();
    assert_eq!(session["member"]["id"], body["id"]);
    let token = session["access_token"].as_str().unwrap();
    ask(world, Method::GET, "/v1/board", Some(token), Value::Null).await.ok();
    let signing = json!({ "email": "ida.invited@harrow.example", "password": NEW });
    post(world, "/v1/session", None, signing).await.ok();
    // Once.
    using(world, 1).await.refused(403, "link-spent");
    let told: Vec<String> = events(&admin, &format!("?member={}", body["id"].as_str().unwrap()))
        .await
        .into_iter()
        .map(|event| event.0)
        .collect();
    assert_eq!(told, ["signed_in", "signed_in", "link_used", "link_made"]);
    let secrets = [secret(1).0, NEW.to_owned(), "argon2".to_owned()];
    for words in secrets {
        for table in ["journal", "record"] {
            let query = format!("SELECT count(*) AS n FROM {table} WHERE CAST(body AS TEXT) LIKE '%{words}%'");
            assert_eq!(sql::number(&world.location, &query), 0, "{words} in {table}");
        }
    }
});

on_both!(a_reset_ends_the_sign_ins_and_keeps_the_second_factor, async |world: &World| {
    let (admin, crew) = (world.admin(), world.crew());
    let (key, _) = set_up(world, &crew).await;
    world.pass(TimeDelta::seconds(30));
    let token = crew.access().await;
    link(&admin, crew.person.id, 2).await.ok();
    assert_eq!(looking(world, 2).await.ok()["expires_at"], "2026-11-26T14:00:30.000000Z", "a day");
    // Until it is used all goes on.
    ask(world, Method::GET, "/v1/session", Some(&token), Value::Null).await.ok();
    let half = using(world, 2).await;
    assert_eq!((half.status, half.json["missing"].as_str()), (202, Some("code")), "{}", half.text);
    ask(world, Method::GET, "/v1/session", Some(&token), Value::Null)
        .await
        .refused(401, "session-ended");
    crew.sign_in().await.refused(401, "sign-in-failed");
    let body = json!({ "ticket": half.json["ticket"], "code": code(&key, world.clock.now()) });
    post(world, "/v1/session/code", None, body).await.ok();
});

on_both!(two_who_use_a_link_at_once_are_one, async |world: &World| {
    let (admin, crew) = (world.admin(), world.crew());
    link(&admin, crew.person.id, 3).await.ok();
    let all = futures_util::future::join_all((0..4).map(|_| using(world, 3))).await;
    assert_eq!(all.iter().filter(|reply| reply.done()).count(), 1);
    for reply in all.into_iter().filter(|reply| !reply.done()) {
        reply.refused(403, "link-spent");
    }
});

on_both!(a_link_that_ran_out_was_replaced_or_is_made_up_opens_nothing, async |world: &World| {
    let (admin, crew) = (world.admin(), world.crew());
    link(&admin, crew.person.id, 4).await.ok();
    link(&admin, crew.person.id, 5).await.ok();
    looking(world, 4).await.refused(403, "link-spent");
    looking(world, 5).await.ok();
    world.pass(TimeDelta::hours(24) - TimeDelta::seconds(1));
    looking(world, 5).await.ok();
    world.pass(TimeDelta::seconds(1));
    using(world, 5).await.refused(403, "link-spent");
    for made_up in ["", "word", &"A".repeat(44)] {
        let _ = post(world, "/v1/links/look", None, json!({ "secret": made_up })).await.problem();
    }
    let session = crew.sign_in().await;
    session.ok();
});

on_both!(tries_at_links_are_limited, async |world: &World| {
    let mut slowed = 0;
    for seed in 0..8 {
        let reply = looking(world, 100 + seed).await;
        slowed += usize::from(reply.status == 429);
        assert!([403, 429].contains(&reply.status), "{}", reply.text);
    }
    assert!(slowed >= 2, "five at once from one network: {slowed}");
});

on_both!(a_link_is_void_when_the_member_is_let_go_or_has_another_password, async |world: &World| {
    let (admin, crew, officer) = (world.admin(), world.crew(), world.officer());
    let path = |member: &Client| format!("/v1/members/{}", member.person.id);
    link(&admin, crew.person.id, 6).await.ok();
    admin.edit(&path(&crew), json!({ "active": false })).await.ok();
    using(world, 6).await.refused(403, "link-spent");
    link(&admin, crew.person.id, 7).await.refused(409, "rule-broken");
    admin.edit(&path(&crew), json!({ "active": true })).await.ok();
    using(world, 6).await.refused(403, "link-spent");
    link(&admin, officer.person.id, 8).await.ok();
    let (token, _) = signed_in(&officer).await;
    let change = json!({ "present": PASSWORD, "password": NEW });
    assert_eq!(post(world, "/v1/session/password", Some(&token), change).await.status, 204);
    using(world, 8).await.refused(403, "link-spent");
});

/// An admin of a part of the agency.
async fn part_admin(world: &World, name: &str, district: Uuid) -> Client {
    let person = Person::new("harrow", name, "admin").over(district);
    world.admin().post("/v1/members", person.body()).await.ok();
    let client = Client::new(&world.server.base, &world.http, &world.clock, &person);
    client.access().await;
    client
}

on_both!(a_bounded_admin_makes_links_within_reach_alone, async |world: &World| {
    let (admin, county) = (world.admin(), world.county());
    let south = part_admin(world, "Sue South", county.south).await;
    let north = part_admin(world, "Nora North", county.north).await;
    // Whoever has more, or is elsewhere: the agency's admin, its crew, another district's admin.
    for target in [admin.person.id, world.crew().person.id, north.person.id] {
        link(&south, target, 9).await.refused(403, "out-of-reach");
        south.get(&format!("/v1/members/{target}/access")).await.refused(403, "out-of-reach");
        south
            .post(&format!("/v1/members/{target}/sign-out"), json!({}))
            .await
            .refused(403, "out-of-reach");
        south
            .post(&format!("/v1/members/{target}/drop-second-factor"), json!({}))
            .await
            .refused(403, "out-of-reach");
    }
    for mut wide in [invitation(10, "crew"), invitation(10, "admin")] {
        south.post("/v1/invitations", wide.clone()).await.refused(403, "out-of-reach");
        wide["district"] = json!(county.north);
        south.post("/v1/invitations", wide).await.refused(403, "out-of-reach");
    }
    let mut own = invitation(10, "officer");
    own["district"] = json!(county.south);
    south.post("/v1/invitations", own.clone()).await.ok();
    // The agency's admin makes one for the north; whoever is bounded to the south does not see it.
    link(&admin, north.person.id, 11).await.ok();
    let seen = events(&south, "").await;
    assert!(seen.iter().all(|(_, to, _)| *to == own["id"] || *to == json!(south.person.id)), "{seen:?}");
    assert!(seen.iter().any(|(what, to, _)| what == "link_made" && *to == own["id"]));
    assert!(events(&south, &format!("?member={}", north.person.id)).await.is_empty());
    for role in ["coordinator", "officer"] {
        link(&world.member(role), world.crew().person.id, 12).await.refused(403, "not-allowed");
    }
    link(&admin, admin.person.id, 12).await.refused(409, "rule-broken");
    link(&world.member_of(&world.ground.vale, "admin"), world.crew().person.id, 12)
        .await
        .refused(404, "not-found");
});

on_both!(a_link_ends_with_what_its_maker_may_do, async |world: &World| {
    let (admin, county) = (world.admin(), world.county());
    let south = part_admin(world, "Sue South", county.south).await;
    let mut invited = invitation(13, "crew");
    invited["district"] = json!(county.south);
    south.post("/v1/invitations", invited.clone()).await.ok();
    looking(world, 13).await.ok();
    // Moved out of the maker's reach; and back again, which makes the link no new one: it was for who the member was.
    let path = format!("/v1/members/{}", invited["id"].as_str().unwrap());
    admin.edit(&path, json!({ "district": county.north })).await.ok();
    looking(world, 13).await.refused(403, "link-spent");
    admin.edit(&path, json!({ "district": county.south })).await.ok();
    looking(world, 13).await.refused(403, "link-spent");
    let mut second = invitation(19, "crew");
    second["district"] = json!(county.south);
    second["name"] = json!("Una Second");
    second["email"] = json!("una.second@harrow.example");
    south.post("/v1/invitations", second).await.ok();
    looking(world, 19).await.ok();
    let maker = format!("/v1/members/{}", south.person.id);
    admin.edit(&maker, json!({ "role": "officer" })).await.ok();
    using(world, 19).await.refused(403, "link-spent");
});

on_both!(an_invitation_is_checked_like_any_member, async |world: &World| {
    let admin = world.admin();
    let mut taken = invitation(14, "crew");
    taken["email"] = json!(world.crew().person.email);
    admin.post("/v1/invitations", taken).await.refused(409, "already-there");
    for (field, value) in [
        ("days", json!(0)),
        ("days", json!(8)),
        ("secret_sha256", json!("abc")),
        ("name", json!(" ")),
        ("email", json!("nobody")),
    ] {
        let mut body = invitation(14, "crew");
        body[field] = value;
        assert_eq!(
            admin.post("/v1/invitations", body).await.refused(422, "field-invalid")["field"],
            format!("body.{field}")
        );
    }
    let mut short = invitation(15, "crew");
    short["days"] = json!(1);
    admin.post("/v1/invitations", short).await.ok();
    assert_eq!(looking(world, 15).await.ok()["expires_at"], "2026-11-26T14:00:00.000000Z");
    // A secret serves one link.
    link(&admin, world.crew().person.id, 15).await.refused(409, "already-there");
    // An email that signs another agency's member in by the time that the link is used.
    let vale = world.member_of(&world.ground.vale, "admin");
    let person = json!({ "id": Uuid::now_v7(), "name": "Ida Elsewhere", "email": "ida.invited@harrow.example", "role": "crew", "password": "a-word-or-three" });
    vale.post("/v1/members", person).await.ok();
    using(world, 15).await.refused(409, "already-there");
});
