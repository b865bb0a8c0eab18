//! Members: who acts, in which role, how far, and until when.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, on_both, people::PASSWORD, sql};

fn somebody(role: &str) -> Value {
    json!({ "id": Uuid::now_v7(), "name": "Sam Sample", "email": "sam.sample@harrow.example", "role": role, "password": "a-word-or-three" })
}

/// Signs in anew; answers the refresh token.
async fn refresh_token(member: &Client) -> String {
    member.sign_in().await.ok()["refresh_token"].as_str().expect("a token").to_owned()
}

async fn refresh(world: &World, token: &str) -> crate::world::Reply {
    let request = world
        .http
        .post(format!("{}/v1/session/refresh", world.server.base))
        .json(&json!({ "refresh_token": token }));
    crate::world::Reply::of("refresh".into(), request).await
}

async fn edit(world: &World, member: &Client, body: Value) -> crate::world::Reply {
    world.admin().edit(&format!("/v1/members/{}", member.person.id), body).await
}

on_both!(a_changed_role_ends_the_members_sign_ins_and_counts_at_the_next, async |world: &World| {
    let crew = world.crew();
    let token = refresh_token(&crew).await;
    edit(world, &crew, json!({ "role": "officer" })).await.ok();
    refresh(world, &token).await.refused(401, "session-ended");
    let session = crew.sign_in().await.ok();
    assert_eq!(session["member"]["role"], "officer");
    assert!(session["may"].as_array().unwrap().contains(&json!("piece.return")));
});

on_both!(a_changed_reach_ends_the_members_sign_ins, async |world: &World| {
    let crew = world.crew();
    let token = refresh_token(&crew).await;
    edit(world, &crew, json!({ "station": world.county().station_1 })).await.ok();
    refresh(world, &token).await.refused(401, "session-ended");
});

on_both!(a_changed_password_ends_the_members_sign_ins_and_the_old_one_is_dead, async |world: &World| {
    let crew = world.crew();
    let token = refresh_token(&crew).await;
    edit(world, &crew, json!({ "password": "another-three-words" })).await.ok();
    refresh(world, &token).await.refused(401, "session-ended");
    crew.sign_in().await.refused(401, "sign-in-failed");
    let mut renewed = crew.clone();
    renewed.person.password = "another-three-words".into();
    renewed.sign_in().await.ok();
});

on_both!(a_changed_name_ends_no_sign_in, async |world: &World| {
    let crew = world.crew();
    let token = refresh_token(&crew).await;
    edit(world, &crew, json!({ "name": "Crew Renamed" })).await.ok();
    assert_eq!(refresh(world, &token).await.ok()["member"]["name"], "Crew Renamed");
});

on_both!(a_member_who_was_let_go_does_not_sign_in, async |world: &World| {
    let crew = world.crew();
    let token = refresh_token(&crew).await;
    edit(world, &crew, json!({ "active": false })).await.ok();
    refresh(world, &token).await.refused(401, "session-ended");
    crew.sign_in().await.refused(401, "session-ended");
    crew.get("/v1/session").await.refused(401, "session-ended");
});

on_both!(a_new_member_signs_in_and_acts_under_the_own_name, async |world: &World| {
    let body = somebody("crew");
    world.admin().post("/v1/members", body.clone()).await.ok();
    let mut sam = world.crew();
    sam.person.email = "Sam.Sample@harrow.example".into();
    sam.person.password = "a-word-or-three".into();
    let session = sam.sign_in().await.ok();
    assert_eq!(session["member"]["id"], body["id"], "an email is the same in small and capital letters");
});

on_both!(a_password_never_reaches_the_journal_or_an_answer, async |world: &World| {
    let admin = world.admin();
    let added = admin.post("/v1/members", somebody("crew")).await;
    assert!(!added.text.contains("a-word-or-three"), "{}", added.text);
    edit(world, &world.crew(), json!({ "password": "another-three-words" })).await.ok();
    for words in ["a-word-or-three", "another-three-words", PASSWORD] {
        for (table, column) in [("journal", "body"), ("record", "body"), ("state", "body")] {
            let query = format!("SELECT count(*) AS n FROM {table} WHERE CAST({column} AS TEXT) LIKE '%{words}%'");
            assert_eq!(sql::number(&world.location, &query), 0, "{words} in {table}.{column}");
        }
    }
});

on_both!(an_email_signs_one_member_in, async |world: &World| {
    let admin = world.admin();
    let mut body = somebody("crew");
    body["email"] = json!(world.crew().person.email.to_uppercase());
    admin.post("/v1/members", body.clone()).await.refused(409, "already-there");
    admin
        .get(&format!("/v1/members/{}", body["id"].as_str().unwrap()))
        .await
        .refused(404, "not-found");
});

on_both!(a_short_password_and_a_crooked_email_are_refused_with_their_field, async |world: &World| {
    for (field, value) in [("password", "short"), ("email", "nobody"), ("email", "a b@harrow.example"), ("name", "  ")] {
        let mut body = somebody("crew");
        body[field] = json!(value);
        let problem = world.admin().post("/v1/members", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], json!(format!("body.{field}")));
    }
});

on_both!(a_password_that_is_tried_first_or_is_ones_own_words_is_refused, async |world: &World| {
    let admin = world.admin();
    for password in [
        "Password123!",
        "aaaaaaaaaaaa",
        "1234567890",
        "samsample2024",
        "Sample.Harrow.1",
        &"ab-cd".repeat(60),
    ] {
        let mut body = somebody("crew");
        body["password"] = json!(password);
        let problem = admin.post("/v1/members", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], "body.password", "{password}");
    }
    let crew = world.crew();
    let problem = edit(world, &crew, json!({ "password": format!("{}-2026!", crew.person.name) }))
        .await
        .refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.password");
    admin.post("/v1/members", somebody("crew")).await.ok();
});

on_both!(an_email_is_kept_in_one_form, async |world: &World| {
    let mut body = somebody("crew");
    body["email"] = json!(" Zoe\u{308}.Sample@Harrow.Example ");
    let added = world.admin().post("/v1/members", body).await.record();
    assert_eq!(added["email"], "zo\u{eb}.sample@harrow.example");
    let mut again = somebody("crew");
    again["email"] = json!("ZO\u{cb}.SAMPLE@harrow.example");
    world.admin().post("/v1/members", again).await.refused(409, "already-there");
});

on_both!(a_member_is_bound_to_a_station_and_district_that_exist, async |world: &World| {
    for (field, id) in [
        ("station", Uuid::now_v7()),
        ("district", Uuid::now_v7()),
        ("station", world.ground.vale.county.station_1),
    ] {
        let mut body = somebody("crew");
        body[field] = json!(id);
        let problem = world.admin().post("/v1/members", body).await.refused(422, "field-invalid");
        assert_eq!(problem["field"], json!(format!("body.{field}")));
    }
});

on_both!(only_an_admin_keeps_members, async |world: &World| {
    for name in ["coordinator", "chief", "shop", "officer", "crew"] {
        let member = world.member(name);
        member.post("/v1/members", somebody("admin")).await.refused(403, "not-allowed");
        member
            .edit(&format!("/v1/members/{}", member.person.id), json!({ "role": "admin" }))
            .await
            .refused(403, "not-allowed");
    }
});

on_both!(an_admin_does_not_take_the_own_role_away, async |world: &World| {
    let admin = world.admin();
    edit(world, &admin, json!({ "role": "crew" })).await.refused(409, "rule-broken");
    edit(world, &admin, json!({ "active": false })).await.refused(409, "rule-broken");
    edit(world, &admin, json!({ "name": "Admin Renamed" })).await.ok();
});

on_both!(nobody_becomes_the_service_itself, async |world: &World| {
    let problem = world.admin().post("/v1/members", somebody("service")).await.refused(422, "field-invalid");
    assert_eq!(problem["field"], "body.role");
});

on_both!(a_member_without_a_password_cannot_sign_in_yet, async |world: &World| {
    let mut body = somebody("crew");
    body.as_object_mut().unwrap().remove("password");
    world.admin().post("/v1/members", body.clone()).await.ok();
    let mut sam = world.crew();
    sam.person.email = "sam.sample@harrow.example".into();
    sam.sign_in().await.refused(401, "sign-in-failed");
    let path = format!("/v1/members/{}", body["id"].as_str().unwrap());
    world.admin().edit(&path, json!({ "password": PASSWORD })).await.ok();
    sam.sign_in().await.ok();
});
